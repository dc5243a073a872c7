//! Marks of a job: where they land, which way they are read, and what is said of those that cannot.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "helpers of a test; the lint knows only functions marked as tests"
)]

use boxwright::blank::{Plan, PlanMark, SoundPlan};
use boxwright::brief::{Brief, brief};
use boxwright::check::{Finding, Verdict, check};
use boxwright::diag::Diag;
use boxwright::fold::Folder;
use boxwright::geom::{DVec2, DVec3, Path, Rect};
use boxwright::job::{Face, outside_marks, parse_job};
use boxwright::letters::written;
use boxwright::source::{Door, Shipped, Text};
use boxwright::units::Length;

fn job(style: &str, inside: [f64; 3], extra: &str) -> String {
    let [l, w, d] = inside;
    format!(
        "job \"clock\" {{\n    style \"{style}\"\n    inside length=\"{l}mm\" width=\"{w}mm\" \
         depth=\"{d}mm\"\n    board \"C\"\n    {extra}\n}}\n"
    )
}

fn asked(text: &str) -> Result<Brief, Vec<Diag>> {
    let text = Text {
        name: "a.kdl".into(),
        text: text.to_owned(),
    };
    parse_job(&text).and_then(|j| brief(j, &Shipped))
}

fn drawn(text: &str) -> Result<Plan, Vec<Diag>> {
    asked(text).and_then(|b| b.plan())
}

fn sound(text: &str) -> SoundPlan {
    drawn(text)
        .unwrap_or_else(|d| panic!("{text}: {d:#?}"))
        .validated()
        .unwrap()
}

/// The strokes of a mark in the case, and the direction in which its face looks.
fn in_case(plan: &SoundPlan, m: &PlanMark) -> (Vec<Vec<DVec3>>, DVec3) {
    let folder = Folder::new(plan);
    let frame = folder.frames(folder.last())[m.panel.piece][m.panel.panel];
    let blank = &plan.pieces[m.panel.piece];
    let back = blank.panels[m.panel.panel].place.inverse();
    let (z, out) = match m.face {
        Face::Inside => (0.0, DVec3::Z),
        Face::Outside => (-blank.caliper.to_mm(), DVec3::NEG_Z),
    };
    let of = |p: &Path| -> Vec<DVec3> {
        let points = back.path(p).vertices;
        let at = points.iter().map(|v| v.at.extend(z));
        at.map(|v| frame.transform_point3(v)).collect()
    };
    let paths = &blank.engravings[m.engravings.clone()];
    (paths.iter().map(of).collect(), frame.matrix3 * out)
}

const SIZE: [f64; 3] = [342.0, 178.0, 266.0];

/// Every shipped style at a size most of them can be drawn at, with the names of its panels.
fn everywhere() -> Vec<(Brief, Vec<String>)> {
    let mut all = Vec::new();
    for style in Shipped.style_names() {
        let Ok(brief) = asked(&job(&style, SIZE, "")) else {
            continue;
        };
        let Ok(plan) = brief.plan() else {
            continue;
        };
        let mut names = Vec::new();
        for (piece, b) in plan.pieces.iter().enumerate() {
            for panel in 0..b.panels.len() {
                names.push(plan.name(boxwright::blank::PanelRef { piece, panel }));
            }
        }
        all.push((brief, names));
    }
    assert!(all.len() > 30, "{}", all.len());
    all
}

/// The case with one mark.
fn marked(brief: &mut Brief, mark: &str) -> Result<Plan, Vec<Diag>> {
    brief.job.marks = outside_marks(&Text {
        name: "marks".into(),
        text: mark.to_owned(),
    })?;
    brief.plan()
}

fn code(r: &Result<Plan, Vec<Diag>>) -> &'static str {
    r.as_ref()
        .err()
        .and_then(|d| d.first())
        .map_or("", |d| d.code)
}

// The arrows are folded up with the case: heads above the bar on every panel of every style that
// stands, refused on those that lie.
#[test]
fn arrows_point_up_on_every_standing_panel_of_every_style() {
    let (mut up, mut flat) = (0, 0);
    for (mut brief, panels) in everywhere() {
        let style = brief.style.name.clone();
        for name in panels {
            for face in ["inside", "outside"] {
                let extra =
                    format!("mark \"this-way-up\" on=\"{name}\" face=\"{face}\" size=\"12mm\"");
                let plan = marked(&mut brief, &extra);
                match code(&plan) {
                    "" => {}
                    "no-up" => {
                        flat += 1;
                        continue;
                    }
                    "mark-does-not-fit" => continue,
                    other => panic!("{style}, {name}: {other}"),
                }
                let plan = plan.unwrap().validated().unwrap();
                let (paths, out) = in_case(&plan, &plan.marks[0]);
                let middle = |i: usize| {
                    let p: &Vec<DVec3> = &paths[i];
                    #[allow(clippy::cast_precision_loss, reason = "a few corners")]
                    let n = p.len() as f64;
                    p.iter().sum::<DVec3>() / n
                };
                let (left, right, bar) = (middle(0), middle(1), middle(2));
                let rise = left.z.min(right.z) - bar.z;
                // A panel that leans shows less of it.
                let most = (1.0 - out.z * out.z).sqrt();
                assert!(most > 0.49, "{style}, {name}");
                assert!(rise > 5.0 * most, "{style}, {name}: {rise}");
                assert!((left.z - right.z).abs() < 1e-6, "{style}, {name}");
                up += 1;
            }
        }
    }
    assert!(up > 300 && flat > 100, "{up} up, {flat} flat");
}

