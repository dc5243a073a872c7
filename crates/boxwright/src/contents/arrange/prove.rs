//! An exhaustive search: every thing every way, and for each two of them who is left of, right of, in
//! front of, behind, below or above whom. What is left is the room by longest chains. Where it runs to
//! its end within its steps, the best room is proved.

use super::front::{Front, bearing, room_of};
use super::model::{By, Item, MOST_ITEMS, Packing, Placed, score};

/// No chain between two things.
const NONE: i64 = i64::MIN / 4;

/// Starts of the things along each axis.
type Starts = [[i64; MOST_ITEMS]; 3];

struct Hunt<'a> {
    items: &'a [Item],
    /// Things, the largest first.
    order: Vec<usize>,
    extents: Vec<Vec<[i64; 3]>>,
    /// The least that things from here on take up along each axis.
    least: Vec<[i64; 3]>,
    /// Whether a thing is like the one before it in the order.
    twin: Vec<bool>,
    /// The largest thing that has no like: mirror images are told apart by where it is.
    single: Option<usize>,
    /// Whether anything may be above anything.
    plain: bool,
    free: bool,
    pads: [i64; 3],
    by: By,
    /// Only what scores less than this is of interest.
    bar: i64,
    /// By how much the bar is below the best, in thousandths of it.
    margin: i64,
    left: u64,
    found: Vec<Packing>,
    /// By axis, "the second starts at least so far after the first".
    chains: [[[i64; MOST_ITEMS]; MOST_ITEMS]; 3],
    /// Extents of the things placed.
    size: [[i64; 3]; MOST_ITEMS],
    /// How many are placed.
    count: usize,
}

/// What came of it.
pub(super) struct Proof {
    /// Whether it ran to its end.
    pub(super) done: bool,
    /// Steps taken.
    pub(super) steps: u64,
}

/// Looks for anything better than `front` holds by more than `margin` thousandths, for at most `steps`
/// steps. A wide margin cuts more off, so it comes to its end sooner.
pub(super) fn prove(
    items: &[Item],
    by: By,
    pads: [i64; 3],
    margin: i64,
    steps: u64,
    front: &mut Front,
) -> Proof {
    let mut order: Vec<usize> = (0..items.len()).collect();
    let volume = |i: usize| items[i].size.iter().product::<i64>();
    order.sort_by_key(|i| (std::cmp::Reverse(volume(*i)), *i));
    let extents: Vec<_> = order.iter().map(|i| items[*i].extents()).collect();
    let twin = (0..order.len()).map(|k| k > 0 && items[order[k]] == items[order[k - 1]]);
    let twin: Vec<bool> = twin.collect();
    let mut least = vec![[0; 3]; items.len() + 1];
    for k in (0..items.len()).rev() {
        least[k] = least[k + 1];
        for (a, l) in least[k].iter_mut().enumerate() {
            let own = extents[k].iter().map(|e| e[a]).min().unwrap_or(0);
            *l = own.max(*l);
        }
    }
    let rated = |p: &Packing| score(by, p.room, pads).0;
    let mut hunt = Hunt {
        items,
        order,
        extents,
        least,
        single: (0..twin.len()).find(|k| !twin[*k] && !twin.get(k + 1).is_some_and(|t| *t)),
        twin,
        plain: items.iter().all(|i| i.bears),
        free: items.iter().all(Item::free),
        pads,
        by,
        bar: below(
            front.all.iter().map(rated).min().unwrap_or(i64::MAX),
            margin,
        ),
        margin,
        left: steps,
        found: Vec::new(),
        chains: [[[NONE; MOST_ITEMS]; MOST_ITEMS]; 3],
        size: [[0; 3]; MOST_ITEMS],
        count: 0,
    };
    let done = hunt.next(&[[0; MOST_ITEMS]; 3]).is_some();
    let free = hunt.free;
    for packing in std::mem::take(&mut hunt.found) {
        front.insert_tipped(packing, free);
    }
    Proof {
        done,
        steps: steps - hunt.left,
    }
}

/// Less by so many thousandths.
const fn below(score: i64, margin: i64) -> i64 {
    score - score / 1000 * margin
}

