//! `style check`: does a style hold at any size?

use std::fmt::Write as _;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use boxwright::board::{Board, read_boards};
use boxwright::brief::equipped;
use boxwright::diag::{Diag, Named, Place};
use boxwright::expr::Value;
use boxwright::job::outside_setting;
use boxwright::proof::{Outcome, Tally, attempt, case, plain};
use boxwright::read::suggestion;
use boxwright::source::Door;
use boxwright::style::{ParameterKind, Style, parse_style};
use boxwright::units::{Dim, Quantity};

use super::{Done, Status};
use crate::args::{StyleArgs, StyleVerb};
use crate::desk::Desk;
use crate::excerpt::cleaned;

/// Values tried between the least and the greatest of a parameter.
const STEPS: usize = 24;

/// Runs it.
pub fn run(args: &StyleArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    match &args.verb {
        StyleVerb::Check {
            file,
            cases,
            seed,
            shown,
        } => checked(file, (*cases, *seed), *shown, desk),
        StyleVerb::Gallery { out, board } => super::gallery::run(out, board, desk),
    }
}

fn checked(
    file: &str,
    (cases, seed): (u64, u64),
    shown: usize,
    desk: &mut Desk,
) -> Result<Done, Vec<Diag>> {
    let place = Place {
        input: "FILE".to_owned(),
        start: 0,
        end: file.len(),
    };
    desk.note("FILE", file);
    let named = Named {
        name: file.to_owned(),
        place: place.clone(),
    };
    desk.bring_style(&named, std::path::Path::new(""))
        .map_err(|d| vec![d])?;
    let Some(text) = desk.style(file) else {
        let known = desk.style_names();
        return Err(vec![
            Diag::error("unknown-style", format!("there is no style `{file}`"))
                .at(place)
                .help(suggestion(file, known.iter().map(String::as_str))),
        ]);
    };
    let style = Arc::new(parse_style(&text, desk)?);
    let boards: Vec<Board> = read_boards(&desk.boards())?.iter().cloned().collect();
    let tally = tried(&style, &boards, seed, cases);
    let mut out = String::new();
    let _ = writeln!(out, "{} ({})", style.title, style.name);
    counted(&mut out, &tally, cases, shown);
    unused(&mut out, &style, &tally);
    if tally.wrong.is_empty() {
        ranges(&mut out, &style, &boards, seed);
    }
    let status = if tally.wrong.is_empty() && tally.holds > 0 {
        Status::Fine
    } else {
        Status::Failed
    };
    Done::saying(&cleaned(&out), status, Vec::new())
}

