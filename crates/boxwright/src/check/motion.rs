//! Board in board on the way: every pair of panels that move against each other in a stage.
//!
//! Conservative advancement: while two solids stand `gap` apart and no point of one moves faster
//! than `speed` against the other, nothing can meet before `gap / speed` has passed, so the search
//! steps exactly that far and cannot jump over a hit. Once they touch, the same is asked of going
//! deeper than they have been; and no step is so small that no point moves by a sixth of the caliper.

mod movers;
#[cfg(test)]
mod tests;

use self::movers::{COARSE, Course, Movers, Side, TICKS, ticks};
use super::scene::Solids;
use super::solid::{Solid, freest};
use super::{Finding, Measure, Verdict};
use crate::blank::{PanelRef, Plan};
use crate::brief::Brief;
use crate::fold::Folder;
use crate::geom::DVec3;
use crate::units::{Length, SLACK_MM, trimmed};

/// The deepest moment of a pair is found to within this share of the caliper.
const DEEPER: f64 = 30.0;

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
    let boards: Vec<_> = (0..plan.pieces.len())
        .map(|p| (&brief.board_of(plan, p).limits, plan.pieces[p].caliper))
        .collect();
    let movers = Movers::new(folder, stage);
    let mut found = Vec::new();
    let panels = movers.all();
    let mut worst_pass: Option<f64> = None;
    // Out of a case that lies pressed flat, and into it, layers slide on each other.
    let pressed = plan.pressed_after(stage - 1) || plan.pressed_after(stage);
    let ready_glued = (1..stage).any(|s| plan.pressed_after(s));
    for i in 0..panels.len() {
        for j in i + 1..panels.len() {
            let (a, b) = (panels[i], panels[j]);
            if related(plan, a, b)
                || (ready_glued && plan.glued(a, b))
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
            // The board that takes less decides.
            let ((la, ta), (lb, tb)) = (boards[a.piece], boards[b.piece]);
            let (limit, crush) = (la.give.min(lb.give), la.crush.min(lb.crush));
            let (sa, sb) = (&solids[a.piece][a.panel], &solids[b.piece][b.panel]);
            let Some(hit) = advance(&movers, (a, sa), (b, sb), &courses, ta.min(tb).to_mm()) else {
                continue;
            };
            if hit.depth <= SLACK_MM * 10.0 {
                continue;
            }
            worst_pass = Some(worst_pass.map_or(hit.depth, |w| w.max(hit.depth)));
            if hit.depth <= crush.to_mm() || (pressed && hit.depth <= limit.to_mm() + SLACK_MM) {
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
            Measure::Mm(brief.board.limits.give),
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
                let sides = (Side(x, fa), Side(y, fb));
                let found = freest((x, fa), (y, fb), free, |part| {
                    course.free(part, SLACK_MM, &frames, sides)
                });
                match found {
                    Ok(ticks) => free = free.min(ticks),
                    Err(m) => {
                        if worst.as_ref().is_none_or(|w| -m.gap > w.depth) {
                            worst = Some(Hit {
                                depth: -m.gap,
                                share: f64::from(tick) / whole,
                                at: (fa.transform_point3(x.centre) + fb.transform_point3(y.centre))
                                    * 0.5,
                            });
                        }
                        // As long as they go no deeper than they have been, nothing is missed.
                        let deep = worst.as_ref().map_or(0.0, |w| w.depth) + caliper / DEEPER;
                        free = free.min(course.free(m, deep, &frames, sides));
                    }
                }
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
