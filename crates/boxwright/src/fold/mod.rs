//! The blank folded as thick board, stage by stage.
//!
//! A piece is a tree; a pose gives each hinge an angle; a panel's frame is its parent's frame
//! times the turn about its fold axis, a line at z = -p t under a crease that folds inward and at
//! z = -(1 - p) t under one that folds outward.

mod model;

pub use model::*;
