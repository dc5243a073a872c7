//! What strips and sheets are searched with alike: laying one part after another, parting what lies
//! in one another, and pressing the parts of a sheet together.

use super::area::{Area, P, Whole as _};
use super::floor::{Floor, Foes, Lies, foe_of};
use super::pairs::Pairs;
use super::place::{Effort, leftmost};
use super::separate::{Patience, separate};
use super::{Kind, Laid, Pulse, Watch, exact};
use crate::proof::Dice;
use crate::sheet::shape::{Shape, Spot, Turn};

/// How hard each move looks.
pub const EFFORT: Effort = Effort {
    wide: 30,
    near: 20,
    follow: 3,
};

/// Lines tried for each part when it is first laid.
const LINES: usize = 200;

/// A search under way.
pub struct Work<'a> {
    /// The turns of each kind that make a difference.
    pub turns: Vec<Vec<Turn>>,
    /// Forbidden sets of the kinds, and of the bites behind them.
    pub pairs: Pairs,
    /// Chance.
    pub dice: Dice,
    /// Who watches.
    pub pulse: Pulse<'a>,
}

/// Which way a sheet is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// To the left.
    X,
    /// Down.
    Y,
}

impl Axis {
    /// A point's share along it.
    pub fn of(self, p: P) -> f64 {
        match self {
            Self::X => p.x,
            Self::Y => p.y,
        }
    }
    fn set(self, p: &mut P, to: f64) {
        match self {
            Self::X => p.x = to,
            Self::Y => p.y = to,
        }
    }
}

impl<'a> Work<'a> {
    /// About to begin; `bites` are shapes that only stand in the way.
    pub fn new(kinds: &[Kind], bites: &[Shape], seed: u64, watch: &'a mut dyn Watch) -> Self {
        let shapes = kinds.iter().map(|k| &k.shape).chain(bites).cloned();
        Self {
            turns: kinds.iter().map(unlike_turns).collect(),
            pairs: Pairs::new(shapes.collect()),
            dice: Dice(seed),
            pulse: Pulse::new(watch),
        }
    }
}

/// The turns of a kind, less those that look like an earlier one.
fn unlike_turns(kind: &Kind) -> Vec<Turn> {
    let mut seen: Vec<Vec<Vec<Spot>>> = Vec::new();
    let mut turns = Vec::new();
    for &turn in &kind.turns {
        let shape = kind.shape.turned(turn);
        let least = shape.bounds().min;
        // Each ring moved to the origin and begun at its least corner.
        let ring = |r: &Vec<Spot>| -> Vec<Spot> {
            let mut r: Vec<Spot> = r.iter().map(|p| *p - least).collect();
            let first = (0..r.len()).min_by_key(|i| r[*i]).unwrap_or(0);
            r.rotate_left(first);
            r
        };
        let mut look: Vec<Vec<Spot>> = shape.rings().map(ring).collect();
        look[1..].sort_unstable();
        if !seen.contains(&look) {
            seen.push(look);
            turns.push(turn);
        }
    }
    turns
}

