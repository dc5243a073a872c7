//! One number of sizes, from a first suite to a proof.
//!
//! There may be far too many candidates to write out. So prices are climbed over a pool of them; the
//! hunt through all candidates then tells what the bound truly is, and which others are worth having
//! in the pool. In the end only those candidates are left that a better suite could have at all, and
//! over those the tree is grown.

use super::chain;
use super::cols::{Cols, Frame};
use super::local::{Suite, each, search, suite};
use super::space::{At, Space, Wanted};
use super::tree::{SAME, Tree};
use super::watch::Work;

/// Candidates that the tree works on at most.
const MOST_LEFT: usize = 40_000;
/// Entries (things in candidates) that it works on at most.
const MOST_ENTRIES: usize = 40_000_000;
/// Candidates added to the pool at once.
const ADDED: usize = 120;
/// Times that the pool is added to.
const TIMES: usize = 40;

/// What came of it.
#[derive(Clone, Debug)]
pub(super) struct Solved {
    pub suite: Suite,
    pub bound: f64,
    /// Prices at which the bound holds, to begin with at the next number of sizes.
    pub prices: Vec<f64>,
}

/// Solves for at most `k` cases besides those kept. `None` when not even the first suite was found:
/// what has to go in does not fit any case that can be had.
pub(super) fn solve(
    space: &Space<'_>,
    k: usize,
    hint: Option<&Solved>,
    work: &mut Work<'_>,
) -> Option<Solved> {
    let n = space.items.len();
    if let Some(found) = chain::best(space, k, work)
        && found.cost.is_finite()
    {
        return Some(Solved {
            bound: found.cost,
            suite: found,
            prices: vec![0.0; n],
        });
    }
    let mut met: Vec<At> = Vec::new();
    let hinted = hint.map(|h| h.suite.cases.as_slice());
    work.fenced(0.15);
    let mut best = search(space, k, hinted, 12, &mut met, work);
    work.fence = work.at.most;
    if !best.cost.is_finite() {
        return None;
    }
    work.at.cost = best.cost;
    if k == 0 {
        return Some(Solved {
            bound: best.cost,
            suite: best,
            prices: vec![0.0; n],
        });
    }
    let mut pool = Cols::default();
    let mut has = std::collections::BTreeSet::new();
    met.extend(spread(space));
    met.extend(hinted.into_iter().flatten());
    for at in met {
        if space.tight(at) && space.allowed(at) && has.insert(at) {
            pool.push(space, at);
        }
    }
    let mut top = (f64::NEG_INFINITY, each(space, &best.cases).1);
    let mut prices = top.1.clone();
    work.fenced(0.45);
    for time in 0..TIMES {
        let free = vec![f64::INFINITY; n];
        let ids = (0..u32::try_from(pool.len()).unwrap_or(u32::MAX)).collect();
        let frame = Frame::new(space, &pool, ids, k, space.base.clone(), &free);
        let climb = {
            let mut seen = |taken: &[usize]| {
                let cases: Vec<At> = taken.iter().map(|j| pool.at[*j]).collect();
                let (cost, _) = each(space, &cases);
                if cost < best.cost {
                    best = suite(space, cases);
                }
                best.cost
            };
            let rounds = if time == 0 { 400 } else { 160 };
            frame.climb(prices, rounds, 10, f64::INFINITY, work, &mut seen)
        };
        work.at.cost = best.cost;
        prices = climb.prices;
        if climb.worth.is_empty() {
            break;
        }
        let mut worth = climb.worth;
        worth.sort_by(f64::total_cmp);
        let last = worth.get(k - 1).copied().unwrap_or(0.0).min(0.0);
        let bag = space.hunt(&prices, [0; 3], last, Wanted::Best(4000), work);
        if !bag.whole {
            break;
        }
        let bound = bound_at(space, &prices, last, &bag.found, k);
        if bound > top.0 {
            top = (bound, prices.clone());
            work.at.bound = bound;
        }
        let gap = best.cost - top.0;
        if gap <= SAME * best.cost.abs() {
            break;
        }
        let fresh: Vec<At> = (bag.found.iter().map(|f| f.1))
            .filter(|at| !has.contains(at))
            .collect();
        // Where the pool bounds nearly as well as everything does, adding to it has done its work.
        if fresh.is_empty() || (climb.bound - bound < 0.02 * gap && gap < 0.3 * best.cost.abs()) {
            break;
        }
        for at in apart(space, &fresh) {
            if has.insert(at) {
                pool.push(space, at);
            }
        }
    }
    work.fence = work.at.most;
    let gap = best.cost - top.0;
    let mut bound = top.0.max(0.0);
    if gap > SAME * best.cost.abs() && top.0.is_finite() && work.goes_on() {
        let limit = limit_for(space, &top.1, best.cost, k, work);
        let left =
            limit.map(|limit| space.hunt(&top.1, [0; 3], limit, Wanted::All(MOST_LEFT), work));
        if let Some(left) = left
            && left.whole
        {
            let mut cols = Cols::default();
            for (_, at) in &left.found {
                if cols.entries() > MOST_ENTRIES {
                    break;
                }
                cols.push(space, *at);
            }
            if cols.len() == left.found.len() {
                let ids = (0..u32::try_from(cols.len()).unwrap_or(u32::MAX)).collect();
                let mut tree = Tree {
                    space,
                    cols: &cols,
                    k,
                    best,
                    work,
                    nodes: 0,
                };
                let grown = tree.grow(top.1.clone(), ids, bound);
                best = tree.best;
                bound = bound.max(grown);
            }
        }
    }
    Some(Solved {
        bound: bound.min(best.cost),
        suite: best,
        prices: top.1,
    })
}

