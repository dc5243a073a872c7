//! Why an inside is as large as it is, and how things lie, in words.

use crate::job::ASKED;
use crate::units::{Length, LengthUnit, trimmed};

use super::proposal::{Lying, Proposal};

/// Two ends this close touch: half a step of the search.
const TOUCH: f64 = 0.05;

/// For each direction: padding, the chain of things that fills it, padding.
pub(super) fn limits(p: &Proposal, unit: LengthUnit) -> Vec<String> {
    (0..3)
        .map(|axis| {
            let [before, after] = p.padding.sides[axis];
            let mut parts = vec![unit.number(before)];
            for (gap, t) in chain(p, axis) {
                if gap.to_mm() > TOUCH {
                    parts.push(format!("{} between", unit.number(gap)));
                }
                let wrap = if t.wrap > Length::ZERO {
                    format!(" in {} of wrap", unit.number(t.wrap))
                } else {
                    String::new()
                };
                let size = unit.number(t.size[axis] + t.wrap * 2.0);
                parts.push(format!("{size} {}, its {}{wrap}", t.thing, t.along[axis]));
            }
            parts.push(unit.number(after));
            format!(
                "{} {}: {}",
                ASKED[axis],
                unit.show(p.inside[axis]),
                parts.join(" + ")
            )
        })
        .collect()
}

fn ends(t: &Lying, axis: usize) -> (f64, f64) {
    let from = (t.at[axis] - t.wrap).to_mm();
    (from, from + (t.size[axis] + t.wrap * 2.0).to_mm())
}

/// The things one after another that reach from one end of the room to the other, each with the gap
/// before it.
fn chain(p: &Proposal, axis: usize) -> Vec<(Length, &Lying)> {
    let start = p.padding.sides[axis][0].to_mm();
    let mut out: Vec<(Length, &Lying)> = Vec::new();
    let last = p
        .arrangement
        .iter()
        .max_by(|a, b| ends(a, axis).1.total_cmp(&ends(b, axis).1));
    let mut at = last;
    while let Some(t) = at {
        let from = ends(t, axis).0;
        let before = p
            .arrangement
            .iter()
            .filter(|q| ends(q, axis).1 <= from + TOUCH && !std::ptr::eq(*q, t))
            .max_by(|a, b| {
                // The nearest; of several, one that lies across from it.
                let near = |q: &Lying| {
                    (
                        (ends(q, axis).1 / TOUCH).round(),
                        i32::from(facing(q, t, axis)),
                    )
                };
                near(a)
                    .partial_cmp(&near(b))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
        let end = before.map_or(start, |q| ends(q, axis).1);
        if from <= start + TOUCH {
            out.push((Length::ZERO, t));
            break;
        }
        out.push((Length::mm(from - end), t));
        at = before;
    }
    out.reverse();
    out
}

/// Whether one covers some of the other, looking along an axis.
fn facing(q: &Lying, t: &Lying, axis: usize) -> bool {
    (0..3).filter(|a| *a != axis).all(|a| {
        let ((f, g), (h, i)) = (ends(q, a), ends(t, a));
        f + TOUCH < i && h + TOUCH < g
    })
}

/// How each thing lies.
pub(super) fn words(p: &Proposal) -> Vec<String> {
    p.arrangement
        .iter()
        .map(|t| {
            let [along, across, up] = t.along;
            let lies = if t.round {
                if up == "length" {
                    "stands".to_owned()
                } else if along == "length" {
                    "lies along the case".to_owned()
                } else {
                    "lies across the case".to_owned()
                }
            } else {
                format!("{along} along the case, {across} across, {up} up")
            };
            let rests = if t.on.is_empty() && t.supported >= 1.0 {
                "on the floor".to_owned()
            } else {
                let on = if t.on.is_empty() {
                    "nothing".to_owned()
                } else {
                    t.on.join(" and ")
                };
                let share = trimmed(100.0 * t.supported, 0);
                let fill = if t.supported < 1.0 {
                    "; fill below it"
                } else {
                    ""
                };
                format!("on {on}, {share} % of it borne{fill}")
            };
            format!("{}: {lies}; {rests}", t.thing)
        })
        .collect()
}
