use proptest::prelude::*;

use super::*;

fn v(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

fn rect(part: usize, x: f64, y: f64, w: f64, h: f64) -> Outline {
    Outline {
        part,
        points: vec![v(x, y), v(x + w, y), v(x + w, y + h), v(x, y + h)],
        closed: true,
    }
}

fn length(c: &Chain) -> f64 {
    let back = if c.closed {
        c.points[0].distance(c.points[c.points.len() - 1])
    } else {
        0.0
    };
    c.points
        .windows(2)
        .map(|w| w[0].distance(w[1]))
        .sum::<f64>()
        + back
}

fn total(c: &Common) -> f64 {
    c.chains.iter().map(length).sum()
}

fn segments(c: &Chain) -> Vec<(DVec2, DVec2)> {
    let all = c.run_from(0);
    all.windows(2).map(|w| (w[0], w[1])).collect()
}

/// How far a point is from a segment.
fn off(p: DVec2, (a, b): (DVec2, DVec2)) -> f64 {
    let along = b - a;
    let at = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    p.distance(a + along * at)
}

#[test]
fn two_parts_that_touch_share_one_line() {
    let got = common(
        &[
            rect(4, 0.0, 0.0, 100.0, 50.0),
            rect(7, 100.0, 0.0, 80.0, 50.0),
        ],
        0.0,
    )
    .unwrap();
    // Around both 460, and 50 between them. Two ends are met by three lines: one stroke does it.
    assert_eq!(got.chains.len(), 1);
    assert!((total(&got) - 510.0).abs() < 1e-9);
    assert!((got.saved - 50.0).abs() < 1e-9);
    assert_eq!(got.chains[0].of, [4, 7]);
    assert!(!got.chains[0].closed);
    assert_eq!(got.shared.len(), 1);
    assert_eq!(got.shared[0].of, [4, 7]);
}

#[test]
fn one_kerf_apart_the_cut_runs_down_the_middle() {
    let kerf = 0.3;
    let parts = [
        rect(0, 0.0, 0.0, 100.0, 50.0),
        rect(1, 100.3, 0.0, 80.0, 50.0),
    ];
    let got = common(&parts, kerf).unwrap();
    assert_eq!(got.shared.len(), 1);
    let line = &got.shared[0];
    for end in [line.a, line.b] {
        assert!((end.x - 100.15).abs() < 1e-9, "{end}");
    }
    // Each moved out by 0.15: 100.3 x 50.3 and 80.3 x 50.3, the side of 50.3 once.
    assert!((got.saved - 50.3).abs() < 1e-9);
    assert!((total(&got) - (2.0 * (100.3 + 80.3) + 3.0 * 50.3)).abs() < 1e-9);
    // Half a kerf beside the line lies the true edge of each.
    assert!((line.a.x - kerf / 2.0 - 100.0).abs() < 1e-9);
    assert!((line.a.x + kerf / 2.0 - 100.3).abs() < 1e-9);
}

#[test]
fn nearer_or_farther_than_a_kerf_the_facing_edges_are_cut_each_for_itself() {
    for gap in [0.0, 0.25, 0.305, 0.6] {
        let parts = [
            rect(0, 0.0, 0.0, 100.0, 50.0),
            rect(1, 100.0 + gap, 0.0, 80.0, 50.0),
        ];
        let got = common(&parts, 0.3).unwrap();
        // Where they are too near the upper and lower cuts run over one another at their ends.
        let over = (0.3_f64 - gap).max(0.0);
        assert!(
            (got.saved - 2.0 * over).abs() < 1e-9,
            "{gap}: {}",
            got.saved
        );
        assert!(got.shared.iter().all(|s| s.a.y == s.b.y), "{gap}");
    }
}

#[test]
fn within_a_micrometre_is_one_line() {
    let parts = [
        rect(0, 0.0, 0.0, 100.0, 50.0),
        rect(1, 100.3009, 0.0004, 80.0, 50.0),
    ];
    let got = common(&parts, 0.3).unwrap();
    assert_eq!(got.shared.len(), 1);
    assert!((got.saved - 50.3).abs() < 0.01);
}

#[test]
fn only_the_stretch_beside_both_is_shared() {
    // The right edge of the first runs from 0 to 100, the left edge of the second from 30 to 150.
    let parts = [
        rect(0, 0.0, 0.0, 100.0, 100.0),
        rect(1, 100.0, 30.0, 60.0, 120.0),
    ];
    let got = common(&parts, 0.0).unwrap();
    assert_eq!(got.shared.len(), 1);
    let (a, b) = (got.shared[0].a, got.shared[0].b);
    assert_eq!((a.min(b), a.max(b)), (v(100.0, 30.0), v(100.0, 100.0)));
    assert!((got.saved - 70.0).abs() < 1e-9);
}

#[test]
fn a_row_of_nine_is_as_few_strokes_as_its_odd_ends_allow() {
    let parts: Vec<Outline> = (0..9)
        .map(|i| {
            rect(
                i,
                f64::from(i as u8 % 3) * 40.0,
                f64::from(i as u8 / 3) * 30.0,
                40.0,
                30.0,
            )
        })
        .collect();
    let got = common(&parts, 0.0).unwrap();
    // A grid of three by three: 8 ends on its rim are met by three lines, the four inside by four.
    assert_eq!(got.chains.len(), 4);
    assert!((total(&got) - (4.0 * 120.0 + 4.0 * 90.0)).abs() < 1e-9);
}

#[test]
fn a_lone_part_is_one_ring_as_drawn() {
    let one = rect(3, 5.0, 5.0, 20.0, 10.0);
    let got = common(std::slice::from_ref(&one), 0.0).unwrap();
    assert_eq!(
        got.chains,
        [Chain {
            points: one.points,
            closed: true,
            of: vec![3]
        }]
    );
    assert_eq!(got.chains[0].task().gates.len(), 4);
    let run = got.chains[0].run_from(2);
    assert_eq!(
        (run[0], run[4], run.len()),
        (v(25.0, 15.0), v(25.0, 15.0), 5)
    );
}

#[test]
fn a_cut_out_is_moved_into_itself() {
    let mut hole = rect(0, 0.0, 0.0, 20.0, 10.0);
    hole.points.reverse();
    let got = common(&[hole], 0.4).unwrap();
    assert!((total(&got) - 2.0 * (19.6 + 9.6)).abs() < 1e-9);
}

#[test]
fn what_cannot_be_is_said() {
    let narrow = Outline {
        part: 0,
        points: vec![v(0.0, 0.0), v(0.1, 0.0), v(0.1, 0.1), v(0.0, 0.1)],
        closed: true,
    };
    let mut hole = narrow.clone();
    hole.points.reverse();
    assert_eq!(
        common(&[narrow.clone(), hole], 0.3),
        Err(NotCommon::Narrow(1))
    );
    let spike = Outline {
        points: vec![v(0.0, 0.0), v(100.0, 0.0), v(0.0, 5.0)],
        ..narrow.clone()
    };
    assert_eq!(common(&[spike], 0.3), Err(NotCommon::Narrow(0)));
    let few = Outline {
        points: vec![v(0.0, 0.0), v(1.0, 0.0)],
        ..narrow.clone()
    };
    assert_eq!(common(&[few], 0.3), Err(NotCommon::FewCorners(0)));
    let none = Outline {
        points: vec![v(0.0, 0.0), v(1.0, f64::NAN), v(1.0, 1.0)],
        ..narrow
    };
    assert_eq!(common(&[none], 0.3), Err(NotCommon::NoNumber(0)));
    assert_eq!(common(&[], -0.1), Err(NotCommon::Kerf));
    assert_eq!(common(&[], 0.1), Ok(Common::default()));
}

/// Rectangles and L-shapes on a coarse grid without overlap, each one or more cells.
fn grid() -> impl Strategy<Value = (Vec<Outline>, f64)> {
    let cell = prop::collection::vec(0..3_usize, 30);
    (cell, prop::sample::select(vec![0.0, 0.2, 0.5])).prop_map(|(cells, kerf)| {
        let (w, h) = (37.5, 22.25);
        let at = |i: usize, n: f64| i as f64 * (n + kerf);
        let mut out = Vec::new();
        for (i, kind) in cells.iter().enumerate() {
            let (x, y) = (at(i % 6, w), at(i / 6, h));
            let part = out.len();
            match kind {
                0 => {}
                1 => out.push(rect(part, x, y, w, h)),
                _ => out.push(Outline {
                    part,
                    points: vec![
                        v(x, y),
                        v(x + w, y),
                        v(x + w, y + h / 2.0),
                        v(x + w / 2.0, y + h / 2.0),
                        v(x + w / 2.0, y + h),
                        v(x, y + h),
                    ],
                    closed: true,
                }),
            }
        }
        (out, kerf)
    })
}

proptest! {
    #[test]
    fn nothing_is_cut_twice_and_nothing_lost((parts, kerf) in grid()) {
        let got = common(&parts, kerf).unwrap();
        let moved: Vec<Chain> = parts
            .iter()
            .map(|p| {
                let points = if kerf > 0.0 { moved(&p.points, kerf / 2.0).unwrap() } else { p.points.clone() };
                Chain { points, closed: true, of: vec![p.part] }
            })
            .collect();
        let before: f64 = moved.iter().map(length).sum();
        prop_assert!((total(&got) + got.saved - before).abs() < 1e-6);
        let lines: Vec<(DVec2, DVec2)> = got.chains.iter().flat_map(segments).collect();
        // Nothing lost: places along every asked line lie on a line that is cut, by a chain of that part.
        for ring in &moved {
            for (a, b) in segments(ring) {
                for k in 0..=7 {
                    let p = a.lerp(b, f64::from(k) / 7.0);
                    let chain = got.chains.iter().find(|c| {
                        c.of.contains(&ring.of[0]) && segments(c).iter().any(|&s| off(p, s) < 2.0 * TOUCH_MM)
                    });
                    prop_assert!(chain.is_some(), "{p} of part {}", ring.of[0]);
                }
            }
        }
        // Nothing twice: a place within one line lies on no other line of the same direction.
        for (i, &(a, b)) in lines.iter().enumerate() {
            for k in [0.123, 0.377, 0.501, 0.871] {
                let p = a.lerp(b, k);
                let twice = lines.iter().enumerate().any(|(j, &(c, d))| {
                    let turned = (b - a).normalize().perp_dot((d - c).normalize()).abs();
                    i != j && turned < 1e-6 && off(p, (c, d)) < TOUCH_MM
                });
                prop_assert!(!twice, "{p}");
            }
        }
        prop_assert!(got.chains.len() <= parts.len().max(got.chains.iter().filter(|c| !c.closed).count()));
    }

    #[test]
    fn as_few_strokes_as_odd_ends_allow((parts, kerf) in grid()) {
        let got = common(&parts, kerf).unwrap();
        // Ends and how many lines meet there, from the strokes alone.
        let mut ends: Vec<(DVec2, usize)> = Vec::new();
        for c in got.chains.iter().filter(|c| !c.closed) {
            for p in [c.points[0], c.points[c.points.len() - 1]] {
                match ends.iter_mut().find(|e| e.0.distance(p) < TOUCH_MM) {
                    Some(e) => e.1 += 1,
                    None => ends.push((p, 1)),
                }
            }
        }
        // No two strokes end in the same place: they would be one.
        prop_assert!(ends.iter().all(|e| e.1 == 1), "{ends:?}");
        // No two closed strokes, nor a closed and an open one, meet at a corner of both.
        for (i, c) in got.chains.iter().enumerate().filter(|(_, c)| c.closed) {
            for (j, o) in got.chains.iter().enumerate() {
                let meet = c.points.iter().any(|p| segments(o).iter().any(|&s| off(*p, s) < TOUCH_MM));
                prop_assert!(i == j || !meet);
            }
        }
    }
}
