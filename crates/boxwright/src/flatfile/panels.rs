//! Which regions are panels of the piece, which creases join them, and what does not belong.

use std::collections::BTreeMap;

use super::faces::{Faces, faces, top};
use super::model::{Fault, Role, spot, spots};
use super::net::Net;
use crate::check::Verdict;
use crate::geom::DVec2;
use crate::units::trimmed;

/// Two panels and the creases between them on one line.
#[derive(Clone, Debug)]
pub(super) struct Hinge {
    /// The regions it joins.
    pub faces: [usize; 2],
    /// Unbroken stretches of it, each as the steps that have the first region to their left.
    pub runs: Vec<Vec<usize>>,
    pub role: Role,
}

/// One piece of board: its panels and hinges, and the cuts inside it.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    /// Regions of the piece.
    pub panels: Vec<usize>,
    pub hinges: Vec<Hinge>,
    /// Stretches cut inside the piece.
    pub slits: Vec<usize>,
}

/// The piece a root point names, or else the largest; `None` when nothing is enclosed.
pub(super) fn piece(
    net: &Net,
    root: Option<DVec2>,
    tol: f64,
) -> (Faces, Option<Piece>, Vec<Fault>) {
    let all = faces(net, vec![true; net.edges.len()]);
    let mut faults = Vec::new();
    let group = groups(net, &all);
    let Some(chosen) = choose(&all, &group, root, &mut faults) else {
        loose_ends(net, &all, &[], &mut faults);
        return (all, None, faults);
    };
    let own = |f: Option<usize>| f.is_some_and(|f| group[f] == chosen);
    let panels: Vec<usize> = (0..all.faces.len())
        .filter(|f| group[*f] == chosen)
        .collect();
    strays(net, &all, &group, chosen, &mut faults);
    let mut bare = Vec::new();
    let mut between: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    let mut slits = Vec::new();
    for (e, edge) in net.edges.iter().enumerate() {
        let (l, r) = (all.left[2 * e], all.left[2 * e + 1]);
        match (l, r) {
            (Some(a), Some(b)) if own(l) && own(r) && a != b => {
                if edge.role.is_crease() {
                    let step = if a < b { 2 * e } else { 2 * e + 1 };
                    between.entry((a.min(b), a.max(b))).or_default().push(step);
                } else {
                    slits.push(e);
                }
            }
            _ if edge.role.is_crease() && (own(l) || own(r)) => {
                bare.push(middle(net, e));
            }
            _ => {}
        }
    }
    if !bare.is_empty() {
        faults.push(
            Fault::new(
                "crease-at-edge",
                Verdict::Fail,
                format!("beyond a crease nothing is enclosed {}", spots(&bare)),
            )
            .at(bare)
            .cure("close the outline of the panel that belongs there"),
        );
    }
    slits.extend(loose_ends(net, &all, &panels, &mut faults));
    let mut hinges = Vec::new();
    for ((a, b), steps) in between {
        hinges.push(hinge(net, [a, b], &steps, tol, &mut faults));
    }
    (
        all,
        Some(Piece {
            panels,
            hinges,
            slits,
        }),
        faults,
    )
}

fn middle(net: &Net, e: usize) -> DVec2 {
    let s = net.segment(e);
    (s.from + s.to) * 0.5
}

/// Regions joined by creases have the same number.
fn groups(net: &Net, all: &Faces) -> Vec<usize> {
    let mut up: Vec<usize> = (0..all.faces.len()).collect();
    for (e, edge) in net.edges.iter().enumerate() {
        if let (true, Some(a), Some(b)) =
            (edge.role.is_crease(), all.left[2 * e], all.left[2 * e + 1])
        {
            let (a, b) = (top(&mut up, a), top(&mut up, b));
            up[a.max(b)] = a.min(b);
        }
    }
    (0..up.len()).map(|f| top(&mut up, f)).collect()
}

/// The group that holds the root point; else the largest with creases; else the largest.
fn choose(
    all: &Faces,
    group: &[usize],
    root: Option<DVec2>,
    faults: &mut Vec<Fault>,
) -> Option<usize> {
    if let Some(p) = root {
        if let Some(f) = (0..all.faces.len()).find(|f| all.holds(*f, p)) {
            return Some(group[f]);
        }
        faults.push(
            Fault::new(
                "root-not-found",
                Verdict::Fail,
                format!("no panel lies at {}, where the root should be", spot(p)),
            )
            .at([p])
            .cure("give a point inside a panel, in mm as the file counts them"),
        );
    }
    let mut size: BTreeMap<usize, (usize, f64)> = BTreeMap::new();
    for (f, g) in group.iter().enumerate() {
        let entry = size.entry(*g).or_default();
        entry.0 += 1;
        entry.1 += all.area(f);
    }
    let best = |folded: bool| {
        size.iter()
            .filter(|(_, (n, _))| !folded || *n > 1)
            .max_by(|a, b| a.1.1.total_cmp(&b.1.1).then(b.0.cmp(a.0)))
            .map(|(g, _)| *g)
    };
    best(true).or_else(|| best(false))
}

