//! Candidates at hand as columns, and the bound of a relaxed problem over them.
//!
//! The rule that each thing lies in some case is relaxed at a price `v` for each thing. What is left
//! falls apart: a candidate is worth the sum of `weight * min(0, cost - v)` over what fits, and the `k`
//! candidates worth most are taken (Held and Karp, Operations Research 18 (1970) 1138-1162; for
//! medians Narula, Ogbu and Samuelsson, Operations Research 25 (1977) 709-713; both from memory).
//! Prices climb along the direction in which things are covered too little or too much.

use super::space::{At, Space};
use super::watch::Work;

/// Candidates with what fits each.
#[derive(Default)]
pub(super) struct Cols {
    pub at: Vec<At>,
    start: Vec<usize>,
    item: Vec<u32>,
    cost: Vec<f64>,
}

impl Cols {
    pub fn push(&mut self, space: &Space<'_>, at: At) {
        if self.start.is_empty() {
            self.start.push(0);
        }
        let mut costs = Vec::new();
        space.costs(at, &mut costs);
        self.cost.extend(&costs);
        for (i, item) in (0_u32..).zip(&space.items) {
            let fits = (0..3).all(|d| item.at[d] <= at[d]);
            if fits && costs[item.group as usize] < space.base[i as usize] {
                self.item.push(i);
            }
        }
        self.at.push(at);
        self.start.push(self.item.len());
    }
    pub fn len(&self) -> usize {
        self.at.len()
    }
    pub fn entries(&self) -> usize {
        self.item.len()
    }
    pub fn items(&self, col: usize) -> &[u32] {
        &self.item[self.start[col]..self.start[col + 1]]
    }
    pub fn costs(&self, space: &Space<'_>, col: usize) -> &[f64] {
        let g = space.groups.len();
        &self.cost[col * g..(col + 1) * g]
    }
}

/// A relaxed problem: some of the columns, some of what fits them.
pub(super) struct Frame<'a> {
    pub space: &'a Space<'a>,
    pub cols: &'a Cols,
    /// The columns in play.
    pub ids: Vec<u32>,
    start: Vec<usize>,
    item: Vec<u32>,
    /// How many may be taken.
    pub k: usize,
    /// What each thing costs in what is open already; infinite where it fits nothing.
    pub base: Vec<f64>,
    /// The least cost of each thing in any column or in what is open.
    pub least: Vec<f64>,
}

/// Where a climb ended.
pub(super) struct Climb {
    pub bound: f64,
    pub prices: Vec<f64>,
    /// Worth of each column of the frame at these prices.
    pub worth: Vec<f64>,
    /// How often each was taken of late, as a share.
    pub share: Vec<f64>,
}

impl<'a> Frame<'a> {
    /// Columns `ids` with things whose cost stays within their `cap`.
    pub fn new(
        space: &'a Space<'a>,
        cols: &'a Cols,
        ids: Vec<u32>,
        k: usize,
        base: Vec<f64>,
        caps: &[f64],
    ) -> Self {
        let mut f = Self {
            space,
            cols,
            start: vec![0],
            item: Vec::new(),
            k,
            least: base.clone(),
            ids,
            base,
        };
        for col in &f.ids {
            let col = *col as usize;
            let costs = cols.costs(space, col);
            for i in cols.items(col) {
                let u = *i as usize;
                let c = costs[space.items[u].group as usize];
                if c <= caps[u] && c < f.base[u] {
                    f.item.push(*i);
                    f.least[u] = f.least[u].min(c);
                }
            }
            f.start.push(f.item.len());
        }
        f
    }
    pub fn entries(&self) -> usize {
        self.item.len()
    }
    pub fn items(&self, n: usize) -> &[u32] {
        &self.item[self.start[n]..self.start[n + 1]]
    }
    pub fn costs(&self, n: usize) -> &[f64] {
        self.cols.costs(self.space, self.ids[n] as usize)
    }

