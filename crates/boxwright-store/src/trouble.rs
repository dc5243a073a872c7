//! What the database says, in words.

use std::path::Path;

use boxwright::diag::{Diag, Outcome};
use rusqlite::{Error, ErrorCode};

use crate::{PATIENCE, Store};

/// What stops a change: the database, or something the user is told.
pub enum Trouble {
    /// The database.
    Sql(Error),
    /// Messages.
    Said(Vec<Diag>),
    /// What is kept cannot be ours.
    Damaged(String),
}

impl From<Error> for Trouble {
    fn from(e: Error) -> Self {
        Self::Sql(e)
    }
}

impl From<Diag> for Trouble {
    fn from(d: Diag) -> Self {
        Self::Said(vec![d])
    }
}

impl From<Vec<Diag>> for Trouble {
    fn from(d: Vec<Diag>) -> Self {
        Self::Said(d)
    }
}

/// What a step inside a transaction gives.
pub type Step<T> = Result<T, Trouble>;

impl Trouble {
    /// As messages about the store at `path`.
    pub fn words(self, path: &Path) -> Vec<Diag> {
        match self {
            Self::Said(diags) => diags,
            Self::Damaged(what) => vec![damaged(path, &what)],
            Self::Sql(e) => vec![sql(path, &e)],
        }
    }
}

/// That the file cannot be trusted.
pub fn damaged(path: &Path, what: &str) -> Diag {
    Diag::error(
        "damaged-store",
        format!("the stock file `{}` is damaged: {what}", path.display()),
    )
    .help(
        "nothing was written to it; put back a copy, or move it away and import the stock from a \
         file written by `boxwright stock export`",
    )
}

fn sql(path: &Path, e: &Error) -> Diag {
    let shown = path.display();
    let Error::SqliteFailure(failure, text) = e else {
        return damaged(path, &e.to_string());
    };
    let said = text.clone().unwrap_or_else(|| failure.to_string());
    match failure.code {
        ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Diag::error(
            "store-busy",
            format!(
                "another program is working on the stock file `{shown}`; it was waited for, {} s",
                PATIENCE.as_secs()
            ),
        )
        .help("nothing was changed; end the other program or try again"),
        ErrorCode::NotADatabase => Diag::error(
            "not-a-store",
            format!("`{shown}` is not a stock file, or its beginning is damaged"),
        )
        .help("nothing was written to it; move it away, or name another folder with --folder"),
        ErrorCode::DatabaseCorrupt
        | ErrorCode::ConstraintViolation
        | ErrorCode::TypeMismatch
        | ErrorCode::Unknown => damaged(path, &said),
        ErrorCode::ReadOnly | ErrorCode::PermissionDenied => Diag::error(
            "cannot-write",
            format!("the stock file `{shown}` may not be written to"),
        )
        .help("nothing was changed; check who may write to the file and its folder"),
        ErrorCode::CannotOpen => Diag::error(
            "unreadable",
            format!("the stock file `{shown}` cannot be opened"),
        )
        .help("check who may read and write it and its folder"),
        ErrorCode::DiskFull => Diag::error(
            "cannot-write",
            format!("the disk of the stock file `{shown}` is full"),
        )
        .help("nothing was changed; make room and try again"),
        _ => Diag::error(
            "store-failed",
            format!("the stock file `{shown}` cannot be used: {said}"),
        )
        .help("nothing was changed"),
    }
}

fn changed_meanwhile() -> Diag {
    Diag::error(
        "changed-stock",
        "the stock was changed by someone else meanwhile; it is left as it is",
    )
    .help("look at it as it is now, then do it again")
}

impl Store {
    /// Runs a change as one transaction.
    pub(crate) fn change<T>(
        &mut self,
        f: impl FnOnce(&rusqlite::Transaction<'_>) -> Step<T>,
    ) -> Outcome<T> {
        let seen = self.seen.take();
        let begun = self
            .db
            .transaction_with_behavior(rusqlite::TransactionBehavior::Immediate);
        let run = || -> Step<T> {
            let tx = begun?;
            if let Some(seen) = seen {
                let now = crate::ledger::last(&tx)?;
                if now != seen {
                    return Err(changed_meanwhile().into());
                }
            }
            let value = f(&tx)?;
            tx.commit()?;
            Ok(value)
        };
        run().map_err(|t| t.words(&self.path))
    }
}
