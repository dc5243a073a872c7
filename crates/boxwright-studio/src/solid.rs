//! The folded case for a view in space: slabs in their own coordinates, frames for every stage.

use boxwright::blank::{PanelRef, SoundPlan};
use boxwright::fold::{Angles, Folder, Shape, within_stage};
use boxwright::geom::{DAffine3, DVec2, triangles};

use crate::bends::{Bends, Mouth};
use crate::design::{Keys, key};
use crate::wire::{Frames, Room, Solid, SolidPanel, Stage, Step};

/// Poses on the way through each stage.
const STEPS: u32 = 5;
/// A side whose line is within about ten degrees of the flutes does not show them.
const ACROSS: f64 = 0.17;

/// To 0.0001, and never `-0`.
#[must_use]
pub fn rounded(v: f64) -> f64 {
    (v * 1e4).round() / 1e4 + 0.0
}

/// The folded case.
#[must_use]
pub fn solid(plan: &SoundPlan, folder: &Folder<'_>, keys: &Keys) -> Solid {
    let mut panels = Vec::new();
    for (p, blank) in plan.blanks().iter().enumerate() {
        for (i, shape) in folder.shapes[p].iter().enumerate() {
            let name = plan.name(PanelRef { piece: p, panel: i });
            let mouths = Mouth::of(blank, i);
            panels.push(slab(
                key(&blank.piece, i),
                name,
                &blank.piece,
                shape,
                &mouths,
            ));
        }
    }
    let mut bends = Bends::new(plan);
    let last = plan.stages.len();
    let stages = (0..=last)
        .map(|n| {
            let pose = folder.pose(n);
            Stage {
                title: pose.title,
                text: pose.text,
                frames: frames(plan, folder, &folder.stations[n]),
                bends: bends.at(&folder.stations[n]),
                moved: keys.of(&pose.moved),
            }
        })
        .collect();
    let steps = (0..=last)
        .map(|n| {
            if n == 0 {
                return Vec::new();
            }
            (1..=STEPS)
                .map(|k| {
                    let share = f64::from(k) / f64::from(STEPS + 1);
                    let angles = within_stage(folder, n, share);
                    Step {
                        share: rounded(share),
                        frames: frames(plan, folder, &angles),
                        bends: bends.at(&angles),
                    }
                })
                .collect()
        })
        .collect();
    Solid {
        panels,
        room: Room {
            min: folder.room.min.to_array().map(rounded),
            max: folder.room.max.to_array().map(rounded),
        },
        stages,
        steps,
        bends: bends.done(),
    }
}

fn frames(plan: &SoundPlan, folder: &Folder<'_>, angles: &Angles) -> Frames {
    let mut out = Frames::new();
    let all = folder.frames(angles);
    for (blank, frames) in plan.blanks().iter().zip(&all) {
        for (i, f) in frames.iter().enumerate() {
            out.insert(key(&blank.piece, i), numbers(f));
        }
    }
    out
}

fn numbers(f: &DAffine3) -> Vec<f64> {
    f.to_cols_array().map(rounded).to_vec()
}

/// Whether a side along this line shows the flutes.
pub fn across_flutes(side: DVec2, flutes: DVec2) -> bool {
    let (side, flutes) = (side.normalize_or_zero(), flutes.normalize_or_zero());
    side.perp_dot(flutes).abs() > ACROSS
}

fn slab(key: String, name: String, piece: &str, shape: &Shape, mouths: &[Mouth]) -> SolidPanel {
    let mut out = SolidPanel {
        key,
        name,
        piece: piece.to_owned(),
        positions: Vec::new(),
        indices: Vec::new(),
        kinds: Vec::new(),
        edges: Vec::new(),
    };
    let bottom = -shape.caliper;
    let points: Vec<DVec2> = shape.rings.iter().flatten().copied().collect();
    let faces = triangles(&shape.rings);
    for (z, kind) in [(0.0, 0), (bottom, 1)] {
        let first = out.corner_count();
        for p in &points {
            out.corner(*p, z);
        }
        for &[a, b, c] in &faces {
            let [b, c] = if kind == 0 { [b, c] } else { [c, b] };
            out.triangle([first + index(a), first + index(b), first + index(c)], kind);
        }
    }
    let bends = |a: DVec2, b: DVec2| mouths.iter().any(|m| m.holds(a, b));
    for ring in &shape.rings {
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            let bent = bends(a, b);
            // Where the board goes on into a bend its side shows only as a hair between the two.
            let kind = if bent {
                1
            } else if across_flutes(b - a, shape.flutes) {
                2
            } else {
                3
            };
            let first = out.corner_count();
            for (p, z) in [(a, bottom), (b, bottom), (b, 0.0), (a, 0.0)] {
                out.corner(p, z);
            }
            out.triangle([first, first + 1, first + 2], kind);
            out.triangle([first, first + 2, first + 3], kind);
            let before = ring[(i + ring.len() - 1) % ring.len()];
            for z in [0.0, bottom].into_iter().filter(|_| !bent) {
                out.edge((a, z), (b, z));
            }
            if !smooth(before, a, b) && !bent && !bends(before, a) {
                out.edge((a, 0.0), (a, bottom));
            }
        }
    }
    out
}

/// Whether two sides belong to one rounding: no line is drawn down the board between them.
fn smooth(before: DVec2, at: DVec2, after: DVec2) -> bool {
    const LEAST: f64 = 0.94;
    (at - before)
        .normalize_or_zero()
        .dot((after - at).normalize_or_zero())
        > LEAST
}

impl SolidPanel {
    fn corner_count(&self) -> u32 {
        index(self.positions.len() / 3)
    }
    fn corner(&mut self, p: DVec2, z: f64) {
        self.positions.extend([p.x, p.y, z].map(rounded));
    }
    fn triangle(&mut self, corners: [u32; 3], kind: u8) {
        self.indices.extend(corners);
        self.kinds.push(kind);
    }
    fn edge(&mut self, a: (DVec2, f64), b: (DVec2, f64)) {
        for (p, z) in [a, b] {
            self.edges.extend([p.x, p.y, z].map(rounded));
        }
    }
}

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}
