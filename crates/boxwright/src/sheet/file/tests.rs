use super::*;
use crate::geom::Rect;

fn sample() -> Layout {
    let half_round = Path {
        vertices: vec![
            Vertex {
                at: DVec2::new(20.0, 10.0),
                bulge: -1.0,
            },
            Vertex {
                at: DVec2::new(30.0, 10.0),
                bulge: 0.0,
            },
        ],
        closed: false,
    };
    let cut = Path::rect(Rect {
        min: DVec2::ZERO,
        max: DVec2::new(100.0, 50.0),
    });
    let line = |line_use, path| Line { line_use, path };
    Layout {
        title: "plates \"two\"".into(),
        parts: vec![Part {
            name: "plate".into(),
            job: "plates".into(),
            piece: "body".into(),
            board: "B".into(),
            caliper: 3.1,
            wanted: 3,
            turns: Turns::Half,
            flutes_along_x: true,
            outside_up: false,
            shape: Shape::rect(100_000, 50_000),
            lines: vec![
                line(LineUse::Cut, cut),
                line(LineUse::CreaseInward, half_round),
            ],
        }],
        stock: vec![Piece {
            name: "sheet".into(),
            board: "B".into(),
            shape: Shape::rect(220_000, 60_000),
            count: 2,
            price: 1.25,
            off_cut: true,
        }],
        spacing: 10_000,
        margin: 5_000,
        reach: Some([220_000, 60_000]),
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
                    at: Spot::new(215_000, 55_000),
                },
            ],
        }],
        left: vec![1],
    }
}

fn text(text: &str) -> Text {
    Text {
        name: "a.layout.json".into(),
        text: text.into(),
    }
}

fn written() -> String {
    write_layout(&sample().proved().unwrap()).unwrap()
}

/// Code and marked text of the first message about a file in which something was replaced.
fn refused(from: &str, to: &str) -> (&'static str, String) {
    let good = written();
    assert!(good.contains(from), "{from} in {good}");
    let bad = good.replacen(from, to, 1);
    let diags = read_layout(&text(&bad)).unwrap_err();
    let d = &diags[0];
    assert!(d.help.is_some(), "{d:?}");
    let p = d.place.clone().unwrap();
    (d.code, bad[p.start..p.end].to_owned())
}

#[test]
fn what_is_written_is_read_back() {
    let file = written();
    let back = read_layout(&text(&file)).unwrap();
    assert_eq!(*back, sample());
    assert_eq!(write_layout(&back).unwrap(), file);
}

#[test]
fn what_is_no_layout_is_refused_where_it_stands() {
    for (from, to, code, marked) in [
        (
            "\"boxwright-layout\"",
            "\"else\"",
            "wrong-format",
            "\"else\"",
        ),
        ("\"version\":1", "\"version\":2", "wrong-version", "2"),
        ("\"wanted\":3", "\"wanted\":-3", "out-of-range", "-3"),
        ("\"wanted\":3", "\"wanted\":3.5", "out-of-range", "3.5"),
        (
            "\"wanted\":3",
            "\"wanted\":99999999999999999999",
            "out-of-range",
            "99999999999999999999",
        ),
        ("\"wanted\":3", "\"wanted\":NaN", "syntax", "N"),
        ("\"caliper\":3.1", "\"caliper\":1e999", "syntax", "9"),
        ("\"caliper\":3.1", "\"caliper\":-1", "out-of-range", "-1"),
        (
            "\"caliper\":3.1",
            "\"caliper\":\"3\"",
            "wrong-kind",
            "\"3\"",
        ),
        ("\"part\":0", "\"part\":1", "wrong-index", "1"),
        ("\"part\":0", "\"part\":-1", "wrong-index", "-1"),
        (
            "\"stock\":0",
            "\"stock\":18446744073709551615",
            "wrong-index",
            "18446744073709551615",
        ),
        ("\"turn\":180", "\"turn\":45", "unknown-word", "45"),
        ("[5000,5000]", "[5000]", "wrong-kind", "["),
        ("[5000,5000]", "[5000,5e3]", "out-of-range", "5e3"),
        ("[5000,5000]", "[5000,1,2]", "too-many", "["),
        (
            "[5000,5000]",
            "[5000,9000000000000000000]",
            "out-of-range",
            "9000000000000000000",
        ),
        ("\"left\":[1]", "\"left\":[]", "wrong-count", "["),
        ("\"left\":[1]", "\"lost\":[1]", "missing", "{"),
        ("\"price\":1.25", "\"price\":-0.5", "out-of-range", "-0.5"),
        ("\"count\":2", "\"count\":null", "wrong-kind", "null"),
        (
            "\"crease-inward\"",
            "\"board\"",
            "unknown-word",
            "\"board\"",
        ),
        (
            "\"flutes\":\"x\"",
            "\"flutes\":\"z\"",
            "unknown-word",
            "\"z\"",
        ),
        ("\"off_cut\":true", "\"off_cut\":1", "wrong-kind", "1"),
        ("}\n", "", "syntax", "}"),
    ] {
        let (c, m) = refused(from, to);
        assert_eq!((c, m.as_str()), (code, marked), "{from} -> {to}");
    }
    assert_eq!(read_layout(&text("")).unwrap_err()[0].code, "syntax");
    assert_eq!(read_layout(&text("[]")).unwrap_err()[0].code, "wrong-kind");
    let deep = "[".repeat(100_000);
    assert_eq!(read_layout(&text(&deep)).unwrap_err()[0].code, "syntax");
}

#[test]
fn what_is_not_sound_is_not_read() {
    let (code, marked) = refused("[5000,5000]", "[5001,5000]");
    assert_eq!(code, "layout-not-sound");
    assert_eq!(marked, "{\"part\":0,\"turn\":0,\"at\":[5001,5000]}");
    assert_eq!(
        refused("\"wanted\":3", "\"wanted\":4").0,
        "layout-not-sound"
    );
    assert_eq!(
        refused("\"board\":\"B\"", "\"board\":\"C\"").0,
        "layout-not-sound"
    );
}
