//! The first article: figures from readings, how far they may be off, and the tolerance run.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_precision_loss,
    reason = "a test stops by panicking"
)]

use std::sync::Arc;

use boxwright::blank::{Creasing, SoundPlan};
use boxwright::board::{Board, Figure, Known, Measured, known_kerf, read_boards};
use boxwright::brief::{Brief, brief, equipped, measured_for};
use boxwright::check::{Verdict, check};
use boxwright::fold::Folder;
use boxwright::job::{Job, parse_job};
use boxwright::learn::{
    Case, Cause, Channel, Coupon, Gauge, Group, Readings, Scatter, Spread, TEST_STRIP, Unfit,
    blank_measurements, fit, learn, read_measurements, summary,
};
use boxwright::proof::Dice;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::parse_style;
use boxwright::units::Length;

/// What is true of a workshop.
#[derive(Clone, Copy)]
struct True {
    caliper: f64,
    depth: [f64; 2],
    kerf: f64,
    /// Standard deviations: of a thickness, of a width between or over walls, of where a crease lies
    /// against the other, of a gauge.
    noise: [f64; 4],
    step: f64,
}

fn normal(dice: &mut Dice) -> f64 {
    let far = (-2.0 * dice.between(1e-300, 1.0).ln()).sqrt();
    far * dice.between(0.0, std::f64::consts::TAU).cos()
}

/// What somebody there reads on so many strips.
fn read(of: True, count: usize, dice: &mut Dice) -> Readings {
    let [thick, width, apart, gauge] = of.noise;
    let shown = |v: f64| {
        if of.step > 0.0 {
            Length::mm((v / of.step).round() * of.step)
        } else {
            Length::mm(v)
        }
    };
    let drawn = 60.0;
    let channel = |p: f64, dice: &mut Dice| {
        let s = drawn + apart * normal(dice);
        Channel {
            drawn: Length::mm(drawn),
            inside: shown(s - 2.0 * p * of.caliper + width * normal(dice)),
            outside: Some(shown(
                s + 2.0 * (1.0 - p) * of.caliper + width * normal(dice),
            )),
        }
    };
    Readings {
        channels: of
            .depth
            .map(|p| (0..count).map(|_| channel(p, dice)).collect()),
        caliper: (0..2 * count)
            .map(|_| shown(of.caliper + thick * normal(dice)))
            .collect(),
        gauges: (0..count)
            .map(|_| Gauge {
                hole: shown(20.0 + of.kerf + gauge * normal(dice)),
                slug: shown(20.0 - of.kerf + gauge * normal(dice)),
            })
            .collect(),
        step: Length::mm(of.step),
    }
}

const SHOP: True = True {
    caliper: 4.07,
    depth: [0.55, 0.43],
    kerf: 0.17,
    noise: [0.05, 0.08, 0.15, 0.03],
    step: 0.01,
};

// Intervals are held against what is known to be true, which no formula of the fit sees: of 1,000
// simulated measurements the interval of each figure must hold the true value 930 to 970 times.
#[test]
fn intervals_hold_the_truth_ninety_five_times_in_a_hundred() {
    let shops = [
        SHOP,
        True {
            caliper: 1.6,
            depth: [0.0, 0.1],
            kerf: 0.12,
            noise: [0.03, 0.1, 0.2, 0.02],
            step: 0.01,
        },
        True {
            caliper: 7.0,
            depth: [0.9, 0.6],
            kerf: 0.3,
            noise: [0.2, 0.15, 0.3, 0.06],
            step: 0.02,
        },
    ];
    for (at, shop) in shops.into_iter().enumerate() {
        for count in [3, 5, 10] {
            let mut hits = [0; 4];
            for seed in 0..1000_u64 {
                let mut dice = Dice(Dice(seed * 4096 + at as u64 * 64 + count as u64).roll());
                let found = fit(&read(shop, count, &mut dice)).unwrap();
                let length = |f: Figure<Length>| (f.value.to_mm(), f.half.to_mm());
                let share = |f: Figure<f64>| (f.value, f.half);
                let figures = [
                    (length(found.caliper.unwrap()), shop.caliper),
                    (share(found.axis_depth[0].unwrap()), shop.depth[0]),
                    (share(found.axis_depth[1].unwrap()), shop.depth[1]),
                    (length(found.kerf.unwrap()), shop.kerf),
                ];
                for (n, ((value, half), truth)) in hits.iter_mut().zip(figures) {
                    *n += usize::from((value - truth).abs() <= half);
                }
            }
            println!("shop {at}, {count} strips: {hits:?} of 1000");
            for n in hits {
                assert!((930..=970).contains(&n), "shop {at}, {count}: {hits:?}");
            }
        }
    }
}

