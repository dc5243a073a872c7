//! The workshop's stock, kept in one file: sheets and off-cuts at hand, a ledger of what came in,
//! went out and was used, and the figures measured on its own board and machine.
//!
//! The file is an SQLite database in the workshop's folder, [`FILE`]. Every change is one
//! transaction that is on the disk when the call returns: if the program dies at any moment, a
//! change is there as a whole or not at all. A file that is damaged, foreign or of a newer version
//! is refused in words and never written to.
//!
//! This crate is the only place that knows of the database; the library itself keeps nothing.

mod digest;
mod ledger;
mod measured;
mod open;
mod pieces;
mod trouble;
mod used;

use std::path::PathBuf;
use std::time::Duration;

pub use digest::digest;
pub use ledger::{Change, Event, Kind};
pub use measured::Kept;
pub use pieces::Import;
pub use used::{Again, Undone, Used};

/// The store's file in the workshop's folder.
pub const FILE: &str = "boxwright-stock.db";
/// How long a call waits while another program works on the store.
pub const PATIENCE: Duration = Duration::from_secs(5);

/// An open store.
#[derive(Debug)]
pub struct Store {
    db: rusqlite::Connection,
    path: PathBuf,
    /// The event after which the next change is to come.
    seen: Option<i64>,
}
