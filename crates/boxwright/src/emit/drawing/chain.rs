//! Chains of sizes laid out round the blank: text above its line, read from below or from the
//! right; a text wider than its span goes further out on a leader, clear of every other text and
//! of the extension lines of the chains beyond.

use super::narrow;
use crate::emit::font::{CAP, Letters};
use crate::emit::scene::{Anchor, Item, Scene, ToPage};
use crate::geom::{DVec2, Path, Rect};

/// A side of the blank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Bottom,
    Top,
    Left,
    Right,
}

impl Side {
    pub(super) const ALL: [Self; 4] = [Self::Bottom, Self::Top, Self::Left, Self::Right];
    pub(super) const fn index(self) -> usize {
        match self {
            Self::Bottom => 0,
            Self::Top => 1,
            Self::Left => 2,
            Self::Right => 3,
        }
    }
    /// Whether "above the line" is towards the blank.
    const fn text_inward(self) -> bool {
        matches!(self, Self::Bottom | Self::Right)
    }
    const fn level(self) -> bool {
        matches!(self, Self::Bottom | Self::Top)
    }
}

/// A place a chain stops at, in blank coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stop {
    /// Along the chain.
    pub at: f64,
    /// Where across it the measured feature lies nearest the chain.
    pub feature: f64,
}

/// A chain of sizes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chain {
    /// In rising order.
    pub stops: Vec<Stop>,
    /// One for each span between stops.
    pub texts: Vec<String>,
}

/// A text laid out. Distances along are page mm from the blank's own zero; `base` is the page mm
/// from the blank's side to the text's base line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LaidText {
    pub text: String,
    pub middle: f64,
    pub base: f64,
    /// Where the leader leaves the line, and where it ends: along, and out from the blank.
    pub leader: Option<(f64, (f64, f64))>,
}

/// A chain laid out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LaidChain {
    pub stops: Vec<Stop>,
    /// Page mm from the blank's side to the line.
    pub line: f64,
    /// Ends of the line along it: the outer stops, or further where a text stands beside them.
    pub ends: (f64, f64),
    pub texts: Vec<LaidText>,
}

/// All chains of a side laid out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Laid {
    pub chains: Vec<LaidChain>,
    /// Em of the texts, page mm.
    pub em: f64,
    /// Page mm taken outside the blank.
    pub depth: f64,
}

/// Air between the blank and the first chain.
const FIRST: f64 = 5.0;
/// Air between chains.
const NEXT: f64 = 2.5;
/// Air between a line and the text above it.
const ABOVE: f64 = 0.9;
/// Air between texts, and between a text and a line that passes it.
const AIR: f64 = 0.9;
/// Air between a text above the line and its stops, past the oblique strokes.
const BESIDE: f64 = 1.3;
/// Rows of texts on leaders that are tried before texts may touch.
const ROWS: u32 = 12;
/// How far extension lines run past the dimension line.
const PAST: f64 = 1.6;

/// Lays the chains of one side out.
pub(super) fn lay(
    chains: &[Chain],
    side: Side,
    bounds: Rect,
    scale: f64,
    cap: f64,
    letters: &Letters,
) -> Laid {
    let em = cap / CAP;
    let mut out = Laid {
        chains: Vec::new(),
        em,
        depth: 0.0,
    };
    let mut start = FIRST;
    for (i, chain) in chains.iter().enumerate() {
        // Extension lines of the chains further out run past this one.
        let mut passing: Vec<f64> = chains[i + 1..]
            .iter()
            .flat_map(|c| c.stops.iter().map(|s| s.at * scale))
            .collect();
        passing.sort_by(f64::total_cmp);
        let own: Vec<f64> = chain.stops.iter().map(|s| s.at * scale).collect();
        let limits = if side.level() {
            (bounds.min.x * scale, bounds.max.x * scale)
        } else {
            (bounds.min.y * scale, bounds.max.y * scale)
        };
        let around = Around {
            own: &own,
            passing: &passing,
            limits,
        };
        let (laid, end) = lay_one(chain, &around, side, (start, em, cap), letters);
        out.chains.push(laid);
        start = end + NEXT;
        out.depth = end;
    }
    out
}

/// What a chain must keep clear of, in page mm along it.
struct Around<'a> {
    /// Its own stops.
    own: &'a [f64],
    /// Extension lines of chains further out.
    passing: &'a [f64],
    /// Ends of the blank.
    limits: (f64, f64),
}

