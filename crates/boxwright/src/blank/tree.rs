//! The fold tree of a piece with every size in millimetres.
//!
//! Own coordinates of a panel: its crease along y = 0, y towards its far edge, x = 0 at the left
//! end of its clear span. A crease through angle a takes p t tan(a/2) on each side of its line:
//! the corner of the inside faces lies that far from the drawn crease. So the drawn panel is its
//! clear span plus, at each edge that carries a crease, the raise and that allowance.

use std::sync::Arc;

use super::model::{Creasing, FoldSide};
use crate::diag::{Diag, Place};
use crate::expr::{Names, Value};
use crate::geom::DVec2;
use crate::style::{CornerCut, Edge, FoldWay, Formula, Item, PanelDef, PathDef, Values};
use crate::units::{Angle, Dim, Length, Quantity};

/// A fold past this angle has no allowance of its own kind: tan(a/2) runs away.
pub const STEEPEST: Angle = Angle::deg(150.0);

/// What the blank is cut from and how it is creased.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// The board's name.
    pub board: String,
    /// Board thickness.
    pub caliper: Length,
    /// Fold axis depth p along and across the flutes.
    pub axis_depth: [f64; 2],
    /// How creases are made.
    pub way: Creasing,
    /// Mass per area.
    pub grammage: crate::units::Grammage,
}

/// Values given to a part where it is used.
pub(super) type Given<'a> = Arc<Vec<GivenValue<'a>>>;

/// A value given to a part, and the parameters it came from.
#[derive(Clone, Debug)]
pub(super) struct GivenValue<'a> {
    pub name: &'a str,
    pub value: Value,
    pub drivers: Vec<&'a str>,
}

/// Something cut in a panel, with the scope of the part it comes from.
#[derive(Clone, Debug)]
pub(super) struct Cut<'a> {
    pub item: &'a Item,
    pub mirrored: bool,
    pub given: Given<'a>,
    pub prefix: Option<Arc<str>>,
}

/// A panel with its numbers.
#[derive(Clone, Debug)]
pub(super) struct Branch<'a> {
    pub def: &'a PanelDef,
    pub name: String,
    pub parent: Option<usize>,
    pub edge: Edge,
    /// The ends of its own line on the parent, from the corner of the parent's clear span.
    pub slant: Option<[DVec2; 2]>,
    pub mirrored: bool,
    pub given: Given<'a>,
    /// What the names of everything on it start with, when a part was put here.
    pub prefix: Option<Arc<str>>,
    /// Panels of parts put on it, and their other items, with the part's own scope.
    pub items: Vec<Cut<'a>>,
    pub fold: FoldWay,
    pub angle: f64,
    pub raise: f64,
    /// p t tan(a/2), or what the style states.
    pub allowance: f64,
    pub axis_depth: f64,
    pub across_flutes: bool,
    /// Whether the flutes run along own y.
    pub flutes_near_far: bool,
    /// Clear spans.
    pub breadth: f64,
    pub reach: f64,
    /// Left end of the clear span along the parent's clear edge, from own left.
    pub at: f64,
    /// Drawn beyond the clear span at each edge, by [`Edge::index`].
    pub beyond: [f64; 4],
    pub relief: Option<(f64, Option<f64>)>,
}

/// Looks names up: own sizes, then values given to the part, then the style's values.
pub(super) struct Scope<'a> {
    pub base: &'a Values,
    pub given: &'a [GivenValue<'a>],
    pub own: [(&'static str, Option<f64>); 3],
}

impl Names for Scope<'_> {
    fn get(&self, name: &str) -> Option<Value> {
        if let Some(g) = self.given.iter().find(|g| g.name == name) {
            return Some(g.value.clone());
        }
        if let Some((_, Some(v))) = self.own.iter().find(|(k, _)| *k == name) {
            return Some(Value::Quantity(Quantity::length(Length::mm(*v))));
        }
        self.base.get(name)
    }
    fn all(&self) -> Vec<String> {
        let mut all = self.base.all();
        all.extend(self.given.iter().map(|g| g.name.to_owned()));
        all.extend(
            self.own
                .iter()
                .filter(|(_, v)| v.is_some())
                .map(|(k, _)| (*k).to_owned()),
        );
        all
    }
}

