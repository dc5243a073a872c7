//! The rigid part of a panel, and the board stretched round its creases.

use super::model::{Shape, Wedge};
use crate::blank::{Blank, FoldSide, STEEPEST};
use crate::geom::{DAffine3, DVec2, convex_pieces};
use crate::units::SLACK_MM;

/// Arcs are cut into chords at most this far from the curve, in mm.
pub const CHORD: f64 = 0.05;

/// A crease as seen from one of its two panels: its ends in that panel's own coordinates, in the
/// counter-clockwise sense, and how far the rigid part stands back from it.
struct Mouth {
    from: DVec2,
    to: DVec2,
    back: f64,
}

/// The rigid part of panel `i`: its outline, drawn in at each crease to the corner of the inside
/// faces (outside faces for a crease that folds outward), arcs in chords.
#[must_use]
pub fn shape(blank: &Blank, i: usize) -> Shape {
    let panel = &blank.panels[i];
    let mut rings = vec![drawn_in(
        &panel.outline.flattened(CHORD),
        &mouths(blank, i, |_| 0.0),
        0.0,
    )];
    rings.extend(panel.holes.iter().map(|h| h.flattened(CHORD)));
    Shape {
        pieces: convex_pieces(&rings),
        rings,
        caliper: blank.caliper.to_mm(),
        flutes: panel.place.inverse().vector(blank.flutes),
    }
}

/// The same of a blank that was `drawn` for other board, whose shape is `nominal`: every cut edge is drawn in by `cut` mm, and
/// the crease of a panel lies by what `off` says of it further out from the panel's parent than
/// drawn. What crosses itself then, being narrower than it is drawn in, stays as drawn.
#[must_use]
pub fn shape_as_made(
    made: &Blank,
    (drawn, nominal): (&Blank, &Shape),
    i: usize,
    cut: f64,
    off: impl Fn(usize) -> f64,
) -> Shape {
    let back = |b: &Blank, c: usize| stand_back(b.creases[c].allowance.to_mm(), b.creases[c].angle);
    // The edges of the drawn shape lie back from the creases; from there they move on.
    let mut moved = mouths(made, i, |c| -back(drawn, c));
    for (m, c) in moved.iter_mut().zip(creases_of(made, i)) {
        let inward = (m.to - m.from).normalize_or_zero().perp() * back(drawn, c);
        m.from += inward;
        m.to += inward;
        let crease = &made.creases[c];
        m.back += if crease.child == i {
            off(i)
        } else {
            -off(crease.child)
        };
    }
    let mut rings = Vec::with_capacity(nominal.rings.len());
    for (n, ring) in nominal.rings.iter().enumerate() {
        let at: &[Mouth] = if n == 0 { &moved } else { &[] };
        rings.push(drawn_in(ring, at, cut));
    }
    let pieces = convex_pieces(&rings);
    let area = |rings: &[Vec<DVec2>]| rings.iter().map(|r| signed_area(r)).sum::<f64>();
    let held: f64 = pieces.iter().map(|p| signed_area(p)).sum();
    let whole = area(&rings);
    let (rings, pieces) = if (held.abs() - whole).abs() <= 1e-6 * whole.abs() {
        (rings, pieces)
    } else {
        (nominal.rings.clone(), nominal.pieces.clone())
    };
    Shape {
        pieces,
        rings,
        caliper: made.caliper.to_mm(),
        flutes: nominal.flutes,
    }
}

fn signed_area(ring: &[DVec2]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    0.5 * ring
        .iter()
        .zip(next)
        .map(|(a, b)| a.perp_dot(*b))
        .sum::<f64>()
}

fn creases_of(blank: &Blank, i: usize) -> impl Iterator<Item = usize> {
    let all = blank.creases.iter().enumerate();
    all.filter(move |(_, c)| c.child == i || c.parent == i)
        .map(|(n, _)| n)
}

