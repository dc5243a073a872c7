//! Blanks as parts, and parts on sheets: figures worked out by hand, and every shipped style.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops by panicking"
)]

mod common;

use boxwright::blank::{Blank, LineUse};
use boxwright::job::{Face, Flutes, parse_job};
use boxwright::proof::case;
use boxwright::sheet::part::{Ask, CHORD_MM, marks_left_out, part, parts};
use boxwright::sheet::{
    LaidSheet, Layout, Part, Piece, Placed, Progress, Proved, Shape, Spot, Task, Turn, Turns, Why,
    bounds, lay, why,
};
use boxwright::source::{Door, Shipped, Text};
use boxwright::units::Length;
use common::{boards, shipped};

fn ask(name: &str) -> Ask {
    Ask {
        name: name.into(),
        job: name.into(),
        wanted: 1,
        turns: Turns::Half,
        up: Face::Inside,
        left_out: Vec::new(),
    }
}

fn covers(name: &str, blank: &Blank, p: &Part) {
    let edges = blank.outline.iter().chain(&blank.holes);
    let edge: f64 = edges.map(|p| p.length()).sum();
    let more = p.shape.area_mm2() - blank.figures.area.to_mm2();
    assert!(
        more >= -0.001 * edge && more <= (CHORD_MM + 0.001) * edge + 0.01,
        "{name} {}: {more} mm2 over {edge} mm",
        blank.piece
    );
}

// Flaps parted by knife-wide slits: the drawn outline is broken at each, and is whole again in the part.
#[test]
fn outlines_broken_by_slits_are_joined() {
    let board = boards().into_iter().find(|b| b.name == "B").unwrap();
    let mut slits = 0;
    for slot in ["0mm", "6mm"] {
        let text = Text {
            name: "a.kdl".into(),
            text: format!(
                "job \"case\" {{\nstyle \"slotted-case\"\ninside length=\"200mm\" width=\"150mm\" depth=\"90mm\"\nboard \"B\"\nset \"slot\" \"{slot}\"\n}}"
            ),
        };
        let job = parse_job(&text).unwrap();
        let brief = boxwright::brief::equipped(job, shipped("slotted-case"), board.clone());
        let plan = brief.plan().unwrap().validated().unwrap();
        let blank = &plan.blanks()[0];
        let broken = blank.outline.iter().any(|p| !p.closed);
        assert_eq!(broken, slot == "0mm");
        slits += blank.slits.len();
        let p = part(blank, ask("case")).unwrap();
        covers(slot, blank, &p);
        assert!(p.shape.holes.is_empty());
    }
    assert!(slits >= 6, "{slits}");
}

// The shape covers the blank: its area is that of the blank or, by the chords of arcs, a little
// more; windows are there; the bounds are those of the blank.
#[test]
fn every_style_becomes_parts_that_cover_their_blanks() {
    let all = boards();
    let (mut round, mut windows, mut seen) = (0, 0, 0);
    for name in Shipped.style_names() {
        let style = shipped(&name);
        let mut drawn = 0;
        for number in 0..60 {
            let Some(plan) = case(&style, &all, 7, number).and_then(|b| b.plan().ok()) else {
                continue;
            };
            let Ok(plan) = plan.validated() else { continue };
            for blank in plan.blanks() {
                let p = part(blank, ask(&blank.piece)).unwrap_or_else(|d| panic!("{name}: {d:?}"));
                covers(&name, blank, &p);
                let b = p.shape.bounds();
                let (min, max) = (
                    b.min.to_mm() - blank.bounds.min,
                    b.max.to_mm() - blank.bounds.max,
                );
                let off = |v: f64| (-0.0006..CHORD_MM + 0.001).contains(&v);
                assert!(
                    off(-min.x) && off(-min.y) && off(max.x) && off(max.y),
                    "{name} {min} {max}"
                );
                assert!(p.shape.holes.len() >= blank.holes.len(), "{name}");
                round += usize::from(
                    blank
                        .outline
                        .iter()
                        .any(|p| p.vertices.iter().any(|v| v.bulge != 0.0)),
                );
                windows += usize::from(!blank.holes.is_empty());
                seen += 1;
            }
            drawn += 1;
            if drawn == 3 {
                break;
            }
        }
        assert!(drawn > 0, "{name}");
    }
    // The styles have all that may go wrong here.
    assert!(
        round > 20 && windows > 10 && seen > 100,
        "{round} {windows} {seen}"
    );
}

