//! A small typed reader over KDL 2 documents: every value knows its place, and one run gathers
//! every message instead of stopping at the first.

mod figure;

use std::cell::RefCell;

use kdl::{KdlDocument, KdlEntry, KdlNode, KdlValue};

use crate::diag::{Diag, Place, nearest};
use crate::source::Text;

pub(crate) use figure::{Bounds, length, measure, part, whole, within};

/// A longer input is refused before it is parsed.
pub const MAX_BYTES: usize = 1 << 20;
/// Braces may not nest deeper than this.
pub const MAX_DEPTH: usize = 48;

/// A parsed input with the messages gathered about it.
pub struct Doc<'a> {
    text: &'a Text,
    tree: KdlDocument,
    diags: RefCell<Vec<Diag>>,
}

/// Parses an input.
///
/// # Errors
/// The messages of the parser, each at its place; or that the input is too long or nests too
/// deep.
pub fn parse(text: &Text) -> Result<Doc<'_>, Vec<Diag>> {
    let place = |start: usize, end: usize| {
        let floor = |mut i: usize| {
            i = i.min(text.text.len());
            while !text.text.is_char_boundary(i) {
                i -= 1;
            }
            i
        };
        Place {
            input: text.name.clone(),
            start: floor(start),
            end: floor(end.max(start)),
        }
    };
    if text.text.len() > MAX_BYTES {
        return Err(vec![
            Diag::error(
                "too-long",
                format!(
                    "this file has {} bytes; {MAX_BYTES} are read at most",
                    text.text.len()
                ),
            )
            .at(place(0, 0))
            .help("check that it is the file you meant"),
        ]);
    }
    if let Some(at) = too_deep(&text.text) {
        return Err(vec![
            Diag::error(
                "too-deep",
                format!("braces nest deeper than {MAX_DEPTH} levels here"),
            )
            .at(place(at, at + 1))
            .help("split the tree into named parts"),
        ]);
    }
    match KdlDocument::parse_v2(&text.text) {
        Ok(tree) => Ok(Doc {
            text,
            tree,
            diags: RefCell::new(Vec::new()),
        }),
        Err(e) => Err(e
            .diagnostics
            .iter()
            .take(8)
            .map(|d| {
                let message = d
                    .message
                    .clone()
                    .unwrap_or_else(|| "this cannot be read".into());
                let start = d.span.offset();
                let mut diag = Diag::error("syntax", message.to_lowercase())
                    .at(place(start, (start + d.span.len()).min(start + 200)));
                diag.help = d.help.clone().or_else(|| {
                    Some("values with signs or units go in quotes: \"3mm\", \"length / 2\"".into())
                });
                diag
            })
            .collect()),
    }
}

/// The first opening mark past the allowed depth; braces inside quotes do not count.
fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut quoted, mut escaped) = (0usize, false, false);
    let bytes = text.as_bytes();
    for (i, &b) in bytes.iter().enumerate() {
        if quoted {
            match b {
                _ if escaped => escaped = false,
                b'\\' => escaped = true,
                b'"' => quoted = false,
                _ => {}
            }
            continue;
        }
        match b {
            b'"' => quoted = true,
            b'{' => depth += 1,
            b'/' if bytes.get(i + 1) == Some(&b'*') => depth += 1,
            b'}' => depth = depth.saturating_sub(1),
            b'/' if i > 0 && bytes[i - 1] == b'*' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > MAX_DEPTH {
            return Some(i);
        }
    }
    None
}

impl<'a> Doc<'a> {
    /// The top nodes.
    pub fn nodes(&'a self) -> impl Iterator<Item = Node<'a>> {
        self.tree
            .nodes()
            .iter()
            .map(move |node| Node { node, doc: self })
    }
    /// Gathers a message.
    pub fn report(&self, diag: Diag) {
        self.diags.borrow_mut().push(diag);
    }
    /// A place spanning nothing at the top of the input.
    #[must_use]
    pub fn top(&self) -> Place {
        Place {
            input: self.text.name.clone(),
            start: 0,
            end: 0,
        }
    }
    /// Ends the reading: the value when nothing grave was gathered.
    ///
    /// # Errors
    /// Every message gathered, when one of them is an error.
    pub fn finish<T>(self, value: Option<T>) -> Result<(T, Vec<Diag>), Vec<Diag>> {
        let diags = self.diags.into_inner();
        match value {
            Some(v)
                if diags
                    .iter()
                    .all(|d| d.severity != crate::diag::Severity::Error) =>
            {
                Ok((v, diags))
            }
            _ => Err(diags),
        }
    }
    fn place(&self, start: usize, end: usize) -> Place {
        Place {
            input: self.text.name.clone(),
            start,
            end,
        }
    }
}

/// A node with its document.
#[derive(Clone, Copy)]
pub struct Node<'a> {
    node: &'a KdlNode,
    doc: &'a Doc<'a>,
}

