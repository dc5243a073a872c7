//! Where one shape may not stand beside another.
//!
//! For shapes A and B the forbidden set holds every shift of B, relative to A, at which their
//! insides share a point; it is open, so a shift on its edge lets them touch. It is the sum of A and
//! B mirrored through the origin: every edge of A swept along every edge of -B, and one copy of each
//! shape at a corner of the other, which fills what lies deep inside either (Minkowski sum; the set
//! is called the no-fit polygon in the packing literature, Art 1966).
//!
//! Holes of A are kept: shifts at which B stands wholly inside a window of A are not forbidden.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::shape::{Shape, Spot, doubled_area};

type Ring = Vec<IntPoint<i64>>;

/// The shifts of `b` that are forbidden beside `a`, as regions whose rings keep the turning of
/// [`Shape`]: points inside a region are forbidden, points on a ring are not.
#[must_use]
pub fn no_fit(a: &Shape, b: &Shape) -> Vec<Shape> {
    let mirrored = |r: &Vec<Spot>| r.iter().map(|p| -*p).collect::<Vec<_>>();
    let minus = Shape {
        outer: mirrored(&b.outer),
        holes: b.holes.iter().map(mirrored).collect(),
    };
    sum(a, &minus)
}

/// The filled Minkowski sum of two connected shapes.
fn sum(a: &Shape, b: &Shape) -> Vec<Shape> {
    let (Some(pa), Some(pb)) = (a.outer.first(), b.outer.first()) else {
        return Vec::new();
    };
    let mut pieces: Vec<Ring> = Vec::new();
    for ra in a.rings() {
        for (a0, a1) in edges(ra) {
            for rb in b.rings() {
                for (b0, b1) in edges(rb) {
                    let turning = (a1 - a0).cross(b1 - b0);
                    if turning == 0 {
                        continue;
                    }
                    // Every piece turns the same way, or one would cancel another.
                    let mut piece = vec![a0 + b0, a1 + b0, a1 + b1, a0 + b1];
                    if turning < 0 {
                        piece.reverse();
                    }
                    pieces.push(ring(&piece));
                }
            }
        }
    }
    pieces.extend(a.moved(*pb).rings().map(|r| ring(r)));
    pieces.extend(b.moved(*pa).rings().map(|r| ring(r)));
    shapes(&pieces)
}

fn edges(r: &[Spot]) -> impl Iterator<Item = (Spot, Spot)> + '_ {
    r.iter().copied().zip(r.iter().copied().cycle().skip(1))
}

fn ring(r: &[Spot]) -> Ring {
    r.iter().map(|p| IntPoint::new(p.x, p.y)).collect()
}

/// The union of rings, those turning clockwise being holes of those they came with.
fn shapes(rings: &[Ring]) -> Vec<Shape> {
    let mut overlay = Overlay::<i64>::new(rings.len() * 4);
    overlay.add_source(rings, ShapeType::Subject);
    overlay
        .overlay(OverlayRule::Subject, FillRule::NonZero)
        .into_iter()
        .filter_map(|rings| {
            let mut rings = rings.into_iter().map(|r| {
                r.into_iter()
                    .map(|p| Spot::new(p.x, p.y))
                    .collect::<Vec<_>>()
            });
            let mut outer = rings.next()?;
            if doubled_area(&outer) < 0 {
                outer.reverse();
            }
            let holes = rings.map(|mut hole| {
                if doubled_area(&hole) > 0 {
                    hole.reverse();
                }
                hole
            });
            Some(Shape {
                outer,
                holes: holes.collect(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(shapes: &[Shape]) -> i128 {
        shapes.iter().map(Shape::doubled_area).sum()
    }

    #[test]
    fn a_small_square_inside_a_large_one_is_forbidden_all_over() {
        let set = no_fit(&Shape::rect(1000, 1000), &Shape::rect(100, 100));
        assert_eq!(set.len(), 1);
        assert!(set[0].holes.is_empty());
        assert_eq!(area(&set), 2 * 1100 * 1100);
    }

    #[test]
    fn a_window_leaves_room_for_what_fits_it() {
        let at = Spot::new;
        let frame = Shape {
            outer: Shape::rect(1000, 1000).outer,
            holes: vec![vec![at(100, 100), at(100, 900), at(900, 900), at(900, 100)]],
        };
        let set = no_fit(&frame, &Shape::rect(300, 300));
        assert_eq!(set.len(), 1);
        assert_eq!(set[0].holes.len(), 1);
        assert_eq!(area(&set), 2 * (1300 * 1300 - 500 * 500));
        let set = no_fit(&frame, &Shape::rect(801, 300));
        assert!(set[0].holes.is_empty(), "too broad for the window");
    }
}
