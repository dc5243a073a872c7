//! Strength, stacking, grades, parcels and lifting against published figures, each with its source and
//! its standing: seen in the publication named, or from memory, or derived.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "helpers of a test; the lint knows only functions marked as tests"
)]

mod common;

use boxwright::brief::Brief;
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::ship::compression::{
    self, Choice, Compression, Form, LYING_SHARE, Standing, ect_for, expected_stiffness, full,
    power, simple, simple_with, weighted,
};
use boxwright::ship::grade::{Grades, Layers, read_grades};
use boxwright::ship::lift::{self, Grip, Hold, Hours, Lift, Task};
use boxwright::ship::losses::{Found, Losses, read_losses};
use boxwright::ship::parcel::{Divisor, Limit, Rounding, Tariff, divisor, read_parcels};
use boxwright::ship::stack::{
    Assurance, Bearing, Place, Rule, cfr, cfr_pounds, d4169_factor, d4169_vehicle, d4169_warehouse,
    gb_factor, load, safe_high,
};
use boxwright::ship::{
    Conditions, Outlook, Outside, Pattern, Range, Surroundings, contents_mass, outlook, pick,
    proportions,
};
use boxwright::source::{Door, Shipped, Text};
use boxwright::units::{
    Angle, FlexuralStiffness, Force, ForcePerLength, Length, Mass, Pressure, Volume,
};
use common::{Ask, Dice, board, outside, same, shipped};

const LBF_PER_IN: f64 = 0.175_126_835_246_476_6;

fn ect(n_per_mm: f64) -> ForcePerLength {
    ForcePerLength::n_per_mm(n_per_mm)
}

fn mm(v: f64) -> Length {
    Length::mm(v)
}

fn text(name: &str, text: &str) -> Text {
    Text {
        name: name.into(),
        text: text.into(),
    }
}

fn losses(name: &str) -> Losses {
    let all = read_losses(&Shipped.table("losses").unwrap()).unwrap_or_else(|d| panic!("{d:#?}"));
    pick(&all, Some(name), |t| &t.name).unwrap().clone()
}

fn grades(name: &str) -> Grades {
    let all = read_grades(&Shipped.table("grades").unwrap()).unwrap_or_else(|d| panic!("{d:#?}"));
    pick(&all, Some(name), |t| &t.name).unwrap().clone()
}

fn tariff(name: &str) -> Tariff {
    let all = read_parcels(&Shipped.table("parcels").unwrap()).unwrap_or_else(|d| panic!("{d:#?}"));
    pick(&all, Some(name), |t| &t.name).unwrap().clone()
}

fn usual() -> Conditions {
    Conditions::usual(&Shipped).unwrap_or_else(|d| panic!("{d:#?}"))
}

