//! Is a layout sound? Answered from the layout alone, by code that shares nothing with the search.
//!
//! Everything is asked of the parts as they are, not grown by any spacing, in whole numbers that
//! cannot overflow: distances are compared as squares. What is asked:
//!
//! - shapes and stock are regions: rings that turn the right way and do not cross themselves;
//! - every line of a part lies in its shape (at its corners, along its arcs and at points between);
//! - each part is there as often as is said, and no more stock is used than there is;
//! - parts lie on their own board, turned as their flutes allow;
//! - no part shares board with another, or comes nearer to one than the spacing; a part in a
//!   window is held to the same;
//! - every part lies in its sheet, its holes left free, by the margin, and within the machine's
//!   reach.

mod exact;

use std::fmt;

use self::exact::{FARTHEST, Region, covers, cross_each_other, edge_within, meeting, too_near};
use super::layout::{Layout, Part, Placed, Proved};
use super::shape::{Bounds, STEPS_PER_MM, Shape, Spot, doubled_area};
use crate::geom::{Path, Vertex};
use crate::units::trimmed;

/// A line may stand out of its part's shape by less than this, in steps: both were brought to the
/// nearest point of the grid.
const ROUNDED: i64 = 2;

/// Arcs of lines are looked at in points so close that chords between them are this near, in mm.
const LOOKED_AT: f64 = 0.01;

/// Points looked at along a straight line, its ends not counted.
const BETWEEN: u32 = 7;

/// So many are told; a layout with more of them is not worth reading on.
const MOST_TOLD: usize = 200;

/// Something wrong with a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Defect {
    /// Stable.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// On which sheet, counted from 0.
    pub sheet: Option<usize>,
    /// Which of what lies there.
    pub placed: Vec<usize>,
    /// Where on the sheet.
    pub at: Option<Spot>,
}

impl fmt::Display for Defect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(n) = self.sheet {
            write!(f, "sheet {}: ", n + 1)?;
        }
        write!(f, "{}", self.message)?;
        if let Some(p) = self.at {
            write!(f, ", at {}, {} mm", mm(p.x), mm(p.y))?;
        }
        Ok(())
    }
}

#[allow(clippy::cast_precision_loss, reason = "exact below 2^53 micrometres")]
fn mm(steps: i64) -> String {
    trimmed(steps as f64 / STEPS_PER_MM, 3)
}

impl Layout {
    /// Proves it.
    ///
    /// # Errors
    /// The layout and everything wrong with it.
    pub fn proved(self) -> Result<Proved, (Box<Self>, Vec<Defect>)> {
        let defects = prove(&self);
        if defects.is_empty() {
            Ok(Proved(self))
        } else {
            Err((Box::new(self), defects))
        }
    }
}

/// What is wrong with a layout, the first 200 things; nothing when it is sound.
#[must_use]
pub fn prove(layout: &Layout) -> Vec<Defect> {
    let mut prover = Prover {
        layout,
        defects: Vec::new(),
    };
    prover.figures();
    prover.shapes();
    // What follows reads indices and multiplies coordinates.
    if prover.defects.is_empty() {
        prover.lines();
        prover.counts();
        for sheet in 0..layout.sheets.len() {
            prover.sheet(sheet);
            if prover.defects.len() >= MOST_TOLD {
                break;
            }
        }
    }
    prover.defects.truncate(MOST_TOLD);
    prover.defects
}

struct Prover<'a> {
    layout: &'a Layout,
    defects: Vec<Defect>,
}

/// A part where it lies.
struct Standing {
    region: Region,
    bounds: Bounds,
    placed: Placed,
    /// A corner of it.
    corner: Spot,
}

