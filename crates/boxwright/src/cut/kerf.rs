//! Contours moved aside by half the kerf, so that what is left has the drawn size.
//!
//! A contour has the board on its left, so that the tool runs to its right. Arcs stay arcs. A tool
//! of a width w that is led round an outer corner leaves it sharp, whether it swings round or runs
//! past and back; up to a right angle the path is drawn out to its tip, which a machine runs more
//! evenly than a tiny arc, and round sharper corners it is an arc of radius w / 2.

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};

use crate::geom::{DVec2, Path, Segment, Vertex};
use crate::units::SLACK_MM;

/// Least area of a ring that the tool runs round, in mm2; less is rounding.
const CRUMB_MM2: f64 = 1e-6;
/// Corners that turn by more than this, in radians, are swung round: a right angle, and rounding.
const DRAWN_OUT: f64 = std::f64::consts::FRAC_PI_2 + 1e-6;

/// Why a contour has no path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Narrow {
    /// The whole window is narrower than the tool.
    Window,
    /// A neck or a mouth in it is.
    Neck,
}

/// The way of the tool's centre along a closed contour that has the board on its left.
///
/// # Errors
/// Where the tool does not fit.
pub fn beside(contour: &Path, kerf: f64) -> Result<Path, Narrow> {
    if kerf <= SLACK_MM {
        return Ok(contour.clone());
    }
    let half = kerf / 2.0;
    let mut line = Polyline::new_closed();
    for v in &contour.vertices {
        line.add(v.at.x, v.at.y, v.bulge);
    }
    let line = line.remove_repeat_pos(1e-5).unwrap_or(line);
    // Positive is to the left.
    let found: Vec<Path> = line
        .parallel_offset(-half)
        .iter()
        .map(|p| Path {
            vertices: p
                .iter_vertexes()
                .map(|v| Vertex {
                    at: DVec2::new(v.x, v.y),
                    bulge: v.bulge,
                })
                .collect(),
            closed: true,
        })
        .filter(|p| p.area().abs() > CRUMB_MM2)
        .collect();
    match found.as_slice() {
        [] => Err(Narrow::Window),
        [one] if (one.area() > 0.0) == (contour.area() > 0.0) => Ok(drawn_out(one, half)),
        _ => Err(Narrow::Neck),
    }
}

