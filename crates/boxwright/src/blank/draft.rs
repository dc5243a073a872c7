//! Drawing a job: from a style at an asked size to a plan, with every name looked up.

use std::sync::Arc;

use super::grow::grow;
use super::layout::{Opening, lay_out};
use super::model::Blank;
use super::parts::counts;
use super::plan::{
    PanelRef, Plan, PlanJoint, PlanJointKind, PlanLeft, PlanRoom, PlanSeat, PlanSeatWay, PlanStage,
};
use super::tree::{Given, Material, Scope, filled, holds, length};
use crate::diag::{Diag, Named, Outcome, Place};
use crate::job::Job;
use crate::style::{
    Each, Formula, JointDef, JointKind, LeavesDef, PieceDef, SeatDef, SeatWay, Style, Values,
    values,
};
use crate::units::{Length, Quantity, SLACK_MM};

/// Draws a job, its blanks cut in two where it asks so.
///
/// # Errors
/// Everything that keeps the style from being drawn at this size and board, each at its place.
pub fn draw(
    style: &Arc<Style>,
    job: &Job,
    material: &Material,
    figures: &[(&str, Quantity)],
) -> Outcome<Plan> {
    super::splits::drawn(style, job, |style| {
        draw_whole(style, job, material, figures)
    })
}

