//! Chains of sizes laid out round the blank: text above its line, read from below or from the
//! right. What has no room over its span is moved by [`super::fan`].

use super::fan::{Around, Fan, PAST, Strip, fan};
use super::narrow;
use crate::emit::font::{CAP, Letters};
use crate::emit::scene::{Anchor, Item, Scene, ToPage};
use crate::geom::{DVec2, Path, Rect};
use crate::units::SLACK_MM;

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
    pub(super) const fn text_inward(self) -> bool {
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
    /// Where its two halves, which are mirror images, meet.
    pub mirror: Option<f64>,
}

/// A text laid out. Distances along are page mm from the blank's own zero; `base` is the page mm
/// from the blank's side to the text's base line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LaidText {
    pub text: String,
    pub middle: f64,
    pub base: f64,
    /// Where the leader leaves the line, and where it ends: along, and out from the blank.
    pub leader: Option<(f64, DVec2)>,
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
    /// Whether a chain gives one of two halves that are mirror images.
    pub halved: bool,
    /// Sizes that found no place.
    pub dropped: usize,
    /// How hard the whole is to read: lower is better.
    cost: f64,
}

/// Air between the blank and the first chain.
const FIRST: f64 = 5.0;
/// Air between chains.
const NEXT: f64 = 2.5;
/// With more chains on a side, not every order of them is tried.
const MOST_ORDERED: usize = 4;

/// What the chains of all sides are laid out for.
pub(super) struct Layout<'a> {
    pub bounds: Rect,
    pub scale: f64,
    /// Height of capitals.
    pub cap: f64,
    pub letters: &'a Letters,
}

/// The chains of every side. Those at the bottom and at the top may use the corners beside those
/// on the left and on the right.
pub(super) fn lay_all(chains: &[Vec<Chain>; 4], on: &Layout<'_>) -> [Laid; 4] {
    let side = |s: Side, corners| lay(&chains[s.index()], s, on, corners);
    let left = side(Side::Left, (0.0, 0.0));
    let right = side(Side::Right, (0.0, 0.0));
    let corners = (left.depth, right.depth);
    let bottom = side(Side::Bottom, corners);
    let top = side(Side::Top, corners);
    [bottom, top, left, right]
}

/// Lays the chains of one side out in the order that is easiest to read; the last one, the size
/// of the whole, stays outside.
fn lay(chains: &[Chain], side: Side, on: &Layout<'_>, corners: (f64, f64)) -> Laid {
    let given: Vec<&Chain> = chains.iter().collect();
    let mut best = lay_in_order(&given, side, on, corners);
    if given.len() <= MOST_ORDERED {
        let mut order: Vec<usize> = (0..given.len().saturating_sub(1)).collect();
        while next_order(&mut order) {
            let tried: Vec<&Chain> = order
                .iter()
                .map(|i| given[*i])
                .chain(given.last().copied())
                .collect();
            let laid = lay_in_order(&tried, side, on, corners);
            if laid.cost < best.cost - 1e-6 {
                best = laid;
            }
        }
    }
    best
}

/// The next order in rising sequence; false after the last.
fn next_order(order: &mut [usize]) -> bool {
    let Some(i) = (1..order.len()).rev().find(|i| order[i - 1] < order[*i]) else {
        return false;
    };
    let Some(j) = (i..order.len()).rev().find(|j| order[*j] > order[i - 1]) else {
        return false;
    };
    order.swap(i - 1, j);
    order[i..].reverse();
    true
}

fn lay_in_order(chains: &[&Chain], side: Side, on: &Layout<'_>, corners: (f64, f64)) -> Laid {
    let mut out = Laid {
        chains: Vec::new(),
        em: on.cap / CAP,
        depth: 0.0,
        halved: false,
        dropped: 0,
        cost: 0.0,
    };
    let b = on.bounds;
    let (low, high) = if side.level() {
        (b.min.x, b.max.x)
    } else {
        (b.min.y, b.max.y)
    };
    let limits = (low * on.scale - corners.0, high * on.scale + corners.1);
    // From the outside in, because what passes a chain depends on how those beyond it are given;
    // a chain does not depend on where it begins.
    let mut passing: Vec<f64> = Vec::new();
    let mut shown: Vec<(Shown, Vec<f64>)> = Vec::new();
    for chain in chains.iter().rev() {
        passing.sort_by(f64::total_cmp);
        let one = show(chain, side, on, &passing, limits);
        let stops = one.stops.iter().map(|s| s.at * on.scale);
        let before = passing.clone();
        passing.extend(stops);
        shown.push((one, before));
    }
    let mut start = FIRST;
    for (one, passing) in shown.into_iter().rev() {
        let strip = Strip::new(start, on.cap, side);
        let (laid, fan) = one.laid(&strip, on, &passing, limits);
        out.chains.push(laid);
        out.halved |= one.halved;
        out.dropped += fan.dropped;
        out.cost += fan.cost + 0.5 * (fan.end - start);
        start = fan.end + NEXT;
        out.depth = fan.end;
    }
    out
}

/// The part of a chain that is given.
struct Shown {
    stops: Vec<Stop>,
    texts: Vec<String>,
    halved: bool,
}

impl Shown {
    fn laid(
        &self,
        strip: &Strip,
        on: &Layout<'_>,
        passing: &[f64],
        limits: (f64, f64),
    ) -> (LaidChain, Fan) {
        let own: Vec<f64> = self.stops.iter().map(|s| s.at * on.scale).collect();
        let around = Around {
            own: &own,
            passing,
            limits,
        };
        let halves: Vec<f64> = self
            .texts
            .iter()
            .map(|t| 0.5 * on.letters.width(t, on.cap / CAP, false))
            .collect();
        let fan = fan(strip, &around, &halves);
        let texts = fan
            .placed
            .iter()
            .map(|p| LaidText {
                text: self.texts[p.index].clone(),
                middle: p.middle,
                base: p.base,
                leader: p.leader,
            })
            .collect();
        let laid = LaidChain {
            stops: self.stops.clone(),
            line: strip.line(),
            ends: fan.ends,
            texts,
        };
        (laid, fan)
    }
}

/// The whole chain where every number has room over its span; else, where its halves are mirror
/// images, one half and what lies across the middle.
fn show(chain: &Chain, side: Side, on: &Layout<'_>, passing: &[f64], limits: (f64, f64)) -> Shown {
    let whole = Shown {
        stops: chain.stops.clone(),
        texts: chain.texts.clone(),
        halved: false,
    };
    let Some(middle) = chain.mirror else {
        return whole;
    };
    let (_, fan) = whole.laid(&Strip::new(FIRST, on.cap, side), on, passing, limits);
    if fan.moved == 0 {
        return whole;
    }
    let reached = |s: &&Stop| s.at < middle - SLACK_MM;
    let keep = chain.stops.iter().take_while(reached).count();
    Shown {
        stops: chain.stops[..=keep].to_vec(),
        texts: chain.texts[..keep].to_vec(),
        halved: true,
    }
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
            if let Some((foot, tip)) = text.leader {
                lines.push(Path::line([at(foot, chain.line), at(tip.x, tip.y)]));
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
