use super::*;
use crate::geom::{DVec2, Vertex};
use crate::sheet::{LaidSheet, Layout, Line, Part, Piece, Placed, Turn, Turns};
use crate::units::LengthUnit;

/// A plate of 100 x 50 mm with a crease and a round corner, twice on a sheet of 300 x 400, once
/// turned about.
fn sample() -> Proved {
    let cut = Path {
        vertices: [
            (0.0, 0.0, 0.0),
            (100.0, 0.0, 0.0),
            (100.0, 40.0, 0.414_213_562_373_095),
            (90.0, 50.0, 0.0),
            (0.0, 50.0, 0.0),
        ]
        .map(|(x, y, bulge)| Vertex {
            at: DVec2::new(x, y),
            bulge,
        })
        .to_vec(),
        closed: true,
    };
    let crease = Path::line([DVec2::new(30.0, 0.0), DVec2::new(30.0, 50.0)]);
    let line = |line_use, path| Line { line_use, path };
    let layout = Layout {
        title: "plates".into(),
        parts: vec![Part {
            name: "plate".into(),
            job: "plates".into(),
            piece: "body".into(),
            board: "B".into(),
            caliper: 3.0,
            wanted: 2,
            turns: Turns::Half,
            flutes_along_x: true,
            shape: Shape::rect(100_000, 50_000),
            lines: vec![line(LineUse::Cut, cut), line(LineUse::CreaseInward, crease)],
        }],
        stock: vec![Piece {
            name: "sheet".into(),
            board: "B".into(),
            shape: Shape::rect(300_000, 400_000),
            count: 1,
            price: 0.0,
            off_cut: false,
        }],
        spacing: 2_000,
        margin: 5_000,
        reach: Some([250_000, 400_000]),
        sheets: vec![LaidSheet {
            stock: 0,
            placed: vec![
                Placed {
                    part: 0,
                    turn: Turn::None,
                    at: Spot::new(5_000, 5_000),
                },
                Placed {
                    part: 0,
                    turn: Turn::Half,
                    at: Spot::new(107_250, 107_125),
                },
            ],
        }],
        left: vec![0],
    };
    layout.proved().unwrap()
}

#[test]
fn lines_lie_where_the_parts_lie() {
    let all = lines(&sample(), 0);
    let uses: Vec<LineUse> = all.iter().map(|l| l.0).collect();
    use LineUse::{Board, CreaseInward, Cut};
    assert_eq!(uses, [Cut, CreaseInward, Cut, CreaseInward, Board]);
    let from = all[3].1.vertices[0].at;
    assert!(
        (from - DVec2::new(77.25, 107.125)).length() < 1e-12,
        "{from}"
    );
    let whole: f64 = all
        .iter()
        .filter(|l| l.0 == Cut)
        .map(|l| l.1.length())
        .sum();
    let one = 280.0 + 5.0 * std::f64::consts::PI;
    assert!((whole - 2.0 * one).abs() < 1e-9, "{whole}");
    assert!(lines(&sample(), 1).is_empty());
}

#[test]
fn files_have_a_layer_for_each_use_and_the_sheet_as_board() {
    let dxf = layout_dxf(&sample(), 0, &DxfOptions::default());
    for word in ["cut", "crease-inward", "board", "flutes left-right"] {
        assert!(dxf.lines().any(|l| l == word), "{word}");
    }
    assert!(dxf.lines().any(|l| l == "77.250000"), "the turned crease");
    let svg = layout_svg(&sample(), 0, &SvgOptions::default());
    assert!(svg.contains("width=\"304mm\" height=\"404mm\""));
    for id in ["cut", "crease-inward", "board"] {
        assert!(svg.contains(&format!("<g id=\"{id}\"")), "{id}");
    }
}

#[test]
fn a_page_names_the_sheet_its_parts_and_what_is_left() {
    let pages = pages(&sample(), LengthUnit::Mm);
    assert_eq!(pages.len(), 1);
    let svg = pages[0].to_svg();
    // 2 x 5000 of 120000 mm2.
    for text in [
        "sheet 1 of 1: sheet sheet, 300 x 400 mm, board B, 8.3 % used",
        "2 of 2",
        "1  plate",
        "300 mm",
        "400 mm",
        "2 mm between parts, 5 mm to the edge",
    ] {
        assert!(svg.contains(text), "{text} in {svg}");
    }
    // 400 - 107.125 - 2 mm above the parts, over the whole breadth.
    assert!(svg.contains("off-cut 300 x 290.88 mm"), "{svg}");
}
