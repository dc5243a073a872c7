//! Letters and signs of single strokes, for a pen, a knife or a laser that draws the middle of a line.
//!
//! Every shape was drawn for this program on a grid in which a capital is 100 high. Lines and arcs
//! stay what they are. Letters are spaced by the room between their shapes, so that round, straight
//! and slanted ones stand evenly apart.

mod accents;
mod alphabet;
mod signs;
mod spacing;
mod strokes;

use crate::geom::{DVec2, Path, Rect};
use crate::units::Length;

pub use signs::Sign;

/// Height of a capital on the grid the shapes are drawn on.
const CAPITAL: f64 = 100.0;
/// From one line of writing to the next, on that grid.
const LINE: f64 = 165.0;

/// Strokes of a writing or a sign, in mm, x to the right and y up.
#[derive(Clone, Debug, PartialEq)]
pub struct Strokes {
    /// The lines to draw, open or closed.
    pub paths: Vec<Path>,
    /// The upright rectangle round them; its lower left corner is the origin.
    pub bounds: Rect,
}

/// A text as strokes, its capitals `height` high. Lines are parted by line ends and stand centred
/// below each other.
///
/// # Errors
/// The first letter there is no shape for.
pub fn written(text: &str, height: Length) -> Result<Strokes, char> {
    let rows: Vec<Row> = text.lines().map(row).collect::<Result<_, _>>()?;
    let widest = rows.iter().map(|r| r.width).fold(0.0, f64::max);
    let mut paths = Vec::new();
    let mut y = 0.0;
    for r in &rows {
        let shift = DVec2::new((widest - r.width) / 2.0, y);
        paths.extend(r.paths.iter().map(|p| moved(p, 1.0, shift)));
        y -= LINE;
    }
    Ok(fitted(&paths, height.to_mm() / CAPITAL))
}

/// Whether there is a shape for this letter.
#[must_use]
pub fn known(letter: char) -> bool {
    letter == ' ' || shape(letter).is_some()
}

/// One line of writing on the grid.
struct Row {
    paths: Vec<Path>,
    width: f64,
}

fn row(text: &str) -> Result<Row, char> {
    let mut paths: Vec<Path> = Vec::new();
    let mut x = 0.0;
    let mut width = 0.0_f64;
    let mut last: Option<spacing::Sides> = None;
    for letter in text.chars() {
        if letter == ' ' {
            x += spacing::WORD;
            continue;
        }
        let own = shape(letter).ok_or(letter)?;
        let sides = spacing::Sides::of(&own);
        if let Some(before) = &last {
            x += spacing::step(before, &sides);
        } else {
            x -= sides.left();
        }
        paths.extend(own.iter().map(|p| moved(p, 1.0, DVec2::new(x, 0.0))));
        width = width.max(x + sides.right());
        last = Some(sides);
    }
    Ok(Row { paths, width })
}

/// The strokes of a letter on the grid.
fn shape(letter: char) -> Option<Vec<Path>> {
    accents::shape(letter).or_else(|| strokes::drawn(alphabet::strokes(letter)?))
}

/// Shifted, then made larger.
fn moved(path: &Path, scale: f64, shift: DVec2) -> Path {
    let mut out = path.clone();
    for v in &mut out.vertices {
        v.at = (v.at + shift) * scale;
    }
    out
}

/// Made larger, with the lower left corner at the origin.
fn fitted(paths: &[Path], scale: f64) -> Strokes {
    let all = paths.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
    if paths.is_empty() {
        return Strokes {
            paths: Vec::new(),
            bounds: Rect {
                min: DVec2::ZERO,
                max: DVec2::ZERO,
            },
        };
    }
    Strokes {
        paths: paths.iter().map(|p| moved(p, scale, -all.min)).collect(),
        bounds: Rect {
            min: DVec2::ZERO,
            max: all.size() * scale,
        },
    }
}

#[cfg(test)]
mod tests;
