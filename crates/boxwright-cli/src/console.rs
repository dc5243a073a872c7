//! The one place that writes to standard output and standard error.

use std::fmt::{self, Display};
use std::io::{ErrorKind, IsTerminal, Write};

use boxwright::diag::{Diag, Severity, line_column};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, SourceCode};
use serde::Serialize;

use crate::desk::{Desk, io_words};
use crate::excerpt::{Excerpt, cleaned};

/// How messages are shown.
#[derive(Clone, Copy, Debug)]
pub struct Console {
    /// As JSON.
    pub json: bool,
}

/// So many messages are shown on a terminal; JSON has them all.
const MOST_SHOWN: usize = 20;
/// Longer messages are cropped on a terminal.
const LONGEST_MESSAGE: usize = 600;
/// Width when standard error is no terminal.
const WIDTH: usize = 100;

/// A message as JSON.
#[derive(Serialize)]
struct Line<'a> {
    code: &'static str,
    severity: Severity,
    message: &'a str,
    file: Option<&'a str>,
    line: Option<usize>,
    column: Option<usize>,
    start: Option<usize>,
    end: Option<usize>,
    help: Option<&'a str>,
}

/// All messages of a run as JSON.
#[derive(Serialize)]
struct Lines<'a> {
    format: &'static str,
    version: u32,
    diagnostics: Vec<Line<'a>>,
}

impl Console {
    /// Prints to standard output. A reader that has gone away is no error.
    pub fn print(text: &str) -> Result<(), Diag> {
        let mut out = std::io::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Diag::error(
                "cannot-print",
                format!("standard output cannot be written: {}", io_words(&e)),
            )),
            _ => Ok(()),
        }
    }

    /// Shows messages in the order of their places: those without one first, then the job's, then
    /// those of the files it names.
    pub fn show(self, mut diags: Vec<Diag>, desk: &Desk, job: &str) {
        diags.sort_by_key(|d| {
            let at = d.place.as_ref();
            at.map(|p| (p.input != job, p.input.clone(), p.start, p.end))
        });
        diags.dedup();
        let text = if self.json {
            json(&diags, desk)
        } else {
            drawn(&diags, desk)
        };
        // Nothing is left to say it with when standard error is gone.
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }
}

fn json(diags: &[Diag], desk: &Desk) -> String {
    let texts: Vec<Option<String>> = diags
        .iter()
        .map(|d| d.place.as_ref().and_then(|p| desk.text(&p.input)))
        .collect();
    let diagnostics = diags
        .iter()
        .zip(&texts)
        .map(|(d, text)| {
            let place = d.place.as_ref();
            let at = place
                .zip(text.as_ref())
                .map(|(p, t)| line_column(t, p.start));
            Line {
                code: d.code,
                severity: d.severity,
                message: &d.message,
                file: place.map(|p| p.input.as_str()),
                line: at.map(|(line, _)| line),
                column: at.map(|(_, column)| column),
                start: place.map(|p| p.start),
                end: place.map(|p| p.end),
                help: d.help.as_deref(),
            }
        })
        .collect();
    let lines = Lines {
        format: "boxwright-diagnostics",
        version: 1,
        diagnostics,
    };
    serde_json::to_string_pretty(&lines).unwrap_or_default() + "\n"
}

fn drawn(diags: &[Diag], desk: &Desk) -> String {
    let terminal = std::io::stderr().is_terminal();
    let width = terminal_size::terminal_size_of(std::io::stderr())
        .map_or(WIDTH, |(w, _)| usize::from(w.0))
        .clamp(40, WIDTH);
    let colour = terminal && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    let theme = if colour {
        GraphicalTheme::unicode()
    } else {
        GraphicalTheme::unicode_nocolor()
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(width)
        .with_links(false)
        .with_break_words(true);
    let mut out = String::new();
    for diag in diags.iter().take(MOST_SHOWN) {
        let shown = Shown::new(diag, desk, width.saturating_sub(14));
        if handler.render_report(&mut out, &shown).is_err() {
            out.push_str(&shown.message);
        }
        out.push('\n');
    }
    if diags.len() > MOST_SHOWN {
        let more = diags.len() - MOST_SHOWN;
        out.push_str(&format!("... and {more} more; --json lists them all\n"));
    }
    out
}

/// A message with what it points at.
#[derive(Debug)]
struct Shown {
    code: &'static str,
    severity: Severity,
    message: String,
    help: Option<String>,
    excerpt: Option<Excerpt>,
}

impl Shown {
    fn new(diag: &Diag, desk: &Desk, room: usize) -> Self {
        let place = diag.place.as_ref();
        let text = place.and_then(|p| desk.text(&p.input));
        let excerpt = place
            .zip(text.as_ref())
            .and_then(|(p, t)| Excerpt::new(t, p, room));
        let mut message = shortened(&diag.message);
        if let (None, Some(p)) = (&excerpt, place) {
            let (line, column) = line_column(text.as_deref().unwrap_or(""), p.start);
            message = format!("{}:{line}:{column}: {message}", p.input);
        }
        Self {
            code: diag.code,
            severity: diag.severity,
            message,
            help: diag.help.as_deref().map(shortened),
            excerpt,
        }
    }
}

fn shortened(text: &str) -> String {
    let text = cleaned(text);
    match text.char_indices().nth(LONGEST_MESSAGE) {
        Some((at, _)) => format!("{} ...", &text[..at]),
        None => text,
    }
}

impl Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn code<'a>(&'a self) -> Option<Box<dyn Display + 'a>> {
        Some(Box::new(self.code))
    }
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
        })
    }
    fn help<'a>(&'a self) -> Option<Box<dyn Display + 'a>> {
        self.help
            .as_deref()
            .map(|h| Box::new(h) as Box<dyn Display + 'a>)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.excerpt.as_ref().map(|e| e as &dyn SourceCode)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (start, length) = self.excerpt.as_ref()?.mark;
        let label = LabeledSpan::new(None, start, length);
        Some(Box::new(std::iter::once(label)))
    }
}
