//! What is worth keeping of a sheet after parts were cut from it.
//!
//! A person at the bench keeps a few large pieces and cuts them off straight: so a rest here is what
//! an upright box cuts out of the sheet, clear of every part and the room round it. On a whole sheet
//! that is a rectangle; on an off-cut the piece keeps the off-cut's own edge. The largest is taken
//! first, then the largest of what is left. What falls out of the windows of a part is waste.
//!
//! Nothing here is rounded: parts are covered by boxes that hold them whole, so a rest never shares
//! an inside point with a part grown by the room between parts.

use std::collections::BTreeSet;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;

use super::layout::Layout;
use super::nofit::no_fit;
use super::rings::overlaid;
use super::shape::{Bounds, STEPS_PER_MM, Shape, Spot, doubled_area};
use super::sound::shape_fault;
use crate::units::{Area, Length};

/// Which rests are worth keeping.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keep {
    /// A square of this side, laid along the flutes, must fit on it.
    pub least_side: Length,
    /// It must have this area.
    pub least_area: Area,
    /// No more pieces than this are kept of one sheet.
    pub most: usize,
}

impl Default for Keep {
    /// 150 mm, 0.06 m2 and 6 pieces. Default: what a pad or the blank of a case for a watch movement
    /// is cut from; common practice, no source. Workshops set their own.
    fn default() -> Self {
        Self {
            least_side: Length::mm(150.0),
            least_area: Area::mm2(60_000.0),
            most: 6,
        }
    }
}

/// Finest slice of a slanted or round edge when a part is covered by boxes, as a share of the least
/// side: what is lost along such an edge is less than this share of a piece.
const SLICES_PER_SIDE: i64 = 8;
/// No slice is finer, in grid steps, however small the least side.
const FINEST_SLICE: i64 = 10_000;
/// So many boxes are looked at for each piece that may be kept: not every box gives one.
const LOOKS_PER_PIECE: usize = 4;
/// A piece whose edge would touch a hole or corner of the sheet in one point is cut off this much
/// further in, in grid steps; three tries, then it is not kept.
const DRAW_IN: i64 = 1000;

/// With more boxes than this each part counts as one box, and with more parts than this all of them
/// together: the search takes time and room by the square of their number.
const MOST_BOXES: usize = 2000;

/// The rests of a sheet from which `cut`, parts in the sheet's coordinates, were cut with at least
/// `room` grid steps between them; in the sheet's coordinates, the largest first. They overlap
/// neither each other, nor any part grown by `room`, nor a hole of the sheet. Where one follows a slanted edge
/// of the sheet its corners go to the grid, so that it may stand out by a step there.
#[must_use]
pub fn rests(sheet: &Shape, cut: &[Shape], room: i64, keep: &Keep) -> Vec<Shape> {
    let least = super::shape::steps(keep.least_side).max(1);
    let slice = (least / SLICES_PER_SIDE).max(FINEST_SLICE);
    let mut taken: Vec<Bounds> = cut.iter().flat_map(|part| cover(part, slice)).collect();
    if taken.len() > MOST_BOXES {
        taken = cut.iter().map(Shape::bounds).collect();
    }
    if taken.len() > MOST_BOXES {
        taken = joined(taken.into_iter()).into_iter().collect();
    }
    for b in &mut taken {
        *b = grown(*b, room.max(0));
    }
    let outside = outside(sheet, slice);
    let mut found = Vec::new();
    for _ in 0..keep.most.saturating_mul(LOOKS_PER_PIECE) {
        if found.len() >= keep.most {
            break;
        }
        let all: Vec<Bounds> = taken.iter().chain(&outside).copied().collect();
        let Some(seed) = largest(sheet.bounds(), &all, least, keep.least_area.to_mm2()) else {
            break;
        };
        let wide = widened(seed, sheet, &taken);
        found.extend(pieces(sheet, wide, least, keep.least_area.to_mm2()));
        taken.push(wide);
    }
    found.sort_by_key(|s| (std::cmp::Reverse(s.doubled_area()), s.bounds().min));
    found.truncate(keep.most);
    found
}

