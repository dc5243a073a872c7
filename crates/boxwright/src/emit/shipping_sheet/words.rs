//! Figures of shipping in words: the same on the sheet and in the report of the command line.

use crate::haul::Palletised;
use crate::pallet::Arrangement;
use crate::ship::Range;
use crate::ship::grade::{By, Graded};
use crate::ship::lift::{Hold, Lift};
use crate::ship::losses::Factor;
use crate::ship::parcel::{Limit, Offer, Parcel};
use crate::units::{Force, ForcePerLength, Length, LengthUnit, Mass, trimmed};

/// Newton in a pound of force.
const LBF: f64 = 4.448_221_615_260_5;

/// A mass, such as `5.42 kg`.
#[must_use]
pub fn mass(m: Mass, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm if m.to_kg() < 1.0 => format!("{} g", trimmed(m.to_g(), 0)),
        LengthUnit::Mm => format!("{} kg", trimmed(m.to_kg(), 2)),
        LengthUnit::Inch => format!("{} lb", trimmed(m.to_lb(), 2)),
    }
}

/// A force as a number of newtons, or of pounds of force beside inches.
#[must_use]
pub fn force_number(f: Force, unit: LengthUnit) -> f64 {
    match unit {
        LengthUnit::Mm => f.to_n(),
        LengthUnit::Inch => f.to_n() / LBF,
    }
}

/// A force to the newton or pound.
#[must_use]
pub fn force(f: Force, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} N", trimmed(f.to_n(), 0)),
        LengthUnit::Inch => format!("{} lbf", trimmed(f.to_n() / LBF, 0)),
    }
}

/// From the least to the most, or one figure where they are alike.
#[must_use]
pub fn force_range(r: Range<Force>, unit: LengthUnit) -> String {
    let (a, b) = (force(r.least, unit), force(r.most, unit));
    if a == b { a } else { format!("{a} to {b}") }
}

/// An edge crush strength.
#[must_use]
pub fn ect(e: ForcePerLength, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} kN/m", trimmed(e.to_n_per_mm(), 2)),
        LengthUnit::Inch => format!("{} lbf/in", trimmed(e.to_n_per_mm() * 25.4 / LBF, 1)),
    }
}

fn percent(v: f64) -> String {
    trimmed(100.0 * v, 1)
}

/// What is kept, as `48 %` or `30 to 48 %`.
#[must_use]
pub fn share_range(r: Range<f64>) -> String {
    let (a, b) = (percent(r.least), percent(r.most));
    if a == b {
        format!("{a} %")
    } else {
        format!("{a} to {b} %")
    }
}

/// What a factor keeps.
#[must_use]
pub fn kept(f: &Factor) -> String {
    share_range(Range {
        least: f.worst,
        most: f.best,
    })
}

/// What a rule multiplies by.
#[must_use]
pub fn times(r: Range<f64>) -> String {
    let (a, b) = (trimmed(r.least, 2), trimmed(r.most, 2));
    if a == b { a } else { format!("{a} to {b}") }
}

/// How high is safe.
#[must_use]
pub fn safe_high(n: Option<u32>) -> String {
    match n {
        None => "no limit: nothing presses".to_owned(),
        Some(0) => "not one may stand under that load".to_owned(),
        Some(1) => "safe height 1: no other may stand on it".to_owned(),
        Some(n) => format!("safe height {n}, the bottom one counted"),
    }
}

/// What decides a class.
#[must_use]
pub const fn by(by: Option<By>) -> &'static str {
    match by {
        Some(By::Mass) => "by mass",
        Some(By::Size) => "by size",
        Some(By::Both) | None => "by mass and size",
    }
}

