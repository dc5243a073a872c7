//! What there is to choose from.

use serde::Serialize;
use ts_rs::TS;
use utoipa::ToSchema;

/// A style in the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct StyleLine {
    /// What a job calls it; for a style of the opened folder, its path there.
    pub name: String,
    /// Whether it is a file of the opened folder.
    pub own: bool,
    /// For people.
    pub title: String,
    /// International case code, if one applies.
    pub code: Option<String>,
    /// What it is for, in one line.
    pub purpose: String,
    /// What it is for, in the style's own words, and of how many pieces it is.
    pub tags: Vec<String>,
    /// What can be set.
    pub parameters: Vec<ParameterHead>,
}

/// A parameter of a style, before any size is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct ParameterHead {
    /// Its name.
    pub name: String,
    /// One line for the user.
    pub help: String,
    /// What it measures.
    pub kind: Kind,
    /// The words of a choice; empty for all else.
    pub choices: Vec<String>,
}

/// What a parameter measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
#[ts(rename = "ParameterKind")]
#[schema(as = ParameterKind)]
pub enum Kind {
    /// A length.
    Length,
    /// An angle.
    Angle,
    /// A plain number, or anything else that is one.
    Number,
    /// One of some words.
    Choice,
}

/// A board in the list.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct BoardLine {
    /// What a job calls it.
    pub name: String,
    /// For people.
    pub title: String,
    /// Thickness in mm.
    pub caliper: f64,
    /// `single` or `double`.
    pub wall: String,
}
