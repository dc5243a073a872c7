//! How far apart letters stand: by the room between their shapes, band by band.

use crate::geom::Path;

/// Room of a space between words, on the grid of the letters.
pub(super) const WORD: f64 = 46.0;
/// Bands from below the line to over a capital, each this high.
const BAND: f64 = 10.0;
const LOWEST: f64 = -30.0;
const BANDS: usize = 15;
/// Room between two letters in the mean over the bands both may fill.
const ROOM: f64 = 34.0;
/// Nowhere nearer than this, measured in a band or the next one.
const LEAST: f64 = 21.0;
/// A hollow counts only so deep.
const DEEPEST: f64 = 34.0;
/// How finely arcs are cut into chords.
const CHORD: f64 = 0.2;

/// Where a letter begins and ends in each band.
#[derive(Clone, Debug)]
pub(super) struct Sides {
    left: [f64; BANDS],
    right: [f64; BANDS],
}

impl Sides {
    /// Those of a shape.
    pub(super) fn of(paths: &[Path]) -> Self {
        let mut s = Self {
            left: [f64::INFINITY; BANDS],
            right: [f64::NEG_INFINITY; BANDS],
        };
        for p in paths {
            let mut points = p.flattened(CHORD);
            if p.closed
                && let Some(first) = points.first().copied()
            {
                points.push(first);
            }
            for w in points.windows(2) {
                let (a, b) = if w[0].y <= w[1].y {
                    (w[0], w[1])
                } else {
                    (w[1], w[0])
                };
                for (i, (left, right)) in s.left.iter_mut().zip(&mut s.right).enumerate() {
                    #[allow(clippy::cast_precision_loss, reason = "a few bands")]
                    let low = LOWEST + BAND * i as f64;
                    let (from, to) = (a.y.max(low), b.y.min(low + BAND));
                    if from > to {
                        continue;
                    }
                    for y in [from, to] {
                        let rise = b.y - a.y;
                        let xs = if rise > 0.0 {
                            let x = a.x + (b.x - a.x) * (y - a.y) / rise;
                            [x, x]
                        } else {
                            [a.x, b.x]
                        };
                        for x in xs {
                            *left = left.min(x);
                            *right = right.max(x);
                        }
                    }
                }
            }
        }
        s
    }
    /// The leftmost point.
    pub(super) fn left(&self) -> f64 {
        self.left.iter().copied().fold(f64::INFINITY, f64::min)
    }
    /// The rightmost point.
    pub(super) fn right(&self) -> f64 {
        self.right.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
}

/// How far the origin of the second letter lies from that of the first, in whole steps of the grid.
pub(super) fn step(a: &Sides, b: &Sides) -> f64 {
    // A band that is empty counts as a hollow reaching from the letter's outermost point.
    let right = a.right.map(|x| x.max(a.right() - DEEPEST));
    let left = b.left.map(|x| x.min(b.left() + DEEPEST));
    let touch = (0..BANDS)
        .flat_map(|i| {
            let next = i.saturating_sub(1)..=(i + 1).min(BANDS - 1);
            next.map(move |j| (i, j))
        })
        .map(|(i, j)| a.right[i] - b.left[j])
        .fold(f64::NEG_INFINITY, f64::max);
    // From the line to the height of a small letter, where most of the shapes lie.
    let (from, to) = (3, 10);
    #[allow(clippy::cast_precision_loss, reason = "a few bands")]
    let mean = (from..to).map(|i| left[i] - right[i]).sum::<f64>() / (to - from) as f64;
    (ROOM - mean)
        .max(touch + LEAST)
        .max(a.right() - b.right())
        .round()
}
