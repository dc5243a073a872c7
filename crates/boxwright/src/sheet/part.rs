//! From a drawn blank to a part that can be laid.
//!
//! The outline is brought onto the grid of whole micrometres. Arcs are cut into chords that never
//! run inside the true outline: where board bulges out they are the tangents of the arc, where it
//! is hollow they join points of it; at most [`CHORD_MM`] off. Corners go to the nearest point of
//! the grid, so the shape may fall short of the true outline by half a step each way, 0.0005 mm.
//!
//! A piece that is engraved on its outside is laid with that face up, so all of it is mirrored.
//!
//! Windows stay holes and so shrink where they have arcs. Knife-wide slits vanish: nothing can lie
//! in them.

use std::borrow::Cow;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;

use super::layout::{Line, Part, Turns};
use super::rings::overlaid;
use super::shape::{Shape, Spot};
use crate::blank::{Blank, LineUse, Plan, SoundPlan};
use crate::diag::{Diag, Outcome};
use crate::geom::{DVec2, Path};
use crate::job::{Face, Flutes, Job};

/// Farthest that a chord stands outside the arc it replaces, in mm. Default: a tenth of what a
/// knife or a laser takes away, so it costs no board.
pub const CHORD_MM: f64 = 0.05;

/// Ends of an outline broken by a slit lie on each other within this, in mm: the blank is drawn to
/// a millionth.
const SAME_END_MM: f64 = 1e-3;

/// Board that hangs together with the rest at no more than a point is dropped when it is smaller
/// than this, in mm2: what rounding to the grid may break off.
const CRUMB_MM2: f64 = 0.01;

/// What a part is called and how many are wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Unique in the layout.
    pub name: String,
    /// The job's title.
    pub job: String,
    /// How many.
    pub wanted: u32,
    /// How it may be turned.
    pub turns: Turns,
    /// Which face lies up: the outside one when marks are engraved there.
    pub up: Face,
    /// Engravings of the blank that are not made, because they are on the face that lies down.
    pub left_out: Vec<usize>,
}

/// A blank as a part.
///
/// # Errors
/// `blank-in-pieces` when the outline holds no board, or board that does not hang together.
pub fn part(blank: &Blank, ask: Ask) -> Result<Part, Diag> {
    let outside_up = ask.up == Face::Outside;
    let mut shape = shape(blank)?;
    if outside_up {
        shape = shape.mirrored();
    }
    let engraved = blank.engravings.iter().enumerate();
    let engraved = engraved.filter(|(i, _)| !ask.left_out.contains(i));
    let others = blank
        .each_line()
        .filter(|(line_use, _)| !matches!(line_use, LineUse::Board | LineUse::Engrave));
    let lines = others
        .chain(engraved.map(|(_, path)| (LineUse::Engrave, Cow::Borrowed(path))))
        .filter(|(_, path)| path.segments().next().is_some())
        .map(|(line_use, path)| Line {
            line_use,
            path: if outside_up {
                mirrored(&path)
            } else {
                path.into_owned()
            },
        })
        .collect();
    Ok(Part {
        name: ask.name,
        job: ask.job,
        piece: blank.piece.clone(),
        board: blank.board.clone(),
        caliper: blank.caliper.to_mm(),
        wanted: ask.wanted,
        turns: ask.turns,
        flutes_along_x: blank.flutes.x.abs() > blank.flutes.y.abs(),
        outside_up,
        shape,
        lines,
    })
}

/// Seen from the other face, left and right changed, and closed paths still turning the same way.
fn mirrored(path: &Path) -> Path {
    let mut out = path.clone();
    for v in &mut out.vertices {
        v.at.x = -v.at.x;
        v.bulge = -v.bulge;
    }
    out.reversed()
}

/// Which face of a piece lies up, and which of its engravings are then left out: a piece with any
/// mark on its outside is cut with that face up, for marks cannot be made from below.
fn faces(plan: &Plan, piece: usize) -> (Face, Vec<usize>) {
    let marks = plan.marks.iter().filter(|m| m.panel.piece == piece);
    let up = if marks.clone().any(|m| m.face == Face::Outside) {
        Face::Outside
    } else {
        Face::Inside
    };
    let down = marks.filter(|m| m.face != up);
    (up, down.flat_map(|m| m.engravings.clone()).collect())
}

/// A warning for each piece of which marks are left out, because they are on the face that lies
/// down when it is cut.
#[must_use]
pub fn marks_left_out(plan: &Plan, title: &str) -> Vec<Diag> {
    let pieces = plan.pieces.iter().enumerate();
    pieces
        .filter(|(i, _)| !faces(plan, *i).1.is_empty())
        .map(|(_, blank)| {
            let name = if plan.pieces.len() > 1 {
                format!("{title}: {}", blank.piece)
            } else {
                title.to_owned()
            };
            Diag::warning(
                "marks-left-out",
                format!("`{name}` is cut with its outside up, so the marks on its inside are not engraved"),
            )
            .help("write them by hand, or put all marks of a piece on one face")
        })
        .collect()
}

