//! Changes to a tour at random, a worse one taken now and then.
//!
//! Three kinds of change. **Anew**: some short stretches near one another are taken out, and their
//! tasks put back one by one wherever each costs least. **Turned**: a stretch is run from its end to
//! its start, so that two near tasks come to follow one another; tasks that would come before one they
//! wait for wait until it is done. **Moved**: a stretch goes elsewhere whole, as it is or turned.
//! Afterwards the gates about every change are chosen anew.
//!
//! A change that makes the tour longer by d is taken with probability exp(-d / warmth), and the warmth
//! falls from round to round (annealing, after Kirkpatrick, Gelatt and Vecchi, 1983). Taking out and
//! putting back strings is after Christiaens and Vanden Berghe, 2020, who route vehicles.

use super::gates::Gates;
use super::heat;
use super::model::{OUT, Problem, Run};
use crate::proof::Dice;

/// Warmth at the start and the end, as shares of the mean leg of the first tour. Chosen by trial on
/// the layouts of `tests/data/order`.
const WARMTH: [f64; 2] = [4.0, 0.01];

/// Longest stretch taken out at once, and mean number of tasks taken out. Chosen by trial.
const STRING: usize = 12;
const OUT_MEAN: usize = 12;

/// Longest stretch that is turned or moved.
const STRETCH: usize = 1000;

/// Of this many places where a task could go, one is overlooked, so that not the same comes back.
const OVERLOOK: usize = 40;

/// `stop` is asked once in so many rounds.
const ASK: u64 = 64;

/// Positions about a change at which gates are chosen anew.
const ABOUT: usize = 2;

struct Search<'a> {
    p: &'a Problem,
    dice: Dice,
    gates: &'a mut Gates,
    /// Tasks taken out, and positions about which something changed.
    out: Vec<usize>,
    touched: Vec<usize>,
    stretch: Vec<usize>,
    turned: Vec<usize>,
    waits: Vec<usize>,
}

/// Improves `best` in place. Gives whether it was stopped.
pub(super) fn improve(
    p: &Problem,
    best: &mut Run,
    seed: u64,
    rounds: u64,
    gates: &mut Gates,
    stop: &mut dyn FnMut() -> bool,
) -> bool {
    let n = p.tasks();
    let mut s = Search {
        p,
        dice: Dice(seed),
        gates,
        out: Vec::new(),
        touched: Vec::new(),
        stretch: Vec::new(),
        turned: Vec::new(),
        waits: vec![0; n],
    };
    let mut now = best.clone();
    let mut trial = best.clone();
    let mut cost = p.cost(&now);
    let mut least = cost;
    let leg = cost / (n + 1) as f64;
    let mut warmth = WARMTH[0] * leg;
    for round in 0..rounds {
        if round.is_multiple_of(ASK) {
            if stop() {
                return true;
            }
            warmth = leg * WARMTH[0] * power(WARMTH[1] / WARMTH[0], round as f64 / rounds as f64);
        }
        trial.take(&now);
        s.touched.clear();
        let changed = match s.dice.below(20) {
            0..14 => s.anew(&mut trial),
            14..17 => s.turn(&mut trial),
            _ => s.shift(&mut trial),
        };
        if !changed {
            continue;
        }
        s.choose_about(&mut trial);
        let found = p.cost(&trial);
        let bar = cost + warmth * patience(&mut s.dice);
        if found < bar {
            std::mem::swap(&mut now, &mut trial);
            cost = found;
            if found < least - 1e-9 {
                s.gates.choose(p, &mut now, 0, n);
                cost = p.cost(&now);
                least = cost;
                best.take(&now);
            }
        }
    }
    false
}

