//! `size`: from things to inside sizes.

mod ranked;

use std::path::{Path, PathBuf};

use boxwright::contents::drops::drop_tables;
use boxwright::contents::proposal::Cushion;
use boxwright::contents::things::{Rules, SIDES, Thing};
use boxwright::contents::{
    By, Proposal, Proposals, Wish, job_text, propose, read_things, usual_board, usual_style,
};
use boxwright::diag::Diag;
use boxwright::emit::arrangement::arrangement;
use boxwright::emit::bundle::stem;
use boxwright::emit::pdf::pdf;
use boxwright::emit::png::png;
use boxwright::job::{LARGEST, outside_constant};
use boxwright::propose::Prefer;
use boxwright::read::suggestion;
use boxwright::units::{Area, Dim, Length, LengthUnit, Pressure, trimmed};
use serde::Serialize;

use super::{Done, Status};
use crate::args::SizeArgs;
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::overrides::option;
use crate::{folder, say};

/// Breadth of a picture, in pixels.
const PIXELS: u32 = 2400;
/// Proposals told with all their reasons; of the others only the sizes.
const TOLD: usize = 1;

/// The proposals as JSON; `docs/contents.md` has every field.
#[derive(Serialize)]
struct Told<'a> {
    format: &'static str,
    version: u32,
    /// What packed cases were ranked by, where they were.
    ranked: Option<&'static str>,
    sets: &'a [Proposals],
}

/// Runs it.
pub fn run(args: &SizeArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let text = desk.things(&args.things).map_err(|d| vec![d])?;
    let file = read_things(&text)?;
    let rules = rules(file.rules, args, desk)?;
    let things = asked(&file.things, &args.thing, desk)?;
    let tables = drop_tables(desk)?;
    let sets: Vec<Vec<&Thing>> = if args.each {
        things.into_iter().map(|t| vec![t]).collect()
    } else {
        vec![things]
    };
    let wish = Wish {
        by: args.by.into(),
        most: match args.by.prefer() {
            Some(_) => ranked::LOOKED_AT.max(usize::from(args.most)),
            None => usize::from(args.most),
        },
        unit: args.units.into(),
        ..Wish::default()
    };
    let mut found = Vec::new();
    let mut warnings: Vec<Diag> = Vec::new();
    for set in &sets {
        let (mut proposals, told) = propose(set, &rules, &tables, &wish)?;
        if let Some(prefer) = args.by.prefer() {
            ranked::rank(&mut proposals, set, prefer, args, desk)?;
        }
        found.push(proposals);
        for d in told {
            if !warnings.contains(&d) {
                warnings.push(d);
            }
        }
    }
    let files = written(&found, args)?;
    if args.json {
        let all = Told {
            format: "boxwright-size",
            version: 1,
            ranked: args.by.prefer().map(Prefer::word),
            sets: &found,
        };
        let json = serde_json::to_string(&all).map_err(|e| {
            let message = format!("the proposals cannot be written: {e}");
            vec![Diag::error("report-failed", message)]
        })?;
        return Done::saying(&(json + "\n"), Status::Fine, warnings);
    }
    let mut out = String::new();
    for (n, proposals) in found.iter().enumerate() {
        if n > 0 {
            out.push('\n');
        }
        words(&mut out, proposals, args);
    }
    for (n, name) in files.iter().enumerate() {
        if n == 0 {
            out.push('\n');
        }
        say::line(&mut out, if n == 0 { "files" } else { "" }, name);
    }
    Done::saying(&cleaned(&out), Status::Fine, warnings)
}

/// What the command line says over the file.
fn rules(mut rules: Rules, args: &SizeArgs, desk: &Desk) -> Result<Rules, Vec<Diag>> {
    let mut diags = Vec::new();
    let mut number = |name: &str, text: &Option<String>, dim: Dim, least: f64, most: f64| {
        let text = text.as_deref()?;
        let place = option(desk, name, text);
        match outside_constant(&place, text, dim) {
            Ok(v) if (least..=most).contains(&v) => Some(v),
            Ok(_) => {
                let message = match dim {
                    Dim::NUMBER => format!("this must be from {least} to {most}"),
                    _ => format!("this must be from {least} mm to {most} mm"),
                };
                diags.push(Diag::error("out-of-range", message).at(place));
                None
            }
            Err(d) => {
                diags.push(*d);
                None
            }
        }
    };
    let longest = LARGEST.to_mm();
    if let Some(v) = number("--drop", &args.drop, Dim::LENGTH, 1.0, longest) {
        rules.drop = Some(Length::mm(v));
    }
    if let Some(v) = number("--room", &args.room, Dim::LENGTH, 0.0, longest) {
        rules.room = Length::mm(v);
    }
    let factor = &args.cushion_factor;
    if let Some(v) = number("--cushion-factor", factor, Dim::NUMBER, 1.0, 20.0) {
        rules.factor = Some(v);
    }
    if let Some(name) = &args.drop_table {
        rules.drop_table.clone_from(name);
        rules.drop = None;
    }
    if diags.is_empty() {
        Ok(rules)
    } else {
        Err(diags)
    }
}

