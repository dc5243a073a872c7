//! The layout file: JSON that holds all a cutter has to know, `docs/formats.md` has every field.
//!
//! Shapes and places are whole micrometres, so that what is read is what was proved; lines are in
//! mm. Only a proved layout is written, and what is read is proved again.

use serde::Serialize;
use serde_json::Value;

use super::bound::bounds;
use super::lay::{Why, why};
use super::layout::{LaidSheet, Layout, Line, Part, Placed, Proved, Turns};
use super::locate::{Step, locate};
use super::shape::{STEPS_PER_MM, Shape, Spot, Turn};
use super::stock::Piece;
use crate::blank::LineUse;
use crate::diag::{Diag, Outcome, Place};
use crate::geom::{DVec2, Path, Vertex};
use crate::source::Text;

/// A longer file is refused before it is parsed.
pub const MOST_LAYOUT_BYTES: usize = 16 << 20;
/// Corners of one part's or sheet's shape.
pub const MOST_CORNERS: usize = 5_000;
/// Parts on all sheets together.
pub const MOST_PLACED: usize = 20_000;

const FORMAT: &str = "boxwright-layout";
const VERSION: i64 = 1;
/// Farthest coordinate, in steps: 50 m.
const FARTHEST: i64 = 50_000_000;
/// Most of anything.
const MOST: i64 = 1_000_000;

type Corners = Vec<[i64; 2]>;

#[derive(Serialize)]
struct File<'a> {
    format: &'static str,
    version: i64,
    title: &'a str,
    spacing: i64,
    margin: i64,
    reach: Option<[i64; 2]>,
    parts: Vec<FilePart<'a>>,
    stock: Vec<FilePiece<'a>>,
    sheets: Vec<FileSheet>,
    left: &'a [u32],
    figures: Figures,
}

#[derive(Serialize)]
struct FilePart<'a> {
    name: &'a str,
    job: &'a str,
    piece: &'a str,
    board: &'a str,
    caliper: f64,
    wanted: u32,
    flutes: &'static str,
    quarter_turns: bool,
    face_up: &'a str,
    outline: Corners,
    windows: Vec<Corners>,
    lines: Vec<FileLine>,
}

#[derive(Serialize)]
struct FileLine {
    #[serde(rename = "use")]
    line_use: LineUse,
    closed: bool,
    points: Vec<[f64; 3]>,
}

#[derive(Serialize)]
struct FilePiece<'a> {
    name: &'a str,
    board: &'a str,
    count: u32,
    price: f64,
    off_cut: bool,
    outline: Corners,
    holes: Vec<Corners>,
}

#[derive(Serialize)]
struct FileSheet {
    stock: usize,
    placed: Vec<FilePlaced>,
}

#[derive(Serialize)]
struct FilePlaced {
    part: usize,
    turn: u16,
    at: [i64; 2],
}

/// Worked out from the rest, for those who read; not read back.
#[derive(Serialize)]
struct Figures {
    sheets: Vec<Use>,
    bounds: Vec<Least>,
    why: Vec<Option<&'static str>>,
}

#[derive(Serialize)]
struct Use {
    used: f64,
}

#[derive(Serialize)]
struct Least {
    board: String,
    sheets: usize,
    least_sheets: usize,
    cost: Option<f64>,
    least_cost: Option<f64>,
}

fn corners(ring: &[Spot]) -> Corners {
    ring.iter().map(|p| [p.x, p.y]).collect()
}

const fn degrees(turn: Turn) -> u16 {
    turn.quarters() as u16 * 90
}

