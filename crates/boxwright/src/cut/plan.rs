//! From the lines of a sheet to its program: settings, tool paths, nicks, lead-ins and one order.
//!
//! **Order.** Engravings come first, then what is pressed, then creases and perforations made by
//! cutting, then cuts; within each kind, what one tool makes stays together. Among cuts, whatever lies
//! inside a contour comes before it: slits and windows before their outline, and a part that lies in
//! a window of another before that window. What is cut free is then never worked on again.

use super::crease::dashed;
use super::held::Beside;
use super::lead::Around;
use super::order::{Effort, Gate, Heat, Task, Tour, Unordered, Warm, order};
use super::rings::{Drawn, Lines, lies_in, lines};
use super::time::Motion;
use super::track::Track;
use super::{Options, Program, Stroke, Tally};
use crate::blank::LineUse;
use crate::board::{Board, Boards};
use crate::diag::{Diag, Outcome};
use crate::geom::{DVec2, Path, Rect};
use crate::machine::{Kind, Machine, Runs, Setting, Way};
use crate::sheet::{Layout, Part, Piece};
use crate::units::trimmed;

/// Farthest that a chord strays from its arc where paths are only looked at, in mm.
const CHORD_MM: f64 = 0.01;
/// Strokes nearer than this warm one another, in mm, for so many seconds, and a second too early is
/// worth so many mm of travel. Default: no source; nothing of it was measured.
const WARM_REACH_MM: f64 = 20.0;
const WARM_S: f64 = 8.0;
const WARM_PRICE_MM: f64 = 40.0;

/// Something made whole: one contour, or one line.
pub(super) struct Job {
    pub(super) line_use: LineUse,
    pub(super) setting: Setting,
    pub(super) of: Vec<usize>,
    pub(super) rank: u32,
    /// For each way to make it, the runs of the tool in order.
    pub(super) ways: Vec<Vec<Path>>,
    pub(super) first: Vec<usize>,
}

/// What one sheet's program is made from.
pub(super) struct Bench<'a> {
    pub(super) layout: &'a Layout,
    pub(super) machine: &'a Machine,
    pub(super) boards: &'a Boards,
    pub(super) options: &'a Options,
    pub(super) piece: &'a Piece,
    pub(super) size: DVec2,
    pub(super) notes: Vec<Diag>,
    pub(super) by_hand: f64,
    pub(super) nicks: usize,
}

/// The program of one sheet of a layout. The effort says how long an order is sought, and `stop`
/// when to take the best so far.
///
/// # Errors
/// Settings that the machine does not have, gaps narrower than the kerf, parts too close for it, and
/// paths beyond the bed.
pub fn program(
    layout: &Layout,
    sheet: usize,
    (machine, boards): (&Machine, &Boards),
    options: &Options,
    effort: Option<&Effort>,
    stop: &mut dyn FnMut() -> bool,
) -> Outcome<Program> {
    let laid = layout.sheets.get(sheet);
    let found = laid.and_then(|l| Some((l, layout.stock.get(l.stock)?)));
    let Some((laid, piece)) = found else {
        let message = format!("the layout has no sheet {}", sheet + 1);
        return Err(vec![Diag::error("no-sheet", message)]);
    };
    let mut bench = Bench {
        layout,
        machine,
        boards,
        options,
        piece,
        size: piece.shape.bounds().max.to_mm(),
        notes: Vec::new(),
        by_hand: 0.0,
        nicks: 0,
    };
    let of: Vec<usize> = laid.placed.iter().map(|p| p.part).collect();
    let mut jobs = bench.jobs(sheet, &of)?;
    let ranks: std::collections::BTreeSet<u32> = jobs.iter().map(|j| j.rank).collect();
    for job in &mut jobs {
        job.rank =
            u32::try_from(ranks.iter().position(|r| *r == job.rank).unwrap_or(0)).unwrap_or(0);
    }
    let tour = bench.toured(&jobs, effort, stop).map_err(|e| {
        let message = format!("no order can be found: {e}");
        vec![Diag::error("no-order", message).help("check the layout with its own proof")]
    })?;
    let mut strokes = Vec::new();
    for step in tour.steps {
        let job = &jobs[step.task];
        strokes.extend(job.ways[step.gate].iter().map(|path| job.stroke(path)));
    }
    let tally = Tally {
        nicks: bench.nicks,
        by_hand: bench.by_hand,
        ..tally(&strokes, machine)
    };
    Ok(Program {
        sheet,
        size: bench.size,
        strokes,
        tally,
        notes: bench.notes,
    })
}

