//! Proportions of a slotted case: which are usual, and which need the least board.
//!
//! With flaps that are together k times the width high, and without joint and allowances, a blank is
//! 2 (L + W) (D + k W). At a given volume it is least where L : W : D is 2 : 1 : 2k (derived; 2 : 1 : 2 for
//! k = 1 seen at cocoguru.com/blogs/home/dimensions-of-the-most-economical-carton-box).

use super::figure::Caution;
use crate::units::{Area, Length, Volume, trimmed};

/// Greatest usual length over width: GOST 9142-90, seen.
pub const MOST_LENGTH: f64 = 2.5;
/// Usual depth over width, least and most: GOST 9142-90, seen.
pub const DEPTH: [f64; 2] = [0.5, 2.0];

/// Area of such a blank.
#[must_use]
pub fn blank_area(size: [Length; 3], flaps: f64) -> Area {
    let [l, w, d] = size.map(Length::to_mm);
    Area::mm2(2.0 * (l + w) * (d + flaps * w))
}

/// Length, width and depth that need the least board for a volume; `flaps` is k: 1/2 for a half-slotted
/// case, 1 where the outer flaps meet, 2 where they overlap in full.
#[must_use]
pub fn least_board(volume: Volume, flaps: f64) -> [Length; 3] {
    let w = (volume.to_mm3() / (4.0 * flaps)).cbrt();
    [2.0 * w, w, 2.0 * flaps * w].map(Length::mm)
}

/// Cautions for a slotted case out of the usual proportions.
#[must_use]
pub fn unusual(size: [Length; 3]) -> Vec<Caution> {
    let [l, w, d] = size;
    let (l, w) = (l.max(w), l.min(w));
    let mut all = Vec::new();
    let caution = |words: String| Caution::new("unusual-proportions", words);
    if l / w > MOST_LENGTH {
        let ratio = trimmed(l / w, 2);
        all.push(caution(format!(
            "length over width is {ratio}; up to 2.5 is usual (GOST 9142-90)"
        )));
    }
    let [least, most] = DEPTH;
    if !(least..=most).contains(&(d / w)) {
        let ratio = trimmed(d / w, 2);
        all.push(caution(format!(
            "depth over width is {ratio}; from 0.5 to 2 is usual (GOST 9142-90)"
        )));
    }
    all
}
