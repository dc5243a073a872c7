//! `list`: styles, boards and machines, or one of them in full.

use std::fmt::Write as _;

use boxwright::board::{Board, Creasing, read_boards};
use boxwright::diag::{Diag, Place};
use boxwright::job::outside_constant;
use boxwright::machine::read_machine;
use boxwright::read::suggestion;
use boxwright::source::Door;
use boxwright::style::{Needs, Style, Suits, parse_style};
use boxwright::units::{Dim, LengthUnit, Mass, trimmed};

use super::new::{default, range};
use super::{Done, machines};
use crate::args::{ListArgs, Listed};
use crate::desk::Desk;
use crate::say::{line, table};

/// Runs it.
pub fn run(args: &ListArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let show = args.units.into();
    let mut out = String::new();
    if let Some(name) = &args.show {
        one(&mut out, args, name, desk, show)?;
    } else {
        let needs = needs(args, desk)?;
        let wants = |what| args.what.is_none_or(|w| w == what);
        if wants(Listed::Styles) {
            if needs.is_empty() {
                styles(&mut out, desk)?;
            } else {
                suited(&mut out, &needs, desk)?;
            }
        }
        if args.what.is_none() && needs.is_empty() {
            out.push('\n');
        }
        if wants(Listed::Boards) && needs.is_empty() {
            boards(&mut out, desk, show)?;
        }
        if args.what.is_none() && needs.is_empty() {
            out.push('\n');
        }
        if wants(Listed::Machines) && needs.is_empty() {
            machines::table_of(&mut out, desk, show)?;
        }
    }
    Done::words(&out)
}

fn styles(out: &mut String, desk: &Desk) -> Result<(), Vec<Diag>> {
    let mut rows = vec![["style", "code", "for"].map(str::to_owned).to_vec()];
    for text in desk.style_names().iter().filter_map(|n| desk.style(n)) {
        let s = parse_style(&text, desk)?;
        rows.push(vec![
            s.name,
            s.code.unwrap_or_default(),
            format!("{}: {}", s.title, s.purpose),
        ]);
    }
    table(out, &rows);
    Ok(())
}

fn needs(args: &ListArgs, desk: &Desk) -> Result<Needs, Vec<Diag>> {
    let load = args.load.as_ref().map(|text| {
        desk.note("--load", text);
        let place = Place {
            input: "--load".to_owned(),
            start: 0,
            end: text.len(),
        };
        outside_constant(&place, text, Dim::MASS)
            .map(Mass::kg)
            .map_err(|d| vec![*d])
    });
    Ok(Needs {
        family: args.family.clone(),
        closing: args.closing.clone(),
        without: args.without.clone(),
        opening: args.opening.clone(),
        load: load.transpose()?,
        uses: args.uses.clone(),
    })
}

/// The styles that meet what is needed, the lightest built first; else those that come nearest.
fn suited(out: &mut String, needs: &Needs, desk: &Desk) -> Result<(), Vec<Diag>> {
    let mut found = Vec::new();
    for text in desk.style_names().iter().filter_map(|n| desk.style(n)) {
        let s = parse_style(&text, desk)?;
        if let Some(suits) = s.suits.clone() {
            let misses = suits.misses(needs);
            found.push((misses, suits, s));
        }
    }
    found.sort_by(|a, b| {
        let key = |f: &(Vec<String>, Suits, Style)| f.0.len();
        key(a)
            .cmp(&key(b))
            .then(a.1.load.to_kg().total_cmp(&b.1.load.to_kg()))
    });
    let least = found.first().map_or(0, |f| f.0.len());
    if least > 0 {
        let _ = writeln!(out, "No style meets all of that. These come nearest:\n");
    }
    for (misses, suits, s) in found.into_iter().filter(|f| f.0.len() == least) {
        let code = s
            .code
            .map_or_else(String::new, |c| format!(", case code {c}"));
        let _ = writeln!(out, "{}{code}", s.name);
        line(out, "", &format!("{}: {}", s.title, s.purpose));
        let load = trimmed(suits.load.to_kg(), 2);
        line(
            out,
            "",
            &format!("closed by {}, usual up to {load} kg", suits.closing),
        );
        line(out, "good", &suits.good);
        line(out, "bad", &suits.bad);
        for m in misses {
            line(out, "but", &m);
        }
        out.push('\n');
    }
    Ok(())
}