impl Job {
    fn stroke(&self, path: &Path) -> Stroke {
        Stroke {
            line_use: self.line_use,
            way: self.setting.way,
            path: path.clone(),
            tool: self.setting.tool,
            speed: self.setting.speed,
            power: self.setting.power,
            passes: self.setting.passes,
            of: self.of.clone(),
            rank: self.rank,
        }
    }
    /// What it warms.
    fn warm(&self, motion: Motion) -> Option<Warm> {
        let runs = self.ways.first()?;
        let around = runs.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
        let once: f64 = runs
            .iter()
            .map(|p| motion.path_time(p, self.setting.speed))
            .sum();
        Some(Warm {
            seconds: once * f64::from(self.setting.passes),
            min: around.min,
            max: around.max,
        })
    }
    fn task(&self) -> Task {
        let gate = |runs: &Vec<Path>| {
            let enter = runs.first().map(|p| self.stroke(p).enter());
            let leave = runs.last().map(|p| self.stroke(p).leave());
            Some(Gate {
                enter: enter?,
                leave: leave?,
            })
        };
        Task {
            gates: self.ways.iter().filter_map(gate).collect(),
            first: self.first.clone(),
            rank: self.rank,
            warm: None,
        }
    }
}

impl<'a> Bench<'a> {
    pub(super) fn part(&self, of: &[usize], placed: usize) -> Option<&'a Part> {
        self.layout.parts.get(*of.get(placed)?)
    }
    pub(super) fn setting(
        &self,
        part: &Part,
        line_use: LineUse,
        runs: Runs,
    ) -> Result<&'a Setting, Diag> {
        self.machine
            .setting(line_use, &part.board, runs)
            .ok_or_else(|| {
                let word = line_use.word();
                let message = format!(
                    "machine `{}` does not say how `{word}` lines are made in board `{}`",
                    self.machine.name, part.board
                );
                let help = format!(
                    "add a `line \"{word}\"` to its file; `way=\"left\"` leaves them to hand"
                );
                Diag::error("no-setting", message).help(help)
            })
    }
    pub(super) fn board(&self, part: &Part) -> Result<&'a Board, Diag> {
        self.boards.get(&part.board).ok_or_else(|| {
            let message = format!("there is no board `{}`", part.board);
            Diag::error("unknown-board", message)
                .help("`boxwright list boards` tells which there are")
        })
    }

    /// Something the user should know, once.
    pub(super) fn note(&mut self, note: Diag) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    fn jobs(&mut self, sheet: usize, of: &[usize]) -> Outcome<Vec<Job>> {
        let placed = self
            .layout
            .sheets
            .get(sheet)
            .map_or(&[][..], |s| &s.placed[..]);
        let drawn = lines(self.layout, placed);
        let mut diags = Vec::new();
        let mut jobs = Vec::new();
        for mark in &drawn.marks {
            match self.mark(mark, of, &drawn) {
                Ok(job) => jobs.extend(job),
                Err(d) => diags.push(d),
            }
        }
        let first_cut = jobs.len();
        for slit in &drawn.slits {
            match self.mark(slit, of, &drawn) {
                Ok(job) => jobs.extend(job),
                Err(d) => diags.push(d),
            }
        }
        let slits = first_cut..jobs.len();
        let mut paths = Vec::new();
        for contour in &drawn.contours {
            match self.aside(contour, of) {
                Ok(path) => paths.push(path),
                Err(d) => diags.push(d),
            }
        }
        diags.sort_by(|a, b| (a.code, &a.message).cmp(&(b.code, &b.message)));
        diags.dedup();
        if !diags.is_empty() {
            return Err(diags);
        }
        self.outlined(of)
            .and_then(|()| self.room(of))
            .map_err(|d| vec![d])?;
        self.on_bed(
            jobs.iter()
                .flat_map(|j| j.ways.iter().flatten())
                .chain(&paths),
        )
        .map_err(|d| vec![d])?;
        let rings: Vec<Vec<DVec2>> = paths.iter().map(|p| p.flattened(CHORD_MM)).collect();
        let around = Around {
            rings: &rings,
            sheet: Rect {
                min: DVec2::ZERO,
                max: self.size,
            },
        };
        let shared = self.shared(&drawn.contours, of).map_err(|d| vec![d])?;
        let mut made: Vec<Vec<usize>> = vec![Vec::new(); drawn.contours.len()];
        let mut gaps = Vec::new();
        let corners = shared.corners(&drawn.contours);
        for (i, contour) in drawn.contours.iter().enumerate() {
            let mut ends = drawn.ends(contour.part);
            if shared.taken[i] {
                ends.extend(&corners);
            }
            let beside = Beside {
                contour,
                track: &Track::new(&paths[i]),
                ring: &rings[i],
                ends: &ends,
            };
            let (at, gap) = self.nicks(&beside, of).map_err(|d| vec![d])?;
            if shared.taken[i] {
                gaps.extend(at.iter().map(|way| (beside.track.point(*way), gap)));
                continue;
            }
            made[i].push(jobs.len());
            let job = self.contour(&beside, (&at, gap), &around, of);
            jobs.push(job.map_err(|d| vec![d])?);
        }
        for chain in &shared.chains {
            for job in self
                .chained(chain, &gaps, &drawn.contours, of)
                .map_err(|d| vec![d])?
            {
                for c in &chain.of {
                    made[*c].push(jobs.len());
                }
                jobs.push(job);
            }
        }
        for (i, contour) in drawn.contours.iter().enumerate() {
            let inside = |j: &usize| *j != i && lies_in(&drawn.contours[*j].path, &contour.path);
            let mut first: Vec<usize> = (0..drawn.contours.len())
                .filter(inside)
                .flat_map(|j| made[j].iter().copied())
                .collect();
            if !contour.window {
                first.extend(slits.clone().filter(|s| jobs[*s].of == [contour.part]));
            }
            for job in &made[i] {
                jobs[*job].first.extend(&first);
            }
        }
        Ok(jobs)
    }

    /// A mark or slit as a job; none when it is left to be made by hand.
    fn mark(&mut self, line: &Drawn, of: &[usize], all: &Lines) -> Result<Option<Job>, Diag> {
        let Some(part) = self.part(of, line.part) else {
            return Ok(None);
        };
        let setting = self.setting(part, line.line_use, line.runs)?.clone();
        let track = Track::new(&line.path);
        let whole = track.piece(0.0, track.length());
        let runs = match setting.way {
            Way::Left => {
                self.by_hand += track.length();
                return Ok(None);
            }
            Way::Dashes { cut, gap } => dashed(&line.path, cut, gap, &joints(line, all)),
            _ => vec![whole],
        };
        if runs.is_empty() {
            self.by_hand += track.length();
            let message = format!(
                "a crease of {} mm on `{}` is too short for a dash and is left to hand",
                trimmed(track.length(), 2),
                part.name
            );
            self.note(Diag::warning("short-crease", message));
            return Ok(None);
        }
        let back = runs.iter().rev().map(Path::reversed).collect();
        let tool = u32::try_from(setting.tool).unwrap_or(u32::MAX / 64);
        let kind = match (line.line_use, setting.way) {
            (LineUse::Engrave, _) => 0,
            (LineUse::Cut, _) => 3,
            (_, Way::Pressed) => 1,
            _ => 2,
        };
        Ok(Some(Job {
            line_use: line.line_use,
            setting,
            of: vec![line.part],
            rank: kind * 64 + tool,
            ways: vec![runs, back],
            first: Vec::new(),
        }))
    }

    fn toured(
        &self,
        jobs: &[Job],
        effort: Option<&Effort>,
        stop: &mut dyn FnMut() -> bool,
    ) -> Result<Tour, Unordered> {
        let mut tasks: Vec<Task> = jobs.iter().map(Job::task).collect();
        let usual = Effort::default();
        let park = park(self.machine);
        let mut effort = effort.unwrap_or(&usual).clone();
        if self.options.cool && self.machine.kind == Kind::Laser {
            let motion = Motion::of(self.machine);
            for (task, job) in tasks.iter_mut().zip(jobs) {
                task.warm = job.warm(motion);
            }
            effort.heat = Some(Heat {
                reach: WARM_REACH_MM,
                cool: WARM_S,
                price: WARM_PRICE_MM,
                speed: self.machine.travel_speed,
            });
        }
        order(&tasks, park, Some(park), &effort, stop)
    }
}

