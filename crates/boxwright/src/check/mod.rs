//! Measured findings: is the room clear, does board meet board, does it close.

mod model;

pub use model::*;

use crate::blank::Defect;
use crate::brief::Brief;
use crate::fold::Folder;
use crate::units::Length;

/// What all checks found on one case.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The findings, worst first; among equals in the order of the table of checks.
    pub findings: Vec<Finding>,
    /// Clear room found: length, width, depth.
    pub room: [Length; 3],
}

/// Runs every check.
#[must_use]
pub fn check(brief: &Brief, folder: &Folder<'_>) -> Report {
    let _ = (brief, folder);
    Report {
        findings: Vec::new(),
        room: [Length::ZERO; 3],
    }
}

/// What is wrong with a blank that may not be folded, as findings.
#[must_use]
pub fn of_defects(defects: &[Defect]) -> Vec<Finding> {
    defects
        .iter()
        .map(|d| {
            let f = Finding::new(d.code, Verdict::Fail, d.message.clone())
                .panels(d.panels.iter().cloned());
            match d.measured {
                Some(m) => f.measured(Measure::Mm(m), Measure::Mm(Length::ZERO)),
                None => f,
            }
        })
        .collect()
}
