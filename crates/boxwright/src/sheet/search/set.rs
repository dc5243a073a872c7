//! One forbidden set, made quick to ask.
//!
//! Asked for a shift, it answers how deep that shift lies inside: the least distance that leads out,
//! 0 outside and on the edge. The inside test is exact on the grid: products stay whole below 2^53.
//!
//! Convex sets are asked edge by edge. Others are overlaid with cells; each cell knows whether it
//! lies outside, inside or across the edge, and which edges can be the nearest to a point in it.
//!
//! Corners where two swept edges cross are rounded to the grid when the set is made, which can move
//! the edges beside them by a grid step. Along such edges the set is held to reach [`GUARD`] further.

use super::area::{Area, P, Whole as _};
use crate::sheet::shape::{Shape, Spot};

/// Grid steps by which an edge with a rounded corner is held to reach further.
pub const GUARD: f64 = 2.0;

/// An edge of a forbidden set.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Where it starts.
    pub a: P,
    /// Its way.
    pub e: P,
    /// One over its squared length.
    inv2: f64,
    /// Whether no rounding moved it.
    exact: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cell {
    Outside,
    Inside,
    Across,
}

/// A cell: the edges that can be nearest to a point in it are `near[from..to]`, and none is nearer
/// than `least`.
#[derive(Clone, Copy, Debug)]
struct Square {
    cell: Cell,
    from: u32,
    to: u32,
    least: f32,
}

#[derive(Clone, Debug)]
enum Look {
    /// Line factors of each edge: way x, way y, constant, one over length; padded to even count.
    Convex(Vec<[f64; 4]>),
    Cells {
        nx: usize,
        ny: usize,
        per_x: f64,
        per_y: f64,
        cells: Vec<Square>,
        near: Vec<u32>,
        rows: Vec<Vec<u32>>,
    },
}

/// A forbidden set ready to be asked.
#[derive(Clone, Debug)]
pub struct Set {
    /// The box round it.
    pub area: Area,
    /// Its edges.
    pub edges: Vec<Edge>,
    look: Look,
}

impl Edge {
    fn new(a: Spot, b: Spot, exact: bool) -> Self {
        let (a, b) = (P::of(a), P::of(b));
        let e = b - a;
        Self {
            a,
            e,
            inv2: 1.0 / e.dot(e),
            exact,
        }
    }
    /// Squared distance of a point.
    #[inline]
    pub fn distance2(&self, p: P) -> f64 {
        let v = p - self.a;
        let t = (v.dot(self.e) * self.inv2).clamp(0.0, 1.0);
        let d = v - self.e * t;
        d.dot(d)
    }
}

impl Set {
    /// From the forbidden set of `a` and `b`; `None` when nothing is forbidden.
    pub fn new(regions: &[Shape], a: &Shape, b: &Shape) -> Option<Self> {
        let mut rings = Vec::new();
        for ring in regions.iter().flat_map(Shape::rings) {
            let next = ring.iter().copied().cycle().skip(1);
            let pairs: Vec<_> = ring
                .iter()
                .copied()
                .zip(next)
                .filter(|(p, q)| p != q)
                .collect();
            if pairs.len() > 2 {
                rings.push(pairs);
            }
        }
        if rings.is_empty() {
            return None;
        }
        let convex = rings.len() == 1 && is_convex(&rings[0]);
        let lines = if convex { Vec::new() } else { lines(a, b) };
        let edges: Vec<Edge> = rings
            .iter()
            .flatten()
            .map(|&(p, q)| Edge::new(p, q, convex || on_a_line(p, q, &lines)))
            .collect();
        let mut area = Area::empty();
        for e in &edges {
            area.add(e.a);
        }
        let look = if convex && edges.len() <= 24 {
            convex_look(&edges)
        } else {
            if edges.iter().any(|e| !e.exact) {
                area = area.grown(GUARD);
            }
            cell_look(&edges, area)
        };
        Some(Self { area, edges, look })
    }

