//! From a style file's text to a [`Style`]: top-level nodes.

use super::model::*;
use super::parse_items::panel;
use crate::diag::{Diag, Outcome};
use crate::expr::{Expr, NoNames, Value};
use crate::read::{Field, Node, parse, suggestion};
use crate::source::{Door, Text};
use crate::units::{Dim, Mass};

/// What may stand in a style and in a kit.
const SHARED: &[&str] = &[
    "parameter",
    "let",
    "require",
    "part",
    "piece",
    "room",
    "seat",
    "glue",
    "tape",
    "close",
    "tab",
    "tuck",
    "leaves",
    "each",
];
/// What may stand in a style only.
const TOP: &[&str] = &["title", "code", "purpose", "suits", "kit", "stage", "steps"];

/// Reads a style file and the kits it draws on.
///
/// # Errors
/// Every message found: syntax, unknown words, missing values, expressions that cannot be read.
/// Names and units inside expressions are checked when the style is evaluated.
pub fn parse_style(text: &Text, door: &(impl Door + ?Sized)) -> Outcome<Style> {
    let doc = parse(text)?;
    let mut found = None;
    for node in doc.nodes() {
        if node.name() != "style" {
            node.unknown("a style file", ["style"]);
        } else if found.is_some() {
            node.error("given-twice", "a style file holds one style", None);
        } else {
            found = style(&node, &text.name, door);
        }
    }
    if doc.nodes().next().is_none() {
        doc.report(
            Diag::error("empty", "this file holds no style")
                .at(doc.top())
                .help("begin with: style \"name\" { ... }"),
        );
    }
    doc.finish(found).map(|(s, _)| s)
}

fn style(node: &Node<'_>, input: &str, door: &(impl Door + ?Sized)) -> Option<Style> {
    node.takes(1, &[]);
    let name = node.need_arg(0, "its name")?.word()?.to_owned();
    let (mut title, mut code, mut purpose) = (String::new(), None, String::new());
    let mut suits = None;
    let mut kits = Vec::new();
    let mut order = Vec::new();
    let mut own = Kit::default();
    for c in node.children() {
        match c.name() {
            "title" => title = one_word(&c).unwrap_or_default(),
            "code" => code = one_word(&c),
            "purpose" => purpose = one_word(&c).unwrap_or_default(),
            "suits" => suits = suits.or_else(|| suits_def(&c)),
            "kit" => kits.extend(kits_named(&c, input, door)),
            "stage" => order.extend(stage(&c).map(Step::One)),
            "steps" => order.extend(named(&c, "the steps of a kit").map(Step::Of)),
            _ => {
                if !own.take(&c) {
                    c.unknown("a style", TOP.iter().chain(SHARED).copied());
                }
            }
        }
    }
    own.once(node);
    let mut all = Kit::default();
    for k in kits {
        all.add(k);
    }
    all.add(own);
    let mut stages = Vec::new();
    for step in order {
        match step {
            Step::One(s) => stages.push(s),
            Step::Of(n) => match all.steps.iter().find(|(name, _)| *name == n.name) {
                Some((_, s)) => stages.extend(s.iter().cloned()),
                None => node.report(
                    Diag::error(
                        "unknown-steps",
                        format!("no kit of this style has steps `{}`", n.name),
                    )
                    .at(n.place)
                    .help(suggestion(
                        &n.name,
                        all.steps.iter().map(|(s, _)| s.as_str()),
                    )),
                ),
            },
        }
    }
    if all.pieces.is_empty() && all.each.iter().all(|e| e.pieces.is_empty()) {
        node.error("missing", "a style needs a `piece`", None);
    }
    if all.room.is_none() {
        node.error(
            "missing",
            "a style needs a `room`: where the asked clear space lies",
            None,
        );
    }
    Some(Style {
        title: if title.is_empty() {
            name.clone()
        } else {
            title
        },
        name,
        input: input.to_owned(),
        code,
        purpose,
        suits,
        parameters: all.parameters,
        lets: all.lets,
        requires: all.requires,
        parts: all.parts,
        pieces: all.pieces,
        room: all.room?,
        seats: all.seats,
        joints: all.joints,
        leaves: all.leaves,
        each: all.each,
        stages,
    })
}

