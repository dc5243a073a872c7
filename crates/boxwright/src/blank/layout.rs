//! Laying out a piece: every panel at its place, and the lines of the blank.

use super::drivers::drivers;
use super::model::{Blank, Crease, Figures, FlatPanel, LineUse};
use super::outline::{Local, crosses_itself, local};
use super::tree::{Branch, Material};
use super::validate::{CHORD, inside};
use super::walk::{Gate, Stop, gate, part, relieve, walk};
use crate::diag::Diag;
use crate::geom::{DVec2, Path, Placement, Rect};
use crate::style::{Edge, PieceDef, Style, Values};
use crate::units::{Angle, Area, Length, SLACK_MM};

/// A cut-out of a blank: panel, index among its holes, name.
pub(super) type Opening = (usize, usize, String);

/// Places every panel and draws the lines of the blank.
pub(super) fn lay_out(
    style: &Style,
    def: &PieceDef,
    branches: &[Branch<'_>],
    values: &Values,
    material: &Material,
) -> Result<(Blank, Vec<Opening>), Diag> {
    let mut locals: Vec<Local> = branches
        .iter()
        .map(|b| local(b, values))
        .collect::<Result<_, _>>()?;
    let mut places: Vec<Placement> = Vec::with_capacity(branches.len());
    let turned = if def.far_right {
        DVec2::new(0.0, -1.0)
    } else {
        DVec2::X
    };
    for (i, b) in branches.iter().enumerate() {
        places.push(match b.parent {
            None => Placement {
                origin: DVec2::ZERO,
                x: turned,
            },
            Some(p) => places[p].then(relative(&locals[p], branches, i)),
        });
    }
    let mut gates: Vec<Option<Gate>> = vec![None; branches.len()];
    let mut slits: Vec<Path> = Vec::new();
    for i in 1..branches.len() {
        let Some(p) = branches[i].parent else {
            continue;
        };
        let rel = relative(&locals[p], branches, i);
        let mut g = gate(i, &branches[i], &locals[p].outline, &locals[i].outline, rel)?;
        if let Some((deep, wide)) = branches[i].relief {
            let uncut = locals[p].outline.flattened(CHORD);
            let cut = relieve(&mut locals[p].outline, &mut g, rel, deep, wide);
            let stays = cut
                .iter()
                .all(|s| s.vertices.iter().skip(1).all(|v| inside(&uncut, v.at)));
            let positive = deep > SLACK_MM && wide.is_none_or(|w| w > SLACK_MM);
            if !positive || !stays || crosses_itself(&locals[p].outline) {
                return Err(Diag::error(
                    "bad-relief",
                    format!(
                        "the relief of `{}` does not fit into `{}`",
                        branches[i].name, branches[p].name
                    ),
                )
                .at(branches[i].place().clone())
                .help("its sizes must be above zero, and less than the panel it is cut into"));
            }
            slits.extend(cut.iter().map(|s| places[p].path(s)));
            // Notches shift the parent's later segments.
            for j in 1..i {
                if branches[j].parent == Some(p) && gates[j].is_some() {
                    let rel = relative(&locals[p], branches, j);
                    gates[j] = Some(gate(
                        j,
                        &branches[j],
                        &locals[p].outline,
                        &locals[j].outline,
                        rel,
                    )?);
                }
            }
            g = gate(i, &branches[i], &locals[p].outline, &locals[i].outline, rel)?;
        }
        gates[i] = Some(g);
    }
    let stops: Vec<Stop<'_>> = (0..branches.len())
        .map(|i| Stop {
            outline: &locals[i].outline,
            place: places[i],
            gate: gates[i],
            carried: gates
                .iter()
                .flatten()
                .filter(|g| branches[g.child].parent == Some(i))
                .copied()
                .collect(),
        })
        .collect();
    let walked = walk(&stops);
    drop(stops);
    let (outline, parted) = part(&walked);
    slits.extend(parted);
    let whole = Path {
        vertices: walked
            .iter()
            .map(|s| crate::geom::Vertex {
                at: s.from,
                bulge: s.bulge,
            })
            .collect(),
        closed: true,
    };
    // The blank lies with its lower left corner at the origin.
    let b = whole.bounds();
    let shift = Placement {
        origin: -b.min,
        x: DVec2::X,
    };
    let moved = |paths: Vec<Path>| -> Vec<Path> { paths.iter().map(|p| shift.path(p)).collect() };
    for p in &mut places {
        *p = shift.then(*p);
    }
    let mut creases = Vec::new();
    let mut panels: Vec<FlatPanel> = Vec::new();
    let mut names = Vec::new();
    let (mut holes, mut engravings, mut own_slits) = (Vec::new(), Vec::new(), moved(slits));
    for (i, (b, l)) in branches.iter().zip(locals).enumerate() {
        let crease = match (b.side(), gates[i], b.parent) {
            (Some(side), Some(g), Some(parent)) => {
                creases.push(Crease {
                    parent,
                    child: i,
                    from: places[i].point(DVec2::new(g.from, 0.0)),
                    to: places[i].point(DVec2::new(g.to, 0.0)),
                    side,
                    angle: Angle::rad(b.angle),
                    axis_depth: b.axis_depth,
                    allowance: Length::mm(b.allowance),
                    way: material.way,
                    across_flutes: b.across_flutes,
                });
                Some(creases.len() - 1)
            }
            _ => None,
        };
        for (k, (name, path)) in l.holes.iter().enumerate() {
            holes.push(places[i].path(path));
            names.push((i, k, name.clone()));
        }
        own_slits.extend(moved_all(&l.slits, places[i]));
        engravings.extend(moved_all(&l.marks, places[i]));
        let size = l.drawn.size();
        panels.push(FlatPanel {
            name: b.name.clone(),
            parent: b.parent,
            crease,
            place: places[i],
            outline: l.outline,
            holes: l.holes.into_iter().map(|(_, p)| p).collect(),
            clear: l.clear,
            breadth: Length::mm(size.x),
            reach: Length::mm(size.y),
            may_intrude: b.def.may_intrude,
            drivers: drivers(style, b),
        });
    }
    let flutes = if def.flutes_left_right {
        turned
    } else {
        DVec2::new(-turned.y, turned.x)
    };
    let bounds = Rect {
        min: DVec2::ZERO,
        max: b.size(),
    };
    let mut blank = Blank {
        piece: def.name.clone(),
        caliper: material.caliper,
        board: material.board.clone(),
        flutes,
        panels,
        creases,
        outline: moved(outline),
        holes,
        slits: own_slits,
        engravings,
        bounds,
        figures: Figures::default(),
    };
    blank.figures = figures(&blank, whole.area(), material);
    Ok((blank, names))
}

fn moved_all(paths: &[Path], place: Placement) -> Vec<Path> {
    paths.iter().map(|p| place.path(p)).collect()
}

/// Where panel `i` lies in its parent's own coordinates.
fn relative(parent: &Local, branches: &[Branch<'_>], i: usize) -> Placement {
    let (b, d, c) = (&branches[i], parent.drawn, parent.clear);
    if let Some([from, to]) = b.slant {
        let x = (to - from).normalize();
        return Placement {
            origin: c.min + from + x * b.at,
            x,
        };
    }
    match b.edge {
        Edge::Far => Placement {
            origin: DVec2::new(c.min.x + b.at, d.max.y),
            x: DVec2::X,
        },
        Edge::Near => Placement {
            origin: DVec2::new(c.max.x - b.at, d.min.y),
            x: DVec2::NEG_X,
        },
        Edge::Right => Placement {
            origin: DVec2::new(d.max.x, c.max.y - b.at),
            x: DVec2::NEG_Y,
        },
        Edge::Left => Placement {
            origin: DVec2::new(d.min.x, c.min.y + b.at),
            x: DVec2::Y,
        },
    }
}

fn figures(blank: &Blank, outline_area: f64, material: &Material) -> Figures {
    let holes: f64 = blank.holes.iter().map(Path::area).sum();
    let area = Area::mm2(outline_area + holes);
    let size = blank.bounds.size();
    let mut f = Figures {
        length: Length::mm(size.x),
        width: Length::mm(size.y),
        area,
        mass: material.grammage * area,
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
