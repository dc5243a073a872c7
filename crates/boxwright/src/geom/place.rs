//! Rigid placements in the plane.

use glam::{DAffine3, DMat3, DVec2, DVec3};

use super::{Path, Vertex};

/// A turn and a shift: where a panel's own coordinates lie in the blank. Never mirrors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Image of the origin.
    pub origin: DVec2,
    /// Image of the unit vector along x; of unit length.
    pub x: DVec2,
}

impl Placement {
    /// Leaves everything where it is.
    pub const IDENTITY: Self = Self {
        origin: DVec2::ZERO,
        x: DVec2::X,
    };

    /// Image of the unit vector along y.
    #[must_use]
    pub const fn y(self) -> DVec2 {
        DVec2::new(-self.x.y, self.x.x)
    }
    /// Where a point goes.
    #[must_use]
    pub fn point(self, p: DVec2) -> DVec2 {
        self.origin + self.vector(p)
    }
    /// Where a direction goes.
    #[must_use]
    pub fn vector(self, v: DVec2) -> DVec2 {
        self.x * v.x + self.y() * v.y
    }
    /// First `inner`, then `self`.
    #[must_use]
    pub fn then(self, inner: Self) -> Self {
        Self {
            origin: self.point(inner.origin),
            x: self.vector(inner.x),
        }
    }
    /// The placement that undoes this one.
    #[must_use]
    pub fn inverse(self) -> Self {
        let x = DVec2::new(self.x.x, -self.x.y);
        let back = Self {
            origin: DVec2::ZERO,
            x,
        };
        Self {
            origin: -back.vector(self.origin),
            x,
        }
    }
    /// A path moved; bulges keep their sign because placements do not mirror.
    #[must_use]
    pub fn path(self, path: &Path) -> Path {
        Path {
            vertices: path
                .vertices
                .iter()
                .map(|v| Vertex {
                    at: self.point(v.at),
                    bulge: v.bulge,
                })
                .collect(),
            closed: path.closed,
        }
    }
    /// The same placement in space, leaving z alone.
    #[must_use]
    pub fn in_space(self) -> DAffine3 {
        DAffine3 {
            matrix3: DMat3::from_cols(self.x.extend(0.0), self.y().extend(0.0), DVec3::Z),
            translation: self.origin.extend(0.0),
        }
    }
}
