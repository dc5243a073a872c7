//! The colours of a picture: paper tones from dark to light, and the same with a cool tint for
//! what moves.

use super::faces::Surface;
use crate::geom::DVec3;

/// Lines and the flutes' wave.
pub(super) const INK: &str = "#3a2f22";
/// The wave of the flutes on a cut side.
pub(super) const FLUTE: &str = "#8a7048";
/// The arrow, and the light rim that keeps it apart from what it crosses.
pub(super) const ARROW: &str = "#0f5a70";
pub(super) const HALO: &str = "#ffffff";

/// The outline of the room a fitment goes into.
pub(super) const ROOM: &str = "#3f6b7a";

const STEPS: usize = 9;

const INSIDE: [[&str; STEPS]; 2] = [
    [
        "#d3c4a6", "#d7c9ac", "#dcceb2", "#e0d3b9", "#e4d8bf", "#e9ddc5", "#ede2cc", "#f2e7d2",
        "#f6ecd8",
    ],
    [
        "#a9bfb6", "#adc4bc", "#b1c9c1", "#b5cec7", "#b9d3cd", "#bdd8d3", "#c1ddd9", "#c5e2df",
        "#c9e7e4",
    ],
];
const OUTSIDE: [[&str; STEPS]; 2] = [
    [
        "#a08560", "#a88d68", "#af946f", "#b69c76", "#bea47e", "#c6ac86", "#cdb48d", "#d4bb94",
        "#dcc39c",
    ],
    [
        "#7b8273", "#82897b", "#889182", "#8e988a", "#95a092", "#9ba899", "#a1afa1", "#a7b7a9",
        "#aebeb0",
    ],
];
const SIDE: [[&str; STEPS]; 2] = [
    [
        "#cdbb98", "#d2c09e", "#d6c6a5", "#dacbab", "#dfd0b2", "#e4d5b8", "#e8dabe", "#ece0c5",
        "#f1e5cb",
    ],
    [
        "#a3b6aa", "#a7bbb0", "#abc0b6", "#afc6bc", "#b3cbc2", "#b7d0c8", "#bcd5ce", "#c0dbd4",
        "#c4e0da",
    ],
];

/// The tone of a surface whose outward normal, with the case upright, is `normal`.
pub(super) fn tone(surface: Surface, moved: bool, normal: DVec3) -> &'static str {
    let table = match surface {
        Surface::Inside => &INSIDE,
        Surface::Outside => &OUTSIDE,
        Surface::Side => &SIDE,
    };
    // Light from above, from the left and a little from the front.
    let light = DVec3::new(-0.45, -0.35, 0.82).normalize();
    let share = 0.5 + 0.5 * normal.dot(light);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "an index clamped to the table"
    )]
    let step = (share * STEPS as f64)
        .floor()
        .clamp(0.0, (STEPS - 1) as f64) as usize;
    table[usize::from(moved)][step]
}
