//! Stock as plain text that people write: read and written back. The format is in `docs/stock.md`.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::shape::{Shape, Spot, steps};
use super::sound::{LARGEST, ShapeFault, shape_fault};
use super::stock::{LONGEST_NAME, MOST_OF_A_KIND, Piece, PieceFault, Stock, good_name, good_price};
use crate::diag::{Diag, Outcome};
use crate::job::length;
use crate::read::{Field, Node, parse};
use crate::source::Text;

const KINDS: [&str; 2] = ["sheet", "off-cut"];
const KEYS: [&str; 5] = ["board", "length", "width", "count", "price"];
const RINGS: [&str; 2] = ["outline", "hole"];
/// Corners on one written line.
const CORNERS_A_LINE: usize = 4;

/// Reads a stock file.
///
/// # Errors
/// Every message found.
pub fn read_stock(text: &Text) -> Outcome<Stock> {
    let doc = parse(text)?;
    let mut names = BTreeSet::new();
    let mut pieces = Vec::new();
    for node in doc.nodes() {
        if !KINDS.contains(&node.name()) {
            node.unknown("a stock file", KINDS);
            continue;
        }
        node.takes(1, &KEYS);
        let name = node
            .need_arg(0, "a name, such as \"C-1600\"")
            .and_then(name);
        if let (Some(name), Some(field)) = (&name, node.arg(0))
            && !names.insert(name.clone())
        {
            field.error(
                "given-twice",
                format!("`{name}` is given twice in this file"),
                Some("give one of them another name, or add up the counts".into()),
            );
        }
        pieces.extend(piece(node, name));
    }
    if doc.nodes().next().is_none() {
        doc.report(Diag::warning("empty", "this file holds no sheet and no off-cut").at(doc.top()));
    }
    doc.finish(Some(Stock { pieces })).map(|(stock, _)| stock)
}

fn piece(node: Node<'_>, name: Option<String>) -> Option<Piece> {
    let off_cut = node.name() == "off-cut";
    let board = node
        .need_prop("board", "the board's name")
        .and_then(self::name);
    let count = match node.prop("count") {
        Some(f) => count(f),
        None if off_cut => Some(1),
        None => {
            let _ = node.need_prop("count", "how many there are");
            None
        }
    };
    let price = node.prop("price").map_or(Some(0.0), price);
    let shape = shape(node);
    Some(Piece {
        name: name?,
        board: board?,
        shape: shape?,
        count: count?,
        price: price?,
        off_cut,
    })
}

fn name(field: Field<'_>) -> Option<String> {
    let word = field.word()?;
    if good_name(word) {
        return Some(word.to_owned());
    }
    field.error(
        PieceFault::Name.code(),
        PieceFault::Name.to_string(),
        Some(format!(
            "shorten it to {LONGEST_NAME} characters that can be written on the board"
        )),
    );
    None
}

fn count(field: Field<'_>) -> Option<u32> {
    let text = field.text();
    let whole = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match text.parse::<u32>() {
        Ok(n) if whole && n <= MOST_OF_A_KIND => Some(n),
        _ if whole => {
            let fault = PieceFault::Count;
            field.error(fault.code(), fault.to_string(), None);
            None
        }
        _ => {
            field.error(
                "wrong-kind",
                "a whole number of sheets is needed here",
                Some("half a sheet is an off-cut: off-cut \"name\" board=\"C\" ...".into()),
            );
            None
        }
    }
}

fn price(field: Field<'_>) -> Option<f64> {
    let text = field.text();
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    match text.parse::<f64>() {
        Ok(v) if plain && good_price(v) => Some(v),
        _ => {
            let fault = PieceFault::Price;
            let help = "a plain number in the workshop's currency, such as price=3.40";
            field.error(fault.code(), fault.to_string(), Some(help.into()));
            None
        }
    }
}

/// The shape, from `length` and `width` or from rings of corners.
fn shape(node: Node<'_>) -> Option<Shape> {
    for child in node.children().filter(|c| !RINGS.contains(&c.name())) {
        child.unknown(&format!("`{}`", node.name()), RINGS);
    }
    let mut outlines = node.children().filter(|c| c.name() == "outline");
    let outline = outlines.next();
    for twice in outlines {
        twice.error(
            "given-twice",
            "`outline` is given twice",
            Some("a piece of board has one outline; what is cut away inside is a `hole`".into()),
        );
    }
    let holes: Vec<Node<'_>> = node.children().filter(|c| c.name() == "hole").collect();
    let outer = match outline {
        Some(outline) => {
            for key in ["length", "width"] {
                if let Some(f) = node.prop(key) {
                    f.error(
                        "given-twice",
                        format!("`{key}` and `outline` both say how large it is"),
                        Some("keep one of them".into()),
                    );
                }
            }
            corners(outline)
        }
        None => rectangle(node),
    };
    let rings: Vec<Option<Vec<Spot>>> = holes.iter().map(|h| corners(*h)).collect();
    let shape = Shape {
        outer: outer?,
        holes: rings.into_iter().collect::<Option<_>>()?,
    };
    let settled = shape.settled();
    // As written, turnings and place are free.
    let wrong = shape_fault(&shape).and_then(|f| match f {
        ShapeFault::WrongTurning { .. } | ShapeFault::OffOrigin => None,
        f => Some(f),
    });
    let Some(fault) = wrong else {
        return Some(settled);
    };
    let (ring, corner) = fault.at();
    let at = match ring {
        0 => outline,
        n => holes.get(n - 1).copied(),
    };
    let help = match fault {
        ShapeFault::Crossing { .. } => {
            Some("give the corners in order, once round; rings may not even touch".to_owned())
        }
        ShapeFault::HoleOutside { .. } => {
            Some("holes count from the same corner as the outline".to_owned())
        }
        _ => None,
    };
    match at.and_then(|n| n.arg(2 * corner?)) {
        Some(field) => field.error(fault.code(), fault.to_string(), help),
        None => at
            .unwrap_or(node)
            .error(fault.code(), fault.to_string(), help),
    }
    None
}

