//! Strokes close together in time and place warm the board where it is still warm.
//!
//! When heat counts, each stroke that begins less than a stated time after the last stroke near it
//! costs something for every second it comes too early. It is a price and no rule: where all strokes
//! lie close together some must follow one another, and the tour says how early they come.

use super::model::{Problem, Run};
use crate::geom::DVec2;

/// What a stroke warms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warm {
    /// How long the stroke takes (s).
    pub seconds: f64,
    /// Lower left corner of a box around it (mm).
    pub min: DVec2,
    /// Upper right corner (mm).
    pub max: DVec2,
}

/// What being too early costs. No figure here is measured: how far and how long board stays warm
/// depends on machine and board, and is for the asker to state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Strokes whose boxes are nearer than this warm one another (mm).
    pub reach: f64,
    /// How long board stays warm (s).
    pub cool: f64,
    /// How much travel is worth a second of waiting (mm).
    pub price: f64,
    /// How fast the tool travels when off (mm/s).
    pub speed: f64,
}

impl Warm {
    pub(super) fn sound(&self) -> bool {
        self.seconds.is_finite()
            && self.seconds >= 0.0
            && self.min.is_finite()
            && self.max.is_finite()
    }
    /// Whether the boxes of two strokes are nearer than `reach`.
    pub(super) fn near(&self, o: &Self, reach: f64) -> bool {
        let gap = (o.min - self.max).max(self.min - o.max).max(DVec2::ZERO);
        gap.length_squared() < reach * reach
    }
}

impl Heat {
    pub(super) fn sound(&self) -> bool {
        let all = [self.reach, self.cool, self.price];
        all.iter().all(|v| v.is_finite() && *v >= 0.0) && self.speed.is_finite() && self.speed > 0.0
    }
}

/// Seconds by which strokes begin too early after the last stroke near them, all together.
pub(super) fn early(p: &Problem, run: &Run) -> f64 {
    let Some(heat) = p.heat else { return 0.0 };
    let mut sum = 0.0;
    for (i, &t) in run.seq.iter().enumerate() {
        let Some(own) = p.warm[t] else { continue };
        // Time from the end of the stroke before.
        let mut since = p.leg(run, i) / heat.speed;
        for j in (0..i).rev() {
            if since >= heat.cool {
                break;
            }
            let other = p.warm[run.seq[j]];
            if other.is_some_and(|o| own.near(&o, heat.reach)) {
                sum += heat.cool - since;
                break;
            }
            since += other.map_or(0.0, |o| o.seconds) + p.leg(run, j) / heat.speed;
        }
    }
    sum
}

/// Roughly what it costs to have a task between positions `i - 1` and `i`: how early it comes, and how
/// early the next near stroke comes for it. Travel times are left out.
pub(super) fn rough(p: &Problem, run: &Run, t: usize, i: usize) -> f64 {
    let (Some(heat), Some(own)) = (p.heat, p.warm[t]) else {
        return 0.0;
    };
    let one_way = |others: &mut dyn Iterator<Item = usize>| {
        let mut since = 0.0;
        for o in others {
            if since >= heat.cool {
                break;
            }
            if p.warm[o].is_some_and(|o| own.near(&o, heat.reach)) {
                return heat.cool - since;
            }
            since += p.warm[o].map_or(0.0, |o| o.seconds);
        }
        0.0
    };
    let back = one_way(&mut run.seq[..i].iter().rev().copied());
    let on = one_way(&mut run.seq[i..].iter().copied());
    heat.price * (back + on)
}
