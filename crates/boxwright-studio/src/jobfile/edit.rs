//! Putting values into a job file.

use std::fmt::Write as _;

use kdl::{KdlEntry, KdlEntryFormat, KdlIdentifier, KdlNode, KdlNodeFormat, KdlValue};

use super::quote::{like, quoted};
use super::{CONTENTS, FITMENT, MARK, SPLIT, alone, no_job, parsed, read, words};
use crate::refuse::Refuse;
use crate::wire::State;

/// The file with the values of `state`: only what differs is changed.
///
/// # Errors
/// `not-a-job`, or `keeps-no-layout` for a file that cannot be written back as it is.
pub fn edited(text: &str, state: &State) -> Result<String, Refuse> {
    // The reader forgets blanks after the last node.
    let (body, blanks) = text.split_at(text.trim_end_matches([' ', '\t']).len());
    let mut doc = parsed(body)?;
    if doc.to_string() != body {
        return Err(Refuse::conflict(
            "keeps-no-layout",
            "this file cannot be changed without losing its layout; it is left as it is",
        )
        .help("change it in a text editor, or save under another name"));
    }
    let job = doc
        .nodes_mut()
        .iter_mut()
        .find(|n| n.name().value() == "job")
        .ok_or_else(no_job)?;
    let was = read(job);
    apply(job, &was, state)?;
    Ok(doc.to_string() + blanks)
}

fn apply(job: &mut KdlNode, was: &State, now: &State) -> Result<(), Refuse> {
    if was.title != now.title {
        set_arg(job, 0, &now.title);
    }
    single(job, "style", &was.style, &now.style);
    let sizes = ["length", "width", "depth"];
    for ((key, old), new) in sizes.iter().zip(was.inside.all()).zip(now.inside.all()) {
        keyed(job, "inside", key, old, new);
    }
    single(job, "board", &was.board, &now.board);
    if was.crease != now.crease {
        put_arg(job, "crease", 0, now.crease.word());
    }
    if was.axis_depth != now.axis_depth {
        axis_depth(job, was, now);
    }
    if was.caliper != now.caliper {
        match &now.caliper {
            Some(t) => put_arg(job, "caliper", 0, t),
            None => remove(job, |n| n.name().value() == "caliper"),
        }
    }
    pair(job, "sheet", &was.sheet, &now.sheet);
    pair(job, "bed", &was.bed, &now.bed);
    if was.quantity != now.quantity {
        let node = child_or_new(job, "quantity");
        set_arg_written(
            node,
            0,
            KdlValue::Integer(now.quantity.into()),
            now.quantity.to_string(),
        );
    }
    settings(job, was, now);
    for (kind, old, new) in [
        (FITMENT, &was.fitments, &now.fitments),
        (CONTENTS, &was.contents, &now.contents),
        (SPLIT, &was.splits, &now.splits),
        (MARK, &was.marks, &now.marks),
    ] {
        if old != new {
            whole(job, kind, new)?;
        }
    }
    let facts = |s: &State| {
        let d = &s.drawing;
        [&d.owner, &d.creator, &d.approved, &d.number, &d.date].map(Clone::clone)
    };
    let keys = ["owner", "creator", "approved", "number", "date"];
    for ((key, old), new) in keys.iter().zip(facts(was)).zip(facts(now)) {
        keyed(job, "drawing", key, &old, &new);
    }
    Ok(())
}

/// Puts other nodes of a kind that the page keeps as they are written in the place of those there.
fn whole(job: &mut KdlNode, kind: &str, texts: &[String]) -> Result<(), Refuse> {
    let new = nodes(kind, texts)?;
    remove(job, |n| n.name().value() == kind);
    for mut node in new {
        let place = new_child(job, kind);
        let mut format = place.format().cloned().unwrap_or_default();
        if let Some(own) = node.format() {
            format.before_children.clone_from(&own.before_children);
        }
        // The reader forgets a blank between two closing braces.
        if node.children().is_some() && format.terminator.is_empty() {
            format.before_terminator.clear();
        }
        node.set_format(format);
        *place = node;
    }
    Ok(())
}

