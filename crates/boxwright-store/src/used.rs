//! A layout that was cut: its sheets out, its useful rests in, and the way back.

use std::collections::BTreeMap;

use boxwright::diag::{Diag, Outcome};
use boxwright::sheet::{Layout, Piece, Rest, Shape};
use rusqlite::{Connection, OptionalExtension, params};

use crate::ledger::{Kind, changed, event};
use crate::pieces::{all, different, fewer, find, more, set, shape_of, sound, unknown, write};
use crate::trouble::{Step, Trouble};
use crate::{Store, digest};

/// Whether a layout that was used already may be used once more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Again {
    /// It is refused.
    Refused,
    /// It is cut another time.
    Allowed,
}

/// What using a layout changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Used {
    /// Number of the event.
    pub event: i64,
    /// Names and how many were taken.
    pub taken: Vec<(String, u32)>,
    /// Off-cuts put in, with the names they were given.
    pub kept: Vec<Piece>,
}

/// What taking a use back changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undone {
    /// Title of the layout.
    pub title: String,
    /// Names and how many came back.
    pub back: Vec<(String, u32)>,
    /// Names of the off-cuts that went out.
    pub gone: Vec<String>,
}

impl Store {
    /// Takes the sheets of a layout out and puts the rests in as off-cuts, both or neither. Each
    /// off-cut is called by its board and the next number never used before, and is worth the share
    /// of the sheet's price that it has of the sheet's area.
    ///
    /// # Errors
    /// `already-used`, `nothing-used`; `unknown-piece`, `changed-piece` or `too-few` for every piece
    /// that is not there as the layout has it; `bad-layout`; as [`Store::stock`].
    pub fn use_layout(&mut self, layout: &Layout, rests: &[Rest], again: Again) -> Outcome<Used> {
        let digest = digest(layout);
        self.change(|tx| {
            if again == Again::Refused {
                fresh(tx, &digest)?;
            }
            let taken = wanted(layout)?;
            at_hand(tx, layout, &taken)?;
            let event = event(tx, Kind::Used, &layout.title, Some(&digest))?;
            let mut names = Vec::new();
            for (index, by) in &taken {
                let name = &piece(layout, *index)?.name;
                let Some(old) = find(tx, name)? else { continue };
                set(tx, &old, fewer(&old, *by)?)?;
                changed(tx, event, &old, -i64::from(*by))?;
                names.push((name.clone(), *by));
            }
            let mut kept = Vec::new();
            for rest in rests {
                let sheet = layout.sheets.get(rest.sheet).ok_or_else(bad_layout)?;
                let sheet = piece(layout, sheet.stock)?;
                let p = off_cut(tx, sheet, &rest.shape)?;
                sound([&p])?;
                write(tx, &p)?;
                changed(tx, event, &p, 1)?;
                kept.push(p);
            }
            Ok(Used {
                event,
                taken: names,
                kept,
            })
        })
    }

    /// Takes the last use back: its sheets in, its off-cuts out.
    ///
    /// # Errors
    /// `nothing-to-undo`; `off-cut-gone` when an off-cut of it is not there any more;
    /// `different-piece`; as [`Store::stock`].
    pub fn undo(&mut self) -> Outcome<Undone> {
        self.change(|tx| {
            let (used, title) = last_use(tx)?;
            let event = event(tx, Kind::Undone, &title, None)?;
            tx.execute(
                "UPDATE event SET undone_by = ?1 WHERE id = ?2",
                params![event, used],
            )?;
            let mut undone = Undone {
                title,
                back: Vec::new(),
                gone: Vec::new(),
            };
            let mut diags = Vec::new();
            for (p, by) in changes(tx, used)? {
                let step = if by < 0 { back(tx, &p) } else { gone(tx, &p) };
                match step {
                    Ok(()) => changed(tx, event, &p, -by)?,
                    Err(Trouble::Said(more)) => diags.extend(more),
                    Err(other) => return Err(other),
                }
                if by < 0 {
                    undone.back.push((p.name, p.count));
                } else {
                    undone.gone.push(p.name);
                }
            }
            if diags.is_empty() {
                Ok(undone)
            } else {
                Err(diags.into())
            }
        })
    }
}

fn fresh(db: &Connection, digest: &str) -> Step<()> {
    let when: Option<String> = db
        .query_row(
            "SELECT date(at, 'unixepoch') FROM event
             WHERE kind = ?1 AND digest = ?2 AND undone_by IS NULL ORDER BY id DESC LIMIT 1",
            params![Kind::Used.word(), digest],
            |r| r.get(0),
        )
        .optional()?;
    when.map_or(Ok(()), |date| {
        Err(Diag::error(
            "already-used",
            format!("this layout was used already, on {date}"),
        )
        .help("to cut it another time, say --again")
        .into())
    })
}

fn bad_layout() -> Trouble {
    let text = "the layout names a sheet that it does not hold";
    Diag::error("bad-layout", text).into()
}

fn piece(layout: &Layout, index: usize) -> Step<&Piece> {
    layout.stock.get(index).ok_or_else(bad_layout)
}

/// How many of each piece of the layout's stock it uses, by index.
fn wanted(layout: &Layout) -> Step<BTreeMap<usize, u32>> {
    let mut taken: BTreeMap<usize, u32> = BTreeMap::new();
    for sheet in layout.sheets.iter().filter(|s| !s.placed.is_empty()) {
        piece(layout, sheet.stock)?;
        *taken.entry(sheet.stock).or_default() += 1;
    }
    if taken.is_empty() {
        let text = "nothing lies on any sheet of this layout";
        return Err(Diag::error("nothing-used", text)
            .help("there is nothing to take from the stock")
            .into());
    }
    Ok(taken)
}

