//! The cost of an order history against the number of case sizes, and how many orders go into each
//! size of the range that was chosen. One page of A5.

use super::font::{CAP, Letters};
use super::scene::{Anchor, Item, Scene, Stroke};
use crate::geom::{DVec2, Path, Rect, Vertex};
use crate::units::trimmed;

/// The page, in mm.
const PAGE: DVec2 = DVec2::new(210.0, 148.0);
/// Room for the curve: left, top, right, bottom.
const FIELD: [f64; 4] = [26.0, 30.0, 112.0, 124.0];
/// Room for the bars.
const BARS: [f64; 4] = [122.0, 30.0, 200.0, 124.0];
const MARGIN: f64 = 10.0;
const SMALL: f64 = 3.2;
const LARGE: f64 = 4.6;
/// Where a bar and its words take more room than this, they are drawn so high.
const HIGHEST_BAR: f64 = 13.0;
/// Lowest that a bar with its words can be read.
const LOWEST_BAR: f64 = 6.2;
const INK: &str = "#1d2428";
const FAINT: &str = "#c9ced2";
const TINT: &str = "#2f6f8f";
const MARKED: &str = "#b4472a";
const KEPT: &str = "#8a938f";

/// What the page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Stands on top.
    pub title: String,
    /// Stands below it.
    pub below: String,
    /// What the costs are, with their unit.
    pub axis: String,
    /// Costs, by rising numbers of sizes.
    pub points: Vec<Point>,
    /// The number of sizes that was chosen.
    pub sizes: usize,
    /// The sizes that were chosen.
    pub bars: Vec<Bar>,
}

/// A number of sizes and its cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// How many sizes.
    pub sizes: usize,
    /// What the best range found costs.
    pub cost: f64,
    /// What none costs less than.
    pub bound: f64,
}

/// A chosen size.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// The size in words.
    pub words: String,
    /// Orders that go into it.
    pub orders: u64,
    /// Whether it was to be kept.
    pub kept: bool,
}

/// The page.
#[must_use]
pub fn curve(c: &Curve) -> Scene {
    let letters = Letters::shipped();
    let mut scene = Scene::new(PAGE.x, PAGE.y);
    let all = Rect {
        min: DVec2::ZERO,
        max: PAGE,
    };
    scene.shape(vec![Path::rect(all)], Some("#ffffff"), None);
    let room = PAGE.x - 2.0 * MARGIN;
    let (title, size) = letters.fitted(&c.title, LARGE, true, room);
    bold(&mut scene, DVec2::new(MARGIN, 12.0), size, title);
    let lines = letters.wrapped(&c.below, SMALL, false, room);
    for (y, line) in [17.5, 21.7].into_iter().zip(lines) {
        scene.text(DVec2::new(MARGIN, y), SMALL, Anchor::Start, line);
    }
    costs(&mut scene, c);
    shares(&mut scene, c, &letters);
    scene
}

fn bold(scene: &mut Scene, at: DVec2, size: f64, text: String) {
    scene.items.push(Item::Text {
        at,
        size,
        anchor: Anchor::Start,
        turn: 0.0,
        bold: true,
        colour: INK,
        text,
    });
}

#[allow(clippy::cast_precision_loss, reason = "counts below 2^53")]
const fn number(n: usize) -> f64 {
    n as f64
}

const fn stroke(colour: &'static str, width: f64) -> Option<Stroke> {
    Some(Stroke {
        colour,
        width,
        dash: &[],
    })
}

/// A step of 1, 2 or 5 times a power of ten, of which at most `most` reach the top.
fn round_step(top: f64, most: f64) -> f64 {
    let rough = (top / most).max(f64::MIN_POSITIVE);
    let power = 10_f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|s| s * power);
    let fits = |s: &f64| *s >= rough * (1.0 - 1e-9);
    steps.into_iter().find(fits).unwrap_or(10.0 * power)
}

/// A disc.
fn disc(at: DVec2, r: f64) -> Path {
    Path {
        vertices: [DVec2::new(-r, 0.0), DVec2::new(r, 0.0)]
            .into_iter()
            .map(|d| Vertex {
                at: at + d,
                bulge: 1.0,
            })
            .collect(),
        closed: true,
    }
}

