//! The fold tree of a piece, and the blank it makes.

use std::collections::{BTreeMap, BTreeSet};

use super::faces::{Cycle, Faces, faces};
use super::model::{Fault, Role, Wishes, spot};
use super::net::Net;
use super::panels::{Hinge, Piece};
use crate::blank::{
    Blank, Crease, Drivers, Figures, FlatPanel, FoldSide, LineUse, Material, STEEPEST,
};
use crate::check::Verdict;
use crate::geom::{DVec2, Path, Placement, Rect, Vertex};
use crate::units::{Angle, Area, Length};

/// A piece as a blank, and how it lies in the file.
pub(super) struct Grown {
    pub blank: Blank,
    /// The lower left corner in the drawing.
    pub corner: DVec2,
    pub faults: Vec<Fault>,
}

/// What a crease turns through when nothing is asked.
const SQUARE: Angle = Angle::deg(90.0);

pub(super) fn grow(
    net: &Net,
    all: &Faces,
    piece: &Piece,
    wishes: &Wishes,
    material: &Material,
    flutes: DVec2,
) -> Grown {
    let mut faults = Vec::new();
    let root = root(all, piece, wishes.root);
    let (order, parent) = span(piece, root);
    rings(net, piece, &order, &parent, &mut faults);
    let at: BTreeMap<usize, usize> = order.iter().enumerate().map(|(i, f)| (*f, i)).collect();
    let run_of: BTreeMap<usize, usize> = piece
        .hinges
        .iter()
        .flat_map(|h| &h.runs)
        .enumerate()
        .flat_map(|(i, r)| r.iter().map(move |s| (s / 2, i)))
        .collect();
    let whole = faces(
        net,
        (0..net.edges.len())
            .map(|e| bounds_piece(all, piece, e))
            .collect(),
    );
    // The same walk from its other side bounds what is not of the piece.
    let own = |c: &&Cycle| {
        c.steps
            .first()
            .and_then(|s| all.left[*s])
            .is_some_and(|f| piece.panels.contains(&f))
    };
    let walks: Vec<&Cycle> = whole.cycles.iter().filter(own).collect();
    let outlines: Vec<&Path> = walks
        .iter()
        .filter(|c| c.area > 0.0)
        .map(|c| &c.path)
        .collect();
    let bounds = outlines
        .iter()
        .map(|p| p.bounds())
        .fold(Rect::EMPTY, Rect::union);
    let shift = Placement {
        origin: -bounds.min,
        x: DVec2::X,
    };
    let (mut panels, mut creases) = (Vec::new(), Vec::new());
    let turned = angles(net, piece, wishes, &mut faults);
    for (i, f) in order.iter().enumerate() {
        let hung = parent.get(f).map(|h| (&piece.hinges[*h], *h));
        let place = match hung {
            None => root_place(net, all, piece, *f),
            Some((h, _)) => hinge_place(net, h, *f),
        };
        let place = shift.then(place);
        let mut own = None;
        let mut up = None;
        if let Some((h, k)) = hung {
            let other = if h.faces[0] == *f {
                h.faces[1]
            } else {
                h.faces[0]
            };
            up = at.get(&other).copied();
            own = Some(creases.len());
            let (side, angle) = turned[k];
            for r in &h.runs {
                let (Some(a), Some(b)) = (r.first(), r.last()) else {
                    continue;
                };
                let (mut from, mut to) = (net.points[net.start(*a)], net.points[net.end(*b)]);
                if h.faces[0] != *f {
                    std::mem::swap(&mut from, &mut to);
                }
                let along = (to - from).normalize_or(DVec2::X);
                let across_flutes = along.dot(flutes).abs() < std::f64::consts::FRAC_1_SQRT_2;
                let axis_depth = material.axis_depth[usize::from(across_flutes)];
                creases.push(Crease {
                    parent: up.unwrap_or(0),
                    child: i,
                    from: shift.point(from),
                    to: shift.point(to),
                    side,
                    angle,
                    axis_depth,
                    allowance: allowance(axis_depth, material.caliper, angle),
                    way: material.way,
                    across_flutes,
                });
            }
        }
        let home = place.inverse();
        let face = &all.faces[*f];
        let ring = |c: usize| home.path(&shift.path(&ring(net, &all.cycles[c].steps, &run_of)));
        let outline = ring(face.outer);
        let size = outline.bounds();
        panels.push(FlatPanel {
            name: if i == 0 {
                "root".to_owned()
            } else {
                format!("panel {i}")
            },
            parent: up,
            crease: own,
            place,
            holes: face.inner.iter().map(|c| ring(*c)).collect(),
            clear: size,
            breadth: Length::mm(size.size().x),
            reach: Length::mm(size.size().y),
            outline,
            may_intrude: false,
            drivers: Drivers::default(),
        });
    }
    let moved = |p: &Path| shift.path(&straightened(p));
    let mut blank = Blank {
        piece: "blank".to_owned(),
        caliper: material.caliper,
        board: material.board.clone(),
        flutes,
        panels,
        creases,
        outline: outlines.into_iter().map(moved).collect(),
        holes: walks
            .iter()
            .filter(|c| c.area <= 0.0)
            .map(|c| moved(&c.path))
            .collect(),
        slits: piece
            .slits
            .iter()
            .map(|e| shift.path(&open(net, *e)))
            .collect(),
        engravings: Vec::new(),
        bounds: Rect {
            min: DVec2::ZERO,
            max: bounds.size(),
        },
        figures: Figures::default(),
    };
    for i in 0..blank.panels.len() {
        blank.panels[i].clear = clear(&blank, i);
    }
    blank.figures = figures(&blank, material);
    Grown {
        blank,
        corner: bounds.min,
        faults,
    }
}

