//! `lay`: lays the blanks of jobs on sheets.

mod search;

use std::path::{Path, PathBuf};

use boxwright::board::Measured;
use boxwright::brief::measured_for;
use boxwright::check::{Verdict, check};
use boxwright::diag::{Diag, Place, nearest};
use boxwright::emit::bundle::stem;
use boxwright::emit::dxf::DxfOptions;
use boxwright::emit::layout::{layout_dxf, layout_svg, pages};
use boxwright::emit::pdf::pdf;
use boxwright::emit::svg::SvgOptions;
use boxwright::fold::Folder;
use boxwright::job::{Job, outside_constant};
use boxwright::sheet::part::{marks_left_out, parts};
use boxwright::sheet::{
    Keep, Layout, Part, Piece, Proved, Rest, Shape, Spot, Task, boards, bounds, read_stock,
    rests_of, steps, why, write_layout,
};
use boxwright::units::{Dim, Length, LengthUnit, trimmed};
use boxwright_store::Store;

use super::{Done, Status};
use crate::args::{LayArgs, SheetArg};
use crate::case::{self, Case, Drawn};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::overrides::option;
use crate::{folder, known, say};

/// Largest sheet, spacing and margin the program works with.
const LARGEST: Length = Length::mm(15_000.0);

/// Shown where files for a cutter are written.
const LASER: &str = "On a laser, corrugated board flares up: never leave it running alone, keep \
    an extinguisher at hand and the extraction on, and keep to the machine's manual and the \
    fire rules of your site.";

/// Runs it.
pub fn run(args: &LayArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let cases = cases(args, desk)?;
    if cases.iter().all(|w| w.parts.iter().all(|p| p.wanted == 0)) {
        let message = "no case is wanted: every quantity is 0";
        return Err(vec![
            Diag::error("nothing-wanted", message).help("ask for one at least with --quantity"),
        ]);
    }
    let task = task(args, &cases, desk)?;
    let found = search::search(&task, args)?;
    let layout = proved(found.layout)?;
    let text = if args.json {
        write_layout(&layout).map_err(|d| vec![d])?
    } else {
        words(&layout, &cases, found.stopped, args.units.into())
    };
    let mut text = text;
    let mut older = None;
    // JSON is for other programs: they say where files are to go, if anywhere.
    let usual = || PathBuf::from("out").join(stem(&layout.title));
    let out = args.out.clone().or_else(|| (!args.json).then(usual));
    if let Some(out) = &out {
        let files = files(&layout, args)?;
        folder::write(out, &files).map_err(|d| vec![d])?;
        older = folder::older(out, &stem(&layout.title), &files);
        if !args.json {
            text.push('\n');
            let word = say::counted(files.len(), "file");
            say::line(&mut text, "files", &format!("{word} in {}", out.display()));
            for (name, _) in &files {
                say::line(&mut text, "", name);
            }
            text.push('\n');
            say::line(&mut text, "take care", LASER);
        }
    }
    let text = if args.json { text } else { cleaned(&text) };
    let status = if layout.left_over() == 0 {
        Status::Fine
    } else {
        Status::Failed
    };
    let warnings = cases.into_iter().flat_map(|w| w.warnings);
    let warnings = warnings.chain(older).collect();
    Done::saying(&text, status, warnings)
}

/// A job drawn, with how many cases are wanted.
struct Wanted {
    job: Job,
    title: String,
    parts: Vec<Part>,
    /// What the user should know of it.
    warnings: Vec<Diag>,
}

fn cases(args: &LayArgs, desk: &mut Desk) -> Result<Vec<Wanted>, Vec<Diag>> {
    let mut all: Vec<Wanted> = Vec::new();
    let mut diags = Vec::new();
    let mut named = vec![false; args.quantity.len()];
    let mut known = Vec::new();
    let measured = known::at_hand(&args.measured, args.stock.as_deref())?;
    for path in &args.jobs {
        match one(path, (args, &measured), &all, &mut named, &mut known, desk) {
            Ok(w) => all.push(w),
            Err(d) => diags.extend(d),
        }
    }
    for ((job, _), _) in args.quantity.iter().zip(&named).filter(|(_, n)| !**n) {
        let message = format!("--quantity names the job `{job}`, which is not laid");
        let near = nearest(job, known.iter().map(String::as_str));
        let help = near.map_or_else(
            || "name a job by its title or its file".to_owned(),
            |n| format!("did you mean `{n}`?"),
        );
        diags.push(Diag::error("unknown-job", message).help(help));
    }
    if diags.is_empty() {
        Ok(all)
    } else {
        Err(diags)
    }
}

