//! An order history read row by row: files of any length in little memory.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

use super::{Gather, Gathering, HEAVIEST, History, LONGEST, Wrong};
use crate::diag::{Diag, Place, nearest};
use crate::units::{Dim, Length, Mass, unit};

/// Longest row, in bytes.
const LONGEST_ROW: usize = 1 << 16;
/// Most columns.
const MOST_COLUMNS: usize = 1000;
/// The columns, as they are named.
const COLUMNS: [&str; 5] = ["length", "width", "height", "count", "mass"];

/// An order history, read.
#[derive(Clone, Debug)]
pub struct Orders {
    /// The things, as a histogram.
    pub history: History,
    /// Rows with orders.
    pub rows: u64,
    /// Rows left out.
    pub bad: u64,
    /// The first of them, in words.
    pub first_bad: Option<String>,
    /// Whether there is a column for the mass.
    pub mass: bool,
}

/// Why a history cannot be read.
#[derive(Clone, Debug)]
pub struct Stray {
    /// The message. Its place, where it has one, counts in `row`.
    pub diag: Diag,
    /// The row, its fields joined by commas; empty where it is about none.
    pub row: String,
}

impl From<Diag> for Box<Stray> {
    fn from(diag: Diag) -> Self {
        Self::new(Stray {
            diag,
            row: String::new(),
        })
    }
}

/// Where a column stands, and what its numbers are multiplied with.
#[derive(Clone, Copy, Debug)]
struct Column {
    at: usize,
    factor: f64,
}

#[derive(Clone, Debug)]
struct Columns {
    size: [Column; 3],
    count: Option<Column>,
    mass: Option<Column>,
    names: Vec<String>,
}

/// A CSV file on its way into a history. Its first row names the columns `length`, `width`, `height`
/// and perhaps `count` and `mass`, each perhaps with its unit: `length_in`, `mass (lb)`. Fields are
/// parted by commas, semicolons or tabs, whichever the first row has most of.
#[derive(Debug)]
pub struct Rows {
    name: String,
    skip_bad: bool,
    gather: Gather,
    reader: Option<Reader>,
    columns: Option<Columns>,
    row: Vec<u8>,
    ends: Vec<usize>,
    used: (usize, usize),
    line: u64,
    rows: u64,
    bad: u64,
    first_bad: Option<String>,
}

impl Rows {
    /// Nothing read yet. `name` stands in messages; with `skip_bad` rows that cannot be read are
    /// counted and left out.
    #[must_use]
    pub fn new(name: &str, how: Gathering, skip_bad: bool) -> Self {
        Self {
            name: name.to_owned(),
            skip_bad,
            gather: Gather::new(how),
            reader: None,
            columns: None,
            row: vec![0; LONGEST_ROW],
            ends: vec![0; MOST_COLUMNS],
            used: (0, 0),
            line: 1,
            rows: 0,
            bad: 0,
            first_bad: None,
        }
    }

    /// Rows with orders so far.
    #[must_use]
    pub const fn rows(&self) -> u64 {
        self.rows
    }

    /// Reads on. The first part should hold the whole first row.
    ///
    /// # Errors
    /// `no-column`, `given-twice`, `wrong-unit`, `row-too-long`; `bad-row` unless those are skipped.
    pub fn push(&mut self, part: &[u8]) -> Result<(), Box<Stray>> {
        let mut rest = part;
        if self.reader.is_none() {
            rest = rest.strip_prefix(b"\xef\xbb\xbf").unwrap_or(rest);
        }
        if rest.is_empty() {
            return Ok(());
        }
        while !rest.is_empty() {
            rest = &rest[self.step(rest)?.1..];
        }
        Ok(())
    }

