//! What is missing from a sheet's box: off-cuts have notches, slanted sides and holes.
//!
//! Each missing piece stands on the sheet as a fixed part, so that one measure serves for parts and
//! edges, and so that a part may fill the way between a bite and the box exactly.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use crate::sheet::shape::{Shape, Spot, doubled_area};

/// The pieces that the box round a sheet has and the sheet has not.
#[must_use]
pub fn bites(sheet: &Shape) -> Vec<Shape> {
    let ring =
        |r: &[Spot]| -> Vec<IntPoint<i64>> { r.iter().map(|p| IntPoint::new(p.x, p.y)).collect() };
    let b = sheet.bounds();
    let whole = Shape::rect(b.width(), b.height()).moved(b.min);
    let rings: Vec<_> = sheet.rings().map(|r| ring(r)).collect();
    let mut overlay = Overlay::<i64>::new(rings.len() * 8 + 4);
    overlay.add_source(&[ring(&whole.outer)], ShapeType::Subject);
    overlay.add_source(&rings, ShapeType::Clip);
    overlay
        .overlay(OverlayRule::Difference, FillRule::NonZero)
        .into_iter()
        .filter_map(|rings| {
            let mut rings = rings
                .into_iter()
                .map(|r| r.into_iter().map(|p| Spot::new(p.x, p.y)).collect());
            let turned = |mut r: Vec<Spot>, left: bool| {
                if (doubled_area(&r) > 0) != left {
                    r.reverse();
                }
                r
            };
            Some(Shape {
                outer: turned(rings.next()?, true),
                holes: rings.map(|r| turned(r, false)).collect(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_has_none_and_an_l_has_one() {
        assert!(bites(&Shape::rect(100, 50)).is_empty());
        let at = Spot::new;
        let l = Shape {
            outer: vec![
                at(0, 0),
                at(100, 0),
                at(100, 40),
                at(30, 40),
                at(30, 80),
                at(0, 80),
            ],
            holes: vec![vec![at(5, 5), at(5, 10), at(10, 10), at(10, 5)]],
        };
        let got = bites(&l);
        let mut areas: Vec<i128> = got.iter().map(Shape::doubled_area).collect();
        areas.sort_unstable();
        assert_eq!(areas, [2 * 25, 2 * 70 * 40]);
    }
}