fn draw_whole(
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
        places: Vec::new(),
    };
    let plan = d.plan(job);
    let diags = d.diags;
    match plan {
        Some((pieces, cutouts, room, seats, joints, stages)) if diags.is_empty() => Ok(Plan {
            style: Arc::clone(style),
            values,
            material: material.clone(),
            pieces,
            fitments: Vec::new(),
            marks: Vec::new(),
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
    /// Where each piece is declared.
    pub places: Vec<&'a Place>,
}

impl<'a> Drafter<'a> {
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
        for (def, given) in self.pieces()? {
            let here = holds(def.when.as_ref(), &self.scope(&given));
            if !self.keep(here)? {
                continue;
            }
            let (mut blank, holes) = match self.blank(def, &given) {
                Ok(b) => b,
                Err(d) => {
                    self.diags.extend(d);
                    return None;
                }
            };
            blank.piece = filled(&def.name, &given);
            self.places.push(&def.place);
            self.names.push((
                blank.piece.clone(),
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
        let mut room = self.room(job)?;
        let (mut seats, mut joints) = (Vec::new(), Vec::new());
        let none: Given<'_> = Arc::new(Vec::new());
        for def in &self.style.seats {
            seats.extend(self.seat(def, &none));
        }
        for def in &self.style.joints {
            joints.extend(self.joint(def, &none, &cutouts));
        }
        for (each, given) in self.every(&self.style.each, &none)? {
            for def in &each.seats {
                seats.extend(self.seat(def, &given));
            }
            for def in &each.joints {
                joints.extend(self.joint(def, &given, &cutouts));
            }
            for def in &each.leaves {
                room.leaves.extend(self.left(def, &given));
            }
        }
        for def in &self.style.leaves {
            room.leaves.extend(self.left(def, &none));
        }
        // A piece sits on one before it, whose place must be known first.
        seats.sort_by_key(|s| s.piece);
        self.seated(&seats);
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
            leaves: Vec::new(),
        })
    }

    /// Every piece with the count it is written for.
    fn pieces(&mut self) -> Option<Vec<(&'a PieceDef, Given<'a>)>> {
        let none: Given<'a> = Arc::new(Vec::new());
        let style: &'a Style = self.style;
        let mut all: Vec<_> = style
            .pieces
            .iter()
            .map(|p| (p, Arc::clone(&none)))
            .collect();
        for (each, given) in self.every(&style.each, &none)? {
            all.extend(each.pieces.iter().map(|p| (p, Arc::clone(&given))));
        }
        Some(all)
    }

    /// Every count of every `each`, those within others too.
    fn every(&mut self, each: &'a [Each], given: &Given<'a>) -> Option<Vec<(&'a Each, Given<'a>)>> {
        let mut all = Vec::new();
        for e in each {
            for given in self.counts(&e.count, &e.to, given)? {
                all.push((e, Arc::clone(&given)));
                all.extend(self.every(&e.each, &given)?);
            }
        }
        Some(all)
    }

    fn left(&mut self, def: &'a LeavesDef, given: &Given<'a>) -> Option<PlanLeft> {
        let found = (|| {
            let scope = self.scope(given);
            let at = |i: usize| def.at[i].as_ref().map_or(Ok(0.0), |f| length(f, &scope));
            let size = |i: usize| {
                let f = &def.size[i];
                let v = length(f, &scope)?;
                if v > SLACK_MM {
                    return Ok(Length::mm(v));
                }
                Err(Diag::error(
                    "no-panel-left",
                    format!(
                        "nothing is left of `{}`: {}",
                        filled(&def.name, given),
                        Quantity::length(Length::mm(v))
                    ),
                )
                .at(f.place.clone()))
            };
            Ok(PlanLeft {
                name: filled(&def.name, given),
                at: [at(0)?, at(1)?, at(2)?],
                size: [size(0)?, size(1)?, size(2)?],
            })
        })();
        self.keep(found)
    }

    /// What is known at each count.
    pub(super) fn counts(
        &mut self,
        count: &'a Named,
        to: &'a Formula,
        given: &Given<'a>,
    ) -> Option<Vec<Given<'a>>> {
        let all = counts(count, to, given, &self.scope(given));
        self.keep(all)
    }

    pub(super) fn scope<'s>(&'s self, given: &'s Given<'a>) -> Scope<'s> {
        Scope {
            base: self.values,
            given,
            own: [("edge", None); 3],
        }
    }

    fn seat(&mut self, def: &'a SeatDef, given: &Given<'a>) -> Option<PlanSeat> {
        let piece = self.piece_index(&filled(&def.piece, given), &def.place);
        let on = self.find(&filled(&def.on, given), &def.place);
        let way = {
            let scope = self.scope(given);
            match &def.way {
                SeatWay::Facing(apart) => {
                    length(apart, &scope).map(|v| PlanSeatWay::Facing(Length::mm(v)))
                }
                SeatWay::Placed { breadth, reach, at } => {
                    let of =
                        |f: &Option<Formula>| f.as_ref().map_or(Ok(0.0), |f| length(f, &scope));
                    (|| {
                        let at = [of(&at[0])?, of(&at[1])?, of(&at[2])?];
                        Ok(PlanSeatWay::Placed(*breadth, *reach, at))
                    })()
                }
            }
        };
        let (piece, on, way) = (piece?, on?, self.keep(way)?);
        if on.piece >= piece {
            self.diags.push(
                Diag::error("bad-seat", "a piece sits on one written before it")
                    .at(def.place.clone()),
            );
        }
        Some(PlanSeat {
            piece,
            on,
            way,
            comes: def.comes,
        })
    }

    /// Reports the pieces that have no seat.
    fn seated(&mut self, seats: &[PlanSeat]) {
        for piece in 1..self.names.len() {
            if !seats.iter().any(|s| s.piece == piece) {
                let (name, place) = (&self.names[piece].0, self.places[piece]);
                self.diags.push(
                    Diag::error("missing", format!("piece `{name}` has no `seat`"))
                        .at(place.clone())
                        .help("say where it sits: seat \"lid\" over=\"floor\" apart=\"depth\""),
                );
            }
        }
    }

    fn joint(
        &mut self,
        def: &'a JointDef,
        given: &Given<'a>,
        cutouts: &[(PanelRef, usize, String)],
    ) -> Option<PlanJoint> {
        let here = holds(def.when.as_ref(), &self.scope(given));
        if self.keep(here) != Some(true) {
            return None;
        }
        let (panel, to) = (
            self.find(&filled(&def.panel, given), &def.place),
            self.find(&filled(&def.to, given), &def.place),
        );
        let (panel, to) = (panel?, to?);
        let kind = match &def.kind {
            JointKind::Glue => Some(PlanJointKind::Glue),
            JointKind::Tape(gap) => {
                let gap = gap
                    .as_ref()
                    .map_or(Ok(0.0), |f| length(f, &self.scope(given)));
                self.keep(gap).map(|g| PlanJointKind::Tape(Length::mm(g)))
            }
            JointKind::Close(gap) => {
                let gap = length(gap, &self.scope(given));
                self.keep(gap).map(|g| PlanJointKind::Close(Length::mm(g)))
            }
            JointKind::Tab { cutout } => {
                let cutout = filled(cutout, given);
                let here: Vec<_> = cutouts.iter().filter(|(r, _, _)| *r == to).collect();
                let found = here
                    .iter()
                    .find(|(_, _, n)| *n == cutout)
                    .map(|(_, i, _)| PlanJointKind::Tab(*i));
                if found.is_none() {
                    self.diags.push(
                        Diag::error(
                            "unknown-cut-out",
                            format!("`{}` has no cut-out `{cutout}`", def.to),
                        )
                        .at(def.place.clone())
                        .help(crate::read::suggestion(
                            &cutout,
                            here.iter().map(|(_, _, n)| n.as_str()),
                        )),
                    );
                }
                found
            }
            JointKind::Tuck => Some(PlanJointKind::Tuck),
        };
        kind.map(|kind| PlanJoint { panel, to, kind })
    }

    fn blank(
        &self,
        def: &'a PieceDef,
        given: &Given<'a>,
    ) -> Result<(Blank, Vec<Opening>), Vec<Diag>> {
        let branches = grow(self.style, def, given, self.values, self.material)?;
        lay_out(self.style, def, &branches, self.values, self.material).map_err(|d| vec![d])
    }
}
