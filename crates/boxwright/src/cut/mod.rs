//! From a layout to what a machine does, stroke by stroke.
//!
//! ```text
//! placed parts   -> contours, slits, marks          rings, fits
//! contours       -> the way of the tool's centre    kerf
//!                -> with nicks and lead-ins         nicks, lead, held
//! creases        -> dashes                          crease
//! all of them    -> one order                       order, plan
//! strokes        -> times, lengths, energy          time, plan
//! program        -> as many as it takes bed lengths      passes
//!                -> proved                          prove
//!                -> where the tool is when          play
//! tally          -> cost                            cost
//! ```
//!
//! Words: a **stroke** is one run of the tool, on at its start and off at its end; a **contour** is a
//! closed line that is cut through, an outline or a window; a **mark** is any line that is not cut
//! through; a **nick** is a short uncut bridge.

pub mod common;
pub mod cost;
pub mod crease;
mod fits;
mod held;
pub mod kerf;
mod lead;
pub mod nicks;
pub mod order;
pub mod passes;
pub mod plan;
pub mod play;
pub mod prove;
pub mod rings;
pub mod time;
pub mod track;

use serde::Serialize;

use crate::blank::LineUse;
use crate::diag::Diag;
use crate::geom::{DVec2, Path};
use crate::machine::Way;

pub use cost::{Cost, cost};
pub use passes::{Pass, passes};
pub use plan::program;
pub use prove::{Fault, prove};

/// What is asked of a program.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Whether parts are held by nicks, where the machine's file has any.
    pub nicks: bool,
    /// Whether contours are led into from the waste; edges that are shared never are.
    pub lead_in: bool,
    /// Whether edges that two parts share are cut once. The parts then lie exactly a kerf apart.
    pub common: bool,
    /// Whether it may reach past the bed along x, to be parted into passes afterwards.
    pub passes: bool,
    /// Whether a beam keeps off board that is still warm, where the way that takes is not too long.
    pub cool: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            nicks: true,
            lead_in: false,
            common: false,
            passes: false,
            cool: false,
        }
    }
}

/// One stroke: the tool goes on at its start and off at its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// What the line is for.
    pub line_use: LineUse,
    /// How it is made.
    pub way: Way,
    /// Where the tool's centre runs, in sheet coordinates (mm): kerf, lead-in and nicks are in it
    /// already. Always open: where it goes all the way round, its last point is its first.
    pub path: Path,
    /// Index of the tool in the machine.
    pub tool: usize,
    /// Speed along it in mm/s.
    pub speed: f64,
    /// Share of full power.
    pub power: f64,
    /// How often it is run along, there and back in turn.
    pub passes: u32,
    /// Which placed part of the sheet it belongs to; two when a shared edge is cut once.
    pub of: Vec<usize>,
    /// Strokes with a lower number come first.
    pub rank: u32,
}

impl Stroke {
    /// Where the tool goes on.
    #[must_use]
    pub fn enter(&self) -> DVec2 {
        self.path.vertices.first().map_or(DVec2::ZERO, |v| v.at)
    }
    /// Where it goes off: after an even number of passes at its start.
    #[must_use]
    pub fn leave(&self) -> DVec2 {
        let last = self.path.vertices.last().map_or(DVec2::ZERO, |v| v.at);
        if self.passes.is_multiple_of(2) {
            self.enter()
        } else {
            last
        }
    }
}

/// Everything done to one sheet, in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Program {
    /// Index of the sheet in the layout.
    pub sheet: usize,
    /// Breadth and height of the sheet in mm.
    pub size: DVec2,
    /// The strokes in the order they are made.
    pub strokes: Vec<Stroke>,
    /// What it takes.
    pub tally: Tally,
    /// What the user should know.
    pub notes: Vec<Diag>,
}

/// Time, lengths and energy of a program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Tally {
    /// Length cut through, every pass counted, in mm.
    pub cut: f64,
    /// Length creased, perforated or engraved, in mm.
    pub marked: f64,
    /// Length travelled with the tool off, in mm.
    pub travel: f64,
    /// Time in s.
    pub seconds: f64,
    /// Energy put into the board, in J; none for blades.
    pub joules: f64,
    /// How many strokes.
    pub strokes: usize,
    /// How many nicks.
    pub nicks: usize,
    /// Length of lines that this machine leaves to be made by hand, in mm.
    pub by_hand: f64,
}

impl Tally {
    /// This and another together.
    #[must_use]
    pub fn with(self, o: &Self) -> Self {
        Self {
            cut: self.cut + o.cut,
            marked: self.marked + o.marked,
            travel: self.travel + o.travel,
            seconds: self.seconds + o.seconds,
            joules: self.joules + o.joules,
            strokes: self.strokes + o.strokes,
            nicks: self.nicks + o.nicks,
            by_hand: self.by_hand + o.by_hand,
        }
    }
}

#[cfg(test)]
pub(crate) mod tests;
