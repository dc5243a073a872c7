//! The first article: test strips, readings, measured figures and the spread of many cases.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{Crease, FieldError, Shown, State};

/// Test strips to make.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct StripsAsk {
    /// Strips of this board.
    pub board: String,
    /// Name of the machine they are cut on; absent when none is named, and then no kerf is kept.
    #[serde(default)]
    #[ts(optional)]
    pub machine: Option<String>,
    /// How creases are made.
    pub crease: Crease,
    /// How many strips for each direction of the flutes.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 2, maximum = 50)]
    pub strips: u32,
}

/// What is made for a set of strips.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct StripsShown {
    /// The files, the same as the command line writes.
    pub files: Vec<StripsFile>,
    /// Readings to fill in, all of them empty.
    pub readings: Readings,
    /// What to take care of.
    pub caution: String,
}

/// One of the files.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct StripsFile {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub label: String,
}

/// A file of a set of strips.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StripsFileAsk {
    /// The strips.
    pub strips: StripsAsk,
    /// Its name.
    pub name: String,
}

/// What was read on the strips. Lengths as typed, each with its unit; empty for one not taken.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct Readings {
    /// The board's name.
    pub board: String,
    /// The machine's name; empty when none is named.
    pub machine: String,
    /// How the creases were made: hand, wheel, rule or perforated.
    pub crease: String,
    /// The day, as it is written.
    pub when: String,
    /// What else is noted.
    pub note: String,
    /// Smallest step that the instrument shows.
    pub step: String,
    /// Thickness of the board, in several places.
    #[schema(max_items = 1000)]
    pub caliper: Vec<String>,
    /// Channels with their creases along the flutes.
    #[schema(max_items = 1000)]
    pub along: Vec<ChannelRead>,
    /// Channels with their creases across the flutes.
    #[schema(max_items = 1000)]
    pub across: Vec<ChannelRead>,
    /// Holes and the pieces that fell out of them.
    #[schema(max_items = 1000)]
    pub gauges: Vec<GaugeRead>,
}

/// A strip folded to a channel with two upright walls.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChannelRead {
    /// From crease to crease, as drawn.
    pub drawn: String,
    /// Clear width between the walls.
    pub inside: String,
    /// Width over the walls.
    pub outside: String,
}

/// A hole and the piece that fell out of it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeRead {
    /// Width of the hole.
    pub hole: String,
    /// Width of the piece.
    pub piece: String,
}

/// A measurements file to read.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingsAsk {
    /// Its text.
    pub text: String,
}

/// What readings come to.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Fit {
    /// Messages that belong to a reading: `caliper.0`, `along.2.inside`, `gauges.1.piece` ...
    pub fields: Vec<FieldError>,
    /// Messages that belong to none.
    pub notes: Vec<FieldError>,
    /// The figures; null when the readings give none.
    #[schema(required = true)]
    pub figures: Option<Vec<FigureShown>>,
    /// How many readings were not taken.
    pub empty: u32,
    /// The readings as a measurements file for the command line.
    pub file: String,
}

/// A measured figure.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct FigureShown {
    /// `caliper`, `along`, `across` or `kerf`.
    pub name: String,
    /// In words.
    pub words: String,
    /// Whether it is a length in mm; else a share of the thickness.
    pub length: bool,
    /// The value that fits best.
    pub value: f64,
    /// Half of the interval that holds the true value in 95 of 100 such measurements.
    pub half: f64,
    /// Standard deviation of single readings.
    pub spread: f64,
    /// How many readings it rests on.
    pub count: u32,
}

/// Figures that are kept in the opened folder.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct MeasuredBook {
    /// Sets of figures, the latest first.
    pub sets: Vec<MeasuredSet>,
}

/// Figures of one board, one machine and one way of creasing.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct MeasuredSet {
    /// Its number, by which it is forgotten.
    #[ts(type = "number")]
    pub number: i64,
    /// The board's name.
    pub board: String,
    /// The machine's name; null where none was named.
    #[schema(required = true)]
    pub machine: Option<String>,
    /// How creases were made.
    pub crease: String,
    /// The day, as it was written.
    pub when: String,
    /// What else was noted.
    pub note: String,
    /// When it was kept, in seconds since the beginning of 1970.
    #[ts(type = "number")]
    pub at: i64,
    /// The figures.
    pub figures: Vec<FigureShown>,
}

/// A change of what is kept.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(tag = "do", rename_all = "lowercase")]
pub enum MeasuredChange {
    /// Fits readings and keeps the figures.
    Keep {
        /// The readings.
        readings: Box<Readings>,
    },
    /// Forgets a set; the one before it counts again.
    Forget {
        /// Its number.
        #[serde(deserialize_with = "super::state::whole")]
        #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
        number: u32,
    },
}

/// Many cases of a job to try.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct SpreadAsk {
    /// The case.
    pub state: State,
    /// How many cases.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 100, maximum = 20_000)]
    pub cases: u32,
    /// Where random numbers begin.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub seed: u32,
    /// Room that may be lacking before a case counts as too small, as typed; empty for none.
    pub short: String,
}

/// A line of the answer: exactly one of the two kinds.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(untagged)]
pub enum SpreadLine {
    /// How far it is.
    Tick(SpreadTick),
    /// The last line; when it is missing the answer was cut off.
    Finished(Box<SpreadShown>),
}

/// How far it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SpreadTick {
    /// Cases worked out, those of one cause alone among them.
    pub done: u32,
    /// Cases in all.
    pub of: u32,
}

/// What many cases come to.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct SpreadShown {
    /// Always true.
    pub finished: bool,
    /// How many were worked out.
    pub cases: u32,
    /// Clear room that is asked.
    pub asked: [f64; 3],
    /// Measured figures that it rests on, in words; null when there are none.
    #[schema(required = true)]
    pub measured: Option<String>,
    /// What differs, and by how much.
    pub differs: Vec<SpreadCause>,
    /// Cases that hold the asked room.
    pub holds: SpreadShare,
    /// Cases that hold it and fail no check that the case as drawn passes.
    pub good: SpreadShare,
    /// How much more there is than asked, on average: length, width, depth.
    pub mean: [f64; 3],
    /// Standard deviation of the same.
    pub deviation: [f64; 3],
    /// The direction that lacks most often, whose causes are told: length, width or depth.
    pub direction: String,
    /// What to add so that 95 % and 99 % of all cases hold.
    pub add: Vec<SpreadRoom>,
    /// Checks that fail on some cases.
    pub fails: Vec<SpreadFail>,
    /// Codes of the checks that fail on the case as drawn already, which is not counted.
    pub before: Vec<String>,
}

/// Something that differs from case to case.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct SpreadCause {
    /// In words.
    pub words: String,
    /// Its standard deviation with its unit.
    pub deviation: Shown,
    /// Where that comes from.
    pub from: String,
    /// Its share of the variance in the direction that lacks most often.
    pub share: f64,
}

/// A share of cases with its interval of 95 %.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct SpreadShare {
    /// How many.
    pub cases: u32,
    /// The share.
    pub share: f64,
    /// Least and greatest share that go with it.
    pub between: [f64; 2],
}

/// What to add to the sizes that are asked.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct SpreadRoom {
    /// The share of cases that then hold.
    pub share: f64,
    /// What to add to length, width and depth.
    pub add: [f64; 3],
}

/// A check that fails on some cases.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct SpreadFail {
    /// Its code.
    pub code: String,
    /// On how many.
    pub cases: u32,
}
