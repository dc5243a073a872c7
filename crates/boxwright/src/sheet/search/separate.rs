//! Parts moved one by one until none lies in another: guided local search, in which pairs that
//! stay in one another grow dearer (Voudouris and Tsang 1999; for layouts Umetani and others 2009).

use super::Pulse;
use super::floor::Floor;
use super::pairs::Pairs;
use super::place::{Effort, best_place};
use crate::proof::Dice;
use crate::sheet::shape::Turn;

/// How long to go on without getting better.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// Rounds over all clashing parts.
    pub rounds: usize,
    /// Times it may start again from the best.
    pub strikes: usize,
}

/// Tries to part everything. On failure the floor is left at the best state seen.
pub fn separate(
    floor: &mut Floor,
    turns: &[Vec<Turn>],
    patience: Patience,
    effort: Effort,
    pairs: &mut Pairs,
    dice: &mut Dice,
    pulse: &mut Pulse<'_>,
) -> bool {
    let mut best = floor.clone();
    let mut least = floor.total(pairs);
    if least <= 0.0 {
        return true;
    }
    let mut strikes = 0;
    while strikes < patience.strikes {
        let start = least;
        let mut idle = 0;
        while idle < patience.rounds {
            if !one_round(floor, turns, effort, pairs, dice, pulse) {
                *floor = best;
                return false;
            }
            let total = floor.total(pairs);
            if total <= 0.0 {
                return true;
            }
            if total < least {
                if total < 0.98 * least {
                    idle = 0;
                }
                least = total;
                best.clone_from(floor);
            } else {
                idle += 1;
            }
            floor.reweigh();
        }
        strikes = if least < 0.98 * start { 0 } else { strikes + 1 };
        floor.back_to(&best);
    }
    false
}

/// Every clashing part moved once; `false` when told to stop.
fn one_round(
    floor: &mut Floor,
    turns: &[Vec<Turn>],
    effort: Effort,
    pairs: &mut Pairs,
    dice: &mut Dice,
    pulse: &mut Pulse<'_>,
) -> bool {
    for i in super::area::shuffled(0..floor.movable(), dice) {
        if !floor.clashes(i) {
            continue;
        }
        if !pulse.go_on() {
            return false;
        }
        let turns = &turns[floor.parts[i].kind];
        if let Some(to) = best_place(floor, i, turns, effort, pairs, dice)
            && to != floor.parts[i]
        {
            floor.put(i, to, pairs);
        }
    }
    true
}
