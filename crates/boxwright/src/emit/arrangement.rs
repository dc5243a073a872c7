//! Things in their room: a view in parallel projection and one from above, with a list.

use super::font::Letters;
use super::scene::{Anchor, Item, Scene, Stroke};
use crate::contents::Proposal;
use crate::contents::proposal::Lying;
use crate::geom::{DVec2, Path, Rect};
use crate::units::{Length, LengthUnit, trimmed};

const PAGE: DVec2 = DVec2::new(297.0, 210.0);
/// Fields of the two views: left, top, right, bottom.
const SOLID: [f64; 4] = [16.0, 34.0, 150.0, 140.0];
const ABOVE: [f64; 4] = [164.0, 34.0, 281.0, 140.0];
/// Where the list begins, and how many lines it has room for in each of two columns.
const LIST: DVec2 = DVec2::new(16.0, 154.0);
const LINES: usize = 6;
const SMALL: f64 = 3.4;
const INK: &str = "#1d2428";
/// Tones of the things: top, front and side of each.
const TONES: [[&str; 3]; 6] = [
    ["#f4e3c1", "#e3c894", "#c9a868"],
    ["#d5e6ef", "#aecbdb", "#86aabd"],
    ["#e2ead0", "#c3d3a3", "#a0b57a"],
    ["#f1d8d0", "#dfb3a5", "#c48f7e"],
    ["#e3dcef", "#c5b8dc", "#a393c2"],
    ["#e6e6e2", "#c9c9c2", "#a8a89f"],
];

/// The picture of a proposal.
#[must_use]
pub fn arrangement(p: &Proposal, unit: LengthUnit) -> Scene {
    let letters = Letters::shipped();
    let mut scene = Scene::new(PAGE.x, PAGE.y);
    let page = Rect {
        min: DVec2::ZERO,
        max: PAGE,
    };
    scene.shape(vec![Path::rect(page)], Some("#ffffff"), None);
    let (title, size) = letters.fitted(&p.name, 6.0, true, PAGE.x - 32.0);
    text(
        &mut scene,
        DVec2::new(16.0, 17.0),
        size,
        Anchor::Start,
        true,
        title,
    );
    let [l, w, d] = p.inside.map(|v| unit.number(v));
    let head = format!(
        "inside {l} x {w} x {d} {}, {} litres, {} kg of things",
        unit.symbol(),
        trimmed(p.litres, 2),
        trimmed(p.mass.to_kg(), 2)
    );
    text(
        &mut scene,
        DVec2::new(16.0, 24.0),
        3.8,
        Anchor::Start,
        false,
        head,
    );
    solid(&mut scene, p, unit);
    above(&mut scene, p, unit);
    list(&mut scene, p, unit, &letters);
    scene
}

fn text(scene: &mut Scene, at: DVec2, size: f64, anchor: Anchor, bold: bool, text: String) {
    scene.items.push(Item::Text {
        at,
        size,
        anchor,
        turn: 0.0,
        bold,
        colour: INK,
        text,
    });
}

const fn line(width: f64) -> Stroke {
    Stroke {
        colour: INK,
        width,
        dash: &[],
    }
}

const fn dashed() -> Stroke {
    Stroke {
        colour: "#7a858b",
        width: 0.25,
        dash: &[1.6, 1.2],
    }
}

const fn tone(n: usize) -> [&'static str; 3] {
    TONES[n % TONES.len()]
}

type Spot = [f64; 3];

/// Parallel projection: length to the right, width into the page and up, depth up.
struct View {
    origin: DVec2,
    scale: f64,
}

/// How width shows: to the right and up, as a share of it.
const SLANT: DVec2 = DVec2::new(0.46, 0.38);

impl View {
    fn new(inside: Spot) -> Self {
        let [l, w, d] = inside;
        let wide = DVec2::new(l + SLANT.x * w, d + SLANT.y * w);
        let room = DVec2::new(SOLID[2] - SOLID[0], SOLID[3] - SOLID[1]);
        let scale = (room.x / wide.x).min(room.y / wide.y);
        let left = SOLID[0] + (room.x - wide.x * scale) / 2.0;
        let floor = SOLID[3] - (room.y - wide.y * scale) / 2.0;
        Self {
            origin: DVec2::new(left, floor),
            scale,
        }
    }
    fn at(&self, [x, y, z]: Spot) -> DVec2 {
        let flat = DVec2::new(x + SLANT.x * y, z + SLANT.y * y) * self.scale;
        DVec2::new(self.origin.x + flat.x, self.origin.y - flat.y)
    }
    fn face(&self, corners: [Spot; 4]) -> Path {
        Path::polygon(corners.map(|c| self.at(c)))
    }
}

fn corners(t: &Lying) -> (Spot, Spot) {
    let at = t.at.map(Length::to_mm);
    let far = [0, 1, 2].map(|a| at[a] + t.size[a].to_mm());
    (at, far)
}

