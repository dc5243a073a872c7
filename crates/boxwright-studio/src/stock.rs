//! The stock of the opened folder, told and changed. The store itself is a crate of its own.

use std::path::Path;

use boxwright::board::Boards;
use boxwright::diag::{Diag, Place, line_column};
use boxwright::job::outside_constant;
use boxwright::sheet::stock_text::{read_stock, write_stock};
use boxwright::sheet::{Piece, Shape, Stock, steps};
use boxwright::source::Text;
use boxwright::units::{Dim, Length, LengthUnit};
use boxwright_store::{Event, Import, Kind, Store};

use crate::refuse::Refuse;
use crate::sheets::{mm, outline};
use crate::wire::{StockBook, StockChange, StockEvent, StockPiece};

/// Events that are told.
const MOST_EVENTS: usize = 12;
/// Largest sheet the program works with.
const LARGEST: Length = Length::mm(15_000.0);

/// The stock as it is.
///
/// # Errors
/// What the store says.
pub fn book(root: &Path, boards: &Boards) -> Result<StockBook, Refuse> {
    match open(root)? {
        None => Ok(StockBook {
            stamp: None,
            pieces: Vec::new(),
            history: Vec::new(),
            undo: None,
        }),
        Some(mut store) => told(&mut store, boards, root),
    }
}

/// The store, where there is one.
///
/// # Errors
/// What the store says.
pub fn open(root: &Path) -> Result<Option<Store>, Refuse> {
    match Store::open_existing(root) {
        Ok(store) => Ok(Some(store)),
        Err(d) if d.iter().any(|d| d.code == "no-store") => Ok(None),
        Err(d) => Err(refused(&d, root)),
    }
}

/// Pieces of the stock, none where none is kept, and its stamp.
///
/// # Errors
/// What the store says.
pub fn pieces(root: &Path) -> Result<(Vec<Piece>, Option<String>), Refuse> {
    let Some(store) = open(root)? else {
        return Ok((Vec::new(), None));
    };
    let read = || Ok((store.stock()?.pieces, Some(store.last_event()?.to_string())));
    read().map_err(|d: Vec<Diag>| refused(&d, root))
}

fn told(store: &mut Store, boards: &Boards, root: &Path) -> Result<StockBook, Refuse> {
    // Read before the stamp: a change between the two makes the stamp the newer one's neighbour
    // only if it were read first, so both are read until they belong together.
    let mut read = || -> Result<_, Vec<Diag>> {
        loop {
            let before = store.last_event()?;
            let stock = store.stock()?;
            let ledger = store.ledger()?;
            if store.last_event()? == before {
                return Ok((before, stock, ledger));
            }
        }
    };
    let (stamp, stock, ledger) = read().map_err(|d| refused(&d, root))?;
    let (sheets, off_cuts): (Vec<&Piece>, Vec<&Piece>) =
        stock.pieces.iter().partition(|p| !p.off_cut);
    let line = |p: &Piece| piece(p, boards);
    let shown = ledger.iter().rev().take(MOST_EVENTS);
    Ok(StockBook {
        stamp: Some(stamp.to_string()),
        pieces: sheets.into_iter().chain(off_cuts).map(line).collect(),
        history: shown
            .map(|e| StockEvent {
                words: words(e),
                when: e.at,
            })
            .collect(),
        undo: last_use(&ledger).map(|e| e.title.clone()),
    })
}

/// The use that an undo takes back: the last one, unless the whole stock was replaced since.
fn last_use(ledger: &[Event]) -> Option<&Event> {
    ledger
        .iter()
        .rev()
        .take_while(|e| e.kind != Kind::Replaced)
        .find(|e| e.kind == Kind::Used && e.undone_by.is_none())
}

fn piece(p: &Piece, boards: &Boards) -> StockPiece {
    let size = p.shape.bounds().max;
    StockPiece {
        name: p.name.clone(),
        board: p.board.clone(),
        known: boards.get(&p.board).is_some(),
        off_cut: p.off_cut,
        size: [mm(size.x), mm(size.y)],
        area: p.shape.area_mm2(),
        count: p.count,
        price: p.price,
        outline: outline(&p.shape, size.y),
    }
}

fn words(e: &Event) -> String {
    let came: Vec<String> = e
        .changes
        .iter()
        .filter(|c| c.by > 0)
        .map(|c| format!("{} x {}", c.by, c.name))
        .collect();
    let went: Vec<String> = e
        .changes
        .iter()
        .filter(|c| c.by < 0)
        .map(|c| format!("{} x {}", -c.by, c.name))
        .collect();
    let list = |all: &[String]| {
        const SHOWN: usize = 4;
        let more = all.len().saturating_sub(SHOWN);
        let text = all[..all.len() - more].join(", ");
        match (text.is_empty(), more) {
            (true, _) => "nothing".to_owned(),
            (_, 0) => text,
            (_, n) => format!("{text} and {n} more"),
        }
    };
    match e.kind {
        Kind::In => format!("{} came in", list(&came)),
        Kind::Out => format!("{} taken out", list(&went)),
        Kind::Counted => match e.changes.first() {
            Some(c) if c.by > 0 => format!("{} counted: {} more", c.name, c.by),
            Some(c) if c.by < 0 => format!("{} counted: {} fewer", c.name, -c.by),
            Some(c) => format!("{} counted: as many as thought", c.name),
            None => "counted".to_owned(),
        },
        Kind::Changed => format!("{} put in", list(&came)),
        Kind::Imported => format!("a stock text added {}", list(&came)),
        Kind::Replaced => "a stock text took the place of the whole stock".to_owned(),
        Kind::Used => {
            let put = if came.is_empty() {
                String::new()
            } else {
                format!(", {} put in", list(&came))
            };
            format!("layout `{}` used: {} taken{put}", e.title, list(&went))
        }
        Kind::Undone => format!("the use of layout `{}` taken back", e.title),
    }
}