// With inside widths alone the depth leans on the thickness: the interval must still hold.
#[test]
fn intervals_hold_with_inside_widths_alone() {
    let mut hits = 0;
    let mut wider = 0;
    for seed in 0..1000_u64 {
        let mut dice = Dice(Dice(seed).roll());
        let mut shop = SHOP;
        shop.noise[0] = 0.4;
        let mut readings = read(shop, 5, &mut dice);
        let both = fit(&readings).unwrap().axis_depth[0].unwrap();
        for c in &mut readings.channels[0] {
            c.outside = None;
        }
        let found = fit(&readings).unwrap();
        assert_eq!(found.inside_only, [Group::Along]);
        let p = found.axis_depth[0].unwrap();
        hits += usize::from((p.value - shop.depth[0]).abs() <= p.half);
        wider += usize::from(p.half > both.half);
    }
    assert!((930..=975).contains(&hits), "{hits}");
    assert!(wider > 700, "{wider}");
}

// Where the step is far coarser than the spread all readings are the same. The interval is then that
// of the step, and errs on the safe side.
#[test]
fn a_coarse_step_leaves_an_interval() {
    let mut hits = 0;
    for seed in 0..1000_u64 {
        let mut dice = Dice(Dice(seed).roll());
        let caliper = dice.between(3.8, 4.3);
        let shop = True {
            caliper,
            noise: [0.002; 4],
            step: 0.1,
            ..SHOP
        };
        let t = fit(&read(shop, 5, &mut dice)).unwrap().caliper.unwrap();
        assert!(t.half.to_mm() > 0.05, "{t:?}");
        hits += usize::from((t.value.to_mm() - caliper).abs() <= t.half.to_mm());
    }
    assert!(hits >= 930, "{hits}");
}

#[test]
fn readings_without_noise_give_back_the_truth() {
    let exact = True {
        noise: [0.0; 4],
        step: 0.0,
        ..SHOP
    };
    let found = fit(&read(exact, 5, &mut Dice(1))).unwrap();
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    near(found.caliper.unwrap().value.to_mm(), 4.07);
    near(found.axis_depth[0].unwrap().value, 0.55);
    near(found.axis_depth[1].unwrap().value, 0.43);
    near(found.kerf.unwrap().value.to_mm(), 0.17);
    assert!(found.caliper.unwrap().half.to_mm() < 1e-12);
    assert!(found.apart.is_empty() && found.bulge.is_none());
}

// Fab Academy 2017, archive.fabacademy.org, kerf of 3 mm card, seen: hole 20.14, part 19.76 gives 0.19;
// hole 20.09, part 19.86 gives 0.115.
#[test]
fn a_published_kerf_is_found() {
    for (hole, slug, kerf) in [(20.14, 19.76, 0.19), (20.09, 19.86, 0.115)] {
        let gauge = Gauge {
            hole: Length::mm(hole),
            slug: Length::mm(slug),
        };
        let readings = Readings {
            gauges: vec![gauge; 2],
            step: Length::mm(0.01),
            ..Readings::default()
        };
        let found = fit(&readings).unwrap().kerf.unwrap();
        assert!((found.value.to_mm() - kerf).abs() < 1e-9, "{found:?}");
    }
}

