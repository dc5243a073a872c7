//! Board in board at rest, in the finished case and after every stage.

use super::scene::Scene;
use super::solid::{Body, deepest, deepest_rigid};
use super::{Finding, Measure, Verdict};
use crate::units::{Length, SLACK_MM};

/// Every pair that reaches into each other. `stage` is `None` for the finished case.
pub(super) fn rest(scene: &Scene<'_>, stage: Option<usize>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let bodies = &scene.bodies;
    let plan = scene.folder.plan;
    // The case keeps still in the stages of a fitment, and the other way round: what rests then
    // was looked at before.
    let moves = |piece: usize| {
        stage.is_none_or(|s| plan.fitment_of(piece) == plan.stages.get(s - 1).and_then(|s| s.of))
    };
    let waits =
        |piece: usize| stage.is_some_and(|s| scene.folder.stations[s].away[piece].is_none());
    let pressed = stage.filter(|s| scene.folder.plan.pressed_after(*s));
    let mut gives: Option<(f64, Length, [String; 2])> = None;
    for i in 0..bodies.len() {
        for j in i + 1..bodies.len() {
            let (a, b) = (&bodies[i], &bodies[j]);
            let (pa, pb) = (a.slab.piece, b.slab.piece);
            if !(moves(pa) || moves(pb)) || (pa != pb && (waits(pa) || waits(pb))) {
                continue;
            }
            let neighbours = scene.neighbours(a, b);
            // At a crease the board is crushed or stretched by itself: only the finished fold is
            // held against the bead that may stand beside it.
            if neighbours && stage.is_some() {
                continue;
            }
            let found = if neighbours {
                deepest_rigid(a, b)
            } else {
                deepest(a, b)
            };
            let Some(m) = found else { continue };
            let depth = -m.gap;
            let limit = if neighbours {
                scene.limits(a).crease_bead.max(scene.limits(a).crush)
            } else if pressed.is_some() {
                scene.limit(a, b, |l| l.give)
            } else {
                scene.limit(a, b, |l| l.crush)
            };
            if pressed.is_some() && depth <= limit.to_mm() + SLACK_MM {
                if gives.as_ref().is_none_or(|(d, _, _)| depth > *d) {
                    gives = Some((depth, limit, [a, b].map(|x| x.slab.name.clone())));
                }
                continue;
            }
            if neighbours && depth <= limit.to_mm() {
                continue;
            }
            findings.push(pair(scene, (a, b), m.axis, depth, limit, stage));
        }
    }
    if let Some((depth, limit, panels)) = gives
        && findings.is_empty()
    {
        let mut f = Finding::new(
            "pressed-flat",
            Verdict::Pass,
            format!(
                "it lies flat with the board giving {} at most",
                scene.mm(depth)
            ),
        )
        .measured(Measure::Mm(Length::mm(depth)), Measure::Mm(limit))
        .panels(panels);
        f.stage = stage;
        findings.push(f);
    }
    if findings.is_empty() && stage.is_none() {
        findings.push(Finding::new(
            "board-in-board",
            Verdict::Pass,
            format!("no board in board among {} panels at rest", bodies.len()),
        ));
    }
    findings
}

fn pair(
    scene: &Scene<'_>,
    (a, b): (&Body<'_>, &Body<'_>),
    axis: crate::geom::DVec3,
    depth: f64,
    limit: Length,
    stage: Option<usize>,
) -> Finding {
    let centre = (scene.folder.room.min + scene.folder.room.max) * 0.5;
    let out = |x: &Body<'_>| axis.dot((x.min + x.max) * 0.5 - centre).abs();
    // The one further out is the one that moves.
    let (a, b) = if out(a) >= out(b) { (a, b) } else { (b, a) };
    let verdict = if depth <= limit.to_mm() {
        Verdict::Caution
    } else {
        Verdict::Fail
    };
    let word = if verdict == Verdict::Fail {
        "is driven"
    } else {
        "is pressed"
    };
    let mut f = Finding::new(
        "board-in-board",
        verdict,
        format!(
            "`{}` {word} {} into `{}`",
            a.slab.name,
            scene.mm(depth),
            b.slab.name
        ),
    )
    .measured(Measure::Mm(Length::mm(depth)), Measure::Mm(limit))
    .panels([a.slab.name.clone(), b.slab.name.clone()])
    .at((a.min.max(b.min) + a.max.min(b.max)) * 0.5);
    f.cure = scene.cure_apart(a, b, axis, depth);
    f.stage = stage;
    f
}
