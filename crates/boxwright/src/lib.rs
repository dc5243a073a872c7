//! From an asked size to a corrugated blank that provably folds.
//!
//! The data flows one way, and the modules are declared in that order:
//!
//! ```text
//! board   what the case is cut from: caliper, flutes, crease depth, strength, tolerances
//! style   how such a case is made up, read from a text file
//! blank   what to cut and crease, laid flat, in millimetres
//! fold    panels as thick slabs, at any moment of the folding
//! check   findings: clear room, board in board, joints, what is too narrow
//! sweep   one case checked over a grid of two sizes or parameters
//! proof   a style tried at random sizes, boards and crease depths
//! contents  from the things to be sent to inside sizes: cushion, arrangement
//! pallet  packed cases on a pallet, in a container, in a trailer
//! ship    strength, stacking, grades, parcel classes and lifting of the packed case
//! suite   which few case sizes serve an order history best, and how far that is proved
//! haul    loads no higher than their bottom cases bear, and what was asked and does not hold
//! machine what a cutter can do, read from a text file
//! learn   test strips measured: how this board folds and this machine cuts, and what scatters
//! sheet   blanks laid on the stock there is
//! cut     what the machine does, stroke by stroke
//! propose which style and which board, with reasons
//! emit    DXF, SVG, PDF, PNG, GLB, JSON
//! flatfile  and back: a DXF or SVG drawn by anyone, folded and measured
//! ```
//!
//! Each of these takes values and gives values. The library opens no file, reads no
//! clock or environment, starts no thread and prints nothing.

// Used by everything; each uses only those before it.

pub mod diag;

pub mod units;

pub mod source;

pub mod geom;

pub mod letters;

pub mod expr;

pub mod read;

// The pipeline; each uses only those before it. `tests/order.rs` holds this order.

pub mod board;

pub mod style;

pub mod job;

pub mod blank;

pub mod fold;

pub mod marks;

pub mod brief;

pub mod check;

pub mod sweep;

pub mod proof;

pub mod contents;

pub mod pallet;

pub mod ship;

pub mod haul;
pub mod suite;

pub mod machine;

pub mod learn;

pub mod sheet;

pub mod cut;

pub mod propose;

pub mod emit;

pub mod flatfile;
