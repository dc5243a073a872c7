//! The job, what is asked of one case: inside size, style and its parameters, board, what goes into it,
//! machine, quantity.

mod contents;
mod fitment;
mod mark;
mod split;

use crate::board::{Creasing, Measured};
use crate::diag::{Diag, Outcome, Place};
use crate::expr::{Expr, parse_quantity};
use crate::read::{Field, Node, parse};
use crate::source::Text;
pub use crate::style::Named;
use crate::style::{Formula, place_error};
use crate::units::{Dim, Length};

pub use contents::{Content, MOST_CONTENTS, outside_contents};
pub use fitment::{Fitment, MOST_FITMENTS};
pub use mark::{Face, LONGEST_TEXT, MOST_MARKS, Mark, Shown, Spot, missing, outside_marks};
pub use split::{Split, outside_splits};

/// Names of the three asked sizes, in the trade's order.
pub const ASKED: [&str; 3] = ["length", "width", "depth"];

/// One case to be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// What the case is called; also the stem of output file names.
    pub title: String,
    /// The style's name, or a path to a style file when it ends in `.kdl`.
    pub style: Named,
    /// The board's name.
    pub board: Named,
    /// Further board files to read, as paths.
    pub board_files: Vec<Named>,
    /// Clear inside length, width and depth.
    pub inside: [Length; 3],
    /// Where the asked sizes stand.
    pub inside_place: Place,
    /// How creases are made.
    pub creasing: Creasing,
    /// Fold axis depth p to use instead of the board's: along and across the flutes.
    pub axis_depth: Option<[f64; 2]>,
    /// Caliper measured on the board at hand, instead of the board's.
    pub caliper: Option<Length>,
    /// What was measured in this workshop, the latest first: used where the job says nothing itself.
    pub measured: Vec<Measured>,
    /// Style parameters set by the job.
    pub set: Vec<(Named, Formula)>,
    /// What is put into the case to keep its contents in place.
    pub fitments: Vec<Fitment>,
    /// What is sent in it.
    pub contents: Vec<Content>,
    /// Where its blanks are cut in two.
    pub splits: Vec<Split>,
    /// What is engraved on its panels.
    pub marks: Vec<Mark>,
    /// Sheet at hand: along and across the flutes.
    pub sheet: Option<[Length; 2]>,
    /// Cutter's bed.
    pub bed: Option<[Length; 2]>,
    /// How many cases.
    pub quantity: u32,
    /// How its blanks may be turned on the sheet.
    pub flutes: Flutes,
    /// For the title block: who made the drawing, for whom, its number, its date.
    pub drawing: DrawingFacts,
}

/// Whether flutes have to run as the style draws them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Flutes {
    /// They do: the strength of the case rests on it.
    #[default]
    Kept,
    /// They may run either way, so that a blank may be turned by quarters on the sheet.
    Either,
}

/// What the title block shows beside the case itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DrawingFacts {
    /// Legal owner.
    pub owner: String,
    /// Who drew it.
    pub creator: String,
    /// Who approved it.
    pub approved: String,
    /// Identification number.
    pub number: String,
    /// Date of issue, as text.
    pub date: String,
}

const TOP: &[&str] = &[
    "style",
    "inside",
    "board",
    "board-file",
    "crease",
    "set",
    "fitment",
    "contents",
    "mark",
    "split",
    "sheet",
    "bed",
    "quantity",
    "flutes",
    "drawing",
    "caliper",
];

/// Reads a job file.
///
/// # Errors
/// Every message found.
pub fn parse_job(text: &Text) -> Outcome<Job> {
    let doc = parse(text)?;
    let mut job = None;
    for node in doc.nodes() {
        if node.name() != "job" {
            node.unknown("a job file", ["job"]);
        } else if job.is_some() {
            node.error("given-twice", "a job file holds one job", None);
        } else {
            job = read(&node);
        }
    }
    if doc.nodes().next().is_none() {
        doc.report(
            Diag::error("empty", "this file holds no job")
                .at(doc.top())
                .help("begin with: job \"name\" { ... }; `boxwright new` writes one for you"),
        );
    }
    doc.finish(job).map(|(j, _)| j)
}

