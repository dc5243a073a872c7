//! The common-practice case: a hand-folded slotted case cut on a bench laser.
//!
//! Common practice, no source: caliper 3.25 mm; a sharp etched fold turns at the inner face (fold
//! axis depth 0); walls lie outside the asked room; the wall that closes the tube loses
//! one clearance c; inner flaps reach L/3; outer flaps crease t + c further out and leave 2 c open
//! between them; the lap reaches L/4, is D/2 tall, has no taper and
//! is centred; flaps are parted by knife cuts. The worked set is 6 x 4 x 3 in, then 8 x 8 x 2 in.
//!
//! With fold axis depth 0 a crease takes nothing from its panels, so developed lengths follow by
//! adding up:
//!   blank length = L + W + L + (W - c) + lap
//!   walls with inner flaps are D between creases, walls with outer flaps D + 2 (t + c).

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use boxwright::check::Verdict;
use common::{Ask, Dice, about, board, failing, line, mm, panel, same, shipped};

const T: f64 = 3.25;
const IN: f64 = 25.4;
const SETS: [[f64; 3]; 2] = [
    [6.0 * IN, 4.0 * IN, 3.0 * IN],
    [8.0 * IN, 8.0 * IN, 2.0 * IN],
];
const NEAR: f64 = 0.001;

fn case(inside: [f64; 3], c: f64) -> Ask {
    Ask::new(&shipped("slotted-case"), &board("B"), inside)
        .caliper(T)
        .p(0.0)
        .mm("clearance", c)
        .mm("short", c)
        .mm("step", T + c)
        .mm("gap", 2.0 * c)
        .set("outer-flap", format!("width / 2 - {c}mm"))
        .set("inner-flap", "length / 3")
        .set("lap", "length / 4")
        .set("lap-height", "depth / 2")
        .set("lap-taper", "0deg")
        .set("slot", "0mm")
}

fn developed(inside: [f64; 3], c: f64) {
    let [l, w, d] = inside;
    let plan = case(inside, c).plan();
    let raised = d + 2.0 * (T + c);
    // Name, from left to right (walls: the height), from near to far.
    for (name, breadth, reach) in [
        ("front", raised, l),
        ("side-1", d, w),
        ("back", raised, l),
        ("side-2", d, w - c),
        ("lap", d / 2.0, l / 4.0),
        ("front top", l, w / 2.0 - c),
        ("front bottom", l, w / 2.0 - c),
        ("back top", l, w / 2.0 - c),
        ("back bottom", l, w / 2.0 - c),
        ("side-1 top", w, l / 3.0),
        ("side-1 bottom", w, l / 3.0),
        ("side-2 top", w - c, l / 3.0),
        ("side-2 bottom", w - c, l / 3.0),
    ] {
        let p = panel(&plan, name);
        same(&format!("{name} breadth"), p.breadth.to_mm(), breadth, NEAR);
        same(&format!("{name} reach"), p.reach.to_mm(), reach, NEAR);
    }
    let f = &plan.pieces[0].figures;
    same(
        "blank length",
        f.length.to_mm(),
        2.0 * l + 2.0 * w - c + l / 4.0,
        NEAR,
    );
    // Whichever flap sticks out further: outer on the raised wall, inner on the plain one.
    let tall = (raised + w - 2.0 * c).max(d + 2.0 * l / 3.0);
    same("blank width", f.width.to_mm(), tall, NEAR);
}

#[test]
fn developed_lengths_with_c_of_one_caliper() {
    SETS.into_iter().for_each(|s| developed(s, T));
    // The worked numbers themselves: 508 - c + 38.1; walls 76.2; inner flap 50.8.
    let plan = case(SETS[0], T).plan();
    same(
        "blank length",
        plan.pieces[0].figures.length.to_mm(),
        508.0 - T + 38.1,
        NEAR,
    );
    same("wall", panel(&plan, "side-1").breadth.to_mm(), 76.2, NEAR);
    same(
        "inner flap",
        panel(&plan, "side-1 top").reach.to_mm(),
        50.8,
        NEAR,
    );
}

#[test]
fn developed_lengths_with_any_c() {
    let mut dice = Dice(76);
    for _ in 0..200 {
        let c = dice.between(0.0, 6.0);
        SETS.into_iter().for_each(|s| developed(s, c));
    }
}

#[test]
fn with_c_of_one_caliper_the_case_is_clear_and_closes() {
    for inside in SETS {
        let report = case(inside, T).report();
        let bad: Vec<String> = failing(&report).into_iter().map(line).collect();
        assert!(bad.is_empty(), "{inside:?}: {bad:#?}");
        for (found, asked) in report.room.iter().zip(inside) {
            assert!(found.to_mm() >= asked - NEAR, "{found:?} of {asked}");
        }
        let pressed = report
            .findings
            .iter()
            .filter(|f| f.code == "board-in-board" && f.verdict != Verdict::Pass);
        assert_eq!(pressed.count(), 0);
        // The lap's outer face lies W - c + t = W from the back: on the front's inside face.
        let glued = about(&report, "glued-face", &["lap", "front"]);
        assert_eq!(glued.len(), 1);
        same("lap on front", mm(glued[0]), 0.0, NEAR);
        // Outer flaps reach W/2 - c each: 2c stay open between them.
        let closing = about(&report, "closing-gap", &["front top", "back top"]);
        same("gap", mm(closing[0]), 2.0 * T, NEAR);
        // The lap stands t into the room, as an inside lap does.
        let lap = about(&report, "accepted-intrusion", &["lap"]);
        same("lap in the room", mm(lap[0]), T, NEAR);
    }
}

// The lap's crease stands c from the front, its board is t thick and folds towards the front: it
// reaches t - c into it.
#[test]
fn with_a_smaller_c_the_lap_overlaps_its_wall_by_t_less_c() {
    for c in [0.0, 0.5, 1.25, 3.0] {
        let report = case(SETS[0], c).report();
        let glued = about(&report, "glued-face", &["lap", "front"]);
        assert_eq!(glued.len(), 1, "c {c}");
        assert_ne!(glued[0].verdict, Verdict::Pass, "c {c}");
        same("lap against front", mm(glued[0]), c - T, NEAR);
        assert!(
            glued[0]
                .cure
                .as_ref()
                .is_some_and(|s| s.contains("`short`")),
            "{:?}",
            glued[0].cure
        );
    }
}

// Without a step the outer flaps' creases lie in the plane of the inner ones', so both layers fill
// the same t above the room.
#[test]
fn without_a_step_outer_flaps_are_driven_into_inner_ones_by_t() {
    for inside in SETS {
        let report = case(inside, T).set("step", "0mm").report();
        for (outer, inner) in [
            ("front top", "side-1 top"),
            ("front top", "side-2 top"),
            ("back top", "side-1 top"),
            ("back top", "side-2 top"),
            ("front bottom", "side-1 bottom"),
            ("back bottom", "side-2 bottom"),
        ] {
            let found: Vec<_> = about(&report, "board-in-board", &[outer, inner])
                .into_iter()
                .filter(|f| f.stage.is_none())
                .collect();
            assert_eq!(found.len(), 1, "{outer} / {inner}");
            let f = found[0];
            assert_eq!(f.verdict, Verdict::Fail);
            same(&format!("{outer} in {inner}"), mm(f), T, NEAR);
            assert!(
                f.cure.as_ref().is_some_and(|c| c.contains("`step`")),
                "{outer} / {inner}: {:?}",
                f.cure
            );
        }
    }
}
