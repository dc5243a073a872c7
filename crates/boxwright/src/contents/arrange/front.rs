//! The arrangements of which none is at least as large as another in every direction.

use super::model::{Item, Packing, Placed};

/// More are not kept: those with the most volume go.
const MOST: usize = 400;

/// Arrangements, none of which is beaten by another.
#[derive(Clone, Debug, Default)]
pub(super) struct Front {
    pub(super) all: Vec<Packing>,
}

impl Front {
    /// Whether one of them is as small in every direction.
    pub(super) fn beats(&self, room: [i64; 3]) -> bool {
        let room = long_first(room);
        self.all
            .iter()
            .any(|p| (0..3).all(|a| p.room[a] <= room[a]))
    }
    /// Keeps it, unless it is beaten; turned so that length is at least width.
    pub(super) fn insert(&mut self, packing: Packing) {
        let packing = turned(packing);
        if self.beats(packing.room) {
            return;
        }
        self.all
            .retain(|p| !(0..3).all(|a| packing.room[a] <= p.room[a]));
        self.all.push(packing);
        if self.all.len() > MOST {
            let volume = |p: &Packing| p.room.iter().product::<i64>();
            self.all.sort_by_key(|p| (volume(p), p.room));
            self.all.pop();
        }
    }
    /// Keeps it and, where things may lie every way, the two that come of tipping it over.
    pub(super) fn insert_tipped(&mut self, packing: Packing, free: bool) {
        if free {
            for axes in [[1, 2, 0], [2, 0, 1]] {
                self.insert(permuted(&packing, axes));
            }
        }
        self.insert(packing);
    }
}

fn long_first([a, b, d]: [i64; 3]) -> [i64; 3] {
    [a.max(b), a.min(b), d]
}

fn turned(packing: Packing) -> Packing {
    if packing.room[0] >= packing.room[1] {
        packing
    } else {
        permuted(&packing, [1, 0, 2])
    }
}

/// The same arrangement with its axes in another order.
pub(super) fn permuted(packing: &Packing, axes: [usize; 3]) -> Packing {
    let turn = |v: [i64; 3]| axes.map(|a| v[a]);
    Packing {
        room: turn(packing.room),
        placed: packing
            .placed
            .iter()
            .map(|p| Placed {
                at: turn(p.at),
                size: turn(p.size),
            })
            .collect(),
    }
}

/// Whether two spans share more than an end.
pub(super) const fn meet(a: i64, la: i64, b: i64, lb: i64) -> bool {
    a < b + lb && b < a + la
}

/// Whether nothing is above a thing that carries nothing.
pub(super) fn bearing(items: &[Item], placed: &[Placed]) -> bool {
    items.iter().zip(placed).enumerate().all(|(i, (item, p))| {
        item.bears
            || placed.iter().enumerate().all(|(j, q)| {
                i == j
                    || q.at[2] < p.at[2] + p.size[2]
                    || !(0..2).all(|a| meet(p.at[a], p.size[a], q.at[a], q.size[a]))
            })
    })
}

/// Lets everything down as far as it goes. What is above what does not change.
pub(super) fn settled(mut packing: Packing) -> Packing {
    let mut order: Vec<usize> = (0..packing.placed.len()).collect();
    order.sort_by_key(|i| (packing.placed[*i].at[2], *i));
    for (n, i) in order.iter().enumerate() {
        let p = packing.placed[*i];
        let below = order[..n].iter().map(|j| packing.placed[*j]);
        let floor = below
            .filter(|q| (0..2).all(|a| meet(p.at[a], p.size[a], q.at[a], q.size[a])))
            .map(|q| q.at[2] + q.size[2])
            .max();
        packing.placed[*i].at[2] = floor.unwrap_or(0);
    }
    packing.room = room_of(&packing.placed);
    packing
}

/// The room that things need where they lie.
pub(super) fn room_of(placed: &[Placed]) -> [i64; 3] {
    let mut room = [0; 3];
    for p in placed {
        for (a, r) in room.iter_mut().enumerate() {
            *r = (*r).max(p.at[a] + p.size[a]);
        }
    }
    room
}