impl Work<'_> {
    /// Kinds, one entry for each part, the bulkiest first.
    pub fn order(&self, wanted: &[u32]) -> Vec<usize> {
        let mut order: Vec<usize> = wanted
            .iter()
            .enumerate()
            .flat_map(|(k, n)| std::iter::repeat_n(k, *n as usize))
            .collect();
        let bulk = |k: &usize| {
            let size = self.pairs.area(*k, Turn::None).size();
            self.pairs.root(*k) * size.length()
        };
        order.sort_by(|a, b| bulk(b).total_cmp(&bulk(a)));
        order
    }

    /// A free place for a part on one sheet, its far end as far left as can be found.
    pub fn lay(&mut self, kind: usize, sheet: usize, area: Area, parts: &[Lies]) -> Option<Lies> {
        let mut best: Option<(f64, Lies)> = None;
        for turn in self.turns[kind].clone() {
            let part = self.pairs.area(kind, turn);
            let room = area.room_for(part);
            let all = parts
                .iter()
                .filter_map(|o| foe_of(o, kind, turn, 1.0, &mut self.pairs))
                .collect();
            let foes = Foes::new(turn, vec![(sheet, room)], all);
            if let Some(at) = leftmost(&foes, room, &self.pairs, &mut self.dice, LINES)
                && self.free((kind, turn, at), parts)
            {
                let right = at.x + part.hi.x;
                if best.is_none_or(|b| right < b.0) {
                    let lies = Lies {
                        kind,
                        turn,
                        at,
                        sheet,
                    };
                    best = Some((right, lies));
                }
            }
        }
        best.map(|b| b.1)
    }

    /// Whether a part lies free of others, by the exact check.
    fn free(&self, (kind, turn, at): (usize, Turn, P), others: &[Lies]) -> bool {
        let own = self.pairs.area(kind, turn);
        let shape = self.pairs.placed(kind, turn, at);
        others.iter().all(|o| {
            let meets = own
                .room_for_touch(self.pairs.area(o.kind, o.turn))
                .holds_inside(o.at - at);
            !meets || !exact::overlap(&shape, &self.pairs.placed(o.kind, o.turn, o.at))
        })
    }

    /// How far the parts of a sheet reach, from its least corner.
    pub fn reach(&self, floor: &Floor, sheet: usize, axis: Axis) -> f64 {
        let from = axis.of(floor.areas[sheet].lo);
        floor.parts[..floor.movable()]
            .iter()
            .filter(|p| p.sheet == sheet)
            .map(|p| axis.of(p.at + self.pairs.area(p.kind, p.turn).hi) - from)
            .fold(0.0, f64::max)
    }

    /// Parts everything, and has it vouched for by arithmetic of its own.
    pub fn part(&mut self, floor: &mut Floor, patience: Patience) -> bool {
        floor.forget();
        separate(
            floor,
            &self.turns,
            patience,
            EFFORT,
            &mut self.pairs,
            &mut self.dice,
            &mut self.pulse,
        ) && self.vouched(floor)
    }

    fn vouched(&self, floor: &Floor) -> bool {
        let shapes: Vec<_> = floor
            .parts
            .iter()
            .map(|p| (p.sheet, self.pairs.placed(p.kind, p.turn, p.at)))
            .collect();
        shapes.iter().enumerate().all(|(i, a)| {
            i >= floor.movable()
                || shapes[i + 1..]
                    .iter()
                    .all(|b| a.0 != b.0 || !exact::overlap(&a.1, &b.1))
        })
    }

    /// The least reach that parts alone on their sheet can have, by their extents and their area.
    fn least_reach(&self, floor: &Floor, axis: Axis) -> f64 {
        let parts = &floor.parts[..floor.movable()];
        let extent = |p: &Lies| {
            let turns = self.turns[p.kind].iter();
            turns
                .map(|t| axis.of(self.pairs.area(p.kind, *t).size()))
                .fold(f64::INFINITY, f64::min)
        };
        let area: f64 = parts.iter().map(|p| self.pairs.size(p.kind)).sum();
        let size = floor.areas[0].size();
        let breadth = size.x + size.y - axis.of(size);
        parts
            .iter()
            .map(extent)
            .fold((area / breadth).floor(), f64::max)
    }

    /// A sheet made shorter: what lies beyond some line moves in, what sticks out is moved in.
    /// `false` when a part no longer fits.
    #[must_use]
    fn shorten(&mut self, floor: &mut Floor, sheet: usize, axis: Axis, to: f64) -> bool {
        let area = &mut floor.areas[sheet];
        let from = axis.of(area.lo);
        let by = axis.of(area.hi) - from - to;
        axis.set(&mut area.hi, from + to);
        let area = *area;
        let line = self.dice.between(from, from + to);
        for i in 0..floor.movable() {
            let p = floor.parts[i];
            if p.sheet != sheet {
                continue;
            }
            let part = self.pairs.area(p.kind, p.turn);
            let mut at = p.at;
            if axis.of(at + part.middle()) > line {
                let moved = axis.of(at) - by;
                axis.set(&mut at, moved);
            }
            let room = area.room_for(part);
            if room.is_empty() {
                // Turned otherwise it may still fit, here or on another sheet.
                let turns = std::iter::once(&p.turn).chain(&self.turns[p.kind]);
                let Some((turn, (sheet, room))) = turns
                    .filter_map(|t| Some((*t, *floor.rooms(p.kind, *t, &self.pairs).first()?)))
                    .next()
                else {
                    return false;
                };
                floor.parts[i] = Lies {
                    kind: p.kind,
                    turn,
                    at: room.clamp(at),
                    sheet,
                };
            } else {
                floor.parts[i].at = room.clamp(at);
            }
        }
        floor.measure_all(&mut self.pairs);
        true
    }

    /// Presses a sheet, everything on `best` lying free: first in steps of a thousandth with
    /// parts changing places when stuck, in the last fifth of the time in ever finer steps.
    pub fn press(
        &mut self,
        best: &mut Floor,
        sheet: usize,
        axis: Axis,
        until: f64,
        tell: &mut dyn FnMut(&Floor, &mut dyn Watch),
    ) {
        let from = self.pulse.spent;
        let least = if best.areas.len() == 1 {
            self.least_reach(best, axis)
        } else {
            0.0
        };
        self.explore(best, sheet, axis, least, from + 0.8 * (until - from), tell);
        self.compress(best, sheet, axis, least, until, tell);
    }

    fn keep(
        &mut self,
        best: &mut Floor,
        floor: &Floor,
        sheet: usize,
        axis: Axis,
        tell: &mut dyn FnMut(&Floor, &mut dyn Watch),
    ) {
        best.clone_from(floor);
        let reach = self.reach(best, sheet, axis);
        let area = &mut best.areas[sheet];
        let far = axis.of(area.lo) + reach;
        axis.set(&mut area.hi, far);
        tell(best, self.pulse.watch);
    }

    fn explore(
        &mut self,
        best: &mut Floor,
        sheet: usize,
        axis: Axis,
        least: f64,
        until: f64,
        tell: &mut dyn FnMut(&Floor, &mut dyn Watch),
    ) {
        self.pulse.until = until;
        let finest = 0.001;
        let mut share = 0.02;
        let mut pool: Vec<(f64, Floor)> = Vec::new();
        let mut floor = best.clone();
        self.keep(best, &floor, sheet, axis, tell);
        let mut fresh = true;
        loop {
            let quick = share > finest;
            if fresh {
                floor.clone_from(best);
                let long = self.reach(&floor, sheet, axis);
                if long <= least {
                    return;
                }
                let to = (long * (1.0 - share)).floor().max(least);
                if !self.shorten(&mut floor, sheet, axis, to) {
                    if !quick {
                        return;
                    }
                    share = (share * 0.5).max(finest);
                    continue;
                }
            }
            let patience = Patience {
                rounds: if quick { 50 } else { 200 },
                strikes: if quick { 1 } else { 3 },
            };
            fresh = true;
            if self.part(&mut floor, patience) {
                self.keep(best, &floor, sheet, axis, tell);
                pool.clear();
            } else if quick {
                share = (share * 0.5).max(finest);
            } else {
                let cost = floor.total(&self.pairs);
                let at = pool.partition_point(|p| p.0 < cost);
                pool.insert(at, (cost, floor.clone()));
                let r = self.dice.between(0.0, 1.0);
                #[allow(
                    clippy::cast_precision_loss,
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "an index drawn by chance"
                )]
                let pick = ((r * r * pool.len() as f64) as usize).min(pool.len() - 1);
                floor.clone_from(&pool[pick].1);
                self.disturb(&mut floor);
                fresh = false;
            }
            if !self.pulse.go_on() {
                return;
            }
        }
    }

    /// Two large parts of different kinds change places.
    fn disturb(&mut self, floor: &mut Floor) {
        let n = floor.movable();
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|a, b| {
            let root = |i: &usize| self.pairs.root(floor.parts[*i].kind);
            root(b).total_cmp(&root(a))
        });
        let large = (n / 2).max(2).min(n);
        for _ in 0..20 {
            let (i, j) = (order[self.dice.below(large)], order[self.dice.below(large)]);
            let (a, b) = (floor.parts[i], floor.parts[j]);
            if a.kind == b.kind {
                continue;
            }
            let middle = |p: Lies| self.pairs.area(p.kind, p.turn).middle();
            let (u, v) = (middle(a), middle(b));
            let to_a = floor.areas[a.sheet].room_for(self.pairs.area(b.kind, b.turn));
            let to_b = floor.areas[b.sheet].room_for(self.pairs.area(a.kind, a.turn));
            if to_a.is_empty() || to_b.is_empty() {
                continue;
            }
            floor.parts[i].at = to_b.clamp((b.at + v - u).floor());
            floor.parts[i].sheet = b.sheet;
            floor.parts[j].at = to_a.clamp((a.at + u - v).floor());
            floor.parts[j].sheet = a.sheet;
            break;
        }
        floor.measure_all(&mut self.pairs);
    }

    fn compress(
        &mut self,
        best: &mut Floor,
        sheet: usize,
        axis: Axis,
        least: f64,
        until: f64,
        tell: &mut dyn FnMut(&Floor, &mut dyn Watch),
    ) {
        self.pulse.until = until;
        let patience = Patience {
            rounds: 100,
            strikes: 2,
        };
        let from = self.pulse.spent;
        let mut floor = best.clone();
        while self.pulse.go_on() {
            let share = ((self.pulse.spent - from) / (until - from)).clamp(0.0, 1.0);
            let shrink = 0.0005 * (0.02_f64).powf(share);
            let long = self.reach(best, sheet, axis);
            if long <= least {
                return;
            }
            floor.clone_from(best);
            let to = (long * (1.0 - shrink)).floor().max(least);
            if self.shorten(&mut floor, sheet, axis, to) && self.part(&mut floor, patience) {
                self.keep(best, &floor, sheet, axis, tell);
            }
        }
    }
}

/// The parts of one sheet, as told to others; `origin` is where the sheet lies on the floor.
pub fn told(floor: &Floor, sheet: usize, origin: P) -> Vec<Laid> {
    floor.parts[..floor.movable()]
        .iter()
        .filter(|p| p.sheet == sheet)
        .map(|p| Laid {
            kind: p.kind,
            turn: p.turn,
            at: (p.at - origin).spot(),
        })
        .collect()
}
