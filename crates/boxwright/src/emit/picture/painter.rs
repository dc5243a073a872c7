//! Farthest first: an order in which faces can be painted over one another.
//!
//! A space partition after Fuchs, Kedem and Naylor (1980): one face's plane parts the rest into
//! those behind it and those before it, faces that straddle it being cut. All faces look to the
//! reader, who is infinitely far away, so what lies behind a plane is painted before it. No tree is
//! kept: the parting and the painting are one walk. Touching faces stay whole: a corner within
//! [`ON`] of the plane counts as on it.

use super::faces::Face;
use crate::geom::DVec3;

/// How near to a plane, in mm, a corner lies on it.
const ON: f64 = 1e-5;
/// How many faces are tried as the parting one.
const TRIES: usize = 8;

/// A piece of a face.
#[derive(Clone, Debug)]
pub(super) struct Fragment {
    /// Index of the face it is cut from.
    pub face: usize,
    /// Its corners, counter-clockwise as seen.
    pub points: Vec<DVec3>,
}

enum Task {
    Part(Vec<Fragment>),
    Paint(Vec<Fragment>),
}

/// The pieces of all faces, farthest first.
pub(super) fn order(faces: &[Face]) -> Vec<Fragment> {
    let all = faces
        .iter()
        .enumerate()
        .map(|(face, f)| Fragment {
            face,
            points: f.points.clone(),
        })
        .collect();
    let mut tasks = vec![Task::Part(all)];
    let mut out = Vec::with_capacity(faces.len());
    while let Some(task) = tasks.pop() {
        match task {
            Task::Paint(on) => out.extend(on),
            Task::Part(list) if list.len() < 2 => out.extend(list),
            Task::Part(list) => {
                let plane = splitter(&list, faces);
                let (mut behind, mut on, mut before) = (Vec::new(), Vec::new(), Vec::new());
                for f in list {
                    let (low, high) = reach(&f.points, plane);
                    if low >= -ON && high <= ON {
                        on.push(f);
                    } else if low >= -ON {
                        before.push(f);
                    } else if high <= ON {
                        behind.push(f);
                    } else {
                        let (lower, upper) = cut(&f.points, plane);
                        let piece = |points| Fragment {
                            face: f.face,
                            points,
                        };
                        behind.extend(lower.map(piece));
                        before.extend(upper.map(piece));
                    }
                }
                tasks.push(Task::Part(before));
                tasks.push(Task::Paint(on));
                tasks.push(Task::Part(behind));
            }
        }
    }
    out
}

type Plane = (DVec3, f64);

fn height(p: DVec3, (normal, offset): Plane) -> f64 {
    normal.dot(p) - offset
}

fn reach(points: &[DVec3], plane: Plane) -> (f64, f64) {
    points
        .iter()
        .map(|p| height(*p, plane))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| {
            (low.min(h), high.max(h))
        })
}

/// The face, of a few spread over the list, whose plane cuts the fewest others.
fn splitter(list: &[Fragment], faces: &[Face]) -> Plane {
    let plane = |f: &Fragment| {
        let face = &faces[f.face];
        (face.normal, face.normal.dot(face.points[0]))
    };
    let step = (list.len() / TRIES).max(1);
    let cost = |p: Plane| {
        let (mut cuts, mut behind, mut before) = (0_usize, 0_usize, 0_usize);
        for f in list {
            let (low, high) = reach(&f.points, p);
            cuts += usize::from(low < -ON && high > ON);
            behind += usize::from(low < -ON);
            before += usize::from(high > ON);
        }
        8 * cuts + behind.abs_diff(before)
    };
    list.iter()
        .step_by(step)
        .map(plane)
        .min_by_key(|p| cost(*p))
        .unwrap_or((DVec3::Z, 0.0))
}

/// The parts of a convex polygon below and above a plane.
fn cut(points: &[DVec3], plane: Plane) -> (Option<Vec<DVec3>>, Option<Vec<DVec3>>) {
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    for (i, &p) in points.iter().enumerate() {
        let q = points[(i + 1) % points.len()];
        let (hp, hq) = (height(p, plane), height(q, plane));
        if hp <= ON {
            lower.push(p);
        }
        if hp >= -ON {
            upper.push(p);
        }
        if (hp > ON && hq < -ON) || (hp < -ON && hq > ON) {
            let m = p + (q - p) * (hp / (hp - hq));
            lower.push(m);
            upper.push(m);
        }
    }
    let whole = |p: Vec<DVec3>| (p.len() >= 3).then_some(p);
    (whole(lower), whole(upper))
}
