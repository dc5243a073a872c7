//! The measurements file: what was read at the bench. `docs/formats.md` has its words.

use std::fmt::Write as _;

use super::coupon::Coupon;
use super::fit::{Channel, Gauge, Group, Readings};
use crate::board::Creasing;
use crate::diag::{Diag, Named, Outcome, Place};
use crate::expr::parse_quantity;
use crate::read::{Field, Node, parse};
use crate::source::Text;
use crate::style::place_error;
use crate::units::{Dim, Length, SLACK_MM, trimmed};

/// More readings of a kind than this are refused.
pub const MOST_READINGS: usize = 1000;
/// The step taken where the file does not say the instrument's.
pub const USUAL_STEP: Length = Length::mm(0.05);
/// Longer than this is no reading of a test strip.
const LONGEST: Length = Length::mm(1000.0);

/// A measurements file as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurements {
    /// The board's name.
    pub board: Named,
    /// The machine's name.
    pub machine: Option<Named>,
    /// How the creases were made.
    pub way: Creasing,
    /// When, in the words of who measured; empty when not told.
    pub when: String,
    /// What else is noted.
    pub note: String,
    /// The readings.
    pub readings: Readings,
    /// Where each reading stands, per group in the order of [`Group::ALL`].
    pub places: [Vec<Place>; 4],
    /// How many readings were left empty.
    pub empty: usize,
    /// Where the file begins to speak of them.
    pub place: Place,
}

impl Measurements {
    /// Where a reading stands.
    #[must_use]
    pub fn place_of(&self, group: Group, index: usize) -> Place {
        let at = Group::ALL.iter().position(|g| *g == group);
        let found = at.and_then(|g| self.places[g].get(index));
        found.unwrap_or(&self.place).clone()
    }
}

const WORDS: [&str; 9] = [
    "board", "machine", "crease", "when", "note", "step", "caliper", "channel", "gauge",
];

/// Reads a measurements file. Readings written as `""` count as not taken.
///
/// # Errors
/// Every message found.
pub fn read_measurements(text: &Text) -> Outcome<Measurements> {
    let doc = parse(text)?;
    let mut found = None;
    let mut seen = false;
    for node in doc.nodes() {
        if node.name() != "measurements" {
            node.unknown("a measurements file", ["measurements"]);
        } else if seen {
            node.error("given-twice", "a file holds one set of measurements", None);
        } else {
            seen = true;
            found = read(&node);
        }
    }
    if doc.nodes().next().is_none() {
        doc.report(
            Diag::error("empty", "this file holds no measurements")
                .at(doc.top())
                .help("`boxwright coupon` writes one to fill in"),
        );
    }
    doc.finish(found).map(|(m, _)| m)
}

fn read(node: &Node<'_>) -> Option<Measurements> {
    node.takes(0, &[]);
    for c in node.children() {
        if !WORDS.contains(&c.name()) {
            c.unknown("a measurements file", WORDS);
        }
    }
    for name in &WORDS[..6] {
        for twice in node.children().filter(|c| c.name() == *name).skip(1) {
            let message = format!("`{name}` is given twice");
            twice.error("given-twice", message, Some("keep one of them".into()));
        }
    }
    let need = |name: &str, help: &str| {
        let found = node.child(name);
        if found.is_none() {
            let message = format!("measurements need `{name}`");
            node.error("missing", message, Some(help.to_owned()));
        }
        found
    };
    let board = need("board", "the board's name, such as: board \"C\"").and_then(|n| name(&n));
    let ways: Vec<(&str, Creasing)> = Creasing::ALL.iter().map(|c| (c.word(), *c)).collect();
    let way = need(
        "crease",
        "how the creases were made, such as: crease \"rule\"",
    )
    .and_then(|n| plain(&n))
    .and_then(|f| f.choice(&ways));
    let words = |key: &str| {
        let field = node.child(key).and_then(|n| plain(&n));
        field.map_or_else(String::new, |f| f.text().trim().to_owned())
    };
    let step = match node.child("step") {
        None => Some(USUAL_STEP),
        Some(n) => plain(&n).and_then(|f| match length(&f)? {
            l if l.to_mm() > 0.0 && l <= Length::mm(5.0) => Some(l),
            _ => {
                let help = "the smallest step the instrument shows, such as \"0.05mm\"";
                f.error(
                    "out-of-range",
                    "a step lies above 0 and up to 5 mm",
                    Some(help.into()),
                );
                None
            }
        }),
    };
    let mut m = Measurements {
        board: board?,
        machine: node.child("machine").and_then(|n| name(&n)),
        way: way?,
        when: words("when"),
        note: words("note"),
        readings: Readings {
            step: step?,
            ..Readings::default()
        },
        places: [const { Vec::new() }; 4],
        empty: 0,
        place: node.place(),
    };
    for c in node.children() {
        match c.name() {
            "caliper" => caliper(&c, &mut m),
            "channel" => channel(&c, &mut m),
            "gauge" => gauge(&c, &mut m),
            _ => {}
        }
    }
    if m.places.iter().any(|p| p.len() > MOST_READINGS) {
        let message = format!("more than {MOST_READINGS} readings of a kind are not read");
        node.error("too-many", message, None);
    }
    Some(m)
}

