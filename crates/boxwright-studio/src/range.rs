//! From what the page asks to a search for a range of sizes, and to what it shows of it.

use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use boxwright::board::Board;
use boxwright::diag::Diag;
use boxwright::emit::bundle::stem;
use boxwright::emit::curve::{Bar, Curve, Point, curve};
use boxwright::suite::{
    Asked, Blanks, Charged, Chosen, Gathering, LONGEST, MOST_DISTINCT, MOST_KINDS, MOST_SIZES,
    Orders, Price, Range, Ranges, Room, Rows, Unserved, Watch, choose,
};
use boxwright::units::{Dim, Length, LengthUnit, Mass, trimmed};

use crate::folder::{MOST_ORDERS_BYTES, Sort};
use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::stock::{quantity, typed};
use crate::wire::{Least, RangeAsk, RangeShown, RangeSize, RangeTotal};

/// Finest and coarsest grid.
const GRIDS: [Length; 2] = [Length::mm(0.1), Length::mm(1000.0)];
/// Most clearance on a side.
const MOST_CLEARANCE: Length = Length::mm(1000.0);
/// Sizes beyond those asked for that are looked at as well, as on the command line.
const MORE: usize = 3;
/// Most millions of steps.
const MOST_WORK: u32 = 50_000;

/// A search, ready to run.
pub struct Search {
    title: String,
    least: Least,
    unit: LengthUnit,
    orders: Orders,
    asked: Asked,
    price: Box<dyn Price + Send>,
    words: String,
    notes: Vec<String>,
}

fn no(message: impl Into<String>) -> Refuse {
    Refuse::conflict("not-chosen", message)
}

fn told(d: &Diag) -> Refuse {
    Refuse::of_diags("not-chosen", std::slice::from_ref(d))
}

/// Reads the order history and all that is asked of it.
///
/// # Errors
/// The first thing wrong with it.
pub fn search(shelf: &Shelf, ask: &RangeAsk) -> Result<Search, Refuse> {
    let sizes = usize::try_from(ask.sizes).unwrap_or(usize::MAX);
    if !(1..=MOST_SIZES).contains(&sizes) {
        return Err(no(format!("a range is of 1 to {MOST_SIZES} sizes")));
    }
    if ask.keep.len() > sizes {
        let message = format!("{} sizes kept, and only {sizes} asked for", ask.keep.len());
        return Err(no(message).help("the sizes that are kept count among those asked for"));
    }
    if !(1..=MOST_WORK).contains(&ask.work) {
        let message = format!("a search takes 1 to {MOST_WORK} million steps");
        return Err(no(message));
    }
    let within = |name: &str, text: &str, usual: Length, [a, b]: [Length; 2]| {
        if text.trim().is_empty() {
            return Ok(usual);
        }
        let l = typed(name, text).map_err(|d| told(&d))?;
        if l >= a && l <= b {
            return Ok(l);
        }
        let [a, b] = [a, b].map(Length::to_mm);
        Err(no(format!("{name} lies between {a} and {b} mm")))
    };
    let clear = [Length::ZERO, MOST_CLEARANCE];
    let clearance = within("the clearance", &ask.clearance, Length::ZERO, clear)?;
    let grid = within("the grid", &ask.grid, Length::mm(1.0), GRIDS)?;
    let mut kept = Vec::new();
    for texts in &ask.keep {
        if texts.len() != 3 {
            return Err(no("a size that is kept has a length, a width and a depth"));
        }
        let mut size = [Length::ZERO; 3];
        for (to, text) in size.iter_mut().zip(texts) {
            let l = typed("a size that is kept", text).map_err(|d| told(&d))?;
            if !(l > Length::ZERO && l <= LONGEST) {
                return Err(no("a case is larger than nothing and at most 20 m long"));
            }
            *to = l;
        }
        sorted(&mut size, ask.upright);
        kept.push(size);
    }
    let mut mass_step = None;
    if ask.least == Least::Freight {
        if !(1.0..=1e6).contains(&ask.divisor) {
            let message = "the volume charged as one kilogram lies between 1 and 1000000 cm3";
            return Err(no(message));
        }
        let text = if ask.step.trim().is_empty() {
            "0.5kg"
        } else {
            &ask.step
        };
        let kg = quantity("the step of mass", text, Dim::MASS).map_err(|d| told(&d))?;
        if !(0.001..=1000.0).contains(&kg) {
            return Err(no("a step of mass lies between 1 g and 1000 kg"));
        }
        mass_step = Some(Mass::kg(kg));
    }
    let how = Gathering {
        grid,
        clearance,
        upright: ask.upright,
        mass_step,
        ..Gathering::default()
    };
    let (title, orders) = read(shelf, ask, how)?;
    let asked = Asked {
        sizes,
        up_to: (sizes + MORE).min(MOST_SIZES),
        kept,
        largest: None,
        kinds: MOST_KINDS,
        work: u64::from(ask.work) * 1_000_000,
    };
    let mut notes = Vec::new();
    if let Some(first) = &orders.first_bad {
        let word = if orders.bad == 1 { "row" } else { "rows" };
        notes.push(format!(
            "{} bad {word} left out; the first: {first}",
            orders.bad
        ));
    }
    if ask.least == Least::Freight && !orders.mass {
        notes.push("the orders have no column `mass`: only their volume is charged".to_owned());
    }
    if orders.history.orders() == 0 {
        return Err(unserved(Unserved::NoOrders));
    }
    let (price, words) = price(shelf, ask, &orders, mass_step)?;
    Ok(Search {
        title,
        least: ask.least,
        unit: ask.unit.into(),
        orders,
        asked,
        price,
        words,
        notes,
    })
}