/// The fitments, contents, splits or marks of a state, each of which must be one such node and nothing else.
fn nodes(kind: &str, texts: &[String]) -> Result<Vec<KdlNode>, Refuse> {
    let mut all = Vec::new();
    for text in texts {
        let doc = parsed(text)?;
        match doc.nodes() {
            [node] if node.name().value() == kind => all.push(node.clone()),
            _ => {
                let help = match kind {
                    FITMENT => "a fitment begins with: fitment \"style\"",
                    CONTENTS => "contents begin with: contents \"name\" mass=\"1kg\"",
                    SPLIT => "a split begins with: split at=\"back\"",
                    _ => "a mark begins with: mark \"text\" on=\"front\"",
                };
                return Err(Refuse::conflict("not-a-job", format!("this is no {kind}")).help(help));
            }
        }
    }
    Ok(all)
}

fn single(job: &mut KdlNode, name: &str, old: &str, new: &str) {
    if old != new {
        put_arg(job, name, 0, new);
    }
}

fn keyed(job: &mut KdlNode, node: &str, key: &str, old: &str, new: &str) {
    if old != new {
        let node = child_or_new(job, node);
        set_prop(node, key, new);
    }
}

fn pair(job: &mut KdlNode, name: &str, old: &Option<[String; 2]>, new: &Option<[String; 2]>) {
    match (old, new) {
        _ if old == new => {}
        (_, None) => remove(job, |n| n.name().value() == name),
        (old, Some(texts)) => {
            for (i, text) in texts.iter().enumerate() {
                if old.as_ref().is_none_or(|o| o[i] != *text) {
                    put_arg(job, name, i, text);
                }
            }
        }
    }
}

fn settings(job: &mut KdlNode, was: &State, now: &State) {
    for name in was.set.keys().filter(|n| !now.set.contains_key(*n)) {
        remove(job, |n| sets(n, name));
    }
    for (name, text) in &now.set {
        if was.set.get(name) == Some(text) {
            continue;
        }
        let nodes = job.children_mut().as_mut();
        let found = nodes.and_then(|c| c.nodes_mut().iter_mut().rfind(|n| sets(n, name)));
        match found {
            Some(node) => set_arg(node, 1, text),
            None => {
                let node = new_child(job, "set");
                set_arg(node, 0, name);
                set_arg(node, 1, text);
            }
        }
    }
}

fn sets(node: &KdlNode, name: &str) -> bool {
    node.name().value() == "set" && super::arg(node, 0).is_some_and(|e| words(e) == name)
}

fn axis_depth(job: &mut KdlNode, was: &State, now: &State) {
    let missing = super::child(job, "crease").is_none();
    let node = child_or_new(job, "crease");
    if missing {
        set_arg(node, 0, now.crease.word());
    }
    let mut drop = |keys: &[&str]| {
        node.entries_mut()
            .retain(|e| !e.name().is_some_and(|n| keys.contains(&n.value())));
    };
    let Some(new) = now.axis_depth else {
        return drop(&["depth", "depth-along", "depth-across"]);
    };
    let old = was.axis_depth;
    let along = old.is_none_or(|o| o.along != new.along);
    let across = old.is_none_or(|o| o.across != new.across);
    if along && across {
        drop(&["depth"]);
    }
    // The other way may be written as a fraction or a sum, which stays.
    if along {
        set_prop(node, "depth-along", &new.along.to_string());
    }
    if across {
        set_prop(node, "depth-across", &new.across.to_string());
    }
}

/// Changes a value and the text it is written as, and nothing round it.
fn change(entry: &mut KdlEntry, value: KdlValue, written: String) {
    let mut format = entry.format().cloned().unwrap_or_else(|| spaced(""));
    format.value_repr = written;
    entry.set_value(value);
    entry.set_format(format);
}

fn spaced(written: &str) -> KdlEntryFormat {
    KdlEntryFormat {
        value_repr: written.to_owned(),
        leading: " ".to_owned(),
        ..KdlEntryFormat::default()
    }
}