/// What nothing costs less than at these prices: `found` are all candidates worth more than the
/// least of those that the pool would take, whose worth is `last`.
fn bound_at(space: &Space<'_>, prices: &[f64], last: f64, found: &[(f64, At)], k: usize) -> f64 {
    let whole: f64 = space
        .items
        .iter()
        .zip(prices)
        .map(|(i, v)| i.weight * v)
        .sum();
    let worth = |n: usize| found.get(n).map_or(last, |f| f.0).min(0.0);
    whole + (0..k).map(worth).sum::<f64>()
}

/// What 0, 1, ... `most` cases never cost less than, at these prices of the things; empty where there was
/// not the work to tell.
pub(super) fn bounds(
    space: &Space<'_>,
    prices: &[f64],
    most: usize,
    work: &mut Work<'_>,
) -> Vec<f64> {
    let prices: Vec<f64> = (prices.iter().zip(&space.base))
        .map(|(p, b)| p.min(*b))
        .collect();
    let bag = space.hunt(&prices, [0; 3], 0.0, Wanted::Best(most), work);
    if !bag.whole {
        return Vec::new();
    }
    let bound = |k| bound_at(space, &prices, 0.0, &bag.found, k);
    (0..=most).map(bound).collect()
}

/// The worth beyond which a candidate is in no better suite.
fn limit_for(
    space: &Space<'_>,
    prices: &[f64],
    cost: f64,
    k: usize,
    work: &mut Work<'_>,
) -> Option<f64> {
    let bag = space.hunt(prices, [0; 3], 0.0, Wanted::Best(k), work);
    if !bag.whole {
        return None;
    }
    let worth: Vec<f64> = bag.found.iter().map(|f| f.0).collect();
    let whole: f64 = space
        .items
        .iter()
        .zip(prices)
        .map(|(i, v)| i.weight * v)
        .sum();
    let bound = whole + worth.iter().sum::<f64>();
    let last = if worth.len() < k {
        0.0
    } else {
        worth.last().copied().unwrap_or(0.0)
    };
    // A little beyond, for rounding.
    Some((cost - bound + last) + cost.abs() * SAME)
}

/// Candidates to begin with: what single things need, and a coarse net over all sizes.
fn spread(space: &Space<'_>) -> Vec<At> {
    const STEPS: usize = 7;
    let net = [0, 1, 2].map(|d| {
        let mut all: Vec<u32> = space.items.iter().map(|i| i.at[d]).collect();
        all.sort_unstable();
        let picked = (1..=STEPS).map(|s| all[(all.len() * s / STEPS).saturating_sub(1)]);
        let mut out: Vec<u32> = picked.collect();
        out.dedup();
        out
    });
    let mut out = Vec::new();
    for a in &net[0] {
        for b in &net[1] {
            for c in &net[2] {
                let inside = (0..space.items.len()).filter(|i| {
                    let at = space.items[*i].at;
                    at[0] <= *a && at[1] <= *b && at[2] <= *c
                });
                out.extend(space.hull(inside));
            }
        }
    }
    out
}

/// Some of the candidates, the best first, not too like one another, and the very best besides.
fn apart(space: &Space<'_>, found: &[At]) -> Vec<At> {
    let near = |a: &At, b: &At| {
        let (a, b) = (space.size(*a), space.size(*b));
        (0..3).all(|d| (a[d] / b[d]).ln().abs() < 0.03)
    };
    let mut out: Vec<At> = found.iter().copied().take(ADDED / 4).collect();
    let mut picked: Vec<At> = Vec::new();
    for at in found {
        if picked.len() > ADDED {
            break;
        }
        if !picked.iter().any(|p| near(p, at)) {
            picked.push(*at);
        }
    }
    out.extend(picked);
    out
}
