//! Faces that lie on each other: how far apart, how much of them, and whether they can be glued.

use super::scene::Scene;
use super::solid::Body;
use super::{Finding, Measure, Verdict};
use crate::geom::{DVec2, DVec3};
use crate::units::{Length, SLACK_MM};

/// Least reach of a glued lap: 30 mm (GB 6543-86, seen; 31.75 mm in Item 222, seen).
const LEAST_LAP: Length = Length::mm(30.0);
/// Joined faces may be out of parallel by this much.
pub(super) const PARALLEL_DEG: f64 = 1.0;

/// The rigid pieces of `a` seen in the own coordinates of `b`.
pub(super) fn seen_from(a: &Body<'_>, b: &Body<'_>) -> Vec<Vec<DVec3>> {
    let rel = b.slab.frame.inverse() * a.slab.frame;
    a.pieces
        .iter()
        .map(|s| s.points.iter().map(|p| rel.transform_point3(*p)).collect())
        .collect()
}

/// Gap between the facing faces of two parallel panels and whether `a` lies on the inside of `b`.
pub(super) fn facing(a: &Body<'_>, b: &Body<'_>) -> (f64, bool) {
    let points = seen_from(a, b);
    let z = points.iter().flatten().map(|p| p.z);
    let (lo, hi) = z.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| {
        (l.min(z), h.max(z))
    });
    let t = b.slab.shape.caliper;
    if (lo + hi) / 2.0 >= -t / 2.0 {
        (lo, true)
    } else {
        (-t - hi, false)
    }
}

pub(super) fn parallel_deg(a: &Body<'_>, b: &Body<'_>) -> f64 {
    let d = a
        .slab
        .frame
        .matrix3
        .z_axis
        .dot(b.slab.frame.matrix3.z_axis)
        .abs()
        .min(1.0);
    d.acos().to_degrees()
}

/// Area of `a` that lies over `b`, and the area of `a`, in the plane of `b`.
pub(super) fn covered(a: &Body<'_>, b: &Body<'_>) -> (f64, f64) {
    let rel = b.slab.frame.inverse() * a.slab.frame;
    let mut common = 0.0;
    let mut whole = 0.0;
    for p in &a.slab.shape.pieces {
        let mut ring: Vec<DVec2> = p
            .iter()
            .map(|q| rel.transform_point3(q.extend(0.0)).truncate())
            .collect();
        if area(&ring) < 0.0 {
            ring.reverse();
        }
        whole += area(&ring);
        for q in &b.slab.shape.pieces {
            common += area(&clipped(&ring, q)).max(0.0);
        }
    }
    (common, whole)
}

fn area(r: &[DVec2]) -> f64 {
    (0..r.len())
        .map(|i| 0.5 * r[i].perp_dot(r[(i + 1) % r.len()]))
        .sum()
}

fn clipped(ring: &[DVec2], hull: &[DVec2]) -> Vec<DVec2> {
    let mut ring = ring.to_vec();
    for i in 0..hull.len() {
        let (p, e) = (hull[i], hull[(i + 1) % hull.len()] - hull[i]);
        let side = |q: DVec2| e.perp_dot(q - p);
        let mut out = Vec::with_capacity(ring.len() + 1);
        for k in 0..ring.len() {
            let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
            let (da, db) = (side(a), side(b));
            if da >= 0.0 {
                out.push(a);
            }
            if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
                out.push(a.lerp(b, da / (da - db)));
            }
        }
        ring = out;
        if ring.is_empty() {
            break;
        }
    }
    ring
}

pub(super) fn glue(scene: &Scene<'_>, a: &Body<'_>, b: &Body<'_>) -> Vec<Finding> {
    let (na, nb) = (&a.slab.name, &b.slab.name);
    let names = [na.clone(), nb.clone()];
    let middle = (a.min + a.max) * 0.5;
    let askew = parallel_deg(a, b);
    if askew > PARALLEL_DEG {
        return vec![
            Finding::new(
                "glued-face",
                Verdict::Fail,
                format!("`{na}` lies askew on `{nb}`"),
            )
            .measured(Measure::Deg(askew), Measure::Deg(PARALLEL_DEG))
            .panels(names)
            .at(middle),
        ];
    }
    let (gap, _) = facing(a, b);
    let limit = scene.limit(a, b, |l| l.glue_gap);
    let mut found = Vec::new();
    let (verdict, message) = if gap < -scene.limit(a, b, |l| l.crush).to_mm() - SLACK_MM {
        (
            Verdict::Fail,
            format!(
                "`{na}` has no room beside `{nb}`: the faces overlap by {}",
                scene.mm(-gap)
            ),
        )
    } else if gap < -10.0 * SLACK_MM {
        (
            Verdict::Caution,
            format!("`{na}` must be pressed {} into `{nb}`", scene.mm(-gap)),
        )
    } else if gap > limit.to_mm() + scene.caliper(a).to_mm() {
        (
            Verdict::Fail,
            format!(
                "`{na}` does not lie on `{nb}`: they are {} apart",
                scene.mm(gap)
            ),
        )
    } else if gap > limit.to_mm() + SLACK_MM {
        (
            Verdict::Caution,
            format!("glue must fill {} between `{na}` and `{nb}`", scene.mm(gap)),
        )
    } else {
        (
            Verdict::Pass,
            format!("`{na}` lies on `{nb}`, {} apart", scene.mm(gap.max(0.0))),
        )
    };
    let mut f = Finding::new("glued-face", verdict, message)
        .measured(Measure::Mm(Length::mm(gap)), Measure::Mm(limit))
        .panels(names.clone())
        .at(middle);
    if verdict != Verdict::Pass {
        f.cure = scene.folder.plan.pieces[a.slab.piece].panels[a.slab.panel]
            .parent
            .and_then(|p| {
                let parent = scene
                    .bodies
                    .iter()
                    .find(|x| x.slab.piece == a.slab.piece && x.slab.panel == p)?;
                let drivers = &scene.panel(parent).drivers.reach;
                (!drivers.is_empty()).then(|| {
                    let list: Vec<String> = drivers.iter().map(|n| format!("`{n}`")).collect();
                    format!("change {} by {}", list.join(" or "), scene.mm(gap.abs()))
                })
            });
    }
    found.push(f);
    let (common, whole) = covered(a, b);
    let share = common / whole;
    if share < 0.999 {
        let mut f = Finding::new(
            "glued-area",
            Verdict::Fail,
            format!(
                "`{na}` runs past `{nb}`: only {:.0} % of it has board to be glued to",
                share * 100.0
            ),
        )
        .measured(Measure::Mm2(common), Measure::Mm2(whole))
        .panels(names)
        .at(middle);
        f.cure = scene.cure(
            a,
            a.slab.frame.matrix3.y_axis,
            (whole - common) / scene.panel(a).breadth.to_mm(),
        );
        found.push(f);
        return found;
    }
    let reach = scene.panel(a).reach;
    let short = reach < LEAST_LAP;
    found.push(
        Finding::new(
            "glued-area",
            if short {
                Verdict::Caution
            } else {
                Verdict::Pass
            },
            if short {
                format!(
                    "`{na}` is {} wide; the trade asks 30 mm of a glued lap",
                    scene.mm(reach.to_mm())
                )
            } else {
                format!("`{na}` is glued over {:.0} cm2", common / 100.0)
            },
        )
        .measured(Measure::Mm(reach), Measure::Mm(LEAST_LAP))
        .panels(names)
        .at(middle),
    );
    found
}
