//! Ranges of case sizes against every choice tried by hand, and the rules any range must keep.

#![allow(
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    reason = "a test stops by panicking; counts are small"
)]

use boxwright::proof::Dice;
use boxwright::suite::{
    Asked, Charged, Gather, Gathering, History, PlainSlotted, Price, Progress, Quadratic, Ranges,
    Room, Unserved, Unwatched, Watch, Wrong, choose,
};
use boxwright::units::{Length, Mass};

type Thing = ([f64; 3], f64, u64);

fn things(seed: u64, n: usize) -> Vec<Thing> {
    let mut dice = Dice(seed);
    let one = |_| {
        let l = dice.stretched(60.0, 500.0).round();
        let w = (l * dice.between(0.3, 1.0)).round();
        let h = (w * dice.between(0.1, 1.0)).ceil();
        let kg = (l * w * h * 4e-5).round() / 100.0;
        ([l, w, h], kg, 1 + dice.below(30) as u64)
    };
    (0..n).map(one).collect()
}

fn gathered(things: &[Thing], how: Gathering) -> History {
    let mut gather = Gather::new(how);
    for (size, kg, count) in things {
        let size = size.map(Length::mm);
        gather.push(size, Mass::kg(*kg), *count).unwrap();
    }
    gather.finish()
}

fn coarse_grid(mm: f64) -> Gathering {
    Gathering {
        grid: Length::mm(mm),
        ..Gathering::default()
    }
}

fn ranges(history: &History, price: &dyn Price, asked: &Asked) -> Ranges {
    choose(history, price, asked, &mut Unwatched).unwrap()
}

/// The least cost over every choice of `k` cases out of all triples of distinct sizes.
fn by_hand(things: &[Thing], grid: f64, price: &dyn Price, k: usize, kept: &[[f64; 3]]) -> f64 {
    let up = |v: f64| (v / grid).ceil() * grid;
    let needs: Vec<([f64; 3], f64, u64)> = things
        .iter()
        .map(|(s, kg, n)| {
            let mut s = s.map(up);
            s.sort_by(|a, b| b.total_cmp(a));
            (s, *kg, *n)
        })
        .collect();
    let values = [0, 1, 2].map(|d| {
        let mut v: Vec<f64> = needs.iter().map(|n| n.0[d]).collect();
        v.sort_by(f64::total_cmp);
        v.dedup();
        v
    });
    let column = |case: [f64; 3]| -> Vec<f64> {
        let cost = |(s, kg, n): &([f64; 3], f64, u64)| {
            let fits = (0..3).all(|d| s[d] <= case[d]);
            let c = price.cost(case.map(Length::mm), Mass::kg(*kg)) * *n as f64;
            if fits { c } else { f64::INFINITY }
        };
        needs.iter().map(cost).collect()
    };
    let mut cases = Vec::new();
    for l in &values[0] {
        for w in &values[1] {
            for h in &values[2] {
                let case = [*l, *w, *h];
                let at_least_one = needs.iter().any(|n| (0..3).all(|d| n.0[d] <= case[d]));
                if l >= w && w >= h && at_least_one {
                    cases.push(column(case));
                }
            }
        }
    }
    let mut base = vec![f64::INFINITY; needs.len()];
    for k in kept {
        for (b, c) in base.iter_mut().zip(column(*k)) {
            *b = b.min(c);
        }
    }
    fn best(cases: &[Vec<f64>], from: usize, k: usize, so_far: &[f64]) -> f64 {
        let mut least: f64 = so_far.iter().sum();
        if k == 0 {
            return least;
        }
        for (n, case) in cases.iter().enumerate().skip(from) {
            let next: Vec<f64> = so_far.iter().zip(case).map(|(a, b)| a.min(*b)).collect();
            least = least.min(best(cases, n + 1, k - 1, &next));
        }
        least
    }
    best(&cases, 0, k - kept.len(), &base)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-7 * a.abs().max(b.abs())
}

#[test]
fn every_choice_by_hand_is_no_better() {
    let prices: [&dyn Price; 2] = [&Room, &PlainSlotted];
    for seed in 0..12 {
        let things = things(seed, 9);
        for price in prices {
            let history = gathered(&things, coarse_grid(60.0));
            let asked = Asked {
                sizes: 3,
                up_to: 3,
                ..Asked::default()
            };
            let found = ranges(&history, price, &asked);
            for r in &found.by_sizes {
                let wanted = by_hand(&things, 60.0, price, r.sizes, &[]);
                assert!(near(r.cost, wanted), "{seed} {}: {r:?} {wanted}", r.sizes);
                assert!(r.proved, "{seed} {r:?}");
            }
        }
    }
}

