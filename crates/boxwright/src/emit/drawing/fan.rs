//! Where the numbers of one chain stand: over their span, beside the chain's end, or fanned out
//! on leaders in rows close to the line.
//!
//! Everything is in page mm: x along the chain, y out from the blank.

use super::chain::Side;
use crate::emit::clip;
use crate::geom::{DVec2, Path, Rect};

/// Air between a line and the text above it.
const ABOVE: f64 = 0.9;
/// Air between texts.
const AIR: f64 = 0.9;
/// Air between a text and a line that passes it.
const CLEAR: f64 = 0.5;
/// Air between a text above the line and its stops, past the oblique strokes.
const BESIDE: f64 = 1.15;
/// How far beside its chain a number may stand when others could be meant.
const FAR: f64 = 10.0;
/// Rows of numbers on leaders.
const ROWS: u32 = 8;
/// How far extension lines run past the dimension line.
pub(super) const PAST: f64 = 1.6;

/// The strip a chain lies in.
#[derive(Clone, Copy)]
pub(super) struct Strip {
    /// Where it begins, out from the blank.
    pub start: f64,
    /// Height of capitals.
    pub cap: f64,
    /// Whether "above the line" is towards the blank.
    pub inward: bool,
}

impl Strip {
    pub(super) const fn new(start: f64, cap: f64, side: Side) -> Self {
        Self {
            start,
            cap,
            inward: side.text_inward(),
        }
    }
    /// Where the dimension line runs.
    pub(super) fn line(&self) -> f64 {
        self.start + if self.inward { self.cap + ABOVE } else { 0.0 }
    }
    /// The edge of a row nearest the blank; row 0 is the text above the line.
    fn near(&self, row: u32) -> f64 {
        let high = self.cap + 1.5;
        match (self.inward, row) {
            (true, 0) => self.start,
            (true, r) => self.line() + PAST + 0.6 + f64::from(r - 1) * high,
            (false, r) => self.line() + ABOVE + f64::from(r) * high,
        }
    }
    /// Where the strip ends when only row 0 is used.
    fn least_end(&self) -> f64 {
        if self.inward {
            self.line() + PAST
        } else {
            self.near(0) + self.cap
        }
    }
    fn text(&self, row: u32, middle: f64, half: f64) -> Rect {
        let near = self.near(row);
        Rect {
            min: DVec2::new(middle - half, near),
            max: DVec2::new(middle + half, near + self.cap),
        }
    }
    fn base(&self, row: u32) -> f64 {
        self.near(row) + if self.inward { self.cap } else { 0.0 }
    }
}

/// What a chain must keep clear of.
pub(super) struct Around<'a> {
    /// Its own stops.
    pub own: &'a [f64],
    /// Extension lines of chains further out, in rising order.
    pub passing: &'a [f64],
    /// How far its texts may reach.
    pub limits: (f64, f64),
}

/// A number in its place.
pub(super) struct Placed {
    pub index: usize,
    pub middle: f64,
    pub base: f64,
    /// Where the leader leaves the line, and where it ends.
    pub leader: Option<(f64, DVec2)>,
}

/// The numbers of a chain in their places.
pub(super) struct Fan {
    pub placed: Vec<Placed>,
    /// Ends of the line: the outer stops, or further where a number stands beside them.
    pub ends: (f64, f64),
    /// Where the strip ends.
    pub end: f64,
    /// Numbers that do not stand over their own span.
    pub moved: usize,
    /// Numbers that found no place.
    pub dropped: usize,
    /// How hard the whole is to read: lower is better.
    pub cost: f64,
}

fn clear(passing: &[f64], low: f64, high: f64) -> bool {
    passing
        .iter()
        .all(|p| *p < low - CLEAR || *p > high + CLEAR)
}

fn grown(r: Rect, by: f64) -> Rect {
    Rect {
        min: r.min - DVec2::splat(by),
        max: r.max + DVec2::splat(by),
    }
}

fn meets(line: [DVec2; 2], r: Rect) -> bool {
    !clip::path(&Path::line(line), grown(r, 0.4)).is_empty()
}

fn crosses(a: [DVec2; 2], b: [DVec2; 2]) -> bool {
    let apart = |l: [DVec2; 2], m: [DVec2; 2]| {
        let d = l[1] - l[0];
        d.perp_dot(m[0] - l[0]) * d.perp_dot(m[1] - l[0]) > 0.0
    };
    !apart(a, b) && !apart(b, a)
}

/// What is already written.
#[derive(Default)]
struct Written {
    texts: Vec<Rect>,
    leaders: Vec<[DVec2; 2]>,
}

impl Written {
    fn leaves_room(&self, text: Rect, leader: Option<[DVec2; 2]>) -> bool {
        let wide = grown(text, AIR);
        self.texts.iter().all(|t| {
            t.max.x <= wide.min.x
                || t.min.x >= wide.max.x
                || t.max.y <= wide.min.y
                || t.min.y >= wide.max.y
        }) && self.leaders.iter().all(|l| !meets(*l, text))
            && leader.is_none_or(|l| {
                self.texts.iter().all(|t| !meets(l, *t))
                    && self.leaders.iter().all(|m| !crosses(l, *m))
            })
    }
}

