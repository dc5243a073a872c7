//! Exact questions about regions with whole coordinates, in wide integers: do two share board, are
//! they as far apart as asked. Nothing here is rounded and nothing is shared with the search.

use crate::sheet::shape::Spot;

/// Farthest that a coordinate may lie from the origin, in steps: 100 m. All products below stay
/// within `i128` up to there.
pub const FARTHEST: i64 = 100_000_000;

/// A region: rings with the inside on their left. `outside_in` is the region beyond the rings,
/// such as everything that is not sheet.
#[derive(Clone, Debug)]
pub(super) struct Region {
    rings: Vec<Vec<Spot>>,
    outside_in: bool,
}

/// An edge, its inside on the left.
type Edge = (Spot, Spot);

/// A point as whole numbers over a common whole number above zero.
#[derive(Clone, Copy)]
struct Ratio {
    x: i128,
    y: i128,
    over: i128,
}

const fn wide(p: Spot) -> (i128, i128) {
    (p.x as i128, p.y as i128)
}

const fn cross(a: Spot, b: Spot, c: Spot) -> i128 {
    let (ax, ay) = wide(a);
    let (bx, by) = wide(b);
    let (cx, cy) = wide(c);
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

const fn dot(a: Spot, b: Spot, c: Spot) -> i128 {
    let (ax, ay) = wide(a);
    let (bx, by) = wide(b);
    let (cx, cy) = wide(c);
    (bx - ax) * (cx - ax) + (by - ay) * (cy - ay)
}

const fn squared(a: Spot, b: Spot) -> i128 {
    dot(a, b, b)
}

impl Region {
    pub(super) const fn new(rings: Vec<Vec<Spot>>) -> Self {
        Self {
            rings,
            outside_in: false,
        }
    }
    /// Everything but this.
    pub(super) fn rest(&self) -> Self {
        let back = |r: &Vec<Spot>| r.iter().rev().copied().collect();
        Self {
            rings: self.rings.iter().map(back).collect(),
            outside_in: !self.outside_in,
        }
    }
    fn edges(&self) -> impl Iterator<Item = Edge> + '_ {
        self.rings.iter().flat_map(|r| {
            let next = r.iter().copied().cycle().skip(1);
            r.iter().copied().zip(next)
        })
    }
    /// Whether a point lies inside; `None` on an edge. Counts the edges to the right of it.
    fn holds(&self, p: Ratio) -> Option<bool> {
        let mut inside = self.outside_in;
        for (a, b) in self.edges() {
            let ((ax, ay), (bx, by)) = (wide(a), wide(b));
            let (low, high) = (ay.min(by) * p.over, ay.max(by) * p.over);
            if p.y < low || p.y > high {
                continue;
            }
            // Above zero when the point lies to the left of the edge.
            let side = (bx - ax) * (p.y - ay * p.over) - (by - ay) * (p.x - ax * p.over);
            let (left, right) = (ax.min(bx) * p.over, ax.max(bx) * p.over);
            if side == 0 && left <= p.x && p.x <= right {
                return None;
            }
            // An edge counts with its lower end and without its upper one.
            if (ay * p.over <= p.y) != (by * p.over <= p.y) && ((by > ay) == (side > 0)) {
                inside = !inside;
            }
        }
        Some(inside)
    }
}

/// A place where the insides of two regions meet: exact.
///
/// Where two regions share board, some stretch of the edge of one runs inside the other, or along
/// an edge of it with the inside on the same side. Each edge is therefore cut where edges of the
/// other meet it, and one point between neighbouring cuts is looked at.
pub(super) fn meeting(a: &Region, b: &Region) -> Option<Spot> {
    strays(a, b).or_else(|| strays(b, a))
}

