//! A sweep says of each cell what a check of that case says.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use boxwright::brief::brief;
use boxwright::check::{Verdict, check};
use boxwright::diag::Place;
use boxwright::emit::sweep_map::sweep_map;
use boxwright::expr::parse_quantity;
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::source::{Shipped, Text};
use boxwright::sweep::{Axis, Cell, CellVerdict, Sweep, regions};
use boxwright::units::LengthUnit;

fn sweep(style: &str, vary: [(&str, &str, &str, usize); 2], more: &str) -> Sweep {
    let text = format!(
        "job \"sweep\" {{\n style \"{style}\"\n inside length=\"300mm\" width=\"200mm\" depth=\"90mm\"\n board \"C\"\n{more}\n}}\n"
    );
    let name = "job".to_owned();
    let job = parse_job(&Text { name, text }).unwrap();
    let brief = brief(job, &Shipped).unwrap();
    let place = Place {
        input: "vary".into(),
        start: 0,
        end: 0,
    };
    let [across, up] = vary.map(|(name, from, to, steps)| {
        let ends = (parse_quantity(from).unwrap(), parse_quantity(to).unwrap());
        Axis::new(&brief.style, name, ends, steps, &place).unwrap()
    });
    Sweep::new(brief, across, up).unwrap()
}

fn checked(s: &Sweep, i: usize, j: usize) -> (CellVerdict, String) {
    let refused = (CellVerdict::Refused, String::new());
    let Ok(brief) = s.brief_at(i, j) else {
        return refused;
    };
    let Ok(plan) = brief.plan() else {
        return refused;
    };
    let Ok(plan) = plan.validated() else {
        return (CellVerdict::Fail, String::new());
    };
    let report = check(&brief, &Folder::new(&plan));
    match report.findings.first() {
        Some(f) if f.verdict == Verdict::Fail => (CellVerdict::Fail, f.message.clone()),
        Some(f) if f.verdict == Verdict::Caution => (CellVerdict::Caution, f.message.clone()),
        _ => (CellVerdict::Pass, String::new()),
    }
}

#[test]
fn every_cell_of_a_sample_is_as_checked() {
    let mut seen = [0; 4];
    let mut cells = 0;
    for (style, vary, more) in [
        (
            "slotted-case",
            [("width", "120mm", "320mm", 8), ("step", "0mm", "8mm", 9)],
            "",
        ),
        (
            "slotted-case",
            [("length", "150mm", "700mm", 8), ("slot", "0mm", "14mm", 6)],
            " sheet \"1600mm\" \"500mm\"",
        ),
        (
            "mailer",
            [
                ("depth", "20mm", "160mm", 6),
                ("length", "150mm", "400mm", 5),
            ],
            "",
        ),
        (
            "tray-with-lid",
            [("width", "60mm", "300mm", 5), ("depth", "20mm", "200mm", 4)],
            "",
        ),
        (
            "tuck-end-case",
            [("width", "0mm", "200mm", 5), ("depth", "20mm", "200mm", 6)],
            "",
        ),
    ] {
        let s = sweep(style, vary, more);
        for n in 0..s.cells() {
            let (i, j) = s.place(n);
            let cell = s.cell(i, j);
            let (verdict, message) = checked(&s, i, j);
            assert_eq!(cell.verdict, verdict, "{style} {i} {j}: {cell:?}");
            if !message.is_empty() {
                assert_eq!(cell.message, message, "{style} {i} {j}");
            }
            seen[verdict as usize] += 1;
            cells += 1;
        }
    }
    assert!(cells >= 200, "{cells}");
    assert!(seen.iter().filter(|n| **n > 0).count() >= 3, "{seen:?}");
}

#[test]
fn a_map_marks_every_kind_and_names_what_decides() {
    let s = sweep(
        "slotted-case",
        [("width", "100mm", "400mm", 7), ("depth", "2in", "12in", 3)],
        "",
    );
    let cell = |n: usize| {
        let (verdict, code) = [
            (CellVerdict::Pass, ""),
            (CellVerdict::Caution, "slot-width"),
            (CellVerdict::Fail, "board-in-board"),
            (CellVerdict::Refused, "requirement"),
        ][(n % 7 / 2).min(3)];
        Cell {
            verdict,
            code,
            // A requirement says the same wherever it does not hold.
            message: if code == "requirement" {
                "the width".to_owned()
            } else {
                format!("because of {n}")
            },
        }
    };
    let cells: Vec<Cell> = (0..s.cells()).map(cell).collect();
    let found = regions(&s, &cells);
    assert_eq!(found.iter().map(|r| r.cells).sum::<usize>(), 21);
    assert_eq!(found.len(), 4);
    let svg = sweep_map(&s, &cells, LengthUnit::Inch).to_svg();
    for wanted in [
        "inside width, in",
        "inside depth, in",
        ">12<",
        "passes: 6 of 21",
        "tight: 6 of 21",
        "fails: 6 of 21",
        "cannot be drawn: 3 of 21",
        "tight, slot-width: because of",
    ] {
        assert!(svg.contains(wanted), "{wanted}\n{svg}");
    }
    assert_eq!(svg, sweep_map(&s, &cells, LengthUnit::Inch).to_svg());
}
