//! Straight-edged shapes on a grid of whole micrometres: what layouts are searched and proved with.
//!
//! On the grid a product of two coordinates is exact in `i64` up to 1.5 km and in `f64` up to 47 m,
//! so that touching and overlapping can be told apart without a tolerance.

use serde::{Deserialize, Serialize};

use crate::geom::DVec2;
use crate::units::Length;

/// Grid steps in a millimetre.
pub const STEPS_PER_MM: f64 = 1000.0;

/// A point of the grid, or a way from one to another, in micrometres.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
pub struct Spot {
    /// To the right.
    pub x: i64,
    /// Up.
    pub y: i64,
}

/// A turn by quarters, counter-clockwise.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Turn {
    /// As drawn.
    #[default]
    None,
    /// 90 degrees.
    Quarter,
    /// 180 degrees.
    Half,
    /// 270 degrees.
    ThreeQuarters,
}

/// A region with straight edges: an outer ring counter-clockwise and holes clockwise.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shape {
    /// The outer ring.
    pub outer: Vec<Spot>,
    /// The holes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Vec<Spot>>,
}

/// An upright box on the grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// Least corner.
    pub min: Spot,
    /// Greatest corner.
    pub max: Spot,
}

impl Spot {
    /// From whole micrometres.
    #[must_use]
    pub const fn new(x: i64, y: i64) -> Self {
        Self { x, y }
    }
    /// The nearest grid point to a point in mm.
    #[must_use]
    #[allow(
        clippy::cast_possible_truncation,
        reason = "lengths are bounded long before, and a cast saturates"
    )]
    pub fn nearest(mm: DVec2) -> Self {
        Self {
            x: (mm.x * STEPS_PER_MM).round() as i64,
            y: (mm.y * STEPS_PER_MM).round() as i64,
        }
    }
    /// In mm.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "exact below 2^53 micrometres")]
    pub fn to_mm(self) -> DVec2 {
        DVec2::new(self.x as f64, self.y as f64) / STEPS_PER_MM
    }
    /// Twice the area of the triangle from the origin over `self` to `o`; positive when `o` lies to
    /// the left.
    #[must_use]
    pub const fn cross(self, o: Self) -> i64 {
        self.x * o.y - self.y * o.x
    }
    /// Turned about the origin.
    #[must_use]
    pub const fn turned(self, turn: Turn) -> Self {
        match turn {
            Turn::None => self,
            Turn::Quarter => Self::new(-self.y, self.x),
            Turn::Half => Self::new(-self.x, -self.y),
            Turn::ThreeQuarters => Self::new(self.y, -self.x),
        }
    }
}

impl std::ops::Add for Spot {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.y + o.y)
    }
}
impl std::ops::Sub for Spot {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.y - o.y)
    }
}
impl std::ops::Neg for Spot {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

/// A length in grid steps, to the nearest.
#[must_use]
#[allow(
    clippy::cast_possible_truncation,
    reason = "lengths are bounded long before, and a cast saturates"
)]
pub fn steps(length: Length) -> i64 {
    (length.to_mm() * STEPS_PER_MM).round() as i64
}

impl Turn {
    /// All four.
    pub const ALL: [Self; 4] = [Self::None, Self::Quarter, Self::Half, Self::ThreeQuarters];
    /// In quarters of a full turn.
    #[must_use]
    pub const fn quarters(self) -> u8 {
        self as u8
    }
    /// So many quarters, counted modulo four.
    #[must_use]
    pub const fn of_quarters(n: u8) -> Self {
        Self::ALL[(n % 4) as usize]
    }
    /// First `self`, then `o`.
    #[must_use]
    pub const fn then(self, o: Self) -> Self {
        Self::of_quarters(self.quarters() + o.quarters())
    }
    /// The turn that undoes it.
    #[must_use]
    pub const fn back(self) -> Self {
        Self::of_quarters(4 - self.quarters())
    }
    /// The unit vector along x, turned.
    #[must_use]
    pub const fn x(self) -> DVec2 {
        match self {
            Self::None => DVec2::X,
            Self::Quarter => DVec2::Y,
            Self::Half => DVec2::NEG_X,
            Self::ThreeQuarters => DVec2::NEG_Y,
        }
    }
}

/// Twice the signed area of a ring.
#[must_use]
pub fn doubled_area(ring: &[Spot]) -> i128 {
    let wide = |p: Spot| (i128::from(p.x), i128::from(p.y));
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|(a, b)| {
            let ((ax, ay), (bx, by)) = (wide(*a), wide(*b));
            ax * by - ay * bx
        })
        .sum()
}

impl Shape {
    /// A rectangle with its least corner at the origin.
    #[must_use]
    pub fn rect(width: i64, height: i64) -> Self {
        let at = Spot::new;
        Self {
            outer: vec![at(0, 0), at(width, 0), at(width, height), at(0, height)],
            holes: Vec::new(),
        }
    }
    /// Every ring, the outer one first.
    pub fn rings(&self) -> impl Iterator<Item = &Vec<Spot>> {
        std::iter::once(&self.outer).chain(&self.holes)
    }
    /// Twice its area.
    #[must_use]
    pub fn doubled_area(&self) -> i128 {
        self.rings().map(|r| doubled_area(r)).sum()
    }
    /// Its area in mm2.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "for showing and comparing")]
    pub fn area_mm2(&self) -> f64 {
        self.doubled_area() as f64 / (2.0 * STEPS_PER_MM * STEPS_PER_MM)
    }
    /// The upright box round it; empty shapes give a box at the origin.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        let first = self.outer.first().copied().unwrap_or_default();
        let mut b = Bounds {
            min: first,
            max: first,
        };
        for p in &self.outer {
            b.min = Spot::new(b.min.x.min(p.x), b.min.y.min(p.y));
            b.max = Spot::new(b.max.x.max(p.x), b.max.y.max(p.y));
        }
        b
    }
    fn map(&self, f: impl Fn(Spot) -> Spot) -> Self {
        let ring = |r: &Vec<Spot>| r.iter().map(|p| f(*p)).collect();
        Self {
            outer: ring(&self.outer),
            holes: self.holes.iter().map(ring).collect(),
        }
    }
    /// Turned about the origin.
    #[must_use]
    pub fn turned(&self, turn: Turn) -> Self {
        self.map(|p| p.turned(turn))
    }
    /// Seen from below: left and right changed about the origin.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut new = self.map(|p| Spot::new(-p.x, p.y));
        new.outer.reverse();
        new.holes.iter_mut().for_each(|h| h.reverse());
        new
    }
    /// Moved.
    #[must_use]
    pub fn moved(&self, by: Spot) -> Self {
        self.map(|p| p + by)
    }
}

impl Bounds {
    /// Breadth.
    #[must_use]
    pub const fn width(self) -> i64 {
        self.max.x - self.min.x
    }
    /// Height.
    #[must_use]
    pub const fn height(self) -> i64 {
        self.max.y - self.min.y
    }
}
