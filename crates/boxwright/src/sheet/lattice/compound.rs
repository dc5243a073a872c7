//! Lattices of one part, or of a pair of parts held together, that keep clear of themselves.
//!
//! For a pair, A with B at w, the forbidden set is that of the compound, A on A and B on B and either
//! on the other, taken before any step of the lattice is chosen: with B between, A and the next A
//! need not touch (the regular packings of Stoyan and Pankratov, 1999; double lattices of Kuperberg
//! and Kuperberg, 1990).

use super::barred::{Along, Barred, Stretches, join, settled};
use super::kit::Kit;
use super::room::clear_from;
use crate::sheet::shape::{Bounds, Spot};

/// One part, or two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub kind: usize,
    /// The other's kind, and where its corner lies from the first one's.
    pub pair: Option<(usize, Spot)>,
}

/// A cell repeated by whole multiples of two steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Grid {
    pub cell: Cell,
    pub u: Spot,
    pub v: Spot,
}

/// Where a cell may not stand beside another of its like.
pub(super) struct Compound<'k> {
    cell: Cell,
    same: &'k Barred,
    /// Of the other part on itself, of the other beside the first, and where it is.
    other: Option<(&'k Barred, &'k Barred, Spot)>,
    /// Half of its box: it is the same mirrored.
    reach: Spot,
    corners: Vec<Spot>,
    slanted: bool,
    /// Twice the area of what the cell holds.
    doubled: i64,
}

impl Cell {
    /// Parts in it.
    pub fn count(self) -> i64 {
        if self.pair.is_some() { 2 } else { 1 }
    }
}

impl Grid {
    /// Area of the plane that one cell takes.
    pub fn area(&self) -> i64 {
        self.u.cross(self.v).abs()
    }
}

impl<'k> Compound<'k> {
    pub fn new(kit: &'k Kit, cell: Cell) -> Self {
        let same = kit.barred(cell.kind, cell.kind);
        let mut reach = same.bounds.max;
        let mut corners = same.corners.clone();
        let mut slanted = same.slanted;
        let mut other = None;
        if let Some((b, w)) = cell.pair {
            let bb = kit.barred(b, b);
            let ab = kit.barred(cell.kind, b);
            let Bounds { min, max } = ab.bounds;
            for p in [bb.bounds.max, max - w, w - min] {
                reach = Spot::new(reach.x.max(p.x), reach.y.max(p.y));
            }
            corners.extend(&bb.corners);
            corners.extend(ab.corners.iter().map(|p| *p - w));
            corners.extend(ab.corners.iter().map(|p| w - *p));
            slanted |= bb.slanted || ab.slanted;
            other = Some((bb, ab, w));
        }
        let one = i64::try_from(kit.doubled).unwrap_or(i64::MAX / 4);
        let mut out = Self {
            cell,
            same,
            other,
            reach,
            corners: Vec::new(),
            slanted,
            doubled: one.saturating_mul(cell.count()),
        };
        corners.sort_unstable();
        corners.dedup();
        corners.retain_mut(|p| {
            // Deep inside it is no corner of the whole.
            settled(*p, |q| out.clear(q)).is_some_and(|q| {
                *p = q;
                true
            })
        });
        corners.sort_unstable();
        corners.dedup();
        let stride = corners.len().div_ceil(CORNERS).max(1);
        out.corners = corners.into_iter().step_by(stride).collect();
        out
    }

    /// Whether a cell may stand at `t` from another.
    pub fn clear(&self, t: Spot) -> bool {
        let far = t.x.abs() >= self.reach.x || t.y.abs() >= self.reach.y;
        far || (self.same.clear(t)
            && self
                .other
                .is_none_or(|(bb, ab, w)| bb.clear(t) && ab.clear(w + t) && ab.clear(w - t)))
    }

    pub fn section(&self, along: Along, c: i64, by: i64, into: &mut Stretches) {
        self.same.section(along, c, by, into);
        let Some((bb, ab, w)) = self.other else {
            return;
        };
        if !std::ptr::eq(bb, self.same) {
            bb.section(along, c, by, into);
        }
        let w = along.own(w);
        ab.section(along, c + w.x, by - w.y, into);
        let from = into.len();
        ab.section(along, w.x - c, 0, into);
        for s in into.iter_mut().skip(from) {
            *s = (w.y - s.1 + by, w.y - s.0 + by);
        }
    }

    /// Whether all whole multiples of a step are clear.
    pub fn repeats(&self, u: Spot) -> bool {
        let mut t = u;
        while t.x.abs() < self.reach.x && t.y.abs() < self.reach.y {
            if !self.clear(t) {
                return false;
            }
            t = t + u;
        }
        true
    }

    /// First steps worth trying: the nearest level and upright ones, then every corner, near ones
    /// first, one of each two opposite ones.
    pub fn steps(&self) -> Vec<Spot> {
        let mut out = Vec::new();
        for along in Along::BOTH {
            let mut stretches = Vec::new();
            self.section(along, 0, 0, &mut stretches);
            join(&mut stretches);
            for (_, high) in &stretches {
                let p = along.own(Spot::new(0, *high));
                if *high > 0 && self.repeats(p) {
                    out.push(p);
                }
            }
        }
        let mut corners: Vec<Spot> = self
            .corners
            .iter()
            .copied()
            .filter(|p| (p.x > 0 || (p.x == 0 && p.y > 0)) && !out.contains(p))
            .filter(|p| self.repeats(*p))
            .collect();
        corners.sort_by_key(|p| (p.x * p.x + p.y * p.y, *p));
        out.extend(corners);
        out
    }

