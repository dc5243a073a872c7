//! What is laid where.

use serde::{Deserialize, Serialize};

use super::shape::{Shape, Spot, Turn};
use super::stock::Piece;
use crate::blank::LineUse;
use crate::geom::{Path, Placement};

/// Ways a part may be turned on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Turns {
    /// Flutes kept: as drawn or by half a turn.
    Half,
    /// By quarters: the style allows its flutes either way.
    Quarter,
}

impl Turns {
    /// The turns themselves, given how the part's flutes run on its own drawing: `along_x` when
    /// they run left-right there. Sheets have their flutes along x.
    #[must_use]
    pub const fn list(self, along_x: bool) -> &'static [Turn] {
        match (self, along_x) {
            (Self::Half, true) => &[Turn::None, Turn::Half],
            (Self::Half, false) => &[Turn::Quarter, Turn::ThreeQuarters],
            (Self::Quarter, _) => &Turn::ALL,
        }
    }
}

/// A line of a part, with what it is for.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it is for; never [`LineUse::Board`].
    pub line_use: LineUse,
    /// Where it runs, in the part's own coordinates (mm), arcs kept.
    pub path: Path,
}

/// A blank ready to be laid.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Unique in the layout: title of the job and name of the piece.
    pub name: String,
    /// The job's title.
    pub job: String,
    /// The piece's name in the job.
    pub piece: String,
    /// The board's name.
    pub board: String,
    /// Board thickness in mm.
    pub caliper: f64,
    /// How many are wanted.
    pub wanted: u32,
    /// How it may be turned.
    pub turns: Turns,
    /// Whether its flutes run along x on its own drawing, else along y.
    pub flutes_along_x: bool,
    /// Whether it lies with its outside face up, else its inside face: shape and lines are drawn as
    /// they are seen then.
    pub outside_up: bool,
    /// Its outline and windows on the grid, arcs cut into chords that never run inside the true
    /// outline; windows big enough to hold other parts are holes, others are filled.
    pub shape: Shape,
    /// Every line to be cut, creased or engraved, once, in mm, arcs kept.
    pub lines: Vec<Line>,
}

/// One part on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    /// Index of the part in the layout.
    pub part: usize,
    /// Turned about the part's own origin,
    pub turn: Turn,
    /// then moved by so much, in the sheet's coordinates.
    pub at: Spot,
}

impl Placed {
    /// The same as a placement in mm.
    #[must_use]
    pub fn placement(self) -> Placement {
        Placement {
            origin: self.at.to_mm(),
            x: self.turn.x(),
        }
    }
}

/// One sheet or off-cut and what lies on it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaidSheet {
    /// Index of the stock piece it is one of.
    pub stock: usize,
    /// What lies on it.
    pub placed: Vec<Placed>,
}

/// Parts laid on stock. Room between parts, to the edge of a sheet, and what could not be laid are
/// part of it, so that it can be proved on its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// What it is called.
    pub title: String,
    /// The parts.
    pub parts: Vec<Part>,
    /// The stock pieces it draws on, as they were when it was made.
    pub stock: Vec<Piece>,
    /// Least room between parts, in grid steps.
    pub spacing: i64,
    /// Least room to the edge of a sheet or off-cut, in grid steps.
    pub margin: i64,
    /// Breadth and height that the machine reaches from the lower left corner of a sheet, in grid
    /// steps; `None` when it reaches all of it.
    pub reach: Option<[i64; 2]>,
    /// The sheets used, in order.
    pub sheets: Vec<LaidSheet>,
    /// For each part, how many found no place.
    pub left: Vec<u32>,
}

/// A layout that has passed [`super::prove()`]: the only kind that is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Proved(pub(super) Layout);

impl std::ops::Deref for Proved {
    type Target = Layout;
    fn deref(&self) -> &Layout {
        &self.0
    }
}

impl Layout {
    /// How many of a part are laid.
    #[must_use]
    pub fn laid(&self, part: usize) -> usize {
        let all = self.sheets.iter().flat_map(|s| &s.placed);
        all.filter(|p| p.part == part).count()
    }
    /// The shape of a placed part where it lies; empty when there is no such part.
    #[must_use]
    pub fn shape_of(&self, placed: Placed) -> Shape {
        let part = self.parts.get(placed.part);
        part.map_or_else(Shape::default, |p| {
            p.shape.turned(placed.turn).moved(placed.at)
        })
    }
    /// Board of the parts on a sheet over the board of the sheet, 0 to 1.
    #[must_use]
    pub fn used(&self, sheet: &LaidSheet) -> f64 {
        let whole = self
            .stock
            .get(sheet.stock)
            .map_or(0.0, |p| p.shape.area_mm2());
        let parts = sheet.placed.iter().filter_map(|p| self.parts.get(p.part));
        let laid: f64 = parts.map(|p| p.shape.area_mm2()).sum();
        if whole > 0.0 { laid / whole } else { 0.0 }
    }
    /// How many stand in no sheet.
    #[must_use]
    pub fn left_over(&self) -> u64 {
        self.left.iter().map(|n| u64::from(*n)).sum()
    }
}