fn costs(scene: &mut Scene, c: &Curve) {
    let [left, top, right, bottom] = FIELD;
    let highest = c.points.iter().map(|p| p.cost).fold(0.0, f64::max);
    let highest = if highest > 0.0 { highest } else { 1.0 };
    let step = round_step(highest, 6.0);
    let ceiling = (highest / step).ceil() * step;
    let sizes = || c.points.iter().map(|p| p.sizes);
    let (first, last) = (sizes().min().unwrap_or(1), sizes().max().unwrap_or(1));
    let span = number(last.saturating_sub(first)).max(1.0);
    let place = |n: usize, v: f64| {
        let across = if last == first {
            0.5
        } else {
            number(n - first) / span
        };
        DVec2::new(
            left + 5.0 + across * (right - left - 10.0),
            bottom - v / ceiling * (bottom - top),
        )
    };
    // Ticks of cost, each with a faint line right across.
    let mut lines = Vec::new();
    let decimals = if step >= 1.0 {
        0.0
    } else {
        (-step.log10()).ceil()
    };
    let mut tick = 0.0;
    while tick <= ceiling + 0.5 * step {
        let y = place(first, tick).y;
        lines.push(Path::line([DVec2::new(left, y), DVec2::new(right, y)]));
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few decimals"
        )]
        let text = trimmed(tick, decimals as usize);
        let at = DVec2::new(left - 2.0, y + 0.5 * CAP * SMALL);
        scene.text(at, SMALL, Anchor::End, text);
        tick += step;
    }
    scene.shape(lines, None, stroke(FAINT, 0.15));
    let every = (last - first + 1).div_ceil(14).max(1);
    for n in (first..=last).filter(|n| (n - first).is_multiple_of(every)) {
        let at = DVec2::new(place(n, 0.0).x, bottom + 5.2);
        scene.text(at, SMALL, Anchor::Middle, n.to_string());
    }
    let axes = [
        DVec2::new(left, top),
        DVec2::new(left, bottom),
        DVec2::new(right, bottom),
    ];
    scene.shape(vec![Path::line(axes)], None, stroke(INK, 0.25));
    let below = DVec2::new(0.5 * (left + right), bottom + 11.0);
    scene.text(below, SMALL, Anchor::Middle, "number of case sizes");
    bold(scene, DVec2::new(MARGIN, top - 3.0), SMALL, c.axis.clone());
    // The bound only shows where it is told apart from the curve.
    let apart = |p: &Point| place(p.sizes, p.cost).y + 0.4 < place(p.sizes, p.bound).y;
    let open = c.points.iter().any(apart);
    if open {
        let line = c.points.iter().map(|p| place(p.sizes, p.bound));
        let thin = Some(Stroke {
            colour: INK,
            width: 0.18,
            dash: &[1.2, 0.8],
        });
        scene.shape(vec![Path::line(line)], None, thin);
    }
    let line = c.points.iter().map(|p| place(p.sizes, p.cost));
    scene.shape(vec![Path::line(line)], None, stroke(TINT, 0.6));
    let dots = c.points.iter().map(|p| disc(place(p.sizes, p.cost), 0.9));
    scene.shape(dots.collect(), Some(TINT), None);
    if let Some(p) = c.points.iter().find(|p| p.sizes == c.sizes) {
        let at = place(p.sizes, p.cost);
        let foot = DVec2::new(at.x, bottom);
        scene.shape(vec![Path::line([at, foot])], None, stroke(MARKED, 0.25));
        scene.shape(vec![disc(at, 1.7)], Some("#ffffff"), stroke(MARKED, 0.6));
        let decimals = if p.cost >= 100.0 { 0 } else { 2 };
        let text = format!("{} sizes: {}", p.sizes, trimmed(p.cost, decimals));
        let near_right = at.x > right - 30.0;
        let (dx, anchor) = if near_right {
            (1.0, Anchor::End)
        } else {
            (1.5, Anchor::Start)
        };
        scene.text(at + DVec2::new(dx, -4.0), SMALL, anchor, text);
    }
    if open {
        let at = DVec2::new(right, top - 3.0);
        scene.text(
            at,
            SMALL,
            Anchor::End,
            "dashed: proved that none costs less",
        );
    }
}

fn shares(scene: &mut Scene, c: &Curve, letters: &Letters) {
    let [left, top, right, bottom] = BARS;
    bold(
        scene,
        DVec2::new(left, top - 3.0),
        SMALL,
        "share of orders by inside size".to_owned(),
    );
    #[allow(clippy::cast_precision_loss, reason = "a share")]
    let share = |n: u64| n as f64 / (c.bars.iter().map(|b| b.orders).sum::<u64>() as f64).max(1.0);
    let high = ((bottom - top) / number(c.bars.len()).max(1.0)).clamp(LOWEST_BAR, HIGHEST_BAR);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a few bars"
    )]
    let room = ((bottom - top) / high + 1e-9).floor() as usize;
    let mut bars: Vec<&Bar> = c.bars.iter().collect();
    let mut left_out = 0;
    if bars.len() > room {
        // Those with the most orders, still in their order.
        let mut by: Vec<u64> = bars.iter().map(|b| b.orders).collect();
        by.sort_unstable_by(|a, b| b.cmp(a));
        let least = by.get(room.saturating_sub(1)).copied().unwrap_or(0);
        let before = bars.len();
        bars.retain(|b| b.orders >= least);
        bars.truncate(room);
        left_out = before - bars.len();
    }
    for (n, bar) in bars.iter().enumerate() {
        let y = top + number(n) * high;
        let percent = format!("{} %", trimmed(100.0 * share(bar.orders), 1));
        let words = if bar.kept {
            format!("{}, kept", bar.words)
        } else {
            bar.words.clone()
        };
        let (words, size) = letters.fitted(&words, SMALL, false, right - left - 16.0);
        scene.text(DVec2::new(left, y + 2.6), size, Anchor::Start, words);
        scene.text(DVec2::new(right, y + 2.6), SMALL, Anchor::End, percent);
        let wide = (right - left) * share(bar.orders);
        let min = DVec2::new(left, y + 3.6);
        let rect = |wide: f64| Rect {
            min,
            max: min + DVec2::new(wide.max(0.2), (high - 4.6).clamp(1.0, 4.0)),
        };
        scene.shape(vec![Path::rect(rect(right - left))], Some("#eef0f1"), None);
        let tint = if bar.kept { KEPT } else { TINT };
        scene.shape(vec![Path::rect(rect(wide))], Some(tint), None);
    }
    if left_out > 0 {
        let text = format!("and {left_out} sizes more, with fewer orders");
        scene.text(DVec2::new(left, bottom + 5.2), SMALL, Anchor::Start, text);
    }
}