/// A layout as text.
///
/// # Errors
/// `layout-failed` when a number in it is none.
pub fn write_layout(layout: &Proved) -> Result<String, Diag> {
    let file = File {
        format: FORMAT,
        version: VERSION,
        title: &layout.title,
        spacing: layout.spacing,
        margin: layout.margin,
        reach: layout.reach,
        parts: layout.parts.iter().map(file_part).collect(),
        stock: layout.stock.iter().map(file_piece).collect(),
        sheets: layout.sheets.iter().map(file_sheet).collect(),
        left: &layout.left,
        figures: Figures {
            sheets: layout
                .sheets
                .iter()
                .map(|s| Use {
                    used: (layout.used(s) * 1e6).round() / 1e6,
                })
                .collect(),
            bounds: bounds(layout)
                .into_iter()
                .map(|b| Least {
                    board: b.board,
                    sheets: b.sheets,
                    least_sheets: b.least_sheets,
                    cost: b.cost,
                    least_cost: b.least_cost.map(|c| (c * 1e6).round() / 1e6),
                })
                .collect(),
            why: why(layout)
                .iter()
                .map(|w| w.as_ref().map(Why::code))
                .collect(),
        },
    };
    serde_json::to_string(&file).map(|s| s + "\n").map_err(|e| {
        Diag::error(
            "layout-failed",
            format!("the layout cannot be written: {e}"),
        )
    })
}

fn file_part(p: &Part) -> FilePart<'_> {
    let line = |l: &Line| FileLine {
        line_use: l.line_use,
        closed: l.path.closed,
        points: l
            .path
            .vertices
            .iter()
            .map(|v| [v.at.x, v.at.y, v.bulge])
            .collect(),
    };
    FilePart {
        name: &p.name,
        job: &p.job,
        piece: &p.piece,
        board: &p.board,
        caliper: p.caliper,
        wanted: p.wanted,
        flutes: if p.flutes_along_x { "x" } else { "y" },
        quarter_turns: p.turns == Turns::Quarter,
        face_up: if p.outside_up { "outside" } else { "inside" },
        outline: corners(&p.shape.outer),
        windows: p.shape.holes.iter().map(|h| corners(h)).collect(),
        lines: p.lines.iter().map(line).collect(),
    }
}

fn file_piece(p: &Piece) -> FilePiece<'_> {
    FilePiece {
        name: &p.name,
        board: &p.board,
        count: p.count,
        price: p.price,
        off_cut: p.off_cut,
        outline: corners(&p.shape.outer),
        holes: p.shape.holes.iter().map(|h| corners(h)).collect(),
    }
}

fn file_sheet(s: &LaidSheet) -> FileSheet {
    FileSheet {
        stock: s.stock,
        placed: s
            .placed
            .iter()
            .map(|p| FilePlaced {
                part: p.part,
                turn: degrees(p.turn),
                at: [p.at.x, p.at.y],
            })
            .collect(),
    }
}

/// Reads a layout and proves it.
///
/// # Errors
/// The first thing that is no layout, at its place; or `layout-not-sound`, everything that is
/// wrong with what it says.
pub fn read_layout(text: &Text) -> Outcome<Proved> {
    let layout = parse(text).map_err(|d| vec![*d])?;
    layout.proved().map_err(|(_, defects)| {
        let at = |d: &super::Defect| {
            let steps: Vec<Step> = match (d.sheet, d.placed.first()) {
                (Some(s), Some(p)) => vec![
                    Step::Key("sheets"),
                    Step::Index(s),
                    Step::Key("placed"),
                    Step::Index(*p),
                ],
                _ => Vec::new(),
            };
            let range = locate(&text.text, &steps);
            Place {
                input: text.name.clone(),
                start: range.start,
                end: if steps.is_empty() {
                    range.start + 1
                } else {
                    range.end
                },
            }
        };
        defects
            .iter()
            .map(|d| {
                Diag::error("layout-not-sound", d.to_string())
                    .at(at(d))
                    .help("lay the parts anew: `boxwright lay`")
            })
            .collect()
    })
}

type Read<T> = Result<T, Box<Diag>>;

fn parse(text: &Text) -> Read<Layout> {
    let place = |start: usize, end: usize| Place {
        input: text.name.clone(),
        start,
        end,
    };
    if text.text.len() > MOST_LAYOUT_BYTES {
        let message = format!(
            "this file has {} bytes; {MOST_LAYOUT_BYTES} are read at most",
            text.text.len()
        );
        return Err(Box::new(
            Diag::error("too-long", message)
                .at(place(0, 0))
                .help("check that it is the file you meant"),
        ));
    }
    let value: Value = serde_json::from_str(&text.text).map_err(|e| {
        let at = offset(&text.text, e.line(), e.column());
        let said = e.to_string();
        let what = said.split(" at line").next().unwrap_or(&said);
        Box::new(
            Diag::error("syntax", format!("this is no JSON: {what}"))
                .at(place(at, (at + 1).min(text.text.len())))
                .help("a layout file is written by `boxwright lay`"),
        )
    })?;
    let top = At {
        text,
        value: &value,
        steps: Vec::new(),
    };
    layout(&top)
}

