//! The tolerance run: how many of many cases hold the asked room, when board, creases and cuts differ
//! from what was drawn as they do in a workshop.
//!
//! The blank is drawn once. Each case then is that blank, line for line, in board of another
//! thickness, with creases that turn at another depth and lie beside their lines, cut a little too
//! small or too large; it is folded and its room and joints are measured at rest. A case is a
//! plain function of its number, so a face may work them out in any order.
//!
//! All four causes are normal and independent. The thickness and the depths are common to a case,
//! as all of it is cut from one sheet on one day; every crease strays by itself.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use super::student::wilson;
use crate::blank::{PlanJointKind, SoundPlan};
use crate::board::Board;
use crate::brief::{Brief, measured_for};
use crate::check::{Finding, Verdict, check_resting};
use crate::fold::{Folder, Off};
use crate::job::ASKED;
use crate::proof::Dice;
use crate::units::{Length, trimmed};

/// More cases than this are refused.
pub const MOST_CASES: u64 = 1_000_000;
/// Thinner than this share of what was drawn, or thicker than its inverse, board is not drawn by lot.
const LEAST_RATIO: f64 = 0.3;

/// What differs from case to case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// Thickness of the board.
    Caliper,
    /// How deep creases turn.
    AxisDepth,
    /// Where creases lie.
    Crease,
    /// How much the tool takes.
    Cut,
}

impl Cause {
    /// Every cause.
    pub const ALL: [Self; 4] = [Self::Caliper, Self::AxisDepth, Self::Crease, Self::Cut];
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Caliper => "thickness of the board",
            Self::AxisDepth => "how deep creases turn",
            Self::Crease => "where creases lie",
            Self::Cut => "how much the tool takes",
        }
    }
}

/// Standard deviations of all that differs, and where each comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Scatter {
    /// Thickness of the board.
    pub caliper: Length,
    /// Fold axis depth along and across the flutes, shares of the caliper.
    pub axis_depth: [f64; 2],
    /// Place of a crease, square to it.
    pub crease: Length,
    /// Place of a cut edge, square to it.
    pub cut: Length,
    /// Standing and source of the four, in this order.
    pub from: [String; 4],
}

impl Scatter {
    /// What is known of a job's board: measured figures where there are some, else the tolerances of
    /// board and trade read as two standard deviations.
    #[must_use]
    pub fn usual(brief: &Brief) -> Self {
        let known = measured_for(&brief.job);
        let board: &Board = &brief.board;
        let t = brief.material.caliper;
        let mut out = Self {
            caliper: t * board.caliper_tolerance / 2.0,
            axis_depth: [0.05; 2],
            crease: Length::mm(1.5 / 2.0 / std::f64::consts::SQRT_2),
            cut: Length::mm(0.0175),
            from: [
                format!(
                    "derived: the board's tolerance of {} % read as two standard deviations",
                    trimmed(board.caliper_tolerance * 100.0, 2)
                ),
                "derived: printed allowances answer to depths from 0.5 to 0.6; half of that range".into(),
                "derived: crease to crease within 1.5 mm (B155-TR2.2-2011, seen), read as two standard deviations of two creases".into(),
                "derived: kerfs of 0.12 to 0.19 mm were seen; half of that range, half of it at each edge".into(),
            ],
        };
        if let Some(f) = known.caliper {
            out.caliper = Length::mm(f.spread.to_mm().hypot(f.error.to_mm()));
            out.from[0] = "measured: spread of the readings and their uncertainty".into();
        }
        let depths = [known.along, known.across];
        for (to, f) in out.axis_depth.iter_mut().zip(depths) {
            *to = f.map_or(*to, |f| f.error);
        }
        if depths.iter().all(Option::is_some) {
            out.from[1] = "measured: uncertainty of the fit".into();
        }
        // Strips differ by where their two creases lie: the spread of 2 t p is that of the sum.
        let strays = depths.into_iter().flatten().map(|f| f.spread);
        if let Some(widest) = strays.reduce(f64::max) {
            out.crease = t * (2.0 * widest / std::f64::consts::SQRT_2);
            out.from[2] = "measured: how much strips differ, two creases each".into();
        }
        out
    }

