//! What the search is asked and what it gives: whole steps of 0.1 mm.

use serde::Serialize;

/// Steps in a millimetre.
pub const STEPS_PER_MM: i64 = 10;
/// A set of more things than this is refused.
pub const MOST_ITEMS: usize = 12;

/// A cuboid to be placed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its three sizes, in steps.
    pub size: [i64; 3],
    /// How it may lie: which of its sizes runs along length, width and depth of the room.
    pub ways: Vec<[usize; 3]>,
    /// Whether anything may be above it.
    pub bears: bool,
}

/// Every way of laying a cuboid.
pub const ALL_WAYS: [[usize; 3]; 6] = [
    [0, 1, 2],
    [1, 0, 2],
    [0, 2, 1],
    [2, 0, 1],
    [1, 2, 0],
    [2, 1, 0],
];

impl Item {
    /// Extents in the room, each once, in a fixed order.
    pub(super) fn extents(&self) -> Vec<[i64; 3]> {
        let mut all: Vec<[i64; 3]> = self.ways.iter().map(|w| w.map(|a| self.size[a])).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
    /// Whether it may lie every way and carry.
    pub(super) fn free(&self) -> bool {
        let mut all: Vec<[i64; 3]> = ALL_WAYS.map(|w| w.map(|a| self.size[a])).to_vec();
        all.sort_unstable();
        all.dedup();
        self.bears && self.extents() == all
    }
}

/// Where a thing lies: its corner nearest the origin, and its extents.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Placed {
    /// Corner, in steps.
    pub at: [i64; 3],
    /// Extents along length, width and depth, in steps.
    pub size: [i64; 3],
}

/// Things in a room, one place for each item in the order asked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Packing {
    /// The room they need: length, width, depth, in steps. Length is at least width.
    pub room: [i64; 3],
    /// Where each lies.
    pub placed: Vec<Placed>,
}

/// What is to be small.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// The volume.
    #[default]
    Volume,
    /// The area of a slotted blank, 2 (L + W) (W + D).
    Board,
    /// The depth, then the volume.
    Flat,
    /// The longest side, then the volume.
    Cube,
}

impl By {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Volume, Self::Board, Self::Flat, Self::Cube];
    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Volume => "volume",
            Self::Board => "board",
            Self::Flat => "flat",
            Self::Cube => "cube",
        }
    }
    /// What is compared, of an inside size in steps. No side shrinks by growing: it is monotone.
    #[must_use]
    pub fn score(self, [a, b, d]: [i64; 3]) -> (i64, i64) {
        let (l, w) = (a.max(b), a.min(b));
        let volume = l * w * d;
        match self {
            Self::Volume => (volume, 2 * (l + w) * (w + d)),
            Self::Board => (2 * (l + w) * (w + d), volume),
            Self::Flat => (d, volume),
            Self::Cube => (l.max(d), volume),
        }
    }
}

/// How long to look; a set that is hard is looked at again with twelve times as much. Steps are counted, not seconds, so that the same input gives the same answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Effort {
    /// Arrangements tried by changing one at random, for each of volume and board: so many for eight things, fewer
    /// or more as the square of their number.
    pub tries: u64,
    /// Steps of the exhaustive search that may prove the first answer.
    pub proof: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self {
            tries: 200_000,
            proof: 5_000_000,
        }
    }
}

/// What is compared, of a room with padding added, turned on its floor whichever way is better.
pub(super) fn score(by: By, room: [i64; 3], pads: [i64; 3]) -> (i64, i64) {
    let [x, y, z] = room;
    let one = by.score([x + pads[0], y + pads[1], z + pads[2]]);
    if pads[0] == pads[1] {
        return one;
    }
    one.min(by.score([y + pads[0], x + pads[1], z + pads[2]]))
}
