//! Parts laid on the sheets and off-cuts there are, at the least cost of board.
//!
//! First every sheet is filled in turn, the cheapest board first. Then, where parts are left, they
//! are put among those that lie and all are parted again; where none is left, sheets are exchanged
//! for fewer or cheaper ones. At last the sheet with the most room is pressed, for a large off-cut.

use std::collections::BTreeMap;

use super::area::{Area, P, Whole as _};
use super::bites::bites;
use super::floor::{Floor, Lies};
use super::found::{Found, Used, better};
use super::separate::Patience;
use super::work::{Axis, Work, told};
use super::{MOST_MOVED, MOST_PARTS, Problem, Refused, Watch, admit};
use crate::sheet::shape::Turn;

/// Parts that are moved at once; more would make each round slow.
const MOST_AT_ONCE: usize = 160;

/// Share of the budget after which sheets are no longer exchanged.
const EXCHANGE_UNTIL: f64 = 0.6;

/// A sheet in use: its kind, and the parts in its own coordinates.
#[derive(Clone, Debug)]
pub(super) struct Open {
    /// Index of the kind of sheet.
    pub bin: usize,
    /// What lies on it.
    pub parts: Vec<Lies>,
}

/// What the search knows of a kind of sheet.
pub(super) struct Sheet {
    pub area: Area,
    /// Area in squared grid steps.
    pub size: f64,
    pub cost: f64,
    pub count: u32,
    /// Its bites, as kinds behind the parts.
    pub bites: Vec<Lies>,
}

pub(super) struct Search<'a> {
    pub problem: &'a Problem,
    pub work: Work<'a>,
    pub sheets: Vec<Sheet>,
    pub open: Vec<Open>,
    pub left: Vec<u32>,
    pub best: Option<Found>,
    /// How often sheets could not be had in place of others, by what was wanted.
    pub failed: BTreeMap<(Vec<usize>, Vec<usize>), u32>,
}

/// Lays what is wanted on the sheets there are. What finds no place is counted in `left`.
///
/// # Errors
/// When a shape cannot be used, or `from` does not hold.
pub fn search(
    problem: &Problem,
    from: Option<&Found>,
    seed: u64,
    watch: &mut dyn Watch,
) -> Result<Found, Refused> {
    admit(&problem.kinds, MOST_PARTS)?;
    super::admit_sheets(&problem.sheets)?;
    if let Some(found) = from {
        found.checked(problem)?;
    }
    let mut shapes = Vec::new();
    let sheets = problem
        .sheets
        .iter()
        .map(|bin| {
            let bites = bites(&bin.shape)
                .into_iter()
                .map(|bite| {
                    shapes.push(bite);
                    Lies {
                        kind: problem.kinds.len() + shapes.len() - 1,
                        turn: Turn::None,
                        at: P::ZERO,
                        sheet: 0,
                    }
                })
                .collect();
            Sheet {
                area: Area::of(&bin.shape),
                #[allow(clippy::cast_precision_loss, reason = "for comparing")]
                size: bin.shape.doubled_area() as f64 * 0.5,
                cost: bin.cost,
                count: bin.count,
                bites,
            }
        })
        .collect();
    let mut s = Search {
        problem,
        work: Work::new(&problem.kinds, &shapes, seed, watch),
        sheets,
        open: Vec::new(),
        left: problem.kinds.iter().map(|k| k.wanted).collect(),
        best: None,
        failed: BTreeMap::new(),
    };
    s.begin(from);
    s.improve();
    s.finish();
    Ok(s.best.unwrap_or_else(|| Found::of(problem, Vec::new())))
}

