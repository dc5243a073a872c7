//! Single parts laid where there is still room, and laid parts pushed together.

use super::barred::{Along, Stretches, join};
use super::count::Rooms;
use super::kit::{Kit, Member};
use super::room::{clear_from, first_clear};
use crate::sheet::shape::Spot;

/// Which of the places that are clear is taken first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum First {
    /// The lowest, of these the leftmost.
    Lowest,
    /// The leftmost, of these the lowest.
    Leftmost,
}

impl First {
    const fn key(self, m: Member) -> (i64, i64, usize) {
        match self {
            Self::Lowest => (m.at.y, m.at.x, m.kind),
            Self::Leftmost => (m.at.x, m.at.y, m.kind),
        }
    }
}

/// What bars a kind on a line, with what is laid and the outline of the sheet.
fn gather(
    kit: &Kit,
    rooms: &Rooms,
    laid: &[Member],
    kind: usize,
    along: Along,
    c: i64,
    into: &mut Stretches,
) {
    into.clear();
    if let Some(Some(room)) = rooms.get(kind) {
        room.section(along, c, into);
    }
    for m in laid {
        let barred = kit.barred(m.kind, kind);
        let at = along.own(m.at);
        let (low, high) = (along.own(barred.bounds.min), along.own(barred.bounds.max));
        if at.x + low.x < c && c < at.x + high.x {
            barred.section(along, c - at.x, at.y, into);
        }
    }
    join(into);
}

/// Lays single parts of `kinds` until none finds room or `most` lie there. Places looked at are
/// those where a part touches something on an upright or level line through a corner of what bars
/// it. Gives how many were added.
pub(super) fn fill(
    kit: &Kit,
    rooms: &Rooms,
    laid: &mut Vec<Member>,
    kinds: &[usize],
    first: First,
    most: usize,
    stop: &mut dyn FnMut() -> bool,
) -> usize {
    let before = laid.len();
    let mut open: Vec<Member> = Vec::new();
    for kind in kinds {
        offer(kit, rooms, laid, laid, true, *kind, &mut open, stop);
    }
    while laid.len() < most {
        let Some(next) = open.iter().copied().min_by_key(|m| first.key(*m)) else {
            break;
        };
        open.retain(|m| *m != next && kit.apart(next, *m));
        laid.push(next);
        if stop() {
            break;
        }
        for kind in kinds {
            offer(kit, rooms, laid, &[next], false, *kind, &mut open, stop);
        }
    }
    laid.len() - before
}

/// Adds clear places of a kind on the lines through the corners of what the `new` parts bar, and of
/// the room when `walls`.
#[allow(clippy::too_many_arguments, reason = "one call site, plain values")]
fn offer(
    kit: &Kit,
    rooms: &Rooms,
    laid: &[Member],
    new: &[Member],
    walls: bool,
    kind: usize,
    open: &mut Vec<Member>,
    stop: &mut dyn FnMut() -> bool,
) {
    let Some(Some(room)) = rooms.get(kind) else {
        return;
    };
    let mut stretches = Vec::new();
    for along in Along::BOTH {
        let ends = room.ends(along);
        let mut lines: Vec<i64> = Vec::new();
        for m in new {
            let corners = &kit.barred(m.kind, kind).corners;
            lines.extend(corners.iter().map(|p| along.own(*p + m.at).x));
        }
        if walls {
            lines.extend(room.corners.iter().map(|p| along.own(*p).x));
            lines.extend([ends.min.x, ends.max.x]);
        }
        lines.retain(|c| (ends.min.x..=ends.max.x).contains(c));
        lines.sort_unstable();
        lines.dedup();
        for c in lines {
            if stop() {
                return;
            }
            gather(kit, rooms, laid, kind, along, c, &mut stretches);
            let starts = stretches.iter().flat_map(|(low, high)| [*low, *high]);
            for y in starts.chain([ends.min.y, ends.max.y]) {
                if y < ends.min.y || y > ends.max.y || clear_from(&stretches, y) != y {
                    continue;
                }
                let at = along.own(Spot::new(c, y));
                open.push(Member { at, kind });
            }
        }
    }
    open.sort_unstable();
    open.dedup();
}

/// Pushes every part as far left, right, down or up as it will go on its own line, nearest to
/// that side first. Gives whether anything moved.
pub(super) fn push(
    kit: &Kit,
    rooms: &Rooms,
    laid: &mut Vec<Member>,
    along: Along,
    back: bool,
) -> bool {
    let side = |m: &Member| {
        let x = along.own(m.at).y;
        if back { -x } else { x }
    };
    laid.sort_by_key(|m| (side(m), *m));
    let mut moved = false;
    let mut stretches = Vec::new();
    for i in 0..laid.len() {
        let m = laid.swap_remove(i);
        let at = along.own(m.at);
        let mut to = at.y;
        if let Some(Some(room)) = rooms.get(m.kind) {
            let ends = room.ends(along);
            gather(kit, rooms, laid, m.kind, along, at.x, &mut stretches);
            if back {
                for s in &mut stretches {
                    *s = (-s.1, -s.0);
                }
                to = -first_clear(&mut stretches, -ends.max.y);
            } else {
                to = first_clear(&mut stretches, ends.min.y);
            }
        }
        moved |= to != at.y;
        laid.push(Member {
            at: along.own(Spot::new(at.x, to)),
            kind: m.kind,
        });
        let last = laid.len() - 1;
        laid.swap(i, last);
    }
    moved
}
