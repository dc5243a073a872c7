//! Which few case sizes serve an order history best?
//!
//! Orders are gathered into a histogram ([`Gather`]). Of all cases whose inside sizes lie on a grid,
//! `k` are chosen so that every order goes into the cheapest case it fits and the sum is least, for
//! any cost that grows with the size ([`Price`]). What comes back carries a bound: no `k` sizes can
//! cost less than that. Where the bound meets the cost the choice is proved best.
//!
//! A thing fits a case when its sizes, sorted, are no larger than those of the case: things lie along
//! the walls, one in a case. This is the problem of choosing packages of Wilson (Management Science
//! 12 (1965) B135), a problem of medians with a rule on what may go where.

mod blanks;
mod chain;
mod coarse;
mod cols;
mod gather;
mod local;
mod price;
mod root;
mod rows;
mod space;
mod tree;
mod watch;

pub use blanks::Blanks;
pub use gather::{
    Gather, Gathering, HEAVIEST, History, LONGEST, MOST_DISTINCT, MOST_IN_ROW, MOST_ORDERS, Wrong,
};
pub use price::{Charged, PlainSlotted, Price, Quadratic, Room};
pub use rows::{Orders, Rows, Stray};
pub use watch::{Progress, Unwatched, Watch};

use coarse::Cells;
use root::Solved;
use watch::Work;

use crate::units::Length;

/// Most sizes that are chosen.
pub const MOST_SIZES: usize = 60;
/// Kinds of things that the search tells apart. Where there are more, they are put together into
/// fewer still ([`PUT_TOGETHER`]), which the bound allows for.
pub const MOST_KINDS: usize = 4000;
/// Kinds that more than [`MOST_KINDS`] are put together into.
pub const PUT_TOGETHER: usize = 1000;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// How many sizes, those that are kept among them.
    pub sizes: usize,
    /// The largest number of sizes that is looked at as well, for the cost against the number.
    pub up_to: usize,
    /// Inside sizes that are in the suite whatever comes, in the order of the things' sizes.
    pub kept: Vec<[Length; 3]>,
    /// No other case is larger than this.
    pub largest: Option<[Length; 3]>,
    /// Kinds of things told apart, at most [`MOST_KINDS`].
    pub kinds: usize,
    /// Steps that may be spent on the asked number of sizes; a quarter of it on each other number.
    pub work: u64,
}

impl Default for Asked {
    fn default() -> Self {
        Self {
            sizes: 6,
            up_to: 6,
            kept: Vec::new(),
            largest: None,
            kinds: MOST_KINDS,
            work: 20_000_000_000,
        }
    }
}

/// One of the chosen sizes.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Its inside size: largest first, or height last where things stay upright.
    pub inside: [Length; 3],
    /// Whether it was to be kept.
    pub kept: bool,
    /// Orders that go into it.
    pub orders: u64,
    /// Volume of what goes into it, in litres.
    pub filled: f64,
    /// What those cases cost together, in the unit of the price.
    pub cost: f64,
}

/// The best suite found for a number of sizes.
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    /// How many sizes were allowed.
    pub sizes: usize,
    /// The sizes, the smallest first.
    pub chosen: Vec<Chosen>,
    /// The sum over all orders, in the unit of the price.
    pub cost: f64,
    /// No suite of so many sizes costs less.
    pub bound: f64,
    /// Whether the two meet, to a part in a billion.
    pub proved: bool,
}

impl Range {
    /// How far the bound is below the cost, as a share of the cost.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.proved || self.cost <= 0.0 {
            0.0
        } else {
            (self.cost - self.bound) / self.cost
        }
    }
}

/// All that came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranges {
    /// One for each number of sizes, rising; each at least as good as the one before it.
    pub by_sizes: Vec<Range>,
    /// Orders too large for every case that is allowed: in no suite and no sum.
    pub too_large: u64,
    /// Kinds of things that the search told apart.
    pub kinds: usize,
    /// Whether kinds were put together for the choice, or the grid was made coarser while gathering.
    /// The bound is then worked out over all kinds as they are, and, on a coarser grid, with each thing
    /// as small as it may be.
    pub coarse: bool,
    /// Whether the cost was seen to fall while a size grows: then bounds do not hold and nothing is
    /// called proved.
    pub falls: bool,
    /// Whether the watch ended it.
    pub stopped: bool,
}

