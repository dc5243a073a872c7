//! The best place for one part while the others lie still.
//!
//! Places are tried all over the sheet and round where the part lies, in every turn. From the best
//! few the cost is followed downhill, and then to the nearby corners of the forbidden sets: depth is
//! concave inside a convex set, so that the least cost is at such a corner.

use super::area::{Area, P, Whole as _};
use super::floor::{Floor, Foes, Lies};
use super::pairs::Pairs;
use crate::proof::Dice;
use crate::sheet::shape::Turn;

/// How hard to look.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Places tried all over the sheet.
    pub wide: usize,
    /// Places tried near where the part lies.
    pub near: usize,
    /// Of those, how many are followed downhill.
    pub follow: usize,
}

/// Best so many places, dearest last.
struct Best {
    /// Which turn, which room, where, at what cost.
    places: Vec<((usize, usize), P, f64)>,
    keep: usize,
}

impl Best {
    fn bound(&self) -> f64 {
        if self.places.len() < self.keep {
            f64::INFINITY
        } else {
            self.places.last().map_or(f64::INFINITY, |p| p.2)
        }
    }
    fn offer(&mut self, which: (usize, usize), at: P, cost: f64, apart: f64) {
        if cost >= self.bound() {
            return;
        }
        // Two places in the same dip are as good as one.
        if let Some(k) = self
            .places
            .iter()
            .position(|p| p.0 == which && (p.1 - at).abs().max_element() < apart)
        {
            if self.places[k].2 <= cost {
                return;
            }
            self.places.remove(k);
        }
        let k = self.places.partition_point(|p| p.2 <= cost);
        self.places.insert(k, (which, at, cost));
        self.places.truncate(self.keep);
    }
}

/// The best place found for part `i`; at worst where it lies. `None` when it fits nowhere.
pub fn best_place(
    floor: &Floor,
    i: usize,
    turns: &[Turn],
    effort: Effort,
    pairs: &mut Pairs,
    dice: &mut Dice,
) -> Option<Lies> {
    let here = floor.parts[i];
    let foes: Vec<Foes> = turns
        .iter()
        .map(|t| floor.foes(i, *t, pairs))
        .filter(|f| !f.rooms.is_empty())
        .collect();
    if foes.is_empty() {
        return None;
    }
    let pairs = &*pairs;
    let shape = pairs.area(here.kind, here.turn);
    let least = shape.size().min_element();
    let apart = least * 0.05;
    let mut best = Best {
        places: Vec::with_capacity(effort.follow + 1),
        keep: effort.follow,
    };
    let room_here = |f: &Foes| f.rooms.iter().position(|r| r.0 == here.sheet);
    if let Some(k) = foes.iter().position(|f| f.turn == here.turn)
        && let Some(r) = room_here(&foes[k])
    {
        let at = foes[k].rooms[r].1.clamp(here.at);
        let cost = foes[k].cost(pairs, at, f64::INFINITY);
        best.offer((k, r), at, cost, apart);
    }
    for n in 0..effort.wide + effort.near {
        let k = if n < effort.wide {
            n % foes.len()
        } else {
            dice.below(foes.len())
        };
        let f = &foes[k];
        let near = if n < effort.wide { None } else { room_here(f) };
        let (r, area) = match near {
            None => {
                let r = dice.below(f.rooms.len());
                (r, f.rooms[r].1)
            }
            Some(r) => {
                // Turned about its middle, then shifted.
                let room = f.rooms[r].1;
                let at = here.at + shape.middle() - pairs.area(here.kind, f.turn).middle();
                let reach = shape.size() * 0.3;
                let area = Area {
                    lo: room.clamp(at - reach),
                    hi: room.clamp(at + reach),
                };
                (r, area)
            }
        };
        let at = P::new(
            dice.between(area.lo.x, area.hi.x).round(),
            dice.between(area.lo.y, area.hi.y).round(),
        );
        let cost = f.cost(pairs, at, best.bound());
        best.offer((k, r), at, cost, apart);
    }
    let mut found: Option<((usize, usize), (P, f64))> = None;
    for (n, ((k, r), at, cost)) in best.places.into_iter().enumerate() {
        let f = &foes[k];
        let room = f.rooms[r].1;
        let step = if n == 0 { 0.05 } else { 0.12 };
        // What is far dearer than the best halfway down is not followed to the end.
        let bound = found.map_or(f64::INFINITY, |p| 2.0 * p.1.1);
        let (at, cost) = downhill(f, room, pairs, (at, cost), least * step, bound, dice);
        if found.is_none_or(|p| cost < p.1.1) {
            found = Some(((k, r), (at, cost)));
            if cost <= 0.0 {
                break;
            }
        }
    }
    found.map(|((k, r), (at, cost))| {
        let f = &foes[k];
        let (sheet, room) = f.rooms[r];
        Lies {
            kind: here.kind,
            turn: f.turn,
            at: by_steps(f, room, pairs, at, cost).0,
            sheet,
        }
    })
}

/// Follows the cost downhill from a place.
fn downhill(
    f: &Foes,
    room: Area,
    pairs: &Pairs,
    (mut at, mut cost): (P, f64),
    first: f64,
    bound: f64,
    dice: &mut Dice,
) -> (P, f64) {
    let mut step = first;
    let last = (first * 0.1).max(1.0);
    while step >= last && cost > 0.0 {
        let way = match dice.below(4) {
            0 => P::X,
            1 => P::Y,
            2 => P::new(1.0, 1.0),
            _ => P::new(1.0, -1.0),
        } * step.round();
        let mut better = false;
        for to in [at + way, at - way] {
            let to = room.clamp(to);
            let c = f.cost(pairs, to, cost);
            if c < cost {
                (at, cost, better) = (to, c, true);
            }
        }
        step *= if better { 1.1 } else { 0.6 };
    }
    if cost > bound {
        return (at, cost);
    }
    let mut radius = first * 0.5;
    while cost > 0.0 && radius >= 4.0 {
        let (to, c, more) = corner(f, room, pairs, at, cost, radius);
        if c < cost {
            (at, cost) = (to, c);
        } else if more {
            radius *= 0.2;
        } else {
            break;
        }
    }
    (at, cost)
}