// An L read on its own face: its foot goes to the right of its stem, never mirrored.
#[test]
fn letters_are_read_on_their_own_face_of_every_panel() {
    let mut read = 0;
    for (mut brief, panels) in everywhere() {
        let style = brief.style.name.clone();
        for name in panels {
            for face in ["inside", "outside"] {
                let extra = format!(
                    "mark \"text\" on=\"{name}\" face=\"{face}\" text=\"L\" height=\"6mm\""
                );
                let plan = marked(&mut brief, &extra);
                if code(&plan) == "mark-does-not-fit" {
                    continue;
                }
                let plan = plan
                    .unwrap_or_else(|d| panic!("{style}, {name}: {d:#?}"))
                    .validated()
                    .unwrap();
                let (paths, out) = in_case(&plan, &plan.marks[0]);
                let [top, corner, foot] = paths[0][..] else {
                    panic!("{paths:?}")
                };
                let (up, right) = ((top - corner).normalize(), (foot - corner).normalize());
                assert!(
                    (right.cross(up) - out).length() < 1e-9,
                    "{style}, {name}, {face}"
                );
                if out.z.abs() < 0.5 {
                    assert!(up.z > 0.5, "{style}, {name}: {up}");
                }
                read += 1;
            }
        }
    }
    assert!(read > 600, "{read}");
}

#[test]
fn a_turn_goes_to_the_left_as_the_reader_sees_it() {
    for face in ["inside", "outside"] {
        let mark = format!(
            "mark \"text\" on=\"front\" face=\"{face}\" text=\"L\" height=\"10mm\" turn=\"90deg\""
        );
        let plan = sound(&job("slotted-case", SIZE, &mark));
        let (paths, out) = in_case(&plan, &plan.marks[0]);
        let (stem, foot) = (paths[0][0] - paths[0][1], paths[0][2] - paths[0][1]);
        // What was up points to the left, what was right points up.
        assert!((foot.normalize() - DVec3::Z).length() < 1e-9);
        assert!((stem.normalize() - out.cross(DVec3::Z)).length() < 1e-9);
    }
}

fn bounds(paths: &[Path]) -> Rect {
    paths.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()))
}

// On the outside of the front wall, up is up and right is right of someone who stands before it.
#[test]
fn places_are_counted_as_the_face_is_seen() {
    for (face, side) in [("outside", -1.0), ("inside", 1.0)] {
        let at = |spot: &str| {
            let mark = format!(
                "mark \"text\" on=\"front\" face=\"{face}\" text=\"HO\" height=\"10mm\" {spot}"
            );
            let plan = sound(&job("slotted-case", SIZE, &mark));
            let m = plan.marks[0].clone();
            let folder = Folder::new(&plan);
            let frame = folder.frames(folder.last())[m.panel.piece][m.panel.panel];
            let to = frame.transform_point3(m.at.extend(0.0));
            let out = frame.matrix3 * DVec3::Z * side;
            (DVec3::Z.cross(out).dot(to), to.z)
        };
        let (x, y) = at("at=\"centre\"");
        assert!((y - SIZE[2] / 2.0).abs() < 1e-6, "{y}");
        let (dx, dy) = at("at=\"top right\"");
        assert!(dx > x + 100.0 && dy > y + 100.0, "{dx} {dy}");
        let (dx, dy) = at("at=\"bottom left\"");
        assert!(dx < x - 100.0 && dy < y - 100.0, "{dx} {dy}");
        // The clear span of that wall is 342 by 266.
        let (dx, dy) = at("x=\"71mm\" y=\"33mm\"");
        assert!((dx - (x - 100.0)).abs() < 1e-6 && (dy - (y - 100.0)).abs() < 1e-6);
    }
}

