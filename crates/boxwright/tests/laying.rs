//! Mixed parts laid on strips, sheets and off-cuts: small cases whose answer is known.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops on what cannot be"
)]

use boxwright::sheet::search::{
    Bin, Found, Kind, Problem, Refused, Strip, Watch, better, exact, search, strip,
};
use boxwright::sheet::{Shape, Spot, Turn};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::ShapeType;
use i_overlay::core::relate::PredicateOverlay;
use i_overlay::i_float::int::point::IntPoint;
use proptest::prelude::*;

const MM: i64 = 1000;

/// Ends a search after so many moves, and sees that what it is told only gets better.
struct Moves {
    most: u64,
    last: Option<Found>,
    told: usize,
}

impl Watch for Moves {
    #[allow(clippy::cast_precision_loss, reason = "small")]
    fn spent(&mut self, moves: u64) -> f64 {
        moves as f64 / self.most as f64
    }
    fn better(&mut self, found: &Found) {
        if let Some(last) = &self.last {
            assert!(better(found, last));
        }
        self.last = Some(found.clone());
        self.told += 1;
    }
}

fn moves(most: u64) -> Moves {
    Moves {
        most,
        last: None,
        told: 0,
    }
}

fn kind(shape: Shape, turns: &[Turn], wanted: u32) -> Kind {
    Kind {
        shape,
        turns: turns.to_vec(),
        wanted,
    }
}

fn mm(width: i64, height: i64) -> Shape {
    Shape::rect(width * MM, height * MM)
}

fn ring(points: &[(i64, i64)]) -> Vec<Spot> {
    points
        .iter()
        .map(|(x, y)| Spot::new(x * MM, y * MM))
        .collect()
}

fn outline(points: &[(i64, i64)]) -> Shape {
    Shape {
        outer: ring(points),
        holes: Vec::new(),
    }
}

fn bin(shape: Shape, count: u32, cost: f64) -> Bin {
    Bin { shape, count, cost }
}

const HALF: [Turn; 2] = [Turn::None, Turn::Half];

/// Whether insides meet, by the overlay library alone.
fn meet(a: &Shape, b: &Shape) -> bool {
    let rings = |s: &Shape| -> Vec<Vec<IntPoint<i64>>> {
        s.rings()
            .map(|r| r.iter().map(|p| IntPoint::new(p.x, p.y)).collect())
            .collect()
    };
    let (a, b) = (rings(a), rings(b));
    let mut o = PredicateOverlay::<i64>::new(64);
    o.fill_rule = FillRule::NonZero;
    o.add_source(&a, ShapeType::Subject);
    o.add_source(&b, ShapeType::Clip);
    o.interiors_intersect()
}

fn proved(problem: &Problem, found: &Found) {
    found.checked(problem).unwrap();
    let mut laid = vec![0; problem.kinds.len()];
    for used in &found.sheets {
        assert!(!used.placed.is_empty());
        let shapes: Vec<Shape> = used
            .placed
            .iter()
            .map(|p| {
                laid[p.kind] += 1;
                problem.kinds[p.kind].shape.turned(p.turn).moved(p.at)
            })
            .collect();
        for (i, a) in shapes.iter().enumerate() {
            assert!(shapes[..i].iter().all(|b| !meet(a, b)), "parts overlap");
        }
    }
    for (k, n) in laid.iter().enumerate() {
        assert_eq!(n + found.left[k], problem.kinds[k].wanted);
    }
}

fn laid(problem: &Problem, most: u64) -> Found {
    let found = search(problem, None, 1, &mut moves(most)).unwrap();
    proved(problem, &found);
    found
}

fn strip_of(kinds: &[Kind], height: i64, most: u64) -> Strip {
    let s = strip(kinds, height, 1, &mut moves(most)).unwrap();
    let problem = Problem {
        kinds: kinds.to_vec(),
        sheets: vec![bin(Shape::rect(s.length, height), 1, 1.0)],
    };
    let found = Found::of(
        &problem,
        vec![boxwright::sheet::search::Used {
            bin: 0,
            placed: s.placed.clone(),
        }],
    );
    proved(&problem, &found);
    assert!(found.left.iter().all(|n| *n == 0));
    s
}

#[test]
fn what_fits_exactly_is_laid_exactly() {
    // Four blanks of 1035 x 350 mm stand in 1400 mm with nothing to spare: two columns.
    let s = strip_of(&[kind(mm(1035, 350), &HALF, 8)], 1400 * MM, 200);
    assert_eq!(s.length, 2070 * MM);
    // As a sheet of that very size.
    let problem = Problem {
        kinds: vec![kind(mm(1035, 350), &HALF, 8)],
        sheets: vec![bin(mm(2070, 1400), 1, 1.0)],
    };
    assert_eq!(laid(&problem, 200).left, [0]);
}

#[test]
fn five_unlike_rectangles_fill_a_square() {
    // Derived: 60x40, 40x60, 60x40, 40x60 wind round 20x20 in a square of 100.
    let problem = Problem {
        kinds: vec![
            kind(mm(60, 40), &Turn::ALL, 4),
            kind(mm(20, 20), &Turn::ALL, 1),
        ],
        sheets: vec![bin(mm(100, 100), 1, 1.0)],
    };
    assert_eq!(laid(&problem, 20_000).left, [0, 0]);
}