/// The things with these names, or all of them.
pub fn asked<'a>(
    things: &'a [Thing],
    names: &[String],
    desk: &Desk,
) -> Result<Vec<&'a Thing>, Vec<Diag>> {
    if names.is_empty() {
        return Ok(things.iter().collect());
    }
    let mut wanted: Vec<&Thing> = Vec::new();
    for name in names {
        let Some(thing) = things.iter().find(|t| t.name == *name) else {
            let known = things.iter().map(|t| t.name.as_str());
            return Err(vec![
                Diag::error("unknown-name", format!("there is no thing `{name}`"))
                    .at(option(desk, "--thing", name))
                    .help(suggestion(name, known)),
            ]);
        };
        if wanted.iter().any(|t| t.name == thing.name) {
            return Err(vec![
                Diag::error("given-twice", format!("`{name}` is asked for twice"))
                    .at(option(desk, "--thing", name))
                    .help("how many there are is `count` in the things file"),
            ]);
        }
        wanted.push(thing);
    }
    Ok(wanted)
}

/// Writes jobs and pictures; gives their names.
fn written(found: &[Proposals], args: &SizeArgs) -> Result<Vec<String>, Vec<Diag>> {
    let firsts = || found.iter().filter_map(|p| p.list.first());
    let unit: LengthUnit = args.units.into();
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
    if let Some(path) = &args.job {
        for p in firsts() {
            let style = args.style.as_deref().unwrap_or(usual_style(p));
            let board = args.board.as_deref().unwrap_or(usual_board(p));
            let text = job_text(p, style, board).into_bytes();
            files.push((named(path, p, args.each, "kdl"), text));
        }
    }
    if let Some(path) = &args.out {
        for p in firsts() {
            let path = named(path, p, args.each, "png");
            let scene = arrangement(p, unit);
            let bytes = match path.extension().and_then(|e| e.to_str()) {
                Some("png") => png(&scene, PIXELS).map_err(|d| vec![d])?,
                Some("pdf") => pdf(&[scene], &p.name).map_err(|d| vec![d])?,
                Some("svg") => scene.to_svg().into_bytes(),
                _ => {
                    let message = format!("`{}` is no kind of picture", path.display());
                    let help = "end the name with .png, .pdf or .svg";
                    return Err(vec![Diag::error("usage", message).help(help)]);
                }
            };
            files.push((path, bytes));
        }
    }
    for folder in args
        .each
        .then_some([&args.job, &args.out])
        .into_iter()
        .flatten()
        .flatten()
    {
        std::fs::create_dir_all(folder).map_err(|e| {
            let why = crate::desk::io_words(&e);
            let message = format!("the folder `{}` cannot be made: {why}", folder.display());
            vec![Diag::error("cannot-write", message)]
        })?;
    }
    // Nothing is written when one of them is there already.
    if let Some((there, _)) = files.iter().find(|(p, _)| p.symlink_metadata().is_ok()) {
        let message = format!(
            "`{}` is already there and is left as it is",
            there.display()
        );
        let help = "name another file, or move it away first";
        return Err(vec![Diag::error("already-there", message).help(help)]);
    }
    for (path, bytes) in &files {
        folder::write_new(path, bytes).map_err(|d| vec![d])?;
    }
    Ok(files.iter().map(|(p, _)| p.display().to_string()).collect())
}

fn named(path: &Path, p: &Proposal, each: bool, ending: &str) -> PathBuf {
    if each {
        path.join(format!("{}.{ending}", stem(&p.name)))
    } else {
        path.to_owned()
    }
}

