//! Is an arrangement sound? Shares nothing with the searches.

use super::model::{Item, Packing};

/// What is wrong with an arrangement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// There are not as many places as things.
    Count,
    /// A thing does not lie as it may.
    Way(usize),
    /// A thing is not wholly in the room.
    Outside(usize),
    /// Two things need the same space.
    Meet(usize, usize),
    /// The first is above the second, which carries nothing.
    Above(usize, usize),
}

/// Tries an arrangement, with whole numbers and no slack.
///
/// # Errors
/// The first fault found.
pub fn verify(items: &[Item], packing: &Packing) -> Result<(), Fault> {
    if items.len() != packing.placed.len() {
        return Err(Fault::Count);
    }
    let span = |i: usize, axis: usize| -> (i128, i128) {
        let p = &packing.placed[i];
        let from = i128::from(p.at[axis]);
        (from, from + i128::from(p.size[axis]))
    };
    for (i, item) in items.iter().enumerate() {
        let shown = packing.placed[i].size;
        let lies = item.ways.iter().any(|way| {
            item.size[way[0]] == shown[0]
                && item.size[way[1]] == shown[1]
                && item.size[way[2]] == shown[2]
        });
        if !lies {
            return Err(Fault::Way(i));
        }
        for axis in 0..3 {
            let (from, to) = span(i, axis);
            if from < 0 || to > i128::from(packing.room[axis]) {
                return Err(Fault::Outside(i));
            }
        }
    }
    for i in 0..items.len() {
        for (j, other) in items.iter().enumerate() {
            if i == j {
                continue;
            }
            let clear = |axis: usize| {
                let ((a, b), (c, d)) = (span(i, axis), span(j, axis));
                b <= c || d <= a
            };
            if !(clear(0) || clear(1) || clear(2)) {
                return Err(Fault::Meet(i, j));
            }
            let over = !clear(0) && !clear(1) && span(i, 2).0 >= span(j, 2).1;
            if over && !other.bears {
                return Err(Fault::Above(i, j));
            }
        }
    }
    Ok(())
}