#[test]
fn a_job_says_how_its_flutes_may_lie() {
    let text = |more: &str| Text {
        name: "a.kdl".into(),
        text: format!(
            "job \"tray\" {{\nstyle \"slotted-case\"\ninside length=\"200mm\" width=\"150mm\" depth=\"90mm\"\nboard \"B\"\n{more}\n}}"
        ),
    };
    assert_eq!(parse_job(&text("")).unwrap().flutes, Flutes::Kept);
    assert_eq!(
        parse_job(&text("flutes \"kept\"")).unwrap().flutes,
        Flutes::Kept
    );
    let job = parse_job(&text("flutes \"either\"")).unwrap();
    assert_eq!(job.flutes, Flutes::Either);
    let wrong = parse_job(&text("flutes \"any\"")).unwrap_err();
    assert_eq!(wrong[0].code, "unknown-word");
    let style = shipped("slotted-case");
    let board = boards().into_iter().find(|b| b.name == "B").unwrap();
    let brief = boxwright::brief::equipped(job, style, board);
    let plan = brief.plan().unwrap().validated().unwrap();
    let all = parts(&plan, &brief.job, "tray", 7).unwrap();
    assert_eq!((all[0].wanted, all[0].turns), (7, Turns::Quarter));
    assert_eq!(all[0].name, "tray");
}

/// The turning from the long leg of an L into its short one: the sign tells it from its mirror image,
/// whichever way it is drawn.
fn turning(p: &boxwright::geom::Path) -> f64 {
    let at = |i: usize| p.vertices[i].at;
    let (one, other) = (at(1) - at(0), at(2) - at(1));
    let turn = one.perp_dot(other);
    if one.length() > other.length() {
        turn
    } else {
        -turn
    }
}

#[test]
fn a_piece_marked_outside_lies_with_that_face_up() {
    let job = |marks: &str| {
        let text = format!(
            "job \"tray\" {{\nstyle \"slotted-case\"\ninside length=\"300mm\" width=\"200mm\" \
             depth=\"150mm\"\nboard \"B\"\n{marks}\n}}"
        );
        let name = "a.kdl".into();
        let job = parse_job(&Text { name, text }).unwrap();
        let board = boards().into_iter().find(|b| b.name == "B").unwrap();
        let brief = boxwright::brief::equipped(job, shipped("slotted-case"), board);
        brief.plan().unwrap().validated().unwrap()
    };
    let one = |marks: &str| {
        let plan = job(marks);
        let brief = parse_job(&Text {
            name: "b.kdl".into(),
            text: "job \"tray\" {\nstyle \"slotted-case\"\ninside length=\"300mm\" \
                   width=\"200mm\" depth=\"150mm\"\nboard \"B\"\n}"
                .into(),
        });
        let part = parts(&plan, &brief.unwrap(), "tray", 1).unwrap().remove(0);
        let engraved: Vec<_> = part
            .lines
            .iter()
            .filter(|l| l.line_use == LineUse::Engrave)
            .cloned()
            .collect();
        (part, engraved, marks_left_out(&plan, "tray"))
    };
    let written = boxwright::letters::written("L", Length::mm(30.0)).unwrap();
    let sense = turning(&written.paths[0]).signum();
    let panel = &job("").pieces[0].panels[0].name.clone();
    for (face, up) in [("outside", true), ("inside", false)] {
        let mark =
            format!("mark \"text\" on=\"{panel}\" text=\"L\" height=\"30mm\" face=\"{face}\"");
        let (part, engraved, left) = one(&mark);
        assert_eq!(part.outside_up, up);
        assert_eq!(engraved.len(), written.paths.len());
        assert_eq!(
            turning(&engraved[0].path).signum(),
            sense,
            "{face}: it can be read"
        );
        assert!(left.is_empty());
        let b = part.shape.bounds();
        let on = Piece {
            name: "B".into(),
            board: "B".into(),
            shape: Shape::rect(2_000_000, 2_000_000),
            count: 1,
            price: 0.0,
            off_cut: false,
        };
        let layout = Layout {
            title: "one".into(),
            stock: vec![on],
            spacing: 0,
            margin: 0,
            reach: None,
            sheets: vec![LaidSheet {
                stock: 0,
                placed: vec![Placed {
                    part: 0,
                    turn: if part.flutes_along_x {
                        Turn::None
                    } else {
                        Turn::Quarter
                    },
                    at: if part.flutes_along_x {
                        -b.min
                    } else {
                        Spot::new(b.max.y, -b.min.x)
                    },
                }],
            }],
            left: vec![0],
            parts: vec![part],
        };
        assert!(layout.proved().is_ok(), "{face}: lines and shape agree");
    }
    let both = format!(
        "mark \"text\" on=\"{panel}\" text=\"L\" height=\"30mm\" face=\"outside\" at=\"left\"\n\
         mark \"text\" on=\"{panel}\" text=\"L\" height=\"20mm\" face=\"inside\" at=\"right\""
    );
    let (part, engraved, left) = one(&both);
    assert!(part.outside_up);
    assert_eq!(engraved.len(), written.paths.len(), "only what is outside");
    assert_eq!(left[0].code, "marks-left-out");
}

