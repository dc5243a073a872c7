//! The search over lattices for one sheet, in the order of what is most likely to pay.

use super::barred::{Along, settled};
use super::bound::proved;
use super::compound::{Cell, Compound, Grid};
use super::count::{Rooms, best_shift, members, most};
use super::fill::{First, fill, push};
use super::halves::Blocks;
use super::kit::{Kit, Member, in_reach};
use super::plane::{COARSE, sides};
use super::room::Sheet;
use super::simple::simpler;
use super::{Laid, MOST_PARTS, Repeat};
use crate::proof::Dice;
use crate::sheet::shape::{Bounds, Spot, Turn};

/// Lattices kept to be filled up and joined with others, for parts lying and for parts standing.
const KEPT: usize = 10;

/// Lines across on which second parts of pairs are looked for, after the corners.
const LINES: i64 = 6;

/// Corners up to which a shape is searched with at once; one with more is first made simpler.
const PLAIN: usize = 40;

/// Times in a row that parts are taken up and laid anew without gain.
const ROUNDS: usize = 150;

/// More parts than this are not filled up one by one.
const SINGLY: usize = 1500;

/// With more parts than this only lattices of single parts are counted.
const SEVERAL: usize = 5000;

/// Places looked at for each part wanted when parts are strewn.
const LOOKED: usize = 20;

/// A lattice with its best shift.
#[derive(Clone, Debug)]
struct Found {
    count: i64,
    /// Area of the larger strip left beside or above it, in steps squared.
    rest: i128,
    grid: Grid,
    shift: Spot,
}

/// A search under way.
struct Search<'a> {
    kit: &'a Kit,
    sheet: &'a Sheet,
    rooms: Rooms,
    /// No more than so many are wanted or possible.
    limit: usize,
    best: Vec<Member>,
    /// By whether the first part lies a quarter turn from the first turn.
    kept: [Vec<Found>; 2],
    /// While fewer are wanted than may go, those that leave the larger rest are looked for.
    choosy: bool,
    stop: &'a mut dyn FnMut() -> bool,
    better: &'a mut dyn FnMut(usize),
}

pub(super) fn repeat(
    ask: &Repeat<'_>,
    stop: &mut dyn FnMut() -> bool,
    better: &mut dyn FnMut(usize),
) -> Vec<Laid> {
    if !in_reach(ask.sheet) {
        return Vec::new();
    }
    let Some(sheet) = Sheet::new(ask.sheet) else {
        return Vec::new();
    };
    let coarse = simpler(ask.shape, COARSE * 2, f64::INFINITY);
    let many = ask.shape.rings().map(Vec::len).sum::<usize>() > PLAIN;
    let mut best: Vec<Laid> = Vec::new();
    for stand_in in [&coarse, ask.shape].into_iter().skip(usize::from(!many)) {
        let Some(kit) = Kit::new(ask.shape, stand_in, ask.turns) else {
            continue;
        };
        if many && !best.is_empty() && !kit.handy() {
            break;
        }
        let laid = with(&kit, &sheet, ask.most, &best, stop, better);
        if laid.len() > best.len() {
            best = laid;
        }
    }
    best
}

/// The search with one kit, from what was found with a simpler one.
fn with(
    kit: &Kit,
    sheet: &Sheet,
    wanted: Option<u32>,
    start: &[Laid],
    stop: &mut dyn FnMut() -> bool,
    better: &mut dyn FnMut(usize),
) -> Vec<Laid> {
    let area = usize::try_from(sheet.doubled / kit.doubled).unwrap_or(usize::MAX);
    let wanted = wanted.unwrap_or(u32::MAX).min(MOST_PARTS);
    let member = |l: &Laid| {
        let kind = kit.kinds.iter().position(|k| k.turn == l.turn)?;
        let at = l.at - kit.kinds[kind].lead;
        Some(Member { at, kind })
    };
    let limit = area.min(usize::try_from(wanted).unwrap_or(usize::MAX));
    let mut search = Search {
        kit,
        sheet,
        rooms: kit.kinds.iter().map(|k| sheet.room(k)).collect(),
        limit,
        best: start.iter().filter_map(member).collect(),
        kept: [Vec::new(), Vec::new()],
        choosy: limit < area,
        stop,
        better,
    };
    search.run();
    let best = search.chosen();
    best.iter()
        .map(|m| Laid {
            turn: kit.kinds[m.kind].turn,
            at: m.at + kit.kinds[m.kind].lead,
        })
        .collect()
}

