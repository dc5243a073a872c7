//! The blank folded as thick board, stage by stage.
//!
//! A piece is a tree; a pose gives each hinge an angle; a panel's frame is its parent's frame
//! times the turn about its fold axis, a line at z = -p t under a crease that folds inward and at
//! z = -(1 - p) t under one that folds outward.
//!
//! Case coordinates: the asked room has one corner at the origin; length runs along x, width
//! along y, depth up along z.

mod model;
mod pose;
mod shape;

pub use model::*;
pub use pose::{Angles, Folder, crease_take, direction, within_stage};
pub use shape::{CHORD, shape, wedge};
