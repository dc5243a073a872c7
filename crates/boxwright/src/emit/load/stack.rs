//! The whole load as a picture: parallel projection from the front, right and above. Everything is a
//! box with its sides along the base's, so boxes are painted back to front; boxes that are shut in
//! are left out.

use super::{Field, MARGIN, TINTS, WIDTH, WOOD, dimension, line, size, turned, words};
use crate::emit::font::Letters;
use crate::emit::scene::Scene;
use crate::geom::{DVec2, DVec3, Path, Rect};
use crate::pallet::{Arrangement, Limit, Load};
use crate::units::{Length, LengthUnit, Mass, trimmed};

/// Turn of the load and tilt of the view, in degrees.
const TURN: f64 = 32.0;
const TILT: f64 = 24.0;
const TALLEST: f64 = 112.0;
/// Room at the left for the height and at the foot for the base.
const LEFT: f64 = 14.0;
const FOOT: f64 = 13.0;
/// Two faces within this, in mm, touch.
const TOUCH: f64 = 0.01;

const CAUTION: &str = "Counts and masses only: whether the lowest cases bear this is another question. \
    People stand near stacks; secure the load and keep to local rules.";

/// A load as it stands, with its height and the plan of its base.
#[must_use]
pub fn picture(load: &Load, unit: LengthUnit) -> Scene {
    let field = Field {
        wide: WIDTH,
        tallest: TALLEST,
        words: true,
    };
    picture_in(load, unit, field)
}

/// The same in a field of another breadth and height, with or without words.
#[must_use]
pub fn picture_in(load: &Load, unit: LengthUnit, field: Field) -> Scene {
    let letters = Letters::shipped();
    let boxes = seen(boxes(load));
    let flat: Vec<DVec2> = boxes
        .iter()
        .flat_map(|b| b.corners())
        .map(project)
        .collect();
    let extent = flat.iter().fold(Rect::EMPTY, |r, p| r.with(*p));
    let room = DVec2::new(field.wide - 2.0 * MARGIN - 2.0 * LEFT, field.tallest);
    let scale = (room / extent.size().max(DVec2::splat(1e-9))).min_element();
    let drawn = extent.size() * scale;
    let origin = DVec2::new(
        0.5 * (field.wide - drawn.x) - scale * extent.min.x,
        MARGIN + drawn.y + scale * extent.min.y,
    );
    let page = |p: DVec3| {
        let p = project(p);
        DVec2::new(origin.x + scale * p.x, origin.y - scale * p.y)
    };
    let mut scene = Scene::new(field.wide, 0.0);
    for b in &boxes {
        b.paint(&mut scene, &page);
    }
    let [x, y] = load.base.plan.map(Length::to_mm);
    let high = load.height.to_mm();
    let off = |p: DVec2| p.normalize_or_zero() * 6.0;
    let (o, right, far) = (
        page(DVec3::ZERO),
        page(DVec3::new(x, 0.0, 0.0)),
        page(DVec3::new(x, y, 0.0)),
    );
    let down = |a: DVec2, b: DVec2| {
        let d = b - a;
        let n = DVec2::new(-d.y, d.x);
        off(if n.y > 0.0 { n } else { -n })
    };
    let show = |l| unit.show(l);
    dimension(
        &mut scene,
        [o, right],
        down(o, right),
        &show(load.base.plan[0]),
    );
    dimension(
        &mut scene,
        [right, far],
        down(right, far),
        &show(load.base.plan[1]),
    );
    let left = page(DVec3::ZERO)
        .x
        .min(MARGIN + 0.5 * (field.wide - drawn.x));
    let edge = flat
        .iter()
        .map(|p| origin.x + scale * p.x)
        .fold(left, f64::min);
    let foot = DVec2::new(o.x, o.y);
    let head = foot - DVec2::new(0.0, scale * high * TILT.to_radians().cos());
    let shift = DVec2::new(edge - 6.0 - foot.x, 0.0);
    dimension(&mut scene, [foot, head], shift, &show(load.height));
    let under = MARGIN + drawn.y + FOOT;
    let said = if field.words {
        lines(load, unit)
    } else {
        Vec::new()
    };
    let end = words(&mut scene, &letters, under, &said);
    scene.height = end + 1.0;
    let whole = Rect {
        min: DVec2::ZERO,
        max: DVec2::new(field.wide, scene.height),
    };
    let mut out = Scene::new(field.wide, scene.height);
    out.shape(vec![Path::rect(whole)], Some("#ffffff"), None);
    out.put(scene, DVec2::ZERO);
    out
}

