//! What the lines of a net enclose.

use super::net::Net;
use crate::geom::{DVec2, Path, Vertex};

/// A closed walk along stretches, the enclosed side to the left. A step is twice the edge, plus one
/// when it is walked from its end to its start.
#[derive(Clone, Debug)]
pub(super) struct Cycle {
    pub steps: Vec<usize>,
    pub path: Path,
    pub area: f64,
}

/// An enclosed region: its outer walk and those round what lies in it.
#[derive(Clone, Debug)]
pub(super) struct Face {
    pub outer: usize,
    pub inner: Vec<usize>,
}

/// All enclosed regions of a net.
#[derive(Clone, Debug)]
pub(super) struct Faces {
    pub cycles: Vec<Cycle>,
    pub faces: Vec<Face>,
    /// The region left of each step; `None` outside of everything or along what bounds nothing.
    pub left: Vec<Option<usize>>,
    /// Stretches that bound nothing: they end in nothing or have one region on both sides.
    pub loose: Vec<usize>,
}

impl Net {
    pub fn start(&self, step: usize) -> usize {
        self.edges[step / 2].ends[step % 2]
    }
    pub fn end(&self, step: usize) -> usize {
        self.edges[step / 2].ends[1 - step % 2]
    }
    fn vertex(&self, step: usize) -> Vertex {
        let e = &self.edges[step / 2];
        Vertex {
            at: self.points[self.start(step)],
            bulge: if step.is_multiple_of(2) {
                e.bulge
            } else {
                -e.bulge
            },
        }
    }
    pub fn path(&self, steps: &[usize]) -> Path {
        Path {
            vertices: steps.iter().map(|s| self.vertex(*s)).collect(),
            closed: true,
        }
    }
    /// A point on the stretch, `far` mm along its chord from where the step starts.
    fn ahead(&self, step: usize, far: f64) -> DVec2 {
        let v = self.vertex(step);
        let s = crate::geom::Segment {
            from: v.at,
            to: self.points[self.end(step)],
            bulge: v.bulge,
        };
        match s.circle() {
            None => v.at + (s.to - s.from).normalize_or(DVec2::X) * far,
            Some((c, r)) => {
                let turn = (far / r).min(4.0 * s.bulge.abs().atan()).copysign(s.bulge);
                c + DVec2::from_angle(turn).rotate(v.at - c)
            }
        }
    }
}

/// Steps that leave each point, counter-clockwise.
fn around(net: &Net, alive: &[bool]) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); net.points.len()];
    for (e, edge) in net.edges.iter().enumerate() {
        if alive[e] {
            out[edge.ends[0]].push(2 * e);
            out[edge.ends[1]].push(2 * e + 1);
        }
    }
    for (p, steps) in out.iter_mut().enumerate() {
        // Looked at a little way off, so that an arc and its tangent are told apart.
        let far = steps
            .iter()
            .map(|s| net.segment(s / 2).length())
            .fold(f64::INFINITY, f64::min)
            * 0.4;
        steps.sort_by(|a, b| {
            let angle = |s: &usize| (net.ahead(*s, far) - net.points[p]).to_angle();
            angle(a).total_cmp(&angle(b)).then(a.cmp(b))
        });
    }
    out
}

/// Takes off, again and again, stretches with an end where nothing else is.
fn prune(net: &Net, alive: &mut [bool], loose: &mut Vec<usize>) {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); net.points.len()];
    for (e, edge) in net.edges.iter().enumerate().filter(|(e, _)| alive[*e]) {
        at[edge.ends[0]].push(e);
        at[edge.ends[1]].push(e);
    }
    let mut open: Vec<usize> = (0..at.len()).filter(|p| at[*p].len() == 1).collect();
    while let Some(p) = open.pop() {
        let Some(e) = at[p].pop() else { continue };
        let [a, b] = net.edges[e].ends;
        let other = if a == p { b } else { a };
        alive[e] = false;
        loose.push(e);
        at[other].retain(|x| *x != e);
        if at[other].len() == 1 {
            open.push(other);
        }
    }
}