/// Time, lengths and energy of strokes made in this order, from and to where the head is parked.
pub(super) fn tally(strokes: &[Stroke], machine: &Machine) -> Tally {
    let motion = Motion::of(machine);
    let mut tally = Tally {
        strokes: strokes.len(),
        ..Tally::default()
    };
    let mut at = park(machine);
    let mut ways = Vec::with_capacity(strokes.len() + 1);
    for s in strokes {
        ways.push(at.distance(s.enter()));
        at = s.leave();
        let passes = f64::from(s.passes);
        let length = s.path.length() * passes;
        *(if s.way == Way::Through {
            &mut tally.cut
        } else {
            &mut tally.marked
        }) += length;
        tally.seconds += motion.path_time(&s.path, s.speed) * passes;
        if let Some(tool) = machine.tools.get(s.tool) {
            tally.seconds += tool.begin_time + tool.end_time;
            let each = machine.joules_per_mm(s.power, s.speed);
            tally.joules += each.filter(|_| tool.powered).unwrap_or(0.0) * length;
        }
    }
    ways.push(at.distance(park(machine)));
    for way in ways {
        tally.travel += way;
        tally.seconds += motion.move_time(way, machine.travel_speed);
    }
    tally
}

fn park(machine: &Machine) -> DVec2 {
    let [x, y] = machine.dialect.park;
    DVec2::new(x.to_mm(), y.to_mm())
}

/// Points of the same part at which other lines end or turn.
fn joints(line: &Drawn, all: &Lines) -> Vec<DVec2> {
    let others = all.marks.iter().chain(&all.slits);
    let others = others
        .filter(|d| d.part == line.part && d.path != line.path)
        .map(|d| &d.path);
    let contours = all
        .contours
        .iter()
        .filter(|c| c.part == line.part)
        .map(|c| &c.path);
    others
        .chain(contours)
        .flat_map(|p| p.vertices.iter().map(|v| v.at))
        .collect()
}
