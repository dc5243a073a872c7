//! All lines as a net: ends, and pieces between them that meet nowhere else.

use std::collections::{BTreeMap, HashMap};

use super::{Chain, Common, Stretch, TOUCH_MM};
use crate::geom::DVec2;

/// A straight line of one outline, by numbers of ends.
struct Edge {
    part: usize,
    a: usize,
    b: usize,
}

/// What lies between two ends, whosoever it is.
struct Piece {
    a: usize,
    b: usize,
    parts: Vec<usize>,
    /// The edges it is a stretch of.
    edges: Vec<usize>,
    /// How many lines lay on one another here.
    layers: usize,
}

#[derive(Default)]
pub(super) struct Net {
    ends: Vec<DVec2>,
    cells: HashMap<(i64, i64), Vec<usize>>,
    edges: Vec<Edge>,
    pieces: Vec<Piece>,
}

/// A line that meets an end: its number, and the end at the other side. Numbers past all pieces are
/// joins between odd ends.
type Meet = (usize, usize);

impl Net {
    /// The end at this place: one that is there already, or a new one.
    fn end(&mut self, p: DVec2) -> usize {
        let cell = |v: f64| (v / TOUCH_MM).floor() as i64;
        let (x, y) = (cell(p.x), cell(p.y));
        for i in x - 1..=x + 1 {
            for j in y - 1..=y + 1 {
                let here = self.cells.get(&(i, j)).into_iter().flatten();
                for &e in here {
                    if self.ends[e].distance(p) <= TOUCH_MM {
                        return e;
                    }
                }
            }
        }
        self.ends.push(p);
        let e = self.ends.len() - 1;
        self.cells.entry((x, y)).or_default().push(e);
        e
    }

    pub(super) fn add(&mut self, part: usize, points: &[DVec2], closed: bool) {
        let ends: Vec<usize> = points.iter().map(|&p| self.end(p)).collect();
        let back = if closed {
            Some([ends[ends.len() - 1], ends[0]])
        } else {
            None
        };
        let pairs = ends.windows(2).map(|w| [w[0], w[1]]).chain(back);
        for [a, b] in pairs {
            if a != b {
                self.edges.push(Edge { part, a, b });
            }
        }
    }

    /// Splits every edge at all ends that lie on it, and lays equal pieces together.
    pub(super) fn split(&mut self) {
        let mut by_x: Vec<usize> = (0..self.ends.len()).collect();
        by_x.sort_by(|&i, &j| self.ends[i].x.total_cmp(&self.ends[j].x));
        let mut known: HashMap<(usize, usize), usize> = HashMap::new();
        let mut on: Vec<(f64, usize)> = Vec::new();
        for (number, edge) in self.edges.iter().enumerate() {
            let (a, b) = (self.ends[edge.a], self.ends[edge.b]);
            let along = (b - a).normalize();
            let length = a.distance(b);
            let (lo, hi) = (a.min(b) - TOUCH_MM, a.max(b) + TOUCH_MM);
            on.clear();
            on.push((0.0, edge.a));
            on.push((length, edge.b));
            let first = by_x.partition_point(|&e| self.ends[e].x < lo.x);
            for &e in by_x[first..]
                .iter()
                .take_while(|&&e| self.ends[e].x <= hi.x)
            {
                let p = self.ends[e];
                if p.y < lo.y || p.y > hi.y || e == edge.a || e == edge.b {
                    continue;
                }
                let at = (p - a).dot(along);
                if at > 0.0 && at < length && (p - a).perp_dot(along).abs() <= TOUCH_MM {
                    on.push((at, e));
                }
            }
            on.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
            for w in on.windows(2) {
                let (a, b) = (w[0].1, w[1].1);
                let i = *known.entry((a.min(b), a.max(b))).or_insert_with(|| {
                    self.pieces.push(Piece {
                        a,
                        b,
                        parts: Vec::new(),
                        edges: Vec::new(),
                        layers: 0,
                    });
                    self.pieces.len() - 1
                });
                let piece = &mut self.pieces[i];
                piece.layers += 1;
                piece.edges.push(number);
                if let Err(at) = piece.parts.binary_search(&edge.part) {
                    piece.parts.insert(at, edge.part);
                }
            }
        }
    }

    pub(super) fn common(&self) -> Common {
        let length = |p: &Piece| self.ends[p.a].distance(self.ends[p.b]);
        Common {
            chains: self.chains(),
            shared: self
                .pieces
                .iter()
                .filter(|p| p.parts.len() > 1)
                .map(|p| Stretch {
                    a: self.ends[p.a],
                    b: self.ends[p.b],
                    of: p.parts.clone(),
                })
                .collect(),
            saved: self
                .pieces
                .iter()
                .map(|p| (p.layers - 1) as f64 * length(p))
                .sum(),
        }
    }

