//! A program held against its layout, by code that shares nothing with the planning.

use std::fmt;

use super::{Program, Stroke};
use crate::geom::{DVec2, Segment};
use crate::machine::{Machine, Way};
use crate::sheet::Layout;

/// Strokes closer than this to each other, in mm, are on one line.
const SAME_LINE_MM: f64 = 2e-3;
/// Two strokes may share so much of a line, in mm: rounding at their ends.
const SHARED_MM: f64 = 0.01;
/// A path may reach so far over the bed, in mm.
const SLACK_MM: f64 = 1e-6;
/// A stroke runs along an edge of a part when it stays within this of it, in mm, besides the kerf.
const BESIDE_MM: f64 = 0.1;

/// What is wrong with a program. Strokes are counted from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A stroke leaves the bed at this point.
    OffBed {
        /// Which.
        stroke: usize,
        /// Where.
        at: DVec2,
    },
    /// Two strokes run along the same line.
    Twice {
        /// One.
        first: usize,
        /// The other.
        second: usize,
        /// Where it begins.
        at: DVec2,
    },
    /// A stroke comes after one that it should come before.
    Late {
        /// Which.
        stroke: usize,
        /// The one before.
        after: usize,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OffBed { stroke, at } => {
                write!(
                    f,
                    "stroke {stroke} leaves the bed at {:.2}, {:.2}",
                    at.x, at.y
                )
            }
            Self::Twice { first, second, at } => {
                write!(
                    f,
                    "strokes {first} and {second} run along one line at {:.2}, {:.2}",
                    at.x, at.y
                )
            }
            Self::Late { stroke, after } => {
                write!(
                    f,
                    "stroke {stroke} comes after stroke {after}, which sets it free"
                )
            }
        }
    }
}

/// Every fault of a program; none for a good one.
#[must_use]
pub fn prove(program: &Program, layout: &Layout, machine: &Machine) -> Vec<Fault> {
    let mut faults = off_bed(program, machine);
    faults.extend(twice(program));
    faults.extend(late(program, layout, machine));
    faults
}

fn off_bed(program: &Program, machine: &Machine) -> Vec<Fault> {
    let most = DVec2::new(machine.bed[0].to_mm(), machine.bed[1].to_mm());
    let out = |(stroke, s): (usize, &Stroke)| {
        let b = s.path.bounds();
        let low = b.min.min_element() < -SLACK_MM;
        let high = (b.max - most).max_element() > SLACK_MM;
        let at = if low { b.min } else { b.max };
        (low || high).then_some(Fault::OffBed { stroke, at })
    };
    program.strokes.iter().enumerate().filter_map(out).collect()
}

fn twice(program: &Program) -> Vec<Fault> {
    struct Piece {
        stroke: usize,
        segment: Segment,
        low: DVec2,
        high: DVec2,
    }
    let mut pieces: Vec<Piece> = Vec::new();
    for (stroke, s) in program.strokes.iter().enumerate() {
        for segment in s.path.segments() {
            let alone = crate::geom::Path {
                vertices: vec![
                    crate::geom::Vertex {
                        at: segment.from,
                        bulge: segment.bulge,
                    },
                    crate::geom::Vertex {
                        at: segment.to,
                        bulge: 0.0,
                    },
                ],
                closed: false,
            };
            let b = alone.bounds();
            pieces.push(Piece {
                stroke,
                segment,
                low: b.min,
                high: b.max,
            });
        }
    }
    pieces.sort_by(|a, b| a.low.x.total_cmp(&b.low.x));
    let mut faults = Vec::new();
    for (i, a) in pieces.iter().enumerate() {
        for b in pieces[i + 1..]
            .iter()
            .take_while(|b| b.low.x <= a.high.x + SAME_LINE_MM)
        {
            let apart = b.low.y > a.high.y + SAME_LINE_MM || a.low.y > b.high.y + SAME_LINE_MM;
            if apart {
                continue;
            }
            if let Some(at) = shared(&a.segment, &b.segment) {
                let (first, second) = (a.stroke.min(b.stroke), a.stroke.max(b.stroke));
                faults.push(Fault::Twice { first, second, at });
            }
        }
    }
    faults
}

