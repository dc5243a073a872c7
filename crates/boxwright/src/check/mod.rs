//! Measured findings: is the room clear, does board meet board, does it close.

mod faces;
mod flat;
mod joints;
mod marks;
mod model;
mod motion;
mod rest;
mod room;
mod scene;
pub mod solid;

use scene::Scene;

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

/// Runs every check on the finished case, on the case at rest after each stage, and on the way.
#[must_use]
pub fn check(brief: &Brief, folder: &Folder<'_>) -> Report {
    run(brief, folder, Until::End)
}

/// The finding that leads the report of [`check`], found without looking further once a check has
/// failed: those that come after it in the report cannot lead it.
#[must_use]
pub fn leading(brief: &Brief, folder: &Folder<'_>) -> Option<Finding> {
    run(brief, folder, Until::FirstFailure)
        .findings
        .into_iter()
        .next()
}

/// Runs the checks of the finished case only: no stages, no motion. For sweeps and previews.
#[must_use]
pub fn check_resting(brief: &Brief, folder: &Folder<'_>) -> Report {
    run(brief, folder, Until::Rest)
}

/// How far the checks go.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Until {
    /// The finished case only.
    Rest,
    /// Stage by stage, as long as nothing has failed.
    FirstFailure,
    /// All of them.
    End,
}

fn run(brief: &Brief, folder: &Folder<'_>, until: Until) -> Report {
    let solids = scene::solids(folder);
    let stages = folder.plan.stages.len();
    let slabs = folder.slabs(folder.last());
    let finished = Scene::new(brief, folder, &slabs, &solids);
    let found = room::room(&finished);
    let mut findings = found.findings;
    findings.extend(rest::rest(&finished, None));
    for j in &folder.plan.joints {
        findings.extend(joints::joint(&finished, j));
    }
    for part in folder.plan.parts() {
        findings.extend(flat::features(brief, folder.plan, part.clone()));
        findings.extend(flat::slots(folder.plan, part));
    }
    findings.extend(flat::fit(brief, folder.plan));
    findings.extend(marks::marks(folder));
    if until != Until::Rest {
        for stage in 1..=stages {
            let failed = findings.iter().any(|f| f.verdict == Verdict::Fail);
            if failed && until == Until::FirstFailure {
                break;
            }
            if stage < stages {
                let slabs = folder.slabs(&folder.stations[stage]);
                findings.extend(rest::rest(
                    &Scene::new(brief, folder, &slabs, &solids),
                    Some(stage),
                ));
            }
            findings.extend(motion::stage(brief, folder, &solids, stage));
        }
    }
    findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    Report {
        findings,
        room: found.sizes.map(Length::mm),
    }
}

impl Report {
    /// The worst verdict.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        self.findings
            .iter()
            .map(|f| f.verdict)
            .max()
            .unwrap_or(Verdict::Pass)
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
