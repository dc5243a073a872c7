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

/// The region with fewer corners: a chain of short edges round a bulge is drawn out to a point, one in a
/// hollow is cut straight, wherever that takes in no point further than `by` steps from the region.
/// Nothing is taken away; where it would be, the region stays as it is.
pub(super) fn eased(shape: &Shape, by: f64) -> Shape {
    let rings: Vec<Vec<Spot>> = shape.rings().map(|r| plainer(r, by)).collect();
    let mut found = overlaid(&rings, &[], OverlayRule::Subject, FillRule::NonZero);
    let (Some(eased), true) = (found.pop(), found.is_empty()) else {
        return shape.clone();
    };
    let all = |s: &Shape| s.rings().cloned().collect::<Vec<_>>();
    let lost = overlaid(
        &all(shape),
        &all(&eased),
        OverlayRule::Difference,
        FillRule::NonZero,
    );
    if lost.is_empty() {
        eased
    } else {
        shape.clone()
    }
}

fn plainer(ring: &[Spot], by: f64) -> Vec<Spot> {
    let mut ring = ring.to_vec();
    let mut i = 0;
    let mut kept = 0;
    // Once round after the last change.
    while ring.len() > 4 && kept <= ring.len() {
        let n = ring.len();
        let at = |k: usize| ring[(i + k) % n];
        let (a, b, c, d) = (at(0), at(1), at(2), at(3));
        if let Some(p) = drawn_out(a, b, c, d, by) {
            ring[(i + 1) % n] = p;
            ring.remove((i + 2) % n);
            kept = 0;
        } else if in_hollow(a, b, c, by) {
            ring.remove((i + 1) % n);
            kept = 0;
        } else {
            i += 1;
            kept += 1;
        }
        i %= ring.len();
    }
    ring
}

/// Steps that a drawn out corner moves further, so that rounding it takes nothing away.
const FURTHER: f64 = 2.0;

/// The point that two edges round a short third one meet in, when all bulge and it is near.
#[allow(clippy::cast_precision_loss, reason = "steps stay far below 2^53")]
fn drawn_out(a: Spot, b: Spot, c: Spot, d: Spot, by: f64) -> Option<Spot> {
    let unit = |p: Spot, q: Spot| {
        let (x, y) = ((q - p).x as f64, (q - p).y as f64);
        let length = x.hypot(y);
        (length > 0.0).then(|| (x / length, y / length, length))
    };
    let (e, f, g) = (unit(a, b)?, unit(b, c)?, unit(c, d)?);
    let cross = |u: (f64, f64, f64), v: (f64, f64, f64)| u.0 * v.1 - u.1 * v.0;
    let turn = cross(e, g);
    // Both corners turn left, and together by less than a right angle.
    if cross(e, f) <= 1e-9
        || cross(f, g) <= 1e-9
        || turn <= 1e-6
        || dot((e.0, e.1), (g.0, g.1)) <= 0.0
    {
        return None;
    }
    // Along the first edge past b, and how far off the short edge that is.
    let past = f.2 * cross(f, g) / turn;
    let off = past * cross(e, f);
    if off + FURTHER > by {
        return None;
    }
    let middle = (f.1, -f.0);
    let tip = (
        e.0 * past + middle.0 * FURTHER,
        e.1 * past + middle.1 * FURTHER,
    );
    Some(beyond(b, tip))
}

/// Whether a corner turns right and its point is near the line between its neighbours.
#[allow(clippy::cast_precision_loss, reason = "steps stay far below 2^53")]
fn in_hollow(a: Spot, b: Spot, c: Spot, by: f64) -> bool {
    let (way, off) = (c - a, b - a);
    let side = way.x as f64 * off.y as f64 - way.y as f64 * off.x as f64;
    let (u, v) = (b - a, c - b);
    let onward = u.x as f64 * v.x as f64 + u.y as f64 * v.y as f64;
    // The corner lies to the left of the line past it, inside the region.
    side >= 0.0 && onward > 0.0 && side <= by * (way.x as f64).hypot(way.y as f64)
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