fn sorted(size: &mut [Length; 3], upright: bool) {
    let turned = if upright { 2 } else { 3 };
    size[..turned].sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
}

/// The history, and what it is called.
fn read(shelf: &Shelf, ask: &RangeAsk, how: Gathering) -> Result<(String, Orders), Refuse> {
    let (name, text) = match (&ask.file, &ask.text) {
        (Some(name), None) => {
            let folder = shelf.folder();
            let folder =
                folder.ok_or_else(|| Refuse::absent("no-folder", "no folder is opened"))?;
            let held = folder.find(Sort::Orders, name)?;
            (name.clone(), held.text)
        }
        (None, Some(text)) => ("the orders".to_owned(), text.clone()),
        _ => {
            let help = "give the one or the other";
            return Err(no("either a file is named or its text is given").help(help));
        }
    };
    if text.len() > MOST_ORDERS_BYTES {
        let most = MOST_ORDERS_BYTES >> 20;
        let message = format!("an order history of more than {most} MiB is not read here");
        return Err(no(message).help("`boxwright range` reads files of any length"));
    }
    let mut rows = Rows::new(&name, how, ask.skip_bad);
    let orders = rows.push(text.as_bytes()).and_then(|()| rows.finish());
    let orders = orders.map_err(|s| told(&s.diag))?;
    let stem = Path::new(&name).file_stem().unwrap_or_default();
    Ok((stem.to_string_lossy().into_owned(), orders))
}

type Priced = (Box<dyn Price + Send>, String);

fn price(
    shelf: &Shelf,
    ask: &RangeAsk,
    orders: &Orders,
    step: Option<Mass>,
) -> Result<Priced, Refuse> {
    let board = || -> Result<&Board, Refuse> {
        let found = shelf.boards().get(&ask.board);
        found.ok_or_else(|| {
            Refuse::conflict(
                "unknown-board",
                format!("there is no board `{}`", ask.board),
            )
        })
    };
    match ask.least {
        Least::Void => Ok((
            Box::new(Room),
            "room in the cases that things do not fill".to_owned(),
        )),
        Least::Freight => {
            let t = board()?.caliper;
            let step = step.unwrap_or(Mass::kg(0.5));
            let words = format!(
                "mass charged by the carrier: true, or outside volume over {} cm3 per kg, in steps of {} kg",
                ask.divisor,
                step.to_kg()
            );
            let charged = Charged {
                walls: [t * 2.0, t * 2.0, t * 4.0],
                divisor: ask.divisor,
                step,
            };
            Ok((Box::new(charged), words))
        }
        Least::Board => {
            let board = board()?.clone();
            let shipped = shelf.styles().iter().find(|(n, _)| *n == ask.style);
            let style = match shipped {
                Some((_, style)) => Some(Arc::clone(style)),
                None => shelf.own_style(&ask.style),
            };
            let style = style.ok_or_else(|| {
                Refuse::absent("no-style", format!("there is no style `{}`", ask.style))
            })?;
            let words = format!(
                "board of the rectangles that blanks of {} are cut from, {}",
                style.name, board.name
            );
            let ends = orders.history.ends();
            let blanks = Blanks::new(style, board, ends, ask.upright);
            let blanks = blanks.map_err(|d| Refuse::of_diags("not-chosen", &d))?;
            if !blanks.is_quick() {
                let message = "every size of this style is drawn to find its board, which takes too long for this page";
                let help = "take another style, or `boxwright range` with a coarse --grid";
                return Err(no(message).help(help));
            }
            Ok((Box::new(blanks), words))
        }
    }
}

