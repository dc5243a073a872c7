//! Curves that are neither lines nor arcs, as chords.

use crate::geom::{DVec2, Segment};

/// Chords lie no further from a curve, in mm.
pub(super) const CHORD: f64 = 0.01;
/// No curve is cut into more chords.
const MOST: u32 = 2000;

/// Straight segments through points.
pub(super) fn chain(points: &[DVec2]) -> impl Iterator<Item = Segment> + '_ {
    points.windows(2).filter_map(|w| match w {
        [from, to] if from != to => Some(Segment {
            from: *from,
            to: *to,
            bulge: 0.0,
        }),
        _ => None,
    })
}

/// Points on a curve over `[a, b]`, close enough that chords keep within [`CHORD`], when no part of
/// it turns more tightly than `reach` mm allows.
pub(super) fn sampled(
    a: f64,
    b: f64,
    reach: f64,
    turns: f64,
    f: impl Fn(f64) -> DVec2,
) -> Vec<DVec2> {
    let step = 2.0 * (1.0 - (CHORD / reach.max(CHORD)).min(1.0)).acos();
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to a small count"
    )]
    let n = (turns / step.max(1e-4)).ceil().clamp(4.0, f64::from(MOST)) as u32;
    (0..=n)
        .map(|k| f(a + (b - a) * f64::from(k) / f64::from(n)))
        .collect()
}

/// A Bezier curve of second or third degree.
pub(super) fn bezier(p: &[DVec2]) -> Vec<DVec2> {
    let size: f64 = p.windows(2).map(|w| w[0].distance(w[1])).sum();
    let at = |u: f64| {
        let mut q = p.to_vec();
        while q.len() > 1 {
            q = q.windows(2).map(|w| w[0].lerp(w[1], u)).collect();
        }
        q.first().copied().unwrap_or_default()
    };
    // A chord of parameter length h strays at most h^2 / 8 times the second derivative.
    sampled(0.0, 1.0, size, std::f64::consts::TAU, at)
}

/// An ellipse from parameter `a` to `b`, by its centre and two half axes.
pub(super) fn ellipse(c: DVec2, u: DVec2, v: DVec2, a: f64, b: f64) -> Vec<DVec2> {
    let reach = u.length().max(v.length());
    sampled(a, b, reach, (b - a).abs(), |s| {
        c + u * s.cos() + v * s.sin()
    })
}

/// A B-spline by its degree, knots and control points (weights 1).
pub(super) fn spline(
    degree: usize,
    knots: &[f64],
    p: &[DVec2],
    weights: &[f64],
) -> Option<Vec<DVec2>> {
    let n = p.len();
    if degree == 0 || n <= degree || knots.len() != n + degree + 1 {
        return None;
    }
    if knots.windows(2).any(|w| w[0] > w[1]) {
        return None;
    }
    let (a, b) = (*knots.get(degree)?, *knots.get(n)?);
    if b <= a {
        return None;
    }
    let weight = |i: usize| weights.get(i).copied().unwrap_or(1.0);
    let at = |u: f64| {
        let k = (degree..n).rev().find(|k| knots[*k] <= u).unwrap_or(degree);
        let mut d: Vec<(DVec2, f64)> = (0..=degree)
            .map(|j| {
                let i = j + k - degree;
                (p[i] * weight(i), weight(i))
            })
            .collect();
        for r in 1..=degree {
            for j in (r..=degree).rev() {
                let i = j + k - degree;
                let span = knots[i + degree + 1 - r] - knots[i];
                let share = if span > 0.0 {
                    (u - knots[i]) / span
                } else {
                    0.0
                };
                let (q, w) = (
                    d[j - 1].0.lerp(d[j].0, share),
                    d[j - 1].1 + (d[j].1 - d[j - 1].1) * share,
                );
                d[j] = (q, w);
            }
        }
        d[degree].0 / d[degree].1
    };
    let size: f64 = p.windows(2).map(|w| w[0].distance(w[1])).sum();
    Some(sampled(a, b, size, std::f64::consts::TAU, at))
}
