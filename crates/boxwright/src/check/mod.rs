//! Measured findings: is the room clear, does board meet board, does it close.

mod model;

pub use model::*;
