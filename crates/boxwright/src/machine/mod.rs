//! Machines: what a cutter can do, read from a text file, each figure with its origin.

use serde::{Deserialize, Serialize};

use crate::blank::LineUse;
use crate::units::Length;

/// A machine that cuts board.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// The name jobs and commands call it by.
    pub name: String,
    /// One line that says what it is.
    pub title: String,
    /// Its bed: x and y.
    pub bed: [Length; 2],
    /// Speed of moves with the tool off, in mm/s.
    pub travel_speed: f64,
    /// Greatest acceleration, in mm/s2.
    pub acceleration: f64,
    /// Time it takes to begin or end a stroke (pierce, lift, lower), in s.
    pub stroke_time: f64,
    /// Cost of an hour of the machine, in the workshop's currency.
    pub hour_price: f64,
    /// Electrical or optical power at full drive, in W; `None` for a knife.
    pub full_power: Option<f64>,
    /// What it does for each use of a line and each board.
    pub settings: Vec<Setting>,
    /// How its files are written.
    pub dialect: Dialect,
    /// Where each figure comes from.
    pub origins: Vec<(String, String)>,
}

/// How one use of a line is made in one board.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Which lines.
    pub line_use: LineUse,
    /// The board's name; `None` for every board without a setting of its own.
    pub board: Option<String>,
    /// How.
    pub way: Way,
    /// Speed along the line, in mm/s.
    pub speed: f64,
    /// Share of full power, 0 to 1; 1 for a knife.
    pub power: f64,
    /// How often the line is run along.
    pub passes: u32,
    /// Width of board the tool takes away, in full.
    pub kerf: Length,
}

/// How a line is made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// Cut through all along.
    Through,
    /// A line part way into the board.
    Etched,
    /// Cut through in dashes with gaps between, both in mm; the dashes never end on a corner.
    Dashes {
        /// Length of a dash.
        cut: f64,
        /// Length of a gap.
        gap: f64,
    },
    /// Pressed by another tool of the machine: a wheel or a rule.
    Pressed,
    /// Not made by this machine.
    Left,
}

/// How machine code is written for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Dialect {
    /// Number that stands for full power (`S`).
    pub full_s: f64,
    /// Whether power follows speed (`M4`), else it is constant (`M3`).
    pub power_follows_speed: bool,
    /// Whether the air assist is switched (`M8` and `M9`).
    pub air: bool,
    /// Decimals of a coordinate in mm.
    pub decimals: usize,
}
