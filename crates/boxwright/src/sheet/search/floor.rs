//! Parts on one sheet, whether or not they lie in one another, and what that costs.

use super::area::{Area, P, Quarter};
use super::pairs::Pairs;
use crate::sheet::shape::Turn;

/// A part on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lies {
    /// Its kind.
    pub kind: usize,
    /// How it is turned.
    pub turn: Turn,
    /// Where its origin is.
    pub at: P,
}

/// A sheet with parts on it. What is missing from its box, bites and holes, stands there as fixed
/// parts behind the movable ones.
#[derive(Clone, Debug)]
pub struct Floor {
    /// The box round the sheet.
    pub area: Area,
    /// The parts: movable ones first, then `fixed` fixed ones.
    pub parts: Vec<Lies>,
    /// How many of them are fixed.
    pub fixed: usize,
    /// Depth of each pair; symmetric.
    depths: Vec<f64>,
    /// Weight of each pair; symmetric, at least 1.
    weights: Vec<f64>,
}

/// What a part meets beside one other part.
#[derive(Clone, Copy, Debug)]
pub struct Foe {
    /// Shifts to the sheet's origin at which they can meet.
    pub area: Area,
    /// The forbidden set.
    pub set: usize,
    quarter: Quarter,
    at: P,
    /// What a grid step of depth costs.
    pub price: f64,
}

/// All that a part, turned in one way, can meet.
#[derive(Clone, Debug)]
pub struct Foes {
    /// The turn.
    pub turn: Turn,
    /// Where its origin may be.
    pub room: Area,
    /// The others.
    pub all: Vec<Foe>,
    /// For each square of the room, a bit for every foe that can be met there.
    masks: Vec<u64>,
    words: usize,
    /// Squares in a grid step.
    per: P,
}

/// Squares along a side of the room.
const SIDE: usize = 12;

impl Foe {
    /// A shift on the sheet as the set sees it.
    #[inline]
    pub fn seen(&self, p: P) -> P {
        self.quarter.back(p - self.at)
    }
    /// And the other way round.
    #[inline]
    pub fn unseen(&self, q: P) -> P {
        self.quarter.turn(q) + self.at
    }
    /// A way in the set as it is on the sheet.
    #[inline]
    pub fn unseen_way(&self, q: P) -> P {
        self.quarter.turn(q)
    }
}

impl Foes {
    /// Ready to be asked.
    pub fn new(turn: Turn, room: Area, all: Vec<Foe>) -> Self {
        let words = all.len().div_ceil(64);
        let mut foes = Self {
            turn,
            room,
            all,
            words,
            masks: vec![0; words * SIDE * SIDE],
            per: P::ZERO,
        };
        let n = SIDE as f64;
        let size = room.size().max(P::ONE);
        foes.per = P::splat(n) / size;
        for (k, foe) in foes.all.iter().enumerate() {
            if foe.area.lo.x > room.hi.x || foe.area.lo.y > room.hi.y
                || foe.area.hi.x < room.lo.x || foe.area.hi.y < room.lo.y {
                continue;
            }
            let (x0, y0) = foes.square(foe.area.lo);
            let (x1, y1) = foes.square(foe.area.hi);
            for y in y0..=y1 {
                for x in x0..=x1 {
                    foes.masks[(y * SIDE + x) * words + k / 64] |= 1 << (k % 64);
                }
            }
        }
        foes
    }
    #[inline]
    fn square(&self, p: P) -> (usize, usize) {
        let q = (p - self.room.lo) * self.per;
        ((q.x as usize).min(SIDE - 1), (q.y as usize).min(SIDE - 1))
    }
    /// What lying at `p` costs; once it passes `bound` it may be told short.
    #[inline]
    pub fn cost(&self, pairs: &Pairs, p: P, bound: f64) -> f64 {
        let mut sum = 0.0;
        let (x, y) = self.square(p);
        let from = (y * SIDE + x) * self.words;
        for (w, mask) in self.masks[from..from + self.words].iter().enumerate() {
            let mut mask = *mask;
            while mask != 0 {
                let k = w * 64 + mask.trailing_zeros() as usize;
                mask &= mask - 1;
                let foe = &self.all[k];
                if foe.area.holds_inside(p)
                    && let Some(set) = pairs.set(foe.set)
                {
                    let d = set.depth(foe.seen(p), (bound - sum) / foe.price);
                    if d > 0.0 {
                        sum += d * foe.price;
                        if sum >= bound {
                            return sum;
                        }
                    }
                }
            }
        }
        sum
    }
}

