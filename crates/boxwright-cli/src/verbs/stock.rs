//! `stock`: the sheets and off-cuts at hand, kept in the workshop's folder.

use std::path::Path;

use boxwright::board::read_boards;
use boxwright::diag::{Diag, Place};
use boxwright::job::outside_constant;
use boxwright::read::MAX_BYTES;
use boxwright::sheet::shape::STEPS_PER_MM;
use boxwright::sheet::{
    Keep, Layout, Piece, Rest, Shape, Stock, read_layout, read_stock, rests_of, steps, write_stock,
};
use boxwright::source::Door;
use boxwright::units::{Area, Dim, Length, LengthUnit};
use boxwright_store::{Again, Import, Store, Undone, Used};
use serde_json::{Value, json};

use super::{Done, Status};
use crate::args::{StockAddArgs, StockArgs, StockUseArgs, StockVerb};
use crate::desk::Desk;
use crate::excerpt::cleaned;
use crate::folder::write_new;
use crate::say::{area, line, table};

/// Runs it.
pub fn run(args: &StockArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let show = args.units.into();
    let folder = &args.folder;
    match &args.verb {
        StockVerb::List => {
            let stock = Store::open_existing(folder)?.stock()?;
            told(args, &listed(&stock, show), &stock_json(&stock))
        }
        StockVerb::Add(a) => add(args, a, desk),
        StockVerb::Take { name, count, all } => {
            let mut store = Store::open_existing(folder)?;
            let (taken, left) = if *all {
                (store.remove(name)?.count, 0)
            } else {
                (*count, store.take(name, *count)?)
            };
            let mut out = String::new();
            line(&mut out, "taken", &format!("{taken} x {name}, {left} left"));
            let json = json!({ "name": name, "taken": taken, "left": left });
            told(args, &out, &json)
        }
        StockVerb::Import { file, replace } => import(args, file, *replace, desk),
        StockVerb::Export { file } => export(args, file.as_deref()),
        StockVerb::Use(a) => take_out(args, a, desk),
        StockVerb::Undo => {
            let undone = Store::open_existing(folder)?.undo()?;
            told(args, &undone_words(&undone), &undone_json(&undone))
        }
    }
}

fn told(args: &StockArgs, words: &str, json: &Value) -> Result<Done, Vec<Diag>> {
    told_with(args, words, json, Vec::new())
}

fn told_with(
    args: &StockArgs,
    words: &str,
    json: &Value,
    warnings: Vec<Diag>,
) -> Result<Done, Vec<Diag>> {
    let text = if args.json {
        serde_json::to_string_pretty(json).unwrap_or_default() + "\n"
    } else {
        cleaned(words)
    };
    Done::saying(&text, Status::Fine, warnings)
}

fn add(args: &StockArgs, a: &StockAddArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let mut warnings = Vec::new();
    let now = match (&a.board, &a.length, &a.width) {
        (Some(board), Some(length), Some(width)) => {
            let length = side(desk, "--length", length);
            let width = side(desk, "--width", width);
            let (length, width) = match (length, width) {
                (Ok(l), Ok(w)) => (l, w),
                (l, w) => return Err(l.err().into_iter().chain(w.err()).collect()),
            };
            let price = a.price.unwrap_or(0.0);
            let mut p = Piece::sheet(&a.name, board, steps(length), steps(width), a.count, price);
            p.off_cut = a.off_cut;
            if let Some(fault) = p.fault() {
                return Err(vec![Diag::error(fault.code(), fault.to_string())]);
            }
            warnings = unknown_boards(std::slice::from_ref(&p), desk);
            Store::open(&args.folder)?.add(&p)?
        }
        _ => {
            let more = Store::open_existing(&args.folder)?.add_more(&a.name, a.count);
            more.map_err(|diags| diags.into_iter().map(new_needs_all).collect::<Vec<_>>())?
        }
    };
    let mut out = String::new();
    let words = format!("{} x {}, {} there now", a.count, now.name, now.count);
    line(&mut out, "added", &words);
    told_with(args, &out, &piece_json(&now), warnings)
}

/// The name alone is enough only for what is there already.
fn new_needs_all(mut d: Diag) -> Diag {
    if d.code == "unknown-piece" {
        let more = "to add a new kind give --board, --length and --width too";
        d.help = Some(d.help.map_or(more.to_owned(), |h| format!("{h}; {more}")));
    }
    d
}

