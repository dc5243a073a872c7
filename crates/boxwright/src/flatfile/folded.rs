//! From a drawing to a folded case: read, grown, folded, measured.

use std::sync::Arc;

use super::laps::laps;
use super::model::{DepthAlong, Drawing, Fault, Role, Stroke, Wishes, spot};
use super::net::{FARTHEST, Line, net};
use super::panels::piece;
use super::roles::roles;
use super::room::{Clear, clear};
use super::tree::{Grown, grow};
use crate::blank::{Blank, PanelRef, Plan, PlanRoom, PlanStage, SoundPlan, Turn};
use crate::board::Creasing;
use crate::brief::Brief;
use crate::check::{self, Finding, Verdict, check_resting};
use crate::diag::{Diag, Outcome, Place};
use crate::fold::Folder;
use crate::geom::{DVec2, DVec3, Rect};
use crate::job::{DrawingFacts, Flutes, Job, Named};
use crate::style::{Held, Style, Values};
use crate::units::{Length, trimmed};

/// More panels than a case has; each is held against each other.
const MOST_PANELS: usize = 400;

/// A flat file folded.
#[derive(Debug)]
pub struct Folded {
    /// What it was cut from and how it was creased.
    pub brief: Brief,
    /// What is wrong with the drawing and what was taken for granted, worst first.
    pub faults: Vec<Fault>,
    /// The blank, the first panel its root; absent when nothing is enclosed.
    pub blank: Option<Arc<Blank>>,
    /// The blank's lower left corner, in mm as the file counts them.
    pub corner: DVec2,
    /// The plan it was folded by; absent when the blank may not be folded.
    pub plan: Option<SoundPlan>,
    /// The clear room: length, width, depth, when anything stands round the root.
    pub room: Option<Room>,
    /// What was measured.
    pub findings: Vec<Finding>,
    /// How many line ends were healed, and the farthest move.
    pub healed: (usize, Length),
    /// Lines read: cut, inward, outward, ignored.
    pub lines: [usize; 4],
}

/// The clear room found.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// Length, width, depth.
    pub sizes: [Length; 3],
    /// Which of them is the depth, seen from the root.
    pub depth: DepthAlong,
    /// Names of what stops it: left, right, near, far, below, above the root.
    pub stops: [Option<String>; 6],
}

impl Folded {
    /// The worst of faults and findings.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let faults = self.faults.iter().map(|f| f.verdict);
        faults
            .chain(self.findings.iter().map(|f| f.verdict))
            .max()
            .unwrap_or(Verdict::Pass)
    }
    /// A point of the blank in mm as the file counts them.
    #[must_use]
    pub fn in_file(&self, drawing: &Drawing, p: DVec2) -> DVec2 {
        let corner = drawing.in_file(self.corner);
        drawing.in_file(corner + p)
    }
}

/// What stands for a style.
#[must_use]
pub fn style_as_drawn() -> Arc<Style> {
    Arc::new(Style::bare("flat-file", "As drawn"))
}

/// What stands for a job: a board, and nothing asked.
#[must_use]
pub fn job_as_drawn(board: Named) -> Job {
    let place = Place {
        input: "flat file".to_owned(),
        start: 0,
        end: 0,
    };
    Job {
        title: "flat file".to_owned(),
        style: Named {
            name: "flat-file".to_owned(),
            place: place.clone(),
        },
        board,
        board_files: Vec::new(),
        inside: [Length::ZERO; 3],
        inside_place: place,
        creasing: Creasing::Rule,
        axis_depth: None,
        caliper: None,
        measured: Vec::new(),
        set: Vec::new(),
        sheet: None,
        bed: None,
        quantity: 1,
        flutes: Flutes::Kept,
        fitments: Vec::new(),
        contents: Vec::new(),
        splits: Vec::new(),
        marks: Vec::new(),
        drawing: DrawingFacts::default(),
    }
}

