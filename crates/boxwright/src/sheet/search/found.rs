//! Parts laid on sheets, and which of two ways is the better.

use super::{Kind, Laid, Problem, Refused, exact};
use crate::sheet::shape::Shape;

/// One sheet and what lies on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Used {
    /// Index of the kind of sheet.
    pub bin: usize,
    /// The parts, in the sheet's coordinates.
    pub placed: Vec<Laid>,
}

/// Parts laid on sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The sheets used. The last is the one with the largest off-cut.
    pub sheets: Vec<Used>,
    /// How many of each kind found no place.
    pub left: Vec<u32>,
    /// What the sheets cost.
    pub cost: f64,
    /// Area of the parts laid, in mm2, as grown.
    pub laid: f64,
    /// The largest upright strip, over the whole height or breadth of a sheet's box, that no part
    /// reaches, in mm2; 0 without sheets. Bites of a sheet are not taken off.
    pub off_cut: f64,
}

/// Whether `a` is better than `b`: more area laid, else cheaper, else a larger off-cut.
#[must_use]
pub fn better(a: &Found, b: &Found) -> bool {
    // Sums of the same areas in another order differ by rounding only.
    let same = |x: f64, y: f64| (x - y).abs() <= 1e-9 * x.abs().max(y.abs());
    if !same(a.laid, b.laid) {
        return a.laid > b.laid;
    }
    if !same(a.cost, b.cost) {
        return a.cost < b.cost;
    }
    a.off_cut > b.off_cut && !same(a.off_cut, b.off_cut)
}

impl Found {
    /// Counted up from the sheets used.
    #[must_use]
    pub fn of(problem: &Problem, mut sheets: Vec<Used>) -> Self {
        let mut left: Vec<u32> = problem.kinds.iter().map(|k| k.wanted).collect();
        let mut laid = 0.0;
        let mut cost = 0.0;
        for used in &sheets {
            cost += problem.sheets[used.bin].cost;
            for p in &used.placed {
                left[p.kind] = left[p.kind].saturating_sub(1);
                laid += problem.kinds[p.kind].shape.area_mm2();
            }
        }
        let spare = |u: &Used| off_cut(problem, u);
        sheets.sort_by(|a, b| spare(a).total_cmp(&spare(b)).then(a.bin.cmp(&b.bin)));
        let off_cut = sheets.last().map_or(0.0, spare);
        Self {
            sheets,
            left,
            cost,
            laid,
            off_cut,
        }
    }

    /// Whether everything lies on its sheet and free of everything else, with no more of any sheet
    /// or part than there is, in whole numbers.
    ///
    /// # Errors
    /// Says what does not hold.
    pub fn checked(&self, problem: &Problem) -> Result<(), Refused> {
        let wrong = |why| Err(Refused::Start { why });
        let mut bins = vec![0_u32; problem.sheets.len()];
        let mut kinds = vec![0_u32; problem.kinds.len()];
        for used in &self.sheets {
            let Some(bin) = problem.sheets.get(used.bin) else {
                return wrong("it uses a sheet that is not there");
            };
            bins[used.bin] += 1;
            if bins[used.bin] > bin.count {
                return wrong("it uses more of a sheet than there are");
            }
            let mut shapes: Vec<Shape> = Vec::with_capacity(used.placed.len());
            for p in &used.placed {
                let Some(kind) = problem.kinds.get(p.kind) else {
                    return wrong("it lays a part that is not wanted");
                };
                kinds[p.kind] += 1;
                if kinds[p.kind] > kind.wanted {
                    return wrong("it lays more of a part than are wanted");
                }
                if !kind.turns.contains(&p.turn) {
                    return wrong("it turns a part in a way it may not be");
                }
                let shape = placed(kind, p);
                if !exact::inside(&shape, &bin.shape) {
                    return wrong("a part reaches over the edge of its sheet");
                }
                if shapes.iter().any(|s| exact::overlap(s, &shape)) {
                    return wrong("two parts lie in one another");
                }
                shapes.push(shape);
            }
        }
        Ok(())
    }
}

/// A part where it lies.
#[must_use]
pub fn placed(kind: &Kind, p: &Laid) -> Shape {
    kind.shape.turned(p.turn).moved(p.at)
}

/// The larger of the strips right of all parts and above all parts, in mm2.
#[allow(clippy::cast_precision_loss, reason = "for comparing")]
fn off_cut(problem: &Problem, used: &Used) -> f64 {
    let b = problem.sheets[used.bin].shape.bounds();
    let (mut x, mut y) = (b.min.x, b.min.y);
    for p in &used.placed {
        let part = problem.kinds[p.kind].shape.turned(p.turn).bounds();
        x = x.max(part.max.x + p.at.x);
        y = y.max(part.max.y + p.at.y);
    }
    let beside = (b.max.x - x) as f64 * b.height() as f64;
    let above = (b.max.y - y) as f64 * b.width() as f64;
    beside.max(above) / 1e6
}