impl Hunt<'_> {
    /// Adds the next thing, every way; `None` when the steps are used up.
    fn next(&mut self, at: &Starts) -> Option<()> {
        let k = self.count;
        if k == self.order.len() {
            self.finished(at);
            return Some(());
        }
        for way in 0..self.extents[k].len() {
            // A free arrangement may be tipped so that the first thing lies as it is.
            if k == 0 && self.free && way > 0 {
                break;
            }
            self.size[k] = self.extents[k][way];
            self.count = k + 1;
            let going = self.relate(at, 0);
            self.count = k;
            going?;
        }
        Some(())
    }

    /// Says how the last thing stands to the thing `j`, every way.
    fn relate(&mut self, at: &Starts, j: usize) -> Option<()> {
        self.left = self.left.checked_sub(1)?;
        if self.hopeless(at) {
            return Some(());
        }
        let k = self.count - 1;
        if j == k {
            return self.next(at);
        }
        let (ek, ej) = (self.size[k], self.size[j]);
        let mut shared = *at;
        let mut going = Some(());
        let mut axes = 0;
        for axis in 0..3 {
            axes = axis + 1;
            for (from, to, by) in [(j, k, ej[axis]), (k, j, ek[axis])] {
                // Two like things changed over are the same arrangement.
                let changed = j + 1 == k && self.twin[k];
                if (from == k && changed) || going.is_none() {
                    continue;
                }
                let mut apart = shared;
                let before = self.chains[axis][from][to];
                if self.chain(&mut apart, axis, from, to, by) {
                    going = self.relate(&apart, j + 1);
                }
                self.chains[axis][from][to] = before;
            }
            // From here on the two share some of this axis.
            if !self.chain(&mut shared, axis, j, k, 1 - ek[axis])
                || !self.chain(&mut shared, axis, k, j, 1 - ej[axis])
            {
                break;
            }
        }
        for axis in 0..axes {
            self.chains[axis][j][k] = NONE;
            self.chains[axis][k][j] = NONE;
        }
        going
    }

    /// Adds a chain and moves things along the axis until every chain holds; false when one cannot.
    /// Chains held before, so a ring of chains that cannot hold moves the thing it began with.
    fn chain(&mut self, at: &mut Starts, axis: usize, from: usize, to: usize, by: i64) -> bool {
        self.chains[axis][from][to] = by;
        let at = &mut at[axis];
        if at[to] >= at[from] + by {
            return true;
        }
        at[to] = at[from] + by;
        let mut waiting: u16 = 1 << to;
        while waiting != 0 {
            let u = waiting.trailing_zeros() as usize;
            waiting &= waiting - 1;
            for v in 0..self.count {
                let far = at[u] + self.chains[axis][u][v];
                if far > at[v] {
                    if v == from {
                        return false;
                    }
                    at[v] = far;
                    waiting |= 1 << v;
                }
            }
        }
        true
    }

    fn hopeless(&self, at: &Starts) -> bool {
        let mut room = self.least[self.count];
        for ((r, at), a) in room.iter_mut().zip(at).zip(0..3) {
            for (at, size) in at.iter().zip(&self.size[..self.count]) {
                *r = (*r).max(at + size[a]);
            }
        }
        // Of an arrangement and its mirror images, one has this thing in the lower half.
        if let Some(m) = self.single.filter(|m| *m < self.count) {
            for a in 0..if self.plain { 3 } else { 2 } {
                room[a] = room[a].max(2 * at[a][m] + self.size[m][a]);
            }
        }
        let worse = |r: [i64; 3]| score(self.by, r, self.pads).0 >= self.bar;
        // Tipped over, another axis may be the depth.
        worse(room)
            && (!self.free
                || (worse([room[1], room[2], room[0]]) && worse([room[2], room[0], room[1]])))
    }

    fn finished(&mut self, at: &Starts) {
        let mut placed = vec![
            Placed {
                at: [0; 3],
                size: [0; 3],
            };
            self.items.len()
        ];
        for (k, i) in self.order.iter().enumerate() {
            placed[*i] = Placed {
                at: [0, 1, 2].map(|a| at[a][k]),
                size: self.size[k],
            };
        }
        if !self.plain && !bearing(self.items, &placed) {
            return;
        }
        let packing = Packing {
            room: room_of(&placed),
            placed,
        };
        let mut here = Front::default();
        here.insert_tipped(packing.clone(), self.free);
        let rated = |p: &Packing| score(self.by, p.room, self.pads).0;
        if let Some(best) = here.all.iter().map(rated).min().filter(|s| *s < self.bar) {
            self.bar = below(best, self.margin);
            self.found.push(packing);
        }
    }
}
