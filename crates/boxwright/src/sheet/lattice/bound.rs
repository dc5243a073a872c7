//! How many of one shape can never lie on a sheet, with the reason.
//!
//! Two reasons are known. **Area**: no more than the sheet's area over the part's. **An owned
//! rectangle**: if two parts always overlap when an upright rectangle drawn on the one overlaps the same
//! rectangle drawn on the other, then the rectangles of all parts on a sheet keep clear of one another,
//! and they all lie the same way up. A slotted blank owns the rectangle over its panels, slots and all,
//! since no part gets into a slot. Points just less than the rectangle's breadth and height apart,
//! in rows and columns, put at least one point into every such rectangle; there are no more of them
//! than whole breadths fit along the sheet times whole heights up it.

use super::barred::{Along, Barred, Stretches, join};
use super::kit::{Kit, in_reach};
use super::room::Sheet;
use crate::sheet::shape::{Bounds, Shape, Spot, Turn};

/// Coordinates of corners tried as sides of an owned rectangle, for each direction.
const SIDES: usize = 24;

/// Times a strip is halved before the proof is given up.
const HALVINGS: u32 = 12;

/// Regions looked at before the area has to do: about a tenth of a second.
const EFFORT: usize = 10_000_000;

/// A number of parts that cannot be passed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bound {
    /// No more than so many.
    pub most: u64,
    /// Why.
    pub why: Why,
}

/// The reason of a [`Bound`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// It does not fit at all, or one of the two has no area.
    Nothing,
    /// The sheet has no more area.
    Area,
    /// Every part has this rectangle, in its own coordinates, for itself.
    Owned {
        /// The rectangle.
        rect: Bounds,
        /// Whole ones along x, turned as the parts lie,
        across: u64,
        /// and along y.
        up: u64,
    },
}

impl std::fmt::Display for Bound {
    #[allow(clippy::cast_precision_loss, reason = "for reading")]
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mm = |steps: i64| Spot::new(steps, 0).to_mm().x;
        match self.why {
            Why::Nothing => write!(f, "none: the part does not fit"),
            Why::Area => write!(f, "at most {}: the sheet has no more area", self.most),
            Why::Owned { rect, across, up } => write!(
                f,
                "at most {}: no part gets into the rectangle of {} x {} mm that each has for itself, \
                 and of those {across} go along the sheet and {up} up it",
                self.most,
                mm(rect.width()),
                mm(rect.height()),
            ),
        }
    }
}

/// The least number known that cannot be passed, for parts on the grid of whole micrometres.
#[must_use]
pub fn bound(shape: &Shape, turns: &[Turn], sheet: &Shape) -> Bound {
    let none = Bound {
        most: 0,
        why: Why::Nothing,
    };
    let (true, Some(sheet), Some(kit)) = (
        in_reach(sheet),
        Sheet::new(sheet),
        Kit::new(shape, shape, turns),
    ) else {
        return none;
    };
    if kit.kinds.iter().all(|k| sheet.room(k).is_none()) {
        return none;
    }
    proved(&kit, &sheet)
}

