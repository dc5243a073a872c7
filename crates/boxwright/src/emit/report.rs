//! The report as JSON: what was asked, what was drawn, what was found. `docs/formats.md` has every
//! field.
//!
//! Base units throughout: mm, mm2, kg, degrees. Numbers are written so that reading them back gives
//! the same number.

use serde::Serialize;

use crate::blank::{Blank, Creasing, Figures, FoldSide, LineUse, Plan, PlanFitment, PlanLeft};
use crate::board::{Known, Wall};
use crate::brief::{Brief, measured_for};
use crate::check::{self, Finding, Verdict};
use crate::diag::Diag;
use crate::fold::{self, Folder};
use crate::style::{ParameterKind, Style};
use crate::units::{Dim, Grammage, Length};

/// What the file says it is.
pub const FORMAT: &str = "boxwright-report";
/// Counts up when a field changes its meaning or goes away.
pub const VERSION: u32 = 1;

/// Everything there is to say about one case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// [`FORMAT`].
    pub format: &'static str,
    /// [`VERSION`].
    pub version: u32,
    /// What the case is called.
    pub title: String,
    /// Its style.
    pub style: StyleLine,
    /// The asked clear inside size.
    pub inside: Sizes,
    /// What it is cut from.
    pub board: BoardLine,
    /// How creases are made.
    pub creasing: Creasing,
    /// Fold axis depth as a share of the caliper.
    pub axis_depth: AlongAcross,
    /// What of the board and its creases was measured in the workshop; absent when nothing is used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured: Option<Known>,
    /// The style's parameters, in its order.
    pub parameters: Vec<ParameterLine>,
    /// How many cases.
    pub quantity: u32,
    /// One for each blank.
    pub pieces: Vec<PieceLine>,
    /// What goes into the case.
    pub fitments: Vec<FitmentLine>,
    /// The order of folding.
    pub stages: Vec<StageLine>,
    /// The clear room.
    pub room: RoomLine,
    /// Worst first.
    pub findings: Vec<Finding>,
    /// The worst of them.
    pub verdict: Verdict,
    /// Names of the files written beside this one, itself among them.
    pub files: Vec<String>,
}

/// The style.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StyleLine {
    /// What a job calls it.
    pub name: String,
    /// For people.
    pub title: String,
    /// International case code.
    pub code: Option<String>,
}

/// Length, width and depth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sizes {
    /// The longer side of the opening.
    pub length: Length,
    /// The shorter side of the opening.
    pub width: Length,
    /// From the opening to the bottom.
    pub depth: Length,
}

impl From<[Length; 3]> for Sizes {
    fn from([length, width, depth]: [Length; 3]) -> Self {
        Self {
            length,
            width,
            depth,
        }
    }
}

/// The board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardLine {
    /// What a job calls it.
    pub name: String,
    /// For people.
    pub title: String,
    /// Its fluted layers.
    pub wall: Wall,
    /// Thickness used: the job's, or else the board's.
    pub caliper: Length,
    /// Mass per area, in g/m2.
    pub grammage: Grammage,
}

/// Something that goes into the case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitmentLine {
    /// What it is called.
    pub name: String,
    /// Its style.
    pub style: StyleLine,
    /// Name of its board.
    pub board: String,
    /// Thickness used.
    pub caliper: Length,
    /// Names of its pieces.
    pub pieces: Vec<String>,
    /// The room it is asked for.
    pub asked: Sizes,
    /// Corner of that room, in case coordinates, in mm.
    pub at: [f64; 3],
    /// What it leaves clear.
    pub leaves: Vec<LeftLine>,
}

/// A block that a fitment leaves clear.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeftLine {
    /// What it is called.
    pub name: String,
    /// Its least corner, in case coordinates, in mm.
    pub at: [f64; 3],
    /// Its size.
    pub size: Sizes,
}

/// A figure for creases along and across the flutes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AlongAcross {
    /// Along them.
    pub along: f64,
    /// Across them.
    pub across: f64,
}

/// A parameter's value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ParameterLine {
    /// Its name.
    pub name: String,
    /// `mm`, `deg`, ...; absent for plain numbers and words.
    pub unit: Option<&'static str>,
    /// The value.
    pub value: ParameterValue,
    /// Whether the job sets it, rather than the style's default.
    pub set: bool,
}

/// A number or a word.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum ParameterValue {
    /// In the unit given.
    Number(f64),
    /// One of the style's words.
    Word(String),
}

/// A piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PieceLine {
    /// Its name.
    pub name: String,
    /// Sums over its blank.
    pub figures: Figures,
    /// Unit vector along the flutes, in blank coordinates.
    pub flutes: [f64; 2],
    /// Parents before children.
    pub panels: Vec<PanelLine>,
    /// The creases.
    pub creases: Vec<CreaseLine>,
}

