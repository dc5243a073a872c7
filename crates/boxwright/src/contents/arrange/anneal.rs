//! Arrangements of any kind, changed at random: three orders of the things say for each two of them
//! which is left of, in front of or below the other, and everything is pushed to the origin.
//!
//! The three orders are after Yamazaki, Sakanushi, Nakatake and Kajitani, "The 3D-packing by meta data
//! structure and packing heuristics", IEICE Trans. Fundamentals E83-A (2000) (memory). A worse
//! arrangement is kept when it is worse by less than a threshold that sinks to nothing.

use super::front::{Front, bearing, room_of, settled};
use super::model::{By, Item, MOST_ITEMS, Packing, Placed, score};

/// Numbers from a seed: SplitMix64, after Steele, Lea and Flood, 2014.
pub(super) struct Dice(pub(super) u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: usize) -> usize {
        let wide = u128::from(self.next()) * n as u128;
        usize::try_from(wide >> 64).unwrap_or(0)
    }
}

type Order = [u8; MOST_ITEMS];

#[derive(Clone, Copy)]
struct State {
    /// The three orders: things by place.
    orders: [Order; 3],
    /// Which of its extents each thing shows.
    ways: Order,
}

/// What stays the same during a search.
struct Field<'a> {
    items: &'a [Item],
    extents: Vec<Vec<[i64; 3]>>,
    picky: bool,
    free: bool,
    pads: [i64; 3],
    by: By,
}

/// One search: what is to be small, on what padding, and how long to look.
pub(super) struct Search {
    pub(super) by: By,
    pub(super) pads: [i64; 3],
    pub(super) tries: u64,
    pub(super) seed: u64,
}

/// Where the threshold starts, as a share.
const WARM: f64 = 0.12;
/// One run has so many tries for each thing, squared.
const RUN: u64 = 500;

/// Searches, and puts whatever is best so far into the front.
pub(super) fn anneal(items: &[Item], search: &Search, front: &mut Front) {
    let n = items.len();
    let field = Field {
        items,
        extents: items.iter().map(Item::extents).collect(),
        picky: items.iter().any(|i| !i.bears),
        free: items.iter().all(Item::free),
        pads: search.pads,
        by: search.by,
    };
    let mut dice = Dice(search.seed);
    let run = RUN * (n * n) as u64;
    let runs = (search.tries / run).max(1);
    let mut best = front
        .all
        .iter()
        .map(|p| score(field.by, p.room, field.pads).0)
        .min()
        .unwrap_or(i64::MAX);
    for k in 0..runs {
        // Half of all relations are along the first axis, so the axes take turns.
        let axes = [[0, 1, 2], [1, 2, 0], [2, 0, 1]][usize::try_from(k % 3).unwrap_or(0)];
        one_run(&field, run, axes, &mut dice, &mut best, front);
    }
}

fn one_run(
    field: &Field<'_>,
    run: u64,
    axes: [usize; 3],
    dice: &mut Dice,
    best: &mut i64,
    front: &mut Front,
) {
    let n = field.items.len();
    let mut state = State {
        orders: [[0; MOST_ITEMS]; 3],
        ways: [0; MOST_ITEMS],
    };
    for order in &mut state.orders {
        for (i, slot) in (0_u8..).zip(order.iter_mut().take(n)) {
            *slot = i;
        }
        for i in (1..n).rev() {
            order.swap(i, dice.below(i + 1));
        }
    }
    for (slot, e) in state.ways.iter_mut().zip(&field.extents) {
        *slot = u8::try_from(dice.below(e.len())).unwrap_or(0);
    }
    let mut placed = vec![
        Placed {
            at: [0; 3],
            size: [0; 3],
        };
        n
    ];
    let mut now = i64::MAX;
    for step in 0..run {
        let mut next = state;
        change(&mut next, field, dice);
        let room = decode(&next, field, axes, &mut placed);
        if field.picky && !bearing(field.items, &placed) {
            continue;
        }
        let score = score(field.by, room, field.pads).0;
        #[allow(
            clippy::cast_precision_loss,
            reason = "a threshold, where the last digit is of no matter"
        )]
        let bar = now as f64 * (1.0 + WARM * (1.0 - step as f64 / run as f64).powi(2));
        #[allow(clippy::cast_precision_loss, reason = "as above")]
        if score as f64 > bar {
            continue;
        }
        now = score;
        state = next;
        if score < *best {
            *best = score;
            let packing = settled(Packing {
                room,
                placed: placed.clone(),
            });
            front.insert_tipped(packing, field.free);
        }
    }
}