#[test]
fn marks_keep_their_margin_and_land_among_the_engravings() {
    let extra = "mark \"text\" on=\"front\" text=\"MANTEL CLOCK\" height=\"12mm\" at=\"top left\"
        mark \"fragile\" on=\"front\" at=\"bottom right\"
        mark \"part-name\" on=\"lap\"";
    let text = job("slotted-case", SIZE, extra);
    let plan = sound(&text);
    let b = &plan.pieces[0];
    assert_eq!(plan.marks.len(), 3);
    assert_eq!(b.engravings.len(), plan.marks[2].engravings.end);
    for m in &plan.marks {
        let p = &b.panels[m.panel.panel];
        let back = p.place.inverse();
        let own: Vec<Path> = b.engravings[m.engravings.clone()]
            .iter()
            .map(|e| back.path(e))
            .collect();
        let (inner, outer) = (bounds(&own), p.outline.bounds());
        assert!((inner.min - outer.min).min_element() >= 3.0 - 1e-9);
        assert!((outer.max - inner.max).min_element() >= 3.0 - 1e-9);
    }
    // The name of the part is what it says it is, in letters 5 mm high.
    let m = &plan.marks[2];
    let own = written("clock: body", Length::mm(5.0)).unwrap();
    let length = |p: &[Path]| p.iter().map(Path::length).sum::<f64>();
    let drawn = length(&b.engravings[m.engravings.clone()]);
    assert!((drawn - length(&own.paths)).abs() < 1e-9);
    assert_eq!(m.face, Face::Inside);
    // And nothing else of the blank has changed.
    let bare = sound(&job("slotted-case", SIZE, ""));
    assert_eq!(bare.pieces[0].outline, b.outline);
    assert_eq!(bare.pieces[0].figures, b.figures);
}

#[test]
fn a_piece_of_a_fitment_can_be_marked_too() {
    let extra = "fitment \"flat-pad\" as=\"bottom pad\" { set \"clearance\" \"t\"; }
        mark \"part-name\" on=\"bottom pad: pad\"
        mark \"fragile\" on=\"front\"";
    let plan = drawn(&job("slotted-case", SIZE, extra));
    let plan = match plan {
        Ok(p) => p,
        Err(d) => panic!("{d:#?}"),
    };
    assert_eq!(plan.marks[0].panel.piece, 1);
    assert_eq!(plan.marks[1].panel.piece, 0);
    assert!(!plan.pieces[1].engravings.is_empty());
}

/// What is said of one wrong mark: code, the text it points at, and what the cure holds.
#[test]
fn wrong_marks_are_told_at_their_place() {
    for (mark, code, at, cure) in [
        (
            "mark \"text\" on=\"frnt\" text=\"A\"",
            "unknown-panel",
            "frnt",
            "did you mean `front`",
        ),
        (
            "mark \"fragil\" on=\"front\"",
            "unknown-word",
            "fragil",
            "did you mean `fragile`",
        ),
        (
            "mark \"this-way-up\" on=\"front top\"",
            "no-up",
            "front top",
            "front, side-1",
        ),
        (
            "mark \"text\" on=\"front\" text=\"\u{4e2d}\"",
            "unknown-letter",
            "\u{4e2d}",
            "",
        ),
        ("mark \"text\" on=\"front\" text=\" \"", "missing", " ", ""),
        ("mark \"text\" on=\"front\"", "missing", "mark", ""),
        ("mark \"text\" text=\"A\"", "missing", "mark", ""),
        (
            "mark \"text\" on=\"front\" text=\"A\" height=\"12\"",
            "wrong-unit",
            "12",
            "12mm",
        ),
        (
            "mark \"text\" on=\"front\" text=\"A\" height=\"0mm\"",
            "not-positive",
            "0mm",
            "",
        ),
        (
            "mark \"text\" on=\"front\" text=\"A\" height=\"1mm\"",
            "too-small",
            "text",
            "2 mm",
        ),
        (
            "mark \"text\" on=\"front\" text=\"A\" height=\"400mm\"",
            "mark-does-not-fit",
            "text",
            "height=\"273.5mm\"",
        ),
        (
            "mark \"fragile\" on=\"front\" size=\"300mm\"",
            "mark-does-not-fit",
            "fragile",
            "size=\"273.5mm\"",
        ),
        (
            "mark \"fragile\" on=\"front\" x=\"5mm\" y=\"5mm\"",
            "mark-does-not-fit",
            "fragile",
            "",
        ),
        (
            "mark \"fragile\" on=\"front\" x=\"5mm\"",
            "missing",
            "mark",
            "",
        ),
        (
            "mark \"fragile\" on=\"front\" at=\"middle\"",
            "unknown-word",
            "middle",
            "centre",
        ),
        (
            "mark \"fragile\" on=\"front\" at=\"top\" x=\"50mm\" y=\"60mm\"",
            "given-twice",
            "top",
            "",
        ),
        (
            "mark \"this-way-up\" on=\"front\" turn=\"90deg\"",
            "unknown-word",
            "90deg",
            "",
        ),
        (
            "mark \"fragile\" on=\"front\" face=\"back\"",
            "unknown-word",
            "back",
            "outside",
        ),
        (
            "mark \"fragile\" on=\"front\"\nmark \"keep-dry\" on=\"front\" size=\"100mm\"",
            "mark-does-not-fit",
            "keep-dry",
            "",
        ),
        ("mark \"fragile\" on=\"front\" { }", "", "", ""),
        (
            "mark \"fragile\" on=\"front\" { x; }",
            "unknown-word",
            "x",
            "",
        ),
    ] {
        let text = job("slotted-case", SIZE, mark);
        let got = drawn(&text);
        if code.is_empty() {
            assert!(got.is_ok(), "{mark}: {got:#?}");
            continue;
        }
        let diags = got.expect_err(mark);
        assert_eq!(diags[0].code, code, "{mark}: {diags:#?}");
        let place = diags[0].place.clone().expect(mark);
        assert_eq!(&text[place.start..place.end], at, "{mark}");
        let help = diags[0].help.clone().unwrap_or_default();
        assert!(help.contains(cure), "{mark}: {help}");
    }
    let many = "mark \"text\" on=\"front\" text=\"A\" height=\"2mm\"\n".repeat(101);
    let diags = drawn(&job("slotted-case", SIZE, &many)).unwrap_err();
    assert!(diags.iter().any(|d| d.code == "too-many"));
}

