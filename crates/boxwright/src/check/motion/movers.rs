//! How panels move against each other in a stage, and where they are at any share of it.

use std::cell::RefCell;
use std::rc::Rc;

use super::super::solid::{Apart, Solid};
use crate::blank::{Blank, PanelRef, Plan, STEEPEST};
use crate::fold::{Folder, within_stage};
use crate::geom::{DAffine3, DVec3};

/// The frames of a stage at any share of it, computed once for each share that pairs have in
/// common, and how fast each hinge turns.
pub(super) struct Movers<'a, 'p> {
    folder: &'a Folder<'p>,
    stage: usize,
    /// Ticks between which the same hinges turn.
    pub spans: Vec<(u32, u32)>,
    /// Per span, piece and panel: radians the hinge turns in a whole stage at its present rate.
    rate: Vec<Vec<Vec<f64>>>,
    /// Per piece: mm it travels over the stage.
    travel: Vec<f64>,
    /// Frames at every [`COARSE`]th tick asked so far.
    frames: RefCell<Vec<Option<Rc<Frames>>>>,
    /// Per piece: the panels from each panel up to its root.
    chains: Vec<Vec<Vec<usize>>>,
}

impl<'a, 'p> Movers<'a, 'p> {
    pub(super) fn new(folder: &'a Folder<'p>, stage: usize) -> Self {
        let plan: &Plan = folder.plan;
        let def = &plan.stages[stage - 1];
        let (before, after) = (&folder.stations[stage - 1], &folder.stations[stage]);
        let mut marks = vec![0, TICKS];
        for t in &def.turns {
            marks.extend([t.starts, t.ends].map(|s| ticks(s * f64::from(TICKS))));
        }
        marks.sort_unstable();
        marks.dedup();
        let spans: Vec<(u32, u32)> = marks.windows(2).map(|w| (w[0], w[1])).collect();
        let rate = spans
            .iter()
            .map(|&(from, to)| {
                let mut rate: Vec<Vec<f64>> = plan
                    .pieces
                    .iter()
                    .map(|b| vec![0.0; b.panels.len()])
                    .collect();
                for t in &def.turns {
                    // A mark is rounded down to a tick: a turn may act on one tick more.
                    let whole = f64::from(TICKS);
                    if t.starts * whole < f64::from(to) && t.ends * whole > f64::from(from) {
                        let (p, i) = (t.panel.piece, t.panel.panel);
                        let turned = (after.hinge[p][i] - before.hinge[p][i]).abs();
                        rate[p][i] = turned / (t.ends - t.starts).max(1e-9);
                    }
                }
                rate
            })
            .collect();
        let mut travel = vec![0.0; plan.pieces.len()];
        for (p, from) in &def.enters {
            travel[*p] = from.to_mm();
        }
        let frames = RefCell::new(vec![None; (TICKS / COARSE) as usize + 1]);
        Self {
            folder,
            stage,
            spans,
            rate,
            travel,
            frames,
            chains: plan.pieces.iter().map(|b| chains(b)).collect(),
        }
    }

    pub(super) fn all(&self) -> Vec<PanelRef> {
        let pieces = &self.folder.plan.pieces;
        (0..pieces.len())
            .flat_map(|piece| {
                (0..pieces[piece].panels.len()).map(move |panel| PanelRef { piece, panel })
            })
            .collect()
    }

    /// Whether a piece waits beside the case all through the stage.
    pub(super) fn waits(&self, piece: usize) -> bool {
        self.folder.stations[self.stage].away[piece].is_none()
    }

    fn chain(&self, r: PanelRef) -> &[usize] {
        &self.chains[r.piece][r.panel]
    }