#[test]
fn freight_with_masses_is_best_too() {
    let price = Charged {
        walls: [6.0, 6.0, 12.0].map(Length::mm),
        divisor: 5000.0,
        step: Mass::kg(0.5),
    };
    for seed in 20..28 {
        let things = things(seed, 9);
        let how = Gathering {
            mass_step: Some(Mass::kg(0.5)),
            ..coarse_grid(60.0)
        };
        let history = gathered(&things, how);
        let asked = Asked {
            sizes: 3,
            up_to: 3,
            ..Asked::default()
        };
        for r in &ranges(&history, &price, &asked).by_sizes {
            let wanted = by_hand(&things, 60.0, &price, r.sizes, &[]);
            assert!(near(r.cost, wanted) && r.proved, "{seed}: {r:?} {wanted}");
        }
    }
}

#[test]
fn a_kept_size_stays_and_the_rest_is_best_beside_it() {
    let kept = [[300.0, 240.0, 180.0], [120.0, 120.0, 60.0]];
    for seed in 40..48 {
        let things = things(seed, 9);
        let history = gathered(&things, coarse_grid(60.0));
        let asked = Asked {
            sizes: 4,
            up_to: 4,
            kept: kept.iter().map(|k| k.map(Length::mm)).collect(),
            ..Asked::default()
        };
        let found = ranges(&history, &Room, &asked);
        let r = found.by_sizes.iter().find(|r| r.sizes == 4).unwrap();
        let wanted = by_hand(&things, 60.0, &Room, 4, &kept);
        assert!(near(r.cost, wanted) && r.proved, "{seed}: {r:?} {wanted}");
        for k in kept {
            let same = |c: &boxwright::suite::Chosen| c.kept && c.inside == k.map(Length::mm);
            assert_eq!(r.chosen.iter().filter(|c| same(c)).count(), 1, "{r:?}");
        }
    }
}

/// One size alone decides: the general search, kept from seeing that by one thing across, and the
/// runs of the chain agree with each other and with what is tried by hand.
#[test]
fn nested_things_are_parted_into_the_best_runs() {
    for seed in 60..66 {
        let mut dice = Dice(seed);
        let chain: Vec<Thing> = (0..14)
            .map(|_| {
                let s = dice.between(50.0, 400.0).round();
                ([s, 40.0, 20.0], 0.0, 1 + dice.below(9) as u64)
            })
            .collect();
        let history = gathered(&chain, Gathering::default());
        let asked = Asked {
            sizes: 4,
            up_to: 4,
            ..Asked::default()
        };
        let r = ranges(&history, &Room, &asked).by_sizes.pop().unwrap();
        assert!(r.proved);
        assert!(near(r.cost, by_hand(&chain, 1.0, &Room, 4, &[])));
        // Thin things that go into a case of their own.
        let mut crossed = chain.clone();
        crossed.push(([41.0, 41.0, 1.0], 0.0, 1));
        let history = gathered(&crossed, Gathering::default());
        let r = ranges(&history, &Room, &asked).by_sizes.pop().unwrap();
        assert!(r.proved);
        assert!(near(r.cost, by_hand(&crossed, 1.0, &Room, 4, &[])));
    }
}

#[test]
fn bounds_and_costs_keep_their_order() {
    let things = things(3, 120);
    let history = gathered(&things, coarse_grid(20.0));
    // Little work, so that not all is proved.
    let asked = Asked {
        sizes: 8,
        up_to: 10,
        work: 30_000_000,
        ..Asked::default()
    };
    let found = ranges(&history, &Room, &asked);
    assert_eq!(found.by_sizes.len(), 10);
    for r in &found.by_sizes {
        assert!(r.bound <= r.cost && r.bound > 0.0, "{r:?}");
        assert!(r.chosen.len() <= r.sizes);
        let orders: u64 = r.chosen.iter().map(|c| c.orders).sum();
        assert_eq!(orders, history.orders());
        let cost: f64 = r.chosen.iter().map(|c| c.cost).sum();
        assert!(near(cost, r.cost));
    }
    for two in found.by_sizes.windows(2) {
        assert!(two[1].cost <= two[0].cost && two[1].bound <= two[0].bound);
    }
    // The same again, to the last bit.
    assert_eq!(found, ranges(&history, &Room, &asked));
}