impl Search<'_> {
    /// Takes out stretches about a task and puts their tasks back.
    fn anew(&mut self, run: &mut Run) -> bool {
        let n = self.p.tasks();
        let middle = self.dice.below(n);
        let goal = (1 + self.dice.below(2 * OUT_MEAN)).min(n);
        self.out.clear();
        for k in 0..=self.p.near[middle].len() {
            if self.out.len() >= goal {
                break;
            }
            let t = if k == 0 {
                middle
            } else {
                self.p.near[middle][k - 1]
            };
            if run.at[t] == OUT {
                continue;
            }
            let length = 1 + self.dice.below(STRING.min(goal - self.out.len()));
            let lo = (run.at[t] + 1).saturating_sub(1 + self.dice.below(length));
            let lo = lo.min(run.at[t]);
            // Positions still count the tasks already taken out, which are marked and skipped.
            for i in lo..(lo + length).min(n) {
                let t = run.seq[i];
                if run.at[t] != OUT {
                    run.at[t] = OUT;
                    self.out.push(t);
                }
            }
        }
        let at = &run.at;
        let mut gap = false;
        let mut kept = 0;
        for i in 0..n {
            let t = run.seq[i];
            if at[t] == OUT {
                gap = true;
            } else {
                if gap {
                    self.touched.push(t);
                    gap = false;
                }
                run.seq[kept] = t;
                kept += 1;
            }
        }
        run.seq.truncate(kept);
        run.count_from(0);
        for i in (1..self.out.len()).rev() {
            let j = self.dice.below(i + 1);
            self.out.swap(i, j);
        }
        for k in 0..self.out.len() {
            self.put_back(run, self.out[k]);
        }
        self.touched.extend_from_slice(&self.out);
        true
    }

    /// Puts a task where it costs least, with the best of its gates there.
    fn put_back(&mut self, run: &mut Run, t: usize) {
        let p = self.p;
        let (mut lo, mut hi) = (0, run.seq.len());
        if p.ranks > 1 {
            lo = run.seq.partition_point(|&o| p.rank[o] < p.rank[t]);
            hi = run.seq.partition_point(|&o| p.rank[o] <= p.rank[t]);
        }
        for &f in &p.before[t] {
            if run.at[f] != OUT {
                lo = lo.max(run.at[f] + 1);
            }
        }
        for &s in &p.after[t] {
            if run.at[s] != OUT {
                hi = hi.min(run.at[s]);
            }
        }
        let (mut least, mut place, mut gate) = (f64::INFINITY, lo, run.gate[t]);
        let mut try_at = |i: usize, run: &Run, overlook: bool| {
            if overlook && least.is_finite() {
                return;
            }
            let from = p.from(run, i);
            let to = p.to(run, i);
            let (middle, radius) = p.round[t];
            let straight = to.map_or(0.0, |to| from.distance(to));
            let reach = to.map_or(0.0, |to| (middle.distance(to) - radius).max(0.0));
            if middle.distance(from) - radius + reach - straight >= least {
                return;
            }
            let fixed = rough_fixed(p, run, t, i) - straight;
            for g in p.gates_of[t].clone() {
                let way = fixed
                    + from.distance(p.enter[g])
                    + to.map_or(0.0, |to| p.leave[g].distance(to));
                if way < least {
                    (least, place, gate) = (way, i, g);
                }
            }
        };
        if hi - lo <= 2 * p.near[t].len() {
            for i in lo..=hi {
                let overlook = self.dice.below(OVERLOOK) == 0;
                try_at(i, run, overlook);
            }
        } else {
            try_at(lo, run, false);
            try_at(hi, run, false);
            for &o in &p.near[t] {
                let at = run.at[o];
                if at == OUT {
                    continue;
                }
                let overlook = self.dice.below(OVERLOOK) == 0;
                for i in [at, at + 1] {
                    if lo < i && i < hi {
                        try_at(i, run, overlook);
                    }
                }
            }
        }
        run.gate[t] = gate;
        run.seq.insert(place, t);
        run.count_from(place);
    }

    /// Turns the stretch between two near tasks, so that they follow one another.
    fn turn(&mut self, run: &mut Run) -> bool {
        let n = self.p.tasks();
        let Some((a, b)) = self.pair(run) else {
            return false;
        };
        let (i, j) = (run.at[a].min(run.at[b]), run.at[a].max(run.at[b]));
        // Turning what follows the first up to the second, or the first up to what precedes the second.
        let (lo, hi) = if self.dice.below(2) == 0 {
            (i + 1, j + 1)
        } else {
            (i, j)
        };
        if hi - lo < 2 || hi - lo > STRETCH.min(n) {
            return false;
        }
        self.stretch.clear();
        self.stretch.extend_from_slice(&run.seq[lo..hi]);
        self.turn_stretch(run);
        run.seq[lo..hi].copy_from_slice(&self.turned);
        run.count_from(lo);
        self.touched.push(run.seq[lo]);
        self.touched.push(run.seq[hi - 1]);
        if hi < n {
            self.touched.push(run.seq[hi]);
        }
        true
    }

    /// Moves a stretch to before or after a task near its end or start.
    fn shift(&mut self, run: &mut Run) -> bool {
        let p = self.p;
        let n = p.tasks();
        let Some((a, b)) = self.pair(run) else {
            return false;
        };
        let length = 1 + self.dice.below(30.min(n - 1));
        let at = run.at[a];
        let (lo, hi) = if self.dice.below(2) == 0 {
            (at, (at + length).min(n))
        } else {
            ((at + 1).saturating_sub(length), at + 1)
        };
        let to = run.at[b] + self.dice.below(2);
        if (lo..=hi).contains(&to) {
            return false;
        }
        let (first, last) = (lo.min(to), hi.max(to) - 1);
        if p.rank[run.seq[first]] != p.rank[run.seq[last]] {
            return false;
        }
        // What the stretch passes must not wait for it, nor it for that.
        let blocked = run.seq[lo..hi].iter().any(|&t| {
            if to < lo {
                p.before[t].iter().any(|&f| (to..lo).contains(&run.at[f]))
            } else {
                p.after[t].iter().any(|&s| (hi..to).contains(&run.at[s]))
            }
        });
        if blocked {
            return false;
        }
        if self.dice.below(2) == 0 {
            self.stretch.clear();
            self.stretch.extend_from_slice(&run.seq[lo..hi]);
            self.turn_stretch(run);
            run.seq[lo..hi].copy_from_slice(&self.turned);
        }
        self.touched
            .extend_from_slice(&[run.seq[lo], run.seq[hi - 1]]);
        if hi < n {
            self.touched.push(run.seq[hi]);
        }
        if to < n {
            self.touched.push(run.seq[to]);
        }
        if to < lo {
            run.seq[to..hi].rotate_right(hi - lo);
        } else {
            run.seq[lo..to].rotate_left(hi - lo);
        }
        run.count_from(first);
        true
    }

    /// A task and one near it, of the same rank.
    fn pair(&mut self, run: &Run) -> Option<(usize, usize)> {
        let a = run.seq[self.dice.below(self.p.tasks())];
        let near = &self.p.near[a];
        let b = *near.get(self.dice.below(near.len()))?;
        Some((a, b))
    }

    /// `stretch` from its end to its start into `turned`, each task after those of it that it waits
    /// for; open lines are run the other way.
    fn turn_stretch(&mut self, run: &mut Run) {
        let p = self.p;
        let (Some(&first), Some(&last)) = (self.stretch.first(), self.stretch.last()) else {
            return;
        };
        let within = run.at[first]..=run.at[last];
        for &t in &self.stretch {
            self.waits[t] = p.before[t]
                .iter()
                .filter(|&&f| within.contains(&run.at[f]))
                .count();
        }
        self.turned.clear();
        // Come upon while they still waited.
        let mut held = Vec::new();
        for i in (0..self.stretch.len()).rev() {
            let t = self.stretch[i];
            run.gate[t] = p.other_way[run.gate[t]];
            if self.waits[t] > 0 {
                held.push(t);
                continue;
            }
            let mut next = self.turned.len();
            self.turned.push(t);
            while next < self.turned.len() {
                let done = self.turned[next];
                next += 1;
                for &s in &p.after[done] {
                    if !within.contains(&run.at[s]) {
                        continue;
                    }
                    self.waits[s] -= 1;
                    if self.waits[s] == 0
                        && let Some(k) = held.iter().position(|&h| h == s)
                    {
                        held.remove(k);
                        self.turned.push(s);
                    }
                }
            }
        }
    }

    /// Chooses the gates about all positions touched.
    fn choose_about(&mut self, run: &mut Run) {
        let n = run.seq.len();
        for t in &mut self.touched {
            *t = run.at[*t];
        }
        self.touched.sort_unstable();
        let mut k = 0;
        while k < self.touched.len() {
            let lo = self.touched[k].saturating_sub(ABOUT);
            let mut hi = self.touched[k] + ABOUT;
            while k + 1 < self.touched.len() && self.touched[k + 1].saturating_sub(ABOUT) <= hi {
                k += 1;
                hi = self.touched[k] + ABOUT;
            }
            self.gates.choose(self.p, run, lo, (hi + 1).min(n));
            k += 1;
        }
    }
}