/// Folds a drawing.
///
/// # Errors
/// When its lines cannot be told apart, or no panel comes of them.
pub fn fold(drawing: &Drawing, wishes: &Wishes, brief: Brief) -> Outcome<Folded> {
    let (of_group, mut faults) = roles(drawing, &wishes.roles)?;
    faults.extend(drawing.faults.iter().cloned());
    let role = |s: &Stroke| of_group.get(s.group).copied().unwrap_or(Role::Ignored);
    let used: Vec<Line> = drawing
        .strokes
        .iter()
        .filter(|s| role(s) != Role::Ignored)
        .map(|s| Line {
            segment: s.segment,
            role: role(s),
        })
        .collect();
    let wishes = &turned(drawing, wishes);
    sized(drawing, &used, &mut faults)?;
    let tol = wishes.tolerance.to_mm();
    let (net, wrong) = net(&used, tol);
    let mut own: Vec<Fault> = wrong;
    let (all, found, wrong) = piece(&net, wishes.root, tol);
    own.extend(wrong);
    let flutes_left_right = wishes.flutes_left_right.or(drawing.flutes_left_right);
    if flutes_left_right.is_none() {
        faults.push(
            Fault::new(
                "flutes-assumed",
                Verdict::Pass,
                "the flutes are taken to run left-right on the drawing",
            )
            .cure("--flutes up-down turns them"),
        );
    }
    let flutes = if flutes_left_right.unwrap_or(true) {
        DVec2::X
    } else {
        DVec2::Y
    };
    if !drawing.others.is_empty() {
        let list: Vec<String> = drawing
            .others
            .iter()
            .map(|(k, n)| format!("{n} {k}"))
            .collect();
        faults.push(Fault::new(
            "not-lines",
            Verdict::Pass,
            format!("left out, as no line: {}", list.join(", ")),
        ));
    }
    let count = |r: Role| {
        of_group
            .iter()
            .zip(&drawing.groups)
            .filter(|(q, _)| **q == r)
            .map(|(_, g)| g.lines)
            .sum()
    };
    let mut out = Folded {
        faults: Vec::new(),
        blank: None,
        corner: DVec2::ZERO,
        plan: None,
        room: None,
        findings: Vec::new(),
        healed: (net.healed.0, Length::mm(net.healed.1)),
        lines: [
            Role::Cut,
            Role::CreaseInward,
            Role::CreaseOutward,
            Role::Ignored,
        ]
        .map(count),
        brief,
    };
    if let Some(p) = found {
        if p.panels.len() > MOST_PANELS {
            return Err(vec![
                Diag::error(
                    "too-many-panels",
                    format!("its creases make {} panels of the piece", p.panels.len()),
                )
                .help(format!(
                    "at most {MOST_PANELS} are folded: keep the lines of one blank only"
                )),
            ]);
        }
        let Grown {
            blank,
            corner,
            faults: wrong,
        } = grow(&net, &all, &p, wishes, &out.brief.material, flutes);
        own.extend(wrong);
        small(&blank, corner, tol, &mut own);
        out.corner = corner;
        let ring = |f: &Fault| matches!(f.code, "panels-round-a-point" | "panel-ring");
        if own.iter().any(ring) {
            out.blank = Some(Arc::new(blank));
            out.findings.push(Finding::new(
                "not-folded",
                Verdict::Fail,
                "panels in a ring cannot be folded, so nothing was measured",
            ));
        } else {
            raise(&mut out, blank, wishes);
        }
    }
    faults.extend(own.into_iter().map(|f| shown(drawing, f)));
    faults.sort_by_key(|f| std::cmp::Reverse(f.verdict));
    if out.blank.is_none() {
        return Err(stopped(drawing, &faults));
    }
    out.corner = drawing.in_file(out.corner);
    out.faults = faults;
    Ok(out)
}

/// The wishes with their places in the drawing's own sense.
fn turned(drawing: &Drawing, wishes: &Wishes) -> Wishes {
    let mut w = wishes.clone();
    let places = w
        .root
        .iter_mut()
        .chain(w.angles.iter_mut().map(|(p, _)| p))
        .chain(&mut w.laps);
    for p in places {
        *p = drawing.in_file(*p);
    }
    w
}

/// A fault with its places as the file counts them, in its words too.
fn shown(drawing: &Drawing, mut f: Fault) -> Fault {
    if drawing.y_down {
        for p in &mut f.places {
            let q = drawing.in_file(*p);
            let (old, new) = (spot(*p), spot(q));
            f.message = f.message.replace(&old, &new);
            *p = q;
        }
    }
    f
}

