//! `spread`: how many of many cases hold the asked room, as board, creases and cuts differ.

use boxwright::brief::measured_for;
use boxwright::diag::Diag;
use boxwright::job::outside_constant;
use boxwright::learn::{Case as Made, Cause, Scatter, Share, Spread, Summary, summary};
use boxwright::units::{Dim, Length, LengthUnit, trimmed};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use serde_json::json;

use super::{Done, Status};
use crate::args::SpreadArgs;
use crate::case::{Case, Drawn, case};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::overrides::option;
use crate::{known, say};

/// Cases worked out for one cause alone, as a part of all.
const ALONE: u64 = 4;

/// Runs it.
pub fn run(args: &SpreadArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let Case { brief, drawn } = case(&args.job, desk)?;
    let Drawn::Sound(plan) = drawn else {
        let message = "this blank cannot be cut from one sheet as it is drawn";
        let help = format!(
            "boxwright check {} tells what is wrong",
            args.job.job.display()
        );
        return Err(vec![Diag::error("blank-not-sound", message).help(help)]);
    };
    if !plan.room.leaves.is_empty() {
        let message = "a fitment holds no room of its own";
        let help = "ask for the spread of the case it goes into";
        return Err(vec![Diag::error("no-room", message).help(help)]);
    }
    let scatter = scatter(args, Scatter::usual(&brief), desk)?;
    let short = not_negative(desk, "--short", &args.short, Dim::LENGTH).map_err(|d| vec![d])?;
    let spread = Spread::new(&brief, &plan, scatter, args.seed);
    let bar = ProgressBar::new(args.cases + 4 * alone(args));
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} {wide_bar} {eta} left") {
        bar.set_style(style);
    }
    let run = |of: &Spread<'_>, count: u64| -> Vec<Made> {
        let one = |n| {
            let made = of.case(n);
            bar.inc(1);
            made
        };
        (0..count).into_par_iter().map(one).collect()
    };
    let cases = run(&spread, args.cases);
    let by_cause = Cause::ALL.map(|c| run(&spread.only(c), alone(args)));
    bar.finish_and_clear();
    let found = summary(&cases, &by_cause, Length::mm(short));
    let text = if args.job.json {
        let used = measured_for(&brief.job);
        let all = json!({
            "format": "boxwright-spread",
            "version": 1,
            "title": brief.job.title,
            "seed": args.seed,
            "scatter": spread.scatter(),
            "measured": (!used.is_empty()).then_some(used),
            "fails-as-drawn": spread.fails_as_drawn(),
            "summary": found,
        });
        serde_json::to_string_pretty(&all).unwrap_or_default() + "\n"
    } else {
        let mut out = String::new();
        say::line(&mut out, "case", &brief.job.title);
        let inside = say::sizes(brief.job.inside, args.job.units.into());
        say::line(
            &mut out,
            "asked",
            &format!("{inside}, length x width x depth"),
        );
        if let Some(text) = known::words(&measured_for(&brief.job)) {
            say::line(&mut out, "measured", &text);
        }
        out.push('\n');
        words(&mut out, &spread, &found, args.job.units.into());
        cleaned(&out)
    };
    Done::saying(&text, Status::Fine, Vec::new())
}

const fn alone(args: &SpreadArgs) -> u64 {
    let n = args.cases / ALONE;
    if n < 100 { 100 } else { n }
}

fn not_negative(desk: &Desk, name: &str, text: &str, dim: Dim) -> Result<f64, Diag> {
    let place = option(desk, name, text);
    let value = outside_constant(&place, text, dim).map_err(|d| *d)?;
    let most = if dim == Dim::LENGTH { 50.0 } else { 1.0 };
    if (0.0..=most).contains(&value) {
        return Ok(value);
    }
    let unit = if dim == Dim::LENGTH { " mm" } else { "" };
    let message = format!("{name} lies between 0 and {most}{unit}");
    Err(Diag::error("out-of-range", message).at(place))
}

