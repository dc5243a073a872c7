//! The densest lattice of the plane that the search finds.

use super::Laid;
use super::barred::{Along, Barred, Stretches, join, settled};
use super::compound::{Cell, Compound, Grid};
use super::count::reduced;
use super::kit::Kit;
use super::simple::simpler;
use crate::sheet::shape::{Shape, Spot, Turn};

/// A shape, or a pair of it, repeated over the whole plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lattice {
    /// The first part.
    pub first: Laid,
    /// The second part of a pair.
    pub pair: Option<Laid>,
    /// One step of the lattice.
    pub u: Spot,
    /// The other.
    pub v: Spot,
    /// Share of the plane that is covered.
    pub density: f64,
}

/// Lines along which second parts of pairs are looked for, for each direction.
const LINES: i64 = 12;

/// Cells that are looked at more closely.
const CLOSER: usize = 6;

/// Corners left of a shape for the first look.
pub(super) const COARSE: usize = 20;

/// The densest lattice found of a shape that may take these turns: of single parts, or of pairs. It
/// ends by itself, and sooner when `stop` says so. `None` for a shape without area, out of reach, or
/// when stopped before the first.
#[must_use]
pub fn densest(shape: &Shape, turns: &[Turn], stop: &mut dyn FnMut() -> bool) -> Option<Lattice> {
    let coarse = simpler(shape, COARSE, f64::INFINITY);
    let kit = Kit::new(shape, &coarse, turns)?;
    let mut best: Vec<(i64, Grid)> = Vec::new();
    let single = Cell {
        kind: 0,
        pair: None,
    };
    consider(&kit, single, &mut best);
    for b in 1..kit.kinds.len() {
        let barred = kit.barred(0, b);
        let mut places = barred.corners.clone();
        places.extend(sides(barred, LINES));
        for w in places {
            if stop() {
                return best.first().map(|b| plain(&kit, &b.1));
            }
            if let Some(w) = settled(w, |p| barred.clear(p)) {
                let pair = Some((b, w));
                consider(&kit, Cell { kind: 0, pair }, &mut best);
            }
        }
    }
    // What was found with the simpler shape holds for the shape itself.
    let exact = Kit::new(shape, shape, turns)?;
    if !exact.handy() {
        return best.first().map(|b| plain(&kit, &b.1));
    }
    let moved = best.iter().filter_map(|(_, g)| carried(&kit, &exact, g));
    let moved: Vec<Grid> = moved.collect();
    let best = moved.iter().map(|g| closer(&exact, *g, stop));
    best.min_by_key(per_pair).map(|g| plain(&exact, &g))
}

/// What two parts take.
fn per_pair(grid: &Grid) -> i64 {
    grid.area() * 2 / grid.cell.count()
}

fn consider(kit: &Kit, cell: Cell, best: &mut Vec<(i64, Grid)>) {
    if let Some(grid) = tightest(kit, cell, best.first().map(|b| b.0)) {
        best.push((per_pair(&grid), grid));
        best.sort_by_key(|b| b.0);
        best.truncate(CLOSER);
    }
}

/// The same lattice in the terms of another kit of the same turns.
fn carried(from: &Kit, to: &Kit, grid: &Grid) -> Option<Grid> {
    // A kind may have been dropped there as alike, or the boxes differ.
    let kind = |k: usize| {
        let turn = from.kinds[k].turn;
        to.kinds.iter().position(|l| l.turn == turn)
    };
    let lead = |kit: &Kit, k: usize| kit.kinds[k].lead;
    let a = kind(grid.cell.kind)?;
    let pair = match grid.cell.pair {
        None => None,
        Some((b, w)) => {
            let c = kind(b)?;
            let w = w + lead(from, b) - lead(from, grid.cell.kind) - lead(to, c) + lead(to, a);
            Some((c, w))
        }
    };
    Some(Grid {
        cell: Cell { kind: a, pair },
        ..*grid
    })
}