/// A constant given with an option.
fn constant(desk: &Desk, option: &str, text: &str, dim: Dim) -> Result<f64, Diag> {
    desk.note(option, text);
    let place = Place {
        input: option.to_owned(),
        start: 0,
        end: text.len(),
    };
    let value = outside_constant(&place, text, dim).map_err(|d| *d)?;
    if value > 0.0 {
        return Ok(value);
    }
    let message = format!("`{option}` must be more than zero");
    Err(Diag::error("not-positive", message).at(place))
}

fn side(desk: &Desk, option: &str, text: &str) -> Result<Length, Diag> {
    constant(desk, option, text, Dim::LENGTH).map(Length::mm)
}

/// Warnings for boards that are not shipped; a job brings its own board files along.
fn unknown_boards(pieces: &[Piece], desk: &Desk) -> Vec<Diag> {
    let Ok(boards) = read_boards(&desk.boards()) else {
        return Vec::new();
    };
    let stock = Stock {
        pieces: pieces.to_vec(),
    };
    let known: Vec<&str> = boards.names();
    let warn = |name: &&str| {
        Diag::warning(
            "unknown-board",
            format!("the board `{name}` is not one of those shipped"),
        )
        .help(format!(
            "that is right for a board of your own; shipped are {}",
            known.join(", ")
        ))
    };
    stock.unknown_boards(&boards).iter().map(warn).collect()
}

fn import(args: &StockArgs, file: &Path, replace: bool, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let text = desk.stock_file(file).map_err(|d| vec![d])?;
    let stock = read_stock(&text)?;
    let how = if replace {
        Import::Replace
    } else {
        Import::Add
    };
    let mut store = Store::open(&args.folder)?;
    store.import(&stock, how)?;
    let now = store.stock()?;
    let mut out = String::new();
    let words = format!(
        "{} kinds, {} there now",
        stock.pieces.len(),
        now.pieces.len()
    );
    line(&mut out, "imported", &words);
    let warnings = unknown_boards(&stock.pieces, desk);
    told_with(args, &out, &stock_json(&now), warnings)
}

fn export(args: &StockArgs, file: Option<&Path>) -> Result<Done, Vec<Diag>> {
    let stock = Store::open_existing(&args.folder)?.stock()?;
    let text = write_stock(&stock);
    let mut warnings = Vec::new();
    if text.len() > MAX_BYTES {
        let message = format!(
            "the stock is {} bytes as text; `stock import` reads {MAX_BYTES} at most",
            text.len()
        );
        warnings.push(
            Diag::warning("too-long", message)
                .help("part it into several files, or keep a copy of the store itself"),
        );
    }
    let Some(file) = file else {
        return Done::saying(&text, Status::Fine, warnings);
    };
    write_new(file, text.as_bytes()).map_err(|mut d| {
        d.help = Some("name another file, or move this one away first".to_owned());
        vec![d]
    })?;
    let mut out = String::new();
    line(&mut out, "written", &file.display().to_string());
    told_with(
        args,
        &out,
        &json!({ "written": file.display().to_string() }),
        warnings,
    )
}

fn take_out(args: &StockArgs, a: &StockUseArgs, desk: &Desk) -> Result<Done, Vec<Diag>> {
    let mut keep = Keep::default();
    if let Some(text) = &a.least_side {
        keep.least_side = side(desk, "--least-side", text).map_err(|d| vec![d])?;
    }
    if let Some(text) = &a.least_area {
        let least = constant(desk, "--least-area", text, Dim::AREA).map_err(|d| vec![d])?;
        keep.least_area = Area::mm2(least);
    }
    let text = desk.layout_file(&a.layout).map_err(|d| vec![d])?;
    let layout = read_layout(&text)?;
    let mut store = Store::open_existing(&args.folder)?;
    let rests = if a.no_rests {
        Vec::new()
    } else {
        rests_of(&layout, &keep)
    };
    let again = if a.again {
        Again::Allowed
    } else {
        Again::Refused
    };
    let used = store.use_layout(&layout, &rests, again)?;
    let words = used_words(&layout, &rests, &used, args.units.into());
    told(args, &words, &used_json(&layout, &rests, &used))
}

// Words.

fn millimetres(steps: i64) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "bounded by the largest sheet")]
    Length::mm(steps as f64 / STEPS_PER_MM)
}

/// Length and width, and what is not plain about the shape.
fn size(shape: &Shape, show: LengthUnit) -> String {
    let b = shape.bounds();
    let [length, width] = [b.width(), b.height()].map(|s| show.number(millimetres(s)));
    let mut text = format!("{length} x {width} {}", show.symbol());
    if shape.settled().as_rect().is_none() {
        text.push_str(&format!(", {} corners", shape.outer.len()));
        match shape.holes.len() {
            0 => {}
            1 => text.push_str(", 1 hole"),
            n => text.push_str(&format!(", {n} holes")),
        }
    }
    text
}