/// Regions that are neither panels nor cut-outs of the piece.
fn strays(net: &Net, all: &Faces, group: &[usize], chosen: usize, faults: &mut Vec<Fault>) {
    // Regions with no way to the outside but through the piece are cut out of it.
    let n = all.faces.len();
    let mut up: Vec<usize> = (0..=n).collect();
    for e in 0..net.edges.len() {
        let sides = [all.left[2 * e], all.left[2 * e + 1]];
        if sides.iter().any(|f| f.is_some_and(|f| group[f] == chosen)) || all.loose.contains(&e) {
            continue;
        }
        let [a, b] = sides.map(|f| f.unwrap_or(n));
        let (a, b) = (top(&mut up, a), top(&mut up, b));
        up[a.max(b)] = a.min(b);
    }
    let outside = top(&mut up, n);
    let mut seen: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
    for (f, own) in group.iter().enumerate() {
        if *own != chosen && top(&mut up, f) == outside {
            let entry = seen.entry(*own).or_insert((0.0, f));
            entry.0 += all.area(f);
        }
    }
    if seen.is_empty() {
        return;
    }
    let places: Vec<DVec2> = seen.values().map(|(_, f)| all.centre(*f)).collect();
    let area: f64 = seen.values().map(|(a, _)| a).sum();
    let what = if places.len() == 1 {
        "a separate piece lies".to_owned()
    } else {
        format!("{} separate pieces lie", places.len())
    };
    faults.push(
        Fault::new(
            "stray-piece",
            Verdict::Caution,
            format!(
                "{what} beside the one folded, {} cm2, {}; left out",
                trimmed(area / 100.0, 1),
                spots(&places)
            ),
        )
        .at(places)
        .cure("--root X,Y with a point in another piece folds that one instead"),
    );
}

/// Sorts what bounds nothing: cuts inside the piece are slits and come back; the rest are faults.
fn loose_ends(net: &Net, all: &Faces, panels: &[usize], faults: &mut Vec<Fault>) -> Vec<usize> {
    let mut degree = vec![0usize; net.points.len()];
    for edge in &net.edges {
        for p in edge.ends {
            degree[p] += 1;
        }
    }
    let within = |p: DVec2| panels.iter().any(|f| all.holds(*f, p));
    let (mut slits, mut open, mut hanging, mut idle) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for e in &all.loose {
        let edge = &net.edges[*e];
        let free: Vec<usize> = edge.ends.into_iter().filter(|p| degree[*p] == 1).collect();
        let at = middle_on(net, *e);
        if edge.role.is_crease() {
            hanging.extend(free.iter().map(|p| (*e, *p)));
            if free.is_empty() {
                idle.push(at);
            }
        } else if within(at) {
            slits.push(*e);
        } else {
            open.extend(free);
        }
    }
    for (e, p) in &hanging {
        let at = net.points[*p];
        let short = reach(net, *e, *p);
        let mut f = Fault::new(
            "crease-ends-in-nothing",
            Verdict::Fail,
            match short {
                Some((d, _)) => format!(
                    "a crease ends at {}, {} mm short of the next line",
                    spot(at),
                    trimmed(d, 3)
                ),
                None => format!("a crease ends in nothing at {}", spot(at)),
            },
        )
        .at([at]);
        f.cure = Some(match short {
            Some((d, to)) => format!(
                "draw it on to {}, or heal it with --tolerance {}",
                spot(to),
                trimmed((d * 1.1 * 1000.0).ceil() / 1000.0, 3)
            ),
            None => "let it end at a cut or another crease".to_owned(),
        });
        faults.push(f);
    }
    if !idle.is_empty() {
        faults.push(
            Fault::new(
                "idle-crease",
                Verdict::Fail,
                format!("a crease parts no two panels {}", spots(&idle)),
            )
            .at(idle)
            .cure("a crease runs from edge to edge of the board"),
        );
    }
    if !open.is_empty() {
        open.sort_unstable();
        let places: Vec<DVec2> = open.iter().map(|p| net.points[*p]).collect();
        let gap = (0..places.len())
            .flat_map(|i| (i + 1..places.len()).map(move |j| (i, j)))
            .map(|(i, j)| places[i].distance(places[j]))
            .fold(f64::INFINITY, f64::min);
        let wide = if gap.is_finite() {
            format!(", the nearest two {} mm apart", trimmed(gap, 3))
        } else {
            String::new()
        };
        faults.push(
            Fault::new(
                "open-outline",
                Verdict::Fail,
                format!(
                    "the outline is open: cut lines end {}{wide}",
                    spots(&places)
                ),
            )
            .at(places)
            .cure("close the gap; --tolerance MM joins ends that far apart"),
        );
    }
    slits
}

