//! Which sheets could stand in for others at less cost.

use super::sheets::Sheet;

/// Sheets exchanged at most for one another in one go, beside those that stay.
const MOST_NEW: usize = 2;

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
    let before = cost(now);
    let limit = before - 1e-9 * before.abs();
    let mut out: Vec<Vec<usize>> = Vec::new();
    // Up to two sheets given up.
    let n = now.len();
    let mut gone: Vec<Vec<usize>> = (0..n).map(|i| vec![i]).collect();
    for i in 0..n {
        gone.extend((0..i).map(|j| vec![i, j]));
    }
    let mut seen = std::collections::BTreeSet::new();
    'all: for g in gone {
        let kept: Vec<usize> = (0..n).filter(|i| !g.contains(i)).map(|i| now[i]).collect();
        let mut stack: Vec<(usize, Vec<usize>)> = vec![(0, Vec::new())];
        while let Some((from, new)) = stack.pop() {
            let mut set = kept.clone();
            set.extend_from_slice(&new);
            set.sort_unstable();
            if cost(&set) < limit && size(&set) >= area && seen.insert(set.clone()) {
                out.push(set);
                if out.len() >= MOST_CHOICES {
                    break 'all;
                }
            }
            if new.len() == MOST_NEW.min(g.len()) {
                continue;
            }
            for b in from..sheets.len() {
                let taken = new.iter().filter(|x| **x == b).count();
                let freed = g.iter().filter(|i| now[**i] == b).count();
                if taken < spare[b] as usize + freed {
                    let mut more = new.clone();
                    more.push(b);
                    stack.push((b, more));
                }
            }
        }
    }
    out.sort_by(|a, b| size(b).total_cmp(&size(a)).then_with(|| a.cmp(b)));
    out
}
