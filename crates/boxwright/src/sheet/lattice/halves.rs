//! A rectangular sheet cut into blocks, each with a lattice of its own.
//!
//! A block is filled with the lattice that lays most on it, or cut in two straight across, and so
//! on for a few cuts. Blocks laid in different turns are what fills a sheet that neither turn fills.

use std::collections::BTreeMap;

use super::compound::Grid;
use super::count::{Rooms, best_shift, members};
use super::kit::{Kit, Member};
use super::room::Room;
use crate::sheet::shape::{Bounds, Spot};

/// Most places for a cut across one block.
const CUTS: usize = 32;

/// Cuts one within the other.
const DEPTH: u32 = 2;

type Key = (Spot, Spot);

/// What lies on a block, as a number and how to lay it.
#[derive(Clone, Debug)]
struct Block {
    count: i64,
    how: How,
}

#[derive(Clone, Debug)]
enum How {
    Nothing,
    Lattice(usize, Spot),
    Cut(Bounds, Bounds),
}

/// Blocks of one sheet.
pub(super) struct Blocks<'k> {
    kit: &'k Kit,
    grids: &'k [Grid],
    /// Distances from a side of a block at which a cut may pay, along x and y.
    cuts: [Vec<i64>; 2],
    known: BTreeMap<(Key, u32), Block>,
}

fn rooms(kit: &Kit, within: Bounds) -> Rooms {
    let room = |size: Spot| {
        let reach = Bounds {
            min: within.min,
            max: within.max - size,
        };
        (reach.width() >= 0 && reach.height() >= 0).then(|| Room::plain(reach))
    };
    kit.kinds.iter().map(|k| room(k.size)).collect()
}

impl<'k> Blocks<'k> {
    /// The lattices to choose from, and the sheet.
    pub fn new(kit: &'k Kit, grids: &'k [Grid], sheet: Bounds) -> Self {
        let whole = rooms(kit, sheet);
        let mut cuts = [Vec::new(), Vec::new()];
        for grid in grids {
            let Some((_, shift)) = best_shift(grid, &whole) else {
                continue;
            };
            for m in members(grid, &whole, shift) {
                let end = m.at + kit.kinds[m.kind].size - sheet.min;
                cuts[0].push(end.x);
                cuts[1].push(end.y);
            }
        }
        for list in &mut cuts {
            list.sort_unstable();
            list.dedup();
            let stride = list.len().div_ceil(CUTS).max(1);
            *list = list.iter().copied().step_by(stride).collect();
        }
        Self {
            kit,
            grids,
            cuts,
            known: BTreeMap::new(),
        }
    }

    /// The most parts found on a sheet cut into blocks.
    pub fn lay(&mut self, sheet: Bounds, stop: &mut dyn FnMut() -> bool) -> Vec<Member> {
        let mut out = Vec::new();
        for depth in 1..=DEPTH {
            self.best(sheet, depth, stop);
            if stop() {
                break;
            }
        }
        for depth in (1..=DEPTH).rev() {
            if self.known.contains_key(&((sheet.min, sheet.max), depth)) {
                self.collect(sheet, depth, &mut out);
                break;
            }
        }
        out
    }

    fn best(&mut self, block: Bounds, depth: u32, stop: &mut dyn FnMut() -> bool) -> i64 {
        let key = ((block.min, block.max), depth);
        if let Some(known) = self.known.get(&key) {
            return known.count;
        }
        let mut best = Block {
            count: 0,
            how: How::Nothing,
        };
        let rooms = rooms(self.kit, block);
        if rooms.iter().any(Option::is_some) {
            for (i, grid) in self.grids.iter().enumerate() {
                if let Some((count, shift)) = best_shift(grid, &rooms)
                    && count > best.count
                {
                    best = Block {
                        count,
                        how: How::Lattice(i, shift),
                    };
                }
            }
            if depth > 0 {
                for (a, b) in self.halves(block) {
                    if stop() {
                        break;
                    }
                    let count = self.best(a, depth - 1, stop) + self.best(b, depth - 1, stop);
                    if count > best.count {
                        best = Block {
                            count,
                            how: How::Cut(a, b),
                        };
                    }
                }
            }
        }
        let count = best.count;
        self.known.insert(key, best);
        count
    }

    fn halves(&self, block: Bounds) -> Vec<(Bounds, Bounds)> {
        let Bounds { min, max } = block;
        let cut = |a: Spot, b: Spot| (Bounds { min, max: a }, Bounds { min: b, max });
        let across = self.cuts[0].iter().map(|c| min.x + c);
        let up = self.cuts[1].iter().map(|c| min.y + c);
        across
            .filter(|x| *x < max.x)
            .map(|x| cut(Spot::new(x, max.y), Spot::new(x, min.y)))
            .chain(
                up.filter(|y| *y < max.y)
                    .map(|y| cut(Spot::new(max.x, y), Spot::new(min.x, y))),
            )
            .collect()
    }

    fn collect(&self, block: Bounds, depth: u32, out: &mut Vec<Member>) {
        match self
            .known
            .get(&((block.min, block.max), depth))
            .map(|b| &b.how)
        {
            Some(How::Lattice(i, shift)) => {
                out.extend(members(&self.grids[*i], &rooms(self.kit, block), *shift));
            }
            Some(How::Cut(a, b)) => {
                self.collect(*a, depth - 1, out);
                self.collect(*b, depth - 1, out);
            }
            Some(How::Nothing) | None => {}
        }
    }
}
