#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use super::*;
use crate::emit::scene::Item;
use crate::pallet::{Arrangement, Base, Carton, Down, Load, Rules, loads};
use crate::units::Mass;

fn pallet() -> Base {
    Base {
        name: "1200x800".into(),
        plan: [Length::mm(1200.0), Length::mm(800.0)],
        height: Length::mm(144.0),
        mass: Mass::kg(25.0),
        safe_load: Some(Mass::kg(1500.0)),
    }
}

fn load(outside: [f64; 3], overhang: f64, arrangement: Arrangement) -> Load {
    let carton = Carton {
        outside: outside.map(Length::mm),
        mass: Mass::kg(6.4),
        down: Down::Bottom,
    };
    let rules = Rules {
        overhang: [Length::mm(overhang); 2],
        arrangements: vec![arrangement],
        ..Rules::up_to(Length::mm(1500.0))
    };
    loads(&pallet(), &carton, &rules).unwrap().remove(0)
}

fn texts(scene: &Scene) -> Vec<&str> {
    let each = scene.items.iter().filter_map(|i| match i {
        Item::Text { text, .. } => Some(text.as_str()),
        Item::Shape { .. } => None,
    });
    each.collect()
}

#[test]
fn a_layer_shows_each_case_once_and_its_sizes() {
    let load = load([400.0, 300.0, 250.0], 0.0, Arrangement::Column);
    let scene = layers(&load, LengthUnit::Mm);
    let filled = |tint: &str| {
        let has = |i: &&Item| matches!(i, Item::Shape { fill: Some(f), .. } if *f == tint);
        scene.items.iter().filter(has).count()
    };
    assert_eq!(filled(TINTS[0]) + filled(TINTS[1]), 8);
    let all = texts(&scene);
    assert!(all.contains(&"1200 mm") && all.contains(&"800"), "{all:?}");
    assert!(
        all.iter().any(|t| t.contains("100 % of the base")),
        "{all:?}"
    );
}

#[test]
fn interlocked_layers_lie_side_by_side() {
    let load = load([387.0, 263.0, 210.0], 0.0, Arrangement::Interlocked);
    let scene = layers(&load, LengthUnit::Mm);
    let all = texts(&scene);
    assert!(all.contains(&"layers 1, 3, 5 ...") && all.contains(&"layers 2, 4, 6 ..."));
    let inside = |p: DVec2| (0.0..=WIDTH).contains(&p.x) && (0.0..=scene.height).contains(&p.y);
    for item in &scene.items {
        match item {
            Item::Shape { paths, .. } => {
                assert!(paths.iter().flat_map(|p| &p.vertices).all(|v| inside(v.at)));
            }
            Item::Text { at, .. } => assert!(inside(*at)),
        }
    }
}

#[test]
fn a_picture_leaves_out_what_is_shut_in_and_names_the_height() {
    // 3 by 2 by 5 of 400 x 400 x 250 on 1200 x 800: the back row shows on top only, and of the 30
    // cases the 2 x 1 columns that are neither in front nor at the right show their top alone.
    let load = load([400.0, 400.0, 250.0], 0.0, Arrangement::Column);
    assert_eq!((load.count, load.layers), (30, 5));
    let scene = picture(&load, LengthUnit::Mm);
    let fills = |f: &str| {
        let has = |i: &&Item| matches!(i, Item::Shape { fill: Some(g), .. } if *g == f);
        scene.items.iter().filter(has).count()
    };
    // Each drawn case has one top: 6 on top, and below 4 layers of 3 in front and 1 more at the right.
    assert_eq!(fills(TINTS[0]) + fills(TINTS[1]), 6 + 4 * 4);
    assert!(texts(&scene).contains(&"1394 mm"), "{:?}", texts(&scene));
    // The sentence runs over several lines.
    assert!(texts(&scene).join(" ").contains("People stand near"));
}
