//! Arrangements that can be parted by straight cuts again and again: for every set of things the
//! best rooms, put together from those of two smaller sets side by side.
//!
//! A set of n things has 3^n ways to be parted, so the rooms kept for a set are fewer where there are
//! more things. With all of them kept this would be the best of its kind.

use super::front::{Front, room_of};
use super::model::{Item, Packing, Placed};

/// A room for a set: its sizes and how it comes about.
#[derive(Clone, Copy)]
struct Room {
    size: [i64; 3],
    from: From,
}

#[derive(Clone, Copy)]
enum From {
    /// One thing, lying so that its extents are these.
    One,
    /// Two sets along an axis: which sets and which of their rooms, how the second is turned and
    /// how the whole is.
    Two {
        sets: [u16; 2],
        rooms: [u16; 2],
        axis: u8,
        second: [u8; 3],
        whole: [u8; 3],
    },
}

const UPRIGHT: [[u8; 3]; 2] = [[0, 1, 2], [1, 0, 2]];
const FREE: [[u8; 3]; 6] = [
    [0, 1, 2],
    [1, 0, 2],
    [0, 2, 1],
    [2, 0, 1],
    [1, 2, 0],
    [2, 1, 0],
];

fn by(axes: [u8; 3], v: [i64; 3]) -> [i64; 3] {
    axes.map(|a| v[usize::from(a)])
}

/// How many rooms are kept for each set.
const fn kept(items: usize) -> usize {
    match items {
        0..=5 => 400,
        6 => 150,
        7 => 70,
        8 => 40,
        9 => 20,
        10 => 10,
        11 => 6,
        _ => 4,
    }
}

/// Puts every arrangement found into the front.
pub(super) fn sliced(items: &[Item], front: &mut Front) -> u64 {
    let n = items.len();
    let free = items.iter().all(Item::free);
    let turns: &[[u8; 3]] = if free { &FREE } else { &UPRIGHT };
    let most = kept(n);
    let mut steps = 0;
    let mut sets: Vec<Vec<Room>> = vec![Vec::new(); 1 << n];
    let carries = |set: usize| (0..n).all(|i| set >> i & 1 == 0 || items[i].bears);
    for set in 1..1_usize << n {
        let mut rooms = Vec::new();
        if set.is_power_of_two() {
            let item = &items[set.trailing_zeros() as usize];
            for size in item.extents() {
                if canonical(size, turns) == [0, 1, 2] {
                    let from = From::One;
                    rooms.push(Room { size, from });
                }
            }
        } else {
            // The lowest thing is in the first part, so that each parting is seen once.
            let low = set & set.wrapping_neg();
            let rest = set ^ low;
            // What has more volume would not be kept.
            let mut cut = i64::MAX;
            let mut sub = rest;
            loop {
                sub = (sub - 1) & rest;
                let (a, b) = (low | sub, rest ^ sub);
                for (first, second) in [(a, b), (b, a)] {
                    // Side by side, order matters only where something may not be above.
                    let swapped = first != a;
                    if swapped && free {
                        continue;
                    }
                    steps += join(
                        &sets,
                        [first, second],
                        turns,
                        swapped,
                        carries(first),
                        cut,
                        &mut rooms,
                    );
                }
                if rooms.len() > 4 * most + 400 {
                    cut = cut.min(thin(&mut rooms, most));
                }
                if sub == 0 {
                    break;
                }
            }
        }
        thin(&mut rooms, most);
        sets[set] = rooms;
    }
    let whole = (1_usize << n) - 1;
    for k in 0..sets[whole].len() {
        let mut placed = vec![
            Placed {
                at: [0; 3],
                size: [0; 3],
            };
            n
        ];
        for (i, p) in realised(&sets, whole, k) {
            placed[i] = p;
        }
        let room = room_of(&placed);
        front.insert_tipped(Packing { room, placed }, free);
    }
    steps
}

/// All ways to put two sets side by side.
fn join(
    sets: &[Vec<Room>],
    [first, second]: [usize; 2],
    turns: &[[u8; 3]],
    only_up: bool,
    carries: bool,
    cut: i64,
    into: &mut Vec<Room>,
) -> u64 {
    let mut steps = 0;
    for (i, a) in sets[first].iter().enumerate() {
        for (j, b) in sets[second].iter().enumerate() {
            for turn in turns {
                let size = by(*turn, b.size);
                for axis in 0..3_usize {
                    let up = axis == 2 && turns.len() == 2;
                    if (only_up && !up) || (up && !carries) {
                        continue;
                    }
                    steps += 1;
                    let mut joined = [0; 3];
                    for (c, v) in joined.iter_mut().enumerate() {
                        *v = if c == axis {
                            a.size[c] + size[c]
                        } else {
                            a.size[c].max(size[c])
                        };
                    }
                    if joined[0] * joined[1] * joined[2] > cut {
                        continue;
                    }
                    let whole = canonical(joined, turns);
                    into.push(Room {
                        size: by(whole, joined),
                        from: From::Two {
                            sets: [first, second].map(small),
                            rooms: [i, j].map(small),
                            axis: [0, 1, 2][axis],
                            second: *turn,
                            whole,
                        },
                    });
                }
            }
        }
    }
    steps
}

fn small(n: usize) -> u16 {
    u16::try_from(n).unwrap_or(u16::MAX)
}

/// How to turn sizes so that the longest come first, as far as they may be turned.
fn canonical(size: [i64; 3], turns: &[[u8; 3]]) -> [u8; 3] {
    let mut best = turns[0];
    for t in turns {
        if by(*t, size) > by(best, size) {
            best = *t;
        }
    }
    best
}

/// Keeps the rooms that no other beats, at most so many: those of least volume. Gives the volume above
/// which nothing would be kept any more.
fn thin(rooms: &mut Vec<Room>, most: usize) -> i64 {
    rooms.sort_by_key(|r| (r.size.iter().product::<i64>(), r.size));
    rooms.dedup_by_key(|r| r.size);
    let mut good: Vec<Room> = Vec::new();
    for r in rooms.iter() {
        if good.len() >= most {
            break;
        }
        // A room that beats this one has no more volume, so it came before.
        if !good.iter().any(|g| (0..3).all(|a| g.size[a] <= r.size[a])) {
            good.push(*r);
        }
    }
    *rooms = good;
    match rooms.last() {
        Some(last) if rooms.len() >= most => last.size.iter().product(),
        _ => i64::MAX,
    }
}

fn realised(sets: &[Vec<Room>], set: usize, k: usize) -> Vec<(usize, Placed)> {
    let room = sets[set][k];
    let From::Two {
        sets: [first, second],
        rooms: [i, j],
        axis,
        second: turn,
        whole,
    } = room.from
    else {
        let p = Placed {
            at: [0; 3],
            size: room.size,
        };
        return vec![(set.trailing_zeros() as usize, p)];
    };
    let (first, second) = (usize::from(first), usize::from(second));
    let mut all = realised(sets, first, usize::from(i));
    let past = sets[first][usize::from(i)].size[usize::from(axis)];
    for (n, p) in realised(sets, second, usize::from(j)) {
        let mut at = by(turn, p.at);
        at[usize::from(axis)] += past;
        let size = by(turn, p.size);
        all.push((n, Placed { at, size }));
    }
    for (_, p) in &mut all {
        p.at = by(whole, p.at);
        p.size = by(whole, p.size);
    }
    all
}
