//! From the lines of a sheet to its program: settings, tool paths, nicks, lead-ins and one order.
//!
//! **Order.** Engravings come first, then what is pressed, then creases and perforations made by
//! cutting, then cuts; within each kind, what one tool makes stays together. Among cuts, whatever lies
//! inside a contour comes before it: slits and windows before their outline, and a part that lies in
//! a window of another before that window. What is cut free is then never worked on again.

use super::crease::dashed;
use super::kerf::{Narrow, beside};
use super::lead::{self, Around};
use super::nicks::{Held, Places, needed};
use super::order::{Effort, Gate, Task, Tour, Unordered, order};
use super::rings::{Contour, Drawn, Lines, holds, lies_in, lines};
use super::time::Motion;
use super::track::Track;
use super::{Options, Program, Stroke, Tally};
use crate::blank::LineUse;
use crate::board::{Board, Boards};
use crate::diag::{Diag, Outcome};
use crate::geom::{DVec2, Path, Rect};
use crate::machine::{Machine, Runs, Setting, Way};
use crate::sheet::{Layout, Part, Piece};
use crate::units::{Area, trimmed};

/// Places tried as starts of a contour without nicks.
const STARTS: u32 = 8;
/// Farthest that a chord strays from its arc where paths are only looked at, in mm.
const CHORD_MM: f64 = 0.01;
/// A start of a closed cut stays so far from corners where it can, in mm. Default: past the stretch
/// in which a head comes up to speed only in part; no source.
const START_CLEAR_MM: f64 = 2.0;
/// Two slot widths: an outline that runs back beside itself within this is a slot. Default.
const SLOT_WIDTHS: f64 = 2.0;
/// How far over the bed a path may reach, in mm: rounding.
const BED_SLACK_MM: f64 = 1e-6;

/// Something made whole: one contour, or one line.
struct Job {
    line_use: LineUse,
    setting: Setting,
    of: usize,
    rank: u32,
    /// For each way to make it, the runs of the tool in order.
    ways: Vec<Vec<Path>>,
    first: Vec<usize>,
}

