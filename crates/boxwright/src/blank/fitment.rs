//! What goes into a case: where it is asked for, and its plan joined to the case's.

use std::ops::Range;
use std::sync::Arc;

use super::grow::MOST_PANELS;
use super::model::{Blank, Drivers};
use super::plan::{PanelRef, Plan, PlanFitment, PlanStage};
use super::tree::length;
use crate::diag::{Diag, Outcome, Place};
use crate::expr::{Names, Value};
use crate::job::{ASKED, Fitment, asked_size};
use crate::style::{Formula, Held};
use crate::units::{Length, LengthUnit, Quantity, SLACK_MM};

/// How far over the case a fitment is when it begins to go in.
const ABOVE: Length = Length::mm(60.0);

/// The names a fitment is asked for in.
struct Inside([Length; 3], Length);

impl Names for Inside {
    fn get(&self, name: &str) -> Option<Value> {
        let asked = ASKED.iter().position(|a| *a == name).map(|i| self.0[i]);
        let size = asked.or_else(|| (name == "t").then_some(self.1))?;
        Some(Value::Quantity(Quantity::length(size)))
    }
    fn all(&self) -> Vec<String> {
        ASKED.into_iter().chain(["t"]).map(str::to_owned).collect()
    }
}

/// The room a fitment is asked for in a case of this inside and caliper: its size, and its corner
/// in mm.
///
/// # Errors
/// Expressions that cannot be worked out, sizes that none can have, `outside-the-case`.
pub fn asked_of(
    fitment: &Fitment,
    inside: [Length; 3],
    caliper: Length,
) -> Outcome<([Length; 3], [f64; 3])> {
    let names = Inside(inside, caliper);
    let mut diags = Vec::new();
    let (mut size, mut at) = (inside, [0.0; 3]);
    for k in 0..3 {
        let mut of = |f: &Option<Formula>| match f.as_ref().map(|f| length(f, &names)) {
            None => Some(None),
            Some(Ok(v)) => Some(Some(v)),
            Some(Err(d)) => {
                diags.push(d);
                None
            }
        };
        let (Some(own), Some(corner)) = (of(&fitment.size[k]), of(&fitment.at[k])) else {
            continue;
        };
        let place = |f: &Option<Formula>| f.as_ref().map(|f| f.place.clone());
        if let Some(v) = own {
            match asked_size(Length::mm(v)) {
                Ok(l) => size[k] = l,
                Err((code, message)) => {
                    let here = place(&fitment.size[k]).unwrap_or_else(|| fitment.place.clone());
                    diags.push(Diag::error(code, message).at(here));
                    continue;
                }
            }
        }
        at[k] = corner.unwrap_or(0.0);
        let past = (at[k] + size[k].to_mm() - inside[k].to_mm()).max(-at[k]);
        if past > SLACK_MM {
            let here = place(&fitment.at[k])
                .or_else(|| place(&fitment.size[k]))
                .unwrap_or_else(|| fitment.place.clone());
            diags.push(outside(fitment, k, past, own.is_none(), here));
        }
    }
    if diags.is_empty() {
        Ok((size, at))
    } else {
        Err(diags)
    }
}

fn outside(fitment: &Fitment, axis: usize, past: f64, whole: bool, here: Place) -> Diag {
    let (size, corner) = (ASKED[axis], ["x", "y", "z"][axis]);
    let d = Diag::error(
        "outside-the-case",
        format!(
            "the room of `{}` reaches {} past the {size} of the case",
            fitment.name,
            LengthUnit::Mm.show(Length::mm(past))
        ),
    )
    .at(here);
    match &fitment.at[axis] {
        Some(f) if whole => d.help(format!(
            "ask less of it as well: {size}=\"{size} - ({})\"",
            f.expr.text()
        )),
        _ => d.help(format!("give a smaller `{size}` or another `{corner}`")),
    }
}