#[test]
fn two_steps_interlock_in_a_strip() {
    // Derived: two L of three 100 mm squares fill 300 x 200.
    let l = outline(&[
        (0, 0),
        (200, 0),
        (200, 100),
        (100, 100),
        (100, 200),
        (0, 200),
    ]);
    let s = strip_of(&[kind(l, &HALF, 4)], 200 * MM, 5_000);
    assert_eq!(s.length, 600 * MM);
}

#[test]
fn parts_lie_in_the_window_of_another() {
    let mut hole = ring(&[(50, 50), (350, 50), (350, 250), (50, 250)]);
    hole.reverse();
    let frame = Shape {
        outer: ring(&[(0, 0), (400, 0), (400, 300), (0, 300)]),
        holes: vec![hole],
    };
    let problem = Problem {
        kinds: vec![kind(frame, &HALF, 1), kind(mm(140, 190), &HALF, 2)],
        sheets: vec![bin(mm(400, 300), 1, 1.0)],
    };
    assert_eq!(laid(&problem, 2_000).left, [0, 0]);
}

#[test]
fn an_off_cut_with_a_notch_is_filled_round_the_notch() {
    // The arms are just as broad as the parts.
    let l = outline(&[
        (0, 0),
        (500, 0),
        (500, 100),
        (100, 100),
        (100, 400),
        (0, 400),
    ]);
    let problem = Problem {
        kinds: vec![kind(mm(100, 100), &[Turn::None], 9)],
        sheets: vec![bin(l, 1, 0.0)],
    };
    let found = laid(&problem, 2_000);
    assert_eq!(found.left, [1]);
}

#[test]
fn a_sheet_with_a_hole_and_a_slanted_side() {
    let shape = Shape {
        outer: ring(&[(0, 0), (600, 0), (400, 400), (0, 400)]),
        holes: vec![ring(&[(100, 150), (100, 250), (200, 250), (200, 150)])],
    };
    let problem = Problem {
        kinds: vec![kind(mm(180, 140), &HALF, 20)],
        sheets: vec![bin(shape, 1, 1.0)],
    };
    let found = laid(&problem, 3_000);
    assert!(found.left[0] <= 16, "{:?}", found.left);
}

#[test]
fn the_cheapest_sheets_that_do_are_used() {
    // Two small sheets at 2 hold what one large one at 5 does.
    let kinds = vec![kind(mm(400, 300), &HALF, 8)];
    let problem = Problem {
        kinds: kinds.clone(),
        sheets: vec![bin(mm(1600, 600), 9, 5.0), bin(mm(800, 600), 9, 2.0)],
    };
    let found = laid(&problem, 2_000);
    assert_eq!(found.cost, 4.0);
    // With one small sheet only, the large one is the cheapest.
    let problem = Problem {
        kinds,
        sheets: vec![bin(mm(1600, 600), 9, 5.0), bin(mm(800, 600), 1, 2.0)],
    };
    let found = laid(&problem, 4_000);
    assert_eq!(found.left, [0]);
    assert_eq!(found.cost, 5.0);
}

#[test]
fn what_finds_no_place_is_counted() {
    let problem = Problem {
        kinds: vec![
            kind(mm(400, 300), &HALF, 10),
            kind(mm(5000, 10), &Turn::ALL, 3),
            kind(mm(10, 10), &HALF, 0),
        ],
        sheets: vec![bin(mm(800, 600), 2, 1.0)],
    };
    let found = laid(&problem, 2_000);
    assert_eq!(found.left, [2, 3, 0]);
    assert_eq!(found.cost, 2.0);
    let none = Problem {
        sheets: Vec::new(),
        ..problem
    };
    assert_eq!(laid(&none, 100).left, [10, 3, 0]);
}

#[test]
fn the_off_cut_is_pressed_large() {
    // Derived: three 300 x 200 beside one another stand in 600 x 200 + 300 x 200; the least
    // breadth over the whole height of 400 is 600.
    let problem = Problem {
        kinds: vec![kind(mm(300, 200), &HALF, 3)],
        sheets: vec![bin(mm(2000, 400), 1, 1.0)],
    };
    let found = laid(&problem, 500);
    assert!((found.off_cut - 1400.0 * 400.0).abs() < 1e-6);
}

#[test]
fn a_layout_to_begin_with_is_kept_or_bettered_and_checked() {
    let problem = Problem {
        kinds: vec![kind(mm(300, 200), &HALF, 6)],
        sheets: vec![bin(mm(600, 600), 1, 1.0)],
    };
    let first = laid(&problem, 500);
    let again = search(&problem, Some(&first), 2, &mut moves(100)).unwrap();
    assert!(!better(&first, &again));
    let mut bad = first;
    bad.sheets[0].placed[0].at.x += 1;
    let why = search(&problem, Some(&bad), 2, &mut moves(100)).unwrap_err();
    assert!(matches!(why, Refused::Start { .. }), "{why:?}");
}

