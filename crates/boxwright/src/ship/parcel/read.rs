//! A file of tariffs, read.

use super::{Class, Divisor, Rounding, Tariff};
use crate::diag::{Diag, Outcome};
use crate::read::{Bounds, Field, Node, measure, parse};
use crate::ship::figure::origin;
use crate::source::Text;
use crate::units::{Dim, Length, Mass, Volume};

const MASS: Bounds = (0.001, 100_000.0);
const STEP_MASS: Bounds = (1e-6, 1000.0);
const SIDE: Bounds = (1.0, 100_000.0);
const STEP: Bounds = (0.01, 1000.0);
const PRICE: Bounds = (0.0, 1e9);
/// In mm3 for each kg, and mm3.
const DIVISOR: Bounds = (1e3, 1e12);
const VOLUME: Bounds = (1.0, 1e15);
const MOST_TABLES: usize = 100;
const MOST_CLASSES: usize = 1000;
const KEYS: [&str; 10] = [
    "price",
    "each-kg",
    "charged",
    "mass",
    "longest",
    "second",
    "third",
    "length-plus-girth",
    "volume",
    "from",
];
const PARTS: [&str; 5] = ["title", "divisor", "sides", "mass", "class"];
const ROUNDINGS: [(&str, Rounding); 3] = [
    ("none", Rounding::None),
    ("nearest", Rounding::Nearest),
    ("up", Rounding::Up),
];
/// Cubic units by their symbols, in mm3.
const CUBES: [(&str, f64); 5] = [
    ("cm3", 1e3),
    ("dm3", 1e6),
    ("m3", 1e9),
    ("in3", 16_387.064),
    ("ft3", 28_316_846.592),
];

