//! What a job engraves on its panels: texts, names and handling signs.

use super::{length, positive_field};
use crate::diag::Place;
use crate::letters::{Sign, known};
use crate::read::{Field, Node, parse, suggestion};
use crate::source::Text;
use crate::style::Named;
use crate::units::{Angle, Dim, Length};

/// More marks than this are refused.
pub const MOST_MARKS: usize = 100;
/// A text longer than this is refused.
pub const LONGEST_TEXT: usize = 400;

/// Which face of the board a mark is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The face that the blank is drawn on.
    Inside,
    /// The other one.
    Outside,
}

impl Face {
    /// Its word in a job file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Outside => "outside",
        }
    }
}

/// What a mark shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// A text of its own.
    Text(Named),
    /// The names of the job and of the piece.
    PartName,
    /// A handling sign.
    Sign(Sign),
}

/// Where a mark is on its panel, as the reader sees that face with the mark upright.
#[derive(Clone, Debug, PartialEq)]
pub enum Spot {
    /// In the middle or at an edge: -1, 0 or 1 to the right, and upwards.
    At([i8; 2]),
    /// Its middle so far to the right of and above the lower left corner of the clear span.
    From([Length; 2]),
}

/// One mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it shows.
    pub shown: Shown,
    /// Where it is asked for.
    pub place: Place,
    /// The panel, by its full name.
    pub on: Named,
    /// Which face.
    pub face: Face,
    /// Height of capitals, or of the sign; the usual one if absent.
    pub height: Option<Length>,
    /// Where on the panel.
    pub spot: Spot,
    /// Turned to the left from upright; upright if absent.
    pub turn: Option<Angle>,
}

const KINDS: [&str; 5] = ["text", "part-name", "this-way-up", "fragile", "keep-dry"];
const SPOTS: [(&str, [i8; 2]); 9] = [
    ("centre", [0, 0]),
    ("top", [0, 1]),
    ("bottom", [0, -1]),
    ("left", [-1, 0]),
    ("right", [1, 0]),
    ("top left", [-1, 1]),
    ("top right", [1, 1]),
    ("bottom left", [-1, -1]),
    ("bottom right", [1, -1]),
];

/// Reads one `mark`.
pub(super) fn mark(node: &Node<'_>) -> Option<Mark> {
    node.childless();
    let kind = node.need_arg(0, "what it shows")?;
    let word = kind.word()?;
    let shown = match word {
        "text" => node
            .need_prop("text", "what is to be read")
            .and_then(|f| text(&f))
            .map(Shown::Text),
        "part-name" => Some(Shown::PartName),
        _ => Sign::ALL
            .into_iter()
            .find(|s| s.word() == word)
            .map(Shown::Sign),
    };
    if !KINDS.contains(&word) {
        kind.error(
            "unknown-word",
            format!("there is no mark `{word}`"),
            Some(suggestion(word, KINDS)),
        );
        return None;
    }
    let (size, turns) = match word {
        "text" => ("height", true),
        "part-name" => ("height", true),
        // It shows by itself where up is.
        "this-way-up" => ("size", false),
        _ => ("size", true),
    };
    let mut keys = vec!["on", "face", "at", "x", "y", size];
    if word == "text" {
        keys.push("text");
    }
    if turns {
        keys.push("turn");
    }
    node.takes(1, &keys);
    let on = node.need_prop("on", "a panel").and_then(|f| {
        Some(Named {
            name: f.word()?.to_owned(),
            place: f.place(),
        })
    });
    let face = match node.prop("face") {
        None if word == "part-name" => Some(Face::Inside),
        None => Some(Face::Outside),
        Some(f) => {
            let words = [Face::Inside, Face::Outside].map(|f| (f.word(), f));
            f.choice(&words)
        }
    };
    let height = match node.prop(size) {
        None => Some(None),
        Some(f) => length(&f).and_then(|l| positive_field(&f, l)).map(Some),
    };
    let turn = match node.prop("turn").filter(|_| turns) {
        None => Some(None),
        Some(f) => super::constant(&f, Dim::ANGLE).map(Angle::rad).map(Some),
    };
    Some(Mark {
        shown: shown?,
        place: kind.place(),
        on: on?,
        face: face?,
        height: height?,
        spot: spot(node)?,
        turn: turn?,
    })
}

fn spot(node: &Node<'_>) -> Option<Spot> {
    let of = |key: &str| node.prop(key).map(|f| length(&f));
    match (of("x"), of("y"), node.prop("at")) {
        (None, None, None) => Some(Spot::At([0, 0])),
        (None, None, Some(at)) => at.choice(&SPOTS).map(Spot::At),
        (Some(x), Some(y), None) => Some(Spot::From([x?, y?])),
        (Some(_), Some(_), Some(at)) => {
            at.error(
                "given-twice",
                "its place is given both by `at` and by `x` and `y`",
                Some("keep one of them".into()),
            );
            None
        }
        (x, _, _) => {
            let (has, lacks) = if x.is_some() { ("x", "y") } else { ("y", "x") };
            node.error(
                "missing",
                format!("`{has}` needs `{lacks}` beside it"),
                Some("give both, or `at`".into()),
            );
            None
        }
    }
}

fn text(f: &Field<'_>) -> Option<Named> {
    let name = f.word()?.to_owned();
    let refuse = |code, message: String, help: &str| {
        f.error(code, message, Some(help.to_owned()));
        None
    };
    if name.trim().is_empty() {
        return refuse("missing", "this mark shows nothing".into(), "give a text");
    }
    if name.chars().count() > LONGEST_TEXT {
        return refuse(
            "too-long",
            format!("a mark holds {LONGEST_TEXT} letters at most"),
            "make several marks of it",
        );
    }
    if let Some(c) = name.chars().find(|c| *c != '\n' && !known(*c)) {
        return refuse(
            "unknown-letter",
            missing(c),
            "write it with letters, figures and signs of western and northern Europe",
        );
    }
    Some(Named {
        name,
        place: f.place(),
    })
}

/// That there is no shape for a letter, which may be one that cannot be seen.
#[must_use]
pub fn missing(letter: char) -> String {
    let code = u32::from(letter);
    if letter.is_control() || letter.is_whitespace() {
        format!("there is no shape for the letter U+{code:04X}")
    } else {
        format!("there is no shape for the letter `{letter}` (U+{code:04X})")
    }
}

/// Reports marks too many.
pub(super) fn not_too_many(node: &Node<'_>, all: &[Mark]) {
    if let Some(m) = all.get(MOST_MARKS) {
        node.report(
            crate::diag::Diag::error(
                "too-many",
                format!("a job takes at most {MOST_MARKS} marks"),
            )
            .at(m.place.clone()),
        );
    }
}

/// Reads marks given outside any job file: a text of `mark` nodes.
///
/// # Errors
/// Every message found.
pub fn outside_marks(text: &Text) -> crate::diag::Outcome<Vec<Mark>> {
    let doc = parse(text)?;
    let mut all = Vec::new();
    let mut last = None;
    for node in doc.nodes() {
        if node.name() == "mark" {
            all.extend(mark(&node));
            last = Some(node);
        } else {
            node.unknown("this", ["mark"]);
        }
    }
    if let Some(node) = last {
        not_too_many(&node, &all);
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}
