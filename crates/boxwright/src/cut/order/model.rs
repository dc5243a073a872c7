//! The tasks as the search sees them, and a sequence of them.

use std::ops::Range;

use super::heat::{self, Heat, Warm};
use super::{Task, Unordered};
use crate::geom::DVec2;

/// Not in the sequence.
pub(super) const OUT: usize = usize::MAX;

/// No place is farther off than this (mm): a thousand kilometres, so that squares stay numbers.
const FAR: f64 = 1e9;

/// How many near tasks are looked at. Chosen by trial: 10 is as fast and worse, 30 slower and no better.
const NEAR: usize = 16;

/// Tasks with their gates in one row.
pub(super) struct Problem {
    pub(super) start: DVec2,
    pub(super) end: Option<DVec2>,
    pub(super) enter: Vec<DVec2>,
    pub(super) leave: Vec<DVec2>,
    /// The gate that runs the same line the other way, else the gate itself.
    pub(super) other_way: Vec<usize>,
    /// The task of each gate.
    pub(super) task_of: Vec<usize>,
    pub(super) gates_of: Vec<Range<usize>>,
    /// Ranks counted without gaps.
    pub(super) rank: Vec<usize>,
    pub(super) ranks: usize,
    /// Tasks of the same rank that come before each, directly or through others.
    pub(super) before: Vec<Vec<usize>>,
    /// And after.
    pub(super) after: Vec<Vec<usize>>,
    /// Near tasks of the same rank, the nearest first.
    pub(super) near: Vec<Vec<usize>>,
    /// A circle about all places of each task: centre and radius.
    pub(super) round: Vec<(DVec2, f64)>,
    pub(super) heat: Option<Heat>,
    pub(super) warm: Vec<Option<Warm>>,
}

/// A sequence with a gate for every task.
#[derive(Clone, Debug, Default)]
pub(super) struct Run {
    pub(super) seq: Vec<usize>,
    /// Where in the sequence each task is.
    pub(super) at: Vec<usize>,
    /// The gate of each task, in the row of all gates.
    pub(super) gate: Vec<usize>,
}

impl Run {
    /// Writes down anew where the tasks from this position on are.
    pub(super) fn count_from(&mut self, from: usize) {
        for (i, &t) in self.seq.iter().enumerate().skip(from) {
            self.at[t] = i;
        }
    }
    /// Takes over another without giving up memory.
    pub(super) fn take(&mut self, o: &Self) {
        self.seq.clone_from(&o.seq);
        self.at.clone_from(&o.at);
        self.gate.clone_from(&o.gate);
    }
}

impl Problem {
    pub(super) fn new(
        tasks: &[Task],
        start: DVec2,
        end: Option<DVec2>,
        heat: Option<Heat>,
    ) -> Result<Self, Unordered> {
        let place = |p: DVec2| p.is_finite() && p.abs().max_element() <= FAR;
        if !place(start) || !end.is_none_or(place) || !heat.is_none_or(|h| h.sound()) {
            return Err(Unordered::NoNumberAsked);
        }
        for (t, task) in tasks.iter().enumerate() {
            if task.gates.is_empty() {
                return Err(Unordered::NoGate(t));
            }
            let finite = task.gates.iter().all(|g| place(g.enter) && place(g.leave));
            if !finite || !task.warm.is_none_or(|w| w.sound()) {
                return Err(Unordered::NoNumber(t));
            }
            if let Some(&first) = task.first.iter().find(|&&f| f >= tasks.len()) {
                return Err(Unordered::Unknown { task: t, first });
            }
        }
        let sorted = sorted(tasks)?;
        let mut problem = Self {
            start,
            end,
            enter: Vec::new(),
            leave: Vec::new(),
            other_way: Vec::new(),
            task_of: Vec::new(),
            gates_of: Vec::new(),
            rank: Vec::new(),
            ranks: 0,
            before: vec![Vec::new(); tasks.len()],
            after: vec![Vec::new(); tasks.len()],
            near: Vec::new(),
            round: Vec::new(),
            heat,
            warm: tasks.iter().map(|t| t.warm).collect(),
        };
        for (t, task) in tasks.iter().enumerate() {
            let from = problem.enter.len();
            for (i, g) in task.gates.iter().enumerate() {
                problem.enter.push(g.enter);
                problem.leave.push(g.leave);
                problem.task_of.push(t);
                let back = |o: &super::Gate| o.enter == g.leave && o.leave == g.enter;
                problem
                    .other_way
                    .push(from + task.gates.iter().position(back).unwrap_or(i));
            }
            problem.gates_of.push(from..problem.enter.len());
        }
        let mut levels: Vec<u32> = tasks.iter().map(|t| t.rank).collect();
        levels.sort_unstable();
        levels.dedup();
        problem.ranks = levels.len();
        problem.rank = tasks
            .iter()
            .map(|t| levels.partition_point(|&l| l < t.rank))
            .collect();
        for t in sorted {
            let mut all: Vec<usize> = Vec::new();
            for &f in tasks[t]
                .first
                .iter()
                .filter(|&&f| tasks[f].rank == tasks[t].rank)
            {
                all.push(f);
                all.extend_from_slice(&problem.before[f]);
            }
            all.sort_unstable();
            all.dedup();
            for &f in &all {
                problem.after[f].push(t);
            }
            problem.before[t] = all;
        }
        let boxes = problem.boxes();
        problem.near = problem.neighbours(&boxes);
        problem.round = boxes
            .iter()
            .map(|(lo, hi)| (lo.midpoint(*hi), lo.distance(*hi) / 2.0))
            .collect();
        Ok(problem)
    }