fn lines(load: &Load, unit: LengthUnit) -> Vec<(String, bool)> {
    let how = match load.arrangement {
        Arrangement::Column => "in columns",
        Arrangement::Interlocked => "interlocked",
    };
    let limit = match load.limit {
        Limit::Height => "another layer would be too high",
        Limit::Mass => "more would be too heavy",
        Limit::SafeLoad => "more would be too heavy for the base",
        Limit::Wanted => "no more were wanted",
    };
    let kg = |m: Mass| trimmed(m.to_kg(), 1);
    let layers = if load.layers == 1 { "layer" } else { "layers" };
    let part = load
        .top
        .as_ref()
        .map_or_else(String::new, |t| format!(", the top one with {}", t.len()));
    vec![
        (
            format!(
                "{} cases: {} {layers} of {}{part}, {how}",
                load.count, load.layers, load.per_layer
            ),
            true,
        ),
        (
            format!(
                "case {}; gross {} kg, of which cases {} kg; {limit}",
                size(unit, &load.case),
                kg(load.gross_mass),
                kg(load.load_mass)
            ),
            false,
        ),
        (
            format!(
                "centre of mass {} {} above the ground",
                trimmed(unit_of(load.centre[2], unit), tenths(unit)),
                unit.symbol()
            ),
            false,
        ),
        (CAUTION.to_owned(), false),
    ]
}

fn unit_of(l: Length, unit: LengthUnit) -> f64 {
    match unit {
        LengthUnit::Mm => l.to_mm(),
        LengthUnit::Inch => l.to_inch(),
    }
}

/// Decimals of a place that is not measured to better than a millimetre.
const fn tenths(unit: LengthUnit) -> usize {
    match unit {
        LengthUnit::Mm => 0,
        LengthUnit::Inch => 1,
    }
}

fn project(p: DVec3) -> DVec2 {
    let (turn, tilt) = (TURN.to_radians(), TILT.to_radians());
    let away = -p.x * turn.sin() + p.y * turn.cos();
    DVec2::new(
        p.x * turn.cos() + p.y * turn.sin(),
        p.z * tilt.cos() + away * tilt.sin(),
    )
}

