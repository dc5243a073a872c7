//! Figures measured in the workshop: found once for all verbs.

use std::path::Path;

use boxwright::board::{Figure, Known, Measured, known_kerf};
use boxwright::diag::Diag;
use boxwright::learn::{length_words, share_words};
use boxwright::machine::Machine;
use boxwright::units::Length;
use boxwright_store::{FILE, Store};

use crate::args::MeasuredArgs;

/// What was measured, the latest first: in the folder that is named, else in `beside` (the folder of
/// a store that is named for something else), else in the current folder where a store is kept.
pub fn at_hand(args: &MeasuredArgs, beside: Option<&Path>) -> Result<Vec<Measured>, Vec<Diag>> {
    if args.no_measured {
        return Ok(Vec::new());
    }
    let folder = match &args.measured {
        Some(folder) => folder.as_path(),
        None => {
            let folder = beside.filter(|p| p.is_dir()).unwrap_or(Path::new("."));
            if !folder.join(FILE).is_file() {
                return Ok(Vec::new());
            }
            folder
        }
    };
    let read = || {
        let kept = Store::open_existing(folder)?.all_measured()?;
        Ok(kept.into_iter().map(|k| k.measured).collect())
    };
    read().map_err(|mut diags: Vec<Diag>| {
        for d in &mut diags {
            let more = "--no-measured goes on without its figures";
            d.help = Some(match d.help.take() {
                Some(help) => format!("{help}; {more}"),
                None => more.to_owned(),
            });
        }
        diags
    })
}

/// What is used of it for a board and a way of creasing, in one line.
pub fn words(known: &Known) -> Option<String> {
    let caliper = known
        .caliper
        .map(|f| format!("caliper {}", length_words(&f)));
    let along = known.along.map(|f| format!("{} along", share_words(&f)));
    let across = known
        .across
        .map(|f| format!("{} across the flutes", share_words(&f)));
    let depth = match (along, across) {
        (Some(a), Some(b)) => Some(format!("fold axis depth {a} and {b}")),
        (Some(a), None) => Some(format!("fold axis depth {a} the flutes")),
        (None, b) => b.map(|b| format!("fold axis depth {b}")),
    };
    let all: Vec<String> = caliper.into_iter().chain(depth).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// The measured kerf of each of these boards on a machine, put into it.
pub fn kerfs<'b>(
    machine: &mut Machine,
    boards: impl Iterator<Item = &'b str>,
    all: &[Measured],
) -> Vec<(String, Figure<Length>)> {
    let mut used: Vec<(String, Figure<Length>)> = Vec::new();
    for board in boards {
        if used.iter().any(|(b, _)| b == board) {
            continue;
        }
        if let Some(f) = known_kerf(all, board, &machine.name)
            && machine.take_kerf(board, f.value)
        {
            used.push((board.to_owned(), f));
        }
    }
    used
}