// Worked by hand: t = 4.0, 4.2 (mean 4.1, variance of the mean 0.01); m - s = -0.41 +- 0.1 on both
// channels, so p = 0.5 + 0.41/8.2 = 0.55; dp/dm = -1/8.2, dp/dt = -0.41/(2 x 16.81).
#[test]
fn the_covariance_is_that_worked_out_by_hand() {
    let channel = |m: f64| Channel {
        drawn: Length::mm(60.0),
        inside: Length::mm(60.0 + m - 4.1),
        outside: Some(Length::mm(60.0 + m + 4.1)),
    };
    let readings = Readings {
        caliper: vec![Length::mm(4.0), Length::mm(4.2)],
        channels: [
            vec![channel(-0.31), channel(-0.51)],
            vec![channel(-0.31), channel(-0.51)],
        ],
        ..Readings::default()
    };
    let found = fit(&readings).unwrap();
    let c = found.covariance;
    let slope = -0.41 / (2.0 * 16.81);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    near(found.axis_depth[0].unwrap().value, 0.55);
    near(c[0][0], 0.01);
    near(c[0][1], 0.01 * slope);
    near(c[1][2], 0.01 * slope * slope);
    near(c[1][1], 0.01 / 8.2 / 8.2 + 0.01 * slope * slope);
    near(found.axis_depth[0].unwrap().error, c[1][1].sqrt());
    for (i, row) in c.iter().enumerate() {
        for (j, v) in row.iter().enumerate() {
            near(*v, c[j][i]);
        }
    }
}

#[test]
fn too_little_is_refused_or_wide() {
    let t = |v: &[f64]| v.iter().map(|v| Length::mm(*v)).collect::<Vec<_>>();
    let channel = Channel {
        drawn: Length::mm(60.0),
        inside: Length::mm(55.6),
        outside: Some(Length::mm(63.7)),
    };
    let mut r = Readings::default();
    assert_eq!(fit(&r), Err(Unfit::Nothing));
    r.caliper = t(&[4.0]);
    assert_eq!(fit(&r), Err(Unfit::One(Group::Caliper)));
    r.caliper = Vec::new();
    r.channels[0] = vec![channel; 3];
    assert_eq!(fit(&r), Err(Unfit::NoCaliper));
    r.caliper = t(&[4.0, 4.1]);
    let found = fit(&r).unwrap();
    assert_eq!(found.few, [(Group::Caliper, 2), (Group::Along, 3)]);
    // Two readings 0.1 apart: 12.706 x 0.05.
    let half = found.caliper.unwrap().half.to_mm();
    assert!((half - 12.706 * 0.05).abs() < 1e-4, "{half}");
    assert_eq!(found.axis_depth[1], None);
}

#[test]
fn a_reading_apart_is_named_and_kept() {
    let mut readings = read(SHOP, 5, &mut Dice(7));
    readings.caliper[3] = Length::mm(4.9);
    let found = fit(&readings).unwrap();
    let named: Vec<_> = found.apart.iter().map(|a| (a.group, a.index)).collect();
    assert_eq!(named, [(Group::Caliper, 3)]);
    assert_eq!(found.caliper.unwrap().count, 10);
    // Good readings are blamed seldom: one group in a hundred, by the limit's own measure.
    let blamed: usize = (0..500_u64)
        .map(|s| {
            let mut dice = Dice(Dice(s).roll());
            fit(&read(SHOP, 5, &mut dice)).unwrap().apart.len()
        })
        .sum();
    assert!(blamed < 40, "{blamed} of 2000 groups");
}

// Coupon and file.

/// The shipped boards, and the test strip beside the job.
struct Bench;

impl Door for Bench {
    fn style(&self, name: &str) -> Option<Text> {
        if name == "test-strip.kdl" {
            return Some(Text {
                name: name.into(),
                text: TEST_STRIP.into(),
            });
        }
        Shipped.style(name)
    }
    fn boards(&self) -> Vec<Text> {
        Shipped.boards()
    }
    fn style_names(&self) -> Vec<String> {
        Shipped.style_names()
    }
}

fn job(text: &str) -> Job {
    let text = Text {
        name: "job".into(),
        text: text.into(),
    };
    parse_job(&text).unwrap()
}

