//! `range`: chooses the few case sizes that serve an order history best.

mod price;
mod rows;
mod words;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use boxwright::diag::{Diag, Place};
use boxwright::emit::bundle::stem;
use boxwright::emit::curve::{Bar, Curve, Point, curve};
use boxwright::emit::pdf::pdf;
use boxwright::emit::png::png;
use boxwright::job::outside_constant;
use boxwright::suite::{
    Asked, Blanks, Charged, Gathering, History, LONGEST, MOST_DISTINCT, MOST_KINDS, MOST_SIZES, Orders,
    Price,
    Progress, Range, Ranges, Room, Unserved, Watch, choose,
};
use boxwright::units::{Dim, Length, LengthUnit, Mass};
use indicatif::{ProgressBar, ProgressStyle};

use super::{Done, Status};
use crate::args::{Least, RangeArgs, Sizes};
use crate::desk::{Desk, STANDARD_INPUT};
use crate::excerpt::cleaned;
use crate::overrides::option;
use crate::{folder, say};

/// Breadth of the plot as PNG, in pixels.
const PIXELS: u32 = 1800;
/// Finest and coarsest grid.
const GRIDS: [Length; 2] = [Length::mm(0.1), Length::mm(1000.0)];
/// Most clearance on a side.
const MOST_CLEARANCE: Length = Length::mm(1000.0);

/// What was found, and all that is told of it.
pub struct Found {
    /// What the history is called.
    pub title: String,
    pub least: Least,
    pub orders: Orders,
    pub ranges: Ranges,
    pub asked: Asked,
    /// The price in words.
    pub price: String,
}

impl Found {
    pub const fn history(&self) -> &History {
        &self.orders.history
    }
    /// Volume of the things that found a place, in litres.
    pub fn filled(&self) -> f64 {
        let any = self.ranges.by_sizes.last();
        any.map_or(0.0, |r| r.chosen.iter().map(|c| c.filled).sum())
    }
    /// A cost as it is told: of void only what the things do not fill.
    pub fn told(&self, cost: f64) -> f64 {
        match self.least {
            Least::Void => (cost - self.filled()).max(0.0),
            Least::Board | Least::Freight => cost,
        }
    }
    pub const fn unit(&self) -> &'static str {
        match self.least {
            Least::Void => "l",
            Least::Board => "m2",
            Least::Freight => "kg",
        }
    }
    pub const fn word(&self) -> &'static str {
        match self.least {
            Least::Void => "void",
            Least::Board => "board",
            Least::Freight => "charged mass",
        }
    }
    /// The range of the asked number of sizes.
    pub fn range(&self) -> Option<&Range> {
        let wanted = |r: &&Range| r.sizes == self.asked.sizes;
        self.ranges.by_sizes.iter().find(wanted)
    }
}

