//! `learn`: figures from what was read on the strips, kept in the workshop's folder.

use std::path::Path;

use boxwright::board::{Figure, Measured, read_boards};
use boxwright::diag::{Diag, Named};
use boxwright::learn::{Fitted, Learned, learn, length_words, read_measurements, share_words};
use boxwright::source::{Door, Text};
use boxwright::units::{Length, trimmed};
use boxwright_store::{Kept, Store};
use serde_json::{Value, json};

use super::{Done, Status};
use crate::args::LearnArgs;
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::overrides;
use crate::say::{line, table};

/// Runs it.
pub fn run(args: &LearnArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    if args.list {
        let kept = Store::open_existing(&args.store)?.all_measured()?;
        let all: Vec<Value> = kept.iter().map(kept_json).collect();
        return told(
            args,
            &listed(&kept),
            &json!({ "measured": all }),
            Vec::new(),
        );
    }
    if let Some(number) = args.forget {
        let gone = Store::open_existing(&args.store)?.forget_measured(number)?;
        let mut out = String::new();
        line(
            &mut out,
            "forgotten",
            &format!("{number}: {}", about(&gone.measured)),
        );
        return told(
            args,
            &out,
            &json!({ "forgotten": kept_json(&gone) }),
            Vec::new(),
        );
    }
    let Some(file) = &args.file else {
        return Err(vec![Diag::error("usage", "name a measurements file")]);
    };
    fit(args, file, desk)
}

fn told(
    args: &LearnArgs,
    words: &str,
    json: &Value,
    warnings: Vec<Diag>,
) -> Result<Done, Vec<Diag>> {
    let text = if args.json {
        serde_json::to_string_pretty(json).unwrap_or_default() + "\n"
    } else {
        cleaned(words)
    };
    Done::saying(&text, Status::Fine, warnings)
}

fn fit(args: &LearnArgs, file: &Path, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    for file in &args.boards {
        let name = file.display().to_string();
        let place = overrides::option(desk, "--boards", &name);
        desk.bring_boards(&Named { name, place }, Path::new(""))
            .map_err(|d| vec![d])?;
    }
    let text: Text = desk.measurements(file).map_err(|d| vec![d])?;
    let found = read_measurements(&text)?;
    let boards = read_boards(&desk.boards())?;
    let board = boards.get(&found.board.name);
    let learned = learn(&found, board)?;
    let mut warnings = learned.warnings.clone();
    if board.is_none() {
        let message = format!(
            "there is no board `{}`: nothing is held against it",
            found.board.name
        );
        let help = "name its file with --boards, or check the name: jobs find the figures by it";
        let at = found.board.place.clone();
        warnings.push(Diag::warning("unknown-board", message).at(at).help(help));
    }
    if let Some(m) = &found.machine
        && desk.machine(&m.name).is_none()
    {
        let message = format!("there is no shipped machine `{}`", m.name);
        let help =
            "that is right for a machine of your own; `cut` finds the kerf by the name in its file";
        warnings.push(
            Diag::warning("unknown-machine", message)
                .at(m.place.clone())
                .help(help),
        );
    }
    let number = if args.dry_run {
        None
    } else {
        Some(Store::open(&args.store)?.put_measured(&learned.measured)?)
    };
    let out = words(&learned, found.empty, number, args);
    let json = json!({
        "format": "boxwright-learned",
        "version": 1,
        "kept": number,
        "measured": measured_json(&learned.measured),
        "empty": found.empty,
        "covariance": learned.fitted.covariance,
    });
    told(args, &out, &json, warnings)
}

fn words(learned: &Learned, empty: usize, number: Option<i64>, args: &LearnArgs) -> String {
    let (m, f): (&Measured, &Fitted) = (&learned.measured, &learned.fitted);
    let mut out = String::new();
    line(&mut out, "board", &m.board);
    if let Some(machine) = &m.machine {
        line(&mut out, "machine", machine);
    }
    line(&mut out, "creases", m.way.word());
    if !m.when.is_empty() {
        line(&mut out, "when", &m.when);
    }
    out.push('\n');
    let head = [
        "figure",
        "value",
        "95 % within",
        "readings",
        "spread of one",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let mut length = |name: &str, f: Option<Figure<Length>>| {
        let Some(f) = f else { return };
        rows.push(row(
            name,
            f.value.to_mm(),
            f.half.to_mm(),
            f.spread.to_mm(),
            f.count,
            " mm",
        ));
    };
    length("caliper", f.caliper);
    length("kerf", f.kerf);
    for (name, p) in ["fold axis depth along", "fold axis depth across"]
        .iter()
        .zip(f.axis_depth)
    {
        let Some(p) = p else { continue };
        rows.push(row(name, p.value, p.half, p.spread, p.count, ""));
    }
    table(&mut out, &rows);
    out.push('\n');
    if empty > 0 {
        line(
            &mut out,
            "empty",
            &format!("{empty} readings were not taken"),
        );
    }
    let kept = match number {
        Some(n) => format!(
            "as number {n} in {}; cases of this board are drawn with it from now on",
            args.store.display()
        ),
        None => "nothing".to_owned(),
    };
    line(&mut out, "kept", &kept);
    out
}

fn row(name: &str, value: f64, half: f64, spread: f64, count: u32, unit: &str) -> Vec<String> {
    vec![
        name.to_owned(),
        format!("{}{unit}", trimmed(value, 3)),
        format!("+- {}{unit}", trimmed(half, 3)),
        count.to_string(),
        format!("{}{unit}", trimmed(spread, 3)),
    ]
}

/// Board, machine, way and day, in one line.
fn about(m: &Measured) -> String {
    let mut text = format!("board {}", m.board);
    if let Some(machine) = &m.machine {
        text.push_str(&format!(", {machine}"));
    }
    text.push_str(&format!(", {}", m.way.word()));
    if !m.when.is_empty() {
        text.push_str(&format!(", {}", m.when));
    }
    text
}

fn listed(kept: &[Kept]) -> String {
    let mut out = String::new();
    if kept.is_empty() {
        line(&mut out, "kept", "nothing is measured yet");
    }
    for k in kept {
        let m = &k.measured;
        line(&mut out, &k.number.to_string(), &about(m));
        let mut figures = Vec::new();
        figures.extend(m.caliper.map(|f| format!("caliper {}", length_words(&f))));
        figures.extend(m.along.map(|f| format!("depth along {}", share_words(&f))));
        figures.extend(
            m.across
                .map(|f| format!("depth across {}", share_words(&f))),
        );
        figures.extend(m.kerf.map(|f| format!("kerf {}", length_words(&f))));
        line(&mut out, "", &figures.join(", "));
        if !m.note.is_empty() {
            line(&mut out, "", &m.note);
        }
    }
    out
}

fn measured_json(m: &Measured) -> Value {
    serde_json::to_value(m).unwrap_or(Value::Null)
}

fn kept_json(k: &Kept) -> Value {
    let mut value = measured_json(&k.measured);
    if let Some(fields) = value.as_object_mut() {
        fields.insert("number".to_owned(), json!(k.number));
        fields.insert("at".to_owned(), json!(k.at));
    }
    value
}
