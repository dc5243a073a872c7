//! Frames of every panel for given hinge angles.

use std::sync::Arc;

use super::model::{Pose, Room, Shape, Slab, Wedge};
use super::shape::{shape, shape_as_made, wedge};
use crate::blank::{Blank, FoldSide, PanelRef, PlanRoom, PlanSeatWay, STEEPEST, SoundPlan};
use crate::geom::{DAffine3, DVec2, DVec3};
use crate::style::Held;
use crate::units::Angle;

/// Hinge angles and how far each further piece still is from its seat: a point in the folding.
#[derive(Clone, Debug, PartialEq)]
pub struct Angles {
    /// Per piece and panel: turned through, in radians.
    pub hinge: Vec<Vec<f64>>,
    /// Per piece: distance still to go to its seat, in mm; `None` while it waits beside the case.
    pub away: Vec<Option<f64>>,
}

/// A plan with all that does not change while it is folded.
pub struct Folder<'a> {
    /// The plan.
    pub plan: &'a SoundPlan,
    /// The shape of each panel, per piece.
    pub shapes: Vec<Vec<Arc<Shape>>>,
    /// Where each panel lies in its parent's own coordinates when flat.
    pub(super) flat: Vec<Vec<DAffine3>>,
    /// Root frame of each piece at its seat, in case coordinates.
    pub(super) seats: Vec<DAffine3>,
    /// Root frame of each piece while it waits beside the case.
    pub(super) parks: Vec<DAffine3>,
    /// Direction each piece comes from, in case coordinates.
    pub(super) enters: Vec<DVec3>,
    /// Hinge angles before and after each stage: one more than there are stages.
    pub stations: Vec<Angles>,
    /// The asked room: one corner at the origin, length along x, width along y, depth up along z.
    pub room: Room,
    /// How what was made differs from what was drawn.
    off: Off,
}

/// How blanks as they were cut and creased differ from what was drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Off {
    /// Board lost at every cut edge, in mm; negative where too much was left.
    pub cut: f64,
    /// Per piece and panel: how much further out from its parent the panel's crease lies, in mm.
    /// Panels left out are as drawn.
    pub creases: Vec<Vec<f64>>,
}

impl Off {
    fn at(&self, piece: usize, panel: usize) -> f64 {
        let found = self.creases.get(piece).and_then(|p| p.get(panel));
        found.copied().unwrap_or(0.0)
    }
}

impl<'a> Folder<'a> {
    /// Prepares a plan for folding.
    #[must_use]
    pub fn new(plan: &'a SoundPlan) -> Self {
        let shapes = plan
            .blanks()
            .iter()
            .map(|b| (0..b.panels.len()).map(|i| Arc::new(shape(b, i))).collect())
            .collect();
        Self::of_shapes(plan, shapes, Off::default())
    }

    /// Prepares a plan for folding as it was made of other board than it was `drawn` for
    /// ([`SoundPlan::in_board`]), and cut and creased a little off. For cases at rest: what
    /// [`Folder::hinge`] tells of the way there is as drawn.
    #[must_use]
    pub fn made(plan: &'a SoundPlan, drawn: &Folder<'_>, off: Off) -> Self {
        let mut shapes = Vec::with_capacity(plan.blanks().len());
        let before = drawn.plan.blanks().iter().zip(&drawn.shapes);
        for (piece, (made, (blank, nominal))) in plan.blanks().iter().zip(before).enumerate() {
            let own = |i: usize| off.at(piece, i);
            let one = |(i, n)| Arc::new(shape_as_made(made, (blank, n), i, off.cut, own));
            shapes.push(nominal.iter().map(|n| &**n).enumerate().map(one).collect());
        }
        Self::of_shapes(plan, shapes, off)
    }

    fn of_shapes(plan: &'a SoundPlan, shapes: Vec<Vec<Arc<Shape>>>, off: Off) -> Self {
        let blanks = plan.blanks();
        let flat = blanks
            .iter()
            .map(|b| {
                b.panels
                    .iter()
                    .map(|p| match p.parent {
                        None => DAffine3::IDENTITY,
                        Some(q) => b.panels[q].place.inverse().then(p.place).in_space(),
                    })
                    .collect()
            })
            .collect();
        let mut f = Self {
            plan,
            shapes,
            flat,
            seats: vec![DAffine3::IDENTITY; blanks.len()],
            parks: vec![DAffine3::IDENTITY; blanks.len()],
            enters: vec![DVec3::Z; blanks.len()],
            stations: stations(plan),
            room: Room {
                min: DVec3::ZERO,
                max: DVec3::from_array(plan.room.asked.map(crate::units::Length::to_mm)),
                asked: [0, 1, 2],
            },
            off,
        };
        f.settle();
        f
    }

