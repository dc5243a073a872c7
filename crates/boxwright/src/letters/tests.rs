use super::*;
use proptest::prelude::*;

const PLAIN: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789\
    .,:;!?-–—_'\"’‘”“„«»()[]/\\|+±×=<>~*#%&@°·²³½€£µßÆæŒœØøÞþÐðŁł¡¿";

fn size(text: &str) -> DVec2 {
    written(text, Length::mm(100.0)).unwrap().bounds.size()
}

#[test]
fn every_letter_has_a_shape_within_its_lines() {
    let accented = accents::all().map(|(c, _)| c);
    for c in PLAIN.chars().chain(accented) {
        let paths = shape(c).unwrap_or_else(|| panic!("no `{c}`"));
        let b = paths.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
        assert!(b.min.y >= -31.0 && b.max.y <= 133.0, "`{c}`: {b:?}");
        assert!(b.min.x >= -18.0 && b.max.x <= 105.0, "`{c}`: {b:?}");
        assert!(paths.iter().all(|p| p.length() > 10.0), "`{c}`");
        assert!(known(c));
    }
}

#[test]
fn an_accented_letter_is_its_plain_one_with_more_over_or_under_it() {
    for (c, plain) in accents::all() {
        let (own, bare) = (shape(c).unwrap(), shape(plain).unwrap());
        assert_eq!(own[..bare.len()], bare[..], "`{c}`");
        let all = |p: &[Path]| p.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
        let (a, b) = (all(&own[bare.len()..]), all(&bare));
        assert!(
            a.min.y > b.max.y + 8.0 || a.max.y < b.min.y + 2.0,
            "`{c}`: {a:?} {b:?}"
        );
    }
}

#[test]
fn no_two_letters_look_alike() {
    let all: Vec<char> = PLAIN.chars().filter(|c| c.is_alphanumeric()).collect();
    for (i, a) in all.iter().enumerate() {
        for b in &all[i + 1..] {
            assert_ne!(shape(*a), shape(*b), "`{a}` and `{b}`");
        }
    }
}

// A capital is as high as asked; round and straight ones alike.
#[test]
fn capitals_and_figures_are_as_high_as_asked() {
    for c in "ABCDEFGHIJKLMNOPRSTUVWXYZ0123456789".chars() {
        let h = size(&c.to_string()).y;
        assert!((h - 100.0).abs() < 0.2, "`{c}`: {h}");
    }
    let at_5 = written("H", Length::mm(5.0)).unwrap().bounds.size().y;
    assert!((at_5 - 5.0).abs() < 1e-12);
}

#[test]
fn a_missing_letter_is_named() {
    assert_eq!(written("CLOCK \u{4e2d}", Length::mm(5.0)), Err('\u{4e2d}'));
    assert_eq!(written("a\tb", Length::mm(5.0)), Err('\t'));
}

#[test]
fn nothing_to_write_is_no_stroke() {
    for text in ["", "  ", "\n\n"] {
        assert!(written(text, Length::mm(5.0)).unwrap().paths.is_empty());
    }
}

// Slanted letters move together: AV stands nearer than HH would with the same widths.
#[test]
fn letters_are_spaced_by_their_shapes() {
    let apart = |a: &str, b: &str| size(&format!("{a}{b}")).x - size(a).x - size(b).x;
    assert!(apart("A", "V") < apart("H", "H") - 15.0);
    assert!(apart("L", "T") < apart("H", "H") - 15.0);
    assert!(apart("O", "O") < apart("H", "H"));
    assert!(apart("H", "H") > 20.0);
}

#[test]
fn lines_stand_below_each_other_and_centred() {
    let two = written("HHHH\nH", Length::mm(100.0)).unwrap();
    assert!((two.bounds.size().y - 265.0).abs() < 1e-9);
    let low: Vec<_> = two
        .paths
        .iter()
        .filter(|p| p.bounds().max.y < 101.0)
        .collect();
    let own = low.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
    assert!((own.centre().x - two.bounds.centre().x).abs() < 1e-9);
}

#[test]
fn signs_are_as_high_as_asked_and_stand_upright() {
    for sign in Sign::ALL {
        let s = sign.drawn(Length::mm(100.0));
        assert!((s.bounds.size().y - 100.0).abs() < 1e-9, "{sign:?}");
        let wide = s.bounds.size().x;
        assert!((50.0..=100.0).contains(&wide), "{sign:?}: {wide}");
        // Each is the same on both sides but for its crack, its hook or the lie of its drops.
        assert!(s.paths.len() >= 2);
    }
    // The arrows point up: their widest part lies above the middle, the bar below.
    let s = Sign::ThisWayUp.drawn(Length::mm(100.0));
    assert!(s.paths[2].bounds().max.y < s.paths[0].bounds().min.y);
    let head = |y: f64| {
        let at = s.paths[0]
            .vertices
            .iter()
            .filter(|v| (v.at.y - y).abs() < 1e-9);
        at.map(|v| v.at.x)
            .fold(Rect::EMPTY, |r, x| r.with(DVec2::new(x, 0.0)))
            .size()
            .x
    };
    assert!(head(66.0) > head(22.0));
}

proptest! {
    // Letters never run into each other: each stays at its distance from the one before it.
    #[test]
    fn neighbours_keep_apart(text in proptest::sample::select(
        PLAIN.chars().filter(|c| c.is_alphanumeric()).collect::<Vec<_>>()
    ), next in proptest::sample::select(
        PLAIN.chars().filter(|c| c.is_alphanumeric()).collect::<Vec<_>>()
    )) {
        let (a, b) = (shape(text).unwrap(), shape(next).unwrap());
        let by = spacing::step(&spacing::Sides::of(&a), &spacing::Sides::of(&b));
        let points = |p: &[Path]| p.iter().flat_map(|p| p.flattened(0.05)).collect::<Vec<_>>();
        let shift = DVec2::new(by, 0.0);
        for p in points(&a) {
            for q in points(&b) {
                prop_assert!(p.distance(q + shift) > 9.0, "{}{}", text, next);
            }
        }
    }
}
