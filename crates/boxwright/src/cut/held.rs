//! Contours as jobs: nicks, starts and lead-ins put on the way of the tool; edges that two parts share
//! as one job for both.

use super::common::{Outline, common};
use super::lead::{self, Around};
use super::nicks::{Held, Places, needed};
use super::plan::{Bench, Job};
use super::rings::{Contour, holds};
use super::track::Track;
use crate::blank::LineUse;
use crate::diag::Diag;
use crate::geom::{DVec2, Path};
use crate::machine::{Runs, Setting};
use crate::units::Area;

/// Places tried as starts of a contour without nicks.
const STARTS: u32 = 8;
/// A start of a closed cut stays so far from corners where it can, in mm. Default: past the stretch
/// in which a head comes up to speed only in part; no source.
const START_CLEAR_MM: f64 = 2.0;
/// Two slot widths: an outline that runs back beside itself within this is a slot. Default.
const SLOT_WIDTHS: f64 = 2.0;
/// A place on a contour lies on a chain that runs along it within this, in mm: rounding.
const ON_CHAIN_MM: f64 = 5e-3;

/// A contour with the way of the tool beside it.
pub(super) struct Beside<'a> {
    pub(super) contour: &'a Contour,
    pub(super) track: &'a Track,
    /// The way in chords.
    pub(super) ring: &'a [DVec2],
    /// Where creases and slits end.
    pub(super) ends: &'a [DVec2],
}

/// A run of edges, some of which are two parts' own.
pub(super) struct SharedChain {
    pub(super) path: Path,
    /// The contours along it.
    pub(super) of: Vec<usize>,
}

/// Contours that share edges.
pub(super) struct Shared {
    /// Which contours are cut as chains.
    pub(super) taken: Vec<bool>,
    pub(super) chains: Vec<SharedChain>,
}

impl Shared {
    /// Corners of contours that are cut as chains: where another's edge may be left.
    pub(super) fn corners(&self, contours: &[Contour]) -> Vec<DVec2> {
        let taken = contours.iter().zip(&self.taken).filter(|(_, t)| **t);
        taken
            .flat_map(|(c, _)| c.path.vertices.iter().map(|v| v.at))
            .collect()
    }
}

