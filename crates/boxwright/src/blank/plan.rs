//! A job drawn: the types of flat blanks, joints and stages in numbers.

use std::ops::Range;
use std::sync::Arc;

use super::model::{Blank, Sound};
use super::tree::{Material, STEEPEST};
use super::{Defect, validate};
use crate::geom::DVec2;
use crate::job::Face;
use crate::style::{Held, Style, Toward, Values};
use crate::units::{Angle, Length};

/// A panel of one of the pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PanelRef {
    /// Index of the piece.
    pub piece: usize,
    /// Index of the panel in its blank.
    pub panel: usize,
}

/// Where the asked room lies.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRoom {
    /// The panel it stands on.
    pub on: PanelRef,
    /// Asked size (0 length, 1 width, 2 depth) along the panel's breadth, its reach, and inward.
    pub axes: [usize; 3],
    /// Least corner, from the panel's clear span and inside face, in mm.
    pub offset: [f64; 3],
    /// Asked sizes: length, width, depth.
    pub asked: [Length; 3],
    /// What a fitment leaves clear of it; empty for a case.
    pub leaves: Vec<PlanLeft>,
}

/// A block that a fitment leaves clear.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanLeft {
    /// What it is called.
    pub name: String,
    /// Its least corner from the corner of the asked room, along length, width and depth, in mm.
    pub at: [f64; 3],
    /// Its size along length, width and depth.
    pub size: [Length; 3],
}

/// Where a further piece sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSeat {
    /// Index of the piece.
    pub piece: usize,
    /// The panel it faces or is placed on.
    pub on: PanelRef,
    /// How.
    pub way: PlanSeatWay,
    /// Where it comes from, seen from that panel.
    pub comes: Toward,
}

/// How a piece sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlanSeatWay {
    /// Its root faces the panel, centre on centre, the inside faces this far apart.
    Facing(Length),
    /// Where its root's left-to-right and near-to-far point, and where the near left corner of its
    /// clear span lies from the panel's: left, near, above, in mm.
    Placed(Toward, Toward, [f64; 3]),
}

/// What is joined.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanJoint {
    /// First panel.
    pub panel: PanelRef,
    /// Second panel.
    pub to: PanelRef,
    /// What kind, and what it should measure.
    pub kind: PlanJointKind,
}

/// Kinds of joint.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanJointKind {
    /// Face glued to face.
    Glue,
    /// Taped, with this gap.
    Tape(Length),
    /// Closes up to this gap.
    Close(Length),
    /// A tab in this cut-out of the second panel (index into its holes).
    Tab(usize),
    /// A tongue held by friction.
    Tuck,
}

/// A hinge's share of a stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// The panel that turns about its crease.
    pub panel: PanelRef,
    /// Angle at the end of the stage.
    pub to: Angle,
    /// The share of the stage at which it starts.
    pub starts: f64,
    /// The share at which it ends.
    pub ends: f64,
}

/// One step of folding.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanStage {
    /// Its name.
    pub title: String,
    /// The instruction line.
    pub text: String,
    /// How the case is held.
    pub held: Held,
    /// Whether the case is packed at the beginning of it.
    pub packs: bool,
    /// The fitment it is a step of; `None` for the case itself.
    pub of: Option<usize>,
    /// What turns.
    pub turns: Vec<Turn>,
    /// Pieces that come in, and from how far off.
    pub enters: Vec<(usize, Length)>,
}

/// Something that goes into the case, drawn: its pieces stand after those of the case.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanFitment {
    /// What it is called.
    pub name: String,
    /// The style it was drawn from.
    pub style: Arc<Style>,
    /// Every named value of that style.
    pub values: Values,
    /// What it is cut from.
    pub material: Material,
    /// Which pieces are its own; the first is the one that is put into the case.
    pub pieces: Range<usize>,
    /// The room it was asked for, as it lies on its own panel.
    pub room: PlanRoom,
    /// Corner of that room from the corner of the case's, along length, width and depth, in mm.
    pub at: [f64; 3],
}

/// Something engraved on a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanMark {
    /// The panel.
    pub panel: PanelRef,
    /// Which face it is read on.
    pub face: Face,
    /// What it shows, as the job file calls it.
    pub kind: &'static str,
    /// Whether it is a handling sign, not letters.
    pub sign: bool,
    /// Height of its capitals, or of the sign.
    pub height: Length,
    /// Its middle, in the panel's own coordinates.
    pub at: DVec2,
    /// Which engravings of the blank it is.
    pub engravings: Range<usize>,
}

/// A job drawn: blanks and all that later stages need, in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The style it was drawn from.
    pub style: Arc<Style>,
    /// Every named value.
    pub values: Values,
    /// What it is cut from.
    pub material: Material,
    /// One blank per piece: those of the case, then those of each fitment.
    pub pieces: Vec<Arc<Blank>>,
    /// What goes into the case.
    pub fitments: Vec<PlanFitment>,
    /// What the job engraves on panels.
    pub marks: Vec<PlanMark>,
    /// Name of each cut-out: piece, panel, hole index.
    pub cutouts: Vec<(PanelRef, usize, String)>,
    /// Where the room lies.
    pub room: PlanRoom,
    /// Where further pieces sit; the first piece has none, nor has the first of a fitment, which
    /// stands by its room.
    pub seats: Vec<PlanSeat>,
    /// What is joined.
    pub joints: Vec<PlanJoint>,
    /// The order of folding.
    pub stages: Vec<PlanStage>,
}

