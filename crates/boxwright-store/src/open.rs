//! Opening a store: what it must be before anything is read from it or written to it.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use boxwright::diag::{Diag, Outcome};
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::trouble::{Step, Trouble, damaged};
use crate::{FILE, PATIENCE, Store};

/// Marks the file as ours: "bxws" in ASCII.
const APPLICATION: i64 = 0x6278_7773;

/// What leads from each version to the next, beginning with an empty file. Only ever appended to.
const MIGRATIONS: &[&str] = &[
    "
CREATE TABLE piece (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE,
    board TEXT NOT NULL,
    shape TEXT NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 0),
    price REAL NOT NULL CHECK (price >= 0),
    off_cut INTEGER NOT NULL CHECK (off_cut IN (0, 1))
) STRICT;
CREATE TABLE event (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    title TEXT NOT NULL,
    digest TEXT,
    undone_by INTEGER REFERENCES event (id)
) STRICT;
CREATE TABLE change (
    event INTEGER NOT NULL REFERENCES event (id),
    name TEXT NOT NULL,
    board TEXT NOT NULL,
    shape TEXT NOT NULL,
    price REAL NOT NULL,
    off_cut INTEGER NOT NULL,
    by INTEGER NOT NULL
) STRICT;
CREATE INDEX change_event ON change (event);
CREATE INDEX change_name ON change (name);
CREATE TABLE number (
    board TEXT PRIMARY KEY,
    last INTEGER NOT NULL
) STRICT;
",
    "
CREATE TABLE measured (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    board TEXT NOT NULL,
    machine TEXT,
    way TEXT NOT NULL,
    taken TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE TABLE figure (
    measured INTEGER NOT NULL REFERENCES measured (id),
    name TEXT NOT NULL,
    value REAL NOT NULL,
    half REAL NOT NULL CHECK (half >= 0),
    error REAL NOT NULL CHECK (error >= 0),
    spread REAL NOT NULL CHECK (spread >= 0),
    count INTEGER NOT NULL CHECK (count > 0),
    PRIMARY KEY (measured, name)
) STRICT;
",
];

/// The version this program reads and writes.
fn version() -> i64 {
    i64::try_from(MIGRATIONS.len()).unwrap_or(i64::MAX)
}

impl Store {
    /// Opens the store in a folder, making it when there is none.
    ///
    /// # Errors
    /// `no-folder`, `not-a-store`, `damaged-store`, `newer-store`, `store-busy`, `cannot-write`,
    /// `unreadable`.
    pub fn open(folder: &Path) -> Outcome<Self> {
        Self::open_waiting(folder, PATIENCE)
    }
    /// The same, waiting so long for other programs.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn open_waiting(folder: &Path, patience: Duration) -> Outcome<Self> {
        Self::begin(folder, patience, true)
    }
    /// Opens the store in a folder.
    ///
    /// # Errors
    /// `no-store` when there is none; else as [`Store::open`].
    pub fn open_existing(folder: &Path) -> Outcome<Self> {
        Self::begin(folder, PATIENCE, false)
    }
    /// Where its file is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn begin(folder: &Path, patience: Duration, make: bool) -> Outcome<Self> {
        let path = place(folder, make)?;
        let opened = || -> Step<Connection> {
            let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            if make {
                flags |= OpenFlags::SQLITE_OPEN_CREATE;
            }
            let mut db = Connection::open_with_flags(&path, flags)?;
            db.busy_timeout(patience)?;
            // Not a word is written before it is known whose file it is.
            if prepared(&mut db, &path, make)? {
                return Ok(db);
            }
            Err(no_store(folder).into())
        };
        let db = opened().map_err(|t| t.words(&path))?;
        Ok(Self {
            db,
            path,
            seen: None,
        })
    }
}

