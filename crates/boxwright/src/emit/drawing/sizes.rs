//! Which sizes of a blank are written, and on which side of it.
//!
//! A *row* is a run of panels joined by creases that cross it: the walls of a slotted case along
//! x, a wall with its flaps along y. Each row gives one chain, from crease to crease and to its
//! ends; a row whose sizes all stand in an earlier chain gives none. Cut-outs give a chain from
//! side to side of their panel, slots their width once, and the whole blank its two sizes.

use super::chain::{Chain, Side, Stop};
use super::mirror::mirror_line;
use crate::blank::Blank;
use crate::geom::{DVec2, Path, Rect, Segment};
use crate::units::{Length, LengthUnit, SLACK_MM};

/// Gaps wider than this are not slots, mm.
const WIDEST_SLOT: f64 = 20.0;
/// More chains than this on one side would bury the blank.
const MOST_CHAINS: usize = 5;

/// The chains of each side, from the blank outward.
pub(super) struct Sizes {
    pub chains: [Vec<Chain>; 4],
    /// Whether some sizes found no room.
    pub left_out: bool,
    /// The radii of rounded corners, in words.
    pub radii: Option<String>,
    /// Whether chains along x and along y are left out because they mirror another.
    pub mirrored: [bool; 2],
}

/// Along which axis of the blank sizes are taken.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Axis {
    X,
    Y,
}

impl Axis {
    pub(super) const fn of(self, p: DVec2) -> f64 {
        match self {
            Self::X => p.x,
            Self::Y => p.y,
        }
    }
    pub(super) const fn other(self) -> Self {
        match self {
            Self::X => Self::Y,
            Self::Y => Self::X,
        }
    }
    /// The sides that take its chains: the first is preferred.
    pub(super) const fn sides(self) -> [Side; 2] {
        match self {
            Self::X => [Side::Bottom, Side::Top],
            Self::Y => [Side::Left, Side::Right],
        }
    }
}

pub(super) fn gather(blank: &Blank, unit: LengthUnit) -> Sizes {
    let mut out = Sizes {
        chains: [const { Vec::new() }; 4],
        left_out: false,
        radii: radii(blank, unit),
        mirrored: [false; 2],
    };
    slots(blank, unit, &mut out);
    for axis in [Axis::X, Axis::Y] {
        let mirror = mirror_line(blank, axis);
        let mut seen: Vec<(f64, f64)> = Vec::new();
        let mut found: Vec<Points> = Vec::new();
        for points in rows(blank, axis).into_iter().chain(cut_outs(blank, axis)) {
            match found.iter_mut().find(|f| f.same_places(&points)) {
                Some(f) => f.merge(&points),
                None => found.push(points),
            }
        }
        for points in found {
            add(blank, (axis, mirror), unit, points, &mut seen, &mut out);
        }
        let b = blank.bounds;
        let whole = (axis.of(b.min), axis.of(b.max));
        if !known(&seen, whole) || !spans_alone(&out, axis, whole) {
            let mut points = Points::default();
            points.add(axis.of(b.min), axis.other().of(b.min));
            points.add(axis.of(b.max), axis.other().of(b.min));
            let chain = points.chain(axis.sides()[0], unit);
            out.chains[axis.sides()[0].index()].push(chain);
        }
    }
    out
}

/// Places along an axis, each with how far its features reach across it.
#[derive(Default)]
struct Points(Vec<(f64, f64, f64)>);

