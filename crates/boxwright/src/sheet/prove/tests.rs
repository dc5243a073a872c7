use super::*;
use crate::blank::LineUse;
use crate::geom::{DVec2, Rect};
use crate::sheet::layout::{LaidSheet, Line, Turns};
use crate::sheet::shape::Turn;
use crate::sheet::stock::Piece;

/// A rectangle of 100 x 50 mm, flutes along x.
fn plate(name: &str, wanted: u32) -> Part {
    Part {
        name: name.into(),
        job: name.into(),
        piece: "body".into(),
        board: "B".into(),
        caliper: 3.0,
        wanted,
        turns: Turns::Half,
        flutes_along_x: true,
        shape: Shape::rect(100_000, 50_000),
        lines: vec![Line {
            line_use: LineUse::Cut,
            path: Path::rect(Rect {
                min: DVec2::ZERO,
                max: DVec2::new(100.0, 50.0),
            }),
        }],
    }
}

fn laid(part: usize, turn: Turn, x: i64, y: i64) -> Placed {
    Placed {
        part,
        turn,
        at: Spot::new(x, y),
    }
}

/// Two plates on a sheet of 220 x 60 mm, 10 mm apart and 5 mm from every edge: nothing to spare.
fn exact() -> Layout {
    Layout {
        title: "two plates".into(),
        parts: vec![plate("plate", 2)],
        stock: vec![Piece {
            name: "sheet".into(),
            board: "B".into(),
            shape: Shape::rect(220_000, 60_000),
            count: 1,
            price: 0.0,
            off_cut: false,
        }],
        spacing: 10_000,
        margin: 5_000,
        reach: None,
        sheets: vec![LaidSheet {
            stock: 0,
            placed: vec![
                laid(0, Turn::None, 5_000, 5_000),
                laid(0, Turn::Half, 215_000, 55_000),
            ],
        }],
        left: vec![0],
    }
}

fn codes(layout: &Layout) -> Vec<&'static str> {
    prove(layout).iter().map(|d| d.code).collect()
}

fn spoilt(change: impl FnOnce(&mut Layout)) -> Vec<&'static str> {
    let mut layout = exact();
    change(&mut layout);
    codes(&layout)
}

#[test]
fn what_fits_exactly_is_sound() {
    assert_eq!(codes(&exact()), [""; 0]);
    assert!(exact().proved().is_ok());
}

#[test]
fn a_micrometre_is_found() {
    let shift = |i: usize, x: i64, y: i64| {
        move |l: &mut Layout| {
            let at = &mut l.sheets[0].placed[i].at;
            *at = *at + Spot::new(x, y);
        }
    };
    assert_eq!(spoilt(shift(0, 1, 0)), ["parts-too-near"]);
    assert_eq!(spoilt(shift(0, -1, 0)), ["too-near-edge"]);
    assert_eq!(spoilt(shift(0, 0, -1)), ["too-near-edge"]);
    assert_eq!(spoilt(shift(1, 0, 1)), ["too-near-edge"]);
    assert_eq!(spoilt(shift(0, 10_001, 0)), ["parts-overlap"]);
    assert_eq!(spoilt(shift(0, 0, -5_001)), ["outside-sheet"]);
    let close = |by: i64| {
        spoilt(|l| {
            (l.spacing, l.margin) = (0, 0);
            l.sheets[0].placed[0].at.x += by;
        })
    };
    assert_eq!(close(10_000), [""; 0]);
    assert_eq!(close(10_001), ["parts-overlap"]);
    assert_eq!(close(-5_000), [""; 0]);
    assert_eq!(close(-5_001), ["outside-sheet"]);
}

#[test]
fn defects_tell_where_they_are() {
    let mut l = exact();
    l.sheets[0].placed[0].at.x += 10_001;
    let d = &prove(&l)[0];
    assert_eq!((d.sheet, d.placed.clone()), (Some(0), vec![0, 1]));
    let at = d.at.unwrap().to_mm();
    assert!((at.x - 115.0).abs() < 0.1, "{at}");
    assert!(
        d.to_string()
            .starts_with("sheet 1: `plate` and `plate` overlap, at 115"),
        "{d}"
    );
}

#[test]
fn turns_boards_and_counts() {
    let turned = |l: &mut Layout, turns: Turns| {
        l.parts[0].turns = turns;
        l.parts[0].wanted = 1;
        l.stock[0].shape = Shape::rect(220_000, 220_000);
        l.sheets[0].placed = vec![laid(0, Turn::Quarter, 60_000, 10_000)];
    };
    assert_eq!(spoilt(|l| turned(l, Turns::Half)), ["wrong-turn"]);
    assert_eq!(spoilt(|l| turned(l, Turns::Quarter)), [""; 0]);
    assert_eq!(
        spoilt(|l| {
            turned(l, Turns::Half);
            l.parts[0].flutes_along_x = false;
        }),
        [""; 0]
    );
    assert_eq!(spoilt(|l| l.parts[0].wanted = 3), ["wrong-count"]);
    assert_eq!(spoilt(|l| l.left[0] = 1), ["wrong-count"]);
    assert_eq!(
        spoilt(|l| {
            l.sheets[0].placed.pop();
        }),
        ["wrong-count"]
    );
    assert_eq!(spoilt(|l| l.left = vec![]), ["wrong-count"]);
    assert_eq!(spoilt(|l| l.stock[0].count = 0), ["stock-overdrawn"]);
    assert_eq!(
        spoilt(|l| l.stock[0].board = "C".into()),
        ["wrong-board", "wrong-board"]
    );
    assert_eq!(spoilt(|l| l.sheets[0].stock = 1), ["wrong-index"]);
    assert_eq!(spoilt(|l| l.sheets[0].placed[0].part = 7), ["wrong-index"]);
    assert_eq!(
        spoilt(|l| l.sheets[0].placed[0].at.x = i64::MAX),
        ["too-far"]
    );
    assert_eq!(spoilt(|l| l.spacing = -1), ["wrong-figure"]);
}

