//! The folded case as a binary glTF 2.0 file: metres, y up, one named node per panel.
//!
//! Each node carries the panel's frame and a mesh in the panel's own axes: first the closed slab,
//! then one closed prism per stretched crease. Positions in the file are single precision, so they
//! are kept in the panel's small coordinates; the frame is written in full.

mod mesh;

use serde_json::{Value, json};

use crate::diag::Diag;
use crate::fold::{Pose, Room, Slab};
use crate::geom::{DAffine3, DVec3};
use glam::DQuat;
use mesh::Mesh;

/// The name of the node that shows the asked clear block.
pub const ROOM_NODE: &str = "asked clear room";

/// The bytes of a GLB file of the pose, with the asked clear room as a translucent block when one
/// is given. Panels without area and wedges without volume are left out.
///
/// # Errors
/// `glb-empty` when nothing is left to write, `glb-outline` when a panel's outline crosses
/// itself so that no closed solid comes of it, `glb-number` when a coordinate is not finite.
pub fn glb(pose: &Pose, room: Option<&Room>) -> Result<Vec<u8>, Diag> {
    let turn = y_up(pose.up);
    let mut file = File::default();
    for slab in &pose.slabs {
        let mut meshes = meshes(slab)?;
        if meshes.is_empty() {
            continue;
        }
        let to_panel = slab.frame.inverse();
        meshes.extend(slab.wedges.iter().filter_map(|w| mesh::wedge(w, &to_panel)));
        let primitives: Vec<Value> = meshes.iter().map(|m| file.primitive(m, true, 0)).collect();
        file.node(&slab.name, turn, &slab.frame, primitives);
    }
    if let Some((room, block)) = shown(room) {
        let at = DAffine3::from_translation((room.min + room.max) * 0.5);
        let primitive = file.primitive(&block, false, 1);
        file.room = true;
        file.node(ROOM_NODE, turn, &at, vec![primitive]);
    }
    if file.nodes.is_empty() {
        return Err(empty());
    }
    Ok(file.bytes(&pose.title))
}

/// Why [`glb`] would refuse, without writing anything.
#[must_use]
pub fn refused(pose: &Pose, room: Option<&Room>) -> Option<Diag> {
    let mut any = shown(room).is_some();
    for slab in &pose.slabs {
        match meshes(slab) {
            Ok(meshes) => any |= !meshes.is_empty(),
            Err(why) => return Some(why),
        }
    }
    (!any).then(empty)
}

fn empty() -> Diag {
    Diag::error("glb-empty", "no panel has any area to show")
}

/// The room with its mesh, where it has any size.
fn shown(room: Option<&Room>) -> Option<(&Room, Mesh)> {
    let room = room.filter(|r| r.min.is_finite() && r.max.is_finite())?;
    Some((room, block(room)?))
}

/// The closed meshes of a slab; none when it encloses nothing.
fn meshes(slab: &Slab) -> Result<Vec<Mesh>, Diag> {
    let points = slab.shape.rings.iter().flatten();
    let finite = slab.frame.is_finite()
        && slab.shape.caliper.is_finite()
        && points.clone().all(|p| p.is_finite())
        && slab.wedges.iter().flat_map(|w| w.0).all(|p| p.is_finite());
    if !finite {
        return Err(Diag::error(
            "glb-number",
            format!("the place of panel '{}' is not a finite number", slab.name),
        ));
    }
    let meshes: Vec<Mesh> = mesh::lobes(&slab.shape)
        .iter()
        .filter_map(mesh::slab)
        .collect();
    if meshes.iter().any(|m| !m.closed()) {
        return Err(Diag::error(
            "glb-outline",
            format!(
                "the outline of panel '{}' crosses itself, so it has no closed solid",
                slab.name
            ),
        ));
    }
    Ok(meshes)
}

/// The turn that brings the pose's upward direction to +y.
fn y_up(up: DVec3) -> DQuat {
    let up = up.try_normalize().unwrap_or(DVec3::Z);
    if up.y < -1.0 + 1e-12 {
        DQuat::from_rotation_x(std::f64::consts::PI)
    } else {
        DQuat::from_rotation_arc(up, DVec3::Y)
    }
}

fn block(room: &Room) -> Option<Mesh> {
    let half = (room.max - room.min).abs() * 0.5;
    let (x, y) = (half.x, half.y);
    let corner = crate::geom::DVec2::new;
    mesh::slab(&crate::fold::Shape {
        rings: vec![vec![
            corner(-x, -y),
            corner(x, -y),
            corner(x, y),
            corner(-x, y),
        ]],
        pieces: Vec::new(),
        caliper: 2.0 * half.z,
        flutes: crate::geom::DVec2::X,
    })
    .map(|mut m| {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "positions are single precision"
        )]
        let lift = (half.z * 1e-3) as f32;
        m.positions.iter_mut().for_each(|p| p[2] += lift);
        m
    })
}

