//! Figures measured on board at hand: values with how far to trust them.

use serde::Serialize;

use super::Creasing;
use crate::units::Length;

/// A measured value and how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figure<T> {
    /// The value that fits the readings best.
    pub value: T,
    /// Half of the interval that holds the true value in 95 of 100 such measurements.
    pub half: T,
    /// Standard uncertainty of the value.
    pub error: T,
    /// Standard deviation of single readings, told as this figure: how much places, strips or cuts
    /// differ among themselves.
    pub spread: T,
    /// How many readings it rests on.
    pub count: u32,
}

/// What was measured on one board, one machine and one way of creasing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// The board's name.
    pub board: String,
    /// The machine's name; `None` for strips cut by hand.
    pub machine: Option<String>,
    /// How the creases were made.
    pub way: Creasing,
    /// Thickness of the board, in mm.
    pub caliper: Option<Figure<Length>>,
    /// Fold axis depth of creases along the flutes, as a share of the caliper. May lie a little
    /// outside 0 to 1, as readings do.
    pub along: Option<Figure<f64>>,
    /// The same for creases across them.
    pub across: Option<Figure<f64>>,
    /// Full width that the machine takes away, in mm.
    pub kerf: Option<Figure<Length>>,
    /// When, in the words of who measured.
    pub when: String,
    /// What else they noted.
    pub note: String,
}

/// The figures that hold for a board and a way of creasing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Known {
    /// Thickness, in mm.
    pub caliper: Option<Figure<Length>>,
    /// Fold axis depth along the flutes.
    pub along: Option<Figure<f64>>,
    /// Fold axis depth across them.
    pub across: Option<Figure<f64>>,
}

impl Known {
    /// Of what was measured, the latest first, what holds for a board and a way of creasing. A
    /// caliper measured with another way of creasing serves too.
    #[must_use]
    pub fn of(all: &[Measured], board: &str, way: Creasing) -> Self {
        let here = || all.iter().filter(|m| m.board == board);
        let same = || here().filter(|m| m.way == way);
        let folded = same().find(|m| m.along.is_some() || m.across.is_some());
        // The depth is a share of the caliper it was measured with.
        let caliper = folded
            .and_then(|m| m.caliper)
            .or_else(|| here().find_map(|m| m.caliper));
        Self {
            caliper,
            along: folded.and_then(|m| m.along),
            across: folded.and_then(|m| m.across),
        }
    }
    /// Whether anything was measured.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.caliper.is_none() && self.along.is_none() && self.across.is_none()
    }
}

/// The latest kerf measured in a board on a machine; `all` has the latest first.
#[must_use]
pub fn known_kerf(all: &[Measured], board: &str, machine: &str) -> Option<Figure<Length>> {
    all.iter()
        .filter(|m| m.board == board && m.machine.as_deref() == Some(machine))
        .find_map(|m| m.kerf)
}