/// The creases of panel `i`, each with `more` to stand back than it takes.
fn mouths(blank: &Blank, i: usize, more: impl Fn(usize) -> f64) -> Vec<Mouth> {
    let home = blank.panels[i].place.inverse();
    creases_of(blank, i)
        .map(|n| {
            let c = &blank.creases[n];
            let (from, to) = (home.point(c.from), home.point(c.to));
            let (from, to) = if c.child == i { (from, to) } else { (to, from) };
            Mouth {
                from,
                to,
                back: stand_back(c.allowance.to_mm(), c.angle) + more(n),
            }
        })
        .collect()
}

fn stand_back(allowance: f64, angle: crate::units::Angle) -> f64 {
    if angle.to_rad() <= STEEPEST.to_rad() + 1e-9 {
        allowance
    } else {
        0.0
    }
}

/// One straight run of the ring and how far it stands back.
#[derive(Clone, Copy)]
struct Run {
    from: DVec2,
    to: DVec2,
    back: f64,
}

fn drawn_in(ring: &[DVec2], mouths: &[Mouth], cut: f64) -> Vec<DVec2> {
    if cut == 0.0 && mouths.iter().all(|m| m.back.abs() <= SLACK_MM) {
        return ring.to_vec();
    }
    let mut runs: Vec<Run> = Vec::with_capacity(ring.len() + 4);
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let d = b - a;
        let len = d.length();
        if len <= SLACK_MM {
            continue;
        }
        let e = d / len;
        let mut at: Vec<(f64, f64, f64)> = mouths
            .iter()
            .filter(|m| {
                e.perp_dot(m.from - a).abs() < SLACK_MM && e.perp_dot(m.to - a).abs() < SLACK_MM
            })
            .map(|m| (e.dot(m.from - a).max(0.0), e.dot(m.to - a).min(len), m.back))
            .filter(|(u, v, _)| v - u > SLACK_MM)
            .collect();
        at.sort_by(|x, y| x.0.total_cmp(&y.0));
        let mut u = 0.0;
        for (from, to, back) in at {
            if from - u > SLACK_MM {
                runs.push(Run {
                    from: a + e * u,
                    to: a + e * from,
                    back: cut,
                });
            }
            runs.push(Run {
                from: a + e * from,
                to: a + e * to,
                back,
            });
            u = to;
        }
        if len - u > SLACK_MM {
            runs.push(Run {
                from: a + e * u,
                to: b,
                back: cut,
            });
        }
    }
    let n = runs.len();
    let mut out: Vec<DVec2> = Vec::with_capacity(n + 4);
    for i in 0..n {
        let (a, b) = (runs[i], runs[(i + 1) % n]);
        let (da, db) = ((a.to - a.from).normalize(), (b.to - b.from).normalize());
        // Left of a counter-clockwise run is inside.
        let (end, start) = (a.to + da.perp() * a.back, b.from + db.perp() * b.back);
        let turn = da.perp_dot(db);
        if turn.abs() < 1e-9 {
            push(&mut out, end);
            push(&mut out, start);
            continue;
        }
        let u = (start - end).perp_dot(db) / turn;
        let meet = end + da * u;
        let reaches = meet.distance(a.to) < (a.to - a.from).length() + a.back + b.back
            && meet.distance(b.from) < (b.to - b.from).length() + a.back + b.back;
        if reaches {
            push(&mut out, meet);
        } else {
            push(&mut out, end);
            push(&mut out, start);
        }
    }
    if out.len() > 1 && out[0].distance(out[out.len() - 1]) <= SLACK_MM {
        out.pop();
    }
    without_spikes(out)
}

/// Leaves out corners at which the ring turns straight back: where the corner of a panel lies
/// past two creases nothing rigid is left of it, and the walk goes out and back along one line.
fn without_spikes(mut ring: Vec<DVec2>) -> Vec<DVec2> {
    let mut i = 0;
    while i < ring.len() && ring.len() > 3 {
        let n = ring.len();
        let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        let (u, v) = (b - a, c - b);
        let off = u.perp_dot(v).abs() / u.length().max(v.length()).max(SLACK_MM);
        if off <= SLACK_MM && u.dot(v) <= 0.0 {
            ring.remove(i);
            i = i.saturating_sub(2);
        } else {
            i += 1;
        }
    }
    ring
}

