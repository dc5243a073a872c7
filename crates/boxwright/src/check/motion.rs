//! Board in board on the way: every pair of panels that move against each other in a stage.
//!
//! Conservative advancement: while two solids stand `gap` apart and no point of one moves faster
//! than `speed` against the other, nothing can meet before `gap / speed` has passed, so the search
//! steps exactly that far and cannot jump over a hit. Once they touch it goes on in steps small
//! enough that no point moves further than a sixth of the caliper, and keeps the deepest value.

use std::cell::RefCell;
use std::rc::Rc;

use super::scene::Solids;
use super::solid::{Solid, apart};
use super::{Finding, Measure, Verdict};
use crate::blank::{PanelRef, Plan};
use crate::brief::Brief;
use crate::fold::{Folder, within_stage};
use crate::geom::{DAffine3, DVec3};
use crate::units::{Length, SLACK_MM, trimmed};

/// A pair with its worst moment.
struct Hit {
    depth: f64,
    share: f64,
    axis: DVec3,
    at: DVec3,
}

/// Findings of one stage.
pub(super) fn stage(
    brief: &Brief,
    folder: &Folder<'_>,
    solids: &Solids,
    stage: usize,
) -> Vec<Finding> {
    let plan: &Plan = folder.plan;
    let limit = brief.board.limits.give;
    let crush = brief.board.limits.crush;
    let movers = Movers::new(folder, stage);
    let mut found = Vec::new();
    let panels = movers.all();
    let mut worst_pass: Option<f64> = None;
    for i in 0..panels.len() {
        for j in i + 1..panels.len() {
            let (a, b) = (panels[i], panels[j]);
            if related(plan, a, b)
                || (a.piece != b.piece && (movers.waits(a.piece) || movers.waits(b.piece)))
            {
                continue;
            }
            let speed = movers.speed(a, b);
            if speed <= 0.0 {
                continue;
            }
            let (sa, sb) = (&solids[a.piece][a.panel], &solids[b.piece][b.panel]);
            let Some(hit) = advance(
                &movers,
                (a, sa),
                (b, sb),
                speed,
                brief.material.caliper.to_mm(),
            ) else {
                continue;
            };
            if hit.depth <= SLACK_MM * 10.0 {
                continue;
            }
            worst_pass = Some(worst_pass.map_or(hit.depth, |w| w.max(hit.depth)));
            if hit.depth <= crush.to_mm() {
                continue;
            }
            let verdict = if hit.depth <= limit.to_mm() {
                Verdict::Caution
            } else {
                Verdict::Fail
            };
            let (na, nb) = (plan.name(a), plan.name(b));
            let mut f = Finding::new(
                "motion",
                verdict,
                if verdict == Verdict::Fail {
                    format!(
                        "on the way `{na}` would have to pass {} through `{nb}`",
                        mm(hit.depth)
                    )
                } else {
                    format!("on the way `{na}` or `{nb}` must give {}", mm(hit.depth))
                },
            )
            .measured(Measure::Mm(Length::mm(hit.depth)), Measure::Mm(limit))
            .panels([na, nb])
            .at(hit.at);
            f.stage = Some(stage);
            f.cure = Some(format!(
                "seen {} of the way through stage {stage}; hold it aside there, or give it more play",
                percent(hit.share)
            ));
            let _ = hit.axis;
            found.push(f);
        }
    }
    if found.is_empty() {
        let mut f = Finding::new(
            "motion",
            Verdict::Pass,
            worst_pass.map_or_else(
                || format!("stage {stage} moves freely"),
                |w| format!("stage {stage} moves freely with the board giving {}", mm(w)),
            ),
        )
        .measured(
            Measure::Mm(Length::mm(worst_pass.unwrap_or(0.0))),
            Measure::Mm(limit),
        );
        f.stage = Some(stage);
        found.push(f);
    }
    found
}

fn mm(v: f64) -> String {
    format!("{} mm", trimmed(v, 2))
}

fn percent(s: f64) -> String {
    format!("{} %", trimmed(s * 100.0, 0))
}

fn related(plan: &Plan, a: PanelRef, b: PanelRef) -> bool {
    a.piece == b.piece && {
        let panels = &plan.pieces[a.piece].panels;
        panels[a.panel].parent == Some(b.panel) || panels[b.panel].parent == Some(a.panel)
    }
}

/// The frames of a stage at any share of it, computed once for each share asked.
struct Movers<'a, 'p> {
    folder: &'a Folder<'p>,
    stage: usize,
    /// Per piece and panel: radians the hinge turns at its fastest, per unit of the stage.
    rate: Vec<Vec<f64>>,
    /// Per piece: mm it travels over the stage.
    travel: Vec<f64>,
    /// Per piece and panel: farthest corner from the panel's own hinge line.
    radius: Vec<Vec<f64>>,
    /// Frames at every [`COARSE`]th tick asked so far.
    frames: RefCell<Vec<Option<Rc<Frames>>>>,
}

