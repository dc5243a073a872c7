//! The fold tree of a piece with every size in millimetres.
//!
//! Own coordinates of a panel: its crease along y = 0, y towards its far edge, x = 0 at the left
//! end of its clear span. A crease through angle a takes p t tan(a/2) on each side of its line:
//! the corner of the inside faces lies that far from the drawn crease. So the drawn panel is its
//! clear span plus, at each edge that carries a crease, the raise and that allowance.

use std::sync::Arc;

use super::model::{Creasing, Drivers, FoldSide};
use crate::diag::{Diag, Place};
use crate::expr::{Names, Value};
use crate::style::{
    Along, CornerCut, Edge, FoldWay, Formula, Item, PanelDef, Part, PathDef, PieceDef, Relief,
    Style, UseDef, Values,
};
use crate::units::{Angle, Dim, Length, Quantity};

/// A fold past this angle has no allowance of its own kind: tan(a/2) runs away.
pub const STEEPEST: Angle = Angle::deg(150.0);
const MOST_PANELS: usize = 2000;

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
pub(super) type Given = Arc<Vec<GivenValue>>;

/// A value given to a part, and the parameters it came from.
#[derive(Clone, Debug)]
pub(super) struct GivenValue {
    pub name: String,
    pub value: Value,
    pub drivers: Vec<String>,
}

/// Something cut in a panel, with the scope of the part it comes from.
#[derive(Clone, Debug)]
pub(super) struct Cut<'a> {
    pub item: &'a Item,
    pub mirrored: bool,
    pub given: Given,
    pub prefix: Option<String>,
}

/// A panel with its numbers.
#[derive(Clone, Debug)]
pub(super) struct Branch<'a> {
    pub def: &'a PanelDef,
    pub name: String,
    pub parent: Option<usize>,
    pub edge: Edge,
    pub mirrored: bool,
    pub given: Given,
    /// What the names of everything on it start with, when a part was put here.
    pub prefix: Option<String>,
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
    pub given: &'a [GivenValue],
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
        all.extend(self.given.iter().map(|g| g.name.clone()));
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

pub(super) struct Grower<'a> {
    pub style: &'a Style,
    pub values: &'a Values,
    pub material: &'a Material,
    pub branches: Vec<Branch<'a>>,
    pub diags: Vec<Diag>,
    trail: Vec<&'a str>,
}

/// Grows the whole tree of a piece.
pub(super) fn grow<'a>(
    style: &'a Style,
    piece: &'a PieceDef,
    values: &'a Values,
    material: &'a Material,
) -> Result<Vec<Branch<'a>>, Vec<Diag>> {
    let mut g = Grower {
        style,
        values,
        material,
        branches: Vec::new(),
        diags: Vec::new(),
        trail: Vec::new(),
    };
    let none: Given = Arc::new(Vec::new());
    match g.root(piece, &none) {
        Ok(()) => {}
        Err(d) => g.diags.push(d),
    }
    if g.diags.is_empty() {
        Ok(g.branches)
    } else {
        Err(g.diags)
    }
}

impl<'a> Grower<'a> {
    fn root(&mut self, piece: &'a PieceDef, none: &Given) -> Result<(), Diag> {
        let def = &piece.root;
        let scope = Scope {
            base: self.values,
            given: none,
            own: [("edge", None); 3],
        };
        let Some(breadth) = &def.breadth else {
            return Err(
                Diag::error("missing", "the first panel of a piece needs `breadth`")
                    .at(def.place.clone()),
            );
        };
        let breadth = length(breadth, &scope)?;
        let reach = length(&def.reach, &scope)?;
        self.branches.push(Branch {
            def,
            name: def.name.clone(),
            parent: None,
            edge: Edge::Near,
            mirrored: false,
            given: Arc::clone(none),
            prefix: None,
            items: Vec::new(),
            fold: FoldWay::Flat,
            angle: 0.0,
            raise: 0.0,
            allowance: 0.0,
            axis_depth: 0.0,
            across_flutes: false,
            flutes_near_far: !piece.flutes_left_right,
            breadth,
            reach,
            at: 0.0,
            beyond: [0.0; 4],
            relief: None,
        });
        self.positive(0)?;
        self.carry(0)
    }