fn plain<'a>(node: &Node<'a>) -> Option<Field<'a>> {
    node.takes(1, &[]);
    node.childless();
    node.need_arg(0, "a value")
}

fn name(node: &Node<'_>) -> Option<Named> {
    let f = plain(node)?;
    let name = f.word()?.to_owned();
    if name.trim().is_empty() {
        f.error("missing", format!("`{}` needs a name", node.name()), None);
        return None;
    }
    Some(Named {
        name,
        place: f.place(),
    })
}

fn caliper(node: &Node<'_>, m: &mut Measurements) {
    node.takes(MOST_READINGS + 1, &[]);
    node.childless();
    for f in node.args() {
        if let Some(l) = reading(&f, m) {
            m.readings.caliper.push(l);
            m.places[0].push(f.place());
        }
    }
}

fn channel(node: &Node<'_>, m: &mut Measurements) {
    node.takes(1, &["drawn", "inside", "outside"]);
    node.childless();
    let ways = [("along", 0_usize), ("across", 1)];
    let way = node
        .need_arg(0, "`along` or `across`: how its creases run to the flutes")
        .and_then(|f| f.choice(&ways));
    let drawn = node
        .need_prop("drawn", "the distance of its creases as drawn")
        .and_then(|f| positive(&f));
    let Some(of_inside) = node.need_prop("inside", "the clear width between its walls") else {
        return;
    };
    let inside = reading(&of_inside, m);
    let outside = node
        .prop("outside")
        .and_then(|f| Some((reading(&f, m)?, f)));
    if let (None, Some((_, f))) = (inside, outside.as_ref())
        && of_inside.text().trim().is_empty()
    {
        f.error(
            "missing",
            "the outside was measured, the inside was not",
            Some("measure both on the same channel, or leave both empty".into()),
        );
    }
    let (Some(way), Some(drawn), Some(inside)) = (way, drawn, inside) else {
        return;
    };
    if let Some((b, f)) = &outside
        && *b <= inside
    {
        f.error(
            "not-larger",
            "over the walls must be more than between them",
            Some("check whether the two readings changed places".into()),
        );
        return;
    }
    m.readings.channels[way].push(Channel {
        drawn,
        inside,
        outside: outside.map(|(b, _)| b),
    });
    m.places[way + 1].push(of_inside.place());
}

