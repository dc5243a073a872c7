//! Cuboids into the smallest room: straight cuts first, then arrangements of any kind, then a proof
//! where one can be had. All in whole steps of 0.1 mm.

mod anneal;
mod front;
mod model;
mod prove;
mod slices;
mod verify;

use anneal::{Search, anneal};
use front::{Front, settled};
use model::score;

pub use model::{ALL_WAYS, By, Effort, Item, MOST_ITEMS, Packing, Placed, STEPS_PER_MM};
pub use verify::{Fault, verify};

/// Margins of the proof, one after another: in thousandths, and as a share.
const MARGINS: [(i64, f64); 4] = [(60, 0.06), (30, 0.03), (10, 0.01), (0, 0.0)];
/// A set whose best may be further off than this is looked at again, with so many times the effort.
const WIDE: f64 = 0.03;
const AGAIN: u64 = 12;

/// What a search found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Arrangements of which none is at least as large as another in every direction, the best first.
    pub packings: Vec<Packing>,
    /// Nothing is better than the first by more than this share, by what was asked to be small: zero
    /// when it is proved the best, `None` when the proof came to no end within its steps or when
    /// something may bear nothing, for which there is no proof.
    pub gap: Option<f64>,
    /// No room of any arrangement has less volume, padding and all, in cubic steps.
    pub least_volume: i64,
    /// Steps taken, all searches together.
    pub steps: u64,
}

/// Looks for small rooms. `pads` is added to length, width and depth before rooms are compared.
///
/// Gives no arrangement when there is no item, more than [`MOST_ITEMS`], an item without a way to
/// lie or with a size that is not positive, or when nothing may be above anything in a way that
/// cannot be kept.
#[must_use]
pub fn search(items: &[Item], pads: [i64; 3], by: By, effort: Effort) -> Found {
    let mut found = Found {
        packings: Vec::new(),
        gap: None,
        least_volume: 0,
        steps: 0,
    };
    let bad = |i: &Item| i.ways.is_empty() || i.size.iter().any(|s| *s <= 0);
    if items.is_empty() || items.len() > MOST_ITEMS || items.iter().any(bad) {
        return found;
    }
    found.least_volume = least_volume(items, pads);
    let mut front = Front::default();
    found.steps += slices::sliced(items, &mut front);
    let once = [(1, effort)];
    let again = Effort {
        tries: effort.tries * AGAIN,
        proof: effort.proof * AGAIN,
    };
    for (seed, effort) in once.into_iter().chain([(2, again)]) {
        // Few things have few arrangements.
        let n = items.len() as u64;
        let tries = effort.tries * n * n / 64;
        if items.len() > 2 {
            for aim in [By::Volume, By::Board] {
                let search = Search {
                    by: aim,
                    pads,
                    tries,
                    seed,
                };
                anneal(items, &search, &mut front);
                found.steps += tries;
            }
        }
        let mut left = effort.proof;
        for (margin, gap) in MARGINS {
            let proof = prove::prove(items, by, pads, margin, left, &mut front);
            found.steps += proof.steps;
            left -= proof.steps;
            if !proof.done {
                break;
            }
            // The proof tries one lay-out for each set of relative positions; what may stand above
            // a thing depends on more than these.
            found.gap = items.iter().all(|i| i.bears).then_some(gap);
        }
        if found.gap.is_some_and(|g| g <= WIDE) {
            break;
        }
    }
    let mut down = Front::default();
    for p in front.all {
        down.insert(settled(p));
    }
    found.packings = down.all;
    found
        .packings
        .sort_by_key(|p| (score(by, p.room, pads), p.room));
    found
}

/// No arrangement needs less: the things themselves, or a room that each fits alone, padding and all.
fn least_volume(items: &[Item], pads: [i64; 3]) -> i64 {
    let things: i64 = items.iter().map(|i| i.size.iter().product::<i64>()).sum();
    let mut side = [0; 3];
    for i in items {
        for (a, s) in side.iter_mut().enumerate() {
            let own = i.extents().iter().map(|e| e[a]).min().unwrap_or(0);
            *s = own.max(*s);
        }
    }
    // With x y z at least the volume of the things, (x+p)(y+q)(z+r) >= V + each padding on the faces
    // that must be there at least.
    let faces =
        pads[0] * side[1] * side[2] + pads[1] * side[0] * side[2] + pads[2] * side[0] * side[1];
    let edges =
        pads[0] * pads[1] * side[2] + pads[0] * pads[2] * side[1] + pads[1] * pads[2] * side[0];
    things + faces + edges + pads[0] * pads[1] * pads[2]
}
