//! Regions joined, cut out of one another and grown, all on the grid.
//!
//! Growing by `d` gives a region that holds every point within `d` of the old one: each edge moves
//! outward by `d`, corners up to a right angle are drawn out to a point, sharper ones are cut off
//! where a circle of radius `d` ends. A rectangle stays a rectangle, exactly. Edges that are not
//! upright move [`SLANT`] steps further, so that rounding their ends to the grid takes nothing away.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::shape::{Shape, Spot, doubled_area};

/// Steps that a slanted edge moves further than asked.
const SLANT: f64 = 2.0;

/// Edges that turn by less than this, in radians, are joined straight: a circle of 100 mm stands
/// out by 1.25 micrometres there, which [`SLANT`] covers.
const HARDLY: f64 = 0.01;

/// Rings joined and cut: regions with outer rings counter-clockwise and holes clockwise.
pub(super) fn overlaid(
    of: &[Vec<Spot>],
    with: &[Vec<Spot>],
    rule: OverlayRule,
    fill: FillRule,
) -> Vec<Shape> {
    let count = of.iter().chain(with).map(Vec::len).sum();
    let mut overlay = Overlay::<i64>::new(count);
    let ring = |r: &Vec<Spot>| -> Vec<IntPoint<i64>> {
        r.iter().map(|p| IntPoint::new(p.x, p.y)).collect()
    };
    for r in of {
        overlay.add_contour(&ring(r), ShapeType::Subject);
    }
    for r in with {
        overlay.add_contour(&ring(r), ShapeType::Clip);
    }
    overlay
        .overlay(rule, fill)
        .into_iter()
        .filter_map(|rings| {
            let mut rings = rings
                .into_iter()
                .map(|r| r.into_iter().map(|p| Spot::new(p.x, p.y)).collect());
            let outer = turned(rings.next()?, true);
            let holes = rings.map(|hole| turned(hole, false)).collect();
            Some(Shape { outer, holes })
        })
        .collect()
}

/// A ring running counter-clockwise, or clockwise, and beginning at its least point, so that the
/// same region is always written the same way.
fn turned(mut ring: Vec<Spot>, counter_clockwise: bool) -> Vec<Spot> {
    if (doubled_area(&ring) > 0) != counter_clockwise {
        ring.reverse();
    }
    if let Some(least) = (0..ring.len()).min_by_key(|i| ring[*i]) {
        ring.rotate_left(least);
    }
    ring
}

/// A region grown by `d` steps.
pub(super) fn grown(shape: &Shape, d: i64) -> Vec<Shape> {
    let mut rings: Vec<Vec<Spot>> = shape.rings().cloned().collect();
    if d > 0 {
        for ring in shape.rings() {
            border(ring, d, &mut rings);
        }
    }
    overlaid(&rings, &[], OverlayRule::Subject, FillRule::NonZero)
}

/// A region less everything within `d` steps of its edge.
pub(super) fn shrunk(shape: &Shape, d: i64) -> Vec<Shape> {
    let rings: Vec<Vec<Spot>> = shape.rings().cloned().collect();
    let mut edge = Vec::new();
    if d > 0 {
        for ring in &rings {
            let back: Vec<Spot> = ring.iter().rev().copied().collect();
            border(&back, d, &mut edge);
        }
    }
    overlaid(&rings, &edge, OverlayRule::Difference, FillRule::NonZero)
}

/// What a region takes in beyond a ring with its inside on the left: convex pieces, all
/// counter-clockwise.
#[allow(clippy::cast_precision_loss, reason = "steps stay far below 2^53")]
fn border(ring: &[Spot], d: i64, into: &mut Vec<Vec<Spot>>) {
    let n = ring.len();
    let edges: Vec<Edge> = (0..n)
        .filter_map(|i| Edge::new(ring[i], ring[(i + 1) % n], d as f64))
        .collect();
    for (i, e) in edges.iter().enumerate() {
        into.push(vec![e.from, e.out(e.from), e.out(e.to), e.to]);
        let next = &edges[(i + 1) % edges.len()];
        if let Some(piece) = corner(e, next, d as f64) {
            into.push(piece);
        }
    }
}

/// An edge and the line it moves out to.
struct Edge {
    from: Spot,
    to: Spot,
    /// Its direction and, to the right of it, the way out: unit vectors.
    along: (f64, f64),
    away: (f64, f64),
    /// How far it moves.
    by: f64,
}

impl Edge {
    #[allow(clippy::cast_precision_loss, reason = "steps stay far below 2^53")]
    fn new(from: Spot, to: Spot, d: f64) -> Option<Self> {
        let (x, y) = ((to - from).x as f64, (to - from).y as f64);
        let length = x.hypot(y);
        let along = (x / length, y / length);
        let upright = x == 0.0 || y == 0.0;
        (length > 0.0).then_some(Self {
            from,
            to,
            along,
            away: (along.1, -along.0),
            by: if upright { d } else { d + SLANT },
        })
    }
    fn out(&self, p: Spot) -> Spot {
        beyond(p, (self.away.0 * self.by, self.away.1 * self.by))
    }
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "lengths are bounded long before, and a cast saturates"
)]
fn beyond(p: Spot, by: (f64, f64)) -> Spot {
    p + Spot::new(by.0.round() as i64, by.1.round() as i64)
}

fn dot(a: (f64, f64), b: (f64, f64)) -> f64 {
    a.0 * b.0 + a.1 * b.1
}

/// Where the lines at distance `a` along `n` and `b` along `m` cross.
fn crossing(n: (f64, f64), a: f64, m: (f64, f64), b: f64) -> (f64, f64) {
    let det = n.0 * m.1 - n.1 * m.0;
    ((a * m.1 - b * n.1) / det, (b * n.0 - a * m.0) / det)
}

/// What fills a corner that turns left, between two edges that have moved out.
fn corner(e: &Edge, next: &Edge, d: f64) -> Option<Vec<Spot>> {
    let sine = e.along.0 * next.along.1 - e.along.1 * next.along.0;
    let cosine = dot(e.along, next.along);
    let angle = sine.atan2(cosine);
    // Straight back turns either way.
    if angle <= 0.0 && cosine > -0.999_999 {
        return None;
    }
    let at = e.to;
    let mut piece = vec![at, e.out(at)];
    if angle.abs() >= HARDLY && cosine >= 0.0 {
        piece.push(beyond(at, crossing(e.away, e.by, next.away, next.by)));
    } else if cosine < 0.0 {
        let (x, y) = (e.away.0 + next.away.0, e.away.1 + next.away.1);
        let length = x.hypot(y);
        let middle = if length > 1e-6 {
            (x / length, y / length)
        } else {
            e.along
        };
        let cut = d + SLANT;
        piece.push(beyond(at, crossing(e.away, e.by, middle, cut)));
        piece.push(beyond(at, crossing(middle, cut, next.away, next.by)));
    }
    piece.push(next.out(at));
    Some(piece)
}
