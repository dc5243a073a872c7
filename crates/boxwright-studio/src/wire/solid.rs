//! The folded case, for a view in space.

use std::collections::BTreeMap;

use serde::Serialize;
use ts_rs::TS;
use utoipa::ToSchema;

/// Where a panel is: its x, y and z axes and its origin in case coordinates, 12 numbers.
pub type Frames = BTreeMap<String, Vec<f64>>;

/// The folded case.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Solid {
    /// The panels, each in its own coordinates: the same in every pose.
    pub panels: Vec<SolidPanel>,
    /// The asked clear room.
    pub room: Room,
    /// The case at rest: flat, then after each stage.
    pub stages: Vec<Stage>,
    /// For each stage, poses on the way to it from the one before; none for the flat blank.
    pub steps: Vec<Vec<Step>>,
    /// The board at the creases: two halves for each, one on each side of the mitre.
    pub bends: Vec<Bend>,
}

/// Half of the board at a crease, in the coordinates of the panel it goes with: a ring drawn out
/// into a bar.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Bend {
    /// Key of the panel it goes with.
    pub panel: String,
    /// From the ring of its first end to that of the other.
    pub along: [f64; 3],
    /// The face it carries on between first and last corner.
    pub inner: Surface,
    /// The face it carries on between second and third corner.
    pub outer: Surface,
    /// Whether its ends show the flutes.
    pub fluted: bool,
    /// Rings it takes on while folding, four corners each: at the slab on the inner side of the
    /// fold, at the slab on the outer side, the ridge, the inner side at the mitre.
    pub shapes: Vec<Vec<f64>>,
}

/// A face of the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Surface {
    /// Toward the goods.
    Inside,
    /// Away from them.
    Outside,
}

/// A panel as a thick slab in its own coordinates: inside face at z = 0, board below.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct SolidPanel {
    /// `piece/index`.
    pub key: String,
    /// Its full name.
    pub name: String,
    /// Its piece.
    pub piece: String,
    /// Corners, three numbers each.
    pub positions: Vec<f64>,
    /// Triangles, three corners each, counter-clockwise seen from outside.
    pub indices: Vec<u32>,
    /// For each triangle: 0 inside face, 1 outside face, 2 edge across the flutes, 3 edge along
    /// them.
    pub kinds: Vec<u8>,
    /// Edges of the slab: pairs of corners, six numbers each.
    pub edges: Vec<f64>,
}

/// An upright block in case coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Room {
    /// One corner.
    pub min: [f64; 3],
    /// The opposite corner.
    pub max: [f64; 3],
}

/// The case at rest after a stage.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Stage {
    /// Its name.
    pub title: String,
    /// The instruction.
    pub text: String,
    /// Where every panel is.
    #[ts(type = "Record<string, number[]>")]
    #[schema(value_type = BTreeMap<String, Vec<f64>>)]
    pub frames: Frames,
    /// For each pair of bends, which of their shapes they have.
    pub bends: Vec<u32>,
    /// Keys of the panels that moved.
    pub moved: Vec<String>,
}

/// A pose on the way.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Step {
    /// How much of the stage is done, between 0 and 1.
    pub share: f64,
    /// Where every panel is.
    #[ts(type = "Record<string, number[]>")]
    #[schema(value_type = BTreeMap<String, Vec<f64>>)]
    pub frames: Frames,
    /// For each pair of bends, which of their shapes they have.
    pub bends: Vec<u32>,
}
