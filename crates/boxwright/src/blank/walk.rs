//! The outline of a piece, found by walking round its fold tree.
//!
//! Going counter-clockwise round a panel, the walk turns aside at each crease and goes round the
//! panel that hangs there. What is left out is exactly the creases; everything else is a cut.
//! Where two stretches of the walk lie on each other (flaps parted by a knife-wide slit), the
//! shared stretch is taken out of the outline and becomes one slit, so every cut line exists once.

use super::tree::Branch;
use crate::diag::Diag;
use crate::geom::{DVec2, Path, Placement, Segment, Vertex};
use crate::units::SLACK_MM;

/// Where a panel touches its parent: along its own x, on one segment of each outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gate {
    pub child: usize,
    /// Segment of the parent's outline.
    pub parent_segment: usize,
    /// Segment of the child's outline.
    pub child_segment: usize,
    /// Ends along the child's own x.
    pub from: f64,
    pub to: f64,
}

/// Finds where `child` touches `parent`.
pub(super) fn gate(
    child: usize,
    branch: &Branch<'_>,
    parent: &Path,
    own: &Path,
    rel: Placement,
) -> Result<Gate, Diag> {
    let back = rel.inverse();
    let near_line =
        |s: &Segment| s.bulge == 0.0 && s.from.y.abs() < SLACK_MM && s.to.y.abs() < SLACK_MM;
    let mut found: Option<Gate> = None;
    for (ci, c) in own.segments().enumerate().filter(|(_, s)| near_line(s)) {
        for (pi, p) in parent.segments().enumerate() {
            let p = Segment {
                from: back.point(p.from),
                to: back.point(p.to),
                bulge: p.bulge,
            };
            if !near_line(&p) || p.from.x <= p.to.x {
                continue;
            }
            let (from, to) = (c.from.x.max(p.to.x), c.to.x.min(p.from.x));
            if to - from <= SLACK_MM {
                continue;
            }
            if found.is_some() {
                return Err(Diag::error(
                    "split-crease",
                    format!("the crease of `{}` is interrupted", branch.name),
                )
                .at(branch.place().clone())
                .help("hang two panels, or move the cut that interrupts it"));
            }
            found = Some(Gate {
                child,
                parent_segment: pi,
                child_segment: ci,
                from,
                to,
            });
        }
    }
    found.ok_or_else(|| {
        Diag::error(
            "crease-off-edge",
            format!("`{}` does not touch its parent's edge", branch.name),
        )
        .at(branch.place().clone())
        .help("its parent's outline must run straight along that edge where the panel hangs")
    })
}

/// Notches the parent's outline beside a gate, and gives the slits for knife-wide reliefs.
pub(super) fn relieve(
    parent: &mut Path,
    gate: &mut Gate,
    rel: Placement,
    deep: f64,
    wide: Option<f64>,
) -> Vec<Path> {
    let inward = -rel.y() * deep;
    let along = rel.vector(DVec2::X);
    let at = |x: f64| rel.point(DVec2::new(x, 0.0));
    let n = parent.vertices.len();
    let (start, end) = (
        parent.vertices[gate.parent_segment].at,
        parent.vertices[(gate.parent_segment + 1) % n].at,
    );
    // The parent runs against the child's x: it reaches `to` first.
    let room_before = start.distance(at(gate.to)) > SLACK_MM;
    let room_after = end.distance(at(gate.from)) > SLACK_MM;
    let Some(wide) = wide else {
        let mut slits = Vec::new();
        for (x, open) in [(gate.to, room_before), (gate.from, room_after)] {
            if open {
                slits.push(Path::line([at(x), at(x) + inward]));
            }
        }
        return slits;
    };
    let straight = |at: DVec2| Vertex { at, bulge: 0.0 };
    let mut insert = Vec::new();
    if room_before {
        let outer = at(gate.to) + along * wide.min(start.distance(at(gate.to)));
        insert.extend([outer, outer + inward, at(gate.to) + inward, at(gate.to)].map(straight));
    }
    let shift = insert.len();
    if room_after {
        let outer = at(gate.from) - along * wide.min(end.distance(at(gate.from)));
        insert.extend([at(gate.from), at(gate.from) + inward, outer + inward, outer].map(straight));
    }
    let place = gate.parent_segment + 1;
    parent.vertices.splice(place..place, insert);
    gate.parent_segment += shift;
    Vec::new()
}

/// A panel ready to be walked.
pub(super) struct Stop<'a> {
    pub outline: &'a Path,
    pub place: Placement,
    pub gate: Option<Gate>,
    pub carried: Vec<Gate>,
}