fn tried(style: &Arc<Style>, boards: &[Board], seed: u64, cases: u64) -> Tally {
    let next = AtomicU64::new(0);
    let mut tally = Tally::default();
    std::thread::scope(|s| {
        let work = || {
            let mut own = Tally::default();
            loop {
                let n = next.fetch_add(1, Ordering::Relaxed);
                if n >= cases {
                    return own;
                }
                own.run(style, boards, seed, n);
            }
        };
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let all: Vec<_> = (0..threads).map(|_| s.spawn(work)).collect();
        for t in all {
            match t.join() {
                Ok(own) => tally.add(own),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
    });
    tally
}

fn counted(out: &mut String, tally: &Tally, cases: u64, shown: usize) {
    let _ = writeln!(
        out,
        "{cases} random cases: {} hold, {} refused, {} wrong",
        tally.holds,
        tally.refused.values().sum::<usize>(),
        tally.wrong.len()
    );
    for (code, n) in &tally.cautions {
        let _ = writeln!(out, "  caution {code}: {n}");
    }
    let mut refused: Vec<_> = tally.refused.iter().collect();
    refused.sort_by_key(|(_, n)| std::cmp::Reverse(**n));
    for ((code, words), n) in refused {
        let _ = writeln!(out, "  refused ({code}) {n}: {words}");
    }
    for (number, told, what) in tally.wrong.iter().take(shown) {
        let _ = writeln!(out, "  wrong, case {number}: {told}");
        for w in what {
            let _ = writeln!(out, "      {w}");
        }
    }
    if tally.wrong.len() > shown {
        let _ = writeln!(
            out,
            "  and {} more wrong ones; --shown lists more",
            tally.wrong.len() - shown
        );
    }
}

/// Parts put nowhere, and panels never drawn.
fn unused(out: &mut String, style: &Style, tally: &Tally) {
    if tally.holds == 0 {
        let _ = writeln!(out, "  no case holds: nothing is proved");
    }
    for name in style.never_used() {
        let _ = writeln!(out, "  never used: {name}");
    }
    for name in style.panel_names() {
        let drawn = |p: &String| p.ends_with(&name);
        if !name.contains('{') && tally.holds > 0 && !tally.panels.iter().any(drawn) {
            let _ = writeln!(out, "  never drawn with default parameters: panel `{name}`");
        }
    }
}

/// Over which range of each parameter a middling case holds.
fn ranges(out: &mut String, style: &Arc<Style>, boards: &[Board], seed: u64) {
    let Some(base) = (0..500)
        .filter_map(|n| case(style, boards, seed, n))
        .find(|b| {
            let middling = b
                .job
                .inside
                .iter()
                .all(|l| (80.0..600.0).contains(&l.to_mm()));
            middling && matches!(attempt(b, |_| ()), Outcome::Holds(_))
        })
    else {
        return;
    };
    let job = plain(style, &base.board, base.job.inside);
    let base = equipped(job, Arc::clone(style), base.board.clone());
    let Ok(plan) = base.plan() else { return };
    let _ = writeln!(
        out,
        "ranges that hold for {}:",
        boxwright::proof::told(&base)
    );
    for p in &style.parameters {
        let holds = |value: &str| -> bool {
            let Ok(setting) = outside_setting("set", value) else {
                return false;
            };
            let mut b = base.clone();
            b.job.set.push((
                Named {
                    name: p.name.clone(),
                    place: p.place.clone(),
                },
                setting,
            ));
            matches!(attempt(&b, |_| ()), Outcome::Holds(_))
        };
        let ParameterKind::Quantity(dim) = &p.kind else {
            if let ParameterKind::Choice(words) = &p.kind {
                let good: Vec<&str> = words
                    .iter()
                    .map(String::as_str)
                    .filter(|w| holds(w))
                    .collect();
                let _ = writeln!(
                    out,
                    "  {}: {} (of {})",
                    p.name,
                    good.join(", "),
                    words.join(", ")
                );
            }
            continue;
        };
        let bound = |f: &Option<boxwright::style::Formula>| {
            f.as_ref().and_then(|f| match f.expr.eval(&plan.values) {
                Ok(Value::Quantity(q)) => Some(q.value),
                _ => None,
            })
        };
        let at = plan.values.quantity(&p.name).map_or(0.0, |q| q.value);
        let (lo, hi) = (
            bound(&p.min).unwrap_or(at * 0.5),
            bound(&p.max).unwrap_or(at * 2.0 + 1.0),
        );
        let unit = match *dim {
            Dim::LENGTH => "mm",
            Dim::ANGLE => "rad",
            _ => "",
        };
        #[allow(clippy::cast_precision_loss, reason = "a few dozen steps")]
        let value = |i: usize| lo + (hi - lo) * i as f64 / STEPS as f64;
        let good: Vec<bool> = (0..=STEPS)
            .map(|i| holds(&format!("{}{unit}", value(i))))
            .collect();
        let shown = |v: f64| {
            Quantity {
                value: v,
                dim: *dim,
            }
            .to_string()
        };
        let mut runs = Vec::new();
        let mut i = 0;
        while i <= STEPS {
            if good[i] {
                let from = i;
                while i < STEPS && good[i + 1] {
                    i += 1;
                }
                runs.push(format!("{} to {}", shown(value(from)), shown(value(i))));
            }
            i += 1;
        }
        let _ = writeln!(
            out,
            "  {}: {} (of {} to {}, by default {})",
            p.name,
            if runs.is_empty() {
                "nothing tried holds".to_owned()
            } else {
                runs.join(", ")
            },
            shown(lo),
            shown(hi),
            shown(at)
        );
    }
}
