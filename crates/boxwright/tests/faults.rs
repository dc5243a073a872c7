//! Planted faults: each is caught by the finding meant for it, with the depth it was planted at.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use boxwright::check::{Finding, Report, Verdict};
use common::{Ask, about, board, failing, line, mm, same, shipped, written};

fn slotted() -> Ask {
    Ask::new(&shipped("slotted-case"), &board("C"), [400.0, 300.0, 200.0]).p(0.5)
}

fn the<'r>(report: &'r Report, code: &str, panels: &[&str]) -> &'r Finding {
    let found: Vec<_> = about(report, code, panels)
        .into_iter()
        .filter(|f| f.stage.is_none())
        .collect();
    let all: Vec<String> = report.findings.iter().map(line).collect();
    assert_eq!(found.len(), 1, "{code} about {panels:?} in {all:#?}");
    found[0]
}

fn cured_by(f: &Finding, name: &str) {
    let cure = f.cure.as_deref().unwrap_or("");
    assert!(cure.contains(&format!("`{name}`")), "{f:?}");
}

fn sound(ask: &Ask) {
    let report = ask.report();
    let bad: Vec<String> = failing(&report).into_iter().map(line).collect();
    assert!(bad.is_empty(), "without the fault: {bad:#?}");
}

// Without slots an inner flap is as broad as its wall is between crease lines, W + 2 p t, and
// stands between walls W apart: p t = 2 mm into each.
#[test]
fn slots_too_narrow() {
    sound(&slotted());
    let report = slotted().set("slot", "0mm").resting();
    for wall in ["front", "back"] {
        let f = the(&report, "board-in-board", &["side-1 top", wall]);
        assert_eq!(f.verdict, Verdict::Fail);
        same(wall, mm(f), 2.0, 1e-6);
        cured_by(f, "slot");
    }
}

// All creases in one plane: both layers of flaps fill the same t.
#[test]
fn no_step() {
    let report = slotted().set("step", "0mm").resting();
    let f = the(&report, "board-in-board", &["front top", "side-1 top"]);
    assert_eq!(f.verdict, Verdict::Fail);
    same("depth", mm(f), 4.0, 1e-6);
    cured_by(f, "step");
}

// A lap of 440 mm on a wall of 400 mm runs 40 mm past it.
#[test]
fn lap_longer_than_its_wall() {
    let report = slotted()
        .set("lap", "440mm")
        .set("lap-taper", "0deg")
        .resting();
    let f = the(&report, "glued-area", &["lap", "front"]);
    assert_eq!(f.verdict, Verdict::Fail);
    cured_by(f, "lap");
}

fn mailer() -> Ask {
    Ask::new(&shipped("mailer"), &board("E"), [250.0, 180.0, 60.0]).p(0.5)
}

// A slot 4 mm shorter than its tab leaves it 2 mm too short at each end.
#[test]
fn tab_wider_than_its_slot() {
    sound(&mailer());
    let report = mailer()
        .set("lock", "40mm")
        .set("lock-slot", "36mm")
        .resting();
    for (tab, slot) in [("right lock-1", "floor"), ("left lock-2", "floor")] {
        let f = the(&report, "tab-in-slot", &[tab, slot]);
        assert_eq!(f.verdict, Verdict::Fail);
        same(tab, mm(f), -2.0, 1e-6);
        assert!(f.cure.is_some());
    }
}

// Both tongues lie in one plane. The lids' inside faces are D + 2 (t + clearance) apart, here
// 100 + 2 (1.6 + 0.5) = 104.2 mm, so tongues of 60 mm run 15.8 mm into each other.
#[test]
fn tuck_too_deep() {
    let ask = Ask::new(&shipped("tuck-end-case"), &board("E"), [120.0, 80.0, 100.0]).p(0.5);
    sound(&ask);
    let report = ask.set("tuck", "60mm").resting();
    let found = about(&report, "tuck", &["top tuck", "bottom tuck"]);
    assert_eq!(found.len(), 2, "one for each tongue");
    for f in found {
        assert_eq!(f.verdict, Verdict::Fail);
        same("depth", mm(f), -15.8, 1e-6);
        cured_by(f, "tuck");
    }
}

// Slots of 1.5 mm stay named when the style also cuts a slit somewhere else.
#[test]
fn narrow_slots_beside_a_slit() {
    let body = |slit: &str| {
        format!(
            r#"style "s" {{
    piece "p" flutes="near-far" {{
        panel "a" breadth="depth" reach="length" {{
            panel "a flap" on="left" reach="width / 2" inset="0.75mm"
            {slit}
            panel "b" on="far" reach="width" {{
                panel "b flap" on="left" reach="width / 2" inset="0.75mm"
            }}
        }}
    }}
    room on="a" breadth="depth" reach="length" rise="width"
    stage "One" "Fold." {{ turn "a flap" "b flap" "b"; }}
}}"#
        )
    };
    for slit in ["", r#"slit { to "20mm" "20mm"; to "30mm" "20mm"; }"#] {
        let report = Ask::new(&written(&body(slit)), &board("C"), [100.0, 80.0, 60.0]).resting();
        let found = about(&report, "slot-width", &[]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].verdict, Verdict::Caution, "{:?}", found[0]);
        same("width", mm(found[0]), 1.5, 1e-6);
    }
}

// Two walls 100 mm apart are not glued by anything.
#[test]
fn glue_across_the_room() {
    let style = written(
        r#"style "s" {
    piece "p" flutes="left-right" {
        panel "a" breadth="length" reach="width" {
            panel "left" on="left" reach="depth"
            panel "right" on="right" reach="depth"
        }
    }
    room on="a" breadth="length" reach="width" rise="depth"
    glue "left" to="right"
    stage "One" "Fold." { turn "left" "right"; }
}"#,
    );
    let report = Ask::new(&style, &board("C"), [100.0, 80.0, 60.0]).resting();
    let f = the(&report, "glued-face", &["left", "right"]);
    assert_eq!(f.verdict, Verdict::Fail);
    same("gap", mm(f), 100.0, 1e-6);
}
