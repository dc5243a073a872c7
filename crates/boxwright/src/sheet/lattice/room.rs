//! Where a part may stand on a sheet or off-cut of any outline.

use super::barred::{Along, Barred, Stretches, join};
use super::convex::{Convex, flip, pieces};
use super::kit::Kind;
use crate::sheet::shape::{Bounds, Shape, Spot};

/// Where the least corner of a kind's box may lie.
#[derive(Debug)]
pub(super) struct Room {
    /// The box of such places.
    pub reach: Bounds,
    /// What the rest of the box of the sheet bars; none for a rectangle.
    outside: Option<Barred>,
    /// Corners of the region, those of the box when the sheet is a rectangle.
    pub corners: Vec<Spot>,
}

/// A sheet, with what lies round it and in its holes cut into pieces.
#[derive(Debug)]
pub(super) struct Sheet {
    pub bounds: Bounds,
    around: Vec<Convex>,
    /// Twice its area.
    pub doubled: i128,
}

impl Sheet {
    /// `None` for a sheet without area.
    pub fn new(shape: &Shape) -> Option<Self> {
        let bounds = shape.bounds();
        let doubled = shape.doubled_area();
        if doubled <= 0 || pieces(shape).is_empty() {
            return None;
        }
        let whole = i128::from(bounds.width()) * i128::from(bounds.height()) * 2;
        let mut around = Vec::new();
        if doubled < whole {
            // A narrow frame will do: the reach keeps every part within the box of the sheet.
            let mut hole = shape.outer.clone();
            hole.reverse();
            let mut frame = Shape::rect(bounds.width() + 2, bounds.height() + 2)
                .moved(bounds.min - Spot::new(1, 1));
            frame.holes.push(hole);
            around = pieces(&frame);
            for hole in &shape.holes {
                let mut outer = hole.clone();
                outer.reverse();
                around.extend(pieces(&Shape {
                    outer,
                    holes: Vec::new(),
                }));
            }
        }
        Some(Self {
            bounds,
            around,
            doubled,
        })
    }

    /// Whether it is an upright rectangle.
    pub fn plain(&self) -> bool {
        self.around.is_empty()
    }

    /// The places of a kind; `None` when there is none.
    pub fn room(&self, kind: &Kind) -> Option<Room> {
        let reach = Bounds {
            min: self.bounds.min,
            max: self.bounds.max - kind.size,
        };
        if reach.width() < 0 || reach.height() < 0 {
            return None;
        }
        let outside = (!self.around.is_empty()).then(|| Barred::new(&self.around, &kind.pieces));
        let mut corners = vec![
            reach.min,
            Spot::new(reach.max.x, reach.min.y),
            reach.max,
            Spot::new(reach.min.x, reach.max.y),
        ];
        let mut room = Room {
            reach,
            outside,
            corners: Vec::new(),
        };
        if let Some(outside) = &room.outside {
            corners.extend(
                outside
                    .corners
                    .iter()
                    .filter_map(|p| super::barred::settled(*p, |q| room.holds(q))),
            );
        }
        corners.retain(|p| room.holds(*p));
        corners.sort_unstable_by_key(|p| (p.y, p.x));
        corners.dedup();
        room.corners = corners;
        Some(room)
    }
}

impl Room {
    /// Part of a rectangle's room.
    pub fn plain(reach: Bounds) -> Self {
        Self {
            reach,
            outside: None,
            corners: vec![reach.min],
        }
    }

    /// Whether the sheet is a rectangle.
    pub fn is_plain(&self) -> bool {
        self.outside.is_none()
    }

    /// Whether a kind may stand there.
    pub fn holds(&self, p: Spot) -> bool {
        let Bounds { min, max } = self.reach;
        p.x >= min.x
            && p.x <= max.x
            && p.y >= min.y
            && p.y <= max.y
            && self.outside.as_ref().is_none_or(|o| o.clear(p))
    }

    /// What bars the line at `c`, in the direction's own coordinates.
    pub fn section(&self, along: Along, c: i64, into: &mut Stretches) {
        if let Some(outside) = &self.outside {
            outside.section(along, c, 0, into);
        }
    }

    /// Least and greatest along a line, in the direction's own coordinates.
    pub fn ends(&self, along: Along) -> Bounds {
        match along {
            Along::Upright => self.reach,
            Along::Level => Bounds {
                min: flip(self.reach.min),
                max: flip(self.reach.max),
            },
        }
    }
}

/// The first clear place on a line from `from` on.
pub(super) fn first_clear(stretches: &mut Stretches, from: i64) -> i64 {
    join(stretches);
    clear_from(stretches, from)
}

/// The same when the stretches are joined already.
pub(super) fn clear_from(joined: &Stretches, from: i64) -> i64 {
    joined
        .iter()
        .find(|(low, high)| *low < from && from < *high)
        .map_or(from, |(_, high)| *high)
}
