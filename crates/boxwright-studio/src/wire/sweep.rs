//! A sweep over two sizes or parameters.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{Shown, State};

/// A sweep to run.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SweepAsk {
    /// The case; what is varied in it does not matter.
    pub state: State,
    /// What is varied: across, then up.
    #[schema(min_items = 2, max_items = 2)]
    pub vary: [Vary; 2],
}

/// One of the two things varied.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Vary {
    /// `inside.length`, `inside.width`, `inside.depth` or `set.` and a parameter.
    pub name: String,
    /// First value, as typed.
    pub from: String,
    /// Last value, as typed.
    pub to: String,
    /// How many values, the first and the last among them.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 1, maximum = 40_000)]
    pub steps: u32,
}

/// A line of the answer: exactly one of the three kinds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
#[serde(untagged)]
pub enum SweepLine {
    /// The first line.
    Total(SweepTotal),
    /// Some cells.
    Cells(SweepCells),
    /// The last line; when it is missing the answer was cut off.
    Finished(SweepFinished),
}

/// How many cells there are, and what is varied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SweepTotal {
    /// That many.
    pub total: u32,
    /// The values across.
    pub across: Vec<SweepValue>,
    /// The values up.
    pub up: Vec<SweepValue>,
}

/// One of the values of what is varied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SweepValue {
    /// To show, with its unit.
    pub shown: Shown,
    /// To put into a field.
    pub typed: String,
}

/// Cells that are done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SweepCells {
    /// How many are done so far, these among them.
    pub done: u32,
    /// The cells.
    pub cells: Vec<SweepCell>,
}

/// A cell.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SweepCell {
    /// Index of the first value.
    pub i: u32,
    /// Index of the second value.
    pub j: u32,
    /// What it amounts to.
    pub verdict: CellVerdict,
    /// Code of the finding or message that decides it; empty for a pass.
    pub code: String,
    /// What it says; empty for a pass.
    pub message: String,
    /// The same with its lengths in inches, where it has any.
    #[serde(rename = "messageIn")]
    pub message_in: Option<String>,
}

/// What a cell amounts to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum CellVerdict {
    /// As it should be.
    Pass,
    /// It works, but tightly.
    Caution,
    /// It does not work.
    Fail,
    /// It cannot be drawn at all.
    Refused,
}

/// The end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SweepFinished {
    /// Always true.
    pub finished: bool,
}