/// Evaluates a formula to a quantity of this dimension, in base units.
pub(super) fn quantity(f: &Formula, names: &dyn Names, dim: Dim) -> Result<f64, Diag> {
    match f.expr.eval(names).map_err(|e| f.diag(&e))? {
        Value::Quantity(q) if q.dim == dim => Ok(q.value),
        other => {
            let got = match other {
                Value::Quantity(q) => q.dim.words(),
                Value::Bool(_) => "true or false".into(),
                Value::Word(_) => "a word".into(),
            };
            let mut d = Diag::error(
                "wrong-unit",
                format!("this is {got}, but {} is needed here", dim.words()),
            )
            .at(f.place.clone());
            if dim == Dim::LENGTH && got == Dim::NUMBER.words() {
                d = d.help(format!("write the unit: \"{}mm\"", f.expr.text()));
            }
            Err(d)
        }
    }
}

pub(super) fn length(f: &Formula, names: &dyn Names) -> Result<f64, Diag> {
    quantity(f, names, Dim::LENGTH)
}

pub(super) fn holds(f: Option<&Formula>, names: &dyn Names) -> Result<bool, Diag> {
    let Some(f) = f else { return Ok(true) };
    match f.expr.eval(names).map_err(|e| f.diag(&e))? {
        Value::Bool(b) => Ok(b),
        _ => Err(
            Diag::error("wrong-kind", "`when` needs something true or false")
                .at(f.place.clone())
                .help("compare two values, such as \"lap > 0mm\""),
        ),
    }
}

/// A name with every `{count}` in it put into figures.
pub(super) fn filled(name: &str, given: &[GivenValue<'_>]) -> String {
    let mut name = name.to_owned();
    if name.contains('{') {
        for g in given {
            if let Value::Quantity(q) = &g.value
                && q.dim == Dim::NUMBER
            {
                name = name.replace(&format!("{{{}}}", g.name), &q.value.to_string());
            }
        }
    }
    name
}

/// Two words of a panel's name; `as=""` gives a part no prefix.
pub(super) fn joined(prefix: &str, own: &str) -> String {
    if prefix.is_empty() || own.is_empty() {
        format!("{prefix}{own}")
    } else {
        format!("{prefix} {own}")
    }
}

/// The scope of what is cut in panel `b`.
pub(super) fn own_scope<'s>(
    values: &'s Values,
    b: &'s Branch<'_>,
    given: &'s Given<'_>,
) -> Scope<'s> {
    Scope {
        base: values,
        given,
        own: [
            ("breadth", Some(b.breadth)),
            ("reach", Some(b.reach)),
            ("edge", None),
        ],
    }
}

/// A crease of a branch, for the fold axis and the drawing.
impl Branch<'_> {
    pub(super) const fn side(&self) -> Option<FoldSide> {
        match self.fold {
            FoldWay::Crease(s) => Some(s),
            FoldWay::Flat => None,
        }
    }
    pub(super) const fn place(&self) -> &Place {
        &self.def.place
    }
}

/// The items of a kind, for outline building.
pub(super) fn corner_cuts<'a>(
    b: &'a Branch<'_>,
) -> impl Iterator<
    Item = (
        &'a [crate::style::Corner],
        &'a CornerCut,
        bool,
        &'a Given<'a>,
    ),
> {
    b.items.iter().filter_map(|x| match x.item {
        Item::Corner(c, cut) => Some((c.as_slice(), cut, x.mirrored, &x.given)),
        _ => None,
    })
}

/// The outline path given for a branch, if any.
pub(super) fn outline_path<'a>(b: &'a Branch<'a>) -> Option<(&'a PathDef, bool, &'a Given<'a>)> {
    b.items.iter().find_map(|x| match x.item {
        Item::Outline(p) => Some((p, x.mirrored, &x.given)),
        _ => None,
    })
}
