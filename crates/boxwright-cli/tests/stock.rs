//! `stock`: what is kept, refused and said.
#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use boxwright::blank::LineUse;
use boxwright::geom::{DVec2, Path, Rect};
use boxwright::sheet::{
    LaidSheet, Layout, Line, Part, Piece, Placed, Shape, Spot, Turn, Turns, write_layout,
};
use support::Place;

const STOCK: &str = include_str!("../../../examples/workshop-stock.kdl");
const DB: &str = "boxwright-stock.db";

/// A blank of 900 x 700 mm in the corner of each of two large sheets.
fn layout() -> String {
    let placed = Placed {
        part: 0,
        turn: Turn::None,
        at: Spot::new(10_000, 10_000),
    };
    let sheet = LaidSheet {
        stock: 0,
        placed: vec![placed],
    };
    let layout = Layout {
        title: "two clock cases".into(),
        parts: vec![Part {
            name: "case: body".into(),
            job: "case".into(),
            piece: "body".into(),
            board: "C".into(),
            caliper: 4.0,
            wanted: 2,
            turns: Turns::Half,
            flutes_along_x: true,
            outside_up: false,
            shape: Shape::rect(900_000, 700_000),
            lines: vec![Line {
                line_use: LineUse::Cut,
                path: Path::rect(Rect {
                    min: DVec2::ZERO,
                    max: DVec2::new(900.0, 700.0),
                }),
            }],
        }],
        stock: vec![Piece::sheet("C large", "C", 1_600_000, 1_200_000, 12, 3.4)],
        spacing: 5000,
        margin: 10_000,
        reach: None,
        sheets: vec![sheet.clone(), sheet],
        left: vec![0],
    };
    write_layout(&layout.proved().unwrap()).unwrap()
}

#[test]
fn a_stock_goes_in_and_comes_out_the_same() {
    let p = Place::new("stock-import");
    p.put("stock.kdl", STOCK);
    let ran = p.run(&["stock", "import", "stock.kdl"]).ended(0);
    assert_eq!(ran.err, "");
    let listed = p.run(&["stock", "list"]).ended(0).out;
    assert!(listed.contains("1600 x 1200 mm"), "{listed}");
    assert!(
        listed.contains("900 x 520 mm, 5 corners, off-cut"),
        "{listed}"
    );
    assert!(listed.lines().all(|l| l.chars().count() <= 100));
    p.run(&["stock", "export", "out.kdl"]).ended(0);
    let first = p.read("out.kdl");
    assert_eq!(p.run(&["stock", "export"]).ended(0).out.as_bytes(), first);
    p.run(&["stock", "import", "out.kdl", "--replace"]).ended(0);
    assert_eq!(p.run(&["stock", "export"]).ended(0).out.as_bytes(), first);
    let ran = p.run(&["stock", "export", "out.kdl"]).ended(2);
    assert!(ran.err.contains("already-there"), "{}", ran.err);
    assert_eq!(p.read("out.kdl"), first);
    assert_eq!(p.names(""), [DB, "job.kdl", "out.kdl", "stock.kdl"]);
}

#[test]
fn pieces_are_added_and_taken() {
    let p = Place::new("stock-add");
    let new = [
        "stock", "add", "C large", "--board", "C", "--length", "1600mm", "--width", "1.2m",
    ];
    p.run(&[&new[..], &["--count", "3", "--price", "3.40"]].concat())
        .ended(0);
    p.run(&["stock", "add", "C large", "--count", "4"]).ended(0);
    p.run(&["stock", "take", "C large"]).ended(0);
    let json = p.run(&["stock", "list", "--json"]).ended(0).out;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let piece = &json["pieces"][0];
    assert_eq!((&piece["count"], &piece["price"]), (&6.into(), &3.4.into()));
    assert_eq!(
        (&piece["length"], &piece["width"]),
        (&1600.0.into(), &1200.0.into())
    );

    let ran = p
        .run(&["stock", "take", "C large", "--count", "7"])
        .ended(2);
    assert!(
        ran.err.contains("too-few") && ran.err.contains("there are 6"),
        "{}",
        ran.err
    );
    let ran = p.run(&["stock", "take", "C lrge", "--json"]).ended(2);
    assert_eq!(ran.said()["diagnostics"][0]["code"], "unknown-piece");
    let ran = p.run(&["stock", "add", "D large"]).ended(2);
    assert!(ran.err.contains("--board"), "{}", ran.err);
    let other = [
        "stock", "add", "C large", "--board", "B", "--length", "1m", "--width", "1m",
    ];
    assert!(p.run(&other).ended(2).err.contains("different-piece"));
    let zero = [
        "stock", "add", "x", "--board", "B", "--length", "0mm", "--width", "1",
    ];
    let ran = p.run(&zero).ended(2);
    assert!(
        ran.err.contains("not-positive") && ran.err.contains("wrong-unit"),
        "{}",
        ran.err
    );
    let own = [
        "stock",
        "add",
        "x",
        "--board",
        "Q9",
        "--length",
        "1m",
        "--width",
        "1m",
        "--off-cut",
    ];
    assert!(p.run(&own).ended(0).err.contains("unknown-board"));
    p.run(&["stock", "take", "C large", "--all"]).ended(0);
    let left = p.run(&["stock", "export"]).ended(0).out;
    assert_eq!(
        left,
        "off-cut \"x\" board=\"Q9\" length=\"1000mm\" width=\"1000mm\" count=1 price=0\n"
    );
}

