//! How thick a cushion has to be, and on what area the thing may rest.
//!
//! A fall from height h stops over the travel of the cushion; the shorter the travel, the more g the
//! thing sees. What real foam needs is told by its cushion factor C; what no cushion can be without is
//! told by the two bounds.

use crate::units::{Area, Force, Length, Mass, Pressure};

/// Acceleration of free fall, m/s2: standard gravity.
pub const GRAVITY: f64 = 9.806_65;

/// The cushion factor taken where none is given. Memory: good foams come to 2.5 to 3.5, common in
/// handbooks of cushioning.
pub const FACTOR: f64 = 3.0;

/// Thickness C h / G of a cushion with the factor `factor`, for a fall from `drop` and a thing that
/// bears `peak` g. Source: simplified methods of Jones and James, USDA Forest Products Laboratory
/// Report 2031 (1955), within 10 % (seen as a summary).
#[must_use]
pub fn thickness(factor: f64, drop: Length, peak: f64) -> Length {
    drop * (factor / peak)
}

/// Travel h / (G - 1) that a cushion of constant force needs: no cushion can do with less. Derived.
/// `None` for a thing that bears 1 g or less.
#[must_use]
pub fn least_travel(drop: Length, peak: f64) -> Option<Length> {
    (peak > 1.0).then(|| drop / (peak - 1.0))
}

/// Travel 2 h / (G - 2) that a linear spring needs. Derived. `None` for 2 g or less.
#[must_use]
pub fn spring_travel(drop: Length, peak: f64) -> Option<Length> {
    (peak > 2.0).then(|| drop * (2.0 / (peak - 2.0)))
}

/// Speed at the end of a fall, m/s: the root of 2 g h. Derived.
#[must_use]
pub fn impact_speed(drop: Length) -> f64 {
    (2.0 * GRAVITY * drop.to_mm() / 1000.0).sqrt()
}

/// Weight of a mass.
#[must_use]
pub fn weight(mass: Mass) -> Force {
    Force::n(mass.to_kg() * GRAVITY)
}

/// Area on which a mass loads a cushion with the static stress `stress`: W / A turned round. Source:
/// "How To Use Dynamic Cushion Curves", repco.com (seen): 36 lb at 1.2 psi need 30 in2.
#[must_use]
pub fn area(mass: Mass, stress: Pressure) -> Area {
    Area::mm2(weight(mass).to_n() / stress.to_n_per_mm2())
}

/// Static stress W / A of a mass on an area.
#[must_use]
pub fn stress(mass: Mass, area: Area) -> Pressure {
    Pressure::n_per_mm2(weight(mass).to_n() / area.to_mm2())
}

/// Names of the classes of fragility, by permitted peak g. Memory: common in design guides of foam.
#[must_use]
pub fn class(peak: f64) -> &'static str {
    match peak {
        p if p < 25.0 => "extremely fragile",
        p if p < 40.0 => "very delicate",
        p if p < 60.0 => "delicate",
        p if p < 85.0 => "moderately delicate",
        p if p <= 115.0 => "moderately rugged",
        _ => "rugged",
    }
}