    /// Where a panel lies in its parent's own coordinates when flat.
    #[must_use]
    pub fn flat_of(&self, piece: usize, panel: usize) -> DAffine3 {
        self.flat[piece][panel]
    }

    /// The line a panel turns about, in the panel's own coordinates: how high it lies over the line
    /// y = 0, and 1 or -1 as a growing hinge angle turns the panel about +x or -x. `None` for a root.
    #[must_use]
    pub fn hinge(&self, r: PanelRef) -> Option<(f64, f64)> {
        hinge(&self.plan.blanks()[r.piece], r.panel)
    }

    /// The direction a further piece comes from, in case coordinates.
    #[must_use]
    pub fn entering(&self, piece: usize) -> DVec3 {
        self.enters[piece]
    }

    /// The finished case's angles.
    #[must_use]
    pub fn last(&self) -> &Angles {
        &self.stations[self.stations.len() - 1]
    }

    /// Finds where the first piece's root lies so that the room's corner is the origin, where each
    /// fitment stands by its own room, then where the others sit.
    fn settle(&mut self) {
        self.seats[0] = self.stood(&self.plan.room);
        for f in &self.plan.fitments {
            let shift = DAffine3::from_translation(DVec3::from_array(f.at));
            self.seats[f.pieces.start] = shift * self.stood(&f.room);
        }
        for s in &self.plan.seats {
            let frames = self.piece_frames(s.on.piece, self.last(), self.seats[s.on.piece]);
            let on = frames[s.on.panel];
            let theirs = self.plan.pieces[s.on.piece].panels[s.on.panel].clear;
            let own = self.plan.pieces[s.piece].panels[0].clear;
            let place = match s.way {
                PlanSeatWay::Facing(apart) => {
                    let (theirs, own) = (theirs.centre(), own.centre());
                    DAffine3::from_cols(
                        DVec3::NEG_X,
                        DVec3::Y,
                        DVec3::NEG_Z,
                        DVec3::new(theirs.x + own.x, theirs.y - own.y, apart.to_mm()),
                    )
                }
                PlanSeatWay::Placed(breadth, reach, at) => {
                    let (x, y) = (breadth.vector(), reach.vector());
                    let turn = glam::DMat3::from_cols(x, y, x.cross(y));
                    let corner = theirs.min.extend(0.0) + DVec3::from_array(at);
                    DAffine3 {
                        matrix3: turn,
                        translation: corner - turn * own.min.extend(0.0),
                    }
                }
            };
            self.seats[s.piece] = on * place;
            self.enters[s.piece] = on.matrix3 * s.comes.vector();
        }
        self.park();
    }

    /// Where the root of a piece lies when the corner of the room on it is the origin, the room's
    /// depth up.
    fn stood(&self, room: &PlanRoom) -> DAffine3 {
        let frames = self.piece_frames(room.on.piece, self.last(), DAffine3::IDENTITY);
        let on = frames[room.on.panel];
        let clear = self.plan.pieces[room.on.piece].panels[room.on.panel].clear;
        let corner = DVec3::new(
            clear.min.x + room.offset[0],
            clear.min.y + room.offset[1],
            room.offset[2],
        );
        let sizes = room.axes.map(|a| room.asked[a].to_mm());
        // Depth points up; x is turned about when that needs it.
        let (sx, sz) = if room.axes[2] == 2 {
            (1.0, 1.0)
        } else {
            (-1.0, 1.0)
        };
        let axis = |i: usize| [DVec3::X, DVec3::Y, DVec3::Z][i];
        let x = axis(room.axes[0]) * sx;
        let z = axis(room.axes[2]) * sz;
        let y = z.cross(x);
        let turn = glam::DMat3::from_cols(x, y, z);
        let block = turn * DVec3::from_array(sizes);
        let least = DVec3::ZERO.min(block);
        let local_to_case = DAffine3 {
            matrix3: turn,
            translation: -(turn * corner) - least,
        };
        local_to_case * on.inverse()
    }

