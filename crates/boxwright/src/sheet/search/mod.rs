//! Mixed parts laid on sheets, off-cuts and strips.

mod area;
mod bites;
pub mod exact;
mod exchange;
mod floor;
mod found;
mod pairs;
mod place;
mod separate;
mod set;
mod sheets;
mod strip;
mod swap;
mod work;

pub use found::{Found, Used, better};
pub use sheets::search;
pub use strip::{Strip, strip};

use crate::sheet::shape::{self, Shape, Spot, Turn};

/// A kind of part.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Its outline and windows, grown already by half the room between parts.
    pub shape: Shape,
    /// How it may be turned.
    pub turns: Vec<Turn>,
    /// How many are wanted.
    pub wanted: u32,
}

/// A kind of sheet or off-cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Bin {
    /// Its outline and holes, drawn in already by the margin (less half the room between parts).
    pub shape: Shape,
    /// How many there are.
    pub count: u32,
    /// What one costs; not less than 0.
    pub cost: f64,
}

/// What is to be laid on what.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// The parts.
    pub kinds: Vec<Kind>,
    /// The sheets.
    pub sheets: Vec<Bin>,
}

/// A part where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Laid {
    /// Index of its kind.
    pub kind: usize,
    /// Turned about its own origin,
    pub turn: Turn,
    /// then moved by so much.
    pub at: Spot,
}

/// Why no search was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refused {
    /// The shape of a kind, or of a sheet, cannot be used.
    Shape {
        /// Whether it is a sheet's, else a kind's.
        sheet: bool,
        /// Which one.
        index: usize,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A kind is too large for the strip in every turn it may have.
    TooLarge {
        /// Which one.
        kind: usize,
    },
    /// A kind may lie in no turn at all.
    NoTurn {
        /// Which one.
        kind: usize,
    },
    /// The cost of a sheet is below 0 or no number.
    Cost {
        /// Which one.
        sheet: usize,
    },
    /// The layout to begin with does not hold.
    Start {
        /// What is wrong with it.
        why: &'static str,
    },
    /// More parts than can be searched at once.
    TooMany {
        /// How many are wanted,
        wanted: u64,
        /// and how many there may be.
        most: u64,
    },
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Shape { sheet, index, why } => {
                let what = if *sheet { "sheet" } else { "part" };
                write!(f, "{what} {} cannot be laid: {why}", index + 1)
            }
            Self::TooLarge { kind } => {
                write!(
                    f,
                    "part {} is higher than the strip in every turn",
                    kind + 1
                )
            }
            Self::NoTurn { kind } => write!(f, "part {} may be turned in no way", kind + 1),
            Self::Cost { sheet } => {
                write!(
                    f,
                    "the price of sheet {} is below 0 or no number",
                    sheet + 1
                )
            }
            Self::Start { why } => write!(f, "the layout to begin with does not hold: {why}"),
            Self::TooMany { wanted, most } => {
                write!(
                    f,
                    "{wanted} parts are wanted; at most {most} are laid in one search"
                )
            }
        }
    }
}

impl std::error::Error for Refused {}

/// Coordinates may reach this far from the origin, in grid steps: 16 m. Twice that, and the product
/// of two, stays whole in `f64`.
pub const FARTHEST: i64 = 16_000_000;

/// Parts that can be wanted in all.
pub const MOST_PARTS: u64 = 20_000;

/// Parts on one strip or sheet that are moved about, as every pair has a weight of its own. A sheet
/// that holds more is filled and left so.
pub const MOST_MOVED: u64 = 2_000;

fn admit(kinds: &[Kind], most: u64) -> Result<(), Refused> {
    for (kind, k) in kinds.iter().enumerate() {
        if k.wanted == 0 {
            continue;
        }
        sound(&k.shape).map_err(|why| Refused::Shape {
            sheet: false,
            index: kind,
            why,
        })?;
        if k.turns.is_empty() {
            return Err(Refused::NoTurn { kind });
        }
    }
    let wanted = kinds.iter().map(|k| u64::from(k.wanted)).sum();
    if wanted > most {
        return Err(Refused::TooMany { wanted, most });
    }
    Ok(())
}

fn admit_sheets(sheets: &[Bin]) -> Result<(), Refused> {
    for (sheet, bin) in sheets.iter().enumerate() {
        sound(&bin.shape).map_err(|why| Refused::Shape {
            sheet: true,
            index: sheet,
            why,
        })?;
        if !bin.cost.is_finite() || bin.cost < 0.0 {
            return Err(Refused::Cost { sheet });
        }
    }
    Ok(())
}

/// What the search needs of a shape; whether rings cross is for those who draw them.
fn sound(shape: &Shape) -> Result<(), &'static str> {
    if shape.outer.len() < 3 {
        return Err("it has no area");
    }
    let far = |p: &Spot| p.x.abs() > FARTHEST || p.y.abs() > FARTHEST;
    if shape.rings().flatten().any(far) {
        return Err("it reaches further than 16 m from its origin");
    }
    if shape::doubled_area(&shape.outer) <= 0 {
        return Err("its outer ring has no area or turns clockwise");
    }
    if shape.holes.iter().any(|h| shape::doubled_area(h) >= 0) {
        return Err("a hole has no area or turns counter-clockwise");
    }
    if shape.doubled_area() <= 0 {
        return Err("its holes are larger than itself");
    }
    Ok(())
}

/// Looks on while a search goes on. The search reads no clock: whoever watches does.
pub trait Watch {
    /// How much of the budget is spent, 0 to 1, after so many moves; at 1 the search ends. Asked
    /// before each move.
    fn spent(&mut self, moves: u64) -> f64;
    /// A better layout was found.
    fn better(&mut self, found: &Found) {
        let _ = found;
    }
    /// A better strip was found.
    fn better_strip(&mut self, strip: &Strip) {
        let _ = strip;
    }
}

/// Counts moves and asks whoever watches.
pub(crate) struct Pulse<'a> {
    watch: &'a mut dyn Watch,
    moves: u64,
    /// Share of the budget at which to stop for now.
    until: f64,
    spent: f64,
}

impl<'a> Pulse<'a> {
    fn new(watch: &'a mut dyn Watch) -> Self {
        Self {
            watch,
            moves: 0,
            until: 1.0,
            spent: 0.0,
        }
    }
    /// One move more; `false` when it is time to stop.
    fn go_on(&mut self) -> bool {
        self.spent = self.watch.spent(self.moves);
        self.moves += 1;
        self.spent < self.until
    }
    /// Whether it was time to stop at the last move.
    fn over(&self) -> bool {
        self.spent >= self.until
    }
}
