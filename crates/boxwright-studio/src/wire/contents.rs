//! From the things to be sent to inside sizes of a case.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{Inside, ShipNamed, Shown, Unit};

/// Things, and how they are to be packed.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct ContentsAsk {
    /// The things that go into one case.
    pub things: Vec<TypedThing>,
    /// Height of fall, as typed; empty for that of the table.
    pub drop: String,
    /// Table of heights of fall; empty for the usual one.
    pub drop_table: String,
    /// Cushion factor, as typed; empty for the usual one.
    pub factor: String,
    /// Plain clearance on each side, as typed; empty for the usual one.
    pub room: String,
    /// What is to be small.
    pub by: ContentsBy,
    /// Unit of the lengths in reasons and pictures.
    pub unit: Unit,
}

/// A thing as typed.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TypedThing {
    /// What it is called.
    pub name: String,
    /// Its shape.
    pub shape: ThingShape,
    /// Its length; of a cylinder the length of its axis.
    pub length: String,
    /// Its width; empty for a cylinder.
    pub width: String,
    /// Its depth; empty for a cylinder.
    pub depth: String,
    /// Its diameter; empty for anything but a cylinder.
    pub diameter: String,
    /// Mass of one.
    pub mass: String,
    /// Peak acceleration it bears, in g; empty where it is not fragile.
    pub fragile: String,
    /// Which way up it goes.
    pub up: ThingUp,
    /// Whether it may touch others.
    pub touch: bool,
    /// Whether anything may lie on it.
    pub stack: bool,
    /// How many of it.
    #[serde(deserialize_with = "super::state::whole")]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub count: u32,
}

/// Shape of a thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ThingShape {
    /// Length, width and depth.
    Cuboid,
    /// Diameter and length.
    Cylinder,
    /// Length, width and depth, and it lies on its largest face.
    Flat,
}

/// Which way up a thing goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ThingUp {
    /// Any.
    Any,
    /// Its length stays upright.
    Length,
    /// Its width stays upright.
    Width,
    /// Its depth stays upright.
    Depth,
    /// A cylinder lies.
    Diameter,
}

/// What is to be small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ContentsBy {
    /// The volume.
    Volume,
    /// The board of a slotted blank.
    Board,
    /// The depth.
    Flat,
    /// The longest side.
    Cube,
}

/// What packing can be chosen from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct ContentsLists {
    /// Tables of heights of fall.
    pub drops: Vec<ShipNamed>,
}

/// Inside sizes for things.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ContentsShown {
    /// The things in words.
    pub name: String,
    /// Mass of all of them.
    pub mass: f64,
    /// The cushion; null where no thing is fragile.
    #[schema(required = true)]
    pub cushion: Option<ContentsCushion>,
    /// Padding on the two ends of length, width and depth.
    pub padding: Vec<ContentsPadding>,
    /// Sizes, best first.
    pub sizes: Vec<ContentsSize>,
    /// Sizes found beyond these.
    pub more: u32,
    /// Whether the first is shown to be the best, in words.
    pub proof: String,
    /// What to mind, in sentences.
    pub cautions: Vec<Shown>,
}

/// The cushion, with the figures it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ContentsCushion {
    /// The thing that needs it most.
    pub thing: String,
    /// Peak acceleration that it bears, in g.
    pub peak: f64,
    /// Its class of fragility.
    pub class: String,
    /// Height of fall.
    pub drop: f64,
    /// Where that comes from.
    pub drop_from: String,
    /// Speed at the end of the fall, in m/s.
    pub speed: f64,
    /// Cushion factor.
    pub factor: f64,
    /// Thickness on each side.
    pub thickness: f64,
    /// No cushion can do with less travel.
    pub least_travel: f64,
    /// A linear spring needs this much.
    pub spring_travel: f64,
}

/// Padding on one side.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ContentsPadding {
    /// Which side, in words.
    pub side: String,
    /// How thick.
    pub thick: f64,
}

/// One inside size with its arrangement.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ContentsSize {
    /// Inside length, width and depth.
    pub inside: [f64; 3],
    /// Inside volume, in litres.
    pub litres: f64,
    /// Share of it that things fill.
    pub filled: f64,
    /// Area of a plain slotted blank round it.
    pub blank: f64,
    /// What it is the smallest found of.
    pub best_of: Vec<String>,
    /// Static stress on the cushion in kPa: on the ends, the long sides and the floor.
    pub stress: [f64; 3],
    /// What limits it, and how things lie, in sentences.
    pub reasons: Vec<String>,
    /// The arrangement, as an SVG document.
    pub picture: String,
    /// What a job takes over of it.
    pub job: ContentsJob,
}

/// What a job takes over of a size.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct ContentsJob {
    /// Its title.
    pub title: String,
    /// Inside sizes as a job writes them.
    pub inside: Inside,
    /// What is sent, each as a job file writes it.
    pub contents: Vec<String>,
    /// A usual style for it.
    pub style: String,
    /// A usual board for it.
    pub board: String,
}
