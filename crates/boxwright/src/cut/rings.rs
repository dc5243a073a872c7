//! The lines of placed parts as what a machine sees: closed contours, open cuts, marks.
//!
//! A contour runs with the board of its part on its left: outlines counter-clockwise, windows
//! clockwise. An outline that a slit opens to the outside comes in several runs; they are joined
//! end to end, keeping to the right where they fork, which is where the outline goes on.

use crate::blank::LineUse;
use crate::geom::{DVec2, Path};
use crate::machine::Runs;
use crate::sheet::{Layout, Placed};

/// Ends within this of each other are one, in mm: blanks are drawn to a millionth, layouts written
/// to a ten-thousandth.
const SAME_END_MM: f64 = 1e-3;
/// Farthest that a chord strays from its arc where contours are told inside from outside, in mm.
const CHORD_MM: f64 = 0.05;

/// A closed cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// As drawn, board on its left.
    pub path: Path,
    /// Which placed part of the sheet.
    pub part: usize,
    /// Whether it is a window, else an outline.
    pub window: bool,
}

/// Any other line.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// What it is for.
    pub line_use: LineUse,
    /// As drawn.
    pub path: Path,
    /// Which placed part of the sheet.
    pub part: usize,
    /// Which way it runs.
    pub runs: Runs,
}

/// Everything on one sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lines {
    /// Outlines and windows.
    pub contours: Vec<Contour>,
    /// Open cuts: knife-wide slits.
    pub slits: Vec<Drawn>,
    /// Creases, perforations and engravings.
    pub marks: Vec<Drawn>,
}

impl Lines {
    /// Where the marks and slits of a part end.
    #[must_use]
    pub fn ends(&self, part: usize) -> Vec<DVec2> {
        let own = self
            .marks
            .iter()
            .chain(&self.slits)
            .filter(|d| d.part == part);
        let ends = own.flat_map(|d| [d.path.vertices.first(), d.path.vertices.last()]);
        ends.flatten().map(|v| v.at).collect()
    }
}

/// The lines of the parts on a sheet, in the sheet's coordinates. Parts that the layout does not
/// have are passed over.
#[must_use]
pub fn lines(layout: &Layout, placed: &[Placed]) -> Lines {
    let mut out = Lines::default();
    for (n, p) in placed.iter().enumerate() {
        let Some(part) = layout.parts.get(p.part) else {
            continue;
        };
        let place = p.placement();
        let mut cuts: Vec<Path> = Vec::new();
        for line in &part.lines {
            let path = place.path(&line.path);
            match line.line_use {
                LineUse::Board => {}
                LineUse::Cut => cuts.push(path),
                line_use => out.marks.push(drawn(line_use, path, n)),
            }
        }
        let (rings, open) = joined(cuts);
        let windows: Vec<bool> = (0..rings.len())
            .map(|i| {
                let around = (0..rings.len()).filter(|j| *j != i && lies_in(&rings[i], &rings[*j]));
                around.count() % 2 == 1
            })
            .collect();
        for (path, window) in rings.into_iter().zip(windows) {
            let path = if (path.area() > 0.0) == window {
                path.reversed()
            } else {
                path
            };
            out.contours.push(Contour {
                path,
                part: n,
                window,
            });
        }
        let slit = |path| drawn(LineUse::Cut, path, n);
        out.slits.extend(open.into_iter().map(slit));
    }
    out
}

/// Flutes of a sheet run along x.
fn drawn(line_use: LineUse, path: Path, part: usize) -> Drawn {
    let ends = path.vertices.first().zip(path.vertices.last());
    let way = ends.map_or(DVec2::X, |(a, b)| b.at - a.at);
    let runs = if way.x.abs() >= way.y.abs() {
        Runs::Along
    } else {
        Runs::Across
    };
    Drawn {
        line_use,
        path,
        part,
        runs,
    }
}

/// Runs joined to rings, and those that are left open.
fn joined(cuts: Vec<Path>) -> (Vec<Path>, Vec<Path>) {
    let (mut rings, mut open) = (Vec::new(), Vec::new());
    let mut runs: Vec<Option<Path>> = Vec::new();
    for path in cuts {
        if path.closed {
            rings.push(path);
        } else if path.vertices.len() > 1 {
            runs.push(Some(path));
        }
    }
    for first in 0..runs.len() {
        let Some(mut ring) = runs[first].take() else {
            continue;
        };
        let mut taken: Vec<(usize, Path)> = vec![(first, ring.clone())];
        while !is_round(&ring) {
            let Some(next) = following(&ring, &runs) else {
                break;
            };
            let Some(more) = runs[next].take() else {
                break;
            };
            ring.vertices.pop();
            ring.vertices.extend(more.vertices.iter().copied());
            taken.push((next, more));
        }
        if is_round(&ring) {
            ring.vertices.pop();
            ring.closed = true;
            rings.push(ring);
        } else {
            // No ring: the others may still be one without it.
            let mut back = taken.into_iter();
            open.extend(back.next().map(|(_, path)| path));
            for (n, path) in back {
                runs[n] = Some(path);
            }
        }
    }
    (rings, open)
}

