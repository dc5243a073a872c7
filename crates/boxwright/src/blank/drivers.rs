//! Which parameters drive a panel's sizes: what a cure may propose to change.

use super::model::Drivers;
use super::tree::{Branch, GivenValue};
use crate::style::{Formula, Style};

/// The parameters a formula depends on, straight or through derived and given values.
pub(super) fn drivers_of(
    style: &Style,
    given: &[GivenValue],
    f: &Formula,
    into: &mut Vec<String>,
    depth: usize,
) {
    for (name, _, _) in f.expr.names() {
        if let Some(g) = given.iter().find(|g| g.name == name) {
            for d in &g.drivers {
                if !into.contains(d) {
                    into.push(d.clone());
                }
            }
        } else if style.parameters.iter().any(|p| p.name == name) {
            if !into.contains(&name) {
                into.push(name);
            }
        } else if let Some(l) = style.lets.iter().find(|l| l.name == name)
            && depth < 32
        {
            drivers_of(style, &[], &l.value, into, depth + 1);
        }
    }
}

/// The parameters that drive a branch's sizes.
pub(super) fn drivers(style: &Style, b: &Branch<'_>) -> Drivers {
    let of = |f: Option<&Formula>| {
        let mut into = Vec::new();
        if let Some(f) = f {
            drivers_of(style, &b.given, f, &mut into, 0);
        }
        into
    };
    let mut inset = of(b.def.inset[0].as_ref());
    for d in of(b.def.inset[1].as_ref()) {
        if !inset.contains(&d) {
            inset.push(d);
        }
    }
    Drivers {
        reach: of(Some(&b.def.reach)),
        breadth: of(b.def.breadth.as_ref()),
        inset,
        raise: of(b.def.raise.as_ref()),
    }
}
