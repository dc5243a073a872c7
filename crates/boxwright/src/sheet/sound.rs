//! Whether a shape is one a sheet can have: rings that cross nothing, holes inside, a size that the
//! grid can hold. All of it is decided exactly.

use std::fmt;

use super::shape::{STEPS_PER_MM, Shape, Spot, doubled_area};

/// Longest side of a sheet or off-cut, in grid steps: 20 m, like the largest case.
pub const LARGEST: i64 = 20_000_000;
/// Most corners of one piece of stock, all its rings together.
pub const MOST_CORNERS: usize = 2000;

/// What is wrong with a shape. Rings count from 0, the outer one; corners and sides from 0, a side
/// by the corner it begins at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeFault {
    /// All rings together have more corners than [`MOST_CORNERS`].
    TooManyCorners,
    /// Fewer than three corners.
    FewCorners {
        /// Which ring.
        ring: usize,
    },
    /// A corner farther than [`LARGEST`] from the origin along x or y.
    FarCorner {
        /// Which ring.
        ring: usize,
        /// Which corner.
        corner: usize,
    },
    /// Longer or broader than [`LARGEST`].
    TooLarge,
    /// The same corner twice running.
    Repeated {
        /// Which ring.
        ring: usize,
        /// The second of the two.
        corner: usize,
    },
    /// Two sides meet elsewhere than at their common corner.
    Crossing {
        /// Ring and side.
        one: (usize, usize),
        /// Ring and side.
        other: (usize, usize),
    },
    /// It encloses nothing.
    Flat {
        /// Which ring.
        ring: usize,
    },
    /// A hole that lies outside the outer ring.
    HoleOutside {
        /// Which ring.
        ring: usize,
    },
    /// A hole inside another.
    HoleInHole {
        /// Which ring.
        ring: usize,
    },
    /// An outer ring that turns clockwise, or a hole that does not.
    WrongTurning {
        /// Which ring.
        ring: usize,
    },
    /// The least corner of its bounds is not the origin.
    OffOrigin,
}

impl ShapeFault {
    /// The ring and corner to point at.
    #[must_use]
    pub const fn at(self) -> (usize, Option<usize>) {
        match self {
            Self::TooManyCorners | Self::TooLarge | Self::OffOrigin => (0, None),
            Self::FewCorners { ring }
            | Self::Flat { ring }
            | Self::HoleOutside { ring }
            | Self::HoleInHole { ring }
            | Self::WrongTurning { ring } => (ring, None),
            Self::FarCorner { ring, corner } | Self::Repeated { ring, corner } => {
                (ring, Some(corner))
            }
            Self::Crossing { one, .. } => (one.0, Some(one.1)),
        }
    }
    /// Its stable code.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::TooManyCorners => "too-many",
            Self::FarCorner { .. } | Self::TooLarge => "too-large",
            Self::FewCorners { .. } | Self::Flat { .. } | Self::Repeated { .. } => "bad-outline",
            Self::Crossing { .. } => "crossing",
            Self::HoleOutside { .. } | Self::HoleInHole { .. } => "bad-hole",
            Self::WrongTurning { .. } | Self::OffOrigin => "bad-shape",
        }
    }
}

impl fmt::Display for ShapeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ring = |ring: usize| match ring {
            0 => "the outline".to_owned(),
            n => format!("hole {n}"),
        };
        #[allow(clippy::cast_precision_loss, reason = "20 m in whole micrometres")]
        let largest = LARGEST as f64 / STEPS_PER_MM / 1000.0;
        match *self {
            Self::TooManyCorners => write!(
                f,
                "a sheet or off-cut has {MOST_CORNERS} corners at most, its holes included"
            ),
            Self::FewCorners { ring: r } => write!(f, "{} needs three corners or more", ring(r)),
            Self::FarCorner { .. } => {
                write!(f, "a corner over {largest} m away is beyond this program")
            }
            Self::TooLarge => write!(
                f,
                "a sheet over {largest} m long or wide is beyond this program"
            ),
            Self::Repeated { ring: r, .. } => {
                write!(f, "{} has this corner twice running", ring(r))
            }
            Self::Crossing { one, other } if one.0 == other.0 => write!(
                f,
                "{} meets itself: the side from corner {} and the side from corner {}",
                ring(one.0),
                one.1 + 1,
                other.1 + 1
            ),
            Self::Crossing { one, other } => write!(
                f,
                "{} meets {}: the side from corner {} and the side from corner {}",
                ring(one.0),
                ring(other.0),
                one.1 + 1,
                other.1 + 1
            ),
            Self::Flat { ring: r } => write!(f, "{} encloses nothing", ring(r)),
            Self::HoleOutside { ring: r } => write!(f, "{} lies outside the outline", ring(r)),
            Self::HoleInHole { ring: r } => write!(f, "{} lies inside another hole", ring(r)),
            Self::WrongTurning { ring: r } => write!(f, "{} turns the wrong way round", ring(r)),
            Self::OffOrigin => write!(f, "the least corner of the piece is not at the origin"),
        }
    }
}