/// Runs it.
pub fn run(args: &RangeArgs, desk: &mut Desk) -> Result<Done, Vec<Diag>> {
    let (how, asked) = asked(args, desk)?;
    let board = match args.least {
        Least::Void => None,
        Least::Board | Least::Freight => Some(price::board(&args.board, desk)?),
    };
    let style = match args.least {
        Least::Board => Some(price::style(&args.style, desk)?),
        Least::Void | Least::Freight => None,
    };
    let orders = rows::read(&args.orders, how, args.skip_bad, desk)?;
    let mut warnings = Vec::new();
    let (price, words): (Box<dyn Price>, String) = match (style, board) {
        (Some(style), Some(board)) => {
            let words = format!(
                "board of the rectangles that blanks of {} are cut from, {}",
                style.name, board.name
            );
            let ends = ends(&orders.history, &asked);
            let blanks = Blanks::new(style, board, ends, args.upright)?;
            if !blanks.is_quick() {
                let message = "every size is drawn to find its board, which takes long";
                let help = "give a coarser --grid if it takes too long";
                warnings.push(Diag::warning("drawn-each", message).help(help));
            }
            (Box::new(blanks), words)
        }
        (_, Some(board)) => {
            let t = board.caliper;
            let step = mass(&args.step, desk)?;
            let words = format!(
                "mass charged by the carrier: true, or outside volume over {} cm3 per kg, in steps of {} kg",
                args.divisor,
                step.to_kg()
            );
            let charged = Charged {
                walls: [t * 2.0, t * 2.0, t * 4.0],
                divisor: args.divisor,
                step,
            };
            if !orders.mass {
                let message = "the orders have no column `mass`: only their volume is charged";
                warnings.push(Diag::warning("no-mass", message));
            }
            (Box::new(charged), words)
        }
        _ => (
            Box::new(Room),
            "room in the cases that things do not fill".to_owned(),
        ),
    };
    if orders.bad > 0 {
        let message = format!(
            "{} left out; the first: {}",
            say::counted(usize::try_from(orders.bad).unwrap_or(usize::MAX), "bad row"),
            orders.first_bad.as_deref().unwrap_or("")
        );
        warnings.push(Diag::warning("bad-rows", message));
    }
    let ranges = searched(&orders.history, price.as_ref(), &asked)?;
    let title = if args.orders.as_os_str() == "-" {
        STANDARD_INPUT.to_owned()
    } else {
        let name = args.orders.file_stem().unwrap_or_default();
        name.to_string_lossy().into_owned()
    };
    let found = Found {
        title,
        least: args.least,
        orders,
        ranges,
        asked,
        price: words,
    };
    warnings.extend(told_besides(&found));
    if found.range().is_none() {
        let message = format!(
            "{} cannot hold all orders",
            say::counted(found.asked.sizes, "size")
        );
        let help = "ask for more sizes, or keep fewer";
        return Err(vec![Diag::error("too-few-sizes", message).help(help)]);
    }
    let json = words::json(&found)?;
    let mut text = if args.json {
        json.clone()
    } else {
        words::told(&found, args.units.into())
    };
    if let Some(out) = &args.out {
        let files = files(&found, json, args.units.into())?;
        folder::write(out, &files).map_err(|d| vec![d])?;
        if !args.json {
            text.push('\n');
            let word = say::counted(files.len(), "file");
            say::line(&mut text, "files", &format!("{word} in {}", out.display()));
            for (name, _) in &files {
                say::line(&mut text, "", name);
            }
        }
    }
    let text = if args.json { text } else { cleaned(&text) };
    let status = if found.ranges.too_large == 0 {
        Status::Fine
    } else {
        Status::Failed
    };
    Done::saying(&text, status, warnings)
}

/// What the user should know of the result.
fn told_besides(found: &Found) -> Vec<Diag> {
    let mut out = Vec::new();
    let r = &found.ranges;
    if r.too_large > 0 {
        let message = format!(
            "{} of {} orders are larger than every case that is allowed, and are left out",
            r.too_large,
            found.history().orders()
        );
        let help = "allow a larger case with --largest, or keep one with --keep";
        out.push(Diag::warning("too-large", message).help(help));
    }
    let grid = found.history().how().grid;
    if found.history().rounded_to() > grid {
        let message = format!(
            "more than {MOST_DISTINCT} distinct sizes: things were rounded up to {} mm while they were read",
            found.history().rounded_to().to_mm()
        );
        let help =
            "the bound takes the loss into account; give that grid with --grid for a closer one";
        out.push(Diag::warning("grid-coarser", message).help(help));
    }
    if r.falls {
        let message = "the cost was seen to fall while a size grows: there is no bound, and nothing is proved";
        out.push(Diag::warning("cost-falls", message));
    }
    if r.stopped {
        let message = "stopped before the search was done: these are the best so far";
        out.push(Diag::warning("stopped", message));
    }
    out
}