fn one(
    path: &Path,
    (args, measured): (&LayArgs, &[Measured]),
    before: &[Wanted],
    named: &mut [bool],
    known: &mut Vec<String>,
    desk: &mut Desk,
) -> Result<Wanted, Vec<Diag>> {
    let job = case::plain(path, measured, desk)?;
    let file = path.display().to_string();
    let mut quantity = job.quantity;
    for ((name, n), seen) in args.quantity.iter().zip(named) {
        if *name == job.title || *name == file || path.file_stem().is_some_and(|s| s == &**name) {
            quantity = *n;
            *seen = true;
        }
    }
    known.extend([job.title.clone(), file]);
    // Two jobs may have the same title; parts are told apart by number.
    let taken = |t: &str| before.iter().any(|w| w.title == t);
    let mut title = job.title.clone();
    let mut n = 2;
    while taken(&title) {
        title = format!("{} ({n})", job.title);
        n += 1;
    }
    let Case { brief, drawn } = case::draw(job.clone(), desk)?;
    let Drawn::Sound(plan) = drawn else {
        let message = format!("the blanks of `{title}` cannot be cut from one sheet as drawn");
        let help = format!("boxwright check {} tells what is wrong", path.display());
        return Err(vec![Diag::error("blank-not-sound", message).help(help)]);
    };
    let mut warnings = marks_left_out(&plan, &title);
    if check(&brief, &Folder::new(&plan)).verdict() == Verdict::Fail {
        let message = format!("`{title}` fails its checks, and would be cut all the same");
        let help = format!("boxwright check {} tells what is wrong", path.display());
        warnings.push(Diag::warning("case-fails", message).help(help));
    }
    Ok(Wanted {
        warnings,
        parts: parts(&plan, &job, &title, quantity)?,
        job,
        title,
    })
}

fn task(args: &LayArgs, cases: &[Wanted], desk: &Desk) -> Result<Task, Vec<Diag>> {
    let mut diags = Vec::new();
    let parts: Vec<Part> = cases.iter().flat_map(|w| w.parts.clone()).collect();
    let stock = match &args.stock {
        Some(path) => kept(path, desk)
            .map_err(|d| diags.extend(d))
            .unwrap_or_default(),
        None => stock(args, cases, &parts, desk, &mut diags),
    };
    let mut length = |name: &str, text: &str| {
        let place = option(desk, name, text);
        let range = Length::ZERO..=LARGEST;
        measured(&place, text)
            .and_then(|l| {
                if range.contains(&l) {
                    Ok(steps(l))
                } else {
                    let message = format!("{name} lies between 0 and 15 m");
                    Err(Box::new(Diag::error("out-of-range", message).at(place)))
                }
            })
            .map_err(|d| diags.push(*d))
            .unwrap_or(0)
    };
    let spacing = length("--spacing", &args.spacing);
    let margin = length("--margin", &args.margin);
    let reach = args.bed.as_ref().map_or_else(
        || bed(cases),
        |(x, y)| Some([length("--bed", x), length("--bed", y)]),
    );
    if reach.is_some_and(|r| r.iter().any(|v| *v < 1)) {
        diags.push(Diag::error(
            "not-positive",
            "the bed must be larger than nothing",
        ));
    }
    let title = args.title.clone().or_else(|| {
        let first = cases.first()?;
        let more = cases.len() - 1;
        Some(match more {
            0 => first.title.clone(),
            1 => format!("{} and 1 more job", first.title),
            n => format!("{} and {n} more jobs", first.title),
        })
    });
    if diags.is_empty() {
        Ok(Task {
            title: title.unwrap_or_default(),
            parts,
            stock,
            spacing,
            margin,
            reach,
        })
    } else {
        Err(diags)
    }
}

fn measured(place: &Place, text: &str) -> Result<Length, Box<Diag>> {
    outside_constant(place, text, Dim::LENGTH).map(Length::mm)
}

/// The bed that every job which names one can be cut on.
fn bed(cases: &[Wanted]) -> Option<[i64; 2]> {
    let beds = cases.iter().filter_map(|w| w.job.bed);
    beds.map(|b| b.map(steps))
        .reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1])])
}

/// The pieces of a stock file, or of the store in a folder.
pub fn kept(path: &Path, desk: &Desk) -> Result<Vec<Piece>, Vec<Diag>> {
    let pieces = if path.is_dir() {
        Store::open_existing(path)?.stock()?.pieces
    } else {
        read_stock(&desk.stock_file(path).map_err(|d| vec![d])?)?.pieces
    };
    Ok(pieces.into_iter().filter(|p| p.count > 0).collect())
}

