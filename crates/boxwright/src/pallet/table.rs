//! The table of pallets, containers and trailers, each figure with its origin.

use serde::Serialize;

use super::load::Base;
use super::room::{Room, RoomKind};
use crate::board::{Origin, only_once, origin};
use crate::diag::{Diag, Outcome};
use crate::read::{Doc, Node, measure, parse, part};
use crate::source::Text;
use crate::units::{Dim, Length, Mass};

/// Something a table lists.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Listed<T> {
    /// What it is.
    pub value: T,
    /// One line that says what it is.
    pub title: String,
    /// Where each figure comes from.
    pub origins: Vec<Origin>,
}

impl<T> Listed<T> {
    /// Where a figure comes from, by the word of the file.
    #[must_use]
    pub fn origin(&self, figure: &str) -> Option<&str> {
        let found = self.origins.iter().find(|o| o.figure == figure);
        found.map(|o| o.from.as_str())
    }
}

/// What loads stand on and go into.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tables {
    /// Pallets, in the order of the files.
    pub pallets: Vec<Listed<Base>>,
    /// Containers and trailers, in the order of the files.
    pub rooms: Vec<Listed<Room>>,
}

impl Tables {
    /// The pallet with this name.
    #[must_use]
    pub fn pallet(&self, name: &str) -> Option<&Listed<Base>> {
        self.pallets.iter().find(|p| p.value.name == name)
    }
    /// The container or trailer with this name.
    #[must_use]
    pub fn room(&self, name: &str) -> Option<&Listed<Room>> {
        self.rooms.iter().find(|r| r.value.name == name)
    }
}

const KINDS: [&str; 3] = ["pallet", "container", "trailer"];
const PALLET: [&str; 5] = ["title", "plan", "height", "mass", "safe-load"];
const ROOM: [&str; 4] = ["title", "inside", "height", "load"];

// Bounds, to find slips of the pen: least and most, in mm and kg.
const PLAN: (f64, f64) = (100.0, 5000.0);
const HEIGHT: (f64, f64) = (0.0, 1000.0);
const OWN: (f64, f64) = (0.0, 500.0);
const BEARS: (f64, f64) = (1.0, 10_000.0);
const INSIDE: (f64, f64) = (500.0, 30_000.0);
const CARRIES: (f64, f64) = (1.0, 100_000.0);

/// Reads tables of loads. An entry in a later file takes the place of one with the same name.
///
/// # Errors
/// Every message of every file, when one of them is an error.
pub fn read_tables(texts: &[Text]) -> Outcome<Tables> {
    let mut tables = Tables::default();
    let mut diags = Vec::new();
    for text in texts {
        match read(text) {
            Ok(one) => {
                for p in one.pallets {
                    put(&mut tables.pallets, p, |p| &p.name);
                }
                for r in one.rooms {
                    put(&mut tables.rooms, r, |r| &r.name);
                }
            }
            Err(list) => diags.extend(list),
        }
    }
    if diags.is_empty() {
        Ok(tables)
    } else {
        Err(diags)
    }
}

fn put<T>(list: &mut Vec<Listed<T>>, new: Listed<T>, name: impl Fn(&T) -> &String) {
    match list.iter_mut().find(|o| name(&o.value) == name(&new.value)) {
        Some(old) => *old = new,
        None => list.push(new),
    }
}

fn read(text: &Text) -> Outcome<Tables> {
    let doc = parse(text)?;
    let mut tables = Tables::default();
    let mut names: Vec<String> = Vec::new();
    for node in doc.nodes() {
        if !KINDS.contains(&node.name()) {
            node.unknown("a table of loads", KINDS);
            continue;
        }
        node.takes(1, &[]);
        let Some(field) = node.need_arg(0, "a name, such as pallet \"1200x800\"") else {
            continue;
        };
        let name = field.text();
        if name.trim().is_empty() || name.len() > 60 {
            field.error("bad-name", "a name of 1 to 60 letters is needed here", None);
        } else if names.contains(&name) {
            let message = format!("`{name}` is given twice in this file");
            field.error("given-twice", message, Some("rename one of them".into()));
        }
        names.push(name.clone());
        match node.name() {
            "pallet" => tables.pallets.extend(pallet(node, name)),
            kind => {
                let kind = if kind == "container" {
                    RoomKind::Container
                } else {
                    RoomKind::Trailer
                };
                tables.rooms.extend(room(node, name, kind));
            }
        }
    }
    empty(&doc);
    doc.finish(Some(tables)).map(|(tables, _)| tables)
}