/// The byte at a line and column, both from 1.
fn offset(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text
        .split_inclusive('\n')
        .take(line.saturating_sub(1))
        .map(str::len)
        .sum();
    let mut at = (start + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A value and the way to it.
struct At<'a> {
    text: &'a Text,
    value: &'a Value,
    steps: Vec<Step>,
}

impl<'a> At<'a> {
    fn error<T>(&self, code: &'static str, message: impl Into<String>, help: &str) -> Read<T> {
        let range = locate(&self.text.text, &self.steps);
        let long = self.value.is_object() || self.value.is_array();
        let place = Place {
            input: self.text.name.clone(),
            start: range.start,
            end: if long { range.start + 1 } else { range.end },
        };
        Err(Box::new(Diag::error(code, message).at(place).help(help)))
    }
    fn step(&self, value: &'a Value, step: Step) -> Self {
        let mut steps = self.steps.clone();
        steps.push(step);
        Self {
            text: self.text,
            value,
            steps,
        }
    }
    fn get(&self, key: &'static str) -> Read<Self> {
        let Some(map) = self.value.as_object() else {
            return self.error(
                "wrong-kind",
                format!("an object with `{key}` is needed here"),
                "see the layout file in docs/formats.md",
            );
        };
        match map.get(key) {
            Some(v) => Ok(self.step(v, Step::Key(key))),
            None => self.error(
                "missing",
                format!("`{key}` is missing here"),
                "see the layout file in docs/formats.md",
            ),
        }
    }
    fn all(&self, most: usize) -> Read<Vec<Self>> {
        let Some(list) = self.value.as_array() else {
            return self.error("wrong-kind", "a list is needed here", "write it as [...]");
        };
        if list.len() > most {
            let message = format!("{} are too many here: {most} at most", list.len());
            return self.error("too-many", message, "lay them in several layouts");
        }
        Ok(list
            .iter()
            .enumerate()
            .map(|(i, v)| self.step(v, Step::Index(i)))
            .collect())
    }
    fn word(&self) -> Read<&'a str> {
        match self.value.as_str() {
            Some(t) => Ok(t),
            None => self.error("wrong-kind", "a text is needed here", "write it in quotes"),
        }
    }
    fn flag(&self) -> Read<bool> {
        match self.value.as_bool() {
            Some(b) => Ok(b),
            None => self.error(
                "wrong-kind",
                "true or false is needed here",
                "write one of them",
            ),
        }
    }
    fn whole(&self, from: i64, to: i64) -> Read<i64> {
        match self.value.as_i64() {
            Some(n) if (from..=to).contains(&n) => Ok(n),
            _ if self.value.is_number() => self.error(
                "out-of-range",
                format!("a whole number from {from} to {to} is needed here"),
                "lengths of shapes and places are in micrometres",
            ),
            _ => self.error(
                "wrong-kind",
                "a whole number is needed here",
                "write it without quotes",
            ),
        }
    }
    fn number(&self, from: f64, to: f64) -> Read<f64> {
        match self.value.as_f64() {
            Some(n) if (from..=to).contains(&n) => Ok(n),
            Some(_) => self.error(
                "out-of-range",
                format!("a number from {from} to {to} is needed here"),
                "lengths of lines are in mm",
            ),
            None => self.error(
                "wrong-kind",
                "a number is needed here",
                "write it without quotes",
            ),
        }
    }
    fn count(&self) -> Read<u32> {
        Ok(u32::try_from(self.whole(0, MOST)?).unwrap_or(0))
    }
    fn index(&self, of: usize, what: &str) -> Read<usize> {
        match self.value.as_u64().and_then(|n| usize::try_from(n).ok()) {
            Some(n) if n < of => Ok(n),
            _ => self.error(
                "wrong-index",
                format!(
                    "there is no {what} {} here: they are counted from 0, and there are {of}",
                    self.value
                ),
                "count them in this file",
            ),
        }
    }
    /// Two or three numbers of a list.
    fn several<T, const N: usize>(&self, read: impl Fn(&Self) -> Read<T>) -> Read<[T; N]> {
        let all = self.all(N)?;
        let values = all.iter().map(read).collect::<Read<Vec<T>>>()?;
        match values.try_into() {
            Ok(v) => Ok(v),
            Err(_) => self.error(
                "wrong-kind",
                format!("{N} numbers are needed here"),
                "such as [0, 0]",
            ),
        }
    }
    fn spot(&self) -> Read<Spot> {
        let [x, y] = self.several(|v| v.whole(-FARTHEST, FARTHEST))?;
        Ok(Spot::new(x, y))
    }
    fn ring(&self) -> Read<Vec<Spot>> {
        self.all(MOST_CORNERS)?.iter().map(Self::spot).collect()
    }
    fn shape(&self, holes: &'static str) -> Read<Shape> {
        let outer = self.get("outline")?.ring()?;
        let list = self.get(holes)?;
        let holes = list
            .all(MOST_CORNERS)?
            .iter()
            .map(Self::ring)
            .collect::<Read<Vec<_>>>()?;
        if outer.len() + holes.iter().map(Vec::len).sum::<usize>() > MOST_CORNERS {
            let message = format!("a shape has {MOST_CORNERS} corners at most");
            return list.error(
                "too-many",
                message,
                "see the layout file in docs/formats.md",
            );
        }
        Ok(Shape { outer, holes })
    }
}