    /// How two panels move against each other in a span.
    pub(super) fn course(&self, a: PanelRef, b: PanelRef, span: usize) -> Course {
        let frames = self.at(self.spans[span].0);
        let rate = &self.rate[span];
        if a.piece != b.piece {
            let turning =
                self.chain_speed(a, None, rate, &frames) + self.chain_speed(b, None, rate, &frames);
            let travel = self.travel[a.piece] + self.travel[b.piece];
            let one = if self.travel[a.piece] > 0.0 {
                a.piece
            } else {
                b.piece
            };
            let both = self.travel[a.piece] > 0.0 && self.travel[b.piece] > 0.0;
            let way = if turning == 0.0 && !both {
                Way::Straight(self.folder.entering(one))
            } else {
                Way::Any
            };
            return Course {
                speed: turning + travel,
                way,
            };
        }
        let (ca, cb) = (self.chain(a), self.chain(b));
        let meet = ca.iter().find(|p| cb.contains(p)).copied();
        let turning = |chain: &'_ [usize]| -> Vec<usize> {
            let below = chain.iter().take_while(|p| Some(**p) != meet);
            below
                .filter(|p| rate[a.piece][**p] > 0.0)
                .copied()
                .collect()
        };
        let (ta, tb) = (turning(ca), turning(cb));
        if ta.is_empty() && tb.is_empty() {
            return Course {
                speed: 0.0,
                way: Way::Any,
            };
        }
        let speed =
            self.chain_speed(a, meet, rate, &frames) + self.chain_speed(b, meet, rate, &frames);
        let of = |panel: usize| PanelRef {
            piece: a.piece,
            panel,
        };
        let way = match (&ta[..], &tb[..], meet) {
            ([one], [], _) => self.about(of(*one), rate, true),
            ([], [one], _) => self.about(of(*one), rate, false),
            (_, _, Some(m)) => {
                let own = &frames[a.piece];
                let mut axes = ta.iter().chain(&tb).map(|p| own[*p].matrix3.x_axis);
                let first = axes.next().unwrap_or_default();
                if axes.all(|x| x.cross(first).length_squared() < 1e-20) {
                    Way::Parallel(own[m].matrix3.transpose() * first, of(m))
                } else {
                    Way::Any
                }
            }
            _ => Way::Any,
        };
        Course { speed, way }
    }

    /// The turn of one panel, with all that hangs on it, about its hinge.
    fn about(&self, r: PanelRef, rate: &[Vec<f64>], first: bool) -> Way {
        let (before, after) = (
            &self.folder.stations[self.stage - 1].hinge,
            &self.folder.stations[self.stage].hinge,
        );
        let (p, i) = (r.piece, r.panel);
        if before[p][i].max(after[p][i]) > STEEPEST.to_rad() {
            // Its axis moves.
            return Way::Any;
        }
        self.folder.hinge(r).map_or(Way::Any, |(z, sign)| {
            Way::About(Turn {
                panel: r,
                at: DVec3::new(0.0, 0.0, z),
                axis: DVec3::X * (sign * (after[p][i] - before[p][i]).signum()),
                rate: rate[p][i],
                whole: (after[p][i] - before[p][i]).abs(),
                first,
            })
        })
    }

    /// A bound on the speed of the panel's points against the panel `top` it hangs on (or its
    /// root): the sum over turning hinges of their rate times the farthest point from their axis.
    /// Between two turning hinges everything is rigid, so distances there are those of `frames`;
    /// past the next turning hinge they are bounded by the way to that hinge and on from it.
    fn chain_speed(
        &self,
        r: PanelRef,
        top: Option<usize>,
        rate: &[Vec<f64>],
        frames: &Frames,
    ) -> f64 {
        let own = &frames[r.piece];
        let shape = &self.folder.shapes[r.piece][r.panel];
        let corners = || {
            shape.rings[0].iter().flat_map(|q| {
                [0.0, -shape.caliper].map(|z| own[r.panel].transform_point3(q.extend(z)))
            })
        };
        let mut speed = 0.0;
        // The turning hinge below: its point, and how far anything beyond it can be from there.
        let mut below: Option<(DVec3, f64)> = None;
        for &p in self.chain(r) {
            if Some(p) == top {
                break;
            }
            if rate[r.piece][p] == 0.0 {
                continue;
            }
            let (at, axis) = (own[p].translation, own[p].matrix3.x_axis);
            let off = |q: DVec3| (q - at).cross(axis).length();
            // The fold axis lies up to a caliper under the crease line.
            let (arm, ball) = match below {
                None => (
                    corners().map(off).fold(0.0, f64::max),
                    corners().map(|q| q.distance(at)).fold(0.0, f64::max),
                ),
                Some((next, ball)) => (off(next) + ball, next.distance(at) + ball),
            };
            // Pressed flat it moves by a caliper at most over 30 degrees, and a panel by twice that.
            let axis = 5.0 * shape.caliper;
            speed += rate[r.piece][p] * (arm + axis);
            below = Some((at, ball + axis));
        }
        speed
    }

    pub(super) fn at(&self, tick: u32) -> Rc<Frames> {
        let share = f64::from(tick) / f64::from(TICKS);
        let fresh = || {
            Rc::new(
                self.folder
                    .frames(&within_stage(self.folder, self.stage, share)),
            )
        };
        if !tick.is_multiple_of(COARSE) {
            return fresh();
        }
        let slot = &mut self.frames.borrow_mut()[(tick / COARSE) as usize];
        Rc::clone(slot.get_or_insert_with(fresh))
    }
}

type Frames = Vec<Vec<DAffine3>>;

/// A stage is walked in this many ticks.
pub(super) const TICKS: u32 = 1 << 16;
/// Long steps end on a multiple of this, so that pairs share the frames computed there.
pub(super) const COARSE: u32 = 64;

