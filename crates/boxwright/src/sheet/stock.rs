//! Stock: the sheets and off-cuts at hand.

use serde::{Deserialize, Serialize};

use super::shape::Shape;

/// Whole sheets of one kind, or one off-cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Piece {
    /// What the workshop calls it; unique in the stock.
    pub name: String,
    /// The board's name.
    pub board: String,
    /// Its outline on the grid, least corner at the origin; holes are places already cut away.
    /// Flutes run along x.
    pub shape: Shape,
    /// How many there are.
    pub count: u32,
    /// What one costs, in the workshop's currency.
    pub price: f64,
    /// Whether it is what was left of a sheet.
    pub off_cut: bool,
}

/// Everything at hand.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    /// Sheets and off-cuts, names unique.
    pub pieces: Vec<Piece>,
}