/// Moves the second part of a pair along the side it touches, and the first step along the side of
/// what is forbidden, by ever smaller amounts, as long as the lattice gets denser.
fn closer(kit: &Kit, start: Grid, stop: &mut dyn FnMut() -> bool) -> Grid {
    let mut best = start;
    let size = kit.kinds[start.cell.kind].size;
    let mut step = size.x.max(size.y) / LINES;
    while step > 0 {
        let before = best;
        let mut cells = vec![before.cell];
        if let (kind, Some((b, w))) = (before.cell.kind, before.cell.pair) {
            let barred = kit.barred(kind, b);
            let section = |along, c, into: &mut Stretches| barred.section(along, c, 0, into);
            let around = around(w, step, section);
            cells.extend(around.map(|w| Cell {
                kind,
                pair: Some((b, w)),
            }));
        }
        for cell in cells {
            let compound = Compound::new(kit, cell);
            let section = |along, c, into: &mut Stretches| compound.section(along, c, 0, into);
            for u in around(before.u, step, section).chain(around(before.u, 0, section)) {
                if stop() {
                    return best;
                }
                if !compound.repeats(u) {
                    continue;
                }
                compound.second(u, Some(before.v), &mut |grid| {
                    if per_pair(&grid) < per_pair(&best) {
                        best = grid;
                    }
                });
            }
        }
        if per_pair(&best) == per_pair(&before) {
            step /= 2;
        }
    }
    best
}

/// The places nearest to `p` on the side of what bars level and upright lines `step` to either side
/// of it.
fn around(
    p: Spot,
    step: i64,
    section: impl Fn(Along, i64, &mut Stretches),
) -> impl Iterator<Item = Spot> {
    let mut out = Vec::new();
    for along in Along::BOTH {
        for by in [step, -step] {
            let o = along.own(p);
            let mut stretches = Vec::new();
            section(along, o.x + by, &mut stretches);
            join(&mut stretches);
            let ends = stretches.iter().flat_map(|(low, high)| [*low, *high]);
            if let Some(y) = ends.min_by_key(|y| (y - o.y).abs()) {
                out.push(along.own(Spot::new(o.x + by, y)));
            }
        }
    }
    out.dedup();
    out.into_iter()
}

/// Places on the sides of what is barred, on evenly spaced lines.
pub(super) fn sides(barred: &Barred, lines: i64) -> Vec<Spot> {
    let mut out = Vec::new();
    for along in Along::BOTH {
        let (min, max) = (along.own(barred.bounds.min), along.own(barred.bounds.max));
        for i in 0..lines {
            let c = min.x + (max.x - min.x) * (2 * i + 1) / (2 * lines);
            let mut stretches = Vec::new();
            barred.section(along, c, 0, &mut stretches);
            join(&mut stretches);
            let ends = stretches.iter().flat_map(|(low, high)| [*low, *high]);
            out.extend(ends.map(|y| along.own(Spot::new(c, y))));
        }
    }
    out
}

/// The lattice of a cell that takes the least area. Steps too long to be the shortest of a lattice
/// better than `best` (what two parts take) are left out.
fn tightest(kit: &Kit, cell: Cell, best: Option<i64>) -> Option<Grid> {
    let compound = Compound::new(kit, cell);
    let mut out: Option<Grid> = None;
    for u in compound.steps() {
        let known = best.map(|b| b / 2 * cell.count());
        let known = out.map(|g| g.area()).into_iter().chain(known).min();
        // The shortest step is at most sqrt(2 / sqrt 3) of the root of the area (Lagrange).
        let long =
            known.is_some_and(|a| i128::from(u.x * u.x + u.y * u.y) * 100 > i128::from(a) * 116);
        if long {
            continue;
        }
        compound.second(u, None, &mut |grid| {
            if out.is_none_or(|g| grid.area() < g.area()) {
                out = Some(grid);
            }
        });
    }
    out
}

#[allow(clippy::cast_precision_loss, reason = "a share, for showing")]
fn plain(kit: &Kit, grid: &Grid) -> Lattice {
    let laid = |kind: usize, at: Spot| Laid {
        turn: kit.kinds[kind].turn,
        at: at + kit.kinds[kind].lead,
    };
    let (u, v) = reduced(grid.u, grid.v);
    let covered = kit.doubled as f64 / 2.0 * grid.cell.count() as f64;
    Lattice {
        first: laid(grid.cell.kind, Spot::default()),
        pair: grid.cell.pair.map(|(b, w)| laid(b, w)),
        u,
        v,
        density: covered / grid.area() as f64,
    }
}