/// The best of the corners of forbidden sets within `radius`, and of the nearest points on edges;
/// only the nearest edges are looked at, and whether there were more is told.
fn corner(f: &Foes, room: Area, pairs: &Pairs, at: P, cost: f64, radius: f64) -> (P, f64, bool) {
    const MOST: usize = 8;
    // Lines through the place's surroundings: distance, a point, a way.
    let mut lines: Vec<(f64, P, P)> = Vec::with_capacity(32);
    for (d, point, way) in [
        (at.x - room.lo.x, room.lo, P::Y),
        (room.hi.x - at.x, room.hi, P::Y),
        (at.y - room.lo.y, room.lo, P::X),
        (room.hi.y - at.y, room.hi, P::X),
    ] {
        if d <= radius {
            lines.push((d * d, point, way));
        }
    }
    let r2 = radius * radius;
    for foe in &f.all {
        if !foe.area.grown(radius).holds_inside(at) {
            continue;
        }
        let Some(set) = pairs.set(foe.set) else {
            continue;
        };
        let q = foe.seen(at);
        for e in &set.edges {
            let d2 = e.distance2(q);
            if d2 <= r2 {
                lines.push((d2, foe.unseen(e.a), foe.unseen_way(e.e)));
            }
        }
    }
    lines.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let more = lines.len() > MOST;
    lines.truncate(MOST);
    let mut best = (at, cost, more);
    let mut offer = |p: P| {
        if (p - at).length_squared() <= r2 {
            let p = room.clamp(p.round());
            let c = f.cost(pairs, p, best.1);
            if c < best.1 {
                best = (p, c, more);
            }
        }
    };
    for (i, (_, p, u)) in lines.iter().enumerate() {
        offer(*p + *u * ((at - *p).dot(*u) / u.dot(*u)));
        for (_, q, v) in &lines[..i] {
            let turning = u.perp_dot(*v);
            if turning.abs() > 1e-9 * u.length() * v.length() {
                offer(*p + *u * ((*q - *p).perp_dot(*v) / turning));
            }
        }
    }
    best
}

/// Follows the cost downhill by single grid steps, for what rounding left over.
fn by_steps(f: &Foes, room: Area, pairs: &Pairs, mut at: P, mut cost: f64) -> (P, f64) {
    for _ in 0..8 {
        if cost <= 0.0 {
            break;
        }
        let from = at;
        for dx in [-1.0, 0.0, 1.0] {
            for dy in [-1.0, 0.0, 1.0] {
                let to = room.clamp(from + P::new(dx, dy));
                let c = f.cost(pairs, to, cost);
                if c < cost {
                    (at, cost) = (to, c);
                }
            }
        }
        if at == from {
            break;
        }
    }
    (at, cost)
}

/// The first free place for part kind `kind` counted from the left, then from below; exact along
/// every line it looks at. `None` when none was found.
pub fn leftmost(f: &Foes, room: Area, pairs: &Pairs, dice: &mut Dice, lines: usize) -> Option<P> {
    if room.is_empty() {
        return None;
    }
    let mut heights = vec![room.lo.y, room.hi.y];
    for foe in &f.all {
        if let Some(set) = pairs.set(foe.set) {
            heights.extend(set.edges.iter().map(|e| foe.unseen(e.a).y));
        }
    }
    heights.retain(|y| *y >= room.lo.y && *y <= room.hi.y);
    heights.sort_unstable_by(f64::total_cmp);
    heights.dedup();
    if heights.len() > lines {
        for i in 2..lines {
            let j = i + dice.below(heights.len() - i);
            heights.swap(i, j);
        }
        heights.truncate(lines);
    }
    for _ in 0..lines / 4 {
        heights.push(dice.between(room.lo.y, room.hi.y).round());
    }
    let mut best: Option<P> = None;
    let mut stops = Vec::new();
    for y in heights {
        stops.clear();
        stops.push(room.lo.x);
        let bound = best.map_or(room.hi.x, |b| b.x);
        for foe in &f.all {
            if foe.area.lo.y >= y || foe.area.hi.y <= y || foe.area.lo.x > bound {
                continue;
            }
            let Some(set) = pairs.set(foe.set) else {
                continue;
            };
            for e in &set.edges {
                let (a, w) = (foe.unseen(e.a), foe.unseen_way(e.e));
                let end = a.y + w.y;
                if w.y == 0.0 || y < a.y.min(end) || y > a.y.max(end) {
                    continue;
                }
                let x = (a.x + w.x * ((y - a.y) / w.y)).ceil();
                if x >= room.lo.x && x <= bound {
                    stops.push(x);
                    if w.x != 0.0 {
                        stops.push(x + 3.0);
                    }
                }
            }
        }
        stops.sort_unstable_by(f64::total_cmp);
        for x in &stops {
            let p = P::new(*x, y);
            if *x > room.hi.x || best.is_some_and(|b| (b.x, b.y) <= (p.x, p.y)) {
                break;
            }
            if f.cost(pairs, p, 0.0) <= 0.0 {
                best = Some(p);
                break;
            }
        }
    }
    best.map(|p| P::of(p.spot()))
}
