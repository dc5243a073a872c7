//! From the case to the truck. Forces are newtons, edge crush newtons a millimetre.

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

use super::{Shown, State, Unit};

/// A case, and what surrounds it on its way.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShipAsk {
    /// The case.
    pub state: State,
    /// Unit of the sizes in pictures.
    pub unit: Unit,
    /// What surrounds it.
    pub on: ShipConditions,
}

/// What surrounds a packed case, and the tables and rules it is judged by.
#[derive(Clone, Debug, PartialEq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct ShipConditions {
    /// Mass of what is sent, as typed; empty for what the job says of its contents.
    pub mass: String,
    /// Days under load, 0 to 3650.
    #[schema(minimum = 0, maximum = 3650)]
    pub days: f64,
    /// Relative humidity, in percent.
    #[schema(minimum = 0, maximum = 100)]
    pub humidity: f64,
    /// How cases stand on one another.
    pub pattern: ShipPattern,
    /// How far they may stick out over the pallet on each side, as typed; empty for not at all.
    pub overhang: String,
    /// Whether the deck boards of the pallet leave gaps under them.
    pub deck_gap: bool,
    /// Whether they are handled often or roughly.
    pub handling: bool,
    /// How many stand on one another, the bottom one counted; absent to ask only how high is safe.
    #[serde(
        default,
        deserialize_with = "maybe",
        skip_serializing_if = "Option::is_none"
    )]
    #[ts(optional)]
    #[schema(minimum = 1, maximum = 1000, nullable = false)]
    pub high: Option<u32>,
    /// Mass that stands on the uppermost, as typed; empty for none.
    pub above: String,
    /// The rule for the strength a stack asks for.
    pub rule: ShipRule,
    /// Table of losses; empty for the first.
    pub losses: String,
    /// Table of grades; empty for the first.
    pub grades: String,
    /// Tariff of parcels; empty for the first.
    pub parcels: String,
    /// The pallet; empty for the first.
    pub pallet: String,
    /// Greatest height of a loaded pallet over the ground, as typed.
    pub height: String,
    /// Greatest mass of a loaded pallet, as typed; empty for no limit but the pallet's own.
    pub load: String,
}

fn maybe<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<u32>, D::Error> {
    super::state::whole(from).map(Some)
}

/// How cases stand on one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ShipPattern {
    /// Corners on corners.
    ColumnAligned,
    /// In columns, but not straight.
    ColumnOffset,
    /// Each layer bridges the joints of the one below.
    Interlocked,
}

/// A published rule for the strength a stack asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, TS, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ShipRule {
    /// Load over what is kept by the table of losses.
    Losses,
    /// GB 6543-86, annex G.
    Gb,
    /// The same for sea freight.
    GbSea,
    /// 49 CFR 178.606.
    Cfr,
    /// ASTM D4169 in a warehouse, the case alone bearing, assurance II.
    D4169Warehouse,
    /// ASTM D4169 in a vehicle, the case alone bearing, assurance II.
    D4169Vehicle,
}

/// What conditions can be chosen from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct ShipLists {
    /// Tables of losses.
    pub losses: Vec<ShipNamed>,
    /// Tables of grades.
    pub grades: Vec<ShipNamed>,
    /// Tariffs of parcels.
    pub parcels: Vec<ShipNamed>,
    /// Pallets.
    pub pallets: Vec<ShipNamed>,
}

/// A table or a pallet in its list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct ShipNamed {
    /// What to ask for.
    pub name: String,
    /// For people.
    pub title: String,
}