#[test]
fn every_strip_folds_on_every_board_with_its_creases_where_they_are_said_to_be() {
    for board in ["E", "B", "C", "A", "EB", "BC"] {
        for way in Creasing::ALL {
            let coupon = Coupon::new(board, Some("bench-laser"), way);
            for across in [false, true] {
                let brief = brief(job(&coupon.job(across)), &Bench).unwrap();
                let plan = brief.plan().unwrap().validated().unwrap();
                let report = check(&brief, &Folder::new(&plan));
                assert!(
                    report.verdict() <= Verdict::Caution,
                    "{board}: {:?}",
                    report.findings.first()
                );
                let blank = &plan.blanks()[0];
                assert_eq!(blank.creases.len(), 2);
                let middle = |i: usize| (blank.creases[i].from + blank.creases[i].to) / 2.0;
                let apart = middle(0).distance(middle(1));
                assert!((apart - 60.0).abs() < 1e-9, "{board}: {apart}");
                assert!(blank.creases.iter().all(|c| c.across_flutes == across));
                assert_eq!(blank.holes.len(), 1);
                assert_eq!(blank.creases[0].way, way);
            }
        }
    }
}

// The strips of a workshop, folded as thick board by the folder itself, read and entered: what comes
// out is what they were folded with.
#[test]
fn what_the_folder_folds_the_fit_finds() {
    let coupon = Coupon::new("C", None, Creasing::Rule);
    let mut readings = Readings {
        caliper: vec![Length::mm(4.07); 2],
        ..Readings::default()
    };
    for (way, across) in [false, true].into_iter().enumerate() {
        let brief = brief(job(&coupon.job(across)), &Bench).unwrap();
        let plan = brief.plan().unwrap().validated().unwrap();
        let made = plan.in_board(4.07 / 4.0, [0.55, 0.43]);
        let folder = Folder::new(&made);
        let slabs = folder.slabs(folder.last());
        // Least and greatest along the way the walls stand apart, of the inside faces and of the outside.
        let axis = if across { 0 } else { 1 };
        let faces = |z: f64| {
            let of = |s: &boxwright::fold::Slab| {
                let p = s
                    .frame
                    .transform_point3(boxwright::geom::DVec3::new(0.0, 0.0, z));
                p[axis]
            };
            let walls: Vec<f64> = slabs.iter().filter(|s| s.name != "floor").map(of).collect();
            assert_eq!(walls.len(), 2);
            Length::mm((walls[0] - walls[1]).abs())
        };
        let channel = Channel {
            drawn: Length::mm(60.0),
            inside: faces(0.0),
            outside: Some(faces(-4.07)),
        };
        readings.channels[way] = vec![channel; 2];
    }
    let found = fit(&readings).unwrap();
    let p = found.axis_depth.map(|p| p.unwrap().value);
    assert!(
        (p[0] - 0.55).abs() < 1e-9 && (p[1] - 0.43).abs() < 1e-9,
        "{p:?}"
    );
    assert_eq!(found.bulge, None);
}

fn board(name: &str) -> Board {
    read_boards(&Shipped.boards())
        .unwrap()
        .get(name)
        .unwrap()
        .clone()
}

fn measurements(text: &str) -> boxwright::diag::Outcome<boxwright::learn::Measurements> {
    read_measurements(&Text {
        name: "m.kdl".into(),
        text: text.into(),
    })
}

#[test]
fn the_template_is_read_and_says_that_it_is_empty() {
    let coupon = Coupon::new("C", Some("bench-laser"), Creasing::Rule);
    let m = measurements(&blank_measurements(&coupon)).unwrap();
    assert_eq!(m.empty, 10 + 4 * 5 + 2 * 10);
    assert_eq!((m.board.name.as_str(), m.way), ("C", Creasing::Rule));
    let refused = learn(&m, Some(&board("C"))).unwrap_err();
    assert_eq!(refused[0].code, "no-readings");
}

