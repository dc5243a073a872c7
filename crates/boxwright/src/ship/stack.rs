//! Stacks: what presses on the bottom case, the strength that published rules ask for, how high a stack
//! may be, and what board another height would need.
//!
//! The rules ask for different strengths, because they were made for different uses. None of them is
//! a test. The user chooses one, and the report says which.

use serde::Serialize;

use super::figure::Range;
use crate::units::{Force, Length, Mass, SLACK_MM};

/// Factor of GB 6543-86, annex G, for a time under load; seen at m.bjjiewa.com/Article-104682.html.
#[must_use]
pub fn gb_factor(days: f64) -> f64 {
    if days < 30.0 {
        1.6
    } else if days <= 100.0 {
        1.65
    } else {
        2.0
    }
}

/// Factors of GB 6543-86, annex G, for sea freight.
pub const GB_SEA: Range<f64> = Range {
    least: 3.0,
    most: 5.0,
};

/// Height that 49 CFR 178.606 stacks to.
pub const CFR_HEIGHT: Length = Length::mm(3000.0);
/// What it multiplies the load by, for movement.
pub const CFR_TIMES: f64 = 1.5;
/// Pounds to the kilogram in its formula.
pub const CFR_LB_PER_KG: f64 = 2.2;

/// How sure ASTM D4169 wants to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Assurance {
    /// Level I: the most.
    I,
    /// Level II.
    II,
    /// Level III: the least.
    III,
}

/// What takes the load, as ASTM D4169 tells it apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bearing {
    /// The case alone.
    Case,
    /// The case with interior parts that bear.
    Parts,
    /// The contents bear.
    Contents,
}

/// Where an ASTM D4169 stack stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// In a warehouse, schedule B.
    Warehouse,
    /// In a vehicle, schedule C.
    Vehicle,
}

/// The factor F of ASTM D4169, from memory.
#[must_use]
pub const fn d4169_factor(place: Place, bearing: Bearing, level: Assurance) -> f64 {
    let row = match (place, bearing) {
        (Place::Warehouse, Bearing::Case) => [8.0, 4.5, 3.0],
        (Place::Warehouse, Bearing::Parts) => [4.5, 3.0, 2.0],
        (Place::Warehouse, Bearing::Contents) => [3.0, 2.0, 1.5],
        (Place::Vehicle, Bearing::Case) => [10.0, 7.0, 5.0],
        (Place::Vehicle, Bearing::Parts) => [6.0, 4.5, 3.0],
        (Place::Vehicle, Bearing::Contents) => [4.0, 3.0, 2.0],
    };
    match level {
        Assurance::I => row[0],
        Assurance::II => row[1],
        Assurance::III => row[2],
    }
}

/// A published rule for the strength a stack asks for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum Rule {
    /// Load over the share that is kept: the factors of a table of losses.
    #[default]
    Losses,
    /// GB 6543-86, annex G: load times K by days.
    Gb,
    /// The same for sea freight, K from 3 to 5.
    GbSea,
    /// 49 CFR 178.606: a stack of 3 m, times 1.5.
    Cfr,
    /// ASTM D4169: load times F. The factors are from memory.
    D4169 {
        /// Where it stands.
        place: Place,
        /// What bears.
        bearing: Bearing,
        /// How sure.
        level: Assurance,
    },
}

impl Rule {
    /// Its name for people.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Losses => "load over what is kept by the table of losses",
            Self::Gb => "GB 6543-86, annex G",
            Self::GbSea => "GB 6543-86, annex G, sea freight",
            Self::Cfr => "49 CFR 178.606",
            Self::D4169 { .. } => "ASTM D4169",
        }
    }
    /// Where its figures come from.
    #[must_use]
    pub const fn from(self) -> &'static str {
        match self {
            Self::Losses => "each factor names its own source",
            Self::Gb | Self::GbSea => "seen: GB 6543-86 annex G, m.bjjiewa.com/Article-104682.html",
            Self::Cfr => "seen: 49 CFR 178.606, Stacking test",
            Self::D4169 { .. } => "memory: ASTM D4169, factors F of schedules B and C",
        }
    }
    /// What the load on the bottom case is multiplied by, at the least and at the most. `kept` is the
    /// share of the strength that is kept by the table of losses.
    #[must_use]
    pub fn times(self, days: f64, kept: Range<f64>) -> Range<f64> {
        let one = |k| Range { least: k, most: k };
        match self {
            Self::Losses => Range {
                least: 1.0 / kept.most,
                most: 1.0 / kept.least,
            },
            Self::Gb => one(gb_factor(days)),
            Self::GbSea => GB_SEA,
            Self::Cfr => one(CFR_TIMES),
            Self::D4169 {
                place,
                bearing,
                level,
            } => one(d4169_factor(place, bearing, level)),
        }
    }
}

