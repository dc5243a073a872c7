//! Shapes cut into convex pieces, and sums of such pieces, all corners whole grid points.
//!
//! The sum of two convex pieces with whole corners has whole corners too, so that a question asked of
//! the pieces is answered exactly, where the outline of a union has to be rounded.

use std::collections::BTreeMap;

use crate::geom::{DVec2, triangles};
use crate::sheet::shape::{Bounds, STEPS_PER_MM, Shape, Spot, doubled_area};

/// A convex region, counter-clockwise, no three corners in line, the lower of the leftmost corners
/// first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Convex {
    pub at: Vec<Spot>,
    pub bounds: Bounds,
    /// Where the lower of the rightmost corners stands in the list.
    right: usize,
}

impl Convex {
    fn new(mut at: Vec<Spot>) -> Self {
        let first = at.iter().enumerate().min_by_key(|(_, p)| **p);
        let first = first.map_or(0, |(i, _)| i);
        at.rotate_left(first);
        let right = at.iter().enumerate().max_by_key(|(_, p)| (p.x, -p.y));
        let right = right.map_or(0, |(i, _)| i);
        let ring = Shape {
            outer: at,
            holes: Vec::new(),
        };
        Self {
            bounds: ring.bounds(),
            at: ring.outer,
            right,
        }
    }

    /// With x and y changed over.
    pub fn flipped(&self) -> Self {
        Self::new(self.at.iter().rev().map(|p| flip(*p)).collect())
    }

    /// Mirrored through the origin.
    pub fn mirrored(&self) -> Self {
        Self::new(self.at.iter().map(|p| -*p).collect())
    }

    fn edges(&self) -> impl Iterator<Item = (Spot, Spot)> + '_ {
        let next = self.at.iter().copied().cycle().skip(1);
        self.at.iter().copied().zip(next)
    }

    /// The sides under and over a point strictly between the leftmost and rightmost corners, both
    /// running counter-clockwise.
    fn sides(&self, x: i64) -> [(Spot, Spot); 2] {
        let (n, at) = (self.at.len(), &self.at);
        let i = at[..=self.right].partition_point(|p| p.x <= x);
        let i = i.clamp(1, self.right.max(1)) % n;
        let j = self.right + at[self.right..].partition_point(|p| p.x >= x);
        [(at[(i + n - 1) % n], at[i]), (at[j - 1], at[j % n])]
    }

    /// Whether a point lies inside, its edge left out.
    pub fn holds(&self, p: Spot) -> bool {
        let b = self.bounds;
        p.x > b.min.x
            && p.x < b.max.x
            && p.y > b.min.y
            && p.y < b.max.y
            && self
                .sides(p.x)
                .iter()
                .all(|(a, c)| (*c - *a).cross(p - *a) > 0)
    }

    /// Whether all of `o` lies inside or on the edge.
    pub fn covers(&self, o: &Self) -> bool {
        let (b, c) = (self.bounds, o.bounds);
        b.min.x <= c.min.x
            && b.min.y <= c.min.y
            && b.max.x >= c.max.x
            && b.max.y >= c.max.y
            && self
                .edges()
                .all(|(a, e)| o.at.iter().all(|p| (e - a).cross(*p - a) >= 0))
    }

    /// Where the upright line at `x` runs inside: the grid points strictly between the two given are
    /// inside, those two are not. The line has to pass strictly between the sides.
    pub fn section(&self, x: i64) -> (i64, i64) {
        let [(a, b), (d, c)] = self.sides(x);
        (height(a, b, x, false), height(c, d, x, true))
    }

    /// The sum of two convex regions.
    pub fn plus(&self, o: &Self) -> Self {
        let first = |c: &Self| {
            let at = c.at.iter().enumerate();
            at.min_by_key(|(_, p)| (p.y, p.x)).map_or(0, |(i, _)| i)
        };
        let (n, m) = (self.at.len(), o.at.len());
        let (i0, j0) = (first(self), first(o));
        let (mut i, mut j) = (0, 0);
        let mut out: Vec<Spot> = Vec::with_capacity(n + m);
        while i < n || j < m {
            let (a, b) = (self.at[(i0 + i) % n], o.at[(j0 + j) % m]);
            out.push(a + b);
            let turning = (self.at[(i0 + i + 1) % n] - a).cross(o.at[(j0 + j + 1) % m] - b);
            if j == m || (i < n && turning > 0) {
                i += 1;
            } else if i == n || turning < 0 {
                j += 1;
            } else {
                (i, j) = (i + 1, j + 1);
            }
        }
        Self::new(out)
    }
}

/// x and y changed over.
pub(super) const fn flip(p: Spot) -> Spot {
    Spot::new(p.y, p.x)
}

