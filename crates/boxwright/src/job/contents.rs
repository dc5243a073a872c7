//! What a job sends in its case: things with a mass.

use crate::diag::{Diag, Outcome, Place};
use crate::read::{Bounds, Node, measure, parse, whole};
use crate::source::Text;
use crate::units::{Dim, Mass};

/// More kinds of thing than this are refused.
pub const MOST_CONTENTS: usize = 100;

/// Mass of one thing, in kg.
const MASS: Bounds = (1e-6, 20_000.0);
const COUNT: Bounds = (1.0, 1_000_000.0);
/// How hard a thing may be stopped, in times its own weight.
const FRAGILE: Bounds = (1.0, 10_000.0);

/// Something that is sent in the case.
#[derive(Clone, Debug, PartialEq)]
pub struct Content {
    /// What it is called.
    pub name: String,
    /// Where it is written.
    pub place: Place,
    /// Mass of one.
    pub mass: Mass,
    /// How many of it one case holds.
    pub count: u32,
    /// The hardest stop it stands, in times its own weight (g); `None` when nothing is known.
    pub fragile: Option<f64>,
}

impl Content {
    /// Mass of all of it.
    #[must_use]
    pub fn whole(&self) -> Mass {
        self.mass * f64::from(self.count)
    }
}

/// Reads one `contents`.
pub(super) fn content(node: &Node<'_>) -> Option<Content> {
    node.takes(1, &["mass", "count", "fragile"]);
    node.childless();
    let name = node
        .need_arg(0, "a name, such as \"mantel clock\"")
        .and_then(|f| f.word().map(|w| (w.trim().to_owned(), f.place())));
    let mass = node
        .need_prop("mass", "the mass of one, such as \"4.1kg\"")
        .and_then(|f| measure(f, Dim::MASS, MASS));
    let count = match node.prop("count") {
        Some(f) => whole(f, COUNT),
        None => Some(1),
    };
    let fragile = match node.prop("fragile") {
        Some(f) => measure(f, Dim::NUMBER, FRAGILE).map(Some),
        None => Some(None),
    };
    let (name, place) = name?;
    if name.is_empty() {
        node.error("missing", "`contents` needs a name that can be read", None);
        return None;
    }
    Some(Content {
        name,
        place,
        mass: Mass::kg(mass?),
        count: count?,
        fragile: fragile?,
    })
}

/// Reports contents too many.
pub(super) fn not_too_many(node: &Node<'_>, all: &[Content]) {
    if let Some(c) = all.get(MOST_CONTENTS) {
        let message = format!("a job names at most {MOST_CONTENTS} kinds of contents");
        let diag = Diag::error("too-many", message).at(c.place.clone());
        node.report(diag.help("put small things together under one name, with the mass of all"));
    }
}

/// Reads contents given outside any job file: a text of `contents` nodes.
///
/// # Errors
/// Every message found.
pub fn outside_contents(text: &Text) -> Outcome<Vec<Content>> {
    let doc = parse(text)?;
    let mut all = Vec::new();
    let mut last = None;
    for node in doc.nodes() {
        if node.name() == "contents" {
            all.extend(content(&node));
            last = Some(node);
        } else {
            node.unknown("this", ["contents"]);
        }
    }
    if let Some(node) = last {
        not_too_many(&node, &all);
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}
