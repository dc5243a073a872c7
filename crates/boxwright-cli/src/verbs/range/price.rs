//! The board and the style that are counted.

use std::path::Path;
use std::sync::Arc;

use boxwright::board::{Board, read_boards};
use boxwright::diag::{Diag, Named};
use boxwright::read::suggestion;
use boxwright::source::Door;
use boxwright::style::{Style, parse_style};

use crate::desk::Desk;
use crate::overrides::option;

/// The board that is named.
pub fn board(name: &str, desk: &Desk) -> Result<Board, Vec<Diag>> {
    let boards = read_boards(&desk.boards())?;
    boards.get(name).cloned().ok_or_else(|| {
        let d = Diag::error("unknown-board", format!("there is no board `{name}`"));
        let help = suggestion(name, boards.names().iter().copied());
        vec![d.at(option(desk, "--board", name)).help(help)]
    })
}

/// The style that is named.
pub fn style(name: &str, desk: &mut Desk) -> Result<Arc<Style>, Vec<Diag>> {
    let place = option(desk, "--style", name);
    let named = Named {
        name: name.to_owned(),
        place: place.clone(),
    };
    desk.bring_style(&named, Path::new(""))
        .map_err(|d| vec![d])?;
    match desk.style(name) {
        Some(text) => parse_style(&text, desk).map(Arc::new),
        None => {
            let d = Diag::error("unknown-style", format!("there is no style `{name}`"));
            let known = desk.style_names();
            let help = suggestion(name, known.iter().map(String::as_str));
            Err(vec![d.at(place).help(help)])
        }
    }
}