/// The three faces of a box that are seen: top, front, right.
fn faces(view: &View, [x, y, z]: Spot, [u, v, w]: Spot) -> [Path; 3] {
    [
        view.face([[x, y, w], [u, y, w], [u, v, w], [x, v, w]]),
        view.face([[x, y, z], [u, y, z], [u, y, w], [x, y, w]]),
        view.face([[u, y, z], [u, v, z], [u, v, w], [u, y, w]]),
    ]
}

fn solid(scene: &mut Scene, p: &Proposal, unit: LengthUnit) {
    let inside = p.inside.map(Length::to_mm);
    let view = View::new(inside);
    let [l, w, d] = inside;
    // The far walls and the floor first.
    for back in [
        view.face([[0.0, 0.0, 0.0], [l, 0.0, 0.0], [l, w, 0.0], [0.0, w, 0.0]]),
        view.face([[0.0, w, 0.0], [l, w, 0.0], [l, w, d], [0.0, w, d]]),
        view.face([[0.0, 0.0, 0.0], [0.0, w, 0.0], [0.0, w, d], [0.0, 0.0, d]]),
    ] {
        scene.shape(vec![back], Some("#f6f4ef"), Some(dashed()));
    }
    for n in far_first(&p.arrangement) {
        let t = &p.arrangement[n];
        let (at, far) = corners(t);
        for (face, fill) in faces(&view, at, far).into_iter().zip(tone(n)) {
            scene.shape(vec![face], Some(fill), Some(line(0.3)));
        }
        round_marks(scene, &view, t);
        let middle = view.at([(at[0] + far[0]) / 2.0, at[1], (at[2] + far[2]) / 2.0]);
        tag(scene, middle, n + 1);
    }
    for edge in [
        [[0.0, 0.0, 0.0], [l, 0.0, 0.0], [l, 0.0, d], [0.0, 0.0, d]],
        [[l, 0.0, 0.0], [l, w, 0.0], [l, w, d], [l, 0.0, d]],
        [[0.0, 0.0, d], [l, 0.0, d], [l, w, d], [0.0, w, d]],
    ] {
        scene.shape(vec![view.face(edge)], None, Some(line(0.35)));
    }
    let below = |p: DVec2, by: DVec2| p + by;
    text(
        scene,
        below(view.at([l / 2.0, 0.0, 0.0]), DVec2::new(0.0, 5.0)),
        SMALL,
        Anchor::Middle,
        false,
        format!("length {}", unit.show(p.inside[0])),
    );
    text(
        scene,
        below(view.at([l, w / 2.0, 0.0]), DVec2::new(2.0, 3.0)),
        SMALL,
        Anchor::Start,
        false,
        format!("width {}", unit.show(p.inside[1])),
    );
    let at = view.at([0.0, 0.0, d / 2.0]) - DVec2::new(2.5, 0.0);
    scene.items.push(Item::Text {
        at,
        size: SMALL,
        anchor: Anchor::Middle,
        turn: 90.0,
        bold: false,
        colour: INK,
        text: format!("depth {}", unit.show(p.inside[2])),
    });
}

/// An order in which nothing is painted over what stands before it: what is behind, left of or below
/// something else comes first.
fn far_first(all: &[Lying]) -> Vec<usize> {
    let spans: Vec<(Spot, Spot)> = all.iter().map(corners).collect();
    let first = |i: usize, j: usize| {
        let ((at, far), (to, end)) = (spans[i], spans[j]);
        // i must come before j.
        far[0] <= to[0] + SAME || at[1] >= end[1] - SAME || far[2] <= to[2] + SAME
    };
    let mut left: Vec<usize> = (0..all.len()).collect();
    let mut out = Vec::new();
    while !left.is_empty() {
        let free = left.iter().position(|i| {
            let others = left.iter().filter(|j| *j != i);
            others.into_iter().all(|j| !first(*j, *i) || first(*i, *j))
        });
        out.push(left.remove(free.unwrap_or(0)));
    }
    out
}

/// Ends this close are at the same place, mm.
const SAME: f64 = 0.01;

/// A circle on the end of a cylinder that is seen.
fn round_marks(scene: &mut Scene, view: &View, t: &Lying) {
    let Some(axis) = t
        .along
        .iter()
        .position(|w| *w == "length")
        .filter(|_| t.round)
    else {
        return;
    };
    let (at, far) = corners(t);
    let end = if axis == 1 { at[1] } else { far[axis] };
    let (a, b) = ([1, 0, 0][axis], [2, 2, 1][axis]);
    let ring = (0..48).map(|k| {
        let turn = std::f64::consts::TAU * f64::from(k) / 48.0;
        let mut spot = [end; 3];
        for (axis, share) in [(a, turn.cos()), (b, turn.sin())] {
            spot[axis] = (at[axis] + far[axis]) / 2.0 + share * (far[axis] - at[axis]) / 2.0;
        }
        view.at(spot)
    });
    scene.shape(vec![Path::polygon(ring)], None, Some(line(0.25)));
}