fn strays(a: &Region, b: &Region) -> Option<Spot> {
    let others: Vec<Edge> = b.edges().collect();
    for (p, q) in a.edges() {
        let near: Vec<Edge> = others
            .iter()
            .copied()
            .filter(|(c, d)| {
                p.x.min(q.x) <= c.x.max(d.x)
                    && c.x.min(d.x) <= p.x.max(q.x)
                    && p.y.min(q.y) <= c.y.max(d.y)
                    && c.y.min(d.y) <= p.y.max(q.y)
            })
            .collect();
        // Shares of the way from p to q, as fractions with a denominator above zero.
        let mut cuts: Vec<(i128, i128)> = vec![(0, 1), (1, 1)];
        for (c, d) in near {
            let (sc, sd) = (cross(p, q, c), cross(p, q, d));
            if sc == 0 && sd == 0 {
                let length = squared(p, q);
                let (tc, td) = (dot(p, q, c), dot(p, q, d));
                let (from, to) = (tc.min(td).max(0), tc.max(td).min(length));
                if from < to && td > tc {
                    return Some(along(p, q, (from + to, 2 * length)));
                }
                if from <= to {
                    cuts.extend([(from, length), (to, length)]);
                }
                continue;
            }
            if (sc > 0 && sd > 0) || (sc < 0 && sd < 0) {
                continue;
            }
            // p + t (q - p) on the line through c and d.
            let (sp, sq) = (cross(c, d, p), cross(c, d, q));
            let (t, over) = (sp, sp - sq);
            let (t, over) = if over < 0 { (-t, -over) } else { (t, over) };
            if over > 0 && (0..=over).contains(&t) {
                cuts.push((t, over));
            }
        }
        cuts.sort_by(|a, b| (a.0 * b.1).cmp(&(b.0 * a.1)));
        for pair in cuts.windows(2) {
            let (s, t) = (pair[0], pair[1]);
            if s.0 * t.1 == t.0 * s.1 {
                continue;
            }
            // Numerators and denominators added give a fraction between the two.
            let share = (s.0 + t.0, s.1 + t.1);
            let ((px, py), (qx, qy)) = (wide(p), wide(q));
            let point = Ratio {
                x: px * share.1 + (qx - px) * share.0,
                y: py * share.1 + (qy - py) * share.0,
                over: share.1,
            };
            if b.holds(point) == Some(true) {
                return Some(along(p, q, share));
            }
        }
    }
    None
}

/// The grid point next to a share of the way.
#[allow(
    clippy::cast_possible_truncation,
    reason = "a point between two points of the grid"
)]
fn along(p: Spot, q: Spot, (t, over): (i128, i128)) -> Spot {
    let ((px, py), (qx, qy)) = (wide(p), wide(q));
    let at = |a: i128, b: i128| (a + (b - a) * t / over) as i64;
    Spot::new(at(px, qx), at(py, qy))
}

/// A place where the edges of two regions are nearer than `least` steps: exact. Touching edges are
/// nearer than anything above zero.
pub(super) fn too_near(a: &Region, b: &Region, least: i64) -> Option<Spot> {
    if least <= 0 {
        return None;
    }
    let others: Vec<Edge> = b.edges().collect();
    for (p, q) in a.edges() {
        for &(c, d) in &others {
            let apart = p.x.min(q.x) - c.x.max(d.x) >= least
                || c.x.min(d.x) - p.x.max(q.x) >= least
                || p.y.min(q.y) - c.y.max(d.y) >= least
                || c.y.min(d.y) - p.y.max(q.y) >= least;
            if apart {
                continue;
            }
            if cross_each_other(p, q, c, d) {
                return Some(p);
            }
            for (point, (from, to)) in [(p, (c, d)), (q, (c, d)), (c, (p, q)), (d, (p, q))] {
                if nearer(point, from, to, least) {
                    return Some(point);
                }
            }
        }
    }
    None
}

/// Whether two edges cross at a point that is an end of neither.
pub(super) fn cross_each_other(p: Spot, q: Spot, c: Spot, d: Spot) -> bool {
    let (a, b) = (cross(p, q, c).signum(), cross(p, q, d).signum());
    let (e, f) = (cross(c, d, p).signum(), cross(c, d, q).signum());
    a * b < 0 && e * f < 0
}

/// Whether a point is nearer than `least` to an edge.
fn nearer(p: Spot, a: Spot, b: Spot, least: i64) -> bool {
    let least = i128::from(least) * i128::from(least);
    let (along, length) = (dot(a, b, p), squared(a, b));
    if along <= 0 {
        squared(a, p) < least
    } else if along >= length {
        squared(b, p) < least
    } else {
        let off = cross(a, b, p);
        off * off < least * length
    }
}

/// Whether the region holds the point or has it on an edge.
pub(super) fn covers(region: &Region, p: Spot) -> bool {
    let (x, y) = wide(p);
    region.holds(Ratio { x, y, over: 1 }) != Some(false)
}