pub(super) fn proved(kit: &Kit, sheet: &Sheet) -> Bound {
    let most = u64::try_from(sheet.doubled / kit.doubled).unwrap_or(u64::MAX);
    let area = Bound {
        most,
        why: Why::Area,
    };
    // Lying both ways the rectangles would have to be packed themselves.
    let odd = |t: Turn| t.quarters() % 2;
    let first = kit.kinds[0].turn;
    if !kit.handy() || kit.kinds.iter().any(|k| odd(k.turn) != odd(first)) {
        return area;
    }
    let mut tried: Vec<(u64, i64, Bounds, Bound)> = Vec::new();
    let base = &kit.kinds[0].shape;
    let pick = |of: &dyn Fn(&Spot) -> i64| {
        let mut c: Vec<i64> = base.outer.iter().map(of).collect();
        c.sort_unstable();
        c.dedup();
        let stride = c.len().div_ceil(SIDES).max(1);
        c.into_iter().step_by(stride).collect::<Vec<_>>()
    };
    let (xs, ys) = (pick(&|p| p.x), pick(&|p| p.y));
    for (i, x0) in xs.iter().enumerate() {
        for x1 in &xs[i + 1..] {
            for (j, y0) in ys.iter().enumerate() {
                for y1 in &ys[j + 1..] {
                    let rect = Bounds {
                        min: Spot::new(*x0, *y0),
                        max: Spot::new(*x1, *y1),
                    };
                    let b = packed(kit, sheet, rect);
                    if b.most < most {
                        tried.push((b.most, rect.width() * rect.height(), rect, b));
                    }
                }
            }
        }
    }
    tried.sort_by_key(|t| (t.0, t.1, t.2.min, t.2.max));
    let mut effort = EFFORT;
    tried
        .into_iter()
        .find(|t| hopeful(kit, t.2, &mut effort) && owned(kit, t.2, &mut effort))
        .map_or(area, |t| t.3)
}

/// The rectangle of the first kind, on another.
fn on(kit: &Kit, rect: Bounds, kind: usize) -> Bounds {
    let [a, b] = [&kit.kinds[0], &kit.kinds[kind]];
    let turn = a.turn.back().then(b.turn);
    let [p, q] = [rect.min, rect.max].map(|p| (p - a.lead).turned(turn) + b.lead);
    // A point p of the first kind is p - lead on the shape as turned.
    Bounds {
        min: Spot::new(p.x.min(q.x), p.y.min(q.y)),
        max: Spot::new(p.x.max(q.x), p.y.max(q.y)),
    }
}

/// How many such rectangles a sheet holds, since each lies within the box of its part.
fn packed(kit: &Kit, sheet: &Sheet, rect: Bounds) -> Bound {
    let kinds = || (0..kit.kinds.len()).map(|k| (on(kit, rect, k), kit.kinds[k].size));
    let least = |f: &dyn Fn(Bounds, Spot) -> i64| kinds().map(|(r, s)| f(r, s)).min().unwrap_or(0);
    let width = sheet.bounds.width() - least(&|r, _| r.min.x) - least(&|r, s| s.x - r.max.x);
    let height = sheet.bounds.height() - least(&|r, _| r.min.y) - least(&|r, s| s.y - r.max.y);
    let whole = |a: i64, b: i64| u64::try_from(a.div_euclid(b.max(1))).unwrap_or(0);
    let (across, up) = (whole(width, rect.width()), whole(height, rect.height()));
    let lead = kit.kinds[0].lead;
    let back = kit.kinds[0].turn.back();
    let [p, q] = [rect.min, rect.max].map(|p| (p - lead).turned(back));
    Bound {
        most: across.saturating_mul(up),
        why: Why::Owned {
            rect: Bounds {
                min: Spot::new(p.x.min(q.x), p.y.min(q.y)),
                max: Spot::new(p.x.max(q.x), p.y.max(q.y)),
            },
            across,
            up,
        },
    }
}

/// Shifts at which the rectangles of two kinds overlap.
fn overlaps(kit: &Kit, rect: Bounds, a: usize, b: usize) -> Bounds {
    let (p, q) = (on(kit, rect, a), on(kit, rect, b));
    Bounds {
        min: p.min - q.max,
        max: p.max - q.min,
    }
}

/// Whether a few shifts that have to be barred are.
fn hopeful(kit: &Kit, rect: Bounds, effort: &mut usize) -> bool {
    let n = kit.kinds.len();
    (0..n).all(|a| {
        (0..n).all(|b| {
            let Bounds { min, max } = overlaps(kit, rect, a, b);
            let barred = kit.barred(a, b);
            if !spent(effort, barred.regions().len() / 8 + 1) {
                return false;
            }
            let ends = |low: i64, high: i64| [low + 1, (low + high) / 2, high - 1];
            ends(min.x, max.x).iter().all(|x| {
                ends(min.y, max.y)
                    .iter()
                    .all(|y| !barred.clear(Spot::new(*x, *y)))
            })
        })
    })
}

