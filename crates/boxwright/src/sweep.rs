//! Every size working? One case checked over a grid of two sizes or parameters.
//!
//! A cell is a plain function of the sweep and its place in the grid, so a face may work out cells
//! in any order and on as many threads as it likes.

use serde::Serialize;

use crate::brief::Brief;
use crate::check::{Finding, Verdict, leading, of_defects};
use crate::diag::{Diag, Place};
use crate::expr::Expr;
use crate::fold::Folder;
use crate::job::{ASKED, Job, asked_size};
use crate::read::suggestion;
use crate::style::{Formula, Named, ParameterKind, Style};
use crate::units::{Dim, Length, Quantity};

/// More cells than this are refused.
pub const MOST_CELLS: usize = 40_000;

/// What is varied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// An asked size: 0 length, 1 width, 2 depth.
    Asked(usize),
    /// A parameter of the style.
    Parameter(String),
}

/// One of the two things varied, with its values.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    target: Target,
    from: Quantity,
    to: Quantity,
    steps: usize,
}

impl Axis {
    /// `name` is an asked size or a parameter of the style; the values run from `from` to `to` in
    /// even steps, both among them. Messages point at `place`.
    ///
    /// # Errors
    /// `unknown-parameter`, `wrong-unit`, `not-varied` for a choice of words, `too-many` or
    /// `too-few` values.
    pub fn new(
        style: &Style,
        name: &str,
        (from, to): (Quantity, Quantity),
        steps: usize,
        place: &Place,
    ) -> Result<Self, Box<Diag>> {
        let error = |code, message: String| Box::new(Diag::error(code, message).at(place.clone()));
        let (target, dim) = if let Some(i) = ASKED.iter().position(|a| *a == name) {
            (Target::Asked(i), Dim::LENGTH)
        } else {
            match style.parameters.iter().find(|p| p.name == name) {
                Some(p) => match &p.kind {
                    ParameterKind::Quantity(dim) => (Target::Parameter(name.to_owned()), *dim),
                    ParameterKind::Choice(_) => {
                        let message = format!("`{name}` is a choice of words and cannot be varied");
                        return Err(error("not-varied", message));
                    }
                },
                None => {
                    let known = ASKED
                        .into_iter()
                        .chain(style.parameters.iter().map(|p| p.name.as_str()));
                    let message = format!("there is nothing called `{name}` to vary");
                    let mut d = error("unknown-parameter", message);
                    d.help = Some(suggestion(name, known));
                    return Err(d);
                }
            }
        };
        for q in [from, to] {
            if q.dim != dim {
                let message = format!("`{name}` is {}, and this is {}", dim.words(), q.dim.words());
                let mut d = error("wrong-unit", message);
                if dim == Dim::LENGTH && q.dim == Dim::NUMBER {
                    d.help = Some(format!("write the unit: {}mm", q.value));
                }
                return Err(d);
            }
        }
        if steps == 0 {
            return Err(error("too-few", "at least one value is needed".to_owned()));
        }
        if steps > MOST_CELLS {
            let message = format!("at most {MOST_CELLS} values are worked out");
            return Err(error("too-many", message));
        }
        Ok(Self {
            target,
            from,
            to,
            steps,
        })
    }

    /// What is varied.
    #[must_use]
    pub const fn target(&self) -> &Target {
        &self.target
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        match &self.target {
            Target::Asked(i) => ASKED[*i],
            Target::Parameter(name) => name,
        }
    }

    /// How many values.
    #[must_use]
    pub const fn steps(&self) -> usize {
        self.steps
    }

    /// The value at an index.
    #[must_use]
    #[allow(
        clippy::cast_precision_loss,
        reason = "there are at most 40,000 values"
    )]
    pub fn value(&self, index: usize) -> Quantity {
        let (a, b) = (self.from.value, self.to.value);
        let value = if index == 0 || self.steps < 2 {
            a
        } else if index + 1 >= self.steps {
            b
        } else {
            a + (b - a) * index as f64 / (self.steps - 1) as f64
        };
        Quantity {
            value,
            dim: self.from.dim,
        }
    }
}

