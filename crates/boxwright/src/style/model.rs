//! What a style file says, parsed but not yet evaluated.

pub use super::panels::*;
pub use crate::diag::Named;
use crate::diag::{Diag, Place};
use crate::expr::{Expr, ExprError};
use crate::geom::DVec3;
use crate::units::{Dim, Mass};
use std::sync::Arc;

/// An expression that knows where it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    /// The parsed expression.
    pub expr: Expr,
    /// Where its text stands.
    pub place: Place,
    /// Whether byte offsets inside the text can be added to the place (no escapes in it).
    pub exact: bool,
}

impl Formula {
    /// Turns an error inside the expression into a message at its place.
    #[must_use]
    pub fn diag(&self, e: &ExprError) -> Diag {
        place_error(&self.place, self.exact, e)
    }
}

/// A message for an expression error, placed inside the text when offsets can be trusted.
#[must_use]
pub fn place_error(place: &Place, exact: bool, e: &ExprError) -> Diag {
    let mut at = place.clone();
    if exact {
        at.end = (at.start + e.end).min(place.end).max(at.start);
        at.start = (at.start + e.start).min(at.end);
    }
    let mut d = Diag::error(e.code, e.message.clone()).at(at);
    d.help.clone_from(&e.help);
    d
}

/// A named length, angle, number or choice that the user may set.
#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    /// Its name.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// What it must measure; for a choice, the allowed words.
    pub kind: ParameterKind,
    /// Its value when the job does not set it.
    pub default: Formula,
    /// Least value.
    pub min: Option<Formula>,
    /// Greatest value.
    pub max: Option<Formula>,
    /// One line for the user.
    pub help: String,
}

/// What a parameter holds.
#[derive(Clone, Debug, PartialEq)]
pub enum ParameterKind {
    /// A quantity of this dimension.
    Quantity(Dim),
    /// One of these words.
    Choice(Vec<String>),
}

/// A derived value.
#[derive(Clone, Debug, PartialEq)]
pub struct Let {
    /// Its name.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// Its value.
    pub value: Formula,
}

/// What must hold for the style to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Require {
    /// The condition.
    pub condition: Formula,
    /// Shown when it does not hold.
    pub message: String,
}

/// A sub-tree used by name.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// Names of the values it is given where it is used.
    pub takes: Vec<String>,
    /// What it puts on the panel that uses it.
    pub items: Arc<Vec<Item>>,
}

/// A piece as written.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceDef {
    /// Its name.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// Whether the flutes run left to right in the root panel (else near to far).
    pub flutes_left_right: bool,
    /// Whether the root's far edge is drawn to the right (else up).
    pub far_right: bool,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// The root panel.
    pub root: PanelDef,
}

/// Where the asked room lies.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomDef {
    /// Where it is declared.
    pub place: Place,
    /// The panel whose inside face it stands on.
    pub on: String,
    /// Asked size (0 length, 1 width, 2 depth) along the panel's breadth, its reach, and inward.
    pub sizes: [usize; 3],
    /// Offsets from the panel's clear span: left, near, and above its inside face.
    pub offset: [Option<Formula>; 3],
}

/// Where a further piece sits in the finished case.
#[derive(Clone, Debug, PartialEq)]
pub struct SeatDef {
    /// Where it is declared.
    pub place: Place,
    /// The piece.
    pub piece: String,
    /// The panel it faces or is placed on.
    pub on: String,
    /// How.
    pub way: SeatWay,
    /// Where it comes from, seen from that panel.
    pub comes: Toward,
}

/// How a piece sits.
#[derive(Clone, Debug, PartialEq)]
pub enum SeatWay {
    /// Its root faces the panel, centre on centre, the inside faces this far apart.
    Facing(Formula),
    /// Its root's left-to-right and near-to-far directions point these ways of the panel, and the
    /// near left corner of its clear span lies this far from the panel's own: left, near, above.
    Placed {
        /// Where its left-to-right points.
        breadth: Toward,
        /// Where its near-to-far points.
        reach: Toward,
        /// Where its corner lies.
        at: [Option<Formula>; 3],
    },
}

