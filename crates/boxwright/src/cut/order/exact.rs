//! The best order proved, where few are possible.
//!
//! What is still to be done, and where the tool is, decides all that follows; how it got there does
//! not. So for every set of tasks done and every gate left last, the least travel is enough (dynamic
//! programming, after Held and Karp, 1962). Sets that precedence forbids never come up, and a state is
//! dropped when even the least entries into all that is left cannot make it better than a tour already
//! known.

use std::collections::BTreeMap;

use super::model::{Problem, Run};

/// Up to this many tasks a proof is likely within [`WORK`].
pub(super) const LIKELY: usize = 14;

/// Distances looked at before a proof is given up: some tenths of a second.
const WORK: u64 = 10_000_000;

/// States kept before it is given up: some tens of megabytes.
const STATES: usize = 2_000_000;

/// One state: the gate left last, the travel so far, and the number of the state before.
#[derive(Clone, Copy)]
struct State {
    gate: usize,
    travel: f64,
    number: usize,
}

/// Makes `best` the best order there is, if that can be proved. Gives whether it is.
pub(super) fn prove(p: &Problem, best: &mut Run, stop: &mut dyn FnMut() -> bool) -> bool {
    let n = p.tasks();
    if n > 64 {
        return false;
    }
    let full = if n == 64 { u64::MAX } else { (1 << n) - 1 };
    let needs: Vec<u64> = (0..n)
        .map(|t| {
            let lower = (0..n).filter(|&o| p.rank[o] < p.rank[t]);
            lower
                .chain(p.before[t].iter().copied())
                .fold(0, |set, f| set | 1 << f)
        })
        .collect();
    let entry = least_entries(p, &needs);
    let known = p.travel(best);
    let mut least = known - 1e-9;
    let mut log: Vec<(usize, usize)> = Vec::new();
    let mut work = 0;
    let mut layer: BTreeMap<u64, Vec<State>> = BTreeMap::new();
    layer.insert(
        0,
        vec![State {
            gate: usize::MAX,
            travel: 0.0,
            number: usize::MAX,
        }],
    );
    let mut last = None;
    for _ in 0..n {
        let mut next: BTreeMap<u64, Vec<State>> = BTreeMap::new();
        for (done, states) in layer {
            if stop() {
                return false;
            }
            let rest: f64 = (0..n)
                .filter(|t| done & 1 << t == 0)
                .map(|t| entry[t])
                .sum::<f64>()
                + entry[n];
            for t in (0..n).filter(|&t| done & 1 << t == 0 && needs[t] & !done == 0) {
                for g in p.gates_of[t].clone() {
                    work += states.len() as u64;
                    let (mut travel, mut number) = (f64::INFINITY, usize::MAX);
                    for s in &states {
                        let here = if s.gate == usize::MAX {
                            p.start
                        } else {
                            p.leave[s.gate]
                        };
                        let way = s.travel + here.distance(p.enter[g]);
                        if way < travel {
                            (travel, number) = (way, s.number);
                        }
                    }
                    if travel + rest - entry[t] >= least {
                        continue;
                    }
                    let set = done | 1 << t;
                    if set == full {
                        let travel = travel + p.end.map_or(0.0, |e| p.leave[g].distance(e));
                        if travel < least {
                            least = travel;
                            last = Some((g, number));
                        }
                        continue;
                    }
                    log.push((g, number));
                    let number = log.len() - 1;
                    next.entry(set).or_default().push(State {
                        gate: g,
                        travel,
                        number,
                    });
                }
            }
            if work > WORK || log.len() > STATES {
                return false;
            }
        }
        layer = next;
    }
    if let Some((mut gate, mut number)) = last {
        for i in (0..n).rev() {
            let t = p.task_of[gate];
            best.seq[i] = t;
            best.at[t] = i;
            best.gate[t] = gate;
            if i > 0 {
                (gate, number) = log[number];
            }
        }
    }
    true
}

/// The least way into each task from anywhere it can be entered from, and last the least way to the end.
fn least_entries(p: &Problem, needs: &[u64]) -> Vec<f64> {
    let n = p.tasks();
    let mut out: Vec<f64> = (0..n)
        .map(|t| {
            let mut least = f64::INFINITY;
            if needs[t] == 0 {
                for g in p.gates_of[t].clone() {
                    least = least.min(p.start.distance(p.enter[g]));
                }
            }
            for o in (0..n).filter(|&o| o != t && needs[o] & 1 << t == 0) {
                least = least.min(p.apart(o, t));
            }
            least
        })
        .collect();
    let to_end = p.end.map_or(0.0, |e| {
        p.leave
            .iter()
            .map(|l| l.distance(e))
            .fold(f64::INFINITY, f64::min)
    });
    out.push(if n == 0 { 0.0 } else { to_end });
    out
}
