//! Jobs in the opened folder, and files made from a state.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{FieldError, FileKind, State};

/// A job in the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct JobLine {
    /// Path in the opened folder, with `/` between its parts.
    pub name: String,
    /// What the case is called; empty when the file cannot be read.
    pub title: String,
    /// Its style; empty when the file cannot be read.
    pub style: String,
}

/// A job as opened.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct OpenJob {
    /// Path in the opened folder.
    pub name: String,
    /// What it says.
    pub state: State,
    /// Tells this content of the file from any other.
    pub stamp: String,
    /// What is wrong in the file.
    pub messages: Vec<FieldError>,
}

/// A job to save.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SaveJob {
    /// The stamp it was opened with; null when the file must not be there yet.
    #[schema(required = true)]
    pub stamp: Option<String>,
    /// What it is to say.
    pub state: State,
}

/// A job saved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Saved {
    /// The stamp of the file as it is now.
    pub stamp: String,
}

/// A file to make.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FileAsk {
    /// The case.
    pub state: State,
    /// What kind of file.
    pub kind: FileKind,
    /// Unit of the sizes on drawings.
    pub unit: Unit,
    /// Which piece, for kinds with a file for each; the first when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub piece: Option<String>,
}

/// Unit of shown lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Inches.
    In,
}

impl From<Unit> for boxwright::units::LengthUnit {
    fn from(u: Unit) -> Self {
        match u {
            Unit::Mm => Self::Mm,
            Unit::In => Self::Inch,
        }
    }
}
