//! Closing gaps and joints: flaps that meet, taped edges, tabs in slots, tucks.

use super::faces::{PARALLEL_DEG, covered, facing, glue, parallel_deg, seen_from};
use super::scene::Scene;
use super::solid::{Body, within_column};
use super::{Finding, Measure, Verdict};
use crate::blank::{PlanJoint, PlanJointKind};
use crate::geom::{DVec2, DVec3};
use crate::units::{Length, SLACK_MM};

/// Widest gap between outer flaps that the trade takes for closed: 6 mm (FM 38-701, seen).
const CLOSED: Length = Length::mm(6.0);

/// Measures one joint of the finished case.
pub(super) fn joint(scene: &Scene<'_>, j: &PlanJoint) -> Vec<Finding> {
    let (Some(a), Some(b)) = (scene.body(j.panel), scene.body(j.to)) else {
        return Vec::new();
    };
    match &j.kind {
        PlanJointKind::Close(asked) => vec![close(scene, a, b, asked.to_mm())],
        PlanJointKind::Tape(asked) => vec![tape(scene, a, b, asked.to_mm())],
        PlanJointKind::Glue => glue(scene, a, b),
        PlanJointKind::Tab(hole) => vec![tab(scene, a, b, *hole)],
        PlanJointKind::Tuck => vec![tuck(scene, a, b)],
    }
}

/// How far board of `b` is from the far edge of `a`, straight ahead of it; negative when it comes
/// before that edge. Only board ahead of `behind` (own y of `a`) counts.
fn ahead(a: &Body<'_>, b: &Body<'_>, scene: &Scene<'_>, behind: f64) -> Option<f64> {
    let frame = a.slab.frame;
    let panel = scene.panel(a);
    let ring = panel.outline.bounds();
    let (x, y, z) = (
        frame.matrix3.x_axis,
        frame.matrix3.y_axis,
        frame.matrix3.z_axis,
    );
    let o = frame.translation;
    let t = a.slab.shape.caliper;
    let (xo, yo, zo) = (x.dot(o), y.dot(o), z.dot(o));
    let inset = 0.1 * t;
    let sides = [
        (x, xo + ring.min.x + inset, xo + ring.max.x - inset),
        (z, zo - t + inset, zo - inset),
        (y, yo + behind, yo + 1e5),
    ];
    let mut least: Option<f64> = None;
    for (s, f) in b.solids() {
        if let Some((lo, _)) = within_column(s, f, y, &sides) {
            let way = lo - yo - ring.max.y;
            if least.is_none_or(|l| way < l) {
                least = Some(way);
            }
        }
    }
    least
}

fn tip(a: &Body<'_>, scene: &Scene<'_>) -> DVec3 {
    let ring = scene.panel(a).outline.bounds();
    let mid = DVec2::new(ring.centre().x, ring.max.y);
    a.slab
        .frame
        .transform_point3(mid.extend(-a.slab.shape.caliper / 2.0))
}

fn close(scene: &Scene<'_>, a: &Body<'_>, b: &Body<'_>, asked: f64) -> Finding {
    let (na, nb) = (&a.slab.name, &b.slab.name);
    let Some(gap) = ahead(a, b, scene, 0.0) else {
        return Finding::new(
            "closing-gap",
            Verdict::Fail,
            format!("`{na}` does not come up to `{nb}`"),
        )
        .panels([na.clone(), nb.clone()])
        .at(tip(a, scene));
    };
    let limit = CLOSED.max(Length::mm(asked));
    let (verdict, message) = if gap < -10.0 * SLACK_MM {
        (
            Verdict::Fail,
            format!("`{na}` runs {} into `{nb}` when closed", scene.mm(-gap)),
        )
    } else if gap > limit.to_mm() + SLACK_MM {
        (
            Verdict::Caution,
            format!("`{na}` and `{nb}` leave {} open", scene.mm(gap)),
        )
    } else {
        (
            Verdict::Pass,
            format!("`{na}` comes to {} from `{nb}`", scene.mm(gap)),
        )
    };
    let mut f = Finding::new("closing-gap", verdict, message)
        .measured(Measure::Mm(Length::mm(gap)), Measure::Mm(limit))
        .panels([na.clone(), nb.clone()])
        .at(tip(a, scene));
    if verdict == Verdict::Fail {
        f.cure = scene.cure(a, a.slab.frame.matrix3.y_axis, -gap);
    }
    f
}