/// Makes one change, as one transaction, and only while the stock is as it was seen.
///
/// # Errors
/// `changed-on-disk`, what is wrong with the change, and what the store says.
pub fn change(
    root: &Path,
    boards: &Boards,
    stamp: Option<&str>,
    change: &StockChange,
) -> Result<StockBook, Refuse> {
    let mut store = after(root, stamp)?;
    made(&mut store, boards, change).map_err(|d| refused(&d, root))?;
    told(&mut store, boards, root)
}

/// The store, whose next change is only made while the stock is as it was seen.
///
/// # Errors
/// `changed-on-disk`, and what the store says.
pub fn after(root: &Path, stamp: Option<&str>) -> Result<Store, Refuse> {
    let seen = match stamp {
        // Nothing was kept: what is made now has no event yet.
        None => 0,
        Some(text) => text.parse().map_err(|_| changed())?,
    };
    let opened = match stamp {
        None => Store::open(root),
        Some(_) => Store::open_existing(root),
    };
    let store = opened.map_err(|d| refused(&d, root))?;
    Ok(store.after(seen))
}

fn changed() -> Refuse {
    Refuse::conflict(
        "changed-on-disk",
        "the stock was changed meanwhile; it is left as it is",
    )
    .help("look at it as it is now, then do it again")
}

fn made(store: &mut Store, boards: &Boards, change: &StockChange) -> Result<(), Vec<Diag>> {
    match change {
        StockChange::Add {
            name,
            board,
            length,
            width,
            count,
            price,
        } => {
            if boards.get(board).is_none() {
                let d = Diag::error("unknown-board", format!("there is no board `{board}`"));
                return Err(vec![d.help("choose one of the list of boards")]);
            }
            let [length, width] =
                [("length", length), ("width", width)].map(|(n, t)| sheet_side(n, t));
            let piece = Piece {
                name: name.clone(),
                board: board.clone(),
                shape: Shape::rect(
                    steps(length.map_err(|d| vec![*d])?),
                    steps(width.map_err(|d| vec![*d])?),
                ),
                count: *count,
                price: *price,
                off_cut: false,
            };
            store.add(&piece).map(drop)
        }
        StockChange::Count { name, count } => store.set_count(name, *count),
        StockChange::Remove { name } => store.remove(name).map(drop),
        StockChange::Import { text, replace } => {
            let text = Text {
                name: "stock text".to_owned(),
                text: text.clone(),
            };
            let stock = read_stock(&text).map_err(|d| with_lines(&text, d))?;
            let how = if *replace {
                Import::Replace
            } else {
                Import::Add
            };
            store.import(&stock, how)
        }
        StockChange::Undo {} => store.undo().map(drop),
    }
}

/// A side of a sheet as typed.
///
/// # Errors
/// What is wrong with it.
pub fn sheet_side(name: &str, text: &str) -> Result<Length, Box<Diag>> {
    let l = typed(name, text)?;
    if l > Length::ZERO && l <= LARGEST {
        Ok(l)
    } else {
        let most = LengthUnit::Mm.show(LARGEST);
        let message = format!("the {name} of a sheet is more than nothing and at most {most}");
        Err(Box::new(Diag::error("out-of-range", message)))
    }
}

/// A length as typed, its name in front of what is wrong with it.
///
/// # Errors
/// What is wrong with it.
pub fn typed(name: &str, text: &str) -> Result<Length, Box<Diag>> {
    quantity(name, text, Dim::LENGTH).map(Length::mm)
}

/// The same for a plain number of mm, kg or whatever else is needed.
///
/// # Errors
/// What is wrong with it.
pub fn quantity(name: &str, text: &str, dim: Dim) -> Result<f64, Box<Diag>> {
    let place = Place {
        input: name.to_owned(),
        start: 0,
        end: text.len(),
    };
    outside_constant(&place, text, dim).map_err(|mut d| {
        d.message = format!("{name}: {}", d.message);
        d
    })
}

/// Messages about a text with their lines in them, as no excerpt can be shown.
fn with_lines(text: &Text, mut diags: Vec<Diag>) -> Vec<Diag> {
    for d in &mut diags {
        if let Some(place) = &d.place {
            let (line, _) = line_column(&text.text, place.start);
            d.message = format!("line {line}: {}", d.message);
        }
    }
    diags
}

/// The whole stock as text.
///
/// # Errors
/// What the store says.
pub fn text(root: &Path) -> Result<String, Refuse> {
    let (pieces, _) = pieces(root)?;
    Ok(write_stock(&Stock { pieces }))
}

/// Messages of the store as a refusal, with no word of where the folder lies.
pub fn refused(diags: &[Diag], root: &Path) -> Refuse {
    if diags.iter().any(|d| d.code == "changed-stock") {
        return changed();
    }
    let mut no = Refuse::of_first(diags);
    let before = format!("{}{}", root.display(), std::path::MAIN_SEPARATOR);
    no.message = no.message.replace(&before, "");
    no
}
