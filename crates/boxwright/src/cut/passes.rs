//! A sheet longer than the bed, cut in passes: the sheet is moved along x between them, and two
//! register holes cut in one pass say where it lies in the next.
//!
//! Each pass has coordinates of its own: the sheet's less how far it was moved. Strokes are parted at
//! the borders of the passes and each piece is made once: pieces meet end to end, with no overlap. The
//! holes lie in the waste, outside every part, as far apart as there is room, and are cut first in their
//! pass, before anything can shift. Within a pass strokes keep the order of the whole program.

use super::plan::tally;
use super::rings::{Contour, holds, lines};
use super::track::Track;
use super::{Program, Stroke, Tally};
use crate::blank::LineUse;
use crate::diag::Diag;
use crate::geom::{DVec2, Path, Placement, Segment, Vertex};
use crate::machine::{Machine, Runs};
use crate::sheet::Layout;
use crate::units::trimmed;

/// Radius of a register hole, in mm: a pin or a pencil of 5 mm. Default.
pub const HOLE_MM: f64 = 2.5;
/// A register hole stays so far from parts, edges and the end of the bed, in mm. Default.
const ROOM_MM: f64 = 3.0;
/// Register holes lie this far apart at least, as a share of the sheet's height. Default: a fit of
/// 0.1 mm at a hole then turns the sheet by no more than that over twice the distance.
const APART: f64 = 0.4;
/// Places for holes are looked for on a grid of this step, in mm.
const STEP_MM: f64 = 2.0;
/// More passes than this are refused: the sheet is far too long for the bed.
const MOST_PASSES: usize = 12;
/// Pieces shorter than this are not parted off, in mm.
const LEAST_MM: f64 = 0.02;
/// Farthest that a chord strays from its arc where parts are only looked at, in mm.
const CHORD_MM: f64 = 0.05;

/// One pass over the bed.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Its strokes, in its own coordinates.
    pub program: Program,
    /// How far the sheet lies to the left of where it lay in the first pass, in mm.
    pub moved: f64,
    /// Centres of the holes that were cut in the pass before, in the coordinates of this one.
    pub put_at: Vec<DVec2>,
    /// Centres of the holes cut in this one, in its coordinates.
    pub holes: Vec<DVec2>,
}

/// A program parted into passes; one when it fits the bed.
///
/// # Errors
/// `no-register` where the waste has no room for the holes, and `too-big-for-the-bed` where passes do not
/// help.
pub fn passes(program: &Program, layout: &Layout, machine: &Machine) -> Result<Vec<Pass>, Diag> {
    let bed = machine.bed[0].to_mm();
    let far = program
        .strokes
        .iter()
        .map(|s| s.path.bounds().max.x)
        .fold(0.0, f64::max);
    let placed = layout
        .sheets
        .get(program.sheet)
        .map_or(&[][..], |s| &s.placed[..]);
    let outlines: Vec<Vec<DVec2>> = lines(layout, placed)
        .contours
        .iter()
        .filter(|c: &&Contour| !c.window)
        .map(|c| c.path.flattened(CHORD_MM))
        .collect();
    let sheet: Vec<Vec<DVec2>> = layout
        .sheets
        .get(program.sheet)
        .and_then(|s| layout.stock.get(s.stock))
        .map(|p| {
            p.shape
                .rings()
                .map(|r| r.iter().map(|s| s.to_mm()).collect())
                .collect()
        })
        .unwrap_or_default();
    let waste = |p: DVec2| {
        let free = HOLE_MM + ROOM_MM;
        sheet.iter().filter(|r| holds(r, p)).count() == 1
            && outlines.iter().all(|r| !holds(r, p))
            && sheet
                .iter()
                .chain(&outlines)
                .all(|r| distance(r, p) >= free)
    };
    // Where each pass begins, where the next takes over, and the holes between them.
    let (mut begins, mut borders, mut holes) = (vec![0.0], Vec::new(), Vec::new());
    let mut begin = 0.0;
    while begin + bed < far - 1e-6 {
        if begins.len() >= MOST_PASSES {
            let message =
                format!("this sheet would take more than {MOST_PASSES} passes over the bed");
            return Err(
                Diag::error("too-big-for-the-bed", message).help("cut it on a larger machine")
            );
        }
        let pair = register(begin, bed, program.size.y, &waste)?;
        let next = pair[0].x.min(pair[1].x) - HOLE_MM - ROOM_MM;
        borders.push(begin + bed);
        holes.push(pair);
        begin = next;
        begins.push(begin);
    }
    let mut parted: Vec<Vec<Stroke>> = vec![Vec::new(); begins.len()];
    for (k, pair) in holes.iter().enumerate() {
        parted[k].extend(
            pair.iter()
                .filter_map(|c| hole(*c, program, layout, machine)),
        );
    }
    for s in &program.strokes {
        for (pass, path) in pieces(&s.path, &borders) {
            parted[pass].push(Stroke { path, ..s.clone() });
        }
    }
    let made = parted.into_iter().enumerate().map(|(k, strokes)| {
        let moved = begins[k];
        let back = Placement {
            origin: DVec2::new(-moved, 0.0),
            x: DVec2::X,
        };
        let strokes: Vec<Stroke> = strokes
            .into_iter()
            .map(|s| Stroke {
                path: back.path(&s.path),
                ..s
            })
            .collect();
        let own = |list: Option<&[DVec2; 2]>| -> Vec<DVec2> {
            list.into_iter().flatten().map(|p| back.point(*p)).collect()
        };
        let whole = &program.tally;
        let first = k == 0;
        Pass {
            moved,
            put_at: own(k.checked_sub(1).and_then(|b| holes.get(b))),
            holes: own(holes.get(k)),
            program: Program {
                sheet: program.sheet,
                size: program.size,
                tally: Tally {
                    nicks: if first { whole.nicks } else { 0 },
                    by_hand: if first { whole.by_hand } else { 0.0 },
                    ..tally(&strokes, machine)
                },
                strokes,
                notes: if first {
                    program.notes.clone()
                } else {
                    Vec::new()
                },
            },
        }
    });
    Ok(made.collect())
}

