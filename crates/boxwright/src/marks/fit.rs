//! Whether a mark keeps clear of what is cut and creased in its panel.

use crate::blank::Blank;
use crate::geom::DVec2;

/// How finely arcs are cut into chords, in mm.
const CHORD: f64 = 0.05;

/// What a mark comes too near to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Trouble {
    Edge,
    CutOut,
    Slit,
    Mark,
}

/// The free room of a panel, in its own coordinates.
pub(super) struct Room {
    outline: Vec<DVec2>,
    holes: Vec<Vec<DVec2>>,
    slits: Vec<Vec<DVec2>>,
    marks: Vec<[DVec2; 4]>,
}

impl Room {
    pub(super) fn of(blank: &Blank, panel: usize, marks: impl Iterator<Item = [DVec2; 4]>) -> Self {
        let p = &blank.panels[panel];
        let back = p.place.inverse();
        // Marks of the style itself are lines to keep off as well.
        let lines = blank.slits.iter().chain(&blank.engravings);
        Self {
            outline: p.outline.flattened(CHORD),
            holes: p.holes.iter().map(|h| h.flattened(CHORD)).collect(),
            slits: lines.map(|s| back.path(s).flattened(CHORD)).collect(),
            marks: marks.collect(),
        }
    }

    /// What a rectangle comes nearer to than `margin` mm.
    pub(super) fn trouble(&self, ring: &[DVec2; 4], margin: f64) -> Option<Trouble> {
        let near = |line: &[DVec2], closed| nearer(ring, line, closed, margin);
        if near(&self.outline, true) || !inside(&self.outline, ring[0]) {
            return Some(Trouble::Edge);
        }
        if self
            .holes
            .iter()
            .any(|h| near(h, true) || inside(h, ring[0]) || inside(ring, h[0]))
        {
            return Some(Trouble::CutOut);
        }
        if self
            .slits
            .iter()
            .any(|s| near(s, false) || s.iter().any(|p| inside(ring, *p)))
        {
            return Some(Trouble::Slit);
        }
        self.marks
            .iter()
            .any(|m| near(m, true) || inside(m, ring[0]) || inside(ring, m[0]))
            .then_some(Trouble::Mark)
    }
}

/// Whether the sides of a ring come nearer than `margin` to a line.
fn nearer(ring: &[DVec2], line: &[DVec2], closed: bool, margin: f64) -> bool {
    let n = line.len();
    let sides = if closed { n } else { n.saturating_sub(1) };
    (0..ring.len()).any(|i| {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        (0..sides).any(|j| apart(a, b, line[j], line[(j + 1) % n]) < margin - 1e-9)
    })
}

/// Distance of two stretches.
fn apart(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> f64 {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    if side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
        return 0.0;
    }
    let to = |p: DVec2, q: DVec2, r: DVec2| {
        let u = ((p - q).dot(r - q) / (r - q).length_squared().max(1e-30)).clamp(0.0, 1.0);
        p.distance(q.lerp(r, u))
    };
    to(a, c, d)
        .min(to(b, c, d))
        .min(to(c, a, b))
        .min(to(d, a, b))
}

fn inside(ring: &[DVec2], p: DVec2) -> bool {
    let mut odd = false;
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    odd
}
