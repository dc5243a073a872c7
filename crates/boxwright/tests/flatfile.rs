//! Flat files read back: our own in every edition, spoilt ones, and what comes of them.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops by panicking"
)]

mod common;

use std::fmt::Write as _;
use std::sync::Arc;

use boxwright::blank::{Blank, Creasing, LineUse, SoundPlan};
use boxwright::brief::{Brief, equipped};
use boxwright::check::Verdict;
use boxwright::diag::{Diag, Place};
use boxwright::emit::dxf::{DxfOptions, DxfVersion, dxf};
use boxwright::emit::svg::{SvgOptions, svg};
use boxwright::emit::use_word;
use boxwright::flatfile::{self, Fault, Folded, Role, Wishes, job_as_drawn, read, style_as_drawn};
use boxwright::geom::{DVec2, Segment};
use boxwright::job::Named;
use boxwright::source::{Door, Shipped, Text};
use boxwright::units::Length;
use common::{Ask, board, shipped};
use proptest::prelude::*;

fn brief_in(name: &str) -> Brief {
    let named = Named {
        name: name.into(),
        place: Place {
            input: "test".into(),
            start: 0,
            end: 0,
        },
    };
    equipped(job_as_drawn(named), style_as_drawn(), board(name))
}

fn fold_with(text: &str, wishes: &Wishes) -> Result<Folded, Vec<Diag>> {
    let text = Text {
        name: "drawn".into(),
        text: text.into(),
    };
    let drawing = read(&text, None)?;
    flatfile::fold(&drawing, wishes, brief_in("C"))
}

fn fold(text: &str) -> Result<Folded, Vec<Diag>> {
    fold_with(text, &Wishes::default())
}

/// A size the style can be made in.
fn drawn(style: &str) -> SoundPlan {
    asked(style).sound()
}

/// The first of some sizes that the style takes.
fn asked(style: &str) -> Ask {
    let sizes = [
        [300.0, 200.0, 150.0],
        [250.0, 200.0, 60.0],
        [342.0, 178.0, 266.0],
        [200.0, 200.0, 200.0],
    ];
    let style = shipped(style);
    sizes
        .into_iter()
        .map(|inside| Ask::new(&style, &board("C"), inside))
        .find(|ask| {
            ask.brief()
                .is_ok_and(|b| b.plan().is_ok_and(|p| p.validated().is_ok()))
        })
        .unwrap_or_else(|| panic!("{}: none of the sizes", style.name))
}

/// Angles other than square, at the middle of their creases.
fn angles(
    blank: &Blank,
    to_file: impl Fn(DVec2) -> DVec2,
) -> Vec<(DVec2, boxwright::units::Angle)> {
    let odd = blank
        .creases
        .iter()
        .filter(|c| (c.angle.to_deg() - 90.0).abs() > 1e-9);
    odd.map(|c| (to_file((c.from + c.to) * 0.5), c.angle))
        .collect()
}

fn files(blank: &Blank) -> Vec<(String, String, Wishes)> {
    let plain = Wishes::default();
    let mut out = Vec::new();
    for version in [DxfVersion::R12, DxfVersion::R2000, DxfVersion::R2010] {
        let opts = DxfOptions {
            version,
            ..DxfOptions::default()
        };
        let wishes = Wishes {
            angles: angles(blank, |p| p),
            ..plain.clone()
        };
        out.push((format!("{version:?}"), dxf(blank, &opts), wishes));
    }
    let high = blank.bounds.size().y;
    let wishes = Wishes {
        angles: angles(blank, |p| DVec2::new(p.x + 2.0, high + 2.0 - p.y)),
        ..plain
    };
    out.push(("SVG".into(), svg(blank, &SvgOptions::default()), wishes));
    out
}

