//! Which parts of the edges are seen, and how heavy each is drawn.
//!
//! Each edge is cut wherever, as seen, it runs into or out of a face or through its plane. Between
//! two cuts nothing changes, so one look just left and just right of the middle decides: a nearer
//! face on either side hides the part; a surface that goes on at the edge's own depth on both sides
//! makes it a fold or rim; a deeper one or none makes it an outline.

use std::collections::BTreeSet;

use super::faces::{Edge, Face, Seen};
use crate::geom::{DVec2, DVec3};

/// How far, in mm of board, two depths may differ and still be one.
const SAME_DEPTH: f64 = 1e-3;

/// How heavy a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Weight {
    /// Between stretched board and its panels.
    Fine,
    /// Where two faces of the case meet.
    Rim,
    /// Where the surface ends as seen.
    Outline,
}

/// A visible stretch of an edge, in view axes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub a: DVec3,
    pub b: DVec3,
    pub weight: Weight,
}

/// The visible lines. `beside` is how far to the side of an edge (mm of board) its neighbours are
/// looked for; `drop` the step in depth that makes an outline, and the breadth up to which an opening
/// beside the edge is a gap between panels and not the end of the case.
pub(super) fn visible(seen: &Seen, beside: f64, drop: f64) -> Vec<Line> {
    let boxes: Vec<(DVec2, DVec2)> = seen.faces.iter().map(|f| bounds(&f.points)).collect();
    let mut done = BTreeSet::new();
    let mut out = Vec::new();
    for e in &seen.edges {
        let (a, b) = (e.a.truncate(), e.b.truncate());
        if a.distance_squared(b) < 1e-12 || !done.insert(key(e)) {
            continue;
        }
        let reach = DVec2::splat(drop + 2.0 * beside);
        let (low, high) = (a.min(b) - reach, a.max(b) + reach);
        let near: Vec<&Face> = seen
            .faces
            .iter()
            .zip(&boxes)
            .filter(|(_, (l, h))| l.cmple(high).all() && h.cmpge(low).all())
            .map(|(f, _)| f)
            .collect();
        trace(e, &near, beside, drop, &mut out);
    }
    out
}

fn bounds(points: &[DVec3]) -> (DVec2, DVec2) {
    points
        .iter()
        .map(|p| p.truncate())
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
            (l.min(p), h.max(p))
        })
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "coordinates in steps of 0.001 mm, to know an edge shared by two solids"
)]
fn key(e: &Edge) -> ([i64; 3], [i64; 3]) {
    let step = |p: DVec3| (p * 1e3).round().to_array().map(|v| v as i64);
    let (a, b) = (step(e.a), step(e.b));
    if a < b { (a, b) } else { (b, a) }
}

fn trace(e: &Edge, near: &[&Face], beside: f64, drop: f64, out: &mut Vec<Line>) {
    let along = e.b - e.a;
    let mut cuts = vec![0.0, 1.0];
    for f in near {
        if let Some((from, to)) = inside(e, f, 1.5 * beside) {
            cuts.extend([from, to]);
            cuts.extend(
                inside(e, f, 0.0)
                    .into_iter()
                    .flat_map(|(from, to)| [from, to]),
            );
            let height = |p: DVec3| f.normal.dot(p - f.points[0]);
            let (ha, hb) = (height(e.a), height(e.b));
            if ha * hb < 0.0 {
                cuts.push(ha / (ha - hb));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    let least = 0.25 * beside / along.truncate().length();
    let side = along.truncate().perp().normalize() * beside;
    let mut run: Option<(f64, f64, Weight)> = None;
    let mut from = 0.0;
    for &to in &cuts {
        if to - from < least {
            continue;
        }
        let weight = look(e, e.a + along * ((from + to) / 2.0), side, near, drop);
        run = match (run, weight) {
            (Some((start, _, w)), Some(new)) if w == new => Some((start, to, w)),
            (before, new) => {
                out.extend(before.map(|r| line(e, r)));
                new.map(|w| (from, to, w))
            }
        };
        from = to;
    }
    out.extend(run.map(|r| line(e, r)));
}

fn line(e: &Edge, (from, to, weight): (f64, f64, Weight)) -> Line {
    Line {
        a: e.a.lerp(e.b, from),
        b: e.a.lerp(e.b, to),
        weight,
    }
}

/// The part of the edge that lies, as seen, within `slack` mm of the face.
fn inside(e: &Edge, f: &Face, slack: f64) -> Option<(f64, f64)> {
    let (a, b) = (e.a.truncate(), e.b.truncate());
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (i, p) in f.points.iter().enumerate() {
        let p = p.truncate();
        let run = f.points[(i + 1) % f.points.len()].truncate() - p;
        let long = run.length();
        if long < 1e-12 {
            continue;
        }
        let (ha, hb) = (
            run.perp_dot(a - p) / long + slack,
            run.perp_dot(b - p) / long + slack,
        );
        if ha < 0.0 && hb < 0.0 {
            return None;
        }
        if ha < 0.0 {
            from = from.max(ha / (ha - hb));
        } else if hb < 0.0 {
            to = to.min(ha / (ha - hb));
        }
    }
    (from < to).then_some((from, to))
}

/// How the edge is drawn at a point of it; `None` where it is hidden or part of one surface.
fn look(e: &Edge, at: DVec3, side: DVec2, near: &[&Face], drop: f64) -> Option<Weight> {
    let place = at.truncate();
    let nearer = |f: &Face| depth(f, place) - at.z;
    let both = [side, -side];
    let sides = both.map(|s| top(place + s, near));
    if sides.iter().flatten().any(|f| nearer(f) > SAME_DEPTH) {
        return None;
    }
    let ends = |s: DVec2| top(place + s, near).is_none_or(|f| nearer(f) < -drop);
    let open = both.map(ends);
    if open != [false; 2] {
        let gap = |s: DVec2| {
            let beyond = top(place + s.normalize() * drop, near);
            beyond.is_some_and(|f| nearer(f).abs() < drop)
        };
        let outline = e.smooth || both.into_iter().zip(open).any(|(s, o)| o && !gap(s));
        return Some(if outline {
            Weight::Outline
        } else {
            Weight::Rim
        });
    }
    let [Some(l), Some(r)] = sides else {
        return Some(Weight::Outline);
    };
    if e.smooth {
        return None;
    }
    let continues = [l, r].iter().all(|f| nearer(f).abs() < SAME_DEPTH);
    let turn = l.normal.dot(r.normal);
    if continues && l.slab == r.slab && l.wedge == r.wedge && turn > 1.0 - 1e-9 {
        return None;
    }
    if continues && l.wedge != r.wedge && turn > 0.6 {
        return Some(Weight::Fine);
    }
    Some(Weight::Rim)
}

/// Depth of the face's plane at a place as seen.
fn depth(f: &Face, at: DVec2) -> f64 {
    let p = f.points[0];
    p.z - f.normal.truncate().dot(at - p.truncate()) / f.normal.z
}

/// The nearest face at a place as seen.
fn top<'a>(at: DVec2, near: &[&'a Face]) -> Option<&'a Face> {
    near.iter()
        .filter(|f| {
            let n = f.points.len();
            (0..n).all(|i| {
                let (p, q) = (f.points[i].truncate(), f.points[(i + 1) % n].truncate());
                (q - p).perp_dot(at - p) >= 0.0
            })
        })
        .max_by(|f, g| depth(f, at).total_cmp(&depth(g, at)))
        .copied()
}
