//! The order in which strokes are cut, with as little travel as can be found.
//!
//! A task is one stroke that is made whole. It has one or more gates, ways to do it: a closed contour
//! can be begun at any of the places given (and ends there), an open line can be run from either end.
//! Some tasks come before others: creases before cuts, a cut-out before the outline around it. Asked
//! for is a sequence of tasks and a gate for each, such that the way with the tool off is short: from
//! the start over all tasks to the end. That is the travelling salesman's problem over groups, with
//! precedence.
//!
//! For a given sequence the best gates are found exactly ([`gates`]). Sequences are first built by
//! going to what is nearest ([`greedy`]) and then changed at random, a worse one being taken now and
//! then, less often as time goes on ([`search`]). Where few sequences are possible all of them are
//! gone through, which proves the best one ([`exact`]). [`least_travel`] says below which length no
//! order can come, so that the room for improvement can be shown.
//!
//! Travel is length, not time: how a machine gathers speed is not looked at here.

mod bound;
mod exact;
mod gates;
mod greedy;
mod heat;
mod model;
mod search;
#[cfg(test)]
mod tests;

use std::fmt;

use crate::geom::DVec2;

pub use bound::{BOUND_TASKS, least_travel};
pub use heat::{Heat, Warm};

use gates::Gates;
use model::Problem;

/// One way to do a task.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// Where the tool goes on (mm).
    pub enter: DVec2,
    /// Where it goes off (mm).
    pub leave: DVec2,
}

/// One stroke, made whole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Task {
    /// The ways to do it; at least one.
    pub gates: Vec<Gate>,
    /// Tasks that come before it, by number.
    pub first: Vec<usize>,
    /// Every task with a lower rank comes before it.
    pub rank: u32,
    /// What it warms; only looked at when heat counts.
    pub warm: Option<Warm>,
}

impl Task {
    /// A closed contour that can be begun at any of these places.
    #[must_use]
    pub fn ring(places: &[DVec2]) -> Self {
        let gates = places.iter().map(|&p| Gate { enter: p, leave: p });
        Self {
            gates: gates.collect(),
            ..Self::default()
        }
    }
    /// An open line that can be run from either end.
    #[must_use]
    pub fn line(a: DVec2, b: DVec2) -> Self {
        let gates = vec![Gate { enter: a, leave: b }, Gate { enter: b, leave: a }];
        Self {
            gates,
            ..Self::default()
        }
    }
    /// The same after these others.
    #[must_use]
    pub fn after(mut self, first: &[usize]) -> Self {
        self.first.extend_from_slice(first);
        self
    }
}

/// How to search.
#[derive(Clone, Debug, PartialEq)]
pub struct Effort {
    /// Where the random numbers start.
    pub seed: u64,
    /// How many changes to try. The same number gives the same tour, as long as nothing stops it.
    pub rounds: u64,
    /// Whether to prove the best order where few are possible.
    pub prove: bool,
    /// What strokes close together in time and place cost; `None` looks at travel alone.
    pub heat: Option<Heat>,
}

impl Effort {
    /// Rounds that take a second or two for some hundred tasks (docs/cut-order.md).
    pub const ROUNDS: u64 = 150_000;
}

impl Default for Effort {
    fn default() -> Self {
        Self {
            seed: 1,
            rounds: Self::ROUNDS,
            prove: true,
            heat: None,
        }
    }
}

/// One task of a tour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// Which task.
    pub task: usize,
    /// Which of its gates.
    pub gate: usize,
}

/// An order found.
#[derive(Clone, Debug, PartialEq)]
pub struct Tour {
    /// Every task once.
    pub steps: Vec<Step>,
    /// Way with the tool off, from the start to the end (mm).
    pub travel: f64,
    /// Seconds by which strokes begin too early, all together; 0 when heat does not count.
    pub early: f64,
    /// Whether no order has less travel (to a millionth of a millimetre).
    pub proved: bool,
    /// Whether it was stopped before all rounds were done.
    pub stopped: bool,
}

/// Why there is no order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unordered {
    /// These tasks wait for one another: each for the next, the last for the first.
    Circle(Vec<usize>),
    /// There is no way to do this task.
    NoGate(usize),
    /// A task waits for one that is not there.
    Unknown {
        /// The task.
        task: usize,
        /// What it waits for.
        first: usize,
    },
    /// A place, time or price of this task is not a number, or below nothing.
    NoNumber(usize),
    /// Start, end or what heat costs is not a number, or below nothing.
    NoNumberAsked,
}

impl fmt::Display for Unordered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Circle(tasks) => {
                let names: Vec<String> = tasks.iter().map(ToString::to_string).collect();
                write!(f, "strokes wait for one another: {}", names.join(" after "))
            }
            Self::NoGate(t) => write!(f, "stroke {t} has no place to begin"),
            Self::Unknown { task, first } => {
                write!(
                    f,
                    "stroke {task} waits for stroke {first}, which is not there"
                )
            }
            Self::NoNumber(t) => write!(f, "stroke {t} has a place or time that is no number"),
            Self::NoNumberAsked => f.write_str("start, end or heat holds what is no number"),
        }
    }
}

impl std::error::Error for Unordered {}

/// The tasks in an order with little travel. `stop` is asked now and then; once it says yes, the best
/// order so far is given.
///
/// # Errors
/// What of the tasks cannot be.
pub fn order(
    tasks: &[Task],
    start: DVec2,
    end: Option<DVec2>,
    effort: &Effort,
    stop: &mut dyn FnMut() -> bool,
) -> Result<Tour, Unordered> {
    let problem = Problem::new(tasks, start, end, effort.heat)?;
    let mut gates = Gates::default();
    let mut best = greedy::best(&problem, &mut gates);
    let mut proved = problem.tasks() <= 1 && problem.heat.is_none();
    let mut stopped = false;
    if problem.tasks() > 1 {
        // Where a proof is likely a short search gives it a bound to work with.
        let likely = effort.prove && problem.heat.is_none() && problem.tasks() <= exact::LIKELY;
        let rounds = effort.rounds.min(if likely { 2000 } else { u64::MAX });
        stopped = search::improve(&problem, &mut best, effort.seed, rounds, &mut gates, stop);
        if effort.prove && problem.heat.is_none() && !stopped {
            proved = exact::prove(&problem, &mut best, stop);
        }
        if likely && !proved && !stopped {
            stopped = search::improve(
                &problem,
                &mut best,
                effort.seed,
                effort.rounds - rounds,
                &mut gates,
                stop,
            );
        }
    }
    let steps = best.seq.iter().map(|&task| Step {
        task,
        gate: best.gate[task] - problem.gates_of[task].start,
    });
    Ok(Tour {
        steps: steps.collect(),
        travel: problem.travel(&best),
        early: heat::early(&problem, &best),
        proved,
        stopped,
    })
}

/// Travel of a sequence from the start to the end (mm), without looking at precedence. `None` when a
/// step names no task or gate.
#[must_use]
pub fn travel(tasks: &[Task], steps: &[Step], start: DVec2, end: Option<DVec2>) -> Option<f64> {
    let mut here = start;
    let mut sum = 0.0;
    for step in steps {
        let gate = tasks.get(step.task)?.gates.get(step.gate)?;
        sum += here.distance(gate.enter);
        here = gate.leave;
    }
    Some(sum + end.map_or(0.0, |e| here.distance(e)))
}
