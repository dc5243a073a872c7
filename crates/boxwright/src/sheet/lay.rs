//! The stage: parts and stock in, a layout out.
//!
//! Each board is laid on its own. For the search every part is grown by half the room between
//! parts, and every sheet is made smaller by the margin less that half, so that parts that touch in
//! the search are as far apart as asked. Windows in which no part could lie are filled.
//!
//! The searches may be stopped at any time: the best layout so far is kept.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;

use super::fill::{Bay, Filled, Filler, Kind};
use super::layout::{LaidSheet, Layout, Part, Placed, Turns};
use super::rings::{grown, overlaid, shrunk};
use super::shape::{Bounds, Shape, Spot, Turn};
use super::stock::Piece;
use crate::proof::Dice;

/// What is to be laid.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// What the layout is called.
    pub title: String,
    /// The parts.
    pub parts: Vec<Part>,
    /// The stock at hand.
    pub stock: Vec<Piece>,
    /// Least room between parts, in grid steps.
    pub spacing: i64,
    /// Least room to the edge of a sheet, in grid steps.
    pub margin: i64,
    /// How far the machine reaches from the lower left corner of a sheet, in grid steps.
    pub reach: Option<[i64; 2]>,
}

/// How long and where to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Rounds of the search; with so many given, the same task and seed give the same layout.
    pub rounds: u64,
    /// Where its random numbers begin.
    pub seed: u64,
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Rounds done.
    pub rounds: u64,
    /// What the best layout so far came to.
    pub best: Score,
}

/// How good a layout is; less is better, the first that differs decides.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Score {
    /// Board of the parts that found no place, in mm2.
    pub left: f64,
    /// What the sheets count for: their price or, where no sheet has one, their area in mm2.
    pub cost: f64,
    /// How many sheets.
    pub sheets: f64,
    /// Board of the least used sheet that is taken up, in mm2: the less, the more of it is left.
    pub last: f64,
}

impl Score {
    /// Whether it is better than another.
    #[must_use]
    pub fn beats(&self, o: &Self) -> bool {
        self.partial_cmp(o) == Some(std::cmp::Ordering::Less)
    }
}

/// Why a part found no place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// There is no stock of its board.
    NoBoard,
    /// It is too large for every sheet of its board. Whether one would take it turned by a
    /// quarter, against its flutes.
    TooBig(bool),
    /// What there is was used up.
    NoRoom,
}

impl Why {
    /// Its stable word.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoBoard => "no-board",
            Self::TooBig(_) => "too-big",
            Self::NoRoom => "no-room",
        }
    }
    /// In words, for a part of this board.
    #[must_use]
    pub fn words(&self, board: &str) -> String {
        match self {
            Self::NoBoard => format!("there is no sheet of board {board}"),
            Self::TooBig(false) => format!("too large for every sheet of board {board}"),
            Self::TooBig(true) => format!(
                "too large for every sheet of board {board} with its flutes along the sheet's; \
                 turned by a quarter it would fit, if the job says flutes \"either\""
            ),
            Self::NoRoom => "no room was left on what there is".to_owned(),
        }
    }
}

/// Lays parts on stock. `go_on` is asked again and again and ends the search when it says no.
pub fn lay(task: &Task, effort: Effort, go_on: &mut dyn FnMut(&Progress) -> bool) -> Layout {
    let mut layout = Layout {
        title: task.title.clone(),
        parts: task.parts.clone(),
        stock: task.stock.clone(),
        spacing: task.spacing,
        margin: task.margin,
        reach: task.reach,
        sheets: Vec::new(),
        left: task.parts.iter().map(|p| p.wanted).collect(),
    };
    let groups: Vec<Group> = boards(&task.parts)
        .iter()
        .map(|b| Group::new(task, b))
        .collect();
    let mut stopped = false;
    for g in &groups {
        let sheets = g.search(effort, &mut |p| {
            stopped = stopped || !go_on(p);
            !stopped
        });
        for sheet in sheets {
            for p in &sheet.placed {
                layout.left[p.part] -= 1;
            }
            layout.sheets.push(sheet);
        }
    }
    layout
}

/// The boards of the parts, in the order they come.
#[must_use]
pub fn boards(parts: &[Part]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for p in parts {
        if !all.contains(&p.board) {
            all.push(p.board.clone());
        }
    }
    all
}