fn listed(stock: &Stock, show: LengthUnit) -> String {
    let head = [
        "name",
        "board",
        "count",
        "price",
        "along x across the flutes",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for p in &stock.pieces {
        let kind = if p.off_cut { ", off-cut" } else { "" };
        rows.push(vec![
            p.name.clone(),
            p.board.clone(),
            p.count.to_string(),
            format!("{:.2}", p.price),
            format!("{}{kind}", size(&p.shape, show)),
        ]);
    }
    let mut out = String::new();
    table(&mut out, &rows);
    let worth: f64 = stock
        .pieces
        .iter()
        .map(|p| p.price * f64::from(p.count))
        .sum();
    let whole: f64 = stock
        .pieces
        .iter()
        .map(|p| p.shape.area_mm2() * f64::from(p.count))
        .sum();
    out.push('\n');
    let words = format!("{}, worth {worth:.2}", area(Area::mm2(whole), show));
    line(&mut out, "in all", &words);
    out
}

fn used_words(layout: &Layout, rests: &[Rest], used: &Used, show: LengthUnit) -> String {
    let mut out = String::new();
    line(&mut out, "layout", &layout.title);
    for (name, count) in &used.taken {
        line(&mut out, "taken", &format!("{count} x {name}"));
    }
    for (rest, p) in rests.iter().zip(&used.kept) {
        let at = rest.shape.bounds().min;
        let [x, y] = [at.x, at.y].map(|s| show.number(millimetres(s)));
        let from = layout
            .sheets
            .get(rest.sheet)
            .and_then(|s| layout.stock.get(s.stock))
            .map_or("", |p| p.name.as_str());
        let text = format!(
            "{}: {}, of sheet {} ({from}), from {x}, {y} on",
            p.name,
            size(&p.shape, show),
            rest.sheet + 1
        );
        line(&mut out, "kept", &text);
    }
    if used.kept.is_empty() {
        line(&mut out, "kept", "no rest");
    } else {
        line(
            &mut out,
            "",
            "Cut the rests off straight, and write the name and a line along the flutes on each.",
        );
    }
    out
}

fn undone_words(undone: &Undone) -> String {
    let mut out = String::new();
    line(&mut out, "layout", &undone.title);
    for (name, count) in &undone.back {
        line(&mut out, "back", &format!("{count} x {name}"));
    }
    for name in &undone.gone {
        line(&mut out, "out", name);
    }
    out
}

// JSON.

fn piece_json(p: &Piece) -> Value {
    let b = p.shape.bounds();
    let mm = |ring: &Vec<boxwright::sheet::Spot>| -> Vec<[f64; 2]> {
        ring.iter().map(|s| s.to_mm().to_array()).collect()
    };
    json!({
        "name": p.name,
        "board": p.board,
        "off-cut": p.off_cut,
        "count": p.count,
        "price": p.price,
        "length": millimetres(b.width()).to_mm(),
        "width": millimetres(b.height()).to_mm(),
        "area": p.shape.area_mm2(),
        "outline": mm(&p.shape.outer),
        "holes": p.shape.holes.iter().map(mm).collect::<Vec<_>>(),
    })
}

fn stock_json(stock: &Stock) -> Value {
    json!({
        "format": "boxwright-stock",
        "version": 1,
        "pieces": stock.pieces.iter().map(piece_json).collect::<Vec<_>>(),
    })
}

fn counts(list: &[(String, u32)]) -> Vec<Value> {
    let one = |(name, count): &(String, u32)| json!({ "name": name, "count": count });
    list.iter().map(one).collect()
}

fn used_json(layout: &Layout, rests: &[Rest], used: &Used) -> Value {
    let kept = rests.iter().zip(&used.kept).map(|(rest, p)| {
        let mut piece = piece_json(p);
        if let Some(fields) = piece.as_object_mut() {
            fields.insert("sheet".to_owned(), json!(rest.sheet));
            let at = rest.shape.bounds().min.to_mm().to_array();
            fields.insert("at".to_owned(), json!(at));
        }
        piece
    });
    json!({
        "layout": layout.title,
        "taken": counts(&used.taken),
        "kept": kept.collect::<Vec<_>>(),
    })
}

fn undone_json(undone: &Undone) -> Value {
    json!({
        "layout": undone.title,
        "back": counts(&undone.back),
        "out": undone.gone,
    })
}
