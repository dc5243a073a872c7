//! How many parts of a lattice lie on a sheet, over the shifts of the lattice that matter.

use super::compound::Grid;
use super::kit::Member;
use super::room::Room;
use crate::sheet::shape::{Bounds, Spot};

/// Most shifts tried for one lattice.
const SHIFTS: usize = 256;

/// The rooms of the kinds, by kind.
pub(super) type Rooms = Vec<Option<Room>>;

/// The parts of a cell: kind and place.
fn cell(grid: &Grid) -> impl Iterator<Item = (usize, Spot)> + use<> {
    std::iter::once((grid.cell.kind, Spot::default())).chain(grid.cell.pair)
}

/// Multiples `from..=to` of `step` that, from `base`, keep within `low..=high`; all of `limit` when
/// the step is nothing.
fn multiples(base: i64, step: i64, low: i64, high: i64, limit: (i64, i64)) -> (i64, i64) {
    if step == 0 {
        return if base < low || base > high {
            (0, -1)
        } else {
            limit
        };
    }
    let (a, b) = if step > 0 {
        (low - base, high - base)
    } else {
        (base - high, base - low)
    };
    let s = step.abs();
    (
        (-(-a).div_euclid(s)).max(limit.0),
        b.div_euclid(s).min(limit.1),
    )
}

/// The rows of a lattice through `at` that may lie in a box, as the first place of each, and how many
/// of them lie there a step `u` apart.
fn rows(grid: &Grid, at: Spot, within: Bounds, mut give: impl FnMut(Spot, i64)) {
    let det = i128::from(grid.u.cross(grid.v));
    if det == 0 || within.width() < 0 || within.height() < 0 {
        return;
    }
    // j = u x (p - at) / det, least and greatest at the corners of the box.
    let Bounds { min, max } = within;
    let corners = [min, Spot::new(max.x, min.y), max, Spot::new(min.x, max.y)];
    let j = corners.map(|p| i128::from(grid.u.cross(p - at)).div_euclid(det));
    let (first, last) = j
        .iter()
        .fold((i128::MAX, i128::MIN), |(a, b), j| (a.min(*j), b.max(*j)));
    let (Ok(first), Ok(last)) = (i64::try_from(first), i64::try_from(last)) else {
        return;
    };
    for j in first..=last + 1 {
        let p = at + Spot::new(grid.v.x * j, grid.v.y * j);
        let all = (i64::MIN / 4, i64::MAX / 4);
        let i = multiples(p.x, grid.u.x, min.x, max.x, all);
        let (a, b) = multiples(p.y, grid.u.y, min.y, max.y, i);
        if a <= b {
            give(p + Spot::new(grid.u.x * a, grid.u.y * a), b - a + 1);
        }
    }
}

/// A number of parts of a lattice that no shift can pass in these rooms, all rectangles: a convex
/// region holds at most area + half its girth + 1 points of the unit lattice (Nosarzewska 1948), and
/// any lattice can be straightened to that one.
#[allow(clippy::cast_precision_loss, reason = "rounded up at the end")]
pub(super) fn most(grid: &Grid, rooms: &Rooms) -> f64 {
    let (u, v) = reduced(grid.u, grid.v);
    let det = u.cross(v).abs() as f64;
    let length = |p: Spot| {
        let (i, j) = (p.cross(v) as f64 / det, u.cross(p) as f64 / det);
        i.hypot(j)
    };
    cell(grid)
        .filter_map(|(kind, _)| rooms.get(kind)?.as_ref())
        .map(|room| {
            let (w, h) = (room.reach.width(), room.reach.height());
            let area = w as f64 * h as f64 / det;
            area + length(Spot::new(w, 0)) + length(Spot::new(0, h)) + 1.0
        })
        .sum()
}

/// The shortest steps that make the same lattice (Gauss).
pub(super) fn reduced(mut u: Spot, mut v: Spot) -> (Spot, Spot) {
    let dot =
        |a: Spot, b: Spot| i128::from(a.x) * i128::from(b.x) + i128::from(a.y) * i128::from(b.y);
    for _ in 0..200 {
        if dot(u, u) > dot(v, v) {
            (u, v) = (v, u);
        }
        let (d, n) = (dot(u, v), dot(u, u));
        if n == 0 || 2 * d.abs() <= n {
            break;
        }
        let k = i64::try_from((2 * d + n).div_euclid(2 * n)).unwrap_or(0);
        v = v - Spot::new(u.x * k, u.y * k);
    }
    (u, v)
}

fn count_at(grid: &Grid, rooms: &Rooms, at: Spot) -> i64 {
    let mut n = 0;
    for (kind, w) in cell(grid) {
        let Some(Some(room)) = rooms.get(kind) else {
            continue;
        };
        rows(grid, at + w, room.reach, |p, k| {
            if room.is_plain() {
                n += k;
            } else {
                for i in 0..k {
                    let q = p + Spot::new(grid.u.x * i, grid.u.y * i);
                    n += i64::from(room.holds(q));
                }
            }
        });
    }
    n
}

/// Every part of a shifted lattice that lies in its room.
pub(super) fn members(grid: &Grid, rooms: &Rooms, at: Spot) -> Vec<Member> {
    let mut out = Vec::new();
    for (kind, w) in cell(grid) {
        let Some(Some(room)) = rooms.get(kind) else {
            continue;
        };
        rows(grid, at + w, room.reach, |p, k| {
            for i in 0..k {
                let at = p + Spot::new(grid.u.x * i, grid.u.y * i);
                if room.holds(at) {
                    out.push(Member { at, kind });
                }
            }
        });
    }
    out.sort_unstable();
    out
}

/// The shift with the most parts, and how many; `None` when no part fits at all.
pub(super) fn best_shift(grid: &Grid, rooms: &Rooms) -> Option<(i64, Spot)> {
    let mut best: Option<(i64, Spot)> = None;
    let mut try_at = |at: Spot| {
        let n = count_at(grid, rooms, at);
        if n > best.map_or(0, |b| b.0) {
            best = Some((n, at));
        }
    };
    for (kind, w) in cell(grid) {
        let Some(Some(room)) = rooms.get(kind) else {
            continue;
        };
        if !room.is_plain() {
            for p in room.corners.iter().take(SHIFTS) {
                try_at(*p - w);
            }
            continue;
        }
        // Any set that lies on the sheet can be pushed left till a part touches, then down till one
        // touches: that one stands on the lower side with the first on the left one.
        let x = room.reach.min.x - w.x;
        let mut heights = Vec::new();
        for (low, wl) in cell(grid) {
            let Some(Some(below)) = rooms.get(low) else {
                continue;
            };
            // Where the touching part may lie from the one at the left.
            let from = Spot::new(x, 0) + wl;
            let rise = room.reach.height();
            let base = below.reach.min.y - (room.reach.min.y - w.y) - wl.y;
            let within = Bounds {
                min: Spot::new(below.reach.min.x, wl.y + base - rise),
                max: Spot::new(below.reach.max.x, wl.y + base),
            };
            rows(grid, from, within, |p, k| {
                for i in 0..k.min(4096) {
                    let q = p + Spot::new(grid.u.x * i, grid.u.y * i);
                    heights.push(below.reach.min.y - q.y);
                }
            });
        }
        heights.sort_unstable();
        heights.dedup();
        let stride = heights.len().div_ceil(SHIFTS).max(1);
        for y in heights.into_iter().step_by(stride) {
            try_at(Spot::new(x, y));
        }
    }
    best
}