    fn positive(&self, i: usize) -> Result<(), Diag> {
        let b = &self.branches[i];
        for (value, what) in [
            (b.breadth, "from left to right"),
            (b.reach, "from near to far"),
        ] {
            if !value.is_finite() || value.abs() > 1e6 {
                return Err(Diag::error(
                    "too-large",
                    format!("panel `{}` has no usable size {what}", b.name),
                )
                .at(b.def.place.clone()));
            }
            if value <= crate::units::SLACK_MM {
                return Err(Diag::error(
                    "no-panel-left",
                    format!(
                        "panel `{}` would measure {} {what}",
                        b.name,
                        Quantity::length(Length::mm(value))
                    ),
                )
                .at(b.def.place.clone())
                .help("ask a larger size, or change the parameter that takes it all"));
            }
        }
        Ok(())
    }

    /// Hangs everything that panel `i` carries.
    fn carry(&mut self, i: usize) -> Result<(), Diag> {
        let given = Arc::clone(&self.branches[i].given);
        let mirrored = self.branches[i].mirrored;
        let prefix = self.branches[i].prefix.clone();
        let first = self.branches.len();
        let def: &'a PanelDef = self.branches[i].def;
        self.collect(i, &def.items, mirrored, &given, prefix.as_deref())?;
        let last = self.branches.len();
        for c in first..last {
            let b = &self.branches[c];
            if b.fold == FoldWay::Flat && b.raise == 0.0 {
                continue;
            }
            let offset = b.raise + b.allowance;
            let e = b.edge.index();
            let slot = &mut self.branches[i].beyond[e];
            if *slot == 0.0 {
                *slot = offset;
            }
        }
        for c in first..last {
            let (edge, offset, place) = {
                let b = &self.branches[c];
                (b.edge, b.raise + b.allowance, b.def.place.clone())
            };
            if (self.branches[i].beyond[edge.index()] - offset).abs() > crate::units::SLACK_MM {
                return Err(Diag::error(
                    "uneven-edge",
                    format!(
                        "creases on the {} edge of `{}` would lie at {} and {} from it",
                        edge.word(),
                        self.branches[i].name,
                        Quantity::length(Length::mm(self.branches[i].beyond[edge.index()])),
                        Quantity::length(Length::mm(offset)),
                    ),
                )
                .at(place)
                .help("panels on one edge need the same fold, angle and raise"));
            }
        }
        for c in first..last {
            self.size(i, c)?;
            self.positive(c)?;
        }
        for c in first..last {
            self.carry(c)?;
        }
        Ok(())
    }

    fn collect(
        &mut self,
        parent: usize,
        items: &'a [Item],
        mirrored: bool,
        given: &Given,
        prefix: Option<&str>,
    ) -> Result<(), Diag> {
        for item in items {
            match item {
                Item::Panel(def) => self.hang(parent, def, mirrored, given, prefix)?,
                Item::Use(used) => self.put(parent, used, mirrored, given, prefix)?,
                other => self.branches[parent].items.push(Cut {
                    item: other,
                    mirrored,
                    given: Arc::clone(given),
                    prefix: prefix.map(str::to_owned),
                }),
            }
        }
        Ok(())
    }

