//! Closed triangle meshes of slabs and wedges, in metres.
//!
//! Corners are rounded to `f32` first and triangulated afterwards, so that every question about
//! them (which side, on the line or not) has an exact answer in `f64` and what is written is what
//! was tested. Words: a *split* puts a corner that lies on a triangle's edge into that triangle;
//! without it the ear clipper, which leaves out corners in line, would leave T-junctions.

use crate::fold::{Shape, Wedge};
use crate::geom::{self, DAffine3, DVec2, DVec3, doubled_area};
use crate::units::SLACK_MM;

/// Vertex colours, linear RGBA. Inside paper, outside paper, an edge that shows the flutes, an edge
/// along them.
const INSIDE: [u8; 4] = [188, 150, 96, 255];
const OUTSIDE: [u8; 4] = [128, 88, 44, 255];
const FLUTED: [u8; 4] = [70, 42, 18, 255];
const PLAIN: [u8; 4] = [104, 68, 32, 255];

/// A side whose line is within about ten degrees of the flutes does not show them.
const ACROSS: f64 = 0.17;

/// Triangles with flat normals; corners are repeated where faces meet.
#[derive(Debug, Default)]
pub(super) struct Mesh {
    pub positions: Vec<[f32; 3]>,
    pub normals: Vec<[f32; 3]>,
    pub colours: Vec<[u8; 4]>,
    pub indices: Vec<u32>,
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "the one place where millimetres become the single-precision metres of the file"
)]
fn metres(mm: f64) -> f64 {
    // Adding zero turns -0 into 0, so that equal corners have equal bits.
    f64::from((mm * 1e-3) as f32) + 0.0
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "already rounded by `metres`, or a unit vector"
)]
fn single(v: DVec3) -> [f32; 3] {
    [v.x as f32 + 0.0, v.y as f32 + 0.0, v.z as f32 + 0.0]
}

fn index(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

impl Mesh {
    /// A flat face: its corners counter-clockwise seen from outside, and its triangles.
    fn face(
        &mut self,
        corners: &[DVec3],
        triangles: &[[usize; 3]],
        normal: DVec3,
        colour: [u8; 4],
    ) {
        let base = self.positions.len();
        for c in corners {
            self.positions.push(single(*c));
            self.normals.push(single(normal));
            self.colours.push(colour);
        }
        self.indices
            .extend(triangles.iter().flatten().map(|i| index(base + i)));
    }

    /// Whether every edge is run once each way, corners at the same position being one.
    pub fn closed(&self) -> bool {
        let key = |i: &u32| self.positions[*i as usize].map(f32::to_bits);
        let mut edges: Vec<_> = Vec::with_capacity(self.indices.len());
        for t in self.indices.chunks_exact(3) {
            for (a, b) in [(&t[0], &t[1]), (&t[1], &t[2]), (&t[2], &t[0])] {
                let (a, b) = (key(a), key(b));
                edges.push(if a < b { (a, b, 1) } else { (b, a, -1) });
            }
        }
        edges.sort_unstable();
        edges
            .chunks(2)
            .all(|p| matches!(p, [(a, b, -1), (c, d, 1)] if a == c && b == d && a != b))
    }
}

/// The shape parted where its outline touches itself in a corner, largest part first: a bit of
/// board left over between two creases hangs on the rest by a corner only, and one closed solid
/// cannot hold both.
pub(super) fn lobes(shape: &Shape) -> Vec<Shape> {
    let Some((outer, holes)) = shape.rings.split_first() else {
        return vec![shape.clone()];
    };
    let mut way: Vec<DVec2> = Vec::with_capacity(outer.len());
    let mut loops: Vec<Vec<DVec2>> = Vec::new();
    for p in outer {
        if let Some(k) = way.iter().position(|q| q.distance(*p) <= SLACK_MM) {
            let corner = way[k];
            loops.push(way.split_off(k));
            way.push(corner);
        } else {
            way.push(*p);
        }
    }
    loops.push(way);
    loops.retain(|l| l.len() >= 3 && area(l).abs() > 1e-9);
    if loops.len() < 2 || loops.iter().any(|l| area(l) < 0.0) {
        return vec![shape.clone()];
    }
    loops.sort_by(|a, b| area(b).total_cmp(&area(a)));
    let mut parts: Vec<Shape> = loops
        .into_iter()
        .map(|ring| Shape {
            rings: vec![ring],
            ..shape.clone()
        })
        .collect();
    for hole in holes {
        let home = parts
            .iter()
            .position(|p| hole.first().is_some_and(|q| holds(&p.rings[0], *q)));
        parts[home.unwrap_or(0)].rings.push(hole.clone());
    }
    parts
}

fn area(ring: &[DVec2]) -> f64 {
    (0..ring.len())
        .map(|i| 0.5 * ring[i].perp_dot(ring[(i + 1) % ring.len()]))
        .sum()
}

fn holds(ring: &[DVec2], p: DVec2) -> bool {
    (0..ring.len())
        .filter(|&i| {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
        })
        .count()
        % 2
        == 1
}

/// The slab of a panel in the panel's own axes; `None` when its outline encloses nothing.
pub(super) fn slab(shape: &Shape) -> Option<Mesh> {
    let bottom = metres(-shape.caliper);
    let rings = rings(shape);
    if rings.is_empty() || bottom >= 0.0 {
        return None;
    }
    let points: Vec<DVec2> = rings.iter().flatten().copied().collect();
    let triangles = triangulated(&rings, &points);
    let mut mesh = Mesh::default();
    let at = |z: f64| points.iter().map(|p| p.extend(z)).collect::<Vec<_>>();
    mesh.face(&at(0.0), &triangles, DVec3::Z, INSIDE);
    let turned: Vec<[usize; 3]> = triangles.iter().map(|&[a, b, c]| [a, c, b]).collect();
    mesh.face(&at(bottom), &turned, DVec3::NEG_Z, OUTSIDE);
    let flutes = shape.flutes.normalize_or_zero();
    for ring in &rings {
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            let along = (b - a).normalize_or_zero();
            let colour = if along.perp_dot(flutes).abs() > ACROSS {
                FLUTED
            } else {
                PLAIN
            };
            let corners = [
                a.extend(bottom),
                b.extend(bottom),
                b.extend(0.0),
                a.extend(0.0),
            ];
            let normal = DVec3::new(along.y, -along.x, 0.0);
            mesh.face(&corners, &[[0, 1, 2], [0, 2, 3]], normal, colour);
        }
    }
    Some(mesh)
}