/// The sheets of the command line or, without any, those that the jobs name.
fn stock(
    args: &LayArgs,
    cases: &[Wanted],
    parts: &[Part],
    desk: &Desk,
    diags: &mut Vec<Diag>,
) -> Vec<Piece> {
    let enough = |board: &str| {
        let of_board = parts.iter().filter(|p| p.board == board);
        let all: u64 = of_board.map(|p| u64::from(p.wanted)).sum();
        u32::try_from(all).unwrap_or(u32::MAX).max(1)
    };
    let mut stock: Vec<Piece> = Vec::new();
    let mut add = |size: [Length; 2], board: &str, count: Option<u32>, price: f64| {
        let shape = Shape::rect(steps(size[0]), steps(size[1]));
        let same = |p: &Piece| p.board == board && p.shape == shape && p.price == price;
        let count = count.unwrap_or_else(|| enough(board));
        if let Some(known) = stock.iter_mut().find(|p| same(p)) {
            known.count = known.count.saturating_add(count).min(1_000_000);
            return;
        }
        let [x, y] = size.map(|l| trimmed(l.to_mm(), 3));
        let mut name = format!("{board} {x} x {y}");
        let mut n = 2;
        while stock.iter().any(|p| p.name == name) {
            name = format!("{board} {x} x {y} ({n})");
            n += 1;
        }
        stock.push(Piece {
            name,
            board: board.to_owned(),
            shape,
            count: count.min(1_000_000),
            price,
            off_cut: false,
        });
    };
    for s in &args.sheet {
        match sheet_size(s, desk) {
            Ok(size) => match &args.board {
                Some(b) => add(size, b, s.count, s.price),
                None => boards(parts)
                    .iter()
                    .for_each(|b| add(size, b, s.count, s.price)),
            },
            Err(d) => diags.push(*d),
        }
    }
    if args.sheet.is_empty() {
        let mut given: Vec<([Length; 2], String)> = Vec::new();
        for w in cases {
            let of_case = w.job.sheet.map(|s| (s, w.job.board.name.clone()));
            given.extend(of_case.filter(|g| !given.contains(g)));
        }
        if given.is_empty() {
            let message = "there are no sheets to lay on";
            let help = "give --sheet 1600mmx1200mm, or a `sheet` in the job";
            diags.push(Diag::error("no-stock", message).help(help));
        }
        for (size, board) in given {
            add(size, &board, None, 0.0);
        }
    }
    if let Some(b) = args.board.as_ref().filter(|b| !boards(parts).contains(b)) {
        let known = boards(parts).join(", ");
        let message = format!("no job is cut from board `{b}`");
        let help = format!("the jobs name {known}");
        diags.push(Diag::error("unknown-board", message).help(help));
    }
    stock
}

fn sheet_size(s: &SheetArg, desk: &Desk) -> Result<[Length; 2], Box<Diag>> {
    let place = option(desk, "--sheet", &s.text);
    let size = |text: &str| {
        let start = s.text.find(text).unwrap_or(0);
        let place = Place {
            start,
            end: start + text.len(),
            ..place.clone()
        };
        let l = measured(&place, text)?;
        if l > Length::ZERO && l <= LARGEST {
            Ok(l)
        } else {
            let message = "a sheet is larger than nothing and at most 15 m long";
            Err(Box::new(Diag::error("out-of-range", message).at(place)))
        }
    };
    Ok([size(&s.length)?, size(&s.width)?])
}

/// A layout that is not sound is never shown or written: it is a fault of this program.
fn proved(layout: Layout) -> Result<Proved, Vec<Diag>> {
    layout.proved().map_err(|(_, defects)| {
        let told = |d: &boxwright::sheet::Defect| {
            Diag::error("layout-not-sound", d.to_string())
                .help("nothing was written; this is a fault of the program: try another --seed")
        };
        defects.iter().map(told).collect()
    })
}

fn files(layout: &Proved, args: &LayArgs) -> Result<Vec<(String, Vec<u8>)>, Vec<Diag>> {
    let stem = stem(&layout.title);
    let dxf = DxfOptions {
        version: args.dxf_version.into(),
        ..DxfOptions::default()
    };
    let mut files = Vec::new();
    for n in 0..layout.sheets.len() {
        let name = |end: &str| format!("{stem}-sheet-{}.{end}", n + 1);
        files.push((name("dxf"), layout_dxf(layout, n, &dxf).into_bytes()));
        let svg = layout_svg(layout, n, &SvgOptions::default());
        files.push((name("svg"), svg.into_bytes()));
    }
    let pages = pages(layout, args.units.into());
    if !pages.is_empty() {
        let bytes = pdf(&pages, &layout.title).map_err(|d| vec![d])?;
        files.push((format!("{stem}-layout.pdf"), bytes));
    }
    let text = write_layout(layout).map_err(|d| vec![d])?;
    files.push((format!("{stem}.layout.json"), text.into_bytes()));
    Ok(files)
}

