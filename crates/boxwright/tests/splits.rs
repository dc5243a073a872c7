//! Blanks cut in two at a wall.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "helpers of a test; the lint knows only functions marked as tests"
)]

use boxwright::blank::SoundPlan;
use boxwright::brief::{Brief, brief};
use boxwright::check::{Measure, Report, Verdict, check};
use boxwright::diag::Diag;
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::walls;
use boxwright::units::Length;
use proptest::prelude::*;

fn asked(text: &str) -> Result<Brief, Vec<Diag>> {
    let text = Text {
        name: "a.kdl".into(),
        text: text.to_owned(),
    };
    parse_job(&text).and_then(|j| brief(j, &Shipped))
}

fn job(style: &str, board: &str, inside: [f64; 3], extra: &str) -> String {
    let [l, w, d] = inside;
    format!(
        "job \"clock\" {{\n    style \"{style}\"\n    inside length=\"{l}mm\" width=\"{w}mm\" \
         depth=\"{d}mm\"\n    board \"{board}\"\n    {extra}\n}}\n"
    )
}

fn sound(text: &str) -> (Brief, SoundPlan) {
    let b = asked(text).unwrap_or_else(|d| panic!("{text}: {d:#?}"));
    let plan = b.plan().unwrap_or_else(|d| panic!("{text}: {d:#?}"));
    let plan = plan
        .validated()
        .unwrap_or_else(|(_, d)| panic!("{text}: {d:#?}"));
    (b, plan)
}

fn report(text: &str) -> Report {
    let (b, plan) = sound(text);
    check(&b, &Folder::new(&plan))
}

const SIZES: [[f64; 3]; 4] = [
    [400.0, 300.0, 250.0],
    [620.0, 410.0, 380.0],
    [250.0, 250.0, 120.0],
    [900.0, 210.0, 60.0],
];

/// Holds a split case against the whole one: no finding worse, the room kept, the new joint glued.
fn holds(style: &str, board: &str, inside: [f64; 3], wall: &str) {
    let whole = report(&job(style, board, inside, ""));
    let extra = format!("split at=\"{wall}\"");
    let cut = report(&job(style, board, inside, &extra));
    let told = format!("{style} {board} {inside:?} {wall}: {cut:#?}");
    assert!(cut.verdict() <= whole.verdict(), "{told}");
    for (found, asked) in cut.room.iter().zip(inside) {
        assert!(found.to_mm() > asked - 1e-6, "{told}");
    }
    let lap = format!("{wall} joint");
    let about = |code: &str| {
        let own = cut.findings.iter().filter(|f| f.code == code);
        own.filter(|f| f.panels.iter().any(|p| p.ends_with(&lap)))
            .collect::<Vec<_>>()
    };
    let face = about("glued-face");
    assert_eq!(face.len(), 1, "{told}");
    assert_eq!(face[0].verdict, Verdict::Pass);
    let Some(Measure::Mm(gap)) = face[0].measured else {
        panic!("{told}")
    };
    assert!(gap.to_mm().abs() < 1e-6, "{told}");
    assert_eq!(about("glued-area").len(), 1, "{told}");
    assert_eq!(about("accepted-intrusion").len(), 1, "{told}");
}

// A common trade construction: the slotted case of two halves with two glued corners.
#[test]
fn a_slotted_case_can_be_split_at_every_wall_in_every_board() {
    for board in ["A", "B", "BC", "C", "E", "EB"] {
        for inside in SIZES {
            for wall in ["side-1", "back", "side-2"] {
                holds("slotted-case", board, inside, wall);
            }
        }
    }
}

#[test]
fn other_rows_of_walls_can_be_split_too() {
    for (style, walls) in [
        ("half-slotted", &["side-1", "back", "side-2"][..]),
        ("full-overlap", &["side-1", "back", "side-2"]),
        ("all-flaps-meet", &["side-1", "back", "side-2"]),
        ("tuck-end-case", &["side-1", "side-2"]),
        ("five-panel-folder", &["back"]),
        ("one-piece-folder", &["back"]),
        ("wrap-around", &["back"]),
        ("mailer", &["back"]),
        ("roll-end-tray", &["back"]),
    ] {
        for wall in walls {
            holds(style, "C", SIZES[0], wall);
        }
    }
}