/// What is kept of one sheet of a layout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rest {
    /// Index of the sheet in the layout.
    pub sheet: usize,
    /// Its outline in the sheet's coordinates.
    pub shape: Shape,
}

/// The rests of every sheet of a layout that something lies on.
#[must_use]
pub fn rests_of(layout: &Layout, keep: &Keep) -> Vec<Rest> {
    let mut all = Vec::new();
    for (sheet, laid) in layout.sheets.iter().enumerate() {
        let Some(piece) = layout.stock.get(laid.stock) else {
            continue;
        };
        let cut: Vec<Shape> = laid.placed.iter().map(|p| layout.shape_of(*p)).collect();
        if !cut.is_empty() {
            let found = rests(&piece.shape, &cut, layout.spacing, keep);
            all.extend(found.into_iter().map(|shape| Rest { sheet, shape }));
        }
    }
    all
}

fn joined(mut all: impl Iterator<Item = Bounds>) -> Option<Bounds> {
    let first = all.next()?;
    Some(all.fold(first, |a, b| Bounds {
        min: Spot::new(a.min.x.min(b.min.x), a.min.y.min(b.min.y)),
        max: Spot::new(a.max.x.max(b.max.x), a.max.y.max(b.max.y)),
    }))
}

fn grown(b: Bounds, by: i64) -> Bounds {
    let by = Spot::new(by, by);
    Bounds {
        min: b.min - by,
        max: b.max + by,
    }
}

fn rect(b: Bounds) -> Shape {
    Shape::rect(b.width(), b.height()).moved(b.min)
}

/// `a` and `b` joined by a rule, as shapes whose outer rings turn left.
fn overlay(a: &[Shape], b: &[Shape], rule: OverlayRule) -> Vec<Shape> {
    let rings = |shapes: &[Shape]| -> Vec<Vec<Spot>> {
        shapes.iter().flat_map(Shape::rings).cloned().collect()
    };
    overlaid(&rings(a), &rings(b), rule, FillRule::NonZero)
}

/// Boxes that together hold a part with its windows filled: one for each stretch between its
/// level edges, finer where other edges run.
fn cover(part: &Shape, slice: i64) -> Vec<Bounds> {
    let filled = Shape {
        outer: part.outer.clone(),
        holes: Vec::new(),
    };
    if doubled_area(&filled.outer) == 0 {
        return Vec::new();
    }
    slabs(&[filled], slice)
}

/// What of the sheet's bounds is not sheet, in boxes.
fn outside(sheet: &Shape, slice: i64) -> Vec<Bounds> {
    let around = rect(sheet.bounds());
    let rest = overlay(
        &[around],
        std::slice::from_ref(sheet),
        OverlayRule::Difference,
    );
    slabs(&rest, slice)
}

fn slabs(shapes: &[Shape], slice: i64) -> Vec<Bounds> {
    let Some(whole) = joined(shapes.iter().map(Shape::bounds)) else {
        return Vec::new();
    };
    let mut levels = BTreeSet::from([whole.min.y, whole.max.y]);
    let mut slanted: Vec<[i64; 2]> = Vec::new();
    for ring in shapes.iter().flat_map(Shape::rings) {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            if a.y == b.y && (a.x - b.x).abs() >= slice {
                levels.insert(a.y);
            } else if a.x != b.x && a.y != b.y {
                slanted.push([a.y.min(b.y), a.y.max(b.y)]);
            }
        }
    }
    // Slices where edges are slanted or round.
    for y in (whole.min.y..whole.max.y).step_by(usize::try_from(slice).unwrap_or(1)) {
        if slanted.iter().any(|[low, high]| *low < y && y < *high) {
            levels.insert(y);
        }
    }
    let levels: Vec<i64> = levels.into_iter().collect();
    let mut boxes: Vec<Bounds> = Vec::new();
    for pair in levels.windows(2) {
        let slab = rect(Bounds {
            min: Spot::new(whole.min.x, pair[0]),
            max: Spot::new(whole.max.x, pair[1]),
        });
        for part in overlay(shapes, &[slab], OverlayRule::Intersect) {
            let b = part.bounds();
            // The full height of the slab, so that no sliver is left between two boxes.
            let b = Bounds {
                min: Spot::new(b.min.x, pair[0]),
                max: Spot::new(b.max.x, pair[1]),
            };
            let under = boxes
                .iter_mut()
                .find(|o| o.max.y == b.min.y && o.min.x == b.min.x && o.max.x == b.max.x);
            match under {
                Some(o) => o.max.y = b.max.y,
                None => boxes.push(b),
            }
        }
    }
    boxes
}

