//! Lifting the packed case by hand: the revised equation of NIOSH, publication 94-110.
//!
//! RWL = LC HM VM DM AM FM CM, the greatest mass nearly all healthy workers may lift in a shift; LI is the
//! mass over it. The multipliers were seen at ccohs.ca and what-when-how.com; the limits past which HM,
//! VM and AM are nothing, and the table of FM, are from memory.

use serde::Serialize;

use super::figure::Caution;
use crate::units::{Angle, Length, Mass};

/// Load constant LC.
pub const LOAD: Mass = Mass::kg(23.0);
/// Hands may be this far in front of the ankles, and no further (memory).
pub const FARTHEST: Length = Length::mm(630.0);
/// Nothing is lost when they are this near.
pub const NEAREST: Length = Length::mm(250.0);
/// The height of hands from which it is best to lift.
pub const KNUCKLES: Length = Length::mm(750.0);
/// The highest hands may be (memory).
pub const HIGHEST: Length = Length::mm(1750.0);
/// The farthest a case may be turned aside (memory).
pub const MOST_ASIDE: Angle = Angle::deg(135.0);
/// From ankles to the near side of a case held against the body, hands at or over 25 cm (memory).
pub const BODY: Length = Length::mm(200.0);
/// The same with the hands lower (memory).
pub const BODY_LOW: Length = Length::mm(250.0);
/// Greatest length in front of the body of a case that is good to hold: 16 in (seen).
pub const GOOD_LENGTH: Length = Length::mm(400.0);
/// Greatest height of a case that is good to hold: 12 in (seen).
pub const GOOD_HEIGHT: Length = Length::mm(300.0);
/// A mark says "heavy" above this.
pub const HEAVY: Mass = Mass::kg(23.0);
/// Where [`HEAVY`] comes from.
pub const HEAVY_FROM: &str = "derived: the load constant of the lifting equation, 23 kg (51 lb)";
/// Above this two have to lift.
pub const TWO: Mass = Mass::kg(31.5);
/// Where [`TWO`] comes from.
pub const TWO_FROM: &str = "memory: parcel practice, label above 31.5 to 32 kg or 70 lb";

/// How long a day is lifted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hours {
    /// Up to one hour, with rest after it.
    #[default]
    One,
    /// Up to two.
    Two,
    /// Up to eight.
    Eight,
}

/// How well hands hold it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Hold {
    /// Handholds in a case of good size.
    Good,
    /// Fingers under a case of good size.
    Fair,
    /// A case too long or too high to hold well.
    Poor,
}

/// How the case is lifted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Task {
    /// Height of what it stands on before.
    pub from: Length,
    /// Height of what it is set on.
    pub to: Length,
    /// How far it is turned aside.
    pub aside: Angle,
    /// Lifts a minute.
    pub each_minute: f64,
    /// How long a day.
    pub hours: Hours,
}

impl Default for Task {
    /// Now and then, from the floor to a bench of 75 cm, straight ahead.
    fn default() -> Self {
        Self {
            from: Length::ZERO,
            to: KNUCKLES,
            aside: Angle::ZERO,
            each_minute: 0.2,
            hours: Hours::One,
        }
    }
}

/// HM for hands that far in front of the ankles.
#[must_use]
pub fn horizontal(h: Length) -> f64 {
    if h > FARTHEST {
        0.0
    } else {
        NEAREST / h.max(NEAREST)
    }
}

/// VM for hands that high.
#[must_use]
pub fn vertical(v: Length) -> f64 {
    if v > HIGHEST || v < Length::ZERO {
        return 0.0;
    }
    1.0 - 0.0003 * (v - KNUCKLES).abs().to_mm()
}

/// DM for hands that rise or sink so far.
#[must_use]
pub fn distance(d: Length) -> f64 {
    if d > HIGHEST {
        return 0.0;
    }
    0.82 + 45.0 / d.max(NEAREST).to_mm()
}

/// AM for a case turned aside.
#[must_use]
pub fn asymmetry(a: Angle) -> f64 {
    if a.abs() > MOST_ASIDE {
        return 0.0;
    }
    1.0 - 0.0032 * a.abs().to_deg()
}

/// Lifts a minute, then FM for up to 1, 2 and 8 hours, each for hands below and from 75 cm. Memory:
/// table 5 of NIOSH 94-110.
const FREQUENCY: [(f64, [f64; 6]); 18] = [
    (0.2, [1.00, 1.00, 0.95, 0.95, 0.85, 0.85]),
    (0.5, [0.97, 0.97, 0.92, 0.92, 0.81, 0.81]),
    (1.0, [0.94, 0.94, 0.88, 0.88, 0.75, 0.75]),
    (2.0, [0.91, 0.91, 0.84, 0.84, 0.65, 0.65]),
    (3.0, [0.88, 0.88, 0.79, 0.79, 0.55, 0.55]),
    (4.0, [0.84, 0.84, 0.72, 0.72, 0.45, 0.45]),
    (5.0, [0.80, 0.80, 0.60, 0.60, 0.35, 0.35]),
    (6.0, [0.75, 0.75, 0.50, 0.50, 0.27, 0.27]),
    (7.0, [0.70, 0.70, 0.42, 0.42, 0.22, 0.22]),
    (8.0, [0.60, 0.60, 0.35, 0.35, 0.18, 0.18]),
    (9.0, [0.52, 0.52, 0.30, 0.30, 0.00, 0.15]),
    (10.0, [0.45, 0.45, 0.26, 0.26, 0.00, 0.13]),
    (11.0, [0.41, 0.41, 0.00, 0.23, 0.00, 0.00]),
    (12.0, [0.37, 0.37, 0.00, 0.21, 0.00, 0.00]),
    (13.0, [0.00, 0.34, 0.00, 0.00, 0.00, 0.00]),
    (14.0, [0.00, 0.31, 0.00, 0.00, 0.00, 0.00]),
    (15.0, [0.00, 0.28, 0.00, 0.00, 0.00, 0.00]),
    (f64::INFINITY, [0.0; 6]),
];

