//! Where one part may not stand beside another, as open convex regions with whole corners.
//!
//! The same set as [`crate::sheet::nofit`] gives, kept as the regions it is the union of: a question about a
//! grid point or a line is answered exactly, and a gap without breadth between two regions is still
//! a place where a part fits.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::convex::{Convex, flip};
use crate::sheet::shape::{Bounds, Spot};

/// Most strips a set is sorted into.
const STRIPS: usize = 256;

/// Regions sorted by where they lie along x.
#[derive(Clone, Debug)]
struct Strips {
    regions: Vec<Convex>,
    from: i64,
    width: i64,
    strips: Vec<Vec<u32>>,
}

/// A union of open convex regions.
#[derive(Clone, Debug)]
pub(super) struct Barred {
    pub bounds: Bounds,
    lines: [Strips; 2],
    /// Corners of the union, to the nearest grid point.
    pub corners: Vec<Spot>,
    /// Whether some side is neither level nor upright.
    pub slanted: bool,
}

/// Open stretches of a line: the grid points strictly between the two of each are barred.
pub(super) type Stretches = Vec<(i64, i64)>;

/// A line direction: upright lines, or level ones with x and y changed over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Along {
    Upright,
    Level,
}

impl Along {
    pub const BOTH: [Self; 2] = [Self::Upright, Self::Level];
    /// To and from the direction's own coordinates, in which its lines are upright.
    pub const fn own(self, p: Spot) -> Spot {
        match self {
            Self::Upright => p,
            Self::Level => flip(p),
        }
    }
}

impl Strips {
    fn new(regions: Vec<Convex>) -> Self {
        let from = regions.iter().map(|c| c.bounds.min.x).min().unwrap_or(0);
        let to = regions.iter().map(|c| c.bounds.max.x).max().unwrap_or(0);
        let count = (regions.len() * 2).clamp(1, STRIPS);
        let width = (to - from) / i64::try_from(count).unwrap_or(1) + 1;
        let mut strips = vec![Vec::new(); count];
        let place = |x: i64| {
            usize::try_from((x - from) / width)
                .unwrap_or(0)
                .min(count - 1)
        };
        for (i, c) in regions.iter().enumerate() {
            let last = place(c.bounds.max.x);
            for strip in strips.iter_mut().take(last + 1).skip(place(c.bounds.min.x)) {
                strip.push(u32::try_from(i).unwrap_or(u32::MAX));
            }
        }
        Self {
            regions,
            from,
            width,
            strips,
        }
    }

    /// Regions whose sides an upright line at `x` passes strictly between.
    fn over(&self, x: i64) -> impl Iterator<Item = &Convex> + '_ {
        let strip = usize::try_from((x - self.from).div_euclid(self.width))
            .ok()
            .and_then(|i| self.strips.get(i));
        strip
            .into_iter()
            .flatten()
            .map(|i| &self.regions[*i as usize])
            .filter(move |c| c.bounds.min.x < x && x < c.bounds.max.x)
    }
}

impl Barred {
    /// Shifts at which something made up of `b` overlaps something made up of `a`.
    pub fn new(a: &[Convex], b: &[Convex]) -> Self {
        let minus: Vec<Convex> = b.iter().map(Convex::mirrored).collect();
        let mut sums: Vec<Convex> = Vec::with_capacity(a.len() * b.len());
        for p in a {
            sums.extend(minus.iter().map(|q| p.plus(q)));
        }
        // What lies in a larger one adds nothing.
        let size = |c: &Convex| c.bounds.width() * c.bounds.height();
        sums.sort_by_key(|c| -size(c));
        let mut kept: Vec<Convex> = Vec::new();
        for c in sums {
            if !kept.iter().take(400).any(|k| k.covers(&c)) {
                kept.push(c);
            }
        }
        Self::of(kept)
    }

    fn of(regions: Vec<Convex>) -> Self {
        let corners = corners(&regions);
        let slanted = regions.iter().any(|c| {
            let next = c.at.iter().cycle().skip(1);
            c.at.iter().zip(next).any(|(a, b)| a.x != b.x && a.y != b.y)
        });
        let mut bounds: Option<Bounds> = None;
        for c in &regions {
            let b = bounds.get_or_insert(c.bounds);
            b.min = Spot::new(b.min.x.min(c.bounds.min.x), b.min.y.min(c.bounds.min.y));
            b.max = Spot::new(b.max.x.max(c.bounds.max.x), b.max.y.max(c.bounds.max.y));
        }
        let flipped = regions.iter().map(Convex::flipped).collect();
        Self {
            bounds: bounds.unwrap_or(Bounds {
                min: Spot::default(),
                max: Spot::default(),
            }),
            lines: [Strips::new(regions), Strips::new(flipped)],
            corners,
            slanted,
        }
    }

    /// Whether a shift is allowed.
    pub fn clear(&self, p: Spot) -> bool {
        let b = self.bounds;
        let outside = p.x <= b.min.x || p.x >= b.max.x || p.y <= b.min.y || p.y >= b.max.y;
        outside || !self.lines[0].over(p.x).any(|c| c.holds(p))
    }

    /// The regions themselves.
    pub fn regions(&self) -> &[Convex] {
        &self.lines[0].regions
    }

    /// The barred stretches of the line at `c`, in the direction's own coordinates, moved by
    /// `by` along the line.
    pub fn section(&self, along: Along, c: i64, by: i64, into: &mut Stretches) {
        let strips = &self.lines[usize::from(along == Along::Level)];
        for region in strips.over(c) {
            let (low, high) = region.section(c);
            if low < high - 1 {
                into.push((low + by, high + by));
            }
        }
    }
}

/// Sorts stretches and joins those that overlap; those that only meet leave the point between them.
pub(super) fn join(stretches: &mut Stretches) {
    stretches.sort_unstable();
    let mut kept = 0;
    for i in 0..stretches.len() {
        let (low, high) = stretches[i];
        if kept > 0 && low < stretches[kept - 1].1 {
            stretches[kept - 1].1 = stretches[kept - 1].1.max(high);
        } else {
            stretches[kept] = (low, high);
            kept += 1;
        }
    }
    stretches.truncate(kept);
}

/// The corners of a union.
fn corners(regions: &[Convex]) -> Vec<Spot> {
    let rings: Vec<Vec<IntPoint<i64>>> = regions
        .iter()
        .map(|c| c.at.iter().map(|p| IntPoint::new(p.x, p.y)).collect())
        .collect();
    let mut overlay = Overlay::<i64>::new(rings.len() * 8);
    overlay.add_source(&rings, ShapeType::Subject);
    let union = overlay.overlay(OverlayRule::Subject, FillRule::NonZero);
    let mut out: Vec<Spot> = union
        .into_iter()
        .flatten()
        .flatten()
        .map(|p| Spot::new(p.x, p.y))
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// `p`, or the clear grid point next to it: corners where slanted sides cross are rounded.
pub(super) fn settled(p: Spot, clear: impl Fn(Spot) -> bool) -> Option<Spot> {
    const NEXT: [(i64, i64); 9] = [
        (0, 0),
        (1, 0),
        (-1, 0),
        (0, 1),
        (0, -1),
        (1, 1),
        (-1, 1),
        (1, -1),
        (-1, -1),
    ];
    let mut around = NEXT.iter().map(|(x, y)| p + Spot::new(*x, *y));
    around.find(|q| clear(*q))
}
