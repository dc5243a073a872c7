//! Things and candidate cases as indices into the distinct values of each size, and the search for
//! the candidates that are worth most at given prices.
//!
//! Some best suite has only cases that are as large as the largest of what lies in them in each size
//! (were one larger, it could shrink). So a candidate is a triple of values of which each is that of
//! some thing that fits: a *tight* one. There may be millions; they are searched in blocks.

use super::price::Price;
use super::watch::Work;
use crate::units::{Length, Mass};

/// A kind of thing: what it needs in each size (as an index), how many, and its mass (as an index).
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub at: [u32; 3],
    pub weight: f64,
    pub group: u32,
}

/// Place of a candidate: an index for each size.
pub(super) type At = [u32; 3];

pub(super) struct Space<'a> {
    pub values: [Vec<Length>; 3],
    pub items: Vec<Item>,
    pub groups: Vec<Mass>,
    /// The cost of each thing in the best case that is kept; infinite where it fits none.
    pub base: Vec<f64>,
    /// No candidate reaches beyond this.
    most: Option<[Length; 3]>,
    price: &'a dyn Price,
    /// `least[d][v][o]`: of the things whose size `d` is the value `v` and whose next size is at most
    /// `o`, the least of the size after that.
    least: [Vec<u32>; 3],
}

/// Which candidates are wanted.
#[derive(Clone, Copy, Debug)]
pub(super) enum Wanted {
    /// So many of the best.
    Best(usize),
    /// All, unless they are more than so many.
    All(usize),
}

/// What a hunt found: candidates with their worth, the best first.
pub(super) struct Bag {
    pub found: Vec<(f64, At)>,
    /// Whether it is complete: not cut short by the number or the work.
    pub whole: bool,
}

impl<'a> Space<'a> {
    pub fn new(
        values: [Vec<Length>; 3],
        items: Vec<Item>,
        groups: Vec<Mass>,
        base: Vec<f64>,
        most: Option<[Length; 3]>,
        price: &'a dyn Price,
    ) -> Self {
        let least = [0, 1, 2].map(|d: usize| {
            let (e, f) = ((d + 1) % 3, (d + 2) % 3);
            let wide = values[e].len();
            let mut table = vec![u32::MAX; values[d].len() * wide];
            for item in &items {
                let (v, o) = (item.at[d] as usize, item.at[e] as usize);
                let cell = &mut table[v * wide + o];
                *cell = (*cell).min(item.at[f]);
            }
            for row in table.chunks_mut(wide) {
                let mut least = u32::MAX;
                for cell in row {
                    least = least.min(*cell);
                    *cell = least;
                }
            }
            table
        });
        Self {
            values,
            items,
            groups,
            base,
            most,
            price,
            least,
        }
    }

    /// What no suite costs less than: every thing in a case of its own size, or in what is kept.
    pub fn base_or_least(&self) -> f64 {
        let mut costs = Vec::new();
        let mut own = |(item, base): (&Item, &f64)| {
            self.costs(item.at, &mut costs);
            item.weight * base.min(costs[item.group as usize])
        };
        self.items.iter().zip(&self.base).map(&mut own).sum()
    }

    pub fn size(&self, at: At) -> [Length; 3] {
        [0, 1, 2].map(|d| self.values[d][at[d] as usize])
    }

    /// Whether in each size some thing that fits is as large as the candidate.
    pub fn tight(&self, at: At) -> bool {
        (0..3).all(|d| {
            let (e, f) = ((d + 1) % 3, (d + 2) % 3);
            let cell = at[d] as usize * self.values[e].len() + at[e] as usize;
            self.least[d][cell] <= at[f]
        })
    }

    /// Whether such a case can be had.
    pub fn allowed(&self, at: At) -> bool {
        let size = self.size(at);
        self.most.is_none_or(|m| (0..3).all(|d| size[d] <= m[d])) && self.price.allowed(size)
    }

    /// The cost of one such case for each mass.
    pub fn costs(&self, at: At, out: &mut Vec<f64>) {
        let size = self.size(at);
        out.clear();
        out.extend(self.groups.iter().map(|m| self.price.cost(size, *m)));
    }

    /// Whether a cost is seen to fall while one size grows, at some places spread over all.
    pub fn falls(&self) -> bool {
        const STEPS: usize = 8;
        let net = [0, 1, 2].map(|d| {
            let last = self.values[d].len() - 1;
            (0..=STEPS).filter_map(move |s| u32::try_from(last * s / STEPS).ok())
        });
        let (mut one, mut two) = (Vec::new(), Vec::new());
        for a in net[0].clone() {
            for b in net[1].clone() {
                for c in net[2].clone() {
                    let at = [a, b, c];
                    self.costs(at, &mut one);
                    for d in 0..3 {
                        let mut next = at;
                        next[d] += 1;
                        if (next[d] as usize) < self.values[d].len() {
                            self.costs(next, &mut two);
                            if two.iter().zip(&one).any(|(n, o)| *n < *o * FALLS) {
                                return true;
                            }
                        }
                    }
                }
            }
        }
        false
    }