/// A wedge in the axes of the panel that owns it; `None` when it encloses nothing.
pub(super) fn wedge(wedge: &Wedge, to_panel: &DAffine3) -> Option<Mesh> {
    let mut p = wedge.0.map(|c| {
        let c = to_panel.transform_point3(c);
        DVec3::new(metres(c.x), metres(c.y), metres(c.z))
    });
    let volume = |p: &[DVec3; 6]| {
        prism_triangles()
            .map(|[a, b, c]| (p[a] - p[0]).dot((p[b] - p[0]).cross(p[c] - p[0])) / 6.0)
            .sum::<f64>()
    };
    if volume(&p) < 0.0 {
        p = [p[3], p[4], p[5], p[0], p[1], p[2]];
    }
    let longest = p.iter().map(|c| c.distance(p[0])).fold(0.0, f64::max);
    // Below this the rounding of the corners decides the shape.
    if volume(&p) <= 1e-6 * longest * longest * longest.min(1e-3) {
        return None;
    }
    let mut mesh = Mesh::default();
    for t in prism_triangles() {
        let c = t.map(|i| p[i]);
        if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
            continue;
        }
        let normal = (c[1] - c[0]).cross(c[2] - c[0]).try_normalize()?;
        mesh.face(&c, &[[0, 1, 2]], normal, OUTSIDE);
    }
    mesh.closed().then_some(mesh)
}

fn prism_triangles() -> impl Iterator<Item = [usize; 3]> {
    let sides = [[0, 1, 4, 3], [1, 2, 5, 4], [2, 0, 3, 5]];
    let sides = sides
        .into_iter()
        .flat_map(|[a, b, c, d]| [[a, b, c], [a, c, d]]);
    [[0, 2, 1], [3, 4, 5]].into_iter().chain(sides)
}

/// Rounded rings without repeated corners, the outer one counter-clockwise, the others clockwise.
fn rings(shape: &Shape) -> Vec<Vec<DVec2>> {
    let mut out: Vec<Vec<DVec2>> = Vec::new();
    for (i, ring) in shape.rings.iter().enumerate() {
        let mut r: Vec<DVec2> = ring
            .iter()
            .map(|p| DVec2::new(metres(p.x), metres(p.y)))
            .collect();
        r.dedup();
        while r.len() > 1 && r.first() == r.last() {
            r.pop();
        }
        let area: f64 = (0..r.len())
            .map(|k| r[k].perp_dot(r[(k + 1) % r.len()]))
            .sum();
        let holds = r.len() >= 3 && area.abs() > 1e-12;
        if !holds && i == 0 {
            return Vec::new();
        }
        if holds {
            if (area > 0.0) != (i == 0) {
                r.reverse();
            }
            out.push(r);
        }
    }
    out
}

fn triangulated(rings: &[Vec<DVec2>], points: &[DVec2]) -> Vec<[usize; 3]> {
    let mut todo = geom::triangles(rings);
    let mut done = Vec::with_capacity(todo.len());
    while let Some([a, b, c]) = todo.pop() {
        let doubled = doubled_area(points[a], points[b], points[c]);
        if doubled == 0.0 {
            continue;
        }
        let [a, b, c] = if doubled > 0.0 { [a, b, c] } else { [a, c, b] };
        match [[a, b, c], [b, c, a], [c, a, b]]
            .into_iter()
            .find_map(|[p, q, r]| on_edge(points, p, q).map(|m| ([p, m, r], [m, q, r])))
        {
            Some((one, two)) => todo.extend([one, two]),
            None => done.push([a, b, c]),
        }
    }
    done
}

/// A corner strictly inside the edge.
fn on_edge(points: &[DVec2], a: usize, b: usize) -> Option<usize> {
    let (p, q) = (points[a], points[b]);
    points.iter().position(|&m| {
        m != p && m != q && (q - p).perp_dot(m - p) == 0.0 && (m - p).dot(m - q) < 0.0
    })
}
