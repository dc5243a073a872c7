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
            let courses: Vec<Course> = (0..movers.spans.len())
                .map(|span| movers.course(a, b, span))
                .collect();
            if courses.iter().all(|c| c.speed <= 0.0) {
                continue;
            }
            let (sa, sb) = (&solids[a.piece][a.panel], &solids[b.piece][b.panel]);
            let Some(hit) = advance(
                &movers,
                (a, sa),
                (b, sb),
                &courses,
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

/// The frames of a stage at any share of it, computed once for each share that pairs have in
/// common, and how fast each hinge turns.
struct Movers<'a, 'p> {
    folder: &'a Folder<'p>,
    stage: usize,
    /// Ticks between which the same hinges turn.
    spans: Vec<(u32, u32)>,
    /// Per span, piece and panel: radians the hinge turns in a whole stage at its present rate.
    rate: Vec<Vec<Vec<f64>>>,
    /// Per piece: mm it travels over the stage.
    travel: Vec<f64>,
    /// Frames at every [`COARSE`]th tick asked so far.
    frames: RefCell<Vec<Option<Rc<Frames>>>>,
}

impl<'a, 'p> Movers<'a, 'p> {
    fn new(folder: &'a Folder<'p>, stage: usize) -> Self {
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

    /// How two panels move against each other in a span.
    fn course(&self, a: PanelRef, b: PanelRef, span: usize) -> Course {
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
        let speed =
            self.chain_speed(a, meet, rate, &frames) + self.chain_speed(b, meet, rate, &frames);
        let own = &frames[a.piece];
        let mut axes = ca
            .iter()
            .take_while(|p| Some(**p) != meet)
            .chain(cb.iter().take_while(|p| Some(**p) != meet))
            .filter(|p| rate[a.piece][**p] > 0.0)
            .map(|p| own[*p].matrix3.x_axis);
        let way = match (axes.next(), meet) {
            (Some(first), Some(m)) if axes.all(|x| x.cross(first).length_squared() < 1e-20) => {
                let still = own[m].matrix3.transpose() * first;
                Way::About(
                    still,
                    PanelRef {
                        piece: a.piece,
                        panel: m,
                    },
                )
            }
            _ => Way::Any,
        };
        Course { speed, way }
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
        for p in self.chain(r) {
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
            speed += rate[r.piece][p] * (arm + shape.caliper);
            below = Some((at, ball + shape.caliper));
        }
        speed
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

/// How a pair moves against each other over a whole stage.
struct Course {
    /// No point of one moves faster than this against the other, in mm per stage.
    speed: f64,
    way: Way,
}

/// What is known of the direction of the movement.
enum Way {
    /// Nothing.
    Any,
    /// All turning hinges are parallel to this direction, which keeps still in that panel's frame:
    /// along a direction n nothing moves faster than `speed |n x axis|`.
    About(DVec3, PanelRef),
    /// All movement is along this direction in case coordinates.
    Straight(DVec3),
}

impl Course {
    /// Greatest speed along a direction given in case coordinates.
    fn along(&self, n: DVec3, frames: &Frames) -> f64 {
        match &self.way {
            Way::Any => self.speed,
            Way::Straight(d) => self.speed * n.dot(*d).abs(),
            Way::About(axis, m) => {
                let n = frames[m.piece][m.panel].matrix3.transpose() * n;
                self.speed * n.cross(*axis).length().min(1.0)
            }
        }
    }
}

fn advance(
    movers: &Movers<'_, '_>,
    (a, sa): (PanelRef, &[Solid]),
    (b, sb): (PanelRef, &[Solid]),
    courses: &[Course],
    caliper: f64,
) -> Option<Hit> {
    let mut worst: Option<Hit> = None;
    let whole = f64::from(TICKS);
    let mut tick = 0;
    let mut span = 0;
    loop {
        while tick >= movers.spans[span].1 && span + 1 < movers.spans.len() {
            span += 1;
        }
        let course = &courses[span];
        if course.speed <= 0.0 && tick > 0 {
            // Nothing moves here: what stands at its start stands at its end.
            if span + 1 == movers.spans.len() {
                break;
            }
            tick = movers.spans[span].1;
            continue;
        }
        let fine = ticks(caliper / 6.0 / course.speed.max(1e-9) * whole).max(1);
        let frames = movers.at(tick);
        let (fa, fb) = (frames[a.piece][a.panel], frames[b.piece][b.panel]);
        // How far every pair of pieces allows to go on, in ticks.
        let mut free = whole;
        for x in sa {
            for y in sb {
                let m = apart(x, fa, y, fb, free / whole * course.speed);
                if m.gap < -SLACK_MM {
                    free = 0.0;
                    if worst.as_ref().is_none_or(|w| -m.gap > w.depth) {
                        worst = Some(Hit {
                            depth: -m.gap,
                            share: f64::from(tick) / whole,
                            at: (fa.transform_point3(x.centre) + fb.transform_point3(y.centre))
                                * 0.5,
                        });
                    }
                    continue;
                }
                // Faces that slide on each other keep their distance along the normal.
                let along = course.along(m.axis, &frames).max(1e-9 * course.speed);
                free = free.min((m.gap + SLACK_MM).max(0.0) / along * whole);
            }
        }
        if tick >= TICKS {
            break;
        }
        let step = ticks(free).max(fine);
        let next = tick + step;
        // Round a long step down to shared frames; never up, or it could pass a hit.
        let next = if step > COARSE {
            next / COARSE * COARSE
        } else {
            next
        };
        tick = next.min(movers.spans[span].1);
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

#[cfg(test)]
mod tests {
    use super::super::scene::solids;
    use super::super::solid::apart;
    use super::*;
    use crate::brief::brief;
    use crate::job::parse_job;
    use crate::source::{Door, Shipped, Text};
    use crate::style::parse_style;

    /// The deepest penetration at every share of the grid.
    fn tried_everywhere(
        m: &Movers<'_, '_>,
        a: (PanelRef, &[Solid]),
        b: (PanelRef, &[Solid]),
    ) -> f64 {
        let mut deepest = 0.0f64;
        for tick in (0..=TICKS).step_by(256) {
            let frames = m.at(tick);
            let (fa, fb) = (frames[a.0.piece][a.0.panel], frames[b.0.piece][b.0.panel]);
            for x in a.1 {
                for y in b.1 {
                    deepest = deepest.max(-apart(x, fa, y, fb, 0.0).gap);
                }
            }
        }
        deepest
    }

    /// What is found by stepping is what is found by trying everywhere, in a style altered so that
    /// panels do run into each other.
    fn steps_miss_nothing(style: &str, alter: (&str, &str), job: &str) -> usize {
        let mut text = Shipped.style(style).unwrap();
        assert!(text.text.contains(alter.0), "{}", alter.0);
        text.text = text.text.replace(alter.0, alter.1);
        let job = parse_job(&Text {
            name: "job".into(),
            text: format!("job \"a\" {{\n style \"{style}\"\n board \"C\"\n {job}\n}}"),
        })
        .unwrap();
        let mut b = brief(job, &Shipped).unwrap();
        b.style = std::sync::Arc::new(parse_style(&text).unwrap());
        let plan = b.plan().unwrap().validated().unwrap();
        let folder = Folder::new(&plan);
        let solids = solids(&folder);
        let caliper = b.material.caliper.to_mm();
        let mut hits = 0;
        for stage in 1..=plan.stages.len() {
            let m = Movers::new(&folder, stage);
            let all = m.all();
            for (i, a) in all.iter().enumerate() {
                for b in &all[i + 1..] {
                    let courses: Vec<Course> = (0..m.spans.len())
                        .map(|span| m.course(*a, *b, span))
                        .collect();
                    if related(&plan, *a, *b)
                        || (a.piece != b.piece && (m.waits(a.piece) || m.waits(b.piece)))
                        || courses.iter().all(|c| c.speed <= 0.0)
                    {
                        continue;
                    }
                    let a = (*a, &solids[a.piece][a.panel][..]);
                    let b = (*b, &solids[b.piece][b.panel][..]);
                    let found = advance(&m, a, b, &courses, caliper).map_or(0.0, |h| h.depth);
                    let tried = tried_everywhere(&m, a, b);
                    hits += usize::from(tried > 0.1);
                    assert!(
                        (found - tried).abs() <= caliper / 6.0 + 1e-4,
                        "stage {stage}, {} and {}: {found} by steps, {tried} by trying",
                        plan.name(a.0),
                        plan.name(b.0)
                    );
                    // Nothing found means nothing there.
                    assert!(found > 0.0 || tried <= caliper / 6.0, "missed {tried}");
                }
            }
        }
        hits
    }

    #[test]
    fn slotted_case_with_flaps_that_cross() {
        let hits = steps_miss_nothing(
            "slotted-case",
            ("max=\"(width - gap) / 2\"", "max=\"width\""),
            "inside length=\"150mm\" width=\"100mm\" depth=\"76mm\"\n set \"outer-flap\" \"70mm\"\n set \"step\" \"1mm\"",
        );
        assert!(hits > 4, "{hits}");
    }

    #[test]
    fn mailer_rolled_on_both_sides_at_once() {
        let hits = steps_miss_nothing(
            "mailer",
            ("starts=\"0.5\"", "starts=\"0\""),
            "inside length=\"150mm\" width=\"130mm\" depth=\"120mm\"",
        );
        assert!(hits > 1, "{hits}");
    }
}
