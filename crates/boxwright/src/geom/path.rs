//! A path of straight and circular segments.

use glam::DVec2;

/// A corner of a path, with the bulge of the segment that leaves it: the tangent of a quarter of
/// the included angle, positive for a counter-clockwise arc, 0 for a straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// Where.
    pub at: DVec2,
    /// Bulge of the segment to the next vertex.
    pub bulge: f64,
}

/// Lines and arcs end to end. A closed path runs back to its first vertex.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path {
    /// The corners in order.
    pub vertices: Vec<Vertex>,
    /// Whether the last vertex joins the first.
    pub closed: bool,
}

/// One piece of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Its start.
    pub from: DVec2,
    /// Its end.
    pub to: DVec2,
    /// Its bulge.
    pub bulge: f64,
}

impl Segment {
    /// Its length along the curve.
    #[must_use]
    pub fn length(&self) -> f64 {
        let chord = self.from.distance(self.to);
        if self.bulge == 0.0 {
            return chord;
        }
        let half = 2.0 * self.bulge.abs().atan();
        chord * half / half.sin()
    }
    /// Centre and radius of the arc, if it is one.
    #[must_use]
    pub fn circle(&self) -> Option<(DVec2, f64)> {
        if self.bulge == 0.0 {
            return None;
        }
        let chord = self.to - self.from;
        let b = self.bulge;
        let radius = chord.length() * (1.0 + b * b) / (4.0 * b.abs());
        let middle = (self.from + self.to) * 0.5;
        let towards = chord.perp() * ((1.0 - b * b) / (4.0 * b));
        Some((middle + towards, radius))
    }
    /// Signed area between the curve and its chord, positive when it bulges to the right of the
    /// chord (outward on a counter-clockwise path).
    fn bow_area(&self) -> f64 {
        self.circle().map_or(0.0, |(_, r)| {
            let angle = 4.0 * self.bulge.atan();
            0.5 * r * r * (angle - angle.sin())
        })
    }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Least x and y.
    pub min: DVec2,
    /// Greatest x and y.
    pub max: DVec2,
}

impl Rect {
    /// Holds nothing; grows with [`Rect::with`].
    pub const EMPTY: Self = Self {
        min: DVec2::splat(f64::INFINITY),
        max: DVec2::splat(f64::NEG_INFINITY),
    };
    /// Grown to hold the point.
    #[must_use]
    pub fn with(self, p: DVec2) -> Self {
        Self {
            min: self.min.min(p),
            max: self.max.max(p),
        }
    }
    /// Grown to hold the other.
    #[must_use]
    pub fn union(self, o: Self) -> Self {
        Self {
            min: self.min.min(o.min),
            max: self.max.max(o.max),
        }
    }
    /// Breadth and height.
    #[must_use]
    pub fn size(self) -> DVec2 {
        self.max - self.min
    }
    /// The middle.
    #[must_use]
    pub fn centre(self) -> DVec2 {
        (self.min + self.max) * 0.5
    }
}

