//! Lines as a net: ends that belong together made one, lines split where they meet and cross, each
//! stretch there once.

use std::collections::{BTreeMap, HashMap};

use super::model::{Fault, Role, spots};
use crate::check::Verdict;
use crate::geom::{DVec2, Path, Rect, Segment};
use crate::units::trimmed;

/// A line of known use, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub segment: Segment,
    pub role: Role,
}

/// A stretch between two points of the net.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub ends: [usize; 2],
    pub bulge: f64,
    pub role: Role,
}

/// Points and the stretches between them; nothing crosses.
#[derive(Clone, Debug, Default)]
pub(super) struct Net {
    pub points: Vec<DVec2>,
    pub edges: Vec<Edge>,
    /// How many ends were moved, and the farthest.
    pub healed: (usize, f64),
}

/// A move by less is rounding, not healing: a micrometre.
const NOTED: f64 = 1e-3;
/// Beyond 100 m nothing is a case.
pub(super) const FARTHEST: f64 = 1e5;

impl Net {
    pub fn segment(&self, e: usize) -> Segment {
        let edge = &self.edges[e];
        Segment {
            from: self.points[edge.ends[0]],
            to: self.points[edge.ends[1]],
            bulge: edge.bulge,
        }
    }
}

/// The net of lines, and what was wrong with them. Places in faults are in mm, y upwards.
pub(super) fn net(lines: &[Line], tolerance: f64) -> (Net, Vec<Fault>) {
    let tol = tolerance.max(1e-6);
    let mut faults = Vec::new();
    let lines = sized(lines, tol, &mut faults);
    let mut net = Net::default();
    let mut ends = ends(&lines, tol, &mut net);
    let moved = land(&lines, &mut ends, tol, &mut net);
    net.healed.0 += moved.0;
    net.healed.1 = net.healed.1.max(moved.1);
    let shaped: Vec<(Segment, Role)> = lines
        .iter()
        .zip(&ends)
        .map(|(l, [a, b])| {
            let segment = Segment {
                from: net.points[*a],
                to: net.points[*b],
                bulge: l.segment.bulge,
            };
            (segment, l.role)
        })
        .collect();
    let mut stops: Vec<Vec<(f64, usize)>> = vec![Vec::new(); lines.len()];
    crossings(&shaped, tol, &mut net, &mut faults);
    on_lines(&shaped, &ends, tol, &net, &mut stops);
    split(&shaped, &ends, stops, &mut net, &mut faults);
    (net, faults)
}

/// Leaves out lines without length.
fn sized(lines: &[Line], tol: f64, faults: &mut Vec<Fault>) -> Vec<Line> {
    let (mut none, mut short) = (Vec::new(), Vec::new());
    let kept = lines
        .iter()
        .filter(|l| {
            let long = l.segment.length();
            if long <= 1e-9 {
                none.push(l.segment.from);
            } else if long <= tol {
                short.push(l.segment.from);
            }
            long > tol
        })
        .copied()
        .collect();
    if !none.is_empty() {
        let what = if none.len() == 1 {
            "a line has".to_owned()
        } else {
            format!("{} lines have", none.len())
        };
        faults.push(
            Fault::new(
                "zero-length-line",
                Verdict::Caution,
                format!("{what} no length, {}; left out", spots(&none)),
            )
            .at(none),
        );
    }
    if !short.is_empty() {
        let what = if short.len() == 1 {
            "a line is".to_owned()
        } else {
            format!("{} lines are", short.len())
        };
        faults.push(
            Fault::new(
                "short-line",
                Verdict::Caution,
                format!(
                    "{what} shorter than the tolerance of {} mm, {}; left out",
                    trimmed(tol, 3),
                    spots(&short)
                ),
            )
            .at(short),
        );
    }
    kept
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "bounded by FARTHEST over the least tolerance"
)]
fn cell(p: DVec2, size: f64) -> (i64, i64) {
    ((p.x / size).floor() as i64, (p.y / size).floor() as i64)
}