/// Words of `suits`.
pub const FAMILIES: &[&str] = &[
    "slotted",
    "telescope",
    "folder",
    "tray",
    "slide",
    "rigid",
    "ready-glued",
    "interior",
];
/// Words of `suits`.
pub const CLOSINGS: &[&str] = &["tape", "glue", "tuck", "lock", "lid", "open"];
/// Words of `suits`.
pub const OPENINGS: &[&str] = &["cut", "again"];
/// Words of `suits`.
pub const STACKINGS: &[&str] = &["well", "fair", "poor"];
/// Words of `suits`.
pub const FOLDINGS: &[&str] = &["hand", "machine", "either"];
/// Words of `suits`.
pub const USES: &[&str] = &[
    "post", "store", "stack", "display", "gift", "carry", "heavy", "flat", "tall", "long",
    "fragile", "parts", "books", "bottles", "protect",
];

fn suits_def(node: &Node<'_>) -> Option<Suits> {
    node.takes(
        0,
        &[
            "family", "closing", "opening", "stacking", "folding", "load", "uses", "good", "bad",
        ],
    );
    node.childless();
    let one = |key: &str, words: &[&str]| {
        let field = node.need_prop(key, &words.join(", "))?;
        let word = field.word()?;
        if !words.contains(&word) {
            field.error(
                "unknown-word",
                format!("`{word}` is not one of the words of `{key}`"),
                Some(suggestion(word, words.iter().copied())),
            );
            return None;
        }
        Some(word.to_owned())
    };
    let text = |key: &str| Some(node.need_prop(key, "one line")?.word()?.to_owned());
    let uses = node.need_prop("uses", "words parted by blanks")?;
    for word in uses.word()?.split_whitespace() {
        if !USES.contains(&word) {
            uses.error(
                "unknown-word",
                format!("`{word}` is not one of the words of `uses`"),
                Some(suggestion(word, USES.iter().copied())),
            );
        }
    }
    let load = needed(node, "load", "up to which mass it is usual")?;
    let load = match load.expr.eval(&NoNames) {
        Ok(Value::Quantity(q)) if q.dim == Dim::MASS => Mass::kg(q.value),
        _ => {
            node.error(
                "wrong-unit",
                "`load` is a mass",
                Some("write: load=\"10kg\"".into()),
            );
            return None;
        }
    };
    Some(Suits {
        family: one("family", FAMILIES)?,
        closing: one("closing", CLOSINGS)?,
        opening: one("opening", OPENINGS)?,
        stacking: one("stacking", STACKINGS)?,
        folding: one("folding", FOLDINGS)?,
        load,
        uses: uses.word()?.split_whitespace().map(str::to_owned).collect(),
        good: text("good")?,
        bad: text("bad")?,
    })
}

/// A stage, or the place of a kit's steps among the stages.
enum Step {
    One(StageDef),
    Of(Named),
}

fn named(node: &Node<'_>, what: &str) -> Option<Named> {
    node.takes(1, &[]);
    node.childless();
    let field = node.need_arg(0, what)?;
    Some(Named {
        name: field.word()?.to_owned(),
        place: field.place(),
    })
}

fn kits_named(node: &Node<'_>, from: &str, door: &(impl Door + ?Sized)) -> Vec<Kit> {
    node.takes(usize::MAX, &[]);
    node.childless();
    if node.args().next().is_none() {
        node.error("missing", "`kit` needs the kits this style draws on", None);
    }
    let one = |field: Field<'_>| {
        let name = field.word()?;
        let Some(text) = door.kit(name, from) else {
            let known = door.kit_names();
            field.error(
                "unknown-kit",
                format!("there is no kit `{name}`"),
                Some(suggestion(name, known.iter().map(String::as_str))),
            );
            return None;
        };
        match parse_kit(&text) {
            Ok(k) => Some(k),
            Err(diags) => {
                diags.into_iter().for_each(|d| node.report(d));
                None
            }
        }
    };
    node.args().filter_map(one).collect()
}

/// Reads a kit file: what several styles share.
fn parse_kit(text: &Text) -> Outcome<Kit> {
    let doc = parse(text)?;
    let mut found = None;
    for node in doc.nodes() {
        if node.name() != "kit" {
            node.unknown("a kit file", ["kit"]);
        } else if found.is_some() {
            node.error("given-twice", "a kit file holds one kit", None);
        } else {
            found = kit(&node);
        }
    }
    if doc.nodes().next().is_none() {
        doc.report(
            Diag::error("empty", "this file holds no kit")
                .at(doc.top())
                .help("begin with: kit \"name\" { ... }"),
        );
    }
    doc.finish(found).map(|(k, _)| k)
}

