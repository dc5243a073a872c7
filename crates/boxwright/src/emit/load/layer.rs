//! Layers from above: one, or two side by side where every other layer lies otherwise.

use super::{
    Field, INK, LEAST, MARGIN, SMALL, TINTS, WIDTH, WOOD, dimension, line, size, turned, words,
};
use crate::emit::font::{CAP, Letters};
use crate::emit::scene::{Anchor, Item, Scene, ToPage};
use crate::geom::{DVec2, Path, Rect};
use crate::pallet::{Arrangement, Load, Proof, Spot};
use crate::units::{Length, LengthUnit, trimmed};

/// The tallest a layer may be drawn, in mm.
const TALLEST: f64 = 92.0;
/// Room for a dimension beside a layer.
const BESIDE: f64 = 9.5;
/// Clear room between two layers.
const APART: f64 = 3.0;

/// The layers of a load from above, with sizes of base, load and case.
#[must_use]
pub fn layers(load: &Load, unit: LengthUnit) -> Scene {
    let field = Field {
        wide: WIDTH,
        tallest: TALLEST,
        words: true,
    };
    layers_in(load, unit, field)
}

/// The same in a field of another breadth and height, with or without words.
#[must_use]
pub fn layers_in(load: &Load, unit: LengthUnit, field: Field) -> Scene {
    let letters = Letters::shipped();
    let both = load.arrangement == Arrangement::Interlocked && load.layers > 1;
    let shown: Vec<(&str, &[Spot])> = if both {
        vec![
            ("layers 1, 3, 5 ...", &load.layer),
            ("layers 2, 4, 6 ...", &load.between),
        ]
    } else {
        vec![("every layer", &load.layer)]
    };
    let extent = extent(load);
    // One needs room for sizes on both sides; of two the second shares the gap between.
    let inner = field.wide - 2.0 * (MARGIN + BESIDE);
    let each = if both {
        0.5 * (inner - BESIDE - APART)
    } else {
        inner
    };
    let room = DVec2::new(each, field.tallest);
    let scale = (room / extent.size()).min_element();
    let top = MARGIN + 5.0 + BESIDE;
    let drawn = extent.size() * scale;
    let mut scene = Scene::new(field.wide, 0.0);
    for (n, (title, spots)) in shown.iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "0 or 1")]
        let middle = MARGIN + BESIDE + 0.5 * each + n as f64 * (each + BESIDE + APART);
        let at = ToPage {
            origin: DVec2::new(
                middle - 0.5 * drawn.x - scale * extent.min.x,
                top + drawn.y + scale * extent.min.y,
            ),
            scale,
        };
        scene.text(
            DVec2::new(middle, MARGIN + 3.0),
            SMALL,
            Anchor::Middle,
            *title,
        );
        one(&mut scene, load, spots, at, &letters, unit);
        sizes(&mut scene, load, at, unit, n == 0);
    }
    let under = top + drawn.y + BESIDE + 6.0;
    let said = if field.words {
        lines(load, unit)
    } else {
        Vec::new()
    };
    let end = words(&mut scene, &letters, under, &said);
    scene.height = end + 1.0;
    let page = Rect {
        min: DVec2::ZERO,
        max: DVec2::new(scene.width, scene.height),
    };
    let mut out = Scene::new(scene.width, scene.height);
    out.shape(vec![Path::rect(page)], Some("#ffffff"), None);
    out.put(scene, DVec2::ZERO);
    out
}

fn rect(s: &Spot) -> Rect {
    let min = DVec2::new(s.x.to_mm(), s.y.to_mm());
    Rect {
        min,
        max: min + DVec2::new(s.along_x.to_mm(), s.along_y.to_mm()),
    }
}

fn plan(load: &Load) -> Rect {
    Rect {
        min: DVec2::ZERO,
        max: DVec2::new(load.base.plan[0].to_mm(), load.base.plan[1].to_mm()),
    }
}

fn extent(load: &Load) -> Rect {
    let all = load.layer.iter().chain(&load.between);
    all.fold(plan(load), |r, s| r.union(rect(s)))
}

