//! `cut`: from a layout to machine files.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use boxwright::board::read_boards;
use boxwright::cut::order::Effort;
use boxwright::cut::{Options, Pass, Program, Tally, passes, program, prove};
use boxwright::diag::{Diag, Named};
use boxwright::emit::bundle::stem;
use boxwright::emit::cut_report::{CutReport, KerfUsed, cut_report};
use boxwright::emit::gcode::{About, gcode};
use boxwright::emit::job_card::job_card;
use boxwright::emit::pdf::pdf;
use boxwright::learn::length_words;
use boxwright::machine::{Machine, read_machine};
use boxwright::read::suggestion;
use boxwright::sheet::Layout;
use boxwright::sheet::file::read_layout;
use boxwright::source::Door as _;
use boxwright::units::{Length, LengthUnit, trimmed};

use super::{Done, Status};
use crate::args::CutArgs;
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::say::{self, line, table};
use crate::{folder, known, overrides};

/// Runs it.
pub fn run(args: &CutArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    for file in &args.boards {
        let name = file.display().to_string();
        let place = overrides::option(desk, "--boards", &name);
        desk.bring_boards(&Named { name, place }, Path::new(""))
            .map_err(|d| vec![d])?;
    }
    let mut machine = machine(desk, &args.machine)?;
    let boards = read_boards(&desk.boards())?;
    let text = desk.layout(&args.layout).map_err(|d| vec![d])?;
    let layout = read_layout(&text)?;
    if layout.sheets.is_empty() {
        let message = format!("nothing is laid in `{}`", args.layout.display());
        let help =
            "lay it on sheets that hold its parts: `boxwright lay` tells what found no place";
        return Err(vec![Diag::error("nothing-laid", message).help(help)]);
    }
    let all = known::at_hand(&args.measured, None)?;
    let laid = layout
        .sheets
        .iter()
        .filter_map(|s| layout.stock.get(s.stock));
    let used = known::kerfs(&mut machine, laid.map(|p| p.board.as_str()), &all);
    let options = Options {
        nicks: !args.no_nicks,
        lead_in: args.lead_in,
        common: args.common,
        cool: args.cool,
        passes: args.passes,
    };
    let mut wrong = Vec::new();
    let mut programs: Vec<Program> = Vec::new();
    for sheet in 0..layout.sheets.len() {
        // Sheets with the same on them are cut in the same way.
        let same = |p: &&Program| layout.sheets.get(p.sheet) == layout.sheets.get(sheet);
        if let Some(p) = programs.iter().find(same).cloned() {
            programs.push(Program { sheet, ..p });
            continue;
        }
        match one(&layout, sheet, (&machine, &boards), &options, args.seconds) {
            Ok(made) => programs.push(made),
            Err(diags) => wrong.extend(diags),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let stem = stem(&layout.title);
    let mut files = Vec::new();
    let mut names = Vec::new();
    for p in &mut programs {
        let number = p.sheet + 1;
        let made = if args.passes {
            passes(p, &layout, &machine).map_err(|d| vec![d])?
        } else {
            Vec::new()
        };
        let mut about = About::of(&layout, p.sheet);
        if made.len() < 2 {
            let name = format!("{stem}-sheet-{number}.gcode");
            files.push((name.clone(), gcode(p, &machine, &about).into_bytes()));
            names.push(vec![name]);
            continue;
        }
        let mut own = Vec::new();
        for (k, pass) in made.iter().enumerate() {
            about.more = moved(pass, k, made.len());
            let name = format!("{stem}-sheet-{number}-pass-{}.gcode", k + 1);
            files.push((
                name.clone(),
                gcode(&pass.program, &machine, &about).into_bytes(),
            ));
            own.push(name);
        }
        p.tally = made
            .iter()
            .fold(Tally::default(), |sum, pass| sum.with(&pass.program.tally));
        names.push(own);
    }
    let folder = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from("out").join(&stem));
    let card = job_card(&layout, &machine, &programs, &names, LengthUnit::Mm);
    let card = pdf(&card, &format!("job card, {}", layout.title)).map_err(|d| vec![d])?;
    let card_name = format!("{stem}-card.pdf");
    files.push((card_name.clone(), card));
    folder::write(&folder, &files).map_err(|d| vec![d])?;
    let older = folder::older(&folder, &stem, &files);
    let up = if layout.parts.iter().any(|p| p.outside_up) {
        "the faces that the job card and the head of each file name"
    } else {
        "the inside face of every part"
    };
    let mut report = cut_report(&layout, &machine, &programs, &names);
    report.measured = used
        .into_iter()
        .map(|(board, kerf)| KerfUsed { board, kerf })
        .collect();
    let mut notes: Vec<Diag> = programs.into_iter().flat_map(|p| p.notes).collect();
    let mut seen = Vec::new();
    notes.retain(|n| {
        !seen.contains(n) && {
            seen.push(n.clone());
            true
        }
    });
    let words = if args.json {
        report.to_json().map_err(|d| vec![d])?
    } else {
        cleaned(&said(&report, &machine, &folder, &card_name, up))
    };
    notes.extend(older);
    Done::saying(&words, Status::Fine, notes)
}

/// How the sheet is put down for a pass, in short lines.
fn moved(pass: &Pass, k: usize, of: usize) -> Vec<String> {
    let mm = |v: f64| trimmed(v, 2);
    let mut lines = vec![format!(
        "pass {} of {of}: sheet {} mm to the left of the first",
        k + 1,
        mm(pass.moved)
    )];
    for p in &pass.put_at {
        lines.push(format!(
            "put the register hole at X{} Y{}",
            mm(p.x),
            mm(p.y)
        ));
    }
    if !pass.put_at.is_empty() {
        lines.push("lift out what is loose before the sheet is moved".to_owned());
    }
    lines
}

/// The machine by name, or by path to its file.
pub fn machine(desk: &Desk, name: &str) -> Result<Machine, Vec<Diag>> {
    let place = overrides::option(desk, "--machine", name);
    let text = desk
        .machine_named(name, place.clone())
        .map_err(|d| vec![d])?;
    let Some(text) = text else {
        let known = desk.machine_names();
        let help = suggestion(name, known.iter().map(String::as_str));
        return Err(vec![
            Diag::error("unknown-machine", format!("there is no machine `{name}`"))
                .at(place)
                .help(format!("{help}; a file of your own ends in .kdl")),
        ]);
    };
    read_machine(&text)
}

fn one(
    layout: &Layout,
    sheet: usize,
    with: (&Machine, &boxwright::board::Boards),
    options: &Options,
    seconds: Option<f64>,
) -> Result<Program, Vec<Diag>> {
    let made = match seconds {
        None => program(layout, sheet, with, options, None, &mut || false)?,
        Some(seconds) => {
            let end = Instant::now() + Duration::from_secs_f64(seconds);
            let effort = Effort {
                rounds: u64::MAX,
                ..Effort::default()
            };
            let mut stop = || Instant::now() >= end;
            program(layout, sheet, with, options, Some(&effort), &mut stop)?
        }
    };
    // A sheet that is to be parted into passes is proved on a bed as long as itself.
    let mut bed = with.0.clone();
    if options.passes {
        bed.bed[0] = bed.bed[0].max(Length::mm(made.size.x));
    }
    let faults = prove(&made, layout, &bed);
    if faults.is_empty() {
        return Ok(made);
    }
    // Nothing that fails its own proof is written.
    Err(faults
        .iter()
        .take(8)
        .map(|f| {
            let message = format!("the program of sheet {} does not hold: {f}", sheet + 1);
            Diag::error("program-not-sound", message)
                .help("this is a fault of the program; please keep the layout and report it")
        })
        .collect())
}

fn said(r: &CutReport, machine: &Machine, folder: &Path, card: &str, up: &str) -> String {
    let mut out = String::new();
    line(&mut out, "layout", &r.layout);
    line(
        &mut out,
        "machine",
        &format!("{}: {}", machine.name, machine.title),
    );
    for m in &r.measured {
        let text = format!("kerf {} in board {}", length_words(&m.kerf), m.board);
        line(&mut out, "measured", &text);
    }
    out.push('\n');
    let head = [
        "sheet", "of", "time", "cut", "marked", "travel", "nicks", "energy",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for s in &r.sheets {
        let t = &s.tally;
        rows.push(vec![
            s.number.to_string(),
            s.name.clone(),
            minutes(t.seconds),
            metres(t.cut),
            metres(t.marked),
            metres(t.travel),
            t.nicks.to_string(),
            energy(t.joules),
        ]);
    }
    table(&mut out, &rows);
    out.push('\n');
    let t = &r.total;
    let all = format!(
        "{} for {}, by the speeds and accelerations of the machine's file",
        minutes(t.seconds),
        say::counted(r.sheets.len(), "sheet")
    );
    line(&mut out, "time", &all);
    if t.by_hand > 0.0 {
        line(
            &mut out,
            "by hand",
            &format!("{} of lines are left to be made by hand", metres(t.by_hand)),
        );
    }
    let c = &r.cost;
    let money = |v: f64| format!("{v:.2}");
    let text = format!(
        "{} in all: board {} ({} of it in no part), machine {}, hands {} ({} h to take out, fold and join {}, \
         from the machine's file)",
        money(c.total),
        money(c.board),
        money(c.waste),
        money(c.machine),
        money(c.hands),
        trimmed(c.hand_hours, 2),
        say::counted(c.parts, "part")
    );
    line(&mut out, "cost", &text);
    for (i, file) in r.sheets.iter().flat_map(|s| &s.files).enumerate() {
        let word = if i == 0 { "written" } else { "" };
        line(&mut out, word, &folder.join(file).display().to_string());
    }
    line(&mut out, "lies up", up);
    line(
        &mut out,
        "job card",
        &folder.join(card).display().to_string(),
    );
    for (i, caution) in r.cautions.iter().enumerate() {
        line(&mut out, if i == 0 { "caution" } else { "" }, caution);
    }
    out
}

fn minutes(seconds: f64) -> String {
    let whole = seconds.ceil().max(0.0);
    format!(
        "{}:{:02} min",
        (whole / 60.0).floor(),
        (whole % 60.0).floor()
    )
}

fn metres(mm: f64) -> String {
    say::run(Length::mm(mm), LengthUnit::Mm)
}

fn energy(joules: f64) -> String {
    if joules > 0.0 {
        format!("{} kJ", trimmed(joules / 1000.0, 2))
    } else {
        "-".to_owned()
    }
}
