//! Parts laid in a strip of fixed height, as short as can be.

use super::area::{Area, P, Whole as _};
use super::floor::{Floor, Lies};
use super::work::{Axis, Work, told};
use super::{Kind, Laid, MOST_MOVED, Refused, Watch, admit};
use crate::sheet::shape::Spot;

/// A strip with parts in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// Its length in grid steps.
    pub length: i64,
    /// The parts; the strip's least corner is the origin, its length runs along x.
    pub placed: Vec<Laid>,
}

/// Lays every part wanted in a strip of this height (grid steps), as short as the budget allows.
///
/// # Errors
/// When a shape cannot be used, a kind is too large for the strip in every turn, or more than
/// [`MOST_MOVED`] parts are wanted.
pub fn strip(
    kinds: &[Kind],
    height: i64,
    seed: u64,
    watch: &mut dyn Watch,
) -> Result<Strip, Refused> {
    admit(kinds, MOST_MOVED)?;
    let mut work = Work::new(kinds, &[], seed, watch);
    let height = P::of(Spot::new(0, height));
    let fits = |k: &Kind, n: usize| {
        k.turns
            .iter()
            .any(|t| work.pairs.area(n, *t).size().y <= height.y)
    };
    if let Some(kind) = (0..kinds.len()).find(|n| kinds[*n].wanted > 0 && !fits(&kinds[*n], *n)) {
        return Err(Refused::TooLarge { kind });
    }
    let mut best = start(&mut work, kinds, height.y)?;
    let strip_of = |floor: &Floor| Strip {
        length: floor.areas[0].hi.spot().x,
        placed: told(floor, 0, P::ZERO),
    };
    if best.movable() > 0 {
        work.press(&mut best, 0, Axis::X, 1.0, &mut |floor, watch| {
            watch.better_strip(&strip_of(floor));
        });
    }
    Ok(strip_of(&best))
}

/// Beyond all others.
fn beside(work: &Work<'_>, kind: usize, long: f64, height: f64) -> Result<Lies, Refused> {
    work.turns[kind]
        .iter()
        .map(|t| (*t, work.pairs.area(kind, *t)))
        .find(|(_, part)| part.size().y <= height)
        .map(|(turn, part)| Lies {
            kind,
            turn,
            at: P::new(long, 0.0) - part.lo,
            sheet: 0,
        })
        .ok_or(Refused::TooLarge { kind })
}

/// The bulkiest first, each as far left as it goes.
fn start(work: &mut Work<'_>, kinds: &[Kind], height: f64) -> Result<Floor, Refused> {
    let wanted: Vec<u32> = kinds.iter().map(|k| k.wanted).collect();
    let mut parts: Vec<Lies> = Vec::new();
    let mut long = 0.0_f64;
    for kind in work.order(&wanted) {
        let span = work.turns[kind]
            .iter()
            .map(|t| work.pairs.area(kind, *t).size().x)
            .fold(0.0, f64::max);
        let area = Area {
            lo: P::ZERO,
            hi: P::new(long + span, height),
        };
        let lies = match work.lay(kind, 0, area, &parts) {
            Some(lies) => lies,
            // Beside all others there is always room.
            None => beside(work, kind, long, height)?,
        };
        long = long.max(lies.at.x + work.pairs.area(kind, lies.turn).hi.x);
        parts.push(lies);
    }
    let area = Area {
        lo: P::ZERO,
        hi: P::new(long, height),
    };
    Ok(Floor::new(vec![area], parts, &[], &mut work.pairs))
}