/// A plate of so many mm, its flutes along x.
fn plate(name: &str, w: i64, h: i64, wanted: u32) -> Part {
    Part {
        name: name.into(),
        job: name.into(),
        piece: "body".into(),
        board: "B".into(),
        caliper: 3.0,
        wanted,
        turns: Turns::Half,
        flutes_along_x: true,
        outside_up: false,
        shape: Shape::rect(w * 1000, h * 1000),
        lines: Vec::new(),
    }
}

fn sheet(w: i64, h: i64, count: u32) -> Piece {
    Piece::sheet(&format!("{w} x {h}"), "B", w * 1000, h * 1000, count, 0.0)
}

fn task(parts: Vec<Part>, stock: Vec<Piece>, spacing: i64, margin: i64) -> Task {
    Task {
        title: "plates".into(),
        parts,
        stock,
        spacing: spacing * 1000,
        margin: margin * 1000,
        reach: None,
    }
}

fn laid(task: &Task) -> Proved {
    let mut spent = |p: &Progress| p.moves as f64 / 200.0;
    proved(lay(task, 1, &mut spent).unwrap())
}

fn proved(layout: Layout) -> Proved {
    layout.proved().unwrap_or_else(|(_, d)| panic!("{d:#?}"))
}

// 3 x 300 + 2 x 10 + 2 x 5 = 930 and 2 x 200 + 10 + 2 x 5 = 420: nothing to spare.
#[test]
fn what_fits_exactly_is_laid() {
    let exact = task(
        vec![plate("a", 300, 200, 6)],
        vec![sheet(930, 420, 1)],
        10,
        5,
    );
    let l = laid(&exact);
    assert_eq!((l.sheets.len(), l.left_over()), (1, 0));
    let short = task(
        vec![plate("a", 300, 200, 6)],
        vec![sheet(929, 420, 1)],
        10,
        5,
    );
    assert_eq!(laid(&short).left_over(), 2);
    // Two kinds, with less margin than half the room between parts.
    let mixed = task(
        vec![plate("a", 300, 200, 2), plate("b", 610, 200, 1)],
        vec![sheet(610, 410, 1)],
        10,
        0,
    );
    assert_eq!(laid(&mixed).left_over(), 0);
    // Nothing between parts and nothing to the edge.
    let close = task(
        vec![plate("a", 300, 200, 4)],
        vec![sheet(600, 400, 1)],
        0,
        0,
    );
    assert_eq!(laid(&close).left_over(), 0);
}

#[test]
fn flutes_decide_and_what_is_left_is_told() {
    let mut tall = plate("tall", 300, 900, 1);
    let stock = vec![sheet(1000, 400, 1)];
    let l = laid(&task(vec![tall.clone()], stock.clone(), 2, 5));
    assert_eq!(why(&l), [Some(Why::TooBig(true))]);
    tall.turns = Turns::Quarter;
    let l = laid(&task(vec![tall.clone()], stock.clone(), 2, 5));
    assert_eq!(why(&l), [None]);
    tall.turns = Turns::Half;
    tall.flutes_along_x = false;
    assert_eq!(
        laid(&task(vec![tall.clone()], stock.clone(), 2, 5)).left_over(),
        0
    );
    tall.board = "C".into();
    let huge = plate("huge", 2000, 900, 2);
    let many = plate("many", 300, 300, 5);
    let l = laid(&task(vec![tall, huge, many], stock, 2, 5));
    let told = why(&l);
    assert_eq!(
        told,
        [
            Some(Why::NoBoard),
            Some(Why::TooBig(false)),
            Some(Why::NoRoom)
        ]
    );
    assert_eq!(l.left, [1, 2, 2]);
    assert!(told[1].as_ref().unwrap().words("B").contains("too large"));
}