/// `base` to a power between 0 and 1, by square roots: those are the same on every machine, while
/// powers and logarithms differ in their last digits, and with them the whole search.
fn power(base: f64, share: f64) -> f64 {
    let (mut root, mut left, mut out) = (base, share, 1.0);
    for _ in 0..24 {
        root = root.sqrt();
        left *= 2.0;
        if left >= 1.0 {
            left -= 1.0;
            out *= root;
        }
    }
    out
}

/// Minus the logarithm of a random number between 0 and 1, by plain arithmetic.
fn patience(dice: &mut Dice) -> f64 {
    let halvings = f64::from(dice.roll().leading_zeros() + 1);
    // The number is m / 2^halvings with m even between 1 and 2; ln m = 2 artanh s.
    let m = dice.between(1.0, 2.0);
    let s = (m - 1.0) / (m + 1.0);
    let q = s * s;
    let ln = 2.0
        * s
        * (1.0 + q * (1.0 / 3.0 + q * (0.2 + q * (1.0 / 7.0 + q * (1.0 / 9.0 + q / 11.0)))));
    halvings * std::f64::consts::LN_2 - ln
}

fn rough_fixed(p: &Problem, run: &Run, t: usize, i: usize) -> f64 {
    if p.heat.is_some() {
        heat::rough(p, run, t, i)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_and_patience_are_what_they_say() {
        for share in [0.0, 0.1, 0.25, 0.7, 0.999] {
            assert!((power(0.0025, share) / 0.0025_f64.powf(share) - 1.0).abs() < 1e-6);
        }
        // The mean of -ln u is 1, that of its square 2.
        let mut dice = Dice(4);
        let all: Vec<f64> = (0..200_000).map(|_| patience(&mut dice)).collect();
        let mean = all.iter().sum::<f64>() / 2e5;
        let square = all.iter().map(|x| x * x).sum::<f64>() / 2e5;
        assert!(
            (mean - 1.0).abs() < 0.01 && (square - 2.0).abs() < 0.05,
            "{mean} {square}"
        );
        assert!(all.iter().all(|&x| x > -1e-6));
    }
}
