//! Stock files read and written back, and the rests of a sheet.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use boxwright::diag::{Diag, line_column};
use boxwright::sheet::nofit::no_fit;
use boxwright::sheet::shape::{Bounds, Shape, Spot};
use boxwright::sheet::sound::{inside, shape_fault};
use boxwright::sheet::{Keep, Piece, Stock, read_stock, rests, write_stock};
use boxwright::source::Text;
use boxwright::units::{Area, Length};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use proptest::prelude::*;

fn text(text: &str) -> Text {
    Text {
        name: "stock.kdl".into(),
        text: text.into(),
    }
}

fn read(t: &str) -> Result<Stock, Vec<Diag>> {
    read_stock(&text(t))
}

const TWO: &str = r#"sheet "C-1600" board="C" length="1600mm" width="1200mm" count=12 price=3.40
off-cut "C-7" board="C" {
    outline "0mm" "0mm" "700mm" "0mm" "700mm" "250mm" "300mm" "400mm" "0mm" "400mm"
    hole "50mm" "50mm" "50mm" "120mm" "120mm" "120mm"
}
"#;

#[test]
fn a_stock_file_is_read() {
    let stock = read(TWO).unwrap();
    assert_eq!(
        stock.pieces[0],
        Piece::sheet("C-1600", "C", 1_600_000, 1_200_000, 12, 3.4)
    );
    let p = &stock.pieces[1];
    assert!(p.off_cut);
    assert_eq!((p.count, p.price), (1, 0.0));
    // 700 x 400 less a triangle of 400 x 150 and one of 70 x 70, in mm2.
    assert!((p.shape.area_mm2() - (280_000.0 - 30_000.0 - 2_450.0)).abs() < 1e-9);
    assert_eq!(read(&write_stock(&stock)).unwrap(), stock);
}

