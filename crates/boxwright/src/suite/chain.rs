//! Things that lie in one another like nested bowls, so that one size alone decides: exact by
//! partitions into runs, in `k n^2` steps.

use super::local::{Suite, suite};
use super::space::Space;
use super::watch::Work;

/// Longer chains are left to the general search.
const MOST: usize = 4000;

/// The best suite where every thing lies within the next larger one; `None` where that is not so.
pub(super) fn best(space: &Space<'_>, k: usize, work: &mut Work<'_>) -> Option<Suite> {
    let items = &space.items;
    let n = items.len();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by_key(|i| {
        (
            items[*i].at.iter().sum::<u32>(),
            items[*i].at,
            items[*i].group,
        )
    });
    let nested = |w: &[usize]| (0..3).all(|d| items[w[0]].at[d] <= items[w[1]].at[d]);
    if n == 0 || n > MOST || !order.windows(2).all(nested) {
        return None;
    }
    // The case for a run is that of its last thing. `best[q]`: cost of the first `q` things, the last
    // case ending right there.
    let cost = costs(space, &order, work)?;
    let at = |p: usize, q: usize| cost[q * (q + 1) / 2 + p];
    let mut best = vec![f64::INFINITY; n + 1];
    best[0] = 0.0;
    let mut from = vec![vec![0_usize; n + 1]; k + 1];
    let mut rest = vec![0.0; n + 1];
    for q in (0..n).rev() {
        let i = order[q];
        rest[q] = rest[q + 1] + space.base[i] * items[i].weight;
    }
    let mut top = (rest[0], 0, 0);
    for (level, from) in from.iter_mut().enumerate().skip(1) {
        let mut next = vec![f64::INFINITY; n + 1];
        for q in 1..=n {
            if !space.allowed(items[order[q - 1]].at) {
                continue;
            }
            for (p, so_far) in best.iter().enumerate().take(q) {
                let c = so_far + at(p, q - 1);
                if c < next[q] {
                    next[q] = c;
                    from[q] = p;
                }
            }
        }
        if !work.spend(n * n / 2) {
            return None;
        }
        for q in 1..=n {
            let whole = next[q] + rest[q];
            if whole < top.0 {
                top = (whole, level, q);
            }
        }
        best = next;
    }
    let (_, mut level, mut q) = top;
    let mut cases = Vec::new();
    while level > 0 {
        cases.push(items[order[q - 1]].at);
        q = from[level][q];
        level -= 1;
    }
    Some(suite(space, cases))
}

/// Cost of things `p..=q` in the case of `q` (or in what is kept), for all runs.
fn costs(space: &Space<'_>, order: &[usize], work: &mut Work<'_>) -> Option<Vec<f64>> {
    let n = order.len();
    let mut out = Vec::with_capacity(n * (n + 1) / 2);
    let mut own = Vec::new();
    for q in 0..n {
        space.costs(space.items[order[q]].at, &mut own);
        let begin = out.len();
        out.resize(begin + q + 1, 0.0);
        let mut sum = 0.0;
        for p in (0..=q).rev() {
            let i = order[p];
            let item = &space.items[i];
            sum += item.weight * own[item.group as usize].min(space.base[i]);
            out[begin + p] = sum;
        }
    }
    work.spend(n * n / 2).then_some(out)
}