fn read(node: &Node<'_>) -> Option<Job> {
    node.takes(1, &[]);
    let title = node.need_arg(0, "a title")?.word()?.to_owned();
    for c in node.children() {
        if !TOP.contains(&c.name()) {
            c.unknown("a job", TOP.iter().copied());
        }
    }
    for name in TOP.iter().filter(|n| {
        !matches!(
            **n,
            "set" | "board-file" | "fitment" | "contents" | "mark" | "split"
        )
    }) {
        for twice in node.children().filter(|c| c.name() == *name).skip(1) {
            twice.error(
                "given-twice",
                format!("`{name}` is given twice"),
                Some("keep one of them".into()),
            );
        }
    }
    let style = node.child("style").or_else(|| {
        node.error(
            "missing",
            "a job needs a `style`",
            Some("see `boxwright list styles`".into()),
        );
        None
    });
    let inside = node.child("inside").or_else(|| {
        node.error(
            "missing",
            "a job needs `inside`: the clear length, width and depth",
            None,
        );
        None
    });
    let board = node.child("board").or_else(|| {
        node.error(
            "missing",
            "a job needs a `board`",
            Some("see `boxwright list boards`".into()),
        );
        None
    });
    let style = style.and_then(|n| named(&n, 0));
    let inside_place = inside.map(|n| n.place());
    let inside = inside.and_then(|n| sizes(&n));
    let board_name = board.and_then(|n| named(&n, 0));
    let mut job = Job {
        title,
        style: style?,
        board: board_name?,
        board_files: Vec::new(),
        inside: inside?,
        inside_place: inside_place?,
        creasing: Creasing::Rule,
        axis_depth: None,
        caliper: None,
        measured: Vec::new(),
        set: Vec::new(),
        fitments: Vec::new(),
        contents: Vec::new(),
        splits: Vec::new(),
        marks: Vec::new(),
        sheet: None,
        bed: None,
        quantity: 1,
        flutes: Flutes::Kept,
        drawing: DrawingFacts::default(),
    };
    for c in node.children() {
        match c.name() {
            "board-file" => job.board_files.extend(named(&c, 0)),
            "crease" => {
                let (way, depth) = crease(&c);
                job.creasing = way.unwrap_or(job.creasing);
                job.axis_depth = depth;
            }
            "caliper" => job.caliper = caliper(&c),
            "set" => job.set.extend(set(&c)),
            "fitment" => job.fitments.extend(fitment::fitment(&c)),
            "contents" => job.contents.extend(contents::content(&c)),
            "split" => job.splits.extend(split::split(&c)),
            "mark" => job.marks.extend(mark::mark(&c)),
            "sheet" => job.sheet = pair(&c),
            "bed" => job.bed = pair(&c),
            "quantity" => {
                c.takes(1, &[]);
                if let Some(f) = c.need_arg(0, "a count") {
                    match f.text().parse::<u32>() {
                        Ok(n) if n > 0 => job.quantity = n,
                        _ => f.error("wrong-kind", "a whole number of cases is needed here", None),
                    }
                }
            }
            "flutes" => {
                c.takes(1, &[]);
                c.childless();
                let words = [("kept", Flutes::Kept), ("either", Flutes::Either)];
                let way = c
                    .need_arg(0, "`kept` or `either`")
                    .and_then(|f| f.choice(&words));
                job.flutes = way.unwrap_or_default();
            }
            "drawing" => drawing(&c, &mut job.drawing),
            _ => {}
        }
    }
    fitment::distinct(node, &job.fitments);
    contents::not_too_many(node, &job.contents);
    split::distinct(node, &job.splits);
    mark::not_too_many(node, &job.marks);
    Some(job)
}