#[test]
fn spoilt_files_are_told_at_their_place() {
    let file = |body: &str| format!("measurements {{\n board \"C\"\n crease \"rule\"\n {body}\n}}");
    for (body, code, under) in [
        ("caliper \"-4mm\" \"4mm\"", "out-of-range", "-4mm"),
        ("caliper \"4.05\" \"4mm\"", "wrong-unit", "4.05"),
        ("caliper 4.05", "wrong-unit", "4.05"),
        ("caliper \"4mm + 3deg\"", "", "3deg"),
        ("calliper \"4mm\"", "unknown-word", "calliper"),
        (
            "channel \"along\" drawn=\"60mm\" inside=\"63mm\" outside=\"55mm\"",
            "not-larger",
            "55mm",
        ),
        (
            "channel \"sideways\" drawn=\"60mm\" inside=\"56mm\"",
            "unknown-word",
            "sideways",
        ),
        ("channel \"along\" inside=\"56mm\"", "missing", "channel"),
        (
            "gauge hole=\"19.8mm\" piece=\"20.1mm\"",
            "not-larger",
            "20.1mm",
        ),
        ("gauge hole=\"20.1mm\" piece=\"\"", "missing", ""),
        ("step \"0mm\"", "out-of-range", "0mm"),
        ("board \"B\"", "given-twice", "board"),
        ("caliper \"1e400mm\"", "", ""),
    ] {
        let text = file(body);
        let diags = measurements(&text).unwrap_err();
        let d = &diags[0];
        let place = d.place.clone().unwrap();
        let shown = &text[place.start..place.end];
        assert!(code.is_empty() || d.code == code, "{body}: {diags:?}");
        assert!(shown.contains(under), "{body}: `{shown}` {diags:?}");
    }
    assert_eq!(measurements("").unwrap_err()[0].code, "empty");
    assert_eq!(
        measurements("measurements { }").unwrap_err()[0].code,
        "missing"
    );
}

#[test]
fn inches_are_lengths_and_wild_readings_are_refused() {
    let c = board("C");
    let file = |body: &str| {
        measurements(&format!(
            "measurements {{\n board \"C\"\n crease \"rule\"\n {body}\n}}"
        ))
        .unwrap()
    };
    let t = learn(
        &file("caliper \"0.16in\" \"0.16in\" \"0.161in\" \"0.159in\""),
        Some(&c),
    )
    .unwrap();
    assert!((t.measured.caliper.unwrap().value.to_mm() - 4.064).abs() < 1e-9);
    for body in [
        "caliper \"0.16mm\" \"0.16mm\"",
        "caliper \"4mm\" \"40mm\"",
        "caliper \"6mm\" \"6.1mm\"",
        "caliper \"4mm\" \"4.1mm\"\n channel \"along\" drawn=\"60mm\" inside=\"5.6mm\" outside=\"63mm\"",
        "caliper \"4mm\" \"4.1mm\"\n channel \"along\" drawn=\"60mm\" inside=\"66mm\" outside=\"74mm\"\n channel \"along\" drawn=\"60mm\" inside=\"66.1mm\" outside=\"74.1mm\"",
        "gauge hole=\"30mm\" piece=\"20mm\"",
    ] {
        let refused = learn(&file(body), Some(&c)).unwrap_err();
        assert_eq!(refused[0].code, "implausible", "{body}: {refused:?}");
        assert!(refused[0].place.is_some());
    }
}

// Used from then on.

fn measured(board: &str, way: Creasing, t: f64, p: [f64; 2]) -> Measured {
    let length = |v: f64| Figure {
        value: Length::mm(v),
        half: Length::mm(0.03),
        error: Length::mm(0.015),
        spread: Length::mm(0.05),
        count: 10,
    };
    let share = |value: f64| Figure {
        value,
        half: 0.02,
        error: 0.01,
        spread: 0.02,
        count: 5,
    };
    Measured {
        board: board.into(),
        machine: Some("bench-laser".into()),
        way,
        caliper: Some(length(t)),
        along: Some(share(p[0])),
        across: Some(share(p[1])),
        kerf: Some(length(0.17)),
        when: String::new(),
        note: String::new(),
    }
}

fn mantel_clock(own: &str, measured: Vec<Measured>) -> (Brief, SoundPlan) {
    let mut job = job(&format!(
        "job \"mantel clock\" {{\n style \"slotted-case\"\n inside length=\"342mm\" width=\"178mm\" \
         depth=\"266mm\"\n board \"C\"\n {own}\n}}"
    ));
    job.measured = measured;
    let brief = brief(job, &Shipped).unwrap();
    let plan = brief.plan().unwrap().validated().unwrap();
    (brief, plan)
}