/// A point on the stretch itself.
fn middle_on(net: &Net, e: usize) -> DVec2 {
    let s = net.segment(e);
    let chord = s.to - s.from;
    (s.from + s.to) * 0.5 - chord.perp() * (s.bulge * 0.5)
}

/// How far a free end stops short of another line, looking on along the crease.
fn reach(net: &Net, e: usize, p: usize) -> Option<(f64, DVec2)> {
    const LOOKED: f64 = 3.0;
    let s = net.segment(e);
    let at = net.points[p];
    let (from, to) = if net.edges[e].ends[0] == p {
        (s.to, s.from)
    } else {
        (s.from, s.to)
    };
    let ahead = (to - from).try_normalize()?;
    (0..net.edges.len())
        .filter(|o| *o != e)
        .filter_map(|o| {
            let o = net.segment(o);
            let v = o.to - o.from;
            let turn = ahead.perp_dot(v);
            if turn.abs() < 1e-9 {
                return None;
            }
            let (far, share) = (
                (o.from - at).perp_dot(v) / turn,
                (o.from - at).perp_dot(ahead) / turn,
            );
            ((0.0..=LOOKED).contains(&far) && (0.0..=1.0).contains(&share))
                .then_some((far, at + ahead * far))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// One hinge of all creases between two regions; those off its line are faults.
fn hinge(
    net: &Net,
    faces: [usize; 2],
    steps: &[usize],
    tol: f64,
    faults: &mut Vec<Fault>,
) -> Hinge {
    let mut runs = runs(net, steps);
    let long = |r: &Vec<usize>| match (r.first(), r.last()) {
        (Some(a), Some(b)) => net.points[net.start(*a)].distance(net.points[net.end(*b)]),
        _ => 0.0,
    };
    // The longest run says where the axis lies.
    runs.sort_by(|a, b| long(b).total_cmp(&long(a)));
    let ends = |r: &[usize]| -> Option<(DVec2, DVec2)> {
        Some((
            net.points[net.start(*r.first()?)],
            net.points[net.end(*r.last()?)],
        ))
    };
    let axis = runs.first().and_then(|r| ends(r));
    let mut bent = Vec::new();
    if let Some((a, b)) = axis {
        let d = (b - a).normalize_or(DVec2::X);
        for r in &runs {
            let off = r.iter().any(|s| {
                let seg = net.segment(s / 2);
                let stands = seg.bulge.abs() * seg.from.distance(seg.to) / 2.0;
                stands > tol
                    || [seg.from, seg.to]
                        .iter()
                        .any(|p| d.perp_dot(*p - a).abs() > 2.0 * tol)
            });
            if off {
                bent.extend(r.first().map(|s| middle(net, s / 2)));
            }
        }
    }
    if !bent.is_empty() {
        faults.push(
            Fault::new(
                "crease-not-straight",
                Verdict::Fail,
                format!(
                    "two panels are joined by creases that are not on one line {}",
                    spots(&bent)
                ),
            )
            .at(bent)
            .cure(
                "board folds along straight lines only: part the panels or straighten the crease",
            ),
        );
    }
    let role = |r: Role| {
        steps
            .iter()
            .filter(|s| net.edges[**s / 2].role == r)
            .count()
    };
    let (inward, outward) = (role(Role::CreaseInward), role(Role::CreaseOutward));
    if inward > 0 && outward > 0 {
        let at: Vec<DVec2> = steps
            .first()
            .map(|s| middle(net, s / 2))
            .into_iter()
            .collect();
        faults.push(
            Fault::new(
                "crease-both-ways",
                Verdict::Fail,
                format!(
                    "a crease is drawn to fold inward and outward {}",
                    spots(&at)
                ),
            )
            .at(at)
            .cure("draw all of it on one layer"),
        );
    }
    Hinge {
        faces,
        runs,
        role: if outward > inward {
            Role::CreaseOutward
        } else {
            Role::CreaseInward
        },
    }
}

/// Steps end to end.
fn runs(net: &Net, steps: &[usize]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = steps.to_vec();
    let mut out = Vec::new();
    while let Some(s) = left.pop() {
        let mut run = vec![s];
        let (mut start, mut end) = (net.start(s), net.end(s));
        while let Some(i) = left
            .iter()
            .position(|s| net.start(*s) == end || net.end(*s) == start)
        {
            let s = left.swap_remove(i);
            if net.start(s) == end {
                end = net.end(s);
                run.push(s);
            } else {
                start = net.start(s);
                run.insert(0, s);
            }
        }
        out.push(run);
    }
    out
}