/// FM for so many lifts a minute; between two listed rates the quicker one counts.
#[must_use]
pub fn frequency(each_minute: f64, hours: Hours, v: Length) -> f64 {
    let column = match hours {
        Hours::One => 0,
        Hours::Two => 2,
        Hours::Eight => 4,
    } + usize::from(v >= KNUCKLES);
    let row = FREQUENCY.iter().find(|(rate, _)| each_minute <= *rate);
    row.map_or(0.0, |(_, fm)| fm[column])
}

/// CM for hands that high.
#[must_use]
pub fn coupling(hold: Hold, v: Length) -> f64 {
    match hold {
        Hold::Good => 1.0,
        Hold::Fair if v >= KNUCKLES => 1.0,
        Hold::Fair => 0.95,
        Hold::Poor => 0.90,
    }
}

/// Where hands are at one end of a lift.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Grip {
    /// In front of the ankles.
    pub horizontal: Length,
    /// Over the floor.
    pub vertical: Length,
}

/// One end of a lift, judged.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct End {
    /// Where the hands are.
    pub grip: Grip,
    /// HM, VM, DM, AM, FM, CM.
    pub multipliers: [f64; 6],
    /// Recommended weight limit.
    pub limit: Mass,
}

/// Judges one end of a lift: `far` is how far the hands rise or sink between both ends.
#[must_use]
pub fn end(grip: Grip, far: Length, task: &Task, hold: Hold) -> End {
    let multipliers = [
        horizontal(grip.horizontal),
        vertical(grip.vertical),
        distance(far),
        asymmetry(task.aside),
        frequency(task.each_minute, task.hours, grip.vertical),
        coupling(hold, grip.vertical),
    ];
    End {
        grip,
        multipliers,
        limit: LOAD * multipliers.iter().product::<f64>(),
    }
}

/// What lifting a packed case asks of a person.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Lift {
    /// How it is lifted.
    pub task: Task,
    /// Its mass.
    pub mass: Mass,
    /// How well hands hold it.
    pub hold: Hold,
    /// Where it is taken up, then where it is set down.
    pub ends: [End; 2],
    /// The lesser of both limits.
    pub limit: Mass,
    /// Lifting index: mass over that limit; `None` when nothing may be lifted that way.
    pub index: Option<f64>,
    /// Whether a mark has to say that it is heavy.
    pub heavy: bool,
    /// Whether two have to lift it.
    pub two: bool,
    /// What to mind.
    pub cautions: Vec<Caution>,
}

impl Lift {
    /// Judges a case by its outside size and gross mass, held against the body with its longer side in
    /// front. `handholds` is how high over its bottom they are, if it has any; else hands go under it.
    #[must_use]
    pub fn of(size: [Length; 3], mass: Mass, handholds: Option<Length>, task: &Task) -> Self {
        let [l, w, h] = size;
        let (front, deep) = (l.max(w), l.min(w));
        let handy = front <= GOOD_LENGTH && h <= GOOD_HEIGHT;
        let hold = match (handy, handholds) {
            (true, Some(_)) => Hold::Good,
            (true, None) => Hold::Fair,
            (false, _) => Hold::Poor,
        };
        let up = handholds.unwrap_or(Length::ZERO);
        let grip = |stand: Length| {
            let v = stand + up;
            let body = if v < NEAREST { BODY_LOW } else { BODY };
            Grip {
                horizontal: body + deep / 2.0,
                vertical: v,
            }
        };
        let far = (task.to - task.from).abs();
        let ends = [task.from, task.to].map(|stand| end(grip(stand), far, task, hold));
        let [a, b] = ends.map(|e| e.limit);
        let limit = a.min(b);
        let index = (limit.to_kg() > 0.0).then(|| mass / limit);
        let mut cautions = Vec::new();
        match index {
            None => cautions.push(Caution::new(
                "no-lift",
                "the equation allows no lift like this: hands too far, too high or too often",
            )),
            Some(i) if i > 1.0 => cautions.push(Caution::new(
                "hard-lift",
                "more than nearly all may lift safely in this way; lift with two, with a truck, or from higher up",
            )),
            Some(_) => {}
        }
        Self {
            task: *task,
            mass,
            hold,
            ends,
            limit,
            index,
            heavy: mass > HEAVY,
            two: mass > TWO,
            cautions,
        }
    }
}