fn set_arg_written(node: &mut KdlNode, index: usize, value: KdlValue, written: String) {
    let entries = node.entries_mut();
    if let Some(e) = entries.iter_mut().filter(|e| e.name().is_none()).nth(index) {
        change(e, value, written);
    } else {
        let mut e = KdlEntry::new(value);
        e.set_format(spaced(&written));
        entries.push(e);
    }
}

fn set_arg(node: &mut KdlNode, index: usize, text: &str) {
    let old = super::arg(node, index)
        .and_then(|e| e.format())
        .map_or("\"", |f| f.value_repr.as_str());
    let written = like(old, text);
    set_arg_written(node, index, KdlValue::String(text.to_owned()), written);
}

fn set_prop(node: &mut KdlNode, key: &str, text: &str) {
    let value = KdlValue::String(text.to_owned());
    let named = |e: &&mut KdlEntry| e.name().is_some_and(|n| n.value() == key);
    if let Some(e) = node.entries_mut().iter_mut().rfind(named) {
        let old = e.format().map_or("\"", |f| f.value_repr.as_str());
        let written = like(old, text);
        change(e, value, written);
    } else {
        let mut e = KdlEntry::new_prop(KdlIdentifier::from(key), value);
        e.set_format(spaced(&quoted(text)));
        node.entries_mut().push(e);
    }
}

fn put_arg(job: &mut KdlNode, name: &str, index: usize, text: &str) {
    set_arg(child_or_new(job, name), index, text);
}

fn child_or_new<'a>(job: &'a mut KdlNode, name: &str) -> &'a mut KdlNode {
    let at = super::children(job)
        .iter()
        .position(|n| n.name().value() == name);
    match at {
        Some(i) => &mut job.ensure_children().nodes_mut()[i],
        None => new_child(job, name),
    }
}

/// A node after the last one of its name, or else at the end, laid out as the others are.
fn new_child<'a>(job: &'a mut KdlNode, name: &str) -> &'a mut KdlNode {
    if super::children(job).is_empty() {
        make_room(job);
    }
    let nodes = job.ensure_children().nodes_mut();
    let last_of_name = nodes.iter().rposition(|n| n.name().value() == name);
    let at = last_of_name.map_or(nodes.len(), |i| i + 1);
    let format = match at.checked_sub(1).and_then(|i| nodes.get_mut(i)) {
        Some(before) => follow(before),
        None => KdlNodeFormat {
            leading: INDENT.to_owned(),
            ..KdlNodeFormat::default()
        },
    };
    let mut node = KdlNode::new(name);
    node.set_format(format);
    nodes.insert(at, node);
    &mut nodes[at]
}

const INDENT: &str = "    ";

/// Braces on lines of their own for a job that holds nothing yet.
fn make_room(job: &mut KdlNode) {
    let mut own = job.format().cloned().unwrap_or_default();
    let line_end = if own.terminator.contains("\r\n") {
        "\r\n"
    } else {
        "\n"
    };
    if job.children().is_none() {
        own.before_children = " ".to_owned();
        job.set_format(own);
    }
    let doc = job.ensure_children();
    let mut format = doc.format().cloned().unwrap_or_default();
    let comments = std::mem::take(&mut format.trailing);
    format.leading.push_str(&comments);
    let kept = format.leading.trim_end_matches([' ', '\t']).len();
    format.leading.truncate(kept);
    if !format.leading.ends_with('\n') {
        format.leading.push_str(line_end);
    }
    format.trailing = line_end.to_owned();
    doc.set_format(format);
}

/// The layout of a node put after this one.
fn follow(before: &mut KdlNode) -> KdlNodeFormat {
    let mut format = before.format().cloned().unwrap_or_default();
    if format.terminator.contains('\n') {
        let indent = format.leading.rsplit('\n').next().unwrap_or("");
        let blank = indent.chars().all(char::is_whitespace);
        return KdlNodeFormat {
            leading: if blank { indent } else { INDENT }.to_owned(),
            terminator: if format.terminator.contains("\r\n") {
                "\r\n"
            } else {
                "\n"
            }
            .to_owned(),
            ..KdlNodeFormat::default()
        };
    }
    if !format.terminator.is_empty() {
        return KdlNodeFormat {
            leading: " ".to_owned(),
            terminator: ";".to_owned(),
            ..KdlNodeFormat::default()
        };
    }
    // The last node before a brace on the same line: what parts the two goes behind the new one.
    let gap = std::mem::take(&mut format.before_terminator);
    format.terminator = ";".to_owned();
    before.set_format(format);
    KdlNodeFormat {
        leading: " ".to_owned(),
        before_terminator: gap,
        ..KdlNodeFormat::default()
    }
}