#[test]
fn what_cannot_be_used_is_refused() {
    let with = |shape: Shape| {
        let problem = Problem {
            kinds: vec![kind(shape, &HALF, 1)],
            sheets: vec![bin(mm(100, 100), 1, 1.0)],
        };
        search(&problem, None, 1, &mut moves(100))
    };
    let mut clockwise = mm(10, 10);
    clockwise.outer.reverse();
    for shape in [
        Shape::default(),
        outline(&[(0, 0), (10, 10)]),
        outline(&[(0, 0), (10, 0), (20, 0)]),
        clockwise,
        mm(20_000, 10),
    ] {
        assert!(matches!(
            with(shape),
            Err(Refused::Shape {
                sheet: false,
                index: 0,
                ..
            })
        ));
    }
    assert_eq!(
        strip(&[kind(mm(10, 200), &HALF, 1)], 100 * MM, 1, &mut moves(10)),
        Err(Refused::TooLarge { kind: 0 })
    );
    assert_eq!(
        strip(&[kind(mm(10, 200), &[], 1)], 100 * MM, 1, &mut moves(10)),
        Err(Refused::NoTurn { kind: 0 })
    );
    assert!(
        strip(&[], 100 * MM, 1, &mut moves(10))
            .unwrap()
            .placed
            .is_empty()
    );
    // An empty shape of which none is wanted is in nobody's way.
    let s = strip(
        &[kind(Shape::default(), &HALF, 0), kind(mm(10, 10), &HALF, 1)],
        100 * MM,
        1,
        &mut moves(10),
    );
    assert_eq!(s.unwrap().length, 10 * MM);
}

#[test]
fn rings_that_touch_themselves_do_no_harm() {
    // Two squares that meet in a corner, and a doubled corner.
    let eight = outline(&[
        (0, 0),
        (50, 0),
        (50, 50),
        (100, 50),
        (100, 100),
        (50, 100),
        (50, 50),
        (0, 50),
        (0, 50),
    ]);
    let problem = Problem {
        kinds: vec![kind(eight, &Turn::ALL, 2), kind(mm(50, 50), &HALF, 2)],
        sheets: vec![bin(mm(150, 150), 1, 1.0)],
    };
    laid(&problem, 500);
}

#[test]
fn the_same_seed_gives_the_same_layout() {
    let kinds = vec![
        kind(outline(&[(0, 0), (70, 0), (30, 60)]), &Turn::ALL, 5),
        kind(mm(40, 25), &Turn::ALL, 5),
    ];
    let a = strip_of(&kinds, 150 * MM, 1_000);
    assert_eq!(a, strip_of(&kinds, 150 * MM, 1_000));
}

/// Star-shaped outlines of 3 to 9 corners, some with a window.
fn part() -> impl Strategy<Value = Shape> {
    (
        prop::collection::vec(20_000_i64..90_000, 3..9),
        0_u32..628,
        prop::bool::ANY,
    )
        .prop_map(|(radii, phase, window)| {
            #[allow(
                clippy::cast_precision_loss,
                clippy::cast_possible_truncation,
                reason = "small"
            )]
            let star = |share: f64| -> Vec<Spot> {
                let n = radii.len() as f64;
                radii
                    .iter()
                    .enumerate()
                    .map(|(i, r)| {
                        let a = f64::from(phase) / 100.0 + std::f64::consts::TAU * i as f64 / n;
                        let r = *r as f64 * share;
                        Spot::new((r * a.cos()).round() as i64, (r * a.sin()).round() as i64)
                    })
                    .collect()
            };
            let mut hole = star(0.4);
            hole.reverse();
            Shape {
                outer: star(1.0),
                holes: if window { vec![hole] } else { Vec::new() },
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn nothing_overlaps_whatever_is_laid(
        parts in prop::collection::vec((part(), 1_u32..4), 1..6),
        width in 150_i64..500,
        notch in 0_i64..100,
        seed in 0_u64..1000,
    ) {
        let kinds: Vec<Kind> = parts.into_iter().map(|(s, n)| kind(s, &Turn::ALL, n)).collect();
        let sheet = outline(&[
            (0, 0), (width, 0), (width, 300), (width - notch, 300), (width - notch, 300 - notch / 2),
            (0, 300 - notch / 3),
        ]);
        let sheet = if notch == 0 { mm(width, 300) } else { sheet };
        let problem = Problem {
            kinds: kinds.clone(),
            sheets: vec![bin(sheet, 2, 1.0), bin(mm(260, 200), 1, 0.3)],
        };
        let found = search(&problem, None, seed, &mut moves(300)).unwrap();
        proved(&problem, &found);
        strip_of(&kinds, 200 * MM, 300);
    }

    #[test]
    fn the_exact_check_agrees_with_the_overlay_library(
        a in part(), b in part(), x in -150_000_i64..150_000, y in -150_000_i64..150_000,
    ) {
        let b = b.moved(Spot::new(x, y));
        prop_assert_eq!(exact::overlap(&a, &b), meet(&a, &b));
    }
}
