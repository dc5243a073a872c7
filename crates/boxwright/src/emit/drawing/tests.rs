use super::*;
use crate::emit::font::CAP;
use crate::emit::sample::{slotted, spacers, tuck};
use crate::emit::scene::Item;
use crate::geom::Rect;

pub(super) fn texts(scene: &Scene) -> Vec<(String, Rect)> {
    let letters = Letters::shipped();
    scene
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Text {
                at,
                size,
                anchor,
                turn,
                bold,
                text,
                ..
            } => {
                let wide = letters.width(text, *size, *bold);
                let from = match anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => -0.5 * wide,
                    Anchor::End => -wide,
                };
                let high = CAP * size;
                // Read from below, or from the right after a quarter turn.
                let r = if *turn == 0.0 {
                    Rect {
                        min: *at + DVec2::new(from, -high),
                        max: *at + DVec2::new(from + wide, 0.0),
                    }
                } else {
                    assert!((turn - 90.0).abs() < 1e-9);
                    Rect {
                        min: *at + DVec2::new(-high, -from - wide),
                        max: *at + DVec2::new(0.0, -from),
                    }
                };
                Some((text.clone(), r))
            }
            Item::Shape { .. } => None,
        })
        .collect()
}

fn strokes(scene: &Scene) -> Vec<(f64, Path)> {
    scene
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Shape {
                paths,
                stroke: Some(s),
                ..
            } => Some((s.width, paths.clone())),
            _ => None,
        })
        .flat_map(|(w, paths)| paths.into_iter().map(move |p| (w, p)))
        .collect()
}

fn title() -> TitleBlock {
    TitleBlock {
        owner: "Clock repair workshop".into(),
        title: "Case".into(),
        inside: Some([300.0, 200.0, 150.0].map(Length::mm)),
        ..TitleBlock::default()
    }
}

fn all_drawings() -> Vec<Scene> {
    let mut out = Vec::new();
    for blank in [slotted(), tuck(), spacers()] {
        for unit in [LengthUnit::Mm, LengthUnit::Inch] {
            for sheet in [
                None,
                Some(SheetSize::A4),
                Some(SheetSize::A3),
                Some(SheetSize::A2),
            ] {
                for orientation in [Orientation::Portrait, Orientation::Landscape] {
                    let opts = DrawingOptions {
                        unit,
                        sheet,
                        orientation: Some(orientation),
                        scale: None,
                    };
                    out.push(drawing(&blank, &title(), &opts));
                }
            }
        }
    }
    out
}

/// No text touches a text or leaves the frame, no line crosses a text, and no text begins with
/// `never`.
pub(super) fn assert_readable(scene: &Scene, what: &str, never: &str) {
    let page = format!("{what} on {} x {}", scene.width, scene.height);
    let texts = texts(scene);
    let strokes = strokes(scene);
    for (i, (text, a)) in texts.iter().enumerate() {
        for (other, b) in &texts[i + 1..] {
            let apart = a.max.x <= b.min.x
                || b.max.x <= a.min.x
                || a.max.y <= b.min.y
                || b.max.y <= a.min.y;
            assert!(apart, "{text} and {other} of {page}");
        }
        for (_, path) in &strokes {
            let hit = crate::emit::clip::path(path, *a);
            assert!(hit.is_empty(), "{text} is crossed by {path:?} of {page}");
        }
        assert!(
            a.min.x >= 20.0 && a.max.x <= scene.width - 10.0,
            "{text} of {page}"
        );
        assert!(
            a.min.y >= 10.0 && a.max.y <= scene.height - 10.0,
            "{text} of {page}"
        );
        assert!(!text.starts_with(never), "{text} of {page}");
    }
}

#[test]
fn no_text_touches_a_text_or_is_crossed_by_a_line() {
    for scene in all_drawings() {
        assert_readable(&scene, "sample", "\u{0}");
    }
}

// From the sample's construction: walls 304 and 204, lap 35, flaps 102, walls 162 and 154, over
// all 1051 x 366, six slots of 6.
#[test]
fn the_sizes_of_a_slotted_case_are_written() {
    let scene = drawing(&slotted(), &title(), &DrawingOptions::default());
    let count = |t: &str| texts(&scene).iter().filter(|(x, _)| x == t).count();
    assert_eq!(count("304"), 2);
    assert_eq!(count("204"), 2);
    assert_eq!(count("35"), 1);
    assert_eq!(count("162"), 1);
    assert_eq!(count("154"), 1);
    assert_eq!(count("102"), 4);
    assert_eq!((count("1051"), count("366")), (1, 1));
    assert_eq!(count("6 slots 6 wide"), 1);
    assert_eq!(count("1 : 5"), 1);
    assert_eq!(count("300 x 200 x 150 mm"), 1);
    for panel in &slotted().panels {
        assert_eq!(count(&panel.name), 1, "{}", panel.name);
    }
}

// BS EN ISO 128-24: wide and narrow lines are 2 : 1, 0.7 and 0.35 mm.
#[test]
fn outlines_are_twice_as_wide_as_creases() {
    let blank = slotted();
    let scene = drawing(&blank, &title(), &DrawingOptions::default());
    let cut = crate::emit::sample::SLOTTED_CUT / 5.0;
    let found = |width: f64, length: f64| {
        strokes(&scene)
            .iter()
            .any(|(w, p)| (w - width).abs() < 1e-9 && (p.length() - length).abs() < 1e-6)
    };
    assert!(found(0.7, cut));
    assert!(found(0.35, 298.0 / 5.0));
}

#[test]
fn a_given_scale_is_kept_where_it_fits_and_passed_over_where_not() {
    let with = |n: f64, sheet| {
        let opts = DrawingOptions {
            scale: Some(n),
            sheet,
            ..DrawingOptions::default()
        };
        let scene = drawing(&slotted(), &title(), &opts);
        texts(&scene)
            .into_iter()
            .map(|(t, _)| t)
            .find(|t| t.starts_with("1 : "))
            .unwrap()
    };
    assert_eq!(with(4.0, Some(SheetSize::A3)), "1 : 4");
    assert_eq!(with(1.0, Some(SheetSize::A4)), "1 : 5");
    assert_eq!(with(f64::NAN, None), "1 : 5");
}

#[test]
fn the_same_blank_gives_the_same_page() {
    let page = || drawing(&tuck(), &title(), &DrawingOptions::default()).to_svg();
    assert_eq!(page(), page());
}

#[test]
fn blanks_past_any_sheet_and_hostile_texts_are_still_drawn() {
    let mut long = spacers();
    for v in &mut long.outline[0].vertices {
        v.at *= 400.0;
    }
    long.bounds = long.outline[0].bounds();
    let hostile = TitleBlock {
        title: "<b>&\u{0}\u{1b}\n\u{ffff}".into(),
        ..title()
    };
    for blank in [long, crate::emit::sample::empty("nothing")] {
        let scene = drawing(&blank, &hostile, &DrawingOptions::default());
        assert!(!scene.to_svg().contains('\u{0}'));
    }
    let scene = drawing(&slotted(), &hostile, &DrawingOptions::default());
    assert!(crate::emit::pdf::pdf(&[scene], "a\u{0}b").is_ok());
}