/// How good a layout is.
#[must_use]
pub fn score(layout: &Layout) -> Score {
    let area = |part: usize| layout.parts[part].shape.area_mm2();
    let priced = layout.stock.iter().any(|p| p.price > 0.0);
    let piece = |s: &LaidSheet| &layout.stock[s.stock];
    let cost = |s: &LaidSheet| {
        if priced {
            piece(s).price
        } else {
            piece(s).shape.area_mm2()
        }
    };
    let board = |s: &LaidSheet| s.placed.iter().map(|p| area(p.part)).sum::<f64>();
    let left = layout.left.iter().enumerate();
    #[allow(clippy::cast_precision_loss, reason = "a count of sheets")]
    Score {
        left: left.map(|(i, n)| f64::from(*n) * area(i)).sum(),
        cost: layout.sheets.iter().map(cost).sum(),
        sheets: layout.sheets.len() as f64,
        last: layout.sheets.iter().map(board).fold(f64::MAX, f64::min),
    }
}

/// Why parts were left over, for each part.
#[must_use]
pub fn why(layout: &Layout) -> Vec<Option<Why>> {
    let task = Task {
        title: String::new(),
        parts: layout.parts.clone(),
        stock: layout.stock.clone(),
        spacing: layout.spacing,
        margin: layout.margin,
        reach: layout.reach,
    };
    let reason = |i: usize| {
        let part = &layout.parts[i];
        if !layout.stock.iter().any(|p| p.board == part.board) {
            return Why::NoBoard;
        }
        let fits = |turns: &'static [Turn]| {
            let mut g = Group::new(&task, &part.board);
            g.kinds = vec![kind(part, task.spacing, turns, None)];
            let mut filler = Filler::new(&g.kinds, &g.bays);
            (0..g.bays.len()).any(|b| filler.fits(0, b))
        };
        if fits(part.turns.list(part.flutes_along_x)) {
            Why::NoRoom
        } else {
            Why::TooBig(fits(Turns::Quarter.list(true)))
        }
    };
    (0..layout.parts.len())
        .map(|i| (layout.left.get(i).is_some_and(|n| *n > 0)).then(|| reason(i)))
        .collect()
}

/// The parts and stock of one board.
struct Group {
    /// Index of each kind's part.
    parts: Vec<usize>,
    kinds: Vec<Kind>,
    /// Index of each bay's stock.
    stock: Vec<usize>,
    bays: Vec<Bay>,
}

/// Half the room between parts, in grid steps, rounded up.
const fn half(spacing: i64) -> i64 {
    (spacing + 1) / 2
}

fn kind(part: &Part, spacing: i64, turns: &'static [Turn], least: Option<[i64; 2]>) -> Kind {
    let mut shape = grown(&part.shape, half(spacing))
        .into_iter()
        .max_by_key(Shape::doubled_area)
        .unwrap_or_default();
    shape.holes.retain(|h| {
        let b = box_of(h);
        least.is_some_and(|[x, y]| b.width() >= x && b.height() >= y)
    });
    Kind {
        shape,
        turns,
        wanted: part.wanted,
    }
}

fn box_of(ring: &[Spot]) -> Bounds {
    let shape = Shape {
        outer: ring.to_vec(),
        holes: Vec::new(),
    };
    shape.bounds()
}

impl Group {
    fn new(task: &Task, board: &str) -> Self {
        let of_board = |(i, p): (usize, &Part)| (p.board == board && p.wanted > 0).then_some(i);
        let parts: Vec<usize> = task.parts.iter().enumerate().filter_map(of_board).collect();
        let least = least(&task.parts, &parts, task.spacing);
        let kinds = parts
            .iter()
            .map(|i| {
                let p = &task.parts[*i];
                kind(p, task.spacing, p.turns.list(p.flutes_along_x), least)
            })
            .collect();
        let of_board = |(i, p): (usize, &Piece)| (p.board == board && p.count > 0).then_some(i);
        let stock: Vec<usize> = task.stock.iter().enumerate().filter_map(of_board).collect();
        let priced = stock.iter().any(|i| task.stock[*i].price > 0.0);
        let bays = stock
            .iter()
            .map(|i| {
                let piece = &task.stock[*i];
                Bay {
                    rooms: rooms(&piece.shape, task),
                    count: piece.count,
                    cost: if priced {
                        piece.price
                    } else {
                        piece.shape.area_mm2()
                    },
                }
            })
            .collect();
        Self {
            parts,
            kinds,
            stock,
            bays,
        }
    }

