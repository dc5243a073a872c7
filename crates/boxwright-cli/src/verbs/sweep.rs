//! `sweep`: checks a job over a grid of two sizes or parameters.

use std::fmt::Write as _;

use boxwright::board::Known;
use boxwright::brief::{brief, measured_for};
use boxwright::diag::{Diag, Place};
use boxwright::emit::bundle::stem;
use boxwright::emit::png::png;
use boxwright::emit::sweep_map::sweep_map;
use boxwright::expr::parse_quantity;
use boxwright::style::{Style, place_error};
use boxwright::sweep::{Axis, Cell, CellVerdict, Sweep, regions};
use boxwright::units::{Angle, Dim, Length, LengthUnit, Quantity};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use serde::Serialize;

use super::{Done, Status};
use crate::args::{SweepArgs, Vary};
use crate::case;
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::{folder, known, say};

/// Breadth of the map as PNG, in pixels.
const PIXELS: u32 = 2400;
/// Columns of the table; of a finer grid it shows every second, third ... cell.
const MOST_COLUMNS: usize = 72;
/// Regions told in words; `--all` tells every one.
const MOST_TOLD: usize = 12;

/// Runs it.
pub fn run(args: &SweepArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let [first, second] = args.vary.as_slice() else {
        let message = "a sweep varies two things";
        let help = "give --vary twice, such as --vary width=100mm..400mm --vary depth=50mm..300mm";
        return Err(vec![Diag::error("usage", message).help(help)]);
    };
    let job = case::job(&args.job, desk)?;
    let brief = brief(job, desk)?;
    let across = axis(&brief.style, first, args.steps.0, desk)?;
    let up = axis(&brief.style, second, args.steps.1, desk)?;
    let sweep = Sweep::new(brief, across, up).map_err(|d| vec![*d])?;
    let cells = worked_out(&sweep);
    let unit: LengthUnit = args.job.units.into();
    let json = told(&sweep, &cells)?;
    let mut text = if args.job.json {
        json.clone()
    } else {
        words(&sweep, &cells, unit, args.job.all)
    };
    if let Some(out) = &args.out {
        let map = sweep_map(&sweep, &cells, unit);
        let stem = stem(&sweep.brief().job.title);
        let name = |end: &str| format!("{stem}-sweep.{end}");
        let files = [
            (name("svg"), map.to_svg().into_bytes()),
            (name("png"), png(&map, PIXELS).map_err(|d| vec![d])?),
            (name("json"), json.into_bytes()),
        ];
        folder::write(out, &files).map_err(|d| vec![d])?;
        if !args.job.json {
            text.push('\n');
            say::line(&mut text, "files", &format!("3 files in {}", out.display()));
            for (name, _) in &files {
                say::line(&mut text, "", name);
            }
        }
    }
    let text = if args.job.json { text } else { cleaned(&text) };
    let works = |c: &Cell| c.verdict <= CellVerdict::Caution;
    let status = if cells.iter().any(works) {
        Status::Fine
    } else {
        Status::Failed
    };
    Done::saying(&text, status, Vec::new())
}

fn axis(style: &Style, vary: &Vary, steps: usize, desk: &Desk) -> Result<Axis, Vec<Diag>> {
    let input = format!("--vary {}", vary.name);
    let text = format!("{}={}..{}", vary.name, vary.from, vary.to);
    desk.note(&input, &text);
    let from = vary.name.len() + 1;
    let to = from + vary.from.len() + "..".len();
    let place = |start: usize, end: usize| Place {
        input: input.clone(),
        start,
        end,
    };
    let quantity = |text: &str, at: usize| -> Result<Quantity, Vec<Diag>> {
        parse_quantity(text).map_err(|e| vec![place_error(&place(at, at + text.len()), true, &e)])
    };
    let ends = (quantity(&vary.from, from)?, quantity(&vary.to, to)?);
    Axis::new(style, &vary.name, ends, steps, &place(0, text.len())).map_err(|d| vec![*d])
}

/// Every cell, row by row, with a bar on the terminal meanwhile.
fn worked_out(sweep: &Sweep) -> Vec<Cell> {
    let count = sweep.cells();
    // Drawn to standard error, and not at all where that is no terminal.
    let bar = ProgressBar::new(u64::try_from(count).unwrap_or(u64::MAX));
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} {wide_bar} {eta} left") {
        bar.set_style(style);
    }
    let cells = (0..count)
        .into_par_iter()
        .map(|n| {
            let (i, j) = sweep.place(n);
            let cell = sweep.cell(i, j);
            bar.inc(1);
            cell
        })
        .collect();
    bar.finish_and_clear();
    cells
}

/// The sweep as JSON; `docs/formats.md` has every field.
#[derive(Serialize)]
struct Told<'a> {
    format: &'static str,
    version: u32,
    title: &'a str,
    style: &'a str,
    board: &'a str,
    inside: [Length; 3],
    #[serde(skip_serializing_if = "Option::is_none")]
    measured: Option<Known>,
    across: Line<'a>,
    up: Line<'a>,
    cells: Vec<Placed<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    name: &'a str,
    unit: Option<&'static str>,
    values: Vec<f64>,
}

#[derive(Serialize)]
struct Placed<'a> {
    i: usize,
    j: usize,
    #[serde(flatten)]
    cell: &'a Cell,
}