/// The largest box within `whole` that overlaps none of `taken` and is large enough; of equal ones
/// the lowest, then the leftmost.
fn largest(whole: Bounds, taken: &[Bounds], least: i64, least_area: f64) -> Option<Bounds> {
    let axis = |low: i64, high: i64, ends: &dyn Fn(&Bounds) -> [i64; 2]| -> Vec<i64> {
        let mut all: Vec<i64> = taken.iter().flat_map(ends).collect();
        all.retain(|v| low < *v && *v < high);
        all.extend([low, high]);
        all.sort_unstable();
        all.dedup();
        all
    };
    let xs = axis(whole.min.x, whole.max.x, &|b| [b.min.x, b.max.x]);
    let ys = axis(whole.min.y, whole.max.y, &|b| [b.min.y, b.max.y]);
    let (columns, rows) = (xs.len().checked_sub(1)?, ys.len().checked_sub(1)?);
    let mut full = vec![false; columns * rows];
    for b in taken {
        let span = |all: &[i64], low: i64, high: i64| {
            all.partition_point(|v| *v < low)..all.partition_point(|v| *v < high)
        };
        // A box that ends outside covers the first and last cells as well.
        let across = span(&xs, b.min.x.max(whole.min.x), b.max.x.min(whole.max.x));
        let up = span(&ys, b.min.y.max(whole.min.y), b.max.y.min(whole.max.y));
        for row in up {
            for column in across.clone() {
                if let Some(cell) = full.get_mut(row * columns + column) {
                    *cell = true;
                }
            }
        }
    }
    let mut best: Option<(i128, Bounds)> = None;
    // For each row, how far down from its top each column is free; then the widest box under each
    // height, with a stack of rising heights.
    let mut foot = vec![whole.min.y; columns];
    for row in 0..rows {
        let top = ys[row + 1];
        for column in 0..columns {
            if full[row * columns + column] {
                foot[column] = top;
            }
        }
        let mut stack: Vec<(i64, i64)> = Vec::new(); // left side, foot
        for (column, right) in xs.iter().copied().enumerate().take(columns + 1) {
            let here = foot.get(column).copied().unwrap_or(top);
            let mut left = right;
            while let Some((l, f)) = stack.pop_if(|(_, f)| *f <= here) {
                let b = Bounds {
                    min: Spot::new(l, f),
                    max: Spot::new(right, top),
                };
                left = l;
                let area = i128::from(b.width()) * i128::from(b.height());
                let better =
                    |(a, o): (i128, Bounds)| area > a || (area == a && (f, l) < (o.min.y, o.min.x));
                if b.width() >= least
                    && b.height() >= least
                    && large(2 * area, least_area)
                    && best.is_none_or(better)
                {
                    best = Some((area, b));
                }
            }
            if here < top {
                stack.push((left, here));
            }
        }
    }
    best.map(|(_, b)| b)
}

#[allow(clippy::cast_precision_loss, reason = "compared with a rule of thumb")]
fn large(doubled: i128, least_area: f64) -> bool {
    doubled as f64 / (2.0 * STEPS_PER_MM * STEPS_PER_MM) >= least_area
}

fn apart(a: Bounds, b: Bounds) -> bool {
    a.max.x <= b.min.x || b.max.x <= a.min.x || a.max.y <= b.min.y || b.max.y <= a.min.y
}