    fn parent_scope<'s>(
        &'s self,
        parent: usize,
        edge: Option<Edge>,
        given: &'s Given,
    ) -> Scope<'s> {
        let p = &self.branches[parent];
        let along = edge.map(|e| match e {
            Edge::Near | Edge::Far => p.breadth,
            Edge::Left | Edge::Right => p.reach,
        });
        Scope {
            base: self.values,
            given,
            own: [
                ("edge", along),
                ("parent-breadth", Some(p.breadth)),
                ("parent-reach", Some(p.reach)),
            ],
        }
    }

    fn put(
        &mut self,
        parent: usize,
        used: &'a UseDef,
        mirrored: bool,
        given: &Given,
        prefix: Option<&str>,
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
            (part, given_values(self.style, part, used, &scope)?)
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
        let name = match (&used.prefix, prefix) {
            (Some(own), outer) => joined(outer.unwrap_or(""), own),
            (None, Some(outer)) => outer.to_owned(),
            (None, None) => self.branches[parent].name.clone(),
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

    fn hang(
        &mut self,
        parent: usize,
        def: &'a PanelDef,
        mirrored: bool,
        given: &Given,
        prefix: Option<&str>,
    ) -> Result<(), Diag> {
        let edge = def.on.unwrap_or(Edge::Far);
        let edge = if mirrored { edge.mirrored() } else { edge };
        if edge == Edge::Near && parent != 0 {
            return Err(Diag::error(
                "near-taken",
                "only the first panel of a piece can carry another on its near edge",
            )
            .at(def.place.clone())
            .help("the near edge is this parent's own hinge; use far, left or right"));
        }
        let scope = self.parent_scope(parent, Some(edge), given);
        if !holds(def.when.as_ref(), &scope)? {
            return Ok(());
        }
        let angle = match (&def.angle, def.fold) {
            (_, FoldWay::Flat) => 0.0,
            (Some(f), _) => quantity(f, &scope, Dim::ANGLE)?,
            (None, _) => std::f64::consts::FRAC_PI_2,
        };
        if def.fold != FoldWay::Flat && !(1e-6..=std::f64::consts::PI + 1e-9).contains(&angle) {
            return Err(Diag::error("bad-angle", format!("a fold of {} is not possible", Quantity::angle(Angle::rad(angle))))
                .at(def.angle.as_ref().map_or(&def.place, |f| &f.place).clone())
                .help("fold angles lie above 0 and up to 180deg; the side is said with fold=\"in\" or \"out\""));
        }
        let flutes_near_far = match edge {
            Edge::Near | Edge::Far => self.branches[parent].flutes_near_far,
            Edge::Left | Edge::Right => !self.branches[parent].flutes_near_far,
        };
        let axis_depth = self.material.axis_depth[usize::from(flutes_near_far)];
        let t = self.material.caliper.to_mm();
        let allowance = match (def.fold, &def.allow) {
            (FoldWay::Flat, _) => 0.0,
            (_, Some(f)) => length(f, &scope)?,
            (_, None) if angle > STEEPEST.to_rad() + 1e-9 => {
                return Err(Diag::error(
                    "steep-fold",
                    format!("a fold of {} needs its own allowance", Quantity::angle(Angle::rad(angle))),
                )
                .at(def.angle.as_ref().map_or(&def.place, |f| &f.place).clone())
                .help("state allow=\"...\", or make the turn with two creases and a spacer between them"));
            }
            (_, None) => axis_depth * t * (angle / 2.0).tan(),
        };
        let raise = def.raise.as_ref().map_or(Ok(0.0), |f| length(f, &scope))?;
        let name = joined(prefix.unwrap_or(""), &def.name);
        if self.branches.len() >= MOST_PANELS {
            return Err(Diag::error(
                "too-large",
                format!("a piece has more than {MOST_PANELS} panels"),
            )
            .at(def.place.clone()));
        }
        if self.branches.iter().any(|b| b.name == name) {
            return Err(
                Diag::error("given-twice", format!("there are two panels `{name}`"))
                    .at(def.place.clone())
                    .help("rename one, or give `use` another name with as=\"...\""),
            );
        }
        self.branches.push(Branch {
            def,
            name,
            parent: Some(parent),
            edge,
            mirrored,
            given: Arc::clone(given),
            prefix: prefix.map(str::to_owned),
            items: Vec::new(),
            fold: def.fold,
            angle,
            raise,
            allowance,
            axis_depth,
            across_flutes: flutes_near_far,
            flutes_near_far,
            breadth: 0.0,
            reach: 0.0,
            at: 0.0,
            beyond: [allowance, 0.0, 0.0, 0.0],
            relief: None,
        });
        Ok(())
    }

    /// Sizes panel `c` once all that hangs on its parent `i` is known.
    fn size(&mut self, i: usize, c: usize) -> Result<(), Diag> {
        let b = &self.branches[c];
        let def = b.def;
        let given = Arc::clone(&b.given);
        let scope = self.parent_scope(i, Some(b.edge), &given);
        let p = &self.branches[i];
        let (edge, before, after) = match b.edge {
            Edge::Near => (p.breadth, p.beyond[1], p.beyond[3]),
            Edge::Far => (p.breadth, p.beyond[3], p.beyond[1]),
            Edge::Left => (p.reach, p.beyond[0], p.beyond[2]),
            Edge::Right => (p.reach, p.beyond[2], p.beyond[0]),
        };
        let [mut left, mut right] = [&def.inset[0], &def.inset[1]];
        let mut along = def.along;
        let mut sign = 1.0;
        if b.mirrored {
            std::mem::swap(&mut left, &mut right);
            sign = -1.0;
            along = match along {
                Along::Left => Along::Right,
                Along::Right => Along::Left,
                other => other,
            };
        }
        let shift = sign * def.shift.as_ref().map_or(Ok(0.0), |f| length(f, &scope))?;
        let inset = |f: &Option<Formula>, beyond: f64| -> Result<f64, Diag> {
            f.as_ref()
                .map_or(Ok(0.0), |f| length(f, &scope).map(|v| v - beyond))
        };
        let (breadth, at) = match &def.breadth {
            Some(f) => {
                let breadth = length(f, &scope)?;
                let at = match along {
                    Along::Left => 0.0,
                    Along::Right => edge - breadth,
                    Along::Centre | Along::Whole => (edge - breadth) / 2.0,
                };
                (breadth, at)
            }
            None => {
                let (l, r) = (inset(left, before)?, inset(right, after)?);
                (edge - l - r, l)
            }
        };
        let reach = length(&def.reach, &scope)?;
        let reach = if def.from_crease {
            reach - b.allowance
        } else {
            reach
        };
        let b = &mut self.branches[c];
        b.breadth = breadth;
        b.at = at + shift;
        b.reach = reach;
        let own = self.own_scope(c);
        let relief = def.items.iter().find_map(|i| match i {
            Item::Relief(r) => Some(r),
            _ => None,
        });
        let relief = match relief {
            None | Some(Relief::None) => None,
            Some(Relief::Slit(d)) => Some((length(d, &own)?, None)),
            Some(Relief::Notch(d, w)) => Some((length(d, &own)?, Some(length(w, &own)?))),
        };
        self.branches[c].relief = relief;
        Ok(())
    }

    fn own_scope(&self, i: usize) -> Scope<'_> {
        own_scope(self.values, &self.branches[i], &self.branches[i].given)
    }
}

