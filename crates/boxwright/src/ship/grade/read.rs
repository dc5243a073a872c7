//! A file of grades, read.

use super::{Class, Grades, Layers};
use crate::diag::{Diag, Outcome};
use crate::read::{Bounds, Node, measure, parse};
use crate::source::Text;
use crate::units::{Dim, ForcePerLength, Grammage, Length, Mass, Pressure};

const MASS: Bounds = (0.001, 100_000.0);
const SIZE: Bounds = (1.0, 1_000_000.0);
const BURST: Bounds = (0.001, 1000.0);
const PUNCTURE: Bounds = (0.001, 10_000.0);
const FACINGS: Bounds = (1e-9, 0.01);
const ECT: Bounds = (0.01, 1000.0);
const MOST_TABLES: usize = 100;
const MOST_CLASSES: usize = 1000;
/// One gram per square metre in kilograms and millimetres.
const GRAMMAGE_BASE: f64 = 1e-9;
const KEYS: [&str; 8] = [
    "wall", "mass", "size", "burst", "puncture", "facings", "ect", "from",
];
const WALLS: [(&str, Layers); 3] = [
    ("single", Layers::Single),
    ("double", Layers::Double),
    ("triple", Layers::Triple),
];

/// Reads a file of grades.
///
/// # Errors
/// Every message about it: unknown words, figures missing, out of bounds or without origin, classes
/// that allow less than the one before.
pub fn read_grades(text: &Text) -> Outcome<Vec<Grades>> {
    let doc = parse(text)?;
    let mut all: Vec<Grades> = Vec::new();
    for node in doc.nodes() {
        if node.name() != "grades" {
            node.unknown("a file of grades", ["grades"]);
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
        let empty = Diag::error("empty", "this file holds no grades");
        doc.report(
            empty
                .at(doc.top())
                .help("begin with: grades \"name\" { ... }"),
        );
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}

fn table(node: Node<'_>) -> Option<Grades> {
    node.takes(1, &[]);
    let name = node.need_arg(0, "a name").and_then(|f| f.word());
    let mut title = None;
    let mut from = None;
    for c in node.children() {
        match c.name() {
            "title" | "from" => {
                c.takes(1, &[]);
                c.childless();
                let into = if c.name() == "title" {
                    &mut title
                } else {
                    &mut from
                };
                if into.is_some() {
                    let message = format!("`{}` is given twice", c.name());
                    c.error("given-twice", message, None);
                }
                *into = c.need_arg(0, "words").and_then(|f| f.word());
                if c.name() == "from" {
                    crate::board::standing(c.arg(0)?);
                }
            }
            "class" => {}
            _ => c.unknown("a table of grades", ["title", "from", "class"]),
        }
    }
    let mut classes: Vec<Class> = Vec::new();
    for c in node.children().filter(|c| c.name() == "class") {
        let Some(class) = class(c, from) else {
            continue;
        };
        if classes.iter().any(|d| d.name == class.name) {
            let message = format!("there are two classes `{}`", class.name);
            c.error("given-twice", message, None);
        }
        let before = classes.iter().rfind(|d| d.wall == class.wall);
        if before.is_some_and(|b| less(b.mass, class.mass) || less(b.size, class.size)) {
            c.error(
                "wrong-order",
                "this class allows less than the one before",
                Some("put the classes of one wall in order, least first".into()),
            );
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
    Some(Grades {
        name: name.to_owned(),
        title: title.unwrap_or(name).to_owned(),
        classes,
    })
}

fn less<T: PartialOrd + Copy>(before: Option<T>, now: Option<T>) -> bool {
    before.zip(now).is_some_and(|(b, n)| n < b)
}

fn class(node: Node<'_>, table_from: Option<&str>) -> Option<Class> {
    node.takes(1, &KEYS);
    node.childless();
    let name = node.need_arg(0, "a name").and_then(|f| f.word());
    let wall = node
        .need_prop("wall", "`single`, `double` or `triple`")
        .and_then(|f| f.choice(&WALLS));
    let mut good = true;
    let mut one = |key: &str, dim: Dim, bounds: Bounds| {
        let value = measure(node.prop(key)?, dim, bounds);
        good &= value.is_some();
        value
    };
    let mass = one("mass", Dim::MASS, MASS).map(Mass::kg);
    let size = one("size", Dim::LENGTH, SIZE).map(Length::mm);
    let burst = one("burst", Dim::PRESSURE, BURST).map(Pressure::n_per_mm2);
    let puncture = one("puncture", Dim::NUMBER, PUNCTURE);
    let facings =
        one("facings", Dim::GRAMMAGE, FACINGS).map(|v| Grammage::g_per_m2(v / GRAMMAGE_BASE));
    let ect = one("ect", Dim::FORCE_PER_LENGTH, ECT).map(ForcePerLength::n_per_mm);
    let given = KEYS[1..7].iter().any(|k| node.prop(k).is_some());
    if !given {
        node.error("missing", "this class limits and asks for nothing", None);
    }
    let from = match node.prop("from") {
        Some(f) => {
            crate::board::standing(f);
            Some(f.text())
        }
        None => table_from.map(str::to_owned),
    };
    if from.is_none() {
        node.error(
            "missing",
            "where does this class come from?",
            Some("give `from` in the table or with the class".into()),
        );
    }
    (good && given).then_some(())?;
    Some(Class {
        name: name?.to_owned(),
        wall: wall?,
        mass,
        size,
        burst,
        puncture,
        facings,
        ect,
        from: from?,
    })
}
