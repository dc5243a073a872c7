//! A first tour: always on to the nearest gate of a task that may be done.

use super::gates::Gates;
use super::model::{OUT, Problem, Run};

/// How many tasks are tried as the first one.
const STARTS: usize = 8;

/// The best of some tours, each with another first task, those nearest to the start.
pub(super) fn best(p: &Problem, gates: &mut Gates) -> Run {
    let mut heads: Vec<(f64, usize)> = (0..p.tasks())
        .filter(|&t| p.rank[t] == 0 && p.before[t].is_empty())
        .map(|t| {
            let near = p.gates_of[t]
                .clone()
                .map(|g| p.start.distance_squared(p.enter[g]));
            (near.fold(f64::INFINITY, f64::min), t)
        })
        .collect();
    heads.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut best: Option<(f64, Run)> = None;
    for &(_, head) in heads.iter().take(STARTS) {
        let mut run = from(p, head);
        let all = run.seq.len();
        gates.choose(p, &mut run, 0, all);
        let cost = p.cost(&run);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, run));
        }
    }
    best.map(|(_, run)| run).unwrap_or_default()
}

fn from(p: &Problem, head: usize) -> Run {
    let n = p.tasks();
    let mut run = Run {
        seq: Vec::with_capacity(n),
        at: vec![OUT; n],
        gate: p.gates_of.iter().map(|own| own.start).collect(),
    };
    let mut waits: Vec<usize> = p.before.iter().map(Vec::len).collect();
    let mut left = vec![0; p.ranks];
    for &r in &p.rank {
        left[r] += 1;
    }
    let mut rank = 0;
    let mut here = p.start;
    while run.seq.len() < n {
        while left[rank] == 0 {
            rank += 1;
        }
        let free = (0..n).filter(|&t| {
            run.at[t] == OUT
                && p.rank[t] == rank
                && waits[t] == 0
                && (t == head || !run.seq.is_empty())
        });
        let (mut least, mut gate) = (f64::INFINITY, OUT);
        for g in free.flat_map(|t| p.gates_of[t].clone()) {
            let way = here.distance_squared(p.enter[g]);
            if way < least {
                (least, gate) = (way, g);
            }
        }
        if gate == OUT {
            break; // Cannot be: without circles some task may always be done.
        }
        let t = p.task_of[gate];
        run.at[t] = run.seq.len();
        run.seq.push(t);
        run.gate[t] = gate;
        here = p.leave[gate];
        left[rank] -= 1;
        for &s in &p.after[t] {
            waits[s] -= 1;
        }
    }
    run
}
