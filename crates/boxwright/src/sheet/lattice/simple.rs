//! A shape with fewer corners that holds a given one within it.
//!
//! A hollow corner is filled, or a side between two full corners is moved out to where its neighbours
//! meet, whichever goes least far out; what lies clear of the simpler shape lies clear of the given one.

use crate::sheet::shape::{Shape, Spot};

/// A change at one corner or side of a ring: how far out it goes, where, and the corner put in.
struct Change {
    out: f64,
    at: usize,
    corner: Option<Spot>,
}

/// Takes away corners, the least changes first, until `corners` are left in all or the next would
/// go further out than `farthest` grid steps.
pub(super) fn simpler(shape: &Shape, corners: usize, farthest: f64) -> Shape {
    let mut rings: Vec<Vec<Spot>> = shape
        .rings()
        .filter_map(|r| super::convex::bending(r))
        .collect();
    while rings.iter().map(Vec::len).sum::<usize>() > corners {
        let mut least: Option<(usize, Change)> = None;
        for (k, ring) in rings.iter().enumerate() {
            if let Some(c) = cheapest(ring, &rings)
                && least.as_ref().is_none_or(|l| c.out < l.1.out)
            {
                least = Some((k, c));
            }
        }
        let Some((k, change)) = least else {
            break;
        };
        if change.out > farthest {
            break;
        }
        let ring = &mut rings[k];
        let n = ring.len();
        if let Some(p) = change.corner {
            ring[change.at] = p;
            ring.remove((change.at + 1) % n);
        } else {
            ring.remove(change.at);
        }
        match super::convex::bending(ring) {
            Some(r) => *ring = r,
            None => {
                rings.remove(k);
            }
        }
    }
    let mut rings = rings.into_iter();
    Shape {
        outer: rings.next().unwrap_or_default(),
        holes: rings.collect(),
    }
}

#[allow(clippy::cast_precision_loss, reason = "only ranks the changes")]
fn off(p: Spot, a: Spot, b: Spot) -> f64 {
    let d = b - a;
    (d.cross(p - a) as f64).abs() / (d.x as f64).hypot(d.y as f64).max(1.0)
}

/// Whether the triangle, counter-clockwise, holds no corner but its own.
fn empty(t: [Spot; 3], rings: &[Vec<Spot>]) -> bool {
    let [a, b, c] = t;
    rings.iter().flatten().all(|p| {
        t.contains(p)
            || (b - a).cross(*p - a) < 0
            || (c - b).cross(*p - b) < 0
            || (a - c).cross(*p - c) < 0
    })
}

fn cheapest(ring: &[Spot], rings: &[Vec<Spot>]) -> Option<Change> {
    let n = ring.len();
    if n <= 3 {
        return None;
    }
    let mut changes: Vec<Change> = Vec::with_capacity(n);
    for i in 0..n {
        let [a, b, c, d] = [i + n - 1, i, i + 1, i + 2].map(|i| ring[i % n]);
        if (b - a).cross(c - b) < 0 {
            changes.push(Change {
                out: off(b, a, c),
                at: i,
                corner: None,
            });
        } else if (c - b).cross(d - c) > 0
            && let Some(p) = meeting(a, b, c, d)
        {
            changes.push(Change {
                out: off(p, b, c),
                at: i,
                corner: Some(p),
            });
        }
    }
    changes.sort_by(|a, b| a.out.total_cmp(&b.out));
    changes.into_iter().find(|change| {
        let i = change.at;
        let [a, b, c] = [i + n - 1, i, i + 1].map(|i| ring[i % n]);
        match change.corner {
            // The filled triangle lies on the right of a, b, c.
            None => empty([a, c, b], rings),
            Some(p) => empty([b, p, c], rings),
        }
    })
}

/// Where the side into `b` and the side out of `c` meet beyond the side between them, as a grid point
/// from which both lie on or inside the new sides.
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "rounded, then checked in whole numbers"
)]
fn meeting(a: Spot, b: Spot, c: Spot, d: Spot) -> Option<Spot> {
    let (e, f) = (b - a, d - c);
    let den = e.cross(f) as f64;
    if den <= 0.0 {
        return None;
    }
    let t = (c - b).cross(f) as f64 / den;
    let p = Spot::new(
        b.x + (e.x as f64 * t).round() as i64,
        b.y + (e.y as f64 * t).round() as i64,
    );
    let around = [0, 1, -1, 2, -2];
    around
        .iter()
        .flat_map(|x| around.iter().map(move |y| p + Spot::new(*x, *y)))
        .find(|p| {
            (*p - a).cross(b - a) >= 0 && (d - *p).cross(c - *p) >= 0 && (*p - b).cross(c - *p) > 0
        })
}