fn push(out: &mut Vec<DVec2>, p: DVec2) {
    if out.last().is_none_or(|q| q.distance(p) > SLACK_MM) {
        out.push(p);
    }
}

/// The board between the two rigid parts at the crease of panel `i` turned through `angle`: on
/// each side of the bisecting plane what is stretched on the convex face, and, while the fold is
/// not yet at its full angle, what is not yet crushed on the concave one. The crease lies `off` mm
/// further out from the parent than drawn. Empty when the fold is
/// past where a mitre has a meaning, or the panel has no crease.
#[must_use]
pub fn wedge(
    blank: &Blank,
    i: usize,
    (angle, off): (f64, f64),
    parent: DAffine3,
    own: DAffine3,
) -> Vec<Wedge> {
    let Some(c) = blank.panels[i].crease.map(|c| &blank.creases[c]) else {
        return Vec::new();
    };
    if angle > STEEPEST.to_rad() + 1e-9 {
        return Vec::new();
    }
    let t = blank.caliper.to_mm();
    let back = stand_back(c.allowance.to_mm(), c.angle);
    let p = c.axis_depth;
    // Heights of the concave face, the convex one, and the fold axis between them.
    let (concave, convex, axis) = match c.side {
        FoldSide::Inward => (0.0, -t, -p * t),
        FoldSide::Outward => (-t, 0.0, -(1.0 - p) * t),
    };
    // On the mitre a point lies past the crease line by its distance below the axis times
    // tan(a/2), and short of it above the axis.
    let half = (angle / 2.0).tan();
    let radius = (convex - axis).abs();
    let past = radius * half;
    // Bent past its full angle for a while, the board goes round its axis instead of standing out
    // in a mitre.
    let tip = if angle > c.angle.to_rad() + 1e-9 {
        let (sin, cos) = (angle / 2.0).sin_cos();
        (radius * sin, axis + (convex - axis) * cos)
    } else {
        (past, convex)
    };
    let short = (concave - axis).abs() * half;
    let mut out = Vec::with_capacity(4);
    for (frame, home, dir) in [
        (own, blank.panels[i].place.inverse(), 1.0),
        (parent, blank.panels[c.parent].place.inverse(), -1.0),
    ] {
        let (a, b) = (home.point(c.from), home.point(c.to));
        let outward = (b - a).normalize().perp() * -dir;
        let at = |end: DVec2, x: f64, z: f64| {
            frame.transform_point3((end + outward * (x - dir * off)).extend(z))
        };
        let prism = |corners: [(f64, f64); 3]| {
            let [p, q, r] = corners;
            Wedge([
                at(a, p.0, p.1),
                at(a, q.0, q.1),
                at(a, r.0, r.1),
                at(b, p.0, p.1),
                at(b, q.0, q.1),
                at(b, r.0, r.1),
            ])
        };
        if past + back > SLACK_MM {
            out.push(prism([(-back, concave), (-back, convex), tip]));
        }
        if back - short > SLACK_MM {
            out.push(prism([(-back, concave), tip, (-short, concave)]));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    // Both ends of the far edge stick out past the side walls' creases by what those take.
    #[test]
    fn a_corner_past_two_creases_leaves_no_spike() {
        let ring = [
            (100.0, 0.0),
            (100.0, 80.0),
            (102.4, 80.0),
            (-2.4, 80.0),
            (0.0, 80.0),
            (0.0, 0.0),
        ];
        let left = without_spikes(ring.iter().map(|p| DVec2::new(p.0, p.1)).collect());
        let corners: Vec<(f64, f64)> = left.iter().map(|p| (p.x, p.y)).collect();
        assert_eq!(
            corners,
            [(100.0, 0.0), (100.0, 80.0), (0.0, 80.0), (0.0, 0.0)]
        );
    }
}
