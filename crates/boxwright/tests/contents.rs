//! From things to inside sizes: figures of the trade, arrangements against CP-SAT, sound proposals.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

use boxwright::contents::arrange::{ALL_WAYS, Fault, Item, Packing, search, verify};
use boxwright::contents::cushion::{area, impact_speed, least_travel, spring_travel, thickness};
use boxwright::contents::drops::drop_tables;
use boxwright::contents::things::{Thing, Up};
use boxwright::contents::{By, Effort, Things, Wish, propose, read_things};
use boxwright::source::{Shipped, Text};
use boxwright::units::{Length, Mass, Pressure, unit};
use proptest::prelude::*;

const LITTLE: Effort = Effort {
    tries: 5_000,
    proof: 20_000,
};

fn near(found: f64, want: f64, within: f64) {
    assert!((found - want).abs() <= within, "{found}, not {want}");
}

// ISTA 1A and 2A free fall, seen in "Carton Drop Test", scribd.com/doc/304153378: 15 kg falls 610 mm
// and 30 kg 310 mm by 1A; 5 kg falls 970 mm by 2A.
#[test]
fn heights_of_fall_are_those_of_the_tables() {
    let tables = drop_tables(&Shipped).unwrap();
    let height = |name: &str, kg: f64| {
        let table = tables.iter().find(|t| t.name == name).unwrap();
        table.height(Mass::kg(kg)).map(Length::to_mm)
    };
    assert_eq!(height("1A", 15.0), Some(610.0));
    assert_eq!(height("1A", 30.0), Some(310.0));
    assert_eq!(height("2A", 5.0), Some(970.0));
    assert_eq!(height("1A", 70.0), None);
    // ASTM D4169 schedule A, from memory: 25 lb at assurance level II falls 13 in.
    near(
        height("D4169-II", 25.0 * 0.453_592_37).unwrap(),
        330.2,
        1e-9,
    );
    for t in &tables {
        let standing = t.from.split(':').next().unwrap();
        assert!(["seen", "memory"].contains(&standing), "{}", t.from);
        assert!(
            t.rows
                .windows(2)
                .all(|w| w[0].0 < w[1].0 && w[0].1 > w[1].1)
        );
    }
}

// Physics: the root of 2 g h; 760 mm give 3.861 m/s, 200 mm 1.981 m/s (derived).
#[test]
fn a_fall_of_760_mm_ends_at_3_861_m_per_s() {
    near(impact_speed(Length::mm(760.0)), 3.861, 0.0005);
    near(impact_speed(Length::mm(200.0)), 1.981, 0.0005);
}

// "How To Use Dynamic Cushion Curves", repco.com, seen: 36 lb on foam used at 1.2 psi need 30 in2.
#[test]
fn thirty_square_inches_carry_36_lb_at_1_2_psi() {
    let psi = unit("psi").unwrap().factor;
    let mass = Mass::kg(36.0 * unit("lb").unwrap().factor);
    let found = area(mass, Pressure::n_per_mm2(1.2 * psi));
    near(found.to_mm2() / (25.4 * 25.4), 30.0, 1e-9);
}

// Derived: h 0.61 m, G 40: constant force 15.6 mm, linear spring 32.1 mm, factor 3 gives 45.75 mm.
#[test]
fn cushions_for_40_g_from_610_mm() {
    let drop = Length::mm(610.0);
    near(least_travel(drop, 40.0).unwrap().to_mm(), 15.6, 0.05);
    near(spring_travel(drop, 40.0).unwrap().to_mm(), 32.1, 0.05);
    near(thickness(3.0, drop, 40.0).to_mm(), 45.75, 1e-9);
    // No real cushion beats the two bounds.
    for g in 5..200 {
        let g = f64::from(g);
        let (a, b) = (
            least_travel(drop, g).unwrap(),
            spring_travel(drop, g).unwrap(),
        );
        assert!(a < b && a.to_mm() > drop.to_mm() / g);
    }
}

fn things(text: &str) -> Things {
    let text = Text {
        name: "things.kdl".into(),
        text: text.into(),
    };
    read_things(&text).unwrap_or_else(|d| panic!("{d:#?}"))
}

fn refused(text: &str) -> Vec<&'static str> {
    let text = Text {
        name: "things.kdl".into(),
        text: text.into(),
    };
    let diags = read_things(&text).unwrap_err();
    assert!(diags.iter().all(|d| d.place.is_some()), "{diags:#?}");
    diags.iter().map(|d| d.code).collect()
}

