//! Orders gathered into a histogram of distinct sizes, however many rows there are.

use std::collections::HashMap;

use crate::units::{Length, Mass, SLACK_MM};

/// Things longer than this are taken for a slip of the pen: 20 m, as for inside sizes.
pub const LONGEST: Length = Length::mm(20_000.0);
/// Heaviest thing in an order history.
pub const HEAVIEST: Mass = Mass::kg(100_000.0);
/// Distinct sizes kept at once; beyond it the grid is made coarser.
pub const MOST_DISTINCT: usize = 1 << 20;
/// Most orders in one row.
pub const MOST_IN_ROW: u64 = 1_000_000_000_000;
/// Most orders in all: whole numbers up to here are exact.
pub const MOST_ORDERS: u64 = 1 << 53;

/// How orders are gathered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gathering {
    /// Inside sizes are whole multiples of this; what a thing needs is rounded up to it.
    pub grid: Length,
    /// Room added on each side of a thing.
    pub clearance: Length,
    /// The third size is the height and stays so; else a thing may lie on any of its faces.
    pub upright: bool,
    /// No case is smaller than this, largest size first (the height last when upright).
    pub least: [Length; 3],
    /// Masses are told apart in steps of this, rounded up; `None` when mass does not matter.
    pub mass_step: Option<Mass>,
    /// Distinct sizes kept at once, at most [`MOST_DISTINCT`].
    pub most: usize,
}

impl Default for Gathering {
    fn default() -> Self {
        Self {
            grid: Length::mm(1.0),
            clearance: Length::ZERO,
            upright: false,
            least: [Length::ZERO; 3],
            mass_step: None,
            most: MOST_DISTINCT,
        }
    }
}

/// What is wrong with a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// A size (by its place: 0, 1, 2) is not more than 0, or no number.
    NotPositive(usize),
    /// A size is beyond [`LONGEST`].
    TooLong(usize),
    /// The mass is below 0, no number, or beyond [`HEAVIEST`].
    Mass,
    /// The count is beyond [`MOST_IN_ROW`], or all counts together beyond [`MOST_ORDERS`].
    Count,
}

/// Sizes in grid steps, with the mass in steps.
pub(super) type Key = ([u32; 3], u32);

/// Rows on their way into a [`History`].
#[derive(Clone, Debug)]
pub struct Gather {
    how: Gathering,
    /// Grid steps that one step of the histogram has: 1 unless it was made coarser.
    coarse: u32,
    counts: HashMap<Key, Tally>,
    orders: u64,
    mass: u128,
}

/// How many orders, and the volume of their things in thousandths of a mm3: whole numbers, so that
/// rows may come in any order and on any thread.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Tally {
    pub count: u64,
    pub filled: u128,
}

impl Tally {
    pub fn add(&mut self, o: Self) {
        self.count += o.count;
        self.filled += o.filled;
    }
    #[allow(clippy::cast_precision_loss, reason = "shown to a few digits")]
    pub fn litres(self) -> f64 {
        self.filled as f64 * 1e-9
    }
}

impl Gather {
    /// Nothing yet.
    #[must_use]
    pub fn new(how: Gathering) -> Self {
        Self {
            how,
            coarse: 1,
            counts: HashMap::new(),
            orders: 0,
            mass: 0,
        }
    }

    /// Adds `count` orders of one thing. `size` is the thing's own, without clearance.
    ///
    /// # Errors
    /// What is wrong with the row; nothing was added then.
    pub fn push(&mut self, size: [Length; 3], mass: Mass, count: u64) -> Result<(), Wrong> {
        for (i, s) in size.iter().enumerate() {
            if s.to_mm().is_nan() || *s <= Length::ZERO {
                return Err(Wrong::NotPositive(i));
            }
            if *s > LONGEST {
                return Err(Wrong::TooLong(i));
            }
        }
        if !(mass >= Mass::ZERO && mass <= HEAVIEST) {
            return Err(Wrong::Mass);
        }
        if count > MOST_IN_ROW || self.orders + count > MOST_ORDERS {
            return Err(Wrong::Count);
        }
        if count == 0 {
            return Ok(());
        }
        let mut sorted = size;
        let turned = if self.how.upright { 2 } else { 3 };
        sorted[..turned].sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
        let mut at = [0; 3];
        for ((at, s), least) in at.iter_mut().zip(sorted).zip(self.how.least) {
            let needed = (s + self.how.clearance * 2.0).max(least);
            *at = up(up_steps(needed, self.how.grid), self.coarse);
        }
        let step = self.how.mass_step.map_or(0, |m| mass_steps(mass, m));
        let whole = |v: f64| u128::from(rounded(v)) * u128::from(count);
        let volume = size.iter().map(|s| s.to_mm()).product::<f64>();
        let tally = Tally {
            count,
            filled: whole(volume * 1e3),
        };
        self.counts.entry((at, step)).or_default().add(tally);
        self.orders += count;
        self.mass += whole(mass.to_g() * 1e3);
        while self.counts.len() > self.how.most.clamp(1, MOST_DISTINCT) && self.coarse < 1 << 20 {
            self.coarsen(self.coarse * 2);
        }
        Ok(())
    }

