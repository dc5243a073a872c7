//! The dimensioned drawing of a blank.

use super::scene::{Scene, Stroke};
use crate::geom::{DVec2, Path};

/// A double arrow of `length` mm about `middle`, along a page direction.
pub(super) fn double_arrow(
    scene: &mut Scene,
    middle: DVec2,
    along: DVec2,
    length: f64,
    width: f64,
) {
    let _ = (&scene, middle, along, length, width);
    let _: Option<(Path, Stroke)> = None;
}
