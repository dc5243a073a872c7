//! Layouts: parts on sheets. Places have x to the right, along the flutes, and y **down**, the upper
//! left corner of a sheet at the origin.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::Line;

/// What to lay, on what, and for how long to look.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LayoutAsk {
    /// What the layout is called.
    pub title: String,
    /// Jobs of the opened folder.
    #[schema(min_items = 1, max_items = 100)]
    pub jobs: Vec<LaidJob>,
    /// Sheets to lay them on; those of the folder's stock when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    #[schema(max_items = 100)]
    pub sheets: Option<Vec<TypedSheet>>,
    /// Least room between parts, as typed; the program's own when empty.
    pub spacing: String,
    /// Least room to the edge of a sheet, as typed; the program's own when empty.
    pub margin: String,
    /// Machine whose bed limits where parts may lie.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub machine: Option<String>,
    /// How long to look, in seconds: at most 600.
    #[schema(minimum = 0)]
    pub seconds: f64,
    /// Where the search's random numbers begin.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub seed: u32,
}

/// A job to lay.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LaidJob {
    /// Path of the job in the opened folder.
    pub job: String,
    /// How many cases; as the job says when absent.
    #[serde(
        default,
        deserialize_with = "maybe",
        skip_serializing_if = "Option::is_none"
    )]
    #[ts(optional)]
    #[schema(minimum = 1, maximum = 1_000_000, nullable = false)]
    pub quantity: Option<u32>,
}

fn maybe<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    super::state::whole(from).map(Some)
}

/// Sheets typed in place of a stock.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TypedSheet {
    /// The board's name.
    pub board: String,
    /// Along the flutes, as typed.
    pub length: String,
    /// Across the flutes, as typed.
    pub width: String,
    /// How many.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 1, maximum = 1_000_000)]
    pub count: u32,
    /// What one costs, in the workshop's currency.
    pub price: f64,
}

/// A line of the answer: exactly one of the kinds.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(untagged)]
pub enum LayoutLine {
    /// A better layout than any before.
    Best(LayoutBest),
    /// The search goes on.
    Tick(LayoutTick),
    /// The last line; when it is missing the answer was cut off.
    Finished(LayoutFinished),
}

/// A better layout than any before.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutBest {
    /// Seconds since the start.
    pub seconds: f64,
    /// The layout.
    pub layout: LayoutShown,
    /// The layout file, as the command line writes it.
    pub text: String,
}

/// The search goes on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutTick {
    /// Seconds since the start.
    pub seconds: f64,
    /// Rounds of the search done.
    #[ts(type = "number")]
    pub rounds: u64,
}

/// The end.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutFinished {
    /// Always true.
    pub finished: bool,
    /// Seconds since the start.
    pub seconds: f64,
    /// Rounds of the search done.
    #[ts(type = "number")]
    pub rounds: u64,
    /// What stopped it, in words; null when nothing did.
    #[schema(required = true)]
    pub wrong: Option<String>,
}

/// A layout as drawn.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutShown {
    /// What it is called.
    pub title: String,
    /// Least room between parts.
    pub spacing: f64,
    /// Least room to the edge of a sheet.
    pub margin: f64,
    /// The parts.
    pub parts: Vec<LayoutPart>,
    /// The sheets in use, in order.
    pub sheets: Vec<LayoutSheet>,
    /// How close it is to the least number of sheets, a sentence for each board.
    pub bounds: Vec<String>,
    /// Board of the parts over the board of the sheets in use, 0 to 1.
    pub used: f64,
    /// What the sheets cost, in the workshop's currency.
    pub price: f64,
    /// How many parts found no place.
    #[schema(minimum = 0)]
    pub left: u32,
}

/// A part of a layout, in its own coordinates.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutPart {
    /// Title of the job and name of the piece.
    pub name: String,
    /// The job's title.
    pub job: String,
    /// The piece's name in the job.
    pub piece: String,
    /// The board's name.
    pub board: String,
    /// How many are wanted.
    pub wanted: u32,
    /// How many found a place.
    pub laid: u32,
    /// Why the others found none, in words; null when all did.
    #[schema(required = true)]
    pub why: Option<String>,
    /// Board in one, in mm2.
    pub area: f64,
    /// SVG path data of its outline and windows (even-odd).
    pub outline: String,
    /// Every line of it with its use.
    pub lines: Vec<Line>,
}

/// A sheet in use.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct LayoutSheet {
    /// Name of the stock it is one of.
    pub stock: String,
    /// The board's name.
    pub board: String,
    /// Whether it is what was left of a sheet.
    pub off_cut: bool,
    /// Size along and across the flutes.
    pub size: [f64; 2],
    /// SVG path data of its outline and holes (even-odd).
    pub outline: String,
    /// What lies on it.
    pub placed: Vec<LayoutPlaced>,
    /// Board of the parts over the board of the sheet, 0 to 1.
    pub used: f64,
    /// What it costs, in the workshop's currency.
    pub price: f64,
}

/// A part where it lies.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutPlaced {
    /// Index of the part.
    pub part: u32,
    /// SVG transform from the part's coordinates to the sheet's.
    pub place: String,
    /// The upright rectangle round it: least x, least y, greatest x, greatest y.
    pub bounds: [f64; 4],
    /// Where its name goes.
    pub label: [f64; 2],
}

/// A layout file of the opened folder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct LayoutEntry {
    /// Path in the opened folder, with `/` between its parts.
    pub name: String,
    /// What the layout is called; empty when the file cannot be read.
    pub title: String,
}

/// A layout file as opened.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct OpenLayout {
    /// Path in the opened folder.
    pub name: String,
    /// Tells this content of the file from any other.
    pub stamp: String,
    /// The layout.
    pub layout: LayoutShown,
    /// What using it would do to the folder's stock.
    pub taking: LayoutTaking,
}

/// What using a layout does to the stock.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct LayoutTaking {
    /// The stamp of the stock as it is now; null while nothing is kept.
    #[schema(required = true)]
    pub stamp: Option<String>,
    /// Sheets and off-cuts taken, in words.
    pub takes: Vec<String>,
    /// Off-cuts put back, in words.
    pub leaves: Vec<String>,
    /// Why it cannot be used; null when it can.
    #[schema(required = true)]
    pub wrong: Option<String>,
}

/// A layout file to save.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SaveLayout {
    /// The stamp it was opened with; null when the file must not be there yet.
    #[schema(required = true)]
    pub stamp: Option<String>,
    /// Its text, as the search gave it.
    pub text: String,
}

/// A layout to use.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UseLayout {
    /// The stamp of the layout file as it was seen.
    pub layout: String,
    /// The stamp of the stock as it was seen.
    #[schema(required = true)]
    pub stock: Option<String>,
}