    /// Only one of the causes.
    #[must_use]
    pub fn only(&self, cause: Cause) -> Self {
        let keep = |c: Cause| if c == cause { 1.0 } else { 0.0 };
        Self {
            caliper: self.caliper * keep(Cause::Caliper),
            axis_depth: self.axis_depth.map(|p| p * keep(Cause::AxisDepth)),
            crease: self.crease * keep(Cause::Crease),
            cut: self.cut * keep(Cause::Cut),
            from: self.from.clone(),
        }
    }
}

/// A job whose cases differ.
pub struct Spread<'a> {
    brief: &'a Brief,
    drawn: Arc<Folder<'a>>,
    scatter: Scatter,
    seed: u64,
    /// Failures of the case as drawn, which say nothing of the spread.
    before: Vec<&'static str>,
    /// Names of the panels of each glued joint.
    glued: Vec<[String; 2]>,
}

/// One case worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// How much more clear length, width and depth there is than asked, in mm.
    pub more: [f64; 3],
    /// Codes of the checks that fail on it and not on the case as drawn; those of the room aside, and
    /// of what a glued joint takes up when it is made.
    pub fails: Vec<&'static str>,
}

impl Case {
    /// How much of the asked room is lacking where most is; nothing or less when it holds.
    #[must_use]
    pub fn lacks(&self) -> f64 {
        self.more.iter().fold(f64::NEG_INFINITY, |m, v| m.max(-v))
    }
}

const ROOM: [&str; 3] = ["clear-length", "clear-width", "clear-depth"];

impl<'a> Spread<'a> {
    /// A job drawn, and how its cases differ; random numbers begin at `seed`.
    #[must_use]
    pub fn new(brief: &'a Brief, plan: &'a SoundPlan, scatter: Scatter, seed: u64) -> Self {
        let drawn = Arc::new(Folder::new(plan));
        let found = check_resting(brief, &drawn);
        let glued = plan.joints.iter().filter(|j| j.kind == PlanJointKind::Glue);
        let failed = found.findings.iter().filter(|f| f.verdict == Verdict::Fail);
        Self {
            before: failed.map(|f| f.code).collect(),
            glued: glued
                .map(|j| [plan.name(j.panel), plan.name(j.to)])
                .collect(),
            brief,
            drawn,
            scatter,
            seed,
        }
    }

    /// How its cases differ.
    #[must_use]
    pub const fn scatter(&self) -> &Scatter {
        &self.scatter
    }

    /// Codes of the checks that fail on the case as drawn already.
    #[must_use]
    pub fn fails_as_drawn(&self) -> &[&'static str] {
        &self.before
    }

    /// The same lots, with one cause alone.
    #[must_use]
    pub fn only(&self, cause: Cause) -> Self {
        Self {
            brief: self.brief,
            drawn: Arc::clone(&self.drawn),
            scatter: self.scatter.only(cause),
            seed: self.seed,
            before: self.before.clone(),
            glued: self.glued.clone(),
        }
    }

    /// Whether a finding is about the two panels of one glued joint. Here the ring of walls is folded
    /// stiffly and ends where it ends; at the bench the glue is set where the two meet.
    fn taken_up(&self, f: &Finding) -> bool {
        let of = |pair: &[String; 2]| f.panels.iter().all(|p| pair.contains(p));
        !f.panels.is_empty() && self.glued.iter().any(of)
    }

