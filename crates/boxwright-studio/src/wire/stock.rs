//! The stock of the opened folder.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

/// The sheets and off-cuts of the opened folder.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct StockBook {
    /// Tells this content from any other; null while nothing is kept yet.
    #[schema(required = true)]
    pub stamp: Option<String>,
    /// Whole sheets first, then off-cuts.
    pub pieces: Vec<StockPiece>,
    /// What was changed last, newest first.
    pub history: Vec<StockEvent>,
    /// Title of the layout whose use undo would take back; null when there is none.
    #[schema(required = true)]
    pub undo: Option<String>,
}

/// Sheets of one kind, or one off-cut. Places have x to the right, along the flutes, and y **down**.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct StockPiece {
    /// What the workshop calls it.
    pub name: String,
    /// The board's name.
    pub board: String,
    /// Whether that board is known.
    pub known: bool,
    /// Whether it is what was left of a sheet.
    pub off_cut: bool,
    /// Size along and across the flutes.
    pub size: [f64; 2],
    /// Board in one, in mm2.
    pub area: f64,
    /// How many there are.
    pub count: u32,
    /// What one costs, in the workshop's currency.
    pub price: f64,
    /// SVG path data of its outline and holes (even-odd).
    pub outline: String,
}

/// A change of the stock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct StockEvent {
    /// In words.
    pub words: String,
    /// When, in seconds since the beginning of 1970.
    #[ts(type = "number")]
    pub when: i64,
}

/// A change to make.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockAsk {
    /// The stamp of the stock as it was seen; null when nothing was kept yet.
    #[schema(required = true)]
    pub stamp: Option<String>,
    /// What to do.
    pub change: StockChange,
}

/// What to do with the stock.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(tag = "do", rename_all = "lowercase")]
pub enum StockChange {
    /// Add sheets.
    Add {
        /// What the workshop calls them.
        name: String,
        /// The board's name.
        board: String,
        /// Along the flutes, as typed.
        length: String,
        /// Across the flutes, as typed.
        width: String,
        /// How many.
        #[serde(deserialize_with = "super::state::whole")]
        #[schema(minimum = 0, maximum = 1_000_000)]
        count: u32,
        /// What one costs.
        price: f64,
    },
    /// Change how many there are.
    Count {
        /// Of which.
        name: String,
        /// How many there are now.
        #[serde(deserialize_with = "super::state::whole")]
        #[schema(minimum = 0, maximum = 1_000_000)]
        count: u32,
    },
    /// Take a kind of sheet or an off-cut off the list.
    Remove {
        /// Which.
        name: String,
    },
    /// Bring in a stock text, all of it or nothing.
    Import {
        /// The text, as the export writes it.
        text: String,
        /// Whether it takes the place of all that is kept; else its counts are added.
        replace: bool,
    },
    /// Take the last use of a layout back: its sheets in, its off-cuts out.
    Undo {},
}
