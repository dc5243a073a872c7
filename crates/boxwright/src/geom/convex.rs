//! Cutting an outline with holes into convex pieces, for the collision tests.
//!
//! Stages: triangulate, then drop every inner diagonal whose removal
//! leaves a convex polygon (Hertel and Mehlhorn, 1983), which gives at most four times the
//! fewest possible pieces.

use glam::DVec2;

use super::{doubled_area, triangles};

/// A convex counter-clockwise polygon.
pub type Hull = Vec<DVec2>;

/// Cuts the area inside `rings[0]` and outside the other rings into convex polygons.
/// Rings that enclose no area give no pieces.
#[must_use]
pub fn convex_pieces(rings: &[Vec<DVec2>]) -> Vec<Hull> {
    let Some(outer) = rings.first() else {
        return Vec::new();
    };
    if rings.len() == 1 && is_convex(outer) {
        return vec![outer.clone()];
    }
    let points: Vec<DVec2> = rings.iter().flatten().copied().collect();
    let mut pieces: Vec<Vec<usize>> = triangles(rings)
        .into_iter()
        .filter(|&[a, b, c]| doubled_area(points[a], points[b], points[c]) >= 1e-9)
        .map(Vec::from)
        .collect();
    merge(&mut pieces, &points);
    pieces
        .into_iter()
        .map(|p| p.into_iter().map(|i| points[i]).collect())
        .collect()
}

fn merge(pieces: &mut Vec<Vec<usize>>, points: &[DVec2]) {
    let mut i = 0;
    while i < pieces.len() {
        let joined = (i + 1..pieces.len())
            .find_map(|j| join(&pieces[i], &pieces[j], points).map(|both| (j, both)));
        match joined {
            Some((j, both)) => {
                pieces[i] = both;
                pieces.swap_remove(j);
            }
            None => i += 1,
        }
    }
}

fn join(a: &[usize], b: &[usize], points: &[DVec2]) -> Option<Vec<usize>> {
    for i in 0..a.len() {
        let (p, q) = (a[i], a[(i + 1) % a.len()]);
        for j in 0..b.len() {
            if b[j] == q && b[(j + 1) % b.len()] == p {
                let at = |ring: &[usize], k: usize| points[ring[k % ring.len()]];
                // Only the two corners where the pieces meet can bend inward.
                let (p, q) = (points[p], points[q]);
                let bends_in = turns_right(at(a, i + a.len() - 1), p, at(b, j + 2))
                    || turns_right(at(b, j + b.len() - 1), q, at(a, i + 2));
                if bends_in {
                    return None;
                }
                let mut both: Vec<usize> = Vec::with_capacity(a.len() + b.len() - 2);
                both.extend((0..a.len()).map(|k| a[(i + 1 + k) % a.len()]));
                both.extend((1..b.len() - 1).map(|k| b[(j + 1 + k) % b.len()]));
                let polygon: Vec<DVec2> = both.iter().map(|&k| points[k]).collect();
                return is_convex(&polygon).then_some(both);
            }
        }
    }
    None
}

/// Whether going on from `at` to `to` turns right, by more than rounding.
fn turns_right(from: DVec2, at: DVec2, to: DVec2) -> bool {
    let (a, b) = (at - from, to - at);
    a.perp_dot(b) < -1e-9 * (a.length() * b.length()).max(1e-9)
}

fn is_convex(p: &[DVec2]) -> bool {
    // Never the direction of a side that is upright or level but for its last place.
    const ASKEW: DVec2 = DVec2::new(0.754_877, 0.569_840);
    let n = p.len();
    let mut crossings = 0;
    for i in 0..n {
        let (from, at, to) = (p[i], p[(i + 1) % n], p[(i + 2) % n]);
        if turns_right(from, at, to) {
            return false;
        }
        let (a, b) = (at - from, to - at);
        crossings += usize::from((ASKEW.perp_dot(a) < 0.0) != (ASKEW.perp_dot(b) < 0.0));
    }
    // Going round once on left turns, the sides pass every direction and its opposite once.
    n >= 3 && crossings <= 2
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(h: &[DVec2]) -> f64 {
        (0..h.len())
            .map(|i| 0.5 * h[i].perp_dot(h[(i + 1) % h.len()]))
            .sum()
    }

    #[test]
    fn plate_with_a_window_keeps_its_area_in_convex_pieces() {
        let sq = |r: f64| {
            vec![
                DVec2::new(-r, -r),
                DVec2::new(r, -r),
                DVec2::new(r, r),
                DVec2::new(-r, r),
            ]
        };
        let mut window = sq(1.0);
        window.reverse();
        let pieces = convex_pieces(&[sq(3.0), window]);
        assert!(pieces.iter().all(|p| is_convex(p)));
        assert!((pieces.iter().map(|p| area(p)).sum::<f64>() - 32.0).abs() < 1e-12);
    }
}
