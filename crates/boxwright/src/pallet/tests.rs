#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use super::bound::{area, bound};
use super::grid::{Problem, smallest};
use super::stand::standing;
use super::*;
use crate::source::{Door, Shipped, Text};
use crate::units::{Length, Mass};

fn mm(sides: [f64; 2]) -> [Length; 2] {
    sides.map(Length::mm)
}

fn problem(floor: [i64; 2], long: i64, short: i64) -> Problem {
    Problem { floor, long, short }
}

// The equivalence classes of the sets named in Dowsland's papers: different sizes, the same rows.
#[test]
fn sizes_that_allow_the_same_rows_become_the_same_problem() {
    let least = problem([22, 16], 5, 3);
    for p in [
        problem([22, 16], 5, 3),
        problem([30, 22], 7, 4),
        problem([46, 34], 11, 6),
        problem([50, 36], 11, 7),
    ] {
        assert_eq!(smallest(p), least, "{p:?}");
    }
    // At true size, in micrometres: 22 by 16 of 5 by 3 in units of 100 mm and a bit.
    let p = problem([2_200_009, 1_600_007], 500_001, 300_000);
    assert_eq!(smallest(p), least);
}

#[test]
fn bounds_are_never_above_the_area_and_squares_are_exact() {
    for long in 3..14 {
        for short in 2..=long {
            for x in [20, 31, 44] {
                for y in [17, 29] {
                    let p = problem([x, y], long, short);
                    assert!(bound(p) <= area(p), "{p:?}");
                    if long == short {
                        assert_eq!(bound(p), (x / long) * (y / long), "{p:?}");
                    }
                }
            }
        }
    }
}

/// A bound may not be below what a plain search through every pattern finds.
#[test]
fn bounds_hold_against_every_pattern_of_small_floors() {
    let mut looked = 0;
    for (long, short) in [(3, 2), (4, 3), (5, 2), (5, 3)] {
        for x in 5..12 {
            for y in 5..=x.min(9) {
                let p = problem([x, y], long, short);
                let most = brute(p);
                assert!(bound(p) >= most, "{p:?}: {} under {most}", bound(p));
                let got = patterns(&Ask::new(
                    mm([x as f64 * 10.0, y as f64 * 10.0]),
                    mm([long as f64 * 10.0, short as f64 * 10.0]),
                ));
                let got = got.unwrap();
                assert_eq!(got.count as i64, most, "{p:?}");
                assert!(got.proved, "{p:?}");
                looked += 1;
            }
        }
    }
    assert!(looked > 80, "{looked}");
}

/// Fills cell by cell in reading order; no cleverness to share a fault with.
fn brute(p: Problem) -> i64 {
    fn go(
        cells: &mut [bool],
        at: usize,
        [x, y]: [usize; 2],
        case: [usize; 2],
        best: &mut i64,
        n: i64,
    ) {
        *best = (*best).max(n);
        let Some(free) = (at..x * y).find(|c| !cells[*c]) else {
            return;
        };
        let left = cells[free..].iter().filter(|c| !**c).count();
        if n + (left / (case[0] * case[1])) as i64 <= *best {
            return;
        }
        let (cx, cy) = (free % x, free / x);
        for [w, h] in [case, [case[1], case[0]]] {
            let spots = |w: usize, h: usize| {
                (cy..cy + h).flat_map(move |r| (cx..cx + w).map(move |c| r * x + c))
            };
            if cx + w <= x && cy + h <= y && spots(w, h).all(|c| !cells[c]) {
                spots(w, h).for_each(|c| cells[c] = true);
                go(cells, free, [x, y], case, best, n + 1);
                spots(w, h).for_each(|c| cells[c] = false);
            }
        }
        cells[free] = true;
        go(cells, free, [x, y], case, best, n);
        cells[free] = false;
    }
    let floor = p.floor.map(|v| v as usize);
    let mut best = 0;
    let mut cells = vec![false; floor[0] * floor[1]];
    let case = [p.long as usize, p.short as usize];
    go(&mut cells, 0, floor, case, &mut best, 0);
    best
}