/// What one sheet's program is made from.
struct Bench<'a> {
    layout: &'a Layout,
    machine: &'a Machine,
    boards: &'a Boards,
    options: &'a Options,
    piece: &'a Piece,
    size: DVec2,
    notes: Vec<Diag>,
    by_hand: f64,
    nicks: usize,
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
    let tally = bench.tally(&strokes);
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
            of: vec![self.of],
            rank: self.rank,
        }
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
    fn part(&self, of: &[usize], placed: usize) -> Option<&'a Part> {
        self.layout.parts.get(*of.get(placed)?)
    }
    fn setting(&self, part: &Part, line_use: LineUse, runs: Runs) -> Result<&'a Setting, Diag> {
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
    fn board(&self, part: &Part) -> Result<&'a Board, Diag> {
        self.boards.get(&part.board).ok_or_else(|| {
            let message = format!("there is no board `{}`", part.board);
            Diag::error("unknown-board", message)
                .help("`boxwright list boards` tells which there are")
        })
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
        self.room(&drawn.contours, of).map_err(|d| vec![d])?;
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
        let base = jobs.len();
        for (i, contour) in drawn.contours.iter().enumerate() {
            let part_slits: Vec<usize> = slits
                .clone()
                .filter(|s| jobs[*s].of == contour.part)
                .collect();
            let mut ends: Vec<DVec2> = Vec::new();
            for d in drawn
                .marks
                .iter()
                .chain(&drawn.slits)
                .filter(|d| d.part == contour.part)
            {
                ends.extend(
                    [d.path.vertices.first(), d.path.vertices.last()]
                        .into_iter()
                        .flatten()
                        .map(|v| v.at),
                );
            }
            let mut job = self
                .contour(contour, &paths[i], &rings[i], (&ends, &around), of)
                .map_err(|d| vec![d])?;
            let inside = |j: &usize| *j != i && lies_in(&drawn.contours[*j].path, &contour.path);
            job.first = (0..drawn.contours.len())
                .filter(inside)
                .map(|j| base + j)
                .collect();
            if !contour.window {
                job.first.extend(part_slits);
            }
            jobs.push(job);
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
            let note = Diag::warning("short-crease", message);
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
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
            of: line.part,
            rank: kind * 64 + tool,
            ways: vec![runs, back],
            first: Vec::new(),
        }))
    }

    fn aside(&self, contour: &Contour, of: &[usize]) -> Result<Path, Diag> {
        let Some(part) = self.part(of, contour.part) else {
            return Ok(contour.path.clone());
        };
        let kerf = self.setting(part, LineUse::Cut, Runs::Along)?.kerf.to_mm();
        beside(&contour.path, kerf).map_err(|narrow| {
            let what = match narrow {
                Narrow::Window => "a window is",
                Narrow::Neck => "an outline or window has a gap that is",
            };
            let b = contour.path.bounds();
            let message = format!(
                "{what} narrower than the kerf of {} mm on `{}`, near x {} y {} of the sheet",
                trimmed(kerf, 3),
                part.name,
                trimmed(b.min.x, 1),
                trimmed(b.min.y, 1)
            );
            Diag::error("narrower-than-kerf", message)
                .help("widen it, or make it a slit, which is cut on its line")
        })
    }

    /// Parts stand further apart than the tool is wide.
    fn room(&self, contours: &[Contour], of: &[usize]) -> Result<(), Diag> {
        let kerf = contours
            .iter()
            .filter_map(|c| self.part(of, c.part))
            .filter_map(|p| self.machine.setting(LineUse::Cut, &p.board, Runs::Along))
            .map(|s| s.kerf.to_mm())
            .fold(0.0, f64::max);
        #[allow(clippy::cast_precision_loss, reason = "a room of some mm")]
        let spacing = self.layout.spacing as f64 / crate::sheet::shape::STEPS_PER_MM;
        if of.len() < 2 || spacing >= kerf {
            return Ok(());
        }
        let message = format!(
            "parts may lie {} mm apart and the kerf is {} mm: one cut would run into the next part",
            trimmed(spacing, 3),
            trimmed(kerf, 3)
        );
        Err(Diag::error("too-close", message)
            .help("lay them again with more room between parts than the kerf"))
    }

    fn on_bed<'p>(&self, paths: impl Iterator<Item = &'p Path>) -> Result<(), Diag> {
        let bed = DVec2::new(self.machine.bed[0].to_mm(), self.machine.bed[1].to_mm());
        let all = paths.fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
        if all.min.x > all.max.x {
            return Ok(());
        }
        let mm = |v: f64| trimmed(v, 2);
        if all.min.min_element() < -BED_SLACK_MM {
            let least = -all.min.min_element();
            let message = format!(
                "a cut runs {} mm over the edge of the sheet and of the bed",
                mm(least)
            );
            let help = "lay with a margin of half the kerf at least";
            return Err(Diag::error("off-the-bed", message).help(help));
        }
        let over = (all.max - bed).max(DVec2::ZERO);
        if over.max_element() > BED_SLACK_MM {
            let message = format!(
                "what is cut reaches {} x {} mm on a sheet of {} x {} mm, and the bed of `{}` is {} x {} mm",
                mm(all.max.x),
                mm(all.max.y),
                mm(self.size.x),
                mm(self.size.y),
                self.machine.name,
                mm(bed.x),
                mm(bed.y)
            );
            let help =
                "lay on sheets or off-cuts that fit the bed, or cut this sheet on a larger machine";
            return Err(Diag::error("too-big-for-the-bed", message).help(help));
        }
        Ok(())
    }

    fn contour(
        &mut self,
        contour: &Contour,
        path: &Path,
        ring: &[DVec2],
        (ends, around): (&[DVec2], &Around<'_>),
        of: &[usize],
    ) -> Result<Job, Diag> {
        let Some(part) = self.part(of, contour.part) else {
            return Err(Diag::error("no-sheet", "the layout has no such part"));
        };
        let setting = self.setting(part, LineUse::Cut, Runs::Along)?.clone();
        let board = self.board(part)?;
        let track = Track::new(path);
        let length = track.length();
        let sheet: Vec<Vec<DVec2>> = self
            .piece
            .shape
            .rings()
            .map(|r| r.iter().map(|s| s.to_mm()).collect())
            .collect();
        let on_board = |p: DVec2| sheet.iter().filter(|r| holds(r, p)).count() == 1;
        let kerf = setting.kerf.to_mm();
        let slot = board.limits.slot_width.to_mm() * SLOT_WIDTHS;
        let places = Places::new(&track, ring, ends, (slot, kerf + part.caliper), &on_board);
        let figures = self
            .machine
            .nicks
            .filter(|_| self.options.nicks && !contour.window);
        let mut ways: Vec<Vec<(f64, f64)>> = Vec::new();
        if let Some(nicks) = figures {
            let mass = board.grammage() * Area::mm2(part.shape.area_mm2());
            let Held { count, bridge } = needed(&nicks, length, mass);
            let gap = bridge + kerf;
            let at = places.nicks(count, gap, nicks.clear.to_mm());
            if at.len() < count as usize {
                let message = format!(
                    "`{}` is held by {} nicks instead of {count}: its outline has no more room for them",
                    part.name,
                    at.len()
                );
                let note = Diag::warning("few-nicks", message)
                    .help("hold the part down some other way, or make `clear` smaller");
                if !self.notes.contains(&note) {
                    self.notes.push(note);
                }
            }
            self.nicks += at.len();
            let run = |k: usize| {
                let next = at[(k + 1) % at.len()];
                let from = at[k] + gap / 2.0;
                let to = next - gap / 2.0;
                (from, if to > from { to } else { to + length })
            };
            ways = (0..at.len())
                .map(|k| (k..at.len()).chain(0..k).map(run).collect())
                .collect();
        }
        if ways.is_empty() {
            let starts = places.starts(STARTS, START_CLEAR_MM);
            ways = starts.into_iter().map(|s| vec![(s, s + length)]).collect();
        }
        let lead = self.machine.lead_in.to_mm();
        let mut unled = 0usize;
        let mut run = |(from, to): (f64, f64)| {
            let path = track.piece(from, to);
            if !self.options.lead_in {
                return path;
            }
            match lead::start(&track, from, lead, around) {
                Some(start) => lead::led(start, path),
                None => {
                    unled += 1;
                    path
                }
            }
        };
        let ways: Vec<Vec<Path>> = ways
            .into_iter()
            .map(|w| w.into_iter().map(&mut run).collect())
            .collect();
        if unled > 0 {
            let message = format!(
                "`{}` has places with no room for a lead-in; they are begun on the line",
                part.name
            );
            let note = Diag::warning("no-lead-in", message);
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
        let tool = u32::try_from(setting.tool).unwrap_or(u32::MAX / 64);
        Ok(Job {
            line_use: LineUse::Cut,
            setting,
            of: contour.part,
            rank: 3 * 64 + tool,
            ways,
            first: Vec::new(),
        })
    }

    fn toured(
        &self,
        jobs: &[Job],
        effort: Option<&Effort>,
        stop: &mut dyn FnMut() -> bool,
    ) -> Result<Tour, Unordered> {
        let tasks: Vec<Task> = jobs.iter().map(Job::task).collect();
        let usual = Effort::default();
        let park = self.park();
        order(&tasks, park, Some(park), effort.unwrap_or(&usual), stop)
    }

    fn park(&self) -> DVec2 {
        let [x, y] = self.machine.dialect.park;
        DVec2::new(x.to_mm(), y.to_mm())
    }

    fn tally(&self, strokes: &[Stroke]) -> Tally {
        let motion = Motion::of(self.machine);
        let mut tally = Tally {
            strokes: strokes.len(),
            nicks: self.nicks,
            by_hand: self.by_hand,
            ..Tally::default()
        };
        let mut at = self.park();
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
            if let Some(tool) = self.machine.tools.get(s.tool) {
                tally.seconds += tool.begin_time + tool.end_time;
                let each = self.machine.joules_per_mm(s.power, s.speed);
                tally.joules += each.filter(|_| tool.powered).unwrap_or(0.0) * length;
            }
        }
        ways.push(at.distance(self.park()));
        for way in ways {
            tally.travel += way;
            tally.seconds += motion.move_time(way, self.machine.travel_speed);
        }
        tally
    }
}

/// Points of the same part at which other lines end or turn.
fn joints(line: &Drawn, all: &Lines) -> Vec<DVec2> {
    let others = all.marks.iter().chain(&all.slits);
    let others = others.filter(|d| d.part == line.part && d.path != line.path).map(|d| &d.path);
    let contours = all.contours.iter().filter(|c| c.part == line.part).map(|c| &c.path);
    others.chain(contours).flat_map(|p| p.vertices.iter().map(|v| v.at)).collect()
}