#[test]
fn boards_are_not_mixed() {
    let mut c = plate("c", 300, 200, 2);
    c.board = "C".into();
    let mut on_c = sheet(800, 500, 1);
    (on_c.board, on_c.name) = ("C".into(), "C".into());
    let l = laid(&task(
        vec![plate("b", 300, 200, 2), c],
        vec![sheet(800, 500, 1), on_c],
        2,
        5,
    ));
    assert_eq!((l.sheets.len(), l.left_over()), (2, 0));
}

// A frame of 600 x 400 with a window of 400 x 200, on a sheet it fills: the window holds the rest.
#[test]
fn windows_are_used() {
    let mut frame = plate("frame", 600, 400, 1);
    let at = |x: i64, y: i64| Spot::new(x * 1000, y * 1000);
    frame.shape.holes = vec![vec![at(100, 100), at(100, 300), at(500, 300), at(500, 100)]];
    let small = plate("small", 190, 180, 2);
    let l = laid(&task(vec![frame, small], vec![sheet(610, 410, 1)], 5, 5));
    assert_eq!(l.left_over(), 0);
}

#[test]
fn the_reach_bounds_what_is_used() {
    let mut t = task(
        vec![plate("a", 300, 200, 9)],
        vec![sheet(1600, 1200, 1)],
        0,
        0,
    );
    t.reach = Some([600_000, 400_000]);
    assert_eq!(laid(&t).left, [5]);
}

#[test]
fn the_same_question_has_the_same_answer_and_stopping_at_once_is_sound() {
    let parts = vec![
        plate("a", 310, 210, 5),
        plate("b", 150, 420, 6),
        plate("c", 90, 95, 9),
    ];
    let t = task(parts, vec![sheet(1200, 800, 3), sheet(700, 500, 2)], 4, 6);
    let one = laid(&t);
    assert_eq!(*one, *laid(&t));
    assert_eq!(one.left_over(), 0);
    let at_once = proved(lay(&t, 1, &mut |_| 1.0).unwrap());
    assert_eq!(at_once.left_over(), 0);
}

// 7 plates of 300 x 200 take 420,000 mm2 and more with their room; a sheet of 600 x 420 offers 252,000:
// two at least. Dear sheets are left alone where cheap ones do.
#[test]
fn the_bound_is_told_beside_the_cost() {
    let mut dear = sheet(600, 400, 9);
    (dear.price, dear.name) = (5.0, "dear".into());
    let mut cheap = sheet(600, 420, 9);
    cheap.price = 2.0;
    let l = laid(&task(
        vec![plate("a", 300, 200, 7)],
        vec![dear, cheap],
        0,
        0,
    ));
    let b = &bounds(&l)[0];
    assert_eq!((b.sheets, b.least_sheets), (2, 2));
    assert_eq!(b.cost, Some(4.0));
    let least = b.least_cost.unwrap();
    assert!((least - 2.0 * 420.0 / 252.0).abs() < 1e-6, "{least}");
    assert!(
        b.words().contains("fewer are not possible"),
        "{}",
        b.words()
    );
}

#[test]
fn too_many_parts_are_refused_in_words() {
    let many = task(
        vec![plate("a", 10, 10, 19_000), plate("b", 10, 20, 19_000)],
        vec![sheet(1000, 1000, 1)],
        0,
        0,
    );
    let d = lay(&many, 1, &mut |_| 1.0).unwrap_err();
    assert_eq!(d.code, "too-many-parts");
    assert!(d.message.contains("38000"), "{}", d.message);
}

#[test]
fn stopped_at_once_it_still_uses_what_stock_there_is() {
    let many = vec![plate("a", 120, 80, 300), plate("b", 400, 300, 20)];
    let t = task(many, vec![sheet(1600, 1200, 40)], 3, 5);
    let found = proved(lay(&t, 1, &mut |_| 1.0).unwrap());
    assert_eq!(found.left, vec![0, 0]);
    let t = task(
        vec![plate("b", 400, 300, 60)],
        vec![sheet(1600, 1200, 40)],
        0,
        0,
    );
    let found = proved(lay(&t, 1, &mut |_| 1.0).unwrap());
    assert_eq!(
        found.sheets.len(),
        4,
        "sixteen on each of three, twelve on the last"
    );
}
