//! The shapes that travel between page and server. Lengths are numbers of millimetres, angles
//! degrees, masses kilograms; what a user typed travels as text, unit and all.
//!
//! These types are the only ones written for the page; a test writes them as TypeScript to
//! `studio/src/wire` and another file of tests holds the two together.

mod case;
mod choose;
mod contents;
mod cutting;
mod design;
mod error;
mod file_kind;
mod job;
mod layout;
mod learn;
mod lists;
mod range;
mod ship;
mod solid;
mod state;
mod stock;
mod sweep;

pub use case::*;
pub use choose::*;
pub use contents::*;
pub use cutting::*;
pub use design::*;
pub use error::*;
pub use file_kind::*;
pub use job::*;
pub use layout::*;
pub use learn::*;
pub use lists::*;
pub use range::*;
pub use ship::*;
pub use solid::*;
pub use state::*;
pub use stock::*;
pub use sweep::*;