fn is_round(path: &Path) -> bool {
    let ends = path.vertices.first().zip(path.vertices.last());
    path.vertices.len() > 2 && ends.is_some_and(|(a, b)| a.at.distance(b.at) < SAME_END_MM)
}

/// The run that begins where this one ends; of several the one that turns furthest to the right.
fn following(path: &Path, runs: &[Option<Path>]) -> Option<usize> {
    let end = path.vertices.last()?.at;
    let along = heading_out(&path.reversed())?;
    let turn = |p: &Path| {
        let way = heading_out(p).unwrap_or(DVec2::X);
        (-along).perp_dot(way).atan2((-along).dot(way))
    };
    let begins = |p: &Path| {
        p.vertices
            .first()
            .is_some_and(|v| v.at.distance(end) < SAME_END_MM)
    };
    runs.iter()
        .enumerate()
        .filter_map(|(i, r)| r.as_ref().filter(|p| begins(p)).map(|p| (i, turn(p))))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(i, _)| i)
}

/// Direction in which an open path leaves its start.
fn heading_out(path: &Path) -> Option<DVec2> {
    let s = path.segments().find(|s| s.from != s.to)?;
    let chord = (s.to - s.from).normalize_or_zero();
    Some(DVec2::from_angle(-2.0 * s.bulge.atan()).rotate(chord))
}

/// Whether a ring lies in another. Rings of one sheet do not cross, so that most of the points of
/// one tell; some may lie on the other's line.
#[must_use]
pub fn lies_in(inner: &Path, outer: &Path) -> bool {
    let (a, b) = (inner.bounds(), outer.bounds());
    let apart = a.min.x > b.max.x || b.min.x > a.max.x || a.min.y > b.max.y || b.min.y > a.max.y;
    if apart || inner.area().abs() > outer.area().abs() {
        return false;
    }
    let ring = outer.flattened(CHORD_MM);
    let points: Vec<DVec2> = inner.segments().map(|s| (s.from + s.to) * 0.5).collect();
    let inside = points.iter().filter(|p| holds(&ring, **p)).count();
    2 * inside > points.len()
}

/// Whether a polygon holds a point: how often a ray to the right crosses it.
#[must_use]
pub fn holds(ring: &[DVec2], p: DVec2) -> bool {
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
        })
        .count()
        % 2
        == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(points: &[(f64, f64)]) -> Path {
        Path::line(points.iter().map(|p| DVec2::new(p.0, p.1)))
    }

    #[test]
    fn an_outline_broken_by_slits_is_joined_and_the_slits_stay_open() {
        // A square of 10 with a slit from (4, 0) up to (4, 6) and one from (10, 5) in to (7, 5).
        let cuts = vec![
            run(&[(4.0, 0.0), (10.0, 0.0), (10.0, 5.0)]),
            run(&[
                (10.0, 5.0),
                (10.0, 10.0),
                (0.0, 10.0),
                (0.0, 0.0),
                (4.0, 0.0),
            ]),
            run(&[(4.0, 0.0), (4.0, 6.0)]),
            run(&[(10.0, 5.0), (7.0, 5.0)]),
        ];
        for turn in 0..4 {
            let mut cuts = cuts.clone();
            cuts.rotate_left(turn);
            let (rings, open) = joined(cuts);
            assert_eq!((rings.len(), open.len()), (1, 2), "{turn}");
            assert!((rings[0].area() - 100.0).abs() < 1e-9);
            assert!(open.iter().any(|p| (p.length() - 6.0).abs() < 1e-9));
        }
    }

    #[test]
    fn what_does_not_close_stays_open() {
        let (rings, open) = joined(vec![
            run(&[(0.0, 0.0), (5.0, 0.0)]),
            run(&[(5.0, 0.0), (5.0, 5.0)]),
            run(&[(5.0, 5.0), (1.0, 0.0)]),
        ]);
        assert_eq!((rings.len(), open.len()), (0, 3));
    }
}