#[test]
fn every_shipped_style_comes_back_from_every_edition() {
    let mut wrong = Vec::new();
    let mut rooms = 0;
    for style in Shipped.style_names() {
        let plan = drawn(&style);
        for (i, blank) in plan.blanks().iter().enumerate() {
            for (edition, text, wishes) in files(blank) {
                let what = format!("{style} {} {edition}", blank.piece);
                let folded = match fold_with(&text, &wishes) {
                    Ok(f) => f,
                    Err(d) => {
                        wrong.push(format!("{what}: {d:#?}"));
                        continue;
                    }
                };
                let back = folded.blank.as_ref().unwrap();
                let hung = blank.panels.iter().filter(|p| p.crease.is_some()).count();
                if (back.panels.len(), back.creases.len()) != (hung + 1, hung) {
                    wrong.push(format!(
                        "{what}: {} panels, {} creases, not {}, {hung}",
                        back.panels.len(),
                        back.creases.len(),
                        hung + 1
                    ));
                }
                let long =
                    |b: &Blank| (b.figures.crease_length + b.figures.perforation_length).to_mm();
                if (long(back) - long(blank)).abs() > 0.01 {
                    wrong.push(format!(
                        "{what}: creases of {} mm, not {}",
                        long(back),
                        long(blank)
                    ));
                }
                let (cut, asked) = (
                    back.figures.cut_length.to_mm(),
                    blank.figures.cut_length.to_mm(),
                );
                if (cut - asked).abs() > 0.01 {
                    wrong.push(format!("{what}: cuts of {cut} mm, not {asked}"));
                }
                // Where a corner cut comes out shorter than drawings can tell, that is said.
                let grave = |f: &&Fault| f.verdict != Verdict::Pass && f.code != "short-line";
                for f in folded.faults.iter().filter(grave) {
                    wrong.push(format!("{what}: {} {}", f.code, f.message));
                }
                // Walls of one piece bound the room; what other pieces bound a flat file cannot
                // tell, nor which of the three sizes is the depth.
                let whole = plan.blanks().len() == 1 || LONE_BASES.contains(&style.as_str());
                if plan.room.on.piece == i && whole && plan.room.leaves.is_empty() {
                    let mut asked = clear(&style).map(Length::to_mm);
                    let mut found = folded
                        .room
                        .as_ref()
                        .map_or([0.0; 3], |r| r.sizes.map(Length::to_mm));
                    asked.sort_by(f64::total_cmp);
                    found.sort_by(f64::total_cmp);
                    if asked.iter().zip(found).any(|(a, f)| (a - f).abs() > 0.01) {
                        wrong.push(format!(
                            "{what}: room {found:?}, not {asked:?}; {:?}",
                            folded.room
                        ));
                    }
                    rooms += 1;
                }
                for f in folded
                    .findings
                    .iter()
                    .filter(|f| f.verdict == Verdict::Fail)
                {
                    wrong.push(format!("{what}: {} {}", f.code, f.message));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(rooms >= 4 * 30, "{rooms} rooms measured");
}

/// Styles of several pieces whose first alone bounds the asked room.
const LONE_BASES: [&str; 3] = ["tray-with-lid", "full-telescope", "tray-with-cover"];

/// The room that the checks find in the case drawn from its style.
fn clear(style: &str) -> [Length; 3] {
    asked(style).resting().room
}

/// A line of a made file: layer and geometry.
type Line = (String, Segment);

fn line(layer: &str, a: [f64; 2], b: [f64; 2]) -> Line {
    let segment = Segment {
        from: a.into(),
        to: b.into(),
        bulge: 0.0,
    };
    (layer.to_owned(), segment)
}

/// The slotted case as single lines.
fn good() -> Vec<Line> {
    let plan = drawn("slotted-case");
    let blank: &Blank = &plan.blanks()[0];
    blank
        .lines()
        .into_iter()
        .filter(|(u, _)| *u != LineUse::Board)
        .flat_map(|(u, p)| {
            p.segments()
                .map(|s| (use_word(u).to_owned(), s))
                .collect::<Vec<_>>()
        })
        .collect()
}

fn written(lines: &[Line]) -> String {
    let mut out = String::from("0\nSECTION\n2\nENTITIES\n");
    for (layer, s) in lines {
        let (a, b) = (s.from, s.to);
        let _ = write!(
            out,
            "0\nLINE\n8\n{layer}\n10\n{}\n20\n{}\n30\n0\n11\n{}\n21\n{}\n31\n0\n",
            a.x, a.y, b.x, b.y
        );
    }
    out + "0\nENDSEC\n0\nEOF\n"
}

/// The longest line of a layer, by index.
fn longest(lines: &[Line], layer: &str) -> usize {
    (0..lines.len())
        .filter(|i| lines[*i].0 == layer)
        .max_by(|a, b| lines[*a].1.length().total_cmp(&lines[*b].1.length()))
        .unwrap()
}

#[track_caller]
fn fault(folded: &Result<Folded, Vec<Diag>>, code: &str) -> Fault {
    match folded {
        Ok(f) => f
            .faults
            .iter()
            .find(|f| f.code == code)
            .unwrap_or_else(|| panic!("no {code} in {:#?}", f.faults))
            .clone(),
        Err(d) => panic!("stopped: {d:#?}"),
    }
}

#[track_caller]
fn stopped(folded: Result<Folded, Vec<Diag>>, code: &str) -> Diag {
    let diags = folded.expect_err("it cannot be folded");
    let found = diags.iter().find(|d| d.code == code);
    found
        .unwrap_or_else(|| panic!("no {code} in {diags:#?}"))
        .clone()
}

#[track_caller]
fn near(f: &Fault, p: DVec2) {
    let named = flatfile::spot(p);
    assert!(f.places.iter().any(|q| q.distance(p) < 0.06), "{f:?} {p}");
    assert!(
        f.places.len() > 4 || f.message.contains(&named),
        "{} {named}",
        f.message
    );
}

#[test]
fn the_good_file_is_good() {
    let folded = fold(&written(&good())).unwrap();
    assert!(
        folded.faults.iter().all(|f| f.verdict == Verdict::Pass),
        "{:#?}",
        folded.faults
    );
    assert_eq!(folded.blank.unwrap().panels.len(), 13);
}

#[test]
fn a_gap_in_the_outline_is_named_at_both_ends() {
    let mut lines = good();
    let i = longest(&lines, "cut");
    let s = lines[i].1;
    let (a, b) = (s.from.lerp(s.to, 0.4), s.from.lerp(s.to, 0.42));
    lines[i].1.to = a;
    lines.push(line("cut", b.into(), s.to.into()));
    let f = fault(&fold(&written(&lines)), "open-outline");
    assert_eq!(f.verdict, Verdict::Fail);
    near(&f, a);
    near(&f, b);
}

#[test]
fn a_line_drawn_twice_is_taken_once() {
    let mut lines = good();
    let (i, j) = (longest(&lines, "cut"), longest(&lines, "crease-inward"));
    let s = lines[i].1;
    // One whole and turned round, one in part.
    lines.push(line("cut", s.to.into(), s.from.into()));
    let c = lines[j].1;
    let (a, b) = (c.from.lerp(c.to, 0.2), c.from.lerp(c.to, 0.7));
    lines.push(line("crease-inward", a.into(), b.into()));
    let folded = fold(&written(&lines));
    let f = fault(&folded, "doubled-line");
    near(&f, (s.from + s.to) * 0.5);
    near(&f, (a + b) * 0.5);
    assert!(
        (folded.unwrap().blank.unwrap().figures.cut_length.to_mm()
            - fold(&written(&good()))
                .unwrap()
                .blank
                .unwrap()
                .figures
                .cut_length
                .to_mm())
        .abs()
            < 1e-6
    );
}

#[test]
fn a_crease_that_ends_in_a_panel_is_named() {
    let mut lines = good();
    let s = lines[longest(&lines, "crease-inward")].1;
    let from = (s.from + s.to) * 0.5;
    let to = from + (s.to - s.from).perp().normalize() * 30.0;
    lines.push(line("crease-inward", from.into(), to.into()));
    near(
        &fault(&fold(&written(&lines)), "crease-ends-in-nothing"),
        to,
    );
}

#[test]
fn a_crease_too_short_says_by_how_much() {
    let mut lines = good();
    let i = longest(&lines, "crease-inward");
    let s = lines[i].1;
    let to = s.to - (s.to - s.from).normalize() * 0.2;
    lines[i].1.to = to;
    let text = written(&lines);
    let f = fault(&fold(&text), "crease-ends-in-nothing");
    near(&f, to);
    assert!(f.message.contains("0.2 mm short"), "{}", f.message);
    let wide = Wishes {
        tolerance: Length::mm(0.25),
        ..Wishes::default()
    };
    let healed = fold_with(&text, &wide).unwrap();
    assert_eq!(healed.blank.unwrap().panels.len(), 13);
}

#[test]
fn a_near_miss_is_healed_and_counted() {
    let mut lines = good();
    let i = longest(&lines, "crease-inward");
    let e = (lines[i].1.to - lines[i].1.from).normalize();
    lines[i].1.to -= e * 0.02;
    let folded = fold(&written(&lines)).unwrap();
    assert_eq!(folded.blank.unwrap().panels.len(), 13);
    assert_eq!(folded.healed.0, 1);
    assert!((folded.healed.1.to_mm() - 0.02).abs() < 1e-3);
}

#[test]
fn creases_that_cross_make_a_ring_round_their_point() {
    let lines = [
        line("cut", [0.0, 0.0], [200.0, 0.0]),
        line("cut", [200.0, 0.0], [200.0, 160.0]),
        line("cut", [200.0, 160.0], [0.0, 160.0]),
        line("cut", [0.0, 160.0], [0.0, 0.0]),
        line("crease-inward", [90.0, 0.0], [90.0, 160.0]),
        line("crease-inward", [0.0, 70.0], [200.0, 70.0]),
    ];
    let folded = fold(&written(&lines));
    near(&fault(&folded, "creases-cross"), DVec2::new(90.0, 70.0));
    near(
        &fault(&folded, "panels-round-a-point"),
        DVec2::new(90.0, 70.0),
    );
    // Drawn in four parts it is a ring all the same.
    let mut parts = lines[..4].to_vec();
    for end in [[90.0, 0.0], [90.0, 160.0], [0.0, 70.0], [200.0, 70.0]] {
        parts.push(line("crease-inward", [90.0, 70.0], end));
    }
    near(
        &fault(&fold(&written(&parts)), "panels-round-a-point"),
        DVec2::new(90.0, 70.0),
    );
}

#[test]
fn a_cut_through_a_crease_is_named() {
    let mut lines = good();
    let s = lines[longest(&lines, "crease-inward")].1;
    let (m, n) = (
        (s.from + s.to) * 0.5,
        (s.to - s.from).perp().normalize() * 15.0,
    );
    lines.push(line("cut", (m - n).into(), (m + n).into()));
    let folded = fold(&written(&lines));
    near(&fault(&folded, "cut-through-crease"), m);
    // Both halves of the crease are one hinge still.
    assert_eq!(folded.unwrap().blank.unwrap().panels.len(), 13);
}

#[test]
fn a_piece_beside_the_blank_is_left_out() {
    let mut lines = good();
    let p = [[-80.0, 0.0], [-20.0, 0.0], [-20.0, 40.0], [-80.0, 40.0]];
    for i in 0..4 {
        lines.push(line("cut", p[i], p[(i + 1) % 4]));
    }
    let text = written(&lines);
    near(&fault(&fold(&text), "stray-piece"), DVec2::new(-50.0, 20.0));
    let other = Wishes {
        root: Some(DVec2::new(-30.0, 10.0)),
        ..Wishes::default()
    };
    assert_eq!(
        fold_with(&text, &other)
            .unwrap()
            .blank
            .unwrap()
            .panels
            .len(),
        1
    );
}

#[test]
fn a_file_cut_short_is_not_folded() {
    let text = written(&good());
    for part in [3, 5, 7] {
        let short = &text[..text.len() * part / 9];
        let diags = fold(short).unwrap_err();
        assert!(
            diags
                .iter()
                .any(|d| d.code == "cut-short" && d.place.is_some()),
            "{diags:?}"
        );
    }
}

#[test]
fn wrong_units_are_noticed_by_the_size() {
    let mut text = written(&good());
    text.insert_str(0, "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n");
    let folded = fold(&text);
    assert!(
        fault(&folded, "very-large")
            .message
            .contains("in, as the file says")
    );
    let drawing = Text {
        name: "drawn".into(),
        text,
    };
    let as_mm = read(&drawing, Some(flatfile::FileUnit::Mm)).unwrap();
    let folded = flatfile::fold(&as_mm, &Wishes::default(), brief_in("C")).unwrap();
    assert!(folded.faults.iter().all(|f| f.verdict == Verdict::Pass));
}

#[test]
fn what_is_no_number_is_shown_where_it_stands() {
    for bad in ["twelve", "nan", "inf", "1e999"] {
        let text = written(&good()).replacen("\n10\n", &format!("\n10\n{bad}\n20\n0\n999\n"), 1);
        let d = stopped(fold(&text), "not-a-number");
        let place = d.place.unwrap();
        assert_eq!(&text[place.start..place.end], bad);
    }
}

#[test]
fn what_is_no_drawing_is_refused() {
    stopped(fold(""), "empty");
    stopped(fold("  \n \n"), "empty");
    stopped(fold("hello there\nnothing\n"), "not-a-drawing");
    stopped(fold("Some Binary DXF\r\n\u{1a}\0"), "binary-dxf");
    stopped(fold("<html><body/></html>"), "not-a-drawing");
    stopped(
        fold("<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0"),
        "bad-svg",
    );
    stopped(
        fold("0\nSECTION\n2\nHEADER\n0\nENDSEC\n0\nEOF\n"),
        "not-a-drawing",
    );
    stopped(fold(&written(&[])), "no-lines");
}

#[test]
fn huge_coordinates_are_refused_with_their_place() {
    let mut lines = good();
    lines.push(line("cut", [1e9, 5.0], [1e9, 8.0]));
    let d = stopped(fold(&written(&lines)), "too-far");
    assert!(d.message.contains("1000000000, 5"), "{}", d.message);
}

#[test]
fn unknown_layers_are_listed_with_counts_and_the_option_to_write() {
    let renamed: Vec<Line> = good()
        .into_iter()
        .map(|(l, s)| (if l == "cut" { "knife" } else { "wheel" }.to_owned(), s))
        .collect();
    let d = stopped(fold(&written(&renamed)), "unclear-lines");
    let cuts = renamed.iter().filter(|l| l.0 == "knife").count();
    assert!(
        d.message.contains(&format!("`knife` ({cuts} lines)")),
        "{}",
        d.message
    );
    assert!(d.help.unwrap().contains("--cut knife"));
    let wishes = Wishes {
        roles: vec![
            (Role::Cut, "KNIFE".into()),
            (Role::CreaseInward, "wheel".into()),
        ],
        ..Wishes::default()
    };
    let folded = fold_with(&written(&renamed), &wishes).unwrap();
    assert_eq!(folded.blank.unwrap().panels.len(), 13);
}

#[test]
fn creases_alone_enclose_nothing() {
    let lines: Vec<Line> = good().into_iter().filter(|l| l.0 != "cut").collect();
    let d = stopped(fold(&written(&lines)), "no-cut-lines");
    assert!(d.help.unwrap().contains("--cut"));
}

#[test]
fn lines_without_length_are_named() {
    let mut lines = good();
    lines.push(line("cut", [33.0, 44.0], [33.0, 44.0]));
    lines.push(line("cut", [35.0, 44.0], [35.02, 44.0]));
    let folded = fold(&written(&lines));
    near(&fault(&folded, "zero-length-line"), DVec2::new(33.0, 44.0));
    near(&fault(&folded, "short-line"), DVec2::new(35.0, 44.0));
}

#[test]
fn an_outline_that_crosses_itself_is_named() {
    let p = [
        [0.0, 0.0],
        [200.0, 0.0],
        [200.0, 100.0],
        [60.0, 100.0],
        [60.0, -20.0],
        [0.0, -20.0],
    ];
    let lines: Vec<Line> = (0..6).map(|i| line("cut", p[i], p[(i + 1) % 6])).collect();
    near(
        &fault(&fold(&written(&lines)), "cuts-cross"),
        DVec2::new(60.0, 0.0),
    );
}

#[test]
fn text_and_dimensions_are_counted() {
    let text = written(&good()).replacen(
        "0\nLINE",
        "0\nTEXT\n8\nnotes\n1\nhi\n0\nTEXT\n8\nnotes\n1\nho\n0\nLINE",
        1,
    );
    assert!(fault(&fold(&text), "not-lines").message.contains("2 TEXT"));
}

/// A tray with walls of `wide` along the long sides.
fn tray(l: f64, w: f64, d: f64, inset: f64) -> Vec<Line> {
    let (a, b) = (inset, l - inset);
    let ring = [
        [0.0, 0.0],
        [a, 0.0],
        [a, -d],
        [b, -d],
        [b, 0.0],
        [l, 0.0],
        [l + d, 0.0],
        [l + d, w],
        [l, w],
        [b, w],
        [b, w + d],
        [a, w + d],
        [a, w],
        [0.0, w],
        [-d, w],
        [-d, 0.0],
    ];
    let n = ring.len();
    let sides = (0..n).map(|i| line("cut", ring[i], ring[(i + 1) % n]));
    let mut lines: Vec<Line> = sides.filter(|(_, s)| s.length() > 0.0).collect();
    for (p, q) in [
        ([a, 0.0], [b, 0.0]),
        ([l, 0.0], [l, w]),
        ([b, w], [a, w]),
        ([0.0, w], [0.0, 0.0]),
    ] {
        lines.push(line("crease-inward", p, q));
    }
    lines
}

fn in_four_mm(lines: &[Line]) -> Folded {
    let text = Text {
        name: "drawn".into(),
        text: written(lines),
    };
    let mut brief = brief_in("C");
    brief.material.axis_depth = [0.5, 0.5];
    brief.material.caliper = Length::mm(4.0);
    flatfile::fold(&read(&text, None).unwrap(), &Wishes::default(), brief).unwrap()
}

// A tray drawn by hand, inside 100 x 60 x 40 in board of 4 mm that turns at half its thickness:
// crease to crease is inside plus 2 p t tan(45 deg) = 4 mm, a wall 40 + 2.
#[test]
fn a_hand_drawn_tray_has_the_room_worked_out_by_hand() {
    let folded = in_four_mm(&tray(104.0, 64.0, 42.0, 2.0));
    let room = folded
        .room
        .as_ref()
        .unwrap()
        .sizes
        .map(|s| (s.to_mm() * 1e6).round() / 1e6);
    assert_eq!(room, [100.0, 60.0, 40.0]);
    let bad = folded.findings.iter().find(|f| f.verdict == Verdict::Fail);
    assert!(bad.is_none(), "{bad:#?}");
    assert!(
        folded
            .findings
            .iter()
            .any(|f| f.code == "motion-not-checked")
    );
}

// With walls as long as the floor their ends run 2 mm into each other's board at every corner.
#[test]
fn walls_drawn_too_long_run_into_each_other() {
    let folded = in_four_mm(&tray(104.0, 64.0, 42.0, 0.0));
    let hits: Vec<_> = folded
        .findings
        .iter()
        .filter(|f| f.code == "board-in-board")
        .collect();
    assert_eq!(hits.len(), 4);
    assert!(
        hits.iter().all(|f| f.message.contains("driven 2 mm")),
        "{hits:#?}"
    );
}

#[test]
fn a_flap_cut_inside_a_panel_hangs_on_it() {
    let mut lines = tray(104.0, 64.0, 42.0, 2.0);
    let p = [[40.0, 20.0], [40.0, 44.0], [64.0, 44.0], [64.0, 20.0]];
    for i in 0..3 {
        lines.push(line("cut", p[i], p[i + 1]));
    }
    lines.push(line("crease-inward", p[0], p[3]));
    let folded = in_four_mm(&lines);
    let back = folded.blank.as_ref().unwrap();
    assert_eq!((back.panels.len(), back.creases.len()), (6, 5));
    assert!(folded.plan.is_some(), "{:#?}", folded.findings);
}

#[test]
fn a_window_is_a_cut_out_and_a_slit_stays_a_slit() {
    let mut lines = good();
    let whole = fold(&written(&lines)).unwrap().blank.unwrap();
    let root = &whole.panels[0];
    let c = root.place.point(root.outline.bounds().centre());
    let p =
        [[-20.0, -10.0], [20.0, -10.0], [20.0, 10.0], [-20.0, 10.0]].map(|q| c + DVec2::from(q));
    for i in 0..4 {
        lines.push(line("cut", p[i].into(), p[(i + 1) % 4].into()));
    }
    let s = c + DVec2::new(0.0, 25.0);
    lines.push(line("cut", s.into(), (s + DVec2::new(12.0, 0.0)).into()));
    let back = fold(&written(&lines)).unwrap().blank.unwrap();
    assert_eq!(back.panels.len(), 13);
    assert_eq!(back.panels.iter().map(|p| p.holes.len()).sum::<usize>(), 1);
    assert_eq!(back.slits.len(), whole.slits.len() + 1);
    let lost = whole.figures.area.to_mm2() - back.figures.area.to_mm2();
    assert!((lost - 800.0).abs() < 1e-6, "{lost}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    // Where the drawing lies and how it is turned changes nothing; nor does the order of its lines.
    #[test]
    fn a_turned_and_moved_file_folds_alike(turn in 0.0f64..std::f64::consts::TAU, x in -500.0f64..500.0, y in -500.0f64..500.0, by in 1usize..40) {
        let e = DVec2::from_angle(turn);
        let put = |p: DVec2| e.rotate(p) + DVec2::new(x, y);
        let mut lines: Vec<Line> = good().into_iter().map(|(l, s)| {
            (l, Segment { from: put(s.from), to: put(s.to), bulge: s.bulge })
        }).collect();
        let n = lines.len();
        lines.rotate_left(by % n);
        let folded = fold(&written(&lines)).unwrap();
        let back = folded.blank.as_ref().unwrap();
        prop_assert_eq!(back.panels.len(), 13);
        prop_assert!(folded.faults.iter().all(|f| f.verdict == Verdict::Pass), "{:?}", folded.faults);
        let plain = fold(&written(&good())).unwrap();
        let long = |f: &Folded| f.blank.as_ref().unwrap().figures.cut_length.to_mm();
        prop_assert!((long(&folded) - long(&plain)).abs() < 1e-3);
    }

    // Whatever bytes stand in the file, reading ends in a result or a message.
    #[test]
    fn spoilt_files_never_panic(at in 0usize..4000, put in "[ -~\n]{0,12}") {
        let mut text = written(&good());
        let from = at % text.len();
        let to = (from + put.len()).min(text.len());
        text.replace_range(from..to, &put);
        let _ = fold(&text);
    }
}

#[test]
fn creasing_by_hand_and_perforation_are_kept() {
    let plan = drawn("half-slotted");
    let blank: &Blank = &plan.blanks()[0];
    let mut brief = brief_in("C");
    brief.material.way = Creasing::Perforated;
    let text = Text {
        name: "drawn".into(),
        text: dxf(blank, &DxfOptions::default()),
    };
    let folded = flatfile::fold(&read(&text, None).unwrap(), &Wishes::default(), brief).unwrap();
    let back: &Arc<Blank> = folded.blank.as_ref().unwrap();
    assert!(back.figures.perforation_length.to_mm() > 100.0);
}