    pub(super) fn tasks(&self) -> usize {
        self.gates_of.len()
    }
    /// Where the tool goes off before this position of the sequence.
    pub(super) fn from(&self, run: &Run, i: usize) -> DVec2 {
        match i.checked_sub(1) {
            Some(i) => self.leave[run.gate[run.seq[i]]],
            None => self.start,
        }
    }
    /// Where it goes on at this position; at the end of the sequence where it is parked, if anywhere.
    pub(super) fn to(&self, run: &Run, i: usize) -> Option<DVec2> {
        match run.seq.get(i) {
            Some(&t) => Some(self.enter[run.gate[t]]),
            None => self.end,
        }
    }
    /// Travel to this position from the one before.
    pub(super) fn leg(&self, run: &Run, i: usize) -> f64 {
        self.to(run, i)
            .map_or(0.0, |to| self.from(run, i).distance(to))
    }
    pub(super) fn travel(&self, run: &Run) -> f64 {
        (0..=run.seq.len()).map(|i| self.leg(run, i)).sum()
    }
    /// What the search makes small.
    pub(super) fn cost(&self, run: &Run) -> f64 {
        let price = self.heat.map_or(0.0, |h| h.price);
        self.travel(run)
            + if price > 0.0 {
                price * heat::early(self, run)
            } else {
                0.0
            }
    }
    /// Least way from leaving one task to entering another.
    pub(super) fn apart(&self, a: usize, b: usize) -> f64 {
        let mut least = f64::INFINITY;
        for g in self.gates_of[a].clone() {
            for h in self.gates_of[b].clone() {
                least = least.min(self.leave[g].distance_squared(self.enter[h]));
            }
        }
        least.sqrt()
    }

    fn boxes(&self) -> Vec<(DVec2, DVec2)> {
        let around = |own: &Range<usize>| {
            let places = own.clone().flat_map(|g| [self.enter[g], self.leave[g]]);
            let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
            places.fold(none, |(lo, hi), p| (lo.min(p), hi.max(p)))
        };
        self.gates_of.iter().map(around).collect()
    }
    fn neighbours(&self, boxes: &[(DVec2, DVec2)]) -> Vec<Vec<usize>> {
        let mut rough: Vec<(f64, usize)> = Vec::new();
        (0..self.tasks())
            .map(|a| {
                rough.clear();
                for b in (0..self.tasks()).filter(|&b| b != a && self.rank[b] == self.rank[a]) {
                    let gap = (boxes[b].0 - boxes[a].1).max(boxes[a].0 - boxes[b].1);
                    rough.push((gap.max(DVec2::ZERO).length_squared(), b));
                }
                let by =
                    |x: &(f64, usize), y: &(f64, usize)| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1));
                if rough.len() > 4 * NEAR {
                    rough.select_nth_unstable_by(4 * NEAR, by);
                    rough.truncate(4 * NEAR);
                }
                for (gap, b) in &mut rough {
                    *gap = self.apart(a, *b).min(self.apart(*b, a));
                }
                rough.sort_unstable_by(by);
                rough.iter().take(NEAR).map(|&(_, b)| b).collect()
            })
            .collect()
    }
}

/// Every task after those it waits for, ranks among them.
fn sorted(tasks: &[Task]) -> Result<Vec<usize>, Unordered> {
    let mut waits: Vec<usize> = tasks.iter().map(|t| t.first.len()).collect();
    let mut then: Vec<Vec<usize>> = vec![Vec::new(); tasks.len()];
    for (t, task) in tasks.iter().enumerate() {
        for &f in &task.first {
            if tasks[f].rank > task.rank {
                return Err(Unordered::Circle(vec![t, f]));
            }
            then[f].push(t);
        }
    }
    let mut out: Vec<usize> = (0..tasks.len()).filter(|&t| waits[t] == 0).collect();
    let mut i = 0;
    while i < out.len() {
        for &t in &then[out[i]] {
            waits[t] -= 1;
            if waits[t] == 0 {
                out.push(t);
            }
        }
        i += 1;
    }
    if out.len() == tasks.len() {
        return Ok(out);
    }
    // Whoever still waits, waits for one who still waits: going back along that leads into a circle.
    let mut way: Vec<usize> = waits.iter().position(|&w| w > 0).into_iter().collect();
    while let Some(&t) = way.last() {
        let Some(&next) = tasks[t].first.iter().find(|&&f| waits[f] > 0) else {
            break;
        };
        if let Some(i) = way.iter().position(|&w| w == next) {
            way.drain(..i);
            break;
        }
        way.push(next);
    }
    Err(Unordered::Circle(way))
}
