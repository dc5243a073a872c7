//! Machines: what a cutter can do, read from a text file, each figure with its origin.
//!
//! The words of the file format are in `docs/machines.md`. Words: a **tool** is what works on the
//! board (a beam, a knife, a wheel); a **line** of the file says how one use of a line is made in
//! one board; the **kerf** is the full width that a tool takes away.

mod code;
mod figure;
mod read;
#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

pub use read::read_machine;

use crate::blank::LineUse;
use crate::board::Origin;
use crate::units::{ForcePerLength, Length};

/// What kind of machine it is: which cautions go with it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Cuts with a beam.
    Laser,
    /// Cuts with blades.
    Knife,
}

/// A machine that cuts board.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// The name jobs and commands call it by.
    pub name: String,
    /// One line that says what it is.
    pub title: String,
    /// What kind.
    pub kind: Kind,
    /// Its bed: x and y.
    pub bed: [Length; 2],
    /// Speed of moves with the tool off, in mm/s.
    pub travel_speed: f64,
    /// Greatest acceleration along a path and towards the centre of a bend, in mm/s2.
    pub acceleration: f64,
    /// How far off a corner the tool may be thought to cut it: sets the speed at corners.
    pub corner: Length,
    /// Price of an hour of the machine, in the workshop's currency.
    pub hour_price: f64,
    /// Price of an hour of a person's hands.
    pub hand_price: f64,
    /// Time to take out, fold and join one blank by hand, in s.
    pub hand_time: f64,
    /// Power at full drive, in W; `None` for blades.
    pub full_power: Option<f64>,
    /// Its tools.
    pub tools: Vec<Tool>,
    /// What it does for each use of a line and each board.
    pub settings: Vec<Setting>,
    /// Bridges that hold a part in the sheet; `None` where the bed itself holds it.
    pub nicks: Option<Nicks>,
    /// Length of the cut from the waste to a contour, where one is asked for.
    pub lead_in: Length,
    /// How its files are written.
    pub dialect: Dialect,
    /// Where each figure comes from.
    pub origins: Vec<Origin>,
}

/// Something that works on the board.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// Its name in the file.
    pub name: String,
    /// Whether its power is a number in the machine code (a beam), else it is lowered.
    pub powered: bool,
    /// Time to begin a stroke (pierce, lower), in s.
    pub begin_time: f64,
    /// Time to end one (lift), in s.
    pub end_time: f64,
    /// Lines of machine code that take it up; none for the only tool there is.
    pub select: Vec<String>,
    /// Lines that lower it.
    pub lower: Vec<String>,
    /// Lines that lift it.
    pub lift: Vec<String>,
}

/// Which way a line runs on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Runs {
    /// Along the flutes, within 45 degrees.
    Along,
    /// Across them.
    Across,
}

/// How one use of a line is made in one board.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Which lines.
    pub line_use: LineUse,
    /// The board's name; `None` for every board without a setting of its own.
    pub board: Option<String>,
    /// Only lines that run this way; `None` for both.
    pub runs: Option<Runs>,
    /// How.
    pub way: Way,
    /// Index of the tool; of no meaning for lines that are left.
    pub tool: usize,
    /// Speed along the line, in mm/s.
    pub speed: f64,
    /// Share of full power, 0 to 1; 1 for blades.
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

/// Nicks: short uncut bridges that hold a part in its sheet. [`crate::cut`] says how many there are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nicks {
    /// So many at least on an outline.
    pub least: u32,
    /// One at least on so much outline.
    pub every: Length,
    /// Length of board a nick leaves, at least.
    pub length: Length,
    /// And at most.
    pub most: Length,
    /// What a nick holds for each mm of its length.
    pub holds: ForcePerLength,
    /// How many times its own weight a part is to be held with.
    pub times: f64,
    /// How far a nick stays from corners, crease ends and slits.
    pub clear: Length,
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
    /// Where the head goes at the end.
    pub park: [Length; 2],
}

impl Machine {
    /// How a line is made: the setting that says most about it. `None` when the file has none.
    #[must_use]
    pub fn setting(&self, line_use: LineUse, board: &str, runs: Runs) -> Option<&Setting> {
        self.settings
            .iter()
            .filter(|s| s.line_use == line_use)
            .filter(|s| s.board.as_deref().is_none_or(|b| b == board))
            .filter(|s| s.runs.is_none_or(|r| r == runs))
            .max_by_key(|s| (s.board.is_some(), s.runs.is_some()))
    }
    /// From now on takes this kerf in a board, whatever the file says; false when it has no setting
    /// for cuts there.
    pub fn take_kerf(&mut self, board: &str, kerf: Length) -> bool {
        let cut = |s: &&Setting| s.line_use == LineUse::Cut;
        let ways = [Some(Runs::Along), Some(Runs::Across), None];
        let said = |s: &&Setting| s.board.as_deref() == Some(board);
        // One that says the board is taken before one that says how the line runs.
        let all_said = self
            .settings
            .iter()
            .filter(cut)
            .any(|s| said(&s) && s.runs.is_none());
        // What holds for every board is copied for this one, each way that lines run.
        let mut own: Vec<Setting> = Vec::new();
        for runs in ways {
            let here = || self.settings.iter().filter(cut).filter(|s| s.runs == runs);
            let general = || here().find(|s| s.board.is_none() && !all_said);
            own.extend(here().find(said).or_else(general).cloned());
        }
        if own.is_empty() {
            return false;
        }
        self.settings
            .retain(|s| s.line_use != LineUse::Cut || s.board.as_deref() != Some(board));
        self.settings.extend(own.into_iter().map(|s| Setting {
            board: Some(board.to_owned()),
            kerf,
            ..s
        }));
        true
    }
    /// Where a figure comes from, by the word of the file.
    #[must_use]
    pub fn origin(&self, figure: &str) -> Option<&str> {
        let found = self.origins.iter().find(|o| o.figure == figure);
        found.map(|o| o.from.as_str())
    }
    /// Energy a stroke puts into each mm of the board, in J: full power times its share over speed;
    /// `None` for blades. Passes are not counted.
    #[must_use]
    pub fn joules_per_mm(&self, power: f64, speed: f64) -> Option<f64> {
        self.full_power.map(|full| full * power / speed)
    }
}

impl Way {
    /// In words, for people.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Through => "cut through".into(),
            Self::Etched => "etched part way".into(),
            Self::Dashes { cut, gap } => format!(
                "dashes, {} mm cut and {} mm gap",
                crate::units::trimmed(cut, 2),
                crate::units::trimmed(gap, 2)
            ),
            Self::Pressed => "pressed".into(),
            Self::Left => "left to be made by hand".into(),
        }
    }
}
