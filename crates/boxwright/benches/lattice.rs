//! How long one shape repeated takes to reach each number of parts, beside rows of its box.
//!
//! Own harness: what is measured is when a count is first reached, not how long a call lasts. An
//! argument gives the seconds for each search, 10 when not given.

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(clippy::expect_used, reason = "a bench may stop on what cannot be")]

use std::time::Instant;

use boxwright::sheet::lattice::{Repeat, bound, densest, repeat_told};
use boxwright::sheet::{Shape, Spot, Turn};

fn mm(points: &[(i64, i64)]) -> Shape {
    let at = points.iter().map(|(x, y)| Spot::new(x * 1000, y * 1000));
    Shape {
        outer: at.collect(),
        holes: Vec::new(),
    }
}

fn slotted() -> Shape {
    let mut lower = vec![(0, 115), (35, 100), (35, 0)];
    for x in [335, 535, 835] {
        lower.extend([(x - 3, 0), (x - 3, 100), (x + 3, 100), (x + 3, 0)]);
    }
    lower.extend([(1032, 0), (1032, 100), (1035, 100)]);
    let upper: Vec<_> = lower.iter().rev().map(|(x, y)| (*x, 350 - *y)).collect();
    lower.extend(upper);
    mm(&lower)
}

#[rustfmt::skip]
fn cross() -> Shape {
    mm(&[(80, 0), (330, 0), (330, 80), (410, 80), (410, 230), (330, 230),
        (330, 310), (80, 310), (80, 230), (0, 230), (0, 80), (80, 80)])
}

fn main() {
    let seconds = std::env::args()
        .find_map(|a| a.parse().ok())
        .unwrap_or(10.0);
    let half = [Turn::None, Turn::Half];
    let sheet = Shape::rect(2_400_000, 1_600_000);
    let l = mm(&[
        (0, 0),
        (200, 0),
        (200, 100),
        (100, 100),
        (100, 200),
        (0, 200),
    ]);
    let trapezoid = mm(&[(0, 0), (400, 0), (300, 200), (100, 200)]);
    for (name, shape, turns) in [
        ("cross tray", cross(), &half[..]),
        ("L of three", l, &half[..]),
        ("trapezoid", trapezoid, &half[..]),
        ("slotted, half turns", slotted(), &half[..]),
        ("slotted, quarter turns", slotted(), &Turn::ALL[..]),
    ] {
        let b = shape.bounds();
        let (w, h) = (b.width(), b.height());
        let grid = (2_400_000 / w) * (1_600_000 / h);
        println!(
            "{name}: rows of its box {grid}; {}",
            bound(&shape, turns, &sheet)
        );
        let start = Instant::now();
        let ask = Repeat {
            shape: &shape,
            turns,
            sheet: &sheet,
            most: None,
        };
        let _ = repeat_told(
            &ask,
            &mut || start.elapsed().as_secs_f64() > seconds,
            &mut |n| {
                println!(
                    "  {n:>4} after {:>9.2} ms",
                    start.elapsed().as_secs_f64() * 1e3
                )
            },
        );
        println!(
            "   ended after {:>9.2} ms",
            start.elapsed().as_secs_f64() * 1e3
        );
        let start = Instant::now();
        let lattice = densest(&shape, &half, &mut || {
            start.elapsed().as_secs_f64() > seconds
        })
        .expect("a shape with area");
        println!(
            "  plane {:.5} in {:.2} ms",
            lattice.density,
            start.elapsed().as_secs_f64() * 1e3
        );
    }
}