fn kit(node: &Node<'_>) -> Option<Kit> {
    node.takes(1, &[]);
    node.need_arg(0, "its name")?.word()?;
    let mut kit = Kit::default();
    for c in node.children() {
        if c.name() == "steps" {
            c.takes(1, &[]);
            let Some(name) = c
                .need_arg(0, "a name")
                .and_then(|f| f.word().map(str::to_owned))
            else {
                continue;
            };
            let mut stages = Vec::new();
            for s in c.children() {
                if s.name() == "stage" {
                    stages.extend(stage(&s));
                } else {
                    s.unknown("steps", ["stage"]);
                }
            }
            kit.steps.push((name, stages));
        } else if !kit.take(&c) {
            c.unknown("a kit", SHARED.iter().copied().chain(["steps"]));
        }
    }
    kit.once(node);
    Some(kit)
}

/// What a style and a kit have in common.
#[derive(Default)]
struct Kit {
    parameters: Vec<Parameter>,
    lets: Vec<Let>,
    requires: Vec<Require>,
    parts: Vec<Part>,
    pieces: Vec<PieceDef>,
    room: Option<RoomDef>,
    seats: Vec<SeatDef>,
    joints: Vec<JointDef>,
    leaves: Vec<LeavesDef>,
    each: Vec<Each>,
    steps: Vec<(String, Vec<StageDef>)>,
}

impl Kit {
    /// Takes a node, when it is one that a kit may hold.
    fn take(&mut self, c: &Node<'_>) -> bool {
        match c.name() {
            "parameter" => self.parameters.extend(parameter(c)),
            "let" => self.lets.extend(derived(c)),
            "require" => self.requires.extend(require(c)),
            "part" => self.parts.extend(part(c)),
            "piece" => self.pieces.extend(piece(c)),
            "room" => {
                let room = room_def(c);
                self.room = self.room.take().or(room);
            }
            "seat" => self.seats.extend(seat(c)),
            "glue" | "tape" | "close" | "tab" | "tuck" => self.joints.extend(joint(c)),
            "leaves" => self.leaves.extend(leaves(c)),
            "each" => self.each.extend(each(c)),
            _ => return false,
        }
        true
    }

    /// Reports names given twice in one file.
    fn once(&self, node: &Node<'_>) {
        let parameters = self.parameters.iter();
        duplicates(node, parameters.map(|p| (&*p.name, &p.place)), "parameter");
        let lets = self.lets.iter();
        duplicates(node, lets.map(|p| (&*p.name, &p.place)), "let");
        let pieces = self.pieces.iter();
        duplicates(node, pieces.map(|p| (&*p.name, &p.place)), "piece");
    }

    /// Adds another; where both name the same thing, the other's takes its place.
    fn add(&mut self, o: Self) {
        merge(&mut self.parameters, o.parameters, |p| &p.name);
        merge(&mut self.lets, o.lets, |p| &p.name);
        merge(&mut self.parts, o.parts, |p| &p.name);
        merge(&mut self.pieces, o.pieces, |p| &p.name);
        merge(&mut self.steps, o.steps, |s| &s.0);
        self.requires.extend(o.requires);
        self.seats.extend(o.seats);
        self.joints.extend(o.joints);
        self.leaves.extend(o.leaves);
        self.each.extend(o.each);
        self.room = o.room.or(self.room.take());
    }
}

fn merge<T>(into: &mut Vec<T>, from: Vec<T>, name: impl Fn(&T) -> &String) {
    for new in from {
        match into.iter_mut().find(|old| name(old) == name(&new)) {
            Some(old) => *old = new,
            None => into.push(new),
        }
    }
}

fn duplicates<'x>(
    node: &Node<'_>,
    names: impl Iterator<Item = (&'x str, &'x crate::diag::Place)>,
    what: &str,
) {
    let mut seen: Vec<&str> = Vec::new();
    for (name, place) in names {
        if seen.contains(&name) {
            node.report(
                Diag::error("given-twice", format!("there are two of {what} `{name}`"))
                    .at(place.clone())
                    .help("give one of them another name"),
            );
        }
        seen.push(name);
    }
}

fn one_word(node: &Node<'_>) -> Option<String> {
    node.takes(1, &[]);
    node.childless();
    Some(node.need_arg(0, "a text")?.word()?.to_owned())
}