/// Two places for holes, far apart across the sheet and as far to the right on the bed as can be.
fn register(
    begin: f64,
    bed: f64,
    height: f64,
    waste: &dyn Fn(DVec2) -> bool,
) -> Result<[DVec2; 2], Diag> {
    let right = begin + bed - HOLE_MM - ROOM_MM;
    let column = |x: f64| {
        let mut y = HOLE_MM + ROOM_MM;
        let mut ends: Option<(f64, f64)> = None;
        while y <= height - HOLE_MM - ROOM_MM {
            if waste(DVec2::new(x, y)) {
                ends = Some((ends.map_or(y, |e| e.0), y));
            }
            y += STEP_MM;
        }
        ends
    };
    let (mut low, mut high): (Option<DVec2>, Option<DVec2>) = (None, None);
    let mut x = right;
    // No further back than half the bed, so that every pass gets on.
    while x >= begin + bed / 2.0 {
        if let Some((a, b)) = column(x) {
            if low.is_none_or(|p| a < p.y - 1e-9) {
                low = Some(DVec2::new(x, a));
            }
            if high.is_none_or(|p| b > p.y + 1e-9) {
                high = Some(DVec2::new(x, b));
            }
        }
        if let (Some(low), Some(high)) = (low, high)
            && high.y - low.y >= APART * height
        {
            return Ok([low, high]);
        }
        x -= STEP_MM;
    }
    let message = format!(
        "between {} and {} mm along the sheet the waste has no room for two register holes of {} mm",
        trimmed(begin + bed / 2.0, 0),
        trimmed(right, 0),
        trimmed(2.0 * HOLE_MM, 1)
    );
    Err(Diag::error("no-register", message)
        .help("lay with a margin of 12 mm or more, or cut this sheet on a larger machine"))
}

/// The stroke of a register hole.
fn hole(centre: DVec2, program: &Program, layout: &Layout, machine: &Machine) -> Option<Stroke> {
    let sheet = layout.sheets.get(program.sheet)?;
    let board = &layout.stock.get(sheet.stock)?.board;
    let setting = machine.setting(LineUse::Cut, board, Runs::Along)?;
    let reach = DVec2::new(HOLE_MM - setting.kerf.to_mm() / 2.0, 0.0);
    let half = |at| Vertex { at, bulge: -1.0 };
    Some(Stroke {
        line_use: LineUse::Cut,
        way: setting.way,
        path: Path {
            vertices: vec![
                half(centre - reach),
                half(centre + reach),
                Vertex {
                    at: centre - reach,
                    bulge: 0.0,
                },
            ],
            closed: false,
        },
        tool: setting.tool,
        speed: setting.speed,
        power: setting.power,
        passes: setting.passes,
        of: Vec::new(),
        rank: 0,
    })
}

