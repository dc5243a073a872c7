//! Which sheets could stand in for others at less cost.

use std::collections::BTreeSet;

use super::sheets::Sheet;

/// Choices looked at before the rest is passed over.
const MOST_CHOICES: usize = 4_000;

/// Sets of sheets that cost less than `now` and have at least `area`: some of those in `now` given
/// up, and up to two others, of which `spare` are free, taken. The roomiest for their parts first.
pub(super) fn cheaper(
    sheets: &[Sheet],
    now: &[usize],
    spare: &[u32],
    area: f64,
) -> Vec<Vec<usize>> {
    let cost = |set: &[usize]| set.iter().map(|b| sheets[*b].cost).sum::<f64>();
    let size = |set: &[usize]| set.iter().map(|b| sheets[*b].size).sum::<f64>();
    let (before, room) = (cost(now), size(now));
    let limit = before - 1e-9 * before.abs();
    // One or two sheets given up, each choice of kinds once.
    let mut gone = BTreeSet::new();
    for (i, b) in now.iter().enumerate() {
        gone.insert(vec![*b]);
        gone.extend(now[..i].iter().map(|c| vec![*b.min(c), *b.max(c)]));
    }
    let mut seen = BTreeSet::new();
    for g in gone {
        let mut kept = now.to_vec();
        for b in &g {
            if let Some(i) = kept.iter().position(|k| k == b) {
                kept.swap_remove(i);
            }
        }
        let (cost_kept, size_kept) = (before - cost(&g), room - size(&g));
        let mut stack: Vec<(usize, Vec<usize>)> = vec![(0, Vec::new())];
        while let Some((from, new)) = stack.pop() {
            if cost_kept + cost(&new) < limit && size_kept + size(&new) >= area {
                let mut set = kept.clone();
                set.extend_from_slice(&new);
                set.sort_unstable();
                seen.insert(set);
            }
            if new.len() == g.len() || seen.len() >= MOST_CHOICES {
                continue;
            }
            for (b, free) in spare.iter().enumerate().skip(from) {
                let taken = new.iter().filter(|x| **x == b).count();
                let freed = g.iter().filter(|x| **x == b).count();
                if taken < *free as usize + freed {
                    let mut more = new.clone();
                    more.push(b);
                    stack.push((b, more));
                }
            }
        }
    }
    let mut out: Vec<Vec<usize>> = seen.into_iter().collect();
    out.sort_by(|a, b| size(b).total_cmp(&size(a)).then_with(|| a.cmp(b)));
    out
}
