//! The style language: a style is a text file that says how a case is built.
//!
//! Panels nest in the file as they hang on each other. Sizes are clear inside spans; the
//! allowance of each crease is added by `blank`. The reference for authors is `docs/styles.md`.

mod model;
mod panels;
mod parse;
mod parse_items;
mod split;
mod suits;
mod usage;
mod values;

pub use model::*;
pub use parse::{CLOSINGS, FAMILIES, OPENINGS, USES, parse_style};
pub use split::{joint_of, split, walls};
pub use suits::Needs;
pub use values::{Values, values};