/// Sizes no drawing of a case has.
fn sized(drawing: &Drawing, lines: &[Line], faults: &mut Vec<Fault>) -> Result<(), Vec<Diag>> {
    const LARGE: f64 = 6000.0;
    const SMALL: f64 = 20.0;
    let ends = lines.iter().flat_map(|l| [l.segment.from, l.segment.to]);
    let far = ends
        .clone()
        .find(|p| !p.is_finite() || p.abs().max_element() > FARTHEST);
    if let Some(p) = far {
        return Err(vec![
            Diag::error(
                "too-far",
                format!(
                    "a line reaches to {}: beyond 100 m nothing is a case",
                    spot(drawing.in_file(p))
                ),
            )
            .help(format!(
                "lengths are in {}; --unit UNIT says otherwise",
                drawing.unit
            )),
        ]);
    }
    let bounds = ends.fold(Rect::EMPTY, Rect::with);
    let size = bounds.size();
    let at = [bounds.min, bounds.max].map(|p| drawing.in_file(p));
    let (code, word) = if size.max_element() > LARGE {
        ("very-large", "large")
    } else if size.max_element() < SMALL {
        ("very-small", "small")
    } else {
        return Ok(());
    };
    faults.push(
        Fault::new(
            code,
            Verdict::Fail,
            format!(
                "the drawing is {} x {} mm, from {} to {}: very {word} for a case; lengths are in {}",
                trimmed(size.x, 2),
                trimmed(size.y, 2),
                spot(at[0]),
                spot(at[1]),
                drawing.unit
            ),
        )
        .at(at)
        .cure("say the unit of its numbers: --unit mm, cm, m, in or ft"),
    );
    Ok(())
}

/// Panels too narrow to be meant.
fn small(blank: &Blank, corner: DVec2, tol: f64, faults: &mut Vec<Fault>) {
    for p in &blank.panels {
        let (area, round) = (p.outline.area(), p.outline.length());
        // Twice the area over the way round is the width of a long sliver.
        let width = 2.0 * area / round;
        if width < (10.0 * tol).max(0.5) {
            let at = p.place.point(p.outline.bounds().centre()) + corner;
            faults.push(
                Fault::new(
                    "sliver",
                    Verdict::Fail,
                    format!(
                        "two lines stand only {} mm apart {}",
                        trimmed(width, 3),
                        super::spots(&[at])
                    ),
                )
                .at([at])
                .cure("delete one of them, or heal them with a larger --tolerance"),
            );
        }
    }
}

fn stopped(drawing: &Drawing, faults: &[Fault]) -> Vec<Diag> {
    let mut out: Vec<Diag> = faults
        .iter()
        .filter(|f| f.verdict != Verdict::Pass)
        .map(|f| {
            let d = Diag::error(f.code, f.message.clone());
            match &f.cure {
                Some(c) => d.help(c.clone()),
                None => d,
            }
        })
        .collect();
    out.push(
        Diag::error(
            "no-panel",
            format!("the cut lines of `{}` enclose no panel", drawing.input),
        )
        .help("close the outline of the blank with cut lines"),
    );
    out
}

/// Folds the blank, first without a room, then with the one found.
fn raise(out: &mut Folded, mut blank: Blank, wishes: &Wishes) {
    let bare = plan(
        &out.brief,
        Arc::new(blank.clone()),
        PlanRoom {
            on: PanelRef { piece: 0, panel: 0 },
            axes: [0, 1, 2],
            offset: [0.0; 3],
            asked: [Length::ZERO; 3],
            leaves: Vec::new(),
        },
    );
    let sound = match bare.validated() {
        Ok(s) => s,
        Err((plan, defects)) => {
            out.blank = plan.pieces.first().map(Arc::clone);
            out.findings = check::of_defects(&defects);
            return;
        }
    };
    let folder = Folder::new(&sound);
    let slabs = folder.slabs(folder.last());
    let mut passed = laps(&blank, &slabs);
    for p in &wishes.laps {
        let at = *p - out.corner;
        let named = (1..blank.panels.len()).find(|i| {
            let panel = &blank.panels[*i];
            let ring = panel.place.path(&panel.outline).flattened(0.05);
            super::faces::inside(&ring, at)
        });
        passed.extend(named);
    }
    for i in &passed {
        blank.panels[*i].may_intrude = true;
    }
    let found = clear(&slabs, 0, &passed);
    let blank = Arc::new(blank);
    let room = found.map(|c| named(&blank, &c, wishes.depth));
    let planned = match (&found, &room) {
        (Some(c), Some((room, axes))) => {
            let origin = slabs.first().map_or(DVec3::ZERO, |s| s.frame.translation);
            let clear = blank.panels[0].clear;
            let offset = c.min - origin - clear.min.extend(0.0);
            PlanRoom {
                on: PanelRef { piece: 0, panel: 0 },
                axes: *axes,
                offset: offset.to_array(),
                asked: room.sizes,
                leaves: Vec::new(),
            }
        }
        _ => sound.room.clone(),
    };
    out.blank = Some(Arc::clone(&blank));
    let Ok(plan) = plan(&out.brief, blank, planned).validated() else {
        return;
    };
    let folder = Folder::new(&plan);
    let report = check_resting(&out.brief, &folder);
    out.findings = report.findings;
    if found.is_none() {
        out.findings.retain(|f| !f.code.starts_with("clear-"));
        out.findings.push(Finding::new(
            "no-room",
            Verdict::Pass,
            "nothing stands round the root, so there is no room to measure",
        ));
    }
    out.findings.push(Finding::new(
        "motion-not-checked",
        Verdict::Pass,
        "all creases are folded at once: the file says no order, so the way there was not checked",
    ));
    out.room = room.map(|(r, _)| r);
    out.plan = Some(plan);
}