/// Everything that is to be said of shipping one packed case.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ShipShown {
    /// The job's title.
    pub title: String,
    /// The style's title.
    pub style: String,
    /// The board's name.
    pub board: String,
    /// Length, width and depth over all.
    pub outside: [f64; 3],
    /// The three added up.
    pub united: f64,
    /// Mass of the case alone.
    pub case_mass: f64,
    /// Mass of what keeps the contents in place.
    pub fitment_mass: f64,
    /// Mass of what is sent.
    pub contents_mass: f64,
    /// Mass of the packed case.
    pub gross: f64,
    /// Strength of a dry single case.
    pub strength: ShipStrength,
    /// Title of the table of losses.
    pub losses: String,
    /// What takes from the strength.
    pub factors: Vec<ShipFactor>,
    /// Share of the strength kept under all of them.
    pub kept: ShipSpan,
    /// Strength that is left.
    pub left: ShipSpan,
    /// The stack.
    pub stack: ShipStack,
    /// The grade.
    pub grade: ShipGrade,
    /// The parcel.
    pub parcel: ShipParcel,
    /// Lifting it by hand.
    pub lift: ShipLift,
    /// On a pallet.
    pub pallet: ShipPallet,
    /// Handling signs that are due, in words.
    pub signs: Vec<String>,
    /// What to mind, in sentences.
    pub cautions: Vec<Shown>,
}

/// From the least to the most.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipSpan {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// Strength of a dry single case from top to bottom.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ShipStrength {
    /// The range to reckon with.
    pub range: ShipSpan,
    /// What each form of the formula says.
    pub forms: Vec<ShipForm>,
    /// Why it is a range.
    pub spread: Vec<ShipSpread>,
    /// Perimeter through the middle of the walls.
    pub perimeter: f64,
    /// Edge crush of the walls.
    pub ect: f64,
    /// Where the board's edge crush comes from.
    pub ect_from: String,
    /// Whether the formula was made for such a case.
    pub within: bool,
}

/// What a form of the strength formula says.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipForm {
    /// Which.
    pub form: String,
    /// The strength.
    pub force: f64,
}

/// One reason why the strength is a range.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipSpread {
    /// What is not known exactly.
    pub what: String,
    /// What the figure is multiplied with.
    pub times: ShipSpan,
    /// Where this comes from.
    pub from: String,
}

/// What takes from the strength of a stacked case.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipFactor {
    /// The condition in words.
    pub condition: String,
    /// Share kept, from worst to best.
    pub keeps: ShipSpan,
    /// How it was found in its table.
    pub found: String,
    /// Where it comes from.
    pub from: String,
}

/// A stack held against the strength of its cases.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ShipStack {
    /// The rule's name.
    pub rule: String,
    /// Where its figures come from.
    pub from: String,
    /// What it multiplies the load by.
    pub times: ShipSpan,
    /// How many stand on one another; null where none was asked.
    #[schema(required = true)]
    pub high: Option<u32>,
    /// Load on the bottom case.
    #[schema(required = true)]
    pub load: Option<f64>,
    /// Strength this asks for.
    #[schema(required = true)]
    pub needs: Option<ShipSpan>,
    /// Whether the least strength meets the most that is asked.
    #[schema(required = true)]
    pub holds: Option<bool>,
    /// The highest stack for which it does; null when nothing presses.
    #[schema(required = true)]
    pub safe_high: Option<u32>,
    /// Edge crush of board that would carry the stack.
    #[schema(required = true)]
    pub needs_ect: Option<f64>,
}

/// A class of cases or grade of board.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipClass {
    /// What it is called.
    pub name: String,
    /// Greatest gross mass.
    #[schema(required = true)]
    pub mass: Option<f64>,
    /// Greatest outside length + width + depth.
    #[schema(required = true)]
    pub size: Option<f64>,
    /// Least edge crush.
    #[schema(required = true)]
    pub ect: Option<f64>,
    /// Where it comes from.
    pub from: String,
}

/// The case and its board held against a table of grades.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipGrade {
    /// The table's title.
    pub title: String,
    /// Whether the table limits mass or size at all.
    pub limits: bool,
    /// The least class that takes both mass and size.
    #[schema(required = true)]
    pub needs: Option<ShipClass>,
    /// What decides it, in words.
    #[schema(required = true)]
    pub by: Option<String>,
    /// The best class whose edge crush the board reaches.
    #[schema(required = true)]
    pub holds: Option<ShipClass>,
    /// Whether the board reaches what is needed; null where the class asks for no edge crush.
    #[schema(required = true)]
    pub qualifies: Option<bool>,
    /// Edge crush that is missing.
    #[schema(required = true)]
    pub missing: Option<f64>,
}