fn rectangle(node: Node<'_>) -> Option<Vec<Spot>> {
    let side = |key: &str, what: &str| {
        let field = node.need_prop(key, what)?;
        let side = within(field)?;
        if side <= 0 {
            field.error(
                "not-positive",
                format!("`{key}` must be more than zero"),
                Some("give the sheet's size as it lies, such as \"1600mm\"".into()),
            );
            return None;
        }
        Some(side)
    };
    let length = side("length", "its size along the flutes");
    let width = side("width", "its size across the flutes");
    Some(Shape::rect(length?, width?).outer)
}

/// A length on the grid, to the nearest step, no longer than a sheet may be.
fn within(field: Field<'_>) -> Option<i64> {
    let found = steps(length(&field)?);
    if found.unsigned_abs() <= LARGEST.unsigned_abs() {
        return Some(found);
    }
    let fault = ShapeFault::TooLarge;
    field.error(
        fault.code(),
        fault.to_string(),
        Some("check the unit".into()),
    );
    None
}

/// A ring of corners: x and y by turns. The first corner may be given again at the end.
fn corners(node: Node<'_>) -> Option<Vec<Spot>> {
    node.takes(usize::MAX, &[]);
    node.childless();
    let values: Vec<Option<i64>> = node.args().map(within).collect();
    if values.len() % 2 == 1 || values.is_empty() {
        node.error(
            "bad-outline",
            format!(
                "`{}` needs x and y of every corner, and has {} values",
                node.name(),
                values.len()
            ),
            Some("such as outline \"0mm\" \"0mm\" \"400mm\" \"0mm\" \"0mm\" \"300mm\"".into()),
        );
        return None;
    }
    let values = values.into_iter().collect::<Option<Vec<i64>>>()?;
    let mut ring: Vec<Spot> = values
        .chunks_exact(2)
        .map(|p| Spot::new(p[0], p[1]))
        .collect();
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    Some(ring)
}

/// Writes a stock file. Read again, it gives the same stock, if every piece is without
/// [fault](Piece::fault) and no name is there twice.
#[must_use]
pub fn write_stock(stock: &Stock) -> String {
    let mut out = String::new();
    for p in &stock.pieces {
        let kind = KINDS[usize::from(p.off_cut)];
        let (name, board) = (quoted(&p.name), quoted(&p.board));
        let _ = write!(out, "{kind} {name} board={board}");
        let rect = Shape {
            holes: Vec::new(),
            outer: p.shape.outer.clone(),
        }
        .as_rect();
        if let Some([length, width]) = rect {
            let _ = write!(out, " length=\"{}\" width=\"{}\"", mm(length), mm(width));
        }
        let _ = write!(out, " count={} price={}", p.count, p.price);
        let outline = rect.is_none().then_some(("outline", &p.shape.outer));
        let holes = p.shape.holes.iter().map(|h| ("hole", h));
        let mut rings = outline.into_iter().chain(holes).peekable();
        if rings.peek().is_some() {
            out.push_str(" {\n");
            for (word, ring) in rings {
                write_ring(&mut out, word, ring);
            }
            out.push('}');
        }
        out.push('\n');
    }
    out
}

fn write_ring(out: &mut String, word: &str, ring: &[Spot]) {
    let _ = write!(out, "    {word}");
    for (i, p) in ring.iter().enumerate() {
        if i > 0 && i % CORNERS_A_LINE == 0 {
            out.push_str(" \\\n       ");
        }
        let _ = write!(out, " \"{}\" \"{}\"", mm(p.x), mm(p.y));
    }
    out.push('\n');
}

/// Grid steps as millimetres, every one of them.
fn mm(steps: i64) -> String {
    let sign = if steps < 0 { "-" } else { "" };
    let (whole, part) = (steps.unsigned_abs() / 1000, steps.unsigned_abs() % 1000);
    let text = format!("{sign}{whole}.{part:03}");
    format!("{}mm", text.trim_end_matches('0').trim_end_matches('.'))
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