#[test]
fn no_store_is_made_by_looking() {
    let p = Place::new("stock-none");
    p.put("l.json", layout());
    p.put("bad.kdl", "shet \"a\"");
    for args in [
        &["stock", "list"][..],
        &["stock", "take", "a"],
        &["stock", "add", "a"],
        &["stock", "export"],
        &["stock", "export", "x.kdl"],
        &["stock", "use", "l.json"],
        &["stock", "undo"],
    ] {
        assert!(p.run(args).ended(2).err.contains("no-store"));
    }
    let ran = p.run(&["stock", "import", "bad.kdl"]).ended(2);
    assert!(
        ran.err.contains("did you mean `sheet`") && ran.err.contains("bad.kdl:1:1"),
        "{}",
        ran.err
    );
    assert!(
        p.run(&["stock", "import", "none.kdl"])
            .ended(2)
            .err
            .contains("no-file")
    );
    let ran = p.run(&["stock", "list", "--folder", "nowhere"]).ended(2);
    assert!(ran.err.contains("no-folder"), "{}", ran.err);
    assert_eq!(p.names(""), ["bad.kdl", "job.kdl", "l.json"]);
}

#[test]
fn a_layout_is_used_once_and_taken_back() {
    let p = Place::new("stock-use");
    p.put("stock.kdl", STOCK);
    p.put("l.json", layout());
    p.run(&["stock", "import", "stock.kdl"]).ended(0);
    let before = p.run(&["stock", "export"]).ended(0).out;
    let ran = p.run(&["stock", "use", "l.json"]).ended(0);
    // Right of the blank and its 5 mm: 1600 - 915; above it 1200 - 715. C-1 and C-2 are there.
    assert!(ran.out.contains("2 x C large"), "{}", ran.out);
    assert!(
        ran.out
            .contains("C-3: 685 x 1200 mm, of sheet 1 (C large), from 915, 0 on"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("C-4: 915 x 485 mm"), "{}", ran.out);
    assert!(
        p.run(&["stock", "use", "l.json"])
            .ended(2)
            .err
            .contains("already-used")
    );
    let ran = p
        .run(&[
            "stock",
            "use",
            "l.json",
            "--again",
            "--least-side",
            "500mm",
            "--json",
        ])
        .ended(0);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(json["kept"].as_array().unwrap().len(), 2);
    assert_eq!(json["kept"][0]["at"], serde_json::json!([915.0, 0.0]));
    p.run(&["stock", "undo"]).ended(0);
    let back = p.run(&["stock", "undo"]).ended(0).out;
    assert!(
        back.contains("two clock cases") && back.contains("C-3"),
        "{back}"
    );
    assert_eq!(p.run(&["stock", "export"]).ended(0).out, before);
    assert!(
        p.run(&["stock", "undo"])
            .ended(2)
            .err
            .contains("nothing-to-undo")
    );
    // A layout that is none, and options that are none.
    p.put("l.json", "{}");
    p.run(&["stock", "use", "l.json"]).ended(2);
    let ran = p
        .run(&["stock", "use", "l.json", "--least-area", "3mm"])
        .ended(2);
    assert!(ran.err.contains("wrong-unit"), "{}", ran.err);
    assert_eq!(p.run(&["stock", "export"]).ended(0).out, before);
}

#[test]
fn a_foreign_file_is_left_alone() {
    let p = Place::new("stock-foreign");
    p.put(
        DB,
        "my own notes, long enough to be looked at as a database by a careless program. "
            .repeat(30),
    );
    p.put("stock.kdl", STOCK);
    let before = p.read(DB);
    for args in [
        &["stock", "list"][..],
        &["stock", "import", "stock.kdl", "--replace"],
    ] {
        assert!(p.run(args).ended(2).err.contains("not-a-store"));
        assert_eq!(p.read(DB), before);
    }
}
