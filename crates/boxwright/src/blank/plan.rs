//! Drawing a job: from a style at an asked size to flat blanks, joints and stages in numbers.

use std::sync::Arc;

use super::model::{Blank, Crease, Figures, FlatPanel, LineUse, Sound};
use super::outline::{Local, local};
use super::tree::{Branch, Material, Scope, drivers, grow, holds, length, quantity};
use super::walk::{Gate, Stop, gate, part, relieve, walk};
use super::{Defect, validate};
use crate::diag::{Diag, Outcome, Place};
use crate::geom::{DVec2, Path, Placement, Rect};
use crate::job::Job;
use crate::style::{Edge, JointKind, MoveDef, PieceDef, Style, Values, values};
use crate::units::{Angle, Area, Dim, Length, Quantity};

/// A panel of one of the pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PanelRef {
    /// Index of the piece.
    pub piece: usize,
    /// Index of the panel in its blank.
    pub panel: usize,
}

/// Where the asked room lies.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRoom {
    /// The panel it stands on.
    pub on: PanelRef,
    /// Asked size (0 length, 1 width, 2 depth) along the panel's breadth, its reach, and inward.
    pub axes: [usize; 3],
    /// Least corner, from the panel's clear span and inside face, in mm.
    pub offset: [f64; 3],
    /// Asked sizes: length, width, depth.
    pub asked: [Length; 3],
}

/// Where a further piece sits: its root faces a panel, centre on centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSeat {
    /// Index of the piece.
    pub piece: usize,
    /// The panel it faces.
    pub over: PanelRef,
    /// Between the two inside faces.
    pub apart: Length,
}

/// What is joined.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanJoint {
    /// First panel.
    pub panel: PanelRef,
    /// Second panel.
    pub to: PanelRef,
    /// What kind, and what it should measure.
    pub kind: PlanJointKind,
}

/// Kinds of joint.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanJointKind {
    /// Face glued to face.
    Glue,
    /// Taped, with this gap.
    Tape(Length),
    /// Closes up to this gap.
    Close(Length),
    /// A tab in this cut-out of the second panel (index into its holes).
    Tab(usize),
    /// A tongue held by friction.
    Tuck,
}

/// A hinge's share of a stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// The panel that turns about its crease.
    pub panel: PanelRef,
    /// Angle at the end of the stage.
    pub to: Angle,
    /// The share of the stage at which it starts.
    pub starts: f64,
    /// The share at which it ends.
    pub ends: f64,
}

/// One step of folding.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanStage {
    /// Its name.
    pub title: String,
    /// The instruction line.
    pub text: String,
    /// What turns.
    pub turns: Vec<Turn>,
    /// Pieces that come in, and from how far off.
    pub enters: Vec<(usize, Length)>,
}

/// A job drawn: blanks and all that later stages need, in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The style it was drawn from.
    pub style: Arc<Style>,
    /// Every named value.
    pub values: Values,
    /// What it is cut from.
    pub material: Material,
    /// One blank per piece.
    pub pieces: Vec<Blank>,
    /// Name of each cut-out: piece, panel, hole index.
    pub cutouts: Vec<(PanelRef, usize, String)>,
    /// Where the room lies.
    pub room: PlanRoom,
    /// Where further pieces sit; the first piece has none.
    pub seats: Vec<PlanSeat>,
    /// What is joined.
    pub joints: Vec<PlanJoint>,
    /// The order of folding.
    pub stages: Vec<PlanStage>,
}

/// A plan whose every blank passed validation.
#[derive(Clone, Debug, PartialEq)]
pub struct SoundPlan {
    plan: Plan,
    blanks: Vec<Sound>,
}

impl SoundPlan {
    /// The blanks, one per piece.
    #[must_use]
    pub fn blanks(&self) -> &[Sound] {
        &self.blanks
    }
}

impl std::ops::Deref for SoundPlan {
    type Target = Plan;
    fn deref(&self) -> &Plan {
        &self.plan
    }
}

