//! The faces and edges of a pose that can be seen at all, in view axes: x right, y up, z towards
//! the reader. Faces that look away are dropped; each face is cut into convex pieces.

use glam::DMat3;

use super::View;
use crate::fold::{Pose, Slab, Wedge};
use crate::geom::{DVec2, DVec3};

/// Faces seen flatter than this (as a cosine) are left out: they cover nothing.
const EDGE_ON: f64 = 1e-5;
/// Neighbouring sides of a cut line that turn by less than this (as a cosine) are one curve.
const CURVE: f64 = 0.9;
/// A side within about ten degrees of the flutes does not show them.
const ACROSS: f64 = 0.17;

/// What kind of surface a face is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Surface {
    Inside,
    Outside,
    Side,
}

/// A convex piece of a face.
#[derive(Clone, Debug)]
pub(super) struct Face {
    /// Index of the slab in the pose.
    pub slab: usize,
    /// The board stretched at a crease.
    pub wedge: bool,
    pub surface: Surface,
    /// Outward, of unit length.
    pub normal: DVec3,
    /// Counter-clockwise as seen.
    pub points: Vec<DVec3>,
    /// The flutes as seen on a side that crosses them.
    pub wave: Option<Wave>,
}

/// Where the wave of the flutes lies on a side: from `a` to `b` along the middle of the board,
/// with the place across the flutes (mm) at both ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wave {
    pub a: DVec3,
    pub b: DVec3,
    pub across: [f64; 2],
    /// From the middle of the board to its inside face.
    pub rise: DVec3,
}

/// An edge where two faces of one solid meet, at least one of them looking to the reader.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub a: DVec3,
    pub b: DVec3,
    /// Drawn only where it is an outline: part of a curve.
    pub smooth: bool,
}

/// The pose as the reader sees it.
#[derive(Default)]
pub(super) struct Seen {
    pub faces: Vec<Face>,
    pub edges: Vec<Edge>,
}

/// From case axes to view axes, and the part of it that only turns the case upright.
pub(super) fn axes(pose: &Pose, view: &View) -> (DMat3, DMat3) {
    let up = pose.shown_up.try_normalize().unwrap_or(DVec3::Z);
    let upright = if up.z < -1.0 + 1e-12 {
        DMat3::from_rotation_x(std::f64::consts::PI)
    } else {
        DMat3::from_quat(glam::DQuat::from_rotation_arc(up, DVec3::Z))
    };
    let towards = view
        .direction
        .try_normalize()
        .or_else(|| View::default().direction.try_normalize())
        .unwrap_or(DVec3::Z);
    let right = DVec3::Z.cross(towards).try_normalize().unwrap_or(DVec3::X);
    let look = DMat3::from_cols(right, towards.cross(right), towards).transpose();
    (look * upright, upright)
}

pub(super) fn seen(pose: &Pose, turn: DMat3) -> Seen {
    let mut out = Seen::default();
    for (i, slab) in pose.slabs.iter().enumerate() {
        let points = slab.shape.rings.iter().flatten();
        if slab.frame.is_finite() && points.clone().all(|p| p.is_finite()) {
            out.slab(i, slab, turn);
            for w in slab
                .wedges
                .iter()
                .filter(|w| w.0.iter().all(|p| p.is_finite()))
            {
                out.wedge(i, w, turn);
            }
        }
    }
    out
}

fn normal_of(p: &[DVec3]) -> DVec3 {
    // Newell's sum: sound for corners in line.
    (0..p.len())
        .map(|i| (p[i] - p[0]).cross(p[(i + 1) % p.len()] - p[0]))
        .sum::<DVec3>()
        .normalize_or_zero()
}

impl Seen {
    fn face(
        &mut self,
        slab: usize,
        wedge: bool,
        surface: Surface,
        points: Vec<DVec3>,
        wave: Option<Wave>,
    ) -> bool {
        let normal = normal_of(&points);
        let looks_here = normal.z > EDGE_ON;
        if looks_here {
            self.faces.push(Face {
                slab,
                wedge,
                surface,
                normal,
                points,
                wave,
            });
        }
        looks_here
    }

