//! What is at hand: styles, boards, stock, machine.

use std::path::Path;
use std::sync::Arc;

use boxwright::board::{Board, Boards, read_boards};
use boxwright::diag::{Diag, Named, Place};
use boxwright::job::outside_constant;
use boxwright::propose::AtHand;
use boxwright::read::suggestion;
use boxwright::sheet::Stock;
use boxwright::source::Door;
use boxwright::style::{Style, parse_style};
use boxwright::units::{Dim, Length};

use super::asked::Asked;
use crate::args::ChooseArgs;
use crate::desk::{Desk, is_path};
use crate::overrides::option;
use crate::verbs::{cut, lay};

/// Room between blanks and to the edge of a sheet, as `lay` keeps it unless told otherwise.
const SPACING: Length = Length::mm(3.0);
const MARGIN: Length = Length::mm(5.0);
/// Longest sheet and bed.
const LARGEST: Length = Length::mm(15_000.0);

/// Gathers it.
pub fn hand(args: &ChooseArgs, asked: &Asked, desk: &mut Desk) -> Result<AtHand, Vec<Diag>> {
    for file in &args.boards {
        let name = file.display().to_string();
        let place = option(desk, "--boards", &name);
        desk.bring_boards(&Named { name, place }, Path::new(""))
            .map_err(|d| vec![d])?;
    }
    let mut diags = Vec::new();
    let styles = styles(args, asked, desk).map_err(|d| diags.extend(d));
    let boards = boards(args, desk).map_err(|d| diags.extend(d));
    let stock = match &args.stock {
        Some(path) => lay::kept(path, desk)
            .map(|pieces| Some(Stock { pieces }))
            .map_err(|d| diags.extend(d))
            .unwrap_or_default(),
        None => None,
    };
    let machine = match &args.machine {
        Some(name) => cut::machine(desk, name)
            .map(Some)
            .map_err(|d| diags.extend(d))
            .unwrap_or_default(),
        None => None,
    };
    let mut pair = |name: &str, given: &Option<(String, String)>| {
        let given = given.as_ref()?;
        two(name, given, desk).map_err(|d| diags.extend(d)).ok()
    };
    let sheet = pair("--sheet", &args.sheet);
    let bed = pair("--bed", &args.bed);
    let job = asked.job.as_ref();
    let (Ok(styles), Ok(boards), true) = (styles, boards, diags.is_empty()) else {
        return Err(diags);
    };
    Ok(AtHand {
        styles,
        boards,
        sheet: sheet.or_else(|| job.and_then(|j| j.sheet)),
        stock,
        bed: bed.or_else(|| job.and_then(|j| j.bed)),
        machine,
        creasing: args.crease.map(|w| w.0).or_else(|| job.map(|j| j.creasing)),
        spacing: SPACING,
        margin: if args.stock.is_some() {
            MARGIN
        } else {
            // A job's sheet is what a blank may take up, to its edges.
            Length::ZERO
        },
    })
}

/// Every style, or those that are named.
fn styles(args: &ChooseArgs, asked: &Asked, desk: &mut Desk) -> Result<Vec<Arc<Style>>, Vec<Diag>> {
    let mut names = Vec::new();
    let mut diags = Vec::new();
    if args.style.is_empty() {
        names = desk.style_names();
        // A style of the user's own that the job names is one more to try.
        let own = asked.job.as_ref().map(|j| j.style.name.clone());
        names.extend(own.filter(|n| is_path(n)));
    }
    for name in &args.style {
        let place = option(desk, "--style", name);
        let named = Named {
            name: name.clone(),
            place: place.clone(),
        };
        if let Err(d) = desk.bring_style(&named, Path::new("")) {
            diags.push(d);
        } else if desk.style(name).is_none() {
            let known = desk.style_names();
            let help = suggestion(name, known.iter().map(String::as_str));
            let message = format!("there is no style `{name}`");
            diags.push(Diag::error("unknown-style", message).at(place).help(help));
        } else if !names.contains(name) {
            names.push(name.clone());
        }
    }
    let mut styles = Vec::new();
    for name in &names {
        let Some(text) = desk.style(name) else {
            continue;
        };
        match parse_style(&text, desk) {
            // A job names a style of the user's own by its path.
            Ok(style) if is_path(name) => styles.push(Arc::new(Style {
                name: name.clone(),
                ..style
            })),
            Ok(style) => styles.push(Arc::new(style)),
            Err(d) => diags.extend(d),
        }
    }
    if diags.is_empty() {
        Ok(styles)
    } else {
        Err(diags)
    }
}

/// Every board, or those that are named.
fn boards(args: &ChooseArgs, desk: &Desk) -> Result<Vec<Board>, Vec<Diag>> {
    let all: Boards = read_boards(&desk.boards())?;
    if args.board.is_empty() {
        return Ok(all.iter().cloned().collect());
    }
    let mut boards: Vec<Board> = Vec::new();
    let mut diags = Vec::new();
    for name in &args.board {
        match all.get(name) {
            Some(b) if boards.iter().any(|o| o.name == b.name) => {}
            Some(b) => boards.push(b.clone()),
            None => {
                let message = format!("there is no board `{name}`");
                let diag = Diag::error("unknown-board", message);
                let diag = diag.at(option(desk, "--board", name));
                diags.push(diag.help(suggestion(name, all.names().iter().copied())));
            }
        }
    }
    if diags.is_empty() {
        Ok(boards)
    } else {
        Err(diags)
    }
}

fn two(name: &str, given: &(String, String), desk: &Desk) -> Result<[Length; 2], Vec<Diag>> {
    let whole = format!("{}x{}", given.0, given.1);
    let place = option(desk, name, &whole);
    let size = |text: &str, start: usize| {
        let place = Place {
            start,
            end: start + text.len(),
            ..place.clone()
        };
        let l = outside_constant(&place, text, Dim::LENGTH).map(Length::mm);
        let l = l.map_err(|d| vec![*d])?;
        if l > Length::ZERO && l <= LARGEST {
            return Ok(l);
        }
        let message = format!("{name} is larger than nothing and at most 15 m");
        Err(vec![Diag::error("out-of-range", message).at(place)])
    };
    Ok([size(&given.0, 0)?, size(&given.1, given.0.len() + 1)?])
}
