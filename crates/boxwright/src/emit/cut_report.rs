//! What cutting a layout takes, for people and as JSON.

use serde::Serialize;

use super::gcode::cautions;
use crate::board::Figure;
use crate::cut::{Cost, Program, Tally, cost};
use crate::diag::Diag;
use crate::machine::Machine;
use crate::sheet::Layout;
use crate::units::Length;

/// One sheet and its file.
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SheetCut {
    /// Which sheet of the layout, from 1.
    pub number: usize,
    /// What it is called in the stock.
    pub name: String,
    /// Its board.
    pub board: String,
    /// Its breadth and height in mm.
    pub size: [f64; 2],
    /// The file of each pass over the bed, in order.
    pub files: Vec<String>,
    /// What it takes.
    #[serde(flatten)]
    pub tally: Tally,
}

/// A kerf measured in the workshop.
#[derive(Clone, Debug, Serialize)]
pub struct KerfUsed {
    /// In which board.
    pub board: String,
    /// The full width taken away.
    pub kerf: Figure<Length>,
}

/// Everything told about the cutting of a layout.
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CutReport {
    /// `boxwright-cut`.
    pub format: &'static str,
    /// 1.
    pub version: u32,
    /// Title of the layout.
    pub layout: String,
    /// Name of the machine.
    pub machine: String,
    /// Kerfs that were measured and are used instead of those in the machine's file.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<KerfUsed>,
    /// Each sheet.
    pub sheets: Vec<SheetCut>,
    /// All sheets together.
    pub total: Tally,
    /// What it costs.
    pub cost: Cost,
    /// What stands between a person and harm.
    pub cautions: Vec<&'static str>,
}

/// The report of these programs, each with the names of its files.
#[must_use]
pub fn cut_report(
    layout: &Layout,
    machine: &Machine,
    programs: &[Program],
    files: &[Vec<String>],
) -> CutReport {
    let sheets: Vec<SheetCut> = programs
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let piece = layout
                .sheets
                .get(p.sheet)
                .and_then(|s| layout.stock.get(s.stock));
            SheetCut {
                number: p.sheet + 1,
                name: piece.map(|s| s.name.clone()).unwrap_or_default(),
                board: piece.map(|s| s.board.clone()).unwrap_or_default(),
                size: [p.size.x, p.size.y],
                files: files.get(i).cloned().unwrap_or_default(),
                tally: p.tally,
            }
        })
        .collect();
    CutReport {
        format: "boxwright-cut",
        version: 1,
        layout: layout.title.clone(),
        machine: machine.name.clone(),
        measured: Vec::new(),
        total: programs
            .iter()
            .fold(Tally::default(), |sum, p| sum.with(&p.tally)),
        cost: cost(layout, machine, programs),
        cautions: cautions(machine.kind).to_vec(),
        sheets,
    }
}

impl CutReport {
    /// As JSON.
    ///
    /// # Errors
    /// `report-failed` when a number in it is none.
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
