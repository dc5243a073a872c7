//! Random sizes, boards, crease ways and depths, for every shipped style.
//!
//! Each case is either refused in clear words or drawn soundly; with default parameters a case
//! that is accepted has no failing finding, at rest or on the way, and the asked room is clear.
//!
//! `BOXWRIGHT_RANDOM` sets the number of cases for each style, `BOXWRIGHT_SEED` the seed.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use boxwright::board::{Board, Creasing};
use boxwright::check::{Measure, Report, check, check_resting};
use boxwright::diag::Diag;
use boxwright::expr::Value;
use boxwright::fold::Folder;
use boxwright::source::{Door, Shipped};
use boxwright::style::{ParameterKind, Style, Values};
use boxwright::units::Dim;
use common::{Ask, Dice, boards, failing, line, shipped};

fn count() -> usize {
    number("BOXWRIGHT_RANDOM").map_or(250, |n| usize::try_from(n).expect("a count"))
}

fn seed() -> u64 {
    number("BOXWRIGHT_SEED").unwrap_or(20_250_601)
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name)
        .ok()
        .map(|v| v.parse().unwrap_or_else(|_| panic!("{name} is a number")))
}

/// Words a refusal may come under, each saying what in the ask cannot be.
const REFUSALS: [&str; 4] = [
    "requirement",
    "out-of-range",
    "no-panel-left",
    "crease-off-edge",
];

/// Sizes that cases are asked in, and somewhat beyond what the styles take: pocket boxes to
/// furniture, flat to tall, now and then the wrong way round.
fn sizes(dice: &mut Dice) -> [f64; 3] {
    let w = dice.stretched(25.0, 900.0);
    let l = w * dice.stretched(0.85, 4.0);
    let d = w * dice.stretched(0.1, 3.0);
    [l, w, d]
}

fn ask(style: &std::sync::Arc<Style>, boards: &[Board], dice: &mut Dice) -> Ask {
    let mut a = Ask::new(style, &boards[dice.below(boards.len())], sizes(dice));
    a.creasing = Creasing::ALL[dice.below(4)];
    a.p = match dice.below(3) {
        0 => None,
        1 => {
            let p = dice.between(0.0, 0.6);
            Some([p, p])
        }
        _ => Some([dice.between(0.0, 0.6), dice.between(0.0, 0.6)]),
    };
    a
}

fn told(a: &Ask) -> String {
    format!(
        "{} {:.2?} board {} {} p {:.3?} {:?}",
        a.style.name,
        a.inside,
        a.board.name,
        a.creasing.word(),
        a.p,
        a.set
    )
}

/// What further may be said of parameters that go ill together.
const ILL_MATCHED: [&str; 3] = ["cut-outs-meet", "crossed-outline", "cut-out-outside"];

fn ill_matched(diags: &[Diag]) -> Result<&'static str, String> {
    let (apart, other): (Vec<_>, Vec<_>) = diags
        .iter()
        .cloned()
        .partition(|d| ILL_MATCHED.contains(&d.code));
    if other.is_empty() && apart.iter().all(|d| d.place.is_some() && d.help.is_some()) {
        return Ok("ill-matched");
    }
    clear_refusal(&other)
}

fn clear_refusal(diags: &[Diag]) -> Result<&'static str, String> {
    for d in diags {
        let placed = d.place.as_ref().is_some_and(|p| !p.input.is_empty());
        if !placed || d.message.is_empty() || !REFUSALS.contains(&d.code) {
            return Err(format!("unclear refusal: {d:?}"));
        }
    }
    diags
        .first()
        .map(|d| d.code)
        .ok_or_else(|| "refused without a word".into())
}

fn numbers_are_numbers(r: &Report) -> Result<(), String> {
    let bad = r.findings.iter().find(|f| {
        [f.measured, f.limit].iter().flatten().any(|m| match m {
            Measure::Mm(l) => l.to_mm().is_nan(),
            Measure::Deg(v) | Measure::Mm2(v) => v.is_nan(),
            Measure::Count(_) => false,
        }) || f.places.iter().any(|p| p.is_nan())
    });
    match bad {
        Some(f) => Err(format!("not a number in {}", line(f))),
        None if r.room.iter().any(|l| l.to_mm().is_nan()) => Err("room is not a number".into()),
        None => Ok(()),
    }
}

/// What became of a case: a word to count it under, or what is wrong.
fn by_default(a: &Ask) -> Result<&'static str, String> {
    let brief = a.brief().expect("a job made in code is sound");
    let plan = match brief.plan() {
        Err(diags) => return clear_refusal(&diags),
        Ok(p) => p,
    };
    let plan = plan.validated().map_err(|(_, d)| {
        d.iter()
            .map(|d| d.message.clone())
            .collect::<Vec<_>>()
            .join("; ")
    })?;
    let report = check(&brief, &Folder::new(&plan));
    numbers_are_numbers(&report)?;
    let bad: Vec<String> = failing(&report).into_iter().map(line).collect();
    if !bad.is_empty() {
        return Err(bad.join("\n      "));
    }
    for (found, asked) in report.room.iter().zip(a.inside) {
        if found.to_mm() < asked - 1e-4 {
            return Err(format!("clear {found:?} of {asked}"));
        }
    }
    Ok("accepted")
}

