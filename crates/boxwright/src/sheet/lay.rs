//! The stage: parts and stock in, a layout out.
//!
//! Each board is laid on its own. For the search every part is grown by half the room between
//! parts, and every sheet is made smaller by the margin less that half, so that parts that touch in
//! the search are as far apart as asked. Windows in which no part could lie are filled.
//!
//! The searches may be stopped at any time: the best layout so far is kept.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;

use super::fill::Filler;
use super::lattice::{Repeat, repeat};
use super::layout::{LaidSheet, Layout, Part, Placed, Turns};
use super::rings::{eased, grown, overlaid, shrunk};
use super::search::{Bin, Found, Kind, Laid, Problem, Refused, Used, Watch, better, search};
use super::shape::{Bounds, Shape, Spot, Turn};
use super::stock::Piece;
use crate::diag::Diag;

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

/// How far a search is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// Moves of the search so far.
    pub moves: u64,
    /// Sheets that the best layout so far takes.
    pub sheets: usize,
    /// Parts that found no place in it.
    pub left: u64,
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

/// Lays parts on stock. `spent` is asked again and again how much of what may be spent is spent, 0
/// to 1, and at 1 the search ends with the best it has. The same task, seed and answers give the
/// same layout.
///
/// # Errors
/// `too-many-parts` when more are wanted of one board than can be searched at once, and
/// `cannot-lay` for a shape that the search refuses.
pub fn lay(
    task: &Task,
    seed: u64,
    spent: &mut dyn FnMut(&Progress) -> f64,
) -> Result<Layout, Diag> {
    laid(task, seed, spent, None)
}

/// The same, and tells what it has on the way: a first layout of parts laid one after another, then
/// one whenever a board's is thought better. Not each is better than all before it: `score` says
/// which are.
///
/// # Errors
/// As [`lay`].
pub fn lay_telling(
    task: &Task,
    seed: u64,
    spent: &mut dyn FnMut(&Progress) -> f64,
    told: &mut dyn FnMut(Layout),
) -> Result<Layout, Diag> {
    laid(task, seed, spent, Some(told))
}

fn laid(
    task: &Task,
    seed: u64,
    spent: &mut dyn FnMut(&Progress) -> f64,
    told: Option<&mut dyn FnMut(Layout)>,
) -> Result<Layout, Diag> {
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
    let mut tale = told.map(|told| Tale {
        told,
        before: layout.clone(),
        after: groups.iter().map(Group::first).collect(),
    });
    if let Some(tale) = &mut tale {
        tale.tell(&[]);
    }
    // Each board gets its share of what may be spent, by the number of its parts.
    let all: f64 = groups.iter().map(Group::weight).sum();
    let mut until = 0.0;
    let mut eye = Eye {
        ask: spent,
        progress: Progress::default(),
        from: 0.0,
        to: 0.0,
        before: Progress::default(),
        tale,
        group: None,
    };
    for g in &groups {
        if let Some(tale) = &mut eye.tale {
            tale.after.remove(0);
        }
        eye.group = Some(g);
        until += g.weight() / all.max(1.0);
        eye.from = eye.now();
        eye.to = until;
        eye.before = eye.progress;
        for sheet in g.laid(seed, &mut eye)? {
            for p in &sheet.placed {
                layout.left[p.part] = layout.left[p.part].saturating_sub(1);
            }
            layout.sheets.push(sheet);
        }
        eye.progress.sheets = layout.sheets.len();
        eye.progress.left = 0;
        if let Some(tale) = &mut eye.tale {
            tale.before = layout.clone();
            tale.tell(&[]);
        }
    }
    Ok(layout)
}

/// What is told on the way.
struct Tale<'a> {
    told: &'a mut dyn FnMut(Layout),
    /// The boards that are done.
    before: Layout,
    /// The first layout of each board that is still to come.
    after: Vec<Vec<LaidSheet>>,
}

