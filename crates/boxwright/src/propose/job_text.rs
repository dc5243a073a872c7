//! A proposal as a job file that `make` takes as it is.

use std::fmt::Write as _;

use crate::job::Job;
use crate::units::Length;

/// The job file. Numbers are written in full, so that what was checked is what is made.
#[must_use]
pub fn job_text(job: &Job) -> String {
    let mut s = String::new();
    let mm = |l: Length| format!("\"{}mm\"", l.to_mm());
    let _ = writeln!(s, "job {} {{", quoted(&job.title));
    let _ = writeln!(s, "    style {}", quoted(&job.style.name));
    let [l, w, d] = job.inside.map(mm);
    let _ = writeln!(s, "    inside length={l} width={w} depth={d}");
    let _ = writeln!(s, "    board {}", quoted(&job.board.name));
    for f in &job.board_files {
        let _ = writeln!(s, "    board-file {}", quoted(&f.name));
    }
    let _ = writeln!(s, "    crease \"{}\"", job.creasing.word());
    for c in &job.contents {
        let _ = write!(
            s,
            "    contents {} mass=\"{}kg\"",
            quoted(&c.name),
            c.mass.to_kg()
        );
        if c.count > 1 {
            let _ = write!(s, " count={}", c.count);
        }
        if let Some(g) = c.fragile {
            let _ = write!(s, " fragile={g}");
        }
        s.push('\n');
    }
    if let Some([x, y]) = job.sheet.map(|s| s.map(mm)) {
        let _ = writeln!(s, "    sheet {x} {y}");
    }
    if let Some([x, y]) = job.bed.map(|s| s.map(mm)) {
        let _ = writeln!(s, "    bed {x} {y}");
    }
    if job.quantity > 1 {
        let _ = writeln!(s, "    quantity {}", job.quantity);
    }
    s.push_str("}\n");
    s
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
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c.is_control()
                || matches!(c, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}') =>
            {
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