/// A case and the two things varied in it.
#[derive(Clone, Debug)]
pub struct Sweep {
    brief: Brief,
    across: Axis,
    up: Axis,
}

/// What a cell amounts to. Ordered: the worst is the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum CellVerdict {
    /// As it should be.
    Pass,
    /// It works, but the reader should know.
    Caution,
    /// It does not work.
    Fail,
    /// It cannot be drawn at all.
    Refused,
}

impl CellVerdict {
    /// Every verdict, best first.
    pub const ALL: [Self; 4] = [Self::Pass, Self::Caution, Self::Fail, Self::Refused];
    /// In words, for legends.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pass => "passes",
            Self::Caution => "tight",
            Self::Fail => "fails",
            Self::Refused => "cannot be drawn",
        }
    }
}

/// A cell worked out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cell {
    /// What it amounts to.
    pub verdict: CellVerdict,
    /// Code of the finding or message that decides it; empty for a pass.
    pub code: &'static str,
    /// What that says; empty for a pass.
    pub message: String,
}

impl Sweep {
    /// # Errors
    /// `too-many` cells, or the same thing varied twice.
    pub fn new(brief: Brief, across: Axis, up: Axis) -> Result<Self, Box<Diag>> {
        if across.target == up.target {
            let message = format!("`{}` is varied twice", across.name());
            return Err(Box::new(
                Diag::error("given-twice", message).help("vary two different things"),
            ));
        }
        if across.steps * up.steps > MOST_CELLS {
            let message = format!(
                "{} x {} cells are too many: at most {MOST_CELLS} are worked out",
                across.steps, up.steps
            );
            return Err(Box::new(
                Diag::error("too-many", message).help("take fewer steps"),
            ));
        }
        Ok(Self { brief, across, up })
    }

    /// The case; what is varied in it does not matter.
    #[must_use]
    pub const fn brief(&self) -> &Brief {
        &self.brief
    }

    /// What is varied from left to right.
    #[must_use]
    pub const fn across(&self) -> &Axis {
        &self.across
    }

    /// What is varied upward.
    #[must_use]
    pub const fn up(&self) -> &Axis {
        &self.up
    }

    /// How many cells.
    #[must_use]
    pub const fn cells(&self) -> usize {
        self.across.steps * self.up.steps
    }

    /// The place of a cell counted row by row: index across, index up.
    #[must_use]
    pub const fn place(&self, n: usize) -> (usize, usize) {
        (n % self.across.steps, n / self.across.steps)
    }

    /// The case of a cell.
    ///
    /// # Errors
    /// `not-positive` or `too-large` for an inside size.
    pub fn brief_at(&self, i: usize, j: usize) -> Result<Brief, Diag> {
        let mut brief = self.brief.clone();
        vary(&mut brief.job, &self.across, i)?;
        vary(&mut brief.job, &self.up, j)?;
        Ok(brief)
    }

    /// Works out a cell: the verdict of [`check`](crate::check::check) on the case with these two values, and the
    /// finding that leads its report.
    #[must_use]
    pub fn cell(&self, i: usize, j: usize) -> Cell {
        let brief = match self.brief_at(i, j) {
            Ok(b) => b,
            Err(d) => return refused(&[d]),
        };
        let plan = match brief.plan() {
            Ok(p) => p,
            Err(d) => return refused(&d),
        };
        let plan = match plan.validated() {
            Ok(p) => p,
            Err((_, defects)) => return of_findings(&of_defects(&defects)),
        };
        let folder = Folder::new(&plan);
        of_findings(leading(&brief, &folder).as_slice())
    }
}

fn vary(job: &mut Job, axis: &Axis, index: usize) -> Result<(), Diag> {
    let value = axis.value(index);
    match &axis.target {
        Target::Asked(i) => {
            job.inside[*i] = asked_size(Length::mm(value.value))
                .map_err(|(code, message)| Diag::error(code, message))?;
        }
        Target::Parameter(name) => {
            let expr = Expr::number(value);
            let place = Place {
                input: "vary".to_owned(),
                start: 0,
                end: expr.text().len(),
            };
            let formula = Formula {
                expr,
                place: place.clone(),
                exact: false,
            };
            let named = Named {
                name: name.clone(),
                place,
            };
            match job.set.iter_mut().find(|(n, _)| n.name == *name) {
                Some(old) => *old = (named, formula),
                None => job.set.push((named, formula)),
            }
        }
    }
    Ok(())
}

