//! The ask and the answer: a floor, a case, and the patterns that hold most.

use serde::Serialize;

use super::blocks::{self, Parting};
use super::bound;
use super::fill::{self, Filled};
use super::grid::{Laid, Problem, laid_back, smallest};
use super::prove::{Placed, prove};
use crate::diag::Diag;
use crate::units::Length;

/// Longer sides than this, in mm, are refused.
const LONGEST_MM: f64 = 100_000.0;
/// Shorter sides than this, in mm, are refused.
const SHORTEST_MM: f64 = 1.0;
/// More cases than this on one floor are refused.
const MOST_CASES: i64 = 50_000;

/// What a pattern may be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ways {
    /// Any, with quarter turns.
    #[default]
    Any,
    /// Only what straight lines right across part into cases, each part again so: what is laid by
    /// rows on a floor.
    Straight,
    /// Every case the same way round, its first side along the floor's first.
    OneWay,
}

/// How much a search may do, in counted steps, so that the answer does not depend on the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Work {
    /// Partings of a rectangle looked at.
    pub partings: u64,
    /// Skylines entered when every pattern is tried.
    pub skylines: u64,
}

impl Default for Work {
    /// Enough for nearly every real case; half a second or so where all of it is used.
    fn default() -> Self {
        Self {
            partings: 300_000,
            skylines: 200_000,
        }
    }
}

impl Work {
    /// Much more, for the few cases that are open otherwise: some tens of seconds.
    pub const LONG: Self = Self {
        partings: 5_000_000,
        skylines: 10_000_000,
    };
    /// Blocks alone, without the search through every pattern.
    pub const BLOCKS: Self = Self {
        partings: 5_000_000,
        skylines: 0,
    };
}

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    /// Sides of the floor, along x and y.
    pub floor: [Length; 2],
    /// Sides of the case that lie on it.
    pub case: [Length; 2],
    /// What the pattern may be.
    pub ways: Ways,
    /// How much may be done.
    pub work: Work,
}

impl Ask {
    /// Any pattern, with the usual work.
    #[must_use]
    pub fn new(floor: [Length; 2], case: [Length; 2]) -> Self {
        Self {
            floor,
            case,
            ways: Ways::Any,
            work: Work::default(),
        }
    }
}

/// How a pattern was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Rows, cuts right across.
    Cuts,
    /// Partings into five as well.
    Five,
    /// The floor filled spot by spot.
    Fill,
}

/// Why no pattern holds more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proof {
    /// The count meets a bound that holds for every pattern.
    Bound,
    /// Every pattern of the kind asked for was tried, and none holds more.
    Tried,
    /// Not shown: one with more may exist, up to the bound.
    None,
}

/// A case in a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spot {
    /// Its least x on the floor.
    pub x: Length,
    /// Its least y.
    pub y: Length,
    /// Its extent along x.
    pub along_x: Length,
    /// Its extent along y.
    pub along_y: Length,
}

/// One layer of equal cases.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pattern {
    /// The cases, pushed into the corner at the origin; by rising y, then x.
    pub cases: Vec<Spot>,
    /// How it was found.
    pub method: Method,
    /// Rectangles of cases that lie the same way round, side by side: the fewer, the easier to lay.
    pub blocks: usize,
    /// How far it reaches along x and y.
    pub extent: [Length; 2],
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Patterns {
    /// The most cases found.
    pub count: usize,
    /// No pattern of any kind holds more than this.
    pub bound: usize,
    /// Area of the floor over that of the case, rounded down: the plainest bound.
    pub area_bound: usize,
    /// Whether, and how, it is shown that no pattern of the kind asked for holds more.
    pub proof: Proof,
    /// Whether it is shown.
    pub proved: bool,
    /// Steps taken.
    pub work: Work,
    /// Patterns with that count, fewest blocks first. Empty when none fits.
    pub patterns: Vec<Pattern>,
}

/// Sides in whole micrometres: a floor rounded down, a case rounded up, so that what fits on paper
/// fits. What is off by the rounding of a chain of sums counts as whole.
pub(super) fn whole(side: Length, up: bool) -> i64 {
    let um = side.to_mm() * 1000.0;
    let near = um.round();
    #[allow(
        clippy::cast_possible_truncation,
        reason = "sizes are checked to be small"
    )]
    if (um - near).abs() < 1e-2 {
        near as i64
    } else if up {
        um.ceil() as i64
    } else {
        um.floor() as i64
    }
}

pub(super) fn length(um: i64) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "below 2^53 by far")]
    Length::mm(um as f64 / 1000.0)
}

/// Refuses a side that is no size.
pub(super) fn sound(side: Length, what: &str) -> Result<(), Diag> {
    let mm = side.to_mm();
    if mm.is_finite() && (SHORTEST_MM..=LONGEST_MM).contains(&mm) {
        return Ok(());
    }
    let message = format!("{what} of {} mm cannot be", crate::units::trimmed(mm, 3));
    Err(Diag::error("bad-size", message)
        .help(format!("give it from {SHORTEST_MM} to {LONGEST_MM} mm")))
}

/// The most equal cases on a floor.
///
/// # Errors
/// A side that is no size, or more cases than are looked at.
pub fn patterns(ask: &Ask) -> Result<Patterns, Diag> {
    for side in ask.floor {
        sound(side, "a side of the floor")?;
    }
    for side in ask.case {
        sound(side, "a side of the case")?;
    }
    let floor = ask.floor.map(|s| whole(s, false));
    let case = ask.case.map(|s| whole(s, true));
    let p = Problem {
        floor,
        long: case[0].max(case[1]),
        short: case[0].min(case[1]),
    };
    let area = bound::area(p);
    if area > MOST_CASES {
        let message = format!("{area} cases on one floor; {MOST_CASES} are looked at, at most");
        return Err(Diag::error("too-many", message).help("check the sizes and their units"));
    }
    Ok(answer(ask, p, case))
}

