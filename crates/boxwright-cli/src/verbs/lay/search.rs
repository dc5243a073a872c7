//! The search on several threads, each with its own random numbers, and a bar meanwhile.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use boxwright::diag::Diag;
use boxwright::sheet::{Layout, Progress, Task, lay, score};
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
pub fn search(task: &Task, args: &LayArgs) -> Result<Found, Vec<Diag>> {
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
    let sight = Sight {
        moves: AtomicU64::new(0),
        running: AtomicU64::new(threads),
        began: Instant::now(),
        limit: Duration::try_from_secs_f64(args.seconds).unwrap_or(Duration::MAX),
        rounds: args.rounds,
    };
    let work = |n: u64| {
        let mut told = 0;
        let found = lay(task, args.seed.wrapping_add(n), &mut |p| {
            sight.moves.fetch_add(p.moves - told, Ordering::Relaxed);
            told = p.moves;
            if stopped.load(Ordering::Relaxed) {
                1.0
            } else {
                sight.spent(p)
            }
        });
        sight.running.fetch_sub(1, Ordering::Relaxed);
        found
    };
    let best = thread::scope(|scope| {
        let work = &work;
        let workers: Vec<_> = (0..threads).map(|n| scope.spawn(move || work(n))).collect();
        sight.watch(threads);
        // In the order of their seeds, so that of equally good ones the same is taken.
        let all = workers.into_iter().filter_map(|w| w.join().ok());
        all.map(|found| found.map(|l| (score(&l), l)))
            .reduce(|a, b| match (a, b) {
                (Ok(a), Ok(b)) => Ok(if b.0.beats(&a.0) { b } else { a }),
                (Ok(a), Err(_)) => Ok(a),
                (Err(_), b) => b,
            })
    });
    match best {
        Some(Ok((_, layout))) => Ok(Found {
            layout,
            stopped: stopped.load(Ordering::Relaxed),
        }),
        Some(Err(d)) => Err(vec![d]),
        None => Err(vec![Diag::error("search-failed", "the search broke off")]),
    }
}

/// What the threads share, and the bar shows.
struct Sight {
    moves: AtomicU64,
    running: AtomicU64,
    began: Instant,
    limit: Duration,
    rounds: Option<u64>,
}

impl Sight {
    /// How much of the rounds or of the time is spent.
    fn spent(&self, p: &Progress) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "a share")]
        match self.rounds {
            Some(r) => p.moves as f64 / r as f64,
            None if self.limit.is_zero() => 1.0,
            None => self.began.elapsed().as_secs_f64() / self.limit.as_secs_f64(),
        }
    }

    /// A bar on the terminal until no thread is running. Drawn to standard error, and not at all
    /// where that is no terminal.
    fn watch(&self, threads: u64) {
        let total = self.rounds.map(|r| r.saturating_mul(threads));
        let millis = |d: Duration| u64::try_from(d.as_millis()).unwrap_or(u64::MAX);
        let bar = ProgressBar::new(total.unwrap_or_else(|| millis(self.limit)));
        let template = if total.is_some() {
            "{pos} of {len} rounds {wide_bar} Ctrl-C takes the best so far"
        } else {
            "{msg} rounds {wide_bar} {eta} left, Ctrl-C takes the best so far"
        };
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        while self.running.load(Ordering::Relaxed) > 0 {
            let done = self.moves.load(Ordering::Relaxed);
            if total.is_some() {
                bar.set_position(done);
            } else {
                bar.set_message(done.to_string());
                bar.set_position(millis(self.began.elapsed()));
            }
            thread::sleep(TICK);
        }
        bar.finish_and_clear();
    }
}