    /// Pieces run together, a connected set after another.
    fn chains(&self) -> Vec<Chain> {
        let mut meets: Vec<Vec<Meet>> = vec![Vec::new(); self.ends.len()];
        for (i, p) in self.pieces.iter().enumerate() {
            meets[p.a].push((i, p.b));
            meets[p.b].push((i, p.a));
        }
        let group = self.groups(&meets);
        let mut odd: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for e in (0..self.ends.len()).filter(|&e| meets[e].len() % 2 == 1) {
            odd.entry(group[e]).or_default().push(e);
        }
        let mut number = self.pieces.len();
        for ends in odd.into_values() {
            for (a, b) in self.pairs(ends) {
                meets[a].push((number, b));
                meets[b].push((number, a));
                number += 1;
            }
        }
        let mut used = vec![false; number];
        let mut out = Vec::new();
        for p in 0..self.pieces.len() {
            if !used[p] {
                let round = self.round(self.pieces[p].a, &mut meets, &mut used);
                self.cut_up(&round, &mut out);
            }
        }
        out
    }

    /// The connected set each end belongs to.
    fn groups(&self, meets: &[Vec<Meet>]) -> Vec<usize> {
        let mut group = vec![usize::MAX; self.ends.len()];
        for e in 0..self.ends.len() {
            let mut open = vec![e];
            while let Some(i) = open.pop() {
                if group[i] == usize::MAX {
                    group[i] = e;
                    open.extend(meets[i].iter().map(|m| m.1));
                }
            }
        }
        group
    }

    /// Ends two by two, the nearest first.
    fn pairs(&self, ends: Vec<usize>) -> Vec<(usize, usize)> {
        let mut all: Vec<(f64, usize, usize)> = Vec::new();
        for (i, &a) in ends.iter().enumerate() {
            for &b in &ends[..i] {
                all.push((self.ends[a].distance_squared(self.ends[b]), b, a));
            }
        }
        all.sort_by(|x, y| x.0.total_cmp(&y.0).then((x.1, x.2).cmp(&(y.1, y.2))));
        let mut free = vec![false; self.ends.len()];
        for e in ends {
            free[e] = true;
        }
        let mut out = Vec::new();
        for (_, a, b) in all {
            if free[a] && free[b] {
                (free[a], free[b]) = (false, false);
                out.push((a, b));
            }
        }
        out
    }

    /// Runs from an end over every line of its set and back (Hierholzer, 1873), straight on where that
    /// can be: the lines in the order they are run, each with the end it begins at.
    fn round(&self, from: usize, meets: &mut [Vec<Meet>], used: &mut [bool]) -> Vec<Meet> {
        // Each with the line it came by.
        let mut way: Vec<(usize, Option<usize>, usize)> = vec![(from, None, from)];
        let mut out = Vec::new();
        while let Some(&(here, line, before)) = way.last() {
            meets[here].retain(|m| !used[m.0]);
            let ahead = (self.ends[here] - self.ends[before]).normalize_or_zero();
            let straight = |m: &Meet| {
                (self.ends[m.1] - self.ends[here])
                    .normalize_or_zero()
                    .dot(ahead)
            };
            let next = meets[here].iter().copied().reduce(|best, m| {
                if straight(&m) > straight(&best) + 1e-9 {
                    m
                } else {
                    best
                }
            });
            if let Some((line, to)) = next {
                used[line] = true;
                way.push((to, Some(line), here));
            } else {
                way.pop();
                if let Some(line) = line {
                    out.push((line, before));
                }
            }
        }
        out.reverse();
        out
    }

    /// A round into strokes: joins are left out.
    fn cut_up(&self, round: &[Meet], out: &mut Vec<Chain>) {
        let joins = self.pieces.len();
        match round.iter().position(|m| m.0 >= joins) {
            None => out.push(self.chain(round, true)),
            Some(first) => {
                let mut turned = round.to_vec();
                turned.rotate_left(first);
                let strokes = turned.split(|m| m.0 >= joins).filter(|s| !s.is_empty());
                out.extend(strokes.map(|s| self.chain(s, false)));
            }
        }
    }

    /// One stroke. Ends in the middle of an edge are left out.
    fn chain(&self, lines: &[Meet], closed: bool) -> Chain {
        let mut of: Vec<usize> = lines
            .iter()
            .flat_map(|m| self.pieces[m.0].parts.iter().copied())
            .collect();
        of.sort_unstable();
        of.dedup();
        let one_edge = |x: usize, y: usize| {
            let (x, y) = (&self.pieces[x].edges, &self.pieces[y].edges);
            x.iter().any(|e| y.contains(e))
        };
        let mut points = Vec::new();
        for (i, &(line, from)) in lines.iter().enumerate() {
            let before = match i.checked_sub(1) {
                Some(i) => Some(lines[i].0),
                None => lines.last().filter(|_| closed).map(|m| m.0),
            };
            if before.is_none_or(|b| b == line || !one_edge(b, line)) {
                points.push(self.ends[from]);
            }
        }
        if !closed && let Some(&(line, from)) = lines.last() {
            let p = &self.pieces[line];
            points.push(self.ends[if p.a == from { p.b } else { p.a }]);
        }
        Chain { points, closed, of }
    }
}