fn with<T>(ask: &Ask, run: impl FnOnce(&Brief, &Folder<'_>) -> T) -> T {
    let brief = ask.brief().unwrap();
    let plan = ask.sound();
    run(&brief, &Folder::new(&plan))
}

fn strength(ask: &Ask, choice: &Choice) -> Compression {
    with(ask, |b, f| Compression::of(b, f, choice))
}

fn seen(ask: &Ask, kg: f64, on: &Conditions) -> Outlook {
    with(ask, |b, f| outlook(b, f, Mass::kg(kg), on))
}

/// The mantel clock's case.
fn clock() -> Ask {
    Ask::new(&shipped("slotted-case"), &board("C"), [342.0, 178.0, 266.0])
}

// ECT 35 kN/m, perimeter 2.0 m, caliper 5 mm: 20.545 kN, 2095 kgf. Seen: Como calcular el ECT de una
// caja de corrugado, converpack.com.ar.
#[test]
fn the_simple_form_gives_the_worked_example() {
    let f = simple(ect(35.0), mm(5.0), mm(2000.0));
    assert!((f.to_n() / 20_545.0 - 1.0).abs() < 1e-3, "{f:?}");
    same("in kgf", f.to_mass().to_kg(), 2095.0, 0.5);
    // The inverse; m.qiqiwenku.com/doc/651049.html (seen) turns the formula round the same way.
    let back = ect_for(Force::n(20_545.0), mm(5.0), mm(2000.0));
    assert!((back.to_n_per_mm() / 35.0 - 1.0).abs() < 1e-3, "{back:?}");
}

// 32 lbf/in, 0.157 in, 56 in: 556.97 lbf, in SI 2477.5 N. Derived; the page's 3.988 mm is rounded.
#[test]
fn the_constants_are_plain_numbers() {
    let metric = simple(
        ect(32.0 * LBF_PER_IN),
        Length::inch(0.157),
        Length::inch(56.0),
    );
    same("N", metric.to_n(), 2477.5, 0.3);
    same("lbf", metric.to_n() / 4.448_221_615_260_5, 556.97, 0.06);
    let inch = 5.87 * 32.0 * (0.157f64 * 56.0).sqrt();
    same(
        "same in inches",
        metric.to_n() / 4.448_221_615_260_5,
        inch,
        inch * 1e-9,
    );
    // 32 lbf/in is 5.604 kN/m. Derived from the definitions of pound and inch.
    same("32 ECT", 32.0 * LBF_PER_IN, 5.604, 0.001);
    // Pages print 5.87, 5.874 and 5.876 (seen at testresources.net); none is 0.2 % from another.
    let [a, b] = [5.87, 5.876].map(|k| simple_with(k, ect(5.0), mm(4.0), mm(1400.0)));
    assert!((b / a - 1.0).abs() < 0.002);
}

// 32 ECT, 400 x 300 mm, t 4 mm: 2461.7 N and 2350.6 N; 44 ECT: 3384.8 N. Derived; constants memory.
#[test]
fn two_forms_differ_as_they_should() {
    let z = mm(1400.0);
    same(
        "root",
        simple(ect(32.0 * LBF_PER_IN), mm(4.0), z).to_n(),
        2461.7,
        2.4,
    );
    same(
        "power",
        power(ect(32.0 * LBF_PER_IN), mm(4.0), z).to_n(),
        2350.6,
        2.3,
    );
    same(
        "44 ECT",
        simple(ect(44.0 * LBF_PER_IN), mm(4.0), z).to_n(),
        3384.8,
        3.3,
    );
    // The simple form is higher by (Z/h)^0.008, but for 5.87 and 5.874: 4.7 % at Z/h = 350 (derived).
    let ratio = simple(ect(5.0), mm(4.0), z) / power(ect(5.0), mm(4.0), z);
    same("ratio", ratio * 5.874 / 5.87, 350.0f64.powf(0.008), 1e-9);
    same("percent", ratio, 1.047, 0.001);
}

// 5600 N/m, 15 and 6 N m, 1.4 m: 2650.3 N, in metres and in millimetres. Formula from memory.
#[test]
fn the_full_form_is_the_same_in_metres_and_millimetres() {
    let d = [15_000.0, 6000.0].map(FlexuralStiffness::n_mm);
    let f = full(ect(5.6), d, mm(1400.0)).to_n();
    assert!((f / 2650.3 - 1.0).abs() < 1e-3, "{f}");
    let metres = 2.028 * 5600f64.powf(0.746) * 90f64.sqrt().powf(0.254) * 1.4f64.powf(0.492);
    same("metres", f, metres, 1e-6);
    // With the stiffness to expect, it says what the power form says: 66.1 published (memory) against
    // 65.8 (derived), to the power 0.254.
    let d = expected_stiffness(ect(5.6), mm(4.0));
    let both = full(ect(5.6), [d, d], mm(1400.0)) / power(ect(5.6), mm(4.0), mm(1400.0));
    same("link", both, 1.0, 0.002);
}

// (400 x 2 x 9.96 + 500 x 2 x 12.21) / 1800 = 11.21 kgf/cm. Seen: ABPO, Revista O Papel,
// yumpu.com/pt/document/view/34042439.
#[test]
fn walls_with_other_flutes_count_with_their_lengths() {
    let kgf_per_cm = |v: f64| ect(v * 0.980_665);
    let both = weighted(&[
        (mm(800.0), kgf_per_cm(9.96)),
        (mm(1000.0), kgf_per_cm(12.21)),
    ]);
    same("ECT", both.to_n_per_mm() / 0.980_665, 11.21, 0.005);
    assert_eq!(weighted(&[]), ForcePerLength::ZERO);
}

// Height to perimeter has to exceed 1 : 7. Seen: Edge crush test, wikiwand.com/en/articles/Edge_crush_test.
#[test]
fn cases_beyond_the_formula_are_told() {
    let codes = |ask: &Ask| -> Vec<&str> {
        let c = strength(ask, &Choice::default());
        assert_eq!(
            c.standing == Standing::Within,
            c.cautions.iter().all(|c| c.code == "default-ect")
        );
        c.cautions.iter().map(|c| c.code).collect()
    };
    let at = |l, w, d| Ask::new(&shipped("slotted-case"), &board("C"), [l, w, d]);
    assert_eq!(codes(&at(400.0, 300.0, 300.0)), ["default-ect"]);
    assert_eq!(
        codes(&at(400.0, 300.0, 195.0)),
        ["low-for-formula", "default-ect"]
    );
    let near = codes(&at(400.0, 300.0, 205.0));
    assert!(!near.contains(&"low-for-formula"), "{near:?}");
    assert!(codes(&at(400.0, 120.0, 200.0)).contains(&"slender"));
    assert!(codes(&at(200.0, 150.0, 120.0)).contains(&"shallow"));
    assert!(!codes(&at(200.0, 150.0, 121.0)).contains(&"shallow"));
    let bc = Ask::new(
        &shipped("slotted-case"),
        &board("BC"),
        [400.0, 300.0, 300.0],
    );
    assert!(codes(&bc).contains(&"double-wall"));
    let tray = Ask::new(&shipped("glued-tray"), &board("C"), [400.0, 300.0, 200.0]);
    let tray = codes(&tray);
    assert!(
        tray.contains(&"not-slotted") && tray.contains(&"lying-flutes"),
        "{tray:?}"
    );
}

#[test]
fn flutes_of_each_wall_are_those_of_the_folded_case() {
    let c = strength(&clock(), &Choice::default());
    assert_eq!(c.sides.len(), 4);
    for s in &c.sides {
        same("standing", s.standing, 1.0, 1e-6);
        same("open", s.open(), 0.0, 1e-6);
    }
    same("ECT", c.ect.to_n_per_mm(), c.board_ect.to_n_per_mm(), 1e-9);
    // Perimeter through the middle of the walls: inside + t each way (derived).
    same(
        "perimeter",
        c.perimeter.to_mm(),
        2.0 * (342.0 + 178.0 + 8.0),
        4.0,
    );
    // A tray is folded up from its base: flutes stand in the walls along one direction and lie in the
    // others, but for the corner tabs glued behind those.
    let tray = Ask::new(&shipped("glued-tray"), &board("C"), [400.0, 300.0, 200.0]);
    let c = strength(&tray, &Choice::default());
    let standing: Vec<bool> = c.sides.iter().map(|s| s.standing > 0.9).collect();
    let lying: Vec<bool> = c.sides.iter().map(|s| s.lying > 0.8).collect();
    assert_eq!(standing[0], standing[1]);
    assert_eq!(standing[2], standing[3]);
    assert_ne!(standing[0], standing[2]);
    assert!(
        standing.iter().zip(&lying).all(|(a, b)| a != b),
        "{:?}",
        c.sides
    );
    // The user's share of a lying wall counts.
    let none = Choice {
        lying_share: Some(0.0),
        ..Choice::default()
    };
    let all = Choice {
        lying_share: Some(1.0),
        ..Choice::default()
    };
    let [none, all] = [none, all].map(|ch| strength(&tray, &ch));
    let share = c
        .sides
        .iter()
        .map(|s| s.length * s.standing)
        .sum::<Length>()
        / c.perimeter;
    same("none", none.ect / all.ect, share, 1e-9);
    same(
        "half",
        c.ect / all.ect,
        share + (1.0 - share) * LYING_SHARE,
        1e-9,
    );
}

#[test]
fn every_shipped_style_gets_a_figure() {
    for name in Shipped.style_names() {
        let style = shipped(&name);
        if style.is_fitment() {
            continue;
        }
        let ask = Ask::new(&style, &board("C"), [400.0, 300.0, 200.0]);
        let Ok(plan) = ask.brief().and_then(|b| b.plan()) else {
            continue;
        };
        assert!(plan.validated().is_ok(), "{name}");
        let c = strength(&ask, &Choice::default());
        for s in &c.sides {
            assert!(
                (0.0..=1.0 + 1e-9).contains(&(s.standing + s.lying)),
                "{name}: {s:?}"
            );
        }
        assert!(
            c.range.least <= c.figure && c.figure <= c.range.most,
            "{name}"
        );
        let slotted = style.suits.as_ref().is_some_and(|s| s.family == "slotted");
        if slotted && name != "half-slotted" {
            let open: f64 = c.sides.iter().map(|s| s.open()).sum();
            assert!(open < 0.05, "{name}: {:?}", c.sides);
        }
    }
}

#[test]
fn strength_is_a_range_with_reasons() {
    let c = strength(&clock(), &Choice::default());
    assert_eq!(c.form, Form::Simple);
    assert_eq!(c.forms.len(), 3);
    assert!(!c.stiffness_given);
    // Edge crush 5 % under (DIN 55468-1, seen), model error 6 % (memory), and the power form.
    let spread = c
        .forms
        .iter()
        .map(|(_, f)| *f / c.figure)
        .fold(1.0, f64::min);
    same(
        "least",
        c.range.least / c.figure,
        0.95 * 0.94 * spread,
        1e-9,
    );
    same("most", c.range.most / c.figure, 1.06, 1e-9);
    assert!(c.spread.iter().all(|s| s.from.contains(':')));
    // One form alone has no spread between forms, and is that form.
    for form in Form::ALL {
        let one = Choice {
            form: Some(form),
            ..Choice::default()
        };
        let one = strength(&clock(), &one);
        assert_eq!((one.form, one.spread.len(), one.forms.len()), (form, 2, 1));
        same("least", one.range.least / one.figure, 0.95 * 0.94, 1e-9);
        assert_eq!(Form::of_word(form.word()), Some(form));
    }
    // Board with that much edge crush does reach the strength.
    for choice in [
        Choice::default(),
        Choice {
            form: Some(Form::Full),
            stiffness: Some([15_000.0, 6000.0].map(FlexuralStiffness::n_mm)),
            lying_share: None,
        },
    ] {
        let c = strength(&clock(), &choice);
        let asked = c.range.least * 1.7;
        let mut better = clock();
        better.board.ect = c.board_ect_for(asked).unwrap();
        let c = strength(&better, &choice);
        same("reached", c.range.least / asked, 1.0, 1e-9);
    }
}

#[test]
fn outside_is_that_of_the_folded_solid() {
    for (style, b, size) in [
        ("slotted-case", "C", [342.0, 178.0, 266.0]),
        ("tray-with-lid", "BC", [216.0, 132.0, 68.0]),
        ("mailer", "E", [284.0, 284.0, 22.0]),
        ("full-overlap", "BC", [270.0, 270.0, 385.0]),
    ] {
        let ask = Ask::new(&shipped(style), &board(b), size);
        let plan = ask.sound();
        let o = with(&ask, |_, f| Outside::of(f, Mass::kg(4.1)));
        let [l, w, d] = outside(&plan);
        assert_eq!(o.size.map(Length::to_mm), [l, w, d], "{style}");
        let area: f64 = plan.pieces.iter().map(|p| p.figures.area.to_m2()).sum();
        let kg = area * ask.board.grammage().to_g_per_m2() / 1000.0;
        same("mass", o.case.to_kg(), kg, 1e-9);
        same("gross", o.gross().to_kg(), kg + 4.1, 1e-9);
        same("united", o.united().to_mm(), l + w + d, 1e-9);
    }
    // Outside = inside + 2t, and 4t up: homesteady.com/how-10063949 (seen), with creases at mid-board.
    let ask = Ask::new(&shipped("slotted-case"), &board("C"), [355.6, 304.8, 406.4])
        .p(0.5)
        .caliper(3.175);
    let o = with(&ask, |_, f| Outside::of(f, Mass::ZERO));
    for (found, inch) in o.size.iter().zip([14.25, 12.25, 16.5]) {
        same("outside", found.to_inch(), inch, 0.1);
    }
}

// GB 6543-86, annex G (seen, m.bjjiewa.com/Article-104682.html): 3.5 kgf, 16 layers, K 2: 105 kgf.
#[test]
fn stacks_of_the_chinese_standard() {
    let asked = load(Mass::kg(3.5), 16, Mass::ZERO) * gb_factor(101.0);
    same("kgf", asked.to_mass().to_kg(), 105.0, 1e-9);
    let k = [29.0, 29.9, 30.0, 60.0, 100.0, 101.0].map(gb_factor);
    assert_eq!(k, [1.6, 1.6, 1.65, 1.65, 1.65, 2.0]);
    let free = Range {
        least: 1.0,
        most: 1.0,
    };
    assert_eq!(
        Rule::GbSea.times(10.0, free),
        Range {
            least: 3.0,
            most: 5.0
        }
    );
}

// 49 CFR 178.606 (seen): 20 kg, 0.30 m: n 10, 594 lb.
#[test]
fn stacks_of_the_transport_law() {
    same(
        "lb",
        cfr_pounds(Mass::kg(20.0), mm(300.0)).unwrap(),
        594.0,
        1e-9,
    );
    let (n, force) = cfr(Mass::kg(20.0), mm(300.0)).unwrap();
    assert_eq!(n, 10);
    same("kg", force.to_mass().to_kg(), 9.0 * 20.0 * 1.5, 1e-9);
    assert_eq!(cfr(Mass::kg(20.0), mm(299.0)).unwrap().0, 11);
    assert_eq!(cfr(Mass::kg(20.0), mm(3500.0)).unwrap(), (1, Force::ZERO));
}

// ASTM D4169: load = mass g (H - h)/h F; factors from memory.
#[test]
fn stacks_of_the_distribution_test() {
    let f = |p, b| [Assurance::I, Assurance::II, Assurance::III].map(|l| d4169_factor(p, b, l));
    assert_eq!(f(Place::Warehouse, Bearing::Case), [8.0, 4.5, 3.0]);
    assert_eq!(f(Place::Vehicle, Bearing::Case), [10.0, 7.0, 5.0]);
    assert_eq!(f(Place::Warehouse, Bearing::Contents), [3.0, 2.0, 1.5]);
    let w = d4169_warehouse(Mass::kg(10.0), mm(300.0), mm(1800.0), 4.5);
    same("warehouse", w.to_n(), 10.0 * 9.806_65 * 5.0 * 4.5, 1e-9);
    assert_eq!(
        d4169_warehouse(Mass::kg(10.0), mm(300.0), mm(200.0), 4.5),
        Force::ZERO
    );
    // 10 lb/ft3 on one cubic foot, 108 in high: 10 lb x 8 x 7 = 560 lb.
    let foot = [Length::inch(12.0); 3];
    let density = Mass::lb(10.0).to_kg() / Volume::block(foot).to_m3();
    let v = d4169_vehicle(foot, density, Length::inch(108.0), 7.0);
    same("vehicle", v.to_mass().to_lb(), 560.0, 1e-9);
}

// Fibre Box Handbook multipliers (memory): 180 d 0.50, 80 % 0.68, interlocked 0.60 at best, overhang 0.80
// at best: 0.1632, so 6.127 times. 10 kg, 6 high: 490.3 N, and 3004 N are needed (derived).
#[test]
fn losses_of_the_handbook() {
    let s = Surroundings {
        days: 180.0,
        humidity: 0.8,
        pattern: Pattern::Interlocked,
        overhang: true,
        ..Surroundings::default()
    };
    let (factors, cautions) = losses("handbook").factors(&s);
    assert_eq!(cautions, []);
    assert!(
        factors
            .iter()
            .all(|f| f.found == Found::Listed && f.from.starts_with("memory: "))
    );
    let kept = boxwright::ship::losses::kept(&factors);
    same("kept", kept.most, 0.1632, 1e-9);
    same("worst", kept.least, 0.5 * 0.68 * 0.4 * 0.6, 1e-9);
    same("times", Rule::Losses.times(180.0, kept).least, 6.127, 0.001);
    let pressing = load(Mass::kg(10.0), 6, Mass::ZERO);
    same("load", pressing.to_n(), 490.3, 0.05);
    same("needed", pressing.to_n() / kept.most, 3004.0, 1.0);
}

// Slides on ASTM D4169 (seen, studylib.net/doc/25241651): 60 d 43 %, 180 d 50 % lost; 50 % air 20 %.
#[test]
fn losses_of_the_committee() {
    let t = losses("committee");
    let lost = |days: f64, humidity: f64| {
        let s = Surroundings {
            days,
            humidity,
            ..Surroundings::default()
        };
        let (f, _) = t.factors(&s);
        let of = |what: &str| 1.0 - f.iter().find(|f| f.what == what).unwrap().best;
        (of("time"), of("humidity"))
    };
    same("60 d", lost(60.0, 0.5).0, 0.43, 1e-12);
    same("180 d", lost(180.0, 0.5).0, 0.50, 1e-12);
    same("10 d", lost(10.0, 0.5).0, 0.37, 1e-12);
    same("90 d", lost(90.0, 0.5).0, 0.48, 1e-12);
    same("50 %", lost(60.0, 0.5).1, 0.20, 1e-12);
    same("90 %", lost(60.0, 0.9).1, 0.60, 1e-12);
}

#[test]
fn what_a_table_does_not_list_follows_the_stated_rules() {
    let t = losses("handbook");
    let at = |days: f64, humidity: f64| {
        let s = Surroundings {
            days,
            humidity,
            ..Surroundings::default()
        };
        t.factors(&s)
    };
    let time = |days| {
        at(days, 0.5)
            .0
            .iter()
            .find(|f| f.what == "time")
            .map(|f| (f.best, f.found))
    };
    assert_eq!(time(0.0), None);
    assert_eq!(time(3.0), Some((0.63, Found::Before)));
    assert_eq!(time(365.0), Some((0.50, Found::Past)));
    assert!(at(365.0, 0.5).1.iter().any(|c| c.code == "past-table"));
    // Half way between 30 and 90 d along the logarithm is 30 x sqrt(3) d.
    let (keeps, found) = time(30.0 * 3f64.sqrt()).unwrap();
    assert_eq!(found, Found::Between);
    same("between", keeps, 0.575, 1e-9);
    let air = at(30.0, 0.75).0[1].best;
    same("air", air, 0.74, 1e-9);
    // What a table says nothing of is told, not passed over.
    let (factors, cautions) = losses("leaflet").factors(&Surroundings {
        deck_gap: true,
        ..Surroundings::default()
    });
    assert_eq!(factors.len(), 1);
    assert_eq!(
        cautions.iter().filter(|c| c.code == "not-in-table").count(),
        3
    );
    // More days and more air never leave more.
    for name in ["handbook", "committee"] {
        let t = losses(name);
        let mut dice = Dice(7);
        for _ in 0..2000 {
            let s = Surroundings {
                days: dice.between(0.0, 400.0),
                humidity: dice.between(0.0, 1.0),
                ..Surroundings::default()
            };
            let more = Surroundings {
                days: s.days * dice.between(1.0, 2.0),
                humidity: (s.humidity * dice.between(1.0, 1.5)).min(1.0),
                ..s
            };
            let kept = |s| boxwright::ship::losses::kept(&t.factors(s).0);
            assert!(
                kept(&more).least <= kept(&s).least + 1e-12,
                "{s:?} {more:?}"
            );
        }
    }
}

#[test]
fn the_highest_safe_stack_is_the_highest() {
    // 3004 N, 6.127 times, 10 kg: six, as in the derived example, and not seven.
    let times = 1.0 / 0.1632;
    let needed = load(Mass::kg(10.0), 6, Mass::ZERO) * times;
    let safe = |f, kg, above| safe_high(f, Mass::kg(kg), Mass::kg(above), times);
    assert_eq!(safe(needed, 10.0, 0.0), Some(6));
    assert_eq!(safe(needed * 0.999, 10.0, 0.0), Some(5));
    assert_eq!(safe(needed, 10.0, 20.0), Some(4));
    assert_eq!(safe(Force::n(10.0), 10.0, 20.0), Some(0));
    assert_eq!(safe(Force::ZERO, 10.0, 0.0), Some(1));
    assert_eq!(safe(needed, 0.0, 0.0), None);
    let mut dice = Dice(3);
    for _ in 0..2000 {
        let (f, m) = (dice.between(100.0, 9000.0), dice.between(0.1, 40.0));
        let times = dice.between(1.0, 12.0);
        let n = safe_high(Force::n(f), Mass::kg(m), Mass::ZERO, times).unwrap();
        let asks = |n| (load(Mass::kg(m), n, Mass::ZERO) * times).to_n();
        assert!(
            asks(n) <= f * (1.0 + 1e-6) && asks(n + 1) > f,
            "{f} {m} {times} {n}"
        );
    }
}

// US rail Rule 41 and truck Item 222. Seen: Corrugated Rules and Regulations, ipack.com; Understanding Board
// Grades, n-stockbox.com. "United inches" are outside length + width + depth.
#[test]
fn grades_of_the_classification() {
    let g = grades("classification");
    let least = |wall, lb: f64, inch: f64| {
        let c = g.least(wall, Mass::lb(lb), Length::inch(inch));
        c.map(|c| {
            let psi = c
                .burst
                .map(|b| (b.to_n_per_mm2() / 0.006_894_757_293).round());
            (psi, (c.ect.unwrap().to_n_per_mm() / LBF_PER_IN).round())
        })
    };
    // 60 lb, 24 x 18 x 16 in: mass decides. 60 lb, 36 x 24 x 20 in: size decides. Derived.
    assert_eq!(least(Layers::Single, 60.0, 58.0), Some((Some(200.0), 32.0)));
    assert_eq!(least(Layers::Single, 60.0, 80.0), Some((Some(250.0), 40.0)));
    assert_eq!(
        least(Layers::Double, 140.0, 110.0),
        Some((Some(400.0), 61.0))
    );
    // On a limit, and just over it.
    assert_eq!(least(Layers::Single, 20.0, 40.0), Some((Some(125.0), 23.0)));
    assert_eq!(
        least(Layers::Single, 20.01, 40.0),
        Some((Some(150.0), 26.0))
    );
    assert_eq!(
        least(Layers::Single, 20.0, 40.01),
        Some((Some(150.0), 26.0))
    );
    assert_eq!(least(Layers::Single, 120.01, 40.0), None);
    // Triple wall asks for puncture: 700 in oz is 4.943 J.
    let triple = g
        .least(Layers::Triple, Mass::lb(240.0), Length::inch(110.0))
        .unwrap();
    same("puncture", triple.puncture.unwrap(), 4.943, 0.001);
    assert!(triple.burst.is_none());
    // 32 lbf/in is row 65; 31 is not.
    assert_eq!(
        g.reached(Layers::Single, ect(32.0 * LBF_PER_IN))
            .unwrap()
            .name,
        "single 32"
    );
    assert_eq!(
        g.reached(Layers::Single, ect(31.9 * LBF_PER_IN))
            .unwrap()
            .name,
        "single 29"
    );
    assert_eq!(g.reached(Layers::Single, ect(4.0)), None);
    // A heavier or larger case never gets a lighter class.
    let mut dice = Dice(11);
    for _ in 0..2000 {
        let (m, s) = (dice.between(0.0, 130.0), dice.between(10.0, 110.0));
        let (more, larger) = (m * dice.between(1.0, 1.3), s * dice.between(1.0, 1.3));
        let mass = |m, s| least(Layers::Single, m, s).map_or(f64::INFINITY, |c| c.1);
        assert!(mass(more, larger) >= mass(m, s));
    }
}

// DIN 55468-1:2021, seen at weka-sebnitz.de/richtlinien.html: 1.40 is 1200 kPa, 4.0 J, 5.5 kN/m.
#[test]
fn grades_of_the_board_standard() {
    let g = grades("din");
    let c = g.classes.iter().find(|c| c.name == "1.40").unwrap();
    assert_eq!(c.burst, Some(Pressure::n_per_mm2(1.2)));
    assert_eq!(c.puncture, Some(4.0));
    assert_eq!(c.ect, Some(ect(5.5)));
    assert_eq!(g.classes.len(), 27);
    // It limits neither mass nor size, so a case needs none of it.
    assert_eq!(g.least(Layers::Single, Mass::kg(1.0), mm(100.0)), None);
    assert_eq!(g.reached(Layers::Double, ect(9.2)).unwrap().name, "2.60");
}

// GB 6543-86, seen at consuulprinting.com/article-439.html.
#[test]
fn grades_of_the_chinese_standard() {
    let g = grades("gb");
    let least = |wall, kg, size| {
        let c = g.least(wall, Mass::kg(kg), mm(size));
        c.map(|c| c.mass.unwrap().to_kg())
    };
    assert_eq!(least(Layers::Single, 5.0, 700.0), Some(5.0));
    assert_eq!(least(Layers::Single, 5.0, 701.0), Some(10.0));
    assert_eq!(least(Layers::Single, 41.0, 700.0), None);
    assert_eq!(least(Layers::Double, 16.0, 1000.0), Some(20.0));
    assert_eq!(least(Layers::Double, 55.0, 2500.0), Some(55.0));
}

#[test]
fn a_board_is_held_against_what_the_case_needs() {
    let g = grades("classification");
    let mut b = board("C");
    b.ect = ect(30.0 * LBF_PER_IN);
    let at = |lb: f64, inch: f64| {
        let o = Outside {
            size: [Length::inch(inch / 3.0); 3],
            inside: [Length::ZERO; 3],
            case: Mass::ZERO,
            fitments: Mass::ZERO,
            contents: Mass::lb(lb),
        };
        g.grade(&b, &o)
    };
    let held = at(50.0, 60.0);
    assert_eq!(held.qualifies, Some(true));
    assert_eq!(held.holds.unwrap().name, "single 29");
    assert_eq!(held.missing, None);
    assert_eq!(held.next.as_ref().unwrap().0.name, "single 32");
    same(
        "next",
        held.next.unwrap().1.to_n_per_mm(),
        2.0 * LBF_PER_IN,
        1e-9,
    );
    let short = at(78.0, 60.0);
    assert_eq!(short.qualifies, Some(false));
    assert_eq!(short.by, Some(boxwright::ship::grade::By::Mass));
    same(
        "missing",
        short.missing.unwrap().to_n_per_mm(),
        10.0 * LBF_PER_IN,
        1e-9,
    );
    assert_eq!(at(10.0, 80.0).by, Some(boxwright::ship::grade::By::Size));
    let beyond = at(200.0, 60.0);
    assert_eq!((beyond.needs, beyond.qualifies), (None, None));
}

// 14 x 16 x 16 in over 166: 22 lb; 45 x 45 x 50 cm over 6000: 17 kg. Seen: hawkair.ca/calculate-dimensional-weight.
// 30 x 24 x 22 in over 166: 96 lb. Seen: expatmovers.net. 139 and 166 in3/lb are 5022 and 5997 cm3/kg (derived).
#[test]
fn volumetric_masses() {
    let up = |size: [Length; 3], d: Divisor, lb: bool| {
        let step = if lb { Mass::lb(1.0) } else { Mass::kg(1.0) };
        let raw = d.mass(Volume::block(size));
        (Rounding::Up.steps(raw.to_kg(), step.to_kg()) / step.to_kg()).round()
    };
    let inch = |s: [f64; 3]| s.map(Length::inch);
    let cm = |s: [f64; 3]| s.map(|v| mm(v * 10.0));
    assert_eq!(
        up(inch([14.0, 16.0, 16.0]), Divisor::in3_per_lb(166.0), true),
        22.0
    );
    assert_eq!(
        up(cm([45.0, 45.0, 50.0]), Divisor::cm3_per_kg(6000.0), false),
        17.0
    );
    assert_eq!(
        up(inch([30.0, 24.0, 22.0]), Divisor::in3_per_lb(166.0), true),
        96.0
    );
    same(
        "139",
        Divisor::in3_per_lb(139.0).to_cm3_per_kg(),
        5022.0,
        0.5,
    );
    same(
        "166",
        Divisor::in3_per_lb(166.0).to_cm3_per_kg(),
        5997.0,
        0.5,
    );
    same(
        "194",
        Divisor::in3_per_lb(194.0).to_cm3_per_kg(),
        7009.0,
        0.5,
    );
    assert_eq!(divisor("5000"), Some(Divisor::cm3_per_kg(5000.0)));
    same(
        "text",
        divisor("139 in3/lb").unwrap().to_in3_per_lb(),
        139.0,
        1e-9,
    );
    same(
        "366",
        divisor("366in3/kg").unwrap().to_cm3_per_kg(),
        5997.7,
        0.1,
    );
    for bad in [
        "",
        "0",
        "-1",
        "5000cm3",
        "5000cm3/g",
        "x",
        "5000kg/cm3",
        "1e99",
        "NaN",
    ] {
        assert_eq!(divisor(bad), None, "{bad}");
    }
}

#[test]
fn figures_are_rounded_as_asked() {
    let r = |way: Rounding, v| way.steps(v, 0.5);
    assert_eq!(
        [1.2, 1.25, 1.5, 1.51].map(|v| r(Rounding::None, v)),
        [1.2, 1.25, 1.5, 1.51]
    );
    assert_eq!(
        [1.2, 1.25, 1.5, 1.7].map(|v| r(Rounding::Nearest, v)),
        [1.0, 1.5, 1.5, 1.5]
    );
    assert_eq!(
        [1.2, 1.25, 1.5, 1.51].map(|v| r(Rounding::Up, v)),
        [1.5, 1.5, 1.5, 2.0]
    );
    // 0.1 + 0.2 is over 0.3 by rounding of numbers alone.
    same("noise", Rounding::Up.steps(0.1 + 0.2, 0.1), 0.3, 1e-12);
}

#[test]
fn the_cheapest_class_that_takes_it_is_picked() {
    let t = tariff("example");
    let p = t.parcel([mm(352.0), mm(190.0), mm(281.0)], Mass::kg(4.6));
    assert_eq!(p.sides.map(Length::to_mm), [360.0, 290.0, 190.0]);
    same(
        "volumetric",
        p.volumetric.unwrap().to_kg(),
        36.0 * 29.0 * 19.0 / 5000.0,
        1e-9,
    );
    assert_eq!(p.charged.to_kg().round(), 5.0);
    assert!(!p.bulky);
    // Longest + twice the sum of the others (memory: usual meaning of length plus girth).
    same(
        "girth",
        p.length_plus_girth.to_mm(),
        360.0 + 2.0 * 480.0,
        1e-9,
    );
    let chosen = &p.offers[p.chosen.unwrap()];
    assert_eq!((chosen.class.as_str(), chosen.price), ("medium", 7.5));
    let next = &p.offers[p.next.unwrap()];
    assert_eq!(next.class, "small");
    let over: Vec<Limit> = next.over.iter().map(|o| o.limit).collect();
    assert_eq!(over, [Limit::Charged, Limit::Third]);
    same("needed", next.over[0].has - next.over[0].most, 3.0, 1e-9);
    // Nothing takes this; the freight class lacks least.
    let none = t.parcel([mm(3000.0), mm(400.0), mm(400.0)], Mass::kg(40.0));
    assert_eq!(none.chosen, None);
    assert_eq!(none.offers[none.next.unwrap()].class, "freight");
    // On a limit it is taken.
    let on = t.parcel([mm(350.0), mm(250.0), mm(30.0)], Mass::kg(1.0));
    assert_eq!(on.offers[on.chosen.unwrap()].class, "letter");
    // Heavier or larger is never cheaper.
    let mut dice = Dice(5);
    for _ in 0..2000 {
        let size = [(); 3].map(|()| dice.between(10.0, 900.0));
        let kg = dice.between(0.0, 40.0);
        let times = dice.between(1.0, 1.5);
        let price = |size: [f64; 3], kg| {
            let p = t.parcel(size.map(mm), Mass::kg(kg));
            p.chosen.map_or(f64::INFINITY, |i| p.offers[i].price)
        };
        assert!(price(size.map(|s| s * times), kg * times) >= price(size, kg) - 1e-9);
        let mut turned = size;
        turned.rotate_left(1);
        assert_eq!(price(turned, kg), price(size, kg));
    }
}

// NIOSH multipliers. Seen: bhhcsafetycenter.com. HM, VM, DM, AM to two places.
#[test]
fn multipliers_of_lifting() {
    let cm = |v: f64| mm(v * 10.0);
    for (h, hm) in [
        (25.0, 1.0),
        (30.0, 0.83),
        (40.0, 0.63),
        (50.0, 0.50),
        (60.0, 0.42),
    ] {
        same("HM", lift::horizontal(cm(h)), hm, 0.006);
    }
    let vm = [
        (0.0, 0.78),
        (30.0, 0.87),
        (50.0, 0.93),
        (75.0, 1.0),
        (100.0, 0.93),
        (150.0, 0.78),
        (175.0, 0.70),
    ];
    for (v, vm) in vm {
        same("VM", lift::vertical(cm(v)), vm, 0.006);
    }
    same("VM at the floor", lift::vertical(cm(0.0)), 0.775, 1e-9);
    for (d, dm) in [
        (25.0, 1.0),
        (40.0, 0.93),
        (55.0, 0.90),
        (100.0, 0.87),
        (145.0, 0.85),
    ] {
        same("DM", lift::distance(cm(d)), dm, 0.006);
    }
    same("DM at 55 cm", lift::distance(cm(55.0)), 0.902, 0.0005);
    for (a, am) in [
        (0.0, 1.0),
        (30.0, 0.90),
        (45.0, 0.86),
        (60.0, 0.81),
        (90.0, 0.71),
    ] {
        same("AM", lift::asymmetry(Angle::deg(a)), am, 0.006);
    }
    same(
        "AM at 45 deg",
        lift::asymmetry(Angle::deg(45.0)),
        0.856,
        1e-9,
    );
    // Past these nothing may be lifted (memory).
    assert_eq!(lift::horizontal(cm(63.1)), 0.0);
    assert_eq!(lift::vertical(cm(175.1)), 0.0);
    assert_eq!(lift::distance(cm(175.1)), 0.0);
    assert_eq!(lift::asymmetry(Angle::deg(135.1)), 0.0);
    // Nearer and shorter than 25 cm gains nothing.
    assert_eq!(
        (lift::horizontal(cm(5.0)), lift::distance(cm(0.0))),
        (1.0, 1.0)
    );
    // FM (memory): rare and up to an hour 1.00, 0.2 a minute for 8 h 0.85; the quicker row counts between.
    let low = cm(50.0);
    assert_eq!(lift::frequency(0.0, Hours::One, low), 1.0);
    assert_eq!(lift::frequency(0.2, Hours::Eight, low), 0.85);
    assert_eq!(lift::frequency(9.0, Hours::Eight, low), 0.0);
    assert_eq!(lift::frequency(9.0, Hours::Eight, cm(75.0)), 0.15);
    assert_eq!(lift::frequency(0.3, Hours::One, low), 0.97);
    assert_eq!(lift::frequency(16.0, Hours::One, cm(80.0)), 0.0);
    // CM: good 1.0; fair 0.95 below 75 cm, else 1.0; poor 0.90 (seen, ccohs.ca).
    assert_eq!(lift::coupling(Hold::Fair, cm(74.0)), 0.95);
    assert_eq!(lift::coupling(Hold::Fair, cm(75.0)), 1.0);
    assert_eq!(lift::coupling(Hold::Poor, cm(75.0)), 0.90);
}

// H 25, V 55, D 95 cm, FM 0.88, CM 0.95: 15.7 kg; LI 0.76 at 12 kg. Seen: homeworksource.com/p/1089113;
// unrounded 15.677 and 0.765 (derived). FM 0.88 is once a minute for two hours.
#[test]
fn the_worked_lift() {
    let task = Task {
        each_minute: 1.0,
        hours: Hours::Two,
        ..Task::default()
    };
    let grip = Grip {
        horizontal: mm(250.0),
        vertical: mm(550.0),
    };
    let e = lift::end(grip, mm(950.0), &task, Hold::Fair);
    assert_eq!(e.multipliers[4..], [0.88, 0.95]);
    same("RWL", e.limit.to_kg(), 15.68, 0.05);
    same("LI", 12.0 / e.limit.to_kg(), 0.765, 0.005);
    // The manual's punch press, 44 lb, H 23 in, V 15 in, D 48 in: 16.03 lb unrounded (memory). The manual's
    // metric constants, 23 kg and 25 cm, are 0.6 and 1.6 % below 51 lb and 10 in.
    let grip = Grip {
        horizontal: Length::inch(23.0),
        vertical: Length::inch(15.0),
    };
    let e = lift::end(grip, Length::inch(48.0), &Task::default(), Hold::Fair);
    same("punch press", e.limit.to_lb(), 16.03 * 0.994 * 0.984, 0.05);
}

#[test]
fn lifting_follows_the_case() {
    let of =
        |size: [f64; 3], kg, holds| Lift::of(size.map(mm), Mass::kg(kg), holds, &Task::default());
    // Held against the body: 25 cm and half the width with hands at the floor, 20 cm on the bench (memory).
    let l = of([400.0, 300.0, 300.0], 10.0, None);
    assert_eq!(l.ends.map(|e| e.grip.horizontal.to_mm()), [400.0, 350.0]);
    assert_eq!(l.ends.map(|e| e.grip.vertical.to_mm()), [0.0, 750.0]);
    assert_eq!(l.hold, Hold::Fair);
    same("index", l.index.unwrap(), 10.0 / l.limit.to_kg(), 1e-12);
    // 40 cm long and 30 cm high is good to hold, more is not (16 and 12 in seen).
    assert_eq!(
        of([400.0, 300.0, 300.0], 10.0, Some(mm(200.0))).hold,
        Hold::Good
    );
    assert_eq!(
        of([401.0, 300.0, 300.0], 10.0, Some(mm(200.0))).hold,
        Hold::Poor
    );
    assert_eq!(of([400.0, 300.0, 301.0], 10.0, None).hold, Hold::Poor);
    // Marks.
    assert!(!of([400.0, 300.0, 300.0], 23.0, None).heavy);
    assert!(of([400.0, 300.0, 300.0], 23.01, None).heavy);
    assert!(of([400.0, 300.0, 300.0], 31.6, None).two);
    // Too deep a case cannot be lifted at all.
    let wide = of([900.0, 900.0, 300.0], 10.0, None);
    assert_eq!((wide.index, wide.limit), (None, Mass::ZERO));
    assert!(wide.cautions.iter().any(|c| c.code == "no-lift"));
    // Turned about, length and width are the same case; deeper is never easier.
    assert_eq!(of([300.0, 400.0, 300.0], 10.0, None).limit, l.limit);
    let mut dice = Dice(2);
    for _ in 0..500 {
        let [a, b, c] = [(); 3].map(|()| dice.between(100.0, 600.0));
        let more = dice.between(1.0, 1.4);
        assert!(
            of([a * more, b * more, c * more], 5.0, None).limit <= of([a, b, c], 5.0, None).limit
        );
    }
}

// 12.5 l: 29.24 x 14.62 x 29.24 cm and 3847.4 cm2 (seen, cocoguru.com); a cube needs 11.99 % more (derived);
// k 1/2, 1, 2 give 2:1:1, 2:1:2, 2:1:4 (derived). That blanks as drawn follow it is in `relations.rs`.
#[test]
fn proportions_for_the_least_board() {
    let v = Volume::mm3(12.5e6);
    let best = proportions::least_board(v, 1.0);
    for (found, cm) in best.iter().zip([29.24, 14.62, 29.24]) {
        same("side", found.to_mm() / 10.0, cm, 0.005);
    }
    same("volume", Volume::block(best).to_mm3(), 12.5e6, 1.0);
    let area = proportions::blank_area(best, 1.0).to_mm2();
    same("cm2", area / 100.0, 3847.4, 0.05);
    let side = mm(12.5e6f64.cbrt());
    same(
        "cube",
        proportions::blank_area([side; 3], 1.0).to_mm2() / area - 1.0,
        0.1199,
        1e-4,
    );
    for (k, ratio) in [
        (0.5, [2.0, 1.0, 1.0]),
        (1.0, [2.0, 1.0, 2.0]),
        (2.0, [2.0, 1.0, 4.0]),
    ] {
        let [l, w, d] = proportions::least_board(v, k);
        same("L:W", l / w, ratio[0], 1e-6);
        same("D:W", d / w, ratio[2], 1e-6);
        // No neighbour of the same volume needs less.
        let least = proportions::blank_area([l, w, d], k).to_mm2();
        for (a, b) in [(1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99)] {
            let near = [l * a, w * b, d / (a * b)];
            assert!(proportions::blank_area(near, k).to_mm2() > least);
        }
    }
}

// All flaps meeting, cut from a rectangle: 2 (L + W)(D + L) with L at least W is least at 1:1:2 (derived).
#[test]
fn proportions_where_all_flaps_meet() {
    let area = |l: f64, w: f64| 2.0 * (l + w) * (1.0 / (l * w) + l);
    let cube = 0.5f64.cbrt();
    let best = area(cube, cube);
    same("D is 2L", 1.0 / (cube * cube) / cube, 2.0, 1e-6);
    for i in 1..60 {
        for j in 1..=60 {
            let w = 0.2 + 0.03 * f64::from(i);
            let l = w * (1.0 + 0.03 * f64::from(j - 1));
            assert!(area(l, w) >= best - 1e-9, "{l} {w}");
        }
    }
}

// L/W up to 2.5, H/W from 0.5 to 2: GOST 9142-90, seen.
#[test]
fn unusual_proportions_are_told() {
    let count = |l, w, d| proportions::unusual([mm(l), mm(w), mm(d)]).len();
    assert_eq!(count(250.0, 100.0, 200.0), 0);
    assert_eq!(count(251.0, 100.0, 200.0), 1);
    assert_eq!(count(250.0, 100.0, 201.0), 1);
    assert_eq!(count(250.0, 100.0, 50.0), 0);
    assert_eq!(count(251.0, 100.0, 49.0), 2);
    assert_eq!(count(100.0, 251.0, 100.0), 1);
}

#[test]
fn the_outlook_gathers_it_all() {
    let mut on = usual();
    on.high = Some(4);
    let o = seen(&clock(), 4.1, &on);
    same(
        "gross",
        o.gross.to_kg(),
        o.outside.tare().to_kg() + 4.1,
        1e-12,
    );
    assert_eq!(o.stack.high, Some(4));
    same(
        "load",
        o.stack.load.unwrap().to_n(),
        o.gross.to_kg() * 3.0 * 9.806_65,
        1e-9,
    );
    // 30 d at half humidity in column: 0.60 (memory).
    same("kept", o.kept.least, 0.6, 1e-12);
    same(
        "needs",
        o.stack.needs.unwrap().most / o.stack.load.unwrap(),
        1.0 / 0.6,
        1e-9,
    );
    assert_eq!(o.stack.holds, Some(true));
    let most = o.stack.safe_high.unwrap();
    for (high, holds) in [(most, true), (most + 1, false)] {
        on.high = Some(high);
        assert_eq!(seen(&clock(), 4.1, &on).stack.holds, Some(holds));
    }
    assert_eq!(o.grade.needs.as_ref().unwrap().name, "single 23");
    assert_eq!(
        o.grade.qualifies,
        Some(false),
        "the default board has 4 kN/m, the class asks 4.03"
    );
    assert_eq!(o.parcel.offers[o.parcel.chosen.unwrap()].class, "medium");
    assert!(o.cautions.iter().any(|c| c.code == "estimate"));
    assert!(!o.cautions.iter().any(|c| c.code == "no-contents"));
    assert!(
        seen(&clock(), 0.0, &on)
            .cautions
            .iter()
            .any(|c| c.code == "no-contents")
    );
    // It can be written as JSON, and the words are those of the format.
    let json = serde_json::to_value(&o).unwrap();
    assert!(json["compression"]["range"]["least"].as_f64().unwrap() > 0.0);
    assert_eq!(json["surroundings"]["pattern"], "column-aligned");
    // Monotone: more mass, days or air never makes a higher stack.
    let mut last = u32::MAX;
    for (kg, days, humidity) in [
        (2.0, 10.0, 0.5),
        (4.0, 30.0, 0.6),
        (8.0, 90.0, 0.8),
        (20.0, 180.0, 0.95),
    ] {
        on.surroundings.days = days;
        on.surroundings.humidity = humidity;
        let n = seen(&clock(), kg, &on).stack.safe_high.unwrap();
        assert!(n <= last, "{n} > {last}");
        last = n;
    }
    // The law's rule sets its own height.
    on.rule = Rule::Cfr;
    let law = seen(&clock(), 4.1, &on);
    let high = (3000.0 / law.outside.size[2].to_mm()).ceil();
    assert_eq!(law.stack.high.map(f64::from), Some(high));
}

const JOB: &str = r#"job "clock" {
    style "slotted-case"
    inside length="342mm" width="178mm" depth="266mm"
    board "C"
    CONTENTS
}"#;

