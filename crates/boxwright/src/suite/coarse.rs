//! Kinds of things put together where there are too many to tell apart, with the room of the largest
//! for the choice; the bound is worked out over all of them.

use std::collections::BTreeMap;

use super::gather::{History, Tally, down_steps};
use super::price::Price;
use super::space::{Item, Space};
use super::{Asked, Chosen, MOST_KINDS, PUT_TOGETHER, Range};
use crate::units::{Length, Mass};

/// Most masses told apart.
const MOST_GROUPS: u32 = 64;

/// Things put together.
struct Cell {
    at: [u32; 3],
    mass: u32,
    count: u64,
}

pub(super) struct Cells {
    cells: Vec<Cell>,
    placed: u64,
    coarse: bool,
    /// Kept sizes in grid steps.
    kept: Vec<[u32; 3]>,
    /// Everything that is placed, each thing as small as it may be, and the cell it lies in.
    whole: Vec<([u32; 3], u32, u64, usize)>,
}

impl Cells {
    pub fn new(history: &History, asked: &Asked) -> Self {
        let grid = history.how.grid;
        let steps = |s: [Length; 3]| s.map(|l| down_steps(l, grid));
        let kept: Vec<[u32; 3]> = asked.kept.iter().copied().map(steps).collect();
        let largest = asked.largest.map(steps);
        let fits = |at: [u32; 3], case: [u32; 3]| (0..3).all(|d| at[d] <= case[d]);
        let placed: Vec<_> = (history.kinds.iter())
            .filter(|((at, _), _)| {
                largest.is_none_or(|l| fits(*at, l)) || kept.iter().any(|k| fits(*at, *k))
            })
            .collect();
        let groups = placed.iter().map(|k| k.0.1).max().unwrap_or(0);
        let per_group = groups.div_ceil(MOST_GROUPS).max(1);
        let most = asked.kinds.clamp(1, MOST_KINDS);
        let few = most.min(PUT_TOGETHER);
        let mut cuts: Option<[Vec<u32>; 3]> = None;
        let mut fine = 256_usize;
        let cells = loop {
            let mut cells: BTreeMap<([u32; 3], u32), Cell> = BTreeMap::new();
            for ((at, mass), tally) in placed.iter().map(|k| (k.0, k.1)) {
                let place = place(&cuts, at);
                let cell = Cell {
                    at,
                    mass,
                    count: tally.count,
                };
                cells
                    .entry((place, mass.div_ceil(per_group)))
                    .and_modify(|c| c.join(&cell))
                    .or_insert(cell);
                let enough = if cuts.is_some() { few } else { most };
                if cells.len() > enough && fine > 1 {
                    break;
                }
            }
            let enough = if cuts.is_some() { few } else { most };
            if cells.len() <= enough || fine <= 1 {
                break cells;
            }
            if cuts.is_some() {
                fine = fine * 7 / 8;
            }
            cuts = Some([0, 1, 2].map(|d| cut(&placed, d, fine)));
        };
        let places: Vec<_> = cells.keys().copied().collect();
        let whole = (placed.iter())
            .map(|((at, mass), tally)| {
                let place = (place(&cuts, *at), mass.div_ceil(per_group));
                let cell = places.binary_search(&place).unwrap_or(0);
                (least(history, *at), *mass, tally.count, cell)
            })
            .collect();
        Self {
            whole,
            coarse: cuts.is_some() || history.coarse > 1 || per_group > 1,
            cells: cells.into_values().collect(),
            placed: placed.iter().map(|k| k.1.count).sum(),
            kept,
        }
    }

    pub const fn placed(&self) -> u64 {
        self.placed
    }
    pub const fn coarse(&self) -> bool {
        self.coarse
    }

