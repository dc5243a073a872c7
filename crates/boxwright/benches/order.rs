//! The order of strokes against the references of `tests/data/order`: travel, ratio, time.
//!
//! Own harness, because what is asked is a ratio of travel. Time is that of the processor where the
//! system tells it (so that a busy machine does not count), else that of the clock. Arguments: parts
//! of names to run only those.

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a bench may stop on what cannot be"
)]

#[path = "../tests/common/strokes.rs"]
mod strokes;

use std::fs;
use std::time::Instant;

use boxwright::cut::order::{Effort, least_travel, order};
use strokes::samples;

/// Longest that an order may take (s).
const SECONDS: f64 = 2.0;

/// Seconds this thread has run so far.
fn seconds(began: Instant) -> f64 {
    fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|s| s.split_whitespace().next()?.parse::<f64>().ok())
        .map_or_else(|| began.elapsed().as_secs_f64(), |ns| ns / 1e9)
}

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let began = Instant::now();
    println!("layout    strokes      ours  seconds       reference  seconds   ratio  bound/ours");
    let (mut sum, mut count, mut worst) = (0.0, 0, 0.0_f64);
    for s in samples("") {
        if !wanted.is_empty() && !wanted.iter().any(|w| s.name.contains(w.as_str())) {
            continue;
        }
        let from = seconds(began);
        let mut stop = || seconds(began) - from > SECONDS;
        let tour = order(&s.tasks, s.start, s.end, &Effort::default(), &mut stop).unwrap();
        let took = seconds(began) - from;
        let bound = least_travel(&s.tasks, s.start, s.end).unwrap().unwrap();
        let ratio = tour.travel / s.reference;
        println!(
            "{:9} {:7} {:9.1} {took:8.2} {:15.1} {:>8} {ratio:7.4} {:11.3}{}{}",
            s.name,
            s.tasks.len(),
            tour.travel,
            s.reference,
            s.processor.map_or("?".into(), |p| format!("{p:.1}")),
            bound / tour.travel,
            if tour.proved { "  proved" } else { "" },
            if tour.stopped { "  stopped" } else { "" },
        );
        sum += ratio.ln();
        count += 1;
        worst = worst.max(ratio);
    }
    println!(
        "mean ratio {:.4}, worst {worst:.4}",
        (sum / f64::from(count)).exp()
    );
}
