//! One shape repeated as often as will go: on a sheet or off-cut of any outline, and in the plane.
//!
//! Parts lie in a lattice of single parts or of pairs ([`compound`]), counted over every shift that
//! matters ([`count`]); what is left at the sides is filled with single parts in any turn ([`fill`]);
//! sheets are also halved, each half with a lattice of its own ([`halves`]). Everything is reckoned
//! on the grid in whole numbers: parts may touch and never overlap.

mod barred;
mod bound;
mod compound;
mod convex;
mod count;
mod fill;
mod halves;
mod kit;
mod plane;
mod room;
mod search;
mod simple;

use crate::sheet::shape::{Shape, Spot, Turn};
pub use bound::{Bound, Why, bound};
pub use plane::{Lattice, densest};

/// Most parts that are laid on one sheet. A part so small that the sheet has the area of more is laid
/// in plain rows, no more than so many.
pub const MOST_PARTS: u32 = 20_000;

/// What is asked: one shape, the turns it may take, and where it is to lie.
#[derive(Clone, Copy, Debug)]
pub struct Repeat<'a> {
    /// The shape, grown already by half the room between parts.
    pub shape: &'a Shape,
    /// Turns it may take.
    pub turns: &'a [Turn],
    /// The sheet or off-cut, shrunk already by the room to its edge; holes are places cut away.
    pub sheet: &'a Shape,
    /// How many are wanted; as many as will go when not said.
    pub most: Option<u32>,
}

/// One part laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Laid {
    /// Turned about the shape's own origin,
    pub turn: Turn,
    /// then moved by so much.
    pub at: Spot,
}

/// Lays as many as will go, or as are wanted. It ends by itself when nothing more is to be tried, and
/// sooner when `stop` says so, with the best found so far; without `stop` the same question gets the
/// same answer. When fewer are wanted than would go, those are given that leave the larger rest.
///
/// Nothing is laid when the shape or the sheet has no area, does not fit, or reaches further than
/// 67 m from its origin. A shape whose rings cross is laid as its hull.
#[must_use]
pub fn repeat(ask: &Repeat<'_>, stop: &mut dyn FnMut() -> bool) -> Vec<Laid> {
    search::repeat(ask, stop, &mut |_| {})
}

/// The same, telling the number laid whenever it grows.
#[must_use]
pub fn repeat_told(
    ask: &Repeat<'_>,
    stop: &mut dyn FnMut() -> bool,
    better: &mut dyn FnMut(usize),
) -> Vec<Laid> {
    search::repeat(ask, stop, better)
}

#[cfg(test)]
mod tests;
