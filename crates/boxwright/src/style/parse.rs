//! From a style file's text to a [`Style`]: top-level nodes.

use super::model::*;
use super::parse_items::panel;
use crate::diag::{Diag, Outcome};
use crate::expr::Expr;
use crate::read::{Field, Node, parse, suggestion};
use crate::source::Text;
use crate::units::Dim;

const TOP: &[&str] = &[
    "title",
    "code",
    "purpose",
    "for",
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
    "stage",
];

/// Reads a style file.
///
/// # Errors
/// Every message found: syntax, unknown words, missing values, expressions that cannot be read.
/// Names and units inside expressions are checked when the style is evaluated.
pub fn parse_style(text: &Text) -> Outcome<Style> {
    let doc = parse(text)?;
    let mut found = None;
    for node in doc.nodes() {
        if node.name() != "style" {
            node.unknown("a style file", ["style"]);
        } else if found.is_some() {
            node.error("given-twice", "a style file holds one style", None);
        } else {
            found = style(&node, &text.name);
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

fn style(node: &Node<'_>, input: &str) -> Option<Style> {
    node.takes(1, &[]);
    let name = node.need_arg(0, "its name")?.word()?.to_owned();
    let mut s = Style {
        name,
        input: input.to_owned(),
        title: String::new(),
        code: None,
        purpose: String::new(),
        uses: Vec::new(),
        parameters: Vec::new(),
        lets: Vec::new(),
        requires: Vec::new(),
        parts: Vec::new(),
        pieces: Vec::new(),
        room: RoomDef {
            place: node.place(),
            on: String::new(),
            sizes: [0, 1, 2],
            offset: [None, None, None],
        },
        seats: Vec::new(),
        joints: Vec::new(),
        stages: Vec::new(),
    };
    let mut room = None;
    for c in node.children() {
        match c.name() {
            "title" => s.title = one_word(&c).unwrap_or_default(),
            "code" => s.code = one_word(&c),
            "purpose" => s.purpose = one_word(&c).unwrap_or_default(),
            "for" => s.uses.extend(words(&c)),
            "parameter" => s.parameters.extend(parameter(&c)),
            "let" => s.lets.extend(derived(&c)),
            "require" => s.requires.extend(require(&c)),
            "part" => s.parts.extend(part(&c)),
            "piece" => s.pieces.extend(piece(&c)),
            "room" => room = room.or_else(|| room_def(&c)),
            "seat" => s.seats.extend(seat(&c)),
            "glue" | "tape" | "close" | "tab" | "tuck" => s.joints.extend(joint(&c)),
            "stage" => s.stages.extend(stage(&c)),
            _ => c.unknown("a style", TOP.iter().copied()),
        }
    }
    duplicates(
        node,
        s.parameters.iter().map(|p| (p.name.as_str(), &p.place)),
        "parameter",
    );
    duplicates(
        node,
        s.lets.iter().map(|p| (p.name.as_str(), &p.place)),
        "let",
    );
    duplicates(
        node,
        s.pieces.iter().map(|p| (p.name.as_str(), &p.place)),
        "piece",
    );
    if s.pieces.is_empty() {
        node.error("missing", "a style needs a `piece`", None);
    }
    match room {
        Some(r) => s.room = r,
        None => node.error(
            "missing",
            "a style needs a `room`: where the asked clear space lies",
            None,
        ),
    }
    if s.title.is_empty() {
        s.title.clone_from(&s.name);
    }
    Some(s)
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

fn words(node: &Node<'_>) -> Vec<String> {
    node.takes(node.args().count(), &[]);
    node.childless();
    let _ = node.need_arg(0, "a word");
    node.args()
        .filter_map(|f| f.word().map(str::to_owned))
        .collect()
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

fn seat(node: &Node<'_>) -> Option<SeatDef> {
    node.takes(1, &["over", "apart"]);
    node.childless();
    Some(SeatDef {
        place: node.place(),
        piece: node.need_arg(0, "a piece")?.word()?.to_owned(),
        over: node
            .need_prop("over", "the panel it faces")?
            .word()?
            .to_owned(),
        apart: needed(node, "apart", "the distance between the two inside faces")?,
    })
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
    node.takes(2, &["when", "held"]);
    let title = node.need_arg(0, "a title")?.word()?.to_owned();
    let text = node.need_arg(1, "an instruction line")?.word()?.to_owned();
    let held = node.prop("held").map_or(Some(Held::Upright), |f| {
        f.choice(&[
            ("upright", Held::Upright),
            ("flat", Held::Flat),
            ("over", Held::Over),
        ])
    })?;
    let mut moves = Vec::new();
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
                moves.push(MoveDef::Turn {
                    panels,
                    to: maybe(&c, "to"),
                    during: [maybe(&c, "starts"), maybe(&c, "ends")],
                });
            }
            "enter" => {
                c.takes(1, &["from"]);
                c.childless();
                let f = c.need_arg(0, "a piece")?;
                moves.push(MoveDef::Enter {
                    piece: f.word()?.to_owned(),
                    place: f.place(),
                    from: maybe(&c, "from"),
                });
            }
            _ => c.unknown("a stage", ["turn", "enter"]),
        }
    }
    Some(StageDef {
        title,
        place: node.place(),
        text,
        when: maybe(node, "when"),
        held,
        moves,
    })
}
