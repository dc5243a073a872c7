//! A first job for a proposal: a usual style and board, to be looked over.

use std::fmt::Write as _;

use super::proposal::Proposal;

/// Longer than this many times its width, and it is long goods.
const LONG: f64 = 3.0;
/// Less deep than this share of its width, and it is flat.
const FLAT: f64 = 0.3;
/// Heaviest flat thing for a case that closes without tape, kg.
const TUCKED: f64 = 3.0;

/// A style for the shape of the inside: default, no source. Long goods get a folder that wraps them,
/// light flat things a mailer, all others a slotted case.
#[must_use]
pub fn usual_style(p: &Proposal) -> &'static str {
    let [l, w, d] = p.inside.map(|v| v.to_mm());
    if l > LONG * w.max(d) {
        "five-panel-folder"
    } else if d < FLAT * w && p.mass.to_kg() <= TUCKED {
        "mailer"
    } else {
        "slotted-case"
    }
}

/// A board for the mass: default, no source; strength is not worked out here.
#[must_use]
pub fn usual_board(p: &Proposal) -> &'static str {
    match p.mass.to_kg() {
        m if m < 0.7 => "E",
        m if m < 3.0 => "B",
        m if m < 10.0 => "C",
        _ => "BC",
    }
}

/// The job file of a proposal.
#[must_use]
pub fn job_text(p: &Proposal, style: &str, board: &str) -> String {
    let mut out = String::new();
    for line in &p.reasons {
        let _ = writeln!(out, "// {}", line.replace(char::is_control, " "));
    }
    let [l, w, d] = p.inside.map(|v| crate::units::trimmed(v.to_mm(), 1));
    let _ = writeln!(
        out,
        "job {} {{\n    style {}\n    inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\"\n    board {}\n}}",
        quoted(&p.name),
        quoted(style),
        quoted(board)
    );
    out
}

fn quoted(text: &str) -> String {
    let plain = text.replace(char::is_control, " ");
    format!("\"{}\"", plain.replace('\\', "\\\\").replace('"', "\\\""))
}