fn above(scene: &mut Scene, p: &Proposal, unit: LengthUnit) {
    let [l, w, _] = p.inside.map(Length::to_mm);
    let room = DVec2::new(ABOVE[2] - ABOVE[0], ABOVE[3] - ABOVE[1]);
    let scale = (room.x / l).min(room.y / w);
    let corner = DVec2::new(
        ABOVE[0] + (room.x - l * scale) / 2.0,
        ABOVE[3] - (room.y - w * scale) / 2.0,
    );
    let spot = |x: f64, y: f64| DVec2::new(corner.x + x * scale, corner.y - y * scale);
    let rect = |x: f64, y: f64, u: f64, v: f64| {
        Path::rect(Rect {
            min: DVec2::new(spot(x, y).x, spot(u, v).y),
            max: DVec2::new(spot(u, v).x, spot(x, y).y),
        })
    };
    scene.shape(
        vec![rect(0.0, 0.0, l, w)],
        Some("#f6f4ef"),
        Some(line(0.35)),
    );
    let mut order: Vec<usize> = (0..p.arrangement.len()).collect();
    order.sort_by(|a, b| {
        let top = |n: &usize| corners(&p.arrangement[*n]).1[2];
        top(a).total_cmp(&top(b)).then(a.cmp(b))
    });
    let mut tags: Vec<(DVec2, usize)> = Vec::new();
    for n in order {
        let t = &p.arrangement[n];
        let (at, far) = corners(t);
        scene.shape(
            vec![rect(at[0], at[1], far[0], far[1])],
            Some(tone(n)[0]),
            Some(line(0.3)),
        );
        if t.round && t.along[2] == "length" {
            let ring = (0..48).map(|k| {
                let turn = std::f64::consts::TAU * f64::from(k) / 48.0;
                let r = (far[0] - at[0]) / 2.0;
                spot(
                    (at[0] + far[0]) / 2.0 + r * turn.cos(),
                    (at[1] + far[1]) / 2.0 + r * turn.sin(),
                )
            });
            scene.shape(vec![Path::polygon(ring)], None, Some(line(0.25)));
        }
        let mut middle = spot((at[0] + far[0]) / 2.0, (at[1] + far[1]) / 2.0);
        // A tag under another one is not read.
        while tags.iter().any(|(q, _)| q.distance(middle) < 7.0) {
            middle.x += 7.2;
        }
        tags.push((middle, n + 1));
    }
    // What lies below something shows through.
    for t in &p.arrangement {
        let (at, far) = corners(t);
        let outline = rect(at[0], at[1], far[0], far[1]);
        scene.shape(vec![outline], None, Some(dashed()));
    }
    for (at, n) in tags {
        tag(scene, at, n);
    }
    let title = format!(
        "from above: {} x {} {}",
        unit.number(p.inside[0]),
        unit.number(p.inside[1]),
        unit.symbol()
    );
    let at = DVec2::new(f64::midpoint(ABOVE[0], ABOVE[2]), corner.y + 5.0);
    text(scene, at, SMALL, Anchor::Middle, false, title);
}

fn tag(scene: &mut Scene, at: DVec2, n: usize) {
    let ring = (0..32).map(|k| {
        let turn = std::f64::consts::TAU * f64::from(k) / 32.0;
        at + DVec2::new(turn.cos(), turn.sin()) * 3.0
    });
    scene.shape(vec![Path::polygon(ring)], Some("#ffffff"), Some(line(0.3)));
    let below = at + DVec2::new(0.0, 1.3);
    text(scene, below, 3.6, Anchor::Middle, true, n.to_string());
}

fn list(scene: &mut Scene, p: &Proposal, unit: LengthUnit, letters: &Letters) {
    let column = (PAGE.x - 32.0) / 2.0;
    for (n, t) in p.arrangement.iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "a dozen things at most")]
        let at = LIST + DVec2::new((n / LINES) as f64 * column, (n % LINES) as f64 * 7.4);
        tag(scene, at + DVec2::new(3.0, -1.2), n + 1);
        let [l, w, d] = t.size.map(|v| unit.number(v));
        let borne = if t.supported < 1.0 {
            let share = trimmed(100.0 * t.supported, 0);
            format!("; {share} % borne, fill below it")
        } else {
            String::new()
        };
        let words = format!("{}: {l} x {w} x {d} {}{borne}", t.thing, unit.symbol());
        let (words, size) = letters.fitted(&words, SMALL, false, column - 12.0);
        text(
            scene,
            at + DVec2::new(8.5, 0.0),
            size,
            Anchor::Start,
            false,
            words,
        );
    }
    if let Some(c) = &p.padding.cushion {
        let words = format!(
            "cushion {} on every side, for the {}",
            unit.show(c.thickness),
            c.thing
        );
        text(
            scene,
            DVec2::new(LIST.x, PAGE.y - 8.0),
            SMALL,
            Anchor::Start,
            false,
            words,
        );
    }
}
