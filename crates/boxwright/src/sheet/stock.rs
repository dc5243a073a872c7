//! Stock: the sheets and off-cuts at hand.

use std::collections::BTreeSet;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::shape::{Shape, Spot, doubled_area};
use super::sound::{ShapeFault, shape_fault};
use crate::board::Boards;

/// Most of one kind of sheet.
pub const MOST_OF_A_KIND: u32 = 1_000_000;
/// Highest price of one sheet.
pub const HIGHEST_PRICE: f64 = 1e9;
/// Longest name of a sheet, off-cut or board, in characters.
pub const LONGEST_NAME: usize = 100;

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

/// What is wrong with a piece of stock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PieceFault {
    /// A name that is empty, too long, or holds what cannot be written on one line.
    Name,
    /// The same of its board's name.
    Board,
    /// Its shape.
    Shape(ShapeFault),
    /// More than [`MOST_OF_A_KIND`].
    Count,
    /// Below zero, above [`HIGHEST_PRICE`], or no number.
    Price,
}

impl PieceFault {
    /// Its stable code.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Name | Self::Board => "bad-name",
            Self::Shape(fault) => fault.code(),
            Self::Count => "too-many",
            Self::Price => "bad-price",
        }
    }
}

impl fmt::Display for PieceFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Name | Self::Board => write!(
                f,
                "a name has 1 to {LONGEST_NAME} characters on one line, with no space at its ends"
            ),
            Self::Shape(fault) => fault.fmt(f),
            Self::Count => write!(f, "{MOST_OF_A_KIND} of a kind are kept at most"),
            Self::Price => write!(f, "a price is a number from 0 to {HIGHEST_PRICE}"),
        }
    }
}

/// Whether a name can stand in a stock file, on a label and in a message.
#[must_use]
pub fn good_name(name: &str) -> bool {
    // Line breaks and marks that turn the direction of writing.
    let odd = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    let length = name.chars().count();
    (1..=LONGEST_NAME).contains(&length) && name.trim() == name && !name.contains(odd)
}

/// Whether a price is one.
#[must_use]
pub fn good_price(price: f64) -> bool {
    price.is_finite() && price.is_sign_positive() && price <= HIGHEST_PRICE
}

impl Piece {
    /// Whole sheets: so long along the flutes and so wide across them, in grid steps.
    #[must_use]
    pub fn sheet(name: &str, board: &str, length: i64, width: i64, count: u32, price: f64) -> Self {
        Self {
            name: name.to_owned(),
            board: board.to_owned(),
            shape: Shape::rect(length, width),
            count,
            price,
            off_cut: false,
        }
    }
    /// What is wrong with it, the first thing found.
    #[must_use]
    pub fn fault(&self) -> Option<PieceFault> {
        if !good_name(&self.name) {
            Some(PieceFault::Name)
        } else if !good_name(&self.board) {
            Some(PieceFault::Board)
        } else if self.count > MOST_OF_A_KIND {
            Some(PieceFault::Count)
        } else if !good_price(self.price) {
            Some(PieceFault::Price)
        } else {
            shape_fault(&self.shape).map(PieceFault::Shape)
        }
    }
    /// Whether the two are the same board in the same shape, whatever they are called, cost or
    /// number.
    #[must_use]
    pub fn alike(&self, o: &Self) -> bool {
        self.board == o.board && self.shape == o.shape && self.off_cut == o.off_cut
    }
}

impl Shape {
    /// The same with its least corner at the origin, its outer ring counter-clockwise and its holes
    /// clockwise. A ring begins where it began.
    #[must_use]
    pub fn settled(&self) -> Self {
        let mut shape = self.moved(-self.bounds().min);
        let turn = |ring: &mut Vec<Spot>, left: bool| {
            if (doubled_area(ring) > 0) != left && ring.len() > 1 {
                ring[1..].reverse();
            }
        };
        turn(&mut shape.outer, true);
        shape.holes.iter_mut().for_each(|h| turn(h, false));
        shape
    }
    /// Length along x and width along y in grid steps, when it is a plain rectangle at the origin
    /// as [`Shape::rect`] makes it.
    #[must_use]
    pub fn as_rect(&self) -> Option<[i64; 2]> {
        let size = self.bounds().max;
        (*self == Self::rect(size.x, size.y)).then_some([size.x, size.y])
    }
}

impl Stock {
    /// The piece of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Piece> {
        self.pieces.iter().find(|p| p.name == name)
    }
    /// The names of all pieces.
    pub fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.pieces.iter().map(|p| p.name.as_str())
    }
    /// Boards named in the stock that are not among these, each once, in order of their names.
    #[must_use]
    pub fn unknown_boards(&self, boards: &Boards) -> Vec<&str> {
        let named: BTreeSet<&str> = self.pieces.iter().map(|p| p.board.as_str()).collect();
        named
            .into_iter()
            .filter(|b| boards.get(b).is_none())
            .collect()
    }
}