#[test]
fn contents_are_read_from_the_job() {
    let job = |contents: &str| parse_job(&text("job.kdl", &JOB.replace("CONTENTS", contents)));
    let good = job("contents \"mantel clock\" mass=\"4.1kg\" fragile=40\n contents key mass=\"0.05lb\" count=2").unwrap();
    assert_eq!(good.contents.len(), 2);
    assert_eq!(
        (good.contents[0].count, good.contents[0].fragile),
        (1, Some(40.0))
    );
    same(
        "mass",
        contents_mass(&good).to_kg(),
        4.1 + 0.1 * 0.453_592_37,
        1e-12,
    );
    for (bad, code, at) in [
        ("contents \"a\"", "missing", "contents"),
        ("contents mass=\"1kg\"", "missing", "contents"),
        ("contents \" \" mass=\"1kg\"", "missing", "contents"),
        ("contents \"a\" mass=\"1mm\"", "wrong-kind", "1mm"),
        ("contents \"a\" mass=1", "wrong-kind", "1"),
        ("contents \"a\" mass=\"-1kg\"", "out-of-range", "-1kg"),
        ("contents \"a\" mass=\"0kg\"", "out-of-range", "0kg"),
        ("contents \"a\" mass=\"1kg\" count=0", "out-of-range", "0"),
        ("contents \"a\" mass=\"1kg\" count=1.5", "wrong-kind", "1.5"),
        ("contents \"a\" mass=\"1kg\" fragile=0", "out-of-range", "0"),
        ("contents \"a\" mass=\"1kg\" weight=2", "unknown-word", "2"),
        ("contents \"a\" \"b\" mass=\"1kg\"", "extra-value", "b"),
        ("contents \"a\" mass=\"1kg\" { x; }", "unknown-word", "x"),
    ] {
        let diags = job(bad).unwrap_err();
        assert_eq!(diags.len(), 1, "{bad}: {diags:#?}");
        let place = diags[0].place.as_ref().unwrap();
        let file = JOB.replace("CONTENTS", bad);
        assert_eq!(
            (diags[0].code, &file[place.start..place.end]),
            (code, at),
            "{bad}"
        );
    }
    let many = "contents \"a\" mass=\"1g\"\n".repeat(101);
    assert_eq!(job(&many).unwrap_err()[0].code, "too-many");
}