/// A direction seen from a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// To its right.
    Right,
    /// To its left.
    Left,
    /// To its far edge.
    Far,
    /// To its near edge.
    Near,
    /// Away from its inside face, into the case.
    In,
    /// Away from its outside face.
    Out,
}

impl Toward {
    /// 0 for left and right, 1 for near and far, 2 for in and out.
    #[must_use]
    pub const fn line(self) -> usize {
        match self {
            Self::Right | Self::Left => 0,
            Self::Far | Self::Near => 1,
            Self::In | Self::Out => 2,
        }
    }
    /// In the panel's own coordinates.
    #[must_use]
    pub const fn vector(self) -> DVec3 {
        match self {
            Self::Right => DVec3::X,
            Self::Left => DVec3::NEG_X,
            Self::Far => DVec3::Y,
            Self::Near => DVec3::NEG_Y,
            Self::In => DVec3::Z,
            Self::Out => DVec3::NEG_Z,
        }
    }
}

/// A block that a fitment leaves clear in the case it goes into.
#[derive(Clone, Debug, PartialEq)]
pub struct LeavesDef {
    /// What it is called.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// Its least corner from the corner of the asked room, along length, width and depth.
    pub at: [Option<Formula>; 3],
    /// Its size along length, width and depth.
    pub size: [Formula; 3],
}

/// Pieces, seats and joints written once for each count from 1 up to a number.
#[derive(Clone, Debug, PartialEq)]
pub struct Each {
    /// What the count is called; `{name}` in names stands for it.
    pub count: Named,
    /// The last count.
    pub to: Formula,
    /// The pieces.
    pub pieces: Vec<PieceDef>,
    /// Where they sit.
    pub seats: Vec<SeatDef>,
    /// What is joined.
    pub joints: Vec<JointDef>,
    /// What is left clear.
    pub leaves: Vec<LeavesDef>,
    /// Counts within this one.
    pub each: Vec<Self>,
}

/// What is joined, and what it must measure.
#[derive(Clone, Debug, PartialEq)]
pub struct JointDef {
    /// Where it is declared.
    pub place: Place,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// First panel.
    pub panel: String,
    /// Second panel.
    pub to: String,
    /// What kind.
    pub kind: JointKind,
}

/// Kinds of joint.
#[derive(Clone, Debug, PartialEq)]
pub enum JointKind {
    /// Face glued to face.
    Glue,
    /// Edge taped to edge or face: the far edge of the first, with the gap asked.
    Tape(Option<Formula>),
    /// The far edge of the first comes up to the second, with the gap asked.
    Close(Formula),
    /// A tab in a cut-out of the second panel.
    Tab {
        /// The cut-out's name.
        cutout: String,
    },
    /// A tongue pushed behind the second panel and held by friction.
    Tuck,
}

/// One step of folding.
#[derive(Clone, Debug, PartialEq)]
pub struct StageDef {
    /// Its name.
    pub title: String,
    /// Where it is declared.
    pub place: Place,
    /// The instruction line.
    pub text: String,
    /// Only there when this holds.
    pub when: Option<Formula>,
    /// How the case is held while it is done.
    pub held: Held,
    /// Whether the case is packed at the beginning of it.
    pub packs: bool,
    /// What moves.
    pub moves: Vec<MoveDef>,
}

/// How a case is held during a stage: which way up it is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Held {
    /// As it will stand: depth upwards.
    #[default]
    Upright,
    /// On the table, the inside of its first panel upwards.
    Flat,
    /// Turned over, bottom upwards.
    Over,
    /// Pressed flat, layers on each other, as it is stacked and delivered.
    Pressed,
}