/// Whether a stretch parts the piece from what is not of it.
fn bounds_piece(all: &Faces, piece: &Piece, e: usize) -> bool {
    let own = |step: usize| all.left[step].is_some_and(|f| piece.panels.contains(&f));
    own(2 * e) != own(2 * e + 1)
}

/// The panel asked for; else the largest of those that carry at least two others, since walls do
/// and flaps do not, however large.
fn root(all: &Faces, piece: &Piece, asked: Option<DVec2>) -> usize {
    let named = asked.and_then(|p| piece.panels.iter().find(|f| all.holds(**f, p)));
    let joined = |f: usize| piece.hinges.iter().filter(|h| h.faces.contains(&f)).count();
    let most = piece.panels.iter().map(|f| joined(*f)).max().unwrap_or(0);
    let fit = |f: &&usize| joined(**f) >= most.min(3);
    // Of panels equally large to a thousandth the first one found, whatever the rounding.
    let largest = piece
        .panels
        .iter()
        .filter(fit)
        .map(|f| all.area(*f))
        .fold(0.0, f64::max);
    let mut large = piece.panels.iter().filter(fit);
    named
        .or(large.find(|f| all.area(**f) >= largest * 0.999))
        .copied()
        .unwrap_or(0)
}

/// Panels in the order they are reached from the root, and by which hinge.
fn span(piece: &Piece, root: usize) -> (Vec<usize>, BTreeMap<usize, usize>) {
    let mut order = vec![root];
    let mut parent = BTreeMap::new();
    let mut next = 0;
    while next < order.len() {
        let f = order[next];
        next += 1;
        for (k, h) in piece.hinges.iter().enumerate() {
            let other = match h.faces {
                [a, b] if a == f => b,
                [a, b] if b == f => a,
                _ => continue,
            };
            if !order.contains(&other) {
                parent.insert(other, k);
                order.push(other);
            }
        }
    }
    (order, parent)
}