/// Two words of a panel's name; `as=""` gives a part no prefix.
pub(super) fn joined(prefix: &str, own: &str) -> String {
    if prefix.is_empty() {
        own.to_owned()
    } else {
        format!("{prefix} {own}")
    }
}

/// The scope of what is cut in panel `b`.
pub(super) fn own_scope<'s>(values: &'s Values, b: &'s Branch<'_>, given: &'s Given) -> Scope<'s> {
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

/// The parameters a formula depends on, straight or through derived and given values.
fn drivers_of(
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

fn given_values(
    style: &Style,
    part: &Part,
    used: &UseDef,
    scope: &Scope<'_>,
) -> Result<Vec<GivenValue>, Diag> {
    let mut out = Vec::with_capacity(part.takes.len());
    for name in &part.takes {
        match used.values.iter().find(|(k, _)| k == name) {
            Some((_, f)) => {
                let value = f.expr.eval(scope).map_err(|e| f.diag(&e))?;
                let mut drivers = Vec::new();
                drivers_of(style, scope.given, f, &mut drivers, 0);
                out.push(GivenValue {
                    name: name.clone(),
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
) -> impl Iterator<Item = (&'a [crate::style::Corner], &'a CornerCut, bool, &'a Given)> {
    b.items.iter().filter_map(|x| match x.item {
        Item::Corner(c, cut) => Some((c.as_slice(), cut, x.mirrored, &x.given)),
        _ => None,
    })
}

/// The outline path given for a branch, if any.
pub(super) fn outline_path<'a>(b: &'a Branch<'_>) -> Option<(&'a PathDef, bool, &'a Given)> {
    b.items.iter().find_map(|x| match x.item {
        Item::Outline(p) => Some((p, x.mirrored, &x.given)),
        _ => None,
    })
}
