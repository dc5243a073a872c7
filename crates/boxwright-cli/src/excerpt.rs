//! A few lines of a text round a place, cropped and cleaned so that any terminal can show them.

use boxwright::diag::{Place, line_column};
use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// The line of a place with its neighbours.
#[derive(Debug)]
pub struct Excerpt {
    name: String,
    data: String,
    /// Line of the place, and of the first line kept; both from 0.
    line: usize,
    first: usize,
    column: usize,
    /// What to underline, in `data`.
    pub mark: (usize, usize),
}

/// What stands for text left out at either end of a line.
const CUT: char = '…';

impl Excerpt {
    /// Round a place, with lines no longer than `room` characters. `None` when there is no text
    /// there to show.
    pub fn new(text: &str, place: &Place, room: usize) -> Option<Self> {
        let (line, column) = line_column(text, place.start);
        let (line, column) = (line - 1, column - 1);
        let first = line.saturating_sub(1);
        let mut lines = text.split('\n').skip(first);
        let room = room.max(20);
        let mut data = String::new();
        let mut mark = (0, 0);
        let from = if column + 8 > room {
            column - room / 3
        } else {
            0
        };
        let last = line + 1;
        for n in first..=last {
            let Some(raw) = lines.next() else { break };
            let raw = raw.strip_suffix('\r').unwrap_or(raw);
            if n > first {
                data.push('\n');
            }
            if n == line {
                let length = text
                    .get(place.start..place.end.max(place.start))
                    .and_then(|s| s.split('\n').next())
                    .map_or(0, |s| s.trim_end_matches('\r').chars().count());
                mark = crop(raw, from, room, column, length, &mut data);
            } else {
                crop(raw, from, room, 0, 0, &mut data);
            }
        }
        (!data.trim().is_empty()).then(|| Self {
            name: place.input.clone(),
            data,
            line,
            first,
            column,
            mark,
        })
    }
}

/// Adds a line from character `from` on, at most `room` of them; gives the place of the mark in
/// `out` as offset and length.
fn crop(
    raw: &str,
    from: usize,
    room: usize,
    column: usize,
    length: usize,
    out: &mut String,
) -> (usize, usize) {
    if from > 0 && raw.chars().nth(from).is_some() {
        out.push(CUT);
    }
    let (mut start, mut end) = (None, None);
    let mut cut = false;
    for (i, c) in raw.chars().enumerate().skip(from) {
        if i >= from + room {
            cut = true;
            break;
        }
        if i == column {
            start = Some(out.len());
        }
        if i == column + length {
            end = Some(out.len());
        }
        match c {
            '\t' => out.push_str("    "),
            c if unseen(c) => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    let start = start.unwrap_or(out.len());
    let end = end.unwrap_or(out.len()).max(start);
    if cut {
        out.push(CUT);
    }
    (start, end - start)
}

/// Whether a character would steer the terminal or turn the writing direction.
pub fn unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// Text with such characters replaced, line feeds kept.
pub fn cleaned(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c != '\n' && unseen(c) {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        context_lines_before: usize,
        _context_lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        // Without context the place alone is asked for, to be named; otherwise the whole excerpt.
        let place = context_lines_before == 0;
        let (start, end) = if place {
            (span.offset(), span.offset() + span.len())
        } else {
            (0, self.data.len())
        };
        let (line, column) = if place {
            (self.line, self.column)
        } else {
            (self.first, 0)
        };
        let data = self.data.get(start..end).ok_or(MietteError::OutOfBounds)?;
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            data.as_bytes(),
            (start, end - start).into(),
            line,
            column,
            data.lines().count(),
        )))
    }
}