impl Bench<'_> {
    fn with_places<T>(
        &self,
        b: &Beside<'_>,
        of: &[usize],
        run: impl FnOnce(&Places<'_>, &Setting) -> T,
    ) -> Result<T, Diag> {
        let Some(part) = self.part(of, b.contour.part) else {
            return Err(Diag::error("no-sheet", "the layout has no such part"));
        };
        let setting = self.setting(part, LineUse::Cut, Runs::Along)?;
        let board = self.board(part)?;
        let sheet: Vec<Vec<DVec2>> = self
            .piece
            .shape
            .rings()
            .map(|r| r.iter().map(|s| s.to_mm()).collect())
            .collect();
        let on_board = |p: DVec2| sheet.iter().filter(|r| holds(r, p)).count() == 1;
        let slot = board.limits.slot_width.to_mm() * SLOT_WIDTHS;
        let reach = setting.kerf.to_mm() + part.caliper;
        let places = Places::new(b.track, b.ring, b.ends, (slot, reach), &on_board);
        Ok(run(&places, setting))
    }

    /// Middles of the nicks of a contour, as ways along the tool's path, and the gap that each leaves
    /// in it; none for windows.
    pub(super) fn nicks(&mut self, b: &Beside<'_>, of: &[usize]) -> Result<(Vec<f64>, f64), Diag> {
        let figures = self
            .machine
            .nicks
            .filter(|_| self.options.nicks && !b.contour.window);
        let (Some(nicks), Some(part)) = (figures, self.part(of, b.contour.part)) else {
            return Ok((Vec::new(), 0.0));
        };
        let mass = self.board(part)?.grammage() * Area::mm2(part.shape.area_mm2());
        let Held { count, bridge } = needed(&nicks, b.track.length(), mass);
        let (at, gap) = self.with_places(b, of, |places, setting| {
            let gap = bridge + setting.kerf.to_mm();
            (places.nicks(count, gap, nicks.clear.to_mm()), gap)
        })?;
        if at.len() < count as usize {
            let message = format!(
                "`{}` is held by {} nicks instead of {count}: its outline has no more room for them",
                part.name,
                at.len()
            );
            let help = "hold the part down some other way, or make `clear` smaller";
            self.note(Diag::warning("few-nicks", message).help(help));
        }
        self.nicks += at.len();
        Ok((at, gap))
    }

    /// A contour that is cut by itself.
    pub(super) fn contour(
        &mut self,
        b: &Beside<'_>,
        (at, gap): (&[f64], f64),
        around: &Around<'_>,
        of: &[usize],
    ) -> Result<Job, Diag> {
        let length = b.track.length();
        let (starts, setting) = self.with_places(b, of, |places, setting| {
            let starts = if at.is_empty() {
                places.starts(STARTS, START_CLEAR_MM)
            } else {
                Vec::new()
            };
            (starts, setting.clone())
        })?;
        let runs = runs_between(at, gap, length);
        let mut ways: Vec<Vec<(f64, f64)>> = (0..runs.len())
            .map(|k| runs[k..].iter().chain(&runs[..k]).copied().collect())
            .collect();
        ways.extend(starts.into_iter().map(|s| vec![(s, s + length)]));
        let mut unled = false;
        let mut run = |(from, to): (f64, f64)| {
            let path = b.track.piece(from, to);
            if !self.options.lead_in {
                return path;
            }
            match lead::start(b.track, from, self.machine.lead_in.to_mm(), around) {
                Some(start) => lead::led(start, path),
                None => {
                    unled = true;
                    path
                }
            }
        };
        let ways = ways
            .into_iter()
            .map(|w| w.into_iter().map(&mut run).collect())
            .collect();
        if unled {
            let name = self
                .part(of, b.contour.part)
                .map_or("", |p| p.name.as_str());
            let message = format!(
                "`{name}` has places with no room for a lead-in; where one of them is taken the cut is \
                 begun on its line"
            );
            self.note(Diag::warning("no-lead-in", message));
        }
        Ok(Job {
            line_use: LineUse::Cut,
            rank: cut_rank(&setting),
            setting,
            of: vec![b.contour.part],
            ways,
            first: Vec::new(),
        })
    }

    /// Contours that share edges, when that is asked for. Only outlines with straight edges do.
    pub(super) fn shared(&self, contours: &[Contour], of: &[usize]) -> Result<Shared, Diag> {
        let mut taken = vec![false; contours.len()];
        if !self.options.common {
            return Ok(Shared {
                taken,
                chains: Vec::new(),
            });
        }
        let kerf = self.kerf(of);
        let straight = |c: &Contour| !c.window && c.path.vertices.iter().all(|v| v.bulge == 0.0);
        let outlines: Vec<Outline> = contours
            .iter()
            .enumerate()
            .filter(|(_, c)| straight(c))
            .map(|(part, c)| Outline {
                part,
                points: c.path.vertices.iter().map(|v| v.at).collect(),
                closed: true,
            })
            .collect();
        let found = common(&outlines, kerf).map_err(|e| {
            Diag::error("not-common", format!("shared edges cannot be told: {e}"))
                .help("cut without --common")
        })?;
        for c in found.shared.iter().flat_map(|s| &s.of) {
            taken[*c] = true;
        }
        // What only touches such a contour hangs in the same chains.
        loop {
            let more = found
                .chains
                .iter()
                .filter(|c| c.of.iter().any(|i| taken[*i]));
            let more: Vec<usize> = more
                .flat_map(|c| &c.of)
                .copied()
                .filter(|i| !taken[*i])
                .collect();
            if more.is_empty() {
                break;
            }
            more.into_iter().for_each(|i| taken[i] = true);
        }
        let chains = found
            .chains
            .into_iter()
            .filter(|c| c.of.iter().any(|i| taken[*i]));
        let chains = chains
            .map(|c| SharedChain {
                path: if c.closed {
                    Path::polygon(c.points)
                } else {
                    Path::line(c.points)
                },
                of: c.of,
            })
            .collect();
        Ok(Shared { taken, chains })
    }

    /// The jobs of a chain: what is left of it between the nicks on it.
    pub(super) fn chained(
        &self,
        chain: &SharedChain,
        gaps: &[(DVec2, f64)],
        contours: &[Contour],
        of: &[usize],
    ) -> Result<Vec<Job>, Diag> {
        let parts: Vec<usize> = chain
            .of
            .iter()
            .filter_map(|c| Some(contours.get(*c)?.part))
            .collect();
        let Some(part) = parts.first().and_then(|p| self.part(of, *p)) else {
            return Ok(Vec::new());
        };
        let setting = self.setting(part, LineUse::Cut, Runs::Along)?;
        let track = Track::new(&chain.path);
        let length = track.length();
        let mut at: Vec<(f64, f64)> = gaps
            .iter()
            .filter_map(|(p, gap)| Some((track.way_at(*p, ON_CHAIN_MM)?, *gap)))
            .collect();
        at.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut runs: Vec<(f64, f64)> = Vec::new();
        if chain.path.closed && !at.is_empty() {
            for (k, (way, gap)) in at.iter().enumerate() {
                let (next, next_gap) = at[(k + 1) % at.len()];
                let round = if k + 1 == at.len() { length } else { 0.0 };
                runs.push((way + gap / 2.0, next + round - next_gap / 2.0));
            }
        } else {
            let mut from = 0.0;
            for (way, gap) in &at {
                runs.push((from, way - gap / 2.0));
                from = way + gap / 2.0;
            }
            runs.push((from, length));
        }
        let whole = chain.path.closed && at.is_empty();
        let job = |ways: Vec<Vec<Path>>| Job {
            line_use: LineUse::Cut,
            rank: cut_rank(setting),
            setting: setting.clone(),
            of: parts.clone(),
            ways,
            first: Vec::new(),
        };
        if whole {
            // Begun in the middle of an edge.
            let edges = track.segments().iter().zip(track.ways());
            let starts = edges.map(|(s, way)| way + s.length() / 2.0);
            return Ok(vec![job(starts
                .map(|s| vec![track.piece(s, s + length)])
                .collect())]);
        }
        Ok(runs
            .into_iter()
            .filter(|(from, to)| to - from > ON_CHAIN_MM)
            .map(|(from, to)| {
                let path = track.piece(from, to);
                job(vec![vec![path.clone()], vec![path.reversed()]])
            })
            .collect())
    }
}

/// Cuts come after everything else; what one tool makes stays together.
fn cut_rank(setting: &Setting) -> u32 {
    3 * 64 + u32::try_from(setting.tool).unwrap_or(u32::MAX / 64)
}

/// The runs between gaps on a closed path, each from one gap to the next.
fn runs_between(at: &[f64], gap: f64, length: f64) -> Vec<(f64, f64)> {
    (0..at.len())
        .map(|k| {
            let from = at[k] + gap / 2.0;
            let to = at[(k + 1) % at.len()] - gap / 2.0;
            (from, if to > from { to } else { to + length })
        })
        .collect()
}
