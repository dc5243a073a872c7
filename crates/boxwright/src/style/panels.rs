//! Panels as a style file says them: edges, folds, corners, cut-outs and parts.

use std::sync::Arc;

use serde::Serialize;

use super::model::Formula;
use crate::diag::{Named, Place};

/// A side of a panel, from its own point of view: its hinge is near.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The hinge; for a root panel its lower edge.
    Near,
    /// Opposite the hinge.
    Far,
    /// To the left, seen on the inside face, hinge below.
    Left,
    /// To the right.
    Right,
}

impl Edge {
    /// All four, in the order used for per-edge arrays.
    pub const ALL: [Self; 4] = [Self::Near, Self::Right, Self::Far, Self::Left];
    /// Its index in per-edge arrays.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Near => 0,
            Self::Right => 1,
            Self::Far => 2,
            Self::Left => 3,
        }
    }
    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        ["near", "right", "far", "left"][self.index()]
    }
    /// Seen in a mirror.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            other => other,
        }
    }
}

/// A corner of a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Corner {
    /// Hinge side, left.
    NearLeft,
    /// Hinge side, right.
    NearRight,
    /// Away from the hinge, right.
    FarRight,
    /// Away from the hinge, left.
    FarLeft,
}

impl Corner {
    /// Counter-clockwise from near left.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::NearLeft => 0,
            Self::NearRight => 1,
            Self::FarRight => 2,
            Self::FarLeft => 3,
        }
    }
    /// Seen in a mirror.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        match self {
            Self::NearLeft => Self::NearRight,
            Self::NearRight => Self::NearLeft,
            Self::FarRight => Self::FarLeft,
            Self::FarLeft => Self::FarRight,
        }
    }
}

/// How a corner is cut.
#[derive(Clone, Debug, PartialEq)]
pub enum CornerCut {
    /// A quarter arc of this radius.
    Round(Formula),
    /// A straight cut: along the near or far edge, and along the side.
    Chamfer(Formula, Formula),
    /// A rectangular notch: along the near or far edge, and along the side.
    Notch(Formula, Formula),
}

/// How a panel hangs on its parent's edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Over the whole edge, less insets.
    Whole,
    /// In the middle of the edge.
    Centre,
    /// From its own left end of the edge.
    Left,
    /// From its own right end of the edge.
    Right,
}

/// Which way a crease turns its panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FoldSide {
    /// Toward the inside face: a valley seen from it.
    Inward,
    /// Away from the inside face: a mountain seen from it.
    Outward,
}

/// Which way a panel folds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoldWay {
    /// By a crease to this side.
    Crease(FoldSide),
    /// It does not fold: the panel goes on in the same plane.
    Flat,
}

/// What to do at the ends of a flap that takes only part of an edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Relief {
    /// Nothing: the board may tear a little.
    None,
    /// A knife-wide cut into the parent, this deep.
    Slit(Formula),
    /// A notch into the parent, this deep and this wide.
    Notch(Formula, Formula),
}

/// A panel as written.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelDef {
    /// Its own name.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// The parent's edge it hangs on; `None` for a root.
    pub on: Option<Edge>,
    /// A line of its own across the parent that it hangs on, in place of an edge.
    pub slant: Option<Slant>,
    /// Clear span near to far; with `from_crease`, from the crease line instead.
    pub reach: Formula,
    /// Whether `reach` is measured from the drawn crease line.
    pub from_crease: bool,
    /// Clear span left to right; the whole edge when absent.
    pub breadth: Option<Formula>,
    /// Where along the edge.
    pub along: Along,
    /// Moved along the edge towards its own right.
    pub shift: Option<Formula>,
    /// Held back from the drawn ends of the edge: left, right.
    pub inset: [Option<Formula>; 2],
    /// What the crease stands out beyond the clear edge of its parent.
    pub raise: Option<Formula>,
    /// Which way it folds.
    pub fold: FoldWay,
    /// Through which angle; 90 degrees when absent.
    pub angle: Option<Formula>,
    /// Stated allowance for folds past 150 degrees.
    pub allow: Option<Formula>,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// Whether the trade accepts that it stands in the room.
    pub may_intrude: bool,
    /// What hangs on it and how it is cut.
    pub items: Arc<Vec<Item>>,
}

/// What may stand inside a panel or a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A panel hung on it.
    Panel(Box<PanelDef>),
    /// A part put on it.
    Use(Box<UseDef>),
    /// Corners cut.
    Corner(Vec<Corner>, CornerCut),
    /// Sides drawn in towards the far edge: a length or an angle for left and right.
    Taper(Option<Formula>, Option<Formula>),
    /// Its outline from the near right corner round to the near left corner.
    Outline(PathDef),
    /// A cut-out.
    CutOut(Box<CutOutDef>),
    /// A knife-wide cut.
    Slit(PathDef),
    /// An engraved mark.
    Mark(PathDef),
    /// What to do at the ends of its crease.
    Relief(Relief),
    /// The same for each count from 1 up to a number.
    Each(Box<EachItem>),
}

/// A line from its own left end to its right end, from the near left corner of the parent's clear
/// span: x and y of either end.
#[derive(Clone, Debug, PartialEq)]
pub struct Slant(pub [Formula; 4]);

/// Items written once for each count from 1 up to a number.
#[derive(Clone, Debug, PartialEq)]
pub struct EachItem {
    /// What the count is called; `{name}` in names stands for it.
    pub count: Named,
    /// The last count.
    pub to: Formula,
    /// The items.
    pub items: Vec<Item>,
}

/// A part put on a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct UseDef {
    /// Which part.
    pub part: String,
    /// Where it is named.
    pub place: Place,
    /// The name its panels start with; the parent's name when absent.
    pub prefix: Option<String>,
    /// Mirrored left to right.
    pub mirror: bool,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// The values it is given.
    pub values: Vec<(String, Formula)>,
}

/// A path as written.
#[derive(Clone, Debug, PartialEq)]
pub struct PathDef {
    /// Where it is written.
    pub place: Place,
    /// The points: x, y, and the included angle of the arc that leads there, if it is an arc.
    pub points: Vec<(Formula, Formula, Option<Formula>)>,
}

/// A cut-out as written: a rectangle (rounded to a circle or obround) or a path.
#[derive(Clone, Debug, PartialEq)]
pub struct CutOutDef {
    /// Its name, unique on the panel.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// Its shape.
    pub shape: CutOutShape,
}

/// A rectangular cut-out as written.
#[derive(Clone, Debug, PartialEq)]
pub struct RectDef {
    /// Centre, from the left of the clear span.
    pub x: Formula,
    /// Centre, from the near end of the clear span.
    pub y: Formula,
    /// Size left to right.
    pub breadth: Formula,
    /// Size near to far.
    pub reach: Formula,
    /// Corner radius.
    pub round: Option<Formula>,
}

/// The shape of a cut-out.
#[derive(Clone, Debug, PartialEq)]
pub enum CutOutShape {
    /// A rectangle, its corners rounded or not.
    Rect(Box<RectDef>),
    /// A closed path.
    Path(PathDef),
}