    fn search(&self, effort: Effort, go_on: &mut dyn FnMut(&Progress) -> bool) -> Vec<LaidSheet> {
        if self.kinds.is_empty() || self.bays.is_empty() {
            return Vec::new();
        }
        let mut filler = Filler::new(&self.kinds, &self.bays);
        let mut dice = Dice(effort.seed);
        let mut best = filler.fill(&mut dice, true);
        let mut score = self.score(&best);
        for round in 1..effort.rounds {
            if !go_on(&Progress {
                rounds: round,
                best: score,
            }) {
                break;
            }
            let next = filler.fill(&mut dice, false);
            let s = self.score(&next);
            if s.beats(&score) {
                (best, score) = (next, s);
            }
        }
        self.sheets(&best)
    }

    fn score(&self, all: &[Filled]) -> Score {
        let area = |k: usize| self.kinds[k].shape.area_mm2();
        let board = |f: &Filled| f.1.iter().map(|s| area(s.kind)).sum::<f64>();
        let wanted = self.kinds.iter().enumerate();
        let wanted: f64 = wanted.map(|(i, k)| f64::from(k.wanted) * area(i)).sum();
        #[allow(clippy::cast_precision_loss, reason = "a count of sheets")]
        Score {
            left: wanted - all.iter().map(board).sum::<f64>(),
            cost: all.iter().map(|f| self.bays[f.0].cost).sum(),
            sheets: all.len() as f64,
            last: all.iter().map(board).fold(f64::MAX, f64::min),
        }
    }

    fn sheets(&self, all: &[Filled]) -> Vec<LaidSheet> {
        all.iter()
            .map(|(bay, laid)| LaidSheet {
                stock: self.stock[*bay],
                placed: laid
                    .iter()
                    .map(|s| Placed {
                        part: self.parts[s.kind],
                        turn: s.turn,
                        at: s.at,
                    })
                    .collect(),
            })
            .collect()
    }
}

/// Least breadth and height that any of the parts takes up, grown and however turned: no window
/// smaller than that can hold a part.
fn least(parts: &[Part], which: &[usize], spacing: i64) -> Option<[i64; 2]> {
    let room = 2 * half(spacing);
    let sizes = which.iter().flat_map(|i| {
        let p = &parts[*i];
        let b = p.shape.bounds();
        let size = [b.width() + room, b.height() + room];
        let turned = [size[1], size[0]];
        let turns = p.turns.list(p.flutes_along_x);
        turns
            .iter()
            .map(move |t| if t.quarters() % 2 == 1 { turned } else { size })
    });
    sizes.reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1])])
}

/// Where grown parts may lie on a sheet.
fn rooms(sheet: &Shape, task: &Task) -> Vec<Shape> {
    let h = half(task.spacing);
    let inward = task.margin - h;
    let mut all = if inward >= 0 {
        shrunk(sheet, inward)
    } else {
        vec![widened(sheet, -inward)]
    };
    if let Some([x, y]) = task.reach {
        let within = Shape::rect(x + 2 * h, y + 2 * h).moved(Spot::new(-h, -h));
        let rings: Vec<Vec<Spot>> = all.iter().flat_map(Shape::rings).cloned().collect();
        all = overlaid(
            &rings,
            &[within.outer],
            OverlayRule::Intersect,
            FillRule::NonZero,
        );
    }
    all
}

/// A sheet made larger by `d`, for grown parts that need less room to the edge than to one another.
/// Only a convex sheet can be: at a hollow corner a grown part says too little of the part in it. A
/// sheet with hollow corners or holes stays as it is, and parts keep further from its edge than
/// asked: half the room between parts.
fn widened(sheet: &Shape, d: i64) -> Shape {
    let n = sheet.outer.len();
    let corner = |i: usize| {
        let (a, b, c) = (
            sheet.outer[i],
            sheet.outer[(i + 1) % n],
            sheet.outer[(i + 2) % n],
        );
        (b - a, c - b)
    };
    let convex = sheet.holes.is_empty() && (0..n).all(|i| corner(i).0.cross(corner(i).1) >= 0);
    if !convex {
        return sheet.clone();
    }
    let upright = (0..n).all(|i| corner(i).0.x == 0 || corner(i).0.y == 0);
    // A slanted edge moves out a little further than asked, and must not.
    let d = if upright { d } else { (d - 3).max(0) };
    let mut wide = grown(sheet, d);
    wide.pop().unwrap_or_default()
}
