//! Flutes: their classes by height and pitch, and the paper they take up.

use serde::Serialize;

use crate::units::Length;

/// One fluted layer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flute {
    /// The trade's letter: `C`.
    pub letter: String,
    /// Wave height without the liners.
    pub height: Length,
    /// From crest to crest.
    pub pitch: Length,
    /// Length of medium used per length of board.
    pub take_up: f64,
}

/// The classes of DIN 55468-1 as seen at weka-sebnitz.de: letter, then height from and below,
/// pitch above and up to, in mm.
const CLASSES: [(char, f64, f64, f64, f64); 8] = [
    ('G', 0.0, 0.6, 0.0, 1.8),
    ('F', 0.6, 1.0, 1.8, 2.6),
    ('E', 1.0, 1.9, 2.6, 3.5),
    ('D', 1.9, 2.2, 3.5, 4.8),
    ('B', 2.2, 3.1, 4.8, 6.5),
    ('C', 3.1, 4.0, 6.5, 7.9),
    ('A', 4.0, 5.0, 7.9, 10.0),
    ('K', 5.0, f64::INFINITY, 10.0, f64::INFINITY),
];

impl Flute {
    /// The class of DIN 55468-1 that both its height and its pitch lie in; `None` when they
    /// belong to different classes.
    #[must_use]
    pub fn class(&self) -> Option<char> {
        let (h, p) = (self.height.to_mm(), self.pitch.to_mm());
        CLASSES
            .iter()
            .find(|(_, from, below, above, to)| h >= *from && h < *below && p > *above && p <= *to)
            .map(|(letter, ..)| *letter)
    }
}

/// Take-up estimated from the shape of the flute: 0.8 + 1.33 h/p, H. J. Tenzer, 1989, as quoted
/// at mediencommunity.de. Within 1 % of a sine wave's length for the flutes A, B, C and E.
#[must_use]
pub fn take_up(height: Length, pitch: Length) -> f64 {
    0.8 + 1.33 * (height / pitch)
}
