//! Job files read as the page edits them, and edited so that comments and layout stay.
//!
//! Reading is lenient: a job with a mistake in it can be opened and put right in the page. Editing
//! changes only the values that differ from what the file says; everything else keeps its bytes.

mod edit;
mod quote;

use std::collections::BTreeMap;

use boxwright::diag::line_column;
use boxwright::job::parse_job;
use boxwright::source::Text;
use kdl::{KdlDocument, KdlEntry, KdlNode, KdlValue};

use crate::refuse::Refuse;
use crate::wire::{AxisDepth, Crease, Drawing, FieldError, Inside, State};

pub use edit::{edited, written};
pub use quote::quoted;

fn parsed(text: &str) -> Result<KdlDocument, Refuse> {
    let source = Text {
        name: String::new(),
        text: text.to_owned(),
    };
    // The library's reader refuses what is too long or too deep before it is parsed.
    if let Err(diags) = boxwright::read::parse(&source).map(|_| ()) {
        let first = diags.first();
        let at = first.and_then(|d| d.place.as_ref()).map_or(0, |p| p.start);
        let (line, column) = line_column(text, at);
        let words = first.map_or("this cannot be read", |d| d.message.as_str());
        return Err(Refuse::conflict(
            "not-a-job",
            format!("line {line}, column {column}: {words}"),
        )
        .help("put it right in a text editor"));
    }
    KdlDocument::parse_v2(text)
        .map_err(|_| Refuse::conflict("not-a-job", "this file cannot be read"))
}

fn job_of(doc: &KdlDocument) -> Option<&KdlNode> {
    doc.nodes().iter().find(|n| n.name().value() == "job")
}

fn no_job() -> Refuse {
    Refuse::conflict("not-a-job", "this file holds no job")
        .help("a job file begins with: job \"name\" { ... }")
}

/// Title and style of a job, for lists; `None` for a file that holds no job.
#[must_use]
pub fn heading(text: &str) -> Option<(String, String)> {
    if !text.contains("job") {
        return None;
    }
    let doc = parsed(text).ok()?;
    let job = job_of(&doc)?;
    let style = child(job, "style").and_then(|n| arg(n, 0)).map(words);
    Some((
        arg(job, 0).map(words).unwrap_or_default(),
        style.unwrap_or_default(),
    ))
}

/// What the library says is wrong in a job file, each with its line.
#[must_use]
pub fn messages(name: &str, text: &str) -> Vec<FieldError> {
    let source = Text {
        name: name.to_owned(),
        text: text.to_owned(),
    };
    let Err(diags) = parse_job(&source) else {
        return Vec::new();
    };
    diags
        .into_iter()
        .map(|d| {
            let at = d.place.as_ref().map_or(0, |p| p.start);
            let (line, column) = line_column(text, at);
            FieldError {
                field: String::new(),
                code: d.code.to_owned(),
                message: format!("line {line}, column {column}: {}", d.message),
                message_in: None,
                help: d.help,
                start: 0,
                end: 0,
            }
        })
        .collect()
}

/// A job file as the page edits it.
///
/// # Errors
/// `not-a-job`.
pub fn state(text: &str) -> Result<State, Refuse> {
    let doc = parsed(text)?;
    job_of(&doc).map(read).ok_or_else(no_job)
}

fn children(node: &KdlNode) -> &[KdlNode] {
    node.children().map_or(&[], KdlDocument::nodes)
}

fn child<'a>(node: &'a KdlNode, name: &str) -> Option<&'a KdlNode> {
    children(node).iter().find(|n| n.name().value() == name)
}

fn arg(node: &KdlNode, index: usize) -> Option<&KdlEntry> {
    node.entries()
        .iter()
        .filter(|e| e.name().is_none())
        .nth(index)
}

/// The last one counts, as KDL says.
fn prop<'a>(node: &'a KdlNode, key: &str) -> Option<&'a KdlEntry> {
    let named = |e: &&KdlEntry| e.name().is_some_and(|n| n.value() == key);
    node.entries().iter().rfind(named)
}

/// A value as text: quoted text as it is, numbers as written.
fn words(entry: &KdlEntry) -> String {
    match entry.value() {
        KdlValue::String(s) => s.clone(),
        other => entry
            .format()
            .map_or_else(|| other.to_string(), |f| f.value_repr.clone()),
    }
}

fn read(job: &KdlNode) -> State {
    let first = |name: &str| child(job, name).and_then(|n| arg(n, 0)).map(words);
    let pair = |name: &str| {
        let node = child(job, name)?;
        Some([arg(node, 0).map(words)?, arg(node, 1).map(words)?])
    };
    let of = |node: &str, key: &str| {
        child(job, node)
            .and_then(|n| prop(n, key))
            .map(words)
            .unwrap_or_default()
    };
    let all = |kind: &str| {
        let own = children(job).iter().filter(|n| n.name().value() == kind);
        own.map(alone).collect()
    };
    let mut set = BTreeMap::new();
    for node in children(job).iter().filter(|n| n.name().value() == "set") {
        if let (Some(name), Some(value)) = (arg(node, 0), arg(node, 1)) {
            set.insert(words(name), words(value));
        }
    }
    State {
        title: arg(job, 0).map(words).unwrap_or_default(),
        style: first("style").unwrap_or_default(),
        inside: Inside {
            length: of("inside", "length"),
            width: of("inside", "width"),
            depth: of("inside", "depth"),
        },
        board: first("board").unwrap_or_default(),
        crease: first("crease")
            .and_then(|w| Crease::of_word(&w))
            .unwrap_or(Crease::Rule),
        set,
        caliper: first("caliper"),
        axis_depth: child(job, "crease").and_then(axis_depth),
        sheet: pair("sheet"),
        bed: pair("bed"),
        no_measured: false,
        quantity: first("quantity")
            .and_then(|q| q.parse().ok())
            .filter(|q| *q > 0)
            .unwrap_or(1),
        drawing: Drawing {
            owner: of("drawing", "owner"),
            creator: of("drawing", "creator"),
            approved: of("drawing", "approved"),
            number: of("drawing", "number"),
            date: of("drawing", "date"),
        },
        job: None,
        board_files: children(job)
            .iter()
            .filter(|n| n.name().value() == "board-file")
            .filter_map(|n| arg(n, 0).map(words))
            .collect(),
        fitments: all(FITMENT),
        contents: all(CONTENTS),
        splits: all(SPLIT),
        marks: all(MARK),
    }
}

const CONTENTS: &str = "contents";
const FITMENT: &str = "fitment";
const MARK: &str = "mark";
const SPLIT: &str = "split";

/// A node as it is written, without what stands before and after it.
fn alone(node: &KdlNode) -> String {
    let mut node = node.clone();
    let mut format = node.format().cloned().unwrap_or_default();
    format.leading.clear();
    format.before_terminator.clear();
    format.terminator.clear();
    node.set_format(format);
    node.to_string()
}

fn axis_depth(crease: &KdlNode) -> Option<AxisDepth> {
    let share = |key: &str| {
        let text = prop(crease, key).map(words)?;
        let q = boxwright::expr::parse_quantity(&text).ok()?;
        (q.dim == boxwright::units::Dim::NUMBER).then_some(q.value)
    };
    let both = share("depth");
    Some(AxisDepth {
        along: share("depth-along").or(both)?,
        across: share("depth-across").or(both)?,
    })
}

#[cfg(test)]
mod odd;
#[cfg(test)]
mod tests;
