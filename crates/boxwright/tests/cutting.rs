//! Every shipped style at random sizes, in every board, made into a program for both machines.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops by panicking"
)]

mod common;

use std::collections::BTreeMap;

use boxwright::blank::LineUse;
use boxwright::board::{Board, Boards, read_boards};
use boxwright::cut::order::Effort;
use boxwright::cut::{Options, Program, program, prove};
use boxwright::emit::gcode::{About, gcode};
use boxwright::geom::DVec2;
use boxwright::machine::{Machine, Way, read_machine};
use boxwright::proof::case;
use boxwright::sheet::part::parts;
use boxwright::sheet::{LaidSheet, Layout, Part, Piece, Placed, Shape, Spot, Turn, steps};
use boxwright::source::{Door, Shipped};
use boxwright::units::Length;
use common::shipped;

/// Sizes tried of each style.
const CASES: u64 = 6;
/// Bed and sheet as large as any of them.
const LARGE_MM: f64 = 19_000.0;

fn machine(name: &str) -> Machine {
    let mut m = read_machine(&Shipped.machine(name).unwrap()).unwrap();
    m.bed = [Length::mm(LARGE_MM); 2];
    m
}

/// One part alone on a large sheet, turned by so many quarters.
fn alone(part: Part, turn: Turn) -> Layout {
    let large = steps(Length::mm(LARGE_MM));
    let bounds = part.shape.turned(turn).bounds();
    let margin = steps(Length::mm(5.0));
    Layout {
        title: part.name.clone(),
        stock: vec![Piece {
            name: "sheet".into(),
            board: part.board.clone(),
            shape: Shape::rect(large, large),
            count: 1,
            price: 1.0,
            off_cut: false,
        }],
        parts: vec![part],
        spacing: margin,
        margin,
        reach: None,
        sheets: vec![LaidSheet {
            stock: 0,
            placed: vec![Placed {
                part: 0,
                turn,
                at: Spot::new(margin, margin) - bounds.min,
            }],
        }],
        left: vec![0],
    }
}

fn made(layout: &Layout, machine: &Machine, boards: &Boards, options: &Options) -> Program {
    let effort = Effort {
        rounds: 50,
        prove: false,
        ..Effort::default()
    };
    let name = &layout.title;
    program(
        layout,
        0,
        (machine, boards),
        options,
        Some(&effort),
        &mut || false,
    )
    .unwrap_or_else(|d| panic!("{name} {}: {d:#?}", machine.name))
}

/// Lengths of the drawn lines of a use, in mm.
fn drawn(layout: &Layout, cut: bool) -> f64 {
    let lines = layout.parts[0].lines.iter();
    lines
        .filter(|l| (l.line_use == LineUse::Cut) == cut)
        .map(|l| l.path.length())
        .sum()
}

#[test]
fn every_style_is_cut_whole_and_proved() {
    let boards = read_boards(&Shipped.boards()).unwrap();
    let list: Vec<Board> = boards.iter().cloned().collect();
    let machines = ["bench-laser", "knife-table"].map(machine);
    let mut notes: BTreeMap<&str, u32> = BTreeMap::new();
    let (mut count, mut nicked) = (0, 0);
    for (s, name) in Shipped.style_names().iter().enumerate() {
        let style = shipped(name);
        for number in 0..CASES {
            let Some(brief) = case(&style, &list, s as u64, number) else {
                continue;
            };
            let Ok(sound) = brief.plan().map(|p| p.validated().ok()) else {
                continue;
            };
            let Some(sound) = sound else {
                continue;
            };
            for part in parts(&sound, &brief.job, &format!("{name} {number}"), 1).unwrap() {
                let turn = if part.flutes_along_x {
                    Turn::None
                } else {
                    Turn::Quarter
                };
                let layout = alone(part, turn);
                for machine in &machines {
                    for lead_in in [false, true] {
                        let options = Options {
                            nicks: lead_in,
                            lead_in,
                            common: false,
                            passes: false,
                            cool: false,
                        };
                        let p = made(&layout, machine, &boards, &options);
                        assert_eq!(
                            prove(&p, &layout, machine),
                            [],
                            "{} {}",
                            layout.title,
                            machine.name
                        );
                        whole(&p, &layout, machine, lead_in);
                        for n in &p.notes {
                            *notes.entry(n.code).or_default() += 1;
                        }
                        count += 1;
                        nicked += usize::from(p.tally.nicks > 0);
                    }
                }
            }
        }
    }
    assert!(count > 800 && nicked > 200, "{count} {nicked}");
    // A few small parts have little room for nicks or lead-ins; that is told, and stays rare.
    let few = notes.get("few-nicks").copied().unwrap_or(0);
    assert!(
        few * 20 < u32::try_from(nicked).unwrap(),
        "{notes:?} of {count}, {nicked} nicked"
    );
}

/// What is cut is as long as what is drawn, but for kerf, nicks and lead-ins.
fn whole(p: &Program, layout: &Layout, machine: &Machine, lead_in: bool) {
    let passes = p
        .strokes
        .iter()
        .find(|s| s.way == Way::Through)
        .map_or(1, |s| s.passes);
    let cut = p.tally.cut / f64::from(passes);
    let corners: usize = layout.parts[0]
        .lines
        .iter()
        .map(|l| l.path.vertices.len())
        .sum();
    let rings = p.strokes.iter().filter(|s| s.way == Way::Through).count();
    #[allow(clippy::cast_precision_loss, reason = "a few")]
    let (corners, rings) = (corners as f64, rings as f64);
    let loose = corners * 0.4 + if lead_in { rings * (3.0 + 3.5) } else { 0.0 } + 1e-6;
    assert!(
        (cut - drawn(layout, true)).abs() <= loose,
        "{} {cut} {}",
        layout.title,
        drawn(layout, true)
    );
    let marks = drawn(layout, false);
    let most = marks * 2.0 + 1e-6;
    assert!(p.tally.marked / f64::from(passes) + p.tally.by_hand <= most);
    if machine.name == "knife-table" {
        let pressed: f64 = p
            .strokes
            .iter()
            .filter(|s| s.way == Way::Pressed)
            .map(|s| s.path.length())
            .sum();
        assert!(pressed <= marks + 1e-6);
    }
    let about = About {
        number: [1, 1],
        ..About::default()
    };
    let text = gcode(p, machine, &about);
    assert!(text.ends_with("M5\nM2\n") && text.is_ascii());
    let points = p.strokes.iter().flat_map(|s| &s.path.vertices);
    assert!(points.map(|v| v.at).all(DVec2::is_finite));
}