struct Best {
    count: i64,
    laid: Vec<(Method, Vec<Laid>)>,
    /// Whether the kind was tried through.
    tried: bool,
}

fn answer(ask: &Ask, p: Problem, case: [i64; 2]) -> Patterns {
    let most = bound::bound(p);
    let mut done = Work {
        partings: 0,
        skylines: 0,
    };
    let best = match ask.ways {
        Ways::OneWay => one_way(p, case),
        Ways::Straight => straight(p, ask.work, most, &mut done),
        Ways::Any => any(p, ask.work, most, &mut done),
    };
    let mut patterns: Vec<Pattern> = Vec::new();
    for (method, laid) in best.laid {
        let pattern = pattern(method, &laid, p);
        // A pattern that is not sound would be a fault of the search; it is never handed out.
        let sound = prove(p.floor, [p.long, p.short], &placed(&laid, p)).is_ok();
        if sound && !pattern.cases.is_empty() && !patterns.iter().any(|o| o.cases == pattern.cases)
        {
            patterns.push(pattern);
        }
    }
    patterns.sort_by_key(|p| p.blocks);
    let proof = if best.count >= most {
        Proof::Bound
    } else if best.tried {
        Proof::Tried
    } else {
        Proof::None
    };
    let number = |n: i64| usize::try_from(n).unwrap_or(0);
    Patterns {
        count: patterns.first().map_or(0, |p| p.cases.len()),
        bound: number(most),
        area_bound: number(bound::area(p)),
        proof,
        proved: proof != Proof::None,
        work: done,
        patterns,
    }
}

fn one_way(p: Problem, case: [i64; 2]) -> Best {
    let turned = case[0] < case[1];
    let (across, up) = (p.floor[0] / case[0], p.floor[1] / case[1]);
    let laid = (0..up)
        .flat_map(|row| (0..across).map(move |n| (n, row)))
        .map(|(n, row)| Laid {
            x: n * case[0],
            y: row * case[1],
            turned,
        })
        .collect();
    Best {
        count: across * up,
        laid: vec![(Method::Cuts, laid)],
        tried: true,
    }
}

fn straight(p: Problem, work: Work, most: i64, done: &mut Work) -> Best {
    let small = smallest(p);
    let found = blocks::search(small, Parting::Guillotine, most, work.partings);
    done.partings += found.steps;
    Best {
        count: found.count,
        tried: found.whole,
        laid: back(found.patterns, Method::Cuts, small, p),
    }
}

fn any(p: Problem, work: Work, most: i64, done: &mut Work) -> Best {
    let small = smallest(p);
    let found = blocks::search(small, Parting::Five, most, work.partings);
    done.partings += found.steps;
    let mut best = Best {
        count: found.count,
        laid: back(found.patterns, Method::Five, small, p),
        tried: false,
    };
    while best.count < most {
        let left = work.skylines - done.skylines.min(work.skylines);
        let (filled, steps) = fill::fill(small, best.count + 1, left);
        done.skylines += steps;
        match filled {
            Filled::Found(laid) => {
                best.count += 1;
                best.laid = back(vec![laid], Method::Fill, small, p);
            }
            Filled::None => {
                best.tried = true;
                break;
            }
            Filled::Open => break,
        }
    }
    best
}

fn back(
    patterns: Vec<Vec<Laid>>,
    method: Method,
    small: Problem,
    p: Problem,
) -> Vec<(Method, Vec<Laid>)> {
    let each = patterns.into_iter();
    each.map(|laid| (method, laid_back(&laid, small, p)))
        .collect()
}

fn placed(laid: &[Laid], p: Problem) -> Vec<Placed> {
    let each = laid.iter().map(|c| {
        let [w, h] = c.size(p);
        [c.x, c.y, w, h]
    });
    each.collect()
}

fn pattern(method: Method, laid: &[Laid], p: Problem) -> Pattern {
    let mut rects = placed(laid, p);
    rects.sort_by_key(|r| (r[1], r[0]));
    let extent = [0, 1].map(|axis: usize| {
        let ends = rects.iter().map(|r| r[axis] + r[axis + 2]);
        length(ends.max().unwrap_or(0))
    });
    Pattern {
        blocks: blocks_of(&rects),
        cases: rects
            .iter()
            .map(|r| Spot {
                x: length(r[0]),
                y: length(r[1]),
                along_x: length(r[2]),
                along_y: length(r[3]),
            })
            .collect(),
        method,
        extent,
    }
}

/// Cases into rectangles of equal ones, greedily: a row from the first case left, then rows on top
/// of it that begin and end with it.
fn blocks_of(rects: &[Placed]) -> usize {
    let mut left: Vec<Placed> = rects.to_vec();
    let mut blocks = 0;
    while let Some(&[x, y, w, h]) = left.first() {
        let take = |left: &mut Vec<Placed>, x: i64, y: i64| {
            let at = left.iter().position(|r| *r == [x, y, w, h]);
            at.map(|at| left.remove(at)).is_some()
        };
        let mut n = 0;
        while take(&mut left, x + n * w, y) {
            n += 1;
        }
        let mut row = 1;
        while (0..n).all(|k| left.contains(&[x + k * w, y + row * h, w, h])) {
            for k in 0..n {
                take(&mut left, x + k * w, y + row * h);
            }
            row += 1;
        }
        blocks += 1;
    }
    blocks
}
