//! The shapes of SVG as lines and arcs in their own user units.

use std::f64::consts::{PI, TAU};

use svgtypes::{PathParser, PathSegment};

use super::curves::{bezier, chain, ellipse};
use crate::geom::{DVec2, Segment};

/// A linear map and a shift.
#[derive(Clone, Copy, Debug)]
pub(super) struct Map {
    pub x: DVec2,
    pub y: DVec2,
    pub by: DVec2,
}

impl Map {
    pub fn point(&self, p: DVec2) -> DVec2 {
        self.x * p.x + self.y * p.y + self.by
    }
    /// First `inner`, then this.
    pub fn then(&self, inner: &Self) -> Self {
        Self {
            x: self.x * inner.x.x + self.y * inner.x.y,
            y: self.x * inner.y.x + self.y * inner.y.y,
            by: self.point(inner.by),
        }
    }
    /// 1 or -1 for a map that keeps circles, by whether it keeps their sense too.
    fn sense(&self) -> Option<f64> {
        let (a, b) = (self.x.length(), self.y.length());
        let even = (a - b).abs() <= 1e-9 * a.max(b) && self.x.dot(self.y).abs() <= 1e-9 * a * b;
        even.then(|| self.x.perp_dot(self.y).signum())
    }
}

/// What is gathered from one element.
pub(super) struct Pen<'m> {
    map: &'m Map,
    pub out: Vec<Segment>,
}

impl<'m> Pen<'m> {
    pub fn new(map: &'m Map) -> Self {
        Self {
            map,
            out: Vec::new(),
        }
    }
    pub fn line(&mut self, a: DVec2, b: DVec2) {
        self.out.push(Segment {
            from: self.map.point(a),
            to: self.map.point(b),
            bulge: 0.0,
        });
    }
    /// A Bezier curve, cut into chords after it is put, so that they are fine enough.
    fn bezier(&mut self, p: &[DVec2]) {
        let put: Vec<DVec2> = p.iter().map(|p| self.map.point(*p)).collect();
        self.out.extend(chain(&bezier(&put)));
    }
    /// Part of an ellipse by centre, half axes and parameters.
    fn arc(&mut self, c: DVec2, u: DVec2, v: DVec2, from: f64, to: f64) {
        let round = (u.length() - v.length()).abs() <= 1e-9 * u.length();
        let Some(sense) = self.map.sense().filter(|_| round) else {
            let m = self.map;
            let (u, v) = (m.x * u.x + m.y * u.y, m.x * v.x + m.y * v.y);
            let points = ellipse(m.point(c), u, v, from, to);
            return self.out.extend(chain(&points));
        };
        let n = if (to - from).abs() > PI + 1e-9 { 2 } else { 1 };
        let at = |k: i32| {
            let a = from + (to - from) * f64::from(k) / f64::from(n);
            self.map.point(c + u * a.cos() + v * a.sin())
        };
        let bulge = ((to - from) / f64::from(n) / 4.0).tan() * sense;
        let whole = ((to - from).abs() - TAU).abs() < 1e-12;
        for k in 0..n {
            let end = if whole && k + 1 == n {
                at(0)
            } else {
                at(k + 1)
            };
            self.out.push(Segment {
                from: at(k),
                to: end,
                bulge,
            });
        }
    }
    pub fn ellipse(&mut self, c: DVec2, rx: f64, ry: f64) {
        self.arc(c, DVec2::X * rx, DVec2::Y * ry, 0.0, TAU);
    }
    pub fn rect(&mut self, at: DVec2, size: DVec2, rx: f64, ry: f64) {
        let (rx, ry) = (rx.clamp(0.0, size.x / 2.0), ry.clamp(0.0, size.y / 2.0));
        let (a, b) = (at, at + size);
        if rx <= 0.0 || ry <= 0.0 {
            let p = [a, DVec2::new(b.x, a.y), b, DVec2::new(a.x, b.y)];
            for i in 0..4 {
                self.line(p[i], p[(i + 1) % 4]);
            }
            return;
        }
        let (u, v) = (DVec2::X * rx, DVec2::Y * ry);
        let corners = [
            (DVec2::new(b.x - rx, a.y + ry), -PI / 2.0),
            (DVec2::new(b.x - rx, b.y - ry), 0.0),
            (DVec2::new(a.x + rx, b.y - ry), PI / 2.0),
            (DVec2::new(a.x + rx, a.y + ry), PI),
        ];
        for (i, (c, from)) in corners.into_iter().enumerate() {
            self.arc(c, u, v, from, from + PI / 2.0);
            let end = c + u * (from + PI / 2.0).cos() + v * (from + PI / 2.0).sin();
            let (next, turn) = corners[(i + 1) % 4];
            let start = next + u * turn.cos() + v * turn.sin();
            if end.distance(start) > 1e-9 {
                self.line(end, start);
            }
        }
    }
    pub fn points(&mut self, points: &[DVec2], closed: bool) {
        for w in points.windows(2) {
            self.line(w[0], w[1]);
        }
        if let (true, Some(a), Some(b)) = (closed, points.first(), points.last())
            && a != b
        {
            self.line(*b, *a);
        }
    }