/// The first thing wrong with a shape, if anything is.
#[must_use]
pub fn shape_fault(shape: &Shape) -> Option<ShapeFault> {
    if shape.rings().map(Vec::len).sum::<usize>() > MOST_CORNERS {
        return Some(ShapeFault::TooManyCorners);
    }
    for (ring, corners) in shape.rings().enumerate() {
        if corners.len() < 3 {
            return Some(ShapeFault::FewCorners { ring });
        }
        let far = |p: &Spot| p.x.unsigned_abs().max(p.y.unsigned_abs()) > LARGEST.unsigned_abs();
        if let Some(corner) = corners.iter().position(far) {
            return Some(ShapeFault::FarCorner { ring, corner });
        }
        let next = corners.iter().cycle().skip(1);
        if let Some(at) = corners.iter().zip(next).position(|(a, b)| a == b) {
            let corner = (at + 1) % corners.len();
            return Some(ShapeFault::Repeated { ring, corner });
        }
    }
    let bounds = shape.bounds();
    if bounds.width() > LARGEST || bounds.height() > LARGEST {
        return Some(ShapeFault::TooLarge);
    }
    if let Some(ring) = shape.rings().position(|r| in_line(r)) {
        return Some(ShapeFault::Flat { ring });
    }
    if let Some((one, other)) = crossing(shape) {
        return Some(ShapeFault::Crossing { one, other });
    }
    for (i, hole) in shape.holes.iter().enumerate() {
        let ring = i + 1;
        let Some(first) = hole.first() else { continue };
        if !inside(&shape.outer, *first) {
            return Some(ShapeFault::HoleOutside { ring });
        }
        let mut others = shape.holes.iter().enumerate().filter(|(k, _)| *k != i);
        if others.any(|(_, o)| inside(o, *first)) {
            return Some(ShapeFault::HoleInHole { ring });
        }
    }
    let turned = |(i, r): (usize, &Vec<Spot>)| (doubled_area(r) > 0) != (i == 0);
    if let Some(ring) = shape.rings().enumerate().position(turned) {
        return Some(ShapeFault::WrongTurning { ring });
    }
    (bounds.min != Spot::default()).then_some(ShapeFault::OffOrigin)
}

/// Whether all corners lie on one line. A ring that crosses itself nowhere and is not in line
/// encloses something.
fn in_line(ring: &[Spot]) -> bool {
    ring.windows(3)
        .all(|w| (w[1] - w[0]).cross(w[2] - w[1]) == 0)
}

/// One side of a ring, with where it belongs.
struct Side {
    ring: usize,
    index: usize,
    count: usize,
    from: Spot,
    to: Spot,
}

/// The first two sides, in the order written, that share a point which is not their common corner.
fn crossing(shape: &Shape) -> Option<((usize, usize), (usize, usize))> {
    let mut sides: Vec<Side> = Vec::new();
    for (ring, corners) in shape.rings().enumerate() {
        let next = corners.iter().cycle().skip(1);
        for (index, (from, to)) in corners.iter().zip(next).enumerate() {
            sides.push(Side {
                ring,
                index,
                count: corners.len(),
                from: *from,
                to: *to,
            });
        }
    }
    sides.sort_by_key(|s| (s.from.x.min(s.to.x), s.ring, s.index));
    let mut found: Option<((usize, usize), (usize, usize))> = None;
    for (i, a) in sides.iter().enumerate() {
        let reach = a.from.x.max(a.to.x);
        for b in sides[i + 1..]
            .iter()
            .take_while(|b| b.from.x.min(b.to.x) <= reach)
        {
            if meet(a, b) {
                let (one, other) = ((a.ring, a.index), (b.ring, b.index));
                let pair = (one.min(other), one.max(other));
                found = Some(found.map_or(pair, |f| f.min(pair)));
            }
        }
    }
    found
}

fn meet(a: &Side, b: &Side) -> bool {
    if a.ring == b.ring {
        let (first, second) = if (a.index + 1) % a.count == b.index {
            (a, b)
        } else if (b.index + 1) % b.count == a.index {
            (b, a)
        } else {
            return touch(a, b);
        };
        // Neighbours share a corner; they meet elsewhere only when the second doubles back.
        let (u, v) = (first.to - first.from, second.to - second.from);
        return u.cross(v) == 0 && dot(u, v) < 0;
    }
    touch(a, b)
}

