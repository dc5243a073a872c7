//! Where a job has a blank cut in two that is too large for the sheet.

use super::length;
use crate::diag::{Outcome, Place};
use crate::read::{Node, parse};
use crate::source::Text;
use crate::style::Named;
use crate::units::Length;

/// One cut through a blank, or the wish that the program finds them.
#[derive(Clone, Debug, PartialEq)]
pub struct Split {
    /// Where it is asked for.
    pub place: Place,
    /// The wall that is cut off; `None` when the program finds the walls.
    pub at: Option<Named>,
    /// Reach of the lap from its crease; the usual one if absent.
    pub lap: Option<Length>,
}

/// Reads one `split`.
pub(super) fn split(node: &Node<'_>) -> Option<Split> {
    node.childless();
    node.takes(1, &["at", "lap"]);
    let lap = match node.prop("lap") {
        None => None,
        Some(f) => Some(length(&f).and_then(|l| super::positive_field(&f, l))?),
    };
    let at = match (node.arg(0), node.prop("at")) {
        (Some(f), None) => {
            f.choice(&[("auto", ())])?;
            None
        }
        (None, Some(f)) => Some(Named {
            name: f.word()?.to_owned(),
            place: f.place(),
        }),
        (Some(f), Some(_)) => {
            f.error(
                "given-twice",
                "`auto` finds the walls itself",
                Some("keep `auto` or `at`".into()),
            );
            return None;
        }
        (None, None) => {
            node.error(
                "missing",
                "`split` needs the wall to cut off",
                Some("write at=\"back\", or \"auto\" to have it found".into()),
            );
            return None;
        }
    };
    Some(Split {
        place: node.place(),
        at,
        lap,
    })
}

/// Reports a wall given twice, and `auto` beside others.
pub(super) fn distinct(node: &Node<'_>, all: &[Split]) {
    let name = |s: &Split| s.at.as_ref().map(|n| n.name.clone());
    for (i, s) in all.iter().enumerate().skip(1) {
        let twice = all[..i].iter().any(|o| name(o) == name(s));
        let auto = all.iter().any(|o| o.at.is_none());
        if twice || auto {
            let message = if auto {
                "`auto` finds all walls to cut off, and stands alone".to_owned()
            } else {
                format!("`{}` is cut off twice", name(s).unwrap_or_default())
            };
            let d = crate::diag::Diag::error("given-twice", message).at(s.place.clone());
            node.report(d.help("take this line out"));
        }
    }
}

/// Reads splits given outside any job file: a text of `split` nodes.
///
/// # Errors
/// Every message found.
pub fn outside_splits(text: &Text) -> Outcome<Vec<Split>> {
    let doc = parse(text)?;
    let mut all = Vec::new();
    let mut last = None;
    for node in doc.nodes() {
        if node.name() == "split" {
            all.extend(split(&node));
            last = Some(node);
        } else {
            node.unknown("this", ["split"]);
        }
    }
    if let Some(node) = last {
        distinct(&node, &all);
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}