/// Whether an edge of the region is nearer to the point than `least` steps.
pub(super) fn edge_within(region: &Region, p: Spot, least: i64) -> bool {
    region.edges().any(|(a, b)| nearer(p, a, b, least))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::shape::Shape;

    fn rect(x: i64, y: i64, w: i64, h: i64) -> Region {
        Region::new(vec![Shape::rect(w, h).moved(Spot::new(x, y)).outer])
    }

    #[test]
    fn touching_is_not_meeting_and_one_step_is() {
        let a = rect(0, 0, 100, 100);
        for (x, y, meets) in [
            (100, 0, false),
            (99, 0, true),
            (100, 100, false),
            (99, 99, true),
            (0, 0, true),
            (10, 10, true),
            (-50, 40, true),
        ] {
            let b = rect(x, y, 100, 100);
            assert_eq!(meeting(&a, &b).is_some(), meets, "{x} {y}");
            assert_eq!(meeting(&b, &a).is_some(), meets, "{x} {y}");
        }
    }

    // A part that fills a window exactly lies in it; a step more and it does not.
    #[test]
    fn windows_hold_what_fits_them_exactly() {
        let at = Spot::new;
        let mut frame = Shape::rect(100, 100);
        frame.holes = vec![vec![at(20, 20), at(20, 80), at(80, 80), at(80, 20)]];
        let frame = Region::new(frame.rings().cloned().collect());
        assert_eq!(meeting(&frame, &rect(20, 20, 60, 60)), None);
        assert_eq!(too_near(&frame, &rect(22, 22, 56, 56), 2), None);
        assert!(too_near(&frame, &rect(22, 22, 57, 56), 2).is_some());
        assert!(meeting(&frame, &rect(20, 20, 61, 60)).is_some());
        assert!(meeting(&frame, &rect(20, 20, 60, 60).rest()).is_some());
    }

    #[test]
    fn the_rest_of_a_sheet_is_met_by_what_stands_out_of_it() {
        let rest = rect(0, 0, 100, 100).rest();
        assert_eq!(meeting(&rest, &rect(0, 0, 100, 100)), None);
        assert_eq!(meeting(&rest, &rect(10, 10, 90, 20)), None);
        assert!(meeting(&rest, &rect(10, 10, 91, 20)).is_some());
        assert!(meeting(&rest, &rect(200, 0, 10, 10)).is_some());
        assert_eq!(too_near(&rest, &rect(10, 10, 80, 80), 10), None);
        assert!(too_near(&rest, &rect(10, 10, 81, 80), 10).is_some());
    }

    // A slanted edge: the distance from (0,0) to the line x + y = 100 is 100/sqrt 2 = 70.71.
    #[test]
    fn distances_to_slanted_edges_are_exact() {
        let at = Spot::new;
        let slant = Region::new(vec![vec![at(100, 0), at(200, 100), at(0, 100)]]);
        let corner = Region::new(vec![vec![at(0, 0), at(-50, 0), at(0, -50)]]);
        assert!(too_near(&slant, &corner, 71).is_some());
        assert!(too_near(&slant, &corner, 70).is_none());
    }

    // Corners that touch edges, edges in part on each other, a corner in a notch.
    #[test]
    fn notches_and_half_shared_edges() {
        let at = Spot::new;
        let notched = Region::new(vec![vec![
            at(0, 0),
            at(100, 0),
            at(100, 100),
            at(50, 50),
            at(0, 100),
        ]]);
        let wedge = |dy: i64| {
            Region::new(vec![vec![
                at(50, 50 + dy),
                at(100, 100 + dy),
                at(0, 100 + dy),
            ]])
        };
        assert_eq!(meeting(&notched, &wedge(0)), None);
        assert!(meeting(&notched, &wedge(-1)).is_some());
        assert_eq!(meeting(&notched, &wedge(1)), None);
        assert_eq!(meeting(&notched, &rect(100, 20, 5, 5)), None);
        assert!(meeting(&notched, &rect(99, 20, 1, 5)).is_some());
    }

    #[test]
    fn large_numbers_do_not_overflow() {
        let f = FARTHEST;
        let at = Spot::new;
        let a = Region::new(vec![vec![
            at(-f, -f),
            at(f, -f + 1),
            at(f - 3, f),
            at(-f + 1, f - 7),
        ]]);
        let b = Region::new(vec![vec![at(-f, f), at(-f + 3, -f), at(f, f - 1)]]);
        assert!(meeting(&a, &b).is_some());
        assert!(too_near(&a, &b, f).is_some());
    }
}
