//! `new`: writes a job file for a style, with a note on everything that can be set.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use boxwright::board::{Creasing, read_boards};
use boxwright::check::{Verdict, check};
use boxwright::diag::{Diag, Named, Place};
use boxwright::fold::Folder;
use boxwright::job::{Job, parse_job};
use boxwright::source::{Door, Text};
use boxwright::style::{Parameter, ParameterKind, Style, Values, parse_style};
use boxwright::units::Dim;

use super::{Done, Status};
use crate::args::NewArgs;
use crate::case::{Drawn, draw};
use crate::desk::{Desk, is_path};
use crate::excerpt::cleaned;
use crate::folder;
use crate::say::{WIDTH, wrapped};

/// Sizes tried in turn, until one gives a good case: length, width, depth in mm.
const SIZES: [[u32; 3]; 5] = [
    [300, 200, 150],
    [300, 220, 80],
    [250, 150, 60],
    [320, 240, 50],
    [400, 300, 120],
];
/// The board a new job is written for.
const BOARD: &str = "C";

/// Runs it.
pub fn run(args: &NewArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let to_output = args.out.as_deref() == Some(Path::new("-"));
    desk.note("STYLE", &args.style);
    let named = Named {
        name: args.style.clone(),
        place: Place {
            input: "STYLE".to_owned(),
            start: 0,
            end: args.style.len(),
        },
    };
    desk.bring_style(&named, Path::new(""))
        .map_err(|d| vec![d])?;
    let Some(text) = desk.style(&args.style) else {
        let known = desk.style_names();
        let known = known.iter().map(String::as_str);
        return Err(vec![
            Diag::error(
                "unknown-style",
                format!("there is no style `{}`", args.style),
            )
            .at(named.place)
            .help(boxwright::read::suggestion(&args.style, known)),
        ]);
    };
    let style = parse_style(&text, desk)?;
    let (size, values) = first_good(&args.style, desk);
    let out = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{}-job.kdl", style.name)));
    let reference = reference(&args.style, if to_output { Path::new("") } else { &out });
    let job = write(&style, &reference, size, values.as_ref(), desk, &out)?;
    if to_output {
        return Done::saying(&job, Status::Fine, Vec::new());
    }
    folder::write_new(&out, job.as_bytes()).map_err(|d| vec![d])?;
    let shown = out.display();
    Done::words(&format!(
        "wrote {shown}\nset its sizes, then: boxwright make {shown}\n"
    ))
}

/// How the job names its style: a path counts from the job's own folder.
fn reference(style: &str, out: &Path) -> String {
    let elsewhere = out.parent().is_some_and(|p| !p.as_os_str().is_empty());
    if is_path(style) && elsewhere {
        std::path::absolute(style).map_or_else(|_| style.to_owned(), |p| p.display().to_string())
    } else {
        style.to_owned()
    }
}

/// The first sizes that give a case without a failed check, or that can be drawn at all.
fn first_good(style: &str, desk: &Desk) -> ([u32; 3], Option<Values>) {
    let mut drawable = None;
    for size in SIZES {
        let Some(case) = trial(style, size).and_then(|job| draw(job, desk).ok()) else {
            continue;
        };
        if let Drawn::Sound(plan) = &case.drawn {
            let found = check(&case.brief, &Folder::new(plan));
            let good = found.findings.iter().all(|f| f.verdict != Verdict::Fail);
            if good {
                return (size, Some(plan.values.clone()));
            }
            drawable.get_or_insert_with(|| (size, Some(plan.values.clone())));
        }
    }
    drawable.unwrap_or((SIZES[0], None))
}

fn trial(style: &str, [l, w, d]: [u32; 3]) -> Option<Job> {
    let text = format!(
        "job \"trial\" {{ style {}; board \"{BOARD}\"; \
         inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\"; }}",
        quoted(style)
    );
    parse_job(&Text {
        name: "trial".to_owned(),
        text,
    })
    .ok()
}

fn write(
    style: &Style,
    reference: &str,
    [l, w, d]: [u32; 3],
    values: Option<&Values>,
    desk: &Desk,
    out: &Path,
) -> Result<String, Vec<Diag>> {
    let mut s = String::new();
    let file = if out == Path::new("-") {
        "FILE".to_owned()
    } else {
        out.display().to_string()
    };
    let code = style.code.as_ref().map(|c| format!(", case code {c}"));
    let _ = writeln!(
        s,
        "// A job: one case to be made. What follows // is a note and changes nothing; take the //\n\
         // away from a line below to set what it says.\n\
         //\n\
         //     boxwright make {}\n\
         //",
        note(&file)
    );
    let code = code.unwrap_or_default();
    notes(
        &mut s,
        "",
        &format!("{}{code}: {}", style.title, style.purpose),
    );
    for r in &style.requires {
        let needs = format!("Needs {}; if not: {}.", r.condition.expr.text(), r.message);
        notes(&mut s, "", &needs);
    }
    let _ = writeln!(
        s,
        "job {} {{\n    style {}\n",
        quoted(&style.title.to_lowercase()),
        quoted(reference)
    );
    let _ = writeln!(
        s,
        "    // The clear room inside: all of it stays free when the case is closed.\n    \
         // Lengths are in mm, cm, m, in (also 1/4in and 3-5/16in) or ft.\n    \
         inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\"\n"
    );
    board(&mut s, desk)?;
    s.push_str(MORE);
    if !style.parameters.is_empty() {
        s.push_str("\n    // What this style lets you choose. A value may be a sum, such as \"t + 1mm\"; it may use length,\n    // width, depth, t (the thickness) and the names below.\n");
        for p in &style.parameters {
            parameter(&mut s, p, values);
        }
    }
    s.push_str("}\n");
    Ok(s)
}

