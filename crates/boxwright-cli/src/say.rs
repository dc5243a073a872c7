//! The report in words: plain lines that fit a terminal of 100 columns and need no colour.

use std::fmt::Write as _;

use boxwright::blank::{Plan, PlanLeft};
use boxwright::brief::{Brief, measured_for};
use boxwright::check::{Finding, Measure, Verdict};
use boxwright::emit::report::Told;
use boxwright::units::{Area, Length, LengthUnit, Mass, trimmed, unit};

use crate::excerpt::cleaned;
use crate::known;

/// No line is longer.
pub const WIDTH: usize = 100;
/// Where what is said begins, right of its word.
const INDENT: usize = 13;

/// Everything about a case but its files.
pub fn report(brief: &Brief, plan: &Plan, told: &Told, show: LengthUnit, all: bool) -> String {
    let mut out = String::new();
    asked(&mut out, brief, plan, show);
    out.push('\n');
    pieces(&mut out, plan, show);
    fitments(&mut out, plan, show);
    out.push('\n');
    if let Some((found, _)) = told.room {
        let text = format!(
            "{} found, {} asked",
            sizes(found, show),
            sizes(plan.room.asked, show)
        );
        line(&mut out, "clear room", &text);
    }
    line(&mut out, "verdict", &verdict(&told.findings, all));
    findings(&mut out, &told.findings, show, all);
    cleaned(&out)
}

fn asked(out: &mut String, brief: &Brief, plan: &Plan, show: LengthUnit) {
    let job = &brief.job;
    let style = &plan.style;
    let code = style.code.as_ref().map(|c| format!(", case code {c}"));
    line(out, "case", &job.title);
    line(
        out,
        "style",
        &format!(
            "{} ({}{})",
            style.title,
            style.name,
            code.unwrap_or_default()
        ),
    );
    let inside = format!("{}, length x width x depth", sizes(job.inside, show));
    line(out, "inside", &inside);
    let own = if job.caliper.is_some() {
        ", measured"
    } else {
        ""
    };
    let board = format!(
        "{}, {} thick{own}: {}",
        brief.board.name,
        show.show(plan.material.caliper),
        brief.board.title
    );
    line(out, "board", &board);
    if let Some(text) = known::words(&measured_for(job)) {
        line(out, "measured", &text);
    }
    let [along, across] = plan.material.axis_depth.map(|p| trimmed(p, 3));
    let depth = if along == across {
        format!("{along} of the thickness")
    } else {
        format!("{along} of the thickness along the flutes and {across} across them")
    };
    let creases = format!(
        "{}; they turn {depth} under the inside face",
        plan.material.way.word()
    );
    line(out, "creases", &creases);
    if job.quantity > 1 {
        line(out, "quantity", &job.quantity.to_string());
    }
}

pub fn pieces(out: &mut String, plan: &Plan, show: LengthUnit) {
    let head = ["piece", "blank", "area", "mass", "cut", "crease"].map(str::to_owned);
    let mut rows = vec![head.to_vec()];
    let perforated = plan
        .pieces
        .iter()
        .any(|b| b.figures.perforation_length > Length::ZERO);
    if perforated {
        rows[0].push("perforation".to_owned());
    }
    for blank in &plan.pieces {
        let f = &blank.figures;
        let mut row = vec![
            blank.piece.clone(),
            format!(
                "{} x {} {}",
                show.number(f.length),
                show.number(f.width),
                show.symbol()
            ),
            area(f.area, show),
            mass(f.mass, show),
            run(f.cut_length, show),
            run(f.crease_length, show),
        ];
        if perforated {
            row.push(run(f.perforation_length, show));
        }
        rows.push(row);
    }
    table(out, &rows);
}

/// What goes into the case: what it is cut from, its blanks and what it leaves.
fn fitments(out: &mut String, plan: &Plan, show: LengthUnit) {
    for f in &plan.fitments {
        out.push('\n');
        let text = format!(
            "{}: {} ({}), board {}, {} thick",
            f.name,
            f.style.title,
            f.style.name,
            f.material.board,
            show.show(f.material.caliper)
        );
        line(out, "fitment", &text);
        for (names, size) in alike(&plan.pieces[f.pieces.clone()], |b| {
            (
                b.piece.as_str(),
                format!(
                    "{} x {} {}",
                    show.number(b.figures.length),
                    show.number(b.figures.width),
                    show.symbol()
                ),
            )
        }) {
            line(out, "", &format!("blank {size}: {}", names.join(", ")));
        }
        let left = |b: &'_ PlanLeft| sizes(b.size, show);
        for (names, size) in alike(&f.room.leaves, |b| (b.name.as_str(), left(b))) {
            line(out, "", &format!("leaves {size}: {}", names.join(", ")));
        }
    }
}

