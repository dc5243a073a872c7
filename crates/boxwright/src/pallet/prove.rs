//! Is a pattern sound? Looks at the placed cases alone and shares nothing with the searches: whole
//! numbers, no tolerance.

/// A rectangle: least corner and extent, in micrometres.
pub type Placed = [i64; 4];

/// What is wrong with a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// This case leaves the floor.
    Outside(usize),
    /// This case has neither the one nor the other size.
    Size(usize),
    /// These two share area.
    Overlap(usize, usize),
}

/// Checks that every case has the size `case` either way round, lies within `floor` (least corner 0)
/// and shares no area with another.
///
/// # Errors
/// The first fault found.
pub fn prove(floor: [i64; 2], case: [i64; 2], placed: &[Placed]) -> Result<(), Fault> {
    for (n, &[x, y, w, h]) in placed.iter().enumerate() {
        if [w, h] != case && [h, w] != case {
            return Err(Fault::Size(n));
        }
        let fits = |from: i64, by: i64, room: i64| {
            from >= 0 && by > 0 && from.checked_add(by).is_some_and(|end| end <= room)
        };
        if !fits(x, w, floor[0]) || !fits(y, h, floor[1]) {
            return Err(Fault::Outside(n));
        }
    }
    let mut order: Vec<usize> = (0..placed.len()).collect();
    order.sort_by_key(|n| placed[*n][0]);
    for (k, &a) in order.iter().enumerate() {
        let [ax, ay, aw, ah] = placed[a];
        for &b in &order[k + 1..] {
            let [bx, by, _, bh] = placed[b];
            if bx >= ax + aw {
                break;
            }
            if ay < by + bh && by < ay + ah {
                return Err(Fault::Overlap(a.min(b), a.max(b)));
            }
        }
    }
    Ok(())
}