/// Putting kinds together loses something, and never claims what is not so.
#[test]
fn bounds_of_things_put_together_hold_for_the_true_ones() {
    for seed in 80..84 {
        let things = things(seed, 60);
        let history = gathered(&things, coarse_grid(20.0));
        let whole = Asked {
            sizes: 4,
            up_to: 4,
            ..Asked::default()
        };
        let few = Asked {
            kinds: 20,
            ..whole.clone()
        };
        let truth = ranges(&history, &Room, &whole);
        let rough = ranges(&history, &Room, &few);
        assert!(rough.coarse && !truth.coarse && rough.kinds <= 20);
        for (t, r) in truth.by_sizes.iter().zip(&rough.by_sizes) {
            assert!(t.proved, "{t:?}");
            assert!(r.bound <= t.cost * (1.0 + 1e-9), "{r:?} {t:?}");
            assert!(r.cost >= t.cost * (1.0 - 1e-9), "{r:?} {t:?}");
        }
        // A histogram that grew too long is rounded up as well.
        let short = Gathering {
            most: 30,
            ..coarse_grid(20.0)
        };
        let short = gathered(&things, short);
        assert!(short.rounded_to() > Length::mm(20.0) && short.distinct() <= 30);
        let rough = ranges(&short, &Room, &whole);
        let (t, r) = (&truth.by_sizes[3], &rough.by_sizes[3]);
        assert!(r.bound <= t.cost * (1.0 + 1e-9) && r.cost >= t.cost * (1.0 - 1e-9));
    }
}

#[test]
fn limits_are_kept_and_what_is_too_large_is_told() {
    let things = [
        ([100.0, 80.0, 60.0], 0.0, 5),
        ([30.0, 20.0, 10.0], 0.0, 7),
        ([500.0, 80.0, 60.0], 0.0, 2),
    ];
    let how = Gathering {
        clearance: Length::mm(5.0),
        least: [60.0, 50.0, 40.0].map(Length::mm),
        ..Gathering::default()
    };
    let history = gathered(&things, how);
    let mut asked = Asked {
        sizes: 2,
        up_to: 2,
        largest: Some([400.0, 300.0, 200.0].map(Length::mm)),
        ..Asked::default()
    };
    let found = ranges(&history, &Room, &asked);
    assert_eq!(found.too_large, 2);
    let r = found.by_sizes.last().unwrap();
    let inside: Vec<_> = r
        .chosen
        .iter()
        .map(|c| c.inside.map(Length::to_mm))
        .collect();
    assert_eq!(inside, [[60.0, 50.0, 40.0], [110.0, 90.0, 70.0]]);
    asked.largest = Some([20.0; 3].map(Length::mm));
    let none = choose(&history, &Room, &asked, &mut Unwatched);
    assert_eq!(none, Err(Unserved::AllTooLarge));
    asked.sizes = 0;
    assert_eq!(
        choose(&history, &Room, &asked, &mut Unwatched),
        Err(Unserved::Sizes)
    );
}

#[test]
fn upright_things_keep_their_height() {
    let things = [([40.0, 100.0, 300.0], 0.0, 1)];
    let how = Gathering {
        upright: true,
        ..Gathering::default()
    };
    let asked = Asked {
        sizes: 1,
        up_to: 1,
        ..Asked::default()
    };
    let r = ranges(&gathered(&things, how), &Room, &asked);
    let inside = r.by_sizes[0].chosen[0].inside.map(Length::to_mm);
    assert_eq!(inside, [100.0, 40.0, 300.0]);
}

