//! A crease or perforation as dashes.
//!
//! Dashes never reach an end of the line: there a crease meets another, a corner or a slot, and a
//! cut through would let it tear on. At each end stays a gap of half the stated one at least. Inside,
//! every gap is as stated, and so is every dash but the first and the last, which may be shorter.

use super::track::Track;
use crate::geom::{DVec2, Path};

/// A line ends on another when it comes this close to it, in mm.
const SAME_POINT_MM: f64 = 1e-3;

/// Ways from and to of each dash on a line of this length, in mm; none when the line is no longer
/// than one gap.
#[must_use]
pub fn dashes(length: f64, cut: f64, gap: f64) -> Vec<(f64, f64)> {
    let pitch = cut + gap;
    let whole = (length / pitch + 1e-9).floor();
    let rest = (length - whole * pitch).max(0.0);
    let inner = |n: f64, first: f64, end: f64| {
        // n dashes of which the first and last measure `first`, with `end` free at both ends.
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count of dashes on a line of some metres"
        )]
        let count = n as usize;
        let mut at = end;
        (0..count)
            .map(|i| {
                let long = if i == 0 || i + 1 == count { first } else { cut };
                let dash = (at, at + long);
                at += long + gap;
                dash
            })
            .collect()
    };
    if whole == 0.0 {
        return if rest > gap {
            inner(1.0, rest - gap, gap / 2.0)
        } else {
            Vec::new()
        };
    }
    if rest <= gap {
        // What is over goes to the two ends.
        inner(whole, cut, f64::midpoint(gap, rest))
    } else {
        // One dash more, the first and the last shortened alike.
        inner(whole + 1.0, f64::midpoint(cut, rest - gap), gap / 2.0)
    }
}

/// The dashes of a line as paths. At each of the `joints`, points where other lines end on this one,
/// it is taken as two lines, so that no dash ends there or runs through.
#[must_use]
pub fn dashed(path: &Path, cut: f64, gap: f64, joints: &[DVec2]) -> Vec<Path> {
    let track = Track::new(path);
    let mut ends = vec![0.0, track.length()];
    ends.extend(
        joints
            .iter()
            .filter_map(|p| track.way_at(*p, SAME_POINT_MM)),
    );
    ends.sort_by(f64::total_cmp);
    let parts = ends.windows(2).flat_map(|w| {
        let (from, to) = (w[0], w[1]);
        dashes(to - from, cut, gap)
            .into_iter()
            .map(move |(a, b)| (from + a, from + b))
    });
    parts.map(|(from, to)| track.piece(from, to)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn dashes_by_hand() {
        // 20 mm of 4 + 4: two and a half pitches leave 4, which is one gap, for the ends.
        assert_eq!(dashes(20.0, 4.0, 4.0), [(4.0, 8.0), (12.0, 16.0)]);
        // 22 mm: 6 over, so a third dash; the outer two measure (4 + 6 - 4) / 2 = 3.
        assert_eq!(
            dashes(22.0, 4.0, 4.0),
            [(2.0, 5.0), (9.0, 13.0), (17.0, 20.0)]
        );
        assert_eq!(dashes(7.0, 4.0, 4.0), [(2.0, 5.0)]);
        assert!(dashes(4.0, 4.0, 4.0).is_empty());
    }

    #[test]
    fn a_line_is_parted_where_others_end_on_it() {
        let line = Path::line([DVec2::ZERO, DVec2::new(60.0, 0.0)]);
        let joints = [
            DVec2::new(22.0, 0.0),
            DVec2::new(60.0, 0.0),
            DVec2::new(30.0, 5.0),
        ];
        let list = dashed(&line, 4.0, 4.0, &joints);
        for d in &list {
            let (a, b) = (d.vertices[0].at.x, d.vertices[1].at.x);
            assert!(b <= 20.0 + 1e-9 || a >= 24.0 - 1e-9, "{a} {b}");
        }
        // 22 mm by hand above, and 38 mm: four pitches leave 6, so five with outer ones of 3.
        assert_eq!(list.len(), 3 + 5);
    }

    proptest! {
        #[test]
        fn half_a_gap_stays_at_both_ends_and_gaps_are_as_stated(
            length in 0.1..3000.0f64, cut in 0.2..50.0f64, gap in 0.2..50.0f64,
        ) {
            let list = dashes(length, cut, gap);
            prop_assert!(!list.is_empty() || length <= gap + 1e-6);
            for (i, (from, to)) in list.iter().enumerate() {
                prop_assert!(*from >= gap / 2.0 - 1e-6 && length - to >= gap / 2.0 - 1e-6);
                prop_assert!(to - from > 0.0 && to - from <= cut + 1e-6);
                let outer = i == 0 || i + 1 == list.len();
                prop_assert!(outer || (to - from - cut).abs() < 1e-6);
                if i > 0 {
                    prop_assert!((from - list[i - 1].1 - gap).abs() < 1e-6);
                }
            }
            // The two end gaps are alike and no longer than one and a half.
            if let (Some(first), Some(last)) = (list.first(), list.last()) {
                prop_assert!((first.0 - (length - last.1)).abs() < 1e-6);
                prop_assert!(first.0 <= gap + 1e-6);
            }
        }
    }
}