#[test]
fn the_verifier_finds_each_planted_fault() {
    let ok = [[0, 0, 4, 3], [4, 0, 3, 4], [0, 3, 4, 3]];
    assert_eq!(prove([7, 6], [4, 3], &ok), Ok(()));
    assert_eq!(prove([6, 6], [4, 3], &ok), Err(Fault::Outside(1)));
    let mut bad = ok;
    bad[2] = [0, 2, 4, 3];
    assert_eq!(prove([7, 6], [4, 3], &bad), Err(Fault::Overlap(0, 2)));
    bad[2] = [0, 3, 4, 2];
    assert_eq!(prove([7, 6], [4, 3], &bad), Err(Fault::Size(2)));
    bad[2] = [-1, 3, 4, 3];
    assert_eq!(prove([7, 6], [4, 3], &bad), Err(Fault::Outside(2)));
}

#[test]
fn what_a_layer_stands_on_is_measured() {
    let lower = [[0, 0, 400_000, 300_000], [400_000, 0, 400_000, 300_000]];
    let same = standing(&lower, &lower);
    assert_eq!((same.corners, same.walls, same.area), (1.0, 1.0, 1.0));
    assert_eq!(same.bridging, 0.0);
    // One case over the joint: no corner on a corner; of its 1400 mm of wall the two long sides of
    // 400 mm stand on walls, the two short ones on flaps.
    let over = standing(&[[200_000, 0, 400_000, 300_000]], &lower);
    assert_eq!((over.corners, over.bridging, over.area), (0.0, 1.0, 1.0));
    assert!(
        (over.walls - 800.0 / 1400.0).abs() < 1e-12,
        "{}",
        over.walls
    );
    // Half beside: half the area is held.
    let out = standing(&[[600_000, 0, 400_000, 300_000]], &lower);
    assert!((out.area - 0.5).abs() < 1e-12);
}

fn base() -> Base {
    read_tables(&[Shipped.table("loads").unwrap()])
        .unwrap()
        .pallet("1200x800")
        .unwrap()
        .value
        .clone()
}

fn carton(outside: [f64; 3], kg: f64) -> Carton {
    Carton {
        outside: outside.map(Length::mm),
        mass: Mass::kg(kg),
        down: Down::Bottom,
    }
}

#[test]
fn a_load_keeps_to_height_mass_and_number() {
    let c = carton([400.0, 300.0, 250.0], 10.0);
    let mut rules = Rules::up_to(Length::mm(1400.0));
    let get = |rules: &Rules| loads(&base(), &c, rules).unwrap().remove(0);
    // 1400 - 144 = 1256 mm holds five layers of 250 mm with eight cases each.
    let l = get(&rules);
    assert_eq!((l.layers, l.count, l.limit), (5, 40, Limit::Height));
    assert_eq!(l.height, Length::mm(144.0 + 1250.0));
    assert_eq!(
        (l.load_mass, l.gross_mass),
        (Mass::kg(400.0), Mass::kg(425.0))
    );
    assert_eq!(l.overhang, [Length::ZERO; 4]);
    // Centre: cases at 144 + 625 mm, base at 72 mm.
    let z = (400.0 * 769.0 + 25.0 * 72.0) / 425.0;
    assert!((l.centre[2].to_mm() - z).abs() < 1e-9);
    assert!((l.centre[0].to_mm() - 600.0).abs() < 1e-9);
    rules.mass = Some(Mass::kg(25.0 + 275.0));
    let l = get(&rules);
    assert_eq!((l.layers, l.count, l.limit), (3, 24, Limit::Mass));
    rules.part_layer = true;
    let l = get(&rules);
    assert_eq!((l.layers, l.count), (4, 27));
    assert_eq!(l.layer_at(3).len(), 3);
    rules.wanted = Some(10);
    let l = get(&rules);
    assert_eq!((l.layers, l.count, l.limit), (2, 10, Limit::Wanted));
    assert_eq!(l.bases_for(21), 3);
    let heavy = carton([400.0, 300.0, 250.0], 100.0);
    let l = loads(&base(), &heavy, &Rules::up_to(Length::mm(1400.0))).unwrap();
    assert_eq!((l[0].count, l[0].limit), (8, Limit::SafeLoad));
}

