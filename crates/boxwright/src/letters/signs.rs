//! Handling signs for goods, drawn by us from what each one shows.
//!
//! What they show is that of ISO 780:2015 (seen as a list of its signs; docs/background.md), here in
//! outline, so that one stroke can draw them. No frame goes round them.

use super::{Strokes, fitted, strokes};
use crate::units::Length;

/// A handling sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// This way up: two upright arrows over a bar.
    ThisWayUp,
    /// Fragile: a stemmed glass with a crack.
    Fragile,
    /// Keep dry: an umbrella under drops.
    KeepDry,
}

const ARROWS: &str = "\
    -28,22 -28,66 -42,66 -22,100 -2,66 -16,66 -16,22 z / \
    16,22 16,66 2,66 22,100 42,66 28,66 28,22 z / \
    -44,0 44,0 44,12 -44,12 z";
const GLASS: &str = "\
    -30,100 -30,74(90) -5,48 -5,14(-60) -22,6 -22,0 22,0 22,6(-60) 5,14 5,48(90) 30,74 30,100 z / \
    6,100 -6,86 8,78 -4,64";
const UMBRELLA: &str = "\
    -48,42(-180) 48,42(100) 16,42(100) -16,42(100) -48,42 / \
    0,90 0,96 / 0,47 0,11(-180) -22,11 -22,15 / \
    -44,100(-36) -50,86(240) -43.2,85.5(-16) z / \
    -24,110(-36) -30,96(240) -23.2,95.5(-16) z / \
    24,110(-36) 18,96(240) 24.8,95.5(-16) z / \
    44,100(-36) 38,86(240) 44.8,85.5(-16) z";

impl Sign {
    /// Every sign.
    pub const ALL: [Self; 3] = [Self::ThisWayUp, Self::Fragile, Self::KeepDry];

    /// Its word in a job file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::ThisWayUp => "this-way-up",
            Self::Fragile => "fragile",
            Self::KeepDry => "keep-dry",
        }
    }

    /// The sign as strokes, this high.
    #[must_use]
    pub fn drawn(self, height: Length) -> Strokes {
        let text = match self {
            Self::ThisWayUp => ARROWS,
            Self::Fragile => GLASS,
            Self::KeepDry => UMBRELLA,
        };
        let paths = strokes::drawn(text).unwrap_or_default();
        let own = fitted(&paths, 1.0).bounds.size().y.max(1.0);
        fitted(&paths, height.to_mm() / own)
    }
}