impl Plan {
    /// Validates every blank.
    ///
    /// # Errors
    /// What is wrong with which piece: panels that overlap, cut-outs outside their panel.
    pub fn validated(self) -> Result<SoundPlan, (Box<Self>, Vec<Defect>)> {
        let mut sound = Vec::new();
        let mut defects = Vec::new();
        for blank in &self.pieces {
            match validate(blank.clone()) {
                Ok(s) => sound.push(s),
                Err(d) => defects.extend(d),
            }
        }
        if defects.is_empty() {
            Ok(SoundPlan {
                plan: self,
                blanks: sound,
            })
        } else {
            Err((Box::new(self), defects))
        }
    }
    /// The panel's full name, with its piece when there are several.
    #[must_use]
    pub fn name(&self, r: PanelRef) -> String {
        let panel = &self.pieces[r.piece].panels[r.panel].name;
        if self.pieces.len() > 1 {
            format!("{}: {panel}", self.pieces[r.piece].piece)
        } else {
            panel.clone()
        }
    }
}

/// Draws a job.
///
/// # Errors
/// Everything that keeps the style from being drawn at this size and board, each at its place.
pub fn draw(
    style: &Arc<Style>,
    job: &Job,
    material: &Material,
    figures: &[(&str, Quantity)],
) -> Outcome<Plan> {
    let t = material.caliper;
    let mut given: Vec<(&str, Quantity)> = figures
        .iter()
        .copied()
        .filter(|(n, _)| {
            !matches!(
                *n,
                "t" | "axis-along" | "axis-across" | "length" | "width" | "depth"
            )
        })
        .collect();
    given.push(("t", Quantity::length(t)));
    given.push(("axis-along", Quantity::length(t * material.axis_depth[0])));
    given.push(("axis-across", Quantity::length(t * material.axis_depth[1])));
    for (name, size) in crate::job::ASKED.iter().zip(job.inside) {
        given.push((name, Quantity::length(size)));
    }
    let values = values(style, &given, &job.set)?;
    let mut d = Drafter {
        style,
        values: &values,
        material,
        diags: Vec::new(),
        names: Vec::new(),
    };
    let plan = d.plan(job);
    let diags = d.diags;
    match plan {
        Some((pieces, cutouts, room, seats, joints, stages)) if diags.is_empty() => Ok(Plan {
            style: Arc::clone(style),
            values,
            material: material.clone(),
            pieces,
            cutouts,
            room,
            seats,
            joints,
            stages,
        }),
        _ => Err(diags),
    }
}

/// A cut-out of a blank: panel, index among its holes, name.
type Opening = (usize, usize, String);

type Parts = (
    Vec<Blank>,
    Vec<(PanelRef, usize, String)>,
    PlanRoom,
    Vec<PlanSeat>,
    Vec<PlanJoint>,
    Vec<PlanStage>,
);

struct Drafter<'a> {
    style: &'a Style,
    values: &'a Values,
    material: &'a Material,
    diags: Vec<Diag>,
    /// Piece name and panel names, for look-ups.
    names: Vec<(String, Vec<String>)>,
}