    /// The history.
    ///
    /// # Errors
    /// `no-orders` for an empty file; else as [`Self::push`] for its last row.
    pub fn finish(mut self) -> Result<Orders, Box<Stray>> {
        while !self.step(b"")?.0 {}
        let Some(columns) = &self.columns else {
            let message = format!("`{}` is empty", self.name);
            let help = "the first row names the columns: length,width,height,count";
            return Err(Diag::error("no-orders", message).help(help).into());
        };
        Ok(Orders {
            mass: columns.mass.is_some(),
            history: self.gather.finish(),
            rows: self.rows,
            bad: self.bad,
            first_bad: self.first_bad,
        })
    }

    /// One step of reading: whether all is over, and how many bytes it took.
    fn step(&mut self, rest: &[u8]) -> Result<(bool, usize), Box<Stray>> {
        let begin = || ReaderBuilder::new().delimiter(delimiter(rest)).build();
        let reader = self.reader.get_or_insert_with(begin);
        let (result, took, wrote, ended) = reader.read_record(
            rest,
            &mut self.row[self.used.0..],
            &mut self.ends[self.used.1..],
        );
        self.used.0 += wrote;
        self.used.1 += ended;
        match result {
            ReadRecordResult::InputEmpty => {}
            ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {
                let (name, line) = (&self.name, self.line);
                let message = format!(
                    "`{name}`: the row that begins on line {line} is longer than {LONGEST_ROW} bytes or {MOST_COLUMNS} columns"
                );
                let help = "perhaps a quotation mark is not closed, or it is no CSV file";
                return Err(Diag::error("row-too-long", message).help(help).into());
            }
            ReadRecordResult::Record => {
                let line = reader.line();
                self.record()?;
                self.used = (0, 0);
                self.line = line;
            }
            ReadRecordResult::End => return Ok((true, took)),
        }
        Ok((false, took))
    }

    fn record(&mut self) -> Result<(), Box<Stray>> {
        let fields = Fields {
            row: &self.row[..self.used.0],
            ends: &self.ends[..self.used.1],
        };
        if fields.ends.len() <= 1 && fields.get(0).trim_ascii().is_empty() {
            return Ok(());
        }
        let Some(columns) = &self.columns else {
            self.columns = Some(head(&fields, &self.name, self.line)?);
            return Ok(());
        };
        match one(&fields, columns, &mut self.gather) {
            Ok(()) => self.rows += 1,
            Err(bad) => {
                let (stray, words) = bad.told(&fields, columns, &self.name, self.line);
                if !self.skip_bad {
                    return Err(stray);
                }
                self.bad += 1;
                self.first_bad.get_or_insert(words);
            }
        }
        Ok(())
    }
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
        // A short row has no such field.
        let Some(end) = self.ends.get(i).copied() else {
            return b"";
        };
        let start = i.checked_sub(1).map_or(0, |before| self.ends[before]);
        self.row.get(start..end).unwrap_or(b"")
    }
    fn text(&self, i: usize) -> String {
        String::from_utf8_lossy(self.get(i)).trim().to_owned()
    }
    /// A message at a place in the row, with the row.
    fn stray(&self, diag: Diag, column: Option<usize>, name: &str, line: u64) -> Box<Stray> {
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
        let place = Place {
            input: format!("{name} line {line}"),
            start: at.0,
            end: at.1,
        };
        Box::new(Stray {
            diag: diag.at(place),
            row: text,
        })
    }
}

fn head(fields: &Fields<'_>, name: &str, line: u64) -> Result<Columns, Box<Stray>> {
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
        let stray = |d: Diag| fields.stray(d, Some(at), name, line);
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
            return Err(stray(Diag::error("wrong-unit", message).help(help)));
        };
        if found[which].replace(Column { at, factor }).is_some() {
            let message = format!("there are two columns for the {word}");
            let d = Diag::error("given-twice", message).help("keep one of them");
            return Err(stray(d));
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
            let d = Diag::error("no-column", message).help(help);
            return Err(fields.stray(d, None, name, line));
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
    ) -> (Box<Stray>, String) {
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
        let help = "put the row right, or leave such rows out";
        let diag = Diag::error("bad-row", format!("`{name}`, {words}")).help(help);
        (fields.stray(diag, Some(at), name, line), words)
    }
}
