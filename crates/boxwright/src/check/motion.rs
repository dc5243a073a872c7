//! Board in board on the way: every pair of panels that move against each other in a stage.
//!
//! Conservative advancement: along an axis fixed to one of two solids, the other cannot come
//! nearer faster than its hinges can carry it along that axis; a hinge whose line lies along the
//! axis carries it not at all. So from any axis with room to spare follows how far the stage can go
//! on before they may meet, and the search steps that far and cannot jump over a hit. The same
//! holds past a depth already seen. Where no axis has room it goes on in steps small enough that no
//! point moves further than a sixth of the caliper, and keeps the deepest value.

use super::scene::Solids;
use super::solid::{Solid, going_on};
use super::{Finding, Measure, Verdict};
use crate::blank::{PanelRef, Plan};
use crate::brief::Brief;
use crate::fold::{Folder, within_stage};
use crate::geom::{DAffine3, DVec3};
use crate::units::{Length, SLACK_MM, trimmed};

/// A pair with its worst moment.
struct Hit {
    depth: f64,
    share: f64,
    axis: DVec3,
    at: DVec3,
}

/// Findings of one stage.
pub(super) fn stage(
    brief: &Brief,
    folder: &Folder<'_>,
    solids: &Solids,
    stage: usize,
) -> Vec<Finding> {
    let plan: &Plan = folder.plan;
    let limit = brief.board.limits.give;
    let crush = brief.board.limits.crush;
    let movers = Movers::new(folder, stage);
    let mut found = Vec::new();
    let panels = movers.all();
    let mut worst_pass: Option<f64> = None;
    for i in 0..panels.len() {
        for j in i + 1..panels.len() {
            let (a, b) = (panels[i], panels[j]);
            if related(plan, a, b)
                || (a.piece != b.piece && (movers.waits(a.piece) || movers.waits(b.piece)))
            {
                continue;
            }
            let way = movers.way(a, b);
            if way.speed <= 0.0 {
                continue;
            }
            let (sa, sb) = (&solids[a.piece][a.panel], &solids[b.piece][b.panel]);
            let caliper = brief.material.caliper.to_mm();
            let Some(hit) = advance(&movers, &way, (a, sa), (b, sb), caliper) else {
                continue;
            };
            if hit.depth <= SLACK_MM * 10.0 {
                continue;
            }
            worst_pass = Some(worst_pass.map_or(hit.depth, |w| w.max(hit.depth)));
            if hit.depth <= crush.to_mm() {
                continue;
            }
            let verdict = if hit.depth <= limit.to_mm() {
                Verdict::Caution
            } else {
                Verdict::Fail
            };
            let (na, nb) = (plan.name(a), plan.name(b));
            let mut f = Finding::new(
                "motion",
                verdict,
                if verdict == Verdict::Fail {
                    format!(
                        "on the way `{na}` would have to pass {} through `{nb}`",
                        mm(hit.depth)
                    )
                } else {
                    format!("on the way `{na}` or `{nb}` must give {}", mm(hit.depth))
                },
            )
            .measured(Measure::Mm(Length::mm(hit.depth)), Measure::Mm(limit))
            .panels([na, nb])
            .at(hit.at);
            f.stage = Some(stage);
            f.cure = Some(format!(
                "seen {} of the way through stage {stage}; hold it aside there, or give it more play",
                percent(hit.share)
            ));
            let _ = hit.axis;
            found.push(f);
        }
    }
    if found.is_empty() {
        let mut f = Finding::new(
            "motion",
            Verdict::Pass,
            worst_pass.map_or_else(
                || format!("stage {stage} moves freely"),
                |w| format!("stage {stage} moves freely with the board giving {}", mm(w)),
            ),
        )
        .measured(
            Measure::Mm(Length::mm(worst_pass.unwrap_or(0.0))),
            Measure::Mm(limit),
        );
        f.stage = Some(stage);
        found.push(f);
    }
    found
}

fn mm(v: f64) -> String {
    format!("{} mm", trimmed(v, 2))
}

fn percent(s: f64) -> String {
    format!("{} %", trimmed(s * 100.0, 0))
}

fn related(plan: &Plan, a: PanelRef, b: PanelRef) -> bool {
    a.piece == b.piece && {
        let panels = &plan.pieces[a.piece].panels;
        panels[a.panel].parent == Some(b.panel) || panels[b.panel].parent == Some(a.panel)
    }
}