/// One point for all ends within the tolerance of the first of them.
fn ends(lines: &[Line], tol: f64, net: &mut Net) -> Vec<[usize; 2]> {
    let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let mut out = Vec::with_capacity(lines.len());
    let (mut count, mut far) = (0, 0.0f64);
    for l in lines {
        let mut both = [0; 2];
        for (slot, p) in both.iter_mut().zip([l.segment.from, l.segment.to]) {
            let (x, y) = cell(p, tol);
            let near = (x - 1..=x + 1)
                .flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y)))
                .filter_map(|c| cells.get(&c))
                .flatten()
                .map(|i| (net.points[*i].distance(p), *i))
                .filter(|(d, _)| *d <= tol)
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            *slot = if let Some((d, i)) = near {
                if d > NOTED {
                    count += 1;
                    far = far.max(d);
                }
                i
            } else {
                net.points.push(p);
                cells.entry((x, y)).or_default().push(net.points.len() - 1);
                net.points.len() - 1
            };
        }
        out.push(both);
    }
    net.healed = (count, far);
    out
}

/// Points in order of x, for finding those near a line.
struct ByX(Vec<(f64, usize)>);

impl ByX {
    fn new(points: &[DVec2]) -> Self {
        let mut all: Vec<(f64, usize)> = points.iter().enumerate().map(|(i, p)| (p.x, i)).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Self(all)
    }
    fn within(&self, lo: f64, hi: f64) -> impl Iterator<Item = usize> + '_ {
        let start = self.0.partition_point(|(x, _)| *x < lo);
        self.0[start..]
            .iter()
            .take_while(move |(x, _)| *x <= hi)
            .map(|(_, i)| *i)
    }
}

fn bounds(s: &Segment) -> Rect {
    let path = Path {
        vertices: vec![
            crate::geom::Vertex {
                at: s.from,
                bulge: s.bulge,
            },
            crate::geom::Vertex {
                at: s.to,
                bulge: 0.0,
            },
        ],
        closed: false,
    };
    path.bounds()
}

/// The share of the way along, and the foot of a point on a segment.
fn foot(s: &Segment, p: DVec2) -> (f64, DVec2) {
    if let Some((c, r)) = s.circle() {
        let sweep = 4.0 * s.bulge.atan();
        let a = (p - c).to_angle() - (s.from - c).to_angle();
        let along = if sweep > 0.0 {
            a.rem_euclid(std::f64::consts::TAU)
        } else {
            -(-a).rem_euclid(std::f64::consts::TAU)
        };
        let mut share = along / sweep;
        // Just before the start is near 0, not past the end.
        if share > (std::f64::consts::TAU / sweep.abs() + 1.0) / 2.0 {
            share -= std::f64::consts::TAU / sweep.abs();
        }
        return (share, c + (p - c).normalize_or(DVec2::X) * r);
    }
    let d = s.to - s.from;
    let share = (p - s.from).dot(d) / d.length_squared();
    (share, s.from + d * share)
}

/// The share along and distance of a point strictly between a segment's ends and near it.
fn beside(s: &Segment, p: DVec2, tol: f64) -> Option<(f64, DVec2, f64)> {
    let (share, foot) = foot(s, p);
    let apart = foot.distance(p);
    (share > 0.0
        && share < 1.0
        && apart <= tol
        && p.distance(s.from) > tol
        && p.distance(s.to) > tol)
        .then_some((share, foot, apart))
}

/// Ends that stop at a line, a little short of it or past it, are put on it.
fn land(lines: &[Line], ends: &mut [[usize; 2]], tol: f64, net: &mut Net) -> (usize, f64) {
    let by_x = ByX::new(&net.points);
    let mut best: BTreeMap<usize, (f64, DVec2)> = BTreeMap::new();
    for (l, own) in lines.iter().zip(ends.iter()) {
        let b = bounds(&l.segment);
        for i in by_x.within(b.min.x - tol, b.max.x + tol) {
            let p = net.points[i];
            if own.contains(&i) || p.y < b.min.y - tol || p.y > b.max.y + tol {
                continue;
            }
            if let Some((_, foot, apart)) = beside(&l.segment, p, tol)
                && best.get(&i).is_none_or(|(d, _)| apart < *d)
            {
                best.insert(i, (apart, foot));
            }
        }
    }
    let (mut count, mut far) = (0, 0.0f64);
    for (i, (apart, foot)) in best {
        net.points[i] = foot;
        if apart > NOTED {
            count += 1;
            far = far.max(apart);
        }
    }
    (count, far)
}