    /// Works out a case.
    #[must_use]
    pub fn case(&self, number: u64) -> Case {
        let mut lots = Lots::new(self.seed, number);
        let s = &self.scatter;
        let t = self.brief.material.caliper.to_mm();
        let thicker =
            (1.0 + s.caliper.to_mm() / t * lots.normal()).clamp(LEAST_RATIO, 1.0 / LEAST_RATIO);
        let deeper = s.axis_depth.map(|sd| sd * lots.normal());
        let cut = s.cut.to_mm() * lots.normal();
        let creases = self.drawn.plan.blanks().iter().map(|b| {
            let one = |_| s.crease.to_mm() * lots.normal();
            (0..b.panels.len()).map(one).collect()
        });
        let off = Off {
            cut,
            creases: creases.collect(),
        };
        let made = self.drawn.plan.in_board(thicker, deeper);
        let found = check_resting(self.brief, &Folder::made(&made, &self.drawn, off));
        let asked = self.brief.job.inside;
        let more = [0, 1, 2].map(|i: usize| (found.room[i] - asked[i]).to_mm());
        let mut fails: Vec<&'static str> = found
            .findings
            .iter()
            .filter(|f| f.verdict == Verdict::Fail && !ROOM.contains(&f.code))
            .filter(|f| !self.taken_up(f))
            .map(|f| f.code)
            .filter(|c| !self.before.contains(c))
            .collect();
        fails.sort_unstable();
        fails.dedup();
        Case { more, fails }
    }
}

/// Normal lots for one case: Box and Muller, 1958.
struct Lots {
    dice: Dice,
    second: Option<f64>,
}

impl Lots {
    fn new(seed: u64, number: u64) -> Self {
        // Rolled once, so that the streams of two numbers have nothing in common.
        let start = Dice(seed ^ number.rotate_left(32)).roll();
        Self {
            dice: Dice(start ^ number),
            second: None,
        }
    }
    fn normal(&mut self) -> f64 {
        if let Some(v) = self.second.take() {
            return v;
        }
        let far = (-2.0 * self.dice.between(f64::MIN_POSITIVE, 1.0).ln()).sqrt();
        let (sin, cos) = self.dice.between(0.0, std::f64::consts::TAU).sin_cos();
        self.second = Some(far * sin);
        far * cos
    }
}

/// A share of cases with its interval of 95 %.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Share {
    /// How many.
    pub cases: usize,
    /// The share.
    pub share: f64,
    /// Least and greatest share that go with it (Wilson).
    pub between: [f64; 2],
}

impl Share {
    #[allow(clippy::cast_precision_loss, reason = "at most a million cases")]
    fn of(cases: usize, all: usize) -> Self {
        Self {
            cases,
            share: cases as f64 / (all.max(1)) as f64,
            between: wilson(cases, all),
        }
    }
}

/// What to add to a size that is asked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Clearance {
    /// The share of cases that then hold.
    pub share: f64,
    /// What to add to length, width and depth.
    pub add: [Length; 3],
}

/// What many cases come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    /// How many were worked out.
    pub cases: usize,
    /// Cases whose room is all that was asked, or lacks no more than `short`.
    pub holds: Share,
    /// What may be lacking.
    pub short: Length,
    /// Cases that hold the room and fail no check at rest that the case as drawn passes.
    pub good: Share,
    /// Mean of what there is more than asked: length, width, depth.
    pub mean: [Length; 3],
    /// Standard deviation of the same.
    pub deviation: [Length; 3],
    /// What to add so that 95 % and 99 % of all cases hold.
    pub clearance: [Clearance; 2],
    /// Share of the variance of the room that each cause has, in the direction that lacks most often;
    /// largest first.
    pub causes: Vec<(Cause, f64)>,
    /// The direction meant there: 0 length, 1 width, 2 depth.
    pub direction: usize,
    /// Checks that fail, and on how many cases.
    pub fails: BTreeMap<&'static str, usize>,
}

impl Summary {
    /// The word for the direction whose causes are told.
    #[must_use]
    pub const fn direction_word(&self) -> &'static str {
        ASKED[self.direction]
    }
}

