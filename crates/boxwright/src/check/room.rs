//! The clear room: how far the faces of the asked block could be pushed out until board stops
//! them; and what stands inside the block.

use super::scene::Scene;
use super::solid::{Block, Body, each_within, within_column};
use super::{Finding, Measure, Verdict};
use crate::blank::{PlanFitment, PlanLeft};
use crate::geom::DVec3;
use crate::units::{Length, SLACK_MM, trimmed};

/// What was measured.
pub(super) struct Found {
    /// Clear length, width, depth.
    pub sizes: [f64; 3],
    pub findings: Vec<Finding>,
}

const NAMES: [&str; 3] = ["length", "width", "depth"];
const AXES: [DVec3; 3] = [DVec3::X, DVec3::Y, DVec3::Z];

/// The room of the case between its own panels, then what each fitment keeps to and leaves.
pub(super) fn room(scene: &Scene<'_>) -> Found {
    let plan = scene.folder.plan;
    let mut found = if plan.room.leaves.is_empty() {
        of_case(scene)
    } else {
        let (min, max) = (scene.folder.room.min, scene.folder.room.max);
        Found {
            sizes: (max - min).to_array(),
            findings: fitment(scene, None, &Block { min, max }),
        }
    };
    for (i, f) in plan.fitments.iter().enumerate() {
        let block = block(DVec3::ZERO, f.at, f.room.asked);
        found.findings.extend(fitment(scene, Some(i), &block));
    }
    found
}

fn block(from: DVec3, at: [f64; 3], size: [Length; 3]) -> Block {
    let min = from + DVec3::from_array(at);
    Block {
        min,
        max: min + DVec3::from_array(size.map(Length::to_mm)),
    }
}

fn of_case(scene: &Scene<'_>) -> Found {
    let (min, max) = (scene.folder.room.min, scene.folder.room.max);
    let asked = max - min;
    // The face's free way outward and the body that stops it: [axis][0 low, 1 high].
    let mut free: [[Option<(f64, usize)>; 2]; 3] = [[None; 2]; 3];
    let mut findings = Vec::new();
    for (i, body) in scene.of(scene.folder.plan.own()) {
        if let Some((face, depth)) = stands_in(body, min, max) {
            if scene.panel(body).may_intrude {
                findings.push(intrusion(scene, body, face, depth));
            } else {
                let slot = &mut free[face.0][face.1];
                if slot.is_none_or(|(way, _)| -depth < way) {
                    *slot = Some((-depth, i));
                }
            }
            continue;
        }
        for axis in 0..3 {
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            let misses =
                |k: usize| body.max[k] <= min[k] + SLACK_MM || body.min[k] >= max[k] - SLACK_MM;
            if misses(u) || misses(v) {
                continue;
            }
            let sides = [
                (AXES[u], min[u] + SLACK_MM, max[u] - SLACK_MM),
                (AXES[v], min[v] + SLACK_MM, max[v] - SLACK_MM),
            ];
            let Some((lo, hi)) = reach(body, axis, &sides, [(min[u], max[u]), (min[v], max[v])])
            else {
                continue;
            };
            for (end, way) in [(0, min[axis] - hi), (1, lo - max[axis])] {
                if way >= -SLACK_MM {
                    let slot = &mut free[axis][end];
                    // Of several in one plane, such as a wall and the tab on its edge, the largest.
                    let before = |(w, j): (f64, usize)| {
                        let spread = |k: usize| scene.bodies[k].max - scene.bodies[k].min;
                        if (way - w).abs() <= SLACK_MM {
                            spread(i).length() > spread(j).length()
                        } else {
                            way < w
                        }
                    };
                    if slot.is_none_or(before) {
                        *slot = Some((way, i));
                    }
                }
            }
        }
    }
    let mut sizes = [0.0; 3];
    for axis in 0..3 {
        let way = |end: usize| match free[axis][end] {
            Some((w, _)) => w,
            None => rim(scene, &free, axis, end),
        };
        sizes[axis] = asked[axis] + way(0) + way(1);
        findings.push(size(scene, axis, asked[axis], sizes[axis], free[axis]));
    }
    Found { sizes, findings }
}