/// One hinge that moves one panel against another.
struct Swing {
    piece: usize,
    panel: usize,
    /// Radians per unit of the stage, at its fastest.
    rate: f64,
    /// Farthest point of the panel beyond it, in mm.
    arm: f64,
    starts: f64,
    ends: f64,
}

/// All that moves one panel against another in a stage.
struct Way {
    swings: Vec<Swing>,
    /// Directions of pieces that come in, with mm per unit of the stage.
    travel: Vec<(DVec3, f64)>,
    /// A bound on how fast any point of one moves against the other, in mm per unit of the stage.
    speed: f64,
}

impl Way {
    /// A share of the stage that must pass before the two can come nearer by `room` along `axis`,
    /// fixed to one of them, from share `s` on.
    fn lasts(&self, frames: &[Vec<DAffine3>], s: f64, axis: DVec3, room: f64) -> f64 {
        // Along the axis a hinge carries points at arm rate |axis x hinge line|, and that changes
        // no faster than the other hinges turn the two against each other.
        let turning: f64 = self.active(s).map(|w| w.rate).sum();
        let (mut now, mut more, mut most) = (0.0, 0.0, 0.0);
        for w in self.active(s) {
            let line = frames[w.piece][w.panel].matrix3.x_axis;
            let speed = w.rate * w.arm;
            now += speed * axis.cross(line).length();
            more += speed * (turning - w.rate) * 0.5;
            most += speed;
        }
        for (direction, speed) in &self.travel {
            now += speed * axis.dot(*direction).abs();
            more += speed * turning * 0.5;
            most += speed;
        }
        // room = now h + more h^2, and never sooner than at full speed.
        let h = 2.0 * room / (now + (now * now + 4.0 * more * room).sqrt()).max(1e-12);
        h.max(room / most.max(1e-12)).min(self.quiet(s))
    }

    /// Hinges that turn at share `s`.
    fn active(&self, s: f64) -> impl Iterator<Item = &Swing> {
        self.swings
            .iter()
            .filter(move |w| w.starts <= s && s < w.ends)
    }

    /// How long until another hinge sets in.
    fn quiet(&self, s: f64) -> f64 {
        self.swings
            .iter()
            .map(|w| w.starts - s)
            .filter(|h| *h > 0.0)
            .fold(f64::INFINITY, f64::min)
    }
}

/// The frames of a stage at any share of it, computed once for each share asked.
struct Movers<'a, 'p> {
    folder: &'a Folder<'p>,
    stage: usize,
    /// Per piece and panel: radians the hinge turns per unit of the stage, and from when to when.
    turns: Vec<Vec<(f64, f64, f64)>>,
    /// Per piece: mm it travels over the stage.
    travel: Vec<f64>,
    /// Per piece and panel: farthest corner from the panel's own hinge line, and from its origin.
    radius: Vec<Vec<(f64, f64)>>,
    frames: Vec<std::cell::OnceCell<Vec<Vec<DAffine3>>>>,
}

impl<'a, 'p> Movers<'a, 'p> {
    fn new(folder: &'a Folder<'p>, stage: usize) -> Self {
        let plan: &Plan = folder.plan;
        let mut turns: Vec<Vec<(f64, f64, f64)>> = plan
            .pieces
            .iter()
            .map(|b| vec![(0.0, 0.0, 1.0); b.panels.len()])
            .collect();
        let mut travel = vec![0.0; plan.pieces.len()];
        let def = &plan.stages[stage - 1];
        let (before, after) = (&folder.stations[stage - 1], &folder.stations[stage]);
        for t in &def.turns {
            let (p, i) = (t.panel.piece, t.panel.panel);
            let turned = (after.hinge[p][i] - before.hinge[p][i]).abs();
            let rate = turned / (t.ends - t.starts).max(1e-9);
            turns[p][i] = (rate, t.starts, t.ends.max(t.starts + 1e-9));
        }
        for (p, from) in &def.enters {
            travel[*p] = from.to_mm();
        }
        let farthest = |s: &crate::fold::Shape| {
            s.rings[0].iter().fold((0.0f64, 0.0f64), |(line, all), q| {
                (
                    line.max(q.y.hypot(s.caliper)),
                    all.max(q.extend(s.caliper).length()),
                )
            })
        };
        let radius = folder
            .shapes
            .iter()
            .map(|panels| panels.iter().map(|s| farthest(s)).collect())
            .collect();
        Self {
            folder,
            stage,
            turns,
            travel,
            radius,
            frames: (0..=TICKS).map(|_| std::cell::OnceCell::new()).collect(),
        }
    }