/// The box with its sides moved out over the edge of the sheet as far as nothing is taken: of the
/// orders in which the sides can be moved, the one that gives most.
fn widened(seed: Bounds, sheet: &Shape, taken: &[Bounds]) -> Bounds {
    let whole = sheet.bounds();
    let side = |b: Bounds, side: usize| -> Bounds {
        let mut far = b;
        match side {
            0 => far.min.x = whole.min.x,
            1 => far.max.x = whole.max.x,
            2 => far.min.y = whole.min.y,
            _ => far.max.y = whole.max.y,
        }
        for t in taken {
            if apart(*t, far) {
                continue;
            }
            match side {
                0 => far.min.x = far.min.x.max(t.max.x),
                1 => far.max.x = far.max.x.min(t.min.x),
                2 => far.min.y = far.min.y.max(t.max.y),
                _ => far.max.y = far.max.y.min(t.min.y),
            }
        }
        far
    };
    let mut best: Option<(i128, Bounds)> = None;
    for order in [[0, 1, 2, 3], [2, 3, 0, 1], [0, 2, 1, 3], [2, 0, 3, 1]] {
        let b = order.into_iter().fold(seed, side);
        let cut = overlay(
            std::slice::from_ref(sheet),
            &[rect(b)],
            OverlayRule::Intersect,
        );
        let area = cut.iter().map(Shape::doubled_area).sum();
        if best.is_none_or(|(a, _)| area > a) {
            best = Some((area, b));
        }
    }
    best.map_or(seed, |(_, b)| b)
}

/// The pieces that a box cuts out of the sheet, those worth keeping.
fn pieces(sheet: &Shape, b: Bounds, least: i64, least_area: f64) -> Vec<Shape> {
    let one = std::slice::from_ref(sheet);
    for draw_in in 0..3 {
        let within = rect(grown(b, -draw_in * DRAW_IN));
        let all = overlay(one, &[within], OverlayRule::Intersect);
        let sound = |s: &Shape| shape_fault(&s.settled()).is_none();
        let kept: Vec<Shape> = all
            .into_iter()
            .map(|s| s.upright_rect().map_or(s, rect))
            .filter(|s| large(s.doubled_area(), least_area) && holds(s, least))
            .collect();
        if kept.iter().all(sound) {
            return kept;
        }
    }
    Vec::new()
}

/// Whether an upright square fits on the shape.
fn holds(shape: &Shape, side: i64) -> bool {
    let bounds = shape.bounds();
    if bounds.width() < side || bounds.height() < side {
        return false;
    }
    if shape.upright_rect().is_some() {
        return true;
    }
    // One step less, so that a square which just fits leaves a shift with an area.
    let square = Shape::rect(side - 1, side - 1);
    let mut frame = Shape {
        outer: rect(grown(bounds, side + 1)).outer,
        holes: vec![shape.outer.clone()],
    };
    for hole in &mut frame.holes {
        hole.reverse();
    }
    let free: Vec<Shape> = no_fit(&frame, &square)
        .into_iter()
        .flat_map(|s| s.holes)
        .map(|mut outer| {
            outer.reverse();
            Shape {
                outer,
                holes: Vec::new(),
            }
        })
        .collect();
    let islands: Vec<Shape> = shape
        .holes
        .iter()
        .flat_map(|h| {
            let mut outer = h.clone();
            outer.reverse();
            let island = Shape {
                outer,
                holes: Vec::new(),
            };
            no_fit(&island, &square)
        })
        .collect();
    overlay(&free, &islands, OverlayRule::Difference)
        .iter()
        .any(|s| s.doubled_area() > 0)
}

impl Shape {
    /// Its bounds, when it is an upright rectangle anywhere.
    fn upright_rect(&self) -> Option<Bounds> {
        let b = self.bounds();
        let area = 2 * i128::from(b.width()) * i128::from(b.height());
        (self.holes.is_empty() && self.doubled_area() == area).then_some(b)
    }
}