fn board(s: &mut String, desk: &Desk) -> Result<(), Vec<Diag>> {
    s.push_str("    // What it is cut from; `boxwright list boards --show NAME` tells more.\n");
    for b in read_boards(&desk.boards())?.iter() {
        let _ = writeln!(
            s,
            "    //   {:<3} {} mm, {}",
            b.name,
            boxwright::units::trimmed(b.caliper.to_mm(), 2),
            note(&b.title)
        );
    }
    let _ = writeln!(s, "    board \"{BOARD}\"");
    s.push_str("    // A file with boards of your own; its path counts from this file's folder.\n");
    s.push_str("    // board-file \"my-boards.kdl\"\n");
    s.push_str("    // Its thickness, when you have measured it.\n    // caliper \"4mm\"\n\n");
    let ways: Vec<&str> = Creasing::ALL.iter().map(|c| c.word()).collect();
    let _ = writeln!(
        s,
        "    // How creases are made: {}.\n    crease \"{}\"",
        ways.join(", "),
        Creasing::Rule.word()
    );
    s.push_str(
        "    // How deep they turn under the inside face, as a share of the thickness, when you have\n    \
         // measured a test strip.\n    // crease \"rule\" depth=0.5\n\n",
    );
    Ok(())
}

const MORE: &str = r#"    // The sheets you have and the bed of your cutter: along and across the flutes. When given, each
    // blank is checked to fit.
    // sheet "1600mm" "1200mm"
    // bed "600mm" "400mm"

    // Whether its flutes may run either way on the sheet: only where strength does not rest on them.
    // flutes "either"

    // How many cases, and what the title block of the drawing says.
    // quantity 1
    // drawing owner="" creator="" approved="" number="" date=""
"#;

fn parameter(s: &mut String, p: &Parameter, values: Option<&Values>) {
    let now = values
        .and_then(|v| v.quantity(&p.name))
        .map(|q| format!("; {q} at the sizes above"));
    let constant = p.default.expr.names().is_empty();
    let now = now.filter(|_| !constant).unwrap_or_default();
    s.push('\n');
    notes(s, "    ", &p.help);
    notes(s, "    ", &format!("  {}{now}", range(p)));
    let _ = writeln!(s, "    // set {} {}", quoted(&p.name), quoted(&default(p)));
}

/// A parameter's default as a job would write it.
pub fn default(p: &Parameter) -> String {
    let text = p.default.expr.text();
    match p.kind {
        ParameterKind::Choice(_) => text.trim().trim_matches('\'').to_owned(),
        ParameterKind::Quantity(_) => text.to_owned(),
    }
}

/// What a parameter may be, in words.
pub fn range(p: &Parameter) -> String {
    match &p.kind {
        ParameterKind::Choice(words) => format!("one of {}", words.join(", ")),
        ParameterKind::Quantity(dim) => {
            let kind = match *dim {
                Dim::LENGTH => "a length".to_owned(),
                d => d.words(),
            };
            let bound = |f: &Option<boxwright::style::Formula>| {
                f.as_ref().map(|f| f.expr.text().to_owned())
            };
            match (bound(&p.min), bound(&p.max)) {
                (Some(a), Some(b)) => format!("{kind} from {a} to {b}"),
                (Some(a), None) => format!("{kind} of at least {a}"),
                (None, Some(b)) => format!("{kind} of at most {b}"),
                (None, None) => kind,
            }
        }
    }
}

/// Lines of notes, set in as far as the text begins.
fn notes(s: &mut String, lead: &str, text: &str) {
    let inner = &text[..text.len() - text.trim_start().len()];
    for part in wrapped(&note(text), WIDTH - lead.len() - inner.len() - 3) {
        let _ = writeln!(s, "{lead}// {inner}{part}");
    }
}

/// Text that stays on its line of notes.
fn note(text: &str) -> String {
    cleaned(text).replace('\n', " ")
}

/// Text in the quotes of a job file.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            '\n' => out.push_str("\\n"),
            c if crate::excerpt::unseen(c) => {
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