impl Floor {
    /// With these parts, and fixed ones behind them.
    pub fn new(area: Area, mut parts: Vec<Lies>, fixed: &[Lies], pairs: &mut Pairs) -> Self {
        parts.extend_from_slice(fixed);
        let n = parts.len();
        let mut floor = Self {
            area,
            parts,
            fixed: fixed.len(),
            depths: vec![0.0; n * n],
            weights: vec![1.0; n * n],
        };
        for i in 0..floor.movable() {
            floor.measure(i, pairs);
        }
        floor
    }
    /// How many parts can be moved.
    pub fn movable(&self) -> usize {
        self.parts.len() - self.fixed
    }
    /// Depth of a pair.
    pub fn depth(&self, i: usize, j: usize) -> f64 {
        self.depths[i * self.parts.len() + j]
    }
    /// All weights forgotten.
    pub fn forget(&mut self) {
        self.weights.fill(1.0);
    }
    /// The depths of one part measured anew.
    pub fn measure(&mut self, i: usize, pairs: &mut Pairs) {
        let n = self.parts.len();
        let a = self.parts[i];
        for j in 0..n {
            if j != i {
                let b = self.parts[j];
                let d = pairs.depth((a.kind, a.turn, a.at), (b.kind, b.turn, b.at));
                self.depths[i * n + j] = d;
                self.depths[j * n + i] = d;
            }
        }
    }
    /// Moves a part.
    pub fn put(&mut self, i: usize, turn: Turn, at: P, pairs: &mut Pairs) {
        self.parts[i].turn = turn;
        self.parts[i].at = at;
        self.measure(i, pairs);
    }
    /// Whether a part lies in any other.
    pub fn clashes(&self, i: usize) -> bool {
        let n = self.parts.len();
        self.depths[i * n..(i + 1) * n].iter().any(|d| *d > 0.0)
    }
    /// What the depths of all pairs come to, large parts counting more; 0 when all lie free.
    pub fn total(&self, pairs: &Pairs) -> f64 {
        let n = self.parts.len();
        let mut sum = 0.0;
        for i in 0..self.movable() {
            for j in i + 1..n {
                let d = self.depths[i * n + j];
                if d > 0.0 {
                    sum += d * scale(pairs, self.parts[i].kind, self.parts[j].kind);
                }
            }
        }
        sum
    }
    /// Pairs that lie in one another grow dearer, the deepest most; others grow cheaper.
    pub fn reweigh(&mut self) {
        let n = self.parts.len();
        let deepest = self.depths.iter().copied().fold(0.0, f64::max);
        if deepest <= 0.0 {
            return;
        }
        for (w, d) in self.weights.iter_mut().zip(&self.depths) {
            *w = if *d > 0.0 {
                (*w * (1.2 + 0.8 * d / deepest)).min(1e12)
            } else {
                (*w * 0.95).max(1.0)
            };
        }
        debug_assert_eq!(self.weights.len(), n * n);
    }
    /// What part `i` would meet, turned so.
    pub fn foes(&self, i: usize, turn: Turn, pairs: &mut Pairs) -> Foes {
        let n = self.parts.len();
        let kind = self.parts[i].kind;
        let mut all = Vec::with_capacity(n);
        for (j, other) in self.parts.iter().enumerate() {
            if j == i {
                continue;
            }
            let price = self.weights[i * n + j] * scale(pairs, kind, other.kind);
            if let Some(foe) = foe_of(other, kind, turn, price, pairs) {
                all.push(foe);
            }
        }
        Foes::new(turn, self.area.room_for(pairs.area(kind, turn)), all)
    }
}

/// What `kind` turned so meets beside `other`.
pub fn foe_of(other: &Lies, kind: usize, turn: Turn, price: f64, pairs: &mut Pairs) -> Option<Foe> {
    let way = pairs.way((other.kind, other.turn), (kind, turn))?;
    let area = pairs.set(way.set)?.area;
    let (u, v) = (way.quarter.turn(area.lo), way.quarter.turn(area.hi));
    Some(Foe {
        area: Area {
            lo: u.min(v) + other.at,
            hi: u.max(v) + other.at,
        },
        set: way.set,
        quarter: way.quarter,
        at: other.at,
        price,
    })
}

/// Large parts count more, as they are harder to place elsewhere.
fn scale(pairs: &Pairs, a: usize, b: usize) -> f64 {
    (pairs.root(a) * pairs.root(b)).sqrt()
}