/// New points where lines cross between their ends, and a fault for each such place.
fn crossings(shaped: &[(Segment, Role)], tol: f64, net: &mut Net, faults: &mut Vec<Fault>) {
    let mut order: Vec<(Rect, usize)> = shaped
        .iter()
        .enumerate()
        .map(|(i, (s, _))| (bounds(s), i))
        .collect();
    order.sort_by(|a, b| a.0.min.x.total_cmp(&b.0.min.x).then(a.1.cmp(&b.1)));
    let mut found: BTreeMap<(Role, Role), Vec<DVec2>> = BTreeMap::new();
    let (by_x, ends) = (ByX::new(&net.points), net.points.len());
    for (k, (a, i)) in order.iter().enumerate() {
        for (b, j) in &order[k + 1..] {
            if b.min.x > a.max.x {
                break;
            }
            if b.min.y > a.max.y || a.min.y > b.max.y {
                continue;
            }
            let ((s, r), (o, q)) = (shaped[*i], shaped[*j]);
            for p in meets(&s, &o) {
                if beside(&s, p, tol).is_none() || beside(&o, p, tol).is_none() {
                    continue;
                }
                let places = found.entry((r.min(q), r.max(q))).or_default();
                if places.iter().all(|o| o.distance(p) > tol) {
                    places.push(p);
                }
                let mut near = by_x
                    .within(p.x - tol, p.x + tol)
                    .chain(ends..net.points.len());
                if near.all(|i| net.points[i].distance(p) > tol) {
                    net.points.push(p);
                }
            }
        }
    }
    for ((r, q), places) in found {
        let (code, verdict, words) = match (r, q) {
            (Role::Cut, Role::Cut) => ("cuts-cross", Verdict::Fail, "cut lines cross each other"),
            (Role::Cut, _) => (
                "cut-through-crease",
                Verdict::Caution,
                "a cut runs through a crease",
            ),
            _ => ("creases-cross", Verdict::Fail, "creases cross each other"),
        };
        let cure = match code {
            "cuts-cross" => "let each cut end where it meets the other",
            "cut-through-crease" => "end the crease at the cut, on either side",
            _ => "leave a cut-out where they meet, or end one at the other",
        };
        faults.push(
            Fault::new(code, verdict, format!("{words} {}", spots(&places)))
                .at(places)
                .cure(cure),
        );
    }
}

/// Where the curves of two segments meet, on them or not.
fn meets(a: &Segment, b: &Segment) -> Vec<DVec2> {
    match (a.circle(), b.circle()) {
        (None, None) => {
            let (u, v) = (a.to - a.from, b.to - b.from);
            let turn = u.perp_dot(v);
            if turn.abs() <= 1e-12 * u.length() * v.length() {
                return Vec::new();
            }
            let share = (b.from - a.from).perp_dot(v) / turn;
            vec![a.from + u * share]
        }
        (None, Some((c, r))) => on_circle(a, c, r),
        (Some((c, r)), None) => on_circle(b, c, r),
        (Some((c, r)), Some((d, q))) => {
            let between = d - c;
            let l = between.length();
            if l <= 1e-12 || l > r + q || l < (r - q).abs() {
                return Vec::new();
            }
            let x = (l * l + r * r - q * q) / (2.0 * l);
            let y = (r * r - x * x).max(0.0).sqrt();
            let e = between / l;
            vec![c + e * x + e.perp() * y, c + e * x - e.perp() * y]
        }
    }
}

fn on_circle(line: &Segment, c: DVec2, r: f64) -> Vec<DVec2> {
    let Some(e) = (line.to - line.from).try_normalize() else {
        return Vec::new();
    };
    let along = (c - line.from).dot(e);
    let off = (c - line.from).perp_dot(e).abs();
    if off > r {
        return Vec::new();
    }
    let half = (r * r - off * off).sqrt();
    vec![
        line.from + e * (along - half),
        line.from + e * (along + half),
    ]
}

