//! A length below which no order can come.
//!
//! Leave aside at which gate a stroke is entered and left, and count for each pair of tasks the least
//! way between them. A tour is then a tree: it joins start, all tasks and end without a circle. So the
//! shortest tree is no longer than the best tour. A tour meets every task twice and both ends once; a
//! tree does not care, so each task gets a toll, paid once for every line that meets it and given back
//! once or twice. That changes all tours by nothing and lifts the shortest tree; the tolls are raised
//! where the tree meets a task too often and lowered where it ends (after Held and Karp, 1970 and
//! 1971). Whatever the tolls, the bound holds.

use super::model::Problem;
use super::{Task, Unordered};
use crate::geom::DVec2;

/// Above this many tasks no bound is worked out: time grows with the square of their number.
pub const BOUND_TASKS: usize = 1500;

/// How often tolls are changed. Chosen by trial: more lifts the bound by less than a hundredth.
const CHANGES: usize = 200;

/// A length (mm) below which no order of these tasks can come; `None` above [`BOUND_TASKS`] tasks.
/// It is mostly far below what can be reached, for it may enter a stroke at one place and leave it at
/// another.
///
/// # Errors
/// What of the tasks cannot be.
pub fn least_travel(
    tasks: &[Task],
    start: DVec2,
    end: Option<DVec2>,
) -> Result<Option<f64>, Unordered> {
    let p = Problem::new(tasks, start, end, None)?;
    if p.tasks() > BOUND_TASKS {
        return Ok(None);
    }
    if p.tasks() == 0 {
        return Ok(Some(end.map_or(0.0, |e| start.distance(e))));
    }
    let net = Net::new(&p);
    let mut tolls = vec![0.0; net.size];
    let mut least = f64::NEG_INFINITY;
    let mut step = 0.0;
    let mut met = vec![0_i32; net.size];
    for round in 0..CHANGES {
        let tree = net.shortest_tree(&tolls, &mut met);
        least = least.max(tree);
        if round == 0 {
            step = tree.max(0.0) / net.size as f64 / 2.0;
        }
        if (0..net.size).all(|i| met[i] == net.wanted(i)) {
            break;
        }
        for (i, toll) in tolls.iter_mut().enumerate() {
            *toll += step * f64::from(met[i] - net.wanted(i));
        }
        step *= 0.97;
    }
    Ok(Some(least.max(0.0)))
}

/// Start, tasks and end with the least ways between them.
struct Net {
    size: usize,
    ways: Vec<f64>,
}

impl Net {
    fn new(p: &Problem) -> Self {
        let n = p.tasks();
        let size = n + 2;
        let mut ways = vec![f64::INFINITY; size * size];
        let mut set = |a: usize, b: usize, way: f64| {
            ways[a * size + b] = way;
            ways[b * size + a] = way;
        };
        let (start, end) = (n, n + 1);
        let earlier =
            |a: usize, b: usize| p.rank[a] < p.rank[b] || p.before[b].binary_search(&a).is_ok();
        for a in 0..n {
            for b in 0..a {
                let (a, b) = if earlier(b, a) { (b, a) } else { (a, b) };
                let way = if earlier(a, b) {
                    // With a task that must come between them they never follow one another.
                    let between = p.rank[b] > p.rank[a] + 1
                        || p.after[a]
                            .iter()
                            .any(|c| p.before[b].binary_search(c).is_ok())
                        || p.rank[a] != p.rank[b]
                            && (!p.after[a].is_empty() || !p.before[b].is_empty());
                    if between {
                        f64::INFINITY
                    } else {
                        p.apart(a, b)
                    }
                } else {
                    p.apart(a, b).min(p.apart(b, a))
                };
                set(a, b, way);
            }
        }
        for t in 0..n {
            if p.rank[t] == 0 && p.before[t].is_empty() {
                let ways = p.gates_of[t].clone().map(|g| p.start.distance(p.enter[g]));
                set(start, t, ways.fold(f64::INFINITY, f64::min));
            }
            if p.rank[t] + 1 == p.ranks && p.after[t].is_empty() {
                let way = |g: usize| p.end.map_or(0.0, |e| p.leave[g].distance(e));
                set(
                    end,
                    t,
                    p.gates_of[t].clone().map(way).fold(f64::INFINITY, f64::min),
                );
            }
        }
        Self { size, ways }
    }
    fn wanted(&self, i: usize) -> i32 {
        if i + 2 < self.size { 2 } else { 1 }
    }
    /// Length of the shortest tree with these tolls, less what they give back; how often the tree
    /// meets each place goes into `met`.
    fn shortest_tree(&self, tolls: &[f64], met: &mut [i32]) -> f64 {
        let n = self.size;
        met.fill(0);
        let mut way = vec![f64::INFINITY; n];
        let mut from = vec![0; n];
        let mut inside = vec![false; n];
        let mut sum = 0.0;
        let mut last = 0;
        inside[0] = true;
        for _ in 1..n {
            let (mut least, mut next) = (f64::INFINITY, 0);
            for i in (0..n).filter(|&i| !inside[i]) {
                let w = self.ways[last * n + i] + tolls[last] + tolls[i];
                if w < way[i] {
                    (way[i], from[i]) = (w, last);
                }
                if way[i] < least {
                    (least, next) = (way[i], i);
                }
            }
            sum += least;
            inside[next] = true;
            met[next] += 1;
            met[from[next]] += 1;
            last = next;
        }
        let back: f64 = (0..n).map(|i| tolls[i] * f64::from(self.wanted(i))).sum();
        sum - back
    }
}
