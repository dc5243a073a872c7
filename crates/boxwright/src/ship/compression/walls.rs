//! Which walls of the folded case carry, and how their flutes stand.

use serde::Serialize;

use crate::fold::{Folder, Slab, direction};
use crate::geom::{DVec2, DVec3};
use crate::ship::outside::bounds;
use crate::units::Length;

/// Share of its edge crush that a wall counts with when its flutes lie down.
pub const LYING_SHARE: f64 = 0.5;
/// Where [`LYING_SHARE`] comes from.
pub const LYING_SHARE_FROM: &str = "default: no source; crush a case of your own board and set it";

/// A wall reaches from bottom to top when it covers this share of the asked depth.
const WHOLE_DEPTH: f64 = 0.9;
/// A panel stands when its face is this upright: the cosine to the horizontal.
const UPRIGHT: f64 = 0.999;

/// One of the four upright sides of the finished case.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Side {
    /// `true` for a side along the length, else along the width.
    pub along_length: bool,
    /// Its length through the middle of the wall.
    pub length: Length,
    /// Share of it with a wall from bottom to top whose flutes stand.
    pub standing: f64,
    /// Share of it with such a wall, but only with flutes that lie.
    pub lying: f64,
    /// The most walls one behind another; only one is reckoned with.
    pub layers: usize,
}

impl Side {
    /// Share of the board's edge crush that it counts with.
    #[must_use]
    pub fn carries(&self, lying_share: f64) -> f64 {
        self.standing + self.lying * lying_share
    }
    /// Share of it where no wall reaches from bottom to top.
    #[must_use]
    pub fn open(&self) -> f64 {
        (1.0 - self.standing - self.lying).max(0.0)
    }
}

/// The four sides of the finished case: both along the length, then both along the width. Only the
/// case's own pieces count, not what is put into it.
#[must_use]
pub fn sides(folder: &Folder<'_>) -> Vec<Side> {
    let block = bounds(folder);
    let t = folder.plan.material.caliper.to_mm();
    let walls = walls(folder);
    let middle = (block.least + block.most) / 2.0;
    // Per side: axis it runs along, axis it faces, which end.
    [(0, 1, false), (0, 1, true), (1, 0, false), (1, 0, true)]
        .into_iter()
        .map(|(along, faces, far)| {
            let own = walls
                .iter()
                .filter(|w| w.faces == faces && (w.middle[faces] > middle[faces]) == far);
            let (mut standing, mut lying) = (Vec::new(), Vec::new());
            for w in own {
                let into = if w.stands { &mut standing } else { &mut lying };
                into.push((w.least[along], w.most[along]));
            }
            let whole = (block.most[along] - block.least[along] - t).max(t);
            let ends = (block.least[along] + t / 2.0, block.most[along] - t / 2.0);
            let upright = covered(&standing, t, ends) / whole;
            let all: Vec<_> = standing.iter().chain(&lying).copied().collect();
            Side {
                along_length: along == 0,
                length: Length::mm(whole),
                standing: upright,
                lying: (covered(&all, t, ends) / whole - upright).max(0.0),
                layers: deepest(&all),
            }
        })
        .collect()
}

struct Wall {
    /// 0 when it faces along the length, 1 along the width.
    faces: usize,
    stands: bool,
    least: DVec3,
    most: DVec3,
    middle: DVec3,
}

/// Upright panels of the case that reach from bottom to top.
fn walls(folder: &Folder<'_>) -> Vec<Wall> {
    let depth = folder.room.max.z;
    let own = folder.plan.own();
    let slabs = folder.slabs(folder.last());
    let case = slabs.iter().filter(|s| own.contains(&s.piece));
    case.filter_map(|s| wall(s, depth)).collect()
}

fn wall(slab: &Slab, depth: f64) -> Option<Wall> {
    let normal = slab.frame.matrix3 * DVec3::Z;
    let faces = [normal.x, normal.y]
        .iter()
        .position(|n| n.abs() >= UPRIGHT)?;
    let t = slab.shape.caliper;
    let (mut least, mut most) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    for q in slab.shape.rings.first()? {
        for z in [0.0, -t] {
            let p = slab.frame.transform_point3(q.extend(z));
            least = least.min(p);
            most = most.max(p);
        }
    }
    let covers = most.z.min(depth) - least.z.max(0.0);
    let flutes = direction(&slab.frame, slab.shape.flutes);
    (covers >= depth * WHOLE_DEPTH).then(|| Wall {
        faces,
        stands: flutes.z.abs() > std::f64::consts::FRAC_1_SQRT_2,
        least,
        most,
        middle: (least + most) / 2.0,
    })
}

/// Length that spans cover between two ends. A wall ends at the inside of the corner, a caliper or two
/// short of the next wall's middle; gaps of up to two calipers count as covered.
fn covered(spans: &[(f64, f64)], caliper: f64, (from, to): (f64, f64)) -> f64 {
    let mut spans = spans.to_vec();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut sum, mut at) = (0.0, from);
    for (start, end) in spans {
        let start = if start - at <= 2.0 * caliper {
            at
        } else {
            start
        };
        let end = if to - end <= 2.0 * caliper { to } else { end };
        if end > at {
            sum += end - start.max(at);
            at = end;
        }
    }
    sum.max(0.0)
}

/// The most spans that lie over one place.
fn deepest(spans: &[(f64, f64)]) -> usize {
    let over = |x: f64| spans.iter().filter(|(a, b)| *a <= x && x < *b).count();
    spans.iter().map(|(a, _)| over(*a)).max().unwrap_or(0)
}

/// Whether a wall of the case has a cut-out.
pub(super) fn pierced(folder: &Folder<'_>) -> bool {
    let own = folder.plan.own();
    let slabs = folder.slabs(folder.last());
    slabs.iter().any(|s| {
        let upright = (s.frame.matrix3 * DVec3::Z).z.abs() < 0.1;
        own.contains(&s.piece) && upright && s.shape.rings.len() > 1 && !tiny(&s.shape.rings[1..])
    })
}

/// Whether all cut-outs are small: slots for tongues, cuts of a knife's width.
fn tiny(holes: &[Vec<DVec2>]) -> bool {
    const SMALL_MM2: f64 = 100.0;
    holes.iter().all(|ring| {
        let twice: f64 = ring
            .iter()
            .zip(ring.iter().cycle().skip(1))
            .map(|(a, b)| a.perp_dot(*b))
            .sum();
        twice.abs() / 2.0 < SMALL_MM2
    })
}