    /// Offers every second step worth trying with the first step `u`; with `near`, only those about
    /// as far along `u` as that one.
    pub fn second(&self, u: Spot, near: Option<Spot>, offer: &mut dyn FnMut(Grid)) {
        let along = if u.x.abs() >= u.y.abs() {
            Along::Upright
        } else {
            Along::Level
        };
        let mut o = along.own(u);
        if o.x < 0 {
            o = -o;
        }
        if o.x <= 0 {
            return;
        }
        let mut offsets: Vec<i64> = self
            .corners
            .iter()
            .map(|p| along.own(*p).x.rem_euclid(o.x))
            .collect();
        offsets.push(0);
        if let Some(v) = near {
            let c = along.own(v).x.rem_euclid(o.x);
            offsets.retain(|x| (x - c).abs() <= o.x / NEAR);
            offsets.extend([c, (c - o.x / NEAR).max(0), (c + o.x / NEAR).min(o.x - 1)]);
        }
        offsets.sort_unstable();
        offsets.dedup();
        let mut lines = Lines {
            of: self,
            along,
            u: o,
            stretches: Vec::new(),
        };
        let mut give = |c: i64, y: i64| {
            offer(Grid {
                cell: self.cell,
                u,
                v: along.own(Spot::new(c, y)),
            });
        };
        for (i, c) in offsets.iter().enumerate() {
            lines.heights(*c, &mut give);
            let Some(next) = offsets
                .get(i + 1)
                .copied()
                .or(near.is_none().then_some(o.x))
            else {
                continue;
            };
            if self.slanted && next - c > LEAST_GAP {
                for c in lines.valley(*c, next) {
                    lines.heights(c, &mut give);
                }
            }
        }
    }
}

/// Offsets nearer than this (0.5 mm) are not looked between.
const LEAST_GAP: i64 = 500;

/// Most corners looked at; of more, evenly some.
const CORNERS: usize = 240;

/// Second steps are near when they differ by at most one part in so many of the first.
const NEAR: i64 = 16;

/// How many second steps are offered for one offset.
const HEIGHTS: usize = 3;

/// Rows of cells a step `u` apart, looked at along lines across them.
struct Lines<'c, 'k> {
    of: &'c Compound<'k>,
    along: Along,
    /// In the direction's own coordinates, to the right.
    u: Spot,
    stretches: Stretches,
}

impl Lines<'_, '_> {
    /// What a whole row bars on the line at `c`.
    fn gather(&mut self, c: i64) {
        self.stretches.clear();
        let reach = self.along.own(self.of.reach);
        let first = (c - reach.x).div_euclid(self.u.x);
        let last = (c + reach.x).div_euclid(self.u.x);
        for k in first..=last {
            let x = c - k * self.u.x;
            if x.abs() < reach.x {
                self.of
                    .section(self.along, x, k * self.u.y, &mut self.stretches);
            }
        }
        join(&mut self.stretches);
    }

    /// Below this height on the line at `c` a row would have less room than its parts.
    fn least(&self, c: i64) -> i64 {
        let need = self.of.doubled / 2 + c * self.u.y;
        -(-need).div_euclid(self.u.x)
    }

    fn height(&mut self, c: i64) -> i64 {
        self.gather(c);
        clear_from(&self.stretches, self.least(c))
    }

    fn heights(&mut self, c: i64, give: &mut dyn FnMut(i64, i64)) {
        let mut y = self.height(c);
        for _ in 0..HEIGHTS {
            if self.rows_clear(Spot::new(c, y)) {
                give(c, y);
            }
            let Some((_, high)) = self.stretches.iter().find(|(low, _)| *low >= y) else {
                return;
            };
            y = *high;
        }
    }

    /// Whether the second row, the third and so on keep clear as well.
    fn rows_clear(&self, v: Spot) -> bool {
        let reach = self.along.own(self.of.reach);
        let apart = v.y - v.x * self.u.y / self.u.x;
        if apart <= 0 {
            return false;
        }
        let rows = (reach.x + reach.y) / apart + 1;
        (2..=rows).all(|j| {
            let t = Spot::new(v.x * j, v.y * j);
            let first = (t.x - reach.x).div_euclid(self.u.x);
            let last = (t.x + reach.x).div_euclid(self.u.x);
            (first..=last).all(|k| {
                let p = Spot::new(t.x - k * self.u.x, t.y - k * self.u.y);
                self.of.clear(self.along.own(p))
            })
        })
    }

    /// Offsets at which the least height has a valley between two offsets, where a falling side
    /// meets a rising one.
    fn valley(&mut self, c: i64, next: i64) -> Vec<i64> {
        let step = (next - c) / 8;
        let at = [c + 1, c + step, next - step, next - 1];
        let y = at.map(|c| self.height(c));
        let falls = i128::from(y[1] - y[0]) * i128::from(at[3] - at[2]);
        let rises = i128::from(y[3] - y[2]) * i128::from(at[1] - at[0]);
        if falls >= 0 || rises <= 0 {
            return Vec::new();
        }
        // y0 + (x - a0) f = y3 + (x - a3) r, with both slopes over the same denominator.
        let below = i128::from(at[1] - at[0]) * i128::from(at[3] - at[2]);
        let gap = rises - falls;
        let above = i128::from(y[0] - y[3]) * below + rises * i128::from(at[3] - at[0]);
        let x = at[0] + i64::try_from(above.div_euclid(gap)).unwrap_or(0);
        [x, x + 1]
            .into_iter()
            .filter(|x| c < *x && *x < next)
            .collect()
    }
}
