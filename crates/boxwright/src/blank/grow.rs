//! Growing the fold tree of a piece: hanging panels, putting parts, finding every size.

use std::sync::Arc;

use super::parts::counts;
use super::tree::{
    Branch, Cut, Given, Material, STEEPEST, Scope, filled, holds, joined, length, own_scope,
    quantity,
};
use crate::diag::Diag;
use crate::geom::DVec2;
use crate::style::{
    Along, Edge, FoldWay, Formula, Item, PanelDef, PieceDef, Relief, Slant, Style, Values,
};
use crate::units::{Angle, Dim, Length, Quantity};

pub(super) const MOST_PANELS: usize = 2000;

pub(super) struct Grower<'a> {
    pub style: &'a Style,
    pub values: &'a Values,
    pub material: &'a Material,
    pub branches: Vec<Branch<'a>>,
    pub diags: Vec<Diag>,
    pub trail: Vec<&'a str>,
}

/// Grows the whole tree of a piece.
pub(super) fn grow<'a>(
    style: &'a Style,
    piece: &'a PieceDef,
    given: &Given<'a>,
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
    match g.root(piece, given) {
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
    fn root(&mut self, piece: &'a PieceDef, given: &Given<'a>) -> Result<(), Diag> {
        let def = &piece.root;
        let scope = Scope {
            base: self.values,
            given,
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
            name: filled(&def.name, given),
            parent: None,
            edge: Edge::Near,
            slant: None,
            mirrored: false,
            given: Arc::clone(given),
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
        self.collect(i, &def.items, mirrored, &given, prefix.as_ref())?;
        let last = self.branches.len();
        for c in first..last {
            let b = &self.branches[c];
            if b.slant.is_some() || (b.fold == FoldWay::Flat && b.raise == 0.0) {
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
            if self.branches[c].slant.is_some() {
                continue;
            }
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

    pub(super) fn collect(
        &mut self,
        parent: usize,
        items: &'a [Item],
        mirrored: bool,
        given: &Given<'a>,
        prefix: Option<&Arc<str>>,
    ) -> Result<(), Diag> {
        for item in items {
            match item {
                Item::Panel(def) => self.hang(parent, def, mirrored, given, prefix)?,
                Item::Use(used) => self.put(parent, used, mirrored, given, prefix)?,
                Item::Each(each) => {
                    let all = counts(
                        &each.count,
                        &each.to,
                        given,
                        &self.parent_scope(parent, None, given),
                    )?;
                    for given in all {
                        self.collect(parent, &each.items, mirrored, &given, prefix)?;
                    }
                }
                other => self.branches[parent].items.push(Cut {
                    item: other,
                    mirrored,
                    given: Arc::clone(given),
                    prefix: prefix.cloned(),
                }),
            }
        }
        Ok(())
    }

    pub(super) fn parent_scope<'s>(
        &'s self,
        parent: usize,
        edge: Option<Edge>,
        given: &'s Given<'a>,
    ) -> Scope<'s> {
        let p = &self.branches[parent];
        self.edge_scope(
            parent,
            edge.map(|e| match e {
                Edge::Near | Edge::Far => p.breadth,
                Edge::Left | Edge::Right => p.reach,
            }),
            given,
        )
    }

    fn edge_scope<'s>(
        &'s self,
        parent: usize,
        along: Option<f64>,
        given: &'s Given<'a>,
    ) -> Scope<'s> {
        let p = &self.branches[parent];
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

    fn hang(
        &mut self,
        parent: usize,
        def: &'a PanelDef,
        mirrored: bool,
        given: &Given<'a>,
        prefix: Option<&Arc<str>>,
    ) -> Result<(), Diag> {
        let edge = def.on.unwrap_or(Edge::Far);
        let edge = if mirrored { edge.mirrored() } else { edge };
        if edge == Edge::Near && parent != 0 && def.slant.is_none() {
            return Err(Diag::error(
                "near-taken",
                "only the first panel of a piece can carry another on its near edge",
            )
            .at(def.place.clone())
            .help("the near edge is this parent's own hinge; use far, left or right"));
        }
        let bare = self.parent_scope(parent, None, given);
        let slant = def
            .slant
            .as_ref()
            .map(|s| self.slant(parent, s, mirrored, &bare))
            .transpose()?;
        let scope = match slant {
            Some([from, to]) => self.edge_scope(parent, Some(from.distance(to)), given),
            None => self.parent_scope(parent, Some(edge), given),
        };
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
        let sideways = match slant {
            Some([from, to]) => (to.y - from.y).abs() > (to.x - from.x).abs(),
            None => matches!(edge, Edge::Left | Edge::Right),
        };
        let flutes_near_far = self.branches[parent].flutes_near_far != sideways;
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
        let name = joined(prefix.map_or("", |p| p), &filled(&def.name, given));
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
            slant,
            mirrored,
            given: Arc::clone(given),
            prefix: prefix.cloned(),
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

    /// The ends of a slanted line, in a mirror when its panel is.
    fn slant(
        &self,
        parent: usize,
        slant: &Slant,
        mirrored: bool,
        scope: &Scope<'_>,
    ) -> Result<[DVec2; 2], Diag> {
        let [x0, y0, x1, y1] = &slant.0;
        let from = DVec2::new(length(x0, scope)?, length(y0, scope)?);
        let to = DVec2::new(length(x1, scope)?, length(y1, scope)?);
        if from.distance(to) <= crate::units::SLACK_MM {
            return Err(
                Diag::error("no-panel-left", "a slanted line needs two different ends")
                    .at(x0.place.clone()),
            );
        }
        let flip = |p: DVec2| DVec2::new(self.branches[parent].breadth - p.x, p.y);
        Ok(if mirrored {
            [flip(to), flip(from)]
        } else {
            [from, to]
        })
    }

    /// Sizes panel `c` once all that hangs on its parent `i` is known.
    fn size(&mut self, i: usize, c: usize) -> Result<(), Diag> {
        let b = &self.branches[c];
        let def = b.def;
        let given = Arc::clone(&b.given);
        let scope = match b.slant {
            Some([from, to]) => self.edge_scope(i, Some(from.distance(to)), &given),
            None => self.parent_scope(i, Some(b.edge), &given),
        };
        let p = &self.branches[i];
        let (edge, before, after) = match (b.slant, b.edge) {
            (Some([from, to]), _) => (from.distance(to), 0.0, 0.0),
            (None, Edge::Near) => (p.breadth, p.beyond[1], p.beyond[3]),
            (None, Edge::Far) => (p.breadth, p.beyond[3], p.beyond[1]),
            (None, Edge::Left) => (p.reach, p.beyond[0], p.beyond[2]),
            (None, Edge::Right) => (p.reach, p.beyond[2], p.beyond[0]),
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
