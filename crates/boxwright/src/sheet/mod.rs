//! Blanks laid on the stock at hand.
//!
//! Words: a **part** is a blank ready to be laid, with its outline, windows and flutes; **stock** is
//! sheets and off-cuts; a **layout** says which part lies where on which sheet. Searching works on a
//! grid of whole micrometres ([`shape`]), where touching and overlapping are told apart exactly.

pub mod bound;
pub mod file;
pub mod fill;
pub mod lattice;
pub mod lay;
pub mod layout;
mod locate;
pub mod nofit;
pub mod part;
pub mod prove;
pub mod rest;
mod rings;
pub mod search;
pub mod shape;
pub mod sound;
pub mod stock;
pub mod stock_text;

pub use bound::{Bound, bounds};
pub use file::{read_layout, write_layout};
pub use lay::{Progress, Score, Task, Why, boards, lay, lay_telling, score, why};
pub use layout::{LaidSheet, Layout, Line, Part, Placed, Proved, Turns};
pub use prove::{Defect, prove};
pub use rest::{Keep, Rest, rests, rests_of};
pub use shape::{Bounds, Shape, Spot, Turn, steps};
pub use sound::{ShapeFault, shape_fault};
pub use stock::{Piece, PieceFault, Stock};
pub use stock_text::{read_stock, write_stock};
