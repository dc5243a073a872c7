//! Mixed parts laid on sheets, off-cuts and strips.

mod area;
pub mod exact;
mod floor;
mod pairs;
mod place;
mod separate;
mod set;
mod strip;

pub use strip::{Strip, strip};

use crate::sheet::shape::{Shape, Spot, Turn};

/// A kind of part.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Its outline and windows, grown already by half the room between parts.
    pub shape: Shape,
    /// How it may be turned.
    pub turns: Vec<Turn>,
    /// How many are wanted.
    pub wanted: u32,
}

/// A part where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Laid {
    /// Index of its kind.
    pub kind: usize,
    /// Turned about its own origin,
    pub turn: Turn,
    /// then moved by so much.
    pub at: Spot,
}

/// Looks on while a search goes on. The search reads no clock: whoever watches does.
pub trait Watch {
    /// How much of the budget is spent, 0 to 1, after so many moves; at 1 the search ends. Asked
    /// before each move.
    fn spent(&mut self, moves: u64) -> f64;
    /// A better strip was found.
    fn better_strip(&mut self, strip: &Strip) {
        let _ = strip;
    }
}

/// Counts moves and asks whoever watches.
pub(crate) struct Pulse<'a> {
    watch: &'a mut dyn Watch,
    moves: u64,
    /// Share of the budget at which to stop for now.
    until: f64,
    spent: f64,
}

impl<'a> Pulse<'a> {
    fn new(watch: &'a mut dyn Watch) -> Self {
        Self {
            watch,
            moves: 0,
            until: 1.0,
            spent: 0.0,
        }
    }
    /// One move more; `false` when it is time to stop.
    fn go_on(&mut self) -> bool {
        self.spent = self.watch.spent(self.moves);
        self.moves += 1;
        self.spent < self.until
    }
    /// Whether it was time to stop at the last move.
    fn over(&self) -> bool {
        self.spent >= self.until
    }
}
