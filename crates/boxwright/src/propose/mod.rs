//! Which style and which board: ranked proposals with their reasons.
//!
//! Words: a **need** is what somebody asks of a case; what is **at hand** is styles, boards, stock and
//! machine; a **candidate** is one inside size, style, board and way of creasing; a **look** is what
//! one candidate turned out to be when it was drawn, folded and checked at rest.
//!
//! ```text
//! need      what is asked, what is at hand, what is cared about
//! supply    does the blank fit a sheet there is, and what does its board cost
//! look      one candidate drawn, folded, checked at rest and reckoned with
//! rank      which look is better
//! reasons   what speaks for a proposal and against it, with figures
//! run       all candidates: proposals that pass the whole check, and what was left out and why
//! job_text  a proposal as a job file
//! ```
//!
//! Nothing is dropped without a word: each candidate is proposed, named beside a proposal of its
//! style, counted as one that would do, or counted with the reason why it was left out.

mod job_text;
mod look;
mod model;
mod need;
mod rank;
mod reasons;
mod run;
mod supply;

pub use job_text::job_text;
pub use look::{Look, evaluate, ways};
pub use model::{LeftOut, OnSheet, Piece, Proposal, Proposals, Why};
pub use need::{AtHand, Candidate, Need, Pallet, Prefer};
pub use rank::{SAME, better, figure, order};
pub use run::propose;
pub use supply::{Supply, supply};