/// A panel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelLine {
    /// Its name in the piece.
    pub name: String,
    /// The panel it hangs on.
    pub parent: Option<String>,
    /// Drawn left to right, crease to crease or to the edge.
    pub breadth: Length,
    /// Drawn near to far.
    pub reach: Length,
    /// The clear inside span the style asked for.
    pub clear: Span,
    /// Whether the trade accepts it in the asked room.
    pub may_intrude: bool,
}

/// Left-right and near-far.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Span {
    /// Left to right.
    pub breadth: Length,
    /// Near to far.
    pub reach: Length,
}

/// A crease.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CreaseLine {
    /// The panel nearer the root.
    pub parent: String,
    /// The panel that turns.
    pub child: String,
    /// One end, in blank coordinates.
    pub from: [f64; 2],
    /// The other.
    pub to: [f64; 2],
    /// Which way it folds.
    pub side: FoldSide,
    /// How far it is turned in the finished case.
    pub angle_deg: f64,
    /// Fold axis depth as a share of the caliper.
    pub axis_depth: f64,
    /// From the crease line to the corner of the inside faces.
    pub allowance: Length,
    /// How it is made.
    pub way: Creasing,
    /// Which kind of line it is in the cut files.
    pub line: LineUse,
    /// Whether it runs across the flutes.
    pub across_flutes: bool,
    /// Its length.
    pub length: Length,
}

/// A stage of folding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageLine {
    /// From 1; 0 is the flat blank.
    pub number: usize,
    /// Its name.
    pub title: String,
    /// The instruction.
    pub text: String,
    /// What turns.
    pub turns: Vec<TurnLine>,
    /// What comes in.
    pub enters: Vec<EnterLine>,
}

/// A panel that turns in a stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TurnLine {
    /// Full name of the panel.
    pub panel: String,
    /// Angle of its crease at the end of the stage.
    pub to_deg: f64,
    /// Share of the stage at which it starts.
    pub starts: f64,
    /// Share at which it ends.
    pub ends: f64,
}

/// A piece that comes in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EnterLine {
    /// Its name.
    pub piece: String,
    /// From how far off.
    pub from: Length,
}

/// The clear room.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoomLine {
    /// What was asked.
    pub asked: Sizes,
    /// What was found; absent when the blank may not be folded.
    pub found: Option<Sizes>,
    /// One corner of the asked block, in case coordinates.
    pub min: [f64; 3],
    /// The opposite corner.
    pub max: [f64; 3],
}

/// What folding and checking told about a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Worst first.
    pub findings: Vec<Finding>,
    /// Clear room found and the asked block; absent when the blank may not be folded.
    pub room: Option<([Length; 3], fold::Room)>,
}

impl Told {
    /// Of a case that was folded and checked.
    #[must_use]
    pub fn folded(folder: &Folder<'_>, found: &check::Report) -> Self {
        Self {
            findings: found.findings.clone(),
            room: Some((found.room, folder.room)),
        }
    }
    /// Of a blank that may not be folded.
    #[must_use]
    pub const fn unsound(findings: Vec<Finding>) -> Self {
        Self {
            findings,
            room: None,
        }
    }
    /// The worst verdict; a pass when there is no finding.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let verdicts = self.findings.iter().map(|f| f.verdict);
        verdicts.max().unwrap_or(Verdict::Pass)
    }
}

