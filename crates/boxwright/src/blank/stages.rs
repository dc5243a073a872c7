//! The order of folding in numbers: who turns how far in which stage, and whether all is folded.

use std::sync::Arc;

use super::draft::Drafter;
use super::model::Blank;
use super::plan::{PlanStage, Turn};
use super::tree::{Given, filled, holds, length, quantity};
use crate::diag::Diag;
use crate::style::MoveDef;
use crate::units::{Angle, Dim, Length, Quantity};

impl<'a> Drafter<'a> {
    pub(super) fn stages(&mut self, blanks: &[Arc<Blank>]) -> Vec<PlanStage> {
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
                held: def.held,
                packs: def.packs,
                of: None,
                turns: Vec::new(),
                enters: Vec::new(),
            };
            let none: Given<'a> = Arc::new(Vec::new());
            for (m, given) in self.moves(&def.moves, &none) {
                match m {
                    MoveDef::Each { .. } => {}
                    MoveDef::Turn { panels, to, during } => {
                        let share = |d: &mut Self, i: usize, default: f64| match &during[i] {
                            None => Some(default),
                            Some(f) => {
                                let v = d.keep(quantity(f, &d.scope(&given), Dim::NUMBER))?;
                                if !(0.0..=1.0).contains(&v) {
                                    d.diags.push(
                                        Diag::error(
                                            "out-of-range",
                                            "`starts` and `ends` are shares of the stage, 0 to 1",
                                        )
                                        .at(f.place.clone()),
                                    );
                                    return None;
                                }
                                Some(v)
                            }
                        };
                        let (Some(starts), Some(ends)) = (share(self, 0, 0.0), share(self, 1, 1.0))
                        else {
                            continue;
                        };
                        if let Some(f) = during.iter().flatten().next()
                            && starts >= ends
                        {
                            self.diags.push(
                                Diag::error("out-of-range", "a turn must end after it starts")
                                    .at(f.place.clone())
                                    .help("write a smaller `starts` or a larger `ends`"),
                            );
                            continue;
                        }
                        let angle = |d: &mut Self, f| {
                            let v = quantity(f, &d.scope(&given), Dim::ANGLE);
                            d.keep(v)
                        };
                        let to = match to {
                            None => None,
                            Some(f) => match angle(self, f) {
                                Some(v) if (0.0..=std::f64::consts::PI + 1e-9).contains(&v) => {
                                    Some(v)
                                }
                                Some(v) => {
                                    self.diags.push(
                                        Diag::error(
                                            "bad-angle",
                                            format!(
                                                "a panel cannot be turned to {}",
                                                Quantity::angle(Angle::rad(v))
                                            ),
                                        )
                                        .at(f.place.clone())
                                        .help("board turns from 0deg, flat, to 180deg"),
                                    );
                                    continue;
                                }
                                None => continue,
                            },
                        };
                        for (name, place) in panels {
                            let name = &filled(name, &given);
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
                        let Some(p) = self.piece_index(&filled(piece, &given), place) else {
                            continue;
                        };
                        let from = from
                            .as_ref()
                            .map_or(Ok(300.0), |f| length(f, &self.scope(&given)));
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

    /// Every move with the count it is written for.
    fn moves(&mut self, moves: &'a [MoveDef], given: &Given<'a>) -> Vec<(&'a MoveDef, Given<'a>)> {
        let mut all = Vec::new();
        for m in moves {
            if let MoveDef::Each { count, to, moves } = m {
                for given in self.counts(count, to, given).unwrap_or_default() {
                    all.extend(self.moves(moves, &given));
                }
            } else {
                all.push((m, Arc::clone(given)));
            }
        }
        all
    }

    /// Every crease ends at its fold, every further piece has entered.
    fn finished(&mut self, blanks: &[Arc<Blank>], last: &[Vec<Option<f64>>], entered: &[bool]) {
        for (p, blank) in blanks.iter().enumerate() {
            let place = self.places[p];
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
}