    fn all(&self) -> Vec<PanelRef> {
        let pieces = &self.folder.plan.pieces;
        (0..pieces.len())
            .flat_map(|piece| {
                (0..pieces[piece].panels.len()).map(move |panel| PanelRef { piece, panel })
            })
            .collect()
    }

    /// Whether a piece waits beside the case all through the stage.
    fn waits(&self, piece: usize) -> bool {
        self.folder.stations[self.stage].away[piece].is_none()
    }

    /// Chain from a panel up to its root.
    fn chain(&self, r: PanelRef) -> Vec<usize> {
        let panels = &self.folder.plan.pieces[r.piece].panels;
        let mut chain = vec![r.panel];
        while let Some(p) = panels[chain[chain.len() - 1]].parent {
            chain.push(p);
        }
        chain
    }

    /// What moves one against the other.
    fn way(&self, a: PanelRef, b: PanelRef) -> Way {
        let mut way = Way {
            swings: Vec::new(),
            travel: Vec::new(),
            speed: 0.0,
        };
        if a.piece == b.piece {
            let (ca, cb) = (self.chain(a), self.chain(b));
            let meet = ca.iter().find(|p| cb.contains(p)).copied();
            self.swings(&ca, a.piece, meet, &mut way.swings);
            self.swings(&cb, b.piece, meet, &mut way.swings);
        } else {
            for r in [a, b] {
                self.swings(&self.chain(r), r.piece, None, &mut way.swings);
                if self.travel[r.piece] > 0.0 {
                    let direction = self.folder.enters_along(r.piece);
                    way.travel.push((direction, self.travel[r.piece]));
                }
            }
        }
        way.speed = way.swings.iter().map(|w| w.rate * w.arm).sum::<f64>()
            + way.travel.iter().map(|(_, v)| v).sum::<f64>();
        way
    }

    /// The moving hinges of a chain up to `top`. The farthest point beyond a hinge is the panel's
    /// own size, or the way to the next hinge and what lies beyond that.
    fn swings(&self, chain: &[usize], piece: usize, top: Option<usize>, out: &mut Vec<Swing>) {
        let mut beyond = 0.0;
        let mut last = None;
        for &p in chain {
            if Some(p) == top {
                break;
            }
            let (line, all) = self.radius[piece][p];
            let arm = match last {
                None => {
                    beyond = all;
                    line
                }
                Some(child) => {
                    let flat = self.folder.flat_of(piece, child).translation;
                    beyond += flat.length() + self.folder.shapes[piece][p].caliper;
                    beyond
                }
            };
            let (rate, starts, ends) = self.turns[piece][p];
            if rate > 0.0 {
                out.push(Swing {
                    piece,
                    panel: p,
                    rate,
                    arm,
                    starts,
                    ends,
                });
            }
            last = Some(p);
        }
    }

    fn at(&self, tick: usize) -> &[Vec<DAffine3>] {
        self.frames[tick].get_or_init(|| {
            self.folder
                .frames(&within_stage(self.folder, self.stage, share(tick)))
        })
    }
}

/// Shares of a stage are asked on this grid, so that pairs share their frames.
const TICKS: usize = 1024;

#[allow(clippy::cast_precision_loss, reason = "a tick is a small number")]
fn share(tick: usize) -> f64 {
    tick as f64 / TICKS as f64
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "bounded to the grid"
)]
fn ticks(share: f64) -> usize {
    (share * TICKS as f64).floor().clamp(0.0, TICKS as f64) as usize
}