#[test]
fn what_is_wrong_in_a_file_is_told_at_its_place() {
    let good = r#"length="30mm" width="20mm" depth="10mm" mass="1kg""#;
    for (text, code) in [
        (String::new(), "empty"),
        (
            r#"thing "a" length="30mm" width="20mm" mass="1kg""#.into(),
            "missing",
        ),
        (
            r#"thing "a" length="30" width="20mm" depth="1mm" mass="1kg""#.into(),
            "wrong-unit",
        ),
        (
            r#"thing "a" length="0mm" width="20mm" depth="1mm" mass="1kg""#.into(),
            "not-positive",
        ),
        (
            r#"thing "a" length="30m" width="20mm" depth="1mm" mass="1kg""#.into(),
            "too-large",
        ),
        (format!("thing \"a\" {good} fragile=1"), "out-of-range"),
        (format!("thing \"a\" {good} up=\"heigth\""), "unknown-word"),
        (
            format!("thing \"a\" {good} up=\"depth\" flat=#true"),
            "given-twice",
        ),
        (format!("thing \"a\" {good} count=0"), "wrong-kind"),
        (format!("thing \"a\" {good} count=13"), "too-many"),
        (
            format!("thing \"a\" {good} diameter=\"3mm\""),
            "given-twice",
        ),
        (
            format!("thing \"a\" {good}\nthing \"a\" {good}"),
            "given-twice",
        ),
        (
            format!("thing \"a\" {good}\ncushion factor=0.5"),
            "out-of-range",
        ),
        (
            format!("thing \"a\" {good}\nside \"under\" \"3mm\""),
            "unknown-word",
        ),
        (
            format!("thing \"a\" {good}\ndrop \"1m\"\ndrop \"2m\""),
            "given-twice",
        ),
        (format!("thing \"a\" {good}\nbox"), "unknown-word"),
    ] {
        assert!(
            refused(&text).contains(&code),
            "{text}: {:?}",
            refused(&text)
        );
    }
}

#[test]
fn the_inside_of_one_clock_is_worked_out_by_hand() {
    let file = things(
        r#"thing "mantel clock" length="312mm" width="148mm" depth="236mm" mass="4.1kg" fragile=40 up="depth"
           cushion factor=3 stress="1.2psi"
           room "3mm""#,
    );
    let tables = drop_tables(&Shipped).unwrap();
    let all: Vec<&Thing> = file.things.iter().collect();
    let (found, warnings) = propose(&all, &file.rules, &tables, &Wish::default()).unwrap();
    assert!(warnings.is_empty());
    // 4.1 kg falls 760 mm by table 1A; 3 x 760 / 40 = 57 mm; and 3 mm of room on each side.
    let p = &found.list[0];
    let c = p.padding.cushion.as_ref().unwrap();
    near(c.thickness.to_mm(), 57.0, 1e-9);
    near(c.speed, 3.861, 0.0005);
    // 4.1 kg x 9.80665 / (1.2 psi = 8.2737 kPa) = 4860 mm2.
    near(c.areas[0].unwrap().to_mm2(), 4859.7, 1.0);
    assert_eq!(p.inside.map(Length::to_mm), [432.0, 268.0, 356.0]);
    assert_eq!(found.gap, Some(0.0));
    assert_eq!(
        p.reasons[0],
        "length 432 mm: 60 + 312 mantel clock, its length + 60"
    );
}

#[test]
fn a_factor_from_memory_is_warned_of_and_sides_can_be_told() {
    let file = things(
        r#"thing "dome" diameter="190mm" length="305mm" mass="1.3kg" fragile=25 up="length"
           drop "500mm"
           side "bottom" "80mm"
           room "0mm""#,
    );
    let all: Vec<&Thing> = file.things.iter().collect();
    let (found, warnings) = propose(&all, &file.rules, &[], &Wish::default()).unwrap();
    assert_eq!(warnings[0].code, "usual-factor");
    // 3 x 500 / 25 = 60 mm on every side but the floor.
    let inside = found.list[0].inside.map(Length::to_mm);
    assert_eq!(inside, [310.0, 310.0, 80.0 + 305.0 + 60.0]);
}

#[test]
fn wrapped_things_stand_apart() {
    let file = things(
        r#"thing "brass weight" diameter="62mm" length="210mm" mass="3.4kg" count=2 touch=#false
           wrap "5mm"
           room "0mm""#,
    );
    let all: Vec<&Thing> = file.things.iter().collect();
    let (found, _) = propose(&all, &file.rules, &[], &Wish::default()).unwrap();
    let p = &found.list[0];
    assert_eq!(p.mass.to_kg(), 6.8);
    // Each is 72 x 72 x 220 in its wrap; two side by side need 220 x 144 x 72, whichever way.
    let mut inside = p.inside.map(Length::to_mm);
    inside.sort_by(f64::total_cmp);
    assert_eq!(inside, [72.0, 144.0, 220.0]);
    let [a, b] = &p.arrangement[..] else {
        panic!("two weights");
    };
    let apart = (0..3).any(|k| {
        let gap = (a.at[k] - b.at[k]).to_mm().abs() - 62.0;
        gap >= 10.0 - 1e-9 && a.size[k].to_mm() < 63.0
    });
    assert!(apart, "{a:?} {b:?}");
}

