//! Blanks laid on the stock at hand.
//!
//! Words: a **part** is a blank ready to be laid, with its outline, windows and flutes; **stock** is
//! sheets and off-cuts; a **layout** says which part lies where on which sheet. Searching works on a
//! grid of whole micrometres ([`shape`]), where touching and overlapping are told apart exactly.

pub mod lattice;
pub mod layout;
pub mod nofit;
pub mod shape;
pub mod stock;

pub use layout::{LaidSheet, Layout, Line, Part, Placed, Turns};
pub use shape::{Bounds, Shape, Spot, Turn, steps};
pub use stock::{Piece, Stock};
