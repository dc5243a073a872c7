//! The style language.

pub use crate::expr;