// Worked out by hand: the wall that carries the lap loses t, and a lap of 35 mm is added; each
// crease still takes p t on either side. So the two pieces together are 35 mm - t longer than one.
#[test]
fn the_pieces_measure_what_they_should() {
    for (lap, reach) in [("", 35.0), ("lap=\"60mm\"", 60.0)] {
        for wall in ["side-1", "back", "side-2"] {
            let (b, whole) = sound(&job("slotted-case", "C", SIZES[0], ""));
            let extra = format!("split at=\"{wall}\" {lap}");
            let (_, cut) = sound(&job("slotted-case", "C", SIZES[0], &extra));
            assert_eq!(cut.pieces.len(), 2);
            assert_eq!(cut.pieces[1].panels[0].name, wall);
            let t = b.material.caliper.to_mm();
            let long = |i: usize| cut.pieces[i].figures.length.to_mm();
            let one = whole.pieces[0].figures.length.to_mm();
            assert!(
                (long(0) + long(1) - (one + reach - t)).abs() < 1e-6,
                "{wall}"
            );
            // The flutes still run up the walls, and no panel is lost.
            assert_eq!(cut.pieces[1].flutes, whole.pieces[0].flutes);
            let panels = cut.pieces.iter().map(|b| b.panels.len()).sum::<usize>();
            assert_eq!(panels, whole.pieces[0].panels.len() + 1);
        }
    }
}

#[test]
fn several_cuts_come_in_any_order() {
    let cuts = [
        "split at=\"side-1\"",
        "split at=\"back\"",
        "split at=\"side-2\"",
    ];
    let of = |order: [usize; 3]| {
        let extra = order.map(|i| cuts[i]).join("\n");
        job("slotted-case", "BC", SIZES[1], &extra)
    };
    let (_, first) = sound(&of([0, 1, 2]));
    let (_, last) = sound(&of([2, 0, 1]));
    let names = |p: &SoundPlan| p.pieces.iter().map(|b| b.piece.clone()).collect::<Vec<_>>();
    assert_eq!(names(&first), ["body", "body 2", "body 3", "body 4"]);
    assert_eq!(names(&first), names(&last));
    let r = report(&of([0, 1, 2]));
    assert_eq!(r.verdict(), Verdict::Pass, "{r:#?}");
}

#[test]
fn auto_takes_the_fewest_cuts_that_fit() {
    let extra = "sheet \"1600mm\" \"1200mm\"\n split \"auto\"";
    for (inside, pieces) in [
        ([342.0, 178.0, 266.0], 1),
        ([600.0, 400.0, 400.0], 2),
        ([1000.0, 600.0, 400.0], 4),
    ] {
        let text = job("slotted-case", "C", inside, extra);
        let (b, plan) = sound(&text);
        assert_eq!(plan.pieces.len(), pieces, "{inside:?}");
        let sheet = b.job.sheet.unwrap();
        for p in &plan.pieces {
            let (need, have) = p.on_sheet(sheet);
            assert!(need <= have, "{inside:?} {}", p.piece);
        }
        let r = report(&text);
        assert_eq!(r.verdict(), Verdict::Pass, "{r:#?}");
        let fit = r.findings.iter().filter(|f| f.code == "sheet-fit");
        assert_eq!(fit.count(), pieces);
    }
    // In halves: the longer piece is as short as one cut can make it.
    let (_, two) = sound(&job("slotted-case", "C", [600.0, 400.0, 400.0], extra));
    assert_eq!(two.pieces[1].panels[0].name, "back");
    // The bed counts as well, and a blank lies on it either way round.
    let bed = "bed \"1000mm\" \"1150mm\"\n split \"auto\"";
    let (b, two) = sound(&job("slotted-case", "C", [600.0, 400.0, 400.0], bed));
    let bed = b.job.bed.unwrap();
    assert!(
        two.pieces
            .iter()
            .all(|p| p.on_bed(bed).0 <= p.on_bed(bed).1)
    );
    assert_eq!(two.pieces.len(), 2);
}