/// Whether a fitment keeps to the room it is asked for, and whether what it is said to leave is
/// clear of board. `None` for a fitment that is a job by itself.
fn fitment(scene: &Scene<'_>, which: Option<usize>, asked: &Block) -> Vec<Finding> {
    let plan = scene.folder.plan;
    let fitment = which.map(|i| &plan.fitments[i]);
    let own = fitment.map_or_else(|| plan.own(), |f| f.pieces.clone());
    let (min, max) = (asked.min, asked.max);
    let mut findings = Vec::new();
    let mut out: Option<(f64, usize, usize)> = None;
    for (i, body) in scene.of(own) {
        for axis in 0..3 {
            let past = (body.max[axis] - max[axis]).max(min[axis] - body.min[axis]);
            if out.is_none_or(|(worst, _, _)| past > worst) {
                out = Some((past, i, axis));
            }
        }
    }
    if let Some((past, i, axis)) = out {
        findings.push(fits_inside(scene, fitment, i, axis, past));
    }
    for left in &fitment.map_or(&plan.room, |f| &f.room).leaves {
        let Block { min: from, max: to } = block(min, left.at, left.size);
        let outside = (to - max).max(min - from).max_element();
        // What is asked for within it stands there on purpose; a lap the trade accepts is told of
        // by the check of the case's room.
        let meant = |b: &Body<'_>| {
            let of = plan.fitment_of(b.slab.piece);
            let guest = of.filter(|i| Some(*i) != which).map(|i| &plan.fitments[i]);
            match guest {
                Some(g) => {
                    let room = block(DVec3::ZERO, g.at, g.room.asked);
                    room.min.cmpge(from - 10.0 * SLACK_MM).all()
                        && room.max.cmple(to + 10.0 * SLACK_MM).all()
                }
                None => of.is_none() && which.is_some() && scene.panel(b).may_intrude,
            }
        };
        let worst = scene
            .bodies
            .iter()
            .filter(|b| !meant(b))
            .filter_map(|b| stands_in(b, from, to).map(|(face, depth)| (b, face, depth)))
            .max_by(|a, b| a.2.total_cmp(&b.2));
        let name = fitment.map_or_else(
            || left.name.clone(),
            |f| format!("{}: {}", f.name, left.name),
        );
        findings.push(left_clear(scene, left, &name, outside, worst));
    }
    findings
}

fn fits_inside(
    scene: &Scene<'_>,
    fitment: Option<&PlanFitment>,
    body: usize,
    axis: usize,
    past: f64,
) -> Finding {
    let body = &scene.bodies[body];
    let name = &body.slab.name;
    let holds = past <= 10.0 * SLACK_MM;
    let message = match (fitment, holds) {
        (None, true) => format!("it keeps {} clear of the case or more", scene.mm(-past)),
        (Some(f), true) => format!(
            "`{}` keeps {} clear of its room or more",
            f.name,
            scene.mm((-past).max(0.0))
        ),
        (None, false) => format!(
            "`{name}` stands {} past the {} of the case it goes into",
            scene.mm(past),
            NAMES[axis]
        ),
        (Some(f), false) => format!(
            "`{name}` stands {} past the {} of the room of `{}`",
            scene.mm(past),
            NAMES[axis],
            f.name
        ),
    };
    let verdict = if holds { Verdict::Pass } else { Verdict::Fail };
    let mut f = Finding::new("fits-inside", verdict, message)
        .measured(Measure::Mm(Length::mm(past)), Measure::Mm(Length::ZERO))
        .panels([name.clone()])
        .at((body.min + body.max) * 0.5);
    if !holds {
        f.cure = scene.cure(body, AXES[axis], past);
    }
    f
}

