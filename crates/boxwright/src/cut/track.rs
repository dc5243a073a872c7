//! A path by the way run along it: points, directions and pieces of it, arcs kept.

use crate::geom::{DVec2, Path, Segment, Vertex};

/// A path with the way to each of its vertices.
#[derive(Clone, Debug)]
pub struct Track {
    segments: Vec<Segment>,
    /// Way to the start of each segment, and to the end of the last.
    ways: Vec<f64>,
    closed: bool,
}

impl Track {
    /// Of a path; segments of no length are passed over.
    #[must_use]
    pub fn new(path: &Path) -> Self {
        let segments: Vec<Segment> = path.segments().filter(|s| s.from != s.to).collect();
        let mut ways = vec![0.0];
        let mut way = 0.0;
        for s in &segments {
            way += s.length();
            ways.push(way);
        }
        Self {
            segments,
            ways,
            closed: path.closed,
        }
    }
    /// Its whole length in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.ways.last().copied().unwrap_or(0.0)
    }
    /// Its segments in order.
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }
    /// Way to the start of each segment, and to the end of the last.
    #[must_use]
    pub fn ways(&self) -> &[f64] {
        &self.ways
    }
    fn wrapped(&self, way: f64) -> f64 {
        let length = self.length();
        if self.closed && length > 0.0 {
            way.rem_euclid(length)
        } else {
            way.clamp(0.0, length)
        }
    }
    /// The segment at a way, and how far into it.
    fn find(&self, way: f64) -> (usize, f64) {
        let way = self.wrapped(way);
        let after = self.ways.partition_point(|w| *w <= way);
        let at = after
            .saturating_sub(1)
            .min(self.segments.len().saturating_sub(1));
        (at, way - self.ways[at])
    }
    /// The point at a way; past the ends of an open path, the end.
    #[must_use]
    pub fn point(&self, way: f64) -> DVec2 {
        let (at, into) = self.find(way);
        self.segments
            .get(at)
            .map_or(DVec2::ZERO, |s| point(s, into))
    }
    /// The direction of travel at a way, of unit length.
    #[must_use]
    pub fn heading(&self, way: f64) -> DVec2 {
        let (at, into) = self.find(way);
        self.segments.get(at).map_or(DVec2::X, |s| heading(s, into))
    }
    /// Turn at the start of a segment from the one before it, in radians, 0 to pi; `None` at the
    /// start of an open path.
    #[must_use]
    pub fn turn(&self, at: usize) -> Option<f64> {
        let before = match (at, self.closed) {
            (0, false) => return None,
            (0, true) => self.segments.len() - 1,
            _ => at - 1,
        };
        let (a, b) = (self.segments.get(before)?, self.segments.get(at)?);
        let (u, v) = (heading(a, a.length()), heading(b, 0.0));
        Some(u.perp_dot(v).atan2(u.dot(v)).abs())
    }
    /// The way to a point that lies on the path, within this distance; `None` off it.
    #[must_use]
    pub fn way_at(&self, p: DVec2, within: f64) -> Option<f64> {
        self.segments.iter().zip(&self.ways).find_map(|(s, way)| {
            let into = match s.circle() {
                None => (p - s.from).dot(heading(s, 0.0)),
                Some((centre, radius)) => {
                    let turn = (s.from - centre).angle_to(p - centre) * s.bulge.signum();
                    turn.rem_euclid(std::f64::consts::TAU) * radius
                }
            };
            let into = into.clamp(0.0, s.length());
            (point(s, into).distance(p) <= within).then_some(way + into)
        })
    }
    /// The open path from one way to another; on a closed path `to` may lie up to one round past
    /// `from`.
    #[must_use]
    pub fn piece(&self, from: f64, to: f64) -> Path {
        let mut vertices: Vec<Vertex> = Vec::new();
        let (mut at, mut into) = self.find(from);
        let mut left = to - from;
        let mut end = self.point(from);
        while left > 1e-9 && !self.segments.is_empty() {
            let s = &self.segments[at];
            let room = s.length() - into;
            let run = left.min(room);
            if run > 1e-9 {
                let share = if run >= s.length() {
                    1.0
                } else {
                    run / s.length()
                };
                let bulge = (s.bulge.atan() * share).tan();
                let whole = share >= 1.0;
                let start = if into == 0.0 { s.from } else { point(s, into) };
                end = if run == room || whole {
                    s.to
                } else {
                    point(s, into + run)
                };
                vertices.push(Vertex {
                    at: start,
                    bulge: if whole { s.bulge } else { bulge },
                });
            }
            left -= run;
            into = 0.0;
            at += 1;
            if at == self.segments.len() {
                if !self.closed {
                    break;
                }
                at = 0;
            }
        }
        vertices.push(Vertex {
            at: end,
            bulge: 0.0,
        });
        Path {
            vertices,
            closed: false,
        }
    }
}