/// Reads a file of tariffs.
///
/// # Errors
/// Every message about it: unknown words, figures missing, out of bounds or without origin.
pub fn read_parcels(text: &Text) -> Outcome<Vec<Tariff>> {
    let doc = parse(text)?;
    let mut all: Vec<Tariff> = Vec::new();
    for node in doc.nodes() {
        if node.name() != "parcels" {
            node.unknown("a file of parcel classes", ["parcels"]);
            continue;
        }
        let Some(tariff) = tariff(node) else { continue };
        if all.iter().any(|t| t.name == tariff.name) {
            let message = format!("there are two tables `{}`", tariff.name);
            node.error("given-twice", message, None);
        }
        all.push(tariff);
        if all.len() > MOST_TABLES {
            let message = format!("a file holds at most {MOST_TABLES} tables");
            node.error("too-many", message, None);
            break;
        }
    }
    if doc.nodes().next().is_none() {
        let empty = Diag::error("empty", "this file holds no parcel classes");
        doc.report(
            empty
                .at(doc.top())
                .help("begin with: parcels \"name\" { ... }"),
        );
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}

/// Reads a divisor: cubic centimetres for each kilogram such as `5000`, or with its unit, such as
/// `139in3/lb`. `None` when it is none.
#[must_use]
pub fn divisor(text: &str) -> Option<Divisor> {
    let text = text.trim();
    if let Ok(bare) = text.parse::<f64>() {
        return sound(bare * 1e3, DIVISOR).map(Divisor);
    }
    let (volume, mass) = text.split_once('/')?;
    let each = match mass.trim() {
        "kg" => 1.0,
        "lb" => Mass::lb(1.0).to_kg(),
        _ => return None,
    };
    sound(cubes(volume)? / each, DIVISOR).map(Divisor)
}

/// A volume in mm3.
fn cubes(text: &str) -> Option<f64> {
    let text = text.trim();
    let (symbol, size) = CUBES.iter().find(|(symbol, _)| text.ends_with(symbol))?;
    let number = text.strip_suffix(symbol)?.trim();
    number.parse::<f64>().ok().map(|n| n * size)
}

fn sound(value: f64, (least, most): Bounds) -> Option<f64> {
    (least..=most).contains(&value).then_some(value)
}

fn tariff(node: Node<'_>) -> Option<Tariff> {
    node.takes(1, &[]);
    for c in node.children() {
        if !PARTS.contains(&c.name()) {
            c.unknown("a table of parcel classes", PARTS);
        }
    }
    for name in &PARTS[..4] {
        for twice in node.children().filter(|c| c.name() == *name).skip(1) {
            let message = format!("`{name}` is given twice");
            twice.error("given-twice", message, Some("keep one of them".into()));
        }
    }
    let name = node.need_arg(0, "a name").and_then(|f| f.word());
    let title = node
        .child("title")
        .and_then(|n| n.need_arg(0, "what the table is")?.word());
    let mut from = Vec::new();
    let divisor = node.child("divisor").and_then(|n| {
        n.takes(1, &["from"]);
        n.childless();
        from.extend(origin(n));
        let f = n.need_arg(0, "a volume for each unit of mass, such as \"5000cm3/kg\"")?;
        let read = divisor(&f.text());
        if read.is_none() {
            f.error(
                "wrong-kind",
                "a volume for each unit of mass is needed here",
                Some("such as \"5000cm3/kg\" or \"139in3/lb\"".into()),
            );
        }
        read
    });
    let sides = rounding(node, "sides", Dim::LENGTH, STEP, &mut from);
    let masses = rounding(node, "mass", Dim::MASS, STEP_MASS, &mut from);
    let mut classes: Vec<Class> = Vec::new();
    for c in node.children().filter(|c| c.name() == "class") {
        let Some(class) = class(c) else { continue };
        if classes.iter().any(|d| d.name == class.name) {
            let message = format!("there are two classes `{}`", class.name);
            c.error("given-twice", message, None);
        }
        classes.push(class);
        if classes.len() > MOST_CLASSES {
            let message = format!("a table holds at most {MOST_CLASSES} classes");
            c.error("too-many", message, None);
            break;
        }
    }
    if node.children().all(|c| c.name() != "class") {
        node.error("missing", "this table holds no class", None);
    }
    let name = name?;
    Some(Tariff {
        name: name.to_owned(),
        title: title.unwrap_or(name).to_owned(),
        divisor,
        sides: (sides.0, Length::mm(sides.1)),
        masses: (masses.0, Mass::kg(masses.1)),
        classes,
        from,
    })
}

/// How a figure is rounded, and its step in base units.
fn rounding(
    node: Node<'_>,
    name: &str,
    dim: Dim,
    bounds: Bounds,
    from: &mut Vec<String>,
) -> (Rounding, f64) {
    let Some(n) = node.child(name) else {
        return (Rounding::None, 1.0);
    };
    n.takes(0, &["round", "to", "from"]);
    n.childless();
    from.extend(origin(n));
    let way = n
        .need_prop("round", "`none`, `nearest` or `up`")
        .and_then(|f| f.choice(&ROUNDINGS))
        .unwrap_or_default();
    if way == Rounding::None {
        return (way, 1.0);
    }
    let step = n.need_prop("to", "a step, such as \"1cm\"");
    (
        way,
        step.and_then(|f| measure(f, dim, bounds)).unwrap_or(1.0),
    )
}

fn class(node: Node<'_>) -> Option<Class> {
    node.takes(1, &KEYS);
    node.childless();
    let name = node.need_arg(0, "a name").and_then(|f| f.word());
    let from = origin(node);
    let price = node
        .need_prop("price", "what a parcel costs")
        .and_then(|f| measure(f, Dim::NUMBER, PRICE));
    let mut good = true;
    let mut one = |key: &str, dim: Dim, bounds: Bounds| {
        let value = measure(node.prop(key)?, dim, bounds);
        good &= value.is_some();
        value
    };
    let each_kg = one("each-kg", Dim::NUMBER, PRICE).unwrap_or(0.0);
    let charged = one("charged", Dim::MASS, MASS).map(Mass::kg);
    let mass = one("mass", Dim::MASS, MASS).map(Mass::kg);
    let sides = ["longest", "second", "third"].map(|k| one(k, Dim::LENGTH, SIDE).map(Length::mm));
    let girth = one("length-plus-girth", Dim::LENGTH, SIDE).map(Length::mm);
    let volume = match node.prop("volume") {
        Some(f) => Some(volume(f)?),
        None => None,
    };
    good.then_some(())?;
    Some(Class {
        name: name?.to_owned(),
        price: price?,
        each_kg,
        charged,
        mass,
        sides,
        girth,
        volume,
        from: from?,
    })
}

fn volume(f: Field<'_>) -> Option<Volume> {
    let read = cubes(&f.text()).and_then(|v| sound(v, VOLUME));
    if read.is_none() {
        f.error(
            "wrong-kind",
            "a volume is needed here",
            Some("such as \"0.5m3\", \"60dm3\" or \"3ft3\"".into()),
        );
    }
    read.map(Volume::mm3)
}