/// Takes nodes out; a comment or struck-out node that stood above one stays in the file.
fn remove(job: &mut KdlNode, gone: impl Fn(&KdlNode) -> bool) {
    let Some(doc) = job.children_mut().as_mut() else {
        return;
    };
    while let Some(i) = doc.nodes().iter().position(&gone) {
        let node = doc.nodes_mut().remove(i);
        let format = node.format().cloned().unwrap_or_default();
        let mut kept = above(&format.leading).to_owned();
        if format.terminator.is_empty() {
            kept.push_str(&format.before_terminator);
        }
        if let Some(next) = doc.nodes_mut().get_mut(i) {
            let mut format = next.format().cloned().unwrap_or_default();
            format.leading.insert_str(0, &kept);
            next.set_format(format);
        } else {
            let mut format = doc.format().cloned().unwrap_or_default();
            format.trailing.insert_str(0, &kept);
            doc.set_format(format);
        }
    }
}

/// What stands before a node and is to stay: the comments and struck-out nodes, without the indent
/// of the node itself.
fn above(leading: &str) -> &str {
    let whole_lines = leading.rfind('\n').map_or(0, |end| end + 1);
    let own = if leading[whole_lines..].trim().is_empty() {
        whole_lines
    } else {
        leading.len()
    };
    if leading[..own].trim().is_empty() {
        ""
    } else {
        &leading[..own]
    }
}

/// A new job file.
///
/// # Errors
/// `not-a-job` for a fitment, contents, split or mark that is none.
pub fn written(state: &State) -> Result<String, Refuse> {
    let mut out = String::new();
    let q = quoted;
    let _ = writeln!(out, "job {} {{", q(&state.title));
    let _ = writeln!(out, "    style {}", q(&state.style));
    let [l, w, d] = state.inside.all().map(quoted);
    let _ = writeln!(out, "    inside length={l} width={w} depth={d}");
    for file in &state.board_files {
        let _ = writeln!(out, "    board-file {}", q(file));
    }
    let _ = writeln!(out, "    board {}", q(&state.board));
    if let Some(t) = &state.caliper {
        let _ = writeln!(out, "    caliper {}", q(t));
    }
    let _ = write!(out, "    crease {}", q(state.crease.word()));
    if let Some(p) = state.axis_depth {
        let [along, across] = [p.along, p.across].map(|v| q(&v.to_string()));
        let _ = write!(out, " depth-along={along} depth-across={across}");
    }
    out.push('\n');
    for (name, text) in &state.set {
        let _ = writeln!(out, "    set {} {}", q(name), q(text));
    }
    for (kind, texts) in [
        (FITMENT, &state.fitments),
        (CONTENTS, &state.contents),
        (SPLIT, &state.splits),
        (MARK, &state.marks),
    ] {
        for node in nodes(kind, texts)? {
            let _ = writeln!(out, "    {}", alone(&node));
        }
    }
    for (name, pair) in [("sheet", &state.sheet), ("bed", &state.bed)] {
        if let Some([a, b]) = pair {
            let _ = writeln!(out, "    {name} {} {}", q(a), q(b));
        }
    }
    if state.quantity != 1 {
        let _ = writeln!(out, "    quantity {}", state.quantity);
    }
    let f = &state.drawing;
    let facts: Vec<String> = [
        ("owner", &f.owner),
        ("creator", &f.creator),
        ("approved", &f.approved),
        ("number", &f.number),
        ("date", &f.date),
    ]
    .into_iter()
    .filter(|(_, text)| !text.is_empty())
    .map(|(key, text)| format!(" {key}={}", q(text)))
    .collect();
    if !facts.is_empty() {
        let _ = writeln!(out, "    drawing{}", facts.concat());
    }
    out.push_str("}\n");
    Ok(out)
}
