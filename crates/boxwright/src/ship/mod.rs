//! From the case to the truck: its size and mass outside, the strength to expect, what time and air take
//! from it, how high it may be stacked, its grade, its parcel class and what lifting it asks.
//!
//! Everything here is an estimate. Every figure that is not computed from the case says where it comes
//! from: `seen` in a publication, from `memory` of one, `derived`, a `default`, `practice` or `measured`.
//! Formulas, units and limits are in `docs/strength.md` and `docs/parcels.md`.
//!
//! [`outlook()`] gathers it all for one case; the parts can be used alone.

pub mod compression;
mod figure;
pub mod grade;
pub mod lift;
pub mod losses;
mod outlook;
pub mod outside;
pub mod parcel;
pub mod proportions;
pub mod signs;
pub mod stack;

pub use figure::{Caution, Range};
pub use losses::{Pattern, Surroundings, pick};
pub use outlook::{Conditions, Outlook, contents_mass, outlook, table};
pub use outside::Outside;
