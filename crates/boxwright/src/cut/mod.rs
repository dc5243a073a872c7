//! From a layout to what a machine does, stroke by stroke.

pub mod common;
pub mod order;

use serde::Serialize;

use crate::blank::LineUse;
use crate::geom::{DVec2, Path};
use crate::machine::Way;

/// One stroke: the tool goes on at its start and off at its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// What the line is for.
    pub line_use: LineUse,
    /// How it is made.
    pub way: Way,
    /// Where the tool's centre runs, in sheet coordinates (mm): kerf, lead-in and nicks are in it
    /// already.
    pub path: Path,
    /// Speed along it in mm/s.
    pub speed: f64,
    /// Share of full power.
    pub power: f64,
    /// How often it is run along.
    pub passes: u32,
    /// Which placed part of the sheet it belongs to; two when a shared edge is cut once.
    pub of: Vec<usize>,
    /// Strokes with a lower number come first.
    pub rank: u32,
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
}

/// Time, lengths and energy of a program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Tally {
    /// Length cut through, every pass counted, in mm.
    pub cut: f64,
    /// Length creased, etched or engraved, in mm.
    pub marked: f64,
    /// Length travelled with the tool off, in mm.
    pub travel: f64,
    /// Time in s.
    pub seconds: f64,
    /// Energy put into the board, in J.
    pub joules: f64,
}
