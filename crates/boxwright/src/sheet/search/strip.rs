//! Parts laid in a strip of fixed height, as short as can be.

use super::area::{Area, P, Whole as _};
use super::floor::{Floor, Lies};
use super::pairs::Pairs;
use super::place::{Effort, leftmost};
use super::separate::{Patience, separate};
use super::{Kind, Laid, Pulse, Watch, exact};
use crate::proof::Dice;

/// A strip with parts in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// Its length in grid steps.
    pub length: i64,
    /// The parts.
    pub placed: Vec<Laid>,
}

const EFFORT: Effort = Effort {
    wide: 30,
    near: 20,
    follow: 3,
};

/// Lays every part in a strip of this height, as short as the budget allows.
pub fn strip(kinds: &[Kind], height: i64, seed: u64, watch: &mut dyn Watch) -> Option<Strip> {
    let mut s = Search {
        kinds,
        pairs: Pairs::new(kinds.iter().map(|k| k.shape.clone()).collect()),
        dice: Dice(seed),
        pulse: Pulse::new(watch),
        best: Floor::new(
            Area {
                lo: P::ZERO,
                hi: P::ZERO,
            },
            Vec::new(),
            &[],
            &mut Pairs::new(Vec::new()),
        ),
    };
    #[allow(clippy::cast_precision_loss, reason = "bounded")]
    let height = height as f64;
    s.best = s.construct(height)?;
    s.keep();
    s.explore(0.8);
    s.compress();
    Some(s.told())
}

struct Search<'a> {
    kinds: &'a [Kind],
    pairs: Pairs,
    dice: Dice,
    pulse: Pulse<'a>,
    /// The shortest found, all parts free.
    best: Floor,
}

