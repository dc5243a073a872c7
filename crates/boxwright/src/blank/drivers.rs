//! Which parameters drive a panel's sizes: what a cure may propose to change.

use super::model::Drivers;
use super::tree::{Branch, GivenValue};
use crate::style::{Formula, Style};

/// The parameters a formula depends on, straight or through derived and given values.
pub(super) fn drivers_of<'a>(
    style: &'a Style,
    given: &[GivenValue<'a>],
    f: &'a Formula,
    into: &mut Vec<&'a str>,
    depth: usize,
) {
    let add = |into: &mut Vec<&'a str>, name: &'a str| {
        if !into.contains(&name) {
            into.push(name);
        }
    };
    for (name, _, _) in f.expr.uses() {
        if let Some(g) = given.iter().find(|g| g.name == name) {
            g.drivers.iter().for_each(|d| add(into, d));
        } else if style.parameters.iter().any(|p| p.name == name) {
            add(into, name);
        } else if let Some(l) = style.lets.iter().find(|l| l.name == name)
            && depth < 32
        {
            drivers_of(style, &[], &l.value, into, depth + 1);
        }
    }
}

/// The parameters that drive a branch's sizes.
pub(super) fn drivers<'a>(style: &'a Style, b: &Branch<'a>) -> Drivers {
    let mut into: Vec<&'a str> = Vec::new();
    let mut of = |formulas: [Option<&'a Formula>; 2]| -> Vec<String> {
        into.clear();
        for f in formulas.into_iter().flatten() {
            drivers_of(style, &b.given, f, &mut into, 0);
        }
        into.iter().map(|d| (*d).to_owned()).collect()
    };
    let [left, right] = &b.def.inset;
    Drivers {
        reach: of([Some(&b.def.reach), None]),
        breadth: of([b.def.breadth.as_ref(), None]),
        inset: of([left.as_ref(), right.as_ref()]),
        raise: of([b.def.raise.as_ref(), None]),
    }
}