/// Reads a value as an expression.
pub(super) fn formula(field: &Field<'_>) -> Option<Formula> {
    let text = field.text();
    let (place, exact) = field.place_exact();
    match Expr::parse(&text) {
        Ok(expr) => Some(Formula { expr, place, exact }),
        Err(e) => {
            field.report(place_error(&place, exact, &e));
            None
        }
    }
}

/// The property as an expression, if given.
pub(super) fn maybe(node: &Node<'_>, key: &str) -> Option<Formula> {
    node.prop(key).and_then(|f| formula(&f))
}

/// The property as an expression, which must be given.
pub(super) fn needed(node: &Node<'_>, key: &str, what: &str) -> Option<Formula> {
    node.need_prop(key, what).and_then(|f| formula(&f))
}

fn parameter(node: &Node<'_>) -> Option<Parameter> {
    node.takes(1, &["default", "min", "max", "help", "kind", "one-of"]);
    node.childless();
    let name_field = node.need_arg(0, "a name")?;
    let name = name_field.word()?.to_owned();
    let kind = if let Some(words) = node.prop("one-of") {
        ParameterKind::Choice(
            words
                .word()?
                .split_whitespace()
                .map(str::to_owned)
                .collect(),
        )
    } else if let Some(k) = node.prop("kind") {
        ParameterKind::Quantity(k.choice(&[
            ("length", Dim::LENGTH),
            ("angle", Dim::ANGLE),
            ("number", Dim::NUMBER),
        ])?)
    } else {
        ParameterKind::Quantity(Dim::LENGTH)
    };
    let default = match &kind {
        ParameterKind::Choice(words) => {
            let field = node.need_prop("default", "one of the words")?;
            let word = field.word()?;
            if !words.iter().any(|w| w == word) {
                field.error(
                    "unknown-word",
                    format!("`{word}` is not one of the words of `{name}`"),
                    Some(suggestion(word, words.iter().map(String::as_str))),
                );
                return None;
            }
            let (place, exact) = field.place_exact();
            Formula {
                expr: word_expr(word)?,
                place,
                exact,
            }
        }
        ParameterKind::Quantity(_) => {
            needed(node, "default", "its value when a job does not set it")?
        }
    };
    Some(Parameter {
        name,
        place: name_field.place(),
        kind,
        default,
        min: maybe(node, "min"),
        max: maybe(node, "max"),
        help: node
            .prop("help")
            .and_then(|f| f.word())
            .unwrap_or_default()
            .to_owned(),
    })
}

/// The expression that is just this word.
fn word_expr(word: &str) -> Option<Expr> {
    Expr::parse(&format!("'{word}'")).ok()
}

fn derived(node: &Node<'_>) -> Option<Let> {
    node.takes(2, &[]);
    node.childless();
    let name = node.need_arg(0, "a name")?;
    let value = formula(&node.need_arg(1, "a value")?)?;
    Some(Let {
        name: name.word()?.to_owned(),
        place: name.place(),
        value,
    })
}

fn require(node: &Node<'_>) -> Option<Require> {
    node.takes(2, &[]);
    node.childless();
    let condition = formula(&node.need_arg(0, "a condition")?)?;
    let message = node
        .need_arg(1, "a message for when it does not hold")?
        .word()?
        .to_owned();
    Some(Require { condition, message })
}

fn part(node: &Node<'_>) -> Option<Part> {
    node.takes(usize::MAX, &[]);
    if let Some(c) = node.child("relief") {
        c.error(
            "no-effect",
            "`relief` belongs inside the panel whose crease it relieves",
            Some("move it into that panel's braces".into()),
        );
    }
    let mut words = node.args().map(|f| f.word().map(str::to_owned));
    let Some(name) = words.next() else {
        node.error("missing", "`part` needs a name", None);
        return None;
    };
    Some(Part {
        name: name?,
        takes: words.collect::<Option<Vec<_>>>()?,
        items: super::parse_items::items(node).into(),
    })
}

