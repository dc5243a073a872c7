//! Which panels stand in the room as the lap of a glued corner does.

use crate::blank::{Blank, FoldSide};
use crate::fold::Slab;
use crate::geom::{DVec2, DVec3, Rect};

/// A lap lies on the wall it is glued to; a tongue has play and stands off by more, in mm.
const GLUED: f64 = 0.3;

/// The last panels of a row folded once round that come to lie on the inside of another panel.
pub(super) fn laps(blank: &Blank, slabs: &[Slab]) -> Vec<usize> {
    let leaf = |i: usize| blank.panels.iter().all(|p| p.parent != Some(i));
    (1..slabs.len())
        .filter(|i| leaf(*i))
        .filter(|i| {
            (0..slabs.len())
                .any(|j| j != *i && round(blank, *i, j) && lies_on(&slabs[*i], &slabs[j]))
        })
        .collect()
}

fn way_up(blank: &Blank, mut i: usize) -> Vec<usize> {
    let mut way = vec![i];
    while let Some(p) = blank.panels[i].parent {
        way.push(p);
        i = p;
    }
    way
}

/// Whether the creases from one panel to the other are all parallel and make a whole turn.
fn round(blank: &Blank, i: usize, j: usize) -> bool {
    let (a, b) = (way_up(blank, i), way_up(blank, j));
    let mut turn = 0.0;
    let mut along: Option<DVec2> = None;
    for k in a
        .iter()
        .filter(|k| !b.contains(k))
        .chain(b.iter().filter(|k| !a.contains(k)))
    {
        let Some(c) = blank.panels[*k].crease.map(|c| &blank.creases[c]) else {
            return false;
        };
        let d = (c.to - c.from).normalize_or(DVec2::X);
        if along.get_or_insert(d).perp_dot(d).abs() > 1e-3 {
            return false;
        }
        turn += match c.side {
            FoldSide::Inward => c.angle.to_deg(),
            FoldSide::Outward => -c.angle.to_deg(),
        };
    }
    (turn.abs() - 360.0).abs() < 1.0
}

fn lies_on(lap: &Slab, wall: &Slab) -> bool {
    let back = wall.frame.inverse() * lap.frame;
    let t = lap.shape.caliper;
    if back.matrix3.z_axis.dot(DVec3::Z) < 0.999 {
        return false;
    }
    let bounds = |ring: &mut dyn Iterator<Item = DVec2>| ring.fold(Rect::EMPTY, Rect::with);
    let own = bounds(
        &mut lap
            .shape
            .rings
            .iter()
            .flatten()
            .map(|p| back.transform_point3(p.extend(-t)).truncate()),
    );
    let theirs = bounds(&mut wall.shape.rings.iter().flatten().copied());
    let over = own.max.min(theirs.max) - own.min.max(theirs.min);
    let gap = back.translation.z - t;
    over.min_element() > t && (-0.75 * t..=GLUED).contains(&gap)
}