    /// Path data; `Err` with what is wrong in it.
    pub fn path(&mut self, data: &str) -> Result<(), String> {
        let (mut at, mut start) = (DVec2::ZERO, DVec2::ZERO);
        // The last control point of a cubic, then of a quadratic curve.
        let (mut cubic, mut square) = (None, None);
        for s in PathParser::from(data) {
            let s = s.map_err(|e| e.to_string())?;
            let base = if s.is_abs() { DVec2::ZERO } else { at };
            let p = |x: f64, y: f64| base + DVec2::new(x, y);
            let (mut next_cubic, mut next_square) = (None, None);
            match s {
                PathSegment::MoveTo { x, y, .. } => {
                    at = p(x, y);
                    start = at;
                }
                PathSegment::LineTo { x, y, .. } => {
                    self.line(at, p(x, y));
                    at = p(x, y);
                }
                PathSegment::HorizontalLineTo { x, .. } => {
                    let to = DVec2::new(base.x + x, at.y);
                    self.line(at, to);
                    at = to;
                }
                PathSegment::VerticalLineTo { y, .. } => {
                    let to = DVec2::new(at.x, base.y + y);
                    self.line(at, to);
                    at = to;
                }
                PathSegment::CurveTo {
                    x1,
                    y1,
                    x2,
                    y2,
                    x,
                    y,
                    ..
                } => {
                    self.bezier(&[at, p(x1, y1), p(x2, y2), p(x, y)]);
                    next_cubic = Some(p(x2, y2));
                    at = p(x, y);
                }
                PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                    let first = cubic.map_or(at, |c: DVec2| at * 2.0 - c);
                    self.bezier(&[at, first, p(x2, y2), p(x, y)]);
                    next_cubic = Some(p(x2, y2));
                    at = p(x, y);
                }
                PathSegment::Quadratic { x1, y1, x, y, .. } => {
                    self.bezier(&[at, p(x1, y1), p(x, y)]);
                    next_square = Some(p(x1, y1));
                    at = p(x, y);
                }
                PathSegment::SmoothQuadratic { x, y, .. } => {
                    let first = square.map_or(at, |c: DVec2| at * 2.0 - c);
                    self.bezier(&[at, first, p(x, y)]);
                    next_square = Some(first);
                    at = p(x, y);
                }
                PathSegment::EllipticalArc {
                    rx,
                    ry,
                    x_axis_rotation,
                    large_arc,
                    sweep,
                    x,
                    y,
                    ..
                } => {
                    let to = p(x, y);
                    self.elliptical(
                        at,
                        to,
                        DVec2::new(rx.abs(), ry.abs()),
                        x_axis_rotation.to_radians(),
                        large_arc,
                        sweep,
                    );
                    at = to;
                }
                PathSegment::ClosePath { .. } => {
                    if at != start {
                        self.line(at, start);
                    }
                    at = start;
                }
            }
            (cubic, square) = (next_cubic, next_square);
        }
        Ok(())
    }

    /// After the implementation notes of the SVG standard: from ends to centre.
    fn elliptical(&mut self, a: DVec2, b: DVec2, r: DVec2, turn: f64, large: bool, sweep: bool) {
        if a == b {
            return;
        }
        if r.x <= 0.0 || r.y <= 0.0 {
            return self.line(a, b);
        }
        let (ex, ey) = (DVec2::from_angle(turn), DVec2::from_angle(turn).perp());
        let half = (a - b) * 0.5;
        let q = DVec2::new(half.dot(ex), half.dot(ey));
        let over = (q / r).length_squared();
        let r = if over > 1.0 { r * over.sqrt() } else { r };
        let u = q / r;
        let far = (1.0 / u.length_squared() - 1.0).max(0.0).sqrt();
        let sign = if large == sweep { -1.0 } else { 1.0 };
        let c = DVec2::new(u.y, -u.x) * far * sign;
        let (from, to) = ((u - c).to_angle(), (-u - c).to_angle());
        let mut by = to - from;
        if sweep && by < 0.0 {
            by += TAU;
        } else if !sweep && by > 0.0 {
            by -= TAU;
        }
        let centre = (a + b) * 0.5 + ex * (c.x * r.x) + ey * (c.y * r.y);
        let before = self.out.len();
        self.arc(centre, ex * r.x, ey * r.y, from, from + by);
        // Its ends are those written, whatever rounding did.
        let (a, b) = (self.map.point(a), self.map.point(b));
        if let Some(s) = self.out.get_mut(before) {
            s.from = a;
        }
        if let Some(s) = self.out.last_mut() {
            s.to = b;
        }
    }
}
