//! What a machine does with a layout. Places have x to the right and y **down**, the upper left
//! corner of a sheet at the origin; times are seconds.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{LayoutShown, LineUse, Unit};

/// A machine in the list.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct MachineLine {
    /// What a command calls it; for a machine file of the opened folder, its path there.
    pub name: String,
    /// Whether it is a file of the opened folder.
    pub own: bool,
    /// For people.
    pub title: String,
    /// Its bed along x and y.
    pub bed: [f64; 2],
}

/// What to cut, on what.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CutAsk {
    /// Path of the layout file in the opened folder.
    pub layout: String,
    /// The machine.
    pub machine: String,
    /// Whether nicks hold the parts, where the machine's file has any.
    pub nicks: bool,
    /// Whether contours are led into from the waste.
    #[serde(rename = "leadIn")]
    pub lead_in: bool,
}

/// What the machine does.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutShown {
    /// The layout it cuts.
    pub layout: LayoutShown,
    /// The machine.
    pub machine: MachineLine,
    /// One for each sheet of the layout, in its order.
    pub sheets: Vec<CutSheet>,
    /// Over all sheets.
    pub total: CutTotal,
    /// What to beware of, in sentences.
    pub cautions: Vec<String>,
    /// What else there is to know, in sentences: lines left to be made by hand, nicks left out.
    pub notes: Vec<String>,
    /// Files that can be asked for.
    pub outputs: Vec<CutOutput>,
}

/// What the machine does with a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutSheet {
    /// The strokes in the order they are made.
    pub strokes: Vec<CutStroke>,
    /// Where the tool is at what time, from the start to the end.
    pub track: Vec<CutLeg>,
    /// What it takes.
    pub total: CutTotal,
}

/// A stroke: the tool goes on at its start and off at its end.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutStroke {
    /// What the line is for.
    #[serde(rename = "use")]
    pub use_: LineUse,
    /// How it is made, in words.
    pub way: String,
    /// SVG path data of the tool's centre.
    pub d: String,
    /// Its length.
    pub length: f64,
    /// Speed along it, in mm/s.
    pub speed: f64,
    /// Share of full power, 0 to 1; null for a blade.
    #[schema(required = true)]
    pub power: Option<f64>,
    /// How often it is run along.
    pub passes: u32,
    /// Indices of the placed parts it belongs to.
    pub of: Vec<u32>,
    /// When the tool goes on.
    pub begins: f64,
    /// When it goes off.
    pub ends: f64,
}

/// A stretch of the tool's way.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutLeg {
    /// Index of the stroke; null while the tool is off.
    #[schema(required = true)]
    pub stroke: Option<u32>,
    /// Triples: x, y and the time at which the tool is there. Between two of them it moves evenly.
    pub points: Vec<f64>,
}

/// Time, lengths, energy and cost.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutTotal {
    /// Machine time.
    pub seconds: f64,
    /// Length cut through, every pass counted.
    pub cut: f64,
    /// Length creased, etched or engraved.
    pub marked: f64,
    /// Length travelled with the tool off.
    pub travel: f64,
    /// Energy put into the board, in J; null for a blade.
    #[schema(required = true)]
    pub joules: Option<f64>,
    /// How many nicks hold the parts.
    pub nicks: u32,
    /// Length of lines that this machine leaves to be made by hand.
    #[serde(rename = "byHand")]
    #[ts(rename = "byHand")]
    pub by_hand: f64,
    /// What it costs, item by item, in the workshop's currency.
    pub costs: Vec<CutCost>,
}

/// One item of the cost.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CutCost {
    /// For what.
    pub what: String,
    /// How much.
    pub amount: f64,
}

/// A kind of file of a cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct CutOutput {
    /// What to ask for.
    pub kind: CutFileKind,
    /// For people.
    pub label: String,
    /// Names of the files, one for each sheet, or one for all.
    pub names: Vec<String>,
}

/// A file to make.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CutFileAsk {
    /// What to cut, on what.
    pub cut: CutAsk,
    /// What kind of file.
    pub kind: CutFileKind,
    /// Unit of the sizes on drawings.
    pub unit: Unit,
    /// Which of its files; the first when absent.
    #[serde(default, deserialize_with = "super::state::whole")]
    #[ts(as = "Option<u32>", optional)]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub sheet: u32,
}

/// A kind of file of a cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum CutFileKind {
    /// Machine code.
    Gcode,
    /// The sheet as drawn lines for other programs.
    Dxf,
    /// The sheet as a picture in true size.
    Svg,
    /// The sheet on paper.
    Pdf,
    /// The job card: settings, counts, time, cost, and the ways of the tool.
    Card,
}
