//! The order history read row by row: files of any length in little memory.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use boxwright::diag::{Diag, Place, nearest};
use boxwright::suite::{Gather, Gathering, HEAVIEST, History, LONGEST, Wrong};
use boxwright::units::{Dim, Length, Mass, unit};
use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use indicatif::{ProgressBar, ProgressStyle};

use crate::desk::{Desk, STANDARD_INPUT, io_words};

/// Longest row, in bytes.
const LONGEST_ROW: usize = 1 << 16;
/// Most columns.
const MOST_COLUMNS: usize = 1000;
/// Bytes read at once.
const CHUNK: usize = 1 << 20;
/// The columns, as they are named.
const COLUMNS: [&str; 5] = ["length", "width", "height", "count", "mass"];

/// What was read.
pub struct Orders {
    pub history: History,
    /// Rows with orders.
    pub rows: u64,
    /// Rows left out.
    pub bad: u64,
    /// The first of them, in words.
    pub first_bad: Option<String>,
    /// Whether there is a mass.
    pub mass: bool,
}

/// Where a column stands, and what its numbers are multiplied with.
#[derive(Clone, Copy)]
struct Column {
    at: usize,
    factor: f64,
}

struct Columns {
    size: [Column; 3],
    count: Option<Column>,
    mass: Option<Column>,
    names: Vec<String>,
}

/// Reads the file, or standard input for `-`.
pub fn read(path: &Path, how: Gathering, skip_bad: bool, desk: &Desk) -> Result<Orders, Vec<Diag>> {
    let one = |d: Diag| vec![d];
    if path == Path::new("-") {
        let from = std::io::stdin().lock();
        return gathered(from, STANDARD_INPUT, None, how, skip_bad, desk).map_err(one);
    }
    let name = path.display().to_string();
    let file = File::open(path).map_err(|e| one(unreadable(&name, &e)))?;
    let meta = file.metadata().ok();
    if meta.as_ref().is_some_and(std::fs::Metadata::is_dir) {
        return Err(one(unreadable(&name, &ErrorKind::IsADirectory.into())));
    }
    let long = meta.map(|m| m.len());
    gathered(file, &name, long, how, skip_bad, desk).map_err(one)
}

fn unreadable(name: &str, e: &std::io::Error) -> Diag {
    match e.kind() {
        ErrorKind::NotFound => Diag::error("no-file", format!("there is no file `{name}`")).help(
            "give a CSV file with the columns length, width and height; `-` reads standard input",
        ),
        ErrorKind::IsADirectory => {
            Diag::error("not-a-file", format!("`{name}` is a folder, not a file"))
                .help("name the file in it")
        }
        _ => Diag::error(
            "unreadable",
            format!("`{name}` cannot be read: {}", io_words(e)),
        )
        .help("check the path and who may read it"),
    }
}

fn gathered(
    mut from: impl Read,
    name: &str,
    long: Option<u64>,
    how: Gathering,
    skip_bad: bool,
    desk: &Desk,
) -> Result<Orders, Diag> {
    // Drawn to standard error, and not at all where that is no terminal.
    let bar = long.map_or_else(ProgressBar::no_length, ProgressBar::new);
    let template = "{msg} rows {wide_bar} {bytes} {eta} left";
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    let mut orders = Orders {
        history: Gather::new(how).finish(),
        rows: 0,
        bad: 0,
        first_bad: None,
        mass: false,
    };
    let mut gather = Gather::new(how);
    let mut columns: Option<Columns> = None;
    let mut chunk = vec![0; CHUNK];
    let mut row = vec![0; LONGEST_ROW];
    let mut ends = vec![0; MOST_COLUMNS];
    let (mut used_row, mut used_ends) = (0, 0);
    let mut reader: Option<Reader> = None;
    let mut line = 1;
    loop {
        let filled = fill(&mut from, &mut chunk).map_err(|e| unreadable(name, &e))?;
        let mut rest = &chunk[..filled];
        if reader.is_none() {
            rest = rest.strip_prefix(b"\xef\xbb\xbf").unwrap_or(rest);
            reader = Some(ReaderBuilder::new().delimiter(delimiter(rest)).build());
        }
        let Some(reader) = &mut reader else {
            break;
        };
        loop {
            let (result, took, wrote, ended) =
                reader.read_record(rest, &mut row[used_row..], &mut ends[used_ends..]);
            rest = &rest[took..];
            used_row += wrote;
            used_ends += ended;
            match result {
                ReadRecordResult::InputEmpty => break,
                ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {
                    let message = format!(
                        "`{name}`: the row that begins on line {line} is longer than {LONGEST_ROW} bytes or {MOST_COLUMNS} columns"
                    );
                    let help = "perhaps a quotation mark is not closed, or it is no CSV file";
                    return Err(Diag::error("row-too-long", message).help(help));
                }
                ReadRecordResult::Record => {
                    let fields = Fields {
                        row: &row[..used_row],
                        ends: &ends[..used_ends],
                    };
                    let blank = fields.ends.len() <= 1 && fields.get(0).trim_ascii().is_empty();
                    match &columns {
                        _ if blank => {}
                        None => {
                            let found = head(&fields, name, line, desk)?;
                            orders.mass = found.mass.is_some();
                            columns = Some(found);
                        }
                        Some(columns) => match one(&fields, columns, &mut gather) {
                            Ok(()) => orders.rows += 1,
                            Err(bad) => {
                                let (d, words) = bad.told(&fields, columns, name, line, desk);
                                if !skip_bad {
                                    return Err(d);
                                }
                                orders.bad += 1;
                                orders.first_bad.get_or_insert(words);
                            }
                        },
                    }
                    (used_row, used_ends) = (0, 0);
                    line = reader.line();
                }
                ReadRecordResult::End => {
                    bar.finish_and_clear();
                    if columns.is_none() {
                        let message = format!("`{name}` is empty");
                        let help = "the first row names the columns: length,width,height,count";
                        return Err(Diag::error("no-orders", message).help(help));
                    }
                    orders.history = gather.finish();
                    return Ok(orders);
                }
            }
        }
        bar.inc(u64::try_from(filled).unwrap_or(0));
        bar.set_message(orders.rows.to_string());
    }
    Ok(orders)
}

