//! A plain way to lay parts, where each in turn goes as far to one side as it can.
//!
//! It gives a whole layout at once, which the searches have to beat. A part is tried at the
//! corners of the sets in which it would lie in another part, and where those sets meet the edges
//! of the room. The first such place that is free, counted from the lower or the left edge, is
//! taken.

use std::collections::HashMap;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;

use super::nofit::no_fit;
use super::rings::overlaid;
use super::search::{Bin, Kind, Laid, Used};
use super::shape::{Bounds, Shape, Spot, Turn};

/// Lays parts one after another.
pub struct Filler<'a> {
    kinds: &'a [Kind],
    bins: &'a [Bin],
    sets: HashMap<(usize, Turn, usize, Turn), Vec<Shape>>,
    walls: HashMap<(usize, usize, Turn), Option<Walls>>,
}

/// Where a part may lie in a room: an upright box of places, less some sets.
#[derive(Clone, Debug)]
struct Walls {
    free: Bounds,
    barred: Vec<Shape>,
}

impl<'a> Filler<'a> {
    /// For these parts and sheets.
    #[must_use]
    pub fn new(kinds: &'a [Kind], bins: &'a [Bin]) -> Self {
        Self {
            kinds,
            bins,
            sets: HashMap::new(),
            walls: HashMap::new(),
        }
    }

    /// Whether a part of a kind can lie on any sheet at all.
    pub fn fits(&mut self, kind: usize) -> bool {
        let kinds = self.kinds;
        (0..self.bins.len()).any(|bin| {
            let mut turns = kinds[kind].turns.iter();
            turns.any(|t| self.place(&[], bin, kind, *t, true).is_some())
        })
    }

    /// Lays everything there is room for, the largest parts first, on the sheets that cost least
    /// for the board laid on them.
    pub fn fill(&mut self) -> Vec<Used> {
        let size = |k: &Kind| k.shape.area_mm2();
        let mut order: Vec<usize> = (0..self.kinds.len()).collect();
        order.sort_by(|a, b| size(&self.kinds[*b]).total_cmp(&size(&self.kinds[*a])));
        let mut wanted: Vec<u32> = self.kinds.iter().map(|k| k.wanted).collect();
        let mut stock: Vec<u32> = self.bins.iter().map(|b| b.count).collect();
        let mut out = Vec::new();
        while wanted.iter().any(|n| *n > 0) {
            let mut best: Option<(f64, usize, Vec<Laid>)> = None;
            for bin in (0..self.bins.len()).filter(|b| stock[*b] > 0) {
                for level in [false, true] {
                    let laid = self.sheet(bin, &order, &wanted, level);
                    let board: f64 = laid.iter().map(|s| size(&self.kinds[s.kind])).sum();
                    let worth = board / self.bins[bin].cost.max(1e-9);
                    if !laid.is_empty() && best.as_ref().is_none_or(|b| worth > b.0) {
                        best = Some((worth, bin, laid));
                    }
                }
            }
            let Some((_, bin, placed)) = best else { break };
            stock[bin] -= 1;
            for s in &placed {
                wanted[s.kind] -= 1;
            }
            out.push(Used { bin, placed });
        }
        out
    }

    fn sheet(&mut self, bin: usize, order: &[usize], wanted: &[u32], level: bool) -> Vec<Laid> {
        let kinds = self.kinds;
        let mut here: Vec<Laid> = Vec::new();
        for &kind in order {
            for _ in 0..wanted[kind] {
                let best = kinds[kind]
                    .turns
                    .iter()
                    .filter_map(|t| {
                        let at = self.place(&here, bin, kind, *t, level)?;
                        let b = kinds[kind].shape.turned(*t).bounds();
                        let far = b.max + at;
                        let key = if level {
                            (far.y, far.x)
                        } else {
                            (far.x, far.y)
                        };
                        Some((key, *t, at))
                    })
                    .min_by_key(|(key, t, _)| (*key, *t));
                let Some((_, turn, at)) = best else { break };
                here.push(Laid { kind, turn, at });
            }
        }
        here
    }

