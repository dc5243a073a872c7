//! What must hold before a blank may be folded or cut.

use std::sync::Arc;

use super::model::{Blank, Sound};
use crate::geom::{DVec2, Hull, Rect, convex_pieces};
use crate::units::{Length, SLACK_MM};

/// Something wrong with a flat blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Defect {
    /// Stable, such as `flat-overlap`.
    pub code: &'static str,
    /// In one sentence.
    pub message: String,
    /// The piece.
    pub piece: String,
    /// The panels it is about.
    pub panels: Vec<String>,
    /// How much, where that can be said.
    pub measured: Option<Length>,
    /// Where, in blank coordinates.
    pub place: DVec2,
}

/// How finely arcs are cut into chords for the overlap test, in mm.
pub(super) const CHORD: f64 = 0.05;

/// Checks a blank.
///
/// # Errors
/// Panels that overlap when flat; cut-outs that leave their panel.
pub fn validate(blank: Arc<Blank>) -> Result<Sound, Vec<Defect>> {
    let mut defects = Vec::new();
    let n = blank.panels.len();
    let shapes: Vec<(Rect, Vec<Hull>)> = blank
        .panels
        .iter()
        .map(|p| {
            let whole = std::iter::once(&p.outline).chain(&p.holes);
            let rings: Vec<Vec<DVec2>> = whole.map(|r| p.place.path(r).flattened(CHORD)).collect();
            let bounds = rings.iter().flatten().fold(Rect::EMPTY, |r, q| r.with(*q));
            (bounds, convex_pieces(&rings))
        })
        .collect();
    for i in 0..n {
        for j in i + 1..n {
            if !touch(shapes[i].0, shapes[j].0) {
                continue;
            }
            let mut worst: Option<(f64, DVec2)> = None;
            for a in &shapes[i].1 {
                for b in &shapes[j].1 {
                    if let Some((depth, at)) = overlap(a, b)
                        && worst.is_none_or(|(d, _)| depth > d)
                    {
                        worst = Some((depth, at));
                    }
                }
            }
            if let Some((depth, at)) = worst {
                let (a, b) = (&blank.panels[i].name, &blank.panels[j].name);
                defects.push(Defect {
                    code: "flat-overlap",
                    message: format!(
                        "flat, `{a}` and `{b}` would need the same board, {depth:.2} mm deep"
                    ),
                    piece: blank.piece.clone(),
                    panels: vec![a.clone(), b.clone()],
                    measured: Some(Length::mm(depth)),
                    place: at,
                });
            }
        }
    }
    for p in &blank.panels {
        let ring = p.outline.flattened(CHORD);
        for h in &p.holes {
            if let Some(out) = h.flattened(CHORD).into_iter().find(|q| !inside(&ring, *q)) {
                defects.push(Defect {
                    code: "cut-out-outside",
                    message: format!("a cut-out of `{}` leaves its panel", p.name),
                    piece: blank.piece.clone(),
                    panels: vec![p.name.clone()],
                    measured: None,
                    place: p.place.point(out),
                });
            }
        }
    }
    if defects.is_empty() {
        Ok(Sound(blank))
    } else {
        Err(defects)
    }
}

fn touch(a: Rect, b: Rect) -> bool {
    a.min.cmplt(b.max).all() && b.min.cmplt(a.max).all()
}

/// How deep two convex polygons overlap, and a point between them.
fn overlap(a: &[DVec2], b: &[DVec2]) -> Option<(f64, DVec2)> {
    let mut least = f64::INFINITY;
    for ring in [a, b] {
        for i in 0..ring.len() {
            let e = ring[(i + 1) % ring.len()] - ring[i];
            let Some(axis) = e.perp().try_normalize() else {
                continue;
            };
            let span = |r: &[DVec2]| {
                r.iter()
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
                        let d = axis.dot(*p);
                        (lo.min(d), hi.max(d))
                    })
            };
            let ((a0, a1), (b0, b1)) = (span(a), span(b));
            least = least.min((a1 - b0).min(b1 - a0));
            if least <= SLACK_MM {
                return None;
            }
        }
    }
    let centre = |r: &[DVec2]| {
        r.iter().copied().sum::<DVec2>() / {
            #[allow(clippy::cast_precision_loss, reason = "a polygon has few corners")]
            let n = r.len() as f64;
            n
        }
    };
    Some((least, (centre(a) + centre(b)) * 0.5))
}

pub(super) fn inside(ring: &[DVec2], p: DVec2) -> bool {
    let mut odd = false;
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    odd
}