#[derive(Clone, Debug)]
struct Block {
    min: DVec3,
    max: DVec3,
    /// Colours of the top, the front and the right side.
    fill: [&'static str; 3],
}

const CASES: [[&str; 3]; 2] = [
    [TINTS[0], "#e3c292", "#cfab78"],
    [TINTS[1], "#b4ccd8", "#9ab6c4"],
];
const BOARDS: [&str; 3] = [WOOD, "#c2aa7d", "#a89169"];

impl Block {
    fn corners(&self) -> [DVec3; 8] {
        let (a, b) = (self.min, self.max);
        [0, 1, 2, 3, 4, 5, 6, 7].map(|n: u8| {
            let of = |bit: u8, low: f64, high: f64| if n & bit == 0 { low } else { high };
            DVec3::new(of(1, a.x, b.x), of(2, a.y, b.y), of(4, a.z, b.z))
        })
    }
    fn paint(&self, scene: &mut Scene, page: &impl Fn(DVec3) -> DVec2) {
        let (a, b) = (self.min, self.max);
        let faces = [
            [
                DVec3::new(a.x, a.y, b.z),
                DVec3::new(b.x, a.y, b.z),
                b,
                DVec3::new(a.x, b.y, b.z),
            ],
            [
                a,
                DVec3::new(b.x, a.y, a.z),
                DVec3::new(b.x, a.y, b.z),
                DVec3::new(a.x, a.y, b.z),
            ],
            [
                DVec3::new(b.x, a.y, a.z),
                DVec3::new(b.x, b.y, a.z),
                b,
                DVec3::new(b.x, a.y, b.z),
            ],
        ];
        for (face, fill) in faces.into_iter().zip(self.fill) {
            let path = Path::polygon(face.map(page));
            scene.shape(vec![path], Some(fill), line(0.18, &[]));
        }
    }
    /// Whether this must be painted before the other: it lies behind, left of or below it, and
    /// nothing says otherwise.
    fn before(&self, o: &Self) -> bool {
        let behind = [
            self.min.y >= o.max.y - TOUCH,
            self.max.x <= o.min.x + TOUCH,
            self.max.z <= o.min.z + TOUCH,
        ];
        let front = [
            o.min.y >= self.max.y - TOUCH,
            o.max.x <= self.min.x + TOUCH,
            o.max.z <= self.min.z + TOUCH,
        ];
        behind.contains(&true) && !front.contains(&true)
    }
}

/// The base in plain boards, then the cases.
fn boxes(load: &Load) -> Vec<Block> {
    let [x, y] = load.base.plan.map(Length::to_mm);
    let h = load.base.height.to_mm();
    let mut all = Vec::new();
    if h > 0.0 {
        let (low, high) = (0.16 * h, 0.7 * h);
        let (thick, broad) = (0.12 * x.max(y), 0.13 * x.min(y));
        let mut put = |from: [f64; 3], to: [f64; 3]| {
            all.push(Block {
                min: DVec3::from(from),
                max: DVec3::from(to),
                fill: BOARDS,
            });
        };
        for k in [0.0, 0.5, 1.0] {
            let at = k * (y - broad);
            put([0.0, at, 0.0], [x, at + broad, low]);
            for j in [0.0, 0.5, 1.0] {
                let from = j * (x - thick);
                put([from, at, low], [from + thick, at + broad, high]);
            }
        }
        put([0.0, 0.0, high], [x, y, h]);
    }
    let up = load.case[2].to_mm();
    for n in 0..load.layers {
        #[allow(clippy::cast_precision_loss, reason = "a number of layers")]
        let z = h + n as f64 * up;
        for s in load.layer_at(n) {
            let min = DVec3::new(s.x.to_mm(), s.y.to_mm(), z);
            all.push(Block {
                min,
                max: min + DVec3::new(s.along_x.to_mm(), s.along_y.to_mm(), up),
                fill: CASES[usize::from(turned(load, s))],
            });
        }
    }
    all
}

/// Boxes of which something shows, back to front.
fn seen(all: Vec<Block>) -> Vec<Block> {
    let shut_in = |b: &Block| {
        let covered = |face: usize| {
            let (u, v) = [(0, 1), (0, 2), (1, 2)][face];
            let area = |lo: DVec3, hi: DVec3| (hi[u] - lo[u]).max(0.0) * (hi[v] - lo[v]).max(0.0);
            let touching = all.iter().filter(|o| match face {
                0 => (o.min.z - b.max.z).abs() < TOUCH,
                1 => (o.max.y - b.min.y).abs() < TOUCH,
                _ => (o.min.x - b.max.x).abs() < TOUCH,
            });
            let sum: f64 = touching
                .map(|o| area(o.min.max(b.min), o.max.min(b.max)))
                .sum();
            sum >= area(b.min, b.max) - 1.0
        };
        (0..3).all(covered)
    };
    let mut left: Vec<Block> = all.iter().filter(|b| !shut_in(b)).cloned().collect();
    let mut out = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let first = (0..left.len())
            .find(|n| (0..left.len()).all(|m| m == *n || !left[m].before(&left[*n])))
            // Boxes that share no room can always be ordered; were it not so, the order given stays.
            .unwrap_or(0);
        out.push(left.remove(first));
    }
    out
}