/// Refuses, with a message for each, pieces that are not there as the layout has them.
fn at_hand(db: &Connection, layout: &Layout, taken: &BTreeMap<usize, u32>) -> Step<()> {
    let names = all(db)?;
    let names: Vec<&str> = names.iter().map(|p| p.name.as_str()).collect();
    let mut diags = Vec::new();
    let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
    for (index, by) in taken {
        let asked = piece(layout, *index)?;
        // The same name twice in a layout is the same piece.
        let by = {
            let sum = seen.entry(&asked.name).or_default();
            *sum = sum.saturating_add(*by);
            *sum
        };
        match find(db, &asked.name)? {
            None => diags.push(unknown(&asked.name, &names)),
            Some(p) if !p.alike(asked) => diags.push(
                Diag::error(
                    "changed-piece",
                    format!(
                        "`{}` in the stock is of another board or shape than when the layout was made",
                        p.name
                    ),
                )
                .help("make the layout anew from the stock as it is"),
            ),
            Some(p) => match fewer(&p, by) {
                Err(Trouble::Said(more)) => diags.extend(more),
                other => {
                    other?;
                }
            },
        }
    }
    if diags.is_empty() {
        Ok(())
    } else {
        Err(diags.into())
    }
}

/// An off-cut of a sheet, with a name that was never given before.
fn off_cut(db: &Connection, sheet: &Piece, shape: &Shape) -> Step<Piece> {
    /// Leaves room for a number in the longest name.
    const BOARD_IN_NAME: usize = 80;
    let board: String = sheet.board.chars().take(BOARD_IN_NAME).collect();
    let board = board.trim_end();
    let last: Option<i64> = db
        .query_row("SELECT last FROM number WHERE board = ?1", [board], |r| {
            r.get(0)
        })
        .optional()?;
    let mut number = last.unwrap_or(0);
    let name = loop {
        number += 1;
        let name = format!("{board}-{number}");
        let known: bool = db.query_row(
            "SELECT EXISTS (SELECT 1 FROM piece WHERE name = ?1)
                 OR EXISTS (SELECT 1 FROM change WHERE name = ?1)",
            [&name],
            |r| r.get(0),
        )?;
        if !known {
            break name;
        }
    };
    db.execute(
        "INSERT INTO number (board, last) VALUES (?1, ?2)
         ON CONFLICT (board) DO UPDATE SET last = excluded.last",
        params![board, number],
    )?;
    let whole = sheet.shape.area_mm2();
    let share = if whole > 0.0 {
        (shape.area_mm2() / whole).clamp(0.0, 1.0)
    } else {
        0.0
    };
    Ok(Piece {
        name,
        board: sheet.board.clone(),
        shape: shape.settled(),
        count: 1,
        price: (sheet.price * share * 1e4).round() / 1e4,
        off_cut: true,
    })
}

/// Number and title of the last use that was not taken back.
fn last_use(db: &Connection) -> Step<(i64, String)> {
    let found: Option<(i64, String)> = db
        .query_row(
            "SELECT id, title FROM event WHERE kind = ?1 AND undone_by IS NULL
             ORDER BY id DESC LIMIT 1",
            [Kind::Used.word()],
            |r| Ok((r.get(0)?, r.get(1)?)),
        )
        .optional()?;
    let Some(found) = found else {
        return Err(
            Diag::error("nothing-to-undo", "no use of a layout is left to take back").into(),
        );
    };
    let replaced: bool = db.query_row(
        "SELECT EXISTS (SELECT 1 FROM event WHERE kind = ?1 AND id > ?2)",
        params![Kind::Replaced.word(), found.0],
        |r| r.get(0),
    )?;
    if replaced {
        return Err(Diag::error(
            "nothing-to-undo",
            "the whole stock was replaced since the last layout was used",
        )
        .help("put in what came back with `boxwright stock add`")
        .into());
    }
    Ok(found)
}

/// The pieces an event changed, each with as many as came or went, and by how many.
fn changes(db: &Connection, event: i64) -> Step<Vec<(Piece, i64)>> {
    let mut query = db.prepare(
        "SELECT name, board, shape, price, off_cut, by FROM change WHERE event = ?1 ORDER BY rowid",
    )?;
    let mut rows = query.query([event])?;
    let mut found = Vec::new();
    while let Some(r) = rows.next()? {
        let name: String = r.get(0)?;
        let by: i64 = r.get(5)?;
        let count = u32::try_from(by.unsigned_abs())
            .map_err(|_| Trouble::Damaged(format!("its ledger has {by} of `{name}`")))?;
        let shape = shape_of(&r.get::<_, String>(2)?, &name)?;
        let p = Piece {
            board: r.get(1)?,
            price: r.get(3)?,
            off_cut: r.get(4)?,
            name,
            shape,
            count,
        };
        found.push((p, by));
    }
    Ok(found)
}

/// Puts sheets back that a use took.
fn back(db: &Connection, p: &Piece) -> Step<()> {
    match find(db, &p.name)? {
        None => write(db, p),
        Some(now) if now.alike(p) => set(db, &now, more(&now, p.count)?),
        Some(_) => Err(different(&p.name).into()),
    }
}

/// Takes an off-cut out again that a use put in.
fn gone(db: &Connection, p: &Piece) -> Step<()> {
    match find(db, &p.name)? {
        Some(now) if now.alike(p) && now.count >= p.count => set(db, &now, fewer(&now, p.count)?),
        _ => Err(Diag::error(
            "off-cut-gone",
            format!(
                "the off-cut `{}` that this use put in is not there any more",
                p.name
            ),
        )
        .help("it was used, taken or changed since; the use cannot be taken back")
        .into()),
    }
}