impl Tale<'_> {
    /// Tells of the boards that are done, this one, and those to come.
    fn tell(&mut self, here: &[LaidSheet]) {
        let mut layout = self.before.clone();
        for sheet in here.iter().chain(self.after.iter().flatten()) {
            for p in &sheet.placed {
                layout.left[p.part] = layout.left[p.part].saturating_sub(1);
            }
            layout.sheets.push(sheet.clone());
        }
        (self.told)(layout);
    }
}

/// Watches a search, and tells it what share of its own part is spent.
struct Eye<'a> {
    ask: &'a mut dyn FnMut(&Progress) -> f64,
    progress: Progress,
    from: f64,
    to: f64,
    /// What was reached before this board.
    before: Progress,
    tale: Option<Tale<'a>>,
    group: Option<&'a Group>,
}

impl Eye<'_> {
    fn now(&mut self) -> f64 {
        (self.ask)(&self.progress)
    }
    fn share(&mut self) -> f64 {
        let now = self.now();
        if now >= 1.0 || self.to - self.from < 1e-9 {
            return 1.0;
        }
        ((now - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }
}

impl Watch for Eye<'_> {
    fn spent(&mut self, _: u64) -> f64 {
        self.progress.moves += 1;
        self.share()
    }
    fn better(&mut self, found: &Found) {
        self.progress.sheets = self.before.sheets + found.sheets.len();
        self.progress.left = found.left.iter().map(|n| u64::from(*n)).sum();
        if let (Some(tale), Some(group)) = (&mut self.tale, self.group) {
            tale.tell(&group.sheets(found));
        }
    }
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
        let fits = |turns: &[Turn]| {
            let kinds = [kind(part, task.spacing, turns, None)];
            let (_, sheets) = sheets(&task, &part.board);
            Filler::new(&kinds, &sheets).fits(0)
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
    /// Index of each kind of sheet's stock.
    stock: Vec<usize>,
    problem: Problem,
    /// For messages.
    part_names: Vec<String>,
    stock_names: Vec<String>,
}

/// Half the room between parts, in grid steps, rounded up.
const fn half(spacing: i64) -> i64 {
    (spacing + 1) / 2
}

fn kind(part: &Part, spacing: i64, turns: &[Turn], least: Option<[i64; 2]>) -> Kind {
    let mut shape = eased(&largest(grown(&part.shape, half(spacing))), EASED);
    shape.holes.retain(|h| {
        let b = box_of(h);
        least.is_some_and(|[x, y]| b.width() >= x && b.height() >= y)
    });
    Kind {
        shape,
        turns: turns.to_vec(),
        wanted: part.wanted,
    }
}

/// How much further than needed a part may be held off at rounded corners, in steps: 0.25 mm, for
/// which the search has a few corners to look at in place of many.
const EASED: f64 = 250.0;

fn largest(shapes: Vec<Shape>) -> Shape {
    let all = shapes.into_iter();
    all.max_by_key(Shape::doubled_area).unwrap_or_default()
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
        let mut kinds: Vec<Kind> = parts
            .iter()
            .map(|i| {
                let p = &task.parts[*i];
                kind(p, task.spacing, p.turns.list(p.flutes_along_x), least)
            })
            .collect();
        let (stock, sheets) = sheets(task, board);
        // The search need not try what can lie nowhere.
        let mut filler = Filler::new(&kinds, &sheets);
        let fits: Vec<bool> = (0..kinds.len()).map(|k| filler.fits(k)).collect();
        for (k, _) in kinds.iter_mut().zip(fits).filter(|(_, fits)| !fits) {
            k.wanted = 0;
        }
        Self {
            part_names: parts.iter().map(|i| task.parts[*i].name.clone()).collect(),
            stock_names: stock.iter().map(|i| task.stock[*i].name.clone()).collect(),
            parts,
            stock,
            problem: Problem { kinds, sheets },
        }
    }

    /// Parts laid one after another, to have something to show.
    fn first(&self) -> Vec<LaidSheet> {
        self.plain().map_or_else(Vec::new, |f| self.sheets(&f))
    }

    /// How large its share of the work is.
    fn weight(&self) -> f64 {
        let parts: f64 = self.problem.kinds.iter().map(|k| f64::from(k.wanted)).sum();
        parts.max(1.0)
    }

    fn laid(&self, seed: u64, eye: &mut Eye<'_>) -> Result<Vec<LaidSheet>, Diag> {
        let p = &self.problem;
        let wanted: Vec<usize> = (0..p.kinds.len())
            .filter(|k| p.kinds[*k].wanted > 0)
            .collect();
        if wanted.is_empty() || p.sheets.is_empty() {
            return Ok(Vec::new());
        }
        let found = if let [kind] = wanted[..] {
            self.alike(kind, seed, eye).map_err(|r| self.refused(&r))?
        } else {
            self.mixed(seed, eye).map_err(|r| self.refused(&r))?
        };
        Ok(self.sheets(&found))
    }

    /// One kind: lattices, and where they take more than one sheet or leave something over, the
    /// search from there on.
    fn alike(&self, kind: usize, seed: u64, eye: &mut Eye<'_>) -> Result<Found, Refused> {
        let whole = (eye.from, eye.to);
        eye.to = 0.5 * (eye.from + eye.to);
        let mut best = self.repeated(kind, eye);
        // Stopped early, a lattice may be poorer than the plainest way.
        if let Some(plain) = self.plain().filter(|plain| better(plain, &best)) {
            best = plain;
        }
        eye.from = eye.now().max(whole.0);
        eye.to = whole.1;
        if best.sheets.len() > 1 || best.left.iter().any(|n| *n > 0) {
            let found = search(&self.problem, Some(&best), seed, eye)?;
            if better(&found, &best) {
                best = found;
            }
        }
        Ok(best)
    }

    /// One kind: a lattice on each kind of sheet, those that cost least for a part first. The last
    /// sheet holds what is still wanted and is the cheapest that does.
    fn repeated(&self, kind: usize, eye: &mut Eye<'_>) -> Found {
        let p = &self.problem;
        let mut left = p.kinds[kind].wanted;
        // Each kind of sheet has its share of the time, and the last sheet has one too.
        #[allow(clippy::cast_precision_loss, reason = "a count of kinds of sheets")]
        let share = |b: usize| (b + 1) as f64 / (p.sheets.len() + 1) as f64;
        let full: Vec<Vec<Laid>> = (0..p.sheets.len())
            .map(|b| self.lattice(kind, b, None, share(b), eye))
            .collect();
        let mut spare: Vec<u32> = p.sheets.iter().map(|s| s.count).collect();
        let mut used = Vec::new();
        let count = |b: usize| u32::try_from(full[b].len()).unwrap_or(u32::MAX);
        while left > 0 {
            let rate = |b: &usize| p.sheets[*b].cost / f64::from(count(*b).min(left));
            let free = (0..p.sheets.len()).filter(|b| spare[*b] > 0 && count(*b) > 0);
            // Of equally dear ones the smaller, so that the larger stay whole.
            let small = |b: &usize| p.sheets[*b].shape.doubled_area();
            let best =
                free.min_by(|a, b| rate(a).total_cmp(&rate(b)).then(small(a).cmp(&small(b))));
            let Some(bin) = best else { break };
            spare[bin] -= 1;
            let placed = if count(bin) > left {
                let few = self.lattice(kind, bin, Some(left), 1.0, eye);
                if few.len() == left as usize {
                    few
                } else {
                    full[bin].iter().take(left as usize).copied().collect()
                }
            } else {
                full[bin].clone()
            };
            left = left.saturating_sub(u32::try_from(placed.len()).unwrap_or(u32::MAX));
            used.push(Used { bin, placed });
            eye.progress.sheets = eye.before.sheets + used.len();
            eye.progress.left = u64::from(left);
        }
        Found::of(p, used)
    }

    /// As many of a kind as go on a sheet, or as are wanted; until a share of this board's part is
    /// spent.
    fn lattice(
        &self,
        kind: usize,
        bin: usize,
        most: Option<u32>,
        until: f64,
        eye: &mut Eye<'_>,
    ) -> Vec<Laid> {
        let k = &self.problem.kinds[kind];
        let ask = Repeat {
            shape: &k.shape,
            turns: &k.turns,
            sheet: &self.problem.sheets[bin].shape,
            most,
        };
        // Where nearly all is spent there are still so many tries: what is there at all is found.
        let mut tries = 0;
        let laid = repeat(&ask, &mut || {
            tries += 1;
            eye.spent(0) >= until && tries > LEAST_TRIES
        });
        let laid = laid.into_iter().map(|l| Laid {
            kind,
            turn: l.turn,
            at: l.at,
        });
        laid.collect()
    }

    /// Several kinds: the search from nothing, then from sheets full of one kind, if there are such
    /// that save room.
    fn mixed(&self, seed: u64, eye: &mut Eye<'_>) -> Result<Found, Refused> {
        let p = &self.problem;
        let whole = (eye.from, eye.to);
        let plain = self.plain();
        let full = self.full(eye);
        let mut best = plain;
        let mut keep = |found: Found| {
            if best.as_ref().is_none_or(|b| better(&found, b)) {
                best = Some(found);
            }
        };
        keep(self.topped(Found::of(p, Vec::new()), eye));
        if let Some(full) = full {
            eye.from = eye.now().max(whole.0);
            eye.to = 0.5 * (eye.from + whole.1);
            keep(search(p, Some(&full), seed, eye)?);
        }
        eye.from = eye.now().max(whole.0);
        eye.to = whole.1;
        keep(search(p, None, seed, eye)?);
        // A search that was stopped early may leave parts although there is stock for them.
        let best = best.unwrap_or_else(|| Found::of(p, Vec::new()));
        Ok(if best.left.iter().any(|n| *n > 0) {
            self.topped(best, eye)
        } else {
            best
        })
    }

    /// With what is left over laid on sheets of its own, kind after kind.
    fn topped(&self, found: Found, eye: &mut Eye<'_>) -> Found {
        let p = &self.problem;
        let mut left = found.left.clone();
        let mut used = found.sheets;
        let mut spare: Vec<u32> = p.sheets.iter().map(|s| s.count).collect();
        for u in &used {
            spare[u.bin] = spare[u.bin].saturating_sub(1);
        }
        for (kind, left) in left.iter_mut().enumerate() {
            let full: Vec<Vec<Laid>> = (0..p.sheets.len())
                .map(|b| {
                    if *left > 0 && spare[b] > 0 {
                        self.lattice(kind, b, None, LATTICES, eye)
                    } else {
                        Vec::new()
                    }
                })
                .collect();
            let count = |b: usize| u32::try_from(full[b].len()).unwrap_or(u32::MAX);
            while *left > 0 {
                let rate = |b: &usize| p.sheets[*b].cost / f64::from(count(*b).min(*left));
                let free = (0..p.sheets.len()).filter(|b| spare[*b] > 0 && count(*b) > 0);
                let Some(bin) = free.min_by(|a, b| rate(a).total_cmp(&rate(b))) else {
                    break;
                };
                spare[bin] -= 1;
                let placed: Vec<Laid> = full[bin].iter().take(*left as usize).copied().collect();
                *left -= u32::try_from(placed.len()).unwrap_or(*left);
                used.push(Used { bin, placed });
            }
        }
        Found::of(p, used)
    }

    /// Parts laid one after another: a whole layout from the first moment, if there are not too
    /// many parts for that.
    fn plain(&self) -> Option<Found> {
        let p = &self.problem;
        let wanted: u64 = p.kinds.iter().map(|k| u64::from(k.wanted)).sum();
        if wanted > MOST_PLAIN {
            return None;
        }
        let used = Filler::new(&p.kinds, &p.sheets).fill();
        let found = Found::of(p, used);
        found.checked(p).is_ok().then_some(found)
    }

    /// Sheets full of one kind, of those kinds that are wanted so often.
    fn full(&self, eye: &mut Eye<'_>) -> Option<Found> {
        let p = &self.problem;
        let mut spare: Vec<u32> = p.sheets.iter().map(|s| s.count).collect();
        let mut used = Vec::new();
        let size = |b: usize| p.sheets[b].shape.area_mm2();
        let dear = |b: &usize| p.sheets[*b].cost / size(*b).max(1.0);
        let bin = (0..p.sheets.len()).min_by(|a, b| dear(a).total_cmp(&dear(b)))?;
        for (kind, k) in p.kinds.iter().enumerate() {
            if f64::from(k.wanted) * k.shape.area_mm2() < FULL * size(bin) {
                continue;
            }
            let placed = self.lattice(kind, bin, None, LATTICES, eye);
            let each = u32::try_from(placed.len()).unwrap_or(u32::MAX);
            if each == 0 {
                continue;
            }
            let n = (k.wanted / each).min(spare[bin]);
            spare[bin] -= n;
            used.extend((0..n).map(|_| Used {
                bin,
                placed: placed.clone(),
            }));
        }
        let found = Found::of(p, used);
        (!found.sheets.is_empty() && found.checked(p).is_ok()).then_some(found)
    }

    fn refused(&self, r: &Refused) -> Diag {
        match r {
            Refused::TooMany { wanted, most } => Diag::error(
                "too-many-parts",
                format!("{wanted} parts of one board cannot be laid at once: {most} at most"),
            )
            .help("lay them in several layouts"),
            Refused::Shape { sheet, index, why } => {
                let (what, names) = if *sheet {
                    ("stock", &self.stock_names)
                } else {
                    ("part", &self.part_names)
                };
                let name = names.get(*index).map_or("", String::as_str);
                Diag::error(
                    "cannot-lay",
                    format!("{what} `{name}` cannot be laid: {why}"),
                )
                .help("sheets and parts up to 15 m long can be laid")
            }
            r => Diag::error("cannot-lay", format!("the search could not begin: {r}")),
        }
    }

    fn sheets(&self, found: &Found) -> Vec<LaidSheet> {
        let placed = |l: &Laid| Placed {
            part: self.parts[l.kind],
            turn: l.turn,
            at: l.at,
        };
        found
            .sheets
            .iter()
            .map(|u| LaidSheet {
                stock: self.stock[u.bin],
                placed: u.placed.iter().map(placed).collect(),
            })
            .collect()
    }
}