/// Joins a fitment's plan to the case's: its pieces after those that are there, its stages before
/// the one at which the case is packed. `at` is the corner of its room in the case's, in mm.
///
/// # Errors
/// `name-taken` when a piece would be called as another one; `too-large`.
pub fn join(case: &mut Plan, asked: &Fitment, at: [f64; 3], plan: Plan) -> Outcome<()> {
    let name = &asked.name;
    let shift = case.pieces.len();
    let pieces: Vec<Arc<Blank>> = plan
        .pieces
        .iter()
        .map(|b| Arc::new(renamed(b, name, plan.pieces.len() == 1)))
        .collect();
    if let Some(twice) = pieces
        .iter()
        .find(|b| case.pieces.iter().any(|c| c.piece == b.piece))
    {
        return Err(vec![
            Diag::error(
                "name-taken",
                format!("there is a piece `{}` already", twice.piece),
            )
            .at(asked.place.clone())
            .help("call the fitment something else: as=\"bottom pad\""),
        ]);
    }
    let panels = |of: &[Arc<Blank>]| of.iter().map(|b| b.panels.len()).sum::<usize>();
    if panels(&case.pieces) + panels(&pieces) > MOST_PANELS {
        return Err(vec![
            Diag::error(
                "too-large",
                format!("the case and what goes into it have more than {MOST_PANELS} panels"),
            )
            .at(asked.place.clone()),
        ]);
    }
    let moved = |r: PanelRef| PanelRef {
        piece: r.piece + shift,
        ..r
    };
    let fitment = case.fitments.len();
    let range = shift..shift + pieces.len();
    case.pieces.extend(pieces);
    case.cutouts
        .extend(plan.cutouts.into_iter().map(|(r, i, n)| (moved(r), i, n)));
    case.seats.extend(plan.seats.into_iter().map(|mut s| {
        s.piece += shift;
        s.on = moved(s.on);
        s
    }));
    case.joints.extend(plan.joints.into_iter().map(|mut j| {
        j.panel = moved(j.panel);
        j.to = moved(j.to);
        j
    }));
    let mut stages = plan.stages;
    for s in &mut stages {
        s.of = Some(fitment);
        s.packs = false;
        s.title = format!("{name}: {}", s.title);
        s.turns.iter_mut().for_each(|t| t.panel = moved(t.panel));
        s.enters.iter_mut().for_each(|(p, _)| *p += shift);
    }
    let from = case.room.asked[2] + ABOVE;
    insert(case, put_in(stages, name, fitment, &range, from));
    let mut room = plan.room;
    room.on = moved(room.on);
    case.fitments.push(PlanFitment {
        name: name.clone(),
        style: plan.style,
        values: plan.values,
        material: plan.material,
        pieces: range,
        room,
        at,
    });
    Ok(())
}

/// A piece called as the fitment is, and its parameters told from those of the case.
fn renamed(blank: &Blank, name: &str, alone: bool) -> Blank {
    let mut b = blank.clone();
    b.piece = if alone {
        name.to_owned()
    } else {
        format!("{name} {}", b.piece)
    };
    for p in &mut b.panels {
        let Drivers {
            reach,
            breadth,
            inset,
            raise,
        } = &mut p.drivers;
        for of in [reach, breadth, inset, raise] {
            of.iter_mut().for_each(|d| *d = format!("{name}: {d}"));
        }
    }
    b
}

/// The stages of a fitment with the one in which it goes into the case: what comes before its
/// further pieces enter is done beside the case. A step in which nothing moves tells how to put it
/// in; where there is none, one is made.
fn put_in(
    mut stages: Vec<PlanStage>,
    name: &str,
    fitment: usize,
    pieces: &Range<usize>,
    from: Length,
) -> Vec<PlanStage> {
    let beside = stages
        .iter()
        .position(|s| !s.enters.is_empty())
        .unwrap_or(stages.len());
    let enters = (pieces.start, from);
    let told = stages[..beside]
        .last_mut()
        .filter(|s| s.turns.is_empty() && s.held != Held::Pressed);
    if let Some(s) = told {
        s.enters.push(enters);
    } else {
        let stage = PlanStage {
            title: format!("Put in the {name}"),
            text: format!("Stand the case with its open side up and lower the {name} into it."),
            held: Held::Upright,
            packs: false,
            of: Some(fitment),
            turns: Vec::new(),
            enters: vec![enters],
        };
        stages.insert(beside, stage);
    }
    stages
}

fn insert(case: &mut Plan, mut stages: Vec<PlanStage>) {
    let own = |s: &&PlanStage| s.of.is_none();
    let at = case
        .stages
        .iter()
        .position(|s| s.packs)
        .or_else(|| case.stages.iter().rposition(|s| own(&s)))
        .unwrap_or(case.stages.len());
    // The case keeps still meanwhile: it stands, unless it lies pressed.
    let still = at
        .checked_sub(1)
        .map(|i| case.stages[i].held)
        .filter(|h| *h == Held::Pressed);
    for s in &mut stages {
        if s.held != Held::Pressed {
            s.held = still.unwrap_or(Held::Upright);
        }
    }
    case.stages.splice(at..at, stages);
}