fn change(state: &mut State, field: &Field<'_>, dice: &mut Dice) {
    let n = field.items.len();
    let kind = dice.below(8);
    if kind < 3 || n < 2 {
        let i = dice.below(n);
        let k = field.extents[i].len();
        if k > 1 {
            let by = 1 + dice.below(k - 1);
            state.ways[i] = u8::try_from((usize::from(state.ways[i]) + by) % k).unwrap_or(0);
            return;
        }
        if n < 2 {
            return;
        }
    }
    let (a, b) = (dice.below(n), dice.below(n - 1));
    let b = if b >= a { b + 1 } else { b };
    let k = dice.below(3);
    match kind {
        // The two change places in one order, in two, or in all.
        0..=4 => state.orders[k][..n].swap(a, b),
        5 => {
            for (m, order) in state.orders.iter_mut().enumerate() {
                if m != k {
                    exchange(&mut order[..n], a, b);
                }
            }
        }
        6 => {
            for order in &mut state.orders {
                exchange(&mut order[..n], a, b);
            }
        }
        // One goes elsewhere in an order.
        _ => {
            if a < b {
                state.orders[k][a..=b].rotate_left(1);
            } else {
                state.orders[k][b..=a].rotate_right(1);
            }
        }
    }
}

fn exchange(order: &mut [u8], a: usize, b: usize) {
    for slot in order {
        if usize::from(*slot) == a {
            *slot = u8::try_from(b).unwrap_or(0);
        } else if usize::from(*slot) == b {
            *slot = u8::try_from(a).unwrap_or(0);
        }
    }
}

/// Pushes everything to the origin as the orders say; gives the room.
fn decode(
    state: &State,
    field: &Field<'_>,
    [u, v, w]: [usize; 3],
    placed: &mut [Placed],
) -> [i64; 3] {
    let n = placed.len();
    let mut rank = [[0_u8; MOST_ITEMS]; 3];
    for (order, rank) in state.orders.iter().zip(&mut rank) {
        for (place, i) in (0_u8..).zip(&order[..n]) {
            rank[usize::from(*i)] = place;
        }
    }
    for (i, p) in placed.iter_mut().enumerate() {
        p.size = field.extents[i][usize::from(state.ways[i])];
    }
    let [one, two, three] = &rank;
    let first = &state.orders[0][..n];
    for (k, i) in first.iter().map(|i| usize::from(*i)).enumerate() {
        let (mut x, mut y) = (0, 0);
        for j in first[..k].iter().map(|j| usize::from(*j)) {
            let q = &placed[j];
            if two[j] < two[i] {
                x = x.max(q.at[u] + q.size[u]);
            } else if three[j] < three[i] {
                y = y.max(q.at[v] + q.size[v]);
            }
        }
        placed[i].at[u] = x;
        placed[i].at[v] = y;
    }
    let second = &state.orders[1][..n];
    for (k, i) in second.iter().map(|i| usize::from(*i)).enumerate() {
        let mut z = 0;
        for j in second[..k].iter().map(|j| usize::from(*j)) {
            if one[j] > one[i] && three[j] < three[i] {
                z = z.max(placed[j].at[w] + placed[j].size[w]);
            }
        }
        placed[i].at[w] = z;
    }
    room_of(placed)
}
