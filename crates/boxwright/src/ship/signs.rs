//! Handling signs that a packed case has to bear, and why.

use serde::Serialize;

use super::lift::{HEAVY_FROM, Lift, TWO_FROM};
use crate::job::{Job, Shown};
use crate::letters::Sign;
use crate::units::trimmed;

/// Contents that stand no harder stop than this, in times their own weight, are called fragile.
pub const FRAGILE: f64 = 85.0;
/// Where [`FRAGILE`] comes from.
pub const FRAGILE_FROM: &str =
    "memory: 85 g is the upper end of `moderately delicate` in foam design guides";

/// What a sign says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Says {
    /// Two arrows.
    ThisWayUp,
    /// A glass.
    Fragile,
    /// An umbrella.
    KeepDry,
    /// Its mass, in words.
    Heavy,
    /// That two have to lift it, in words.
    TwoLift,
}

impl Says {
    /// The sign that is drawn for it; `None` for what is written in words.
    #[must_use]
    pub const fn sign(self) -> Option<Sign> {
        match self {
            Self::ThisWayUp => Some(Sign::ThisWayUp),
            Self::Fragile => Some(Sign::Fragile),
            Self::KeepDry => Some(Sign::KeepDry),
            Self::Heavy | Self::TwoLift => None,
        }
    }
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ThisWayUp => "this way up",
            Self::Fragile => "fragile",
            Self::KeepDry => "keep dry",
            Self::Heavy => "heavy",
            Self::TwoLift => "two to lift",
        }
    }
}

/// A sign that is due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Due {
    /// Which.
    pub says: Says,
    /// Why.
    pub why: String,
}

/// The signs that are due: fragile and upright for contents that stand little, those that the job
/// engraves, and what the mass asks for.
#[must_use]
pub fn due(job: &Job, lift: &Lift) -> Vec<Due> {
    let mut all: Vec<Due> = Vec::new();
    let mut say = |says, why: String| {
        if all.iter().all(|d| d.says != says) {
            all.push(Due { says, why });
        }
    };
    let frail = job
        .contents
        .iter()
        .filter_map(|c| c.fragile.filter(|g| *g <= FRAGILE).map(|g| (c, g)))
        .min_by(|(_, a), (_, b)| a.total_cmp(b));
    if let Some((content, g)) = frail {
        let why = format!(
            "{} stands a stop of {} g at most",
            content.name,
            trimmed(g, 0)
        );
        say(Says::Fragile, why.clone());
        say(Says::ThisWayUp, why);
    }
    for mark in &job.marks {
        if let Shown::Sign(sign) = mark.shown {
            let says = match sign {
                Sign::ThisWayUp => Says::ThisWayUp,
                Sign::Fragile => Says::Fragile,
                Sign::KeepDry => Says::KeepDry,
            };
            say(says, "the job engraves it".into());
        }
    }
    let mass = trimmed(lift.mass.to_kg(), 1);
    if lift.heavy {
        say(
            Says::Heavy,
            format!("{mass} kg is above 23 kg ({HEAVY_FROM})"),
        );
    }
    if lift.two {
        say(
            Says::TwoLift,
            format!("{mass} kg is above 31.5 kg ({TWO_FROM})"),
        );
    }
    all
}
