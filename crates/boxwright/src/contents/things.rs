//! The things to be sent, and how they are to be packed.

use crate::diag::Place;
use crate::units::{Length, Mass, Pressure};

use super::arrange::{ALL_WAYS, Item};

/// Which way up a thing goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// Any way.
    Any,
    /// The size with this number stays upright.
    Axis(usize),
    /// The size with this number lies.
    Lying(usize),
}

/// One thing, or several alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Thing {
    /// What it is called.
    pub name: String,
    /// Where its name stands.
    pub place: Place,
    /// Length, width, depth. Of a cylinder: diameter, diameter, length.
    pub size: [Length; 3],
    /// Whether it is a cylinder. It is packed as the cuboid around it.
    pub round: bool,
    /// Mass of one.
    pub mass: Mass,
    /// Peak acceleration it bears, in g.
    pub fragile: Option<f64>,
    /// Which way up.
    pub up: Up,
    /// How many.
    pub count: u32,
    /// Padding wrapped round it on every side, so that it touches nothing.
    pub wrap: Length,
    /// Whether anything may be above it.
    pub stack: bool,
}

impl Thing {
    /// The name of one of its sizes.
    #[must_use]
    pub const fn size_name(&self, axis: usize) -> &'static str {
        match (self.round, axis) {
            (true, 2) | (false, 0) => "length",
            (true, _) => "diameter",
            (false, 1) => "width",
            (false, _) => "depth",
        }
    }
    /// How it may lie: which of its sizes runs along length, width and depth of the room.
    #[must_use]
    pub fn ways(&self) -> Vec<[usize; 3]> {
        let allowed = |way: &&[usize; 3]| match self.up {
            Up::Any => true,
            Up::Axis(a) => way[2] == a,
            Up::Lying(a) => way[2] != a,
        };
        ALL_WAYS.iter().filter(allowed).copied().collect()
    }
    /// As the search of arrangements sees it, wrap and all. Sizes are rounded up to 0.1 mm.
    #[must_use]
    pub fn item(&self) -> Item {
        Item {
            size: self.size.map(|s| steps_up(s + self.wrap * 2.0)),
            ways: self.ways(),
            bears: self.stack,
        }
    }
}

/// How things are to be packed.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// Height of fall, instead of a table's.
    pub drop: Option<Length>,
    /// The table of heights.
    pub drop_table: String,
    /// Cushion factor, when one is given.
    pub factor: Option<f64>,
    /// Static stress the cushion may bear, least and most.
    pub stress: [Option<Pressure>; 2],
    /// Plain clearance on each side.
    pub room: Length,
    /// Padding on a side instead of cushion and clearance: the two ends of length, width and depth.
    pub sides: [[Option<Length>; 2]; 3],
}

/// Clearance on each side where none is given. Default: a hand's push, no source.
pub const ROOM: Length = Length::mm(3.0);
/// Wrap of a thing that may not touch others, where none is given. Default, no source.
pub const WRAP: Length = Length::mm(10.0);
/// The table of heights where none is named.
pub const DROP_TABLE: &str = "1A";
/// The two ends of length, width and depth, as files call them.
pub const SIDES: [[&str; 2]; 3] = [["left", "right"], ["front", "back"], ["bottom", "top"]];

impl Default for Rules {
    fn default() -> Self {
        Self {
            drop: None,
            drop_table: DROP_TABLE.to_owned(),
            factor: None,
            stress: [None, None],
            room: ROOM,
            sides: [[None; 2]; 3],
        }
    }
}

/// A file of things.
#[derive(Clone, Debug, PartialEq)]
pub struct Things {
    /// The things, by distinct names.
    pub things: Vec<Thing>,
    /// How they are to be packed.
    pub rules: Rules,
}

/// A length in steps of the search, rounded up; what is a hair over a step by rounding is that step.
#[must_use]
pub fn steps_up(length: Length) -> i64 {
    let steps = length.to_mm() * 10.0;
    #[allow(
        clippy::cast_possible_truncation,
        reason = "sizes are bounded when they are read"
    )]
    let whole = (steps - 1e-6).ceil() as i64;
    whole
}

/// Steps of the search as a length.
#[must_use]
pub fn from_steps(steps: i64) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
    Length::mm(steps as f64 / 10.0)
}