/// Load on the bottom case: all cases above it, and what stands on the uppermost.
#[must_use]
pub fn load(mass: Mass, high: u32, above: Mass) -> Force {
    (mass * f64::from(high.saturating_sub(1)) + above).weight()
}

/// How many cases of a height make a stack that reaches another height. `None` past what can be
/// counted.
#[must_use]
pub fn reaching(height: Length, case: Length) -> Option<u32> {
    let count = ((height.to_mm() - SLACK_MM) / case.to_mm()).ceil().max(1.0);
    whole(count)
}

fn whole(count: f64) -> Option<u32> {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and checked against the bounds"
    )]
    (count >= 0.0 && count <= f64::from(u32::MAX)).then_some(count as u32)
}

/// The load of 49 CFR 178.606 for solids: (n - 1) x mass x 1.5, n cases reaching 3 m.
#[must_use]
pub fn cfr(mass: Mass, case: Length) -> Option<(u32, Force)> {
    let n = reaching(CFR_HEIGHT, case)?;
    Some((n, load(mass, n, Mass::ZERO) * CFR_TIMES))
}

/// The same in pounds as the law's formula has it, with 2.2 pounds to the kilogram.
#[must_use]
pub fn cfr_pounds(mass: Mass, case: Length) -> Option<f64> {
    let n = reaching(CFR_HEIGHT, case)?;
    Some(f64::from(n - 1) * mass.to_kg() * CFR_LB_PER_KG * CFR_TIMES)
}

/// Load of ASTM D4169 schedule B: mass x g x ((H - h) / h) x F, H the height of the stack.
#[must_use]
pub fn d4169_warehouse(mass: Mass, case: Length, stack: Length, factor: f64) -> Force {
    mass.weight() * (((stack - case) / case).max(0.0) * factor)
}

/// Load of ASTM D4169 schedule C for mixed goods: density x volume x ((H - h) / h) x F. `density` is
/// in kg/m3; the standard's 10 to 12 lb/ft3 (memory) are 160 to 192 kg/m3.
#[must_use]
pub fn d4169_vehicle(size: [Length; 3], density: f64, stack: Length, factor: f64) -> Force {
    let [_, _, h] = size;
    let mass = Mass::kg(crate::units::Volume::block(size).to_m3() * density);
    d4169_warehouse(mass, h, stack, factor)
}

/// How many cases may stand on one another: the highest stack whose strongest demand the least
/// strength meets. 0 when even the load above is too much; `None` when nothing presses.
#[must_use]
pub fn safe_high(strength: Force, mass: Mass, above: Mass, times: f64) -> Option<u32> {
    let bears = strength / times - above.weight();
    if bears.to_n() < 0.0 {
        return Some(0);
    }
    let each = mass.weight();
    if each.to_n() <= 0.0 {
        return None;
    }
    // A demand that equals the strength but for rounding is met.
    whole((bears / each + 1e-9).floor()).and_then(|n| n.checked_add(1))
}

/// A stack held against the strength of its cases.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Stack {
    /// The rule.
    pub rule: Rule,
    /// Its name.
    pub title: &'static str,
    /// Where its figures come from.
    pub from: &'static str,
    /// Mass of one packed case.
    pub mass: Mass,
    /// What stands on the uppermost.
    pub above: Mass,
    /// What the rule multiplies the load by.
    pub times: Range<f64>,
    /// How many stand on one another, the bottom one counted: what was asked, or what the rule sets;
    /// `None` when neither.
    pub high: Option<u32>,
    /// Load on the bottom case in that stack.
    pub load: Option<Force>,
    /// Strength that this asks for.
    pub needs: Option<Range<Force>>,
    /// Whether the least strength meets the most that is asked.
    pub holds: Option<bool>,
    /// The highest stack for which it does; `None` when nothing presses.
    pub safe_high: Option<u32>,
    /// Edge crush of board that would carry the stack, all else unchanged.
    pub needs_ect: Option<crate::units::ForcePerLength>,
}
