//! The sheet-metal way of saying where a bend turns, and how it answers to the fold axis depth.
//!
//! A bend of inside radius r through angle a in a sheet of thickness t uses up a neutral line of
//! length a * (r + K * t). At a right angle without radius that is K * t * pi / 2, shared by two
//! panels; a crease with axis depth p adds p * t to each. So p = K * pi / 4, and the crease at
//! mid-board, p = 1/2, is K = 2 / pi.

use std::f64::consts::FRAC_PI_4;

use crate::units::{Angle, Length};

/// The fold axis depth p that a right-angle fold without radius shows when its K factor is `k`.
#[must_use]
pub const fn axis_depth_of_k(k: f64) -> f64 {
    k * FRAC_PI_4
}

/// The length a bend through `angle` takes up, measured on the line that keeps its length.
#[must_use]
pub fn bend_allowance(angle: Angle, radius: Length, thickness: Length, k: f64) -> Length {
    (radius + thickness * k) * angle.to_rad()
}

/// What the flat length is shorter than the two outside legs together; for angles below 180
/// degrees.
#[must_use]
pub fn bend_deduction(angle: Angle, radius: Length, thickness: Length, k: f64) -> Length {
    let setback = (radius + thickness) * (angle.to_rad() / 2.0).tan();
    setback * 2.0 - bend_allowance(angle, radius, thickness, k)
}
