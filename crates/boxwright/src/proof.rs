//! Does a style hold at any size? Random sizes, boards, ways of creasing and crease depths, each
//! case drawn, folded and checked at rest and on the way.
//!
//! A trial is a plain function of the style, the boards and its number, so a face may run trials on
//! as many threads as it likes and any one of them again.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::blank::Creasing;
use crate::board::Board;
use crate::brief::{Brief, equipped};
use crate::check::{Finding, Measure, Report, Verdict, check};
use crate::diag::{Diag, Named, Place};
use crate::fold::Folder;
use crate::job::{DrawingFacts, Flutes, Job};
use crate::style::Style;
use crate::units::{Length, trimmed};

/// Codes under which a style may refuse a size, each saying in words what cannot be.
pub const REFUSALS: [&str; 4] = [
    "requirement",
    "out-of-range",
    "no-panel-left",
    "crease-off-edge",
];

/// Numbers from a seed: SplitMix64, after Steele, Lea and Flood, 2014.
#[derive(Clone, Copy, Debug)]
pub struct Dice(pub u64);

impl Dice {
    /// The next number.
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// Even between the two.
    pub fn between(&mut self, a: f64, b: f64) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit")]
        let share = (self.roll() >> 11) as f64 / (1u64 << 53) as f64;
        a + (b - a) * share
    }
    /// Even in proportion between the two.
    pub fn stretched(&mut self, a: f64, b: f64) -> f64 {
        self.between(a.ln(), b.ln()).exp()
    }
    /// One of the first `n` numbers; 0 when there is none.
    pub fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n).unwrap_or(1).max(1);
        usize::try_from(self.roll() % n).unwrap_or(0)
    }
}

/// The case of a trial: pocket boxes to furniture, flat to tall, now and then the wrong way round.
/// `None` without boards.
#[must_use]
pub fn case(style: &Arc<Style>, boards: &[Board], seed: u64, number: u64) -> Option<Brief> {
    let mut dice = Dice(seed.wrapping_add(number << 20));
    let board = boards.get(dice.below(boards.len()))?;
    let w = dice.stretched(25.0, 900.0);
    let l = w * dice.stretched(0.85, 4.0);
    let d = w * dice.stretched(0.1, 3.0);
    let mut job = plain(style, board, [l, w, d].map(Length::mm));
    job.creasing = Creasing::ALL[dice.below(Creasing::ALL.len())];
    job.axis_depth = match dice.below(3) {
        0 => None,
        1 => {
            let p = dice.between(0.0, 0.6);
            Some([p, p])
        }
        _ => Some([dice.between(0.0, 0.6), dice.between(0.0, 0.6)]),
    };
    Some(equipped(job, Arc::clone(style), board.clone()))
}

/// A job that says nothing but style, board and size.
#[must_use]
pub fn plain(style: &Style, board: &Board, inside: [Length; 3]) -> Job {
    let place = Place {
        input: "job".to_owned(),
        start: 0,
        end: 0,
    };
    let named = |name: &str| Named {
        name: name.to_owned(),
        place: place.clone(),
    };
    Job {
        title: "case".to_owned(),
        style: named(&style.name),
        board: named(&board.name),
        board_files: Vec::new(),
        inside,
        inside_place: place.clone(),
        creasing: Creasing::Rule,
        axis_depth: None,
        caliper: None,
        measured: Vec::new(),
        set: Vec::new(),
        fitments: Vec::new(),
        contents: Vec::new(),
        splits: Vec::new(),
        marks: Vec::new(),
        sheet: None,
        bed: None,
        quantity: 1,
        flutes: Flutes::Kept,
        drawing: DrawingFacts::default(),
    }
}

