//! The flat piece: cut lines, creases and slots in millimetres.
//!
//! Coordinates lie in the plane of the board, looking at the **inside** face: x to the right,
//! y up, z towards the reader. The board fills z in `[-t, 0]`.

mod corners;
mod draft;
mod drivers;
mod fitment;
mod grow;
mod layout;
mod model;
mod outline;
mod parts;
mod plan;
mod splits;
mod stages;
mod tree;
mod validate;
mod walk;

pub use draft::draw;
pub use fitment::{asked_of, join};
pub use model::*;
pub use plan::*;
pub use tree::{Material, STEEPEST};
pub use validate::{Defect, validate};