fn piece(node: &Node<'_>) -> Option<PieceDef> {
    node.takes(1, &["flutes", "far", "when"]);
    let name = node.need_arg(0, "a name")?.word()?.to_owned();
    let flutes_left_right = node
        .need_prop(
            "flutes",
            "left-right or near-far, seen from its first panel",
        )?
        .choice(&[("left-right", true), ("near-far", false)])?;
    let far_right = node
        .prop("far")
        .map_or(Some(false), |f| f.choice(&[("up", false), ("right", true)]))?;
    let mut root = None;
    for c in node.children() {
        if c.name() != "panel" {
            c.unknown("a piece", ["panel"]);
        } else if root.is_some() {
            c.error(
                "given-twice",
                "a piece has one root panel",
                Some("hang this panel on an edge of another".into()),
            );
        } else {
            root = panel(&c, true);
        }
    }
    if node.children().next().is_none() {
        node.error("missing", "a piece needs a `panel`", None);
    }
    Some(PieceDef {
        name,
        place: node.place(),
        flutes_left_right,
        far_right,
        when: maybe(node, "when"),
        root: root?,
    })
}

const ASKED: &[(&str, usize)] = &[("length", 0), ("width", 1), ("depth", 2)];

fn room_def(node: &Node<'_>) -> Option<RoomDef> {
    node.takes(
        0,
        &["on", "breadth", "reach", "rise", "left", "near", "above"],
    );
    node.childless();
    let size = |key: &str| node.need_prop(key, "length, width or depth")?.choice(ASKED);
    let sizes = [size("breadth")?, size("reach")?, size("rise")?];
    if sizes[0] == sizes[1] || sizes[1] == sizes[2] || sizes[0] == sizes[2] {
        node.error(
            "given-twice",
            "each asked size lies along one direction of the room",
            None,
        );
        return None;
    }
    Some(RoomDef {
        place: node.place(),
        on: node
            .need_prop("on", "the panel it stands on")?
            .word()?
            .to_owned(),
        sizes,
        offset: [
            maybe(node, "left"),
            maybe(node, "near"),
            maybe(node, "above"),
        ],
    })
}

const TOWARD: &[(&str, Toward)] = &[
    ("right", Toward::Right),
    ("left", Toward::Left),
    ("far", Toward::Far),
    ("near", Toward::Near),
    ("in", Toward::In),
    ("out", Toward::Out),
];

fn seat(node: &Node<'_>) -> Option<SeatDef> {
    node.takes(
        1,
        &[
            "over", "apart", "on", "breadth", "reach", "left", "near", "above", "comes",
        ],
    );
    node.childless();
    let piece = node.need_arg(0, "a piece")?.word()?.to_owned();
    let comes = node
        .prop("comes")
        .map_or(Some(Toward::In), |f| f.choice(TOWARD))?;
    let (on, way) = if let Some(on) = node.prop("on") {
        for key in ["over", "apart"] {
            if let Some(f) = node.prop(key) {
                f.error(
                    "two-ways",
                    "a piece is either placed `on` a panel or faces one",
                    Some("leave `over` and `apart` out, or `on`".into()),
                );
            }
        }
        let toward = |key: &str| {
            node.need_prop(key, "where it points: right, left, far, near, in or out")?
                .choice(TOWARD)
        };
        let (breadth, reach) = (toward("breadth")?, toward("reach")?);
        if breadth.line() == reach.line() {
            node.error(
                "two-ways",
                "breadth and reach of a piece point along different lines",
                None,
            );
            return None;
        }
        let at = ["left", "near", "above"].map(|key| maybe(node, key));
        (on, SeatWay::Placed { breadth, reach, at })
    } else {
        for key in ["breadth", "reach", "left", "near", "above"] {
            if let Some(f) = node.prop(key) {
                f.error(
                    "no-effect",
                    format!("`{key}` places a piece that sits `on` a panel"),
                    Some("write on=\"panel\" in place of `over`".into()),
                );
            }
        }
        let apart = needed(node, "apart", "the distance between the two inside faces")?;
        (
            node.need_prop("over", "the panel it faces")?,
            SeatWay::Facing(apart),
        )
    };
    Some(SeatDef {
        place: node.place(),
        piece,
        on: on.word()?.to_owned(),
        way,
        comes,
    })
}

/// The head of an `each`: what the count is called, and the last one.
pub(super) fn each_head(node: &Node<'_>) -> Option<(Named, Formula)> {
    node.takes(1, &["to"]);
    let field = node.need_arg(0, "what the count is called")?;
    let count = Named {
        name: field.word()?.to_owned(),
        place: field.place(),
    };
    Some((count, needed(node, "to", "the last count")?))
}

fn leaves(node: &Node<'_>) -> Option<LeavesDef> {
    node.takes(1, &["length", "width", "depth", "x", "y", "z"]);
    node.childless();
    let size = |key: &str| needed(node, key, "its size that way");
    Some(LeavesDef {
        name: node.need_arg(0, "a name")?.word()?.to_owned(),
        place: node.place(),
        at: ["x", "y", "z"].map(|key| maybe(node, key)),
        size: [size("length")?, size("width")?, size("depth")?],
    })
}

