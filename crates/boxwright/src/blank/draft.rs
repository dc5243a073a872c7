//! Drawing a job: from a style at an asked size to a plan, with every name looked up.

use std::sync::Arc;

use super::grow::grow;
use super::layout::{Opening, lay_out};
use super::model::Blank;
use super::plan::{PanelRef, Plan, PlanJoint, PlanJointKind, PlanRoom, PlanSeat, PlanStage};
use super::tree::{Material, Scope, holds, length};
use crate::diag::{Diag, Outcome, Place};
use crate::job::Job;
use crate::style::{JointKind, PieceDef, Style, Values, values};
use crate::units::{Length, Quantity};

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

type Parts = (
    Vec<Arc<Blank>>,
    Vec<(PanelRef, usize, String)>,
    PlanRoom,
    Vec<PlanSeat>,
    Vec<PlanJoint>,
    Vec<PlanStage>,
);

pub(super) struct Drafter<'a> {
    pub style: &'a Style,
    pub values: &'a Values,
    material: &'a Material,
    pub diags: Vec<Diag>,
    /// Piece name and panel names, for look-ups.
    names: Vec<(String, Vec<String>)>,
}

impl Drafter<'_> {
    pub(super) fn keep<T>(&mut self, r: Result<T, Diag>) -> Option<T> {
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
            blanks.push(Arc::new(blank));
        }
        let room = self.room(job)?;
        let seats = self.seats(blanks.len());
        let joints = self.joints(&cutouts);
        let stages = self.stages(&blanks);
        Some((blanks, cutouts, room, seats, joints, stages))
    }

    pub(super) fn find(&mut self, name: &str, place: &Place) -> Option<PanelRef> {
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

    pub(super) fn piece_index(&mut self, name: &str, place: &Place) -> Option<usize> {
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

    fn blank(&self, def: &PieceDef) -> Result<(Blank, Vec<Opening>), Vec<Diag>> {
        let branches = grow(self.style, def, self.values, self.material)?;
        lay_out(self.style, def, &branches, self.values, self.material).map_err(|d| vec![d])
    }
}