fn boards(out: &mut String, desk: &Desk, show: LengthUnit) -> Result<(), Vec<Diag>> {
    let head = ["board", "thickness", "mass", "what it is"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for b in read_boards(&desk.boards())?.iter() {
        rows.push(vec![
            b.name.clone(),
            show.show(b.caliper),
            format!("{} g/m2", trimmed(b.grammage().to_g_per_m2(), 0)),
            b.title.clone(),
        ]);
    }
    table(out, &rows);
    Ok(())
}

fn one(
    out: &mut String,
    args: &ListArgs,
    name: &str,
    desk: &Desk,
    show: LengthUnit,
) -> Result<(), Vec<Diag>> {
    let boards = read_boards(&desk.boards())?;
    let wants = |what| args.what.is_none_or(|w| w == what);
    if wants(Listed::Styles)
        && let Some(text) = desk.style(name)
    {
        if args.file {
            out.push_str(&text.text);
        } else {
            style(out, &parse_style(&text, desk)?);
        }
        return Ok(());
    }
    if wants(Listed::Boards)
        && let Some(b) = boards.get(name)
    {
        if args.file {
            let own = |t: &boxwright::source::Text| {
                read_boards(std::slice::from_ref(t)).is_ok_and(|bs| bs.get(name).is_some())
            };
            out.push_str(
                &desk
                    .boards()
                    .into_iter()
                    .rfind(own)
                    .map(|t| t.text)
                    .unwrap_or_default(),
            );
        } else {
            board(out, b, show);
        }
        return Ok(());
    }
    if wants(Listed::Machines)
        && let Some(text) = desk.machine(name)
    {
        if args.file {
            out.push_str(&text.text);
        } else {
            machines::one(out, &read_machine(&text)?, show);
        }
        return Ok(());
    }
    let (styles, machines) = (desk.style_names(), desk.machine_names());
    let mut known: Vec<&str> = Vec::new();
    if wants(Listed::Styles) {
        known.extend(styles.iter().map(String::as_str));
    }
    if wants(Listed::Boards) {
        known.extend(boards.names());
    }
    if wants(Listed::Machines) {
        known.extend(machines.iter().map(String::as_str));
    }
    let (code, word) = match args.what {
        Some(Listed::Styles) => ("unknown-style", "style"),
        Some(Listed::Boards) => ("unknown-board", "board"),
        Some(Listed::Machines) => ("unknown-machine", "machine"),
        None => ("unknown-name", "style, board or machine"),
    };
    desk.note("--show", name);
    let place = Place {
        input: "--show".to_owned(),
        start: 0,
        end: name.len(),
    };
    Err(vec![
        Diag::error(code, format!("there is no {word} `{name}`"))
            .at(place)
            .help(suggestion(name, known.iter().copied())),
    ])
}

fn style(out: &mut String, s: &Style) {
    line(out, "style", &s.name);
    line(out, "title", &s.title);
    if let Some(code) = &s.code {
        line(out, "case code", code);
    }
    line(out, "for", &s.purpose);
    let pieces: Vec<&str> = s.pieces.iter().map(|p| p.name.as_str()).collect();
    line(out, "pieces", &pieces.join(", "));
    for r in &s.requires {
        let text = format!("{}; if not: {}", r.condition.expr.text(), r.message);
        line(out, "needs", &text);
    }
    if !s.parameters.is_empty() {
        out.push('\n');
        let head = ["parameter", "default", "range, help"];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        for p in &s.parameters {
            rows.push(vec![
                p.name.clone(),
                shortened(&default(p)),
                format!("{}: {}", range(p), p.help),
            ]);
        }
        table(out, &rows);
    }
    out.push('\n');
    for (i, stage) in s.stages.iter().enumerate() {
        let word = format!("stage {}", i + 1);
        line(out, &word, &format!("{}. {}", stage.title, stage.text));
    }
}

/// A long expression is left to the file itself.
fn shortened(text: &str) -> String {
    const ROOM: usize = 30;
    match text.char_indices().nth(ROOM) {
        Some((at, _)) => format!("{}...", &text[..at]),
        None => text.to_owned(),
    }
}

fn board(out: &mut String, b: &Board, show: LengthUnit) {
    line(out, "board", &b.name);
    line(out, "what it is", &b.title);
    let mut rows = vec![
        ["figure", "value", "where it comes from"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mut row = |figure: &str, value: String, from: &str| {
        let origin = b.origin(from).unwrap_or_default().to_owned();
        rows.push(vec![figure.to_owned(), value, origin]);
    };
    let tolerance = trimmed(b.caliper_tolerance * 100.0, 1);
    row(
        "thickness",
        format!("{} +- {tolerance} %", show.show(b.caliper)),
        "caliper",
    );
    for f in &b.flutes {
        row(
            &format!("flute {}", f.letter),
            format!("{} high, {} apart", show.show(f.height), show.show(f.pitch)),
            &format!("flute {}", f.letter),
        );
    }
    row(
        "mass",
        format!("{} g/m2", trimmed(b.grammage().to_g_per_m2(), 0)),
        "liner",
    );
    row(
        "edge crush",
        format!("{} kN/m", trimmed(b.ect.to_n_per_mm(), 2)),
        "ect",
    );
    for way in Creasing::ALL {
        let [along, across] = [false, true].map(|x| trimmed(b.axis_depth(way, x), 3));
        row(
            &format!("crease {}", way.word()),
            format!("{along} along, {across} across"),
            &format!("crease {}", way.word()),
        );
    }
    let l = &b.limits;
    for (name, value) in [
        ("slot-width", l.slot_width),
        ("crush", l.crush),
        ("give", l.give),
        ("least-feature", l.least_feature),
        ("least-slot", l.least_slot),
        ("glue-gap", l.glue_gap),
        ("size-tolerance", l.size_tolerance),
        ("crease-zone", l.crease_zone),
        ("crease-bead", l.crease_bead),
    ] {
        row(name, show.show(value), name);
    }
    out.push('\n');
    table(out, &rows);
    out.push('\n');
    let _ = writeln!(out, "docs/boards.md says what each figure means.");
}
