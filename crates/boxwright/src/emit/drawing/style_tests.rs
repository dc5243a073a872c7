//! The shipped styles and the example jobs drawn small and large, in both units.

use super::tests::assert_readable;
use super::*;
use crate::blank::draw as grow;
use crate::board::read_boards;
use crate::brief::material;
use crate::job::parse_job;
use crate::source::{Door, Shipped, Text};
use crate::style::parse_style;

/// The blanks of a job, or none where the style refuses the size.
fn blanks(job: &str) -> Vec<std::sync::Arc<Blank>> {
    let job = parse_job(&Text {
        name: "job".into(),
        text: job.into(),
    })
    .unwrap();
    let style = parse_style(&Shipped.style(&job.style.name).unwrap(), &Shipped).unwrap();
    let boards = read_boards(&Shipped.boards()).unwrap();
    let board = boards.get(&job.board.name).unwrap();
    let material = material(&job, board);
    grow(&style.into(), &job, &material, &board.names()).map_or_else(|_| Vec::new(), |p| p.pieces)
}

fn drawn(blank: &Blank, unit: LengthUnit) -> Scene {
    let opts = DrawingOptions {
        unit,
        ..DrawingOptions::default()
    };
    drawing(blank, &TitleBlock::default(), &opts)
}

/// Every panel bears its name, or the key speaks of it.
fn assert_named(scene: &Scene, blank: &Blank, what: &str) {
    // A name may be broken over two lines of the key.
    let texts: Vec<String> = tests::texts(scene).into_iter().map(|(t, _)| t).collect();
    let texts = texts.join(" ");
    for panel in &blank.panels {
        assert!(texts.contains(&panel.name), "{} of {what}", panel.name);
    }
}

const LEFT_OUT: &str = "Not every size";

#[test]
fn every_style_is_readable_at_every_size() {
    let mut count = 0;
    for style in [
        "slotted-case",
        "half-slotted",
        "full-overlap",
        "tray-with-lid",
        "tuck-end-case",
        "mailer",
    ] {
        for [l, w, d] in [
            [60, 40, 25],
            [90, 60, 120],
            [120, 120, 30],
            [200, 150, 60],
            [284, 284, 22],
            [342, 178, 266],
            [400, 90, 700],
            [900, 600, 500],
            [1400, 1000, 150],
        ] {
            for board in ["E", "B", "BC"] {
                let job = format!(
                    "job \"t\" {{ style \"{style}\"; board \"{board}\"; \
                     inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\" }}"
                );
                for blank in blanks(&job) {
                    for unit in [LengthUnit::Mm, LengthUnit::Inch] {
                        let what = format!("{style} {l}x{w}x{d} {board} {} {unit:?}", blank.piece);
                        let scene = drawn(&blank, unit);
                        assert_readable(&scene, &what, LEFT_OUT);
                        assert_named(&scene, &blank, &what);
                        count += 1;
                    }
                }
            }
        }
    }
    assert!(count > 200, "only {count} were drawn");
}

#[test]
fn every_example_is_readable() {
    for job in [
        include_str!("../../../../../examples/brass-weights.kdl"),
        include_str!("../../../../../examples/dials.kdl"),
        include_str!("../../../../../examples/glass-dome.kdl"),
        include_str!("../../../../../examples/mantel-clock.kdl"),
        include_str!("../../../../../examples/movement.kdl"),
        include_str!("../../../../../examples/pendulum.kdl"),
    ] {
        let blanks = blanks(job);
        assert!(!blanks.is_empty());
        for blank in blanks {
            for unit in [LengthUnit::Mm, LengthUnit::Inch] {
                assert_readable(&drawn(&blank, unit), &blank.piece, LEFT_OUT);
            }
        }
    }
}

// By hand: the demo mailer's halves are mirror images, so a chain that needs leaders stands on
// the left half only.
#[test]
fn sizes_of_mirrored_halves_stand_once() {
    let job = include_str!("../../../../../examples/dials.kdl");
    let scene = drawn(&blanks(job)[0], LengthUnit::Mm);
    let texts = tests::texts(&scene);
    let count = |t: &str| texts.iter().filter(|(x, _)| x == t).count();
    assert_eq!((count("22.3"), count("4.98"), count("300.76")), (1, 1, 1));
    assert!(texts.iter().any(|(t, _)| t.contains("mirrors the left")));
    assert_eq!((scene.width, scene.height), (297.0, 420.0));
}
