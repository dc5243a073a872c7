//! Every pattern there can be, tried: the floor is filled from one edge, always at the lowest and
//! leftmost free spot. There a case lies lengthwise, or crosswise, or the spot stays empty up to the
//! next place a case could begin. What has been filled is known by its skyline alone, so a skyline
//! that led nowhere is not entered twice. The search gives up a skyline as soon as the area it must
//! waste, counted by columns and by rows, is more than the count asked for leaves.

use std::collections::HashMap;

use super::grid::{Laid, Problem, reaches, starts, within};

/// What the search came to.
pub(super) enum Filled {
    /// A pattern with the number asked for.
    Found(Vec<Laid>),
    /// There is none.
    None,
    /// Not known: the budget was used up.
    Open,
}

/// Wider floors (in the smallest whole numbers) are not searched.
const WIDEST: i64 = 240;

struct Fill {
    p: Problem,
    /// Longest reach within each length.
    down: Vec<i64>,
    /// Whether a case may begin here, and the next such place after.
    next: [Vec<i64>; 2],
    may: [Vec<bool>; 2],
    /// Skylines that led nowhere, with the least waste they had.
    dead: HashMap<Box<[u8]>, i64>,
    sky: Vec<u8>,
    laid: Vec<Laid>,
    spare: i64,
    steps: u64,
    budget: u64,
}

/// Looks for a pattern of `count` cases. Gives back the steps taken as well: skylines looked at.
pub(super) fn fill(p: Problem, count: i64, budget: u64) -> (Filled, u64) {
    // Along the shorter side skylines are fewer.
    let flipped = p.floor[0] > p.floor[1];
    let p = if flipped {
        Problem {
            floor: [p.floor[1], p.floor[0]],
            ..p
        }
    } else {
        p
    };
    let [x, y] = p.floor;
    let spare = x * y - count * p.long * p.short;
    if spare < 0 {
        return (Filled::None, 0);
    }
    if x.max(y) > WIDEST {
        return (Filled::Open, 0);
    }
    let reach = reaches(x.max(y), p.long, p.short);
    let mut may = [x, y].map(|side| vec![false; usize::try_from(side).unwrap_or(0) + 1]);
    let mut next = [x, y].map(|side| vec![side; usize::try_from(side).unwrap_or(0) + 1]);
    for (axis, side) in [x, y].into_iter().enumerate() {
        for s in starts(&reach, side) {
            may[axis][usize::try_from(s).unwrap_or(0)] = true;
        }
        let mut then = side;
        for at in (0..next[axis].len()).rev() {
            next[axis][at] = then;
            if may[axis][at] {
                then = i64::try_from(at).unwrap_or(0);
            }
        }
    }
    let mut f = Fill {
        p,
        down: (0..=x.max(y)).map(|v| within(&reach, v)).collect(),
        next,
        may,
        dead: HashMap::new(),
        sky: vec![0; usize::try_from(x).unwrap_or(0)],
        laid: Vec::new(),
        spare,
        steps: 0,
        budget,
    };
    let found = f.go(0);
    let steps = f.steps;
    match found {
        Some(true) => {
            if flipped {
                for c in &mut f.laid {
                    (c.x, c.y) = (c.y, c.x);
                    c.turned = !c.turned;
                }
            }
            (Filled::Found(f.laid), steps)
        }
        Some(false) => (Filled::None, steps),
        None => (Filled::Open, steps),
    }
}

const fn at(v: i64) -> usize {
    v as usize
}

impl Fill {
    /// Whether the rest can be filled; `None` past the budget.
    fn go(&mut self, waste: i64) -> Option<bool> {
        let [_, height] = self.p.floor;
        let low = i64::from(*self.sky.iter().min()?);
        if low >= height {
            return Some(waste <= self.spare);
        }
        if waste + self.least_waste() > self.spare {
            return Some(false);
        }
        if let Some(was) = self.dead.get(&self.sky[..])
            && *was <= waste
        {
            return Some(false);
        }
        self.steps += 1;
        if self.steps > self.budget {
            return None;
        }
        let x = self.sky.iter().position(|h| i64::from(*h) == low)?;
        let gap = self.sky[x..]
            .iter()
            .take_while(|h| i64::from(**h) == low)
            .count();
        let gap = i64::try_from(gap).ok()?;
        let x = i64::try_from(x).ok()?;
        if self.may[0][at(x)] && self.may[1][at(low)] {
            for turned in [false, true] {
                let c = Laid { x, y: low, turned };
                let [w, h] = c.size(self.p);
                if w > gap || low + h > height {
                    continue;
                }
                self.raise(x, w, low + h);
                self.laid.push(c);
                let done = self.go(waste)?;
                if done {
                    return Some(true);
                }
                self.laid.pop();
                self.raise(x, w, low);
            }
        }
        let w = (self.next[0][at(x)] - x).min(gap);
        let h = self.next[1][at(low)] - low;
        if waste + w * h <= self.spare {
            self.raise(x, w, low + h);
            if self.go(waste + w * h)? {
                return Some(true);
            }
            self.raise(x, w, low);
        }
        self.dead.insert(self.sky.clone().into_boxed_slice(), waste);
        Some(false)
    }
    fn raise(&mut self, x: i64, w: i64, to: i64) {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "no floor here is higher than WIDEST"
        )]
        self.sky[at(x)..at(x + w)].fill(to as u8);
    }
    /// Area that must stay empty: each column above the skyline, and each row between its walls,
    /// holds no more than its longest reach.
    fn least_waste(&self) -> i64 {
        let [width, height] = self.p.floor;
        let short_of = |v: i64| v - self.down[at(v)];
        let columns: i64 = self
            .sky
            .iter()
            .map(|h| short_of(height - i64::from(*h)))
            .sum();
        // Walls that shut in a stretch, from left to right: height and where the stretch began.
        let mut rows = 0;
        let mut open: Vec<(i64, i64)> = Vec::with_capacity(16);
        let mut x = 0;
        let close = |open: &mut Vec<(i64, i64)>, x: i64, wall: i64, rows: &mut i64| {
            let mut from = x;
            while let Some((h, began)) = open.last().copied() {
                if h >= wall {
                    if h == wall {
                        from = began;
                        open.pop();
                    }
                    break;
                }
                open.pop();
                from = began;
                let up = open.last().map_or(wall, |(next, _)| (*next).min(wall));
                *rows += short_of(x - began) * (up - h);
            }
            open.push((wall, from));
        };
        while x < width {
            let h = i64::from(self.sky[at(x)]);
            close(&mut open, x, h, &mut rows);
            x += 1;
            while x < width && i64::from(self.sky[at(x)]) == h {
                x += 1;
            }
        }
        close(&mut open, width, height, &mut rows);
        columns.max(rows)
    }
}
