//! A program in time: where the tool is at every moment.
//!
//! The same motion as [`super::time`] counts, so that the last moment is the tally's time. Between
//! two moments the tool may be thought to move evenly: ramps of speed are cut into [`PARTS`] parts
//! and arcs at every [`TURN`] of their angle.

use super::Program;
use super::time::{Motion, Run};
use super::track::Track;
use crate::geom::{DVec2, Path};
use crate::machine::Machine;

/// Parts of a ramp of speed.
const PARTS: u32 = 4;
/// Greatest turn of an arc between two moments, in radians.
const TURN: f64 = 0.2;

/// A stretch of the tool's way.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// Index of the stroke; `None` while the tool is off.
    pub stroke: Option<usize>,
    /// Places in sheet coordinates (mm) and when the tool is there, in s since the start; times
    /// never fall.
    pub moments: Vec<(DVec2, f64)>,
}

/// The whole of a program, from the park position and back to it.
#[must_use]
pub fn play(program: &Program, machine: &Machine) -> Vec<Leg> {
    let motion = Motion::of(machine);
    let [x, y] = machine.dialect.park.map(|l| l.to_mm());
    let park = DVec2::new(x, y);
    let mut legs = Vec::with_capacity(2 * program.strokes.len() + 1);
    let (mut at, mut clock) = (park, 0.0);
    for (i, stroke) in program.strokes.iter().enumerate() {
        travel(
            motion,
            machine.travel_speed,
            at,
            stroke.enter(),
            &mut clock,
            &mut legs,
        );
        let mut moments = vec![(stroke.enter(), clock)];
        let tool = machine.tools.get(stroke.tool);
        clock += tool.map_or(0.0, |t| t.begin_time);
        moments.push((stroke.enter(), clock));
        let track = Track::new(&stroke.path);
        let there = moments_of(motion, &track, &motion.runs(&track, stroke.speed));
        let took = there.last().map_or(0.0, |m| m.1);
        for pass in 0..stroke.passes {
            let begun = clock;
            if pass % 2 == 0 {
                moments.extend(there.iter().map(|(p, t)| (*p, begun + t)));
            } else {
                moments.extend(there.iter().rev().map(|(p, t)| (*p, begun + took - t)));
            }
            clock += took;
        }
        clock += tool.map_or(0.0, |t| t.end_time);
        moments.push((stroke.leave(), clock));
        moments.dedup();
        legs.push(Leg {
            stroke: Some(i),
            moments,
        });
        at = stroke.leave();
    }
    travel(
        motion,
        machine.travel_speed,
        at,
        park,
        &mut clock,
        &mut legs,
    );
    legs
}

fn travel(
    motion: Motion,
    speed: f64,
    from: DVec2,
    to: DVec2,
    clock: &mut f64,
    legs: &mut Vec<Leg>,
) {
    if from == to {
        return;
    }
    let track = Track::new(&Path::line([from, to]));
    let moments = moments_of(motion, &track, &motion.runs(&track, speed));
    let begun = *clock;
    *clock += moments.last().map_or(0.0, |m| m.1);
    legs.push(Leg {
        stroke: None,
        moments: moments.into_iter().map(|(p, t)| (p, begun + t)).collect(),
    });
}

/// Places and times along a track.
fn moments_of(motion: Motion, track: &Track, runs: &[Run]) -> Vec<(DVec2, f64)> {
    let a = motion.acceleration;
    let mut out = vec![(track.point(0.0), 0.0)];
    let mut clock = 0.0;
    for ((run, segment), start) in runs.iter().zip(track.segments()).zip(track.ways()) {
        let [up, down] = run.ramps(a);
        let mut ways = vec![run.length];
        for k in 1..=PARTS {
            // Even parts of the time of the ramp, nearly: its way grows as the square of it.
            let share = (f64::from(k) / f64::from(PARTS)).powi(2);
            ways.push(if run.start > 0.0 {
                up * f64::from(k) / f64::from(PARTS)
            } else {
                up * share
            });
            let back = if run.end > 0.0 {
                down * f64::from(k) / f64::from(PARTS)
            } else {
                down * share
            };
            ways.push(run.length - back);
        }
        if segment.circle().is_some() {
            let sweep = 4.0 * segment.bulge.atan().abs();
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "an arc turns by less than a full turn, so this is below 40"
            )]
            let n = (sweep / TURN).ceil().max(1.0) as u32;
            ways.extend((1..n).map(|k| run.length * f64::from(k) / f64::from(n)));
        }
        ways.sort_by(f64::total_cmp);
        ways.dedup();
        for way in ways.into_iter().filter(|w| *w > 0.0) {
            out.push((track.point(start + way), clock + run.time_at(way, a)));
        }
        clock += run.seconds(a);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::Options;
    use super::super::tests::made;
    use super::*;

    #[test]
    fn the_last_moment_is_the_time_of_the_tally() {
        for name in ["bench-laser", "knife-table"] {
            let (_, machine, program) = made(name, &Options::default());
            let legs = play(&program, &machine);
            let all: Vec<(DVec2, f64)> = legs.iter().flat_map(|l| l.moments.clone()).collect();
            let end = all[all.len() - 1];
            let off = (end.1 - program.tally.seconds).abs();
            assert!(off < 1e-6, "{name}: {} {}", end.1, program.tally.seconds);
            assert!(all.windows(2).all(|w| w[0].1 <= w[1].1), "time never falls");
            // Nowhere a leap: a leg begins where the one before it ended.
            for pair in legs.windows(2) {
                let [a, b] = [&pair[0].moments, &pair[1].moments];
                assert!(a[a.len() - 1].0.distance(b[0].0) < 1e-9);
            }
            let strokes: Vec<usize> = legs.iter().filter_map(|l| l.stroke).collect();
            assert_eq!(strokes, (0..program.strokes.len()).collect::<Vec<_>>());
        }
    }

    /// Between two moments the tool is nowhere faster than it may be.
    #[test]
    fn no_stretch_is_faster_than_its_stroke() {
        let (_, machine, program) = made("bench-laser", &Options::default());
        for leg in play(&program, &machine) {
            let most = leg
                .stroke
                .map_or(machine.travel_speed, |i| program.strokes[i].speed);
            for w in leg.moments.windows(2) {
                let way = w[0].0.distance(w[1].0);
                assert!(way <= (w[1].1 - w[0].1) * most + 1e-6, "{w:?}");
            }
        }
    }
}
