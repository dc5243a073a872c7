//! Paths cut exactly at an upright window: lines stay lines and arcs stay arcs of their circle.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::geom::{DVec2, Path, Rect, Segment, Vertex};

/// The parts of a path inside the window, in order. A path wholly inside comes back as it is.
pub(super) fn path(path: &Path, window: Rect) -> Vec<Path> {
    let b = path.bounds();
    if b.min.cmpge(window.min).all() && b.max.cmple(window.max).all() {
        return vec![path.clone()];
    }
    let mut out: Vec<Path> = Vec::new();
    for piece in path.segments().flat_map(|s| segment(s, window)) {
        let joins = out
            .last()
            .and_then(|p| p.vertices.last())
            .is_some_and(|v| v.at == piece.from);
        let end = Vertex {
            at: piece.to,
            bulge: 0.0,
        };
        match out.last_mut() {
            Some(run) if joins => {
                if let Some(last) = run.vertices.last_mut() {
                    last.bulge = piece.bulge;
                }
                run.vertices.push(end);
            }
            _ => out.push(Path {
                vertices: vec![
                    Vertex {
                        at: piece.from,
                        bulge: piece.bulge,
                    },
                    end,
                ],
                closed: false,
            }),
        }
    }
    out
}

/// The parts of one segment inside the window, in order.
pub(super) fn segment(s: Segment, window: Rect) -> impl Iterator<Item = Segment> {
    // Shares of the segment, from 0 to 1, at which it meets a side of the window.
    let mut cuts = vec![0.0, 1.0];
    match s.circle() {
        None => line_cuts(s, window, &mut cuts),
        Some((centre, radius)) => arc_cuts(s, centre, radius, window, &mut cuts),
    }
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let pairs: Vec<(f64, f64)> = cuts.windows(2).map(|w| (w[0], w[1])).collect();
    pairs.into_iter().filter_map(move |(a, b)| {
        let middle = at(s, 0.5 * (a + b));
        let inside = middle.cmpge(window.min).all() && middle.cmple(window.max).all();
        let piece = Segment {
            from: at(s, a),
            to: at(s, b),
            bulge: (s.bulge.atan() * (b - a)).tan(),
        };
        (inside && piece.from != piece.to).then_some(piece)
    })
}

/// The point at a share of the segment's length; the ends exactly.
fn at(s: Segment, share: f64) -> DVec2 {
    if share <= 0.0 {
        return s.from;
    }
    if share >= 1.0 {
        return s.to;
    }
    match s.circle() {
        None => s.from.lerp(s.to, share),
        Some((centre, _)) => {
            let turn = 4.0 * s.bulge.atan() * share;
            centre + DVec2::from_angle(turn).rotate(s.from - centre)
        }
    }
}

fn line_cuts(s: Segment, window: Rect, cuts: &mut Vec<f64>) {
    let along = s.to - s.from;
    for (from, step, sides) in [
        (s.from.x, along.x, [window.min.x, window.max.x]),
        (s.from.y, along.y, [window.min.y, window.max.y]),
    ] {
        if step != 0.0 {
            cuts.extend(
                sides
                    .map(|side| (side - from) / step)
                    .into_iter()
                    .filter(|t| (0.0..=1.0).contains(t)),
            );
        }
    }
}

fn arc_cuts(s: Segment, centre: DVec2, radius: f64, window: Rect, cuts: &mut Vec<f64>) {
    let start = (s.from - centre).to_angle();
    let sweep = 4.0 * s.bulge.atan();
    let mut meet = |angle: f64| {
        let turned = if sweep > 0.0 {
            angle - start
        } else {
            start - angle
        };
        let share = turned.rem_euclid(TAU) / sweep.abs();
        if share < 1.0 {
            cuts.push(share);
        }
    };
    for side in [window.min.x, window.max.x] {
        let cos = (side - centre.x) / radius;
        if cos.abs() <= 1.0 {
            meet(cos.acos());
            meet(-cos.acos());
        }
    }
    for side in [window.min.y, window.max.y] {
        let cos = (side - centre.y) / radius;
        if cos.abs() <= 1.0 {
            meet(FRAC_PI_2 - cos.acos());
            meet(FRAC_PI_2 + cos.acos());
        }
    }
}