fn one(
    scene: &mut Scene,
    load: &Load,
    spots: &[Spot],
    at: ToPage,
    letters: &Letters,
    unit: LengthUnit,
) {
    let base = at.path(&Path::rect(plan(load)));
    scene.shape(vec![base.clone()], Some(WOOD), None);
    for s in spots {
        let tint = TINTS[usize::from(turned(load, s))];
        scene.shape(
            vec![at.path(&Path::rect(rect(s)))],
            Some(tint),
            line(0.2, &[]),
        );
    }
    // The base's edge shows through where cases reach past it.
    scene.shape(vec![base], None, line(0.35, &[2.4, 1.0]));
    // Each way of lying is named once.
    for way in [false, true] {
        let Some(s) = spots.iter().find(|s| turned(load, s) == way) else {
            continue;
        };
        let r = rect(s);
        let room = 0.9 * at.scale * r.size();
        let upright = room.y > room.x;
        let (long, short) = if upright {
            (room.y, room.x)
        } else {
            (room.x, room.y)
        };
        let text = format!("{} x {}", unit.number(s.along_x), unit.number(s.along_y));
        let em = SMALL
            .min(SMALL * long / letters.width(&text, SMALL, false))
            .min(0.8 * short);
        if em < LEAST {
            continue;
        }
        let down = 0.5 * CAP * em;
        let shift = if upright {
            DVec2::new(down, 0.0)
        } else {
            DVec2::new(0.0, down)
        };
        scene.items.push(Item::Text {
            at: at.point(r.centre()) + shift,
            size: em,
            anchor: Anchor::Middle,
            turn: if upright { 90.0 } else { 0.0 },
            bold: false,
            colour: INK,
            text,
        });
    }
}

/// The base below and to the left, the load above and to the right.
fn sizes(scene: &mut Scene, load: &Load, at: ToPage, unit: LengthUnit, first: bool) {
    let b = plan(load);
    let e = extent(load);
    let show = |mm: f64| unit.number(Length::mm(mm));
    let p = |x: f64, y: f64| at.point(DVec2::new(x, y));
    let below = p(0.0, e.min.y).y - p(0.0, 0.0).y + 6.5;
    dimension(
        scene,
        [p(0.0, 0.0), p(b.max.x, 0.0)],
        DVec2::new(0.0, below),
        &format!("{} {}", show(b.max.x), unit.symbol()),
    );
    if first {
        let left = p(e.min.x, 0.0).x - p(0.0, 0.0).x - 5.0;
        dimension(
            scene,
            [p(0.0, 0.0), p(0.0, b.max.y)],
            DVec2::new(left, 0.0),
            &show(b.max.y),
        );
    }
    let all = load.layer.iter().fold(Rect::EMPTY, |r, s| r.union(rect(s)));
    let up = p(0.0, e.max.y).y - p(0.0, all.max.y).y - 5.0;
    dimension(
        scene,
        [p(all.min.x, all.max.y), p(all.max.x, all.max.y)],
        DVec2::new(0.0, up),
        &format!("load {}", show(all.size().x)),
    );
    let right = p(e.max.x, 0.0).x - p(all.max.x, 0.0).x + 5.0;
    dimension(
        scene,
        [p(all.max.x, all.min.y), p(all.max.x, all.max.y)],
        DVec2::new(right, 0.0),
        &show(all.size().y),
    );
}

fn lines(load: &Load, unit: LengthUnit) -> Vec<(String, bool)> {
    let how = match load.arrangement {
        Arrangement::Column => "in columns",
        Arrangement::Interlocked => "interlocked",
    };
    let most = match load.proof {
        Proof::Bound | Proof::Tried => "proved to be the most".to_owned(),
        Proof::None => format!(
            "not shown to be the most: the bound is {}",
            load.layer_bound
        ),
    };
    let mut out = vec![
        (
            format!(
                "{} in a layer, {how}, on {}",
                load.per_layer, load.base.name
            ),
            true,
        ),
        (
            format!(
                "case {} outside; {} % of the base; {most}",
                size(unit, &load.case),
                trimmed(100.0 * load.area_share, 1),
            ),
            false,
        ),
        (reach(load, unit), false),
    ];
    if let Some(s) = &load.standing {
        let share = |v: f64| trimmed(100.0 * v, 0);
        out.push((
            format!(
                "of each upper layer {} % of corners stand on corners, {} % of walls on walls, {} % of cases bridge a joint",
                share(s.corners),
                share(s.walls),
                share(s.bridging)
            ),
            false,
        ));
    }
    out
}

/// How far the load reaches past the base, or stays inside.
fn reach(load: &Load, unit: LengthUnit) -> String {
    let [left, right, near, far] = load.overhang;
    let one = |name: &str, a: Length, b: Length| {
        let least = a.max(b);
        let words = if least > Length::ZERO {
            "overhangs"
        } else {
            "inside by"
        };
        let [a, b] = [a, b].map(|v| unit.number(v.abs()));
        if a == b {
            format!("{name} {words} {a}")
        } else {
            format!("{name} {words} {a} and {b}")
        }
    };
    format!(
        "{}, {} {}",
        one("ends", left, right),
        one("sides", near, far),
        unit.symbol()
    )
}
