//! What is to be said of shipping a case, as JSON.

use serde::Serialize;

use crate::diag::Diag;
use crate::haul::{Haul, Unmet};
use crate::ship::Outlook;
use crate::ship::signs::Due;

/// Everything told about the shipping of one packed case. Forces are in N, masses in kg, lengths in mm.
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct ShipReport<'a> {
    /// `boxwright-ship`.
    pub format: &'static str,
    /// 1.
    pub version: u32,
    /// The case itself: size, masses, strength, stack, grade, parcel, lift.
    #[serde(flatten)]
    pub outlook: &'a Outlook,
    /// On a pallet, in containers and trailers.
    pub haul: &'a Haul,
    /// Handling signs that are due.
    pub signs: &'a [Due],
    /// What does not hold.
    pub unmet: Vec<Unmet>,
    /// Names of the files written.
    pub files: Vec<String>,
}

/// The report, with what does not hold and the names of the files that were written.
#[must_use]
pub fn ship_report<'a>(
    outlook: &'a Outlook,
    haul: &'a Haul,
    signs: &'a [Due],
    unmet: Vec<Unmet>,
    files: Vec<String>,
) -> ShipReport<'a> {
    ShipReport {
        format: "boxwright-ship",
        version: 1,
        outlook,
        haul,
        signs,
        unmet,
        files,
    }
}

impl ShipReport<'_> {
    /// As JSON.
    ///
    /// # Errors
    /// `report-failed` when a number in it is none.
    pub fn to_json(&self) -> Result<String, Diag> {
        serde_json::to_string_pretty(self)
            .map(|s| s + "\n")
            .map_err(|e| {
                let message = format!("the report cannot be written: {e}");
                Diag::error("report-failed", message)
            })
    }
}