impl Search<'_> {
    fn done(&mut self) -> bool {
        (self.best.len() >= self.limit && !self.choosy) || (self.stop)()
    }

    fn run(&mut self) {
        if self.rooms.iter().all(Option::is_none) || self.best.len() >= self.limit {
            return;
        }
        let countless = i128::from(MOST_PARTS) * self.kit.doubled < self.sheet.doubled;
        if countless {
            self.strewn();
            return;
        }
        let usable: Vec<usize> = (0..self.rooms.len())
            .filter(|k| self.rooms[*k].is_some())
            .collect();
        self.rows(&usable);
        for kind in &usable {
            self.lattices(Cell {
                kind: *kind,
                pair: None,
            });
            if self.done() {
                return;
            }
        }
        if self.best.len() > SEVERAL {
            return;
        }
        let most = proved(self.kit, self.sheet).most;
        self.limit = self.limit.min(usize::try_from(most).unwrap_or(usize::MAX));
        if self.best.len() < self.limit {
            self.top_up();
        }
        let turn = |k: usize| self.kit.kinds[k].turn;
        let (mut opposite, mut mixed) = (Vec::new(), Vec::new());
        for (i, a) in usable.iter().enumerate() {
            for b in &usable[i + 1..] {
                let half = turn(*a).then(Turn::Half) == turn(*b);
                let list = if half { &mut opposite } else { &mut mixed };
                list.push((*a, *b));
            }
        }
        self.pairs(&opposite, 0);
        self.choosy = false;
        for (pairs, lines) in [(&opposite, LINES), (&mixed, 0), (&mixed, LINES)] {
            self.top_up();
            self.blocks();
            if self.done() {
                return;
            }
            self.pairs(pairs, lines);
        }
        self.anew(&usable);
    }

    /// Boxes of the first kind that fits in plain rows, for parts so small that more than can be laid
    /// would go.
    fn strewn(&mut self) {
        let kinds = self.rooms.iter().enumerate();
        let Some((kind, room)) = kinds.filter_map(|(k, r)| Some((k, r.as_ref()?))).next() else {
            return;
        };
        let (size, Bounds { min, max }) = (self.kit.kinds[kind].size, room.reach);
        let step = |s: i64| usize::try_from(s).unwrap_or(1).max(1);
        let rows = (min.y..=max.y).step_by(step(size.y));
        let places = rows.flat_map(|y| (min.x..=max.x).step_by(step(size.x)).map(move |x| (x, y)));
        self.best = places
            .take(self.limit.saturating_mul(LOOKED))
            .map(|(x, y)| Spot::new(x, y))
            .filter(|at| room.holds(*at))
            .take(self.limit)
            .map(|at| Member { at, kind })
            .collect();
        (self.better)(self.best.len());
    }

    /// Plain rows and columns of each kind's box, of rectangular sheets and others.
    fn rows(&mut self, kinds: &[usize]) {
        for kind in kinds {
            let size = self.kit.kinds[*kind].size;
            let grid = Grid {
                cell: Cell {
                    kind: *kind,
                    pair: None,
                },
                u: Spot::new(size.x, 0),
                v: Spot::new(0, size.y),
            };
            self.offer(grid);
        }
    }

    /// Counts the lattices of these pairs, the second part at every corner of where it may stand, or
    /// on so many lines across.
    fn pairs(&mut self, pairs: &[(usize, usize)], lines: i64) {
        let mut cells: Vec<(i64, Cell)> = Vec::new();
        for (a, b) in pairs {
            let barred = self.kit.barred(*a, *b);
            let places = match lines {
                0 => barred.corners.clone(),
                _ => sides(barred, lines),
            };
            cells.extend(places.into_iter().filter_map(|w| self.pair(*a, *b, w)));
        }
        cells.sort_by_key(|(size, c)| (*size, c.kind, c.pair));
        cells.dedup();
        for (_, cell) in cells {
            if self.done() {
                return;
            }
            self.lattices(cell);
        }
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

    fn family(&self, kind: usize) -> usize {
        let quarters = |k: usize| self.kit.kinds[k].turn.quarters();
        usize::from((quarters(kind) + quarters(0)) % 2)
    }

    fn offer(&mut self, grid: Grid) {
        let family = self.family(grid.cell.kind);
        let full = self.kept[family].len() >= KEPT;
        let worst = self.kept[family].last().filter(|_| full);
        let worst = worst.map_or(1, |f| f.count);
        // A step less than whole, against what is lost in reckoning.
        #[allow(clippy::cast_precision_loss, reason = "small numbers")]
        if self.sheet.plain() && most(&grid, &self.rooms) < worst as f64 - 1e-6 {
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
        self.take(laid);
        let kept = &mut self.kept[family];
        // Of those alike in both, one will do.
        if kept.iter().any(|f| (f.count, f.rest) == (count, rest)) {
            return;
        }
        kept.push(Found {
            count,
            rest,
            grid,
            shift,
        });
        kept.sort_by_key(|f| (-f.count, -f.rest));
        kept.truncate(KEPT);
    }

    /// Keeps what is laid when it is more than before.
    fn take(&mut self, laid: Vec<Member>) {
        if laid.len() > self.best.len() {
            self.best = laid;
            (self.better)(self.best.len());
        }
    }

    /// The area of the larger strip left on the right of what is laid, or above it.
    fn rest(&self, laid: &[Member]) -> i128 {
        let Bounds { min, max } = self.sheet.bounds;
        let far = laid.iter().fold(min, |far, m| {
            let end = self.end(m);
            Spot::new(far.x.max(end.x), far.y.max(end.y))
        });
        let strip = |a: i64, b: i64| i128::from(a) * i128::from(b);
        strip(max.x - far.x, max.y - min.y).max(strip(max.x - min.x, max.y - far.y))
    }

    fn end(&self, m: &Member) -> Spot {
        m.at + self.kit.kinds[m.kind].size
    }

    /// No more than are wanted, those that leave the larger rest.
    fn chosen(&self) -> Vec<Member> {
        if self.best.len() <= self.limit {
            return self.best.clone();
        }
        let all = self.kept.iter().flatten();
        let mut ways: Vec<Vec<Member>> = all
            .map(|f| members(&f.grid, &self.rooms, f.shift))
            .filter(|laid| laid.len() >= self.limit)
            .collect();
        ways.push(self.best.clone());
        let cut = ways.into_iter().flat_map(|laid| {
            Along::BOTH.map(|along| {
                let mut laid = laid.clone();
                laid.sort_by_key(|m| (along.own(self.end(m)), *m));
                laid.truncate(self.limit);
                laid
            })
        });
        cut.max_by_key(|laid| self.rest(laid)).unwrap_or_default()
    }

    /// Fills up the best lattices with single parts.
    fn top_up(&mut self) {
        for found in self.kept.concat() {
            for first in [First::Lowest, First::Leftmost] {
                if self.done() {
                    return;
                }
                let laid = members(&found.grid, &self.rooms, found.shift);
                self.filled(laid, first);
            }
        }
    }

    fn filled(&mut self, mut laid: Vec<Member>, first: First) {
        if laid.len() > SINGLY {
            return;
        }
        let kinds: Vec<usize> = (0..self.rooms.len()).collect();
        fill(
            self.kit,
            &self.rooms,
            &mut laid,
            &kinds,
            first,
            self.limit,
            self.stop,
        );
        self.take(laid);
    }

    /// Cuts a rectangular sheet into blocks.
    fn blocks(&mut self) {
        if !self.sheet.plain() || self.done() {
            return;
        }
        let grids: Vec<Grid> = self.kept.iter().flatten().map(|f| f.grid).collect();
        let sheet = self.sheet.bounds;
        let laid = Blocks::new(self.kit, &grids, sheet).lay(sheet, self.stop);
        for first in [First::Lowest, First::Leftmost] {
            self.filled(laid.clone(), first);
        }
    }

    /// Takes up some parts that lie together, pushes the rest to a side and lays single ones anew, as
    /// long as that gains something now and then.
    fn anew(&mut self, kinds: &[usize]) {
        let mut dice = Dice(0x5eed);
        let mut now = self.best.clone();
        if now.is_empty() || now.len() > SINGLY {
            return;
        }
        let mut since = 0;
        while since < ROUNDS && !self.done() {
            since += 1;
            let mut next = now.clone();
            let centre = next[dice.below(next.len())].at;
            let far = |m: &Member| {
                let d = m.at - centre;
                (d.x.abs().max(d.y.abs()), *m)
            };
            next.sort_by_key(far);
            let away = 1 + dice.below(next.len().min(12));
            next.drain(..away.min(next.len()));
            for _ in 0..2 {
                let along = Along::BOTH[dice.below(2)];
                push(self.kit, &self.rooms, &mut next, along, dice.below(4) == 0);
            }
            let first = [First::Lowest, First::Leftmost][dice.below(2)];
            let mut some = kinds.to_vec();
            if dice.below(2) == 0 {
                some = vec![kinds[dice.below(kinds.len())]];
            }
            let (kit, limit) = (self.kit, self.limit);
            fill(kit, &self.rooms, &mut next, &some, first, limit, self.stop);
            if some.len() < kinds.len() {
                fill(kit, &self.rooms, &mut next, kinds, first, limit, self.stop);
            }
            if next.len() > self.best.len() {
                self.take(next.clone());
                since = 0;
            }
            if next.len() >= now.len() {
                now = next;
            }
        }
    }
}
