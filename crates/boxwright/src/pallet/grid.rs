//! The whole numbers a pattern is searched in: reach of rows, and sizes that mean the same.
//!
//! Words: a **row** is a set of cases side by side, so many lengthwise and so many crosswise; a
//! **reach** is a length that some row has exactly. A pattern pushed into its corner has every case
//! at a reach. Two problems that allow the same rows along both sides have the same patterns
//! (Dowsland, J. Opl Res. Soc. 35, 1984, on equivalence classes), so the search works on the
//! smallest whole numbers that allow the same rows, and its pattern is laid back at true size.

/// A floor and a case in whole numbers of any unit: the case is at least as long as wide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Sides of the floor.
    pub floor: [i64; 2],
    /// Length of the case.
    pub long: i64,
    /// Width of the case.
    pub short: i64,
}

/// A case in a pattern: least corner, and whether its length runs along y.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Laid {
    /// Least x.
    pub x: i64,
    /// Least y.
    pub y: i64,
    /// Whether the length runs along y.
    pub turned: bool,
}

impl Laid {
    /// Extent along x and y.
    #[must_use]
    pub const fn size(self, p: Problem) -> [i64; 2] {
        if self.turned {
            [p.short, p.long]
        } else {
            [p.long, p.short]
        }
    }
}

/// Rows that fit into a room and to which nothing can be added: for each number of cases
/// lengthwise, the most crosswise.
pub(super) fn rows(room: i64, long: i64, short: i64) -> Vec<(i64, i64)> {
    (0..=room / long)
        .map(|i| (i, (room - i * long) / short))
        .collect()
}

/// The longest of these rows for a case of other sizes.
pub(super) fn reach(rows: &[(i64, i64)], long: i64, short: i64) -> i64 {
    let of = |(i, j): &(i64, i64)| i * long + j * short;
    rows.iter().map(of).max().unwrap_or(0)
}

/// The ratio of long to short is a fraction; the least ones first in size of their parts.
type Ratio = (i64, i64);

const fn less(a: Ratio, b: Ratio) -> bool {
    (a.0 as i128) * (b.1 as i128) < (b.0 as i128) * (a.1 as i128)
}

/// The smallest problem that allows the same rows along both sides.
#[must_use]
pub fn smallest(p: Problem) -> Problem {
    let sides = p.floor.map(|room| rows(room, p.long, p.short));
    // Rows that fit are shorter than rows that do not: each pair bounds the ratio.
    let (mut low, mut high): (Ratio, Ratio) = ((0, 1), (1, 0));
    for (rows, room) in sides.iter().zip(p.floor) {
        let over = rows
            .iter()
            .map(|(i, j)| (*i, j + 1))
            .chain([(room / p.long + 1, 0)]);
        for (over_long, over_short) in over {
            for (long, short) in rows {
                let (by, against) = (over_long - long, short - over_short);
                // by * ratio > against
                if by > 0 && against >= 0 {
                    if less(low, (against, by)) {
                        low = (against, by);
                    }
                } else if by < 0 && against < 0 && less((-against, -by), high) {
                    high = (-against, -by);
                }
            }
        }
    }
    let (long, short) = simplest(low, high, (p.long, p.short));
    Problem {
        floor: [0, 1].map(|side: usize| reach(&sides[side], long, short)),
        long,
        short,
    }
}

/// The fraction of least parts strictly between two others; `inside` lies between them.
fn simplest(low: Ratio, high: Ratio, inside: Ratio) -> Ratio {
    let (mut a, mut b): (Ratio, Ratio) = ((0, 1), (1, 0));
    loop {
        let mid = (a.0 + b.0, a.1 + b.1);
        if mid.0 > inside.0 || mid.1 > inside.1 {
            return inside;
        }
        if !less(low, mid) {
            a = mid;
        } else if !less(mid, high) {
            b = mid;
        } else {
            return mid;
        }
    }
}

/// Every reach up to `room`, from 0 upward.
pub(super) fn reaches(room: i64, long: i64, short: i64) -> Vec<i64> {
    let mut all: Vec<i64> = rows(room, long, short)
        .into_iter()
        .flat_map(|(i, most)| (0..=most).map(move |j| i * long + j * short))
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The largest reach that is not above `room`.
pub(super) fn within(reaches: &[i64], room: i64) -> i64 {
    let past = reaches.partition_point(|r| *r <= room);
    past.checked_sub(1).map_or(0, |at| reaches[at])
}

/// Where cases need to begin along a side: the reaches that are left when the rest of the side is
/// pushed to the other end and back (raster points: Terno, Lindemann, Scheithauer 1987).
pub(super) fn starts(reaches: &[i64], room: i64) -> Vec<i64> {
    let from = reaches.partition_point(|r| *r <= room);
    let mut all: Vec<i64> = reaches[..from]
        .iter()
        .map(|r| within(reaches, room - r))
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// A pattern of an equivalent problem at the sizes of `p`, pushed into the corner. Cases that were
/// one after another along a side stay so; as the rows fit, so does the pattern.
#[must_use]
pub fn laid_back(pattern: &[Laid], from: Problem, p: Problem) -> Vec<Laid> {
    let after = |a: &Laid, b: &Laid, axis: usize, q: Problem| {
        [a.x, a.y][axis] + a.size(q)[axis] <= [b.x, b.y][axis]
    };
    let mut new = pattern.to_vec();
    push(pattern, &mut new, p, 0, |a, b| {
        after(&pattern[a], &pattern[b], 0, from)
    });
    let by_x = new.clone();
    let apart_x =
        |a: usize, b: usize| after(&by_x[a], &by_x[b], 0, p) || after(&by_x[b], &by_x[a], 0, p);
    push(pattern, &mut new, p, 1, |a, b| {
        !apart_x(a, b) && after(&pattern[a], &pattern[b], 1, from)
    });
    let by_y = new.clone();
    let apart_y =
        |a: usize, b: usize| after(&by_y[a], &by_y[b], 1, p) || after(&by_y[b], &by_y[a], 1, p);
    push(&by_y, &mut new, p, 0, |a, b| {
        !apart_y(a, b) && after(&by_y[a], &by_y[b], 0, p)
    });
    new
}

/// Each case as near the corner along one axis as those before it allow.
fn push(
    old: &[Laid],
    new: &mut [Laid],
    p: Problem,
    axis: usize,
    before: impl Fn(usize, usize) -> bool,
) {
    let mut order: Vec<usize> = (0..old.len()).collect();
    order.sort_by_key(|i| [old[*i].x, old[*i].y][axis]);
    for (n, &b) in order.iter().enumerate() {
        let least = order[..n]
            .iter()
            .filter(|a| before(**a, b))
            .map(|a| [new[*a].x, new[*a].y][axis] + new[*a].size(p)[axis])
            .max()
            .unwrap_or(0);
        if axis == 0 {
            new[b].x = least;
        } else {
            new[b].y = least;
        }
    }
}
