//! The things file, read. Its format is in `docs/contents.md`.

use crate::diag::Outcome;
use crate::job::{LARGEST, outside_constant};
use crate::read::{Field, Node, parse};
use crate::source::Text;
use crate::units::{Dim, Length, Mass, Pressure};

use super::arrange::MOST_ITEMS;
use super::things::{Rules, SIDES, Thing, Things, Up, WRAP};

const TOP: [&str; 7] = [
    "thing",
    "drop",
    "drop-table",
    "cushion",
    "room",
    "wrap",
    "side",
];
const KEYS: [&str; 12] = [
    "length", "width", "depth", "diameter", "mass", "fragile", "up", "flat", "count", "touch",
    "wrap", "stack",
];
/// Things in one file.
pub const MOST_THINGS: usize = 1000;
/// Heaviest thing.
const HEAVIEST: f64 = 5000.0;
/// Peak accelerations that can be meant, in g: below 2 no spring helps, above 2000 none is needed.
const PEAKS: (f64, f64) = (3.0, 2000.0);
/// Cushion factors that can be meant: 1 is a cushion without loss.
const FACTORS: (f64, f64) = (1.0, 20.0);

/// Reads a things file.
///
/// # Errors
/// Every message found.
pub fn read_things(text: &Text) -> Outcome<Things> {
    let doc = parse(text)?;
    for name in TOP.iter().filter(|n| !matches!(**n, "thing" | "side")) {
        for twice in doc.nodes().filter(|c| c.name() == *name).skip(1) {
            let message = format!("`{name}` is given twice");
            twice.error("given-twice", message, Some("keep one of them".into()));
        }
    }
    let mut rules = Rules::default();
    let mut wrap = WRAP;
    for node in doc.nodes() {
        match node.name() {
            "thing" => {}
            "drop" => rules.drop = one_length(&node).or(rules.drop),
            "room" => rules.room = one_length(&node).unwrap_or(rules.room),
            "wrap" => wrap = one_length(&node).unwrap_or(wrap),
            "drop-table" => {
                node.takes(1, &[]);
                node.childless();
                let word = node
                    .need_arg(0, "the name of a table")
                    .and_then(|f| f.word());
                rules.drop_table = word.map_or(rules.drop_table, str::to_owned);
            }
            "cushion" => cushion(&node, &mut rules),
            "side" => side(&node, &mut rules),
            _ => node.unknown("a things file", TOP),
        }
    }
    let mut things: Vec<Thing> = Vec::new();
    for node in doc.nodes().filter(|n| n.name() == "thing") {
        if things.len() >= MOST_THINGS {
            let message = format!("a things file holds {MOST_THINGS} things at most");
            node.error("too-many", message, None);
            break;
        }
        let Some(thing) = thing(&node, wrap) else {
            continue;
        };
        if things.iter().any(|t| t.name == thing.name) {
            let help = "several alike are one thing with count=2".to_owned();
            let message = format!("`{}` is given twice", thing.name);
            node.error("given-twice", message, Some(help));
        }
        things.push(thing);
    }
    if !doc.nodes().any(|n| n.name() == "thing") {
        doc.report(
            crate::diag::Diag::error("empty", "this file holds no thing")
                .at(doc.top())
                .help("such as: thing \"movement\" length=\"150mm\" width=\"130mm\" depth=\"95mm\" mass=\"1.8kg\""),
        );
    }
    doc.finish(Some(Things { things, rules })).map(|(t, _)| t)
}

/// A constant in base units.
pub(super) fn measure(f: &Field<'_>, dim: Dim) -> Option<f64> {
    let (place, _) = f.place_exact();
    match outside_constant(&place, &f.text(), dim) {
        Ok(v) => Some(v),
        Err(d) => {
            f.report(*d);
            None
        }
    }
}

/// More than zero.
pub(super) fn positive(f: &Field<'_>, value: f64) -> Option<f64> {
    if value > 0.0 && value.is_finite() {
        return Some(value);
    }
    f.error("not-positive", "this must be more than zero", None);
    None
}

/// A mass that a thing may have.
pub(super) fn mass(f: &Field<'_>) -> Option<Mass> {
    let kg = positive(f, measure(f, Dim::MASS)?)?;
    if kg > HEAVIEST {
        let message = format!("a thing over {HEAVIEST} kg is beyond this program");
        f.error("too-large", message, Some("check the unit".into()));
        return None;
    }
    Some(Mass::kg(kg))
}

fn within(f: &Field<'_>, value: f64, (least, most): (f64, f64), what: &str) -> Option<f64> {
    if (least..=most).contains(&value) {
        return Some(value);
    }
    let message = format!("{what} must be from {least} to {most}");
    f.error("out-of-range", message, None);
    None
}

fn size(f: &Field<'_>) -> Option<Length> {
    let mm = positive(f, measure(f, Dim::LENGTH)?)?;
    sound_length(f, mm)
}

/// Zero or more.
fn padding(f: &Field<'_>) -> Option<Length> {
    let mm = measure(f, Dim::LENGTH)?;
    if mm < 0.0 {
        f.error("not-positive", "this cannot be less than zero", None);
        return None;
    }
    sound_length(f, mm)
}

fn sound_length(f: &Field<'_>, mm: f64) -> Option<Length> {
    if mm > LARGEST.to_mm() {
        let message = "a length over 20 m is beyond this program";
        f.error("too-large", message, Some("check the unit".into()));
        return None;
    }
    Some(Length::mm(mm))
}

fn one_length(node: &Node<'_>) -> Option<Length> {
    node.takes(1, &[]);
    node.childless();
    padding(&node.need_arg(0, "a length")?)
}