    /// Lays further pieces beside the first one's flat blank, inside face up.
    fn park(&mut self) {
        const ASIDE_MM: f64 = 40.0;
        let flat = self.piece_frames(0, &self.stations[0], self.seats[0]);
        let (mut lo, mut hi) = (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY));
        for (frame, shape) in flat.iter().zip(&self.shapes[0]) {
            for q in &shape.rings[0] {
                let q = frame.transform_point3(q.extend(0.0));
                lo = lo.min(q);
                hi = hi.max(q);
            }
        }
        let mut x = hi.x + ASIDE_MM;
        for p in 1..self.parks.len() {
            let blank: &Blank = &self.plan.blanks()[p];
            let size = blank.bounds.size();
            let corner = DVec3::new(x, (lo.y + hi.y - size.y) / 2.0, 0.0);
            self.parks[p] = DAffine3::from_translation(corner) * blank.panels[0].place.in_space();
            x += size.x + ASIDE_MM;
        }
    }

    /// Frames of one piece's panels.
    fn piece_frames(&self, piece: usize, angles: &Angles, root: DAffine3) -> Vec<DAffine3> {
        let blank: &Blank = &self.plan.blanks()[piece];
        let mut frames: Vec<DAffine3> = Vec::with_capacity(blank.panels.len());
        for (i, p) in blank.panels.iter().enumerate() {
            frames.push(match p.parent {
                None => root,
                Some(q) => {
                    let off = self.off.at(piece, i);
                    let turn = hinge_turn(blank, i, angles.hinge[piece][i], off);
                    frames[q] * self.flat[piece][i] * turn
                }
            });
        }
        frames
    }

    /// Frames of every panel of every piece, in case coordinates.
    #[must_use]
    pub fn frames(&self, angles: &Angles) -> Vec<Vec<DAffine3>> {
        (0..self.seats.len())
            .map(|p| {
                let root = angles.away[p].map_or(self.parks[p], |away| {
                    DAffine3::from_translation(self.enters[p] * away) * self.seats[p]
                });
                self.piece_frames(p, angles, root)
            })
            .collect()
    }

    /// The case on its way through stage `stage`, from 1, at a share of it from 0 to 1.
    #[must_use]
    pub fn pose_within(&self, stage: usize, share: f64) -> Pose {
        Pose {
            slabs: self.slabs(&within_stage(self, stage, share)),
            ..self.pose(stage)
        }
    }

    /// The case at rest after stage `stage` (0 is flat).
    #[must_use]
    pub fn pose(&self, stage: usize) -> Pose {
        let angles = &self.stations[stage];
        let (title, text, moved, held) = if stage == 0 {
            let text = "Lay the blank with the inside face up.".to_owned();
            ("Flat".to_owned(), text, Vec::new(), Held::Flat)
        } else {
            let s = &self.plan.stages[stage - 1];
            let mut moved: Vec<String> = s.turns.iter().map(|t| self.plan.name(t.panel)).collect();
            for (piece, _) in &s.enters {
                moved.extend((0..self.plan.pieces[*piece].panels.len()).map(|panel| {
                    self.plan.name(PanelRef {
                        piece: *piece,
                        panel,
                    })
                }));
            }
            (s.title.clone(), s.text.clone(), moved, s.held)
        };
        Pose {
            stage,
            title,
            text,
            slabs: self.slabs(angles),
            moved,
            up: DVec3::Z,
            shown_up: match held {
                Held::Upright => DVec3::Z,
                Held::Flat | Held::Pressed => self.seats[0].matrix3 * DVec3::Z,
                Held::Over => DVec3::NEG_Z,
            },
        }
    }

    /// Every panel in space, with the stretched board at its creases.
    #[must_use]
    pub fn slabs(&self, angles: &Angles) -> Vec<Slab> {
        let mut slabs = Vec::new();
        for (piece, frames) in self.frames(angles).iter().enumerate() {
            let blank = &self.plan.blanks()[piece];
            for (panel, frame) in frames.iter().enumerate() {
                let wedges: Vec<Wedge> = blank.panels[panel].parent.map_or_else(Vec::new, |q| {
                    let bent = (angles.hinge[piece][panel], self.off.at(piece, panel));
                    wedge(blank, panel, bent, frames[q], *frame)
                });
                slabs.push(Slab {
                    piece,
                    panel,
                    name: self.plan.name(PanelRef { piece, panel }),
                    frame: *frame,
                    shape: Arc::clone(&self.shapes[piece][panel]),
                    wedges,
                });
            }
        }
        slabs
    }
}