    pub fn space<'a>(&self, history: &History, asked: &Asked, price: &'a dyn Price) -> Space<'a> {
        let mut merged: BTreeMap<([u32; 3], u32), u64> = BTreeMap::new();
        for c in &self.cells {
            *merged.entry((c.at, c.mass)).or_insert(0) += c.count;
        }
        self.built(history, asked, price, merged.into_iter().collect())
    }

    /// Everything that is placed, told apart as far as the histogram does.
    pub fn whole<'a>(&self, history: &History, asked: &Asked, price: &'a dyn Price) -> Space<'a> {
        let all = self
            .whole
            .iter()
            .map(|(at, mass, count, _)| ((*at, *mass), *count));
        self.built(history, asked, price, all.collect())
    }

    /// Prices of cells (in the order of their largest corners) handed on to all that lies in them.
    pub fn handed_on(&self, prices: &[f64]) -> Vec<f64> {
        let mut order: Vec<usize> = (0..self.cells.len()).collect();
        order.sort_by_key(|c| (self.cells[*c].at, self.cells[*c].mass));
        let mut of_cell = vec![0.0; self.cells.len()];
        for (c, p) in order.into_iter().zip(prices) {
            of_cell[c] = *p;
        }
        self.whole.iter().map(|w| of_cell[w.3]).collect()
    }

    fn built<'a>(
        &self,
        history: &History,
        asked: &Asked,
        price: &'a dyn Price,
        merged: Vec<(([u32; 3], u32), u64)>,
    ) -> Space<'a> {
        let distinct = |mut all: Vec<u32>| {
            all.sort_unstable();
            all.dedup();
            all
        };
        let steps = [0, 1, 2].map(|d| distinct(merged.iter().map(|k| k.0.0[d]).collect()));
        let masses = distinct(merged.iter().map(|k| k.0.1).collect());
        let index = |all: &[u32], v: u32| {
            u32::try_from(all.partition_point(|a| *a < v)).unwrap_or(u32::MAX)
        };
        let kept = self.kept_costs(history, asked, price, &masses);
        let mut base = Vec::new();
        let mut items = Vec::new();
        for ((at, mass), count) in &merged {
            let group = index(&masses, *mass);
            let fits = (self.kept.iter().zip(&kept))
                .filter(|(k, _)| (0..3).all(|d| at[d] <= k[d]))
                .map(|(_, costs)| costs[group as usize]);
            base.push(fits.fold(f64::INFINITY, f64::min));
            #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
            let weight = *count as f64;
            items.push(Item {
                at: [0, 1, 2].map(|d| index(&steps[d], at[d])),
                weight,
                group,
            });
        }
        let values = steps.map(|s| {
            s.into_iter()
                .map(|v| history.how.grid * f64::from(v))
                .collect()
        });
        let groups = masses.iter().map(|m| mass(history, *m)).collect();
        Space::new(values, items, groups, base, asked.largest, price)
    }

    fn kept_costs(
        &self,
        history: &History,
        asked: &Asked,
        price: &dyn Price,
        masses: &[u32],
    ) -> Vec<Vec<f64>> {
        let of = |size: &[Length; 3]| {
            let costs = masses.iter().map(|m| price.cost(*size, mass(history, *m)));
            costs.collect()
        };
        asked.kept.iter().map(of).collect()
    }

    /// The suite of these cases and the kept ones on the whole histogram, each case drawn in to what
    /// lies in it.
    pub fn range(
        &self,
        history: &History,
        asked: &Asked,
        price: &dyn Price,
        cases: Vec<[Length; 3]>,
    ) -> Range {
        let grid = history.how.grid;
        let mut free: Vec<[u32; 3]> = cases
            .iter()
            .map(|c| c.map(|l| down_steps(l, grid)))
            .collect();
        let mut best = self.shared(history, asked, price, &free);
        for _ in 0..ROUNDS {
            let drawn_in: Vec<[u32; 3]> = best.1.clone();
            if drawn_in == free {
                break;
            }
            let next = self.shared(history, asked, price, &drawn_in);
            if next.0.cost >= best.0.cost {
                break;
            }
            free = drawn_in;
            best = next;
        }
        best.0
    }

    /// What goes where, and how large each free case has to be for it.
    fn shared(
        &self,
        history: &History,
        asked: &Asked,
        price: &dyn Price,
        free: &[[u32; 3]],
    ) -> (Range, Vec<[u32; 3]>) {
        let kept = asked
            .kept
            .iter()
            .zip(&self.kept)
            .map(|(s, k)| (*s, *k, true));
        let own = free.iter().map(|f| (history.lengths(*f), *f, false));
        let all: Vec<_> = kept.chain(own).collect();
        let mut tallies = vec![Tally::default(); all.len()];
        let mut costs = vec![0.0; all.len()];
        let mut hulls = vec![[0_u32; 3]; all.len()];
        let mut known: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
        for ((at, m), tally) in &history.kinds {
            let each = known.entry(*m).or_insert_with(|| {
                let mass = mass(history, *m);
                all.iter().map(|a| price.cost(a.0, mass)).collect()
            });
            let fits = (0..all.len()).filter(|j| (0..3).all(|d| at[d] <= all[*j].1[d]));
            // The first of the cheapest.
            let Some(j) = fits.min_by(|a, b| each[*a].total_cmp(&each[*b])) else {
                continue;
            };
            tallies[j].add(*tally);
            #[allow(clippy::cast_precision_loss, reason = "below 2^53")]
            let n = tally.count as f64;
            costs[j] += n * each[j];
            for d in 0..3 {
                hulls[j][d] = hulls[j][d].max(at[d]);
            }
        }
        let cost = costs.iter().sum();
        let mut chosen = Vec::new();
        let mut drawn_in = Vec::new();
        for (j, (inside, _, kept)) in all.iter().enumerate() {
            if !kept {
                if tallies[j].count == 0 {
                    continue;
                }
                drawn_in.push(hulls[j]);
            }
            chosen.push(Chosen {
                inside: *inside,
                kept: *kept,
                orders: tallies[j].count,
                filled: tallies[j].litres(),
                cost: costs[j],
            });
        }
        let volume = |c: &Chosen| c.inside.iter().map(|l| l.to_mm()).product::<f64>();
        chosen.sort_by(|a, b| volume(a).total_cmp(&volume(b)));
        let range = Range {
            sizes: 0,
            chosen,
            cost,
            bound: 0.0,
            proved: false,
        };
        (range, drawn_in)
    }
}

