//! What one case costs, by its inside size and what it carries.

use crate::units::{Length, Mass};

/// What one case costs. It may not fall when the size or the mass grows: bounds rest on that, and the
/// search notes where it sees otherwise.
pub trait Price {
    /// The cost of one case of this inside size (largest first, or height last) with this much in it.
    fn cost(&self, inside: [Length; 3], mass: Mass) -> f64;
    /// Whether such a case can be had at all.
    fn allowed(&self, _inside: [Length; 3]) -> bool {
        true
    }
}

/// The room of the case in litres: least of it is least void, as the things stay what they are.
#[derive(Clone, Copy, Debug)]
pub struct Room;

impl Price for Room {
    fn cost(&self, inside: [Length; 3], _mass: Mass) -> f64 {
        litres(inside)
    }
}

fn litres(size: [Length; 3]) -> f64 {
    size.iter().map(|s| s.to_mm()).product::<f64>() * 1e-6
}

/// Board of a plain slotted case in m2, without what creases take and without the joint:
/// 2 (L + W) (W + D), derived from four walls and flaps that meet in the middle.
#[derive(Clone, Copy, Debug)]
pub struct PlainSlotted;

impl Price for PlainSlotted {
    fn cost(&self, [l, w, d]: [Length; 3], _mass: Mass) -> f64 {
        let [l, w, d] = [l, w, d].map(Length::to_mm);
        2.0 * (l + w) * (w + d) * 1e-6
    }
}

/// Mass that a carrier charges, in kg: the true mass or the outside volume over a divisor, whichever
/// is more, rounded up to whole steps.
#[derive(Clone, Copy, Debug)]
pub struct Charged {
    /// What the outside is larger than the inside.
    pub walls: [Length; 3],
    /// Volume for one kilogram, in cm3 per kg.
    pub divisor: f64,
    /// Masses are charged in whole steps of this.
    pub step: Mass,
}

impl Price for Charged {
    fn cost(&self, inside: [Length; 3], mass: Mass) -> f64 {
        let mut outside = inside;
        for (o, w) in outside.iter_mut().zip(self.walls) {
            *o += w;
        }
        let volumetric = litres(outside) * 1000.0 / self.divisor;
        let kg = volumetric.max(mass.to_kg());
        let step = self.step.to_kg();
        // A billionth of a step is rounding.
        (kg / step - 1e-9).ceil().max(1.0) * step
    }
}

/// A polynomial of the second degree in the three sizes, such as the blank of most styles has:
/// found from samples, and worth using only where `error` is as good as nothing.
#[derive(Clone, Copy, Debug)]
pub struct Quadratic {
    terms: [f64; 10],
    scale: [f64; 3],
}

impl Quadratic {
    /// The polynomial of least squares through samples (at least ten that lie well spread).
    /// `None` when they do not fix one.
    #[must_use]
    pub fn through(samples: &[([Length; 3], f64)]) -> Option<Self> {
        let mut scale = [1.0_f64; 3];
        for (size, _) in samples {
            for (s, l) in scale.iter_mut().zip(size) {
                *s = s.max(l.to_mm());
            }
        }
        let mut rows = [[0.0; 11]; 10];
        for (size, value) in samples {
            let p = powers(*size, scale);
            for i in 0..10 {
                for j in 0..10 {
                    rows[i][j] += p[i] * p[j];
                }
                rows[i][10] += p[i] * value;
            }
        }
        for i in 0..10 {
            let best = (i..10).max_by(|a, b| rows[*a][i].abs().total_cmp(&rows[*b][i].abs()))?;
            rows.swap(i, best);
            if rows[i][i].abs() < 1e-9 {
                return None;
            }
            let pivot = rows[i];
            for (_, row) in rows.iter_mut().enumerate().filter(|(r, _)| *r != i) {
                let k = row[i] / pivot[i];
                for (of, p) in row.iter_mut().zip(pivot).skip(i) {
                    *of -= k * p;
                }
            }
        }
        let mut terms = [0.0; 10];
        for (i, t) in terms.iter_mut().enumerate() {
            *t = rows[i][10] / rows[i][i];
        }
        Some(Self { terms, scale })
    }

    /// Its value at a size.
    #[must_use]
    pub fn at(&self, size: [Length; 3]) -> f64 {
        let p = powers(size, self.scale);
        p.iter().zip(self.terms).map(|(p, t)| p * t).sum()
    }

    /// The largest error at samples, as a share of their value.
    #[must_use]
    pub fn error(&self, samples: &[([Length; 3], f64)]) -> f64 {
        let off = |(size, v): &([Length; 3], f64)| ((self.at(*size) - v) / v).abs();
        samples.iter().map(off).fold(0.0, f64::max)
    }
}

fn powers(size: [Length; 3], scale: [f64; 3]) -> [f64; 10] {
    let [l, w, d] = [0, 1, 2].map(|i| size[i].to_mm() / scale[i]);
    [1.0, l, w, d, l * l, w * w, d * d, l * w, l * d, w * d]
}

impl Price for Quadratic {
    fn cost(&self, inside: [Length; 3], _mass: Mass) -> f64 {
        self.at(inside)
    }
}
