//! The board at the creases, for a view in space: what the library stretches between two slabs,
//! cut at the mitre into one half for each panel.

use boxwright::blank::{Blank, FoldSide, STEEPEST, SoundPlan};
use boxwright::fold::{Angles, wedge};
use boxwright::geom::{DAffine3, DVec2, DVec3};

use crate::design::key;
use crate::solid::{across_flutes, rounded};
use crate::wire::{Bend, Surface};

/// Angles nearer than this are one shape.
const SAME: f64 = 1e-9;

/// The bends of a plan while poses are gathered: each shape is kept once.
pub struct Bends<'a> {
    plan: &'a SoundPlan,
    out: Vec<Bend>,
    /// Piece, panel and the angles that have a shape, for each pair of halves.
    hinges: Vec<(usize, usize, Vec<f64>)>,
}

impl<'a> Bends<'a> {
    /// The halves of every crease that has a mitre.
    pub fn new(plan: &'a SoundPlan) -> Self {
        let mut it = Self {
            plan,
            out: Vec::new(),
            hinges: Vec::new(),
        };
        for (p, blank) in plan.blanks().iter().enumerate() {
            for i in 0..blank.panels.len() {
                if let Some(pair) = halves(blank, i) {
                    it.out.extend(pair);
                    it.hinges.push((p, i, Vec::new()));
                }
            }
        }
        it
    }

    /// Which shape each pair of halves has at these angles.
    pub fn at(&mut self, angles: &Angles) -> Vec<u32> {
        let blanks = self.plan.blanks();
        let mut out = Vec::with_capacity(self.hinges.len());
        for (h, (piece, panel, known)) in self.hinges.iter_mut().enumerate() {
            let angle = angles.hinge[*piece][*panel];
            let at = known.iter().position(|a| (a - angle).abs() < SAME);
            out.push(index(at.unwrap_or(known.len())));
            if at.is_none() {
                known.push(angle);
                let pair = &mut self.out[2 * h..2 * h + 2];
                let shapes = shapes(&blanks[*piece], *panel, angle);
                for (bend, shape) in pair.iter_mut().zip(shapes) {
                    bend.shapes.push(numbers(shape));
                }
            }
        }
        out
    }

    /// The halves, two for each crease.
    pub fn done(self) -> Vec<Bend> {
        self.out
    }
}

/// The part of a panel's outline that is a bend: no line is drawn down the board there.
pub struct Mouth {
    from: DVec2,
    to: DVec2,
    back: f64,
}

impl Mouth {
    /// The mouths of a panel in its own coordinates.
    pub fn of(blank: &Blank, panel: usize) -> Vec<Self> {
        let home = blank.panels[panel].place.inverse();
        let here = |c: &&boxwright::blank::Crease| c.child == panel || c.parent == panel;
        let bends = |c: &&boxwright::blank::Crease| c.angle.to_rad() <= STEEPEST.to_rad() + SAME;
        let mouth = |c: &boxwright::blank::Crease| Self {
            from: home.point(c.from),
            to: home.point(c.to),
            back: c.allowance.to_mm(),
        };
        let creases = blank.creases.iter().filter(here).filter(bends);
        creases.map(mouth).collect()
    }

    /// Whether a side of the rigid outline lies along it.
    pub fn holds(&self, a: DVec2, b: DVec2) -> bool {
        const NEAR: f64 = 1e-3;
        let long = self.to - self.from;
        let along = long.normalize_or_zero();
        let off = |p: DVec2| (along.perp_dot(p - self.from).abs() - self.back).abs() < NEAR;
        let middle = along.dot((a + b) / 2.0 - self.from);
        off(a) && off(b) && middle > 0.0 && middle < long.length()
    }
}

/// The library's prisms of one half, each corner in the panel's own coordinates, as the ring of
/// their first end: at the slab on the inner side of the fold, at the slab on its outer side, the
/// ridge, and the inner side at the mitre.
fn shapes(blank: &Blank, panel: usize, angle: f64) -> [[DVec3; 4]; 2] {
    let still = DAffine3::IDENTITY;
    let all = wedge(blank, panel, (angle, 0.0), still, still);
    // One or two prisms a half; the second fills what is not yet crushed.
    let each = all.len() / 2;
    let half = |n: usize| {
        let Some(first) = all.get(n * each).map(|w| w.0) else {
            return bare(blank, panel, n);
        };
        let inner = if each > 1 {
            all.get(n * each + 1).map_or(first[0], |w| w.0[2])
        } else {
            first[0]
        };
        [first[0], first[1], first[2], inner]
    };
    [half(0), half(1)]
}

/// A half without any board: its axis lies in the face that is not stretched, and it is flat.
fn bare(blank: &Blank, panel: usize, half: usize) -> [DVec3; 4] {
    let owners = [Some(panel), blank.panels[panel].parent];
    let (Some(owner), Some(c)) = (owners[half], blank.panels[panel].crease) else {
        return [DVec3::ZERO; 4];
    };
    let crease = &blank.creases[c];
    let end = blank.panels[owner].place.inverse().point(crease.from);
    let (inner, outer) = match crease.side {
        FoldSide::Inward => (0.0, -blank.caliper.to_mm()),
        FoldSide::Outward => (-blank.caliper.to_mm(), 0.0),
    };
    [inner, outer, outer, inner].map(|z| end.extend(z))
}

fn halves(blank: &Blank, panel: usize) -> Option<[Bend; 2]> {
    let crease = &blank.creases[blank.panels[panel].crease?];
    if crease.angle.to_rad() > STEEPEST.to_rad() + SAME {
        return None;
    }
    let (inner, outer) = match crease.side {
        FoldSide::Inward => (Surface::Inside, Surface::Outside),
        FoldSide::Outward => (Surface::Outside, Surface::Inside),
    };
    Some([panel, crease.parent].map(|owner| {
        let home = blank.panels[owner].place.inverse();
        let along = home.point(crease.to) - home.point(crease.from);
        Bend {
            panel: key(&blank.piece, owner),
            along: along.extend(0.0).to_array().map(rounded),
            inner,
            outer,
            fluted: across_flutes(along.perp(), home.vector(blank.flutes)),
            shapes: Vec::new(),
        }
    }))
}

fn numbers(ring: [DVec3; 4]) -> Vec<f64> {
    ring.iter()
        .flat_map(|p| p.to_array().map(rounded))
        .collect()
}

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}