    fn slab(&mut self, index: usize, slab: &Slab, turn: DMat3) {
        let t = slab.shape.caliper;
        let at = |p: DVec2, z: f64| turn * slab.frame.transform_point3(p.extend(z));
        let (mut inside, mut outside) = (false, false);
        for piece in &slab.shape.pieces {
            let top = piece.iter().map(|p| at(*p, 0.0)).collect();
            inside |= self.face(index, false, Surface::Inside, top, None);
            let bottom = piece.iter().rev().map(|p| at(*p, -t)).collect();
            outside |= self.face(index, false, Surface::Outside, bottom, None);
        }
        let flutes = slab.shape.flutes.normalize_or_zero();
        for ring in &slab.shape.rings {
            let n = ring.len();
            let sides: Vec<(bool, DVec2)> = (0..n)
                .map(|i| {
                    let (p, q) = (ring[i], ring[(i + 1) % n]);
                    let along = (q - p).normalize_or_zero();
                    let wave = (along.perp_dot(flutes).abs() > ACROSS).then(|| Wave {
                        a: at(p, -t / 2.0),
                        b: at(q, -t / 2.0),
                        across: [flutes.perp_dot(p), flutes.perp_dot(q)],
                        rise: at(p, 0.0) - at(p, -t / 2.0),
                    });
                    let quad = vec![at(p, -t), at(q, -t), at(q, 0.0), at(p, 0.0)];
                    (self.face(index, false, Surface::Side, quad, wave), along)
                })
                .collect();
            for i in 0..n {
                let (p, q) = (ring[i], ring[(i + 1) % n]);
                let (side, before) = (sides[i], sides[(i + n - 1) % n]);
                for (cap, z) in [(inside, 0.0), (outside, -t)] {
                    if cap || side.0 {
                        self.edge(at(p, z), at(q, z), false);
                    }
                }
                if side.0 || before.0 {
                    let smooth = side.1.dot(before.1) > CURVE;
                    self.edge(at(p, 0.0), at(p, -t), smooth);
                }
            }
        }
    }

    fn wedge(&mut self, index: usize, wedge: &Wedge, turn: DMat3) {
        let mut p = wedge.0.map(|c| turn * c);
        let volume = (p[1] - p[0]).cross(p[2] - p[0]).dot(p[3] - p[0]);
        if volume.abs() < 1e-6 {
            return;
        }
        if volume < 0.0 {
            p = [p[3], p[4], p[5], p[0], p[1], p[2]];
        }
        let rings: [&[usize]; 5] = [
            &[0, 2, 1],
            &[3, 4, 5],
            &[0, 1, 4, 3],
            &[1, 2, 5, 4],
            &[2, 0, 3, 5],
        ];
        let surface = |k: usize| {
            if k < 2 {
                Surface::Side
            } else {
                Surface::Outside
            }
        };
        let mut seen = [false; 5];
        for (k, ring) in rings.iter().enumerate() {
            let corners = ring.iter().map(|&i| p[i]).collect();
            seen[k] = self.face(index, true, surface(k), corners, None);
        }
        for i in 0..6 {
            for j in i + 1..6 {
                let near = rings
                    .iter()
                    .zip(seen)
                    .filter(|(r, _)| {
                        let n = r.len();
                        (0..n).any(|k| {
                            let e = [r[k], r[(k + 1) % n]];
                            e == [i, j] || e == [j, i]
                        })
                    })
                    .collect::<Vec<_>>();
                if near.iter().any(|(_, s)| *s) {
                    self.edge(p[i], p[j], false);
                }
            }
        }
    }

    fn edge(&mut self, a: DVec3, b: DVec3, smooth: bool) {
        if a.distance_squared(b) > 1e-12 {
            self.edges.push(Edge { a, b, smooth });
        }
    }
}