#[test]
fn the_machine_reaches_only_so_far() {
    assert_eq!(spoilt(|l| l.reach = Some([215_000, 55_000])), [""; 0]);
    assert_eq!(
        spoilt(|l| l.reach = Some([214_999, 55_000])),
        ["out-of-reach"]
    );
}

#[test]
fn shapes_have_to_be_regions_that_hold_their_lines() {
    assert_eq!(
        spoilt(|l| l.parts[0].shape.outer.reverse()),
        ["wrong-shape"]
    );
    assert_eq!(
        spoilt(|l| l.parts[0].shape.outer.truncate(2)),
        ["wrong-shape"]
    );
    let at = Spot::new;
    let bow = vec![at(0, 0), at(10, 10), at(10, 0), at(0, 11)];
    assert!(spoilt(|l| l.parts[0].shape.outer = bow).contains(&"wrong-shape"));
    assert_eq!(
        spoilt(|l| l.parts[0].shape = Shape::rect(100_000, 49_990)),
        ["line-outside"]
    );
    assert_eq!(spoilt(|l| l.stock[0].shape.outer.clear()), ["wrong-shape"]);
}

// A window of 60 x 40 mm holds a plate of 40 x 20 with 10 mm all round, and not one step more.
#[test]
fn a_window_holds_a_part() {
    let mut l = exact();
    let at = Spot::new;
    let hole = [
        at(20_000, 5_000),
        at(20_000, 45_000),
        at(80_000, 45_000),
        at(80_000, 5_000),
    ];
    l.parts[0].shape.holes = vec![hole.to_vec()];
    let mut small = plate("small", 1);
    small.shape = Shape::rect(40_000, 20_000);
    small.lines.clear();
    l.parts.push(small);
    l.left.push(0);
    l.sheets[0].placed.push(laid(1, Turn::None, 35_000, 20_000));
    assert_eq!(codes(&l), [""; 0]);
    l.sheets[0].placed[2].at.x -= 1;
    assert_eq!(codes(&l), ["parts-too-near"]);
    l.sheets[0].placed[2].at.x = 15_000;
    assert_eq!(codes(&l), ["parts-overlap"]);
}

// An off-cut with a bite out of its corner and a hole.
#[test]
fn off_cuts_have_corners_and_holes() {
    let at = Spot::new;
    let mut l = exact();
    l.stock[0].shape = Shape {
        outer: vec![
            at(0, 0),
            at(220_000, 0),
            at(220_000, 200_000),
            at(120_000, 200_000),
            at(120_000, 60_000),
            at(0, 60_000),
        ],
        holes: vec![vec![
            at(150_000, 100_000),
            at(150_000, 110_000),
            at(160_000, 110_000),
            at(160_000, 100_000),
        ]],
    };
    assert_eq!(codes(&l), [""; 0]);
    l.sheets[0].placed[0].at.y += 1;
    assert_eq!(codes(&l), ["too-near-edge"]);
    l.sheets[0].placed[0].at.y -= 1;
    // Over the hole, which lies wholly inside it.
    l.parts[0].shape = Shape::rect(90_000, 50_000);
    l.parts[0].lines.clear();
    l.sheets[0].placed[1] = laid(0, Turn::None, 125_000, 80_000);
    assert_eq!(codes(&l), ["outside-sheet"]);
    l.sheets[0].placed[1].at.y = 115_000;
    assert_eq!(codes(&l), [""; 0]);
    l.sheets[0].placed[1].at.y -= 1;
    assert_eq!(codes(&l), ["too-near-edge"]);
}

// A half round notch in the edge, as the part's shape has it: eight chords, and the true arc as line.
#[test]
fn hollow_arcs_lie_in_shapes_of_chords() {
    let mut l = exact();
    let notch = |bulge: f64| Path {
        vertices: [
            (0.0, 0.0, 0.0),
            (40.0, 0.0, bulge),
            (60.0, 0.0, 0.0),
            (100.0, 0.0, 0.0),
            (100.0, 50.0, 0.0),
            (0.0, 50.0, 0.0),
        ]
        .map(|(x, y, bulge)| Vertex {
            at: DVec2::new(x, y),
            bulge,
        })
        .to_vec(),
        closed: true,
    };
    let at = |p: DVec2| Spot::nearest(p);
    let arc = (0..=8).map(|k| {
        let a = std::f64::consts::PI * (1.0 - f64::from(k) / 8.0);
        at(DVec2::new(50.0 + 10.0 * a.cos(), 10.0 * a.sin()))
    });
    let mut outer = vec![Spot::new(0, 0)];
    outer.extend(arc);
    outer.extend([
        Spot::new(100_000, 0),
        Spot::new(100_000, 50_000),
        Spot::new(0, 50_000),
    ]);
    l.parts[0].shape.outer = outer;
    l.parts[0].lines[0].path = notch(-1.0);
    assert_eq!(codes(&l), [""; 0]);
    l.parts[0].lines[0].path = notch(-0.9);
    assert_eq!(codes(&l), ["line-outside"]);
}