/// Any value of a parameter within its range.
fn setting(style: &Style, values: &Values, dice: &mut Dice) -> Option<(String, String)> {
    let p = &style.parameters[dice.below(style.parameters.len())];
    let value = match &p.kind {
        ParameterKind::Choice(words) => words[dice.below(words.len())].clone(),
        ParameterKind::Quantity(dim) => {
            let bound = |f: &Option<boxwright::style::Formula>| {
                f.as_ref().and_then(|f| match f.expr.eval(values) {
                    Ok(Value::Quantity(q)) => Some(q.value),
                    _ => None,
                })
            };
            let at = values.quantity(&p.name)?.value;
            let (lo, hi) = (
                bound(&p.min).unwrap_or(at * 0.5),
                bound(&p.max).unwrap_or(at * 1.5),
            );
            let v = if dice.below(4) == 0 {
                [lo, hi][dice.below(2)]
            } else {
                dice.between(lo, hi)
            };
            let unit = match *dim {
                Dim::LENGTH => "mm",
                Dim::ANGLE => "rad",
                _ => "",
            };
            format!("{v}{unit}")
        }
    };
    Some((p.name.clone(), value))
}

/// No panic, no NaN, and every refusal in words.
fn any_parameters(a: &Ask, dice: &mut Dice) -> Result<&'static str, String> {
    let values = match a.brief().and_then(|b| b.plan()) {
        Ok(plan) => plan.values,
        Err(diags) => return clear_refusal(&diags),
    };
    let mut a = a.clone();
    for _ in 0..=dice.below(4) {
        if let Some((name, value)) = setting(&a.style, &values, dice) {
            a = a.set(&name, value);
        }
    }
    let brief = a.brief().map_err(|d| format!("{d:?} with {:?}", a.set))?;
    let plan = match brief.plan() {
        Err(diags) => return ill_matched(&diags).map_err(|e| format!("{e} with {:?}", a.set)),
        Ok(p) => p,
    };
    for b in &plan.pieces {
        let f = &b.figures;
        let all = [
            f.area.to_mm2(),
            f.cut_length.to_mm(),
            f.length.to_mm(),
            f.width.to_mm(),
        ];
        if all.iter().any(|v| !v.is_finite() || *v <= 0.0) {
            return Err(format!("figures {f:?} with {:?}", a.set));
        }
    }
    let plan = match plan.validated() {
        Ok(p) => p,
        Err((_, defects)) if defects.iter().all(|d| !d.message.is_empty()) => {
            return Ok("flat-defect");
        }
        Err((_, defects)) => return Err(format!("{defects:?}")),
    };
    let report = check_resting(&brief, &Folder::new(&plan));
    numbers_are_numbers(&report).map_err(|e| format!("{e} with {:?}", a.set))?;
    Ok("accepted")
}

type Trial = fn(&Ask, &mut Dice) -> Result<&'static str, String>;

/// Fails when a case is wrong, or when fewer than one in `least` is accepted.
fn run(trial: Trial, least: usize) {
    let (count, seed, boards) = (count(), seed(), boards());
    let names = Shipped.style_names();
    let mut out = String::new();
    let mut wrong = false;
    for name in &names {
        let style = shipped(name);
        let counts: Mutex<BTreeMap<&str, usize>> = Mutex::default();
        let failures: Mutex<Vec<(usize, String)>> = Mutex::default();
        let next = AtomicUsize::new(0);
        std::thread::scope(|s| {
            for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
                s.spawn(|| {
                    loop {
                        let i = next.fetch_add(1, Ordering::Relaxed);
                        if i >= count {
                            break;
                        }
                        // One seed for each case, so that any can be run alone.
                        let mut dice = Dice(seed.wrapping_add((i as u64) << 20));
                        let a = ask(&style, &boards, &mut dice);
                        let done = std::panic::catch_unwind(|| {
                            let mut dice = Dice(dice.0);
                            trial(&a, &mut dice)
                        })
                        .unwrap_or_else(|_| Err("panic".into()));
                        match done {
                            Ok(word) => {
                                *counts.lock().expect("whole").entry(word).or_default() += 1;
                            }
                            Err(e) => {
                                let told = format!("{}\n      {e}", told(&a));
                                failures.lock().expect("whole").push((i, told));
                            }
                        }
                    }
                });
            }
        });
        let counts = counts.into_inner().expect("whole");
        let mut failures = failures.into_inner().expect("whole");
        failures.sort();
        let _ = writeln!(
            out,
            "{name}: {counts:?}, {} wrong of {count}",
            failures.len()
        );
        let shown = number("BOXWRIGHT_SHOWN").unwrap_or(8);
        for (i, f) in failures.iter().take(usize::try_from(shown).unwrap_or(8)) {
            let _ = writeln!(out, "   case {i}: {f}");
        }
        wrong |= !failures.is_empty();
        if counts.get("accepted").copied().unwrap_or(0) * least < count {
            let _ = writeln!(
                out,
                "   fewer than one in {least} accepted: this says little"
            );
            wrong = true;
        }
    }
    println!("{out}");
    assert!(!wrong, "seed {seed}, {count} cases for each style\n{out}");
}

#[test]
fn defaults_fold_or_are_refused_in_words() {
    run(|a, _| by_default(a), 5);
}

#[test]
fn no_parameter_makes_it_panic() {
    // Parameters drawn at random go ill together more often.
    run(any_parameters, 10);
}
