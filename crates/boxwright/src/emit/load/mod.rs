//! A loaded pallet on paper: its layers from above, and the whole load as a picture. Both are as
//! wide as an A5 page and may be put on others.

mod layer;
mod stack;
#[cfg(test)]
mod tests;

pub use layer::{layers, layers_in};
pub use stack::{picture, picture_in};

use super::font::{CAP, Letters};
use super::scene::{Anchor, Item, Scene, Stroke};
use crate::geom::{DVec2, Path};
use crate::units::{Length, LengthUnit};

/// Breadth of both drawings, in mm: an A5 page.
pub const WIDTH: f64 = 148.0;
/// Room for a drawing that goes on a page of another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Breadth of the drawing, in mm.
    pub wide: f64,
    /// The tallest that cases and base may be drawn, in mm.
    pub tallest: f64,
    /// Whether words stand under it.
    pub words: bool,
}

/// Clear room at the edges.
const MARGIN: f64 = 6.0;
const SMALL: f64 = 3.0;
const LARGE: f64 = 3.8;
/// Letters smaller than this are not written.
const LEAST: f64 = 1.9;
const INK: &str = "#1d2428";
/// Cases with their first side along x, and those turned.
const TINTS: [&str; 2] = ["#f3d9b1", "#cfe3ec"];
const WOOD: &str = "#d9c39a";

const fn line(width: f64, dash: &'static [f64]) -> Option<Stroke> {
    Some(Stroke {
        colour: INK,
        width,
        dash,
    })
}

/// Whether a case in a layer lies with its first side along y.
fn turned(load: &crate::pallet::Load, s: &crate::pallet::Spot) -> bool {
    !load.case[0].same(s.along_x)
}

/// A dimension between two points, moved off by `off`, its words along it.
pub(super) fn dimension(scene: &mut Scene, [a, b]: [DVec2; 2], off: DVec2, words: &str) {
    let (from, to) = (a + off, b + off);
    let past = off.normalize_or_zero();
    for (at, end) in [(a, from), (b, to)] {
        let path = Path::line([at + 0.8 * past, end + 1.2 * past]);
        scene.shape(vec![path], None, line(0.1, &[]));
    }
    let along = to - from;
    let long = along.length();
    if long < 1e-6 {
        return;
    }
    let dir = along / long;
    scene.shape(vec![Path::line([from, to])], None, line(0.15, &[]));
    let across = DVec2::new(-dir.y, dir.x);
    let tip = 1.6_f64.min(0.4 * long);
    for (at, inward) in [(from, dir), (to, -dir)] {
        let back = at + tip * inward;
        let wing = 0.28 * tip * across;
        scene.shape(
            vec![Path::polygon([at, back + wing, back - wing])],
            Some(INK),
            None,
        );
    }
    // Words read from below or from the right.
    let turn = (-dir.y).atan2(dir.x).to_degrees();
    let turn = if turn > 90.0 {
        turn - 180.0
    } else if turn <= -90.0 {
        turn + 180.0
    } else {
        turn
    };
    let up = DVec2::new(-turn.to_radians().sin(), -turn.to_radians().cos());
    let outward = up.dot(past) >= 0.0;
    let rise = if outward { 0.9 } else { -(0.9 + CAP * SMALL) };
    if words.is_empty() {
        return;
    }
    scene.items.push(Item::Text {
        at: 0.5 * (from + to) + rise * up,
        size: SMALL,
        anchor: Anchor::Middle,
        turn,
        bold: false,
        colour: INK,
        text: words.to_owned(),
    });
}

/// Lines of words under a drawing, each made to fit; gives back where the next would begin.
fn words(scene: &mut Scene, letters: &Letters, mut y: f64, lines: &[(String, bool)]) -> f64 {
    for (text, bold) in lines {
        let size = if *bold { LARGE } else { SMALL };
        for text in letters.wrapped(text, size, *bold, scene.width - 2.0 * MARGIN) {
            scene.items.push(Item::Text {
                at: DVec2::new(MARGIN, y),
                size,
                anchor: Anchor::Start,
                turn: 0.0,
                bold: *bold,
                colour: INK,
                text,
            });
            y += 1.45 * size;
        }
    }
    y
}

fn size(unit: LengthUnit, sides: &[Length]) -> String {
    let all: Vec<String> = sides.iter().map(|s| unit.number(*s)).collect();
    format!("{} {}", all.join(" x "), unit.symbol())
}
