//! Folding: the panels of a blank as thick slabs, at rest and on the way.
//!
//! Given an angle for each hinge of a piece, panels are placed from the root outward: each one's
//! frame follows from the one it hangs on and the turn about its fold axis, a line at z = -p t
//! under a crease that folds inward and at z = -(1 - p) t under one that folds outward.
//!
//! Case coordinates: the asked room has one corner at the origin; length runs along x, width
//! along y, depth up along z.

mod model;
mod pose;
mod shape;

pub use model::*;
pub use pose::{Angles, Folder, Off, crease_take, direction, within_stage};
pub use shape::{CHORD, shape, shape_as_made, wedge};