#[test]
fn rows_that_cannot_be_are_refused() {
    let mut g = Gather::new(Gathering::default());
    let mut push = |size: [f64; 3], kg: f64, n: u64| g.push(size.map(Length::mm), Mass::kg(kg), n);
    assert_eq!(push([1.0, 0.0, 1.0], 0.0, 1), Err(Wrong::NotPositive(1)));
    assert_eq!(
        push([1.0, 1.0, f64::NAN], 0.0, 1),
        Err(Wrong::NotPositive(2))
    );
    assert_eq!(
        push([f64::INFINITY, 1.0, 1.0], 0.0, 1),
        Err(Wrong::TooLong(0))
    );
    assert_eq!(push([1.0; 3], -1.0, 1), Err(Wrong::Mass));
    assert_eq!(push([1.0; 3], f64::NAN, 1), Err(Wrong::Mass));
    assert_eq!(push([1.0; 3], 0.0, u64::MAX), Err(Wrong::Count));
    assert_eq!(push([1.0; 3], 0.0, 0), Ok(()));
    let history = g.finish();
    assert_eq!(history.orders(), 0);
    let none = choose(&history, &Room, &Asked::default(), &mut Unwatched);
    assert_eq!(none, Err(Unserved::NoOrders));
}

#[test]
fn rows_may_come_in_any_order_and_in_parts() {
    let things = things(5, 40);
    let whole = gathered(&things, Gathering::default());
    let mut parts = Gather::new(Gathering::default());
    for t in things.chunks(7).rev() {
        let mut g = Gather::new(Gathering::default());
        for (size, kg, n) in t {
            g.push(size.map(Length::mm), Mass::kg(*kg), *n).unwrap();
        }
        parts.merge(g);
    }
    let parts = parts.finish();
    let asked = Asked {
        sizes: 3,
        up_to: 3,
        ..Asked::default()
    };
    assert_eq!(
        whole.filled_litres().to_bits(),
        parts.filled_litres().to_bits()
    );
    assert_eq!(ranges(&whole, &Room, &asked), ranges(&parts, &Room, &asked));
}

/// Volumetric kilograms worked out by hand: 300 x 200 x 100 mm outside are 6000 cm3, so 1.2 kg at
/// 5000 cm3 per kg, charged as 1.5 kg in steps of half a kilogram.
#[test]
fn charged_mass_is_as_worked_out() {
    let price = Charged {
        walls: [10.0, 10.0, 20.0].map(Length::mm),
        divisor: 5000.0,
        step: Mass::kg(0.5),
    };
    let inside = [290.0, 190.0, 80.0].map(Length::mm);
    assert!(near(price.cost(inside, Mass::kg(0.2)), 1.5));
    assert!(near(price.cost(inside, Mass::kg(2.01)), 2.5));
    assert!(near(price.cost(inside, Mass::kg(2.0)), 2.0));
}

#[test]
fn a_polynomial_is_found_again() {
    let mut dice = Dice(9);
    let at = |[l, w, d]: [f64; 3]| 2.0 * (l + w + 7.0) * (w + d + 3.0) * 1e-6;
    let samples: Vec<_> = (0..40)
        .map(|_| {
            let s = [(); 3].map(|()| dice.between(50.0, 600.0));
            (s.map(Length::mm), at(s))
        })
        .collect();
    let q = Quadratic::through(&samples[..20]).unwrap();
    assert!(q.error(&samples) < 1e-10, "{}", q.error(&samples));
    assert!(Quadratic::through(&samples[..9]).is_none());
}

struct Falling;

impl Price for Falling {
    fn cost(&self, inside: [Length; 3], _: Mass) -> f64 {
        1000.0 - inside[0].to_mm()
    }
}

#[test]
fn nothing_is_proved_where_costs_fall() {
    let history = gathered(&things(6, 30), coarse_grid(20.0));
    let asked = Asked {
        sizes: 3,
        up_to: 3,
        ..Asked::default()
    };
    let found = ranges(&history, &Falling, &asked);
    assert!(found.falls);
    assert!(
        found
            .by_sizes
            .iter()
            .filter(|r| r.sizes > 1)
            .all(|r| !r.proved)
    );
}

struct Impatient;

impl Watch for Impatient {
    fn goes_on(&mut self, p: &Progress) -> bool {
        assert!(p.spent > 0 && p.sizes > 0);
        false
    }
}

#[test]
fn a_watch_that_has_had_enough_gets_the_best_so_far() {
    let history = gathered(&things(7, 400), coarse_grid(5.0));
    let asked = Asked {
        sizes: 6,
        up_to: 6,
        ..Asked::default()
    };
    let found = choose(&history, &Room, &asked, &mut Impatient).unwrap();
    assert!(found.stopped);
    let r = found.by_sizes.last().unwrap();
    assert!(r.cost.is_finite() && r.bound <= r.cost);
}