/// The height of the line from `a` to `b`, which runs to the right, at `x`, rounded down or up.
fn height(a: Spot, b: Spot, x: i64, up: bool) -> i64 {
    let (d, n) = (b.x - a.x, (b.y - a.y) * (x - a.x));
    a.y + if up {
        -(-n).div_euclid(d)
    } else {
        n.div_euclid(d)
    }
}

/// The corners of a ring that bend, none twice; `None` when nothing is left.
pub(super) fn bending(ring: &[Spot]) -> Option<Vec<Spot>> {
    let mut out: Vec<Spot> = ring.to_vec();
    loop {
        let n = out.len();
        if n < 3 {
            return None;
        }
        let straight = |i: usize| {
            let (a, b, c) = (out[(i + n - 1) % n], out[i], out[(i + 1) % n]);
            (b - a).cross(c - b) == 0
        };
        let Some(i) = (0..n).find(|i| straight(*i)) else {
            return Some(out);
        };
        out.remove(i);
    }
}

/// The hull of some points; `None` when they lie in line.
pub(super) fn hull(points: &[Spot]) -> Option<Convex> {
    let mut sorted = points.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    let half = |points: &mut dyn Iterator<Item = Spot>| {
        let mut out: Vec<Spot> = Vec::new();
        for p in points {
            while let [.., a, b] = out[..]
                && (b - a).cross(p - b) <= 0
            {
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut ring = half(&mut sorted.iter().copied());
    ring.extend(half(&mut sorted.iter().rev().copied()));
    (ring.len() >= 3).then(|| Convex::new(ring))
}

/// A shape cut into convex pieces that cover it once. A shape whose rings cross themselves or one
/// another has no such pieces: then its hull stands for it, in which it surely lies. None for a shape
/// without area.
pub(super) fn pieces(shape: &Shape) -> Vec<Convex> {
    let Some(outer) = bending(&shape.outer) else {
        return Vec::new();
    };
    let mut rings = vec![outer];
    rings.extend(shape.holes.iter().filter_map(|h| bending(h)));
    let area: i128 = rings.iter().map(|r| doubled_area(r)).sum();
    let at: Vec<Spot> = rings.iter().flatten().copied().collect();
    let mm: Vec<Vec<DVec2>> = rings
        .iter()
        .map(|r| r.iter().map(|p| p.to_mm() * STEPS_PER_MM).collect())
        .collect();
    let mut parts: Vec<Vec<usize>> = triangles(&mm).into_iter().map(|t| t.to_vec()).collect();
    let ring = |p: &Vec<usize>| p.iter().map(|i| at[*i]).collect::<Vec<_>>();
    parts.retain(|p| doubled_area(&ring(p)) > 0);
    let covered: i128 = parts.iter().map(|p| doubled_area(&ring(p))).sum();
    if covered != area {
        return hull(&at).into_iter().collect();
    }
    merge(&mut parts, &at);
    parts
        .iter()
        .filter_map(|p| bending(&ring(p)))
        .map(Convex::new)
        .collect()
}

/// Takes away sides between two parts as long as what is joined stays convex.
fn merge(parts: &mut Vec<Vec<usize>>, at: &[Spot]) {
    let mut owner: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for (k, p) in parts.iter().enumerate() {
        for i in 0..p.len() {
            owner.insert((p[i], p[(i + 1) % p.len()]), k);
        }
    }
    let mut sides: Vec<(usize, usize)> = owner.keys().copied().filter(|(a, b)| a < b).collect();
    // Long sides first: they leave the fewest slivers.
    sides.sort_by_key(|(a, b)| {
        let d = at[*b] - at[*a];
        (-(d.x * d.x + d.y * d.y), *a, *b)
    });
    for (a, b) in sides {
        let (Some(&k), Some(&l)) = (owner.get(&(a, b)), owner.get(&(b, a))) else {
            continue;
        };
        if k == l {
            continue;
        }
        // From b round the one to a, then from a round the other to b.
        let round = |p: &[usize], from: usize| -> Vec<usize> {
            let i = p.iter().position(|v| *v == from).unwrap_or(0);
            (0..p.len()).map(|j| p[(i + j) % p.len()]).collect()
        };
        let mut joined = round(&parts[k], b);
        joined.pop();
        let mut other = round(&parts[l], a);
        other.pop();
        joined.extend(other);
        let n = joined.len();
        let convex = (0..n).all(|i| {
            let [p, q, r] = [i, i + 1, i + 2].map(|i| at[joined[i % n]]);
            (q - p).cross(r - q) >= 0
        });
        if !convex {
            continue;
        }
        owner.remove(&(a, b));
        owner.remove(&(b, a));
        for i in 0..n {
            owner.insert((joined[i], joined[(i + 1) % n]), k);
        }
        parts[k] = joined;
        parts[l].clear();
    }
    parts.retain(|p| !p.is_empty());
}