/// Hinges beyond those of the tree close a ring of panels, which cannot fold.
fn rings(
    net: &Net,
    piece: &Piece,
    order: &[usize],
    parent: &BTreeMap<usize, usize>,
    faults: &mut Vec<Fault>,
) {
    let used: BTreeSet<usize> = parent.values().copied().collect();
    if order.len() == used.len() + 1 && piece.hinges.len() == used.len() {
        return;
    }
    let mut touching: BTreeMap<usize, (usize, bool)> = BTreeMap::new();
    for edge in &net.edges {
        for p in edge.ends {
            let entry = touching.entry(p).or_default();
            entry.0 += 1;
            entry.1 |= edge.role == Role::Cut;
        }
    }
    let points: Vec<usize> = touching
        .iter()
        .filter(|(_, (n, cut))| *n >= 3 && !cut)
        .map(|(p, _)| *p)
        .collect();
    let extra: Vec<usize> = (0..piece.hinges.len())
        .filter(|k| !used.contains(k))
        .collect();
    for p in &points {
        let at = net.points[*p];
        faults.push(
            Fault::new(
                "panels-round-a-point",
                Verdict::Fail,
                format!(
                    "panels meet all round the point {} and cannot fold",
                    spot(at)
                ),
            )
            .at([at])
            .cure("cut one of the creases there, or leave a slot that opens to the edge"),
        );
    }
    if points.is_empty() {
        for k in extra {
            let Some(s) = piece.hinges[k].runs.first().and_then(|r| r.first()) else {
                continue;
            };
            let seg = net.segment(s / 2);
            let at = (seg.from + seg.to) * 0.5;
            faults.push(
                Fault::new("panel-ring", Verdict::Fail, format!("panels joined in a ring round a cut-out cannot fold; the ring closes at {}", spot(at)))
                    .at([at])
                    .cure("cut one of the creases of the ring"),
            );
        }
    }
}

/// Side and angle of each hinge; a wish goes to the crease nearest to its point.
fn angles(
    net: &Net,
    piece: &Piece,
    wishes: &Wishes,
    faults: &mut Vec<Fault>,
) -> Vec<(FoldSide, Angle)> {
    let mut out: Vec<(FoldSide, Angle)> = piece
        .hinges
        .iter()
        .map(|h| match h.role {
            Role::CreaseOutward => (FoldSide::Outward, SQUARE),
            _ => (FoldSide::Inward, SQUARE),
        })
        .collect();
    for (p, angle) in &wishes.angles {
        let far = |h: &Hinge| {
            h.runs
                .iter()
                .flatten()
                .map(|s| {
                    let s = net.segment(s / 2);
                    let d = s.to - s.from;
                    let u = ((*p - s.from).dot(d) / d.length_squared().max(1e-30)).clamp(0.0, 1.0);
                    p.distance(s.from.lerp(s.to, u))
                })
                .fold(f64::INFINITY, f64::min)
        };
        let nearest = piece
            .hinges
            .iter()
            .map(far)
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1));
        match nearest {
            Some((k, _)) => {
                // With a sign it says the side as well.
                let side = if angle.to_rad() < 0.0 {
                    FoldSide::Outward
                } else {
                    out[k].0
                };
                out[k] = (side, angle.abs());
            }
            None => faults.push(
                Fault::new(
                    "no-crease",
                    Verdict::Caution,
                    format!("there is no crease near {} to turn", spot(*p)),
                )
                .at([*p]),
            ),
        }
    }
    out
}

/// The stand-back of the inside corner, where one is defined.
fn allowance(axis_depth: f64, caliper: Length, angle: Angle) -> Length {
    if angle.to_rad() > STEEPEST.to_rad() + 1e-9 {
        return Length::ZERO;
    }
    Length::mm(axis_depth * caliper.to_mm() * (angle.to_rad() / 2.0).tan())
}

/// Along the root's longest crease, or else its longest edge, pointing rather to the right.
fn root_place(net: &Net, all: &Faces, piece: &Piece, f: usize) -> Placement {
    let steps = &all.cycles[all.faces[f].outer].steps;
    let creased: BTreeSet<usize> = piece
        .hinges
        .iter()
        .flat_map(|h| h.runs.iter().flatten())
        .map(|s| s / 2)
        .collect();
    let longest = |only: bool| {
        steps
            .iter()
            .filter(|s| net.edges[**s / 2].bulge == 0.0 && (!only || creased.contains(&(**s / 2))))
            .map(|s| net.segment(s / 2))
            .max_by(|a, b| a.length().total_cmp(&b.length()))
    };
    let along = longest(true)
        .or_else(|| longest(false))
        .map_or(DVec2::X, |s| (s.to - s.from).normalize_or(DVec2::X));
    let quarter = [along, along.perp(), -along, -along.perp()];
    let mut x = quarter
        .into_iter()
        .fold(along, |best, q| if q.x > best.x { q } else { best });
    if x.y.abs() < 1e-6 {
        x = DVec2::X;
    }
    let turned = Placement {
        origin: DVec2::ZERO,
        x,
    };
    let ring = turned.inverse().path(&all.cycles[all.faces[f].outer].path);
    Placement {
        origin: turned.point(ring.bounds().min),
        x,
    }
}