/// Why nothing was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unserved {
    /// There are no orders.
    NoOrders,
    /// No order fits into any case that is allowed.
    AllTooLarge,
    /// Fewer sizes are asked for than are kept, none, or more than [`MOST_SIZES`].
    Sizes,
    /// A case for the largest things cannot be had.
    NotAllowed,
}

/// Chooses sizes for every number from those kept (or 1) to `asked.up_to`.
///
/// # Errors
/// Why nothing can be chosen.
pub fn choose(
    history: &History,
    price: &dyn Price,
    asked: &Asked,
    watch: &mut dyn Watch,
) -> Result<Ranges, Unserved> {
    let up_to = asked.up_to.max(asked.sizes);
    if asked.sizes == 0 || asked.sizes < asked.kept.len() || up_to > MOST_SIZES {
        return Err(Unserved::Sizes);
    }
    if history.orders() == 0 {
        return Err(Unserved::NoOrders);
    }
    let cells = Cells::new(history, asked);
    if cells.placed() == 0 {
        return Err(Unserved::AllTooLarge);
    }
    let space = cells.space(history, asked, price);
    let whole = cells.coarse().then(|| cells.whole(history, asked, price));
    let mut out = Ranges {
        by_sizes: Vec::new(),
        too_large: history.orders() - cells.placed(),
        kinds: space.items.len(),
        coarse: cells.coarse(),
        falls: false,
        stopped: false,
    };
    // Unseen places in between may still fall; what the search itself sees is added.
    let falls_somewhere = space.falls();
    let mut whole_bounds: Vec<f64> = Vec::new();
    let mut before: Option<Solved> = None;
    for sizes in asked.kept.len().max(1)..=up_to {
        let most = if sizes == asked.sizes {
            asked.work
        } else {
            asked.work / 4
        };
        let most = if whole.is_some() { most / 2 } else { most };
        let k = sizes - asked.kept.len();
        let mut work = Work::new(sizes, most, watch);
        let solved = root::solve(&space, k, before.as_ref(), &mut work);
        let mut stopped = work.stopped;
        let mut falls = falls_somewhere || work.falls;
        // With too few sizes kept ones may not hold everything, and more may be allowed to.
        let Some(solved) = solved else {
            out.stopped |= stopped;
            continue;
        };
        let mut bound = solved.bound;
        if let Some(whole) = &whole {
            bound = whole.base_or_least();
            if k == 1 && asked.kept.is_empty() {
                // There is only one such suite.
                let top = whole.hull(0..whole.items.len());
                bound = top.map_or(bound, |at| local::each(whole, &[at]).0);
            }
            if sizes == asked.sizes {
                // The prices of what was put together, held against everything as it is.
                let prices = cells.handed_on(&solved.prices);
                let most_free = up_to - asked.kept.len();
                let mut work = Work::new(sizes, asked.work.saturating_mul(4), watch);
                whole_bounds = root::bounds(whole, &prices, most_free, &mut work);
                stopped |= work.stopped;
                falls |= work.falls;
            }
        }
        let cases = solved
            .suite
            .cases
            .iter()
            .map(|at| space.size(*at))
            .collect();
        let mut range = cells.range(history, asked, price, cases);
        range.sizes = sizes;
        range.bound = if falls { 0.0 } else { bound.min(range.cost) };
        range.proved = !falls && range.bound >= range.cost * (1.0 - 2.0 * tree::SAME);
        out.falls |= falls;
        out.stopped |= stopped;
        out.by_sizes.push(range);
        before = Some(solved);
    }
    if !out.falls {
        for r in &mut out.by_sizes {
            let at = whole_bounds.get(r.sizes - asked.kept.len());
            r.bound = at.map_or(r.bound, |b| b.max(r.bound)).min(r.cost);
        }
    }
    // What bounds more sizes bounds fewer as well.
    for n in (1..out.by_sizes.len()).rev() {
        let more = out.by_sizes[n].bound;
        let one = &mut out.by_sizes[n - 1];
        one.bound = one.bound.max(more).min(one.cost);
    }
    if out.by_sizes.is_empty() {
        return Err(Unserved::NotAllowed);
    }
    Ok(out)
}