impl<'a> Node<'a> {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &'a str {
        self.node.name().value()
    }
    /// The place of its name.
    #[must_use]
    pub fn place(&self) -> Place {
        let s = self.node.name().span();
        self.doc.place(s.offset(), s.offset() + s.len())
    }
    /// Its child nodes.
    pub fn children(&self) -> impl Iterator<Item = Self> + use<'a> {
        let doc = self.doc;
        self.node
            .children()
            .map_or(&[][..], |c| c.nodes())
            .iter()
            .map(move |node| Node { node, doc })
    }
    /// The first child with this name.
    #[must_use]
    pub fn child(&self, name: &str) -> Option<Self> {
        self.children().find(|c| c.name() == name)
    }
    /// Its values without a key, in order.
    pub fn args(&self) -> impl Iterator<Item = Field<'a>> + use<'a> {
        let doc = self.doc;
        self.node
            .entries()
            .iter()
            .filter(|e| e.name().is_none())
            .map(move |entry| Field { entry, doc })
    }
    /// Its values with a key: key and value.
    pub fn props(&self) -> impl Iterator<Item = (&'a str, Field<'a>)> + use<'a> {
        let doc = self.doc;
        self.node
            .entries()
            .iter()
            .filter_map(move |entry| entry.name().map(|k| (k.value(), Field { entry, doc })))
    }
    /// The value without a key at this position.
    #[must_use]
    pub fn arg(&self, index: usize) -> Option<Field<'a>> {
        self.args().nth(index)
    }
    /// The value with this key; the last one counts, as KDL says.
    #[must_use]
    pub fn prop(&self, key: &str) -> Option<Field<'a>> {
        self.props()
            .filter(|(k, _)| *k == key)
            .last()
            .map(|(_, f)| f)
    }
    /// Gathers an error at this node.
    pub fn error(&self, code: &'static str, message: impl Into<String>, help: Option<String>) {
        let mut d = Diag::error(code, message).at(self.place());
        d.help = help;
        self.doc.report(d);
    }
    /// Gathers an error that this node is not known here.
    pub fn unknown<'k>(&self, what: &str, known: impl IntoIterator<Item = &'k str> + Clone) {
        let help = suggestion(self.name(), known);
        self.error(
            "unknown-word",
            format!("{what} has nothing called `{}`", self.name()),
            Some(help),
        );
    }
    /// Reports values and keys the node does not take.
    pub fn takes(&self, args: usize, keys: &[&str]) {
        for extra in self.args().skip(args) {
            extra.error(
                "extra-value",
                format!("`{}` takes {} here", self.name(), count_words(args)),
                Some("remove this value, or name it with key=value".into()),
            );
        }
        let mut seen: Vec<&str> = Vec::new();
        for (key, field) in self.props() {
            if !keys.contains(&key) {
                field.error(
                    "unknown-word",
                    format!("`{}` has no `{key}`", self.name()),
                    Some(suggestion(key, keys.iter().copied())),
                );
            } else if seen.contains(&key) {
                field.error(
                    "given-twice",
                    format!("`{key}` is given twice"),
                    Some("keep one of them".into()),
                );
            }
            seen.push(key);
        }
    }
    /// Reports bare values past `args`; any key may be given, but each once.
    pub fn takes_any(&self, args: usize) {
        let keys: Vec<&str> = self.props().map(|(k, _)| k).collect();
        self.takes(args, &keys);
    }
    /// Gathers a message.
    pub fn report(&self, diag: Diag) {
        self.doc.report(diag);
    }
    /// Reports children when the node takes none.
    pub fn childless(&self) {
        if let Some(c) = self.children().next() {
            c.error(
                "unknown-word",
                format!("`{}` holds nothing in braces", self.name()),
                None,
            );
        }
    }
    /// The value at this position, or a message that it is missing.
    #[must_use]
    pub fn need_arg(&self, index: usize, what: &str) -> Option<Field<'a>> {
        let f = self.arg(index);
        if f.is_none() {
            self.error("missing", format!("`{}` needs {what}", self.name()), None);
        }
        f
    }
    /// The value with this key, or a message that it is missing.
    #[must_use]
    pub fn need_prop(&self, key: &str, what: &str) -> Option<Field<'a>> {
        let f = self.prop(key);
        if f.is_none() {
            self.error(
                "missing",
                format!("`{}` needs `{key}`: {what}", self.name()),
                None,
            );
        }
        f
    }
}