/// Reads fitments given outside any job file: a text of `fitment` nodes.
///
/// # Errors
/// Every message found.
pub fn outside_fitments(text: &Text) -> Outcome<Vec<Fitment>> {
    let doc = parse(text)?;
    let mut all = Vec::new();
    let mut last = None;
    for node in doc.nodes() {
        if node.name() == "fitment" {
            all.extend(fitment::fitment(&node));
            last = Some(node);
        } else {
            node.unknown("this", ["fitment"]);
        }
    }
    if let Some(node) = last {
        fitment::distinct(&node, &all);
    }
    doc.finish(Some(all)).map(|(all, _)| all)
}

fn caliper(node: &Node<'_>) -> Option<Length> {
    node.takes(1, &[]);
    let l = length(&node.need_arg(0, "a length")?)?;
    (positive(node, l) && not_too_thick(node, l)).then_some(l)
}

fn set(node: &Node<'_>) -> Option<(Named, Formula)> {
    node.takes(2, &[]);
    let (name, field) = (named(node, 1), node.need_arg(1, "a value"));
    Some((name?, setting(&field?)?))
}

fn named(node: &Node<'_>, more_args: usize) -> Option<Named> {
    node.takes(1 + more_args, &[]);
    node.childless();
    let f = node.need_arg(0, "a name")?;
    Some(Named {
        name: f.word()?.to_owned(),
        place: f.place(),
    })
}

fn sizes(node: &Node<'_>) -> Option<[Length; 3]> {
    node.takes(0, &ASKED);
    node.childless();
    let mut all = [Length::ZERO; 3];
    let mut good = true;
    for (slot, name) in all.iter_mut().zip(ASKED) {
        match node
            .need_prop(name, "a length")
            .and_then(|f| asked_length(&f))
        {
            Some(l) => *slot = l,
            None => good = false,
        }
    }
    good.then_some(all)
}

fn asked_length(f: &Field<'_>) -> Option<Length> {
    let l = length(f)?;
    match asked_size(l) {
        Ok(l) => Some(l),
        Err((code, message)) => {
            f.error(
                code,
                message,
                Some("give the clear inside size, such as \"312mm\"".into()),
            );
            None
        }
    }
}

/// Largest inside size the program works with.
pub const LARGEST: Length = Length::mm(20_000.0);

/// Checks that a length can be an inside size.
///
/// # Errors
/// A code and message when it is not above zero or beyond [`LARGEST`].
pub fn asked_size(l: Length) -> Result<Length, (&'static str, String)> {
    if l.to_mm() <= 0.0 || l.to_mm().is_nan() {
        Err((
            "not-positive",
            "an inside size must be more than zero".into(),
        ))
    } else if l > LARGEST {
        Err((
            "too-large",
            format!(
                "an inside size over {} m is beyond this program",
                LARGEST.to_mm() / 1000.0
            ),
        ))
    } else {
        Ok(l)
    }
}

fn positive(node: &Node<'_>, l: Length) -> bool {
    if l.to_mm() > 0.0 {
        return true;
    }
    node.error(
        "not-positive",
        format!("`{}` must be more than zero", node.name()),
        None,
    );
    false
}

/// Board over this caliper is refused, here as in board files.
pub const THICKEST: Length = Length::mm(30.0);

/// The length, when it is more than zero.
fn positive_field(f: &Field<'_>, l: Length) -> Option<Length> {
    if l.to_mm() > 0.0 && l <= LARGEST {
        return Some(l);
    }
    f.error(
        "not-positive",
        "this must be more than zero, and can be 20 m at most",
        None,
    );
    None
}

fn not_too_thick(node: &Node<'_>, l: Length) -> bool {
    if l <= THICKEST {
        return true;
    }
    node.error(
        "too-large",
        format!("board {} mm thick is beyond this program", l.to_mm()),
        Some("give the thickness of one sheet as it lies".into()),
    );
    false
}

/// Reads a value as a constant length.
pub(crate) fn length(f: &Field<'_>) -> Option<Length> {
    constant(f, Dim::LENGTH).map(Length::mm)
}