impl Search<'_> {
    /// Largest first, each as far left as it goes.
    fn construct(&mut self, height: f64) -> Option<Floor> {
        let mut order: Vec<usize> = self
            .kinds
            .iter()
            .enumerate()
            .flat_map(|(k, kind)| std::iter::repeat_n(k, kind.wanted as usize))
            .collect();
        let size = |k: &usize| {
            let s = self.pairs.area(*k, crate::sheet::Turn::None).size();
            self.pairs.root(*k) * s.length()
        };
        order.sort_by(|a, b| size(b).total_cmp(&size(a)));
        let mut floor = Floor::new(
            Area {
                lo: P::ZERO,
                hi: P::new(0.0, height),
            },
            Vec::new(),
            &[],
            &mut self.pairs,
        );
        let mut parts: Vec<Lies> = Vec::new();
        let mut long = 0.0_f64;
        for kind in order {
            let mut best: Option<(f64, Lies)> = None;
            for &turn in &self.kinds[kind].turns {
                let area = self.pairs.area(kind, turn);
                floor.area.hi.x = long + area.size().x;
                let room = floor.area.room_for(area);
                let all = parts
                    .iter()
                    .filter_map(|o| super::floor::foe_of(o, kind, turn, 1.0, &mut self.pairs))
                    .collect();
                let foes = super::floor::Foes::new(turn, room, all);
                if let Some(at) = leftmost(&foes, &self.pairs, &mut self.dice, 200) {
                    let right = at.x + area.hi.x;
                    if best.is_none_or(|b| right < b.0) {
                        best = Some((right, Lies { kind, turn, at }));
                    }
                }
            }
            let (right, lies) = best?;
            long = long.max(right);
            parts.push(lies);
        }
        floor.area.hi.x = long;
        Some(Floor::new(floor.area, parts, &[], &mut self.pairs))
    }

    fn right(&self, floor: &Floor) -> f64 {
        floor
            .parts
            .iter()
            .map(|p| p.at.x + self.pairs.area(p.kind, p.turn).hi.x)
            .fold(0.0, f64::max)
    }

    fn told(&self) -> Strip {
        Strip {
            length: P::new(self.best.area.hi.x, 0.0).spot().x,
            placed: self
                .best
                .parts
                .iter()
                .map(|p| Laid {
                    kind: p.kind,
                    turn: p.turn,
                    at: p.at.spot(),
                })
                .collect(),
        }
    }

    fn keep(&mut self) {
        let long = self.right(&self.best);
        self.best.area.hi.x = long;
        let told = self.told();
        self.pulse.watch.better_strip(&told);
    }

    /// The floor made shorter: what lies right of some line moves left, what sticks out is moved in.
    fn shrink(&mut self, floor: &mut Floor, long: f64, line: f64) {
        let by = floor.area.hi.x - long;
        floor.area.hi.x = long;
        for i in 0..floor.movable() {
            let p = floor.parts[i];
            let area = self.pairs.area(p.kind, p.turn);
            let room = floor.area.room_for(area);
            let mut at = p.at;
            if at.x + area.middle().x > line {
                at.x -= by;
            }
            floor.parts[i].at = room.clamp(at);
        }
        for i in 0..floor.movable() {
            floor.measure(i, &mut self.pairs);
        }
    }

    fn part(&mut self, floor: &mut Floor, patience: Patience) -> bool {
        floor.forget();
        separate(
            floor,
            self.kinds,
            patience,
            EFFORT,
            &mut self.pairs,
            &mut self.dice,
            &mut self.pulse,
        ) && self.vouched(floor)
    }

    /// The exact check, by arithmetic of its own.
    fn vouched(&self, floor: &Floor) -> bool {
        let shapes: Vec<_> = floor
            .parts
            .iter()
            .map(|p| self.pairs.placed(p.kind, p.turn, p.at))
            .collect();
        shapes
            .iter()
            .enumerate()
            .all(|(i, a)| shapes[..i].iter().all(|b| !exact::overlap(a, b)))
    }

    fn explore(&mut self, until: f64) {
        self.pulse.until = until;
        let patience = Patience {
            rounds: 200,
            strikes: 3,
        };
        let mut share = 0.02;
        let mut floor = self.best.clone();
        let mut pool: Vec<(f64, Floor)> = Vec::new();
        let long = self.best.area.hi.x;
        let line = self.dice.between(0.0, long);
        self.shrink(&mut floor, (long * (1.0 - share)).floor(), line);
        while !self.pulse.over() {
            let patience = if share > 0.0015 {
                Patience {
                    rounds: 50,
                    strikes: 1,
                }
            } else {
                patience
            };
            if self.part(&mut floor, patience) {
                self.best = floor.clone();
                self.keep();
                pool.clear();
            } else if share > 0.0015 {
                share = (share * 0.5).max(0.001);
                floor = self.best.clone();
            } else {
                let cost = floor.total(&self.pairs);
                let at = pool.partition_point(|p| p.0 < cost);
                pool.insert(at, (cost, floor));
                let r = self.dice.between(0.0, 1.0);
                #[allow(
                    clippy::cast_precision_loss,
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "an index drawn by chance"
                )]
                let pick = ((r * r * pool.len() as f64) as usize).min(pool.len() - 1);
                floor = pool[pick].1.clone();
                self.disturb(&mut floor);
                continue;
            }
            let long = self.best.area.hi.x;
            let line = self.dice.between(0.0, long);
            self.shrink(&mut floor, (long * (1.0 - share)).floor(), line);
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
            let (u, v) = (
                self.pairs.area(a.kind, a.turn).middle(),
                self.pairs.area(b.kind, b.turn).middle(),
            );
            for (k, at, t) in [(i, b.at + v - u, a), (j, a.at + u - v, b)] {
                let room = floor.area.room_for(self.pairs.area(t.kind, t.turn));
                floor.parts[k].at = room.clamp(at.floor());
            }
            break;
        }
        for i in 0..n {
            floor.measure(i, &mut self.pairs);
        }
    }

    fn compress(&mut self) {
        self.pulse.until = 1.0;
        self.pulse.go_on();
        let from = self.pulse.spent;
        let patience = Patience {
            rounds: 100,
            strikes: 2,
        };
        while !self.pulse.over() {
            let share = ((self.pulse.spent - from) / (1.0 - from)).clamp(0.0, 1.0);
            let shrink = 0.0005 * (0.02_f64).powf(share);
            let mut floor = self.best.clone();
            let long = floor.area.hi.x;
            let line = self.dice.between(0.0, long);
            self.shrink(&mut floor, (long * (1.0 - shrink)).floor(), line);
            if self.part(&mut floor, patience) {
                self.best = floor;
                self.keep();
            }
            if !self.pulse.go_on() {
                break;
            }
        }
    }
}