    /// The first free place for a part, level by level from below or from the left.
    fn place(
        &mut self,
        here: &[Laid],
        bin: usize,
        kind: usize,
        turn: Turn,
        level: bool,
    ) -> Option<Spot> {
        let walls = self.walls(bin, kind, turn)?;
        for s in here {
            self.set((s.kind, s.turn), (kind, turn));
        }
        let mut barred: Vec<(Bounds, Spot, &Shape)> = Vec::new();
        for s in here {
            let key = (s.kind, s.turn, kind, turn);
            for set in self.sets.get(&key).into_iter().flatten() {
                let b = set.bounds();
                let bounds = Bounds {
                    min: b.min + s.at,
                    max: b.max + s.at,
                };
                barred.push((bounds, s.at, set));
            }
        }
        for set in &walls.barred {
            barred.push((set.bounds(), Spot::default(), set));
        }
        let f = walls.free;
        let mut tries = vec![
            f.min,
            f.max,
            Spot::new(f.min.x, f.max.y),
            Spot::new(f.max.x, f.min.y),
        ];
        for (bounds, by, set) in &barred {
            if apart(*bounds, f) {
                continue;
            }
            for ring in set.rings() {
                let next = ring.iter().cycle().skip(1);
                for (a, b) in ring.iter().zip(next) {
                    let (a, b) = (*a + *by, *b + *by);
                    tries.push(a);
                    meets(a, b, f, &mut tries);
                }
            }
        }
        tries.retain(|p| f.min.x <= p.x && p.x <= f.max.x && f.min.y <= p.y && p.y <= f.max.y);
        tries.sort_by_key(|p| if level { (p.y, p.x) } else { (p.x, p.y) });
        tries.dedup();
        tries
            .into_iter()
            .find(|p| !barred.iter().any(|(b, by, set)| within(*p, *b, *by, set)))
    }

    fn set(&mut self, a: (usize, Turn), b: (usize, Turn)) {
        let kinds = self.kinds;
        self.sets.entry((a.0, a.1, b.0, b.1)).or_insert_with(|| {
            no_fit(&kinds[a.0].shape.turned(a.1), &kinds[b.0].shape.turned(b.1))
        });
    }

    fn walls(&mut self, bin: usize, kind: usize, turn: Turn) -> Option<Walls> {
        let (kinds, bins) = (self.kinds, self.bins);
        let found = self
            .walls
            .entry((bin, kind, turn))
            .or_insert_with(|| walls(&bins[bin].shape, &kinds[kind].shape.turned(turn)));
        found.clone()
    }
}

fn walls(room: &Shape, part: &Shape) -> Option<Walls> {
    let (r, b) = (room.bounds(), part.bounds());
    let free = Bounds {
        min: r.min - b.min,
        max: r.max - b.max,
    };
    if free.max.x < free.min.x || free.max.y < free.min.y {
        return None;
    }
    // What is missing from the box round the room, with a rim all round so that it hangs together.
    let rim = Spot::new(b.width().max(1), b.height().max(1));
    let outer = Shape::rect(r.width() + 2 * rim.x, r.height() + 2 * rim.y).moved(r.min - rim);
    let rings: Vec<Vec<Spot>> = room.rings().cloned().collect();
    let plain = rings.len() == 1
        && room.doubled_area() == 2 * i128::from(r.width()) * i128::from(r.height());
    let barred = if plain {
        Vec::new()
    } else {
        let missing = overlaid(
            &[outer.outer],
            &rings,
            OverlayRule::Difference,
            FillRule::NonZero,
        );
        missing.iter().flat_map(|m| no_fit(m, part)).collect()
    };
    Some(Walls { free, barred })
}

const fn apart(a: Bounds, b: Bounds) -> bool {
    a.max.x < b.min.x || b.max.x < a.min.x || a.max.y < b.min.y || b.max.y < a.min.y
}

/// Grid points on an edge where it meets the lines of an upright box.
fn meets(a: Spot, b: Spot, f: Bounds, into: &mut Vec<Spot>) {
    let way = b - a;
    for x in [f.min.x, f.max.x] {
        if way.x != 0 && (a.x.min(b.x)..=a.x.max(b.x)).contains(&x) {
            let y = i128::from(a.y) + i128::from(way.y) * i128::from(x - a.x) / i128::from(way.x);
            into.extend(i64::try_from(y).map(|y| Spot::new(x, y)));
        }
    }
    for y in [f.min.y, f.max.y] {
        if way.y != 0 && (a.y.min(b.y)..=a.y.max(b.y)).contains(&y) {
            let x = i128::from(a.x) + i128::from(way.x) * i128::from(y - a.y) / i128::from(way.y);
            into.extend(i64::try_from(x).map(|x| Spot::new(x, y)));
        }
    }
}

/// Whether a point lies inside a set moved by `by`, and not on its edge.
fn within(p: Spot, bounds: Bounds, by: Spot, set: &Shape) -> bool {
    if p.x <= bounds.min.x || p.x >= bounds.max.x || p.y <= bounds.min.y || p.y >= bounds.max.y {
        return false;
    }
    let p = p - by;
    let mut inside = false;
    for ring in set.rings() {
        let next = ring.iter().cycle().skip(1);
        for (a, b) in ring.iter().zip(next) {
            if p.y < a.y.min(b.y) || p.y > a.y.max(b.y) {
                continue;
            }
            let side = (*b - *a).cross(p - *a);
            if side == 0 && a.x.min(b.x) <= p.x && p.x <= a.x.max(b.x) {
                return false;
            }
            if (a.y <= p.y) != (b.y <= p.y) && ((b.y > a.y) == (side > 0)) {
                inside = !inside;
            }
        }
    }
    inside
}