/// Where two segments begin to share a stretch of a line.
fn shared(a: &Segment, b: &Segment) -> Option<DVec2> {
    if let (None, None) = (a.circle(), b.circle()) {
        let way = (a.to - a.from).normalize_or_zero();
        let off = |p: DVec2| way.perp_dot(p - a.from).abs();
        if off(b.from) > SAME_LINE_MM || off(b.to) > SAME_LINE_MM {
            return None;
        }
        let on = |p: DVec2| way.dot(p - a.from);
        let (lo, hi) = (on(b.from).min(on(b.to)), on(b.from).max(on(b.to)));
        let (lo, hi) = (lo.max(0.0), hi.min(on(a.to)));
        return (hi - lo > SHARED_MM).then(|| a.from + way * lo);
    }
    // Arcs: points of one that lie on the other, told by the distance from both ends along it.
    let ((ca, ra), (cb, rb)) = a.circle().zip(b.circle())?;
    if ca.distance(cb) > SAME_LINE_MM || (ra - rb).abs() > SAME_LINE_MM {
        return None;
    }
    let steps = 64;
    let hits: Vec<DVec2> = (1..steps)
        .map(|k| {
            let turn = 4.0 * b.bulge.atan() * f64::from(k) / f64::from(steps);
            cb + DVec2::from_angle(turn).rotate(b.from - cb)
        })
        .filter(|p| {
            let turn = 4.0 * a.bulge.atan();
            let along = (a.from - ca).angle_to(*p - ca) * turn.signum();
            let along = along.rem_euclid(std::f64::consts::TAU) * ra;
            along > SHARED_MM && along < turn.abs() * ra - SHARED_MM
        })
        .collect();
    hits.first().copied()
}

fn late(program: &Program, layout: &Layout, machine: &Machine) -> Vec<Fault> {
    let mut faults = Vec::new();
    let strokes = &program.strokes;
    for (i, pair) in strokes.windows(2).enumerate() {
        if pair[1].rank < pair[0].rank {
            faults.push(Fault::Late {
                stroke: i + 1,
                after: i,
            });
        }
    }
    let Some(laid) = layout.sheets.get(program.sheet) else {
        return faults;
    };
    let kerf = machine
        .settings
        .iter()
        .map(|s| s.kerf.to_mm())
        .fold(0.0, f64::max);
    for (n, placed) in laid.placed.iter().enumerate() {
        let Some(part) = layout.parts.get(placed.part) else {
            continue;
        };
        let shape = part.shape.turned(placed.turn).moved(placed.at);
        for (r, ring) in shape.rings().enumerate() {
            let ring: Vec<DVec2> = ring.iter().map(|p| p.to_mm()).collect();
            // The first stroke that cuts along this ring.
            let along = |s: &Stroke| {
                s.of.contains(&n)
                    && s.way == Way::Through
                    && beside(&ring, middle(s), kerf + BESIDE_MM)
            };
            let Some(opened) = strokes.iter().position(along) else {
                continue;
            };
            // What lies inside it comes before: of this part only inside its outline, of other parts
            // also inside its windows.
            for (i, s) in strokes.iter().enumerate().skip(opened) {
                let own = s.of.contains(&n);
                let within = holds(&ring, middle(s)) && !beside(&ring, middle(s), kerf + BESIDE_MM);
                if within && (!own || r == 0) {
                    faults.push(Fault::Late {
                        stroke: i,
                        after: opened,
                    });
                }
            }
        }
    }
    faults
}

/// A point half way along a stroke.
fn middle(s: &Stroke) -> DVec2 {
    let half = s.path.length() / 2.0;
    let mut way = 0.0;
    for seg in s.path.segments() {
        let long = seg.length();
        if way + long >= half && long > 0.0 {
            let share = (half - way) / long;
            return match seg.circle() {
                None => seg.from.lerp(seg.to, share),
                Some((c, _)) => {
                    c + DVec2::from_angle(4.0 * seg.bulge.atan() * share).rotate(seg.from - c)
                }
            };
        }
        way += long;
    }
    s.enter()
}

fn beside(ring: &[DVec2], p: DVec2, within: f64) -> bool {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).any(|(a, b)| {
        let way = *b - *a;
        let on = ((p - *a).dot(way) / way.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        p.distance(*a + way * on) <= within
    })
}

fn holds(ring: &[DVec2], p: DVec2) -> bool {
    let next = ring.iter().cycle().skip(1);
    let turns: f64 = ring
        .iter()
        .zip(next)
        .map(|(a, b)| (*a - p).angle_to(*b - p))
        .sum();
    turns.abs() > std::f64::consts::PI
}
