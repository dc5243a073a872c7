//! The finished case laid out for measuring, shared by the checks that read it.

use std::ops::Range;

use super::solid::{Body, Solid};
use crate::blank::{FlatPanel, PanelRef};
use crate::board::Limits;
use crate::brief::Brief;
use crate::fold::{Folder, Slab};
use crate::geom::DVec3;
use crate::units::{Length, trimmed};

/// Solids of every panel, per piece, in own coordinates: the same in every pose.
pub(super) type Solids = Vec<Vec<Vec<Solid>>>;

pub(super) fn solids(folder: &Folder<'_>) -> Solids {
    folder
        .shapes
        .iter()
        .map(|panels| panels.iter().map(|s| Solid::of_shape(s)).collect())
        .collect()
}

/// One pose with everything a check needs to read.
pub(super) struct Scene<'a> {
    pub brief: &'a Brief,
    pub folder: &'a Folder<'a>,
    pub bodies: Vec<Body<'a>>,
}

impl<'a> Scene<'a> {
    pub fn new(
        brief: &'a Brief,
        folder: &'a Folder<'a>,
        slabs: &'a [Slab],
        solids: &'a Solids,
    ) -> Self {
        let bodies = slabs
            .iter()
            .map(|s| Body::new(s, &solids[s.piece][s.panel]))
            .collect();
        Self {
            brief,
            folder,
            bodies,
        }
    }
    pub fn caliper(&self, body: &Body<'_>) -> Length {
        self.folder.plan.pieces[body.slab.piece].caliper
    }
    /// The limits of the board a panel is cut from.
    pub fn limits(&self, body: &Body<'_>) -> &Limits {
        &self
            .brief
            .board_of(self.folder.plan, body.slab.piece)
            .limits
    }
    /// A limit for two panels: that of the board which takes less.
    pub fn limit(&self, a: &Body<'_>, b: &Body<'_>, of: impl Fn(&Limits) -> Length) -> Length {
        of(self.limits(a)).min(of(self.limits(b)))
    }
    /// The bodies of these pieces, with their indexes.
    pub fn of(&self, pieces: Range<usize>) -> impl Iterator<Item = (usize, &Body<'a>)> {
        self.bodies
            .iter()
            .enumerate()
            .filter(move |(_, b)| pieces.contains(&b.slab.piece))
    }
    pub fn panel(&self, body: &Body<'_>) -> &FlatPanel {
        &self.folder.plan.pieces[body.slab.piece].panels[body.slab.panel]
    }
    pub fn body(&self, r: PanelRef) -> Option<&Body<'a>> {
        self.bodies
            .iter()
            .find(|b| b.slab.piece == r.piece && b.slab.panel == r.panel)
    }
    /// Whether one of the two hangs on the other.
    pub fn neighbours(&self, a: &Body<'_>, b: &Body<'_>) -> bool {
        a.slab.piece == b.slab.piece
            && (self.panel(a).parent == Some(b.slab.panel)
                || self.panel(b).parent == Some(a.slab.panel))
    }
    pub fn mm(&self, v: f64) -> String {
        format!("{} mm", trimmed(v, 2))
    }
    /// What would move a panel out of the way along `axis` by `amount` mm: the parameters that
    /// drive its raise, its inset or its reach, whichever lies along the axis.
    pub fn cure(&self, body: &Body<'_>, axis: DVec3, amount: f64) -> Option<String> {
        let (names, verb) = self.movers(body, axis);
        self.advice(body, names.iter(), verb, amount)
    }

    /// What would part two panels along `axis`: rather a parameter that drives only one of them,
    /// since one that drives both the same way moves them together.
    pub fn cure_apart(
        &self,
        a: &Body<'_>,
        b: &Body<'_>,
        axis: DVec3,
        amount: f64,
    ) -> Option<String> {
        let [of_a, of_b] = [a, b].map(|x| self.movers(x, axis));
        for (x, (own, verb), (others, other_verb)) in [(a, of_a, of_b), (b, of_b, of_a)] {
            let alone = own
                .iter()
                .filter(|n| verb != other_verb || !others.contains(n));
            if let Some(cure) = self.advice(x, alone, verb, amount) {
                return Some(cure);
            }
        }
        self.cure(a, axis, amount)
            .or_else(|| self.cure(b, axis, amount))
    }

    /// The parameters that move a panel along `axis`, and which way to turn them.
    fn movers<'s>(&'s self, body: &Body<'_>, axis: DVec3) -> (&'s [String], &'static str) {
        let local = body.slab.frame.matrix3.transpose() * axis;
        let drivers = &self.panel(body).drivers;
        if local.z.abs() > 0.7 {
            (&drivers.raise, "increase")
        } else if local.x.abs() > 0.7 {
            if drivers.inset.is_empty() {
                (&drivers.breadth, "reduce")
            } else {
                (&drivers.inset, "increase")
            }
        } else {
            (&drivers.reach, "reduce")
        }
    }

    fn advice<'s>(
        &self,
        body: &Body<'_>,
        names: impl Iterator<Item = &'s String>,
        verb: &str,
        amount: f64,
    ) -> Option<String> {
        let list: Vec<String> = names.map(|n| format!("`{n}`")).collect();
        (!list.is_empty()).then(|| {
            format!(
                "{verb} {} so that `{}` moves by {}",
                list.join(" or "),
                body.slab.name,
                self.mm(amount)
            )
        })
    }
}
