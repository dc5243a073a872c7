//! The search on several threads, each with its own random numbers, and a bar meanwhile.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use boxwright::sheet::{Effort, Layout, Score, Task, lay, score};
use indicatif::{ProgressBar, ProgressStyle};

use crate::args::LayArgs;

/// How often the bar moves on and the keyboard is heard.
const TICK: Duration = Duration::from_millis(50);

/// What came of it.
pub struct Found {
    /// The best layout.
    pub layout: Layout,
    /// Whether it was stopped before its time.
    pub stopped: bool,
}

/// Searches until the time is over, the rounds are done, or the user stops it with Ctrl-C.
pub fn search(task: &Task, args: &LayArgs) -> Found {
    let stopped = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&stopped);
    // Where no handler can be set, Ctrl-C ends the program as it always does.
    let _ = ctrlc::set_handler(move || {
        if flag.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
    let threads = args.threads.unwrap_or_else(|| {
        thread::available_parallelism().map_or(1, |n| u64::try_from(n.get()).unwrap_or(1))
    });
    let rounds = AtomicU64::new(0);
    let running = AtomicU64::new(threads);
    let began = Instant::now();
    let limit = Duration::try_from_secs_f64(args.seconds).unwrap_or(Duration::MAX);
    let effort = |n: u64| Effort {
        rounds: args.rounds.unwrap_or(u64::MAX),
        seed: args.seed.wrapping_add(n),
    };
    let work = |n: u64| {
        let layout = lay(task, effort(n), &mut |_| {
            rounds.fetch_add(1, Ordering::Relaxed);
            let over = args.rounds.is_none() && began.elapsed() >= limit;
            !over && !stopped.load(Ordering::Relaxed)
        });
        running.fetch_sub(1, Ordering::Relaxed);
        layout
    };
    let best = thread::scope(|scope| {
        let work = &work;
        let workers: Vec<_> = (0..threads).map(|n| scope.spawn(move || work(n))).collect();
        let total = args.rounds.map(|r| r.saturating_mul(threads));
        watch(&running, &rounds, total, began, limit);
        // In the order of their seeds, so that of equally good ones the same is taken.
        let all = workers.into_iter().filter_map(|w| w.join().ok());
        all.map(|l| (score(&l), l))
            .reduce(|a: (Score, Layout), b| if b.0.beats(&a.0) { b } else { a })
    });
    Found {
        layout: best.map_or_else(|| lay(task, effort(0), &mut |_| false), |b| b.1),
        stopped: stopped.load(Ordering::Relaxed),
    }
}

/// A bar on the terminal until no thread is running. Drawn to standard error, and not at all where
/// that is no terminal.
fn watch(
    running: &AtomicU64,
    rounds: &AtomicU64,
    total: Option<u64>,
    began: Instant,
    limit: Duration,
) {
    let length = total.unwrap_or_else(|| u64::try_from(limit.as_millis()).unwrap_or(u64::MAX));
    let bar = ProgressBar::new(length);
    let template = if total.is_some() {
        "{pos} of {len} rounds {wide_bar} Ctrl-C takes the best so far"
    } else {
        "{msg} rounds {wide_bar} {eta} left, Ctrl-C takes the best so far"
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    while running.load(Ordering::Relaxed) > 0 {
        let done = rounds.load(Ordering::Relaxed);
        if total.is_some() {
            bar.set_position(done);
        } else {
            bar.set_message(done.to_string());
            bar.set_position(u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX));
        }
        thread::sleep(TICK);
    }
    bar.finish_and_clear();
}
