//! The rest of the gap closed by parting the problem again and again.
//!
//! A thing goes into the cheapest case it fits. So a problem is parted by one thing and a cost: either
//! the thing goes into a case that costs at most so much (then so does everything smaller), or no
//! candidate that cheap which would hold it is in the suite. Candidates that look much alike fall on
//! the same side, which is why this is done and not single candidates taken in or out.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use super::cols::{Cols, Frame};
use super::local::{Suite, each, suite};
use super::space::Space;
use super::watch::Work;

/// Costs nearer than this share are the same: what is called proved is proved to this.
pub(super) const SAME: f64 = 1e-9;

/// Rounds of a climb inside the tree.
const ROUNDS: usize = 60;

/// A part of the problem that is still open.
struct Node {
    bound: f64,
    depth: u32,
    number: u64,
    prices: Rc<Vec<f64>>,
    /// Columns in play.
    ids: Rc<Vec<u32>>,
    /// Columns that are in the suite.
    open: Vec<u32>,
    /// Most each thing may cost.
    caps: Rc<Vec<f64>>,
}

impl PartialEq for Node {
    fn eq(&self, o: &Self) -> bool {
        self.cmp(o) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl Ord for Node {
    /// The lowest bound is the greatest, as the heap gives the greatest first.
    fn cmp(&self, o: &Self) -> Ordering {
        o.bound
            .total_cmp(&self.bound)
            .then(self.depth.cmp(&o.depth))
            .then(o.number.cmp(&self.number))
    }
}

/// The tree over the columns at hand.
pub(super) struct Tree<'a, 'w> {
    pub space: &'a Space<'a>,
    pub cols: &'a Cols,
    pub k: usize,
    pub best: Suite,
    pub work: &'a mut Work<'w>,
    pub nodes: u64,
}

enum Choice {
    /// The thing, the cost that parts, and the columns of the frame on the cheap side.
    Thing(usize, f64),
    Column(u32),
}

impl Tree<'_, '_> {
    fn beaten(&self, bound: f64) -> bool {
        bound >= self.best.cost - self.best.cost.abs() * SAME
    }

    /// Works until nothing is open or there is no more work; gives what no suite of these columns
    /// costs less than.
    pub fn grow(&mut self, prices: Vec<f64>, ids: Vec<u32>, bound: f64) -> f64 {
        let mut heap = BinaryHeap::new();
        heap.push(Node {
            bound,
            depth: 0,
            number: 0,
            prices: Rc::new(prices),
            ids: Rc::new(ids),
            open: Vec::new(),
            caps: Rc::new(vec![f64::INFINITY; self.space.items.len()]),
        });
        let mut number = 0;
        let mut floor = f64::INFINITY;
        while let Some(node) = heap.pop() {
            if self.beaten(node.bound) {
                break;
            }
            self.work.at.bound = node.bound.min(floor);
            if !self.work.goes_on() {
                floor = floor.min(node.bound);
                break;
            }
            self.nodes += 1;
            match self.part(&node) {
                Parted::Done => {}
                Parted::Cut(bound) => {
                    floor = floor.min(bound);
                    break;
                }
                Parted::Two(nodes) => {
                    for mut n in nodes {
                        number += 1;
                        n.number = number;
                        heap.push(n);
                    }
                }
            }
        }
        let open = heap.iter().map(|n| n.bound).fold(floor, f64::min);
        open.min(self.best.cost)
    }

    fn part(&mut self, node: &Node) -> Parted {
        let space = self.space;
        let n = space.items.len();
        let mut caps = (*node.caps).clone();
        let mut open = node.open.clone();
        let mut ids = (*node.ids).clone();
        let mut prices = (*node.prices).clone();
        let mut bound = node.bound;
        // Again whenever columns are found that must be in the suite.
        for pass in 0..6 {
            let (Some(k), Some(base)) =
                (self.k.checked_sub(open.len()), self.base(&open, &mut caps))
            else {
                return Parted::Done;
            };
            ids.retain(|j| !open.contains(j));
            let frame = Frame::new(space, self.cols, ids, k, base, &caps);
            if !self.work.spend(frame.entries() * 2 + n) {
                return Parted::Cut(bound);
            }
            if frame.least.iter().any(|l| l.is_infinite()) {
                return Parted::Done;
            }
            let needed = if pass < 4 {
                needed(&frame, n)
            } else {
                Vec::new()
            };
            if !needed.is_empty() {
                open.extend(needed);
                ids = frame.ids;
                continue;
            }
            if k <= 1 {
                self.last(&frame, &open);
                return Parted::Done;
            }
            let rounds = if node.depth == 0 { 4 * ROUNDS } else { ROUNDS };
            let rounds = if pass > 0 { rounds / 2 } else { rounds };
            let mut best = self.best.clone();
            let mut seen = |taken: &[usize]| {
                consider(space, self.cols, &frame, &open, taken, &mut best);
                best.cost
            };
            let climb = frame.climb(prices, rounds, 6, f64::INFINITY, self.work, &mut seen);
            self.best = best;
            self.work.at.cost = self.best.cost;
            if climb.worth.len() != frame.ids.len() {
                return Parted::Cut(bound);
            }
            bound = bound.max(climb.bound);
            prices = climb.prices;
            if self.beaten(climb.bound) {
                return Parted::Done;
            }
            let (alive, sure) = self.sorted_out(&frame, &climb.worth, climb.bound);
            if !sure.is_empty() {
                open.extend(sure);
                ids = alive;
                continue;
            }
            let dropped = frame.ids.len() - alive.len();
            if pass == 0 && dropped * 3 > frame.ids.len() {
                ids = alive;
                continue;
            }
            let choice = choose(&frame, &climb.share);
            let alive = Rc::new(alive);
            let prices = Rc::new(prices);
            return Parted::Two(
                self.children(node, &frame, choice, bound, &prices, &alive, &open, &caps),
            );
        }
        // Still finding columns that must be in: the node goes back as it is by now.
        Parted::Two(vec![Node {
            bound,
            depth: node.depth + 1,
            number: 0,
            prices: Rc::new(prices),
            ids: Rc::new(ids),
            open,
            caps: Rc::new(caps),
        }])
    }

    /// What things cost in what is kept or open; caps come down to it. `None` when too many are open.
    fn base(&self, open: &[u32], caps: &mut [f64]) -> Option<Vec<f64>> {
        if open.len() > self.k {
            return None;
        }
        let space = self.space;
        let mut base = space.base.clone();
        for j in open {
            let j = *j as usize;
            let costs = self.cols.costs(space, j);
            for i in self.cols.items(j) {
                let i = *i as usize;
                base[i] = base[i].min(costs[space.items[i].group as usize]);
            }
        }
        for (b, cap) in base.iter_mut().zip(caps) {
            if *b > *cap {
                *b = f64::INFINITY;
            }
        }
        Some(base)
    }

    /// Only one more may be taken, or none: looked through.
    fn last(&mut self, frame: &Frame<'_>, open: &[u32]) {
        let mut best = self.best.clone();
        consider(self.space, self.cols, frame, open, &[], &mut best);
        if frame.k == 1 {
            let lost: Vec<bool> = frame.base.iter().map(|b| b.is_infinite()).collect();
            let missing = lost.iter().filter(|l| **l).count();
            let items = &self.space.items;
            let whole: f64 = (frame.base.iter().zip(items))
                .filter(|(b, _)| b.is_finite())
                .map(|(b, i)| b * i.weight)
                .sum();
            for j in 0..frame.ids.len() {
                let costs = frame.costs(j);
                let mut sum = whole;
                let mut found = 0;
                for i in frame.items(j) {
                    let i = *i as usize;
                    let c = costs[items[i].group as usize];
                    if lost[i] {
                        found += 1;
                        sum += c * items[i].weight;
                    } else {
                        sum -= (frame.base[i] - c) * items[i].weight;
                    }
                }
                if found == missing && sum < best.cost {
                    consider(self.space, self.cols, frame, open, &[j], &mut best);
                }
            }
        }
        self.best = best;
    }

    /// Columns that a better suite may still have, and those that it must have.
    fn sorted_out(&self, frame: &Frame<'_>, worth: &[f64], bound: f64) -> (Vec<u32>, Vec<u32>) {
        let limit = self.best.cost - self.best.cost.abs() * SAME;
        let mut order: Vec<usize> = (0..worth.len()).collect();
        order.sort_by(|a, b| worth[*a].total_cmp(&worth[*b]).then(a.cmp(b)));
        let k = frame.k.min(order.len());
        let at = |i: usize| order.get(i).map_or(0.0, |j| worth[*j]).min(0.0);
        let (last, next) = (at(k.saturating_sub(1)), at(k));
        let mut alive = Vec::new();
        let mut sure = Vec::new();
        for (n, j) in order.iter().enumerate() {
            let id = frame.ids[*j];
            if n < k {
                if bound - worth[*j] + next > limit {
                    sure.push(id);
                }
                alive.push(id);
            } else if bound + worth[*j] - last <= limit {
                alive.push(id);
            }
        }
        alive.sort_unstable();
        (alive, sure)
    }

    #[allow(clippy::too_many_arguments, reason = "one inner step of the tree")]
    fn children(
        &self,
        node: &Node,
        frame: &Frame<'_>,
        choice: Choice,
        bound: f64,
        prices: &Rc<Vec<f64>>,
        alive: &Rc<Vec<u32>>,
        open: &[u32],
        caps: &[f64],
    ) -> Vec<Node> {
        let child = |ids: Rc<Vec<u32>>, open: Vec<u32>, caps: Rc<Vec<f64>>| Node {
            bound,
            depth: node.depth + 1,
            number: 0,
            prices: Rc::clone(prices),
            ids,
            open,
            caps,
        };
        match choice {
            Choice::Thing(thing, most) => {
                let items = &self.space.items;
                let own = items[thing];
                let mut low = caps.to_vec();
                for (cap, item) in low.iter_mut().zip(items) {
                    let smaller = (0..3).all(|d| item.at[d] <= own.at[d]);
                    if smaller && item.group <= own.group {
                        *cap = cap.min(most);
                    }
                }
                let cheap = |id: u32| {
                    let j = id as usize;
                    let at = self.cols.at[j];
                    let fits = (0..3).all(|d| own.at[d] <= at[d]);
                    fits && self.cols.costs(self.space, j)[own.group as usize] <= most
                };
                let dear: Vec<u32> = alive.iter().copied().filter(|j| !cheap(*j)).collect();
                let mut out = vec![child(Rc::clone(alive), open.to_vec(), Rc::new(low))];
                // Where the thing is that cheap in what is open, it does not go anywhere else.
                if frame.base[thing] > most {
                    out.push(child(Rc::new(dear), open.to_vec(), Rc::new(caps.to_vec())));
                }
                out
            }
            Choice::Column(id) => {
                let without: Vec<u32> = alive.iter().copied().filter(|j| *j != id).collect();
                let mut with = open.to_vec();
                with.push(id);
                let without = Rc::new(without);
                vec![
                    child(Rc::clone(&without), with, Rc::new(caps.to_vec())),
                    child(without, open.to_vec(), Rc::new(caps.to_vec())),
                ]
            }
        }
    }
}

enum Parted {
    Done,
    /// There was no work left; what stands here costs at least so much.
    Cut(f64),
    Two(Vec<Node>),
}

/// The suite of what is open and taken, if it is the best so far.
fn consider(
    space: &Space<'_>,
    cols: &Cols,
    frame: &Frame<'_>,
    open: &[u32],
    taken: &[usize],
    best: &mut Suite,
) {
    let ids = open
        .iter()
        .copied()
        .chain(taken.iter().map(|j| frame.ids[*j]));
    let cases: Vec<_> = ids.map(|j| cols.at[j as usize]).collect();
    let (cost, _) = each(space, &cases);
    if cost < best.cost {
        *best = suite(space, cases);
    }
}

/// Columns that alone hold some thing.
fn needed(frame: &Frame<'_>, n: usize) -> Vec<u32> {
    let mut only = vec![u32::MAX; n];
    let mut many = vec![false; n];
    for (j, id) in frame.ids.iter().enumerate() {
        for i in frame.items(j) {
            let i = *i as usize;
            if only[i] == u32::MAX {
                only[i] = *id;
            } else {
                many[i] = true;
            }
        }
    }
    let mut out: Vec<u32> = (0..n)
        .filter(|i| frame.base[*i].is_infinite() && !many[*i])
        .map(|i| only[i])
        .filter(|id| *id != u32::MAX)
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// The thing whose cost is most in doubt: by its spread over the columns that were taken of late.
fn choose(frame: &Frame<'_>, share: &[f64]) -> Choice {
    let items = &frame.space.items;
    let mut by_item: Vec<Vec<(f64, f64)>> = vec![Vec::new(); items.len()];
    let mut seen: Vec<usize> = (0..share.len()).filter(|j| share[*j] > 0.01).collect();
    seen.sort_by(|a, b| share[*b].total_cmp(&share[*a]).then(a.cmp(b)));
    seen.truncate(200);
    for j in &seen {
        let costs = frame.costs(*j);
        for i in frame.items(*j) {
            let i = *i as usize;
            by_item[i].push((costs[items[i].group as usize], share[*j]));
        }
    }
    let mut best: Option<(f64, usize, f64)> = None;
    for (i, list) in by_item.iter_mut().enumerate() {
        if list.is_empty() {
            continue;
        }
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut left = 1.0_f64;
        let mut parts: Vec<(f64, f64)> = Vec::new();
        for (c, s) in list.iter() {
            let s = s.min(left);
            if s > 0.0 {
                parts.push((*c, s));
                left -= s;
            }
        }
        if left > 1e-9 && frame.base[i].is_finite() {
            parts.push((frame.base[i], left));
        }
        let whole: f64 = parts.iter().map(|p| p.1).sum();
        let mean = parts.iter().map(|p| p.0 * p.1).sum::<f64>() / whole;
        let off: f64 = parts.iter().map(|p| p.1 * (p.0 - mean).abs()).sum();
        // Everything smaller follows on the cheap side; the thing alone counts on the dear side.
        let score = off * items[i].weight;
        let dear = parts.iter().any(|p| p.0 > mean);
        if dear && score > best.map_or(0.0, |b| b.0) {
            best = Some((score, i, mean));
        }
    }
    if let Some((_, i, mean)) = best {
        return Choice::Thing(i, mean);
    }
    // Nothing is in doubt, and yet the bound is below the best: the column taken most, in or out.
    let top = (0..share.len()).max_by(|a, b| share[*a].total_cmp(&share[*b]).then(b.cmp(a)));
    Choice::Column(frame.ids[top.unwrap_or(0)])
}
