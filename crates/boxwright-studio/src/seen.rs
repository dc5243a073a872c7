//! What is seen must be one: the two halves of a bend, and sizes written once.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use std::collections::BTreeMap;

use crate::design::design;
use crate::shelf::Shelf;
use crate::wire::{Axis, Case, Crease, Drawing, Inside, Piece, State};

fn cases() -> Vec<(String, Case)> {
    let shelf = Shelf::new(None).unwrap();
    let mut out = Vec::new();
    for (name, _) in shelf.styles() {
        for (board, crease) in [("C", Crease::Rule), ("BC", Crease::Hand)] {
            let state = State {
                title: String::new(),
                style: name.clone(),
                inside: Inside {
                    length: "300mm".to_owned(),
                    width: "220mm".to_owned(),
                    depth: "80mm".to_owned(),
                },
                board: board.to_owned(),
                crease,
                set: BTreeMap::new(),
                caliper: None,
                axis_depth: None,
                sheet: None,
                bed: None,
                no_measured: false,
                quantity: 1,
                drawing: Drawing::default(),
                job: None,
                board_files: Vec::new(),
                fitments: Vec::new(),
                contents: Vec::new(),
                splits: Vec::new(),
                marks: Vec::new(),
            };
            // Not every style can be made this shallow of thick board.
            let case = design(&shelf, &state).case;
            out.extend(case.map(|c| (format!("{name} in {board}"), c)));
        }
    }
    assert!(out.len() > shelf.styles().len());
    out
}

/// Frames travel with four decimals: over half a metre of panel that is so much, in mm.
const MET: f64 = 0.05;

/// A point of a panel in the case: its frame's three axes and origin.
fn placed(frame: &[f64], p: &[f64]) -> [f64; 3] {
    [0, 1, 2].map(|k| frame[k] * p[0] + frame[3 + k] * p[1] + frame[6 + k] * p[2] + frame[9 + k])
}

fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// In every pose the halves of a bend meet at the ridge, and on the inner side too unless it is bent
/// past its full angle for a while.
#[test]
fn the_halves_of_a_bend_meet() {
    for (name, case) in cases() {
        let solid = case.solid.unwrap();
        let creased = case.pieces.iter().any(|p| p.figures.crease > 0.0);
        assert_eq!(!solid.bends.is_empty(), creased, "{name}");
        let rest = solid.stages.iter().map(|s| (&s.frames, &s.bends));
        let on_the_way = solid.steps.iter().flatten().map(|s| (&s.frames, &s.bends));
        for (frames, shapes) in rest.chain(on_the_way) {
            assert_eq!(2 * shapes.len(), solid.bends.len(), "{name}");
            for (pair, shape) in solid.bends.chunks(2).zip(shapes) {
                let corner = |half: usize, k: usize, end: f64| {
                    let bend = &pair[half];
                    let ring = &bend.shapes[*shape as usize];
                    let p = [0, 1, 2].map(|i| ring[3 * k + i] + end * bend.along[i]);
                    placed(&frames[&bend.panel], &p)
                };
                // Bent too far, the ridge leaves the outer face.
                let ring = &pair[0].shapes[*shape as usize];
                let past = (ring[5] - ring[8]).abs() > 1e-4;
                // Pressed flat, a bend has no board of its own.
                if ring[3..6] == ring[6..9] {
                    continue;
                }
                for k in [2, 3].into_iter().take(if past { 1 } else { 2 }) {
                    let near = apart(corner(0, k, 0.0), corner(1, k, 0.0));
                    let far = apart(corner(0, k, 1.0), corner(1, k, 1.0));
                    assert!(
                        near < MET && far < MET,
                        "{name}, {} corner {k}: {near} {far}; {ring:?}",
                        pair[0].panel
                    );
                }
            }
        }
    }
}

/// The chains of sizes along an axis, each as its places.
fn chains(piece: &Piece) -> BTreeMap<String, Vec<String>> {
    let mut out: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for d in &piece.dimensions {
        let (k, axis) = match d.axis {
            Axis::X => (0, "x"),
            Axis::Y => (1, "y"),
        };
        let chain = out
            .entry(format!("{axis} {} {}", d.at[1 - k], d.row))
            .or_default();
        chain.push(format!("{:.2} {:.2}", d.from[k], d.to[k]));
    }
    out
}

#[test]
fn no_chain_of_sizes_says_what_another_says() {
    for (name, case) in cases() {
        for piece in &case.pieces {
            let all = chains(piece);
            for (a, sizes) in &all {
                let said = all.iter().find(|(b, other)| {
                    *b != a && a[..1] == b[..1] && sizes.iter().all(|s| other.contains(s))
                });
                assert!(said.is_none(), "{name}, {}: {a} and {said:?}", piece.name);
            }
        }
    }
}