fn layout(top: &At<'_>) -> Read<Layout> {
    let format = top.get("format")?;
    if format.word()? != FORMAT {
        return format.error(
            "wrong-format",
            format!("this is no layout: `{FORMAT}` is needed here"),
            "a layout file is written by `boxwright lay`",
        );
    }
    let version = top.get("version")?;
    if version.value.as_i64() != Some(VERSION) {
        return version.error(
            "wrong-version",
            format!(
                "version {} of a layout file is not known here",
                version.value
            ),
            &format!("this program reads version {VERSION}"),
        );
    }
    let list = |key, read: &dyn Fn(&At<'_>) -> Read<Part>| -> Read<Vec<Part>> {
        top.get(key)?.all(MOST_PLACED)?.iter().map(read).collect()
    };
    let parts = list("parts", &part)?;
    let stock = top
        .get("stock")?
        .all(MOST_PLACED)?
        .iter()
        .map(piece)
        .collect::<Read<Vec<_>>>()?;
    let mut placed = 0;
    let sheets = top
        .get("sheets")?
        .all(MOST_PLACED)?
        .iter()
        .map(|s| sheet(s, parts.len(), stock.len(), &mut placed))
        .collect::<Read<Vec<_>>>()?;
    let left = top.get("left")?;
    let counts = left
        .all(MOST_PLACED)?
        .iter()
        .map(At::count)
        .collect::<Read<Vec<_>>>()?;
    if counts.len() != parts.len() {
        let message = format!("a number for each of {} parts is needed here", parts.len());
        return left.error("wrong-count", message, "how many of it found no place");
    }
    let reach = top.get("reach")?;
    Ok(Layout {
        title: top.get("title")?.word()?.to_owned(),
        spacing: top.get("spacing")?.whole(0, FARTHEST)?,
        margin: top.get("margin")?.whole(0, FARTHEST)?,
        reach: if reach.value.is_null() {
            None
        } else {
            Some(reach.several(|v| v.whole(1, FARTHEST))?)
        },
        parts,
        stock,
        sheets,
        left: counts,
    })
}

