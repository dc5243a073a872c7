//! The forbidden sets of every two kinds, made when first asked for.
//!
//! A set depends on the two kinds and on how one is turned against the other; every other case is
//! that set turned by quarters or mirrored through the origin, which is exact on the grid.

use super::area::{Area, P, Quarter, Whole as _};
use super::set::Set;
use crate::sheet::nofit::no_fit;
use crate::sheet::shape::{Shape, Turn};

/// Shapes and the sets between them.
pub struct Pairs {
    shapes: Vec<Shape>,
    areas: Vec<[Area; 4]>,
    /// The area of each shape, in squared grid steps,
    sizes: Vec<f64>,
    /// and its root.
    roots: Vec<f64>,
    sets: Vec<Option<Option<Set>>>,
}

/// Where the forbidden set of one shape beside another is, and how to ask it.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// Its number, for [`Pairs::set`].
    pub set: usize,
    /// A shift is turned back by this before it is asked.
    pub quarter: Quarter,
}

impl Pairs {
    /// For these shapes.
    pub fn new(shapes: Vec<Shape>) -> Self {
        let n = shapes.len();
        let areas = shapes
            .iter()
            .map(|s| Turn::ALL.map(|t| Area::of(&s.turned(t))))
            .collect();
        #[allow(clippy::cast_precision_loss, reason = "whole below 2^53")]
        let sizes: Vec<f64> = shapes
            .iter()
            .map(|s| s.doubled_area() as f64 * 0.5)
            .collect();
        let roots = sizes.iter().map(|s| s.max(1.0).sqrt()).collect();
        Self {
            shapes,
            areas,
            sizes,
            roots,
            sets: vec![None; n * (n + 1) / 2 * 4],
        }
    }
    /// The box round a shape as turned.
    pub fn area(&self, kind: usize, turn: Turn) -> Area {
        self.areas[kind][turn as usize]
    }
    /// The area of a shape in squared grid steps.
    pub fn size(&self, kind: usize) -> f64 {
        self.sizes[kind]
    }
    /// The root of its area.
    pub fn root(&self, kind: usize) -> f64 {
        self.roots[kind]
    }
    /// A set by its number.
    #[inline]
    pub fn set(&self, number: usize) -> Option<&Set> {
        self.sets[number].as_ref().and_then(Option::as_ref)
    }
    /// The shifts of `b` forbidden beside `a`, both turned; `None` when nothing is forbidden.
    pub fn way(&mut self, a: (usize, Turn), b: (usize, Turn)) -> Option<Way> {
        let swap = a.0 > b.0;
        let (u, v) = if swap { (b, a) } else { (a, b) };
        let turned = u.1.back().then(v.1);
        let set = (v.0 * (v.0 + 1) / 2 + u.0) * 4 + turned as usize;
        if self.sets[set].is_none() {
            let (s, t) = (&self.shapes[u.0], self.shapes[v.0].turned(turned));
            self.sets[set] = Some(Set::new(&no_fit(s, &t), s, &t));
        }
        self.set(set)?;
        let turn = if swap { u.1.then(Turn::Half) } else { u.1 };
        Some(Way {
            set,
            quarter: Quarter::of(turn),
        })
    }
    /// How deep two placed shapes lie in one another.
    pub fn depth(&mut self, a: (usize, Turn, P), b: (usize, Turn, P)) -> f64 {
        let shift = b.2 - a.2;
        let boxes = self.area(a.0, a.1).room_for_touch(self.area(b.0, b.1));
        if !boxes.holds_inside(shift) {
            return 0.0;
        }
        let Some(way) = self.way((a.0, a.1), (b.0, b.1)) else {
            return 0.0;
        };
        let Some(set) = self.set(way.set) else {
            return 0.0;
        };
        let q = way.quarter.back(shift);
        if set.area.holds_inside(q) {
            set.depth(q, f64::INFINITY)
        } else {
            0.0
        }
    }
    /// A shape where it lies.
    pub fn placed(&self, kind: usize, turn: Turn, at: P) -> Shape {
        self.shapes[kind].turned(turn).moved(at.spot())
    }
}