    fn worths(&self, prices: &[f64], pairs: &mut Vec<(f64, f64)>, out: &mut Vec<f64>) {
        let items = &self.space.items;
        pairs.clear();
        pairs.extend(items.iter().zip(prices).map(|(i, v)| (i.weight, *v)));
        out.clear();
        let one = self.space.groups.len() == 1;
        for n in 0..self.ids.len() {
            let costs = self.costs(n);
            // Two sums, so that one addition need not wait for the other.
            let mut sums = [0.0; 2];
            if one {
                let c = costs[0];
                let mut two = self.items(n).chunks_exact(2);
                for pair in &mut two {
                    let (w, v) = pairs[pair[0] as usize];
                    sums[0] += w * (v - c).max(0.0);
                    let (w, v) = pairs[pair[1] as usize];
                    sums[1] += w * (v - c).max(0.0);
                }
                for i in two.remainder() {
                    let (w, v) = pairs[*i as usize];
                    sums[0] += w * (v - c).max(0.0);
                }
            } else {
                for i in self.items(n) {
                    let (w, v) = pairs[*i as usize];
                    let c = costs[items[*i as usize].group as usize];
                    sums[0] += w * (v - c).max(0.0);
                }
            }
            out.push(-(sums[0] + sums[1]));
        }
    }

    /// Climbs for so many rounds. `seen` is given what is taken in each round (indices into `ids`) and
    /// says what the best suite costs by now.
    pub fn climb(
        &self,
        mut prices: Vec<f64>,
        rounds: usize,
        patience: usize,
        mut best_cost: f64,
        work: &mut Work<'_>,
        seen: &mut dyn FnMut(&[usize]) -> f64,
    ) -> Climb {
        let items = &self.space.items;
        let n = items.len();
        let clip = |v: f64, i: usize| v.max(self.least[i]).min(self.base[i]);
        for (i, v) in prices.iter_mut().enumerate() {
            *v = clip(*v, i);
        }
        let mut best = Climb {
            bound: f64::NEG_INFINITY,
            prices: prices.clone(),
            worth: Vec::new(),
            share: vec![0.0; self.ids.len()],
        };
        let mut worth = Vec::new();
        let mut pairs = Vec::new();
        let mut order: Vec<usize> = Vec::new();
        let mut way = vec![0.0; n];
        let mut pace = 1.0;
        let mut since = 0;
        for round in 0..rounds {
            if !work.spend(self.entries() + n * (self.k + 2)) {
                break;
            }
            self.worths(&prices, &mut pairs, &mut worth);
            order.clear();
            order.extend(0..worth.len());
            let by = |a: &usize, b: &usize| worth[*a].total_cmp(&worth[*b]).then(a.cmp(b));
            if self.k < order.len() && self.k > 0 {
                order.select_nth_unstable_by(self.k - 1, by);
            }
            order.truncate(self.k);
            order.sort_unstable_by(by);
            let mut bound: f64 = items.iter().zip(&prices).map(|(i, v)| i.weight * v).sum();
            bound += order.iter().map(|j| worth[*j]).sum::<f64>();
            if bound > best.bound + best.bound.abs() * 1e-7 {
                since = 0;
            } else {
                since += 1;
            }
            if bound > best.bound {
                best.bound = bound;
                best.prices.clone_from(&prices);
                best.worth.clone_from(&worth);
            }
            best_cost = best_cost.min(seen(&order));
            if best.bound >= best_cost - best_cost.abs() * super::tree::SAME {
                break;
            }
            if since > patience {
                since = 0;
                pace *= 0.5;
                prices.clone_from(&best.prices);
                way.fill(0.0);
                if pace < 2e-3 {
                    break;
                }
                continue;
            }
            let late = 1.0 / (1.0 + (round as f64).min(40.0));
            for s in &mut best.share {
                *s *= 1.0 - late;
            }
            let mut slope = vec![1.0; n];
            for j in &order {
                best.share[*j] += late;
                let costs = self.costs(*j);
                for i in self.items(*j) {
                    let i = *i as usize;
                    if prices[i] > costs[items[i].group as usize] {
                        slope[i] -= 1.0;
                    }
                }
            }
            let mut norm = 0.0;
            for (i, (way, slope)) in way.iter_mut().zip(&slope).enumerate() {
                *way = *slope + 0.6 * *way;
                // What is held at its lid does not climb.
                if *way > 0.0 && prices[i] >= self.base[i] {
                    *way = 0.0;
                }
                norm += items[i].weight * *way * *way;
            }
            if norm <= 0.0 {
                break;
            }
            let goal = if best_cost.is_finite() {
                best_cost
            } else {
                bound * 1.05 + 1.0
            };
            let step = pace * (goal - bound).max(goal.abs() * 1e-6) / norm;
            for (i, (v, way)) in prices.iter_mut().zip(&way).enumerate() {
                *v = clip(*v + step * *way, i);
            }
        }
        best
    }
}
