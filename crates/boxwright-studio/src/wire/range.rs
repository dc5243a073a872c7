//! A range of case sizes for an order history.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::Unit;

/// An order history in the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct OrdersLine {
    /// Path of the CSV file in the opened folder.
    pub name: String,
}

/// What there should be least of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Least {
    /// Room that the things do not fill.
    Void,
    /// Board that the blanks are cut from.
    Board,
    /// Mass that is charged: true or by volume.
    Freight,
}

/// A range to choose.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct RangeAsk {
    /// A CSV file of the opened folder; absent when the text is given.
    #[serde(default)]
    #[ts(optional)]
    pub file: Option<String>,
    /// The order history itself, as CSV.
    #[serde(default)]
    #[ts(optional)]
    pub text: Option<String>,
    /// How many sizes, those that are kept among them.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 1, maximum = 60)]
    pub sizes: u32,
    /// What there should be least of.
    pub least: Least,
    /// The style whose blanks are counted, for the least board.
    pub style: String,
    /// The board the cases are made of, for the least board and freight.
    pub board: String,
    /// Room added on each side of a thing, as typed; empty for none.
    pub clearance: String,
    /// Inside sizes are whole multiples of this, as typed; empty for 1 mm.
    pub grid: String,
    /// Sizes that are in the range whatever comes, by their inside, as typed: length, width and depth of
    /// each.
    #[schema(max_items = 60)]
    pub keep: Vec<Vec<String>>,
    /// Whether the height of a thing is the case's depth.
    pub upright: bool,
    /// Outside volume charged as one kilogram, in cm3, for the least freight.
    pub divisor: f64,
    /// Mass is charged in whole steps of this, as typed, for the least freight.
    pub step: String,
    /// Whether rows that cannot be read are left out and counted.
    pub skip_bad: bool,
    /// Millions of steps to search: the same range every time for the same number.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 1, maximum = 50_000)]
    pub work: u32,
    /// Unit of the sizes in words.
    pub unit: Unit,
}

/// A line of the answer: exactly one of the three kinds.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(untagged)]
pub enum RangeLine {
    /// The first line.
    Begun(RangeBegun),
    /// How far it is.
    Tick(RangeTick),
    /// The last line; when it is missing the answer was cut off.
    Finished(Box<RangeFinished>),
}

/// The search has begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct RangeBegun {
    /// What to name when it is to be stopped.
    pub run: u32,
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct RangeTick {
    /// How many sizes are chosen at the moment.
    pub sizes: u32,
    /// The largest number of sizes that will be looked at.
    pub up_to: u32,
    /// Share of the steps for this number that is spent.
    pub spent: f64,
    /// How far the best so far is from the bound, as a share; null while nothing is found.
    #[schema(required = true)]
    pub gap: Option<f64>,
}

/// The end.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct RangeFinished {
    /// Always true.
    pub finished: bool,
    /// What was found; null when nothing can be chosen.
    #[schema(required = true)]
    pub range: Option<RangeShown>,
    /// Why nothing was found; null when something was.
    #[schema(required = true)]
    pub wrong: Option<String>,
}

/// What was found, and what it rests on.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct RangeShown {
    /// What the history is called.
    pub title: String,
    /// What there is least of.
    pub least: Least,
    /// The same in a word: void, board or charged mass.
    pub what: String,
    /// Unit of the cost: l, m2 or kg.
    pub unit: String,
    /// How the cost is found, in words.
    pub price: String,
    /// Orders in all.
    #[ts(type = "number")]
    pub orders: u64,
    /// Rows read.
    #[ts(type = "number")]
    pub rows: u64,
    /// Distinct sizes among them.
    #[ts(type = "number")]
    pub distinct: u64,
    /// Volume of all things, in litres.
    pub things: f64,
    /// How many sizes were asked for.
    pub sizes: u32,
    /// The sizes, the smallest first.
    pub chosen: Vec<RangeSize>,
    /// Every number of sizes looked at, rising.
    pub totals: Vec<RangeTotal>,
    /// The cost for each order that found a place.
    pub each: f64,
    /// The share of the cases' room that is void; null unless void is counted.
    #[schema(required = true)]
    pub empty: Option<f64>,
    /// How far it is proved, in words.
    pub proof: String,
    /// What should be known besides.
    pub notes: Vec<String>,
    /// Whether the search was stopped before its end.
    pub stopped: bool,
    /// The cost against the number of sizes, and the sizes' shares: an SVG picture.
    pub picture: String,
    /// The sizes as CSV, the same to the byte as the command line writes.
    pub csv: String,
    /// Name of that file.
    pub name: String,
}

/// One of the chosen sizes.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct RangeSize {
    /// Inside: length, width, depth.
    pub inside: [f64; 3],
    /// The same as a job is given it.
    pub typed: [String; 3],
    /// Whether it was to be kept.
    pub kept: bool,
    /// Orders that go into it.
    #[ts(type = "number")]
    pub orders: u64,
    /// Their share of all that found a place.
    pub share: f64,
    /// The share of its room that things fill.
    pub filled: f64,
    /// What those cases cost together.
    pub cost: f64,
}

/// The best range of a number of sizes.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct RangeTotal {
    /// How many sizes.
    pub sizes: u32,
    /// What it costs.
    pub cost: f64,
    /// No range of so many sizes costs less.
    pub bound: f64,
    /// How far the bound is below the cost, as a share of the cost.
    pub gap: f64,
    /// Whether it is proved best.
    pub proved: bool,
    /// What it saves against one size fewer, as a share; null for the first.
    #[schema(required = true)]
    pub saves: Option<f64>,
}

/// Which search to stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RangeStop {
    /// As its first line told.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub run: u32,
}

/// Whether there was such a search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct RangeStopped {
    /// Whether it was still going on: then its last line comes soon, with the best so far.
    pub stopped: bool,
}
