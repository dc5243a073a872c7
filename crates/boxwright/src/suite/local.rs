//! Good suites found fast: greedy, then each case in turn replaced by the very best one in its place,
//! from several starts.

use super::space::{At, Space, Wanted};
use super::watch::Work;
use crate::proof::Dice;

/// A suite under way: the cases besides those that are kept.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Suite {
    pub cases: Vec<At>,
    pub cost: f64,
}

/// A gain below this share of the cost is rounding.
pub(super) const ROUNDING: f64 = 1e-11;

/// What each thing costs in a suite; the sum is infinite where one fits nowhere.
pub(super) fn each(space: &Space<'_>, cases: &[At]) -> (f64, Vec<f64>) {
    let mut cost = space.base.clone();
    let mut own = Vec::new();
    for at in cases {
        space.costs(*at, &mut own);
        for (c, item) in cost.iter_mut().zip(&space.items) {
            if (0..3).all(|d| item.at[d] <= at[d]) {
                *c = c.min(own[item.group as usize]);
            }
        }
    }
    let sum = cost.iter().zip(&space.items).map(|(c, i)| c * i.weight);
    (sum.sum(), cost)
}

/// The suite with these cases.
pub(super) fn suite(space: &Space<'_>, cases: Vec<At>) -> Suite {
    let cost = each(space, &cases).0;
    Suite { cases, cost }
}

/// Adds what is missing, first a case for what fits nowhere, then the best ones, up to `k`.
fn filled(space: &Space<'_>, mut cases: Vec<At>, k: usize, work: &mut Work<'_>) -> Suite {
    loop {
        let (sum, cost) = each(space, &cases);
        if cases.len() >= k {
            return Suite { cases, cost: sum };
        }
        let lost = (0..cost.len()).filter(|i| cost[*i].is_infinite());
        if let Some(at) = space.hull(lost) {
            cases.push(at);
            continue;
        }
        let bag = space.hunt(&cost, [0; 3], -sum * ROUNDING, Wanted::Best(1), work);
        match bag.found.first() {
            Some((_, at)) => cases.push(*at),
            None => return Suite { cases, cost: sum },
        }
    }
}

/// Replaces cases one by one while that helps.
fn settled(space: &Space<'_>, mut s: Suite, work: &mut Work<'_>) -> Suite {
    let mut quiet = 0;
    let mut r = 0;
    while quiet < s.cases.len() && work.goes_on() {
        r %= s.cases.len();
        let mut others = s.cases.clone();
        others.remove(r);
        let (_, mut cost) = each(space, &others);
        let lost = (0..cost.len()).filter(|i| cost[*i].is_infinite());
        let floor = space.hull(lost).unwrap_or([0; 3]);
        // What fits nowhere else fits every case from here on: a price it never reaches will do.
        let far = 2.0 * far(space);
        let mut whole = 0.0;
        for (c, item) in cost.iter_mut().zip(&space.items) {
            *c = c.min(far);
            whole += *c * item.weight;
        }
        let limit = s.cost - whole - s.cost.abs() * ROUNDING;
        let bag = space.hunt(&cost, floor, limit, Wanted::Best(1), work);
        match bag.found.first() {
            Some((_, at)) => {
                others.insert(r, *at);
                let next = suite(space, others);
                if next.cost < s.cost {
                    s = next;
                    quiet = 0;
                } else {
                    quiet += 1;
                }
            }
            None => quiet += 1,
        }
        r += 1;
    }
    s
}

/// The dearest candidate.
pub(super) fn far(space: &Space<'_>) -> f64 {
    let top = space.hull(0..space.items.len());
    let mut costs = Vec::new();
    if let Some(at) = top {
        space.costs(at, &mut costs);
    }
    costs.iter().copied().fold(0.0, f64::max)
}

/// Looks for a good suite of at most `k` cases; `met` gathers the cases of every settled suite.
pub(super) fn search(
    space: &Space<'_>,
    k: usize,
    hint: Option<&[At]>,
    starts: usize,
    met: &mut Vec<At>,
    work: &mut Work<'_>,
) -> Suite {
    let mut keep = |s: &Suite| {
        for at in &s.cases {
            if !met.contains(at) {
                met.push(*at);
            }
        }
    };
    let first = filled(space, Vec::new(), k, work);
    let mut best = settled(space, first, work);
    keep(&best);
    if let Some(hint) = hint {
        let other = filled(space, hint.iter().copied().take(k).collect(), k, work);
        let other = settled(space, other, work);
        keep(&other);
        if other.cost < best.cost {
            best = other;
        }
    }
    let mut dice = Dice(k as u64);
    for _ in 0..starts {
        if !work.goes_on() || best.cases.is_empty() {
            break;
        }
        let mut cases = best.cases.clone();
        let out = 2 + dice.below(best.cases.len().div_ceil(3));
        for _ in 0..out {
            if !cases.is_empty() {
                cases.remove(dice.below(cases.len()));
            }
        }
        // One at random, so that the same suite does not come back at once.
        if cases.len() + 1 < k {
            let i = dice.below(space.items.len());
            let j = dice.below(space.items.len());
            if let Some(at) = space.hull([i, j]).filter(|a| space.allowed(*a)) {
                cases.push(at);
            }
        }
        let next = filled(space, cases, k, work);
        if !next.cost.is_finite() {
            continue;
        }
        let next = settled(space, next, work);
        keep(&next);
        if next.cost < best.cost * (1.0 - ROUNDING) {
            best = next;
        }
    }
    best
}
