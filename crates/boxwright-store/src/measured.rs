//! Figures measured on the workshop's own board and machine: the latest of each board, machine and
//! way of creasing are used, the earlier ones stay to be looked at until they are forgotten.

use boxwright::board::{Creasing, Figure, Measured};
use boxwright::diag::{Diag, Outcome};
use boxwright::units::Length;
use rusqlite::{Connection, OptionalExtension, params};

use crate::Store;
use crate::trouble::{Step, Trouble};

/// A set of figures as it is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its number, rising.
    pub number: i64,
    /// When it was entered, in seconds since the beginning of 1970.
    pub at: i64,
    /// The figures.
    pub measured: Measured,
}

const NAMES: [&str; 4] = ["caliper", "along", "across", "kerf"];

/// A figure as plain numbers: the store has columns of one kind for lengths in mm and shares.
fn plain(f: Figure<Length>) -> Figure<f64> {
    Figure {
        value: f.value.to_mm(),
        half: f.half.to_mm(),
        error: f.error.to_mm(),
        spread: f.spread.to_mm(),
        count: f.count,
    }
}

fn lengths(f: Figure<f64>) -> Figure<Length> {
    Figure {
        value: Length::mm(f.value),
        half: Length::mm(f.half),
        error: Length::mm(f.error),
        spread: Length::mm(f.spread),
        count: f.count,
    }
}

fn way(word: &str) -> Step<Creasing> {
    let found = Creasing::ALL.into_iter().find(|w| w.word() == word);
    found.ok_or_else(|| Trouble::Damaged(format!("it has a way of creasing `{word}`")))
}

fn put(db: &Connection, m: &Measured) -> Step<i64> {
    db.execute(
        "INSERT INTO measured (at, board, machine, way, taken, note)
         VALUES (unixepoch(), ?1, ?2, ?3, ?4, ?5)",
        params![m.board, m.machine, m.way.word(), m.when, m.note],
    )?;
    let number = db.last_insert_rowid();
    let figures = [m.caliper.map(plain), m.along, m.across, m.kerf.map(plain)];
    for (name, f) in NAMES.iter().zip(figures) {
        let Some(f) = f else { continue };
        db.execute(
            "INSERT INTO figure (measured, name, value, half, error, spread, count)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![number, name, f.value, f.half, f.error, f.spread, f.count],
        )?;
    }
    Ok(number)
}

/// All sets, the latest first.
fn all(db: &Connection) -> Step<Vec<Kept>> {
    let mut found = Vec::new();
    let mut sets = db.prepare(
        "SELECT id, at, board, machine, way, taken, note FROM measured ORDER BY id DESC",
    )?;
    let mut rows = sets.query([])?;
    while let Some(r) = rows.next()? {
        let number: i64 = r.get(0)?;
        let [caliper, along, across, kerf] = figures(db, number)?;
        found.push(Kept {
            number,
            at: r.get(1)?,
            measured: Measured {
                board: r.get(2)?,
                machine: r.get(3)?,
                way: way(&r.get::<_, String>(4)?)?,
                when: r.get(5)?,
                note: r.get(6)?,
                caliper: caliper.map(lengths),
                along,
                across,
                kerf: kerf.map(lengths),
            },
        });
    }
    Ok(found)
}

fn figures(db: &Connection, number: i64) -> Step<[Option<Figure<f64>>; 4]> {
    let mut out = [None; 4];
    let mut rows = db.prepare(
        "SELECT name, value, half, error, spread, count FROM figure WHERE measured = ?1",
    )?;
    let mut rows = rows.query([number])?;
    while let Some(r) = rows.next()? {
        let name: String = r.get(0)?;
        let Some(slot) = NAMES.iter().position(|n| *n == name) else {
            return Err(Trouble::Damaged(format!("it has a figure `{name}`")));
        };
        out[slot] = Some(Figure {
            value: r.get(1)?,
            half: r.get(2)?,
            error: r.get(3)?,
            spread: r.get(4)?,
            count: r.get(5)?,
        });
    }
    Ok(out)
}

impl Store {
    /// Keeps what was measured, beside what was measured before; gives its number.
    ///
    /// # Errors
    /// `bad-figure` for a number that is none; else as [`Store::stock`].
    pub fn put_measured(&mut self, measured: &Measured) -> Outcome<i64> {
        let lengths = [measured.caliper, measured.kerf].map(|f| f.map(plain));
        let all = [lengths[0], measured.along, measured.across, lengths[1]];
        let sound = all.iter().flatten().all(|f| {
            [f.value, f.half, f.error, f.spread]
                .iter()
                .all(|v| v.is_finite())
        });
        if !sound {
            return Err(vec![Diag::error(
                "bad-figure",
                "a measured figure is no number: it is not kept",
            )]);
        }
        self.change(|tx| put(tx, measured))
    }

    /// Everything that was measured and not forgotten, the latest first.
    ///
    /// # Errors
    /// As [`Store::stock`].
    pub fn all_measured(&mut self) -> Outcome<Vec<Kept>> {
        let tx = self.db.transaction();
        let read = || -> Step<Vec<Kept>> {
            let tx = tx?;
            all(&tx)
        };
        read().map_err(|t| t.words(&self.path))
    }

    /// The latest set of a board, a machine (or none) and a way of creasing.
    ///
    /// # Errors
    /// As [`Store::stock`].
    pub fn latest_measured(
        &mut self,
        board: &str,
        machine: Option<&str>,
        way: Creasing,
    ) -> Outcome<Option<Kept>> {
        let kept = self.all_measured()?;
        Ok(kept.into_iter().find(|k| {
            let m = &k.measured;
            m.board == board && m.machine.as_deref() == machine && m.way == way
        }))
    }

    /// Forgets a set by its number, so that the one before it counts again; gives what it was.
    ///
    /// # Errors
    /// `unknown-figures` when there is none of this number; else as [`Store::stock`].
    pub fn forget_measured(&mut self, number: i64) -> Outcome<Kept> {
        self.change(|tx| {
            let there: Option<i64> = tx
                .query_row("SELECT id FROM measured WHERE id = ?1", [number], |r| {
                    r.get(0)
                })
                .optional()?;
            let kept = all(tx)?;
            let found = kept.iter().find(|k| Some(k.number) == there).cloned();
            let Some(found) = found else {
                let known: Vec<String> = kept.iter().map(|k| k.number.to_string()).collect();
                let help = if known.is_empty() {
                    "nothing is kept".to_owned()
                } else {
                    format!("kept are {}", known.join(", "))
                };
                let message = format!("no measured figures have the number {number}");
                return Err(Diag::error("unknown-figures", message).help(help).into());
            };
            tx.execute("DELETE FROM figure WHERE measured = ?1", [number])?;
            tx.execute("DELETE FROM measured WHERE id = ?1", [number])?;
            Ok(found)
        })
    }
}