fn empty(doc: &Doc<'_>) {
    if doc.nodes().next().is_none() {
        let diag = Diag::error("missing", "this file holds no pallet, container or trailer");
        let help = "an entry begins with: pallet \"name\" {";
        doc.report(diag.at(doc.top()).help(help));
    }
}

/// Gathers origins while an entry is read.
#[derive(Default)]
struct Figures(Vec<Origin>);

fn pallet(node: Node<'_>, name: String) -> Option<Listed<Base>> {
    only_once(node, &PALLET, &[], "a pallet");
    let mut f = Figures::default();
    let title = title(node);
    let plan = f.values::<2>(node, "plan", Dim::LENGTH, PLAN);
    let height = f.values::<1>(node, "height", Dim::LENGTH, HEIGHT);
    let mass = f.values::<1>(node, "mass", Dim::MASS, OWN);
    let safe_load = f.maybe(node, "safe-load", BEARS);
    Some(Listed {
        title: title?,
        value: Base {
            name,
            plan: plan?.map(Length::mm),
            height: Length::mm(height?[0]),
            mass: Mass::kg(mass?[0]),
            safe_load: safe_load?,
        },
        origins: f.0,
    })
}

fn room(node: Node<'_>, name: String, kind: RoomKind) -> Option<Listed<Room>> {
    only_once(node, &ROOM, &[], "a room");
    let mut f = Figures::default();
    let title = title(node);
    let inside = f.values::<2>(node, "inside", Dim::LENGTH, INSIDE);
    let height = f.values::<1>(node, "height", Dim::LENGTH, INSIDE);
    let load = f.maybe(node, "load", CARRIES);
    let ([length, width], [height]) = (inside?, height?);
    Some(Listed {
        title: title?,
        value: Room {
            name,
            kind,
            inside: [length, width, height].map(Length::mm),
            load: load?,
        },
        origins: f.0,
    })
}

fn title(node: Node<'_>) -> Option<String> {
    let node = part(node, "title")?;
    node.takes(1, &[]);
    node.childless();
    node.need_arg(0, "one line of text").map(|f| f.text())
}

impl Figures {
    /// So many values of one kind under one word, with their origin.
    fn values<const N: usize>(
        &mut self,
        parent: Node<'_>,
        word: &str,
        dim: Dim,
        bounds: (f64, f64),
    ) -> Option<[f64; N]> {
        let node = part(parent, word)?;
        node.takes(N, &["from"]);
        node.childless();
        self.0.extend(origin(node, word, "measured: own pallet"));
        let mut all = [0.0; N];
        let mut whole = true;
        for (n, value) in all.iter_mut().enumerate() {
            match node
                .need_arg(n, &dim.words())
                .and_then(|v| measure(v, dim, bounds))
            {
                Some(v) => *value = v,
                None => whole = false,
            }
        }
        whole.then_some(all)
    }
    /// A mass that need not be there; `None` when it is there and wrong.
    #[allow(clippy::option_option, reason = "not there and wrong are two things")]
    fn maybe(&mut self, parent: Node<'_>, word: &str, bounds: (f64, f64)) -> Option<Option<Mass>> {
        match parent.child(word) {
            Some(_) => {
                let [kg] = self.values::<1>(parent, word, Dim::MASS, bounds)?;
                Some(Some(Mass::kg(kg)))
            }
            None => Some(None),
        }
    }
}