fn place(folder: &Path, make: bool) -> Outcome<PathBuf> {
    let shown = folder.display();
    if !folder.is_dir() {
        let what = if folder.exists() {
            format!("`{shown}` is a file, not a folder")
        } else {
            format!("there is no folder `{shown}`")
        };
        return Err(vec![
            Diag::error("no-folder", what).help("name the workshop's folder"),
        ]);
    }
    let path = folder.join(FILE);
    match fs::metadata(&path) {
        Ok(m) if !m.is_file() => Err(vec![
            Diag::error("not-a-store", format!("`{}` is no file", path.display()))
                .help("move it away, or name another folder with --folder"),
        ]),
        Err(_) if !make => Err(vec![no_store(folder)]),
        _ => Ok(path),
    }
}

fn no_store(folder: &Path) -> Diag {
    Diag::error(
        "no-store",
        format!("no stock is kept in the folder `{}`", folder.display()),
    )
    .help("`boxwright stock add` or `boxwright stock import` begin one; --folder names another")
}

fn not_ours(path: &Path, what: &str) -> Diag {
    Diag::error("not-a-store", format!("`{}` {what}", path.display()))
        .help("nothing was written to it; move it away, or name another folder with --folder")
}

fn ask(db: &Connection, pragma: &str) -> Step<i64> {
    Ok(db.pragma_query_value(None, pragma, |r| r.get(0))?)
}

/// Makes sure that the file is a sound store of this version; false when it holds nothing at all
/// and nothing is to be made.
fn prepared(db: &mut Connection, path: &Path, make: bool) -> Step<bool> {
    db.pragma_update(None, "trusted_schema", false)?;
    db.pragma_update(None, "cell_size_check", true)?;
    let empty = ask(db, "page_count")? == 0;
    // A few stray bytes count as no page, and are somebody's all the same. A file that a killed run
    // had begun has been rolled back to nothing by now.
    if empty && fs::metadata(path).is_ok_and(|m| m.len() > 0) {
        return Err(not_ours(path, "is not a stock file").into());
    }
    if empty && !make {
        return Ok(false);
    }
    if !empty {
        owned(db, path)?;
    }
    // The rollback journal is its default; EXTRA also syncs the folder when the journal goes.
    db.pragma_update(None, "synchronous", "EXTRA")?;
    db.pragma_update(None, "foreign_keys", true)?;
    if empty || ask(db, "user_version")? < version() {
        grow(db, path, empty)?;
    }
    let sound: String = db.query_row("PRAGMA integrity_check(1)", [], |r| r.get(0))?;
    if sound != "ok" {
        return Err(Trouble::Damaged(sound));
    }
    Ok(true)
}

/// Whether the file is ours and not newer than this program.
fn owned(db: &Connection, path: &Path) -> Step<()> {
    let shown = path.display();
    if ask(db, "application_id")? != APPLICATION {
        return Err(not_ours(path, "is a database of another program").into());
    }
    let found = ask(db, "user_version")?;
    if found > version() {
        return Err(Diag::error(
            "newer-store",
            format!(
                "the stock file `{shown}` is of version {found}; this program knows versions up \
                 to {}",
                version()
            ),
        )
        .help("use the newer boxwright that wrote it")
        .into());
    }
    if found < 1 {
        return Err(damaged(path, "it has no version").into());
    }
    Ok(())
}

/// Brings the file to this version, all steps or none.
fn grow(db: &mut Connection, path: &Path, empty: bool) -> Step<()> {
    let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have been first. The transaction itself gives an empty file a page.
    let tables: i64 = tx.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0))?;
    if !empty || tables > 0 {
        owned(&tx, path)?;
    }
    let from = usize::try_from(ask(&tx, "user_version")?).unwrap_or_default();
    for step in MIGRATIONS.iter().skip(from) {
        tx.execute_batch(step)?;
    }
    tx.pragma_update(None, "application_id", APPLICATION)?;
    tx.pragma_update(None, "user_version", version())?;
    tx.commit()?;
    Ok(())
}