#[test]
fn the_verifier_finds_every_planted_fault() {
    let item = |up: usize, bears: bool| Item {
        size: [300, 200, 100],
        ways: ALL_WAYS.iter().copied().filter(|w| w[2] == up).collect(),
        bears,
    };
    let items = [item(2, false), item(2, true)];
    let found = search(&items, [0; 3], By::Volume, LITTLE);
    let good = &found.packings[0];
    assert_eq!(verify(&items, good), Ok(()));
    let spoilt = |change: &dyn Fn(&mut Packing)| {
        let mut p = good.clone();
        change(&mut p);
        verify(&items, &p)
    };
    assert_eq!(
        spoilt(&|p| {
            p.placed.pop();
        }),
        Err(Fault::Count)
    );
    assert_eq!(
        spoilt(&|p| p.placed[0].size = [100, 200, 300]),
        Err(Fault::Way(0))
    );
    assert!(matches!(
        spoilt(&|p| p.room[0] -= 1),
        Err(Fault::Outside(_))
    ));
    assert_eq!(
        spoilt(&|p| p.placed[1].at = p.placed[0].at),
        Err(Fault::Meet(0, 1))
    );
    let above = spoilt(&|p| {
        p.room[2] = 1000;
        p.placed[1].at = p.placed[0].at;
        p.placed[1].at[2] = 100 + p.placed[0].at[2];
    });
    assert_eq!(above, Err(Fault::Above(1, 0)));
}

#[test]
fn the_same_asked_twice_gives_the_same() {
    let items: Vec<Item> = (1..7)
        .map(|k| Item {
            size: [100 * k, 730 - 90 * k, 210 + 13 * k],
            ways: ALL_WAYS.to_vec(),
            bears: k != 3,
        })
        .collect();
    let once = search(&items, [60, 60, 60], By::Board, LITTLE);
    let again = search(&items, [60, 60, 60], By::Board, LITTLE);
    assert_eq!(once.packings, again.packings);
    assert_eq!((once.gap, once.steps), (again.gap, again.steps));
}

#[test]
fn a_dozen_things_are_arranged() {
    let items: Vec<Item> = (0..12)
        .map(|k| Item {
            size: [300 + 70 * k, 900 - 50 * k, 200 + 31 * ((k * 7) % 12)],
            ways: ALL_WAYS.to_vec(),
            bears: true,
        })
        .collect();
    let found = search(&items, [0; 3], By::Volume, LITTLE);
    for p in &found.packings {
        assert_eq!(verify(&items, p), Ok(()));
    }
    let volume: i64 = found.packings[0].room.iter().product();
    assert!(volume >= found.least_volume);
    let things: i64 = items.iter().map(|i| i.size.iter().product::<i64>()).sum();
    assert!(things * 10 > volume * 7, "{things} in {volume}");
}

