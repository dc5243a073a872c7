//! A file of loss tables, read.

use super::{Curve, Kept, Losses, Pattern};
use crate::diag::{Diag, Outcome};
use crate::read::{Bounds, Field, Node, measure, parse, suggestion};
use crate::ship::figure::{origin, share};
use crate::source::Text;
use crate::units::Dim;

const DAYS: Bounds = (0.001, 36_500.0);
const AIR: Bounds = (0.0, 1.0);
const MOST_TABLES: usize = 100;
const MOST_POINTS: usize = 1000;
const PARTS: [&str; 9] = [
    "title",
    "time",
    "humidity",
    "column-aligned",
    "column-offset",
    "interlocked",
    "overhang",
    "deck-gap",
    "handling",
];

/// Reads a file of loss tables.
///
/// # Errors
/// Every message about it: unknown words, figures that are missing, out of bounds or without origin,
/// listed conditions that do not grow, shares that rise where they must fall.
pub fn read_losses(text: &Text) -> Outcome<Vec<Losses>> {
    let doc = parse(text)?;
    let mut all: Vec<Losses> = Vec::new();
    for node in doc.nodes() {
        if node.name() != "losses" {
            node.unknown("a file of losses", ["losses"]);
            continue;
        }
        let Some(table) = table(node) else { continue };
        if all.iter().any(|t| t.name == table.name) {
            let message = format!("there are two tables `{}`", table.name);
            node.error("given-twice", message, None);
        }
        all.push(table);
        if all.len() > MOST_TABLES {
            let message = format!("a file holds at most {MOST_TABLES} tables");
            node.error("too-many", message, None);
            break;
        }
    }
    if doc.nodes().next().is_none() {
        let empty = Diag::error("empty", "this file holds no table of losses");
        doc.report(
            empty
                .at(doc.top())
                .help("begin with: losses \"name\" { ... }"),
        );
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}

/// The table with a name; the first where none is asked for.
///
/// # Errors
/// `unknown-table`, with the names there are.
pub fn pick<'t, T>(all: &'t [T], name: Option<&str>, named: impl Fn(&T) -> &str) -> Outcome<&'t T> {
    let found = match name {
        Some(name) => all.iter().find(|t| named(t) == name),
        None => all.first(),
    };
    found.ok_or_else(|| {
        let name = name.unwrap_or_default();
        let known: Vec<&str> = all.iter().map(named).collect();
        let message = format!("there is no table `{name}`");
        vec![Diag::error("unknown-table", message).help(suggestion(name, known))]
    })
}

fn table(node: Node<'_>) -> Option<Losses> {
    node.takes(1, &[]);
    for c in node.children() {
        if !PARTS.contains(&c.name()) {
            c.unknown("a table of losses", PARTS);
        }
    }
    for name in PARTS {
        for twice in node.children().filter(|c| c.name() == name).skip(1) {
            let message = format!("`{name}` is given twice");
            twice.error("given-twice", message, Some("keep one of them".into()));
        }
    }
    let name = node.need_arg(0, "a name").and_then(|f| f.word());
    let title = node
        .child("title")
        .and_then(|n| n.need_arg(0, "what the table is")?.word());
    let one = |name: &str| node.child(name).and_then(kept);
    let time = node.child("time").and_then(|n| curve(n, "days", days));
    let humidity = node.child("humidity").and_then(|n| curve(n, "air", air));
    let patterns = Pattern::ALL.map(|p| one(p.word()));
    if node.children().all(|c| c.name() == "title") {
        node.error("missing", "this table lists no loss", None);
    }
    let name = name?;
    Some(Losses {
        name: name.to_owned(),
        title: title.unwrap_or(name).to_owned(),
        time,
        humidity,
        patterns,
        overhang: one("overhang"),
        deck_gap: one("deck-gap"),
        handling: one("handling"),
    })
}

fn days(f: Field<'_>) -> Option<f64> {
    measure(f, Dim::NUMBER, DAYS)
}

fn air(f: Field<'_>) -> Option<f64> {
    measure(f, Dim::NUMBER, AIR)
}

/// What is kept under one condition: one figure, or best and worst.
fn kept(node: Node<'_>) -> Option<Kept> {
    node.takes(0, &["keeps", "best", "worst", "from"]);
    node.childless();
    let from = origin(node);
    if let Some(f) = node.prop("keeps") {
        for key in ["best", "worst"] {
            if let Some(f) = node.prop(key) {
                let message = "give `keeps`, or `best` and `worst`, not both";
                f.error("given-twice", message, None);
            }
        }
        let keeps = share(f)?;
        return Some(Kept {
            best: keeps,
            worst: keeps,
            from: from?,
        });
    }
    let what = "the share of strength that is kept";
    let best = node.need_prop("best", what).and_then(share);
    let worst_field = node.need_prop("worst", what);
    let worst = worst_field.and_then(share);
    let (best, worst) = (best?, worst?);
    if worst > best {
        let message = "at worst no more is kept than at best";
        worst_field?.error("wrong-order", message, Some("change the two over".into()));
        return None;
    }
    Some(Kept {
        best,
        worst,
        from: from?,
    })
}

fn curve(node: Node<'_>, word: &str, read: fn(Field<'_>) -> Option<f64>) -> Option<Curve> {
    node.takes(0, &["from"]);
    let from = origin(node);
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut good = true;
    for c in node.children() {
        if c.name() != word {
            c.unknown(&format!("`{}`", node.name()), [word]);
            good = false;
            continue;
        }
        c.takes(1, &["keeps"]);
        c.childless();
        let at_field = c.need_arg(0, "the condition");
        let keeps_field = c.need_prop("keeps", "the share of strength that is kept");
        let point = at_field.and_then(read).zip(keeps_field.and_then(share));
        let Some((at, keeps)) = point else {
            good = false;
            continue;
        };
        if let Some((before, kept)) = points.last() {
            if at <= *before {
                c.error(
                    "wrong-order",
                    "listed conditions have to grow from line to line",
                    Some("put the lines in order, each once".into()),
                );
                good = false;
            } else if keeps > *kept {
                c.error(
                    "wrong-order",
                    "more is kept here than on the line before, which cannot be",
                    None,
                );
                good = false;
            }
        }
        points.push((at, keeps));
        if points.len() > MOST_POINTS {
            let message = format!("at most {MOST_POINTS} lines are read here");
            c.error("too-many", message, None);
            return None;
        }
    }
    if points.is_empty() && good {
        let message = format!("`{}` lists nothing", node.name());
        node.error("missing", message, Some(format!("write lines of `{word}`")));
        return None;
    }
    good.then_some(())?;
    Some(Curve {
        points,
        from: from?,
    })
}