fn told(sweep: &Sweep, cells: &[Cell]) -> Result<String, Vec<Diag>> {
    let brief = sweep.brief();
    let placed = |(n, cell)| {
        let (i, j) = sweep.place(n);
        Placed { i, j, cell }
    };
    let all = Told {
        format: "boxwright-sweep",
        version: 1,
        title: &brief.job.title,
        style: &brief.style.name,
        board: &brief.board.name,
        inside: brief.job.inside,
        measured: Some(measured_for(&brief.job)).filter(|k| !k.is_empty()),
        across: along(sweep.across()),
        up: along(sweep.up()),
        cells: cells.iter().enumerate().map(placed).collect(),
    };
    serde_json::to_string(&all).map(|s| s + "\n").map_err(|e| {
        let message = format!("the sweep cannot be written: {e}");
        vec![Diag::error("report-failed", message)]
    })
}

fn along(axis: &Axis) -> Line<'_> {
    let dim = axis.value(0).dim;
    let value = |i: usize| {
        let v = axis.value(i).value;
        if dim == Dim::ANGLE {
            Angle::rad(v).to_deg()
        } else {
            v
        }
    };
    Line {
        name: axis.name(),
        unit: match dim {
            Dim::LENGTH => Some("mm"),
            Dim::ANGLE => Some("deg"),
            _ => None,
        },
        values: (0..axis.steps()).map(value).collect(),
    }
}

const fn letter(verdict: CellVerdict) -> char {
    match verdict {
        CellVerdict::Pass => '.',
        CellVerdict::Caution => '~',
        CellVerdict::Fail => 'X',
        CellVerdict::Refused => '-',
    }
}

fn shown(q: Quantity, unit: LengthUnit) -> String {
    if q.dim == Dim::LENGTH {
        unit.show(Length::mm(q.value))
    } else {
        q.to_string()
    }
}

fn words(sweep: &Sweep, cells: &[Cell], unit: LengthUnit, all: bool) -> String {
    let mut out = String::new();
    let brief = sweep.brief();
    say::line(&mut out, "case", &brief.job.title);
    let style = format!("{}, board {}", brief.style.title, brief.board.name);
    say::line(&mut out, "style", &style);
    if let Some(text) = known::words(&measured_for(&brief.job)) {
        say::line(&mut out, "measured", &text);
    }
    for (word, axis) in [("across", sweep.across()), ("up", sweep.up())] {
        let last = axis.value(axis.steps() - 1);
        let text = format!(
            "{} from {} to {}, {}",
            axis.name(),
            shown(axis.value(0), unit),
            shown(last, unit),
            say::counted(axis.steps(), "value")
        );
        say::line(&mut out, word, &text);
    }
    out.push('\n');
    map(&mut out, sweep, cells, unit);
    out.push('\n');
    for verdict in CellVerdict::ALL {
        let n = cells.iter().filter(|c| c.verdict == verdict).count();
        let text = format!(
            "{} {}: {n} of {}",
            letter(verdict),
            verdict.words(),
            cells.len()
        );
        say::line(&mut out, "", &text);
    }
    decided(&mut out, sweep, cells, unit, all);
    out
}

/// The grid in letters, the highest row first.
fn map(out: &mut String, sweep: &Sweep, cells: &[Cell], unit: LengthUnit) {
    let (across, up) = (sweep.across(), sweep.up());
    let every = across.steps().max(up.steps()).div_ceil(MOST_COLUMNS);
    let label = |j: usize| shown(up.value(j), unit);
    let wide = (0..up.steps())
        .map(|j| label(j).chars().count())
        .max()
        .unwrap_or(0);
    for j in (0..up.steps()).step_by(every).rev() {
        let row = &cells[j * across.steps()..(j + 1) * across.steps()];
        let letters: String = row
            .iter()
            .step_by(every)
            .map(|c| letter(c.verdict))
            .collect();
        let _ = writeln!(out, "{:>wide$} {letters}", label(j));
    }
    let first = shown(across.value(0), unit);
    let last = shown(across.value(across.steps() - 1), unit);
    let columns = across.steps().div_ceil(every);
    let gap = columns.saturating_sub(first.chars().count() + last.chars().count());
    let _ = writeln!(out, "{:wide$} {first}{}{last}", "", " ".repeat(gap.max(1)));
}

/// What decides each region that does not pass, the largest first.
fn decided(out: &mut String, sweep: &Sweep, cells: &[Cell], unit: LengthUnit, all: bool) {
    let mut found = regions(sweep, cells);
    found.retain(|r| r.verdict != CellVerdict::Pass);
    let shown_count = if all { found.len() } else { MOST_TOLD };
    for r in found.iter().take(shown_count) {
        let at = format!(
            "{} {}, {} {}",
            sweep.across().name(),
            shown(sweep.across().value(r.heart.0), unit),
            sweep.up().name(),
            shown(sweep.up().value(r.heart.1), unit)
        );
        out.push('\n');
        let cells = say::counted(r.cells, "cell");
        let text = format!("{}, such as {at}: {}", cells, r.message);
        say::line(out, &letter(r.verdict).to_string(), &text);
        say::line(out, "", &format!("{} ({})", r.verdict.words(), r.code));
    }
    if found.len() > shown_count {
        let more = found.len() - shown_count;
        out.push('\n');
        say::line(
            out,
            "",
            &format!("and {more} more regions; --all lists them"),
        );
    }
}