fn any_item() -> impl Strategy<Value = Item> {
    (
        prop::array::uniform3(50_i64..4000),
        0_usize..7,
        any::<bool>(),
    )
        .prop_map(|(size, up, bears)| Item {
            size,
            ways: ALL_WAYS
                .iter()
                .copied()
                .filter(|w| match up {
                    0..=2 => w[2] == up,
                    3 => w[2] != 0,
                    _ => true,
                })
                .collect(),
            bears,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    /// Every arrangement is sound, none beats another in all directions, the first is the best, and
    /// none is below what must be.
    #[test]
    fn every_arrangement_is_sound(
        items in prop::collection::vec(any_item(), 1..7),
        pads in prop::array::uniform3(0_i64..1000),
        which in 0_usize..4,
    ) {
        let by = By::ALL[which];
        let found = search(&items, pads, by, LITTLE);
        // Where nothing may carry, side by side is always left.
        prop_assert!(!found.packings.is_empty());
        for p in &found.packings {
            prop_assert_eq!(verify(&items, p), Ok(()));
        }
        let inside = |p: &Packing, turned: bool| {
            let [x, y, z] = p.room;
            let (x, y) = if turned { (y, x) } else { (x, y) };
            [x + pads[0], y + pads[1], z + pads[2]]
        };
        let score = |p: &Packing| by.score(inside(p, false)).min(by.score(inside(p, true)));
        for pair in found.packings.windows(2) {
            prop_assert!(score(&pair[0]) <= score(&pair[1]));
        }
        for p in &found.packings {
            let volume: i64 = inside(p, false).iter().product();
            prop_assert!(volume >= found.least_volume);
        }
    }
}

#[test]
fn up_is_kept() {
    let file = things(
        r#"thing "tall" length="30mm" width="40mm" depth="50mm" mass="1kg" up="width"
           thing "flat" length="300mm" width="8mm" depth="200mm" mass="1kg" flat=#true
           thing "edge" length="300mm" width="8mm" depth="200mm" mass="1kg" flat=#false
           thing "rod" diameter="20mm" length="90mm" mass="1kg" up="diameter""#,
    );
    let ups: Vec<Up> = file.things.iter().map(|t| t.up).collect();
    assert_eq!(ups, [Up::Axis(1), Up::Axis(1), Up::Lying(1), Up::Lying(2)]);
    let all: Vec<&Thing> = file.things.iter().collect();
    let (found, _) = propose(&all, &file.rules, &[], &Wish::default()).unwrap();
    for p in &found.list {
        let up: Vec<&str> = p.arrangement.iter().map(|t| t.along[2]).collect();
        assert_eq!(up[..2], ["width", "width"]);
        assert_ne!(up[2], "width");
        assert_eq!(up[3], "diameter");
    }
}

// Outside: OR-Tools CP-SAT, 20 s of processor time for each of 200 random sets of up to eight things;
// made by tests/outside/size_reference.py.
#[test]
fn rooms_are_no_larger_than_those_of_cp_sat() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/data/size/sets.json"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let data: serde_json::Value = serde_json::from_str(&text).unwrap();
    let sets = data["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 200);
    // The build for debugging is too slow for all of them.
    let every = if cfg!(debug_assertions) { 8 } else { 1 };
    let picked: Vec<&serde_json::Value> = sets.iter().step_by(every).collect();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let told: Vec<(f64, Option<f64>)> = std::thread::scope(|scope| {
        let shares = (0..threads).map(|n| {
            let share: Vec<_> = picked.iter().skip(n).step_by(threads).copied().collect();
            scope.spawn(move || share.into_iter().map(held).collect::<Vec<_>>())
        });
        let shares: Vec<_> = shares.collect();
        shares.into_iter().flat_map(|s| s.join().unwrap()).collect()
    });
    let within = told
        .iter()
        .filter(|(_, gap)| gap.is_some_and(|g| g <= 0.03))
        .count();
    let proved = told.iter().filter(|(_, gap)| *gap == Some(0.0)).count();
    #[allow(clippy::cast_precision_loss, reason = "two hundred")]
    let mean = told.iter().map(|t| t.0).sum::<f64>() / told.len() as f64;
    let worst = told.iter().map(|t| t.0).fold(0.0, f64::max);
    println!(
        "{} sets: mean {mean:.5}, worst {worst:.4} of CP-SAT's volume; {proved} proved, {within} within 3 %",
        told.len()
    );
}

/// Our volume for one set by CP-SAT's, and the gap that is left.
fn held(set: &serde_json::Value) -> (f64, Option<f64>) {
    let things = set["things"].as_array().unwrap().iter();
    let items: Vec<Item> = things
        .map(|t| {
            let size = [0, 1, 2].map(|a| 10 * t["size"][a].as_i64().unwrap());
            let up = t["up"].as_u64().map(|u| usize::try_from(u).unwrap());
            let fits = |w: &[usize; 3]| up.is_none_or(|u| w[2] == u);
            Item {
                size,
                ways: ALL_WAYS.iter().copied().filter(fits).collect(),
                bears: true,
            }
        })
        .collect();
    let found = search(&items, [0; 3], By::Volume, Effort::default());
    let number = &set["set"];
    for p in &found.packings {
        assert_eq!(verify(&items, p), Ok(()), "set {number}");
    }
    let ours: i64 = found.packings[0].room.iter().product();
    let theirs = 1000 * set["volume"].as_i64().unwrap();
    #[allow(clippy::cast_precision_loss, reason = "a ratio told to four digits")]
    let ratio = ours as f64 / theirs as f64;
    assert!(ratio <= 1.03, "set {number}: {ratio:.4}");
    // Two proofs of the same cannot differ.
    let bound = 1000 * set["bound"].as_i64().unwrap();
    assert!(
        ours >= bound - 1000,
        "set {number}: below what CP-SAT proved"
    );
    if let Some(gap) = found.gap {
        assert!(
            ratio * (1.0 - gap) <= 1.0 + 1e-5,
            "set {number}: {gap} {ratio}"
        );
    }
    (ratio, found.gap)
}