/// Small arcs round outer corners drawn out to their tips.
fn drawn_out(path: &Path, half: f64) -> Path {
    let n = path.vertices.len();
    let segments: Vec<Segment> = path.segments().collect();
    let tip = |i: usize| -> Option<DVec2> {
        let s = &segments[i];
        let straight = |k: usize| segments[k % n].bulge == 0.0;
        let turn = 4.0 * s.bulge.atan();
        let (centre, radius) = s.circle()?;
        let corner = turn > 0.0 && turn <= DRAWN_OUT && (radius - half).abs() < 1e-5;
        let middle = ((s.from + s.to) * 0.5 - centre).normalize_or_zero();
        (corner && straight(i + 1) && straight(i + n - 1))
            .then(|| centre + middle * (half / (turn / 2.0).cos()))
    };
    let tips: Vec<Option<DVec2>> = (0..n).map(tip).collect();
    let mut vertices = Vec::with_capacity(n);
    for i in 0..n {
        if let Some(at) = tips[i] {
            vertices.push(Vertex { at, bulge: 0.0 });
        } else if tips[(i + n - 1) % n].is_none() {
            vertices.push(path.vertices[i]);
        }
    }
    Path {
        vertices,
        closed: true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Rect;
    use proptest::prelude::*;

    fn rect(w: f64, h: f64) -> Path {
        Path::rect(Rect {
            min: DVec2::ZERO,
            max: DVec2::new(w, h),
        })
    }

    #[test]
    fn an_outline_grows_and_a_window_shrinks_by_half_the_kerf_each_side() {
        let out = beside(&rect(100.0, 50.0), 0.2).unwrap();
        assert_eq!(out.vertices.len(), 4);
        assert!((out.area() - 100.2 * 50.2).abs() < 1e-6);
        let window = beside(&rect(100.0, 50.0).reversed(), 0.2).unwrap();
        assert!((window.area() + 99.8 * 49.8).abs() < 1e-6);
        assert_eq!(
            beside(&rect(0.1, 50.0).reversed(), 0.2),
            Err(Narrow::Window)
        );
        assert_eq!(beside(&rect(10.0, 5.0), 0.0).unwrap(), rect(10.0, 5.0));
    }

    // Kerf measured as half the difference of hole and part, cut on the same line: a part of 19.76 and
    // a hole of 20.14 mm make a kerf of 0.19 mm. Source: Fab Academy 2017, kerf page (seen).
    #[test]
    fn compensated_part_and_hole_of_the_published_kerf_test_both_measure_as_drawn() {
        let kerf = (20.14 - 19.76) / 2.0;
        let drawn = rect(19.95, 19.95);
        let part = beside(&drawn, kerf).unwrap().bounds().size().x - kerf;
        let hole = beside(&drawn.reversed(), kerf).unwrap().bounds().size().x + kerf;
        assert!((part - 19.95).abs() < 1e-9 && (hole - 19.95).abs() < 1e-9);
    }

    #[test]
    fn arcs_stay_arcs() {
        let v = |x: f64, y: f64, bulge: f64| Vertex {
            at: DVec2::new(x, y),
            bulge,
        };
        let slot = Path {
            vertices: vec![
                v(0.0, -4.0, 0.0),
                v(30.0, -4.0, 1.0),
                v(30.0, 4.0, 0.0),
                v(0.0, 4.0, 1.0),
            ],
            closed: true,
        };
        let radius = |p: &Path| {
            p.segments()
                .filter_map(|s| s.circle())
                .map(|c| c.1)
                .collect::<Vec<_>>()
        };
        for r in radius(&beside(&slot, 0.16).unwrap()) {
            assert!((r - 4.08).abs() < 1e-9);
        }
        let inside = radius(&beside(&slot.reversed(), 0.16).unwrap());
        assert!(inside.len() >= 2 && inside.iter().all(|r| (r - 3.92).abs() < 1e-9));
    }

    #[test]
    fn a_mouth_narrower_than_the_tool_is_told() {
        let pocket = Path::polygon(
            [
                (0.0, 0.0),
                (40.0, 0.0),
                (40.0, 30.0),
                (20.05, 30.0),
                (20.05, 20.0),
                (30.0, 20.0),
                (30.0, 10.0),
                (10.0, 10.0),
                (10.0, 20.0),
                (19.95, 20.0),
                (19.95, 30.0),
                (0.0, 30.0),
            ]
            .map(|(x, y)| DVec2::new(x, y)),
        );
        assert_eq!(beside(&pocket, 0.2), Err(Narrow::Neck));
        assert!(beside(&pocket, 0.05).is_ok());
    }

    proptest! {
        /// Steiner's formula for a convex ring: area + length d + what the corners add, which for
        /// drawn-out tips is d^2 tan(turn / 2) each and for arcs d^2 turn / 2.
        #[test]
        fn area_grows_as_steiner_says(
            radii in prop::collection::vec(20.0..60.0f64, 5..9), kerf in 0.01..0.5f64,
        ) {
            let n = radii.len();
            let points: Vec<DVec2> = radii.iter().enumerate().map(|(i, _)| {
                #[allow(clippy::cast_precision_loss, reason = "a few")]
                let a = std::f64::consts::TAU * i as f64 / n as f64;
                DVec2::from_angle(a) * (50.0 + radii[i] / 100.0)
            }).collect();
            let ring = Path::polygon(points);
            let d = kerf / 2.0;
            let corners: f64 = (0..n).map(|i| {
                let s = [ring.segment((i + n - 1) % n), ring.segment(i)];
                let turn = (s[0].to - s[0].from).angle_to(s[1].to - s[1].from);
                d * d * if turn <= DRAWN_OUT { (turn / 2.0).tan() } else { turn / 2.0 }
            }).sum();
            let want = ring.area() + ring.length() * d + corners;
            prop_assert!((beside(&ring, kerf).unwrap().area() - want).abs() < 1e-6);
        }
    }
}
