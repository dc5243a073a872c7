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
    /// On which of the floor's sheets.
    pub sheet: usize,
}

/// Sheets side by side, so far apart that no part reaches from one to another, with parts on them.
/// What is missing from a sheet's box, bites and holes, stands there as fixed parts behind the
/// movable ones.
#[derive(Clone, Debug)]
pub struct Floor {
    /// The boxes round the sheets.
    pub areas: Vec<Area>,
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
    /// Where its origin may be: sheets it fits on, each with the box left for the origin.
    pub rooms: Vec<(usize, Area)>,
    /// The others.
    pub all: Vec<Foe>,
    /// For each square of the room, a bit for every foe that can be met there.
    masks: Vec<u64>,
    words: usize,
    /// The least corner of the squares, and squares in a grid step.
    lo: P,
    per: P,
    across: usize,
}

/// Squares along a side of a sheet.
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
    #[allow(clippy::cast_precision_loss, reason = "a count of squares")]
    pub fn new(turn: Turn, rooms: Vec<(usize, Area)>, all: Vec<Foe>) -> Self {
        let mut whole = Area::empty();
        for (_, room) in &rooms {
            whole.add(room.lo);
            whole.add(room.hi);
        }
        let across = SIDE * rooms.len().clamp(1, 8);
        let words = all.len().div_ceil(64);
        let mut foes = Self {
            turn,
            rooms,
            all,
            masks: vec![0; words * SIDE * across],
            words,
            lo: whole.lo,
            per: P::new(across as f64, SIDE as f64) / whole.size().max(P::ONE),
            across,
        };
        for (k, foe) in foes.all.iter().enumerate() {
            let a = foe.area;
            if a.lo.x > whole.hi.x
                || a.lo.y > whole.hi.y
                || a.hi.x < whole.lo.x
                || a.hi.y < whole.lo.y
            {
                continue;
            }
            let (x0, y0) = foes.square(a.lo);
            let (x1, y1) = foes.square(a.hi);
            for y in y0..=y1 {
                for x in x0..=x1 {
                    foes.masks[(y * across + x) * words + k / 64] |= 1 << (k % 64);
                }
            }
        }
        foes
    }
    #[inline]
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "casts saturate, and the bound is applied after"
    )]
    fn square(&self, p: P) -> (usize, usize) {
        let q = (p - self.lo) * self.per;
        (
            (q.x as usize).min(self.across - 1),
            (q.y as usize).min(SIDE - 1),
        )
    }
    /// What lying at `p` costs; once it passes `bound` it may be told short.
    #[inline]
    pub fn cost(&self, pairs: &Pairs, p: P, bound: f64) -> f64 {
        let mut sum = 0.0;
        let (x, y) = self.square(p);
        let from = (y * self.across + x) * self.words;
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
    pub fn new(areas: Vec<Area>, mut parts: Vec<Lies>, fixed: &[Lies], pairs: &mut Pairs) -> Self {
        parts.extend_from_slice(fixed);
        let n = parts.len();
        let mut floor = Self {
            areas,
            parts,
            fixed: fixed.len(),
            depths: vec![0.0; n * n],
            weights: vec![1.0; n * n],
        };
        floor.measure_all(pairs);
        floor
    }
    /// All depths measured anew.
    pub fn measure_all(&mut self, pairs: &mut Pairs) {
        for i in 0..self.movable() {
            self.measure(i, pairs);
        }
    }
    /// How many parts can be moved.
    pub fn movable(&self) -> usize {
        self.parts.len() - self.fixed
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
    /// Every part where it lies on another floor of the same parts; weights are kept.
    pub fn back_to(&mut self, other: &Self) {
        self.parts.clone_from(&other.parts);
        self.depths.clone_from(&other.depths);
    }
    /// Moves a part.
    pub fn put(&mut self, i: usize, to: Lies, pairs: &mut Pairs) {
        self.parts[i] = to;
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
    /// Where the origin of a kind turned so may be.
    pub fn rooms(&self, kind: usize, turn: Turn, pairs: &Pairs) -> Vec<(usize, Area)> {
        let part = pairs.area(kind, turn);
        self.areas
            .iter()
            .map(|a| a.room_for(part))
            .enumerate()
            .filter(|(_, room)| !room.is_empty())
            .collect()
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
        Foes::new(turn, self.rooms(kind, turn, pairs), all)
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