/// Every point of the net that lies on a line between its ends.
fn on_lines(
    shaped: &[(Segment, Role)],
    ends: &[[usize; 2]],
    tol: f64,
    net: &Net,
    stops: &mut [Vec<(f64, usize)>],
) {
    let by_x = ByX::new(&net.points);
    for (k, (s, _)) in shaped.iter().enumerate() {
        let b = bounds(s);
        for i in by_x.within(b.min.x - tol, b.max.x + tol) {
            let p = net.points[i];
            if ends[k].contains(&i) || p.y < b.min.y - tol || p.y > b.max.y + tol {
                continue;
            }
            if let Some((share, _, _)) = beside(s, p, tol) {
                stops[k].push((share, i));
            }
        }
    }
}

fn split(
    shaped: &[(Segment, Role)],
    ends: &[[usize; 2]],
    stops: Vec<Vec<(f64, usize)>>,
    net: &mut Net,
    faults: &mut Vec<Fault>,
) {
    let mut known: HashMap<(usize, usize), Vec<usize>> = HashMap::new();
    let mut doubled: Vec<(DVec2, f64)> = Vec::new();
    let mut creased_cuts: Vec<DVec2> = Vec::new();
    let mut sides: Vec<DVec2> = Vec::new();
    for (k, mut at) in stops.into_iter().enumerate() {
        let (s, role) = shaped[k];
        at.push((0.0, ends[k][0]));
        at.push((1.0, ends[k][1]));
        at.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let sweep = 4.0 * s.bulge.atan();
        let mut first_double = None;
        for w in at.windows(2) {
            let ((u, a), (v, b)) = (w[0], w[1]);
            if a == b {
                continue;
            }
            let bulge = if s.bulge == 0.0 {
                0.0
            } else {
                (sweep * (v - u) / 4.0).tan()
            };
            let key = (a.min(b), a.max(b));
            let turned = |e: &Edge| if e.ends[0] == a { e.bulge } else { -e.bulge };
            let chord = net.points[a].distance(net.points[b]);
            let same = known.get(&key).and_then(|list| {
                list.iter().copied().find(|e| {
                    // Bulge times half the chord is how far an arc stands off its chord.
                    (turned(&net.edges[*e]) - bulge).abs() * chord / 2.0
                        <= 1e-3_f64.max(chord * 1e-6)
                })
            });
            let Some(e) = same else {
                known.entry(key).or_default().push(net.edges.len());
                net.edges.push(Edge {
                    ends: [a, b],
                    bulge,
                    role,
                });
                continue;
            };
            let middle = (net.points[a] + net.points[b]) * 0.5;
            match (net.edges[e].role, role) {
                (x, y) if x == y => {
                    let long = Segment {
                        from: net.points[a],
                        to: net.points[b],
                        bulge,
                    }
                    .length();
                    let entry = first_double.get_or_insert((middle, 0.0));
                    entry.1 += long;
                }
                (Role::Cut, _) | (_, Role::Cut) => {
                    net.edges[e].role = Role::Cut;
                    creased_cuts.push(middle);
                }
                _ => sides.push(middle),
            }
        }
        doubled.extend(first_double);
    }
    if !doubled.is_empty() {
        let long: f64 = doubled.iter().map(|(_, l)| l).sum();
        let places: Vec<DVec2> = doubled.iter().map(|(p, _)| *p).collect();
        let what = if places.len() == 1 {
            "a line lies".to_owned()
        } else {
            format!("{} lines lie", places.len())
        };
        faults.push(
            Fault::new(
                "doubled-line",
                Verdict::Caution,
                format!(
                    "{what} on others over {} mm, {}; taken once",
                    trimmed(long, 2),
                    spots(&places)
                ),
            )
            .at(places)
            .cure("delete the doubles, or the cutter runs there twice"),
        );
    }
    if !creased_cuts.is_empty() {
        faults.push(
            Fault::new(
                "crease-on-cut",
                Verdict::Caution,
                format!(
                    "a crease lies on a cut {}; taken as cut",
                    spots(&creased_cuts)
                ),
            )
            .at(creased_cuts),
        );
    }
    if !sides.is_empty() {
        faults.push(
            Fault::new(
                "crease-both-ways",
                Verdict::Fail,
                format!(
                    "a crease is drawn to fold inward and outward {}",
                    spots(&sides)
                ),
            )
            .at(sides)
            .cure("keep one of the two"),
        );
    }
}
