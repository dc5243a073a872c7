//! Whether two shapes share board, decided in whole numbers.
//!
//! Shares no arithmetic with the forbidden sets the search runs on, so that it can vouch for them.
//! If two boundaries cross, the insides meet. If they do not, every contact is at a corner of one of
//! them, so that each edge, cut at those corners, lies wholly inside, outside or along the other
//! shape, which its middle tells; doubled coordinates keep middles whole.

use crate::sheet::shape::{Shape, Spot};

/// Where a point lies to a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Inside,
    Outside,
    /// On an edge that runs this way.
    Along(Spot),
}

/// Whether the insides of two shapes share a point. Coordinates up to 2^60.
#[must_use]
pub fn overlap(a: &Shape, b: &Shape) -> bool {
    let (ba, bb) = (a.bounds(), b.bounds());
    if ba.max.x <= bb.min.x || bb.max.x <= ba.min.x || ba.max.y <= bb.min.y || bb.max.y <= ba.min.y
    {
        return false;
    }
    edges(a).any(|(p, q)| edges(b).any(|(r, s)| crossing(p, q, r, s)))
        || enters(a, b)
        || enters(b, a)
}

/// Whether `part` lies within `room`, whose holes are not part of it.
#[must_use]
pub fn inside(part: &Shape, room: &Shape) -> bool {
    let (p, r) = (part.bounds(), room.bounds());
    if p.min.x < r.min.x || p.min.y < r.min.y || p.max.x > r.max.x || p.max.y > r.max.y {
        return false;
    }
    if edges(part).any(|(p, q)| edges(room).any(|(r, s)| crossing(p, q, r, s))) {
        return false;
    }
    let kept = |m: Side, way: Spot| match m {
        Side::Inside => true,
        Side::Outside => false,
        Side::Along(d) => wide_dot(d, way) > 0,
    };
    // No piece of the room's boundary inside the part, none of the part's boundary outside it.
    middles(part, room).all(|(m, way)| kept(side(m, room), way))
        && middles(room, part).all(|(m, _)| side(m, part) != Side::Inside)
}

fn enters(a: &Shape, b: &Shape) -> bool {
    middles(a, b).any(|(m, way)| match side(m, b) {
        Side::Inside => true,
        Side::Outside => false,
        // Both have their insides to the left of their edges.
        Side::Along(d) => wide_dot(d, way) > 0,
    })
}

fn edges(s: &Shape) -> impl Iterator<Item = (Spot, Spot)> + '_ {
    s.rings()
        .flat_map(|r| r.iter().copied().zip(r.iter().copied().cycle().skip(1)))
        .filter(|(p, q)| p != q)
}

/// Twice the middle of every piece of the edges of `a`, cut at corners of `b`, and its way.
fn middles<'a>(a: &'a Shape, b: &'a Shape) -> impl Iterator<Item = (Spot, Spot)> + 'a {
    edges(a).flat_map(move |(p, q)| {
        let way = q - p;
        let mut cuts: Vec<Spot> = b
            .rings()
            .flatten()
            .copied()
            .filter(|c| turning(p, q, *c) == 0 && between(p, q, *c))
            .collect();
        cuts.push(p);
        cuts.push(q);
        cuts.sort_unstable_by_key(|c| wide_dot(*c - p, way));
        cuts.dedup();
        let pieces: Vec<_> = cuts.windows(2).map(|w| (w[0] + w[1], way)).collect();
        pieces
    })
}

fn side(doubled: Spot, s: &Shape) -> Side {
    let twice = |p: Spot| Spot::new(2 * p.x, 2 * p.y);
    let mut odd = false;
    for (p, q) in edges(s) {
        let (p, q) = (twice(p), twice(q));
        let t = turning(p, q, doubled);
        if t == 0 && between(p, q, doubled) {
            return Side::Along(q - p);
        }
        if (p.y <= doubled.y) != (q.y <= doubled.y) && (t > 0) == (q.y > p.y) {
            odd = !odd;
        }
    }
    if odd { Side::Inside } else { Side::Outside }
}

fn turning(p: Spot, q: Spot, r: Spot) -> i128 {
    let w = |s: Spot| (i128::from(s.x), i128::from(s.y));
    let ((ax, ay), (bx, by)) = (w(q - p), w(r - p));
    ax * by - ay * bx
}

fn wide_dot(a: Spot, b: Spot) -> i128 {
    i128::from(a.x) * i128::from(b.x) + i128::from(a.y) * i128::from(b.y)
}

fn between(p: Spot, q: Spot, r: Spot) -> bool {
    r.x >= p.x.min(q.x) && r.x <= p.x.max(q.x) && r.y >= p.y.min(q.y) && r.y <= p.y.max(q.y)
}

fn crossing(p: Spot, q: Spot, r: Spot, s: Spot) -> bool {
    let opposite = |a: i128, b: i128| (a > 0 && b < 0) || (a < 0 && b > 0);
    opposite(turning(p, q, r), turning(p, q, s)) && opposite(turning(r, s, p), turning(r, s, q))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square_ring(x: i64, y: i64, s: i64) -> Vec<Spot> {
        Shape::rect(s, s).moved(Spot::new(x, y)).outer
    }

    #[test]
    fn touching_is_not_overlapping_and_the_same_place_is() {
        let a = Shape::rect(100, 50);
        assert!(!overlap(&a, &a.moved(Spot::new(100, 0))));
        assert!(!overlap(&a, &a.moved(Spot::new(30, 50))));
        assert!(overlap(&a, &a.moved(Spot::new(99, 0))));
        assert!(overlap(&a, &a));
        // A cross: no corner of one lies in the other.
        assert!(overlap(&a, &Shape::rect(10, 100).moved(Spot::new(40, -20))));
        // The same sides, shifted along them.
        assert!(overlap(&a, &a.moved(Spot::new(40, 0))));
    }

    #[test]
    fn a_window_holds_what_fits_it_exactly() {
        let mut hole = square_ring(10, 10, 80);
        hole.reverse();
        let frame = Shape {
            outer: square_ring(0, 0, 100),
            holes: vec![hole],
        };
        assert!(!overlap(
            &frame,
            &Shape::rect(80, 80).moved(Spot::new(10, 10))
        ));
        assert!(overlap(
            &frame,
            &Shape::rect(80, 80).moved(Spot::new(11, 10))
        ));
        assert!(overlap(&frame, &Shape::rect(10, 10)));
        assert!(inside(&Shape::rect(10, 100), &frame));
        assert!(!inside(&Shape::rect(11, 100), &frame));
        assert!(!inside(&Shape::rect(100, 100), &frame));
        assert!(inside(&frame, &frame));
        assert!(!inside(
            &Shape::rect(20, 20).moved(Spot::new(30, 30)),
            &frame
        ));
    }
}