fn left_clear(
    scene: &Scene<'_>,
    left: &PlanLeft,
    name: &str,
    outside: f64,
    worst: Option<(&Body<'_>, (usize, usize), f64)>,
) -> Finding {
    if outside > 10.0 * SLACK_MM {
        return Finding::new(
            "left-clear",
            Verdict::Fail,
            format!("`{name}` reaches {} past the case", scene.mm(outside)),
        );
    }
    let Some((body, face, depth)) = worst else {
        let [l, w, d] = left.size.map(|s| trimmed(s.to_mm(), 2));
        return Finding::new(
            "left-clear",
            Verdict::Pass,
            format!("`{name}` is clear: {l} x {w} x {d} mm"),
        );
    };
    let mut f = Finding::new(
        "left-clear",
        Verdict::Fail,
        format!(
            "`{}` stands {} in the {} of `{name}`",
            body.slab.name,
            scene.mm(depth),
            NAMES[face.0]
        ),
    )
    .measured(Measure::Mm(Length::mm(depth)), Measure::Mm(Length::ZERO))
    .panels([body.slab.name.clone()])
    .at((body.min + body.max) * 0.5);
    f.cure = scene.cure(body, AXES[face.0], depth);
    f
}

/// Where nothing closes the room: how far the lowest of the walls round it rises past the asked
/// block (negative when it ends short of it). On each side the highest counts: a tab before a wall
/// may end below it.
fn rim(scene: &Scene<'_>, free: &[[Option<(f64, usize)>; 2]; 3], axis: usize, end: usize) -> f64 {
    let room = &scene.folder.room;
    let rise = |b: &Body<'_>| {
        if end == 1 {
            b.max[axis] - room.max[axis]
        } else {
            room.min[axis] - b.min[axis]
        }
    };
    let sides = (0..3).filter(|k| *k != axis).flat_map(|k| [(k, 0), (k, 1)]);
    sides
        .filter_map(|(k, side)| {
            let (_, nearest) = free[k][side]?;
            let beyond = |b: &&Body<'_>| {
                if side == 1 {
                    b.min[k] >= room.max[k] - SLACK_MM
                } else {
                    b.max[k] <= room.min[k] + SLACK_MM
                }
            };
            let behind = scene.bodies.iter().filter(beyond).map(rise);
            Some(behind.fold(rise(&scene.bodies[nearest]), f64::max))
        })
        .fold(f64::INFINITY, f64::min)
}

/// Least and greatest coordinate of the part of a body inside a column along an axis.
fn reach(
    body: &Body<'_>,
    axis: usize,
    sides: &[(DVec3, f64, f64)],
    spans: [(f64, f64); 2],
) -> Option<(f64, f64)> {
    let mut range: Option<(f64, f64)> = None;
    let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
    for (solid, frame, block) in body.blocks() {
        let beside = [u, v]
            .into_iter()
            .zip(spans)
            .any(|(k, (a, b))| block.max[k] < a + SLACK_MM || block.min[k] > b - SLACK_MM);
        if beside {
            continue;
        }
        let found = upright_range(solid, frame, axis, spans)
            .unwrap_or_else(|| within_column(solid, frame, AXES[axis], sides));
        if let Some((a, b)) = found {
            range = Some(range.map_or((a, b), |(lo, hi)| (lo.min(a), hi.max(b))));
        }
    }
    range
}

/// The quick answer for an upright box; `None` when the solid is not one.
#[allow(
    clippy::option_option,
    reason = "the outer option says whether the quick answer applies"
)]
fn upright_range(
    solid: &super::solid::Solid,
    frame: crate::geom::DAffine3,
    axis: usize,
    spans: [(f64, f64); 2],
) -> Option<Option<(f64, f64)>> {
    if solid.points.len() != 8 {
        return None;
    }
    let (mut lo, mut hi) = (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY));
    let mut points = [DVec3::ZERO; 8];
    for (q, p) in points.iter_mut().zip(&solid.points) {
        *q = frame.transform_point3(*p);
    }
    for p in &points {
        lo = lo.min(*p);
        hi = hi.max(*p);
    }
    let corner =
        |p: &DVec3| (0..3).all(|k| (p[k] - lo[k]).abs() < 1e-9 || (p[k] - hi[k]).abs() < 1e-9);
    if !points.iter().all(corner) {
        return None;
    }
    for (k, (a, b)) in [(axis + 1) % 3, (axis + 2) % 3].into_iter().zip(spans) {
        if hi[k] <= a + SLACK_MM || lo[k] >= b - SLACK_MM {
            return Some(None);
        }
    }
    Some(Some((lo[axis], hi[axis])))
}