fn tape(scene: &Scene<'_>, a: &Body<'_>, b: &Body<'_>, asked: f64) -> Finding {
    let (na, nb) = (&a.slab.name, &b.slab.name);
    // Nearest point of b to the taped edge.
    let frame = a.slab.frame;
    let far = scene.panel(a).outline.bounds().max.y;
    let y = frame.matrix3.y_axis;
    let edge = y.dot(frame.translation) + far;
    let z = frame.matrix3.z_axis;
    let t = a.slab.shape.caliper;
    let level = z.dot(frame.translation);
    // How far b's board stays from the faces of a near that edge, and from the edge itself.
    let square = [(y, edge - 3.0 * t, edge + 3.0 * t)];
    let ahead = [(z, level - 4.0 * t, level + 3.0 * t)];
    let mut gap = f64::INFINITY;
    for (s, f) in b.solids() {
        if let Some((lo, hi)) = within_column(s, f, z, &square)
            && let Some((near, far)) = within_column(s, f, y, &ahead)
        {
            let apart = (lo - level).max(level - t - hi);
            let short = (near - edge).max(edge - t - far);
            gap = gap.min(apart.max(short));
        }
    }
    let verdict = if !gap.is_finite() || gap > asked.max(2.0 * t) {
        Verdict::Fail
    } else if gap > asked + scene.limits(a).glue_gap.to_mm() {
        Verdict::Caution
    } else {
        Verdict::Pass
    };
    Finding::new(
        "taped-edge",
        verdict,
        if gap.is_finite() {
            format!(
                "tape joins `{na}` and `{nb}` over a gap of {}",
                scene.mm(gap.max(0.0))
            )
        } else {
            format!("`{na}` and `{nb}` do not come together where tape should join them")
        },
    )
    .measured(
        Measure::Mm(Length::mm(if gap.is_finite() { gap } else { 1e9 })),
        Measure::Mm(Length::mm(asked) + scene.limits(a).glue_gap),
    )
    .panels([na.clone(), nb.clone()])
    .at(tip(a, scene))
}

