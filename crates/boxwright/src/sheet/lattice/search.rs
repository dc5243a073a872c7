//! The search over lattices for one sheet, in the order of what is most likely to pay.

use super::barred::{Along, settled};
use super::compound::{Cell, Compound, Grid};
use super::count::{Rooms, best_shift, members, most};
use super::fill::{First, fill, push};
use super::kit::{Kit, Member, in_reach};
use super::room::Sheet;
use super::{Laid, MOST_PARTS, Repeat};
use crate::proof::Dice;
use crate::sheet::shape::{Bounds, Spot};

/// Lattices kept to be filled up and joined with others.
const KEPT: usize = 12;

/// A lattice with its best shift.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub count: i64,
    /// Area of the larger strip left beside or above it, in steps squared.
    pub rest: i128,
    pub grid: Grid,
    pub shift: Spot,
}

/// A search under way.
pub(super) struct Search<'a> {
    kit: &'a Kit,
    sheet: &'a Sheet,
    rooms: Rooms,
    /// No more than so many are wanted or possible.
    limit: usize,
    best: Vec<Member>,
    kept: Vec<Found>,
    stop: &'a mut dyn FnMut() -> bool,
}

pub(super) fn repeat(ask: &Repeat<'_>, stop: &mut dyn FnMut() -> bool) -> Vec<Laid> {
    if !in_reach(ask.sheet) {
        return Vec::new();
    }
    let Some(sheet) = Sheet::new(ask.sheet) else {
        return Vec::new();
    };
    let Some(kit) = Kit::new(ask.shape, ask.shape, ask.turns) else {
        return Vec::new();
    };
    let rooms: Rooms = kit.kinds.iter().map(|k| sheet.room(k)).collect();
    let area = usize::try_from(sheet.doubled / kit.doubled).unwrap_or(usize::MAX);
    let wanted = ask.most.unwrap_or(u32::MAX).min(MOST_PARTS);
    let limit = area.min(wanted as usize);
    let mut search = Search {
        kit: &kit,
        sheet: &sheet,
        rooms,
        limit,
        best: Vec::new(),
        kept: Vec::new(),
        stop,
    };
    search.run();
    let best = search.best;
    best.iter()
        .map(|m| Laid {
            turn: kit.kinds[m.kind].turn,
            at: m.at + kit.kinds[m.kind].lead,
        })
        .collect()
}

impl Search<'_> {
    fn done(&mut self) -> bool {
        self.best.len() >= self.limit || (self.stop)()
    }

    fn run(&mut self) {
        if self.rooms.iter().all(Option::is_none) || self.limit == 0 {
            return;
        }
        let usable: Vec<usize> = (0..self.rooms.len())
            .filter(|k| self.rooms[*k].is_some())
            .collect();
        for k in &usable {
            self.lattices(Cell {
                kind: *k,
                pair: None,
            });
            if self.done() {
                return;
            }
        }
        self.top_up();
        let mut cells: Vec<(i64, Cell)> = Vec::new();
        for (i, a) in usable.iter().enumerate() {
            for b in &usable[i + 1..] {
                for w in self.kit.barred(*a, *b).corners.clone() {
                    cells.extend(self.pair(*a, *b, w));
                }
            }
        }
        cells.sort_by_key(|(size, c)| (*size, c.kind, c.pair));
        for (_, cell) in cells {
            if self.done() {
                return;
            }
            self.lattices(cell);
        }
        self.top_up();
    }

    /// A pair, with the area of its box, when its second part may stand near `w`.
    fn pair(&self, a: usize, b: usize, w: Spot) -> Option<(i64, Cell)> {
        let barred = self.kit.barred(a, b);
        let w = settled(w, |p| barred.clear(p))?;
        let (s, t) = (self.kit.kinds[a].size, self.kit.kinds[b].size);
        let span = |w: i64, s: i64, t: i64| s.max(w + t) - w.min(0);
        let cell = Cell {
            kind: a,
            pair: Some((b, w)),
        };
        Some((span(w.x, s.x, t.x) * span(w.y, s.y, t.y), cell))
    }

    /// Counts every lattice of a cell.
    fn lattices(&mut self, cell: Cell) {
        let kit = self.kit;
        let compound = Compound::new(kit, cell);
        for u in compound.steps() {
            if self.done() {
                return;
            }
            compound.second(u, None, &mut |grid| self.offer(grid));
        }
    }

    fn offer(&mut self, grid: Grid) {
        let worst = if self.kept.len() < KEPT {
            0
        } else {
            self.kept.last().map_or(0, |f| f.count)
        };
        #[allow(clippy::cast_precision_loss, reason = "small numbers")]
        if most(&grid, &self.rooms) < worst as f64 - 1e-6 {
            return;
        }
        let Some((count, shift)) = best_shift(&grid, &self.rooms) else {
            return;
        };
        if count < worst {
            return;
        }
        let laid = members(&grid, &self.rooms, shift);
        let rest = self.rest(&laid);
        if usize::try_from(count).unwrap_or(0) > self.best.len() {
            self.best = laid;
            self.best.truncate(self.limit);
        }
        // Of those alike in both, one will do.
        if self.kept.iter().any(|f| (f.count, f.rest) == (count, rest)) {
            return;
        }
        self.kept.push(Found {
            count,
            rest,
            grid,
            shift,
        });
        self.kept.sort_by_key(|f| (-f.count, -f.rest));
        self.kept.truncate(KEPT);
    }

    /// The area of the larger strip left on the right of what is laid, or above it.
    fn rest(&self, laid: &[Member]) -> i128 {
        let Bounds { min, max } = self.sheet.bounds;
        let far = laid.iter().fold(min, |far, m| {
            let end = m.at + self.kit.kinds[m.kind].size;
            Spot::new(far.x.max(end.x), far.y.max(end.y))
        });
        let strip = |a: i64, b: i64| i128::from(a) * i128::from(b);
        strip(max.x - far.x, max.y - min.y).max(strip(max.x - min.x, max.y - far.y))
    }

    /// Fills up the best lattices with single parts.
    fn top_up(&mut self) {
        let kinds: Vec<usize> = (0..self.rooms.len()).collect();
        for found in self.kept.clone() {
            for first in [First::Lowest, First::Leftmost] {
                if self.done() {
                    return;
                }
                let mut laid = members(&found.grid, &self.rooms, found.shift);
                fill(
                    self.kit,
                    &self.rooms,
                    &mut laid,
                    &kinds,
                    first,
                    self.limit,
                    self.stop,
                );
                if laid.len() > self.best.len() {
                    self.best = laid;
                }
            }
        }
    }
}
