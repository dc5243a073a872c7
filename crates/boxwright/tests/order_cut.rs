//! The order of strokes held against what outside solvers find.
//!
//! `tests/data/order` holds layouts with the travel found by OR-Tools' routing solver (30 of 20 to 300
//! strokes) and the optimum proved by its CP-SAT (10 of 6 to 12 strokes); each file says for how long
//! and with which version. `tests/outside/order_reference.py` makes them. Here rounds are limited, not
//! time, so the same tours come out everywhere; docs/cut-order.md says how long they take.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it found"
)]

#[path = "common/strokes.rs"]
mod strokes;

use boxwright::cut::order::{Effort, Tour, least_travel, order, travel};
use strokes::{Sample, samples};

fn ours(s: &Sample) -> Tour {
    let tour = order(&s.tasks, s.start, s.end, &Effort::default(), &mut || false).unwrap();
    let mut at = vec![usize::MAX; s.tasks.len()];
    for (i, step) in tour.steps.iter().enumerate() {
        assert_eq!(at[step.task], usize::MAX, "{}: twice", s.name);
        at[step.task] = i;
    }
    assert_eq!(tour.steps.len(), s.tasks.len(), "{}", s.name);
    for (t, task) in s.tasks.iter().enumerate() {
        assert!(
            task.first.iter().all(|&f| at[f] < at[t]),
            "{}: {t} too early",
            s.name
        );
    }
    let sum = travel(&s.tasks, &tour.steps, s.start, s.end).unwrap();
    assert!((sum - tour.travel).abs() < 1e-6, "{}: {sum}", s.name);
    tour
}

fn large(share: usize) {
    let all = samples("large");
    assert_eq!(all.len(), 30);
    assert!(all.iter().any(|s| s.tasks.len() == 20) && all.iter().any(|s| s.tasks.len() == 300));
    for s in all.iter().skip(share).step_by(3) {
        let tour = ours(s);
        println!("{}: {:.1} against {:.1}", s.name, tour.travel, s.reference);
        assert!(
            tour.travel <= s.reference + 1e-6,
            "{}: {} > {}",
            s.name,
            tour.travel,
            s.reference
        );
        let bound = least_travel(&s.tasks, s.start, s.end)
            .unwrap()
            .expect("few enough");
        assert!(
            0.0 < bound && bound <= tour.travel + 1e-6,
            "{}: {bound}",
            s.name
        );
    }
}

#[test]
fn no_longer_than_the_routing_solver_a() {
    large(0);
}

#[test]
fn no_longer_than_the_routing_solver_b() {
    large(1);
}

#[test]
fn no_longer_than_the_routing_solver_c() {
    large(2);
}

#[test]
fn the_optimum_proved_outside_is_ours() {
    let all = samples("small");
    assert_eq!(all.len(), 10);
    for s in &all {
        let tour = ours(s);
        assert!(tour.proved, "{}", s.name);
        let off = (tour.travel - s.reference).abs() / s.reference;
        assert!(
            off < 1e-6,
            "{}: {} and {}",
            s.name,
            tour.travel,
            s.reference
        );
        // The search alone finds it as well.
        let alone = Effort {
            prove: false,
            rounds: 20_000,
            ..Effort::default()
        };
        let found = order(&s.tasks, s.start, s.end, &alone, &mut || false).unwrap();
        assert!(
            (found.travel - tour.travel).abs() < 1e-6,
            "{}: {}",
            s.name,
            found.travel
        );
    }
}

#[test]
fn a_worse_order_would_be_noticed() {
    // The check has teeth: the first tour, before any search, is mostly longer than the optimum.
    let all = samples("small");
    let none = Effort {
        rounds: 0,
        prove: false,
        ..Effort::default()
    };
    let longer = all.iter().filter(|s| {
        let first = order(&s.tasks, s.start, s.end, &none, &mut || false).unwrap();
        first.travel > s.reference + 1e-6
    });
    assert!(longer.count() > 5);
}