fn words(layout: &Proved, cases: &[Wanted], stopped: bool, unit: LengthUnit) -> String {
    let mut out = String::new();
    say::line(&mut out, "layout", &layout.title);
    let wanted: u64 = layout.parts.iter().map(|p| u64::from(p.wanted)).sum();
    let laid = wanted - layout.left_over();
    let text = format!(
        "{laid} of {} laid, of {}",
        say::counted(usize::try_from(wanted).unwrap_or(usize::MAX), "part"),
        say::counted(layout.parts.len(), "kind"),
    );
    say::line(&mut out, "parts", &text);
    let mut told = Vec::new();
    for w in cases {
        let used = known::words(&measured_for(&w.job));
        let text = used.map(|text| format!("board {}: {text}", w.job.board.name));
        if let Some(text) = text.filter(|t| !told.contains(t)) {
            say::line(&mut out, "measured", &text);
            told.push(text);
        }
    }
    let mm = |v: i64| unit.show(Length::mm(Spot::new(v, 0).to_mm().x));
    let text = format!(
        "{} between parts, {} to the edge",
        mm(layout.spacing),
        mm(layout.margin)
    );
    say::line(&mut out, "room", &text);
    let beyond = |[x, y]: [i64; 2]| {
        let mut used = layout
            .sheets
            .iter()
            .map(|s| layout.stock[s.stock].shape.bounds().max);
        used.any(|m| m.x > x || m.y > y)
    };
    if let Some([x, y]) = layout.reach.filter(|r| beyond(*r)) {
        let text = format!(
            "{} x {} from the lower left corner of a sheet",
            mm(x),
            mm(y)
        );
        say::line(&mut out, "reach", &text);
    }
    if stopped {
        let text = "stopped early: this is the best found until then";
        say::line(&mut out, "search", text);
    }
    sheets(&mut out, layout);
    for b in bounds(layout) {
        say::line(&mut out, &format!("board {}", b.board), &b.words());
    }
    let rests = rests_of(layout, &Keep::default());
    if !rests.is_empty() {
        let size = |r: &Rest| {
            let b = r.shape.bounds();
            format!(
                "{} x {} of sheet {}",
                mm(b.width()),
                mm(b.height()),
                r.sheet + 1
            )
        };
        let mut list: Vec<String> = rests.iter().take(MOST_RESTS).map(size).collect();
        if rests.len() > MOST_RESTS {
            list.push(format!("and {} more", rests.len() - MOST_RESTS));
        }
        say::line(&mut out, "off-cuts", &list.join("; "));
    }
    left(&mut out, layout);
    out
}

/// Off-cuts told; the pages show all.
const MOST_RESTS: usize = 6;

/// Sheets with the same parts on the same stock are told once.
fn sheets(out: &mut String, layout: &Proved) {
    let mut told: Vec<(String, String, String, Vec<usize>)> = Vec::new();
    for (n, s) in layout.sheets.iter().enumerate() {
        let piece = &layout.stock[s.stock];
        let counts: Vec<String> = (0..layout.parts.len())
            .filter_map(|i| {
                let here = s.placed.iter().filter(|p| p.part == i).count();
                (here > 0).then(|| format!("{here} x {}", layout.parts[i].name))
            })
            .collect();
        let used = format!("{} % used", trimmed(100.0 * layout.used(s), 1));
        let row = (piece.name.clone(), used, counts.join(", "));
        match told
            .iter_mut()
            .find(|t| (&t.0, &t.1, &t.2) == (&row.0, &row.1, &row.2))
        {
            Some(t) => t.3.push(n + 1),
            None => told.push((row.0, row.1, row.2, vec![n + 1])),
        }
    }
    if told.is_empty() {
        say::line(out, "sheets", "none");
        return;
    }
    out.push('\n');
    let rows: Vec<Vec<String>> = told
        .into_iter()
        .map(|(piece, used, counts, which)| vec![numbers(&which), piece, used, counts])
        .collect();
    say::table(out, &rows);
    out.push('\n');
}

/// `sheet 2`, `sheets 1-3, 5`.
fn numbers(which: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &n in which {
        match runs.last_mut() {
            Some(r) if r.1 + 1 == n => r.1 = n,
            _ => runs.push((n, n)),
        }
    }
    let run = |(a, b): &(usize, usize)| {
        if a == b {
            a.to_string()
        } else {
            format!("{a}-{b}")
        }
    };
    let list: Vec<String> = runs.iter().map(run).collect();
    let word = if which.len() == 1 { "sheet" } else { "sheets" };
    format!("{word} {}", list.join(", "))
}

fn left(out: &mut String, layout: &Proved) {
    for (i, reason) in why(layout).iter().enumerate() {
        if let Some(reason) = reason {
            let p = &layout.parts[i];
            let text = format!(
                "{} of `{}`: {}",
                layout.left[i],
                p.name,
                reason.words(&p.board)
            );
            say::line(out, "left over", &text);
        }
    }
}