fn asked(args: &RangeArgs, desk: &Desk) -> Result<(Gathering, Asked), Vec<Diag>> {
    let mut diags = Vec::new();
    let mut within = |name: &str, text: &str, range: [Length; 2]| {
        let place = option(desk, name, text);
        let length = outside_constant(&place, text, Dim::LENGTH).map(Length::mm);
        let checked = length.and_then(|l| {
            if l >= range[0] && l <= range[1] {
                Ok(l)
            } else {
                let [a, b] = range.map(Length::to_mm);
                let message = format!("{name} lies between {a} and {b} mm");
                Err(Box::new(Diag::error("out-of-range", message).at(place)))
            }
        });
        checked.map_err(|d| diags.push(*d)).unwrap_or(range[1])
    };
    let grid = within("--grid", &args.grid, GRIDS);
    let clearance = within(
        "--clearance",
        &args.clearance,
        [Length::ZERO, MOST_CLEARANCE],
    );
    let mut size = |name: &str, three: &Sizes| {
        size(name, three, args.upright, desk)
            .map_err(|d| diags.push(*d))
            .unwrap_or([LONGEST; 3])
    };
    let kept: Vec<[Length; 3]> = args.keep.iter().map(|k| size("--keep", k)).collect();
    let largest = args.largest.as_ref().map(|l| size("--largest", l));
    let smallest = args.smallest.as_ref().map(|s| size("--smallest", s));
    let sizes = usize::from(args.sizes);
    if kept.len() > sizes {
        let message = format!(
            "{} kept, and only {} asked for",
            say::counted(kept.len(), "size is").replace("size iss", "sizes are"),
            say::counted(sizes, "size")
        );
        let help = "the sizes that are kept count among --sizes";
        diags.push(Diag::error("too-few-sizes", message).help(help));
    }
    if let (Some(s), Some(l)) = (smallest, largest)
        && (0..3).any(|d| s[d] > l[d])
    {
        let message = "the smallest case is larger than the largest";
        diags.push(Diag::error("out-of-range", message).help("change --smallest or --largest"));
    }
    let mass_step = match args.least {
        Least::Freight => mass(&args.step, desk).map_err(|d| diags.extend(d)).ok(),
        Least::Void | Least::Board => None,
    };
    if !diags.is_empty() {
        return Err(diags);
    }
    let how = Gathering {
        grid,
        clearance,
        upright: args.upright,
        least: smallest.unwrap_or([Length::ZERO; 3]),
        mass_step,
        most: MOST_DISTINCT,
    };
    let up_to = args.up_to.map_or(sizes + 3, usize::from);
    let asked = Asked {
        sizes,
        up_to: up_to.min(MOST_SIZES).max(sizes),
        kept,
        largest,
        kinds: MOST_KINDS,
        work: args.work * 1_000_000,
    };
    Ok((how, asked))
}

/// A size of a case in the order of the things' sizes.
fn size(name: &str, three: &Sizes, upright: bool, desk: &Desk) -> Result<[Length; 3], Box<Diag>> {
    let whole = option(desk, name, &three.text);
    let mut out = [Length::ZERO; 3];
    for (out, (text, start, end)) in out.iter_mut().zip(&three.sizes) {
        let place = Place {
            start: *start,
            end: *end,
            ..whole.clone()
        };
        let l = outside_constant(&place, text, Dim::LENGTH).map(Length::mm)?;
        if !(l > Length::ZERO && l <= LONGEST) {
            let message = "a case is larger than nothing and at most 20 m long";
            return Err(Box::new(Diag::error("out-of-range", message).at(place)));
        }
        *out = l;
    }
    let turned = if upright { 2 } else { 3 };
    out[..turned].sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
    Ok(out)
}

fn mass(text: &str, desk: &Desk) -> Result<Mass, Vec<Diag>> {
    let place = option(desk, "--step", text);
    let kg = outside_constant(&place, text, Dim::MASS).map_err(|d| vec![*d])?;
    if (0.001..=1000.0).contains(&kg) {
        Ok(Mass::kg(kg))
    } else {
        let message = "a step of mass lies between 1 g and 1000 kg";
        Err(vec![Diag::error("out-of-range", message).at(place)])
    }
}