fn gauge(node: &Node<'_>, m: &mut Measurements) {
    node.takes(0, &["hole", "piece"]);
    node.childless();
    let (Some(of_hole), Some(of_piece)) = (
        node.need_prop("hole", "width of the hole"),
        node.need_prop("piece", "width of what fell out of it"),
    ) else {
        return;
    };
    let (hole, slug) = (reading(&of_hole, m), reading(&of_piece, m));
    match (hole, slug) {
        (Some(hole), Some(slug)) if hole.to_mm() + SLACK_MM >= slug.to_mm() => {
            m.readings.gauges.push(Gauge { hole, slug });
            m.places[3].push(of_hole.place());
        }
        (Some(_), Some(_)) => of_piece.error(
            "not-larger",
            "the hole must be as wide as the piece that fell out of it, or wider",
            Some("check whether the two readings changed places".into()),
        ),
        (Some(_), None) if of_piece.text().trim().is_empty() => half(&of_piece),
        (None, Some(_)) if of_hole.text().trim().is_empty() => half(&of_hole),
        _ => {}
    }
}

fn half(empty: &Field<'_>) {
    empty.error(
        "missing",
        "only one of hole and piece was measured",
        Some("measure both the same way round, or leave both empty".into()),
    );
}

/// A reading; `None` where it was not taken, or is wrong and reported.
fn reading(f: &Field<'_>, m: &mut Measurements) -> Option<Length> {
    if f.text().trim().is_empty() {
        m.empty += 1;
        return None;
    }
    positive(f)
}

fn positive(f: &Field<'_>) -> Option<Length> {
    let l = length(f)?;
    if l.to_mm() > 0.0 && l <= LONGEST {
        return Some(l);
    }
    let message = format!("a reading lies above 0 and up to {} mm", LONGEST.to_mm());
    f.error("out-of-range", message, None);
    None
}

fn length(f: &Field<'_>) -> Option<Length> {
    let text = f.text();
    let (place, exact) = f.place_exact();
    match parse_quantity(&text) {
        Ok(q) if q.dim == Dim::LENGTH => Some(Length::mm(q.value)),
        Ok(q) => {
            let message = format!("this is {}, but a length is needed here", q.dim.words());
            let forgotten = q.dim == Dim::NUMBER;
            let help = format!("write the unit: \"{text}mm\", or \"{text}in\" for inches");
            f.error("wrong-unit", message, forgotten.then_some(help));
            None
        }
        Err(e) => {
            f.report(place_error(&place, exact, &e));
            None
        }
    }
}

/// A measurements file for a coupon, every reading still empty.
#[must_use]
pub fn blank_measurements(coupon: &Coupon) -> String {
    let mut out = String::new();
    let _ = write!(
        out,
        "// Fill in what you read, with its unit, such as \"4.05mm\" or \"0.159in\".\n\
         // What you leave empty counts as not taken. Then: boxwright learn measurements.kdl\n\
         measurements {{\n    board {}\n",
        quoted(&coupon.board)
    );
    if let Some(machine) = &coupon.machine {
        let _ = writeln!(out, "    machine {}", quoted(machine));
    }
    let _ = write!(
        out,
        "    crease {}\n    when \"\"          // the day, as you write it\n    note \"\"\n    \
         step \"{}mm\"    // the smallest step your calliper shows\n\n    \
         // Thickness of the uncrushed board, one reading on each of {} strips, jaws just touching.\n    caliper",
        quoted(coupon.way.word()),
        trimmed(USUAL_STEP.to_mm(), 3),
        2 * coupon.strips,
    );
    for _ in 0..2 * coupon.strips {
        out.push_str(" \"\"");
    }
    out.push('\n');
    let drawn = trimmed(coupon.span.to_mm(), 3);
    for (word, what) in [
        ("along", "Strips whose creases run along the flutes"),
        ("across", "Strips whose creases run across the flutes"),
    ] {
        let _ = write!(
            out,
            "\n    // {what}, folded to a channel: between the walls, and over them.\n"
        );
        for _ in 0..coupon.strips {
            let _ = writeln!(
                out,
                "    channel \"{word}\" drawn=\"{drawn}mm\" inside=\"\" outside=\"\""
            );
        }
    }
    out.push_str(
        "\n    // The square hole of each strip, and the piece that fell out of it, measured the same way \
         round.\n",
    );
    for _ in 0..2 * coupon.strips {
        out.push_str("    gauge hole=\"\" piece=\"\"\n");
    }
    out.push_str("}\n");
    out
}

/// A text in quotes, as KDL reads it.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