/// Signed distance of a point to the edge of a cut-out: positive inside it.
fn room_in(hole: &[DVec2], p: DVec2) -> f64 {
    let mut least = f64::INFINITY;
    let mut odd = false;
    for i in 0..hole.len() {
        let (a, b) = (hole[i], hole[(i + 1) % hole.len()]);
        let u = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        least = least.min(p.distance(a.lerp(b, u)));
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    if odd { least } else { -least }
}

fn tab(scene: &Scene<'_>, a: &Body<'_>, b: &Body<'_>, hole: usize) -> Finding {
    let (na, nb) = (&a.slab.name, &b.slab.name);
    let names = [na.clone(), nb.clone()];
    let t = b.slab.shape.caliper;
    let ring = scene.panel(b).holes[hole].flattened(crate::fold::CHORD);
    let mut deep = 0.0f64;
    let mut clearance = f64::INFINITY;
    for (points, solid) in seen_from(a, b).iter().zip(a.pieces) {
        for face in solid.faces() {
            // The part of this face inside the thickness of b.
            let mut poly: Vec<DVec3> = face.iter().map(|i| points[*i as usize]).collect();
            poly = below(&poly, 0.0);
            for p in &poly {
                deep = deep.max(-p.z);
                if p.z >= -t {
                    clearance = clearance.min(room_in(&ring, p.truncate()));
                }
            }
        }
    }
    let limit = scene.caliper(a) * 0.5;
    let at = tip(a, scene);
    if deep <= SLACK_MM || !clearance.is_finite() {
        return Finding::new(
            "tab-in-slot",
            Verdict::Fail,
            format!("`{na}` does not reach into its slot in `{nb}`"),
        )
        .measured(Measure::Mm(Length::mm(deep)), Measure::Mm(limit))
        .panels(names)
        .at(at);
    }
    let (verdict, message) = if clearance < -SLACK_MM {
        (
            Verdict::Fail,
            format!(
                "`{na}` is {} too large for its slot in `{nb}`",
                scene.mm(-clearance)
            ),
        )
    } else if deep < limit.to_mm() {
        (
            Verdict::Caution,
            format!(
                "`{na}` reaches only {} into its slot in `{nb}`",
                scene.mm(deep)
            ),
        )
    } else {
        (
            Verdict::Pass,
            format!(
                "`{na}` seats {} deep in `{nb}` with {} to spare",
                scene.mm(deep),
                scene.mm(clearance)
            ),
        )
    };
    let mut f = Finding::new("tab-in-slot", verdict, message)
        .measured(
            Measure::Mm(Length::mm(clearance)),
            Measure::Mm(Length::ZERO),
        )
        .panels(names)
        .at(at);
    if verdict == Verdict::Fail {
        f.cure = scene
            .cure(a, a.slab.frame.matrix3.x_axis, -2.0 * clearance)
            .or_else(|| {
                Some(format!(
                    "make the slot in `{nb}` larger by {}",
                    scene.mm(-2.0 * clearance)
                ))
            });
    }
    f
}

/// The part of a polygon at or below this height.
fn below(ring: &[DVec3], z: f64) -> Vec<DVec3> {
    let mut out = Vec::with_capacity(ring.len() + 1);
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        if a.z <= z {
            out.push(a);
        }
        if (a.z < z && b.z > z) || (a.z > z && b.z < z) {
            out.push(a.lerp(b, (z - a.z) / (b.z - a.z)));
        }
    }
    out
}

fn tuck(scene: &Scene<'_>, a: &Body<'_>, b: &Body<'_>) -> Finding {
    let (na, nb) = (&a.slab.name, &b.slab.name);
    let at = tip(a, scene);
    let stop = scene
        .bodies
        .iter()
        .filter(|x| x.slab.name != *na && x.slab.name != *nb && !scene.neighbours(a, x))
        .filter_map(|x| {
            ahead(a, x, scene, scene.panel(a).reach.to_mm() * 0.1).map(|w| (w, &x.slab.name))
        })
        .min_by(|p, q| p.0.total_cmp(&q.0));
    if let Some((way, name)) = stop
        && way < -10.0 * SLACK_MM
    {
        let mut f = Finding::new(
            "tuck",
            Verdict::Fail,
            format!("`{na}` runs {} into `{name}`", scene.mm(-way)),
        )
        .measured(Measure::Mm(Length::mm(way)), Measure::Mm(Length::ZERO))
        .panels([na.clone(), name.clone()])
        .at(at);
        f.cure = scene.cure(a, a.slab.frame.matrix3.y_axis, -way);
        return f;
    }
    let askew = parallel_deg(a, b);
    let (gap, inside) = facing(a, b);
    let (common, _) = covered(a, b);
    let deep = common / scene.panel(a).breadth.to_mm();
    let least = scene.caliper(a) * 3.0;
    let limit = scene.limits(a).give;
    let names = [na.clone(), nb.clone()];
    let (verdict, message) = if askew > PARALLEL_DEG || !inside {
        (Verdict::Fail, format!("`{na}` does not lie behind `{nb}`"))
    } else if deep < least.to_mm() {
        (
            Verdict::Caution,
            format!("`{na}` holds only {} deep behind `{nb}`", scene.mm(deep)),
        )
    } else if gap > limit.to_mm() + SLACK_MM {
        (
            Verdict::Caution,
            format!("`{na}` is loose behind `{nb}`: {} of play", scene.mm(gap)),
        )
    } else {
        (
            Verdict::Pass,
            format!("`{na}` is held {} deep behind `{nb}`", scene.mm(deep)),
        )
    };
    Finding::new("tuck", verdict, message)
        .measured(Measure::Mm(Length::mm(deep)), Measure::Mm(least))
        .panels(names)
        .at(at)
}