/// Kinds with less board than this share of a sheet are not laid on sheets of their own.
const FULL: f64 = 0.7;

/// Looks at the clock that a lattice may take, whatever is spent already: some hundredths of a second.
const LEAST_TRIES: u32 = 300;

/// Share of a board's part after which no further lattice is looked for.
const LATTICES: f64 = 0.2;

/// Parts laid one after another before the search begins; more would take too long.
const MOST_PLAIN: u64 = 120;

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

/// The stock of a board, and where grown parts may lie on it. A sheet that the margin or the reach
/// leaves nothing of is left out; of one that they part, the largest piece is used.
fn sheets(task: &Task, board: &str) -> (Vec<usize>, Vec<Bin>) {
    let of_board = |(i, p): (usize, &Piece)| (p.board == board && p.count > 0).then_some(i);
    let stock: Vec<usize> = task.stock.iter().enumerate().filter_map(of_board).collect();
    let priced = stock.iter().any(|i| task.stock[*i].price > 0.0);
    let bin = |i: usize| {
        let piece = &task.stock[i];
        let shape = room(&piece.shape, task);
        let cost = if priced {
            piece.price
        } else {
            piece.shape.area_mm2()
        };
        (!shape.outer.is_empty()).then_some((
            i,
            Bin {
                shape,
                count: piece.count,
                cost,
            },
        ))
    };
    stock.into_iter().filter_map(bin).unzip()
}

/// Where grown parts may lie on a sheet.
fn room(sheet: &Shape, task: &Task) -> Shape {
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
    largest(all)
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