/// A plan whose every blank passed validation.
#[derive(Clone, Debug, PartialEq)]
pub struct SoundPlan {
    plan: Plan,
    blanks: Vec<Sound>,
}

impl SoundPlan {
    /// The blanks, one per piece.
    #[must_use]
    pub fn blanks(&self) -> &[Sound] {
        &self.blanks
    }
    /// The same blanks, line for line, in board that is not what they were drawn for: its caliper
    /// is `thicker` times the drawn one, its fold axis depths along and across the flutes are
    /// `deeper` (shares of the caliper, kept within 0 to 1). What the style itself states for a
    /// crease stays. They are as sound as before: that rests on their lines alone.
    #[must_use]
    pub fn in_board(&self, thicker: f64, deeper: [f64; 2]) -> Self {
        let mut plan = self.plan.clone();
        let shifted = |p: f64, across: bool| (p + deeper[usize::from(across)]).clamp(0.0, 1.0);
        let other = |m: &mut Material| {
            m.caliper = m.caliper * thicker;
            let [along, across] = m.axis_depth;
            m.axis_depth = [shifted(along, false), shifted(across, true)];
        };
        other(&mut plan.material);
        for f in &mut plan.fitments {
            other(&mut f.material);
        }
        for blank in &mut plan.pieces {
            let mut b = (**blank).clone();
            let t = b.caliper.to_mm();
            b.caliper = b.caliper * thicker;
            for c in &mut b.creases {
                let tan = (c.angle.to_rad() / 2.0).tan();
                let drawn = Length::mm(c.axis_depth * t * tan);
                let reckoned = c.angle.to_rad() <= STEEPEST.to_rad() + 1e-9;
                let p = shifted(c.axis_depth, c.across_flutes);
                if reckoned && c.allowance.same(drawn) {
                    c.allowance = Length::mm(p * t * thicker * tan);
                }
                c.axis_depth = p;
            }
            *blank = Arc::new(b);
        }
        let blanks = plan.pieces.iter().map(|b| Sound(Arc::clone(b))).collect();
        Self { plan, blanks }
    }
}

impl std::ops::Deref for SoundPlan {
    type Target = Plan;
    fn deref(&self) -> &Plan {
        &self.plan
    }
}

impl Plan {
    /// Validates every blank.
    ///
    /// # Errors
    /// What is wrong with which piece: panels that overlap, cut-outs outside their panel.
    pub fn validated(self) -> Result<SoundPlan, (Box<Self>, Vec<Defect>)> {
        let mut sound = Vec::new();
        let mut defects = Vec::new();
        for blank in &self.pieces {
            match validate(Arc::clone(blank)) {
                Ok(s) => sound.push(s),
                Err(d) => defects.extend(d),
            }
        }
        if defects.is_empty() {
            Ok(SoundPlan {
                plan: self,
                blanks: sound,
            })
        } else {
            Err((Box::new(self), defects))
        }
    }
    /// The pieces of the case itself.
    #[must_use]
    pub fn own(&self) -> Range<usize> {
        0..self
            .fitments
            .first()
            .map_or(self.pieces.len(), |f| f.pieces.start)
    }
    /// The pieces of the case, then those of each fitment.
    pub fn parts(&self) -> impl Iterator<Item = Range<usize>> {
        std::iter::once(self.own()).chain(self.fitments.iter().map(|f| f.pieces.clone()))
    }
    /// Which fitment a piece belongs to; `None` for the case itself.
    #[must_use]
    pub fn fitment_of(&self, piece: usize) -> Option<usize> {
        self.fitments.iter().position(|f| f.pieces.contains(&piece))
    }
    /// Whether the case lies pressed flat after a stage; 0 is before the first.
    #[must_use]
    pub fn pressed_after(&self, stage: usize) -> bool {
        stage
            .checked_sub(1)
            .and_then(|s| self.stages.get(s))
            .is_some_and(|s| s.held == Held::Pressed)
    }
    /// Whether two panels are glued to each other.
    #[must_use]
    pub fn glued(&self, a: PanelRef, b: PanelRef) -> bool {
        let mut glued = self.joints.iter().filter(|j| j.kind == PlanJointKind::Glue);
        glued.any(|j| (j.panel, j.to) == (a, b) || (j.panel, j.to) == (b, a))
    }
    /// The panel's full name, with its piece when there are several.
    #[must_use]
    pub fn name(&self, r: PanelRef) -> String {
        let panel = &self.pieces[r.piece].panels[r.panel].name;
        if self.pieces.len() > 1 {
            format!("{}: {panel}", self.pieces[r.piece].piece)
        } else {
            panel.clone()
        }
    }
}
