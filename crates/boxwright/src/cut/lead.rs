//! Lead-ins: a short cut from the waste to the contour, so that the mark where the tool goes on
//! lies in the waste.
//!
//! It meets the contour square. Where it would touch another cut, a part or the edge of the sheet it
//! is halved, three times at most; then the contour is begun without.

use super::track::Track;
use crate::geom::{DVec2, Path, Rect, Vertex};

/// How often a lead-in is halved.
const HALVED: u32 = 3;
/// So far off the contour it is looked at first, in mm: more than chords stray from their arcs.
const OFF_MM: f64 = 0.05;
/// A lead-in stays so far from any other cut, in mm.
const ROOM_MM: f64 = 0.3;

/// What a lead-in has to keep clear of.
pub(super) struct Around<'a> {
    /// Every tool path of a contour on the sheet, in chords.
    pub(super) rings: &'a [Vec<DVec2>],
    /// The sheet.
    pub(super) sheet: Rect,
}

/// The start of a lead-in to a point of a contour that has the board on its left.
pub(super) fn start(track: &Track, way: f64, length: f64, around: &Around<'_>) -> Option<DVec2> {
    let at = track.point(way);
    let out = -track.heading(way).perp();
    (0..=HALVED).find_map(|n| {
        let far = at + out * length / f64::from(1u32 << n);
        is_free(at, far, around).then_some(far)
    })
}

/// The path with a lead-in in front.
pub(super) fn led(start: DVec2, mut path: Path) -> Path {
    path.vertices.insert(
        0,
        Vertex {
            at: start,
            bulge: 0.0,
        },
    );
    path
}

fn is_free(at: DVec2, far: DVec2, around: &Around<'_>) -> bool {
    let s = around.sheet;
    let on_sheet = far.cmpge(s.min + ROOM_MM).all() && far.cmple(s.max - ROOM_MM).all();
    // From a little off the contour itself to a little past the start.
    let out = (far - at).normalize_or_zero();
    let (from, to) = (at + out * OFF_MM, far + out * ROOM_MM);
    on_sheet && around.rings.iter().all(|ring| !crossed(ring, from, to))
}

fn crossed(ring: &[DVec2], from: DVec2, to: DVec2) -> bool {
    let next = ring.iter().cycle().skip(1);
    let way = to - from;
    ring.iter().zip(next).any(|(a, b)| {
        let edge = *b - *a;
        let det = way.perp_dot(edge);
        if det.abs() > 1e-12 {
            let on_way = (*a - from).perp_dot(edge) / det;
            let on_edge = (*a - from).perp_dot(way) / det;
            return (0.0..=1.0).contains(&on_way) && (0.0..=1.0).contains(&on_edge);
        }
        // Side by side: only on one line can they meet.
        let length = way.length();
        let along = |p: DVec2| way.dot(p - from) / length;
        let apart = way.perp_dot(*a - from).abs() / length > 1e-9;
        !apart && along(*a).max(along(*b)) >= 0.0 && along(*a).min(along(*b)) <= length
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Path {
        Path::rect(Rect {
            min: DVec2::new(x0, y0),
            max: DVec2::new(x1, y1),
        })
    }

    #[test]
    fn a_window_is_led_into_from_inside_and_an_outline_from_outside() {
        let (outline, window) = (
            rect(10.0, 10.0, 90.0, 60.0),
            rect(30.0, 20.0, 50.0, 40.0).reversed(),
        );
        let rings = [outline.flattened(0.01), window.flattened(0.01)];
        let sheet = Rect {
            min: DVec2::ZERO,
            max: DVec2::new(100.0, 70.0),
        };
        let around = Around {
            rings: &rings,
            sheet,
        };
        let lead = |p: &Path, length: f64| {
            let track = Track::new(p);
            start(&track, track.length() / 8.0, length, &around)
        };
        let s = lead(&outline, 2.0).unwrap();
        assert!((s.y - 8.0).abs() < 1e-9, "{s}");
        let w = lead(&window, 2.0).unwrap();
        assert!(
            (31.9..49.0).contains(&w.x) && (21.9..39.0).contains(&w.y),
            "{w}"
        );
        // Too long for the sheet's edge: halved; too long at all: none.
        assert!((lead(&outline, 12.0).unwrap().y - 4.0).abs() < 1e-9);
        assert_eq!(lead(&outline, 200.0), None);
        assert_eq!(led(s, outline).vertices[0].at, s);
    }
}