#[derive(Default)]
struct File {
    positions: Vec<u8>,
    normals: Vec<u8>,
    colours: Vec<u8>,
    indices: Vec<u8>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
    room: bool,
}

const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const UNSIGNED_BYTE: u32 = 5121;

impl File {
    fn accessor(&mut self, value: Value) -> usize {
        self.accessors.push(value);
        self.accessors.len() - 1
    }

    fn primitive(&mut self, mesh: &Mesh, coloured: bool, material: usize) -> Value {
        let count = mesh.positions.len();
        let (mut least, mut most) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
        for p in &mesh.positions {
            for k in 0..3 {
                least[k] = least[k].min(p[k]);
                most[k] = most[k].max(p[k]);
            }
        }
        let position = self.accessor(json!({
            "bufferView": 0, "byteOffset": self.positions.len(), "componentType": FLOAT,
            "count": count, "type": "VEC3",
            "min": least.map(f64::from), "max": most.map(f64::from),
        }));
        let normal = self.accessor(json!({
            "bufferView": 1, "byteOffset": self.normals.len(), "componentType": FLOAT,
            "count": count, "type": "VEC3",
        }));
        let mut attributes = json!({ "POSITION": position, "NORMAL": normal });
        if coloured {
            attributes["COLOR_0"] = json!(self.accessor(json!({
                "bufferView": 3, "byteOffset": self.colours.len(), "componentType": UNSIGNED_BYTE,
                "normalized": true, "count": count, "type": "VEC4",
            })));
            self.colours.extend(mesh.colours.iter().flatten());
        }
        let triangles = self.accessor(json!({
            "bufferView": 2, "byteOffset": self.indices.len(), "componentType": UNSIGNED_INT,
            "count": mesh.indices.len(), "type": "SCALAR",
        }));
        let bytes = |v: &[[f32; 3]]| {
            v.iter()
                .flatten()
                .flat_map(|f| f.to_le_bytes())
                .collect::<Vec<u8>>()
        };
        self.positions.extend(bytes(&mesh.positions));
        self.normals.extend(bytes(&mesh.normals));
        self.indices
            .extend(mesh.indices.iter().flat_map(|i| i.to_le_bytes()));
        json!({ "attributes": attributes, "indices": triangles, "material": material })
    }

    fn node(&mut self, name: &str, turn: DQuat, frame: &DAffine3, primitives: Vec<Value>) {
        let rotation = (turn * DQuat::from_mat3(&frame.matrix3)).normalize();
        let translation = turn * frame.translation * 1e-3;
        self.nodes.push(json!({
            "name": name,
            "mesh": self.meshes.len(),
            "translation": translation.to_array(),
            "rotation": rotation.to_array(),
        }));
        self.meshes
            .push(json!({ "name": name, "primitives": primitives }));
    }

    fn bytes(self, title: &str) -> Vec<u8> {
        let mut materials = vec![json!({
            "name": "board",
            "pbrMetallicRoughness": { "metallicFactor": 0.0, "roughnessFactor": 0.9 },
        })];
        if self.room {
            materials.push(json!({
                "name": ROOM_NODE,
                "pbrMetallicRoughness": {
                    "baseColorFactor": [0.12, 0.36, 0.5, 0.25],
                    "metallicFactor": 0.0, "roughnessFactor": 0.9,
                },
                "alphaMode": "BLEND",
            }));
        }
        let blocks = [&self.positions, &self.normals, &self.indices, &self.colours];
        let mut views = Vec::new();
        let mut offset = 0;
        for (k, b) in blocks.iter().enumerate() {
            if b.is_empty() {
                continue;
            }
            let mut view = json!({ "buffer": 0, "byteOffset": offset, "byteLength": b.len() });
            match k {
                2 => view["target"] = json!(34963),
                _ => {
                    view["byteStride"] = json!(if k == 3 { 4 } else { 12 });
                    view["target"] = json!(34962);
                }
            }
            views.push(view);
            offset += b.len();
        }
        let document = json!({
            "asset": { "version": "2.0", "generator": "boxwright" },
            "scene": 0,
            "scenes": [{ "name": title, "nodes": (0..self.nodes.len()).collect::<Vec<_>>() }],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": materials,
            "accessors": self.accessors,
            "bufferViews": views,
            "buffers": [{ "byteLength": offset }],
        });
        let mut text = document.to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let word = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes();
        let mut out = Vec::with_capacity(28 + text.len() + offset);
        out.extend(b"glTF");
        out.extend(2u32.to_le_bytes());
        out.extend(word(28 + text.len() + offset));
        out.extend(word(text.len()));
        out.extend(b"JSON");
        out.extend(text);
        out.extend(word(offset));
        out.extend(b"BIN\0");
        for b in blocks {
            out.extend(b);
        }
        out
    }
}

#[cfg(test)]
mod tests;