/// With the hinge along y = 0, the panel above it, x = 0 at its left end.
fn hinge_place(net: &Net, h: &Hinge, f: usize) -> Placement {
    let Some((a, b)) = h.runs.first().and_then(|r| Some((r.first()?, r.last()?))) else {
        return Placement::IDENTITY;
    };
    let (mut from, mut to) = (net.points[net.start(*a)], net.points[net.end(*b)]);
    if h.faces[0] != f {
        std::mem::swap(&mut from, &mut to);
    }
    Placement {
        origin: from,
        x: (to - from).normalize_or(DVec2::X),
    }
}

/// The ring of a walk, each run of creases as one straight side.
fn ring(net: &Net, steps: &[usize], run_of: &BTreeMap<usize, usize>) -> Path {
    let whole = net.path(steps);
    let n = steps.len();
    let vertices = (0..n)
        .filter(|i| {
            let (before, own) = (
                run_of.get(&(steps[(i + n - 1) % n] / 2)),
                run_of.get(&(steps[*i] / 2)),
            );
            own.is_none() || own != before
        })
        .map(|i| {
            let straight = run_of.contains_key(&(steps[i] / 2));
            Vertex {
                at: whole.vertices[i].at,
                bulge: if straight {
                    0.0
                } else {
                    whole.vertices[i].bulge
                },
            }
        })
        .collect();
    Path {
        vertices,
        closed: true,
    }
}

fn open(net: &Net, e: usize) -> Path {
    let s = net.segment(e);
    Path {
        vertices: vec![
            Vertex {
                at: s.from,
                bulge: s.bulge,
            },
            Vertex {
                at: s.to,
                bulge: 0.0,
            },
        ],
        closed: false,
    }
}

/// Without corners at which a straight side goes straight on.
fn straightened(path: &Path) -> Path {
    /// A micrometre off is rounding.
    const STRAIGHT: f64 = 1e-3;
    let mut left: Vec<Vertex> = path.vertices.clone();
    let mut i = 0;
    while i < left.len() && left.len() > 3 {
        let n = left.len();
        let (a, b, c) = (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
        let d = (c.at - a.at).normalize_or(DVec2::X);
        let flat = a.bulge == 0.0 && b.bulge == 0.0 && d.perp_dot(b.at - a.at).abs() <= STRAIGHT;
        if flat && (b.at - a.at).dot(c.at - b.at) > 0.0 {
            left.remove(i);
        } else {
            i += 1;
        }
    }
    Path {
        vertices: left,
        closed: path.closed,
    }
}

/// The panel's bounds drawn in by what its creases take.
fn clear(blank: &Blank, i: usize) -> Rect {
    let p = &blank.panels[i];
    let home = p.place.inverse();
    let mut r = p.outline.bounds();
    for c in blank
        .creases
        .iter()
        .filter(|c| c.parent == i || c.child == i)
    {
        let (a, b, by) = (home.point(c.from), home.point(c.to), c.allowance.to_mm());
        for k in 0..2 {
            if (a[k] - b[k]).abs() > 1e-6 {
                continue;
            }
            if (a[k] - p.outline.bounds().min[k]).abs() < 1e-6 {
                r.min[k] = r.min[k].max(a[k] + by);
            } else if (a[k] - p.outline.bounds().max[k]).abs() < 1e-6 {
                r.max[k] = r.max[k].min(a[k] - by);
            }
        }
    }
    r
}

fn figures(blank: &Blank, material: &Material) -> Figures {
    let area: f64 = blank
        .outline
        .iter()
        .chain(&blank.holes)
        .map(Path::area)
        .sum();
    let size = blank.bounds.size();
    let mut f = Figures {
        length: Length::mm(size.x),
        width: Length::mm(size.y),
        area: Area::mm2(area),
        mass: material.grammage * Area::mm2(area),
        ..Figures::default()
    };
    for (used, path) in blank.each_line() {
        let l = Length::mm(path.length());
        match used {
            LineUse::Cut => f.cut_length += l,
            LineUse::CreaseInward | LineUse::CreaseOutward => f.crease_length += l,
            LineUse::Perforation => f.perforation_length += l,
            LineUse::Engrave | LineUse::Board => {}
        }
    }
    f
}