impl Prover<'_> {
    fn report(&mut self, code: &'static str, message: String) {
        self.defects.push(Defect {
            code,
            message,
            sheet: None,
            placed: Vec::new(),
            at: None,
        });
    }

    fn figures(&mut self) {
        let l = self.layout;
        if !(0..=FARTHEST).contains(&l.spacing) || !(0..=FARTHEST).contains(&l.margin) {
            self.report(
                "wrong-figure",
                "spacing and margin lie between 0 and 100 m".into(),
            );
        }
        if l.reach
            .is_some_and(|r| r.iter().any(|v| !(1..=FARTHEST).contains(v)))
        {
            self.report(
                "wrong-figure",
                "the machine's reach lies between 0 and 100 m".into(),
            );
        }
        if l.left.len() != l.parts.len() {
            let message = format!(
                "what is left is told of {} parts, and there are {}",
                l.left.len(),
                l.parts.len()
            );
            self.report("wrong-count", message);
        }
        for (i, p) in l.parts.iter().enumerate() {
            if l.parts[..i].iter().any(|q| q.name == p.name) {
                self.report("same-name", format!("two parts are called `{}`", p.name));
            }
        }
        for (i, s) in l.sheets.iter().enumerate() {
            if s.stock >= l.stock.len() {
                let message = format!(
                    "sheet {} is of stock {}, which is not there",
                    i + 1,
                    s.stock
                );
                self.report("wrong-index", message);
            }
            for p in &s.placed {
                if p.part >= l.parts.len() {
                    let message =
                        format!("sheet {} holds part {}, which is not there", i + 1, p.part);
                    self.report("wrong-index", message);
                }
                if far(p.at) {
                    let message = format!("something on sheet {} lies over 100 m away", i + 1);
                    self.report("too-far", message);
                }
            }
        }
    }

    fn shapes(&mut self) {
        let l = self.layout;
        for p in &l.parts {
            self.shape(&format!("part `{}`", p.name), &p.shape);
        }
        for p in &l.stock {
            self.shape(&format!("stock `{}`", p.name), &p.shape);
        }
    }

    fn shape(&mut self, what: &str, shape: &Shape) {
        if shape.rings().flatten().any(|p| far(*p)) {
            self.report("too-far", format!("{what} reaches over 100 m away"));
            return;
        }
        for (i, ring) in shape.rings().enumerate() {
            let (name, turning) = if i == 0 {
                ("outline", 1)
            } else {
                ("window", -1)
            };
            if ring.len() < 3 || doubled_area(ring).signum() != turning {
                let message = format!("the {name} of {what} does not turn the way it has to");
                self.report("wrong-shape", message);
            }
        }
        let edges: Vec<(Spot, Spot)> = shape
            .rings()
            .flat_map(|r| r.iter().copied().zip(r.iter().copied().cycle().skip(1)))
            .collect();
        for (i, a) in edges.iter().enumerate() {
            if edges[i + 1..]
                .iter()
                .any(|b| cross_each_other(a.0, a.1, b.0, b.1))
            {
                let message = format!("the outline of {what} crosses itself");
                self.report("wrong-shape", message);
                return;
            }
        }
    }

    fn lines(&mut self) {
        for p in &self.layout.parts {
            let region = Region::new(p.shape.rings().cloned().collect());
            let out = p.lines.iter().find_map(|l| stands_out(&region, &l.path));
            if let Some(at) = out {
                let message = format!(
                    "a line of part `{}` stands out of its shape at {}, {} mm",
                    p.name,
                    mm(at.x),
                    mm(at.y)
                );
                self.report("line-outside", message);
            }
        }
    }

    fn counts(&mut self) {
        let l = self.layout;
        for (i, p) in l.parts.iter().enumerate() {
            let laid = l.laid(i) as u64;
            let left = u64::from(l.left[i]);
            if laid + left != u64::from(p.wanted) {
                let message = format!(
                    "of part `{}` {} are wanted, but {laid} are laid and {left} left over",
                    p.name, p.wanted
                );
                self.report("wrong-count", message);
            }
        }
        for (i, piece) in l.stock.iter().enumerate() {
            let used = l.sheets.iter().filter(|s| s.stock == i).count() as u64;
            if used > u64::from(piece.count) {
                let message = format!(
                    "{used} of stock `{}` are used, and there are {}",
                    piece.name, piece.count
                );
                self.report("stock-overdrawn", message);
            }
        }
    }

    fn sheet(&mut self, n: usize) {
        let l = self.layout;
        let laid = &l.sheets[n];
        let piece = &l.stock[laid.stock];
        let beyond = Region::new(piece.shape.rings().cloned().collect()).rest();
        let reach = l.reach.map(|[x, y]| Shape::rect(x, y));
        let out_of_reach = reach.map(|r| Region::new(vec![r.outer]).rest());
        let all: Vec<Standing> = laid.placed.iter().map(|p| standing(l, *p)).collect();
        for (i, s) in all.iter().enumerate() {
            let part = &l.parts[s.placed.part];
            let mut report = |code, message, at| {
                self.defects.push(Defect {
                    code,
                    message,
                    sheet: Some(n),
                    placed: vec![i],
                    at: Some(at),
                });
            };
            if part.board != piece.board {
                let message = format!(
                    "`{}` is of board {} and lies on board {}",
                    part.name, part.board, piece.board
                );
                report("wrong-board", message, s.corner);
            }
            if !allowed(part, s.placed) {
                let message = format!("`{}` is turned so that its flutes run wrongly", part.name);
                report("wrong-turn", message, s.corner);
            }
            if let Some(at) = meeting(&s.region, &beyond) {
                let message = format!("`{}` stands out of the sheet", part.name);
                report("outside-sheet", message, at);
            } else if let Some(at) = too_near(&s.region, &beyond, l.margin) {
                let message = format!(
                    "`{}` is nearer to the edge than {} mm",
                    part.name,
                    mm(l.margin)
                );
                report("too-near-edge", message, at);
            }
            if let Some(at) = out_of_reach.as_ref().and_then(|r| meeting(&s.region, r)) {
                let message = format!("`{}` lies beyond the machine's reach", part.name);
                report("out-of-reach", message, at);
            }
        }
        for (i, j) in neighbours(&all, l.spacing) {
            if self.defects.len() >= MOST_TOLD {
                break;
            }
            let (a, b) = (&all[i], &all[j]);
            let names = |p: Placed| &l.parts[p.part].name;
            let both = format!("`{}` and `{}`", names(a.placed), names(b.placed));
            let found = meeting(&a.region, &b.region)
                .map(|at| ("parts-overlap", format!("{both} overlap"), at))
                .or_else(|| {
                    let at = too_near(&a.region, &b.region, l.spacing)?;
                    let message = format!("{both} are nearer than {} mm", mm(l.spacing));
                    Some(("parts-too-near", message, at))
                });
            if let Some((code, message, at)) = found {
                self.defects.push(Defect {
                    code,
                    message,
                    sheet: Some(n),
                    placed: vec![i, j],
                    at: Some(at),
                });
            }
        }
    }
}

