//! The largest clear block that stands on the root panel.
//!
//! Board is taken as upright blocks in the root's own coordinates: exact for panels that stand
//! square, in narrow strips for those that do not. Among them the largest empty block is found by
//! parting: a block that board stands in is replaced by the six that lie beside the board, and
//! those smaller than the best one found are dropped.

use crate::check::solid::{Block, Body, Solid};
use crate::fold::Slab;
use crate::geom::{DVec2, DVec3, Rect};
use crate::units::SLACK_MM;

/// Blocks looked at before the best one so far is taken.
const MOST_LOOKS: usize = 5_000;
/// Blocks waiting to be looked at.
const MOST_OPEN: usize = 10_000;
/// So many calipers of board may lie on the root under the room: tongues, locks, a second floor.
const LOW: f64 = 4.0;
/// Panels that stand askew are taken in this many strips.
const STRIPS: u32 = 24;

/// Board in the way, and which slab it belongs to.
struct Board {
    block: Block,
    slab: usize,
}

/// The clear block, in the coordinates of the slabs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Clear {
    pub min: DVec3,
    pub max: DVec3,
    /// What stops each side: `[axis][0 low, 1 high]`.
    pub stops: [[Option<usize>; 2]; 3],
}

/// The largest clear block on slab `root`, whose frame only shifts and whose inside face looks up
/// along z. Slabs in `passed` do not count. `None` when nothing rises beside the root.
pub(super) fn clear(slabs: &[Slab], root: usize, passed: &[usize]) -> Option<Clear> {
    let floor = slabs.get(root)?;
    let base = floor.frame.transform_point3(DVec3::ZERO);
    let ring = floor.shape.rings.first()?;
    let bounds = ring
        .iter()
        .fold(Rect::EMPTY, |r, p| r.with(*p + base.truncate()));
    let boards = boards(slabs, root, passed);
    let top = boards.iter().map(|b| b.block.max.z).fold(base.z, f64::max);
    if top <= base.z + 2.0 * floor.shape.caliper {
        return None;
    }
    let whole = Block {
        min: bounds.min.extend(base.z),
        max: bounds.max.extend(top),
    };
    let mut found = largest(&boards, whole, base.z + LOW * floor.shape.caliper)?;
    // Where nothing stops it, it ends with the lowest of the walls round it.
    let stops = stops(&boards, &found, root, base.z);
    let block = found;
    for axis in 0..3 {
        for end in [0, 1].into_iter().filter(|e| stops[axis][*e].is_none()) {
            let walls = (0..3).filter(|k| *k != axis).flat_map(|k| [(k, 0), (k, 1)]);
            for (k, side) in walls.filter(|(k, side)| stops[*k][*side].is_some()) {
                // A side ends with the highest of what stands there, a tab behind a wall with the wall.
                let there = boards.iter().map(|b| &b.block).filter(|b| {
                    if side == 1 {
                        b.min[k] >= block.max[k] - 1e-5
                    } else {
                        b.max[k] <= block.min[k] + 1e-5
                    }
                });
                if end == 1 {
                    let rim = there.map(|b| b.max[axis]).fold(f64::NEG_INFINITY, f64::max);
                    if rim.is_finite() {
                        found.max[axis] = found.max[axis].min(rim);
                    }
                } else {
                    let rim = there.map(|b| b.min[axis]).fold(f64::INFINITY, f64::min);
                    if rim.is_finite() {
                        found.min[axis] = found.min[axis].max(rim);
                    }
                }
            }
        }
    }
    let size = found.max - found.min;
    size.cmpgt(DVec3::splat(SLACK_MM)).all().then_some(Clear {
        min: found.min,
        max: found.max,
        stops,
    })
}

fn boards(slabs: &[Slab], root: usize, passed: &[usize]) -> Vec<Board> {
    let mut out = Vec::new();
    for (i, slab) in slabs.iter().enumerate() {
        if i == root || passed.contains(&i) {
            continue;
        }
        let m = slab.frame.matrix3;
        let upright = [m.x_axis, m.y_axis]
            .iter()
            .all(|v| v.abs().max_element() > 1.0 - 1e-9);
        if upright {
            let solids = Solid::of_shape(&slab.shape);
            let body = Body::new(slab, &solids);
            out.extend(body.blocks().map(|(_, _, b)| Board { block: *b, slab: i }));
        } else {
            out.extend(strips(slab).map(|block| Board { block, slab: i }));
        }
    }
    out
}

