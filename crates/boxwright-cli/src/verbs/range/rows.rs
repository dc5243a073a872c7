//! The order history read from a file or standard input, in little memory.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use boxwright::diag::Diag;
use boxwright::suite::{Gathering, Orders, Rows, Stray};
use indicatif::{ProgressBar, ProgressStyle};

use crate::desk::{Desk, STANDARD_INPUT, io_words};

/// Bytes read at once.
const CHUNK: usize = 1 << 20;

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
    // The row is noted, so that the message can show it.
    let told = |stray: Box<Stray>| {
        let Stray { mut diag, row } = *stray;
        if let Some(place) = &diag.place {
            desk.note(&place.input, &row);
        }
        if diag.code == "bad-row"
            && let Some(help) = &mut diag.help
        {
            help.push_str(" with --skip-bad");
        }
        diag
    };
    let mut rows = Rows::new(name, how, skip_bad);
    let mut chunk = vec![0; CHUNK];
    loop {
        let filled = fill(&mut from, &mut chunk).map_err(|e| unreadable(name, &e))?;
        if filled == 0 {
            break;
        }
        rows.push(&chunk[..filled]).map_err(told)?;
        bar.inc(u64::try_from(filled).unwrap_or(0));
        bar.set_message(rows.rows().to_string());
    }
    bar.finish_and_clear();
    rows.finish().map_err(told)
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