/// How a pair moves against each other over a whole stage.
pub(super) struct Course {
    /// No point of one moves faster than this against the other, in mm per stage.
    pub speed: f64,
    way: Way,
}

/// What is known of the direction of the movement.
enum Way {
    /// Nothing.
    Any,
    /// All turning hinges are parallel to this direction, which keeps still in that panel's frame:
    /// along a direction n nothing moves faster than `speed |n x axis|`.
    Parallel(DVec3, PanelRef),
    /// One of the two turns about one hinge, as seen from the other.
    About(Turn),
    /// All movement is along this direction in case coordinates.
    Straight(DVec3),
}

/// A turn about one hinge.
struct Turn {
    /// The panel that carries the hinge.
    panel: PanelRef,
    /// A point of its axis, in that panel's own coordinates.
    at: DVec3,
    /// The axis about which it turns onward, in the same.
    axis: DVec3,
    /// Radians in a whole stage at its present rate.
    rate: f64,
    /// Radians from its start to its end, at most half a turn.
    whole: f64,
    /// Whether the first of the two turns, and not the second.
    first: bool,
}

/// One of a pair, at a moment.
#[derive(Clone, Copy)]
pub(super) struct Side<'a>(pub &'a Solid, pub DAffine3);

impl Course {
    /// For how many ticks a plane square to the axis of `part`, carried along with one of two
    /// solids, is certainly not passed by both by more than `deep`. At most a whole stage.
    pub(super) fn free(
        &self,
        part: Apart,
        deep: f64,
        frames: &Frames,
        (a, b): (Side<'_>, Side<'_>),
    ) -> f64 {
        let whole = f64::from(TICKS);
        let n = part.axis;
        let along = match &self.way {
            Way::Any => self.speed,
            Way::Straight(d) => self.speed * n.dot(*d).abs(),
            Way::Parallel(axis, m) => {
                let n = frames[m.piece][m.panel].matrix3.transpose() * n;
                self.speed * n.cross(*axis).length().min(1.0)
            }
            Way::About(turn) => return turn.free(part, deep, frames, (a, b)),
        };
        // Faces that slide on each other keep their distance along the normal.
        let room = (part.gap + deep).max(0.0);
        (room / along.max(1e-9 * self.speed) * whole).min(whole)
    }
}

impl Turn {
    /// Exact: a corner at r from the axis has the height n.r cos s + n.(u x r) sin s over a plane
    /// through the axis after a turn s, which falls to a given height at one known angle. The plane
    /// may go with either of the two; seen from the turning one, the other turns back.
    fn free(&self, part: Apart, deep: f64, frames: &Frames, (a, b): (Side<'_>, Side<'_>)) -> f64 {
        let frame = frames[self.panel.piece][self.panel.panel];
        let (at, u) = (
            frame.transform_point3(self.at),
            frame.transform_vector3(self.axis),
        );
        let (still, turning, n) = if self.first {
            (b, a, -part.axis)
        } else {
            (a, b, part.axis)
        };
        let (end_sin, end_cos) = self.whole.sin_cos();
        let mut angle = 0.0f64;
        for (fixed, other, n, u) in [(still, turning, n, u), (turning, still, -n, -u)] {
            let level = fixed.0.most_along(fixed.1, n) - deep;
            let side = u.cross(n);
            let mut least = self.whole;
            for p in &other.0.points {
                let p = other.1.transform_point3(*p);
                let r = p - at;
                let out = r - u * u.dot(r);
                let (cos, sin) = (n.dot(out), -side.dot(out));
                let low = level - (n.dot(p) - cos);
                // Within half a turn it is lowest at an end, unless it falls first and rises last.
                let dips = sin < 0.0 && sin * end_cos - cos * end_sin > 0.0;
                if !dips && cos * end_cos + sin * end_sin >= low {
                    continue;
                }
                let reach = (cos * cos + sin * sin).sqrt();
                if low <= -reach {
                    continue;
                }
                let leaves = sin.atan2(cos) + (low / reach).clamp(-1.0, 1.0).acos();
                least = least.min(leaves.max(0.0));
                if least <= angle {
                    break;
                }
            }
            angle = angle.max(least);
        }
        angle / self.rate * f64::from(TICKS)
    }
}

/// Whole ticks in a span, none for a negative one.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the ticks of a stage"
)]
pub(super) fn ticks(span: f64) -> u32 {
    span.floor().clamp(0.0, f64::from(TICKS)) as u32
}

/// The panels from each panel of a blank up to its root.
fn chains(blank: &Blank) -> Vec<Vec<usize>> {
    let up = |i: usize| std::iter::successors(Some(i), |p| blank.panels[*p].parent).collect();
    (0..blank.panels.len()).map(up).collect()
}