fn each(node: &Node<'_>) -> Option<Each> {
    let (count, to) = each_head(node)?;
    let mut all = Each {
        count,
        to,
        pieces: Vec::new(),
        seats: Vec::new(),
        joints: Vec::new(),
        leaves: Vec::new(),
        each: Vec::new(),
    };
    for c in node.children() {
        match c.name() {
            "leaves" => all.leaves.extend(leaves(&c)),
            "each" => all.each.extend(each(&c)),
            "piece" => all.pieces.extend(piece(&c)),
            "seat" => all.seats.extend(seat(&c)),
            "glue" | "tape" | "close" | "tab" | "tuck" => all.joints.extend(joint(&c)),
            _ => c.unknown(
                "an `each` here",
                [
                    "piece", "seat", "glue", "tape", "close", "tab", "tuck", "leaves", "each",
                ],
            ),
        }
    }
    Some(all)
}

fn joint(node: &Node<'_>) -> Option<JointDef> {
    let (keys, to): (&[&str], &str) = match node.name() {
        "glue" => (&["to", "when"], "to"),
        "tape" => (&["to", "gap", "when"], "to"),
        "close" => (&["onto", "gap", "when"], "onto"),
        "tab" => (&["into", "cut-out", "when"], "into"),
        _ => (&["behind", "when"], "behind"),
    };
    node.takes(1, keys);
    node.childless();
    let panel = node.need_arg(0, "a panel")?.word()?.to_owned();
    let to = node.need_prop(to, "the other panel")?.word()?.to_owned();
    let kind = match node.name() {
        "glue" => JointKind::Glue,
        "tape" => JointKind::Tape(maybe(node, "gap")),
        "close" => JointKind::Close(needed(node, "gap", "the gap that should be left")?),
        "tab" => JointKind::Tab {
            cutout: node
                .need_prop("cut-out", "the cut-out it goes through")?
                .word()?
                .to_owned(),
        },
        _ => JointKind::Tuck,
    };
    Some(JointDef {
        place: node.place(),
        when: maybe(node, "when"),
        panel,
        to,
        kind,
    })
}

fn stage(node: &Node<'_>) -> Option<StageDef> {
    node.takes(2, &["when", "held", "packs"]);
    let title = node.need_arg(0, "a title")?.word()?.to_owned();
    let text = node.need_arg(1, "an instruction line")?.word()?.to_owned();
    let held = node.prop("held").map_or(Some(Held::Upright), |f| {
        f.choice(&[
            ("upright", Held::Upright),
            ("flat", Held::Flat),
            ("over", Held::Over),
            ("pressed", Held::Pressed),
        ])
    })?;
    Some(StageDef {
        title,
        place: node.place(),
        text,
        when: maybe(node, "when"),
        held,
        packs: node.prop("packs").map_or(Some(false), |f| f.flag())?,
        moves: moves(node),
    })
}

fn moves(node: &Node<'_>) -> Vec<MoveDef> {
    let mut all = Vec::new();
    for c in node.children() {
        match c.name() {
            "turn" => {
                c.takes(usize::MAX, &["to", "starts", "ends"]);
                c.childless();
                let panels: Vec<_> = c
                    .args()
                    .filter_map(|f| Some((f.word()?.to_owned(), f.place())))
                    .collect();
                if panels.is_empty() {
                    c.error("missing", "`turn` needs the panels that turn", None);
                }
                all.push(MoveDef::Turn {
                    panels,
                    to: maybe(&c, "to"),
                    during: [maybe(&c, "starts"), maybe(&c, "ends")],
                });
            }
            "enter" => {
                c.takes(1, &["from"]);
                c.childless();
                let Some(f) = c.need_arg(0, "a piece") else {
                    continue;
                };
                let Some(piece) = f.word() else { continue };
                all.push(MoveDef::Enter {
                    piece: piece.to_owned(),
                    place: f.place(),
                    from: maybe(&c, "from"),
                });
            }
            "each" => {
                if let Some((count, to)) = each_head(&c) {
                    let moves = moves(&c);
                    all.push(MoveDef::Each { count, to, moves });
                }
            }
            _ => c.unknown("a stage", ["turn", "enter", "each"]),
        }
    }
    all
}
