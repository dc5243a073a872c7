//! Edges that two parts share, cut once.
//!
//! Parts laid edge to edge have the line between them twice: once as an edge of each. Here all cut
//! lines of a sheet are split where they meet, what lies on one another becomes one, and the rest is
//! chained into as few strokes as can be.
//!
//! **Where kerf allows.** A tool that takes away a breadth of board, the kerf, must run half of it
//! outside each part. So parts that touch would each lose half a kerf along a shared cut. Laid exactly
//! one kerf apart, both keep their size: the two lines, each moved half a kerf away from its part, fall
//! onto one another in the middle of the gap. Hence lines are first moved and then compared; parts
//! nearer or farther than a kerf share nothing and are cut each for itself.
//!
//! Only straight edges are known. A curve given as short chords is shared where the chords agree.
//!
//! A connected set of lines in which 2k ends are met by an odd number of lines takes k strokes, or one
//! when k is 0, and no fewer: each stroke has two ends (Euler, 1736). Odd ends are joined two by two,
//! the nearest first, the whole is run round at one go, and the joins are left out.

mod net;
#[cfg(test)]
mod tests;

use std::fmt;

use super::order::Task;
use crate::geom::DVec2;

use net::Net;

/// Ends this near one another are one (mm): layouts stand on a grid of 1 um, and moving rounds a little.
pub const TOUCH_MM: f64 = 0.0015;

/// Cut lines of one part, one after another.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Number of the placed part.
    pub part: usize,
    /// Corners in mm. The part lies to the left: outer rings counter-clockwise, cut-outs clockwise.
    pub points: Vec<DVec2>,
    /// Whether the last corner is joined to the first. Open lines are never moved.
    pub closed: bool,
}

/// Lines run at one go.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// Corners in mm, where the middle of the tool runs.
    pub points: Vec<DVec2>,
    /// Whether it ends where it begins; the first corner is then not repeated.
    pub closed: bool,
    /// The parts that have an edge along it, each once, in rising order.
    pub of: Vec<usize>,
}

/// A straight stretch that lies along more than one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// One end (mm).
    pub a: DVec2,
    /// The other (mm).
    pub b: DVec2,
    /// The parts, each once, in rising order.
    pub of: Vec<usize>,
}

/// Every cut line once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Common {
    /// What is run at one go.
    pub chains: Vec<Chain>,
    /// What parts share.
    pub shared: Vec<Stretch>,
    /// Length that would have been cut again (mm).
    pub saved: f64,
}

/// Why lines cannot be joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotCommon {
    /// The outline with this number has a corner that is no number.
    NoNumber(usize),
    /// The outline with this number has too few corners: three when closed, two when open.
    FewCorners(usize),
    /// The outline with this number has a corner so narrow, or an edge so short, that it cannot be
    /// moved half a kerf.
    Narrow(usize),
    /// The kerf is not a number, or below nothing.
    Kerf,
}

impl fmt::Display for NotCommon {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNumber(i) => write!(f, "outline {i} has a corner that is no number"),
            Self::FewCorners(i) => write!(f, "outline {i} has too few corners"),
            Self::Narrow(i) => write!(
                f,
                "outline {i} has an edge too short or a corner too narrow for the kerf"
            ),
            Self::Kerf => f.write_str("the kerf is no length"),
        }
    }
}

impl std::error::Error for NotCommon {}

impl Chain {
    /// As a task to be put in order: begun at any corner, or run from either end.
    #[must_use]
    pub fn task(&self) -> Task {
        match (self.closed, self.points.as_slice()) {
            (false, [a, .., b]) => Task::line(*a, *b),
            (_, all) => Task::ring(all),
        }
    }
    /// The corners as they are run when it is begun at this gate of [`Chain::task`]; a closed one ends
    /// with the corner it begins with.
    #[must_use]
    pub fn run_from(&self, gate: usize) -> Vec<DVec2> {
        let mut points = self.points.clone();
        if self.closed && !points.is_empty() {
            let first = gate % points.len();
            points.rotate_left(first);
            points.push(points[0]);
        } else if gate == 1 {
            points.reverse();
        }
        points
    }
}

/// Every line of the outlines once. With `kerf` (mm) above nothing closed outlines are first moved half
/// of it away from their part; give 0 for a knife, or for lines that have been moved already.
///
/// # Errors
/// What of the outlines cannot be.
pub fn common(outlines: &[Outline], kerf: f64) -> Result<Common, NotCommon> {
    if !(kerf.is_finite() && kerf >= 0.0) {
        return Err(NotCommon::Kerf);
    }
    let mut net = Net::default();
    for (i, outline) in outlines.iter().enumerate() {
        let points = &outline.points;
        if points.iter().any(|p| !p.is_finite()) {
            return Err(NotCommon::NoNumber(i));
        }
        if points.len() < if outline.closed { 3 } else { 2 } {
            return Err(NotCommon::FewCorners(i));
        }
        if outline.closed && kerf > 0.0 {
            let moved = moved(points, kerf / 2.0).ok_or(NotCommon::Narrow(i))?;
            net.add(outline.part, &moved, true);
        } else {
            net.add(outline.part, points, outline.closed);
        }
    }
    net.split();
    Ok(net.common())
}

/// A ring moved to its right, corners carried on to where the moved edges meet.
fn moved(ring: &[DVec2], by: f64) -> Option<Vec<DVec2>> {
    /// How far a corner may be carried on, as a multiple of the move: to 60 degrees.
    const REACH: f64 = 2.0 + 1e-9;
    let mut ring = ring.to_vec();
    ring.dedup_by(|a, b| a.distance(*b) < TOUCH_MM);
    while ring.len() > 1 && ring[0].distance(ring[ring.len() - 1]) < TOUCH_MM {
        ring.pop();
    }
    let n = ring.len();
    if n < 3 {
        return None;
    }
    let along: Vec<DVec2> = (0..n)
        .map(|i| (ring[(i + 1) % n] - ring[i]).normalize_or_zero())
        .collect();
    let out: Option<Vec<DVec2>> = (0..n)
        .map(|i| {
            let (a, b) = (along[(i + n - 1) % n], along[i]);
            // The sum of both right-hand normals points to the moved corner.
            let sum = -a.perp() - b.perp();
            let reach = 2.0 / sum.length();
            (reach <= REACH).then(|| ring[i] + sum.normalize() * (by * reach))
        })
        .collect();
    let out = out?;
    let forward = (0..n).all(|i| (out[(i + 1) % n] - out[i]).dot(along[i]) > TOUCH_MM);
    forward.then_some(out)
}
