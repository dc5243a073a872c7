//! Cures tried out: where a finding's cure names a parameter, the value that does it.
//!
//! The parameter is turned the way the cure says, by what was measured and then by somewhat more,
//! and the case is checked again. Only a value that rids the case of the finding without bringing
//! another failure is offered.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use boxwright::brief::Brief;
use boxwright::check::{Finding, Report, Verdict, check, check_resting};
use boxwright::expr::Expr;
use boxwright::fold::Folder;
use boxwright::style::{Formula, Named};
use boxwright::units::{Dim, Quantity, trimmed};
use boxwright::{blank::Plan, diag::Place};

use crate::tongue;
use crate::wire::Fix;

/// Time for all trials of one case.
const BUDGET: Duration = Duration::from_millis(20);
/// Failing findings looked at.
const MOST_TRIED: usize = 4;
/// Shares of the measured amount that are tried in turn.
const SHARES: [f64; 3] = [1.0, 2.0, 0.5];
/// Values are offered in steps of this many mm.
const STEP: f64 = 0.1;

/// For each finding, the change that cures it, where one was found.
#[must_use]
pub fn fixes(brief: &Brief, plan: &Plan, report: &Report) -> Vec<Option<Fix>> {
    let mut out: Vec<Option<Fix>> = vec![None; report.findings.len()];
    let start = Instant::now();
    let failing = |f: &&Finding| f.verdict == Verdict::Fail;
    let fails = report.findings.iter().filter(failing).count();
    let mut longest = Duration::ZERO;
    let mut tried: Vec<(String, String)> = Vec::new();
    for i in 0..report.findings.len().min(MOST_TRIED) {
        let f = &report.findings[i];
        if f.verdict != Verdict::Fail || out[i].is_some() {
            continue;
        }
        let Some(lever) = f.cure.as_deref().and_then(Lever::read) else {
            continue;
        };
        for (name, share) in lever
            .names
            .iter()
            .flat_map(|n| SHARES.map(|share| (*n, share)))
        {
            let Some(value) = lever.value(plan, name, share) else {
                continue;
            };
            let setting = (name.to_owned(), format!("{value}mm"));
            if tried.contains(&setting) {
                continue;
            }
            // A trial that would run past the budget is not begun.
            if start.elapsed() + longest > BUDGET {
                return out;
            }
            let cures = |r: &Report| {
                let still = || r.findings.iter().filter(failing);
                still().count() < fails && !still().any(|s| same(s, f))
            };
            let began = Instant::now();
            let after = again(brief, name, &value, cures);
            longest = longest.max(began.elapsed());
            tried.push(setting);
            let Some(after) = after else { continue };
            let still: Vec<&Finding> = after.findings.iter().filter(failing).collect();
            let label = format!("set {name} to {value} mm");
            let fix = Fix {
                set: BTreeMap::from([(name.to_owned(), format!("{value}mm"))]),
                label_in: tongue::inches(&label),
                label,
            };
            for (slot, other) in out.iter_mut().zip(&report.findings) {
                if failing(&other) && slot.is_none() && !still.iter().any(|s| same(s, other)) {
                    *slot = Some(fix.clone());
                }
            }
            break;
        }
    }
    out
}

/// Whether two findings are about the same fault.
fn same(a: &Finding, b: &Finding) -> bool {
    (a.code, &a.panels, a.stage) == (b.code, &b.panels, b.stage)
}

/// What a cure says: which parameters to turn, which way, and how far.
#[derive(Debug, PartialEq)]
struct Lever<'a> {
    names: Vec<&'a str>,
    up: bool,
    mm: f64,
}

impl<'a> Lever<'a> {
    /// Reads words such as "increase `step` so that `front top` moves by 3 mm".
    fn read(cure: &'a str) -> Option<Self> {
        let (verb, rest) = cure.split_once(' ')?;
        let up = match verb {
            "increase" => true,
            "reduce" => false,
            _ => return None,
        };
        let (list, rest) = rest.split_once(" so that ")?;
        let names: Vec<&str> = list
            .split(" or ")
            .map(|n| n.trim_matches('`'))
            .filter(|n| !n.is_empty())
            .collect();
        let mm = rest.rsplit_once(" moves by ")?.1.strip_suffix(" mm")?;
        Some(Self {
            names,
            up,
            mm: mm.parse().ok()?,
        })
    }

    /// The value that is `share` of the way further, rounded away from the one that failed.
    fn value(&self, plan: &Plan, name: &str, share: f64) -> Option<String> {
        let now = plan.values.quantity(name)?;
        if now.dim != Dim::LENGTH {
            return None;
        }
        let steps = if self.up {
            ((now.value + share * self.mm) / STEP - 1e-6).ceil()
        } else {
            ((now.value - share * self.mm) / STEP + 1e-6).floor()
        };
        Some(trimmed(steps * STEP, 1))
    }
}

/// The case with a parameter at another value, checked; `None` when that cures nothing.
fn again(brief: &Brief, name: &str, mm: &str, cures: impl Fn(&Report) -> bool) -> Option<Report> {
    let mut brief = brief.clone();
    let expr = Expr::number(Quantity {
        value: mm.parse().ok()?,
        dim: Dim::LENGTH,
    });
    let place = Place {
        input: "trial".to_owned(),
        start: 0,
        end: 0,
    };
    let setting = (
        Named {
            name: name.to_owned(),
            place: place.clone(),
        },
        Formula {
            expr,
            place,
            exact: false,
        },
    );
    match brief.job.set.iter_mut().find(|(n, _)| n.name == name) {
        Some(old) => *old = setting,
        None => brief.job.set.push(setting),
    }
    let plan = brief.plan().ok()?.validated().ok()?;
    let folder = Folder::new(&plan);
    // Whatever fails at rest fails in the whole check, which takes many times as long.
    if !cures(&check_resting(&brief, &folder)) {
        return None;
    }
    Some(check(&brief, &folder)).filter(cures)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cures_are_read_as_the_library_words_them() {
        let cure = "increase `step` or `lift` so that `front top` moves by 1.25 mm";
        assert_eq!(
            Lever::read(cure),
            Some(Lever {
                names: vec!["step", "lift"],
                up: true,
                mm: 1.25
            })
        );
        assert_eq!(Lever::read("make the slot in `lid` larger by 2 mm"), None);
    }
}
