//! The best gates for a given sequence, exactly.
//!
//! Task by task: the least travel with which each gate of a task can be reached follows from that of
//! the gates of the task before it. That takes tasks times gates squared steps.

use super::model::{Problem, Run};

/// Memory that is used again.
#[derive(Default)]
pub(super) struct Gates {
    last: Vec<f64>,
    next: Vec<f64>,
    came: Vec<usize>,
}

impl Gates {
    /// Sets the gates at positions `lo..hi` of the sequence to those with the least travel, all
    /// others left as they are.
    pub(super) fn choose(&mut self, p: &Problem, run: &mut Run, lo: usize, hi: usize) {
        if lo >= hi {
            return;
        }
        self.came.clear();
        let from = p.from(run, lo);
        self.last.clear();
        let own = p.gates_of[run.seq[lo]].clone();
        self.last
            .extend(p.enter[own].iter().map(|&to| from.distance(to)));
        for i in lo + 1..hi {
            let prev = p.gates_of[run.seq[i - 1]].clone();
            let own = p.gates_of[run.seq[i]].clone();
            let leave = &p.leave[prev.clone()];
            self.next.clear();
            for &to in &p.enter[own] {
                let (mut least, mut from) = (f64::INFINITY, 0);
                for (k, (&way, &at)) in self.last.iter().zip(leave).enumerate() {
                    let way = way + at.distance(to);
                    if way < least {
                        (least, from) = (way, k);
                    }
                }
                self.next.push(least);
                self.came.push(prev.start + from);
            }
            std::mem::swap(&mut self.last, &mut self.next);
        }
        let to = p.to(run, hi);
        let own = p.gates_of[run.seq[hi - 1]].clone();
        let (mut least, mut gate) = (f64::INFINITY, own.start);
        for (k, g) in own.enumerate() {
            let way = self.last[k] + to.map_or(0.0, |to| p.leave[g].distance(to));
            if way < least {
                (least, gate) = (way, g);
            }
        }
        let mut row = self.came.len();
        for i in (lo..hi).rev() {
            let t = run.seq[i];
            run.gate[t] = gate;
            if i > lo {
                row -= p.gates_of[t].len();
                gate = self.came[row + gate - p.gates_of[t].start];
            }
        }
    }
}
