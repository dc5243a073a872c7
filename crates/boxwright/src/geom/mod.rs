//! Plane paths of lines and arcs, placements, convex pieces. All coordinates are millimetres.

mod convex;
mod path;
mod place;
mod triangles;

pub use convex::{Hull, convex_pieces};
pub use glam::{DAffine3, DMat3, DVec2, DVec3};
pub use path::{Path, Rect, Segment, Vertex};
pub use place::Placement;
pub use triangles::{doubled_area, triangles};