impl Around<'_> {
    /// Where a text of half width `half` stands beside the chain's first or last stop, over the
    /// line made longer, within the blank's length.
    fn beside(&self, half: f64) -> Option<f64> {
        let (first, last) = (*self.own.first()?, *self.own.last()?);
        // Right beside it, else just past one of the lines that are in the way.
        let right = std::iter::once(last + 1.6)
            .chain(self.passing.iter().map(|p| p + 0.7).filter(|p| *p > last))
            .map(|low| low + half);
        let left = std::iter::once(first - 1.6)
            .chain(
                self.passing
                    .iter()
                    .map(|p| p - 0.7)
                    .filter(|p| *p < first)
                    .rev(),
            )
            .map(|high| high - half);
        right.chain(left).find(|m| {
            let (low, high) = (m - half, m + half);
            low >= self.limits.0 && high <= self.limits.1 && clear(self.passing, low, high)
        })
    }
}

fn lay_one(
    chain: &Chain,
    around: &Around<'_>,
    side: Side,
    (start, em, cap): (f64, f64, f64),
    letters: &Letters,
) -> (LaidChain, f64) {
    let (own, passing) = (around.own, around.passing);
    let inward = side.text_inward();
    let line = if inward { start + cap + ABOVE } else { start };
    let row_high = cap + 1.5;
    // Distance from the blank's side to the edge of a row nearest the line; row 0 is the text
    // above the line, the others carry leaders.
    let row_near = |row: u32| match (inward, row) {
        (true, 0) => start,
        (true, r) => line + PAST + 0.6 + f64::from(r - 1) * row_high,
        (false, r) => line + ABOVE + f64::from(r) * row_high,
    };
    let base = |row: u32| row_near(row) + if inward { cap } else { 0.0 };
    let mut end = if inward {
        line + PAST
    } else {
        row_near(0) + cap
    };
    let mut ends = (own[0], own[own.len() - 1]);
    let mut taken: Vec<(u32, f64, f64)> = Vec::new();
    let mut leaders: Vec<(u32, f64)> = Vec::new();
    let mut texts = Vec::new();
    let wide = |text: &str| letters.width(text, em, false);
    // First the texts that have room between their stops, then those that need a leader.
    for (i, text) in chain.texts.iter().enumerate() {
        let (a, b) = (own[i], own[i + 1]);
        let half = 0.5 * wide(text);
        let shifts = [0.5, 0.35, 0.65, 0.2, 0.8];
        let spot = shifts.iter().map(|k| a + k * (b - a)).find(|m| {
            m - half - BESIDE >= a && m + half + BESIDE <= b && clear(passing, m - half, m + half)
        });
        if let Some(middle) = spot {
            taken.push((0, middle - half, middle + half));
            texts.push((i, 0, middle, None));
        }
    }
    let mut pending: Vec<f64> = (0..chain.texts.len())
        .filter(|i| texts.iter().all(|t| t.0 != *i))
        .map(|i| 0.5 * (own[i] + own[i + 1]))
        .collect();
    for (i, text) in chain.texts.iter().enumerate() {
        if texts.iter().any(|t| t.0 == i) {
            continue;
        }
        let foot = 0.5 * (own[i] + own[i + 1]);
        let half = 0.5 * wide(text);
        if let (1, Some(middle)) = (chain.texts.len(), around.beside(half)) {
            ends = (ends.0.min(middle - half), ends.1.max(middle + half));
            texts.push((i, 0, middle, None));
            continue;
        }
        let spots = (1..=ROWS).flat_map(|row| {
            [0.0, 0.45, -0.45, 0.9, -0.9]
                .into_iter()
                .map(move |k| (row, foot + k * half))
                .chain([(row, foot + half + 1.5), (row, foot - half - 1.5)])
        });
        // Own stops pass through only the first row beyond the line, by PAST: rows start past it.
        let free = |(row, m): &(u32, f64)| {
            let (low, high) = (m - half, m + half);
            clear(passing, low, high)
                && taken
                    .iter()
                    .all(|(r, a, b)| r != row || high + AIR < *a || *b + AIR < low)
                && taken.iter().all(|(r, a, b)| {
                    r >= row || *r == 0 && inward || foot < a - 0.4 || foot > b + 0.4
                })
                && leaders
                    .iter()
                    .all(|(r, f)| r <= row || *f < low - 0.4 || *f > high + 0.4)
        };
        // A text over the foot of a leader still to come would be in its way.
        let leaves_way = |(_, m): &(u32, f64)| {
            pending
                .iter()
                .all(|f| *f == foot || *f < m - half - 0.4 || *f > m + half + 0.4)
        };
        let (row, middle) = spots
            .clone()
            .find(|s| free(s) && leaves_way(s))
            .or_else(|| spots.clone().find(free))
            .unwrap_or((ROWS, foot));
        pending.retain(|f| *f != foot);
        taken.push((row, middle - half, middle + half));
        leaders.push((row, foot));
        let tip = if (middle - foot).abs() <= half {
            (foot, row_near(row) - 0.3)
        } else {
            let near = middle - (half + 0.4) * (middle - foot).signum();
            (near, row_near(row) + 0.5 * cap)
        };
        texts.push((i, row, middle, Some((foot, tip))));
        end = end.max(row_near(row) + cap);
    }
    texts.sort_by_key(|t| t.0);
    let texts = texts
        .into_iter()
        .map(|(i, row, middle, leader)| LaidText {
            text: chain.texts[i].clone(),
            middle,
            base: base(row),
            leader,
        })
        .collect();
    let laid = LaidChain {
        stops: chain.stops.clone(),
        line,
        ends,
        texts,
    };
    (laid, end)
}

