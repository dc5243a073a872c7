//! Patterns of blocks: a rectangle is filled with rows of one kind, cut in two right across, or
//! parted into five like a pinwheel, and each part is filled the same way (Morabito, Morales, J. Opl
//! Res. Soc. 49, 1998; Birgin, Lobato, Morabito, J. Opl Res. Soc. 61, 2010). Each rectangle is
//! solved once; work is counted in partings looked at, never in time.

use std::collections::HashMap;

use super::grid::{Laid, Problem, reaches, starts, within};

/// How far a rectangle may be parted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parting {
    /// Only right across.
    Guillotine,
    /// Into five as well, of which one may have no area.
    Five,
}

/// Reaches past this number make tables too large; such floors get rows of one kind and single cuts.
const MOST_REACHES: usize = 1500;
/// How many whole-floor partings with the same count are kept to choose from.
const MOST_CHOICES: usize = 24;
/// Partings looked at to find others with the same count.
const LOOKING_ROUND: u64 = 20_000;

// Depths of parting: what the parts of a rectangle are filled with.
/// Cuts right across only.
const CUTS: usize = 0;
/// Five parts once, each cut right across.
const ONE_FIVE: usize = 1;
/// Five parts, and each so again.
const FIVES: usize = 2;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum How {
    /// Rows of cases with their length along the longer axis of the table, or across it.
    Rows(bool),
    CutX(i64),
    CutY(i64),
    Five([i64; 4]),
}

#[derive(Clone, Copy, Debug)]
struct Solved {
    count: i64,
    how: How,
    /// The table its parts stand in.
    parts: usize,
}

/// What a search of blocks came to.
pub(super) struct Found {
    pub(super) count: i64,
    /// Patterns with that count, the first found first.
    pub(super) patterns: Vec<Vec<Laid>>,
    /// Partings looked at.
    pub(super) steps: u64,
    /// Whether the search ended by itself, not by its budget.
    pub(super) whole: bool,
}

struct Search {
    p: Problem,
    reach: Vec<i64>,
    /// Index of the longest reach within each length, where lengths are few.
    down: Vec<i64>,
    starts: HashMap<i64, Vec<i64>>,
    /// One table for each depth of parting.
    solved: [HashMap<(i64, i64), Solved>; 3],
    tops: HashMap<(i64, i64), i64>,
    steps: u64,
    budget: u64,
}

/// The most cases a pattern of blocks holds, as far as the budget reaches; stops at `enough`.
pub(super) fn search(p: Problem, parting: Parting, enough: i64, budget: u64) -> Found {
    let [x, y] = p.floor;
    let reach = reaches(x.max(y), p.long, p.short);
    let wide = reach.len() > MOST_REACHES;
    let down = if x.max(y) < 1 << 16 {
        (0..=x.max(y)).map(|v| within(&reach, v)).collect()
    } else {
        Vec::new()
    };
    let mut s = Search {
        p,
        reach,
        down,
        starts: HashMap::new(),
        solved: Default::default(),
        tops: HashMap::new(),
        steps: 0,
        budget: if wide { 0 } else { budget },
    };
    let mut depth = CUTS;
    let mut count = s.solve(x, y, enough, depth);
    if parting == Parting::Five {
        for more in [ONE_FIVE, FIVES] {
            if count < enough {
                let found = s.solve(x, y, enough, more);
                if found > count {
                    (count, depth) = (found, more);
                }
            }
        }
    }
    let whole = !wide && s.steps < s.budget;
    let at = key(s.fit(x), s.fit(y));
    let first = s.solved[depth].get(&at).copied();
    let first = first.unwrap_or_else(|| s.rows(at.0, at.1));
    let mut hows = vec![(first.how, first.parts)];
    if count > 0 && !wide {
        s.others(at, count, parting, &mut hows);
    }
    let mut patterns: Vec<Vec<Laid>> = Vec::new();
    for (how, parts) in hows {
        let mut out = Vec::new();
        s.lay_how(at, how, parts, &mut out);
        if x < y {
            out.iter_mut().for_each(flip);
        }
        if !patterns.contains(&out) {
            patterns.push(out);
        }
    }
    Found {
        count,
        patterns,
        steps: s.steps,
        whole,
    }
}

const fn depth_of_parts(depth: usize) -> usize {
    if depth == ONE_FIVE { CUTS } else { depth }
}

fn flip(c: &mut Laid) {
    (c.x, c.y) = (c.y, c.x);
    c.turned = !c.turned;
}