// The second wall of a slotted case lies between two right-angle creases along the flutes: it is drawn
// width + 2 p t wide.
#[test]
fn measured_figures_change_the_blank_by_the_right_amount() {
    let reach = |plan: &SoundPlan| {
        let b = &plan.blanks()[0];
        let wall = b.panels.iter().find(|p| p.name == "side-1").unwrap();
        wall.reach.to_mm()
    };
    let (_, plain) = mantel_clock("", Vec::new());
    assert!((reach(&plain) - (178.0 + 2.0 * 0.6 * 4.0)).abs() < 1e-9);
    let all = vec![measured("C", Creasing::Rule, 4.3, [0.5, 0.45])];
    let (brief, known) = mantel_clock("", all.clone());
    assert!((reach(&known) - (178.0 + 2.0 * 0.5 * 4.3)).abs() < 1e-9);
    assert!(measured_for(&brief.job).caliper.is_some());
    // What the job states itself stands.
    let (brief, own) = mantel_clock("caliper \"4mm\"\n crease \"rule\" depth=0.6", all.clone());
    assert!((reach(&own) - reach(&plain)).abs() < 1e-9);
    assert!(measured_for(&brief.job).is_empty());
    // Another way of creasing has its own depths; the thickness is the board's.
    let (brief, other) = mantel_clock("crease \"hand\"", all.clone());
    assert_eq!(brief.material.axis_depth, [0.0, 0.0]);
    assert!((other.material.caliper.to_mm() - 4.3).abs() < 1e-9);
    // Another board is another board, and the latest counts.
    let newer = measured("C", Creasing::Rule, 4.1, [0.5, 0.45]);
    let of_b = measured("B", Creasing::Rule, 3.3, [0.1, 0.1]);
    let known = Known::of(&[of_b, newer, all[0].clone()], "C", Creasing::Rule);
    assert!((known.caliper.unwrap().value.to_mm() - 4.1).abs() < 1e-9);
    assert_eq!(known_kerf(&all, "C", "knife-table"), None);
    assert!(known_kerf(&all, "C", "bench-laser").is_some());
}

// Tolerance run.

fn run(spread: &Spread<'_>, cases: u64) -> Vec<Case> {
    (0..cases).map(|n| spread.case(n)).collect()
}

fn scatter(brief: &Brief, caliper: f64, depth: f64, crease: f64, cut: f64) -> Scatter {
    Scatter {
        caliper: Length::mm(caliper),
        axis_depth: [depth; 2],
        crease: Length::mm(crease),
        cut: Length::mm(cut),
        ..Scatter::usual(brief)
    }
}

const TRAY: &str = "job \"dial tray\" {\n style \"TRAY\"\n inside length=\"280mm\" width=\"180mm\" \
    depth=\"60mm\"\n board \"C\"\n}";

/// A tray of one floor and four walls, all creases drawn with p = 0.6.
fn tray() -> (Brief, SoundPlan) {
    let style = parse_style(
        &Text {
            name: "tray.kdl".into(),
            text: "style \"open-tray\" {\n title \"Open tray\"\n purpose \"for a test\"\n piece \"tray\" \
                   flutes=\"left-right\" {\n panel \"floor\" breadth=\"length\" reach=\"width\" {\n panel \
                   \"left\" on=\"left\" reach=\"depth\"\n panel \"right\" on=\"right\" reach=\"depth\"\n \
                   panel \"front\" on=\"near\" reach=\"depth\"\n panel \"back\" on=\"far\" \
                   reach=\"depth\"\n }\n }\n room on=\"floor\" breadth=\"length\" reach=\"width\" \
                   rise=\"depth\"\n stage \"Fold\" \"Fold the walls up.\" {\n turn \"left\" \"right\" \
                   \"front\" \"back\"\n }\n}"
                .into(),
        },
        &Shipped,
    )
    .unwrap();
    let brief = equipped(job(TRAY), Arc::new(style), board("C"));
    let plan = brief.plan().unwrap().validated().unwrap();
    (brief, plan)
}