    /// How deep a shift lies inside, in grid steps; 0 when it is allowed. From `enough` on it may be
    /// told short, though not below `enough`.
    #[inline]
    pub fn depth(&self, p: P, enough: f64) -> f64 {
        match &self.look {
            Look::Convex(lines) => {
                let mut least = f64::INFINITY;
                for four in lines.chunks_exact(2) {
                    let one = |l: &[f64; 4]| (l[0] * p.y - l[1] * p.x - l[2]) * l[3];
                    let (u, v) = (one(&four[0]), one(&four[1]));
                    let w = if u < v { u } else { v };
                    if w <= 0.0 {
                        return 0.0;
                    }
                    least = if w < least { w } else { least };
                }
                least
            }
            Look::Cells {
                nx,
                ny,
                per_x,
                per_y,
                cells,
                near,
                rows,
            } => {
                let ix = index((p.x - self.area.lo.x) * per_x, *nx);
                let iy = index((p.y - self.area.lo.y) * per_y, *ny);
                let s = cells[iy * nx + ix];
                if s.cell == Cell::Outside {
                    return 0.0;
                }
                if f64::from(s.least) >= enough && s.least > 0.0 {
                    return f64::from(s.least);
                }
                let near = &near[s.from as usize..s.to as usize];
                if s.cell == Cell::Across && !self.holds(p, &rows[iy]) {
                    let mut guard = 0.0_f64;
                    for &k in near {
                        let e = &self.edges[k as usize];
                        if !e.exact {
                            let d2 = e.distance2(p);
                            if d2 < GUARD * GUARD {
                                guard = guard.max(GUARD - d2.sqrt());
                            }
                        }
                    }
                    return guard;
                }
                let mut least = f64::INFINITY;
                let mut exact = true;
                for &k in near {
                    let e = &self.edges[k as usize];
                    let d2 = e.distance2(p);
                    if d2 < least {
                        least = d2;
                        exact = e.exact;
                    }
                }
                least.sqrt() + if exact { 0.0 } else { GUARD }
            }
        }
    }

    /// Whether a point is strictly inside, by the edges that reach its height.
    fn holds(&self, p: P, row: &[u32]) -> bool {
        let mut odd = false;
        for &k in row {
            let e = &self.edges[k as usize];
            let (v, end) = (p - e.a, e.a.y + e.e.y);
            let below = e.a.y <= p.y;
            if below == (end <= p.y) {
                // Level edges, and ends of others that just reach this height.
                if e.a.y.max(end) == p.y || e.a.y.min(end) == p.y {
                    let t = e.e.x * v.y - e.e.y * v.x;
                    let along = v.dot(e.e);
                    if t == 0.0 && along >= 0.0 && along <= e.e.dot(e.e) {
                        return false;
                    }
                }
                continue;
            }
            let t = e.e.x * v.y - e.e.y * v.x;
            if t == 0.0 {
                return false;
            }
            odd ^= (t > 0.0) == (end > e.a.y);
        }
        odd
    }
}

#[inline]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "casts saturate, and the bound is applied after"
)]
fn index(x: f64, n: usize) -> usize {
    (x as usize).min(n - 1)
}

fn is_convex(ring: &[(Spot, Spot)]) -> bool {
    let next = ring.iter().cycle().skip(1);
    let mut winding = 0;
    for (e, f) in ring.iter().zip(next) {
        let (d, g) = (e.1 - e.0, f.1 - f.0);
        if d.cross(g) <= 0 {
            return false;
        }
        // A convex ring turns round once: its way crosses from down to up once.
        winding += i32::from(d.y < 0 && g.y >= 0);
    }
    winding == 1
}

/// Every edge of one shape at every corner of the other: what an edge of the set can lie on.
fn lines(a: &Shape, b: &Shape) -> Vec<(Spot, Spot)> {
    let mut out = Vec::new();
    for (s, o, flip) in [(a, b, false), (b, a, true)] {
        for ring in s.rings() {
            let next = ring.iter().copied().cycle().skip(1);
            for (p, q) in ring.iter().copied().zip(next) {
                for c in o.rings().flatten() {
                    // The set is that of shifts a - b.
                    out.push(if flip {
                        (*c - p, p - q)
                    } else {
                        (p - *c, q - p)
                    });
                }
            }
        }
    }
    out
}

