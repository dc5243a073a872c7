//! From the things to be sent to the inside size of a case.
//!
//! A file of things says how large, how heavy and how delicate each is; the module works out how thick
//! a cushion has to be, arranges the things in the smallest rooms, and proposes inside sizes with what
//! limits them. Formulas, sources and the file are in `docs/contents.md`.

pub mod arrange;
pub mod cushion;
pub mod drops;
pub mod first_job;
pub mod proposal;
pub mod read;
mod reasons;
pub mod things;

pub use arrange::{By, Effort};
pub use first_job::{job_text, usual_board, usual_style};
pub use proposal::{Proposal, Proposals, Wish, propose};
pub use read::read_things;
pub use things::{Rules, Thing, Things, Up};
