//! Points and upright boxes in `f64`, holding whole grid steps.

use std::ops::Range;

use crate::geom::DVec2;
use crate::sheet::shape::{Shape, Spot, Turn};

/// A point of the grid, or on its way there, in grid steps.
pub type P = DVec2;

/// Reads points of the grid.
pub trait Whole {
    /// From the grid.
    fn of(s: Spot) -> Self;
    /// Back to it; whole already.
    fn spot(self) -> Spot;
}

impl Whole for P {
    #[inline]
    #[allow(clippy::cast_precision_loss, reason = "whole below 2^53")]
    fn of(s: Spot) -> Self {
        Self::new(s.x as f64, s.y as f64)
    }
    #[inline]
    #[allow(clippy::cast_possible_truncation, reason = "whole and bounded")]
    fn spot(self) -> Spot {
        Spot::new(self.x.round() as i64, self.y.round() as i64)
    }
}

/// An upright box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Least corner.
    pub lo: P,
    /// Greatest corner.
    pub hi: P,
}

impl Area {
    /// Holds nothing.
    pub const fn empty() -> Self {
        Self {
            lo: P::INFINITY,
            hi: P::NEG_INFINITY,
        }
    }
    /// Round a shape.
    pub fn of(shape: &Shape) -> Self {
        let b = shape.bounds();
        Self {
            lo: P::of(b.min),
            hi: P::of(b.max),
        }
    }
    /// Made to hold a point.
    pub fn add(&mut self, p: P) {
        self.lo = self.lo.min(p);
        self.hi = self.hi.max(p);
    }
    /// Larger all round.
    pub fn grown(self, by: f64) -> Self {
        Self {
            lo: self.lo - P::splat(by),
            hi: self.hi + P::splat(by),
        }
    }
    /// Whether it holds no point at all.
    pub fn is_empty(self) -> bool {
        self.lo.x > self.hi.x || self.lo.y > self.hi.y
    }
    /// The point in it nearest to `p`.
    #[inline]
    pub fn clamp(self, p: P) -> P {
        p.max(self.lo).min(self.hi)
    }
    /// Whether it holds a point off its edge.
    #[inline]
    pub fn holds_inside(self, p: P) -> bool {
        p.x > self.lo.x && p.x < self.hi.x && p.y > self.lo.y && p.y < self.hi.y
    }
    /// The shifts at which another box meets this one, a little more than touching.
    pub fn room_for_touch(self, other: Self) -> Self {
        Self {
            lo: self.lo - other.hi,
            hi: self.hi - other.lo,
        }
        .grown(4.0)
    }
    /// Breadth and height.
    pub fn size(self) -> P {
        self.hi - self.lo
    }
    /// Its middle.
    pub fn middle(self) -> P {
        (self.lo + self.hi) * 0.5
    }
    /// Where the origin of something with the box `part` may be, so that it stays in this box.
    pub fn room_for(self, part: Self) -> Self {
        Self {
            lo: self.lo - part.lo,
            hi: self.hi - part.hi,
        }
    }
}

/// A turn by quarters as a matrix of whole numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quarter {
    /// Its cosine,
    pub c: f64,
    /// and its sine.
    pub s: f64,
}

impl Quarter {
    /// From a turn.
    pub const fn of(turn: Turn) -> Self {
        let (c, s) = match turn {
            Turn::None => (1.0, 0.0),
            Turn::Quarter => (0.0, 1.0),
            Turn::Half => (-1.0, 0.0),
            Turn::ThreeQuarters => (0.0, -1.0),
        };
        Self { c, s }
    }
    /// A point, turned.
    #[inline]
    pub fn turn(self, p: P) -> P {
        P::new(self.c * p.x - self.s * p.y, self.s * p.x + self.c * p.y)
    }
    /// A point, turned back.
    #[inline]
    pub fn back(self, p: P) -> P {
        P::new(self.c * p.x + self.s * p.y, self.c * p.y - self.s * p.x)
    }
}

/// The numbers of a range in an order of chance.
pub fn shuffled(range: Range<usize>, dice: &mut crate::proof::Dice) -> Vec<usize> {
    let mut v: Vec<usize> = range.collect();
    for i in (1..v.len()).rev() {
        v.swap(i, dice.below(i + 1));
    }
    v
}