fn words(out: &mut String, found: &Proposals, args: &SizeArgs) {
    let unit = args.units.into();
    let Some(first) = found.list.first() else {
        return;
    };
    say::line(out, "things", &first.name);
    say::line(
        out,
        "mass",
        &format!("{}, without case and padding", say::mass(first.mass, unit)),
    );
    match &first.padding.cushion {
        Some(c) => cushion(out, c, first, unit),
        None => say::line(out, "cushion", "none: no thing says how fragile it is"),
    }
    say::line(
        out,
        "padding",
        &(0..3)
            .flat_map(|a| (0..2).map(move |e| (a, e)))
            .map(|(a, e)| {
                let thick = unit.number(first.padding.sides[a][e]);
                format!("{} {thick}", SIDES[a][e])
            })
            .collect::<Vec<_>>()
            .join(", "),
    );
    out.push('\n');
    table(out, found, unit);
    if found.more > 0 {
        let text = format!("and {} more; --most N proposes more", found.more);
        say::line(out, "", &text);
    }
    match args.by.prefer() {
        Some(prefer) => say::line(out, "", ranked::told(prefer)),
        None => say::line(out, "", &proof(found)),
    }
    for (n, p) in found.list.iter().take(TOLD).enumerate() {
        out.push('\n');
        for (k, reason) in p.reasons.iter().enumerate() {
            let word = if k == 0 {
                format!("size {}", n + 1)
            } else {
                String::new()
            };
            say::line(out, &word, reason);
        }
    }
}

fn cushion(out: &mut String, c: &Cushion, p: &Proposal, unit: LengthUnit) {
    let text = format!(
        "{} on every side: factor {} x {} fall / {} g for the {} ({})",
        unit.show(c.thickness),
        trimmed(c.factor, 2),
        unit.show(c.drop),
        trimmed(c.peak, 1),
        c.thing,
        c.class
    );
    say::line(out, "cushion", &text);
    let text = format!(
        "fall: {}, ends at {} m/s; no cushion can do with less travel than {}, a linear spring with \
         less than {}",
        c.drop_from,
        trimmed(c.speed, 3),
        unit.show(c.least_travel),
        unit.show(c.spring_travel)
    );
    say::line(out, "", &text);
    let face = |n: usize| kpa(p.stress[n]);
    let text = format!(
        "static stress when a whole face carries: {} on the ends, {} on the long sides, {} on the floor",
        face(0),
        face(1),
        face(2)
    );
    say::line(out, "", &text);
    match c.areas {
        [Some(least), most] => {
            let upto = most.map_or(String::new(), |m| format!(" to {}", area(m)));
            let text = format!("it needs {}{upto} of cushion on each face", area(least));
            say::line(out, "", &text);
        }
        [None, Some(most)] => {
            let text = format!("it needs {} of cushion on each face at most", area(most));
            say::line(out, "", &text);
        }
        [None, None] => {
            let text = "area needed on each face: weight / static stress; give `cushion stress=...` off \
                the curve of your padding";
            say::line(out, "", text);
        }
    }
    say::line(
        out,
        "",
        "an estimate: try a packed case before you trust it with the thing",
    );
}

fn kpa(p: Pressure) -> String {
    format!("{} kPa", trimmed(p.to_n_per_mm2() * 1000.0, 2))
}

fn area(a: Area) -> String {
    format!("{} cm2", trimmed(a.to_mm2() / 100.0, 1))
}

fn table(out: &mut String, found: &Proposals, unit: LengthUnit) {
    let head = [
        "inside",
        "length x width x depth",
        "litres",
        "filled",
        "blank",
        "smallest",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (n, p) in found.list.iter().enumerate() {
        let best: Vec<&str> = p.best_of.iter().map(|b| By::word(*b)).collect();
        rows.push(vec![
            format!("size {}", n + 1),
            say::sizes(p.inside, unit),
            trimmed(p.litres, 2),
            format!("{} %", trimmed(100.0 * p.filled, 0)),
            say::area(p.blank, unit),
            best.join(", "),
        ]);
    }
    say::table(out, &rows);
}

fn proof(found: &Proposals) -> String {
    let what = match found.by {
        By::Volume => "less volume",
        By::Board => "less board",
        By::Flat => "less depth",
        By::Cube => "a shorter longest side",
    };
    match found.gap {
        Some(0.0) => {
            format!("proved: no inside for these things as they may lie has {what} than size 1")
        }
        Some(gap) => format!(
            "no inside has {what} by more than {} % than size 1; that it is the best is not proved",
            trimmed(100.0 * gap, 0)
        ),
        None => format!(
            "that size 1 is the best is not proved; no inside has less than {} litres",
            trimmed(found.least_litres, 2)
        ),
    }
}
