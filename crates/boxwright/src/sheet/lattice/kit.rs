//! What a search needs of one shape: it in each turn, and where each may stand beside each.

use std::cell::OnceCell;

use super::barred::Barred;
use super::convex::{Convex, pieces};
use crate::sheet::shape::{Bounds, Shape, Spot, Turn};

/// Coordinates beyond this many grid steps (67 m) are refused: products stay exact.
pub(super) const FARTHEST: i64 = 1 << 26;

/// Pieces, of five corners each, up to which sums are reckoned of the shape itself and not of a simpler one.
const HANDY: usize = 30;

/// A shape in one turn, moved so that the least corner of its box is the origin.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    pub turn: Turn,
    /// From the least corner of the box to the shape's own origin.
    pub lead: Spot,
    /// Breadth and height of its box.
    pub size: Spot,
    pub shape: Shape,
    pub pieces: Vec<Convex>,
}

/// A part laid: which kind, and where the least corner of its box lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Member {
    pub at: Spot,
    pub kind: usize,
}

/// A shape in every turn it may take.
#[derive(Debug)]
pub(super) struct Kit {
    pub kinds: Vec<Kind>,
    barred: Vec<OnceCell<Barred>>,
    /// Twice the area of the shape as it was given.
    pub doubled: i128,
}

/// Whether every corner keeps within what can be reckoned exactly.
pub(super) fn in_reach(shape: &Shape) -> bool {
    shape
        .rings()
        .flatten()
        .all(|p| p.x.abs() <= FARTHEST && p.y.abs() <= FARTHEST)
}

impl Kit {
    /// `None` for a shape without area or out of reach, or without a turn. `stand_in` holds the
    /// shape within it and is what is searched with; turns that look the same are kept once.
    pub fn new(shape: &Shape, stand_in: &Shape, turns: &[Turn]) -> Option<Self> {
        if !in_reach(shape) || !in_reach(stand_in) {
            return None;
        }
        let doubled = shape.doubled_area();
        let mut kinds: Vec<Kind> = Vec::new();
        for turn in turns {
            let turned = stand_in.turned(*turn);
            let Bounds { min, max } = turned.bounds();
            let shape = turned.moved(-min);
            if kinds.iter().any(|k| same(&k.shape, &shape)) {
                continue;
            }
            let pieces = pieces(&shape);
            if pieces.is_empty() {
                return None;
            }
            kinds.push(Kind {
                turn: *turn,
                lead: -min,
                size: max - min,
                shape,
                pieces,
            });
        }
        let count = kinds.len();
        (count > 0 && doubled > 0).then(|| Self {
            kinds,
            barred: vec![OnceCell::new(); count * count],
            doubled,
        })
    }

    /// Whether it is of so few pieces that its own sums are soon reckoned.
    pub fn handy(&self) -> bool {
        self.kinds.iter().all(|k| {
            let corners: usize = k.pieces.iter().map(|p| p.at.len()).sum();
            k.pieces.len() <= HANDY && corners <= HANDY * 5
        })
    }

    /// Shifts of kind `b` barred beside kind `a` at the origin.
    pub fn barred(&self, a: usize, b: usize) -> &Barred {
        self.barred[a * self.kinds.len() + b]
            .get_or_init(|| Barred::new(&self.kinds[a].pieces, &self.kinds[b].pieces))
    }

    /// Whether two parts keep clear of each other.
    pub fn apart(&self, a: Member, b: Member) -> bool {
        self.barred(a.kind, b.kind).clear(b.at - a.at)
    }
}

/// Whether two shapes are one ring and the same, wherever the ring starts.
fn same(a: &Shape, b: &Shape) -> bool {
    if !a.holes.is_empty() || !b.holes.is_empty() || a.outer.len() != b.outer.len() {
        return false;
    }
    let n = a.outer.len();
    (0..n).any(|i| (0..n).all(|j| a.outer[j] == b.outer[(i + j) % n]))
}