/// The pieces of a path between upright borders, each with the number of its pass.
fn pieces(path: &Path, borders: &[f64]) -> Vec<(usize, Path)> {
    let track = Track::new(path);
    let mut ways = vec![0.0];
    for (s, way) in track.segments().iter().zip(track.ways()) {
        let mut found: Vec<f64> = borders.iter().flat_map(|b| crossings(s, *b)).collect();
        found.sort_by(f64::total_cmp);
        ways.extend(found.into_iter().map(|into| way + into));
    }
    ways.retain({
        let mut last = -1.0;
        move |w| {
            let keep = *w == 0.0 || w - last > LEAST_MM;
            if keep {
                last = *w;
            }
            keep
        }
    });
    let length = track.length();
    if ways
        .last()
        .is_some_and(|w| *w > 0.0 && length - w <= LEAST_MM)
    {
        ways.pop();
    }
    ways.push(length);
    let of = |from: f64, to: f64| {
        let x = track.point(f64::midpoint(from, to)).x;
        borders.iter().filter(|b| **b < x).count()
    };
    let mut out: Vec<(usize, f64, f64)> = Vec::new();
    for w in ways.windows(2) {
        let pass = of(w[0], w[1]);
        match out.last_mut() {
            Some((last, _, to)) if *last == pass => *to = w[1],
            _ => out.push((pass, w[0], w[1])),
        }
    }
    out.into_iter()
        .map(|(pass, from, to)| (pass, track.piece(from, to)))
        .collect()
}

/// How far into a segment it crosses an upright line.
fn crossings(s: &Segment, x: f64) -> Vec<f64> {
    let Some((centre, radius)) = s.circle() else {
        let run = s.to.x - s.from.x;
        let share = (x - s.from.x) / run;
        let inside = run.abs() > 1e-9 && share > 0.0 && share < 1.0;
        return if inside {
            vec![share * s.length()]
        } else {
            Vec::new()
        };
    };
    let across = (x - centre.x) / radius;
    if across.abs() >= 1.0 {
        return Vec::new();
    }
    let turn = 4.0 * s.bulge.atan();
    let start = (s.from - centre).to_angle();
    [across.acos(), -across.acos()]
        .into_iter()
        .map(|a| ((a - start) * turn.signum()).rem_euclid(std::f64::consts::TAU))
        .filter(|t| *t > 0.0 && *t < turn.abs())
        .map(|t| t * radius)
        .collect()
}

fn distance(ring: &[DVec2], p: DVec2) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|(a, b)| {
            let way = *b - *a;
            let on = (p - *a).dot(way) / way.length_squared().max(f64::MIN_POSITIVE);
            p.distance(*a + way * on.clamp(0.0, 1.0))
        })
        .fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_parted_where_it_crosses_and_nothing_is_lost() {
        let v = |x: f64, y: f64, bulge: f64| Vertex {
            at: DVec2::new(x, y),
            bulge,
        };
        // A round of radius 10 about (50, 0), parted at 45 and 55.
        let round = Path {
            vertices: vec![v(40.0, 0.0, 1.0), v(60.0, 0.0, 1.0), v(40.0, 0.0, 0.0)],
            closed: false,
        };
        let list = pieces(&round, &[45.0, 55.0]);
        let passes: Vec<usize> = list.iter().map(|(p, _)| *p).collect();
        assert_eq!(passes, [0, 1, 2, 1, 0]);
        let sum: f64 = list.iter().map(|(_, p)| p.length()).sum();
        assert!((sum - round.length()).abs() < 1e-9);
        // By hand: the middle pass has twice the arc from 60 to 120 degrees.
        let middle: f64 = list
            .iter()
            .filter(|(p, _)| *p == 1)
            .map(|(_, p)| p.length())
            .sum();
        assert!((middle - 2.0 * 10.0 * std::f64::consts::FRAC_PI_3).abs() < 1e-9);
        for (pass, path) in &list {
            let b = path.bounds();
            let (lo, hi) = [(0.0, 45.0), (45.0, 55.0), (55.0, 99.0)][*pass];
            assert!(b.min.x >= lo - 1e-6 && b.max.x <= hi + 1e-6);
        }
        assert_eq!(pieces(&round, &[40.0, 60.0]).len(), 1);
    }
}
