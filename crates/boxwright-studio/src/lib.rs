//! The studio of boxwright: a local web page and the server behind it.
//!
//! The server is a thin face over the library: it keeps nothing between requests but styles and
//! boards it has parsed. It listens on this machine only, answers pages that it served itself, and
//! touches no file but `*.kdl`, `*.layout.json` and `*.csv` in the opened folder, and the stock kept
//! there.
//!
//! ```text
//! wire     the shapes that travel, the same in Rust, in TypeScript and in the OpenAPI document
//! ask      what was typed -> a job, every message at its field
//! design   a job -> what the page shows: flat pieces, folded case (solid, bends), findings
//! tongue   sentences of the library told in inches
//! stock    the stock of the folder, told and changed; using, a layout's sheets taken out of it
//! laying   jobs -> a task, and the search on several threads; sheets, layouts as they are drawn
//! cutting  a layout cut by a machine, and its files
//! packing  things -> inside sizes with their arrangements
//! choosing an inside size -> styles and boards
//! shipping a case and what surrounds it -> strength, stack, parcel, lifting; loading, pallets
//! range    an order history -> the few case sizes that serve it best
//! learning test strips, readings and the measured figures of the folder; spreading, how many of
//!          many cases hold
//! folder   the opened folder, and saving so that no file is ever half written or lost
//! jobfile  job files read and edited with comments and layout kept
//! guard    who may ask, how much and how long
//! routes   one file per group of addresses
//! ```

mod ask;
mod bends;
mod choosing;
mod cutting;
mod design;
mod extract;
mod fix;
mod flat;
mod folder;
mod guard;
mod jobfile;
mod laying;
mod learning;
mod loading;
mod packing;
mod page;
mod range;
mod refuse;
mod routes;
#[cfg(test)]
mod seen;
mod serve;
mod sheets;
mod shelf;
mod shipping;
mod solid;
mod spreading;
mod stock;
mod tongue;
mod using;
pub mod wire;

pub use routes::{document, router};
pub use serve::{Options, Studio, open, run};
