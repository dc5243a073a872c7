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
}