/// Whether a body reaches into the block, the face it is nearest to and how deep it stands in.
fn stands_in(body: &Body<'_>, min: DVec3, max: DVec3) -> Option<((usize, usize), f64)> {
    if !(body.min.cmplt(max - SLACK_MM).all() && body.max.cmpgt(min + SLACK_MM).all()) {
        return None;
    }
    let sides = [0, 1, 2].map(|k| (AXES[k], min[k] + SLACK_MM, max[k] - SLACK_MM));
    let mut inside: Option<(DVec3, DVec3)> = None;
    let asked = Block { min, max };
    for (solid, frame, block) in body.blocks() {
        if !block.near(&asked, -SLACK_MM) {
            continue;
        }
        each_within(solid, frame, &sides, |p| {
            let (lo, hi) = inside.get_or_insert((p, p));
            *lo = lo.min(p);
            *hi = hi.max(p);
        });
    }
    let (lo, hi) = inside?;
    if !(hi - lo).is_finite() {
        return None;
    }
    let mut best = ((0, 0), f64::INFINITY);
    for k in 0..3 {
        for (end, depth) in [(0, hi[k] - min[k]), (1, max[k] - lo[k])] {
            if depth < best.1 {
                best = ((k, end), depth);
            }
        }
    }
    // The clip keeps off the block's faces by the slack; give it back.
    (best.1 > 2.0 * SLACK_MM).then_some((best.0, best.1))
}

fn intrusion(scene: &Scene<'_>, body: &Body<'_>, face: (usize, usize), depth: f64) -> Finding {
    let name = &body.slab.name;
    let limit = scene.caliper(body) + scene.limits(body).give;
    let accepted = depth <= limit.to_mm() + SLACK_MM;
    let (verdict, word) = if accepted {
        (Verdict::Pass, "as the trade accepts of an inside lap")
    } else {
        (
            Verdict::Fail,
            "more than the trade accepts of an inside lap",
        )
    };
    Finding::new(
        "accepted-intrusion",
        verdict,
        format!(
            "`{name}` stands {} into the asked {}, {word}",
            scene.mm(depth),
            NAMES[face.0]
        ),
    )
    .measured(Measure::Mm(Length::mm(depth)), Measure::Mm(limit))
    .panels([name.clone()])
    .at((body.min + body.max) * 0.5)
}

fn size(
    scene: &Scene<'_>,
    axis: usize,
    asked: f64,
    found: f64,
    free: [Option<(f64, usize)>; 2],
) -> Finding {
    let stops: Vec<(String, f64)> = free
        .iter()
        .flatten()
        .map(|(w, i)| (scene.bodies[*i].slab.name.clone(), *w))
        .collect();
    let worst = stops.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let names = stops.iter().map(|(n, _)| n.clone());
    let code = ["clear-length", "clear-width", "clear-depth"][axis];
    let measured = (
        Measure::Mm(Length::mm(found)),
        Measure::Mm(Length::mm(asked)),
    );
    if stops.len() < 2 {
        let holds = found.is_finite() && found >= asked - 10.0 * SLACK_MM;
        return Finding::new(
            code,
            if holds { Verdict::Pass } else { Verdict::Fail },
            if holds {
                format!(
                    "clear {}: {} to the rim of the open side",
                    NAMES[axis],
                    scene.mm(found)
                )
            } else {
                format!("the walls end short of the asked {}", NAMES[axis])
            },
        )
        .measured(measured.0, measured.1)
        .panels(names);
    }
    if found >= asked - 10.0 * SLACK_MM && worst.is_none_or(|(_, w)| *w >= -10.0 * SLACK_MM) {
        return Finding::new(
            code,
            Verdict::Pass,
            format!(
                "clear {}: {} between {}",
                NAMES[axis],
                scene.mm(found),
                list(stops.iter().map(|(n, _)| n))
            ),
        )
        .measured(measured.0, measured.1)
        .panels(names);
    }
    let (name, way) = worst.map_or((String::new(), 0.0), |(n, w)| (n.clone(), *w));
    let mut f = Finding::new(
        code,
        Verdict::Fail,
        format!(
            "`{name}` stands {} inside the asked {}",
            scene.mm(-way),
            NAMES[axis]
        ),
    )
    .measured(measured.0, measured.1)
    .panels([name.clone()]);
    if let Some(body) = scene.bodies.iter().find(|b| b.slab.name == name) {
        f = f.at((body.min + body.max) * 0.5);
        f.cure = scene.cure(body, AXES[axis], -way);
    }
    f
}

/// "`a` and `b`".
fn list<'s>(names: impl Iterator<Item = &'s String>) -> String {
    names
        .map(|n| format!("`{n}`"))
        .collect::<Vec<_>>()
        .join(" and ")
}