fn constant(f: &Field<'_>, dim: Dim) -> Option<f64> {
    let text = f.text();
    let (place, exact) = f.place_exact();
    match parse_quantity(&text) {
        Ok(q) if q.dim == dim => Some(q.value),
        Ok(q) => {
            f.error(
                "wrong-unit",
                format!(
                    "this is {}, but {} is needed here",
                    q.dim.words(),
                    dim.words()
                ),
                (dim == Dim::LENGTH && q.dim == Dim::NUMBER)
                    .then(|| format!("write the unit: \"{text}mm\"")),
            );
            None
        }
        Err(e) => {
            f.report(place_error(&place, exact, &e));
            None
        }
    }
}

/// A parameter's value: an expression, or a bare word for a choice.
fn setting(field: &Field<'_>) -> Option<Formula> {
    let (place, exact) = field.place_exact();
    let text = field.text();
    match Expr::parse(&text) {
        Ok(expr) => Some(Formula { expr, place, exact }),
        Err(e) => {
            field.report(place_error(&place, exact, &e));
            None
        }
    }
}

fn pair(node: &Node<'_>) -> Option<[Length; 2]> {
    node.takes(2, &[]);
    node.childless();
    let a = length(&node.need_arg(0, "two lengths")?)?;
    let b = length(&node.need_arg(1, "a second length")?)?;
    (positive(node, a) && positive(node, b)).then_some([a, b])
}

/// How creases are made, and the fold axis depth along and across the flutes.
fn crease(node: &Node<'_>) -> (Option<Creasing>, Option<[f64; 2]>) {
    node.takes(1, &["depth", "depth-along", "depth-across"]);
    node.childless();
    let words: Vec<(&str, Creasing)> = Creasing::ALL.iter().map(|c| (c.word(), *c)).collect();
    let way = node.arg(0).and_then(|f| f.choice(&words));
    let share = |key: &str| -> Option<f64> {
        let f = node.prop(key)?;
        let v = constant(&f, Dim::NUMBER)?;
        if !(0.0..=1.0).contains(&v) {
            f.error(
                "out-of-range",
                "a fold axis depth lies between 0 and 1",
                None,
            );
            return None;
        }
        Some(v)
    };
    let both = share("depth");
    let along = share("depth-along").or(both);
    let across = share("depth-across").or(both);
    if along.is_some() != across.is_some() {
        node.error(
            "missing",
            "give both depth-along and depth-across, or one depth for both",
            None,
        );
    }
    (way, along.zip(across).map(|(a, b)| [a, b]))
}

fn drawing(node: &Node<'_>, facts: &mut DrawingFacts) {
    node.takes(0, &["owner", "creator", "approved", "number", "date"]);
    node.childless();
    for (key, field) in node.props() {
        let text = field.text();
        match key {
            "owner" => facts.owner = text,
            "creator" => facts.creator = text,
            "approved" => facts.approved = text,
            "number" => facts.number = text,
            "date" => facts.date = text,
            _ => {}
        }
    }
}

/// A word or quantity given outside any file, such as on the command line.
///
/// # Errors
/// The expression's own error, placed in `input`.
pub fn outside_setting(input: &str, text: &str) -> Outcome<Formula> {
    let place = Place {
        input: input.to_owned(),
        start: 0,
        end: text.len(),
    };
    match Expr::parse(text) {
        Ok(expr) => Ok(Formula {
            expr,
            place,
            exact: true,
        }),
        Err(e) => Err(vec![place_error(&place, true, &e)]),
    }
}

/// A constant quantity of dimension `dim` given outside any file, in base units.
///
/// # Errors
/// The expression's own error or `wrong-unit`, at `place`.
pub fn outside_constant(place: &Place, text: &str, dim: Dim) -> Result<f64, Box<Diag>> {
    match parse_quantity(text) {
        Ok(q) if q.dim == dim => Ok(q.value),
        Ok(q) => {
            let message = format!(
                "this is {}, but {} is needed here",
                q.dim.words(),
                dim.words()
            );
            let diag = Diag::error("wrong-unit", message).at(place.clone());
            let forgotten = dim == Dim::LENGTH && q.dim == Dim::NUMBER;
            Err(Box::new(if forgotten {
                diag.help(format!("write the unit: {}mm", text.trim()))
            } else {
                diag
            }))
        }
        Err(e) => Err(Box::new(place_error(place, true, &e))),
    }
}
