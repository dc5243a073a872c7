//! Cases on a pallet, pallets on a floor, cases in a room.
//!
//! Words: a **floor** is the rectangle that is filled: a pallet with the overhang allowed, or the
//! inside of a container. A **pattern** is one layer of equal cases on it, their sides along the
//! floor's. A **load** is layers of a pattern on a base.
//!
//! ```text
//! grid    whole numbers to search in; sizes that allow the same rows
//! bound   what no pattern can pass
//! blocks  patterns of rows, cuts and pinwheels
//! fill    every pattern there can be, tried
//! prove   is a pattern sound; shares nothing with the searches
//! pattern the ask and the answer: count, places, bound, what is proved
//! stand   what a layer stands on
//! load    layers on a base, up to a height and a mass
//! room    pallets and loose cases in a container or trailer
//! table   pallets, containers and trailers as a file says them
//! ```
//!
//! Counts are of geometry and mass only. Whether a stack bears its load is another question.

mod blocks;
mod bound;
mod fill;
mod grid;
mod load;
mod pattern;
mod prove;
mod room;
mod stand;
mod table;
#[cfg(test)]
mod tests;

pub use load::{Arrangement, Base, Carton, Down, Limit, Load, Rules, Tip, loads};
pub use pattern::{Ask, Method, Pattern, Patterns, Proof, Spot, Ways, Work, patterns};
pub use prove::{Fault, Placed, prove};
pub use room::{Loose, OnFloor, Room, RoomKind, loose, on_floor};
pub use stand::{Standing, standing};
pub use table::{Listed, Tables, read_tables};

/// What no part of this module tries; for the reader of a count.
pub const NOT_TRIED: [&str; 4] = [
    "layers of different patterns or heights in one load",
    "cases of different sizes in one load",
    "cases standing on different sides in one load, also in the room that is left over",
    "cases turned by other than quarter turns",
];