fn scatter(args: &SpreadArgs, mut usual: Scatter, desk: &Desk) -> Result<Scatter, Vec<Diag>> {
    let mut diags = Vec::new();
    let said = "given with the command";
    let lengths = [
        ("--caliper-sd", &args.caliper_sd, 0),
        ("--crease-sd", &args.crease_sd, 2),
        ("--cut-sd", &args.cut_sd, 3),
    ];
    for (name, text, at) in lengths {
        let Some(text) = text else { continue };
        match not_negative(desk, name, text, Dim::LENGTH) {
            Ok(v) => {
                let to = match at {
                    0 => &mut usual.caliper,
                    2 => &mut usual.crease,
                    _ => &mut usual.cut,
                };
                *to = Length::mm(v);
                usual.from[at] = said.to_owned();
            }
            Err(d) => diags.push(d),
        }
    }
    if let Some(text) = &args.depth_sd {
        let (along, across) = text.split_once(',').unwrap_or((text, text));
        let both = [along, across].map(|t| not_negative(desk, "--depth-sd", t.trim(), Dim::NUMBER));
        match both {
            [Ok(a), Ok(b)] => {
                usual.axis_depth = [a, b];
                usual.from[1] = said.to_owned();
            }
            [a, b] => diags.extend(a.err().into_iter().chain(b.err()).take(1)),
        }
    }
    if diags.is_empty() {
        Ok(usual)
    } else {
        Err(diags)
    }
}

fn percent(v: f64) -> String {
    format!("{} %", trimmed(v * 100.0, 1))
}

fn share(s: &Share, of: usize) -> String {
    format!(
        "{} ({} of {of}; with these figures 95 % sure between {} and {})",
        percent(s.share),
        s.cases,
        percent(s.between[0]),
        percent(s.between[1])
    )
}

fn words(out: &mut String, spread: &Spread<'_>, found: &Summary, unit: LengthUnit) {
    let s = spread.scatter();
    let [along, across] = s.axis_depth.map(|p| trimmed(p, 4));
    let depth = if along == across {
        along
    } else {
        format!("{along} along and {across} across the flutes")
    };
    let values = [
        fine(s.caliper, unit),
        depth,
        fine(s.crease, unit),
        fine(s.cut, unit),
    ];
    for ((cause, value), (i, from)) in Cause::ALL.iter().zip(values).zip(s.from.iter().enumerate())
    {
        let word = if i == 0 { "differs" } else { "" };
        say::line(
            out,
            word,
            &format!("{}: standard deviation {value} ({from})", cause.words()),
        );
    }
    out.push('\n');
    let allowed = if found.short > Length::ZERO {
        format!(", {} lacking allowed", unit.show(found.short))
    } else {
        String::new()
    };
    let text = format!("{}{allowed}", share(&found.holds, found.cases));
    say::line(out, "room holds", &text);
    say::line(out, "and closes", &share(&found.good, found.cases));
    for (i, name) in boxwright::job::ASKED.iter().enumerate() {
        let mean = found.mean[i].to_mm();
        let sign = if mean < 0.0 { "-" } else { "+" };
        let text = format!(
            "{name}: {sign}{} to what is asked on average, standard deviation {}",
            fine(found.mean[i].abs(), unit),
            fine(found.deviation[i], unit)
        );
        say::line(out, if i == 0 { "there is" } else { "" }, &text);
    }
    let causes: Vec<String> = found
        .causes
        .iter()
        .map(|(c, v)| format!("{} {}", c.words(), percent(*v)))
        .collect();
    let text = format!("of the {}: {}", found.direction_word(), causes.join(", "));
    say::line(out, "causes", &text);
    for c in &found.clearance {
        let [l, w, d] = c.add.map(|a| fine(a, unit));
        let text = format!(
            "to length {l}, width {w}, depth {d} for {}",
            percent(c.share)
        );
        say::line(out, if c.share < 0.97 { "add" } else { "" }, &text);
    }
    for (code, n) in &found.fails {
        let text = format!("`{code}` fails on {}", say::counted(*n, "case"));
        say::line(out, "fails", &text);
    }
    if !spread.fails_as_drawn().is_empty() {
        let text = format!(
            "it fails as drawn already, and that is not counted: {}",
            spread.fails_as_drawn().join(", ")
        );
        say::line(out, "note", &text);
    }
}

/// A small length, to 0.001 mm or 0.0001 in.
fn fine(l: Length, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} mm", trimmed(l.to_mm(), 3)),
        LengthUnit::Inch => format!("{} in", trimmed(l.to_inch(), 4)),
    }
}