/// The same path with no arc longer than an eighth of a circle: renderers that turn arcs into
/// curves of the third order are then within 5e-6 of the radius.
pub(super) fn short_arcs(path: &Path) -> Path {
    let mut vertices = Vec::with_capacity(path.vertices.len());
    for s in path.segments() {
        let sweep = 4.0 * s.bulge.atan().abs();
        let parts = (1..=8u8)
            .find(|n| sweep <= f64::from(*n) * PI / 4.0 + 1e-9)
            .unwrap_or(8);
        for k in 0..parts {
            vertices.push(Vertex {
                at: at(s, f64::from(k) / f64::from(parts)),
                bulge: (s.bulge.atan() / f64::from(parts)).tan(),
            });
        }
    }
    if !path.closed {
        vertices.extend(path.vertices.last());
    }
    Path {
        vertices,
        closed: path.closed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn window(w: f64, h: f64) -> Rect {
        Rect {
            min: DVec2::ZERO,
            max: DVec2::new(w, h),
        }
    }

    #[test]
    fn a_circle_round_a_corner_leaves_a_quarter() {
        let circle = Path {
            vertices: [-5.0, 5.0]
                .map(|x| Vertex {
                    at: DVec2::new(x, 0.0),
                    bulge: 1.0,
                })
                .to_vec(),
            closed: true,
        };
        let inside = path(&circle, window(20.0, 20.0));
        let total: f64 = inside.iter().map(Path::length).sum();
        assert!((total - 2.5 * PI).abs() < 1e-9);
    }

    #[test]
    fn a_line_through_is_cut_at_both_sides_and_one_outside_vanishes() {
        let through = Path::line([DVec2::new(-10.0, 5.0), DVec2::new(30.0, 5.0)]);
        let inside = path(&through, window(20.0, 20.0));
        assert_eq!(
            inside,
            [Path::line([DVec2::new(0.0, 5.0), DVec2::new(20.0, 5.0)])]
        );
        let past = Path::line([DVec2::new(-10.0, 25.0), DVec2::new(30.0, 25.0)]);
        assert!(path(&past, window(20.0, 20.0)).is_empty());
    }

    proptest! {
        // Nine windows that tile the plane hold the whole curve between them, each part once.
        #[test]
        fn windows_side_by_side_share_a_curve_out(
            ax in -30.0..30.0, ay in -30.0..30.0, bx in -30.0..30.0, by in -30.0..30.0,
            bulge in -3.0..3.0,
        ) {
            let s = Segment { from: DVec2::new(ax, ay), to: DVec2::new(bx, by), bulge };
            prop_assume!(s.from.distance(s.to) > 0.1);
            let edges = [-1e4, -3.7, 8.9, 1e4];
            let mut total = 0.0;
            for x in edges.windows(2) {
                for y in edges.windows(2) {
                    let w = Rect { min: DVec2::new(x[0], y[0]), max: DVec2::new(x[1], y[1]) };
                    for piece in segment(s, w) {
                        total += piece.length();
                        let near = Rect { min: w.min - 1e-6, max: w.max + 1e-6 };
                        prop_assert!(piece.from.cmpge(near.min).all() && piece.to.cmple(near.max).all());
                    }
                }
            }
            prop_assert!((total - s.length()).abs() < 1e-6 * (1.0 + s.length()));
        }
    }

    #[test]
    fn short_arcs_keep_length_and_shape() {
        let arc = Path {
            vertices: vec![
                Vertex {
                    at: DVec2::ZERO,
                    bulge: 1.4,
                },
                Vertex {
                    at: DVec2::new(9.0, 2.0),
                    bulge: 0.0,
                },
            ],
            closed: false,
        };
        let short = short_arcs(&arc);
        assert!((short.length() - arc.length()).abs() < 1e-9);
        assert!(
            short
                .vertices
                .iter()
                .all(|v| v.bulge <= (PI / 16.0).tan() + 1e-12)
        );
    }
}