impl<'a, 'p> Movers<'a, 'p> {
    fn new(folder: &'a Folder<'p>, stage: usize) -> Self {
        let plan: &Plan = folder.plan;
        let mut rate: Vec<Vec<f64>> = plan
            .pieces
            .iter()
            .map(|b| vec![0.0; b.panels.len()])
            .collect();
        let mut travel = vec![0.0; plan.pieces.len()];
        let def = &plan.stages[stage - 1];
        let (before, after) = (&folder.stations[stage - 1], &folder.stations[stage]);
        for t in &def.turns {
            let (p, i) = (t.panel.piece, t.panel.panel);
            let turned = (after.hinge[p][i] - before.hinge[p][i]).abs();
            rate[p][i] = turned / (t.ends - t.starts).max(1e-9);
        }
        for (p, from) in &def.enters {
            travel[*p] = from.to_mm();
        }
        let radius = folder
            .shapes
            .iter()
            .map(|panels| {
                panels
                    .iter()
                    .map(|s| {
                        s.rings[0]
                            .iter()
                            .map(|q| q.extend(s.caliper).length())
                            .fold(0.0, f64::max)
                    })
                    .collect()
            })
            .collect();
        Self {
            folder,
            stage,
            rate,
            travel,
            radius,
            frames: RefCell::new(vec![None; (TICKS / COARSE) as usize + 1]),
        }
    }

    fn all(&self) -> Vec<PanelRef> {
        let pieces = &self.folder.plan.pieces;
        (0..pieces.len())
            .flat_map(|piece| {
                (0..pieces[piece].panels.len()).map(move |panel| PanelRef { piece, panel })
            })
            .collect()
    }

    /// Whether a piece waits beside the case all through the stage.
    fn waits(&self, piece: usize) -> bool {
        self.folder.stations[self.stage].away[piece].is_none()
    }

    /// Chain from a panel up to its root.
    fn chain(&self, r: PanelRef) -> Vec<usize> {
        let panels = &self.folder.plan.pieces[r.piece].panels;
        let mut chain = vec![r.panel];
        while let Some(p) = panels[chain[chain.len() - 1]].parent {
            chain.push(p);
        }
        chain
    }

    /// A bound on how fast any point of one moves against the other, in mm per unit of stage.
    fn speed(&self, a: PanelRef, b: PanelRef) -> f64 {
        if a.piece != b.piece {
            let own = |r: PanelRef| self.chain_speed(r, None);
            let travel = self.travel[a.piece] + self.travel[b.piece];
            return own(a) + own(b) + travel;
        }
        let (ca, cb) = (self.chain(a), self.chain(b));
        let meet = ca.iter().find(|p| cb.contains(p)).copied();
        self.chain_speed(a, meet) + self.chain_speed(b, meet)
    }

    /// Speed of the panel's points against the panel `top` it hangs on (or its root): the sum over
    /// moving hinges of their rate times the farthest point beyond them.
    fn chain_speed(&self, r: PanelRef, top: Option<usize>) -> f64 {
        let mut arm = 0.0;
        let mut speed = 0.0;
        let mut last = None;
        for p in self.chain(r) {
            if Some(p) == top {
                break;
            }
            // Farthest point beyond this hinge: the panel's own size, or the way to the next hinge
            // and what lies beyond that.
            let hop = match last {
                None => self.radius[r.piece][p],
                Some(child) => {
                    let flat: &DAffine3 = &self.folder_flat(r.piece, child);
                    flat.translation.length() + self.folder.shapes[r.piece][p].caliper
                }
            };
            arm += hop;
            speed += self.rate[r.piece][p] * arm;
            last = Some(p);
        }
        speed
    }

    fn folder_flat(&self, piece: usize, panel: usize) -> DAffine3 {
        self.folder.flat_of(piece, panel)
    }

    fn at(&self, tick: u32) -> Rc<Frames> {
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
const TICKS: u32 = 1 << 16;
/// Long steps end on a multiple of this, so that pairs share the frames computed there.
const COARSE: u32 = 64;

fn advance(
    movers: &Movers<'_, '_>,
    (a, sa): (PanelRef, &[Solid]),
    (b, sb): (PanelRef, &[Solid]),
    speed: f64,
    caliper: f64,
) -> Option<Hit> {
    let mut worst: Option<Hit> = None;
    let per_mm = f64::from(TICKS) / speed;
    let fine = ticks(caliper / 6.0 * per_mm).max(1);
    let mut tick = 0;
    loop {
        let frames = movers.at(tick);
        let (fa, fb) = (frames[a.piece][a.panel], frames[b.piece][b.panel]);
        let mut gap = f64::INFINITY;
        for x in sa {
            for y in sb {
                let m = apart(x, fa, y, fb, gap.max(0.0));
                if m.gap < gap {
                    gap = m.gap;
                    if gap < -SLACK_MM && worst.as_ref().is_none_or(|w| -gap > w.depth) {
                        worst = Some(Hit {
                            depth: -gap,
                            share: f64::from(tick) / f64::from(TICKS),
                            axis: m.axis,
                            at: (fa.transform_point3(x.centre) + fb.transform_point3(y.centre))
                                * 0.5,
                        });
                    }
                }
            }
        }
        if tick >= TICKS {
            break;
        }
        let step = ticks(gap * per_mm).max(fine);
        let next = tick + step;
        // Round a long step down to shared frames; never up, or it could pass a hit.
        tick = if step > COARSE {
            next / COARSE * COARSE
        } else {
            next
        }
        .min(TICKS);
    }
    worst
}

/// Whole ticks in a span, none for a negative one.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the ticks of a stage"
)]
fn ticks(span: f64) -> u32 {
    span.floor().clamp(0.0, f64::from(TICKS)) as u32
}