/// The stretches that a size lies in.
fn place(cuts: &Option<[Vec<u32>; 3]>, at: [u32; 3]) -> [u32; 3] {
    cuts.as_ref().map_or(at, |cuts| {
        let below = |d: usize| cuts[d].partition_point(|c| *c < at[d]);
        [0, 1, 2].map(|d| u32::try_from(below(d)).unwrap_or(u32::MAX))
    })
}

/// The least that things of this place in the histogram may be.
fn least(history: &History, at: [u32; 3]) -> [u32; 3] {
    at.map(|s| s + 1 - history.coarse.min(s))
}

/// Times that cases are drawn in to what lies in them.
const ROUNDS: usize = 20;

fn mass(history: &History, steps: u32) -> Mass {
    history
        .how
        .mass_step
        .map_or(Mass::ZERO, |s| s * f64::from(steps))
}

impl Cell {
    fn join(&mut self, o: &Self) {
        for d in 0..3 {
            self.at[d] = self.at[d].max(o.at[d]);
        }
        self.mass = self.mass.max(o.mass);
        self.count += o.count;
    }
}

/// Where a size is cut into so many stretches: half by even steps, half by how many orders lie in each.
fn cut(placed: &[&(([u32; 3], u32), Tally)], d: usize, fine: usize) -> Vec<u32> {
    let mut counts: BTreeMap<u32, u64> = BTreeMap::new();
    for ((at, _), tally) in placed.iter().map(|k| (k.0, k.1)) {
        *counts.entry(at[d]).or_insert(0) += tally.count;
    }
    let (Some(first), Some(last)) = (
        counts.keys().next().copied(),
        counts.keys().next_back().copied(),
    ) else {
        return Vec::new();
    };
    let half = u64::try_from(fine.div_ceil(2)).unwrap_or(1).max(1);
    let whole: u64 = counts.values().sum();
    let mut out: Vec<u32> = (1..=half)
        .filter_map(|s| u32::try_from(u64::from(first) + u64::from(last - first) * s / half).ok())
        .collect();
    let mut sum = 0;
    let mut next = 1;
    for (v, n) in &counts {
        sum += n;
        if u128::from(sum) * u128::from(half) >= u128::from(whole) * u128::from(next as u64) {
            out.push(*v);
            while u128::from(sum) * u128::from(half) >= u128::from(whole) * u128::from(next as u64)
            {
                next += 1;
            }
        }
    }
    out.sort_unstable();
    out.dedup();
    out
}