/// The closed walk round all panels, in blank coordinates, counter-clockwise.
pub(super) fn walk(stops: &[Stop<'_>]) -> Vec<Segment> {
    let mut out = Vec::new();
    go(stops, 0, &mut out);
    tidy(out)
}

fn go(stops: &[Stop<'_>], i: usize, out: &mut Vec<Segment>) {
    let stop = &stops[i];
    let n = stop.outline.vertices.len();
    let first = stop.gate.map_or(0, |g| g.child_segment);
    let rounds = if stop.gate.is_some() { n + 1 } else { n };
    for k in 0..rounds {
        let si = (first + k) % n;
        let s = stop.outline.segment(si);
        let (mut from, mut to) = (s.from, s.to);
        if let Some(g) = stop.gate {
            if k == 0 {
                from = DVec2::new(g.to, 0.0);
            }
            if k == n {
                to = DVec2::new(g.from, 0.0);
            }
        }
        let mut gates: Vec<&Gate> = stop
            .carried
            .iter()
            .filter(|g| g.parent_segment == si)
            .collect();
        let ends = |g: &Gate| {
            let rel = stop.place.inverse().then(stops[g.child].place);
            (
                rel.point(DVec2::new(g.to, 0.0)),
                rel.point(DVec2::new(g.from, 0.0)),
            )
        };
        gates.sort_by(|a, b| {
            s.from
                .distance_squared(ends(a).0)
                .total_cmp(&s.from.distance_squared(ends(b).0))
        });
        let keep = stop.gate.is_none() || (k != 0 && k != n);
        for g in gates {
            if !keep {
                continue;
            }
            let (start, end) = ends(g);
            push(
                out,
                stop.place,
                Segment {
                    from,
                    to: start,
                    bulge: 0.0,
                },
            );
            go(stops, g.child, out);
            from = end;
        }
        push(
            out,
            stop.place,
            Segment {
                from,
                to,
                bulge: s.bulge,
            },
        );
    }
}

fn push(out: &mut Vec<Segment>, place: Placement, s: Segment) {
    if s.from.distance(s.to) > SLACK_MM {
        out.push(Segment {
            from: place.point(s.from),
            to: place.point(s.to),
            bulge: s.bulge,
        });
    }
}

/// Joins straight segments that go on in the same direction.
fn tidy(segments: Vec<Segment>) -> Vec<Segment> {
    let mut out: Vec<Segment> = Vec::with_capacity(segments.len());
    for mut s in segments {
        if let Some(last) = out.last_mut() {
            s.from = last.to;
            if goes_on(last, &s) {
                last.to = s.to;
                continue;
            }
        }
        out.push(s);
    }
    if out.len() > 2 {
        let last = out[out.len() - 1];
        if goes_on(&last, &out[0]) {
            out[0].from = last.from;
            out.pop();
        }
        let end = out[out.len() - 1].to;
        out[0].from = end;
    }
    out
}

fn goes_on(a: &Segment, b: &Segment) -> bool {
    if a.bulge != 0.0 || b.bulge != 0.0 {
        return false;
    }
    let (u, v) = (a.to - a.from, b.to - b.from);
    u.dot(v) > 0.0 && u.perp_dot(v).abs() <= 1e-12 * u.length() * v.length() + 1e-12
}

/// Splits the walk into outline paths and slits: stretches walked in both directions are slits.
pub(super) fn part(walked: &[Segment]) -> (Vec<Path>, Vec<Path>) {
    let mut cuts: Vec<Vec<(f64, f64)>> = vec![Vec::new(); walked.len()];
    let mut slits = Vec::new();
    for (i, s) in walked.iter().enumerate().filter(|(_, s)| s.bulge == 0.0) {
        let len = s.from.distance(s.to);
        let e = (s.to - s.from) / len;
        for j in i + 1..walked.len() {
            if let Some((a, b, c, d)) = doubled(s.from, e, len, &walked[j]) {
                cuts[i].push((a, b));
                cuts[j].push((c, d));
                slits.push(Path::line([s.from.lerp(s.to, a), s.from.lerp(s.to, b)]));
            }
        }
    }
    if slits.is_empty() {
        let vertices = walked
            .iter()
            .map(|s| Vertex {
                at: s.from,
                bulge: s.bulge,
            })
            .collect();
        return (
            vec![Path {
                vertices,
                closed: true,
            }],
            slits,
        );
    }
    let mut runs: Vec<Vec<Segment>> = vec![Vec::new()];
    for (s, gone) in walked.iter().zip(&mut cuts) {
        gone.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut u = 0.0;
        for &(a, b) in gone.iter() {
            keep(&mut runs, s, u, a);
            runs.push(Vec::new());
            u = b;
        }
        keep(&mut runs, s, u, 1.0);
    }
    // The walk is closed: the last run goes on into the first.
    if let Some(mut last) = runs.pop() {
        match runs.first_mut() {
            Some(first) if !last.is_empty() => {
                last.append(first);
                *first = last;
            }
            Some(_) => {}
            None => runs.push(last),
        }
    }
    let outline = runs
        .into_iter()
        .filter(|r| !r.is_empty())
        .map(|r| {
            let mut vertices: Vec<Vertex> = r
                .iter()
                .map(|s| Vertex {
                    at: s.from,
                    bulge: s.bulge,
                })
                .collect();
            if let Some(s) = r.last() {
                vertices.push(Vertex {
                    at: s.to,
                    bulge: 0.0,
                });
            }
            Path {
                vertices,
                closed: false,
            }
        })
        .collect();
    (outline, slits)
}

fn keep(runs: &mut [Vec<Segment>], s: &Segment, a: f64, b: f64) {
    let whole = a == 0.0 && b == 1.0;
    let piece = if whole {
        *s
    } else {
        Segment {
            from: s.from.lerp(s.to, a),
            to: s.from.lerp(s.to, b),
            bulge: 0.0,
        }
    };
    if piece.from.distance(piece.to) > SLACK_MM
        && let Some(run) = runs.last_mut()
    {
        run.push(piece);
    }
}

/// The stretch that a straight line from `start` along `e` shares with a segment in opposite
/// directions: as shares of each.
fn doubled(start: DVec2, e: DVec2, len: f64, b: &Segment) -> Option<(f64, f64, f64, f64)> {
    let from = b.from - start;
    if e.perp_dot(from).abs() > SLACK_MM || b.bulge != 0.0 {
        return None;
    }
    let to = b.to - start;
    if e.perp_dot(to).abs() > SLACK_MM {
        return None;
    }
    let (p, q) = (e.dot(from), e.dot(to));
    if p <= q {
        return None;
    }
    let (lo, hi) = (q.max(0.0), p.min(len));
    if hi - lo <= SLACK_MM {
        return None;
    }
    Some((lo / len, hi / len, (p - hi) / (p - q), (p - lo) / (p - q)))
}
