//! Patterns of equal cases: time and share proved over 1,000 random real cases, and the published hard
//! ones.
//!
//! Own harness: what is wanted is the spread over different cases, not one case many times.

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(clippy::expect_used, reason = "a bench may stop on what cannot be")]

use std::time::Instant;

use boxwright::pallet::{Ask, Patterns, patterns};
use boxwright::units::Length;

const FLOORS: [[f64; 2]; 5] = [
    [1200.0, 800.0],
    [1200.0, 1000.0],
    [1219.0, 1016.0],
    [1100.0, 1100.0],
    [1165.0, 1165.0],
];
const HARD: [[f64; 4]; 6] = [
    [43.0, 26.0, 7.0, 3.0],
    [49.0, 28.0, 8.0, 3.0],
    [57.0, 34.0, 7.0, 4.0],
    [63.0, 44.0, 8.0, 5.0],
    [67.0, 37.0, 11.0, 3.0],
    [67.0, 40.0, 11.0, 3.0],
];

fn timed(floor: [f64; 2], case: [f64; 2]) -> (f64, Patterns) {
    let ask = Ask::new(floor.map(Length::mm), case.map(Length::mm));
    let start = Instant::now();
    let found = patterns(&ask).expect("sizes that can be");
    (start.elapsed().as_secs_f64() * 1e3, found)
}

fn main() {
    let mut seed = 0x9e37_79b9_7f4a_7c15_u64;
    let mut within = |low: u64, high: u64| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        low + seed % (high - low + 1)
    };
    for (name, least) in [("cases of 100 mm and more", 100), ("of 60 mm and more", 60)] {
        let mut times = Vec::new();
        let mut proved = 0;
        for _ in 0..1000 {
            let floor = FLOORS[within(0, 4) as usize];
            let short = within(least, 400);
            let long = within(short, short.max(600));
            let (ms, found) = timed(floor, [long as f64, short as f64]);
            times.push(ms);
            proved += usize::from(found.proved);
        }
        times.sort_by(f64::total_cmp);
        let at = |share: usize| times[(times.len() * share / 100).min(times.len() - 1)];
        println!(
            "1,000 {name}: {proved} proved; median {:.3} ms, 90 % within {:.3} ms, 99 % {:.3} ms, all {:.1} ms",
            at(50),
            at(90),
            at(99),
            at(100)
        );
    }
    for [x, y, l, w] in HARD {
        let (ms, found) = timed([x, y], [l, w]);
        println!(
            "{x} x {y} of {l} x {w}: {} of at most {}, {ms:.1} ms",
            found.count, found.bound
        );
    }
}