#[test]
fn overhang_holds_more_and_is_told() {
    let c = carton([410.0, 310.0, 250.0], 5.0);
    let mut rules = Rules::up_to(Length::mm(500.0));
    let plain = loads(&base(), &c, &rules).unwrap().remove(0);
    rules.overhang = mm([20.0, 20.0]);
    let over = loads(&base(), &c, &rules).unwrap().remove(0);
    // 3 x 410 = 1230 and 2 x 410 = 820: eight cases, 15 and 10 mm past the base.
    assert!(plain.count < over.count, "{} {}", plain.count, over.count);
    assert_eq!(over.count, 8);
    let most = over.overhang.iter().map(|o| o.to_mm()).fold(0.0, f64::max);
    assert!(most > 0.0 && most <= 20.0, "{most}");
    assert!(over.footprint()[0] > over.base.plan[0]);
    assert!(plain.overhang.iter().all(|o| *o <= Length::ZERO));
}

#[test]
fn interlocked_layers_stand_on_fewer_corners_than_columns() {
    let c = carton([387.0, 263.0, 210.0], 5.0);
    let all = loads(&base(), &c, &Rules::up_to(Length::mm(1200.0))).unwrap();
    let of = |a| all.iter().find(|l| l.arrangement == a).unwrap();
    let (column, inter) = (of(Arrangement::Column), of(Arrangement::Interlocked));
    assert_eq!(column.count, inter.count);
    let share = |l: &Load| l.standing.unwrap().corners;
    assert_eq!(share(column), 1.0);
    assert!(share(inter) < 0.7, "{}", share(inter));
    let placed = |layer: &[Spot]| -> Vec<Placed> {
        let um = |l: Length| (l.to_mm() * 1000.0).round() as i64;
        let each = layer
            .iter()
            .map(|s| [s.x, s.y, s.along_x, s.along_y].map(um));
        each.collect()
    };
    assert_eq!(
        prove(
            [1_200_000, 800_000],
            [387_000, 263_000],
            &placed(&inter.between)
        ),
        Ok(())
    );
    // Whole rows of equal cases mirror onto themselves: nothing to interlock.
    let c = carton([400.0, 400.0, 210.0], 5.0);
    let all = loads(&base(), &c, &Rules::up_to(Length::mm(1200.0))).unwrap();
    assert!(all.iter().all(|l| l.arrangement == Arrangement::Column));
}

#[test]
fn a_case_on_any_side_is_tried_on_three() {
    let mut c = carton([400.0, 300.0, 200.0], 1.0);
    c.down = Down::Any;
    let rules = Rules {
        arrangements: vec![Arrangement::Column],
        ..Rules::up_to(Length::mm(144.0 + 600.0))
    };
    let all = loads(&base(), &c, &rules).unwrap();
    assert_eq!(all.len(), 3);
    // 200 up: 3 x 8; 300 up: 2 x 12; 400 up: 1 x 16.
    assert_eq!(
        all.iter().map(|l| l.count).collect::<Vec<_>>(),
        [24, 24, 16]
    );
}