fn count_words(n: usize) -> String {
    match n {
        0 => "no bare value".into(),
        1 => "one bare value".into(),
        n => format!("{n} bare values"),
    }
}

/// "did you mean" and the list of what is known.
pub fn suggestion<'k>(name: &str, known: impl IntoIterator<Item = &'k str> + Clone) -> String {
    let list = || known.clone().into_iter().collect::<Vec<_>>().join(", ");
    match nearest(name, known.clone()) {
        Some(k) => format!("did you mean `{k}`? known here: {}", list()),
        None => format!("known here: {}", list()),
    }
}

/// A value with its document.
#[derive(Clone, Copy)]
pub struct Field<'a> {
    entry: &'a KdlEntry,
    doc: &'a Doc<'a>,
}

impl<'a> Field<'a> {
    /// The place of the value itself, without key or quotes, and whether offsets inside the text
    /// can be trusted (no escapes).
    fn inner(&self) -> (usize, usize, bool) {
        let span = self.entry.span();
        let (start, end) = (
            span.offset(),
            (span.offset() + span.len()).min(self.doc.text.text.len()),
        );
        let whole = self.doc.text.text.get(start..end).unwrap_or("");
        let Some(repr) = self
            .entry
            .format()
            .map(|f| f.value_repr.as_str())
            .filter(|r| !r.is_empty())
        else {
            return (start, end, false);
        };
        let Some(at) = whole.rfind(repr) else {
            return (start, end, false);
        };
        let body = repr.trim_matches('#');
        let text = self.entry.value().as_string().unwrap_or(repr);
        if body.starts_with('"')
            && let Some(q) = repr.find(text).filter(|_| !text.is_empty())
        {
            return (start + at + q, start + at + q + text.len(), true);
        }
        (start + at, start + at + repr.len(), text == repr)
    }
    /// The place of the value.
    #[must_use]
    pub fn place(&self) -> Place {
        let (s, e, _) = self.inner();
        self.doc.place(s, e)
    }
    /// The place of the value, and whether byte offsets inside its text can be added to it.
    #[must_use]
    pub fn place_exact(&self) -> (Place, bool) {
        let (s, e, exact) = self.inner();
        (self.doc.place(s, e), exact)
    }
    /// Gathers a message.
    pub fn report(&self, diag: Diag) {
        self.doc.report(diag);
    }
    /// Gathers an error at this value.
    pub fn error(&self, code: &'static str, message: impl Into<String>, help: Option<String>) {
        let mut d = Diag::error(code, message).at(self.place());
        d.help = help;
        self.doc.report(d);
    }
    /// The value as text: words and quoted text as they are, numbers as written.
    #[must_use]
    pub fn text(&self) -> String {
        match self.entry.value() {
            KdlValue::String(s) => s.clone(),
            other => self
                .entry
                .format()
                .map_or_else(|| other.to_string(), |f| f.value_repr.clone()),
        }
    }
    /// The value as a word or quoted text, or a message.
    #[must_use]
    pub fn word(&self) -> Option<&'a str> {
        let w = self.entry.value().as_string();
        if w.is_none() {
            self.error("wrong-kind", "a word is needed here", None);
        }
        w
    }
    /// The value as `#true` or `#false`, or a message.
    #[must_use]
    pub fn flag(&self) -> Option<bool> {
        let b = self.entry.value().as_bool();
        if b.is_none() {
            self.error("wrong-kind", "#true or #false is needed here", None);
        }
        b
    }
    /// The value as one of these words, or a message.
    #[must_use]
    pub fn choice<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let w = self.word()?;
        let found = words.iter().find(|(k, _)| *k == w).map(|(_, t)| *t);
        if found.is_none() {
            self.error(
                "unknown-word",
                format!("`{w}` is not one of the words for this"),
                Some(suggestion(w, words.iter().map(|(k, _)| *k))),
            );
        }
        found
    }
}