/// Names that go with the same words, together.
fn alike<T>(all: &[T], told: impl Fn(&T) -> (&str, String)) -> Vec<(Vec<&str>, String)> {
    let mut groups: Vec<(Vec<&str>, String)> = Vec::new();
    for one in all {
        let (name, words) = told(one);
        match groups.iter_mut().find(|(_, w)| *w == words) {
            Some((names, _)) => names.push(name),
            None => groups.push((vec![name], words)),
        }
    }
    groups
}

pub fn verdict(list: &[Finding], all: bool) -> String {
    let n = list.len();
    let count = |v| list.iter().filter(|f| f.verdict == v).count();
    let (fails, cautions) = (count(Verdict::Fail), count(Verdict::Caution));
    let mut parts = Vec::new();
    if fails > 0 {
        parts.push(format!("{} failed", counted(fails, "check")));
    }
    if cautions > 0 {
        parts.push(counted(cautions, "caution"));
    }
    let passed = n - fails - cautions;
    if passed > 0 {
        let more = if all { "" } else { " (--all lists them)" };
        parts.push(format!("{} passed{more}", counted(passed, "check")));
    }
    let word = match list.iter().map(|f| f.verdict).max() {
        None => return "no check was run".to_owned(),
        Some(v) => verdict_word(v),
    };
    format!("{word}: {}", parts.join(", "))
}

/// So many different faults are shown; --all lists every one.
const MOST_SHOWN: usize = 12;

pub fn findings(out: &mut String, findings: &[Finding], show: LengthUnit, all: bool) {
    if all {
        for f in findings {
            out.push('\n');
            finding(out, f, &f.stage.into_iter().collect::<Vec<_>>(), show);
        }
        return;
    }
    let grouped = grouped(findings);
    for (f, stages) in grouped.iter().take(MOST_SHOWN) {
        out.push('\n');
        finding(out, f, stages, show);
    }
    if grouped.len() > MOST_SHOWN {
        let more = grouped.len() - MOST_SHOWN;
        out.push('\n');
        line(out, "", &format!("and {more} more; --all lists them"));
    }
}

/// What did not pass, each fault once: the worst place it was seen in, and the stages it was seen
/// in too.
fn grouped(findings: &[Finding]) -> Vec<(&Finding, Vec<usize>)> {
    let mut groups: Vec<(&Finding, Vec<usize>)> = Vec::new();
    for f in findings.iter().filter(|f| f.verdict != Verdict::Pass) {
        let mut panels: Vec<&String> = f.panels.iter().collect();
        panels.sort();
        let same = |g: &Finding| {
            let mut others: Vec<&String> = g.panels.iter().collect();
            others.sort();
            !panels.is_empty() && (g.code, g.verdict, others) == (f.code, f.verdict, panels.clone())
        };
        match groups.iter_mut().find(|(g, _)| same(g)) {
            Some((worst, stages)) => {
                stages.extend(f.stage);
                if amount(f) > amount(worst) {
                    *worst = f;
                }
            }
            None => groups.push((f, f.stage.into_iter().collect())),
        }
    }
    groups
}

fn amount(f: &Finding) -> f64 {
    match f.measured {
        Some(Measure::Mm(l)) => l.to_mm(),
        Some(Measure::Deg(v) | Measure::Mm2(v)) => v,
        Some(Measure::Count(_)) | None => 0.0,
    }
}

fn finding(out: &mut String, f: &Finding, stages: &[usize], show: LengthUnit) {
    line(
        out,
        verdict_word(f.verdict),
        &format!("{} ({})", f.message, f.code),
    );
    let mut facts = Vec::new();
    match (f.measured, f.limit) {
        (Some(m), Some(l)) => {
            facts.push(format!("measured {}, limit {}", m.show(show), l.show(show)));
        }
        (Some(m), None) => facts.push(format!("measured {}", m.show(show))),
        _ => {}
    }
    if !stages.is_empty() {
        let word = if stages.len() == 1 { "stage" } else { "stages" };
        let list: Vec<String> = stages.iter().map(usize::to_string).collect();
        let seen = if f.stage.is_none() { "also " } else { "" };
        facts.push(format!("{seen}in {word} {}", list.join(", ")));
    }
    if !f.panels.is_empty() {
        let word = if f.panels.len() == 1 {
            "panel"
        } else {
            "panels"
        };
        facts.push(format!("{word} {}", f.panels.join(", ")));
    }
    if !facts.is_empty() {
        line(out, "", &facts.join("; "));
    }
    if let Some(cure) = &f.cure {
        line(out, "", &format!("cure: {cure}"));
    }
}