    /// The smallest candidate that holds all of these things; `None` for no thing.
    pub fn hull(&self, of: impl IntoIterator<Item = usize>) -> Option<At> {
        let ats = of.into_iter().map(|i| self.items[i].at);
        ats.reduce(|a, b| [0, 1, 2].map(|d| a[d].max(b[d])))
    }

    /// Candidates from `floor` on whose worth at these prices of the things (for one of each kind) is
    /// below `limit`. Worth is negative: minus what is saved by having the case.
    pub fn hunt(
        &self,
        prices: &[f64],
        floor: At,
        limit: f64,
        wanted: Wanted,
        work: &mut Work<'_>,
    ) -> Bag {
        let mut bag = Bag {
            found: Vec::new(),
            whole: true,
        };
        let mut limit = limit;
        let all: Vec<u32> = (0..self.items.len())
            .filter(|i| prices[*i] > 0.0)
            .filter_map(|i| u32::try_from(i).ok())
            .collect();
        let top = [0, 1, 2].map(|d| self.values[d].len().saturating_sub(1));
        let top = top.map(|v| u32::try_from(v).unwrap_or(u32::MAX));
        let mut stack = Vec::new();
        let mut costs = Vec::new();
        let mut falls = false;
        let mut block = |low, high, of: &[u32], parent: Option<&Vec<f64>>| {
            let block = self.block(low, high, of, prices, &mut costs)?;
            let fallen = |p: &Vec<f64>| block.costs.iter().zip(p).any(|(c, p)| *c < *p * FALLS);
            falls |= parent.is_some_and(fallen);
            Some(block)
        };
        stack.extend(block(floor, top, &all, None));
        while let Some(part) = stack.pop() {
            if part.bound >= limit {
                continue;
            }
            let steps = part.items.len() + 8;
            if !work.spend(steps * 2) {
                bag.whole = false;
                break;
            }
            if part.low == part.high {
                if self.tight(part.low) && self.allowed(part.low) {
                    bag.found.push((part.bound, part.low));
                    match wanted {
                        Wanted::Best(n) if bag.found.len() > n + n / 2 => {
                            bag.found.sort_by(order);
                            bag.found.truncate(n);
                            limit = limit.min(bag.found.last().map_or(limit, |f| f.0));
                        }
                        Wanted::Best(1) => limit = limit.min(part.bound),
                        Wanted::All(most) if bag.found.len() > most => {
                            bag.whole = false;
                            break;
                        }
                        _ => {}
                    }
                }
                continue;
            }
            // Halved where its ends lie farthest apart in proportion.
            let (low, high) = (self.size(part.low), self.size(part.high));
            let spread = |d: usize| {
                if part.low[d] == part.high[d] {
                    0.0
                } else {
                    high[d] / low[d]
                }
            };
            let d = (0..3)
                .max_by(|a, b| spread(*a).total_cmp(&spread(*b)))
                .unwrap_or(0);
            let middle = u32::midpoint(part.low[d], part.high[d]);
            let (mut below, mut above) = (part.high, part.low);
            below[d] = middle;
            above[d] = middle + 1;
            let parent = Some(&part.costs);
            let one = block(part.low, below, &part.items, parent);
            let two = block(above, part.high, &part.items, parent);
            let mut both: Vec<Block> = one.into_iter().chain(two).collect();
            both.retain(|b| b.bound < limit);
            // The better one is looked at first.
            both.sort_by(|a, b| b.bound.total_cmp(&a.bound));
            stack.append(&mut both);
        }
        work.falls |= falls;
        bag.found.sort_by(order);
        if let Wanted::Best(n) = wanted {
            bag.found.truncate(n);
        }
        bag
    }

    /// What a block of candidates can be worth at most: its largest holds what fits, at the price of
    /// its smallest.
    fn block(
        &self,
        low: At,
        high: At,
        of: &[u32],
        prices: &[f64],
        costs: &mut Vec<f64>,
    ) -> Option<Block> {
        if self.most.is_some_and(|m| {
            let size = self.size(low);
            (0..3).any(|d| size[d] > m[d])
        }) {
            return None;
        }
        self.costs(low, costs);
        let mut items = Vec::with_capacity(of.len());
        let mut bound = 0.0;
        for i in of {
            let item = &self.items[*i as usize];
            let fits = item.at[0] <= high[0] && item.at[1] <= high[1] && item.at[2] <= high[2];
            let gain = prices[*i as usize] - costs[item.group as usize];
            if fits && gain > 0.0 {
                bound -= item.weight * gain;
                items.push(*i);
            }
        }
        if items.is_empty() {
            // Nothing is saved by any of these, but they are candidates still.
            bound = 0.0;
        }
        Some(Block {
            low,
            high,
            bound,
            items,
            costs: costs.clone(),
        })
    }
}

/// A cost below this share of that of a smaller case has fallen; nearer, it is rounding.
const FALLS: f64 = 1.0 - 1e-9;

struct Block {
    low: At,
    high: At,
    bound: f64,
    items: Vec<u32>,
    costs: Vec<f64>,
}

fn order(a: &(f64, At), b: &(f64, At)) -> std::cmp::Ordering {
    a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
}