    /// Puts in what another has gathered in the same way.
    pub fn merge(&mut self, other: Self) {
        let mut other = other;
        let coarse = self.coarse.max(other.coarse);
        self.coarsen(coarse);
        other.coarsen(coarse);
        for (key, n) in other.counts {
            self.counts.entry(key).or_default().add(n);
        }
        self.orders += other.orders;
        self.mass += other.mass;
        while self.counts.len() > self.how.most.clamp(1, MOST_DISTINCT) && self.coarse < 1 << 20 {
            self.coarsen(self.coarse * 2);
        }
    }

    fn coarsen(&mut self, to: u32) {
        if to == self.coarse {
            return;
        }
        self.coarse = to;
        let old = std::mem::take(&mut self.counts);
        for ((at, m), n) in old {
            let key = (at.map(|s| up(s, to)), m);
            self.counts.entry(key).or_default().add(n);
        }
    }

    /// How many distinct sizes there are so far.
    #[must_use]
    pub fn distinct(&self) -> usize {
        self.counts.len()
    }

    /// The histogram, in a fixed order.
    #[must_use]
    pub fn finish(self) -> History {
        let mut kinds: Vec<(Key, Tally)> = self.counts.into_iter().collect();
        kinds.sort_unstable_by_key(|k| k.0);
        History {
            how: self.how,
            coarse: self.coarse,
            kinds,
            orders: self.orders,
            mass: self.mass,
        }
    }
}

/// An order history as a histogram of what room the things need.
#[derive(Clone, Debug)]
pub struct History {
    pub(super) how: Gathering,
    pub(super) coarse: u32,
    pub(super) kinds: Vec<(Key, Tally)>,
    orders: u64,
    /// In mg.
    mass: u128,
}

impl History {
    /// How the orders were gathered.
    #[must_use]
    pub const fn how(&self) -> Gathering {
        self.how
    }
    /// Orders in all.
    #[must_use]
    pub const fn orders(&self) -> u64 {
        self.orders
    }
    /// Distinct sizes (and steps of mass).
    #[must_use]
    pub fn distinct(&self) -> usize {
        self.kinds.len()
    }
    /// Volume of all things together, in litres.
    #[must_use]
    pub fn filled_litres(&self) -> f64 {
        self.kinds.iter().map(|k| k.1.litres()).sum()
    }
    /// Mass of all things together.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "shown to a few digits")]
    pub fn mass(&self) -> Mass {
        Mass::kg(self.mass as f64 * 1e-6)
    }
    /// The grid that things were rounded up to: that asked for, or coarser when there were too many
    /// distinct sizes. Bounds take the loss into account.
    #[must_use]
    pub fn rounded_to(&self) -> Length {
        self.how.grid * f64::from(self.coarse)
    }
    /// The least and the largest that is needed of each size.
    #[must_use]
    pub fn ends(&self) -> [[Length; 3]; 2] {
        let ats = || self.kinds.iter().map(|k| k.0.0);
        let of =
            |pick: fn(u32, u32) -> u32| ats().reduce(|a, b| [0, 1, 2].map(|d| pick(a[d], b[d])));
        let low = of(u32::min).unwrap_or_default();
        let high = of(u32::max).unwrap_or_default();
        [self.lengths(low), self.lengths(high)]
    }
    /// A size in grid steps as lengths.
    pub(super) fn lengths(&self, at: [u32; 3]) -> [Length; 3] {
        at.map(|s| self.how.grid * f64::from(s))
    }
}

/// Grid steps that hold this length.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 1 and 20 m over the grid; a grid is at least 0.01 mm"
)]
pub(super) fn up_steps(l: Length, grid: Length) -> u32 {
    (((l.to_mm() - SLACK_MM) / grid.to_mm()).ceil() as u32).max(1)
}

/// Grid steps that lie within this length.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 0 and 20 m over the grid"
)]
pub(super) fn down_steps(l: Length, grid: Length) -> u32 {
    ((l.to_mm() + SLACK_MM) / grid.to_mm()).floor() as u32
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "at most the volume of 20 m cubed in thousandths of a mm3"
)]
fn rounded(v: f64) -> u64 {
    v.round().max(0.0) as u64
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the mass is bounded and the step at least 1 g"
)]
fn mass_steps(m: Mass, step: Mass) -> u32 {
    // A billionth of a step is rounding.
    (m.to_kg() / step.to_kg() - 1e-9).ceil().max(0.0) as u32
}

/// Rounded up to a multiple.
const fn up(s: u32, of: u32) -> u32 {
    s.div_ceil(of) * of
}