/// Every piece of a case as a part, so often that `quantity` cases can be made. A case with several
/// pieces has their names in those of its parts.
///
/// # Errors
/// `blank-in-pieces` for each piece of which it is so.
pub fn parts(plan: &SoundPlan, job: &Job, title: &str, quantity: u32) -> Outcome<Vec<Part>> {
    let several = plan.blanks().len() > 1;
    let mut diags = Vec::new();
    let all = plan
        .blanks()
        .iter()
        .enumerate()
        .filter_map(|(piece, blank)| {
            let (up, left_out) = faces(plan, piece);
            let ask = Ask {
                name: if several {
                    format!("{title}: {}", blank.piece)
                } else {
                    title.to_owned()
                },
                job: title.to_owned(),
                wanted: quantity,
                turns: match job.flutes {
                    Flutes::Kept => Turns::Half,
                    Flutes::Either => Turns::Quarter,
                },
                up,
                left_out,
            };
            part(blank, ask).map_err(|d| diags.push(d)).ok()
        });
    let all: Vec<Part> = all.collect();
    if diags.is_empty() {
        Ok(all)
    } else {
        Err(diags)
    }
}

/// The outline and windows of a blank on the grid.
fn shape(blank: &Blank) -> Result<Shape, Diag> {
    let rings: Vec<Vec<Spot>> = stitched(&blank.outline)
        .iter()
        .chain(&blank.holes)
        .map(on_grid)
        .collect();
    let mut found = overlaid(&rings, &[], OverlayRule::Subject, FillRule::NonZero);
    found.sort_by_key(|s| std::cmp::Reverse(s.doubled_area()));
    found.retain(|s| s.area_mm2() > CRUMB_MM2);
    if found.len() > 1 {
        return Err(Diag::error(
            "blank-in-pieces",
            format!("`{}` does not hang together as it is drawn", blank.piece),
        )
        .help("look at its outline: `boxwright make` draws it"));
    }
    found.pop().ok_or_else(|| {
        Diag::error(
            "blank-in-pieces",
            format!("`{}` has no board in it", blank.piece),
        )
    })
}

/// Closed rings from an outline that is broken where slits open to the outside: each run goes on
/// in the run that begins where it ends. Which of several is taken where more than two meet does
/// not matter, for the rings are filled together.
fn stitched(outline: &[Path]) -> Vec<Path> {
    let mut rings: Vec<Path> = outline.iter().filter(|p| p.closed).cloned().collect();
    let mut open: Vec<&Path> = outline
        .iter()
        .filter(|p| !p.closed && p.vertices.len() > 1)
        .collect();
    while let Some(first) = open.pop() {
        let mut ring = first.clone();
        while let (Some(start), Some(end)) = (ring.vertices.first(), ring.vertices.last()) {
            let away = |p: &Path| {
                let first = p.vertices.first();
                first.map_or(f64::MAX, |v| v.at.distance(end.at))
            };
            let next = (0..open.len()).min_by(|a, b| away(open[*a]).total_cmp(&away(open[*b])));
            let home = start.at.distance(end.at);
            let Some(n) = next.filter(|n| away(open[*n]) < home.min(SAME_END_MM)) else {
                break;
            };
            let more = open.swap_remove(n);
            ring.vertices.pop();
            ring.vertices.extend(&more.vertices);
        }
        if let [first, .., last] = ring.vertices[..]
            && first.at.distance(last.at) < SAME_END_MM
        {
            ring.vertices.pop();
        }
        ring.closed = true;
        rings.push(ring);
    }
    rings
}

/// A ring with the board on its left, on the grid.
fn on_grid(ring: &Path) -> Vec<Spot> {
    let mut out: Vec<Spot> = outward(ring).into_iter().map(Spot::nearest).collect();
    out.dedup();
    while out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    out
}

/// Points round a ring with the board on its left: its corners, and arcs as chords that never run
/// inside the board, at most [`CHORD_MM`] off.
pub(super) fn outward(ring: &Path) -> Vec<DVec2> {
    let mut points = Vec::with_capacity(ring.vertices.len());
    for s in ring.segments() {
        points.push(s.from);
        let Some((centre, r)) = s.circle() else {
            continue;
        };
        let sweep = 4.0 * s.bulge.atan();
        let bulging = sweep > 0.0;
        let widest = if bulging {
            2.0 * (r / (r + CHORD_MM)).acos()
        } else {
            2.0 * (1.0 - (CHORD_MM / r).min(1.0)).acos()
        };
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count of chords, bounded below by 1 and above by 4096"
        )]
        let chords = (sweep.abs() / widest.clamp(1e-3, 1.5))
            .ceil()
            .clamp(1.0, 4096.0) as u32;
        let start = (s.from - centre).to_angle();
        let step = sweep / f64::from(chords);
        let at = |k: f64, radius: f64| centre + DVec2::from_angle(start + step * k) * radius;
        if bulging {
            // The corners of tangents: half a step before and after each point they touch.
            let radius = r / (step / 2.0).cos();
            points.extend((0..chords).map(|k| at(f64::from(k) + 0.5, radius)));
        } else {
            points.extend((1..chords).map(|k| at(f64::from(k), r)));
        }
    }
    points
}