/// What became of a case.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// Refused in words: the code and what it says.
    Refused(&'static str, String),
    /// Drawn, and nothing failed; with the codes of what was cautioned about.
    Holds(Vec<&'static str>),
    /// Refused without saying what cannot be, or drawn wrongly.
    Wrong(Vec<String>),
}

/// Draws, folds and checks a case. `drawn` is told the names of its panels.
pub fn attempt(brief: &Brief, mut drawn: impl FnMut(String)) -> Outcome {
    let plan = match brief.plan() {
        Ok(p) => p,
        Err(diags) => return refusal(&diags),
    };
    for (piece, blank) in plan.pieces.iter().enumerate() {
        for panel in 0..blank.panels.len() {
            drawn(plan.name(crate::blank::PanelRef { piece, panel }));
        }
    }
    let plan = match plan.validated() {
        Ok(p) => p,
        Err((_, defects)) => {
            return Outcome::Wrong(defects.into_iter().map(|d| d.message).collect());
        }
    };
    let report = check(brief, &Folder::new(&plan));
    let mut wrong: Vec<String> = report
        .findings
        .iter()
        .filter(|f| f.verdict == Verdict::Fail)
        .map(said)
        .collect();
    wrong.extend(not_numbers(&report));
    if wrong.is_empty() {
        let cautions = report.findings.iter();
        let cautions = cautions.filter(|f| f.verdict == Verdict::Caution);
        Outcome::Holds(cautions.map(|f| f.code).collect())
    } else {
        Outcome::Wrong(wrong)
    }
}

fn refusal(diags: &[Diag]) -> Outcome {
    match diags.first() {
        Some(first) if diags.iter().all(|d| REFUSALS.contains(&d.code)) => {
            Outcome::Refused(first.code, first.message.clone())
        }
        _ => Outcome::Wrong(
            diags
                .iter()
                .map(|d| format!("{}: {}", d.code, d.message))
                .collect(),
        ),
    }
}

fn said(f: &Finding) -> String {
    let stage = f
        .stage
        .map_or_else(String::new, |s| format!(" (stage {s})"));
    format!("{}{stage}: {}", f.code, f.message)
}

fn not_numbers(r: &Report) -> Option<String> {
    let nan = |f: &Finding| {
        let measures = [f.measured, f.limit];
        measures.iter().flatten().any(|m| match m {
            Measure::Mm(l) => l.to_mm().is_nan(),
            Measure::Deg(v) | Measure::Mm2(v) => v.is_nan(),
            Measure::Count(_) => false,
        }) || f.places.iter().any(|p| p.is_nan())
    };
    let found = r.findings.iter().find(|f| nan(f));
    found.map(|f| format!("not a number in {}", said(f)))
}

/// A case in one line.
#[must_use]
pub fn told(brief: &Brief) -> String {
    let size = brief.job.inside.map(|l| trimmed(l.to_mm(), 2)).join(" x ");
    let [along, across] = brief.material.axis_depth.map(|p| trimmed(p, 3));
    format!(
        "{size} mm, board {}, creased by {}, axis depth {along} along and {across} across",
        brief.board.name,
        brief.job.creasing.word()
    )
}

/// Many trials counted.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Cases that hold.
    pub holds: usize,
    /// Of those, how many were cautioned about, by code.
    pub cautions: BTreeMap<&'static str, usize>,
    /// Cases refused, by code and message without its figures.
    pub refused: BTreeMap<(&'static str, String), usize>,
    /// Cases that are wrong: number, the case, what is wrong.
    pub wrong: Vec<(u64, String, Vec<String>)>,
    /// Names of the panels drawn in any case.
    pub panels: std::collections::BTreeSet<String>,
}

impl Tally {
    /// Runs a trial and counts it.
    pub fn run(&mut self, style: &Arc<Style>, boards: &[Board], seed: u64, number: u64) {
        let Some(brief) = case(style, boards, seed, number) else {
            return;
        };
        let panels = &mut self.panels;
        let done = attempt(&brief, |name| {
            panels.insert(name);
        });
        match done {
            Outcome::Refused(code, message) => {
                let figure = |c: char| c == ';' || c == ':' || c.is_ascii_digit();
                let words = if code == "requirement" {
                    message.split([';', ':']).next()
                } else {
                    message.split(figure).next()
                };
                let words = words.unwrap_or_default().trim_end();
                *self.refused.entry((code, words.to_owned())).or_default() += 1;
            }
            Outcome::Holds(mut codes) => {
                self.holds += 1;
                codes.sort_unstable();
                codes.dedup();
                for c in codes {
                    *self.cautions.entry(c).or_default() += 1;
                }
            }
            Outcome::Wrong(what) => self.wrong.push((number, told(&brief), what)),
        }
    }

    /// Adds another.
    pub fn add(&mut self, o: Self) {
        self.holds += o.holds;
        for (k, n) in o.cautions {
            *self.cautions.entry(k).or_default() += n;
        }
        for (k, n) in o.refused {
            *self.refused.entry(k).or_default() += n;
        }
        self.wrong.extend(o.wrong);
        self.wrong.sort_by_key(|w| w.0);
        self.panels.extend(o.panels);
    }
}