fn point(s: &Segment, into: f64) -> DVec2 {
    match s.circle() {
        None => s.from + (s.to - s.from).normalize_or_zero() * into,
        Some((centre, radius)) => {
            let turn = (into / radius).copysign(s.bulge);
            centre + DVec2::from_angle(turn).rotate(s.from - centre)
        }
    }
}

fn heading(s: &Segment, into: f64) -> DVec2 {
    match s.circle() {
        None => (s.to - s.from).normalize_or_zero(),
        Some((centre, radius)) => {
            let turn = (into / radius).copysign(s.bulge);
            let out = DVec2::from_angle(turn)
                .rotate(s.from - centre)
                .normalize_or_zero();
            if s.bulge > 0.0 {
                out.perp()
            } else {
                -out.perp()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A slot with round ends, counter-clockwise, 10 long between the ends of radius 2.
    fn slot() -> Path {
        let v = |x: f64, y: f64, bulge: f64| Vertex {
            at: DVec2::new(x, y),
            bulge,
        };
        Path {
            vertices: vec![
                v(0.0, -2.0, 0.0),
                v(10.0, -2.0, 1.0),
                v(10.0, 2.0, 0.0),
                v(0.0, 2.0, 1.0),
            ],
            closed: true,
        }
    }

    #[test]
    fn points_and_headings_lie_on_the_arc() {
        let t = Track::new(&slot());
        assert!((t.length() - (20.0 + 4.0 * PI)).abs() < 1e-12);
        let top = t.point(10.0 + PI);
        assert!((top - DVec2::new(12.0, 0.0)).length() < 1e-12);
        assert!((t.heading(10.0 + PI) - DVec2::Y).length() < 1e-12);
        assert!((t.way_at(top, 1e-6).unwrap() - (10.0 + PI)).abs() < 1e-9);
        assert_eq!(t.way_at(DVec2::new(5.0, 0.0), 1e-3), None);
        for at in 0..4 {
            assert!(t.turn(at).unwrap() < 1e-9);
        }
    }

    #[test]
    fn pieces_add_up_and_join() {
        let t = Track::new(&slot());
        let whole = t.length();
        for cuts in [[1.0, 12.0, 17.0], [9.0, 10.0, 11.0], [0.0, 5.0, 25.0]] {
            let [a, b, c] = cuts;
            let pieces = [t.piece(a, b), t.piece(b, c), t.piece(c, a + whole)];
            let sum: f64 = pieces.iter().map(Path::length).sum();
            assert!((sum - whole).abs() < 1e-9, "{cuts:?}");
            for (p, q) in [(0, 1), (1, 2), (2, 0)] {
                let end = pieces[p].vertices.last().map(|v| v.at);
                let start = pieces[q].vertices.first().map(|v| v.at);
                assert!((end.unwrap_or_default() - start.unwrap_or_default()).length() < 1e-9);
            }
        }
        let round = t.piece(3.0, 3.0 + whole);
        assert!((round.length() - whole).abs() < 1e-9);
    }
}