/// Takes from the effort left; false when there is none.
fn spent(effort: &mut usize, by: usize) -> bool {
    *effort = effort.saturating_sub(by);
    *effort > 0
}

fn owned(kit: &Kit, rect: Bounds, effort: &mut usize) -> bool {
    let n = kit.kinds.len();
    let mut pairs = (0..n).flat_map(|a| (0..n).map(move |b| (a, b)));
    pairs.all(|(a, b)| covered(kit.barred(a, b), overlaps(kit, rect, a, b), effort))
}

/// Whether every grid point inside a rectangle is barred, as far as the effort goes.
fn covered(barred: &Barred, within: Bounds, effort: &mut usize) -> bool {
    let (first, last) = (within.min.x + 1, within.max.x - 1);
    let (low, high) = (within.min.y, within.max.y);
    if first > last || high - low < 2 {
        return true;
    }
    let mut lines: Vec<i64> = barred
        .regions()
        .iter()
        .flat_map(|c| c.at.iter().map(|p| p.x))
        .filter(|x| (first..=last).contains(x))
        .collect();
    lines.extend([first, last]);
    lines.sort_unstable();
    lines.dedup();
    let mut stretches: Stretches = Vec::new();
    let mut line = |x: i64, effort: &mut usize| {
        if !spent(effort, barred.regions().len() / 4 + 1) {
            return false;
        }
        stretches.clear();
        barred.section(Along::Upright, x, 0, &mut stretches);
        join(&mut stretches);
        stretches.iter().any(|(l, h)| *l <= low && *h >= high)
    };
    let between = (low, high);
    lines.iter().all(|x| line(*x, effort))
        && lines.windows(2).all(|w| {
            let within = (w[0] + 1, w[1] - 1);
            w[1] - w[0] < 2 || strip(barred, within, between, HALVINGS, effort)
        })
}

/// Whether all grid points on the upright lines from `a` to `b`, between two heights, are barred.
/// The sides of the regions over the whole strip are straight there: regions that overlap one after
/// the other on both outer lines do so on all between.
fn strip(
    barred: &Barred,
    (a, b): (i64, i64),
    between: (i64, i64),
    halvings: u32,
    effort: &mut usize,
) -> bool {
    if !spent(effort, barred.regions().len()) {
        return false;
    }
    let (low, high) = between;
    let over: Vec<[(i64, i64); 2]> = barred
        .regions()
        .iter()
        .filter(|c| c.bounds.min.x < a && c.bounds.max.x > b)
        .map(|c| [c.section(a), c.section(b)])
        .collect();
    let mut at = [low, low];
    let mut first = true;
    loop {
        // Ends are rounded outward; in between a link has to overlap by whole steps.
        let link = i64::from(!first);
        let next = over
            .iter()
            .filter(|s| (0..2).all(|i| s[i].0 + link <= at[i]))
            .filter(|s| (0..2).any(|i| s[i].1 - 1 > at[i]))
            .max_by_key(|s| (s[0].1.min(high)) + (s[1].1.min(high)));
        let Some(next) = next else {
            break;
        };
        if next[0].1 >= high && next[1].1 >= high {
            return true;
        }
        let reached = [next[0].1 - 1, next[1].1 - 1];
        if reached[0] + reached[1] <= at[0] + at[1] {
            break;
        }
        (at, first) = (reached, false);
    }
    if halvings == 0 || b - a < 1 {
        return false;
    }
    let middle = a + (b - a) / 2;
    strip(barred, (a, middle), between, halvings - 1, effort)
        && strip(
            barred,
            (middle.max(a + 1).min(b), b),
            between,
            halvings - 1,
            effort,
        )
}