#[test]
fn place_and_turning_of_an_outline_are_free() {
    let a = read(
        r#"off-cut "a" board="B" { outline "0mm" "0mm" "0mm" "90mm" "80mm" "0mm" "0mm" "0mm"; }"#,
    );
    let b = read(r#"off-cut "a" board="B" { outline "-1in" "5mm" "54.6mm" "5mm" "-1in" "95mm"; }"#);
    assert_eq!(a.unwrap(), b.unwrap());
}

/// Each spoilt line with its code and what the message points at.
#[test]
fn every_slip_has_its_message_at_its_place() {
    let sheet = |more: &str| {
        let given = |key: &str| more.contains(&format!("{key}="));
        let mut line = "sheet \"s\"".to_owned();
        for (key, value) in [
            ("board", "\"C\""),
            ("length", "\"1m\""),
            ("width", "\"1m\""),
            ("count", "3"),
        ] {
            if !given(key) {
                line.push_str(&format!(" {key}={value}"));
            }
        }
        format!("{line} {more}")
    };
    let outline = |corners: &str| format!("off-cut \"o\" board=\"C\" {{ {corners}; }}");
    let square = r#"outline "0mm" "0mm" "9mm" "0mm" "9mm" "9mm" "0mm" "9mm""#;
    let cases: Vec<(String, &str, &str)> = vec![
        (sheet("length=\"0mm\""), "not-positive", "0mm"),
        (sheet("width=\"-5mm\""), "not-positive", "-5mm"),
        (sheet("length=\"21m\""), "too-large", "21m"),
        (sheet("length=1600"), "wrong-unit", "1600"),
        (sheet("length=\"1e9mm\""), "unknown-unit", ""),
        (sheet("length=\"4kg\""), "wrong-unit", "4kg"),
        (sheet("count=2.5"), "wrong-kind", "2.5"),
        (sheet("count=-1"), "wrong-kind", "-1"),
        (sheet("count=\"many\""), "wrong-kind", "many"),
        (sheet("count=1000001"), "too-many", "1000001"),
        (sheet("count=99999999999"), "too-many", "99999999999"),
        (sheet("price=-3"), "bad-price", "-3"),
        (sheet("price=\"3,40\""), "bad-price", "3,40"),
        (sheet("price=#inf"), "bad-price", "#inf"),
        (sheet("price=1e12"), "bad-price", "1e12"),
        (sheet("board=\"\""), "bad-name", ""),
        (sheet("board=7"), "wrong-kind", "7"),
        (sheet("lenght=\"1m\""), "unknown-word", "1m"),
        (sheet("price=1 price=2"), "given-twice", "2"),
        (sheet("\"t\""), "extra-value", "t"),
        (sheet("{ window \"1mm\"; }"), "unknown-word", "window"),
        ("shet \"s\" board=\"C\"".into(), "unknown-word", "shet"),
        (
            "sheet board=\"C\" length=\"1m\" width=\"1m\" count=1".into(),
            "missing",
            "sheet",
        ),
        (
            "sheet \"s\" board=\"C\" width=\"1m\" count=1".into(),
            "missing",
            "sheet",
        ),
        (
            "sheet \"s\" board=\"C\" length=\"1m\" width=\"1m\"".into(),
            "missing",
            "sheet",
        ),
        ("off-cut \"o\" board=\"C\"".into(), "missing", "off-cut"),
        (format!("{}\n{}", sheet(""), sheet("")), "given-twice", "s"),
        (outline("outline"), "bad-outline", "outline"),
        (
            outline("outline \"0mm\" \"0mm\" \"9mm\""),
            "bad-outline",
            "outline",
        ),
        (
            outline("outline \"0mm\" \"0mm\" \"9mm\" \"9mm\""),
            "bad-outline",
            "outline",
        ),
        (
            outline("outline \"0mm\" \"0mm\" \"5mm\" \"5mm\" \"9mm\" \"9mm\""),
            "bad-outline",
            "outline",
        ),
        (
            outline("outline \"0mm\" \"0mm\" \"9mm\" \"9mm\" \"9mm\" \"0mm\" \"0mm\" \"9mm\""),
            "crossing",
            "0mm",
        ),
        (
            outline("outline \"0mm\" \"0mm\" \"9mm\" \"0mm\" \"9mm\" \"0mm\" \"0mm\" \"9mm\""),
            "bad-outline",
            "9mm",
        ),
        (
            outline("outline \"0mm\" \"0mm\" \"99m\" \"0mm\" \"0mm\" \"9mm\""),
            "too-large",
            "99m",
        ),
        (
            outline(&format!(
                "{square}; hole \"20mm\" \"2mm\" \"24mm\" \"2mm\" \"24mm\" \"5mm\""
            )),
            "bad-hole",
            "hole",
        ),
        (
            outline(&format!(
                "{square}; hole \"2mm\" \"2mm\" \"14mm\" \"2mm\" \"4mm\" \"5mm\""
            )),
            "crossing",
            "9mm",
        ),
        (
            outline(&format!(
                "{square}; hole \"1mm\" \"1mm\" \"8mm\" \"1mm\" \"1mm\" \"8mm\"; hole \"2mm\" \"2mm\" \"3mm\" \"2mm\" \"2mm\" \"3mm\""
            )),
            "bad-hole",
            "hole",
        ),
        (
            outline(&format!("{square}; {square}")),
            "given-twice",
            "outline",
        ),
        (
            outline(&format!("outline {}", "\"1mm\" \"2mm\" ".repeat(2002))),
            "too-many",
            "outline",
        ),
    ];
    for (line, code, at) in cases {
        let diags = read(&line).expect_err(&line);
        let found = diags.iter().find(|d| d.code == code);
        let d = found.unwrap_or_else(|| panic!("no {code} for {line}: {diags:?}"));
        let place = d.place.as_ref().unwrap();
        if !at.is_empty() {
            assert_eq!(&line[place.start..place.end], at, "{line}");
        }
    }
}

#[test]
fn all_messages_come_in_one_run() {
    let diags =
        read("sheet \"a\" board=\"C\" length=\"0mm\" width=\"x\" count=1.5 price=-1\noffcut \"b\"")
            .unwrap_err();
    let codes: Vec<&str> = diags.iter().map(|d| d.code).collect();
    for code in [
        "not-positive",
        "unknown-name",
        "wrong-kind",
        "bad-price",
        "unknown-word",
    ] {
        assert!(codes.contains(&code), "{code} in {codes:?}");
    }
    let slip = diags.iter().find(|d| d.code == "unknown-word").unwrap();
    assert!(
        slip.help
            .as_ref()
            .unwrap()
            .contains("did you mean `off-cut`")
    );
}

#[test]
fn the_example_of_the_workshop_is_read_back_the_same() {
    let file = include_str!("../../../examples/workshop-stock.kdl");
    let stock = read(file).unwrap();
    assert!(stock.pieces.len() >= 8);
    let boards = boxwright::board::read_boards(&boxwright::source::Door::boards(
        &boxwright::source::Shipped,
    ))
    .unwrap();
    assert_eq!(stock.unknown_boards(&boards), Vec::<&str>::new());
    assert_eq!(read(&write_stock(&stock)).unwrap(), stock);
}

fn spot() -> impl Strategy<Value = Spot> {
    (0i64..2_000_000, 0i64..1_500_000).prop_map(|(x, y)| Spot::new(x, y))
}

/// A ring of corners at rising angles round a middle: never crosses itself.
fn star(middle: Spot, reach: i64) -> impl Strategy<Value = Vec<Spot>> {
    proptest::collection::vec(0.3f64..1.0, 3..12).prop_map(move |radii| {
        let n = radii.len() as f64;
        radii
            .iter()
            .enumerate()
            .map(|(i, r)| {
                let a = std::f64::consts::TAU * (i as f64) / n;
                let at = |v: f64| (v * r * reach as f64).round() as i64;
                middle + Spot::new(at(a.cos()), at(a.sin()))
            })
            .collect()
    })
}

fn shape() -> impl Strategy<Value = Shape> {
    let rect = (1i64..20_000_000, 1i64..20_000_000).prop_map(|(l, w)| Shape::rect(l, w));
    let any = (
        star(Spot::default(), 900_000),
        proptest::option::of(star(Spot::default(), 100_000)),
    )
        .prop_map(|(outer, hole)| {
            Shape {
                outer,
                holes: hole.into_iter().collect(),
            }
            .settled()
        });
    prop_oneof![rect, any].prop_filter("sound", |s| shape_fault(s).is_none())
}

fn piece() -> impl Strategy<Value = Piece> {
    let name =
        "[\\PC\"\\\\ ]{1,20}".prop_filter("a name", |n| boxwright::sheet::stock::good_name(n));
    let price = prop_oneof![
        Just(0.0),
        0.0..1e9f64,
        (0u32..100_000).prop_map(|c| f64::from(c) / 100.0)
    ];
    (
        name.clone(),
        name,
        shape(),
        0u32..=1_000_000,
        price,
        any::<bool>(),
    )
        .prop_map(|(name, board, shape, count, price, off_cut)| Piece {
            name,
            board,
            shape,
            count,
            price,
            off_cut,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// What is written is read back the same, to the last step and the last digit.
    #[test]
    fn written_stock_is_read_back(pieces in proptest::collection::vec(piece(), 0..6)) {
        let mut stock = Stock { pieces };
        for (i, p) in stock.pieces.iter_mut().enumerate() {
            p.name = format!("{i}{}", p.name.chars().take(90).collect::<String>());
        }
        stock.pieces.retain(|p| p.fault().is_none());
        let written = write_stock(&stock);
        let read = read(&written);
        if stock.pieces.is_empty() {
            prop_assert_eq!(read.unwrap(), stock);
        } else {
            prop_assert_eq!(read.map_err(|d| format!("{d:?}\n{written}")).unwrap(), stock);
        }
    }

    /// Anything at all is read or refused, and nothing panics.
    #[test]
    fn any_text_is_read_or_refused(t in "(sheet|off-cut|outline|hole|board=|count=|price=|length=|\"[0-9a-z]{0,3}mm\"|[0-9.#-]{1,4}|[{};\n ]|\\PC){0,30}") {
        if let Err(diags) = read(&t) {
            prop_assert!(!diags.is_empty());
            for d in diags {
                let p = d.place.unwrap();
                prop_assert!(p.start <= p.end && p.end <= t.len());
                prop_assert!(line_column(&t, p.start).0 >= 1);
            }
        }
    }
}

// Rests.

fn overlay(a: &[Shape], b: &[Shape], rule: OverlayRule) -> i128 {
    let rings = |s: &[Shape]| -> Vec<Vec<IntPoint<i64>>> {
        s.iter()
            .flat_map(Shape::rings)
            .map(|r| r.iter().map(|p| IntPoint::new(p.x, p.y)).collect())
            .collect()
    };
    let mut o = Overlay::<i64>::new(64);
    o.add_source(&rings(a), ShapeType::Subject);
    o.add_source(&rings(b), ShapeType::Clip);
    let out = o.overlay(rule, FillRule::NonZero);
    out.iter()
        .flatten()
        .map(|r| {
            let r: Vec<Spot> = r.iter().map(|p| Spot::new(p.x, p.y)).collect();
            boxwright::sheet::shape::doubled_area(&r)
        })
        .sum()
}

fn shared(a: &[Shape], b: &[Shape]) -> i128 {
    overlay(a, b, OverlayRule::Intersect).abs()
}

fn keep(side_mm: f64, area: f64) -> Keep {
    Keep {
        least_side: Length::mm(side_mm),
        least_area: Area::mm2(area),
        most: 20,
    }
}

fn mm(x: i64, y: i64, w: i64, h: i64) -> Shape {
    Shape::rect(w * 1000, h * 1000).moved(Spot::new(x * 1000, y * 1000))
}

fn sizes(found: &[Shape]) -> Vec<(i64, i64, i64, i64)> {
    found
        .iter()
        .map(|s| {
            let b = s.bounds();
            (
                b.min.x / 1000,
                b.min.y / 1000,
                b.width() / 1000,
                b.height() / 1000,
            )
        })
        .collect()
}

#[test]
fn a_sheet_with_one_blank_leaves_two_straight_pieces() {
    // 1600 x 1200, a blank of 900 x 700 in the corner, 5 mm of room: beside it 695 x 1200 is left,
    // above it 905 x 495.
    let sheet = mm(0, 0, 1600, 1200);
    let found = rests(&sheet, &[mm(0, 0, 900, 700)], 5000, &Keep::default());
    assert_eq!(sizes(&found), [(905, 0, 695, 1200), (0, 705, 905, 495)]);
    assert!(found.iter().all(|s| s.settled().as_rect().is_some()));
}

#[test]
fn strips_and_windows_are_not_kept() {
    let sheet = mm(0, 0, 1000, 800);
    // A frame whose window is large, 100 mm from the edges of the sheet.
    let mut frame = mm(100, 100, 800, 600);
    frame.holes = vec![mm(200, 200, 600, 400).outer.into_iter().rev().collect()];
    assert_eq!(rests(&sheet, &[frame], 0, &Keep::default()), []);
    assert_eq!(rests(&sheet, &[], 0, &Keep::default()), [sheet]);
}

#[test]
fn a_tiny_least_side_and_many_round_parts_come_to_an_end() {
    let round = |x: i64, y: i64| Shape {
        outer: (0..90)
            .map(|i| {
                let a = std::f64::consts::TAU * f64::from(i) / 90.0;
                let at = |v: f64| (v * 30_000.0).round() as i64;
                Spot::new(x * 1000 + at(a.cos()), y * 1000 + at(a.sin()))
            })
            .collect(),
        holes: Vec::new(),
    };
    let parts: Vec<Shape> = (0..400)
        .map(|i| round(40 + 70 * (i % 20), 40 + 55 * (i / 20)))
        .collect();
    let found = rests(&mm(0, 0, 1600, 1200), &parts, 0, &keep(0.001, 1e-6));
    assert_eq!(found.len(), 20);
    for r in &found {
        assert_eq!(shared(std::slice::from_ref(r), &parts), 0);
    }
}

#[test]
fn an_off_cut_keeps_its_own_edge() {
    // A right triangle of 1000 x 1000 with a part in its right angle: what is left right of the
    // part keeps the slope.
    let at = |x: i64, y: i64| Spot::new(x * 1000, y * 1000);
    let sheet = Shape {
        outer: vec![at(0, 0), at(1000, 0), at(0, 1000)],
        holes: Vec::new(),
    };
    let found = rests(&sheet, &[mm(0, 0, 300, 300)], 0, &keep(150.0, 50_000.0));
    // Right of it a triangle of 700 x 700; above it one of 300 wide, from 700 to 1000, cut off by it.
    assert_eq!(found[0].doubled_area(), 700_000 * 700_000);
    assert_eq!(sizes(&found[1..]), [(0, 300, 300, 700)]);
    assert_eq!(found[1].outer.len(), 4);
}

#[test]
fn the_notch_beside_a_stepped_part_is_kept() {
    let at = |x: i64, y: i64| Spot::new(x * 1000, y * 1000);
    let ell = Shape {
        outer: vec![
            at(0, 0),
            at(1000, 0),
            at(1000, 300),
            at(300, 300),
            at(300, 1000),
            at(0, 1000),
        ],
        holes: Vec::new(),
    };
    let found = rests(&mm(0, 0, 1000, 1000), &[ell], 0, &Keep::default());
    assert_eq!(sizes(&found), [(300, 300, 700, 700)]);
}

fn laid() -> impl Strategy<Value = Vec<Shape>> {
    let part = (spot(), 20_000i64..300_000, 0u8..3).prop_flat_map(|(at, reach, kind)| match kind {
        0 => star(at, reach)
            .prop_map(|outer| Shape {
                outer,
                holes: Vec::new(),
            })
            .boxed(),
        _ => (10_000i64..400_000, 10_000i64..400_000)
            .prop_map(move |(w, h)| Shape::rect(w, h).moved(at))
            .boxed(),
    });
    proptest::collection::vec(part, 0..9)
}

fn any_sheet() -> impl Strategy<Value = Shape> {
    prop_oneof![
        (300_000i64..2_000_000, 300_000i64..1_500_000).prop_map(|(l, w)| Shape::rect(l, w)),
        shape().prop_filter("small", |s| s.bounds().width() < 2_000_000),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn rests_touch_nothing_and_are_worth_keeping(
        sheet in any_sheet(),
        parts in laid(),
        room in 0i64..20_000,
        side in 60.0f64..300.0,
        area in 5_000.0f64..100_000.0,
    ) {
        let keep = keep(side, area);
        let found = rests(&sheet, &parts, room, &keep);
        prop_assert_eq!(&found, &rests(&sheet, &parts, room, &keep));
        let square = Shape::rect(2 * room, 2 * room).moved(Spot::new(-room, -room));
        for r in &found {
            let one = std::slice::from_ref(r);
            prop_assert_eq!(shape_fault(&r.settled()), None);
            prop_assert!(r.area_mm2() >= area - 1e-6);
            // Where it follows a slanted edge of the sheet, its corners go to the grid: a step off.
            let b = r.bounds();
            let strip = 4 * i128::from(b.width() + b.height());
            let out = overlay(one, std::slice::from_ref(&sheet), OverlayRule::Difference);
            prop_assert!(out <= strip, "{out} of {strip}");
            for p in &parts {
                // Grown by a square, which holds the round way of growing.
                let filled = Shape { outer: p.outer.clone(), holes: Vec::new() };
                let grown = if room == 0 { vec![filled] } else { no_fit(&filled, &square) };
                prop_assert_eq!(shared(one, &grown), 0);
            }
            let b = r.bounds();
            prop_assert!(b.width() >= (side * 1000.0) as i64 && b.height() >= (side * 1000.0) as i64);
        }
        for (i, a) in found.iter().enumerate() {
            for b in &found[i + 1..] {
                prop_assert_eq!(shared(std::slice::from_ref(a), std::slice::from_ref(b)), 0);
            }
        }
    }

    /// Nothing is missed: on a plain sheet with plain parts, every box between their edges that is
    /// free and large enough shares board with a rest.
    #[test]
    fn no_large_box_is_left(
        size in (400i64..1600, 400i64..1200),
        boxes in proptest::collection::vec((0i64..1500, 0i64..1100, 20i64..500, 20i64..500), 0..6),
    ) {
        let sheet = mm(0, 0, size.0, size.1);
        let parts: Vec<Shape> = boxes.iter().map(|(x, y, w, h)| mm(*x, *y, *w, *h)).collect();
        let keep = keep(150.0, 60_000.0);
        let found = rests(&sheet, &parts, 0, &keep);
        let bounds: Vec<Bounds> = found.iter().chain(&parts).map(Shape::bounds).collect();
        let (mut xs, mut ys) = (vec![0, size.0 * 1000], vec![0, size.1 * 1000]);
        for b in &bounds {
            xs.extend([b.min.x, b.max.x]);
            ys.extend([b.min.y, b.max.y]);
        }
        xs.retain(|v| (0..=size.0 * 1000).contains(v));
        ys.retain(|v| (0..=size.1 * 1000).contains(v));
        for x0 in &xs { for x1 in &xs { for y0 in &ys { for y1 in &ys {
            let (w, h) = (x1 - x0, y1 - y0);
            if w < 150_000 || h < 150_000 || w * h < 60_000_000_000 { continue; }
            let free = bounds.iter().all(|b| b.max.x <= *x0 || *x1 <= b.min.x || b.max.y <= *y0 || *y1 <= b.min.y);
            prop_assert!(!free, "{x0} {y0} {x1} {y1} is left");
        }}}}
    }

    /// The exact test of a point in a ring agrees with turning round the point, in angles.
    #[test]
    fn inside_agrees_with_the_winding(ring in star(Spot::new(500, 500), 400), p in (0i64..1000, 0i64..1000)) {
        let p = Spot::new(p.0, p.1);
        let mut turn = 0.0;
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (u, v) = (*a - p, *b - p);
            prop_assume!(u.cross(v) != 0);
            turn += (u.cross(v) as f64).atan2((u.x * v.x + u.y * v.y) as f64);
        }
        prop_assert_eq!(inside(&ring, p), turn.abs() > 3.0);
    }
}