const fn far(p: Spot) -> bool {
    p.x.unsigned_abs() > FARTHEST as u64 / 2 || p.y.unsigned_abs() > FARTHEST as u64 / 2
}

fn standing(layout: &Layout, placed: Placed) -> Standing {
    let shape = layout.shape_of(placed);
    let bounds = shape.bounds();
    Standing {
        corner: shape.outer.first().copied().unwrap_or_default(),
        region: Region::new(shape.rings().cloned().collect()),
        bounds,
        placed,
    }
}

/// Pairs whose upright boxes touch or are nearer than the spacing.
fn neighbours(all: &[Standing], spacing: i64) -> Vec<(usize, usize)> {
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by_key(|i| all[*i].bounds.min.x);
    let mut pairs = Vec::new();
    for (k, &i) in order.iter().enumerate() {
        let a = all[i].bounds;
        for &j in &order[k + 1..] {
            let b = all[j].bounds;
            if b.min.x - a.max.x > spacing {
                break;
            }
            if b.min.y - a.max.y <= spacing && a.min.y - b.max.y <= spacing {
                pairs.push((i.min(j), i.max(j)));
            }
        }
    }
    pairs.sort_unstable();
    pairs
}

/// Whether the flutes of a part, turned, run along those of the sheet, which run along x; or may
/// run across.
fn allowed(part: &Part, placed: Placed) -> bool {
    let quarter = placed.turn.quarters() % 2 == 1;
    part.turns == super::layout::Turns::Quarter || part.flutes_along_x != quarter
}

/// A point of a line that lies outside the region. Of an arc only points on it are looked at: a
/// chord may leave hollow board by itself.
fn stands_out(region: &Region, path: &Path) -> Option<Spot> {
    let mut points = Vec::new();
    for s in path.segments() {
        if s.bulge == 0.0 {
            let share = |k: u32| f64::from(k) / f64::from(BETWEEN + 1);
            points.extend((0..=BETWEEN + 1).map(|k| s.from.lerp(s.to, share(k))));
        } else {
            let ends = [(s.from, s.bulge), (s.to, 0.0)];
            let arc = Path {
                vertices: ends.map(|(at, bulge)| Vertex { at, bulge }).to_vec(),
                closed: false,
            };
            points.extend(arc.flattened(LOOKED_AT));
        }
    }
    points
        .into_iter()
        .map(Spot::nearest)
        .find(|p| far(*p) || !(covers(region, *p) || edge_within(region, *p, ROUNDED)))
}

#[cfg(test)]
mod tests;
