//! The pieces themselves: what is at hand, and what a person changes by hand.

use std::collections::BTreeSet;

use boxwright::diag::{Diag, Outcome};
use boxwright::read::suggestion;
use boxwright::sheet::stock::MOST_OF_A_KIND;
use boxwright::sheet::{Piece, Shape, Stock};
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::Store;
use crate::ledger::{Kind, changed, event};
use crate::trouble::{Step, Trouble};

/// How a stock file is brought in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Import {
    /// Counts of pieces that are there already are added up.
    Add,
    /// It takes the place of everything.
    Replace,
}

const COLUMNS: &str = "name, board, shape, count, price, off_cut";

/// A shape as it is kept.
pub fn shape_text(shape: &Shape) -> Step<String> {
    serde_json::to_string(shape).map_err(|e| Trouble::Damaged(e.to_string()))
}

pub fn shape_of(text: &str, name: &str) -> Step<Shape> {
    serde_json::from_str(text)
        .map_err(|e| Trouble::Damaged(format!("the shape of `{name}` cannot be read ({e})")))
}

fn piece(r: &Row<'_>) -> Step<Piece> {
    let name: String = r.get(0)?;
    let shape = shape_of(&r.get::<_, String>(2)?, &name)?;
    let piece = Piece {
        board: r.get(1)?,
        count: r.get(3)?,
        price: r.get(4)?,
        off_cut: r.get(5)?,
        shape,
        name,
    };
    match piece.fault() {
        Some(fault) => Err(Trouble::Damaged(format!("`{}`: {fault}", piece.name))),
        None => Ok(piece),
    }
}

/// All pieces, in the order they came.
pub fn all(db: &Connection) -> Step<Vec<Piece>> {
    let mut query = db.prepare(&format!("SELECT {COLUMNS} FROM piece ORDER BY id"))?;
    let mut rows = query.query([])?;
    let mut found = Vec::new();
    while let Some(r) = rows.next()? {
        found.push(piece(r)?);
    }
    Ok(found)
}

/// The piece of this name.
pub fn find(db: &Connection, name: &str) -> Step<Option<Piece>> {
    db.query_row(
        &format!("SELECT {COLUMNS} FROM piece WHERE name = ?1"),
        [name],
        |r| Ok(piece(r)),
    )
    .optional()?
    .transpose()
}

/// The piece of this name, or that there is none.
fn need(db: &Connection, name: &str) -> Step<Piece> {
    if let Some(p) = find(db, name)? {
        return Ok(p);
    }
    let all = all(db)?;
    let names: Vec<&str> = all.iter().map(|p| p.name.as_str()).collect();
    Err(unknown(name, &names).into())
}

/// That nothing of this name is in the stock.
pub fn unknown(name: &str, names: &[&str]) -> Diag {
    /// No longer list is worth reading.
    const MOST_NAMES: usize = 40;
    let d = Diag::error(
        "unknown-piece",
        format!("the stock has nothing called `{name}`"),
    );
    if names.is_empty() || names.len() > MOST_NAMES {
        d.help("`boxwright stock list` shows what is there")
    } else {
        d.help(suggestion(name, names.iter().copied()))
    }
}

/// Writes a piece, in place of one of the same name.
pub fn write(db: &Connection, p: &Piece) -> Step<()> {
    db.execute(
        "INSERT INTO piece (name, board, shape, count, price, off_cut)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6)
         ON CONFLICT (name) DO UPDATE SET board = excluded.board, shape = excluded.shape,
             count = excluded.count, price = excluded.price, off_cut = excluded.off_cut",
        params![
            p.name,
            p.board,
            shape_text(&p.shape)?,
            p.count,
            p.price,
            p.off_cut
        ],
    )?;
    Ok(())
}

/// Sets how many there are. Whole sheets stay in the list when none is left; an off-cut goes.
pub fn set(db: &Connection, p: &Piece, count: u32) -> Step<()> {
    if count == 0 && p.off_cut {
        db.execute("DELETE FROM piece WHERE name = ?1", [&p.name])?;
    } else {
        let with = Piece { count, ..p.clone() };
        write(db, &with)?;
    }
    Ok(())
}

/// A count so much larger.
pub fn more(p: &Piece, by: u32) -> Step<u32> {
    p.count
        .checked_add(by)
        .filter(|n| *n <= MOST_OF_A_KIND)
        .ok_or_else(|| {
            let text = format!("`{}`: {MOST_OF_A_KIND} of a kind are kept at most", p.name);
            Diag::error("too-many", text).into()
        })
}

/// A count so much smaller.
pub fn fewer(p: &Piece, by: u32) -> Step<u32> {
    p.count.checked_sub(by).ok_or_else(|| {
        let text = format!(
            "of `{}` there are {}, and {by} are asked for",
            p.name, p.count
        );
        Diag::error("too-few", text)
            .help("count again: `boxwright stock list` shows what is there")
            .into()
    })
}

/// That a piece of this name is there and is another.
pub fn different(name: &str) -> Diag {
    Diag::error(
        "different-piece",
        format!("`{name}` is in the stock already, of another board or shape"),
    )
    .help("give the new one another name, or take the old one out first")
}

/// Refuses pieces that cannot be kept.
pub fn sound<'a>(pieces: impl IntoIterator<Item = &'a Piece>) -> Step<()> {
    let mut names = BTreeSet::new();
    let mut diags = Vec::new();
    for p in pieces {
        if let Some(fault) = p.fault() {
            diags.push(Diag::error(fault.code(), format!("`{}`: {fault}", p.name)));
        } else if !names.insert(p.name.as_str()) {
            let text = format!("`{}` is given twice", p.name);
            diags.push(Diag::error("given-twice", text).help("names are given once"));
        }
    }
    if diags.is_empty() {
        Ok(())
    } else {
        Err(diags.into())
    }
}