/// A panel that stands askew, cut across its reach into strips.
fn strips(slab: &Slab) -> impl Iterator<Item = Block> + '_ {
    let t = slab.shape.caliper;
    slab.shape.pieces.iter().flat_map(move |hull| {
        let r = hull.iter().fold(Rect::EMPTY, |r, p| r.with(*p));
        let high = r.size().y / f64::from(STRIPS);
        (0..STRIPS).filter_map(move |k| {
            let lo = r.min.y + high * f64::from(k);
            let part = clipped(&clipped(hull, lo, 1.0), lo + high, -1.0);
            let points = part
                .iter()
                .flat_map(|p| [0.0, -t].map(|z| slab.frame.transform_point3(p.extend(z))));
            let none = Block {
                min: DVec3::INFINITY,
                max: DVec3::NEG_INFINITY,
            };
            let block = points.fold(none, |b, p| Block {
                min: b.min.min(p),
                max: b.max.max(p),
            });
            block.min.is_finite().then_some(block)
        })
    })
}

/// The part of a polygon above (`sign` 1) or below (-1) the line at y = `at`.
fn clipped(hull: &[DVec2], at: f64, sign: f64) -> Vec<DVec2> {
    let mut out = Vec::with_capacity(hull.len() + 2);
    for i in 0..hull.len() {
        let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
        let (u, v) = ((a.y - at) * sign, (b.y - at) * sign);
        if u >= 0.0 {
            out.push(a);
        }
        if (u > 0.0) != (v > 0.0) && u != v {
            out.push(a.lerp(b, u / (u - v)));
        }
    }
    out
}

fn volume(b: &Block) -> f64 {
    let s = (b.max - b.min).max(DVec3::ZERO);
    s.x * s.y * s.z
}

fn largest(boards: &[Board], whole: Block, low: f64) -> Option<Block> {
    // The largest part first, so that a good one is known early.
    let mut open = vec![whole];
    let mut best: Option<Block> = None;
    for _ in 0..MOST_LOOKS {
        let Some(k) =
            (0..open.len()).max_by(|a, b| volume(&open[*a]).total_cmp(&volume(&open[*b])))
        else {
            break;
        };
        let block = open.swap_remove(k);
        let least = best.as_ref().map_or(SLACK_MM, volume);
        if volume(&block) <= least {
            break;
        }
        let in_it = boards.iter().filter(|b| b.block.near(&block, -SLACK_MM));
        // The board that leaves least on any one side narrows the search most.
        let hardest = in_it
            .map(|b| parts(&block, &b.block, low))
            .min_by(|a, b| most(a).total_cmp(&most(b)));
        match hardest {
            None => best = Some(block),
            Some(parts) => {
                for p in parts {
                    if volume(&p) > least
                        && open.len() < MOST_OPEN
                        && !open.iter().any(|o| holds(o, &p))
                    {
                        open.push(p);
                    }
                }
            }
        }
    }
    best
}

fn most(parts: &[Block]) -> f64 {
    parts.iter().map(volume).fold(0.0, f64::max)
}

fn holds(a: &Block, b: &Block) -> bool {
    a.min.cmple(b.min).all() && a.max.cmpge(b.max).all()
}

/// What is left of a block beside a board. The room stands on the root's face, or on what lies
/// there no higher than `low`.
fn parts(block: &Block, board: &Block, low: f64) -> Vec<Block> {
    let mut out = Vec::with_capacity(6);
    for k in 0..3 {
        if board.max[k] < block.max[k] && (k < 2 || board.max.z <= low) {
            let mut b = *block;
            b.min[k] = board.max[k];
            out.push(b);
        }
        if board.min[k] > block.min[k] {
            let mut b = *block;
            b.max[k] = board.min[k];
            out.push(b);
        }
    }
    out
}

fn stops(boards: &[Board], found: &Block, root: usize, base: f64) -> [[Option<usize>; 2]; 3] {
    let touching = |axis: usize, end: usize| {
        let beside = |b: &Block| {
            (0..3).all(|k| {
                k == axis
                    || (b.min[k] < found.max[k] - SLACK_MM && b.max[k] > found.min[k] + SLACK_MM)
            })
        };
        let gap = |b: &Block| match end {
            0 => b.max[axis] - found.min[axis],
            _ => b.min[axis] - found.max[axis],
        };
        let mut there = boards.iter();
        there
            .find(|b| gap(&b.block).abs() <= 10.0 * SLACK_MM && beside(&b.block))
            .map(|b| b.slab)
    };
    let mut out = [0, 1, 2].map(|axis| [touching(axis, 0), touching(axis, 1)]);
    if (found.min.z - base).abs() <= 10.0 * SLACK_MM {
        out[2][0] = Some(root);
    }
    out
}