impl Search<'_> {
    /// Takes what is laid already, and fills sheet after sheet with the rest.
    fn begin(&mut self, from: Option<&Found>) {
        for used in from.iter().flat_map(|f| &f.sheets) {
            let parts = used
                .placed
                .iter()
                .map(|p| {
                    self.left[p.kind] = self.left[p.kind].saturating_sub(1);
                    Lies {
                        kind: p.kind,
                        turn: p.turn,
                        at: P::of(p.at),
                        sheet: 0,
                    }
                })
                .collect();
            self.open.push(Open {
                bin: used.bin,
                parts,
            });
        }
        for n in 0..self.open.len() {
            self.fill(n);
        }
        let mut order: Vec<usize> = (0..self.sheets.len()).collect();
        let dear = |n: &usize| self.sheets[*n].cost / self.sheets[*n].size;
        order.sort_by(|a, b| {
            let large = || self.sheets[*b].size.total_cmp(&self.sheets[*a].size);
            dear(a).total_cmp(&dear(b)).then_with(large)
        });
        for bin in order {
            while self.left.iter().any(|n| *n > 0) && self.spare(bin) > 0 {
                self.open.push(Open {
                    bin,
                    parts: Vec::new(),
                });
                self.fill(self.open.len() - 1);
                if self.open.last().is_some_and(|o| o.parts.is_empty()) {
                    self.open.pop();
                    break;
                }
            }
        }
        self.tell();
    }

    /// How many sheets of a kind are not in use.
    pub(super) fn spare(&self, bin: usize) -> u32 {
        let used = self.open.iter().filter(|o| o.bin == bin).count();
        self.sheets[bin]
            .count
            .saturating_sub(u32::try_from(used).unwrap_or(u32::MAX))
    }

    /// Lays what is left on a sheet, each part where it finds a free place.
    fn fill(&mut self, n: usize) {
        let bin = self.open[n].bin;
        let area = self.sheets[bin].area;
        let mut all = self.sheets[bin].bites.clone();
        all.extend_from_slice(&self.open[n].parts);
        let mut used: f64 = self.open[n].parts.iter().map(|p| self.size(p.kind)).sum();
        let mut refused = vec![false; self.left.len()];
        for kind in self.work.order(&self.left.clone()) {
            let size = self.size(kind);
            if refused[kind] || used + size > self.sheets[bin].size {
                continue;
            }
            if !self.work.pulse.go_on() {
                return;
            }
            if let Some(lies) = self.work.lay(kind, 0, area, &all) {
                all.push(lies);
                self.open[n].parts.push(lies);
                self.left[kind] -= 1;
                used += size;
            } else {
                refused[kind] = true;
            }
        }
    }

    /// Area of a kind in squared grid steps.
    pub(super) fn size(&self, kind: usize) -> f64 {
        self.work.pairs.size(kind)
    }

    pub(super) fn free(&self, n: usize) -> f64 {
        let used: f64 = self.open[n].parts.iter().map(|p| self.size(p.kind)).sum();
        self.sheets[self.open[n].bin].size - used
    }

    /// The state as others see it; told on when it is better.
    pub(super) fn tell(&mut self) {
        let used = self
            .open
            .iter()
            .filter(|o| !o.parts.is_empty())
            .map(|o| Used {
                bin: o.bin,
                placed: o
                    .parts
                    .iter()
                    .map(|p| super::Laid {
                        kind: p.kind,
                        turn: p.turn,
                        at: p.at.spot(),
                    })
                    .collect(),
            })
            .collect();
        let found = Found::of(self.problem, used);
        if self.best.as_ref().is_none_or(|b| better(&found, b)) {
            self.work.pulse.watch.better(&found);
            self.best = Some(found);
        }
    }

    /// Sheets side by side on one floor, with the parts given for each.
    pub(super) fn floor(&mut self, opens: &[Open]) -> Floor {
        let mut areas = Vec::new();
        let mut parts = Vec::new();
        let mut fixed = Vec::new();
        let mut x = 0.0;
        for (sheet, o) in opens.iter().enumerate() {
            let area = self.sheets[o.bin].area;
            let by = P::new(x - area.lo.x, -area.lo.y);
            x += area.size().x + 16.0;
            let moved = |p: &Lies| Lies {
                at: p.at + by,
                sheet,
                ..*p
            };
            parts.extend(o.parts.iter().map(moved));
            fixed.extend(self.sheets[o.bin].bites.iter().map(moved));
            areas.push(Area {
                lo: area.lo + by,
                hi: area.hi + by,
            });
        }
        Floor::new(areas, parts, &fixed, &mut self.work.pairs)
    }

    /// The sheets of a floor, parts back in each sheet's own coordinates.
    pub(super) fn opened(&self, floor: &Floor, bins: &[usize]) -> Vec<Open> {
        bins.iter()
            .enumerate()
            .map(|(sheet, &bin)| {
                let by = floor.areas[sheet].lo - self.sheets[bin].area.lo;
                Open {
                    bin,
                    parts: told(floor, sheet, by)
                        .iter()
                        .map(|p| Lies {
                            kind: p.kind,
                            turn: p.turn,
                            at: P::of(p.at),
                            sheet: 0,
                        })
                        .collect(),
                }
            })
            .collect()
    }

    fn improve(&mut self) {
        let mut tries = 0;
        while !self.work.pulse.over() {
            if self.left.iter().any(|n| *n > 0) {
                self.work.pulse.until = 1.0;
                if !self.put_in(tries) {
                    return;
                }
            } else {
                self.work.pulse.until = EXCHANGE_UNTIL;
                if !self.exchange(tries) {
                    return;
                }
            }
            tries += 1;
            if !self.work.pulse.go_on() {
                return;
            }
        }
    }

    /// One part that was left, or a larger one for one that lies, put in and all parted. `false`
    /// when there is nothing that could be tried.
    fn put_in(&mut self, tries: usize) -> bool {
        let mut kinds: Vec<usize> = (0..self.left.len()).filter(|k| self.left[*k] > 0).collect();
        kinds.retain(|k| {
            (0..self.sheets.len()).any(|b| {
                self.open.iter().any(|o| o.bin == b)
                    && self.work.turns[*k].iter().any(|t| {
                        let room = self.sheets[b].area.room_for(self.work.pairs.area(*k, *t));
                        !room.is_empty()
                    })
            })
        });
        if kinds.is_empty() || self.open.is_empty() {
            return false;
        }
        let kind = kinds[self.work.dice.below(kinds.len())];
        let n = self.work.dice.below(self.open.len());
        // Now and then, in place of a smaller one.
        let size = self.size(kind);
        let swapped = (self.work.dice.below(3) == 0 && !self.open[n].parts.is_empty())
            .then(|| self.work.dice.below(self.open[n].parts.len()))
            .filter(|i| self.size(self.open[n].parts[*i].kind) < size);
        let back = swapped.map_or(0.0, |i| self.size(self.open[n].parts[i].kind));
        let group = self.group(n);
        let free: f64 = group.iter().map(|n| self.free(*n)).sum();
        if self.crowded(&group) {
            return tries < 10 * self.open.len();
        }
        if free + back < size {
            // Nothing can be tried when even the smallest left is too large for all that is free.
            let least = kinds.iter().map(|k| self.size(*k)).fold(f64::MAX, f64::min);
            let all: f64 = (0..self.open.len()).map(|n| self.free(n)).sum();
            return all >= least || kinds.iter().any(|k| self.could_swap(*k));
        }
        let mut opens: Vec<Open> = group.iter().map(|n| self.open[*n].clone()).collect();
        let gone = swapped.map(|i| opens[0].parts.swap_remove(i).kind);
        let turns = &self.work.turns[kind];
        let turn = turns[self.work.dice.below(turns.len())];
        let Some(lies) = self.anywhere(kind, turn, opens[0].bin) else {
            return true;
        };
        opens[0].parts.push(lies);
        let bins: Vec<usize> = opens.iter().map(|o| o.bin).collect();
        let mut floor = self.floor(&opens);
        let patience = Patience {
            rounds: 40 + tries.min(160),
            strikes: 1 + usize::from(tries > 50),
        };
        if self.work.part(&mut floor, patience) {
            for (n, o) in group.iter().zip(self.opened(&floor, &bins)) {
                self.open[*n] = o;
            }
            self.left[kind] -= 1;
            if let Some(gone) = gone {
                self.left[gone] += 1;
            }
            self.tell();
        }
        true
    }

    fn could_swap(&self, kind: usize) -> bool {
        let size = self.size(kind);
        self.open.iter().enumerate().any(|(n, o)| {
            let free = self.free(n);
            o.parts.iter().any(|p| {
                let back = self.size(p.kind);
                back < size && free + back >= size
            })
        })
    }

    /// A place for a kind on a sheet, whatever lies there.
    pub(super) fn anywhere(&mut self, kind: usize, turn: Turn, bin: usize) -> Option<Lies> {
        let turns = &self.work.turns[kind];
        let area = self.sheets[bin].area;
        let fits = |t: &Turn| !area.room_for(self.work.pairs.area(kind, *t)).is_empty();
        let turn = std::iter::once(&turn).chain(turns).find(|t| fits(t))?;
        let room = area.room_for(self.work.pairs.area(kind, *turn));
        let dice = &mut self.work.dice;
        let at = P::new(
            dice.between(room.lo.x, room.hi.x).round(),
            dice.between(room.lo.y, room.hi.y).round(),
        );
        Some(Lies {
            kind,
            turn: *turn,
            at,
            sheet: 0,
        })
    }

    /// A sheet and others beside it by chance, as many as can be searched at once.
    pub(super) fn group(&mut self, first: usize) -> Vec<usize> {
        let mut group = vec![first];
        let mut count = self.open[first].parts.len();
        for n in super::area::shuffled(0..self.open.len(), &mut self.work.dice) {
            let more = self.open[n].parts.len();
            if n != first && count + more <= MOST_AT_ONCE {
                group.push(n);
                count += more;
            }
        }
        group
    }

    /// Whether more parts lie on these sheets than are moved about.
    pub(super) fn crowded(&self, group: &[usize]) -> bool {
        let parts: usize = group.iter().map(|n| self.open[*n].parts.len()).sum();
        parts as u64 >= MOST_MOVED
    }

    /// The sheet with the most room is pressed: first with others beside it, that its parts may
    /// go to, then alone.
    fn finish(&mut self) {
        self.work.pulse.until = 1.0;
        if self.left.iter().any(|n| *n > 0) || self.open.is_empty() || !self.work.pulse.go_on() {
            return;
        }
        let share = |n: &usize| self.free(*n) / self.sheets[self.open[*n].bin].size;
        let Some(last) = (0..self.open.len()).max_by(|a, b| share(a).total_cmp(&share(b))) else {
            return;
        };
        let group = self.group(last);
        if self.crowded(&group) {
            return;
        }
        if group.len() > 1 {
            let half = 0.5 * (1.0 + self.work.pulse.spent);
            self.press(&group, half);
        }
        if self.open[last].parts.is_empty() {
            return;
        }
        self.press(&[last], 1.0);
    }

    fn press(&mut self, group: &[usize], until: f64) {
        let opens: Vec<Open> = group.iter().map(|n| self.open[*n].clone()).collect();
        let bins: Vec<usize> = opens.iter().map(|o| o.bin).collect();
        let mut floor = self.floor(&opens);
        let size = floor.areas[0].size();
        let beside = (size.x - self.work.reach(&floor, 0, Axis::X)) * size.y;
        let above = (size.y - self.work.reach(&floor, 0, Axis::Y)) * size.x;
        let axis = if above > beside { Axis::Y } else { Axis::X };
        // What is told on the way is told of the whole.
        let whole = self.open.clone();
        let best = std::cell::RefCell::new(self.best.take());
        let (problem, sheets) = (self.problem, &self.sheets);
        self.work
            .press(&mut floor, 0, axis, until, &mut |floor, watch| {
                let mut opens = whole.clone();
                for (sheet, n) in group.iter().enumerate() {
                    let by = floor.areas[sheet].lo - sheets[opens[*n].bin].area.lo;
                    opens[*n].parts = told(floor, sheet, by)
                        .iter()
                        .map(|p| Lies {
                            kind: p.kind,
                            turn: p.turn,
                            at: P::of(p.at),
                            sheet: 0,
                        })
                        .collect();
                }
                let used = opens
                    .iter()
                    .filter(|o| !o.parts.is_empty())
                    .map(|o| Used {
                        bin: o.bin,
                        placed: told_open(o),
                    })
                    .collect();
                let now = Found::of(problem, used);
                let mut best = best.borrow_mut();
                if best.as_ref().is_none_or(|b| better(&now, b)) {
                    watch.better(&now);
                    *best = Some(now);
                }
            });
        self.best = best.into_inner();
        for (n, o) in group.iter().zip(self.opened(&floor, &bins)) {
            self.open[*n] = o;
        }
        self.tell();
    }
}

fn told_open(o: &Open) -> Vec<super::Laid> {
    o.parts
        .iter()
        .map(|p| super::Laid {
            kind: p.kind,
            turn: p.turn,
            at: p.at.spot(),
        })
        .collect()
}