const fn dot(a: Spot, b: Spot) -> i64 {
    a.x * b.x + a.y * b.y
}

/// Whether two sides share a point, their ends included.
fn touch(a: &Side, b: &Side) -> bool {
    let side = |s: &Side, p: Spot| (s.to - s.from).cross(p - s.from).signum();
    let on = |s: &Side, p: Spot| side(s, p) == 0 && dot(s.from - p, s.to - p) <= 0;
    let apart = side(a, b.from) * side(a, b.to) < 0 && side(b, a.from) * side(b, a.to) < 0;
    apart || on(a, b.from) || on(a, b.to) || on(b, a.from) || on(b, a.to)
}

/// Whether a point lies inside a ring; a point on the ring counts either way.
#[must_use]
pub fn inside(ring: &[Spot], p: Spot) -> bool {
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .filter(|(a, b)| {
            if (a.y > p.y) == (b.y > p.y) {
                return false;
            }
            let left = (**b - **a).cross(p - **a);
            if b.y > a.y { left > 0 } else { left < 0 }
        })
        .count()
        % 2
        == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(i64, i64)]) -> Vec<Spot> {
        points.iter().map(|(x, y)| Spot::new(*x, *y)).collect()
    }

    fn fault(outer: &[(i64, i64)], holes: &[&[(i64, i64)]]) -> Option<ShapeFault> {
        shape_fault(&Shape {
            outer: ring(outer),
            holes: holes.iter().map(|h| ring(h)).collect(),
        })
    }

    const SQUARE: &[(i64, i64)] = &[(0, 0), (100, 0), (100, 100), (0, 100)];

    #[test]
    fn sound_shapes_have_no_fault() {
        assert_eq!(fault(SQUARE, &[]), None);
        let hole: &[(i64, i64)] = &[(10, 10), (10, 20), (20, 20), (20, 10)];
        assert_eq!(fault(SQUARE, &[hole]), None);
        // A corner on a straight side is no fault.
        assert_eq!(
            fault(&[(0, 0), (50, 0), (100, 0), (100, 100), (0, 100)], &[]),
            None
        );
    }

    #[test]
    fn crossings_are_named_by_their_sides() {
        let bow = &[(0, 0), (100, 100), (100, 0), (0, 50)];
        let crossing = |one, other| Some(ShapeFault::Crossing { one, other });
        assert_eq!(fault(bow, &[]), crossing((0, 0), (0, 2)));
        // A corner that touches another side, and a side that doubles back.
        let touching = &[(0, 0), (100, 0), (100, 100), (50, 0), (0, 100)];
        assert_eq!(fault(touching, &[]), crossing((0, 0), (0, 2)));
        let spike = &[(0, 0), (100, 0), (100, 100), (100, 50), (0, 100)];
        assert_eq!(fault(spike, &[]), crossing((0, 1), (0, 2)));
        let over: &[(i64, i64)] = &[(90, 10), (90, 20), (110, 20), (110, 10)];
        assert_eq!(fault(SQUARE, &[over]), crossing((0, 1), (1, 1)));
    }

    #[test]
    fn rings_in_the_wrong_place_are_found() {
        let out: &[(i64, i64)] = &[(110, 10), (110, 20), (120, 20), (120, 10)];
        let big: &[(i64, i64)] = &[(10, 10), (10, 90), (90, 90), (90, 10)];
        let small: &[(i64, i64)] = &[(20, 20), (20, 30), (30, 30), (30, 20)];
        assert_eq!(
            fault(SQUARE, &[out]),
            Some(ShapeFault::HoleOutside { ring: 1 })
        );
        assert_eq!(
            fault(SQUARE, &[big, small]),
            Some(ShapeFault::HoleInHole { ring: 2 })
        );
        let reversed: Vec<(i64, i64)> = SQUARE.iter().rev().copied().collect();
        assert_eq!(
            fault(&reversed, &[]),
            Some(ShapeFault::WrongTurning { ring: 0 })
        );
        assert_eq!(
            fault(&[(1, 0), (100, 0), (100, 100)], &[]),
            Some(ShapeFault::OffOrigin)
        );
        assert_eq!(
            fault(&[(0, 0), (0, 0), (100, 100)], &[]),
            Some(ShapeFault::Repeated { ring: 0, corner: 1 })
        );
        assert_eq!(
            fault(&[(0, 0), (50, 50), (100, 100)], &[]),
            Some(ShapeFault::Flat { ring: 0 })
        );
        assert_eq!(
            fault(&[(0, 0), (LARGEST + 1, 0), (100, 100)], &[]),
            Some(ShapeFault::FarCorner { ring: 0, corner: 1 })
        );
    }
}