impl Around<'_> {
    fn holds(&self, middle: f64, half: f64) -> bool {
        let (low, high) = (middle - half, middle + half);
        low >= self.limits.0 && high <= self.limits.1 && clear(self.passing, low, high)
    }

    /// Over its own span.
    fn over(&self, i: usize, half: f64) -> Option<f64> {
        let (a, b) = (self.own[i], self.own[i + 1]);
        [0.5, 0.35, 0.65, 0.2, 0.8]
            .iter()
            .map(|k| a + k * (b - a))
            .find(|m| {
                m - half - BESIDE >= a
                    && m + half + BESIDE <= b
                    && clear(self.passing, m - half, m + half)
            })
    }

    /// Beside the chain's end, over the line made longer: right beside it, else just past one of
    /// the lines in the way.
    fn beside(&self, i: usize, half: f64) -> Option<f64> {
        let (first, last) = (*self.own.first()?, *self.own.last()?);
        let only = self.own.len() == 2;
        let far = if only { f64::INFINITY } else { FAR };
        let right = std::iter::once(last + 1.6)
            .chain(
                self.passing
                    .iter()
                    .map(|p| p + 0.7)
                    .filter(|p| *p > last + 1.6),
            )
            .filter(|low| i + 2 == self.own.len() && low - last <= far)
            .map(|low| low + half);
        let left = std::iter::once(first - 1.6)
            .chain(
                self.passing
                    .iter()
                    .map(|p| p - 0.7)
                    .filter(|p| *p < first - 1.6)
                    .rev(),
            )
            .filter(|high| i == 0 && first - high <= far)
            .map(|high| high - half);
        right.chain(left).find(|m| self.holds(*m, half))
    }
}

/// A place on a leader that may do.
struct Candidate {
    cost: f64,
    row: u32,
    middle: f64,
    tip: DVec2,
}

/// Places on leaders from `foot`, the best first. Feet still to be served are kept free where
/// that costs little.
fn candidates(
    strip: &Strip,
    around: &Around<'_>,
    foot: f64,
    half: f64,
    feet: &[f64],
) -> Vec<Candidate> {
    let mut out = Vec::new();
    for row in 1..=ROWS {
        let near = strip.near(row);
        let straight = [0.0, 0.45, -0.45, 0.9, -0.9].map(|k| {
            let tip = DVec2::new(foot, near - 0.3);
            (foot + k * half, tip)
        });
        let level = near + 0.5 * strip.cap;
        // A flatter leader would be taken for a dimension line.
        let reach = 2.0 * (level - strip.line());
        let slanted = (1..30u32)
            .map(|n| 0.8 * f64::from(n))
            .take_while(|d| *d <= reach)
            .flat_map(|d| [d, -d])
            .map(|d| {
                let tip = DVec2::new(foot + d, level);
                (foot + d + (half + 0.4) * d.signum(), tip)
            });
        for (middle, tip) in straight.into_iter().chain(slanted) {
            if !around.holds(middle, half) {
                continue;
            }
            let count = |from: f64, to: f64, places: &[f64]| {
                let (low, high) = (from.min(to), from.max(to));
                places.iter().filter(|p| **p > low && **p < high).count()
            };
            let many = |n: usize| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
            let over = count(middle - half - 0.4, middle + half + 0.4, feet);
            let crossed = count(foot - 0.4, tip.x + 0.4, around.passing);
            let cost = 3.0 * f64::from(row)
                + 0.5 * (middle - foot).abs()
                + 6.0 * many(over)
                + 1.5 * many(crossed);
            out.push(Candidate {
                cost,
                row,
                middle,
                tip,
            });
        }
    }
    out.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    out
}

/// Places numbers of the half widths `halves`, one for each span.
pub(super) fn fan(strip: &Strip, around: &Around<'_>, halves: &[f64]) -> Fan {
    let own = around.own;
    let mut written = Written::default();
    let mut out = Fan {
        placed: Vec::new(),
        ends: (own[0], own[own.len() - 1]),
        end: strip.least_end(),
        moved: 0,
        dropped: 0,
        cost: 0.0,
    };
    let mut left = Vec::new();
    for (index, half) in halves.iter().enumerate() {
        let over = around.over(index, *half);
        let beside = || around.beside(index, *half);
        let Some(middle) = over.or_else(beside) else {
            left.push(index);
            continue;
        };
        if over.is_none() {
            out.moved += 1;
            let away = (middle - 0.5 * (own[index] + own[index + 1])).abs();
            out.cost += 1.0 + 0.3 * away;
            out.ends.0 = out.ends.0.min(middle - half);
            out.ends.1 = out.ends.1.max(middle + half);
        }
        written.texts.push(strip.text(0, middle, *half));
        out.placed.push(Placed {
            index,
            middle,
            base: strip.base(0),
            leader: None,
        });
    }
    let foot = |i: usize| 0.5 * (own[i] + own[i + 1]);
    for (n, &index) in left.iter().enumerate() {
        out.moved += 1;
        let half = halves[index];
        let at = foot(index);
        let feet: Vec<f64> = left[n + 1..].iter().map(|i| foot(*i)).collect();
        let root = DVec2::new(at, strip.line());
        let found = candidates(strip, around, at, half, &feet)
            .into_iter()
            .find(|c| {
                let text = strip.text(c.row, c.middle, half);
                written.leaves_room(text, Some([root, c.tip]))
            });
        let Some(found) = found else {
            out.dropped += 1;
            out.cost += 500.0;
            continue;
        };
        let text = strip.text(found.row, found.middle, half);
        out.end = out.end.max(text.max.y);
        out.cost += found.cost;
        written.texts.push(text);
        written.leaders.push([root, found.tip]);
        out.placed.push(Placed {
            index,
            middle: found.middle,
            base: strip.base(found.row),
            leader: Some((at, found.tip)),
        });
    }
    out.placed.sort_by_key(|p| p.index);
    out
}
