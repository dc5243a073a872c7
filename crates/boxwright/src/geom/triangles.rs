//! Cutting an outline with holes into triangles (ear clipping, `earcut`).

use glam::DVec2;

/// Triangles of the area inside `rings[0]` and outside the other rings, counter-clockwise, as
/// indices into the rings laid end to end. Those without area are among them; where corners lie in
/// line, a triangle's side may pass some.
#[must_use]
pub fn triangles(rings: &[Vec<DVec2>]) -> Vec<[usize; 3]> {
    let points: Vec<DVec2> = rings.iter().flatten().copied().collect();
    let mut holes: Vec<u32> = Vec::new();
    let mut count = 0;
    for ring in rings {
        if count > 0 {
            holes.push(u32::try_from(count).unwrap_or(u32::MAX));
        }
        count += ring.len();
    }
    let mut flat: Vec<u32> = Vec::new();
    earcut::Earcut::new().earcut(points.iter().map(|p| [p.x, p.y]), &holes, &mut flat);
    flat.chunks_exact(3)
        .map(|t| {
            let [a, b, c] = [t[0] as usize, t[1] as usize, t[2] as usize];
            let turns_left = doubled_area(points[a], points[b], points[c]) >= 0.0;
            if turns_left { [a, b, c] } else { [a, c, b] }
        })
        .collect()
}

/// Twice the area of a triangle, positive when it is counter-clockwise.
#[must_use]
pub fn doubled_area(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    (b - a).perp_dot(c - a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plate_with_windows_is_covered_once_whichever_way_its_rings_run() {
        let square = |x: f64, y: f64, r: f64, back: bool| {
            let mut ring: Vec<DVec2> = [(-r, -r), (r, -r), (r, r), (-r, r)]
                .map(|(dx, dy)| DVec2::new(x + dx, y + dy))
                .to_vec();
            if back {
                ring.reverse();
            }
            ring
        };
        for back in [false, true] {
            let rings = [
                square(0.0, 0.0, 10.0, back),
                square(-5.0, 0.0, 2.0, !back),
                square(5.0, 1.0, 3.0, back),
            ];
            let points: Vec<DVec2> = rings.iter().flatten().copied().collect();
            let doubled = triangles(&rings)
                .into_iter()
                .map(|[a, b, c]| doubled_area(points[a], points[b], points[c]));
            let areas: Vec<f64> = doubled.map(|d| d / 2.0).collect();
            assert!(areas.iter().all(|a| *a >= 0.0));
            assert!((areas.iter().sum::<f64>() - (400.0 - 16.0 - 36.0)).abs() < 1e-9);
        }
        assert!(triangles(&[]).is_empty());
    }
}