fn clear(passing: &[f64], low: f64, high: f64) -> bool {
    passing.iter().all(|p| *p < low - 0.5 || *p > high + 0.5)
}

/// Where on the page something lies that is `along` page mm from zero and `out` page mm outside
/// the blank.
fn spot(side: Side, page: ToPage, bounds: Rect, along: f64, out: f64) -> DVec2 {
    let low = page.point(bounds.min);
    let high = page.point(bounds.max);
    match side {
        Side::Bottom => DVec2::new(page.origin.x + along, low.y + out),
        Side::Top => DVec2::new(page.origin.x + along, high.y - out),
        Side::Left => DVec2::new(low.x - out, page.origin.y - along),
        Side::Right => DVec2::new(high.x + out, page.origin.y - along),
    }
}

/// The extension lines of one side inside the blank's rectangle, in blank coordinates.
pub(super) fn extensions(laid: &Laid, side: Side, bounds: Rect) -> Vec<Path> {
    let line = |stop: &Stop| {
        let (a, b) = (stop.at, stop.feature);
        let ends = match side {
            Side::Bottom => [DVec2::new(a, b), DVec2::new(a, bounds.min.y)],
            Side::Top => [DVec2::new(a, b), DVec2::new(a, bounds.max.y)],
            Side::Left => [DVec2::new(b, a), DVec2::new(bounds.min.x, a)],
            Side::Right => [DVec2::new(b, a), DVec2::new(bounds.max.x, a)],
        };
        Path::line(ends)
    };
    laid.chains
        .iter()
        .flat_map(|c| c.stops.iter().map(line))
        .collect()
}

/// Draws the chains of one side.
pub(super) fn draw(scene: &mut Scene, laid: &Laid, side: Side, page: ToPage, bounds: Rect) {
    let at = |along: f64, out: f64| spot(side, page, bounds, along, out);
    let k = page.scale;
    for chain in &laid.chains {
        let mut lines = Vec::new();
        lines.push(Path::line([
            at(chain.ends.0, chain.line),
            at(chain.ends.1, chain.line),
        ]));
        for stop in &chain.stops {
            let inside = match side {
                Side::Bottom => stop.feature - bounds.min.y,
                Side::Top => bounds.max.y - stop.feature,
                Side::Left => stop.feature - bounds.min.x,
                Side::Right => bounds.max.x - stop.feature,
            };
            lines.push(Path::line([
                at(stop.at * k, 1.0 - k * inside),
                at(stop.at * k, chain.line + PAST),
            ]));
        }
        for text in &chain.texts {
            if let Some((foot, (along, out))) = text.leader {
                lines.push(Path::line([at(foot, chain.line), at(along, out)]));
            }
            scene.items.push(Item::Text {
                at: at(text.middle, text.base),
                size: laid.em,
                anchor: Anchor::Middle,
                turn: if side.level() { 0.0 } else { 90.0 },
                bold: false,
                colour: "#000000",
                text: text.text.clone(),
            });
        }
        scene.shape(lines, None, Some(narrow(0.18)));
        let strokes = chain
            .stops
            .iter()
            .map(|s| {
                let middle = at(s.at * k, chain.line);
                let d = DVec2::new(1.0, -1.0);
                Path::line([middle - d, middle + d])
            })
            .collect();
        scene.shape(strokes, None, Some(narrow(0.35)));
    }
}