/// The packed case as a parcel.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipParcel {
    /// The tariff's title.
    pub title: String,
    /// Sides as the tariff rounds them, longest first.
    pub sides: [f64; 3],
    /// Longest side and girth.
    pub girth: f64,
    /// Volumetric mass; null where only the scales count.
    #[schema(required = true)]
    pub volumetric: Option<f64>,
    /// Mass charged.
    pub charged: f64,
    /// Whether volume decides it.
    pub bulky: bool,
    /// Every class, cheapest first.
    pub offers: Vec<ShipOffer>,
}

/// A class of a tariff held against the parcel.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipOffer {
    /// The class.
    pub class: String,
    /// What it costs.
    pub price: f64,
    /// Limits that keep the parcel out, in words; empty where it is taken.
    pub over: Vec<Shown>,
    /// Whether it is the cheapest that takes the parcel.
    pub chosen: bool,
    /// Where the class comes from.
    pub from: String,
}

/// Lifting the packed case by hand.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipLift {
    /// How it is lifted, in words.
    pub task: Shown,
    /// How well hands hold it, in words.
    pub hold: String,
    /// Recommended limit of mass.
    pub limit: f64,
    /// Mass over that limit; null when nothing may be lifted in this way.
    #[schema(required = true)]
    pub index: Option<f64>,
    /// Whether a mark has to say that it is heavy.
    pub heavy: bool,
    /// Whether two have to lift it.
    pub two: bool,
    /// Where the figures come from.
    pub from: String,
}

/// Cases on a pallet, and pallets in containers and trailers.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct ShipPallet {
    /// The pallet's title.
    pub title: String,
    /// The loads that the conditions allow, most cases first; empty when not one case goes.
    pub loads: Vec<ShipLoad>,
    /// The load that stands as the pattern asks.
    #[schema(required = true)]
    pub chosen: Option<u32>,
    /// Containers and trailers, filled with that load and with loose cases.
    pub rooms: Vec<ShipRoom>,
    /// What else there is to know, in sentences.
    pub notes: Vec<Shown>,
}

/// Layers of cases on a pallet.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ShipLoad {
    /// How they lie, in words.
    pub way: String,
    /// Cases.
    pub count: u32,
    /// Cases in a full layer.
    pub per_layer: u32,
    /// Layers.
    pub layers: u32,
    /// Whether it is shown that no layer holds more, in words.
    pub proof: String,
    /// What keeps it from being larger, in words.
    pub limit: String,
    /// Layers that height and mass alone would allow.
    pub layers_by_room: u32,
    /// Load on a bottom case.
    pub pressing: f64,
    /// Strength this asks of it.
    pub needs: ShipSpan,
    /// Height over the ground.
    pub height: f64,
    /// Mass of cases and pallet.
    pub gross: f64,
    /// Area of a layer over that of the pallet.
    pub area_share: f64,
    /// Share of upright edges that stand on an upright edge below; null for a single layer.
    #[schema(required = true)]
    pub corners: Option<f64>,
    /// Its layers from above, as an SVG document; null where it has too many cases to draw.
    #[schema(required = true)]
    pub above: Option<String>,
    /// The whole as it stands, as an SVG document.
    #[schema(required = true)]
    pub picture: Option<String>,
}

/// A container or trailer.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct ShipRoom {
    /// Its title.
    pub title: String,
    /// Loaded pallets in it.
    #[schema(required = true)]
    pub pallets: Option<u32>,
    /// Cases on those.
    #[schema(required = true)]
    pub on_pallets: Option<u32>,
    /// Cases stowed loose, the best way found.
    #[schema(required = true)]
    pub loose: Option<u32>,
    /// Whether mass keeps either from being more.
    pub by_mass: bool,
}