// Two creases of a tray take 2 p t of the floor. So the length there is more than asked differs by
// 2 p (t - t') + two strays: standard deviation sqrt((2 x 0.6 x 0.16)2 + 2 x 0.32), worked by hand.
// Half of the cases hold each of length and width. With creases alone none holds all: what a wall
// goes outward it lacks in height.
#[test]
fn cases_differ_as_worked_out_by_hand() {
    let (brief, plan) = tray();
    let none = Spread::new(&brief, &plan, scatter(&brief, 0.0, 0.0, 0.0, 0.0), 1);
    assert!(
        none.case(5).more.iter().all(|m| m.abs() < 1e-6),
        "{:?}",
        none.case(5)
    );
    assert!(none.fails_as_drawn().is_empty());
    for (t, p, c, expected) in [
        (0.16, 0.0, 0.0, 2.0 * 0.6 * 0.16),
        (0.0, 0.05, 0.0, 2.0 * 4.0 * 0.05),
        (0.0, 0.0, 0.3, 0.3 * std::f64::consts::SQRT_2),
        (0.16, 0.0, 0.3, (0.192_f64.powi(2) + 2.0 * 0.09).sqrt()),
    ] {
        let spread = Spread::new(&brief, &plan, scatter(&brief, t, p, c, 0.0), 1);
        let cases = run(&spread, 4000);
        let alone = Cause::ALL.map(|c| run(&spread.only(c), 400));
        let s = summary(&cases, &alone, Length::ZERO);
        let found = s.deviation[0].to_mm();
        // Of 4000 the deviation is off by 1.1 %, thrice that is wide.
        assert!(
            (found / expected - 1.0).abs() < 0.04,
            "{t} {p} {c}: {found} {expected}"
        );
        assert!(s.mean[0].to_mm().abs() < 0.07 * expected, "{:?}", s.mean);
        let add = s.clearance[0].add[0].to_mm();
        // 95 % of one direction alone would need 1.645 deviations; of two or three a little more.
        assert!(
            add > 1.5 * expected && add < 3.0 * expected,
            "{add} {expected}"
        );
        let held = cases.iter().filter(|c| c.lacks() <= 0.0).count();
        assert!(s.holds.share <= 0.55 && s.holds.cases >= held);
        let [low, high] = s.holds.between;
        assert!(low <= s.holds.share && s.holds.share < high);
    }
}

#[test]
fn the_chief_cause_is_named_and_added_clearance_holds() {
    let (brief, plan) = tray();
    let spread = Spread::new(&brief, &plan, scatter(&brief, 0.05, 0.01, 0.6, 0.01), 3);
    let alone = Cause::ALL.map(|c| run(&spread.only(c), 500));
    let s = summary(&run(&spread, 3000), &alone, Length::ZERO);
    assert_eq!(s.causes[0].0, Cause::Crease);
    assert!(s.causes[0].1 > 0.9 && s.causes.iter().map(|c| c.1).sum::<f64>() < 1.0 + 1e-9);
    // Ask for that much more, and see with lots that were not used to find it.
    for c in s.clearance {
        let mut wider = brief.clone();
        for (size, add) in wider.job.inside.iter_mut().zip(c.add) {
            *size += add;
        }
        let plan = wider.plan().unwrap().validated().unwrap();
        let again = Spread::new(&wider, &plan, spread.scatter().clone(), 99);
        let holds = |k: &Case| (0..3).all(|i| k.more[i] + c.add[i].to_mm() >= -1e-6);
        let n = run(&again, 3000).iter().filter(|k| holds(k)).count();
        let share = n as f64 / 3000.0;
        assert!((share - c.share).abs() < 0.015, "{share} for {}", c.share);
    }
}

// Board lost at every edge makes walls lower: the open tray loses as much of its depth.
#[test]
fn cuts_move_edges() {
    let (brief, plan) = tray();
    let made = plan.in_board(1.0, [0.0; 2]);
    let off = boxwright::fold::Off {
        cut: 0.25,
        creases: Vec::new(),
    };
    let found =
        boxwright::check::check_resting(&brief, &Folder::made(&made, &Folder::new(&plan), off));
    assert!(
        (found.room[2].to_mm() - 59.75).abs() < 1e-9,
        "{:?}",
        found.room
    );
    assert!((found.room[0].to_mm() - 280.0).abs() < 1e-9);
}

#[test]
fn the_same_seed_gives_the_same_cases() {
    let (brief, plan) = mantel_clock("", Vec::new());
    let spread = Spread::new(&brief, &plan, Scatter::usual(&brief), 20);
    assert_eq!(spread.case(17), spread.case(17));
    assert_ne!(spread.case(17), spread.case(18));
    let other = Spread::new(&brief, &plan, Scatter::usual(&brief), 21);
    assert_ne!(spread.case(17), other.case(17));
}