fn plan(brief: &Brief, blank: Arc<Blank>, room: PlanRoom) -> Plan {
    let turns = (0..blank.panels.len())
        .filter_map(|panel| {
            let crease = blank.panels[panel].crease?;
            Some(Turn {
                panel: PanelRef { piece: 0, panel },
                to: blank.creases[crease].angle,
                starts: 0.0,
                ends: 1.0,
            })
        })
        .collect();
    Plan {
        style: Arc::clone(&brief.style),
        values: Values::default(),
        material: brief.material.clone(),
        pieces: vec![blank],
        cutouts: Vec::new(),
        room,
        seats: Vec::new(),
        joints: Vec::new(),
        stages: vec![PlanStage {
            title: "Fold".to_owned(),
            text: "Fold all creases.".to_owned(),
            held: Held::Upright,
            turns,
            enters: Vec::new(),
            packs: false,
            of: None,
        }],
        fitments: Vec::new(),
        marks: Vec::new(),
    }
}

/// Names the three sizes: depth first, then length the longer of the other two.
fn named(blank: &Blank, c: &Clear, asked: Option<DepthAlong>) -> (Room, [usize; 3]) {
    let size = c.max - c.min;
    let depth = match asked {
        Some(DepthAlong::Across) => 0,
        Some(DepthAlong::Along) => 1,
        Some(DepthAlong::In) => 2,
        None => upright(blank, c),
    };
    let [a, b] = [[1, 2], [0, 2], [0, 1]][depth];
    let (length, width) = if size[a] >= size[b] - 1e-6 {
        (a, b)
    } else {
        (b, a)
    };
    let mut axes = [2; 3];
    axes[length] = 0;
    axes[width] = 1;
    let name = |s: Option<usize>| s.map(|i| blank.panels[i].name.clone());
    let stops =
        [(0, 0), (0, 1), (1, 0), (1, 1), (2, 0), (2, 1)].map(|(k, end)| name(c.stops[k][end]));
    let room = Room {
        sizes: [length, width, depth].map(|k| Length::mm(size[k])),
        depth: [DepthAlong::Across, DepthAlong::Along, DepthAlong::In][depth],
        stops,
    };
    (room, axes)
}

/// Which way the case opens: toward an open side; else where only flaps close both ends; else
/// away from the root.
fn upright(blank: &Blank, c: &Clear) -> usize {
    let open = |k: usize| c.stops[k].iter().any(Option::is_none);
    if open(2) {
        return 2;
    }
    if let Some(k) = (0..2).find(|k| open(*k)) {
        return k;
    }
    // How many panels deep what hangs on the root goes, by the axis it closes.
    let mut deep = [[0usize; 2]; 2];
    for i in 1..blank.panels.len() {
        let mut at = i;
        let mut steps = 1;
        while let Some(p) = blank.panels[at].parent.filter(|p| *p != 0) {
            at = p;
            steps += 1;
        }
        let Some(crease) = blank.panels[at].crease.map(|k| &blank.creases[k]) else {
            continue;
        };
        let home = blank.panels[0].place.inverse();
        let (d, m) = (
            home.vector(crease.to - crease.from),
            home.point((crease.from + crease.to) * 0.5),
        );
        let axis = usize::from(d.x.abs() > d.y.abs());
        let end = usize::from(m[axis] > blank.panels[0].clear.centre()[axis]);
        deep[axis][end] = deep[axis][end].max(steps);
    }
    let flaps = |k: usize| deep[k].iter().all(|d| (1..=2).contains(d));
    match (flaps(0), flaps(1)) {
        (true, false) => 0,
        (false, true) => 1,
        (true, true) => {
            usize::from(blank.panels[0].place.inverse().vector(blank.flutes).y.abs() > 0.7)
        }
        _ => 2,
    }
}