/// The least and the largest that is needed of each size.
fn ends(history: &History, asked: &Asked) -> [[Length; 3]; 2] {
    let [low, mut high] = history.ends();
    if let Some(l) = asked.largest {
        high = [0, 1, 2].map(|d| high[d].min(l[d]).max(low[d]));
    }
    [low, high]
}

/// Searches until it is done, or the user stops it with Ctrl-C, with a bar meanwhile.
fn searched(history: &History, price: &dyn Price, asked: &Asked) -> Result<Ranges, Vec<Diag>> {
    let stopped = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&stopped);
    // Where no handler can be set, Ctrl-C ends the program as it always does.
    let _ = ctrlc::set_handler(move || {
        if flag.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
    // Drawn to standard error, and not at all where that is no terminal.
    let bar = ProgressBar::new(asked.work);
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} Ctrl-C takes the best so far")
    {
        bar.set_style(style);
    }
    let mut sight = Sight {
        bar: &bar,
        stopped: &stopped,
    };
    let found = choose(history, price, asked, &mut sight);
    bar.finish_and_clear();
    found.map_err(|why| {
        vec![match why {
            Unserved::NoOrders => Diag::error("no-orders", "there are no orders in it")
                .help("give a row for each order or thing, with its count"),
            Unserved::AllTooLarge => Diag::error(
                "too-large",
                "every order is larger than every case that is allowed",
            )
            .help("allow a larger case with --largest"),
            Unserved::Sizes => Diag::error("too-few-sizes", "so many sizes cannot be chosen"),
            Unserved::NotAllowed => {
                Diag::error("too-few-sizes", "so few sizes cannot hold all orders").help(
                    "ask for more sizes; perhaps the style cannot be drawn for the largest things",
                )
            }
        }]
    })
}

struct Sight<'a> {
    bar: &'a ProgressBar,
    stopped: &'a AtomicBool,
}

impl Watch for Sight<'_> {
    fn goes_on(&mut self, p: &Progress) -> bool {
        let gap = 100.0 * (p.cost - p.bound) / p.cost;
        self.bar.set_length(p.most);
        self.bar.set_position(p.spent);
        let message = format!("{} sizes, within {gap:.2} % of the bound", p.sizes);
        self.bar.set_message(message);
        !self.stopped.load(Ordering::Relaxed)
    }
}

fn files(
    found: &Found,
    json: String,
    unit: LengthUnit,
) -> Result<Vec<(String, Vec<u8>)>, Vec<Diag>> {
    let stem = stem(&found.title);
    let name = |end: &str| format!("{stem}-range.{end}");
    let page = plot(found, unit);
    let one = |d: Diag| vec![d];
    let picture = png(&page, PIXELS).map_err(one)?;
    Ok(vec![
        (name("json"), json.into_bytes()),
        (name("csv"), words::csv(found).into_bytes()),
        (name("pdf"), pdf(&[page], &found.title).map_err(one)?),
        (name("png"), picture),
    ])
}

fn plot(found: &Found, unit: LengthUnit) -> boxwright::emit::scene::Scene {
    let points = found.ranges.by_sizes.iter().map(|r| Point {
        sizes: r.sizes,
        cost: found.told(r.cost),
        bound: found.told(r.bound),
    });
    let bars = found
        .range()
        .into_iter()
        .flat_map(|r| &r.chosen)
        .map(|c| Bar {
            words: say::sizes(c.inside, unit),
            orders: c.orders,
            kept: c.kept,
        });
    curve(&Curve {
        title: format!("Range of {} sizes for {}", found.asked.sizes, found.title),
        below: format!("least {}: {}", found.word(), found.price),
        axis: format!("{} of all orders, {}", found.word(), found.unit()),
        points: points.collect(),
        sizes: found.asked.sizes,
        bars: bars.collect(),
    })
}