fn part(at: &At<'_>) -> Read<Part> {
    let flutes = at.get("flutes")?;
    let flutes_along_x = match flutes.word()? {
        "x" => true,
        "y" => false,
        _ => {
            return flutes.error(
                "unknown-word",
                "flutes run along `x` or `y`",
                "write one of them",
            );
        }
    };
    let up = at.get("face_up")?;
    let outside_up = match up.word()? {
        "inside" => false,
        "outside" => true,
        _ => {
            return up.error(
                "unknown-word",
                "the face that lies up is `inside` or `outside`",
                "write one of them",
            );
        }
    };
    let word = |key| Ok::<_, Box<Diag>>(at.get(key)?.word()?.to_owned());
    Ok(Part {
        name: word("name")?,
        job: word("job")?,
        piece: word("piece")?,
        board: word("board")?,
        caliper: at.get("caliper")?.number(0.0, 100.0)?,
        wanted: at.get("wanted")?.count()?,
        turns: if at.get("quarter_turns")?.flag()? {
            Turns::Quarter
        } else {
            Turns::Half
        },
        flutes_along_x,
        outside_up,
        shape: at.shape("windows")?,
        lines: at
            .get("lines")?
            .all(MOST_PLACED)?
            .iter()
            .map(line)
            .collect::<Read<Vec<_>>>()?,
    })
}

fn line(at: &At<'_>) -> Read<Line> {
    let word = at.get("use")?;
    let name = word.word()?;
    let uses = LineUse::ALL.iter().filter(|u| **u != LineUse::Board);
    let Some(line_use) = uses.copied().find(|u| kebab(*u) == name) else {
        return word.error(
            "unknown-word",
            format!("`{name}` is no use of a line"),
            "cut, crease-inward, crease-outward, perforation or engrave",
        );
    };
    let farthest = f64::from(i32::try_from(FARTHEST).unwrap_or(0)) / STEPS_PER_MM;
    let vertex = |v: &At<'_>| {
        let [x, y, bulge] = v.several(|n| n.number(-farthest, farthest))?;
        Ok(Vertex {
            at: DVec2::new(x, y),
            bulge,
        })
    };
    let points = at.get("points")?;
    let vertices = points
        .all(MOST_PLACED)?
        .iter()
        .map(vertex)
        .collect::<Read<Vec<_>>>()?;
    if vertices.len() < 2 {
        return points.error(
            "wrong-count",
            "a line has two points at least",
            "leave it out",
        );
    }
    Ok(Line {
        line_use,
        path: Path {
            vertices,
            closed: at.get("closed")?.flag()?,
        },
    })
}

/// A use as it is written.
const fn kebab(line_use: LineUse) -> &'static str {
    match line_use {
        LineUse::Cut => "cut",
        LineUse::CreaseInward => "crease-inward",
        LineUse::CreaseOutward => "crease-outward",
        LineUse::Perforation => "perforation",
        LineUse::Engrave => "engrave",
        LineUse::Board => "board",
    }
}

fn piece(at: &At<'_>) -> Read<Piece> {
    Ok(Piece {
        name: at.get("name")?.word()?.to_owned(),
        board: at.get("board")?.word()?.to_owned(),
        shape: at.shape("holes")?,
        count: at.get("count")?.count()?,
        price: at.get("price")?.number(0.0, 1e9)?,
        off_cut: at.get("off_cut")?.flag()?,
    })
}

fn sheet(at: &At<'_>, parts: usize, stock: usize, placed: &mut usize) -> Read<LaidSheet> {
    let list = at.get("placed")?;
    let all = list.all(MOST_PLACED)?;
    *placed += all.len();
    if *placed > MOST_PLACED {
        let message = format!("a layout holds {MOST_PLACED} parts at most");
        return list.error("too-many", message, "lay them in several layouts");
    }
    Ok(LaidSheet {
        stock: at.get("stock")?.index(stock, "stock")?,
        placed: all
            .iter()
            .map(|p| {
                let turn = p.get("turn")?;
                Ok(Placed {
                    part: p.get("part")?.index(parts, "part")?,
                    turn: match turn.value.as_i64() {
                        Some(0) => Turn::None,
                        Some(90) => Turn::Quarter,
                        Some(180) => Turn::Half,
                        Some(270) => Turn::ThreeQuarters,
                        _ => {
                            return turn.error(
                                "unknown-word",
                                "a turn is 0, 90, 180 or 270 degrees",
                                "write one of them",
                            );
                        }
                    },
                    at: p.get("at")?.spot()?,
                })
            })
            .collect::<Read<Vec<_>>>()?,
    })
}

#[cfg(test)]
mod tests;