fn walks(net: &Net, alive: &[bool]) -> (Vec<Cycle>, Vec<Option<usize>>) {
    let around = around(net, alive);
    let mut of_step: Vec<Option<usize>> = vec![None; 2 * net.edges.len()];
    let mut cycles = Vec::new();
    for first in 0..of_step.len() {
        if !alive[first / 2] || of_step[first].is_some() {
            continue;
        }
        let mut steps = Vec::new();
        let mut step = first;
        while of_step[step].is_none() {
            of_step[step] = Some(cycles.len());
            steps.push(step);
            // The next one clockwise from the way back keeps the region to the left.
            let ring = &around[net.end(step)];
            let back = ring.iter().position(|s| *s == step ^ 1).unwrap_or(0);
            step = ring[(back + ring.len() - 1) % ring.len()];
        }
        let path = net.path(&steps);
        let area = path.area();
        cycles.push(Cycle { steps, path, area });
    }
    (cycles, of_step)
}

/// Finds all regions of the stretches that are `alive`.
pub(super) fn faces(net: &Net, mut alive: Vec<bool>) -> Faces {
    let mut loose = Vec::new();
    let (cycles, of_step) = loop {
        prune(net, &mut alive, &mut loose);
        let (cycles, of_step) = walks(net, &alive);
        let same: Vec<usize> = (0..net.edges.len())
            .filter(|e| alive[*e] && of_step[2 * e] == of_step[2 * e + 1])
            .collect();
        if same.is_empty() {
            break (cycles, of_step);
        }
        for e in same {
            alive[e] = false;
            loose.push(e);
        }
    };
    let mut faces: Vec<Face> = Vec::new();
    let mut face_of: Vec<Option<usize>> = vec![None; cycles.len()];
    for (c, cycle) in cycles.iter().enumerate() {
        if cycle.area > 0.0 {
            face_of[c] = Some(faces.len());
            faces.push(Face {
                outer: c,
                inner: Vec::new(),
            });
        }
    }
    let rings: Vec<Vec<DVec2>> = faces
        .iter()
        .map(|f| cycles[f.outer].path.flattened(CHORD))
        .collect();
    let parts = parts(net, &alive);
    for (c, cycle) in cycles.iter().enumerate() {
        let (Some(step), true) = (cycle.steps.first(), cycle.area <= 0.0) else {
            continue;
        };
        let p = net.points[net.start(*step)];
        let part = parts[net.start(*step)];
        let within = (0..faces.len())
            .filter(|f| {
                let outer = &cycles[faces[*f].outer];
                let other = outer
                    .steps
                    .first()
                    .is_some_and(|s| parts[net.start(*s)] != part);
                other && inside(&rings[*f], p)
            })
            .min_by(|a, b| {
                cycles[faces[*a].outer]
                    .area
                    .total_cmp(&cycles[faces[*b].outer].area)
            });
        face_of[c] = within;
        if let Some(f) = within {
            faces[f].inner.push(c);
        }
    }
    let left = of_step.iter().map(|c| c.and_then(|c| face_of[c])).collect();
    Faces {
        cycles,
        faces,
        left,
        loose,
    }
}

/// How finely arcs are cut for telling inside from outside.
const CHORD: f64 = 0.01;

/// Which connected part of the net each point belongs to.
pub(super) fn parts(net: &Net, alive: &[bool]) -> Vec<usize> {
    let mut up: Vec<usize> = (0..net.points.len()).collect();
    for (e, edge) in net.edges.iter().enumerate() {
        if alive[e] {
            let (a, b) = (top(&mut up, edge.ends[0]), top(&mut up, edge.ends[1]));
            up[a.max(b)] = a.min(b);
        }
    }
    (0..up.len()).map(|i| top(&mut up, i)).collect()
}

/// The head of a group, shortening the way to it.
pub(super) fn top(up: &mut [usize], mut i: usize) -> usize {
    while up[i] != i {
        up[i] = up[up[i]];
        i = up[i];
    }
    i
}

pub(super) fn inside(ring: &[DVec2], p: DVec2) -> bool {
    let mut odd = false;
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    odd
}

impl Faces {
    /// Whether a point lies in a region, not in what lies within it.
    pub fn holds(&self, f: usize, p: DVec2) -> bool {
        let ring = |c: usize| self.cycles[c].path.flattened(CHORD);
        inside(&ring(self.faces[f].outer), p)
            && !self.faces[f].inner.iter().any(|c| inside(&ring(*c), p))
    }
    pub fn area(&self, f: usize) -> f64 {
        let face = &self.faces[f];
        self.cycles[face.outer].area + face.inner.iter().map(|c| self.cycles[*c].area).sum::<f64>()
    }
    /// A point to name it by: the middle of its bounds.
    pub fn centre(&self, f: usize) -> DVec2 {
        self.cycles[self.faces[f].outer].path.bounds().centre()
    }
}
