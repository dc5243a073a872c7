//! The arrows that show how moved panels came to where they are.
//!
//! Panels with the same rigid motion since the pose before move as one. Where that motion is a
//! turn about a line at the edge of one of them, the arrow is the arc their farthest edge ran
//! through; where a whole piece is shifted, a straight
//! run. Motions that are neither (a tuck that bends while
//! its lid turns) have no arrow of their own.

use glam::{DMat3, DQuat};

use crate::fold::{Pose, Slab};
use crate::geom::{DAffine3, DVec3};

/// Below this turn (radians) or shift (mm) nothing moved.
const STILL: f64 = 1e-3;

/// Where along the farthest edge the arrow runs. Not the middle, so that the arrows of two flaps
/// that meet, which turn about opposite axes, pass each other.
const ALONG: f64 = 0.36;

/// The course of a point of the moving panels, from before to after, in case coordinates.
pub(super) fn courses(before: &Pose, after: &Pose) -> Vec<Vec<DVec3>> {
    let motion = |slab: &Slab| {
        let was = before
            .slabs
            .iter()
            .find(|s| s.piece == slab.piece && s.panel == slab.panel)?;
        let motion = slab.frame * was.frame.inverse();
        motion.is_finite().then_some(motion)
    };
    // Motions are told against a panel that rests, should the whole case be set down anew.
    let rest = after
        .slabs
        .iter()
        .find(|s| !after.moved.contains(&s.name))
        .and_then(motion)
        .unwrap_or(DAffine3::IDENTITY)
        .inverse();
    let mut groups: Vec<(DAffine3, Vec<&Slab>)> = Vec::new();
    for slab in &after.slabs {
        let Some(motion) = motion(slab).map(|m| m * rest) else {
            continue;
        };
        match groups.iter_mut().find(|(m, _)| m.abs_diff_eq(motion, 1e-6)) {
            Some((_, slabs)) => slabs.push(slab),
            None => groups.push((motion, vec![slab])),
        }
    }
    groups
        .iter()
        .filter_map(|(motion, slabs)| course(motion, slabs, after))
        .collect()
}

fn course(motion: &DAffine3, slabs: &[&Slab], after: &Pose) -> Option<Vec<DVec3>> {
    let (axis, angle) = DQuat::from_mat3(&motion.matrix3)
        .normalize()
        .to_axis_angle();
    let corners = |s: &Slab| {
        let t = s.shape.caliper;
        let ring = s.shape.rings.first().cloned().unwrap_or_default();
        let frame = s.frame;
        ring.into_iter()
            .map(move |p| frame.transform_point3(p.extend(-t / 2.0)))
            .collect::<Vec<_>>()
    };
    let all: Vec<DVec3> = slabs.iter().flat_map(|s| corners(s)).collect();
    let first = *all.first()?;
    if angle.abs() < STILL {
        let piece = slabs[0].piece;
        let of_piece = after.slabs.iter().filter(|s| s.piece == piece).count();
        let whole = slabs.len() == of_piece && slabs.len() < after.slabs.len();
        if motion.translation.length() < STILL || !whole {
            return None;
        }
        let end = all.iter().sum::<DVec3>() / f64::from(u32::try_from(all.len()).ok()?);
        return Some(vec![end - motion.translation, end]);
    }
    let shift = motion.translation.dot(axis);
    if shift.abs() > 0.5 {
        return None;
    }
    // The fixed point of the turn nearest to the origin.
    let across = motion.translation - axis * shift;
    let on_axis = (across + axis.cross(across) / (angle / 2.0).tan()) / 2.0;
    let from_axis = |p: DVec3| {
        let r = p - on_axis;
        r - axis * r.dot(axis)
    };
    let caliper = slabs[0].shape.caliper;
    let hinged = slabs.iter().any(|s| {
        corners(s)
            .iter()
            .filter(|p| from_axis(**p).length() < 2.0 * caliper)
            .count()
            >= 2
    });
    if !hinged {
        return None;
    }
    let farthest = all
        .iter()
        .map(|p| from_axis(*p).length())
        .fold(0.0, f64::max);
    let mut rim = all
        .iter()
        .filter(|p| from_axis(**p).length() > farthest - 1.5 * caliper);
    let (low, high) = rim
        .by_ref()
        .map(|p| (*p - first).dot(axis))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    let tip = all
        .iter()
        .copied()
        .max_by(|p, q| from_axis(*p).length().total_cmp(&from_axis(*q).length()))?;
    let centre = tip - from_axis(tip);
    let middle = centre + axis * (low + (high - low) * ALONG - (centre - first).dot(axis));
    let arm = from_axis(tip);
    // A half turn could go either way: over the top is how a hand does it.
    let halfway = DMat3::from_axis_angle(axis, -angle / 2.0) * arm;
    let angle = if (angle - std::f64::consts::PI).abs() < 1e-6 && halfway.dot(after.shown_up) < 0.0
    {
        -angle
    } else {
        angle
    };
    let steps = 24_u32;
    Some(
        (0..=steps)
            .map(|k| {
                let back = angle * (1.0 - f64::from(k) / f64::from(steps));
                middle + DMat3::from_axis_angle(axis, -back) * arm
            })
            .collect(),
    )
}
