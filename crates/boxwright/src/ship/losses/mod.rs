//! What time, air, stacking and handling take from the strength of a case: tables of several sources,
//! read from a file, and the factors they give for the conditions at hand.
//!
//! Rules for what a table does not list:
//! - between two listed times the share falls along the logarithm of the days; between two listed
//!   humidities it falls evenly;
//! - up to the first listed time or humidity that one counts, so that nothing is thought better than
//!   listed; at 0 days nothing is lost to time;
//! - past the last listed one that one counts, and a caution says so;
//! - where a table says nothing of a condition at all, nothing is taken off, and a caution says so.

mod read;

use serde::Serialize;

use super::figure::{Caution, Range};
use crate::units::trimmed;

pub use read::{pick, read_losses};

/// How cases stand on one another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pattern {
    /// Corners on corners.
    #[default]
    ColumnAligned,
    /// In columns, but not straight: corners beside corners.
    ColumnOffset,
    /// Each layer bridges the joints of the one below.
    Interlocked,
}

impl Pattern {
    /// Every pattern, best first.
    pub const ALL: [Self; 3] = [Self::ColumnAligned, Self::ColumnOffset, Self::Interlocked];
    /// The word for it in table files and reports.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::ColumnAligned => "column-aligned",
            Self::ColumnOffset => "column-offset",
            Self::Interlocked => "interlocked",
        }
    }
}

/// What surrounds a stack.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Surroundings {
    /// Days under load.
    pub days: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
    /// How cases stand on one another.
    pub pattern: Pattern,
    /// Whether they stick out over the pallet.
    pub overhang: bool,
    /// Whether the deck boards of the pallet leave gaps under them.
    pub deck_gap: bool,
    /// Whether they are handled often or roughly.
    pub handling: bool,
}

impl Default for Surroundings {
    /// A month in column on a closed floor at half humidity.
    fn default() -> Self {
        Self {
            days: 30.0,
            humidity: 0.5,
            pattern: Pattern::ColumnAligned,
            overhang: false,
            deck_gap: false,
            handling: false,
        }
    }
}

/// What is kept, from best to worst, under one condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Share of the strength that is kept at best.
    pub best: f64,
    /// And at worst.
    pub worst: f64,
    /// Where it comes from.
    pub from: String,
}

/// What is kept over a growing condition: listed points with one origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Condition (days; relative humidity from 0 to 1) and share kept, the condition growing and
    /// the share never.
    pub points: Vec<(f64, f64)>,
    /// Where they come from.
    pub from: String,
}

/// A table of losses.
#[derive(Clone, Debug, PartialEq)]
pub struct Losses {
    /// Its name.
    pub name: String,
    /// What it is.
    pub title: String,
    /// Over days under load.
    pub time: Option<Curve>,
    /// Over relative humidity, 0 to 1.
    pub humidity: Option<Curve>,
    /// For each of [`Pattern::ALL`].
    pub patterns: [Option<Kept>; 3],
    /// Sticking out over the pallet.
    pub overhang: Option<Kept>,
    /// Gaps between deck boards.
    pub deck_gap: Option<Kept>,
    /// Much handling.
    pub handling: Option<Kept>,
}

/// How a factor was found in its table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// As listed.
    Listed,
    /// Between two listed figures.
    Between,
    /// Before the first listed figure, which counts.
    Before,
    /// Past the last listed figure, which counts though the truth is worse.
    Past,
}

/// One reason why a stacked case keeps less than its strength.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Factor {
    /// What takes from it, by a stable word.
    pub what: &'static str,
    /// The condition in words.
    pub condition: String,
    /// Share kept at best.
    pub best: f64,
    /// Share kept at worst.
    pub worst: f64,
    /// How it was found.
    pub found: Found,
    /// Where it comes from.
    pub from: String,
}

impl Curve {
    /// Share kept, and how it was found. `logarithmic` for time.
    fn at(&self, x: f64, logarithmic: bool) -> (f64, Found) {
        let scale = |v: f64| if logarithmic { v.ln() } else { v };
        let mut before: Option<(f64, f64)> = None;
        for &(at, keeps) in &self.points {
            if x <= at {
                return match before {
                    _ if x >= at => (keeps, Found::Listed),
                    None => (keeps, Found::Before),
                    Some((b, k)) => {
                        let share = (scale(x) - scale(b)) / (scale(at) - scale(b));
                        (k + (keeps - k) * share, Found::Between)
                    }
                };
            }
            before = Some((at, keeps));
        }
        (before.map_or(1.0, |(_, keeps)| keeps), Found::Past)
    }
}

impl Losses {
    /// Everything that takes from the strength under these conditions, and what the table does not
    /// say.
    #[must_use]
    pub fn factors(&self, s: &Surroundings) -> (Vec<Factor>, Vec<Caution>) {
        let (mut factors, mut cautions) = (Vec::new(), Vec::new());
        let mut curve = |what, curve: &Option<Curve>, x: f64, condition: String, log: bool| {
            let Some(c) = curve else {
                cautions.push(silent(&self.name, &condition));
                return;
            };
            let (keeps, found) = c.at(x, log);
            if found == Found::Past {
                cautions.push(Caution::new(
                    "past-table",
                    format!(
                        "the table `{}` ends before {condition}; its last figure is used, and the truth is worse",
                        self.name
                    ),
                ));
            }
            factors.push(Factor {
                what,
                condition,
                best: keeps,
                worst: keeps,
                found,
                from: c.from.clone(),
            });
        };
        if s.days > 0.0 {
            let days = format!("{} days under load", trimmed(s.days, 1));
            curve("time", &self.time, s.days, days, true);
        }
        let air = format!("{} % relative humidity", trimmed(s.humidity * 100.0, 1));
        curve("humidity", &self.humidity, s.humidity, air, false);
        let [aligned, offset, interlocked] = &self.patterns;
        let (pattern, words) = match s.pattern {
            Pattern::ColumnAligned => (aligned, "stacked corner on corner"),
            Pattern::ColumnOffset => (offset, "stacked in columns that are not straight"),
            Pattern::Interlocked => (interlocked, "stacked in layers that bridge each other"),
        };
        let others = [
            (
                "overhang",
                s.overhang,
                &self.overhang,
                "sticking out over the pallet",
            ),
            (
                "deck-gap",
                s.deck_gap,
                &self.deck_gap,
                "over gaps of the pallet deck",
            ),
            (
                "handling",
                s.handling,
                &self.handling,
                "handled often or roughly",
            ),
        ];
        let all = [("pattern", true, pattern, words)]
            .into_iter()
            .chain(others);
        for (what, _, kept, words) in all.filter(|(_, asked, _, _)| *asked) {
            match kept {
                Some(k) => factors.push(Factor {
                    what,
                    condition: words.into(),
                    best: k.best,
                    worst: k.worst,
                    found: Found::Listed,
                    from: k.from.clone(),
                }),
                None => cautions.push(silent(&self.name, words)),
            }
        }
        (factors, cautions)
    }
}

fn silent(table: &str, condition: &str) -> Caution {
    Caution::new(
        "not-in-table",
        format!("the table `{table}` says nothing of {condition}; nothing is taken off for it"),
    )
}

/// Share of the strength that is kept under all factors together.
#[must_use]
pub fn kept(factors: &[Factor]) -> Range<f64> {
    Range {
        least: factors.iter().map(|f| f.worst).product(),
        most: factors.iter().map(|f| f.best).product(),
    }
}