fn key(x: i64, y: i64) -> (i64, i64) {
    (x.max(y), x.min(y))
}

impl Search {
    fn fit(&self, v: i64) -> i64 {
        usize::try_from(v)
            .ok()
            .and_then(|at| self.down.get(at).copied())
            .unwrap_or_else(|| within(&self.reach, v))
    }
    fn starts(&mut self, room: i64) -> Vec<i64> {
        let reach = &self.reach;
        self.starts
            .entry(room)
            .or_insert_with(|| starts(reach, room))
            .clone()
    }
    fn rows(&self, x: i64, y: i64) -> Solved {
        let lengthwise = (x / self.p.long) * (y / self.p.short);
        let crosswise = (x / self.p.short) * (y / self.p.long);
        Solved {
            count: lengthwise.max(crosswise),
            how: How::Rows(crosswise > lengthwise),
            parts: CUTS,
        }
    }
    /// A bound that is quick to have.
    fn top(&mut self, x: i64, y: i64) -> i64 {
        let p = self.p;
        *self.tops.entry(key(x, y)).or_insert_with(|| {
            let waste = |n: i64| {
                let (r, s) = (x % n, y % n);
                (r * s).min((n - r) * (n - s))
            };
            (x * y - waste(p.long).max(waste(p.short))) / (p.long * p.short)
        })
    }
    /// The most for a rectangle, whose sides need not be reaches.
    fn solve(&mut self, x: i64, y: i64, enough: i64, depth: usize) -> i64 {
        let (x, y) = key(self.fit(x), self.fit(y));
        if y < self.p.short || x < self.p.long {
            return 0;
        }
        if let Some(s) = self.solved[depth].get(&(x, y)) {
            return s.count;
        }
        let top = self.top(x, y).min(enough);
        let mut best = self.rows(x, y);
        if depth > CUTS {
            let plain = self.solve(x, y, enough, CUTS);
            if plain > best.count {
                best = self.solved[CUTS][&(x, y)];
            }
        }
        if best.count < top && depth != ONE_FIVE {
            self.cuts(x, y, top, depth, &mut best);
        }
        if best.count < top && depth > CUTS {
            self.fives(x, y, top, depth, &mut best);
        }
        self.solved[depth].insert((x, y), best);
        best.count
    }
    fn cuts(&mut self, x: i64, y: i64, top: i64, depth: usize, best: &mut Solved) {
        for along_x in [true, false] {
            let (side, other) = if along_x { (x, y) } else { (y, x) };
            for at in self.starts(side) {
                if at == 0 || at * 2 > side {
                    continue;
                }
                self.steps += 1;
                if best.count >= top || self.steps >= self.budget {
                    return;
                }
                let rest = self.fit(side - at);
                if self.top(at, other) + self.top(rest, other) <= best.count {
                    continue;
                }
                let count = self.solve(at, other, i64::MAX, depth)
                    + self.solve(rest, other, i64::MAX, depth);
                if count > best.count {
                    let how = if along_x {
                        How::CutX(at)
                    } else {
                        How::CutY(at)
                    };
                    *best = Solved {
                        count,
                        how,
                        parts: depth,
                    };
                }
            }
        }
    }
    /// Partings into five: lower left, lower right, middle, upper right, upper left.
    fn fives(&mut self, x: i64, y: i64, top: i64, depth: usize, best: &mut Solved) {
        let parts = depth_of_parts(depth);
        self.pinwheels(x, y, parts, &mut |s, count, how| {
            if count > best.count {
                *best = Solved { count, how, parts };
            }
            (best.count < top && s.steps < s.budget).then_some(best.count + 1)
        });
    }
    /// Goes through the partings into five that may hold `want`, which `told` gives anew after each
    /// one solved, until it says to stop.
    fn pinwheels(
        &mut self,
        x: i64,
        y: i64,
        depth: usize,
        told: &mut dyn FnMut(&Self, i64, How) -> Option<i64>,
    ) {
        let (xs, ys) = (self.starts(x), self.starts(y));
        let unit = self.p.long * self.p.short;
        let Some(mut want) = told(self, 0, How::Rows(false)) else {
            return;
        };
        for (i, &x1) in xs.iter().enumerate().skip(1) {
            // The same pinwheel upside down is looked at once.
            for &x2 in xs[i..].iter().take_while(|x2| x1 + **x2 <= x && **x2 < x) {
                for (j, &y1) in ys.iter().enumerate().skip(1) {
                    for &y2 in ys[j..].iter().take_while(|y2| **y2 < y) {
                        self.steps += 1;
                        if self.steps >= self.budget {
                            return;
                        }
                        let parts = self.five(x, y, [x1, x2, y1, y2]);
                        if parts.iter().map(|[a, b]| a * b).sum::<i64>() / unit < want {
                            continue;
                        }
                        let tops = parts.map(|[a, b]| self.top(a, b));
                        let mut most: i64 = tops.iter().sum();
                        for (part, top) in parts.iter().zip(tops) {
                            if most < want {
                                break;
                            }
                            most += self.solve(part[0], part[1], i64::MAX, depth) - top;
                        }
                        if most >= want {
                            match told(self, most, How::Five([x1, x2, y1, y2])) {
                                Some(next) => want = next,
                                None => return,
                            }
                        }
                    }
                }
            }
        }
    }
    fn five(&self, x: i64, y: i64, [x1, x2, y1, y2]: [i64; 4]) -> [[i64; 2]; 5] {
        [
            [x1, y2],
            [x - x1, y1],
            [x2 - x1, y2 - y1],
            [x - x2, y - y1],
            [x2, y - y2],
        ]
        .map(|part| part.map(|v| self.fit(v)))
    }
    /// More ways to part the whole floor that give the same count.
    fn others(
        &mut self,
        (x, y): (i64, i64),
        count: i64,
        parting: Parting,
        hows: &mut Vec<(How, usize)>,
    ) {
        // A little more work than the search itself was given.
        self.budget = self.steps + LOOKING_ROUND;
        let (long, short) = (self.p.long, self.p.short);
        for (turned, n) in [
            (false, (x / long) * (y / short)),
            (true, (x / short) * (y / long)),
        ] {
            if n == count {
                hows.push((How::Rows(turned), CUTS));
            }
        }
        for along_x in [true, false] {
            let (side, other) = if along_x { (x, y) } else { (y, x) };
            for at in self.starts(side) {
                let half = at > 0 && at * 2 <= side;
                if !half || hows.len() >= MOST_CHOICES / 2 || self.steps >= self.budget {
                    continue;
                }
                self.steps += 1;
                let n = self.solve(at, other, i64::MAX, CUTS)
                    + self.solve(side - at, other, i64::MAX, CUTS);
                if n == count {
                    let how = if along_x {
                        How::CutX(at)
                    } else {
                        How::CutY(at)
                    };
                    hows.push((how, CUTS));
                }
            }
        }
        if parting == Parting::Five {
            self.pinwheels(x, y, CUTS, &mut |_, n, how| {
                if n == count {
                    hows.push((how, CUTS));
                }
                (hows.len() < MOST_CHOICES).then_some(count)
            });
        }
    }
    /// Lays a rectangle of any sides with its corner at 0.
    fn lay(&self, x: i64, y: i64, depth: usize) -> Vec<Laid> {
        let (x, y) = (self.fit(x), self.fit(y));
        let mut out = Vec::new();
        let at = key(x, y);
        let solved = self.solved[depth].get(&at);
        if let Some(s) = solved {
            self.lay_how(at, s.how, s.parts, &mut out);
        }
        if x < y {
            out.iter_mut().for_each(flip);
        }
        out
    }
    fn lay_how(&self, (x, y): (i64, i64), how: How, parts: usize, out: &mut Vec<Laid>) {
        let mut put = |at: [i64; 2], part: [i64; 2]| {
            out.extend(self.lay(part[0], part[1], parts).into_iter().map(|c| Laid {
                x: c.x + at[0],
                y: c.y + at[1],
                ..c
            }));
        };
        match how {
            How::Rows(turned) => {
                let [w, h] = if turned {
                    [self.p.short, self.p.long]
                } else {
                    [self.p.long, self.p.short]
                };
                for row in 0..y / h {
                    out.extend((0..x / w).map(|n| Laid {
                        x: n * w,
                        y: row * h,
                        turned,
                    }));
                }
            }
            How::CutX(at) => {
                put([0, 0], [at, y]);
                put([at, 0], [x - at, y]);
            }
            How::CutY(at) => {
                put([0, 0], [x, at]);
                put([0, at], [x, y - at]);
            }
            How::Five([x1, x2, y1, y2]) => {
                let at = [[0, 0], [x1, 0], [x1, y1], [x2, y1], [0, y2]];
                for (at, part) in at.into_iter().zip(self.five(x, y, [x1, x2, y1, y2])) {
                    put(at, part);
                }
            }
        }
    }
}
