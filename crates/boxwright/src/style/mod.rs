//! The style language: a style is a text file that says how a case is built.
//!
//! The nesting of panels in the file is the fold tree; sizes are clear inside spans, and the
//! blank stage adds what each crease takes. The reference for authors is `docs/styles.md`.

mod model;
mod panels;
mod parse;
mod parse_items;
mod values;

pub use model::*;
pub use parse::parse_style;
pub use values::{Values, values};