/// A file that is wrong in one way, and the code and place of its one message.
type Hostile<'a> = (&'a str, &'a str, &'a str);

fn refused<T: std::fmt::Debug>(
    cases: &[Hostile<'_>],
    read: impl Fn(&Text) -> Result<T, Vec<boxwright::diag::Diag>>,
) {
    for (file, code, at) in cases {
        let diags = read(&text("table.kdl", file)).expect_err(file);
        assert_eq!(diags[0].code, *code, "{file}: {diags:#?}");
        let place = diags[0].place.as_ref().unwrap();
        assert_eq!(&file[place.start..place.end], *at, "{file}: {diags:#?}");
    }
}

#[test]
fn hostile_tables_of_losses() {
    refused(
        &[
            ("", "empty", ""),
            ("loses \"a\"", "unknown-word", "loses"),
            ("losses \"a\"", "missing", "losses"),
            (
                "losses { overhang keeps=1 from=\"seen: x\"; }",
                "missing",
                "losses",
            ),
            (
                "losses \"a\" { overhng keeps=1 from=\"seen: x\"; }",
                "unknown-word",
                "overhng",
            ),
            ("losses \"a\" { overhang keeps=1; }", "missing", "overhang"),
            (
                "losses \"a\" { overhang keeps=1 from=\"trust me\"; }",
                "bad-origin",
                "trust me",
            ),
            (
                "losses \"a\" { overhang keeps=0 from=\"seen: x\"; }",
                "out-of-range",
                "0",
            ),
            (
                "losses \"a\" { overhang keeps=-0.5 from=\"seen: x\"; }",
                "out-of-range",
                "-0.5",
            ),
            (
                "losses \"a\" { overhang keeps=1.5 from=\"seen: x\"; }",
                "out-of-range",
                "1.5",
            ),
            (
                "losses \"a\" { overhang keeps=\"1mm\" from=\"seen: x\"; }",
                "wrong-kind",
                "1mm",
            ),
            (
                "losses \"a\" { overhang best=0.5 from=\"seen: x\"; }",
                "missing",
                "overhang",
            ),
            (
                "losses \"a\" { overhang best=0.5 worst=0.6 from=\"seen: x\"; }",
                "wrong-order",
                "0.6",
            ),
            (
                "losses \"a\" { overhang keeps=0.5 worst=0.6 from=\"seen: x\"; }",
                "given-twice",
                "0.6",
            ),
            ("losses \"a\" { time from=\"seen: x\"; }", "missing", "time"),
            (
                "losses \"a\" { time from=\"seen: x\" { dys 1 keeps=1; }; }",
                "unknown-word",
                "dys",
            ),
            (
                "losses \"a\" { time from=\"seen: x\" { days 1; }; }",
                "missing",
                "days",
            ),
            (
                "losses \"a\" { time from=\"seen: x\" { days -1 keeps=1; }; }",
                "out-of-range",
                "-1",
            ),
            (
                "losses \"a\" { time from=\"seen: x\" { days 9 keeps=1; days 3 keeps=0.9; }; }",
                "wrong-order",
                "days",
            ),
            (
                "losses \"a\" { time from=\"seen: x\" { days 3 keeps=1; days 3 keeps=0.9; }; }",
                "wrong-order",
                "days",
            ),
            (
                "losses \"a\" { time from=\"seen: x\" { days 3 keeps=0.5; days 9 keeps=0.9; }; }",
                "wrong-order",
                "days",
            ),
            (
                "losses \"a\" { humidity from=\"seen: x\" { air 50 keeps=1; }; }",
                "out-of-range",
                "50",
            ),
            (
                "losses \"a\" { overhang keeps=1 from=\"seen: x\"; }\nlosses \"a\" { overhang keeps=1 from=\"seen: x\"; }",
                "given-twice",
                "losses",
            ),
            (
                "losses \"a\" { overhang keeps=1 from=\"seen: x\"; overhang keeps=1 from=\"seen: x\"; }",
                "given-twice",
                "overhang",
            ),
        ],
        read_losses,
    );
    let all = read_losses(&Shipped.table("losses").unwrap()).unwrap();
    let diags = pick(&all, Some("handbok"), |t| &t.name).unwrap_err();
    assert_eq!(diags[0].code, "unknown-table");
    assert!(diags[0].help.as_ref().unwrap().contains("`handbook`"));
}

#[test]
fn hostile_tables_of_grades() {
    refused(
        &[
            ("", "empty", ""),
            ("grade \"a\"", "unknown-word", "grade"),
            ("grades \"a\"", "missing", "grades"),
            (
                "grades \"a\" { class \"b\" wall=\"single\" ect=\"4kN/m\"; }",
                "missing",
                "class",
            ),
            (
                "grades \"a\" { from \"x\"; class \"b\" wall=\"single\" ect=\"4kN/m\"; }",
                "bad-origin",
                "x",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" ect=\"4kN/m\"; }",
                "missing",
                "class",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"quadruple\" ect=\"4kN/m\"; }",
                "unknown-word",
                "quadruple",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"single\"; }",
                "missing",
                "class",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"single\" ect=\"-4kN/m\"; }",
                "out-of-range",
                "-4kN/m",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"single\" ect=\"4kg\"; }",
                "wrong-kind",
                "4kg",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"single\" mass=\"9kg\"; class \"c\" wall=\"single\" mass=\"5kg\"; }",
                "wrong-order",
                "class",
            ),
            (
                "grades \"a\" { from \"seen: x\"; class \"b\" wall=\"single\" mass=\"9kg\"; class \"b\" wall=\"single\" mass=\"9kg\"; }",
                "given-twice",
                "class",
            ),
            ("grades \"a\" { form \"seen: x\"; }", "unknown-word", "form"),
        ],
        read_grades,
    );
}

#[test]
fn hostile_tables_of_parcels() {
    refused(
        &[
            ("", "empty", ""),
            ("parcel \"a\"", "unknown-word", "parcel"),
            ("parcels \"a\"", "missing", "parcels"),
            (
                "parcels \"a\" { class \"b\" from=\"seen: x\"; }",
                "missing",
                "class",
            ),
            ("parcels \"a\" { class \"b\" price=1; }", "missing", "class"),
            (
                "parcels \"a\" { class \"b\" price=-1 from=\"seen: x\"; }",
                "out-of-range",
                "-1",
            ),
            (
                "parcels \"a\" { class \"b\" price=1 mass=\"0kg\" from=\"seen: x\"; }",
                "out-of-range",
                "0kg",
            ),
            (
                "parcels \"a\" { class \"b\" price=1 girth=\"3m\" from=\"seen: x\"; }",
                "unknown-word",
                "3m",
            ),
            (
                "parcels \"a\" { class \"b\" price=1 volume=\"3m\" from=\"seen: x\"; }",
                "wrong-kind",
                "3m",
            ),
            (
                "parcels \"a\" { class \"b\" price=1 volume=\"-3m3\" from=\"seen: x\"; }",
                "wrong-kind",
                "-3m3",
            ),
            (
                "parcels \"a\" { divisor \"5000\" ; class \"b\" price=1 from=\"seen: x\"; }",
                "missing",
                "divisor",
            ),
            (
                "parcels \"a\" { divisor \"5000 cubits\" from=\"seen: x\"; class \"b\" price=1 from=\"seen: x\"; }",
                "wrong-kind",
                "5000 cubits",
            ),
            (
                "parcels \"a\" { sides round=\"down\" to=\"1cm\" from=\"seen: x\"; class \"b\" price=1 from=\"seen: x\"; }",
                "unknown-word",
                "down",
            ),
            (
                "parcels \"a\" { sides round=\"up\" from=\"seen: x\"; class \"b\" price=1 from=\"seen: x\"; }",
                "missing",
                "sides",
            ),
            (
                "parcels \"a\" { class \"b\" price=1 from=\"seen: x\"; class \"b\" price=1 from=\"seen: x\"; }",
                "given-twice",
                "class",
            ),
        ],
        read_parcels,
    );
    // Every class of the shipped tables says what it is: invented, or a ceiling from memory.
    for t in read_parcels(&Shipped.table("parcels").unwrap()).unwrap() {
        assert!(
            t.classes
                .iter()
                .all(|c| c.from.starts_with("default: invented")),
            "{}",
            t.name
        );
    }
}

#[test]
fn every_form_says_where_its_constants_come_from() {
    assert!(compression::CONSTANTS_FROM.starts_with("memory:"));
    assert!(lift::HEAVY_FROM.contains(':') && lift::TWO_FROM.contains(':'));
    for rule in [Rule::Losses, Rule::Gb, Rule::GbSea, Rule::Cfr] {
        assert!(!rule.from().is_empty() && !rule.title().is_empty());
    }
}

/// The `kdl` blocks of a page that begin with a word.
fn examples(page: &str, word: &str) -> Vec<String> {
    page.split("```kdl\n")
        .skip(1)
        .filter_map(|rest| rest.split_once("```").map(|(block, _)| block.to_owned()))
        .filter(|block| block.starts_with(word))
        .collect()
}

#[test]
fn examples_of_the_pages_can_be_read() {
    let strength = include_str!("../../../docs/strength.md");
    let parcels = include_str!("../../../docs/parcels.md");
    let formats = include_str!("../../../docs/formats.md");
    let one = |page, word| {
        let found = examples(page, word);
        assert_eq!(found.len(), 1, "{word}");
        text("page", &found[0])
    };
    read_losses(&one(strength, "losses")).unwrap_or_else(|d| panic!("{d:#?}"));
    read_grades(&one(strength, "grades")).unwrap_or_else(|d| panic!("{d:#?}"));
    read_parcels(&one(parcels, "parcels")).unwrap_or_else(|d| panic!("{d:#?}"));
    let contents = boxwright::job::outside_contents(&one(formats, "contents"));
    assert_eq!(contents.unwrap().len(), 2);
}
