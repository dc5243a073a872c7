//! What comes of a state: messages beside the fields, and the case.

use std::collections::BTreeMap;

use serde::Serialize;
use ts_rs::TS;
use utoipa::ToSchema;

use super::Case;

/// What comes of a state.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Design {
    /// Messages that belong to a field.
    pub fields: Vec<FieldError>,
    /// Messages that belong to none.
    pub notes: Vec<FieldError>,
    /// The case; absent when it cannot be drawn.
    pub case: Option<Case>,
    /// Version of the program.
    pub version: String,
}

/// A message about what was typed into a field.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct FieldError {
    /// `inside.length`, `set.slot`, `board` ...; empty when no field is to blame.
    pub field: String,
    /// Stable, such as `unknown-name`.
    pub code: String,
    /// What is wrong, in one sentence.
    pub message: String,
    /// The same with its lengths in inches, where it has any.
    #[serde(rename = "messageIn")]
    pub message_in: Option<String>,
    /// What would cure it.
    pub help: Option<String>,
    /// First character to blame in the field's text, counted in UTF-16 units as a page counts.
    pub start: u32,
    /// One past the last.
    pub end: u32,
}

/// What a check measured.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Finding {
    /// Stable, such as `board-in-board`.
    pub code: String,
    /// What it amounts to.
    pub verdict: Verdict,
    /// One plain sentence.
    pub message: String,
    /// The same with its lengths in inches, where it has any.
    #[serde(rename = "messageIn")]
    pub message_in: Option<String>,
    /// What was measured.
    pub measured: Option<Shown>,
    /// What it is held against.
    pub limit: Option<Shown>,
    /// Keys of the panels it is about.
    pub panels: Vec<String>,
    /// Points it is about, in case coordinates.
    pub places: Vec<[f64; 3]>,
    /// What would cure it, in words.
    pub cure: Option<String>,
    /// The same with its lengths in inches, where it has any.
    #[serde(rename = "cureIn")]
    pub cure_in: Option<String>,
    /// What would cure it, tried out.
    pub fix: Option<Fix>,
    /// The stage it was seen in; absent for the blank and the finished case.
    pub stage: Option<u32>,
}

/// A measured value in both units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Shown {
    /// Lengths in mm.
    pub mm: String,
    /// Lengths in inches.
    #[serde(rename = "in")]
    pub inch: String,
}

/// A change that cures a finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Fix {
    /// Parameters and the expressions to set them to.
    pub set: BTreeMap<String, String>,
    /// For a button.
    pub label: String,
    /// The same with its lengths in inches, where it has any.
    #[serde(rename = "labelIn")]
    pub label_in: Option<String>,
}

/// What a finding amounts to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// As it should be.
    Pass,
    /// It works, but the reader should know.
    Caution,
    /// It does not work.
    Fail,
}

impl From<boxwright::check::Verdict> for Verdict {
    fn from(v: boxwright::check::Verdict) -> Self {
        use boxwright::check::Verdict as V;
        match v {
            V::Pass => Self::Pass,
            V::Caution => Self::Caution,
            V::Fail => Self::Fail,
        }
    }
}