fn unserved(why: Unserved) -> Refuse {
    match why {
        Unserved::NoOrders => no("there are no orders in it")
            .help("give a row for each order or thing, with its count"),
        Unserved::AllTooLarge => no("every order is larger than every case that is allowed"),
        Unserved::Sizes => no("so many sizes cannot be chosen"),
        Unserved::NotAllowed => no("so few sizes cannot hold all orders")
            .help("ask for more sizes; perhaps the style cannot be drawn for the largest things"),
    }
}

impl Search {
    /// The largest number of sizes that is looked at.
    #[must_use]
    pub const fn up_to(&self) -> usize {
        self.asked.up_to
    }

    /// Searches until it is done or the watch has had enough.
    ///
    /// # Errors
    /// Why nothing can be chosen.
    pub fn run(&self, watch: &mut dyn Watch) -> Result<RangeShown, Refuse> {
        let ranges = choose(&self.orders.history, &*self.price, &self.asked, watch);
        let ranges = ranges.map_err(unserved)?;
        let wanted = |r: &&Range| r.sizes == self.asked.sizes;
        let Some(range) = ranges.by_sizes.iter().find(wanted) else {
            return Err(if ranges.stopped {
                no("stopped before a range of so many sizes was found")
            } else {
                let message = format!("{} sizes cannot hold all orders", self.asked.sizes);
                no(message).help("ask for more sizes, or keep fewer")
            });
        };
        Ok(self.shown(&ranges, range))
    }

    fn shown(&self, ranges: &Ranges, range: &Range) -> RangeShown {
        let h = &self.orders.history;
        let told = Told {
            least: self.least,
            // Every range holds the same things.
            filled: range.chosen.iter().map(|c| c.filled).sum(),
        };
        let placed = h.orders() - ranges.too_large;
        let mut before: Option<f64> = None;
        let totals: Vec<RangeTotal> = ranges
            .by_sizes
            .iter()
            .map(|r| {
                let cost = told.of(r.cost);
                let saves = before.filter(|b| *b > 0.0).map(|b| (b - cost) / b);
                before = Some(cost);
                RangeTotal {
                    sizes: count(r.sizes),
                    cost,
                    bound: told.of(r.bound),
                    gap: told.gap(r),
                    proved: r.proved,
                    saves,
                }
            })
            .collect();
        let cost = told.of(range.cost);
        RangeShown {
            title: self.title.clone(),
            least: self.least,
            what: told.word().to_owned(),
            unit: told.unit().to_owned(),
            price: self.words.clone(),
            orders: h.orders(),
            rows: self.orders.rows,
            distinct: h.distinct() as u64,
            things: h.filled_litres(),
            sizes: count(self.asked.sizes),
            chosen: range.chosen.iter().map(|c| told.size(c, placed)).collect(),
            totals,
            each: cost * share(1, placed),
            empty: (self.least == Least::Void && range.cost > 0.0).then(|| cost / range.cost),
            proof: told.proof(ranges, range),
            notes: self.notes(ranges),
            stopped: ranges.stopped,
            picture: self.plot(&told, ranges, range),
            csv: told.csv(range),
            name: format!("{}-range.csv", stem(&self.title)),
        }
    }

    fn notes(&self, r: &Ranges) -> Vec<String> {
        let mut out = self.notes.clone();
        let h = &self.orders.history;
        if r.too_large > 0 {
            out.push(format!(
                "{} of {} orders are larger than every case that is allowed, and are left out",
                r.too_large,
                h.orders()
            ));
        }
        if h.rounded_to() > h.how().grid {
            out.push(format!(
                "more than {MOST_DISTINCT} distinct sizes: things were rounded up to {} mm while they were read; the bound takes the loss into account",
                h.rounded_to().to_mm()
            ));
        }
        if r.falls {
            out.push("the cost was seen to fall while a size grows: there is no bound, and nothing is proved".to_owned());
        }
        if r.stopped {
            out.push("stopped before the search was done: these are the best so far".to_owned());
        }
        out
    }