/// Reads until the chunk is full or there is no more: an empty chunk ends the file.
fn fill(from: &mut impl Read, chunk: &mut [u8]) -> std::io::Result<usize> {
    let mut filled = 0;
    while filled < chunk.len() {
        match from.read(&mut chunk[filled..]) {
            Ok(0) => break,
            Ok(n) => filled += n,
            Err(e) if e.kind() == ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(filled)
}

/// Comma, semicolon or tab: whichever the first line has most of.
fn delimiter(text: &[u8]) -> u8 {
    let first = text.split(|b| *b == b'\n').next().unwrap_or(text);
    let count = |d: u8| first.iter().filter(|b| **b == d).count();
    let mut best = b',';
    for d in [b';', b'\t'] {
        if count(d) > count(best) {
            best = d;
        }
    }
    best
}

struct Fields<'a> {
    row: &'a [u8],
    ends: &'a [usize],
}

impl<'a> Fields<'a> {
    fn get(&self, i: usize) -> &'a [u8] {
        let end = self.ends.get(i).copied().unwrap_or(0);
        let start = if i == 0 { 0 } else { self.ends[i - 1] };
        self.row.get(start..end).unwrap_or(b"")
    }
    fn text(&self, i: usize) -> String {
        String::from_utf8_lossy(self.get(i)).trim().to_owned()
    }
    /// A place in the row, with the row noted so that messages can show it.
    fn place(&self, column: Option<usize>, name: &str, line: u64, desk: &Desk) -> Place {
        let mut text = String::new();
        let mut at = (0, 0);
        for i in 0..self.ends.len() {
            if i > 0 {
                text.push(',');
            }
            let start = text.len();
            text.push_str(&self.text(i));
            if column.is_none_or(|c| c == i) {
                at = (if column.is_none() { 0 } else { start }, text.len());
            }
        }
        if column.is_some_and(|c| c >= self.ends.len()) {
            at = (text.len(), text.len());
        }
        let input = format!("{name} line {line}");
        desk.note(&input, &text);
        Place {
            input,
            start: at.0,
            end: at.1,
        }
    }
}

