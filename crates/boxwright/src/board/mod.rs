//! Boards: caliper, flutes, papers, crease depths, strength, and what each can take.
//!
//! Boards are data files; every figure in them carries its origin. The words of the file format
//! are in `docs/boards.md`.

mod bend;
mod figure;
mod flute;
mod measured;
mod read;
#[cfg(test)]
mod tests;

use serde::Serialize;

pub use bend::{axis_depth_of_k, bend_allowance, bend_deduction};
pub(crate) use figure::{origin, standing};
pub use flute::{Flute, take_up};
pub use measured::{Figure, Known, Measured, known_kerf};
pub(crate) use read::only_once;
pub use read::read_boards;

use crate::units::{Dim, ForcePerLength, Grammage, Length, Quantity};

/// How a crease is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Creasing {
    /// Folded by hand along an etched line.
    Hand,
    /// Pressed by a creasing wheel.
    Wheel,
    /// Crushed by a steel rule.
    Rule,
    /// A row of short cuts.
    Perforated,
}

impl Creasing {
    /// Every way, in the order shown to users.
    pub const ALL: [Self; 4] = [Self::Hand, Self::Wheel, Self::Rule, Self::Perforated];
    /// The word used in files and reports.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hand => "hand",
            Self::Wheel => "wheel",
            Self::Rule => "rule",
            Self::Perforated => "perforated",
        }
    }
}

/// How many fluted layers a board has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Wall {
    /// One fluted layer between two liners.
    Single,
    /// Two fluted layers and three liners.
    Double,
}

impl Wall {
    /// The word used in files and reports.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::Double => "double",
        }
    }
    /// The number of fluted layers.
    #[must_use]
    pub const fn flutes(self) -> usize {
        match self {
            Self::Single => 1,
            Self::Double => 2,
        }
    }
}

/// The fold axis depth p of one way of creasing, as a share of the caliper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AxisDepth {
    /// How the crease is made.
    pub way: Creasing,
    /// For a crease that runs along the flutes.
    pub along: f64,
    /// For a crease that runs across them.
    pub across: f64,
}

/// What a board can take, and how exact it is. All are lengths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Limits {
    /// How deep two layers of board may be pressed into each other in the finished case.
    pub crush: Length,
    /// How far board may have to give while a panel moves past it.
    pub give: Length,
    /// The narrowest strip of board that holds.
    pub least_feature: Length,
    /// The narrowest slot that board can enter.
    pub least_slot: Length,
    /// How far apart two faces may be and still be glued.
    pub glue_gap: Length,
    /// What a finished inside size may be off by, either way.
    pub size_tolerance: Length,
    /// The widest band a crease may take up.
    pub crease_zone: Length,
    /// How far board bulges beside a crease, past the geometric crease zone.
    pub crease_bead: Length,
    /// The slot width between flaps that the trade cuts into this board.
    pub slot_width: Length,
}

/// Where a figure of a board comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Origin {
    /// The figure, by the word of the file: `caliper`, `flute C`, `crease hand`.
    pub figure: String,
    /// Its standing and source: `seen: ...`, `memory: ...`, `derived: ...`.
    pub from: String,
}

/// A board that has passed its checks.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Board {
    /// The name styles and jobs call it by.
    pub name: String,
    /// One line that says what it is.
    pub title: String,
    /// Its fluted layers.
    pub wall: Wall,
    /// Thickness t.
    pub caliper: Length,
    /// What the caliper may be off by, as a share of it, either way.
    pub caliper_tolerance: f64,
    /// The fluted layers, outermost first.
    pub flutes: Vec<Flute>,
    /// The flat papers, outermost first; one more than there are flutes.
    pub liners: Vec<Grammage>,
    /// The papers of the flutes before fluting, outermost first.
    pub mediums: Vec<Grammage>,
    /// Glue per fluted layer.
    pub glue: Grammage,
    /// Edge crush strength.
    pub ect: ForcePerLength,
    /// Fold axis depths, one for each of [`Creasing::ALL`] in that order.
    pub axis_depths: [AxisDepth; 4],
    /// What it can take.
    pub limits: Limits,
    /// Where each figure comes from.
    pub origins: Vec<Origin>,
}

impl Board {
    /// The fold axis depth p for a crease made this way, as a share of the caliper.
    #[must_use]
    pub fn axis_depth(&self, way: Creasing, across_flutes: bool) -> f64 {
        let [hand, wheel, rule, perforated] = &self.axis_depths;
        let depth = match way {
            Creasing::Hand => hand,
            Creasing::Wheel => wheel,
            Creasing::Rule => rule,
            Creasing::Perforated => perforated,
        };
        if across_flutes {
            depth.across
        } else {
            depth.along
        }
    }

    /// Mass per area: the liners, each medium times its take-up, and the glue.
    #[must_use]
    pub fn grammage(&self) -> Grammage {
        let fluted: Grammage = self
            .mediums
            .iter()
            .zip(&self.flutes)
            .map(|(medium, flute)| *medium * flute.take_up + self.glue)
            .sum();
        self.liners.iter().copied().sum::<Grammage>() + fluted
    }

    /// Where a figure comes from, by the word of the file.
    #[must_use]
    pub fn origin(&self, figure: &str) -> Option<&str> {
        self.origins
            .iter()
            .find(|o| o.figure == figure)
            .map(|o| o.from.as_str())
    }

    /// The figures that expressions may use. `flute-height` and `flute-pitch` are those of the
    /// coarsest flute.
    #[must_use]
    pub fn names(&self) -> Vec<(&'static str, Quantity)> {
        let length = |l: Length| Quantity::length(l);
        let coarsest = |of: fn(&Flute) -> Length| {
            length(self.flutes.iter().map(of).fold(Length::ZERO, Length::max))
        };
        let l = &self.limits;
        vec![
            ("t", length(self.caliper)),
            ("flute-height", coarsest(|f| f.height)),
            ("flute-pitch", coarsest(|f| f.pitch)),
            (
                "grammage",
                Quantity {
                    value: self.grammage().to_g_per_m2() * GRAMMAGE_BASE,
                    dim: Dim::GRAMMAGE,
                },
            ),
            (
                "ect",
                Quantity {
                    value: self.ect.to_n_per_mm(),
                    dim: Dim::FORCE_PER_LENGTH,
                },
            ),
            ("crush", length(l.crush)),
            ("give", length(l.give)),
            ("least-feature", length(l.least_feature)),
            ("least-slot", length(l.least_slot)),
            ("glue-gap", length(l.glue_gap)),
            ("size-tolerance", length(l.size_tolerance)),
            ("crease-zone", length(l.crease_zone)),
            ("crease-bead", length(l.crease_bead)),
            ("slot-width", length(l.slot_width)),
        ]
    }
}

/// One gram per square metre in the base units of expressions (kilograms and millimetres).
const GRAMMAGE_BASE: f64 = 1e-9;

/// Every board at hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Boards(Vec<Board>);

impl Boards {
    /// The board with this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Board> {
        self.0.iter().find(|b| b.name == name)
    }
    /// The names, in the order first met.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        self.iter().map(|b| b.name.as_str()).collect()
    }
    /// The boards, in the order first met.
    pub fn iter(&self) -> impl Iterator<Item = &Board> {
        self.0.iter()
    }
    /// Adds a board, or puts it in the place of the one with its name.
    pub fn put(&mut self, board: Board) {
        match self.0.iter_mut().find(|b| b.name == board.name) {
            Some(old) => *old = board,
            None => self.0.push(board),
        }
    }
}