/// The report of a case. `files` are the names of the files written with it.
#[must_use]
pub fn report(brief: &Brief, plan: &Plan, told: &Told, files: &[String]) -> Report {
    let job = &brief.job;
    let m = &plan.material;
    Report {
        format: FORMAT,
        version: VERSION,
        title: job.title.clone(),
        style: style(&plan.style),
        inside: job.inside.into(),
        board: BoardLine {
            name: brief.board.name.clone(),
            title: brief.board.title.clone(),
            wall: brief.board.wall,
            caliper: m.caliper,
            grammage: m.grammage,
        },
        creasing: m.way,
        axis_depth: AlongAcross {
            along: m.axis_depth[0],
            across: m.axis_depth[1],
        },
        measured: Some(measured_for(job)).filter(|k| !k.is_empty()),
        parameters: parameters(brief, plan),
        quantity: job.quantity,
        pieces: plan.pieces.iter().map(|b| piece(b)).collect(),
        fitments: plan.fitments.iter().map(|f| fitment(plan, f)).collect(),
        stages: stages(plan),
        room: RoomLine {
            asked: plan.room.asked.into(),
            found: told.room.map(|(found, _)| found.into()),
            min: told.room.map_or([0.0; 3], |(_, r)| r.min.to_array()),
            max: told
                .room
                .map_or(plan.room.asked.map(Length::to_mm), |(_, r)| {
                    r.max.to_array()
                }),
        },
        findings: told.findings.clone(),
        verdict: told.verdict(),
        files: files.to_vec(),
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

fn style(style: &Style) -> StyleLine {
    StyleLine {
        name: style.name.clone(),
        title: style.title.clone(),
        code: style.code.clone(),
    }
}

fn fitment(plan: &Plan, f: &PlanFitment) -> FitmentLine {
    let left = |b: &PlanLeft| LeftLine {
        name: b.name.clone(),
        at: [0, 1, 2].map(|k| f.at[k] + b.at[k]),
        size: b.size.into(),
    };
    FitmentLine {
        name: f.name.clone(),
        style: style(&f.style),
        board: f.material.board.clone(),
        caliper: f.material.caliper,
        pieces: f
            .pieces
            .clone()
            .map(|p| plan.pieces[p].piece.clone())
            .collect(),
        asked: f.room.asked.into(),
        at: f.at,
        leaves: f.room.leaves.iter().map(left).collect(),
    }
}

fn parameters(brief: &Brief, plan: &Plan) -> Vec<ParameterLine> {
    let line = |p: &crate::style::Parameter| {
        let (unit, value) = match (&p.kind, plan.values.quantity(&p.name)) {
            (ParameterKind::Quantity(dim), Some(q)) => {
                let (unit, base) = unit_of(*dim);
                let value = if *dim == Dim::ANGLE {
                    q.value.to_degrees()
                } else {
                    q.value / base
                };
                (unit, ParameterValue::Number(value))
            }
            _ => (None, ParameterValue::Word(plan.values.show(&p.name)?)),
        };
        Some(ParameterLine {
            name: p.name.clone(),
            unit,
            value,
            set: brief.job.set.iter().any(|(n, _)| n.name == p.name),
        })
    };
    plan.style.parameters.iter().filter_map(line).collect()
}

/// The report's unit for a dimension, in base units of expressions.
fn unit_of(dim: Dim) -> (Option<&'static str>, f64) {
    match dim {
        Dim::LENGTH => (Some("mm"), 1.0),
        Dim::ANGLE => (Some("deg"), 1.0),
        Dim::AREA => (Some("mm2"), 1.0),
        Dim::MASS => (Some("kg"), 1.0),
        Dim::FORCE => (Some("N"), 1.0),
        Dim::FORCE_PER_LENGTH => (Some("N/mm"), 1.0),
        Dim::PRESSURE => (Some("N/mm2"), 1.0),
        Dim::GRAMMAGE => (Some("g/m2"), 1e-9),
        _ => (None, 1.0),
    }
}

fn piece(blank: &Blank) -> PieceLine {
    let name = |i: usize| blank.panels[i].name.clone();
    PieceLine {
        name: blank.piece.clone(),
        figures: blank.figures,
        flutes: blank.flutes.to_array(),
        panels: blank
            .panels
            .iter()
            .map(|p| {
                let clear = p.clear.size();
                PanelLine {
                    name: p.name.clone(),
                    parent: p.parent.map(name),
                    breadth: p.breadth,
                    reach: p.reach,
                    clear: Span {
                        breadth: Length::mm(clear.x),
                        reach: Length::mm(clear.y),
                    },
                    may_intrude: p.may_intrude,
                }
            })
            .collect(),
        creases: blank
            .creases
            .iter()
            .map(|c| CreaseLine {
                parent: name(c.parent),
                child: name(c.child),
                from: c.from.to_array(),
                to: c.to.to_array(),
                side: c.side,
                angle_deg: c.angle.to_deg(),
                axis_depth: c.axis_depth,
                allowance: c.allowance,
                way: c.way,
                line: c.line_use(),
                across_flutes: c.across_flutes,
                length: c.length(),
            })
            .collect(),
    }
}

fn stages(plan: &Plan) -> Vec<StageLine> {
    plan.stages
        .iter()
        .enumerate()
        .map(|(i, s)| StageLine {
            number: i + 1,
            title: s.title.clone(),
            text: s.text.clone(),
            turns: s
                .turns
                .iter()
                .map(|t| TurnLine {
                    panel: plan.name(t.panel),
                    to_deg: t.to.to_deg(),
                    starts: t.starts,
                    ends: t.ends,
                })
                .collect(),
            enters: s
                .enters
                .iter()
                .map(|(p, from)| EnterLine {
                    piece: plan.pieces[*p].piece.clone(),
                    from: *from,
                })
                .collect(),
        })
        .collect()
}