const fn verdict_word(v: Verdict) -> &'static str {
    match v {
        Verdict::Pass => "pass",
        Verdict::Caution => "caution",
        Verdict::Fail => "FAIL",
    }
}

/// `1 check`, `2 checks`.
pub fn counted(n: usize, word: &str) -> String {
    if n == 1 {
        format!("1 {word}")
    } else {
        format!("{n} {word}s")
    }
}

/// Three sizes with their unit.
pub fn sizes(s: [Length; 3], show: LengthUnit) -> String {
    let [l, w, d] = s.map(|v| show.number(v));
    format!("{l} x {w} x {d} {}", show.symbol())
}

fn in_unit(value: f64, symbol: &str) -> f64 {
    value / unit(symbol).map_or(1.0, |u| u.factor)
}

pub fn area(a: Area, show: LengthUnit) -> String {
    match show {
        LengthUnit::Mm => format!("{} m2", trimmed(a.to_m2(), 3)),
        LengthUnit::Inch => {
            let foot = unit("ft").map_or(1.0, |u| u.factor);
            format!("{} ft2", trimmed(a.to_mm2() / (foot * foot), 2))
        }
    }
}

pub fn mass(m: Mass, show: LengthUnit) -> String {
    match show {
        LengthUnit::Mm if m.to_kg() < 1.0 => format!("{} g", trimmed(m.to_g(), 0)),
        LengthUnit::Mm => format!("{} kg", trimmed(m.to_kg(), 2)),
        LengthUnit::Inch => format!("{} lb", trimmed(in_unit(m.to_kg(), "lb"), 2)),
    }
}

/// A length of many lines together.
pub fn run(l: Length, show: LengthUnit) -> String {
    match show {
        LengthUnit::Mm => format!("{} m", trimmed(in_unit(l.to_mm(), "m"), 2)),
        LengthUnit::Inch => format!("{} ft", trimmed(in_unit(l.to_mm(), "ft"), 2)),
    }
}

/// A word and what is said about it, wrapped with a hanging indent.
pub fn line(out: &mut String, word: &str, text: &str) {
    let mut first = true;
    for part in wrapped(text, WIDTH - INDENT) {
        let word = if first { word } else { "" };
        let _ = writeln!(out, "{}", format!("{word:<INDENT$}{part}").trim_end());
        first = false;
    }
}

/// Text in lines of at most `room` characters, broken between words where it can be.
pub fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        loop {
            let gap = usize::from(used > 0);
            if used + gap + word.len() <= room {
                push(&mut lines, &word, gap);
                used += gap + word.len();
                break;
            }
            if used == 0 {
                let rest = word.split_off(room);
                push(&mut lines, &word, 0);
                word = rest;
            }
            lines.push(String::new());
            used = 0;
        }
    }
    lines
}

fn push(lines: &mut [String], word: &[char], gap: usize) {
    if let Some(last) = lines.last_mut() {
        last.extend(std::iter::repeat_n(' ', gap));
        last.extend(word);
    }
}

/// Columns set left, wide enough for their longest entry; the last may wrap.
pub fn table(out: &mut String, rows: &[Vec<String>]) {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |c: usize| {
        let cells = rows.iter().filter_map(|r| r.get(c));
        cells.map(|s| s.chars().count()).max().unwrap_or(0)
    };
    let mut widths: Vec<usize> = (0..columns).map(width).collect();
    // The first column lines up with the words of `line`.
    if let Some(w) = widths.first_mut() {
        *w = (*w).max(INDENT - 2);
    }
    let before: usize = widths.iter().rev().skip(1).map(|w| w + 2).sum();
    let room = WIDTH.saturating_sub(before).max(24);
    for row in rows {
        let mut text = String::new();
        for (cell, w) in row.iter().zip(&widths).take(columns - 1) {
            let _ = write!(text, "{cell:<w$}  ");
        }
        let last = row.get(columns - 1).map_or("", String::as_str);
        for (i, part) in wrapped(last, room).iter().enumerate() {
            let lead = if i == 0 {
                text.clone()
            } else {
                " ".repeat(before)
            };
            let _ = writeln!(out, "{}", format!("{lead}{part}").trim_end());
        }
    }
}
