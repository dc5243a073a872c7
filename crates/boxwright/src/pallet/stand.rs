//! What a layer stands on: how much of its corners, walls and area lies over those of the layer
//! below. Plain geometry; what it does to strength is for the reader of the figures.

use serde::Serialize;

use super::prove::Placed;

/// How far a corner or wall may lie beside the one below, in micrometres, and still stand on it.
/// Default: about the caliper of a single wall; no source.
pub(super) const BESIDE: i64 = 5_000;

/// What an upper layer stands on, as shares from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Upright edges that stand on an upright edge of the layer below, within 5 mm either way.
    pub corners: f64,
    /// Length of upright walls that stand on a wall of the layer below, within 5 mm.
    pub walls: f64,
    /// Area of the cases that has a case below it.
    pub area: f64,
    /// Cases that stand on more than one case: they tie the layer below together.
    pub bridging: f64,
}

/// Measures the layer `upper` on the layer `lower`, both in micrometres in one frame.
#[must_use]
pub fn standing(upper: &[Placed], lower: &[Placed]) -> Standing {
    if upper.is_empty() {
        return Standing {
            corners: 0.0,
            walls: 0.0,
            area: 0.0,
            bridging: 0.0,
        };
    }
    let corners_of = |r: &Placed| {
        let [x, y, w, h] = *r;
        [[x, y], [x + w, y], [x, y + h], [x + w, y + h]]
    };
    let below: Vec<[i64; 2]> = lower.iter().flat_map(corners_of).collect();
    let near = |a: i64, b: i64| (a - b).abs() <= BESIDE;
    let on = |c: &[i64; 2]| below.iter().any(|b| near(c[0], b[0]) && near(c[1], b[1]));
    let all: Vec<[i64; 2]> = upper.iter().flat_map(corners_of).collect();
    let corners = all.iter().filter(|c| on(c)).count();
    let (mut long, mut held, mut area, mut over) = (0, 0, 0, 0);
    let mut bridging = 0;
    for r in upper {
        for (at, from, to, axis) in sides(r) {
            long += to - from;
            held += covered(from, to, lower, |b| {
                let same = sides(b)
                    .into_iter()
                    .filter(move |s| s.3 == axis && near(s.0, at));
                same.map(|s| (s.1, s.2)).collect()
            });
        }
        area += r[2] * r[3] / 1000;
        let mut under = 0;
        for b in lower {
            let share = |a: usize| (r[a] + r[a + 2]).min(b[a] + b[a + 2]) - r[a].max(b[a]);
            if share(0) > 0 && share(1) > 0 {
                over += share(0) * share(1) / 1000;
                under += usize::from(share(0) > BESIDE && share(1) > BESIDE);
            }
        }
        bridging += usize::from(under > 1);
    }
    #[allow(
        clippy::cast_precision_loss,
        reason = "shares of counts and lengths far below 2^53"
    )]
    let share = |part: i64, all: i64| part as f64 / all.max(1) as f64;
    let number = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    Standing {
        corners: share(number(corners), number(all.len())),
        walls: share(held, long),
        area: share(over, area),
        bridging: share(number(bridging), number(upper.len())),
    }
}

/// The four sides: where across, from, to, and along which axis.
fn sides(r: &Placed) -> [(i64, i64, i64, usize); 4] {
    let [x, y, w, h] = *r;
    [
        (y, x, x + w, 0),
        (y + h, x, x + w, 0),
        (x, y, y + h, 1),
        (x + w, y, y + h, 1),
    ]
}

/// How much of a stretch others cover together.
fn covered(
    from: i64,
    to: i64,
    lower: &[Placed],
    stretches: impl Fn(&Placed) -> Vec<(i64, i64)>,
) -> i64 {
    let mut all: Vec<(i64, i64)> = lower.iter().flat_map(stretches).collect();
    all.sort_unstable();
    let (mut sum, mut at) = (0, from);
    for (a, b) in all {
        let (a, b) = (a.max(at), b.min(to));
        if b > a {
            sum += b - a;
            at = b;
        }
    }
    sum
}