impl Path {
    /// A closed polygon.
    #[must_use]
    pub fn polygon(points: impl IntoIterator<Item = DVec2>) -> Self {
        Self {
            vertices: points
                .into_iter()
                .map(|at| Vertex { at, bulge: 0.0 })
                .collect(),
            closed: true,
        }
    }
    /// An open run of straight lines.
    #[must_use]
    pub fn line(points: impl IntoIterator<Item = DVec2>) -> Self {
        Self {
            closed: false,
            ..Self::polygon(points)
        }
    }
    /// A closed counter-clockwise rectangle.
    #[must_use]
    pub fn rect(r: Rect) -> Self {
        Self::polygon([
            r.min,
            DVec2::new(r.max.x, r.min.y),
            r.max,
            DVec2::new(r.min.x, r.max.y),
        ])
    }
    /// Its segments in order.
    pub fn segments(&self) -> impl Iterator<Item = Segment> + '_ {
        let n = self.vertices.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        (0..count).map(|i| self.segment(i))
    }
    /// The segment that leaves vertex `i`; from the last vertex it runs back to the first.
    ///
    /// # Panics
    /// When there is no such vertex.
    #[must_use]
    pub fn segment(&self, i: usize) -> Segment {
        let a = self.vertices[i];
        let b = self.vertices.get(i + 1).unwrap_or(&self.vertices[0]);
        Segment {
            from: a.at,
            to: b.at,
            bulge: a.bulge,
        }
    }
    /// Its length along the curve, in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.segments().map(|s| s.length()).sum()
    }
    /// Area in mm2 enclosed by a closed path, positive when counter-clockwise. Exact with arcs.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.segments()
            .map(|s| 0.5 * s.from.perp_dot(s.to) + s.bow_area())
            .sum()
    }
    /// The smallest upright rectangle round it, arcs included.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let mut r = self.vertices.iter().fold(Rect::EMPTY, |r, v| r.with(v.at));
        for s in self.segments() {
            if let Some((c, radius)) = s.circle() {
                let start = (s.from - c).to_angle();
                let sweep = 4.0 * s.bulge.atan();
                for k in 0..4 {
                    let at = std::f64::consts::FRAC_PI_2 * f64::from(k);
                    let along = if sweep > 0.0 { at - start } else { start - at };
                    if along.rem_euclid(std::f64::consts::TAU) <= sweep.abs() {
                        r = r.with(c + DVec2::from_angle(at) * radius);
                    }
                }
            }
        }
        r
    }
    /// The same path run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let n = self.vertices.len();
        let vertices = (0..n)
            .rev()
            .map(|i| {
                let before = if i == 0 {
                    if self.closed { n - 1 } else { 0 }
                } else {
                    i - 1
                };
                let bulge = if !self.closed && i == 0 {
                    0.0
                } else {
                    -self.vertices[before].bulge
                };
                Vertex {
                    at: self.vertices[i].at,
                    bulge,
                }
            })
            .collect();
        Self {
            vertices,
            closed: self.closed,
        }
    }
    /// Points on the path with arcs cut into chords no further than `tolerance` mm from the curve.
    #[must_use]
    pub fn flattened(&self, tolerance: f64) -> Vec<DVec2> {
        let mut points = Vec::with_capacity(self.vertices.len());
        for s in self.segments() {
            points.push(s.from);
            if let Some((c, r)) = s.circle() {
                let sweep = 4.0 * s.bulge.atan();
                let step = 2.0 * (1.0 - (tolerance / r).min(1.0)).acos();
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a count of chords, bounded below by 1 and above by 4096"
                )]
                let n = (sweep.abs() / step.max(1e-3)).ceil().clamp(1.0, 4096.0) as u32;
                let start = (s.from - c).to_angle();
                for k in 1..n {
                    let a = start + sweep * f64::from(k) / f64::from(n);
                    points.push(c + DVec2::from_angle(a) * r);
                }
            }
        }
        if !self.closed
            && let Some(last) = self.vertices.last()
        {
            points.push(last.at);
        }
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn half_disc() -> Path {
        Path {
            vertices: vec![
                Vertex {
                    at: DVec2::new(-2.0, 0.0),
                    bulge: 0.0,
                },
                Vertex {
                    at: DVec2::new(2.0, 0.0),
                    bulge: 1.0,
                },
            ],
            closed: true,
        }
    }

    #[test]
    fn half_disc_has_the_area_length_and_bounds_of_one() {
        let p = half_disc();
        assert!((p.area() - 2.0 * PI).abs() < 1e-12);
        assert!((p.length() - (4.0 + 2.0 * PI)).abs() < 1e-12);
        let b = p.bounds();
        assert!((b.max.y - 2.0).abs() < 1e-12 && b.min.y.abs() < 1e-12);
    }

    #[test]
    fn reversing_twice_gives_the_same_curve_and_once_negates_the_area() {
        let p = half_disc();
        assert!((p.reversed().area() + p.area()).abs() < 1e-12);
        assert!((p.reversed().reversed().length() - p.length()).abs() < 1e-12);
    }

    // Bulge of a 120 degree arc is tan(30 degrees) = 0.57735: see docs/background.md, DXF text.
    #[test]
    fn bulge_of_120_degrees() {
        let s = Segment {
            from: DVec2::new(1.0, 0.0),
            to: DVec2::new(-0.5, 3f64.sqrt() / 2.0),
            bulge: 0.577_350_269_189_625_8,
        };
        let (c, r) = s.circle().unwrap();
        assert!(c.length() < 1e-12 && (r - 1.0).abs() < 1e-12);
    }
}