/// See [`Folder::hinge`].
fn hinge(blank: &Blank, i: usize) -> Option<(f64, f64)> {
    let crease = &blank.creases[blank.panels[i].crease?];
    let t = blank.caliper.to_mm();
    Some(match crease.side {
        FoldSide::Inward => (-crease.axis_depth * t, 1.0),
        FoldSide::Outward => (-(1.0 - crease.axis_depth) * t, -1.0),
    })
}

/// Where the axis lies at an angle. Up to 150 degrees it keeps still; from there to half a turn the
/// board crushed on the concave face is pressed out, and the axis goes to that face, so that the
/// two panels lie on each other.
fn pressed(z: f64, sign: f64, caliper: f64, angle: f64) -> f64 {
    let steep = STEEPEST.to_rad();
    let share = ((angle - steep) / (std::f64::consts::PI - steep)).clamp(0.0, 1.0);
    let concave = if sign > 0.0 { 0.0 } else { -caliper };
    z + (concave - z) * share
}

/// The turn of panel `i` about its fold axis, in its own coordinates, where the crease lies `off`
/// mm further out than drawn.
fn hinge_turn(blank: &Blank, i: usize, angle: f64, off: f64) -> DAffine3 {
    let Some((z, sign)) = hinge(blank, i) else {
        return DAffine3::IDENTITY;
    };
    let z = pressed(z, sign, blank.caliper.to_mm(), angle);
    let (sin, cos) = snapped(sign * angle);
    // Shift the axis to the origin, turn, shift back.
    DAffine3::from_cols(
        DVec3::X,
        DVec3::new(0.0, cos, sin),
        DVec3::new(0.0, -sin, cos),
        DVec3::new(0.0, off - cos * off + sin * z, z - cos * z - sin * off),
    )
}

/// Sine and cosine, exact at multiples of a quarter turn.
fn snapped(a: f64) -> (f64, f64) {
    let quarter = a / std::f64::consts::FRAC_PI_2;
    if (quarter - quarter.round()).abs() < 1e-12 {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "a fold is at most half a turn"
        )]
        let q = (quarter.round() as i64).rem_euclid(4);
        return [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][usize::try_from(q).unwrap_or(0)];
    }
    a.sin_cos()
}

/// The angles before the first stage and after each.
fn stations(plan: &SoundPlan) -> Vec<Angles> {
    let mut now = Angles {
        hinge: plan
            .pieces
            .iter()
            .map(|b| vec![0.0; b.panels.len()])
            .collect(),
        away: (0..plan.pieces.len())
            .map(|p| (p == 0).then_some(0.0))
            .collect(),
    };
    let mut all = vec![now.clone()];
    for s in &plan.stages {
        for t in &s.turns {
            now.hinge[t.panel.piece][t.panel.panel] = t.to.to_rad();
        }
        for (piece, _) in &s.enters {
            now.away[*piece] = Some(0.0);
        }
        all.push(now.clone());
    }
    all
}

/// The angles a share `s` (0 to 1) into a stage.
#[must_use]
pub fn within_stage(folder: &Folder<'_>, stage: usize, s: f64) -> Angles {
    let (before, after) = (&folder.stations[stage - 1], &folder.stations[stage]);
    let mut now = before.clone();
    let def = &folder.plan.stages[stage - 1];
    for t in &def.turns {
        let (from, to) = (
            before.hinge[t.panel.piece][t.panel.panel],
            after.hinge[t.panel.piece][t.panel.panel],
        );
        let span = (t.ends - t.starts).max(1e-9);
        let share = ((s - t.starts) / span).clamp(0.0, 1.0);
        now.hinge[t.panel.piece][t.panel.panel] = from + (to - from) * share;
    }
    for (piece, from) in &def.enters {
        now.away[*piece] = Some(from.to_mm() * (1.0 - s));
    }
    now
}

/// An inside corner of a crease lies p t tan(a/2) from its line.
#[must_use]
pub fn crease_take(axis_depth: f64, caliper: f64, angle: Angle) -> f64 {
    axis_depth * caliper * (angle.to_rad() / 2.0).tan()
}

/// Direction of a panel's own x, y or z in case coordinates.
#[must_use]
pub fn direction(frame: &DAffine3, v: DVec2) -> DVec3 {
    frame.matrix3 * v.extend(0.0)
}
