//! What a job puts into its case: pads, dividers, liners.

use super::{ASKED, Job, caliper, crease, named, set, setting};
use crate::board::Creasing;
use crate::diag::{Diag, Place};
use crate::read::Node;
use crate::style::{Formula, Named};
use crate::units::Length;

/// More fitments than this are refused.
pub const MOST_FITMENTS: usize = 20;

/// Where it stands in the case, from the corner of the clear inside, along length, width and depth.
const AT: [&str; 3] = ["x", "y", "z"];

/// Something that goes into the case.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitment {
    /// What it is called; no two of a job share a name.
    pub name: String,
    /// Where it is asked for.
    pub place: Place,
    /// The style's name, or a path to a style file when it ends in `.kdl`.
    pub style: Named,
    /// Length, width and depth it is asked at, in the names of the case; the whole inside if absent.
    pub size: [Option<Formula>; 3],
    /// Corner of that room in the clear inside of the case; its corner if absent.
    pub at: [Option<Formula>; 3],
    /// Its board, if another than the job's.
    pub board: Option<Named>,
    /// How its creases are made, if otherwise than the job's.
    pub creasing: Option<Creasing>,
    /// Fold axis depth p to use instead of its board's: along and across the flutes.
    pub axis_depth: Option<[f64; 2]>,
    /// Caliper measured on its board.
    pub caliper: Option<Length>,
    /// Parameters of its style.
    pub set: Vec<(Named, Formula)>,
}

const INSIDE: &[&str] = &["board", "set", "caliper", "crease"];

/// Reads one `fitment`.
pub(super) fn fitment(node: &Node<'_>) -> Option<Fitment> {
    node.takes(1, &["as", "length", "width", "depth", "x", "y", "z"]);
    for c in node.children() {
        if !INSIDE.contains(&c.name()) {
            c.unknown("a fitment", INSIDE.iter().copied());
        }
    }
    for name in INSIDE.iter().filter(|n| **n != "set") {
        for twice in node.children().filter(|c| c.name() == *name).skip(1) {
            twice.error(
                "given-twice",
                format!("`{name}` is given twice"),
                Some("keep one of them".into()),
            );
        }
    }
    let of = |key: &str| node.prop(key).and_then(|f| setting(&f));
    let style = node.need_arg(0, "an interior style").and_then(|f| {
        Some(Named {
            name: f.word()?.to_owned(),
            place: f.place(),
        })
    });
    let called = match node.prop("as") {
        Some(f) => f.word().map(|w| (w.trim().to_owned(), f.place())),
        None => style.as_ref().map(|s| (s.name.clone(), s.place.clone())),
    };
    let (style, (name, place)) = (style?, called?);
    if name.is_empty() {
        node.error(
            "missing",
            "a fitment needs a name that can be read",
            Some("write as=\"bottom pad\", or leave `as` out".into()),
        );
        return None;
    }
    let mut out = Fitment {
        name,
        place,
        style,
        size: ASKED.map(of),
        at: AT.map(of),
        board: None,
        creasing: None,
        axis_depth: None,
        caliper: None,
        set: Vec::new(),
    };
    for c in node.children() {
        match c.name() {
            "board" => out.board = named(&c, 0),
            "crease" => (out.creasing, out.axis_depth) = crease(&c),
            "caliper" => out.caliper = caliper(&c),
            "set" => out.set.extend(set(&c)),
            _ => {}
        }
    }
    Some(out)
}

/// Reports fitments too many, and a name given twice.
pub(super) fn distinct(node: &Node<'_>, all: &[Fitment]) {
    let report = |f: &Fitment, code, message: String, help: &str| {
        node.report(Diag::error(code, message).at(f.place.clone()).help(help));
    };
    for (i, f) in all.iter().enumerate() {
        if all[..i].iter().any(|g| g.name == f.name) {
            report(
                f,
                "given-twice",
                format!("there are two fitments `{}`", f.name),
                "tell them apart: as=\"bottom pad\"",
            );
        }
    }
    if let Some(f) = all.get(MOST_FITMENTS) {
        report(
            f,
            "too-many",
            format!("a case takes at most {MOST_FITMENTS} fitments"),
            "a style may have several pieces: see `each` in the style language",
        );
    }
}

impl Fitment {
    /// The job of the fitment alone, at the inside of the case: what it says itself, else what
    /// the case's job says. What was measured on the case's board is not taken for another one.
    #[must_use]
    pub fn job(&self, case: &Job) -> Job {
        let same = self
            .board
            .as_ref()
            .is_none_or(|b| b.name == case.board.name);
        let way = self.creasing.unwrap_or(case.creasing);
        let measured = same && way == case.creasing;
        Job {
            title: self.name.clone(),
            style: self.style.clone(),
            board: self.board.clone().unwrap_or_else(|| case.board.clone()),
            creasing: way,
            axis_depth: self.axis_depth.or(case.axis_depth.filter(|_| measured)),
            caliper: self.caliper.or(case.caliper.filter(|_| same)),
            set: self.set.clone(),
            fitments: Vec::new(),
            contents: Vec::new(),
            splits: Vec::new(),
            marks: Vec::new(),
            ..case.clone()
        }
    }
}
