//! The ledger: everything that ever changed the stock, in order.

use boxwright::diag::Outcome;
use boxwright::sheet::Piece;
use rusqlite::{Connection, params};

use crate::Store;
use crate::trouble::{Step, Trouble};

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Pieces came in.
    In,
    /// Pieces went out.
    Out,
    /// Pieces were counted anew.
    Counted,
    /// A piece was put in another's place.
    Changed,
    /// A stock file was added.
    Imported,
    /// A stock file took the place of the whole stock.
    Replaced,
    /// A layout was cut.
    Used,
    /// A use was taken back.
    Undone,
}

const WORDS: [(Kind, &str); 8] = [
    (Kind::In, "in"),
    (Kind::Out, "out"),
    (Kind::Counted, "counted"),
    (Kind::Changed, "changed"),
    (Kind::Imported, "imported"),
    (Kind::Replaced, "replaced"),
    (Kind::Used, "used"),
    (Kind::Undone, "undone"),
];

impl Kind {
    /// Its word in the store.
    #[must_use]
    pub fn word(self) -> &'static str {
        WORDS
            .iter()
            .find(|(k, _)| *k == self)
            .map_or("", |(_, w)| *w)
    }
    fn of(word: &str) -> Step<Self> {
        let found = WORDS.iter().find(|(_, w)| *w == word).map(|(k, _)| *k);
        found.ok_or_else(|| Trouble::Damaged(format!("its ledger has an event `{word}`")))
    }
}

/// One event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Its number, rising.
    pub number: i64,
    /// When, in seconds since the beginning of 1970.
    pub at: i64,
    /// What.
    pub kind: Kind,
    /// Title of the layout, or what else there is to say.
    pub title: String,
    /// The layout's digest.
    pub digest: Option<String>,
    /// The event that took it back.
    pub undone_by: Option<i64>,
    /// What changed.
    pub changes: Vec<Change>,
}

/// How many of a piece came or went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The piece's name.
    pub name: String,
    /// How many more there are.
    pub by: i64,
}

/// Writes an event with no changes yet; gives its number.
pub fn event(db: &Connection, kind: Kind, title: &str, digest: Option<&str>) -> Step<i64> {
    db.execute(
        "INSERT INTO event (at, kind, title, digest) VALUES (unixepoch(), ?1, ?2, ?3)",
        params![kind.word(), title, digest],
    )?;
    Ok(db.last_insert_rowid())
}

/// Writes that there are `by` more of a piece.
pub fn changed(db: &Connection, event: i64, piece: &Piece, by: i64) -> Step<()> {
    db.execute(
        "INSERT INTO change (event, name, board, shape, price, off_cut, by)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![
            event,
            piece.name,
            piece.board,
            crate::pieces::shape_text(&piece.shape)?,
            piece.price,
            piece.off_cut,
            by
        ],
    )?;
    Ok(())
}

/// Number of the last event; 0 while nothing has happened.
pub fn last(db: &Connection) -> Step<i64> {
    Ok(db.query_row("SELECT coalesce(max(id), 0) FROM event", [], |r| r.get(0))?)
}

impl Store {
    /// Number of the last event; 0 while nothing has happened. As long as it is the same, so is the
    /// stock.
    ///
    /// # Errors
    /// As [`Store::stock`].
    pub fn last_event(&self) -> Outcome<i64> {
        last(&self.db).map_err(|t| t.words(&self.path))
    }

    /// The next change is only made while `event` is still the last one: who changes what they have
    /// seen never undoes what another did meanwhile. Else it is refused with `changed-stock`.
    #[must_use]
    pub fn after(mut self, event: i64) -> Self {
        self.seen = Some(event);
        self
    }

    /// Everything that happened, the oldest first.
    ///
    /// # Errors
    /// As [`Store::stock`].
    pub fn ledger(&mut self) -> Outcome<Vec<Event>> {
        let tx = self.db.transaction();
        let read = || -> Step<Vec<Event>> {
            let tx = tx?;
            let mut found = Vec::new();
            let mut events =
                tx.prepare("SELECT id, at, kind, title, digest, undone_by FROM event ORDER BY id")?;
            let mut changes =
                tx.prepare("SELECT name, by FROM change WHERE event = ?1 ORDER BY rowid")?;
            let mut rows = events.query([])?;
            while let Some(r) = rows.next()? {
                let number = r.get(0)?;
                let of = changes.query_map([number], |r| {
                    Ok(Change {
                        name: r.get(0)?,
                        by: r.get(1)?,
                    })
                })?;
                found.push(Event {
                    number,
                    at: r.get(1)?,
                    kind: Kind::of(&r.get::<_, String>(2)?)?,
                    title: r.get(3)?,
                    digest: r.get(4)?,
                    undone_by: r.get(5)?,
                    changes: of.collect::<Result<_, _>>()?,
                });
            }
            Ok(found)
        };
        read().map_err(|t| t.words(&self.path))
    }
}
