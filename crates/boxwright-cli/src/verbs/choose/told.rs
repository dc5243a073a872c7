//! Proposals in words: a table, then the reasons for each, then what was left out.

use std::fmt::Write as _;

use boxwright::propose::{AtHand, LeftOut, Need, Prefer, Proposal, Proposals};
use boxwright::units::{LengthUnit, trimmed};

use crate::args::ChooseArgs;
use crate::say::{self, line, table};

/// Shown under every figure of strength.
const CARE: &str = "strength and stacking are estimates, not a test: people stand near stacks, so test \
    by the standard that applies and ask a qualified person where a load can hurt someone; prices \
    of parcels are those of the table file";

/// So many styles of a reason are named.
const NAMED: usize = 6;

/// All of it.
pub fn told(need: &Need, hand: &AtHand, found: &Proposals, args: &ChooseArgs) -> String {
    let show = args.units.into();
    let mut out = String::new();
    asked(&mut out, need, hand, found, show);
    out.push('\n');
    if found.proposals.is_empty() {
        line(&mut out, "proposals", "none of them would do");
    } else {
        rows(&mut out, &found.proposals, show);
        for (i, p) in found.proposals.iter().enumerate() {
            out.push('\n');
            one(&mut out, i, p, need, show);
        }
    }
    out.push('\n');
    if found.further > 0 {
        let text = format!(
            "{} more would do by their checks at rest: these styles in other boards, and styles further down; --top shows more styles",
            found.further
        );
        line(&mut out, "further", &text);
    }
    left_out(&mut out, &found.left_out, args.all);
    out.push('\n');
    line(&mut out, "take care", CARE);
    out
}

fn asked(out: &mut String, need: &Need, hand: &AtHand, found: &Proposals, show: LengthUnit) {
    let mut text = match need.insides.as_slice() {
        [one] => format!("inside {}", say::sizes(*one, show)),
        all => say::counted(all.len(), "inside size"),
    };
    if need.mass().to_kg() > 0.0 {
        let _ = write!(text, ", {} go in", say::mass(need.mass(), show));
    } else {
        text.push_str(", no mass known (--mass)");
    }
    if need.quantity > 1 {
        let _ = write!(text, ", {} cases", need.quantity);
    }
    line(out, "needed", &format!("{}: {text}", need.title));
    let on = &need.on.surroundings;
    let mut stack = match need.on.high {
        Some(n) => format!("{n} high, "),
        None => String::new(),
    };
    let _ = write!(
        stack,
        "{} days at {} % humidity",
        trimmed(on.days, 1),
        trimmed(on.humidity * 100.0, 1)
    );
    line(out, "stacked", &stack);
    let by = match need.prefer {
        Prefer::Board => "least board",
        Prefer::Parcel => "cheapest parcel",
        Prefer::Pallet => "most cases on a pallet",
        Prefer::Stack => "most strength left in a stack",
        Prefer::Price => "least price of board and parcel",
    };
    let first = need.insides.first().map(|i| need.wishes_for(*i));
    let wishes = first.unwrap_or_default();
    let by = if wishes.is_empty() {
        by.to_owned()
    } else {
        format!("known for {}; then {by}", wishes.join(", "))
    };
    line(out, "best first", &by);
    let from = match (&hand.stock, hand.sheet) {
        (Some(s), _) if s.pieces.len() == 1 => "1 kind of sheet".to_owned(),
        (Some(s), _) => format!("{} kinds of sheet", s.pieces.len()),
        (None, Some([x, y])) => format!("sheets of {} x {}", show.show(x), show.show(y)),
        (None, None) => "any sheet is taken to be there (--stock)".to_owned(),
    };
    let mut at = from;
    if let Some(m) = &hand.machine {
        let _ = write!(at, "; machine {}", m.name);
    }
    line(out, "at hand", &at);
    let text = format!(
        "{}: {} in {}",
        say::counted(found.candidates, "candidate"),
        say::counted(hand.styles.len(), "style"),
        say::counted(hand.boards.len(), "board")
    );
    line(out, "tried", &text);
}

fn rows(out: &mut String, all: &[Proposal], show: LengthUnit) {
    let head = [
        "",
        "style",
        "board",
        "takes",
        "packed",
        "left in a stack",
        "parcel",
    ];
    let mut head: Vec<String> = head.map(str::to_owned).to_vec();
    let priced = all.iter().any(|p| p.board_cost.is_some());
    if priced {
        head.push("board for".into());
    }
    let mut rows = vec![head];
    for (i, p) in all.iter().enumerate() {
        let mut row = vec![
            (i + 1).to_string(),
            p.style.clone(),
            p.board.clone(),
            say::area(p.board_area, show),
            say::mass(p.gross, show),
            format!("{} N", trimmed(p.strength.least.to_n(), 0)),
            match (&p.parcel, p.parcel_price) {
                (Some(class), Some(price)) => format!("{class} {price:.2}"),
                _ => "none".to_owned(),
            },
        ];
        if priced {
            row.push(p.board_cost.map_or("-".into(), |c| format!("{c:.2}")));
        }
        rows.push(row);
    }
    table(out, &rows);
}

fn one(out: &mut String, i: usize, p: &Proposal, need: &Need, show: LengthUnit) {
    let mut head = format!(
        "{} ({}) in {}, {} creases; outside {}",
        p.style_title,
        p.style,
        p.board,
        p.creasing.word(),
        say::sizes(p.outside, show)
    );
    if need.insides.len() > 1 {
        let _ = write!(head, ", inside {}", say::sizes(p.inside, show));
    }
    line(out, &(i + 1).to_string(), &head);
    for (n, text) in p.good.iter().enumerate() {
        line(out, if n == 0 { "  for" } else { "" }, text);
    }
    for (n, text) in p.against.iter().enumerate() {
        line(out, if n == 0 { "  against" } else { "" }, text);
    }
    if !p.also.is_empty() {
        line(out, "  or in", &p.also.join("; "));
    }
}

fn left_out(out: &mut String, all: &[LeftOut], each: bool) {
    for (n, l) in all.iter().enumerate() {
        let word = if n == 0 { "left out" } else { "" };
        let mut text = format!("{}: {}", l.candidates, l.words);
        let named: Vec<&str> = l.styles.iter().take(NAMED).map(String::as_str).collect();
        let more = l.styles.len() - named.len();
        let _ = write!(text, " ({}", named.join(", "));
        if more > 0 {
            let _ = write!(text, " and {}", say::counted(more, "more style"));
        }
        let _ = write!(text, "; in {})", l.boards.join(", "));
        line(out, word, &text);
        if each {
            for e in &l.each {
                line(out, "", &format!("- {e}"));
            }
        }
    }
    if !each && !all.is_empty() {
        line(out, "", "--all lists each of them");
    }
}
