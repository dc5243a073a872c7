//! `style gallery`: every shipped style in pictures.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use boxwright::board::read_boards;
use boxwright::diag::{Diag, Place};
use boxwright::emit::gallery::{Entry, entry, files, sorted};
use boxwright::read::suggestion;
use boxwright::source::{Door, Shipped};
use boxwright::style::{Style, parse_style};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::Done;
use crate::desk::Desk;
use crate::folder;
use crate::say::counted;

/// Runs it.
pub fn run(out: &Path, board: &str, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let boards = read_boards(&desk.boards())?;
    let Some(board) = boards.get(board) else {
        desk.note("--board", board);
        let place = Place {
            input: "--board".to_owned(),
            start: 0,
            end: board.len(),
        };
        return Err(vec![
            Diag::error("unknown-board", format!("there is no board `{board}`"))
                .at(place)
                .help(suggestion(board, boards.names().iter().copied())),
        ]);
    };
    let texts = Shipped.style_names().into_iter();
    let styles: Vec<Arc<Style>> = texts
        .filter_map(|n| Shipped.style(&n))
        .map(|t| parse_style(&t, desk).map(Arc::new))
        .collect::<Result<_, _>>()?;
    let shown: Vec<(String, Option<Entry>)> = styles
        .into_par_iter()
        .map(|s| (s.name.clone(), entry(&s, board)))
        .collect();
    let mut warnings = Vec::new();
    for (name, entry) in &shown {
        if entry.is_none() {
            let message = format!("`{name}` holds at none of the sizes that are tried");
            warnings.push(Diag::warning("not-shown", message));
        }
    }
    let entries = sorted(shown.into_iter().filter_map(|(_, e)| e).collect());
    let mut rest = files(&entries).map_err(|d| vec![d])?;
    let (count, pieces) = (rest.len(), entries.len());
    while let Some((first, _)) = rest.first() {
        let folder = folder_of(first);
        let (here, others): (Vec<_>, Vec<_>) =
            rest.into_iter().partition(|(n, _)| folder_of(n) == folder);
        let named = |(name, bytes): (String, Vec<u8>)| {
            let own = Path::new(&name).file_name();
            (
                own.map_or(name.clone(), |n| n.to_string_lossy().into_owned()),
                bytes,
            )
        };
        let here: Vec<_> = here.into_iter().map(named).collect();
        folder::write(&out.join(folder), &here).map_err(|d| vec![d])?;
        rest = others;
    }
    let text = format!(
        "{} in {} of {}\n",
        counted(pieces, "style"),
        counted(count, "file"),
        out.display()
    );
    let mut done = Done::words(&text)?;
    done.warnings = warnings;
    Ok(done)
}

fn folder_of(name: &str) -> PathBuf {
    Path::new(name)
        .parent()
        .map(Path::to_path_buf)
        .unwrap_or_default()
}