/// Sums up cases; `alone` has cases of each cause alone, in the order of [`Cause::ALL`]. Room that is
/// short by no more than `short` counts as held.
#[must_use]
#[allow(clippy::cast_precision_loss, reason = "at most a million cases")]
pub fn summary(cases: &[Case], alone: &[Vec<Case>; 4], short: Length) -> Summary {
    let n = cases.len();
    let enough = |c: &Case| c.lacks() <= short.to_mm() + 10.0 * crate::units::SLACK_MM;
    let held = cases.iter().filter(|c| enough(c)).count();
    let good = cases.iter().filter(|c| enough(c) && c.fails.is_empty());
    let mut fails = BTreeMap::new();
    for code in cases.iter().flat_map(|c| &c.fails) {
        *fails.entry(*code).or_insert(0) += 1;
    }
    let stats = [0, 1, 2].map(|axis| spread_of(cases, axis));
    let lacking = |axis: usize| {
        cases
            .iter()
            .filter(|c| -c.more[axis] > short.to_mm())
            .count()
    };
    let direction = (0..3)
        .max_by(|a, b| {
            let by_count = lacking(*a).cmp(&lacking(*b));
            by_count.then(stats[*a].1.total_cmp(&stats[*b].1))
        })
        .unwrap_or(0);
    let variances: Vec<f64> = alone
        .iter()
        .map(|c| spread_of(c, direction).1.powi(2))
        .collect();
    let whole: f64 = variances.iter().sum();
    let mut causes: Vec<(Cause, f64)> = Cause::ALL
        .into_iter()
        .zip(
            variances
                .iter()
                .map(|v| if whole > 0.0 { v / whole } else { 0.0 }),
        )
        .collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    Summary {
        cases: n,
        holds: Share::of(held, n),
        short,
        good: Share::of(good.count(), n),
        mean: stats.map(|(m, _)| Length::mm(m)),
        deviation: stats.map(|(_, d)| Length::mm(d)),
        clearance: [0.95, 0.99].map(|share| clearance(cases, share, short)),
        causes,
        direction,
        fails,
    }
}

#[allow(clippy::cast_precision_loss, reason = "at most a million cases")]
fn spread_of(cases: &[Case], axis: usize) -> (f64, f64) {
    let n = cases.len().max(1) as f64;
    let mean = cases.iter().map(|c| c.more[axis]).sum::<f64>() / n;
    let squares: f64 = cases.iter().map(|c| (c.more[axis] - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0).max(1.0)).sqrt())
}

/// The least to be added so that this share holds in all three directions at once: all three are
/// given the same quantile of their own lack, the least that will do.
fn clearance(cases: &[Case], share: f64, short: Length) -> Clearance {
    let lacks = [0, 1, 2].map(|axis| {
        let mut own: Vec<f64> = cases
            .iter()
            .map(|c| -c.more[axis] - short.to_mm())
            .collect();
        own.sort_unstable_by(f64::total_cmp);
        own
    });
    #[allow(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at most a million cases"
    )]
    let wanted = (share * cases.len() as f64).ceil() as usize;
    let add =
        |rank: usize| [0, 1, 2].map(|k: usize| lacks[k].get(rank).map_or(0.0, |v| v.max(0.0)));
    let holding = |by: [f64; 3]| {
        let holds = |c: &&Case| {
            (0..3).all(|k| -c.more[k] - short.to_mm() <= by[k] + crate::units::SLACK_MM)
        };
        cases.iter().filter(holds).count()
    };
    // With a higher rank no case ceases to hold, so the least can be found by halving.
    let (mut low, mut high) = (0, cases.len().saturating_sub(1));
    while low < high {
        let middle = usize::midpoint(low, high);
        if holding(add(middle)) >= wanted {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Clearance {
        share,
        add: add(low).map(Length::mm),
    }
}