fn cushion(node: &Node<'_>, rules: &mut Rules) {
    node.takes(0, &["factor", "stress", "stress-least"]);
    node.childless();
    if let Some(f) = node.prop("factor") {
        let value = measure(&f, Dim::NUMBER);
        let within = value.and_then(|v| within(&f, v, FACTORS, "a cushion factor"));
        rules.factor = within.or(rules.factor);
    }
    let stress = |key: &str| {
        let f = node.prop(key)?;
        let value = positive(&f, measure(&f, Dim::PRESSURE)?)?;
        Some(Pressure::n_per_mm2(value))
    };
    rules.stress = [stress("stress-least"), stress("stress")];
    if let [Some(least), Some(most)] = rules.stress
        && least >= most
    {
        let message = "`stress-least` must be less than `stress`";
        node.error("out-of-range", message, None);
    }
}

fn side(node: &Node<'_>, rules: &mut Rules) {
    node.takes(2, &[]);
    node.childless();
    let mut words = Vec::new();
    for (axis, ends) in SIDES.iter().enumerate() {
        for (end, word) in ends.iter().enumerate() {
            words.push((*word, (axis, end)));
        }
    }
    let which = node.need_arg(0, "a side").and_then(|f| f.choice(&words));
    let thick = node.need_arg(1, "a length").and_then(|f| padding(&f));
    if let (Some((axis, end)), Some(thick)) = (which, thick) {
        if rules.sides[axis][end].is_some() {
            node.error("given-twice", "this side is given twice", None);
        }
        rules.sides[axis][end] = Some(thick);
    }
}

fn thing(node: &Node<'_>, wrap: Length) -> Option<Thing> {
    node.takes(1, &KEYS);
    node.childless();
    let name = node.need_arg(0, "a name").and_then(|f| name(&f));
    let round = node.prop("diameter").is_some();
    let wanted = |key: &str| {
        let f = node.need_prop(key, "a length")?;
        size(&f)
    };
    let sizes = if round {
        for key in ["width", "depth"] {
            if let Some(f) = node.prop(key) {
                let message = format!("a thing with a `diameter` has no `{key}`");
                let help = "a cylinder has diameter and length";
                f.error("given-twice", message, Some(help.into()));
            }
        }
        let (across, along) = (wanted("diameter"), wanted("length"));
        across.zip(along).map(|(d, l)| [d, d, l])
    } else {
        let [l, w, d] = ["length", "width", "depth"].map(wanted);
        l.zip(w).zip(d).map(|((l, w), d)| [l, w, d])
    };
    let mass = node.need_prop("mass", "a mass").and_then(|f| mass(&f));
    let fragile = match node.prop("fragile") {
        None => Some(None),
        Some(f) => measure(&f, Dim::NUMBER)
            .and_then(|g| within(&f, g, PEAKS, "the permitted peak in g"))
            .map(Some),
    };
    let flag = |key: &str, usual: bool| match node.prop(key) {
        None => Some(usual),
        Some(f) => f.flag(),
    };
    let (touch, stack) = (flag("touch", true), flag("stack", true));
    let wrap = match node.prop("wrap") {
        Some(f) => padding(&f),
        None => Some(if touch? { Length::ZERO } else { wrap }),
    };
    let count = node.prop("count").map_or(Some(1), |f| count(&f));
    let up = up(node, sizes, round);
    Some(Thing {
        name: name?,
        place: node.arg(0)?.place(),
        size: sizes?,
        round,
        mass: mass?,
        fragile: fragile?,
        up: up?,
        count: count?,
        wrap: wrap?,
        stack: stack?,
    })
}

fn name(f: &Field<'_>) -> Option<String> {
    let word = f.word()?;
    let good = !word.trim().is_empty() && word.chars().count() <= 80;
    if !good || word.chars().any(char::is_control) {
        let message = "a name has 1 to 80 characters, on one line";
        f.error("bad-name", message, None);
        return None;
    }
    Some(word.to_owned())
}

fn count(f: &Field<'_>) -> Option<u32> {
    match f.text().parse::<u32>() {
        Ok(n) if n > 0 && n as usize <= MOST_ITEMS => Some(n),
        Ok(n) if n > 0 => {
            let message = format!("{MOST_ITEMS} things in one case are the most that are arranged");
            f.error(
                "too-many",
                message,
                Some("split them over several cases".into()),
            );
            None
        }
        _ => {
            f.error(
                "wrong-kind",
                "a whole number of things is needed here",
                None,
            );
            None
        }
    }
}

/// Which way up, of `up` and `flat`.
fn up(node: &Node<'_>, size: Option<[Length; 3]>, round: bool) -> Option<Up> {
    let flat = match node.prop("flat") {
        None => None,
        Some(f) => Some(f.flag()?),
    };
    if let (Some(f), Some(_)) = (node.prop("up"), flat) {
        let message = "`up` and `flat` both say which way up it goes";
        f.error("given-twice", message, Some("keep one of them".into()));
        return None;
    }
    if let Some(f) = node.prop("up") {
        let words: &[(&str, Up)] = if round {
            &[
                ("length", Up::Axis(2)),
                ("diameter", Up::Lying(2)),
                ("any", Up::Any),
            ]
        } else {
            &[
                ("length", Up::Axis(0)),
                ("width", Up::Axis(1)),
                ("depth", Up::Axis(2)),
                ("any", Up::Any),
            ]
        };
        return f.choice(words);
    }
    let (Some(flat), Some(size)) = (flat, size) else {
        return Some(Up::Any);
    };
    let thin = (0..3).fold(2, |best, a| if size[a] < size[best] { a } else { best });
    Some(if flat {
        Up::Axis(thin)
    } else {
        Up::Lying(thin)
    })
}