#[test]
fn what_cannot_be_is_refused() {
    let code = |ask: Ask| patterns(&ask).unwrap_err().code;
    assert_eq!(
        code(Ask::new(mm([0.0, 800.0]), mm([400.0, 300.0]))),
        "bad-size"
    );
    assert_eq!(
        code(Ask::new(mm([1200.0, f64::NAN]), mm([400.0, 300.0]))),
        "bad-size"
    );
    assert_eq!(
        code(Ask::new(mm([1200.0, 800.0]), mm([-4.0, 300.0]))),
        "bad-size"
    );
    assert_eq!(
        code(Ask::new(mm([12_000.0, 8000.0]), mm([4.0, 3.0]))),
        "too-many"
    );
    let none = patterns(&Ask::new(mm([1200.0, 800.0]), mm([1300.0, 300.0]))).unwrap();
    assert_eq!((none.count, none.proved, none.patterns.len()), (0, true, 0));
    let none = loads(
        &base(),
        &carton([400.0, 300.0, 2000.0], 1.0),
        &Rules::up_to(Length::mm(1200.0)),
    );
    assert!(none.unwrap().is_empty());
    let low = loads(
        &base(),
        &carton([400.0, 300.0, 200.0], 1.0),
        &Rules::up_to(Length::mm(100.0)),
    );
    assert!(low.unwrap().is_empty());
    let bad = loads(
        &base(),
        &carton([400.0, 300.0, 200.0], -1.0),
        &Rules::up_to(Length::mm(900.0)),
    );
    assert_eq!(bad.unwrap_err().code, "bad-mass");
}

#[test]
fn the_shipped_table_reads_and_every_figure_has_its_origin() {
    let t = read_tables(&[Shipped.table("loads").unwrap()]).unwrap();
    assert!(t.pallets.len() >= 8 && t.rooms.len() >= 6);
    for p in &t.pallets {
        let figures = ["plan", "height", "mass"]
            .iter()
            .all(|f| p.origin(f).is_some());
        assert!(figures, "{}", p.value.name);
        assert_eq!(p.value.safe_load.is_some(), p.origin("safe-load").is_some());
    }
    for r in &t.rooms {
        assert!(r.origin("inside").is_some() && r.origin("height").is_some());
    }
    // Heights of containers: outside less 241 mm (ISO 668, memory).
    assert_eq!(
        t.room("20-ft").unwrap().value.inside[2],
        Length::mm(2591.0 - 241.0)
    );
}

#[test]
fn a_table_is_told_its_faults_at_their_place() {
    let good = r#"pallet "mine" {
    title "own"
    plan "800mm" "600mm" from="measured: own"
    height "120mm" from="measured: own"
    mass "9kg" from="measured: own"
}"#;
    let read = |text: &str| {
        read_tables(&[Text {
            name: "own.kdl".into(),
            text: text.into(),
        }])
    };
    assert!(read(good).is_ok());
    for (old, new, code, under) in [
        ("\"800mm\"", "\"800\"", "wrong-kind", "800"),
        ("\"800mm\"", "\"8mm\"", "out-of-range", "8mm"),
        ("9kg", "9mm", "wrong-kind", "9mm"),
        ("measured: own\"\n}", "own\"\n}", "bad-origin", "own"),
        ("title", "titel", "unknown-word", "titel"),
        ("pallet", "palet", "unknown-word", "palet"),
        (" \"600mm\"", "", "missing", "plan"),
        (
            "    height \"120mm\" from=\"measured: own\"\n",
            "",
            "missing",
            "pallet",
        ),
        ("\"mine\"", "\"\"", "bad-name", ""),
    ] {
        let text = good.replacen(old, new, 1);
        assert_ne!(text, good);
        let diags = read(&text).unwrap_err();
        let d = diags.iter().find(|d| d.code == code);
        let d = d.unwrap_or_else(|| panic!("{new}: {diags:#?}"));
        let place = d.place.as_ref().unwrap();
        assert!(text[place.start..place.end].contains(under), "{new}: {d:?}");
    }
    assert_eq!(read("").unwrap_err()[0].code, "missing");
    // A user's own entry takes the place of a shipped one.
    let own = good.replace("mine", "1200x800");
    let texts = [
        Shipped.table("loads").unwrap(),
        Text {
            name: "own.kdl".into(),
            text: own,
        },
    ];
    let t = read_tables(&texts).unwrap();
    assert_eq!(t.pallet("1200x800").unwrap().value.plan, mm([800.0, 600.0]));
}