#[test]
fn wrong_splits_are_told_at_their_place() {
    for (style, extra, code, at, cure) in [
        (
            "slotted-case",
            "split at=\"bak\"",
            "cannot-split",
            "bak",
            "did you mean `back`",
        ),
        (
            "slotted-case",
            "split at=\"front\"",
            "cannot-split",
            "front",
            "side-1",
        ),
        (
            "slotted-case",
            "split at=\"lap\"",
            "cannot-split",
            "lap",
            "side-2",
        ),
        (
            "slotted-case",
            "split at=\"back top\"",
            "cannot-split",
            "back top",
            "",
        ),
        (
            "crash-lock",
            "split at=\"back\"",
            "cannot-split",
            "back",
            "",
        ),
        ("bliss", "split at=\"back\"", "cannot-split", "back", ""),
        (
            "hinged-tray",
            "split at=\"back\"",
            "cannot-split",
            "back",
            "",
        ),
        ("slotted-case", "split", "missing", "split", "at=\"back\""),
        (
            "slotted-case",
            "split \"autos\"",
            "unknown-word",
            "autos",
            "auto",
        ),
        (
            "slotted-case",
            "split \"auto\"",
            "missing",
            "split",
            "sheet",
        ),
        (
            "slotted-case",
            "split \"auto\" at=\"back\"",
            "given-twice",
            "auto",
            "",
        ),
        (
            "slotted-case",
            "split at=\"back\" lap=\"0mm\"",
            "not-positive",
            "0mm",
            "",
        ),
        (
            "slotted-case",
            "split at=\"back\" lap=\"35\"",
            "wrong-unit",
            "35",
            "35mm",
        ),
        (
            "slotted-case",
            "split at=\"back\"\nsplit at=\"back\"",
            "given-twice",
            "split",
            "",
        ),
        (
            "slotted-case",
            "split \"auto\"\nsplit at=\"back\"",
            "given-twice",
            "split",
            "",
        ),
        (
            "slotted-case",
            "sheet \"300mm\" \"300mm\"\nsplit \"auto\"",
            "too-large",
            "split",
            "sheet",
        ),
    ] {
        let text = job(style, "C", SIZES[0], extra);
        let diags = asked(&text)
            .and_then(|b| b.plan())
            .err()
            .unwrap_or_else(|| panic!("{style} {extra}"));
        assert_eq!(diags[0].code, code, "{extra}: {diags:#?}");
        let place = diags[0].place.clone().expect(extra);
        assert_eq!(&text[place.start..place.end], at, "{extra}");
        let help = diags[0].help.clone().unwrap_or_default();
        assert!(help.contains(cure), "{extra}: {help}");
    }
}

// A lap that is in the way is found, not hidden: the tongues of this case go behind its front.
#[test]
fn a_lap_in_the_way_fails() {
    let r = report(&job("tuck-end-case", "C", SIZES[0], "split at=\"front\""));
    assert_eq!(r.verdict(), Verdict::Fail);
    let long = report(&job(
        "slotted-case",
        "C",
        SIZES[0],
        "split at=\"back\" lap=\"450mm\"",
    ));
    assert_eq!(long.verdict(), Verdict::Fail);
}

// Whatever a style offers can be drawn or is refused with a reason, and the asked room stays.
#[test]
fn every_wall_of_every_style_is_split_or_refused() {
    let (mut good, mut all) = (0, 0);
    for style in Shipped.style_names() {
        let Ok(b) = asked(&job(&style, "C", SIZES[0], "")) else {
            continue;
        };
        if b.plan().is_err() {
            continue;
        }
        for wall in walls(&b.style) {
            all += 1;
            let text = job(&style, "C", SIZES[0], &format!("split at=\"{wall}\""));
            match asked(&text).and_then(|b| b.plan()) {
                Err(d) => assert_eq!(d[0].code, "cannot-split", "{style} {wall}: {d:#?}"),
                Ok(_) => {
                    let r = report(&text);
                    for (found, asked) in r.room.iter().zip(SIZES[0]) {
                        assert!(found.to_mm() > asked - 1e-6, "{style} {wall}");
                    }
                    good += usize::from(r.verdict() == Verdict::Pass);
                }
            }
        }
    }
    assert!(good > 45 && all > 60, "{good} of {all}");
}

#[test]
fn marks_find_their_panel_in_the_new_piece() {
    let extra =
        "split at=\"back\"\nmark \"part-name\" on=\"back\"\nmark \"fragile\" on=\"body: front\"";
    let (_, plan) = sound(&job("slotted-case", "C", SIZES[0], extra));
    assert_eq!(
        (plan.marks[0].panel.piece, plan.marks[1].panel.piece),
        (1, 0)
    );
    assert!(plan.marks[0].height.same(Length::mm(5.0)));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn random_slotted_cases_hold_split_as_well_as_whole(
        long in 150.0..1400.0f64, share in 0.3..1.0f64, depth in 40.0..700.0f64,
        wall in 0..3usize, board in 0..3usize,
    ) {
        let inside = [long, (long * share).max(120.0), depth];
        let wall = ["side-1", "back", "side-2"][wall];
        holds("slotted-case", ["E", "C", "BC"][board], inside, wall);
    }
}