    fn plot(&self, told: &Told, ranges: &Ranges, range: &Range) -> String {
        let points = ranges.by_sizes.iter().map(|r| Point {
            sizes: r.sizes,
            cost: told.of(r.cost),
            bound: told.of(r.bound),
        });
        let words = |c: &Chosen| {
            let [l, w, d] = c.inside.map(|l| self.unit.number(l));
            format!("{l} x {w} x {d} {}", self.unit.symbol())
        };
        let bars = range.chosen.iter().map(|c| Bar {
            words: words(c),
            orders: c.orders,
            kept: c.kept,
        });
        curve(&Curve {
            title: format!("Range of {} sizes for {}", self.asked.sizes, self.title),
            below: format!("least {}: {}", told.word(), self.words),
            axis: format!("{} of all orders, {}", told.word(), told.unit()),
            points: points.collect(),
            sizes: self.asked.sizes,
            bars: bars.collect(),
        })
        .to_svg()
    }
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

#[allow(clippy::cast_precision_loss, reason = "a share")]
fn share(part: u64, whole: u64) -> f64 {
    part as f64 / (whole as f64).max(1.0)
}

/// Four digits that count.
fn figure(v: f64) -> String {
    let digits = match v.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        _ => 3,
    };
    trimmed(v, digits)
}

/// How costs are told: of void only what the things do not fill.
struct Told {
    least: Least,
    /// Volume of the things that found a place, in litres.
    filled: f64,
}

impl Told {
    const fn word(&self) -> &'static str {
        match self.least {
            Least::Void => "void",
            Least::Board => "board",
            Least::Freight => "charged mass",
        }
    }
    const fn unit(&self) -> &'static str {
        match self.least {
            Least::Void => "l",
            Least::Board => "m2",
            Least::Freight => "kg",
        }
    }
    fn of(&self, cost: f64) -> f64 {
        match self.least {
            Least::Void => (cost - self.filled).max(0.0),
            Least::Board | Least::Freight => cost,
        }
    }
    fn own(&self, c: &Chosen) -> f64 {
        match self.least {
            Least::Void => (c.cost - c.filled).max(0.0),
            Least::Board | Least::Freight => c.cost,
        }
    }
    fn gap(&self, r: &Range) -> f64 {
        let (cost, bound) = (self.of(r.cost), self.of(r.bound));
        if r.proved || cost <= 0.0 {
            0.0
        } else {
            (cost - bound) / cost
        }
    }
    fn size(&self, c: &Chosen, placed: u64) -> RangeSize {
        let room = c.inside.iter().map(|l| l.to_mm()).product::<f64>() * 1e-6;
        #[allow(clippy::cast_precision_loss, reason = "a share")]
        let room = room * c.orders as f64;
        RangeSize {
            inside: c.inside.map(Length::to_mm),
            typed: c.inside.map(|l| format!("{}mm", trimmed(l.to_mm(), 3))),
            kept: c.kept,
            orders: c.orders,
            share: share(c.orders, placed),
            filled: if room > 0.0 { c.filled / room } else { 0.0 },
            cost: self.own(c),
        }
    }
    fn proof(&self, ranges: &Ranges, r: &Range) -> String {
        let sizes = if r.sizes == 1 {
            "1 size".to_owned()
        } else {
            format!("{} sizes", r.sizes)
        };
        if r.proved {
            return format!("Proved best: no {sizes} on this grid make it less.");
        }
        let mut text = format!(
            "Not proved best: no {sizes} come below {} {}.",
            figure(self.of(r.bound)),
            self.unit()
        );
        if ranges.coarse {
            let _ = write!(
                text,
                " Things were put together into {} kinds, which the bound allows for; a coarser grid may bring the two together.",
                ranges.kinds
            );
        } else {
            text.push_str(" A longer search may bring the two together.");
        }
        text
    }
    /// The sizes as a table for other programs, in mm.
    fn csv(&self, range: &Range) -> String {
        let mut out = format!(
            "length_mm,width_mm,depth_mm,kept,orders,filled_l,{}_{}\n",
            self.word().replace(' ', "_"),
            self.unit()
        );
        for c in &range.chosen {
            let [l, w, d] = c.inside.map(|l| trimmed(l.to_mm(), 3));
            let _ = writeln!(
                out,
                "{l},{w},{d},{},{},{},{}",
                if c.kept { "yes" } else { "no" },
                c.orders,
                trimmed(c.filled, 3),
                trimmed(self.own(c), 3)
            );
        }
        out
    }
}
