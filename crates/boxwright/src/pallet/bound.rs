//! What no pattern can pass. Every bound holds for any pattern of equal cases with their sides
//! along the floor's.

use super::grid::{Problem, reach, rows, smallest};

/// The least of the bounds.
#[must_use]
pub fn bound(p: Problem) -> i64 {
    let small = smallest(p);
    area(p).min(weighed(small)).min(lines(small))
}

/// Area of the floor over that of the case.
#[must_use]
pub fn area(p: Problem) -> i64 {
    narrow(
        i128::from(p.floor[0]) * i128::from(p.floor[1])
            / (i128::from(p.long) * i128::from(p.short)),
    )
}

fn narrow(v: i128) -> i64 {
    i64::try_from(v).unwrap_or(i64::MAX)
}

/// Area and bars at other sizes of the case. A pattern can be laid anew for a case of any size on a
/// floor as long and wide as its longest rows, so the area bound holds there too (Isermann; Dowsland).
fn weighed(p: Problem) -> i64 {
    let sides = p.floor.map(|room| rows(room, p.long, p.short));
    let mut ratios = vec![(p.long, p.short)];
    for rows in &sides {
        let hull = hull(rows);
        ratios.extend(hull.windows(2).map(|w| {
            let (by, against) = (w[1].0 - w[0].0, w[0].1 - w[1].1);
            let k = gcd(by, against).max(1);
            (against / k, by / k)
        }));
    }
    let each = ratios.into_iter().filter(|(l, s)| *l > 0 && *s > 0);
    each.map(|(long, short)| {
        bars(Problem {
            floor: [0, 1].map(|side: usize| reach(&sides[side], long, short)),
            long,
            short,
        })
    })
    .min()
    .unwrap_or(i64::MAX)
}

/// The area bound less the waste that bars one unit wide and as long as the case must leave
/// (Barnes, Discrete Mathematics 26, 1979). All sizes are whole, so cases lie on whole places.
fn bars(p: Problem) -> i64 {
    let waste = |n: i64| {
        let [r, s] = p.floor.map(|side| i128::from(side % n));
        let n = i128::from(n);
        (r * s).min((n - r) * (n - s))
    };
    let whole = i128::from(p.floor[0]) * i128::from(p.floor[1]);
    let left = whole - waste(p.long).max(waste(p.short));
    narrow(left / (i128::from(p.long) * i128::from(p.short)))
}

/// A line across the floor crosses one row at a time. Over all lines, the cases lengthwise and
/// crosswise are a mean of rows; so both numbers lie under the hull of the rows of either side.
fn lines(p: Problem) -> i64 {
    // Cases along x, crossed by lines along y, are crossed with their short side, and so on.
    let sides = p.floor.map(|room| hull(&rows(room, p.long, p.short)));
    let wide = |v: i64| i128::from(v);
    let allowed = |along_x: i64, along_y: i64| {
        let on = |hull: &[(i64, i64)], long: i128, short: i128, length: i64| {
            hull.windows(2).all(|w| {
                let (by, against) = (wide(w[1].0 - w[0].0), wide(w[0].1 - w[1].1));
                let most = against * wide(w[0].0) + by * wide(w[0].1);
                against * long + by * short <= most * wide(length)
            }) && hull
                .last()
                .is_none_or(|last| long <= wide(last.0) * wide(length))
                && hull
                    .first()
                    .is_none_or(|first| short <= wide(first.1) * wide(length))
        };
        let (l, s) = (wide(p.long), wide(p.short));
        let (x, y) = (wide(along_x), wide(along_y));
        // Lines along x see cases along x lengthwise; together they are `short` times as many.
        on(&sides[0], x * s, y * l, p.floor[1]) && on(&sides[1], y * s, x * l, p.floor[0])
    };
    let most = area(p);
    if most > 2000 {
        return most;
    }
    let mut best = 0;
    for along_x in 0..=most {
        // The allowed numbers form a convex set with 0, so what is allowed ends once.
        let (mut low, mut high) = (0, most - along_x + 1);
        if !allowed(along_x, 0) {
            break;
        }
        while high - low > 1 {
            let mid = i64::midpoint(low, high);
            if allowed(along_x, mid) {
                low = mid;
            } else {
                high = mid;
            }
        }
        best = best.max(along_x + low);
    }
    best
}

/// The upper hull of rows, by rising number lengthwise.
fn hull(rows: &[(i64, i64)]) -> Vec<(i64, i64)> {
    let mut out: Vec<(i64, i64)> = Vec::new();
    for &p in rows {
        while let [.., a, b] = out[..] {
            let turn = (b.0 - a.0) as i128 * (p.1 - a.1) as i128
                - (b.1 - a.1) as i128 * (p.0 - a.0) as i128;
            if turn < 0 {
                break;
            }
            out.pop();
        }
        out.push(p);
    }
    out
}

const fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
