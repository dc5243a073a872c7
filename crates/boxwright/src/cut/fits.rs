//! What has to fit: the tool into every gap, the parts beside one another, all of it on the bed.

use super::kerf::{Narrow, beside};
use super::plan::Bench;
use super::rings::Contour;
use crate::blank::LineUse;
use crate::diag::Diag;
use crate::geom::{DVec2, Path, Rect};
use crate::machine::Runs;
use crate::sheet::shape::STEPS_PER_MM;
use crate::units::trimmed;

/// How far over the bed a path may reach, in mm: rounding.
const BED_SLACK_MM: f64 = 1e-6;
/// Parts this much further apart than the kerf are cut each for itself, in mm: their paths do not
/// fall on one another.
const OWN_PATHS_MM: f64 = 0.02;

/// An outline in chords is longer than its arcs by less than this takes off.
const OUTLINE_SHARE: f64 = 0.98;

impl Bench<'_> {
    /// The way of the tool's centre along a contour.
    pub(super) fn aside(&self, contour: &Contour, of: &[usize]) -> Result<Path, Diag> {
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

    /// The kerf of what is cut, in mm: a sheet is one board.
    pub(super) fn kerf(&self, of: &[usize]) -> f64 {
        (0..of.len())
            .filter_map(|n| self.part(of, n))
            .filter_map(|p| self.machine.setting(LineUse::Cut, &p.board, Runs::Along))
            .map(|s| s.kerf.to_mm())
            .fold(0.0, f64::max)
    }

    /// What is cut of a part is as long as its outline at least: a layout whose cut lines were lost is
    /// not cut as if it were whole.
    pub(super) fn outlined(&self, of: &[usize]) -> Result<(), Diag> {
        for part in (0..of.len()).filter_map(|n| self.part(of, n)) {
            let ring = &part.shape.outer;
            let next = ring.iter().cycle().skip(1);
            let outline: f64 = ring
                .iter()
                .zip(next)
                .map(|(a, b)| a.to_mm().distance(b.to_mm()))
                .sum();
            let lines = part.lines.iter().filter(|l| l.line_use == LineUse::Cut);
            let cut: f64 = lines.map(|l| l.path.length()).sum();
            if cut < OUTLINE_SHARE * outline {
                let message = format!("the cut lines of `{}` do not go round it", part.name);
                return Err(Diag::error("outline-not-cut", message)
                    .help("lay its job anew: the layout file has lost lines"));
            }
        }
        Ok(())
    }

    /// Parts stand further apart than the tool is wide, or exactly as far where edges are shared.
    pub(super) fn room(&self, of: &[usize]) -> Result<(), Diag> {
        let kerf = self.kerf(of);
        #[allow(clippy::cast_precision_loss, reason = "a room of some mm")]
        let spacing = self.layout.spacing as f64 / STEPS_PER_MM;
        let least = if self.options.common {
            kerf - 1e-6
        } else {
            kerf + OWN_PATHS_MM
        };
        if of.len() < 2 || spacing >= least {
            return Ok(());
        }
        let message = format!(
            "parts may lie {} mm apart and the kerf is {} mm: one cut would run into the next",
            trimmed(spacing, 3),
            trimmed(kerf, 3)
        );
        Err(Diag::error("too-close", message).help(format!(
            "lay them again with more room, or exactly {} mm apart and cut with --common",
            trimmed(kerf, 3)
        )))
    }

    /// Nothing runs over the edges of the bed.
    pub(super) fn on_bed<'p>(&self, paths: impl Iterator<Item = &'p Path>) -> Result<(), Diag> {
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
        let mut over = (all.max - bed).max(DVec2::ZERO);
        if self.options.passes {
            over.x = 0.0;
        }
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
            let help = if over.y > BED_SLACK_MM {
                "lay on sheets or off-cuts that are no wider than the bed across the flutes: passes only go along x"
            } else {
                "lay on sheets or off-cuts that fit the bed, or cut it in passes along x with --passes"
            };
            return Err(Diag::error("too-big-for-the-bed", message).help(help));
        }
        Ok(())
    }
}
