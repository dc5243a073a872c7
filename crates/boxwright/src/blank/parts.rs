//! Putting a part on a panel, and the values it is given there.

use std::sync::Arc;

use super::drivers::drivers_of;
use super::grow::Grower;
use super::tree::{Given, GivenValue, Scope, filled, holds, joined, quantity};
use crate::diag::{Diag, Named};
use crate::expr::Value;
use crate::style::{Formula, Part, Style, UseDef};
use crate::units::{Dim, Quantity};

impl<'a> Grower<'a> {
    pub(super) fn put(
        &mut self,
        parent: usize,
        used: &'a UseDef,
        mirrored: bool,
        given: &Given<'a>,
        prefix: Option<&Arc<str>>,
    ) -> Result<(), Diag> {
        let values = {
            let scope = self.parent_scope(parent, None, given);
            if !holds(used.when.as_ref(), &scope)? {
                return Ok(());
            }
            let Some(part) = self.style.parts.iter().find(|p| p.name == used.part) else {
                let known: Vec<&str> = self.style.parts.iter().map(|p| p.name.as_str()).collect();
                return Err(Diag::error(
                    "unknown-part",
                    format!("there is no part `{}`", used.part),
                )
                .at(used.place.clone())
                .help(crate::read::suggestion(&used.part, known.iter().copied())));
            };
            (part, given_values(self.style, part, used, given, &scope)?)
        };
        let (part, values) = values;
        if self.trail.contains(&part.name.as_str()) {
            return Err(Diag::error(
                "cycle",
                format!("part `{}` puts itself on itself", part.name),
            )
            .at(used.place.clone())
            .help("a part cannot use itself, not even through others"));
        }
        let name: Arc<str> = match (&used.prefix, prefix) {
            (Some(own), outer) => joined(outer.map_or("", |p| p), &filled(own, given)).into(),
            (None, Some(outer)) => Arc::clone(outer),
            (None, None) => self.branches[parent].name.as_str().into(),
        };
        self.trail.push(&part.name);
        let done = self.collect(
            parent,
            &part.items,
            mirrored != used.mirror,
            &Arc::new(values),
            Some(&name),
        );
        self.trail.pop();
        done
    }
}

/// More counts than this are refused.
const MOST_COUNTS: usize = 200;

/// What is known at each count of an `each`: the values given so far, and the count.
pub(super) fn counts<'a>(
    count: &'a Named,
    to: &'a Formula,
    given: &Given<'a>,
    scope: &Scope<'_>,
) -> Result<Vec<Given<'a>>, Diag> {
    let last = quantity(to, scope, Dim::NUMBER)?;
    if last < 0.0 || last.fract() != 0.0 {
        return Err(Diag::error(
            "out-of-range",
            format!("`each` counts up to a whole number, and this is {last}"),
        )
        .at(to.place.clone())
        .help("use floor(...) or round(...)"));
    }
    let mut all = Vec::new();
    let mut n = 1.0;
    while n <= last {
        if all.len() >= MOST_COUNTS {
            return Err(Diag::error(
                "too-large",
                format!("`each` counts up to {MOST_COUNTS} at most"),
            )
            .at(to.place.clone()));
        }
        let mut values = given.as_ref().clone();
        values.retain(|g| g.name != count.name);
        values.push(GivenValue {
            name: &count.name,
            value: Value::Quantity(Quantity {
                value: n,
                dim: Dim::NUMBER,
            }),
            drivers: Vec::new(),
        });
        all.push(Arc::new(values));
        n += 1.0;
    }
    Ok(all)
}

fn given_values<'a>(
    style: &'a Style,
    part: &'a Part,
    used: &'a UseDef,
    given: &[GivenValue<'a>],
    scope: &Scope<'_>,
) -> Result<Vec<GivenValue<'a>>, Diag> {
    let mut out = Vec::with_capacity(part.takes.len());
    for name in &part.takes {
        match used.values.iter().find(|(k, _)| k == name) {
            Some((_, f)) => {
                let value = f.expr.eval(scope).map_err(|e| f.diag(&e))?;
                let mut drivers = Vec::new();
                drivers_of(style, given, f, &mut drivers, 0);
                out.push(GivenValue {
                    name,
                    value,
                    drivers,
                });
            }
            None => {
                return Err(Diag::error(
                    "missing",
                    format!("part `{}` needs `{name}` here", part.name),
                )
                .at(used.place.clone())
                .help(format!("write {name}=\"...\"")));
            }
        }
    }
    if let Some((extra, f)) = used.values.iter().find(|(k, _)| !part.takes.contains(k)) {
        return Err(Diag::error(
            "unknown-word",
            format!("part `{}` takes no `{extra}`", part.name),
        )
        .at(f.place.clone())
        .help(crate::read::suggestion(
            extra,
            part.takes.iter().map(String::as_str),
        )));
    }
    Ok(out)
}