fn head(fields: &Fields<'_>, name: &str, line: u64, desk: &Desk) -> Result<Columns, Diag> {
    let names: Vec<String> = (0..fields.ends.len())
        .map(|i| fields.text(i).to_lowercase())
        .collect();
    let mut found: [Option<Column>; 5] = [None; 5];
    for (at, written) in names.iter().enumerate() {
        let (word, symbol) = written
            .split_once(['_', ' '])
            .map_or((written.as_str(), ""), |(w, s)| {
                (w, s.trim_matches(['(', ')', '[', ']', ' ']))
            });
        let Some(which) = COLUMNS.iter().position(|c| *c == word) else {
            continue;
        };
        let place = || fields.place(Some(at), name, line, desk);
        let dim = match which {
            0..=2 => Dim::LENGTH,
            3 => Dim::NUMBER,
            _ => Dim::MASS,
        };
        let usual = match which {
            0..=2 => "mm",
            4 => "kg",
            _ => "",
        };
        let symbol = if symbol.is_empty() { usual } else { symbol };
        let factor = if which == 3 {
            symbol.is_empty().then_some(1.0)
        } else {
            unit(symbol).filter(|u| u.dim == dim).map(|u| u.factor)
        };
        let Some(factor) = factor else {
            let message = format!("the column `{written}` has no unit that fits");
            let help = "such as length_mm, length_in, mass_kg, mass_lb; count has none";
            return Err(Diag::error("wrong-unit", message).at(place()).help(help));
        };
        if found[which].replace(Column { at, factor }).is_some() {
            let message = format!("there are two columns for the {word}");
            return Err(Diag::error("given-twice", message)
                .at(place())
                .help("keep one of them"));
        }
    }
    let [length, width, height, count, mass] = found;
    let size = [length, width, height];
    for (column, word) in size.iter().zip(COLUMNS) {
        if column.is_none() {
            let message = format!("`{name}` has no column `{word}`");
            let near = nearest(word, names.iter().map(String::as_str));
            let help = near.map_or_else(
                || "the first row names the columns: length,width,height,count,mass".to_owned(),
                |n| format!("is it `{n}`?"),
            );
            let place = fields.place(None, name, line, desk);
            return Err(Diag::error("no-column", message).at(place).help(help));
        }
    }
    let none = Column { at: 0, factor: 1.0 };
    Ok(Columns {
        size: size.map(|c| c.unwrap_or(none)),
        count,
        mass,
        names,
    })
}

/// What is wrong with a row.
enum Bad {
    Missing(usize),
    NoNumber(usize),
    NoCount(usize),
    NotPositive(usize),
    TooLong(usize),
    Mass(usize),
}

fn one(fields: &Fields<'_>, columns: &Columns, gather: &mut Gather) -> Result<(), Bad> {
    let number = |c: Column| {
        if c.at >= fields.ends.len() {
            return Err(Bad::Missing(c.at));
        }
        let text = fields.get(c.at).trim_ascii();
        std::str::from_utf8(text)
            .ok()
            .and_then(|t| t.parse::<f64>().ok())
            .filter(|v| v.is_finite())
            .map(|v| v * c.factor)
            .ok_or(if text.is_empty() {
                Bad::Missing(c.at)
            } else {
                Bad::NoNumber(c.at)
            })
    };
    let [l, w, h] = columns.size;
    let size = [number(l)?, number(w)?, number(h)?].map(Length::mm);
    let mass = columns.mass.map_or(Ok(0.0), number)?;
    let count = columns.count.map_or(Ok(1), |c| {
        if c.at >= fields.ends.len() {
            return Err(Bad::Missing(c.at));
        }
        let text = fields.get(c.at).trim_ascii();
        std::str::from_utf8(text)
            .ok()
            .and_then(|t| t.parse::<u64>().ok())
            .ok_or(if text.is_empty() {
                Bad::Missing(c.at)
            } else {
                Bad::NoCount(c.at)
            })
    })?;
    gather
        .push(size, Mass::kg(mass), count)
        .map_err(|w| match w {
            Wrong::NotPositive(i) => Bad::NotPositive(columns.size[i].at),
            Wrong::TooLong(i) => Bad::TooLong(columns.size[i].at),
            Wrong::Mass => Bad::Mass(columns.mass.map_or(0, |c| c.at)),
            Wrong::Count => Bad::NoCount(columns.count.map_or(0, |c| c.at)),
        })
}

impl Bad {
    fn told(
        &self,
        fields: &Fields<'_>,
        columns: &Columns,
        name: &str,
        line: u64,
        desk: &Desk,
    ) -> (Diag, String) {
        let (at, what) = match self {
            Self::Missing(at) => (*at, "is missing".to_owned()),
            Self::NoNumber(at) => (*at, "is no number".to_owned()),
            Self::NoCount(at) => (*at, "is no count: a whole number up to 10^12".to_owned()),
            Self::NotPositive(at) => (*at, "is not more than 0".to_owned()),
            Self::TooLong(at) => (*at, format!("is beyond {} m", LONGEST.to_mm() / 1000.0)),
            Self::Mass(at) => (
                *at,
                format!("is below 0 or beyond {} t", HEAVIEST.to_kg() / 1000.0),
            ),
        };
        let column = columns.names.get(at).map_or("", String::as_str);
        let mut value: String = fields.text(at).chars().take(40).collect();
        if matches!(self, Self::Missing(_)) {
            value.clear();
        } else {
            value = format!(" `{value}`");
        }
        let words = format!("line {line}: the {column}{value} {what}");
        let place = fields.place(Some(at), name, line, desk);
        let help = "put the row right, or leave such rows out with --skip-bad";
        let diag = Diag::error("bad-row", format!("`{name}`, {words}"));
        (diag.at(place).help(help), words)
    }
}
