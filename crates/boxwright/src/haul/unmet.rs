//! What a packed case does not meet.

use serde::Serialize;

use super::Haul;
use crate::ship::Outlook;
use crate::units::{LengthUnit, trimmed};

/// Something that does not hold.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Unmet {
    /// A stable word for it: `stack`, `grade`, `class`, `parcel`, `pallet`.
    pub code: &'static str,
    /// In words.
    pub message: String,
    /// Whether it was asked for, or only looked up by a table that stands in where none is named.
    pub asked: bool,
}

/// What was asked for by name. A stack is always asked for where it has a height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AskedFor {
    /// A table of grades.
    pub grades: bool,
    /// A tariff.
    pub parcels: bool,
    /// A pallet or a load of a size.
    pub pallet: bool,
}

/// Everything that does not hold; empty when all is well.
#[must_use]
pub fn unmet(outlook: &Outlook, haul: &Haul, by: AskedFor) -> Vec<Unmet> {
    let mut all = Vec::new();
    let mut say = |code, message: String| {
        let asked = match code {
            "grade" | "class" => by.grades,
            "parcel" => by.parcels,
            "pallet" => by.pallet,
            _ => true,
        };
        all.push(Unmet {
            code,
            message,
            asked,
        });
    };
    let stack = &outlook.stack;
    if let (Some(false), Some(high), Some(needs)) = (stack.holds, stack.high, stack.needs) {
        let safe = match stack.safe_high {
            Some(0) => "nothing may stand on it".to_owned(),
            Some(n) => format!("{n} high is safe"),
            None => String::new(),
        };
        say(
            "stack",
            format!(
                "a stack {high} high asks for up to {} N, and the case stands {} N at the least: {safe}",
                trimmed(needs.most.to_n(), 0),
                trimmed(outlook.compression.range.least.to_n(), 0)
            ),
        );
    }
    let grade = &outlook.grade;
    if let (Some(false), Some(needs), Some(missing)) =
        (grade.qualifies, &grade.needs, grade.missing)
    {
        say(
            "grade",
            format!(
                "the board's edge crush is {} kN/m short of class {} of `{}`",
                trimmed(missing.to_n_per_mm(), 2),
                needs.name,
                grade.table
            ),
        );
    }
    if grade.limits && grade.needs.is_none() {
        say(
            "class",
            format!(
                "no class of `{}` for this wall takes {} kg and length + width + depth of {}",
                grade.table,
                trimmed(grade.mass.to_kg(), 2),
                LengthUnit::Mm.show(grade.size)
            ),
        );
    }
    if outlook.parcel.chosen.is_none() {
        say(
            "parcel",
            format!("no class of `{}` takes this parcel", outlook.parcel.tariff),
        );
    }
    if haul.loads.is_empty() && stack.safe_high == Some(0) {
        let above = trimmed(stack.above.to_kg(), 1);
        let message = format!("the case does not bear the {above} kg that are to stand on it");
        say("pallet", message);
    } else if haul.loads.is_empty() {
        say(
            "pallet",
            format!(
                "not one case goes on pallet {} up to {}",
                haul.pallet.value.name,
                LengthUnit::Mm.show(haul.height)
            ),
        );
    }
    all
}
