//! The folded case as a set of thick slabs.

use std::sync::Arc;

use crate::geom::{DAffine3, DVec2, DVec3, Hull};

/// The rigid shape of a panel in its own coordinates: the same in every pose.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Outer ring counter-clockwise, then cut-outs clockwise; arcs in chords. At each crease the
    /// ring is drawn in to the clear span, so neighbouring slabs meet without overlapping.
    pub rings: Vec<Vec<DVec2>>,
    /// The same area in convex pieces.
    pub pieces: Vec<Hull>,
    /// Board thickness in mm: the slab fills z in `[-caliper, 0]`, inside face at z = 0.
    pub caliper: f64,
    /// Unit vector along the flutes, in the panel's own coordinates.
    pub flutes: DVec2,
}

/// Board stretched round the outside of a crease: a triangular prism between the two panels.
/// Corners 0, 1, 2 are one end, 3, 4, 5 the other; in case coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wedge(pub [DVec3; 6]);

/// A panel in space.
#[derive(Clone, Debug, PartialEq)]
pub struct Slab {
    /// Index of the piece.
    pub piece: usize,
    /// Index of the panel in its blank.
    pub panel: usize,
    /// The panel's full name; with several pieces, the piece's name first: `lid: front`.
    pub name: String,
    /// From the panel's own coordinates to case coordinates. Rigid.
    pub frame: DAffine3,
    /// Its shape.
    pub shape: Arc<Shape>,
    /// Stretched board at its own hinge and at hinges it carries; each wedge belongs to one slab.
    pub wedges: Vec<Wedge>,
}

/// The asked clear room, an upright block in case coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// One corner of the block.
    pub min: DVec3,
    /// The opposite corner.
    pub max: DVec3,
    /// For x, y and z: which asked size lies along it (0 length, 1 width, 2 depth).
    pub asked: [usize; 3],
}

/// The case at rest after a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// Number of the stage, from 1; 0 is flat.
    pub stage: usize,
    /// The stage's name.
    pub title: String,
    /// The instruction line for the reader.
    pub text: String,
    /// Every panel of every piece that has entered.
    pub slabs: Vec<Slab>,
    /// Names of the panels that moved in this stage.
    pub moved: Vec<String>,
    /// Upwards when the case stands, in case coordinates.
    pub up: DVec3,
    /// The direction that points up on a picture, from how the case is held in this stage.
    pub shown_up: DVec3,
}
