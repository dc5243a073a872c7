//! Blanks whose halves are mirror images: where they meet, and the mark that says so.

use super::narrow;
use super::sizes::Axis;
use crate::blank::Blank;
use crate::emit::scene::{Scene, ToPage};
use crate::geom::{DVec2, Path, Rect, Segment};
use crate::units::SLACK_MM;

/// How far the mark reaches into the blank and out of it, page mm.
const REACH: f64 = 3.5;

/// Where along the axis the blank's two halves meet, when they are mirror images.
pub(super) fn mirror_line(blank: &Blank, axis: Axis) -> Option<f64> {
    let middle = blank.bounds.centre();
    let image = |p: DVec2| match axis {
        Axis::X => DVec2::new(2.0 * middle.x - p.x, p.y),
        Axis::Y => DVec2::new(p.x, 2.0 * middle.y - p.y),
    };
    let near = |a: DVec2, b: DVec2| a.distance(b) <= SLACK_MM;
    let all: Vec<(_, Segment)> = blank
        .lines()
        .iter()
        .flat_map(|(u, p)| p.segments().map(|s| (*u, s)).collect::<Vec<_>>())
        .filter(|(_, s)| s.length() > SLACK_MM)
        .collect();
    let has_image = |(line_use, s): &(_, Segment)| {
        let (from, to) = (image(s.from), image(s.to));
        all.iter().any(|(u, o)| {
            let same = |bulge: f64| (o.bulge - bulge).abs() <= 1e-3;
            u == line_use
                && (near(o.from, to) && near(o.to, from) && same(s.bulge)
                    || near(o.from, from) && near(o.to, to) && same(-s.bulge))
        })
    };
    (!all.is_empty() && all.iter().all(has_image)).then(|| axis.of(middle))
}

/// What the note says.
pub(super) const fn words(axis: Axis) -> &'static str {
    match axis {
        Axis::X => {
            "The right half mirrors the left about the line marked = at its ends: sizes stand on one half."
        }
        Axis::Y => {
            "The upper half mirrors the lower about the line marked = at its ends: sizes stand on one half."
        }
    }
}

/// The mark at both ends of the line, in blank coordinates.
pub(super) fn marks(bounds: Rect, axis: Axis, scale: f64) -> Vec<Path> {
    let c = bounds.centre();
    let (along, ends) = match axis {
        Axis::X => (
            DVec2::X,
            [DVec2::new(c.x, bounds.min.y), DVec2::new(c.x, bounds.max.y)],
        ),
        Axis::Y => (
            DVec2::Y,
            [DVec2::new(bounds.min.x, c.y), DVec2::new(bounds.max.x, c.y)],
        ),
    };
    let mut out = Vec::new();
    for end in ends {
        let away = (end - c).normalize_or_zero() / scale;
        let across = 1.4 * along / scale;
        out.push(Path::line([end - REACH * away, end + REACH * away]));
        for k in [1.7, 2.6] {
            let at = end + k * away;
            out.push(Path::line([at - across, at + across]));
        }
    }
    out
}

pub(super) fn draw(scene: &mut Scene, bounds: Rect, axis: Axis, page: ToPage) {
    let lines = marks(bounds, axis, page.scale);
    scene.shape(
        lines.iter().map(|p| page.path(p)).collect(),
        None,
        Some(narrow(0.25)),
    );
}