// The wall is 266 mm clear, and a little under 280 mm from crease to crease with the raised flaps.
// What the cure names fits, and half a millimetre more does not.
#[test]
fn the_height_a_cure_names_is_the_largest_that_fits() {
    let with = |size: &str| {
        let m = format!("mark \"fragile\" on=\"front\" {size}");
        drawn(&job("slotted-case", SIZE, &m))
    };
    assert!(with("size=\"273.5mm\"").is_ok());
    assert_eq!(code(&with("size=\"274mm\"")), "mark-does-not-fit");
}

fn findings(text: &str) -> Vec<Finding> {
    let b = asked(text).unwrap();
    let plan = b.plan().unwrap().validated().unwrap();
    check(&b, &Folder::new(&plan)).findings
}

#[test]
fn findings_tell_of_the_face_and_of_small_signs() {
    let of = |inside: [f64; 3], marks: &str| {
        let all = findings(&job("slotted-case", inside, marks));
        let own = all.into_iter().filter(|f| f.code.starts_with("mark-"));
        own.map(|f| (f.code, f.verdict, f.message))
            .collect::<Vec<_>>()
    };
    assert!(of(SIZE, "").is_empty());
    let inside = of(SIZE, "mark \"part-name\" on=\"lap\"");
    assert_eq!(inside.len(), 1);
    assert_eq!(inside[0].1, Verdict::Pass);
    let outside = of(SIZE, "mark \"fragile\" on=\"front\"");
    assert_eq!(outside.len(), 1, "{outside:?}");
    assert_eq!(
        (outside[0].0, outside[0].1),
        ("mark-face", Verdict::Caution)
    );
    assert!(outside[0].2.contains("mirrored"));
    let both = of(
        SIZE,
        "mark \"part-name\" on=\"lap\"\nmark \"fragile\" on=\"front\"",
    );
    assert!(both[0].2.contains("both faces"), "{both:?}");
    // A wall of 70 mm is some 84 mm from crease to crease: less 3 mm at either side, in steps of 5 mm.
    let small = of([100.0, 90.0, 70.0], "mark \"fragile\" on=\"front\"");
    let size = small.iter().find(|f| f.0 == "mark-size").unwrap();
    assert!(size.2.contains("75 mm high"), "{small:?}");
    assert_eq!(size.1, Verdict::Caution);
    let low = of(SIZE, "mark \"text\" on=\"lap\" text=\"a\" height=\"3mm\"");
    assert!(low.iter().any(|f| f.0 == "mark-size"), "{low:?}");
}

#[test]
fn the_example_is_drawn_with_all_its_marks() {
    let text = include_str!("../../../examples/marked-dome.kdl");
    let plan = sound(text);
    assert_eq!(plan.marks.len(), 7);
    assert!(
        plan.marks
            .iter()
            .filter(|m| m.sign)
            .all(|m| m.height.to_mm() >= 100.0)
    );
    let all = findings(text);
    let worst = all.iter().filter(|f| f.verdict == Verdict::Fail);
    assert_eq!(worst.count(), 0, "{all:#?}");
    // No stroke leaves the blank.
    let b = &plan.pieces[0];
    let inner = bounds(&b.engravings);
    assert!(inner.min.cmpgt(DVec2::ZERO).all() && inner.max.cmplt(b.bounds.max).all());
}