impl Points {
    fn add(&mut self, at: f64, across: f64) {
        match self.0.iter_mut().find(|p| (p.0 - at).abs() <= SLACK_MM) {
            Some(p) => {
                p.1 = p.1.min(across);
                p.2 = p.2.max(across);
            }
            None => self.0.push((at, across, across)),
        }
    }
    fn sort(&mut self) {
        self.0.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    /// Whether two sorted sets are the same places along the axis.
    fn same_places(&self, o: &Self) -> bool {
        self.0.len() == o.0.len()
            && self
                .0
                .iter()
                .zip(&o.0)
                .all(|(a, b)| (a.0 - b.0).abs() <= SLACK_MM)
    }
    fn merge(&mut self, o: &Self) {
        for (at, min, max) in &o.0 {
            self.add(*at, *min);
            self.add(*at, *max);
        }
    }
    fn spans(&self) -> Vec<(f64, f64)> {
        self.0.windows(2).map(|w| (w[0].0, w[1].0)).collect()
    }
    fn chain(&self, side: Side, unit: LengthUnit) -> Chain {
        let low = matches!(side, Side::Bottom | Side::Left);
        Chain {
            stops: self
                .0
                .iter()
                .map(|(at, min, max)| Stop {
                    at: *at,
                    feature: if low { *min } else { *max },
                })
                .collect(),
            texts: self
                .spans()
                .iter()
                .map(|(a, b)| unit.number(Length::mm(b - a)))
                .collect(),
            mirror: None,
        }
    }
}

fn known(seen: &[(f64, f64)], span: (f64, f64)) -> bool {
    seen.iter()
        .any(|s| (s.0 - span.0).abs() <= SLACK_MM && (s.1 - span.1).abs() <= SLACK_MM)
}

/// Whether one chain already is the whole size and nothing else.
fn spans_alone(out: &Sizes, axis: Axis, whole: (f64, f64)) -> bool {
    axis.sides().iter().any(|s| {
        out.chains[s.index()]
            .iter()
            .any(|c| c.stops.len() == 2 && known(&[(c.stops[0].at, c.stops[1].at)], whole))
    })
}

fn add(
    blank: &Blank,
    (axis, mirror): (Axis, Option<f64>),
    unit: LengthUnit,
    points: Points,
    seen: &mut Vec<(f64, f64)>,
    out: &mut Sizes,
) {
    let spans = points.spans();
    // The same size between the same neighbours elsewhere is not written again.
    if spans.is_empty() || spans.iter().all(|s| known(seen, *s)) {
        return;
    }
    let images = |c: f64| spans.iter().map(move |s| (2.0 * c - s.1, 2.0 * c - s.0));
    let known_image = |s| known(seen, s);
    if mirror.is_some_and(|c| images(c).all(known_image)) {
        out.mirrored[usize::from(axis == Axis::Y)] = true;
        return;
    }
    let own_image = mirror.filter(|c| spans.len() > 2 && images(*c).all(|s| known(&spans, s)));
    let low = points.0.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let high = points
        .0
        .iter()
        .map(|p| p.2)
        .fold(f64::NEG_INFINITY, f64::max);
    let (b, across) = (blank.bounds, axis.other());
    let [first, second] = axis.sides();
    let nearer_second = across.of(b.max) - high < low - across.of(b.min) - SLACK_MM;
    let order = if nearer_second {
        [second, first]
    } else {
        [first, second]
    };
    let free = |s: &Side| out.chains[s.index()].len() < MOST_CHAINS;
    match order.into_iter().find(free) {
        Some(side) => {
            seen.extend(spans);
            let mut chain = points.chain(side, unit);
            chain.mirror = own_image;
            out.chains[side.index()].push(chain);
        }
        None => out.left_out = true,
    }
}

/// The rows along an axis, the longest first.
fn rows(blank: &Blank, axis: Axis) -> Vec<Points> {
    // Creases at right angles to the axis join the panels on both sides into one row.
    let crossing: Vec<_> = blank
        .creases
        .iter()
        .filter(|c| (axis.of(c.from) - axis.of(c.to)).abs() <= SLACK_MM)
        .collect();
    let mut row: Vec<usize> = (0..blank.panels.len()).collect();
    for c in &crossing {
        let (Some(&a), Some(&b)) = (row.get(c.parent), row.get(c.child)) else {
            continue;
        };
        for r in &mut row {
            if *r == b {
                *r = a;
            }
        }
    }
    let mut out: Vec<Points> = Vec::new();
    for id in 0..row.len() {
        let members: Vec<usize> = (0..row.len()).filter(|i| row[*i] == id).collect();
        let mut points = Points::default();
        for c in crossing.iter().filter(|c| members.contains(&c.child)) {
            for end in [c.from, c.to] {
                points.add(axis.of(end), axis.other().of(end));
            }
        }
        if points.0.is_empty() {
            continue;
        }
        for i in members {
            let panel = &blank.panels[i];
            let outline = panel.place.path(&panel.outline);
            ends(&outline, axis, &mut points);
        }
        points.sort();
        out.push(points);
    }
    out.sort_by_key(|p| std::cmp::Reverse(p.0.len()));
    out
}

/// The two ends of an outline along the axis.
fn ends(outline: &Path, axis: Axis, points: &mut Points) {
    let b = outline.bounds();
    for end in [axis.of(b.min), axis.of(b.max)] {
        let corners: Vec<f64> = outline
            .vertices
            .iter()
            .filter(|v| (axis.of(v.at) - end).abs() <= SLACK_MM)
            .map(|v| axis.other().of(v.at))
            .collect();
        if corners.is_empty() {
            points.add(end, axis.other().of(b.centre()));
        }
        for across in corners {
            points.add(end, across);
        }
    }
}

/// Where the cut-outs of each panel lie: from its nearer end to the cut-out and across it, or
/// from end to end of the panel over cut-outs that lie one after another.
fn cut_outs(blank: &Blank, axis: Axis) -> Vec<Points> {
    let mut out = Vec::new();
    for panel in &blank.panels {
        let mut holes: Vec<Rect> = panel
            .holes
            .iter()
            .map(|h| panel.place.path(h).bounds())
            .collect();
        holes.sort_by(|a, b| axis.of(a.min).total_cmp(&axis.of(b.min)));
        let mut panel_ends = Points::default();
        ends(&panel.place.path(&panel.outline), axis, &mut panel_ends);
        panel_ends.sort();
        let mut runs: Vec<Vec<Rect>> = Vec::new();
        for hole in holes {
            let follows = |r: &&mut Vec<Rect>| {
                r.last().is_some_and(|last| {
                    let same = |a, b| (axis.of(a) - axis.of(b)).abs() <= SLACK_MM;
                    axis.of(last.max) < axis.of(hole.min) - SLACK_MM
                        || same(last.min, hole.min) && same(last.max, hole.max)
                })
            };
            match runs.iter_mut().find(follows) {
                Some(run) => run.push(hole),
                None => runs.push(vec![hole]),
            }
        }
        for run in runs {
            let mut points = Points::default();
            for hole in run {
                for side in [hole.min, hole.max] {
                    points.add(axis.of(side), axis.other().of(hole.centre()));
                }
            }
            let [low, high] = [panel_ends.0.first(), panel_ends.0.last()].map(|p| p.copied());
            let (Some(low), Some(high)) = (low, high) else {
                continue;
            };
            let one = points.0.len() == 2;
            let (first, last) = (points.0[0].0, points.0[points.0.len() - 1].0);
            let nearer_high = high.0 - last < first - low.0 - SLACK_MM;
            if !one || !nearer_high {
                points.add(low.0, low.1);
                points.add(low.0, low.2);
            }
            if !one || nearer_high {
                points.add(high.0, high.1);
                points.add(high.0, high.2);
            }
            points.sort();
            out.push(points);
        }
    }
    out
}

/// The radii of the outline's rounded corners, each once, in words.
fn radii(blank: &Blank, unit: LengthUnit) -> Option<String> {
    let mut found: Vec<(f64, usize)> = Vec::new();
    for segment in blank.outline.iter().flat_map(Path::segments) {
        let Some((_, radius)) = segment.circle() else {
            continue;
        };
        match found.iter_mut().find(|(r, _)| (r - radius).abs() <= 1e-3) {
            Some((_, count)) => *count += 1,
            None => found.push((radius, 1)),
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let said: Vec<String> = found
        .iter()
        .map(|(r, count)| format!("R {} ({count})", unit.number(Length::mm(*r))))
        .collect();
    (!said.is_empty()).then(|| format!("Rounded corners of the outline: {}", said.join(", ")))
}

/// A slot open to the outside.
struct Slot {
    width: f64,
    side: Side,
    /// Its two sides at the mouth.
    lips: [DVec2; 2],
}

/// Each width of slot once, on the side the first of that width opens to.
fn slots(blank: &Blank, unit: LengthUnit, out: &mut Sizes) {
    let found: Vec<Slot> = blank.outline.iter().flat_map(slots_of).collect();
    let mut done: Vec<f64> = Vec::new();
    for slot in &found {
        let same = |w: f64| (w - slot.width).abs() <= SLACK_MM;
        if done.iter().any(|w| same(*w)) {
            continue;
        }
        done.push(slot.width);
        let count = found.iter().filter(|s| same(s.width)).count();
        let axis = match slot.side {
            Side::Bottom | Side::Top => Axis::X,
            Side::Left | Side::Right => Axis::Y,
        };
        let mut points = Points::default();
        for lip in slot.lips {
            points.add(axis.of(lip), axis.other().of(lip));
        }
        points.sort();
        let mut chain = points.chain(slot.side, unit);
        let width = unit.number(Length::mm(slot.width));
        chain.texts = vec![if count > 1 {
            format!("{count} slots {width} wide")
        } else {
            format!("slot {width} wide")
        }];
        let side = &mut out.chains[slot.side.index()];
        if side.len() < MOST_CHAINS {
            side.push(chain);
        } else {
            out.left_out = true;
        }
    }
}

/// Two sides of an outline that face each other across a narrow gap outside the board.
fn slots_of(outline: &Path) -> Vec<Slot> {
    let segments: Vec<Segment> = outline.segments().collect();
    let n = segments.len();
    let mut out = Vec::new();
    for i in 0..n {
        let a = segments[i];
        let d = (a.to - a.from).normalize_or_zero();
        let upright = d.x.abs() <= SLACK_MM || d.y.abs() <= SLACK_MM;
        if a.bulge != 0.0 || !upright || d == DVec2::ZERO {
            continue;
        }
        // A slot's second side comes within a few segments of the first.
        for step in 2..=6.min(n.saturating_sub(1)) {
            let b = segments[(i + step) % n];
            let back = (b.to - b.from).normalize_or_zero();
            let offset = b.from - a.from;
            // Seen along the first side, the gap and the second side lie to the right.
            let gap = -d.perp_dot(offset);
            let shared = a.length().min(d.dot(a.to - b.to)).min(b.length());
            if b.bulge == 0.0
                && back.distance(-d) <= SLACK_MM
                && gap > SLACK_MM
                && gap <= WIDEST_SLOT
                && shared > 2.0 * gap
            {
                let side = if d.y.abs() > 0.5 {
                    if d.y < 0.0 { Side::Top } else { Side::Bottom }
                } else if d.x < 0.0 {
                    Side::Right
                } else {
                    Side::Left
                };
                out.push(Slot {
                    width: gap,
                    side,
                    lips: [a.from, b.to],
                });
                break;
            }
        }
    }
    out
}