fn advance(
    movers: &Movers<'_, '_>,
    way: &Way,
    (a, sa): (PanelRef, &[Solid]),
    (b, sb): (PanelRef, &[Solid]),
    caliper: f64,
) -> Option<Hit> {
    let mut worst: Option<Hit> = None;
    let fine = ticks(caliper / 6.0 / way.speed).max(1);
    for x in sa {
        for y in sb {
            let mut tick = 0;
            loop {
                let s = share(tick);
                let frames = movers.at(tick);
                let (fa, fb) = (frames[a.piece][a.panel], frames[b.piece][b.panel]);
                // Less than ten times the slack is not reported.
                let known = worst.as_ref().map_or(10.0 * SLACK_MM, |w| w.depth);
                let (ca, cb) = (fa.transform_point3(x.centre), fb.transform_point3(y.centre));
                let far = (ca.distance(cb) - x.radius - y.radius + known) / way.speed;
                let left = 1.0 - s;
                let lasts = if far > left.min(0.05) {
                    far
                } else {
                    let (lasts, deeper) = going_on((x, fa), (y, fb), known, left, |axis, room| {
                        way.lasts(frames, s, axis, room)
                    });
                    if let Some(m) = deeper {
                        worst = Some(Hit {
                            depth: -m.gap,
                            share: s,
                            axis: m.axis,
                            at: (ca + cb) * 0.5,
                        });
                    }
                    lasts
                };
                if tick == TICKS || lasts > left {
                    break;
                }
                tick = (tick + ticks(lasts).max(fine)).min(TICKS);
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::super::scene::solids;
    use super::super::solid::apart;
    use super::*;
    use crate::brief::brief;
    use crate::job::parse_job;
    use crate::source::{Door, Shipped, Text};
    use crate::style::parse_style;

    /// The deepest penetration at every share of the grid.
    fn tried_everywhere(
        m: &Movers<'_, '_>,
        a: (PanelRef, &[Solid]),
        b: (PanelRef, &[Solid]),
    ) -> f64 {
        let mut deepest = 0.0f64;
        for tick in (0..=TICKS).step_by(4) {
            let frames = m.at(tick);
            let (fa, fb) = (frames[a.0.piece][a.0.panel], frames[b.0.piece][b.0.panel]);
            for x in a.1 {
                for y in b.1 {
                    deepest = deepest.max(-apart(x, fa, y, fb, 0.0).gap);
                }
            }
        }
        deepest
    }

    /// What is found by stepping is what is found by trying everywhere, in a style altered so that
    /// panels do run into each other.
    fn steps_miss_nothing(style: &str, alter: (&str, &str), job: &str) -> usize {
        let mut text = Shipped.style(style).unwrap();
        assert!(text.text.contains(alter.0), "{}", alter.0);
        text.text = text.text.replace(alter.0, alter.1);
        let job = parse_job(&Text {
            name: "job".into(),
            text: format!("job \"a\" {{\n style \"{style}\"\n board \"C\"\n {job}\n}}"),
        })
        .unwrap();
        let mut b = brief(job, &Shipped).unwrap();
        b.style = std::sync::Arc::new(parse_style(&text).unwrap());
        let plan = b.plan().unwrap().validated().unwrap();
        let folder = Folder::new(&plan);
        let solids = solids(&folder);
        let caliper = b.material.caliper.to_mm();
        let mut hits = 0;
        for stage in 1..=plan.stages.len() {
            let m = Movers::new(&folder, stage);
            let all = m.all();
            for (i, a) in all.iter().enumerate() {
                for b in &all[i + 1..] {
                    let way = m.way(*a, *b);
                    if related(&plan, *a, *b)
                        || m.waits(a.piece)
                        || m.waits(b.piece)
                        || way.speed <= 0.0
                    {
                        continue;
                    }
                    let a = (*a, &solids[a.piece][a.panel][..]);
                    let b = (*b, &solids[b.piece][b.panel][..]);
                    let found = advance(&m, &way, a, b, caliper).map_or(0.0, |h| h.depth);
                    let tried = tried_everywhere(&m, a, b);
                    hits += usize::from(tried > 0.1);
                    assert!(
                        (found - tried).abs() <= caliper / 6.0 + 1e-4,
                        "stage {stage}, {} and {}: {found} by steps, {tried} by trying",
                        plan.name(a.0),
                        plan.name(b.0)
                    );
                    // Nothing found means nothing there.
                    assert!(found > 0.0 || tried <= caliper / 6.0, "missed {tried}");
                }
            }
        }
        hits
    }

    #[test]
    fn slotted_case_with_flaps_that_cross() {
        let hits = steps_miss_nothing(
            "slotted-case",
            ("max=\"(width - gap) / 2\"", "max=\"width\""),
            "inside length=\"150mm\" width=\"100mm\" depth=\"76mm\"\n set \"outer-flap\" \"70mm\"\n set \"step\" \"1mm\"",
        );
        assert!(hits > 4, "{hits}");
    }

    #[test]
    fn mailer_rolled_on_both_sides_at_once() {
        let hits = steps_miss_nothing(
            "mailer",
            ("starts=\"0.5\"", "starts=\"0\""),
            "inside length=\"150mm\" width=\"130mm\" depth=\"120mm\"",
        );
        assert!(hits > 1, "{hits}");
    }
}
