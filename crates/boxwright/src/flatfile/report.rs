//! What was read and found, as JSON. `docs/flat-files.md` has every field.

use serde::Serialize;

use super::folded::Folded;
use super::model::{DepthAlong, Drawing, Fault};
use crate::blank::{Creasing, Figures, FoldSide};
use crate::check::{Finding, Verdict};
use crate::diag::Diag;
use crate::geom::DVec2;
use crate::units::Length;

/// What the file says it is.
pub const FORMAT: &str = "boxwright-fold";
/// Counts up when a field changes its meaning or goes away.
pub const VERSION: u32 = 1;

/// Everything there is to say about a flat file. Places are in mm as the file counts them, those of
/// findings in the folded case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// [`FORMAT`].
    pub format: &'static str,
    /// [`VERSION`].
    pub version: u32,
    /// What was read.
    pub file: FileLine,
    /// The board's name.
    pub board: String,
    /// Its thickness.
    pub caliper: Length,
    /// How it is creased.
    pub creasing: Creasing,
    /// Fold axis depth along and across the flutes.
    pub axis_depth: [f64; 2],
    /// Unit vector along the flutes on the drawing.
    pub flutes: [f64; 2],
    /// Sums over the blank.
    pub figures: Figures,
    /// The panels, the root first.
    pub panels: Vec<PanelLine>,
    /// The hinges.
    pub creases: Vec<CreaseLine>,
    /// The clear room found, when anything stands round the root.
    pub room: Option<RoomLine>,
    /// What is wrong with the drawing, worst first.
    pub faults: Vec<Fault>,
    /// What was measured on the folded case, worst first.
    pub findings: Vec<Finding>,
    /// The worst of both.
    pub verdict: Verdict,
}

/// The file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FileLine {
    /// Its name.
    pub name: String,
    /// `DXF` or `SVG`.
    pub kind: &'static str,
    /// What its lengths were taken to be.
    pub unit: String,
    /// Lines that are cut.
    pub cut_lines: usize,
    /// Lines that fold inward.
    pub crease_inward_lines: usize,
    /// Lines that fold outward.
    pub crease_outward_lines: usize,
    /// Lines left out.
    pub ignored_lines: usize,
    /// Line ends that were moved onto others.
    pub healed_ends: usize,
    /// The farthest of these moves.
    pub healed_most: Length,
}

/// A panel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelLine {
    /// Its name in findings.
    pub name: String,
    /// What it hangs on.
    pub parent: Option<String>,
    /// The middle of its bounds.
    pub centre: [f64; 2],
    /// Size along its hinge and away from it.
    pub breadth: Length,
    /// See `breadth`.
    pub reach: Length,
    /// Cut-outs in it.
    pub cut_outs: usize,
    /// Whether it may stand in the room, as a lap.
    pub lap: bool,
}

/// A hinge.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CreaseLine {
    /// The panel that turns.
    pub panel: String,
    /// One end.
    pub from: [f64; 2],
    /// The other.
    pub to: [f64; 2],
    /// Which way it folds.
    pub side: FoldSide,
    /// How far, in degrees.
    pub angle: f64,
}

/// The clear room.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoomLine {
    /// The longer side of the opening.
    pub length: Length,
    /// The shorter one.
    pub width: Length,
    /// From the opening to the bottom.
    pub depth: Length,
    /// Which way the depth runs, seen from the root.
    pub depth_along: DepthAlong,
    /// What stops it to the left, right, near, far, below and above, seen from the root; null where
    /// it is open.
    pub stops: [Option<String>; 6],
}

/// The report of a file.
#[must_use]
pub fn report(drawing: &Drawing, folded: &Folded) -> Report {
    let m = &folded.brief.material;
    let blank = folded.blank.as_deref();
    let at = |p: DVec2| folded.in_file(drawing, p).to_array();
    let panels = blank.map_or(&[][..], |b| &b.panels);
    let name = |i: usize| panels[i].name.clone();
    let flutes = blank.map_or(DVec2::X, |b| b.flutes);
    Report {
        format: FORMAT,
        version: VERSION,
        file: FileLine {
            name: drawing.input.clone(),
            kind: drawing.format,
            unit: drawing.unit.clone(),
            cut_lines: folded.lines[0],
            crease_inward_lines: folded.lines[1],
            crease_outward_lines: folded.lines[2],
            ignored_lines: folded.lines[3],
            healed_ends: folded.healed.0,
            healed_most: folded.healed.1,
        },
        board: m.board.clone(),
        caliper: m.caliper,
        creasing: m.way,
        axis_depth: m.axis_depth,
        flutes: flutes.to_array(),
        figures: blank.map_or_else(Figures::default, |b| b.figures),
        panels: panels
            .iter()
            .map(|p| PanelLine {
                name: p.name.clone(),
                parent: p.parent.map(name),
                centre: at(p.place.point(p.outline.bounds().centre())),
                breadth: p.breadth,
                reach: p.reach,
                cut_outs: p.holes.len(),
                lap: p.may_intrude,
            })
            .collect(),
        creases: blank
            .map_or(&[][..], |b| &b.creases)
            .iter()
            .map(|c| CreaseLine {
                panel: name(c.child),
                from: at(c.from),
                to: at(c.to),
                side: c.side,
                angle: c.angle.to_deg(),
            })
            .collect(),
        room: folded.room.as_ref().map(|r| RoomLine {
            length: r.sizes[0],
            width: r.sizes[1],
            depth: r.sizes[2],
            depth_along: r.depth,
            stops: r.stops.clone(),
        }),
        faults: folded.faults.clone(),
        findings: folded.findings.clone(),
        verdict: folded.verdict(),
    }
}

impl Report {
    /// As JSON text, ending with a line feed.
    ///
    /// # Errors
    /// `report-failed` when a value cannot be written.
    pub fn to_json(&self) -> Result<String, Diag> {
        serde_json::to_string_pretty(self)
            .map(|s| s + "\n")
            .map_err(|e| {
                Diag::error(
                    "report-failed",
                    format!("the report cannot be written: {e}"),
                )
            })
    }
}