/// What moves in a stage.
#[derive(Clone, Debug, PartialEq)]
pub enum MoveDef {
    /// Panels turn about their creases.
    Turn {
        /// Which panels, with their places.
        panels: Vec<(String, Place)>,
        /// To which angle; the full fold when absent.
        to: Option<Formula>,
        /// The share of the stage at which it starts and ends, 0 to 1.
        during: [Option<Formula>; 2],
    },
    /// A further piece comes in along its inward direction.
    Enter {
        /// Which piece.
        piece: String,
        /// Where it is named.
        place: Place,
        /// From how far off.
        from: Option<Formula>,
    },
    /// The same for each count from 1 up to a number.
    Each {
        /// What the count is called.
        count: Named,
        /// The last count.
        to: Formula,
        /// What moves.
        moves: Vec<MoveDef>,
    },
}

/// What a style is good for, so that one can be chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Suits {
    /// How it is built: slotted, telescope, folder ...
    pub family: String,
    /// What holds it closed.
    pub closing: String,
    /// Whether it opens by cutting, or again and again.
    pub opening: String,
    /// How well it stacks: well, fair or poor.
    pub stacking: String,
    /// Whether it is folded by hand, by machine or either.
    pub folding: String,
    /// Up to which mass it is usual.
    pub load: Mass,
    /// What it is used for: post, store, stack ...
    pub uses: Vec<String>,
    /// What speaks for it, in one line.
    pub good: String,
    /// What speaks against it, in one line.
    pub bad: String,
}

/// A style file, parsed.
#[derive(Clone, Debug, PartialEq)]
pub struct Style {
    /// Its name: what a job says.
    pub name: String,
    /// The input it was read from.
    pub input: String,
    /// For people.
    pub title: String,
    /// International case code, if one applies.
    pub code: Option<String>,
    /// What it is for, in one line.
    pub purpose: String,
    /// What it is good for.
    pub suits: Option<Suits>,
    /// What the user may set.
    pub parameters: Vec<Parameter>,
    /// Derived values.
    pub lets: Vec<Let>,
    /// What must hold.
    pub requires: Vec<Require>,
    /// Named sub-trees.
    pub parts: Vec<Part>,
    /// The pieces; the first is the one the others are seated on.
    pub pieces: Vec<PieceDef>,
    /// Where the room lies.
    pub room: RoomDef,
    /// Where further pieces sit.
    pub seats: Vec<SeatDef>,
    /// What is joined.
    pub joints: Vec<JointDef>,
    /// What a fitment leaves clear; empty for a case.
    pub leaves: Vec<LeavesDef>,
    /// What is written once for several.
    pub each: Vec<Each>,
    /// The order of folding.
    pub stages: Vec<StageDef>,
}

impl Style {
    /// A style that draws nothing: what stands for one where a blank was not drawn from a style.
    #[must_use]
    pub fn bare(name: &str, title: &str) -> Self {
        let place = Place {
            input: name.to_owned(),
            start: 0,
            end: 0,
        };
        Self {
            name: name.to_owned(),
            input: name.to_owned(),
            title: title.to_owned(),
            code: None,
            purpose: String::new(),
            suits: None,
            parameters: Vec::new(),
            lets: Vec::new(),
            requires: Vec::new(),
            parts: Vec::new(),
            pieces: Vec::new(),
            room: RoomDef {
                place,
                on: String::new(),
                sizes: [0, 1, 2],
                offset: [None, None, None],
            },
            seats: Vec::new(),
            joints: Vec::new(),
            leaves: Vec::new(),
            each: Vec::new(),
            stages: Vec::new(),
        }
    }

    /// Whether it goes into a case: it says what it leaves clear there.
    #[must_use]
    pub fn is_fitment(&self) -> bool {
        fn within(each: &[Each]) -> bool {
            each.iter().any(|e| !e.leaves.is_empty() || within(&e.each))
        }
        !self.leaves.is_empty() || within(&self.each)
    }
}