/// The class needed, what decides it, and whether the board reaches it.
#[must_use]
pub fn grade(g: &Graded, board: ForcePerLength, unit: LengthUnit) -> String {
    let what = format!(
        "{} gross, length + width + depth {}",
        mass(g.mass, unit),
        unit.show(g.size)
    );
    let Some(needs) = &g.needs else {
        let holds = g
            .holds
            .as_ref()
            .map_or_else(|| "none".to_owned(), |c| c.name.clone());
        return if g.limits {
            format!("{what}: no class for this wall takes it")
        } else {
            format!("this table limits neither mass nor size; the board reaches {holds}")
        };
    };
    let by = by(g.by);
    let reached = match (g.qualifies, needs.ect) {
        (Some(true), Some(asks)) => format!(
            "it asks for {}, the board has {}: reached",
            ect(asks, unit),
            ect(board, unit)
        ),
        (Some(false), Some(asks)) => format!(
            "it asks for {}, the board has {}: NOT REACHED",
            ect(asks, unit),
            ect(board, unit)
        ),
        _ => "it asks for no edge crush".to_owned(),
    };
    format!("{what}: class {} {by}; {reached}", needs.name)
}

/// What is charged.
#[must_use]
pub fn charged(p: &Parcel, unit: LengthUnit) -> String {
    let volumetric = match p.volumetric {
        Some(v) if p.bulky => format!("volumetric {}, more than on the scales", mass(v, unit)),
        Some(v) => format!("volumetric {}, less than on the scales", mass(v, unit)),
        None => "only the scales count".to_owned(),
    };
    format!(
        "{volumetric}; charged {}; length plus girth {}",
        mass(p.charged, unit),
        unit.show(p.length_plus_girth)
    )
}

/// What keeps a parcel out of a class.
#[must_use]
pub fn over(o: &Offer, unit: LengthUnit) -> String {
    let each: Vec<String> = o
        .over
        .iter()
        .map(|v| {
            let (word, show): (&str, fn(f64, LengthUnit) -> String) = match v.limit {
                Limit::Charged => ("charged", in_kg),
                Limit::Mass => ("mass", in_kg),
                Limit::Longest => ("longest side", in_mm),
                Limit::Second => ("second side", in_mm),
                Limit::Third => ("shortest side", in_mm),
                Limit::LengthPlusGirth => ("length plus girth", in_mm),
                Limit::Volume => ("volume", in_mm3),
            };
            format!(
                "{word} {}, at most {}",
                show(v.has, unit),
                show(v.most, unit)
            )
        })
        .collect();
    each.join("; ")
}

fn in_kg(v: f64, unit: LengthUnit) -> String {
    mass(Mass::kg(v), unit)
}
fn in_mm(v: f64, unit: LengthUnit) -> String {
    unit.show(Length::mm(v))
}
fn in_mm3(v: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} m3", trimmed(v / 1e9, 3)),
        LengthUnit::Inch => format!("{} ft3", trimmed(v / 28_316_846.592, 2)),
    }
}

/// How layers lie on each other.
#[must_use]
pub const fn arrangement(a: Arrangement) -> &'static str {
    match a {
        Arrangement::Column => "in columns",
        Arrangement::Interlocked => "interlocked",
    }
}

/// What the bottom case of a load has to stand, and whether that keeps the load low.
#[must_use]
pub fn bearing(p: &Palletised, unit: LengthUnit) -> String {
    let needs = format!(
        "{} of its strength kept, the bottom case needs {}",
        share_range(p.kept),
        force_range(p.needs, unit)
    );
    if p.by_strength {
        format!(
            "{needs}; kept to {} of {} layers by its strength",
            p.load.layers, p.layers_by_room
        )
    } else {
        needs
    }
}

/// Recommended limit, lifting index and hold.
#[must_use]
pub fn lift(l: &Lift, unit: LengthUnit) -> String {
    let hold = match l.hold {
        Hold::Good => "good",
        Hold::Fair => "fair",
        Hold::Poor => "poor",
    };
    let index = l.index.map_or_else(
        || "no lift like this is allowed".to_owned(),
        |i| format!("lifting index {}", trimmed(i, 2)),
    );
    format!(
        "{}; recommended limit {}, {index}, hold {hold}, from {} to {}",
        mass(l.mass, unit),
        mass(l.limit, unit),
        unit.show(l.task.from),
        unit.show(l.task.to)
    )
}