fn refused(diags: &[Diag]) -> Cell {
    let first = diags.first();
    Cell {
        verdict: CellVerdict::Refused,
        code: first.map_or("refused", |d| d.code),
        message: first.map_or_else(String::new, |d| d.message.clone()),
    }
}

fn of_findings(findings: &[Finding]) -> Cell {
    match findings.first() {
        Some(f) if f.verdict != Verdict::Pass => Cell {
            verdict: if f.verdict == Verdict::Fail {
                CellVerdict::Fail
            } else {
                CellVerdict::Caution
            },
            code: f.code,
            message: f.message.clone(),
        },
        _ => Cell {
            verdict: CellVerdict::Pass,
            code: "",
            message: String::new(),
        },
    }
}

/// Cells that hang together and are decided by the same finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region {
    /// What they amount to.
    pub verdict: CellVerdict,
    /// Code of what decides them.
    pub code: &'static str,
    /// What it says in the cell farthest from the region's edge.
    pub message: String,
    /// How many cells.
    pub cells: usize,
    /// The cell farthest from the region's edge: index across, index up.
    pub heart: (usize, usize),
}

/// The regions of a grid worked out, the largest first. `cells` are in rows, the lowest first.
#[must_use]
pub fn regions(sweep: &Sweep, cells: &[Cell]) -> Vec<Region> {
    let wide = sweep.across.steps;
    // Requirements say different things under one code, and no figures.
    let told = |c: &Cell| (c.code == "requirement").then(|| c.message.clone());
    let same = |a: usize, b: usize| {
        let (a, b) = (&cells[a], &cells[b]);
        (a.verdict, a.code, told(a)) == (b.verdict, b.code, told(b))
    };
    let beside = |n: usize| {
        let (i, j) = sweep.place(n);
        let steps = [
            (i > 0).then(|| n - 1),
            (i + 1 < wide).then_some(n + 1),
            (j > 0).then(|| n.wrapping_sub(wide)),
            Some(n + wide),
        ];
        steps.map(|s| s.filter(|s| *s < cells.len()))
    };
    // How far each cell lies from the edge of its region, counted inward from all edges at once.
    let mut depth = vec![usize::MAX; cells.len()];
    let on_edge = |n: &usize| {
        beside(*n)
            .into_iter()
            .any(|b| b.is_none_or(|b| !same(*n, b)))
    };
    let mut front: Vec<usize> = (0..cells.len()).filter(on_edge).collect();
    let mut level = 0;
    while !front.is_empty() {
        for n in &front {
            depth[*n] = level;
        }
        let mut next: Vec<usize> = front
            .iter()
            .flat_map(|n| beside(*n))
            .flatten()
            .filter(|b| depth[*b] == usize::MAX)
            .collect();
        next.sort_unstable();
        next.dedup();
        front = next;
        level += 1;
    }
    let mut seen = vec![false; cells.len()];
    let mut out = Vec::new();
    for start in 0..cells.len() {
        if std::mem::replace(&mut seen[start], true) {
            continue;
        }
        let mut todo = vec![start];
        let mut members = Vec::new();
        while let Some(n) = todo.pop() {
            members.push(n);
            for b in beside(n).into_iter().flatten() {
                if !seen[b] && same(n, b) {
                    seen[b] = true;
                    todo.push(b);
                }
            }
        }
        members.sort_unstable();
        let Some(heart) = members
            .iter()
            .copied()
            .max_by_key(|n| (depth[*n], std::cmp::Reverse(*n)))
        else {
            continue;
        };
        out.push(Region {
            verdict: cells[heart].verdict,
            code: cells[heart].code,
            message: cells[heart].message.clone(),
            cells: members.len(),
            heart: sweep.place(heart),
        });
    }
    out.sort_by_key(|r| std::cmp::Reverse(r.cells));
    out
}