/// Adds a piece, or adds its count to the one that is there; gives what is there then.
fn added(db: &Connection, event: i64, p: &Piece) -> Step<Piece> {
    let now = match find(db, &p.name)? {
        None => p.clone(),
        Some(old) if old.alike(p) => Piece {
            count: more(&old, p.count)?,
            ..p.clone()
        },
        Some(_) => return Err(different(&p.name).into()),
    };
    write(db, &now)?;
    changed(db, event, p, i64::from(p.count))?;
    Ok(now)
}

impl Store {
    /// Everything at hand, in the order it came; kinds of which none is left are there with a count
    /// of 0.
    ///
    /// # Errors
    /// `damaged-store`, `store-busy`, and what else the disk may say.
    pub fn stock(&self) -> Outcome<Stock> {
        all(&self.db)
            .map(|pieces| Stock { pieces })
            .map_err(|t| t.words(&self.path))
    }

    /// Puts a piece in, in place of one of the same name, whatever that was.
    ///
    /// # Errors
    /// What is wrong with the piece; as [`Store::stock`].
    pub fn put(&mut self, p: &Piece) -> Outcome<()> {
        self.change(|tx| {
            sound([p])?;
            let event = event(tx, Kind::Changed, "", None)?;
            if let Some(old) = find(tx, &p.name)? {
                changed(tx, event, &old, -i64::from(old.count))?;
            }
            write(tx, p)?;
            changed(tx, event, p, i64::from(p.count))
        })
    }

    /// Adds pieces that came in; the counts of a kind that is there already are added up, and its
    /// price becomes the new one. Gives what is there now.
    ///
    /// # Errors
    /// `different-piece` when one of that name is of another board or shape; what is wrong with the
    /// piece; as [`Store::stock`].
    pub fn add(&mut self, p: &Piece) -> Outcome<Piece> {
        self.change(|tx| {
            sound([p])?;
            let event = event(tx, Kind::In, "", None)?;
            added(tx, event, p)
        })
    }

    /// Adds so many of a kind that is there already. Gives what is there now.
    ///
    /// # Errors
    /// `unknown-piece`, `too-many`; as [`Store::stock`].
    pub fn add_more(&mut self, name: &str, by: u32) -> Outcome<Piece> {
        self.change(|tx| {
            let old = need(tx, name)?;
            let event = event(tx, Kind::In, "", None)?;
            let now = Piece {
                count: more(&old, by)?,
                ..old
            };
            write(tx, &now)?;
            changed(tx, event, &now, i64::from(by))?;
            Ok(now)
        })
    }

    /// Takes so many out. Gives how many are left.
    ///
    /// # Errors
    /// `unknown-piece`, `too-few`; as [`Store::stock`].
    pub fn take(&mut self, name: &str, by: u32) -> Outcome<u32> {
        self.change(|tx| {
            let old = need(tx, name)?;
            let left = fewer(&old, by)?;
            let event = event(tx, Kind::Out, "", None)?;
            set(tx, &old, left)?;
            changed(tx, event, &old, -i64::from(by))?;
            Ok(left)
        })
    }

    /// Says how many there are, after counting.
    ///
    /// # Errors
    /// `unknown-piece`, `too-many`; as [`Store::stock`].
    pub fn set_count(&mut self, name: &str, count: u32) -> Outcome<()> {
        self.change(|tx| {
            let old = need(tx, name)?;
            more(
                &Piece {
                    count: 0,
                    ..old.clone()
                },
                count,
            )?;
            let event = event(tx, Kind::Counted, "", None)?;
            set(tx, &old, count)?;
            changed(tx, event, &old, i64::from(count) - i64::from(old.count))
        })
    }

    /// Takes a piece out of the list, however many there are. Gives what was there.
    ///
    /// # Errors
    /// `unknown-piece`; as [`Store::stock`].
    pub fn remove(&mut self, name: &str) -> Outcome<Piece> {
        self.change(|tx| {
            let old = need(tx, name)?;
            let event = event(tx, Kind::Out, "", None)?;
            tx.execute("DELETE FROM piece WHERE name = ?1", [name])?;
            changed(tx, event, &old, -i64::from(old.count))?;
            Ok(old)
        })
    }

    /// Brings in a whole stock, all of it or nothing.
    ///
    /// # Errors
    /// As [`Store::add`], for every piece.
    pub fn import(&mut self, stock: &Stock, how: Import) -> Outcome<()> {
        self.change(|tx| {
            sound(&stock.pieces)?;
            let kind = match how {
                Import::Add => Kind::Imported,
                Import::Replace => Kind::Replaced,
            };
            let event = event(tx, kind, "", None)?;
            if how == Import::Replace {
                for old in all(tx)? {
                    changed(tx, event, &old, -i64::from(old.count))?;
                }
                tx.execute("DELETE FROM piece", [])?;
            }
            let mut diags = Vec::new();
            for p in &stock.pieces {
                match added(tx, event, p) {
                    Err(Trouble::Said(more)) => diags.extend(more),
                    other => {
                        other?;
                    }
                }
            }
            if diags.is_empty() {
                Ok(())
            } else {
                Err(diags.into())
            }
        })
    }
}