impl Drafter<'_> {
    fn keep<T>(&mut self, r: Result<T, Diag>) -> Option<T> {
        match r {
            Ok(v) => Some(v),
            Err(d) => {
                self.diags.push(d);
                None
            }
        }
    }

    fn plan(&mut self, job: &Job) -> Option<Parts> {
        let mut blanks = Vec::new();
        let mut cutouts = Vec::new();
        for def in &self.style.pieces {
            let scope = Scope {
                base: self.values,
                given: &[],
                own: [("edge", None); 3],
            };
            let here = holds(def.when.as_ref(), &scope);
            if !self.keep(here)? {
                continue;
            }
            let (blank, holes) = match self.blank(def) {
                Ok(b) => b,
                Err(d) => {
                    self.diags.extend(d);
                    return None;
                }
            };
            self.names.push((
                def.name.clone(),
                blank.panels.iter().map(|p| p.name.clone()).collect(),
            ));
            cutouts.extend(holes.into_iter().map(|(panel, i, n)| {
                (
                    PanelRef {
                        piece: blanks.len(),
                        panel,
                    },
                    i,
                    n,
                )
            }));
            blanks.push(blank);
        }
        let room = self.room(job)?;
        let seats = self.seats(blanks.len());
        let joints = self.joints(&cutouts);
        let stages = self.stages(&blanks);
        Some((blanks, cutouts, room, seats, joints, stages))
    }

    fn find(&mut self, name: &str, place: &Place) -> Option<PanelRef> {
        let (piece_name, panel_name) = match name.split_once(": ") {
            Some((p, n)) => (Some(p), n),
            None => (None, name),
        };
        for (piece, (pn, panels)) in self.names.iter().enumerate() {
            if piece_name.is_some_and(|w| w != pn) {
                continue;
            }
            if let Some(panel) = panels.iter().position(|n| n == panel_name) {
                return Some(PanelRef { piece, panel });
            }
        }
        let several = self.names.len() > 1;
        let known: Vec<String> = self
            .names
            .iter()
            .flat_map(|(p, ns)| {
                ns.iter().map(move |n| {
                    if several {
                        format!("{p}: {n}")
                    } else {
                        n.clone()
                    }
                })
            })
            .collect();
        self.diags.push(
            Diag::error("unknown-panel", format!("there is no panel `{name}`"))
                .at(place.clone())
                .help(crate::read::suggestion(
                    name,
                    known.iter().map(String::as_str),
                )),
        );
        None
    }

    fn piece_index(&mut self, name: &str, place: &Place) -> Option<usize> {
        let found = self.names.iter().position(|(n, _)| n == name);
        if found.is_none() {
            self.diags.push(
                Diag::error("unknown-piece", format!("there is no piece `{name}`"))
                    .at(place.clone())
                    .help(crate::read::suggestion(
                        name,
                        self.names.iter().map(|(n, _)| n.as_str()),
                    )),
            );
        }
        found
    }

    fn room(&mut self, job: &Job) -> Option<PlanRoom> {
        let def = &self.style.room;
        let on = self.find(&def.on, &def.place)?;
        let mut offset = [0.0; 3];
        for (o, f) in offset.iter_mut().zip(&def.offset) {
            if let Some(f) = f {
                *o = self.keep(length(f, self.values))?;
            }
        }
        Some(PlanRoom {
            on,
            axes: def.sizes,
            offset,
            asked: job.inside,
        })
    }

    fn seats(&mut self, pieces: usize) -> Vec<PlanSeat> {
        let mut seats = Vec::new();
        for def in &self.style.seats {
            let piece = self.piece_index(&def.piece, &def.place);
            let over = self.find(&def.over, &def.place);
            let apart = self.keep(length(&def.apart, self.values));
            if let (Some(piece), Some(over), Some(apart)) = (piece, over, apart) {
                if over.piece >= piece {
                    self.diags.push(
                        Diag::error("bad-seat", "a piece sits on one written before it")
                            .at(def.place.clone()),
                    );
                }
                seats.push(PlanSeat {
                    piece,
                    over,
                    apart: Length::mm(apart),
                });
            }
        }
        for piece in 1..pieces {
            if !seats.iter().any(|s| s.piece == piece) {
                let (name, def) = (&self.names[piece].0, &self.style.pieces[piece]);
                self.diags.push(
                    Diag::error("missing", format!("piece `{name}` has no `seat`"))
                        .at(def.place.clone())
                        .help("say where it sits: seat \"lid\" over=\"floor\" apart=\"depth\""),
                );
            }
        }
        seats
    }

    fn joints(&mut self, cutouts: &[(PanelRef, usize, String)]) -> Vec<PlanJoint> {
        let mut out = Vec::new();
        for def in &self.style.joints {
            let here = holds(def.when.as_ref(), self.values);
            if self.keep(here) != Some(true) {
                continue;
            }
            let (Some(panel), Some(to)) = (
                self.find(&def.panel, &def.place),
                self.find(&def.to, &def.place),
            ) else {
                continue;
            };
            let kind = match &def.kind {
                JointKind::Glue => Some(PlanJointKind::Glue),
                JointKind::Tape(gap) => {
                    let gap = gap.as_ref().map_or(Ok(0.0), |f| length(f, self.values));
                    self.keep(gap).map(|g| PlanJointKind::Tape(Length::mm(g)))
                }
                JointKind::Close(gap) => {
                    let gap = length(gap, self.values);
                    self.keep(gap).map(|g| PlanJointKind::Close(Length::mm(g)))
                }
                JointKind::Tab { cutout } => {
                    let here: Vec<_> = cutouts.iter().filter(|(r, _, _)| *r == to).collect();
                    let found = here
                        .iter()
                        .find(|(_, _, n)| n == cutout)
                        .map(|(_, i, _)| PlanJointKind::Tab(*i));
                    if found.is_none() {
                        self.diags.push(
                            Diag::error(
                                "unknown-cut-out",
                                format!("`{}` has no cut-out `{cutout}`", def.to),
                            )
                            .at(def.place.clone())
                            .help(crate::read::suggestion(
                                cutout,
                                here.iter().map(|(_, _, n)| n.as_str()),
                            )),
                        );
                    }
                    found
                }
                JointKind::Tuck => Some(PlanJointKind::Tuck),
            };
            out.extend(kind.map(|kind| PlanJoint { panel, to, kind }));
        }
        out
    }

    fn stages(&mut self, blanks: &[Blank]) -> Vec<PlanStage> {
        let mut out = Vec::new();
        let mut last: Vec<Vec<Option<f64>>> =
            blanks.iter().map(|b| vec![None; b.panels.len()]).collect();
        let mut entered = vec![false; blanks.len()];
        for def in &self.style.stages {
            let here = holds(def.when.as_ref(), self.values);
            if self.keep(here) != Some(true) {
                continue;
            }
            let mut stage = PlanStage {
                title: def.title.clone(),
                text: def.text.clone(),
                turns: Vec::new(),
                enters: Vec::new(),
            };
            for m in &def.moves {
                match m {
                    MoveDef::Turn { panels, to, during } => {
                        let share = |d: &mut Self, i: usize, default: f64| match &during[i] {
                            None => Some(default),
                            Some(f) => d
                                .keep(quantity(f, d.values, Dim::NUMBER))
                                .map(|v| v.clamp(0.0, 1.0)),
                        };
                        let (Some(starts), Some(ends)) = (share(self, 0, 0.0), share(self, 1, 1.0))
                        else {
                            continue;
                        };
                        let to = match to {
                            None => None,
                            Some(f) => match self.keep(quantity(f, self.values, Dim::ANGLE)) {
                                Some(v) => Some(v),
                                None => continue,
                            },
                        };
                        for (name, place) in panels {
                            let Some(panel) = self.find(name, place) else {
                                continue;
                            };
                            let flat = &blanks[panel.piece].panels[panel.panel];
                            let Some(c) = flat.crease else {
                                self.diags.push(
                                    Diag::error(
                                        "no-hinge",
                                        format!("`{name}` has no crease to turn about"),
                                    )
                                    .at(place.clone()),
                                );
                                continue;
                            };
                            let full = blanks[panel.piece].creases[c].angle.to_rad();
                            let to = to.unwrap_or(full);
                            last[panel.piece][panel.panel] = Some(to);
                            stage.turns.push(Turn {
                                panel,
                                to: Angle::rad(to),
                                starts,
                                ends,
                            });
                        }
                    }
                    MoveDef::Enter { piece, place, from } => {
                        let Some(p) = self.piece_index(piece, place) else {
                            continue;
                        };
                        let from = from.as_ref().map_or(Ok(300.0), |f| length(f, self.values));
                        if let Some(from) = self.keep(from) {
                            entered[p] = true;
                            stage.enters.push((p, Length::mm(from)));
                        }
                    }
                }
            }
            out.push(stage);
        }
        if self.diags.is_empty() {
            self.finished(blanks, &last, &entered);
        }
        out
    }

    /// Every crease ends at its fold, every further piece has entered.
    fn finished(&mut self, blanks: &[Blank], last: &[Vec<Option<f64>>], entered: &[bool]) {
        for (p, blank) in blanks.iter().enumerate() {
            let place = &self.style.pieces[p].place;
            for (i, panel) in blank.panels.iter().enumerate() {
                let Some(c) = panel.crease else { continue };
                let full = blank.creases[c].angle.to_rad();
                let message = match last[p][i] {
                    None => format!("`{}` is never folded", panel.name),
                    Some(a) if (a - full).abs() > 1e-9 => format!(
                        "`{}` ends at {}, but folds to {}",
                        panel.name,
                        Quantity::angle(Angle::rad(a)),
                        Quantity::angle(Angle::rad(full))
                    ),
                    Some(_) => continue,
                };
                self.diags.push(
                    Diag::error("unfinished", message)
                        .at(place.clone())
                        .help("add it to a `turn` in one of the stages"),
                );
            }
            if p > 0 && !entered[p] {
                self.diags.push(
                    Diag::error(
                        "unfinished",
                        format!("piece `{}` never enters", blank.piece),
                    )
                    .at(place.clone())
                    .help("add `enter` to one of the stages"),
                );
            }
        }
    }

    fn blank(&self, def: &PieceDef) -> Result<(Blank, Vec<Opening>), Vec<Diag>> {
        let branches = grow(self.style, def, self.values, self.material)?;
        lay_out(self.style, def, &branches, self.values, self.material).map_err(|d| vec![d])
    }
}

/// Places every panel and draws the lines of the blank.
fn lay_out(
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
            let cut = relieve(&mut locals[p].outline, &mut g, rel, deep, wide);
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
    for (used, path) in blank.lines() {
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