fn on_a_line(p: Spot, q: Spot, lines: &[(Spot, Spot)]) -> bool {
    let way = q - p;
    way.x == 0
        || way.y == 0
        || lines
            .iter()
            .any(|(at, d)| d.cross(way) == 0 && d.cross(p - *at) == 0 && (d.x != 0 || d.y != 0))
}

fn convex_look(edges: &[Edge]) -> Look {
    let mut lines: Vec<[f64; 4]> = edges
        .iter()
        .map(|e| [e.e.x, e.e.y, e.e.x * e.a.y - e.e.y * e.a.x, e.inv2.sqrt()])
        .collect();
    if lines.len() % 2 == 1 {
        lines.push(lines[0]);
    }
    Look::Convex(lines)
}

#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of cells and edges are small"
)]
fn cell_look(edges: &[Edge], area: Area) -> Look {
    let size = area.hi - area.lo;
    let wanted = (4.0 * edges.len() as f64).clamp(64.0, 1600.0);
    let side = (size.x * size.y / wanted).sqrt().max(1.0);
    let nx = ((size.x / side).ceil() as usize).clamp(1, 256);
    let ny = ((size.y / side).ceil() as usize).clamp(1, 256);
    let step = P::new(size.x / nx as f64, size.y / ny as f64);
    let half = 0.5 * step.length();
    let rows: Vec<Vec<u32>> = (0..ny)
        .map(|iy| {
            let lo = area.lo.y + step.y * iy as f64 - 1.0;
            let hi = lo + step.y + 2.0;
            (0..edges.len() as u32)
                .filter(|&k| {
                    let e = &edges[k as usize];
                    let end = e.a.y + e.e.y;
                    e.a.y.min(end) <= hi && e.a.y.max(end) >= lo
                })
                .collect()
        })
        .collect();
    let mut cells = Vec::with_capacity(nx * ny);
    let mut near: Vec<u32> = Vec::new();
    let mut distances = vec![0.0_f64; edges.len()];
    for (iy, row) in rows.iter().enumerate() {
        for ix in 0..nx {
            let c = area.lo + P::new(step.x * (ix as f64 + 0.5), step.y * (iy as f64 + 0.5));
            let mut least = f64::INFINITY;
            for (d, e) in distances.iter_mut().zip(edges) {
                *d = e.distance2(c).sqrt();
                least = least.min(*d);
            }
            let from = near.len() as u32;
            let reach = half + GUARD + 1.0;
            let cell = if least <= reach {
                Cell::Across
            } else if winds(edges, row, c) {
                Cell::Inside
            } else {
                Cell::Outside
            };
            if cell != Cell::Outside {
                let far = least + 2.0 * reach;
                near.extend((0..edges.len() as u32).filter(|&k| distances[k as usize] <= far));
            }
            cells.push(Square {
                cell,
                from,
                to: near.len() as u32,
                least: if cell == Cell::Inside {
                    (least - half - 1.0).max(0.0) as f32
                } else {
                    0.0
                },
            });
        }
    }
    Look::Cells {
        nx,
        ny,
        per_x: nx as f64 / size.x,
        per_y: ny as f64 / size.y,
        cells,
        near,
        rows,
    }
}

/// Inside test for a point that is well off every edge.
fn winds(edges: &[Edge], row: &[u32], p: P) -> bool {
    let mut odd = false;
    for &k in row {
        let e = &edges[k as usize];
        let end = e.a.y + e.e.y;
        if (e.a.y <= p.y) != (end <= p.y) {
            let t = e.e.x * (p.y - e.a.y) - e.e.y * (p.x - e.a.x);
            odd ^= (t > 0.0) == (end > e.a.y);
        }
    }
    odd
}
