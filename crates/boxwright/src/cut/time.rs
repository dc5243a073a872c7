//! How long a stroke takes.
//!
//! The machine speeds up and slows down at its acceleration a and never runs faster than the asked
//! speed. Each segment is run with a trapezoid of speeds, or a triangle where it is too short to
//! reach the asked speed. What bounds the speed:
//!
//! - on an arc of radius r, the pull towards its centre: v^2 <= a r;
//! - at a corner, how sharply the head may turn: the corner is thought to be rounded by a circle
//!   that stays within d of it, so that v^2 <= a d s / (1 - s) with s = cos(turn / 2) (derived: such
//!   a circle that touches both sides has radius d s / (1 - s)). A reversal is a stop;
//! - at both ends of a stroke the head stands still.
//!
//! Derived from the equations of even acceleration; the controller's own rules may differ in detail.

use super::track::Track;
use crate::geom::Path;
use crate::machine::Machine;

/// What bounds the motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// In mm/s2.
    pub acceleration: f64,
    /// How far off a corner the head may be thought to pass, in mm.
    pub corner: f64,
}

impl Motion {
    /// That of a machine.
    #[must_use]
    pub const fn of(machine: &Machine) -> Self {
        Self {
            acceleration: machine.acceleration,
            corner: machine.corner.to_mm(),
        }
    }
    /// Greatest speed round a corner at which the direction turns by so many radians.
    #[must_use]
    pub fn corner_speed(self, turn: f64) -> f64 {
        let s = (turn / 2.0).cos().max(0.0);
        if s >= 1.0 - 1e-12 {
            return f64::INFINITY;
        }
        (self.acceleration * self.corner * s / (1.0 - s)).sqrt()
    }
    /// Seconds for a straight way from standstill to standstill.
    #[must_use]
    pub fn move_time(self, length: f64, speed: f64) -> f64 {
        Run {
            length,
            start: 0.0,
            end: 0.0,
            most: speed,
        }
        .seconds(self.acceleration)
    }
    /// Seconds for a path from standstill to standstill.
    #[must_use]
    pub fn path_time(self, path: &Path, speed: f64) -> f64 {
        let runs = self.runs(&Track::new(path), speed);
        runs.iter().map(|r| r.seconds(self.acceleration)).sum()
    }
    /// How each segment of a track is run, from standstill to standstill.
    #[must_use]
    pub fn runs(self, track: &Track, speed: f64) -> Vec<Run> {
        let segments = track.segments();
        let a = self.acceleration;
        let most: Vec<f64> = segments
            .iter()
            .map(|s| s.circle().map_or(speed, |(_, r)| speed.min((a * r).sqrt())))
            .collect();
        // Speeds at the joints: first what the corners allow, then what can be reached from behind
        // and still be lost again before what comes.
        let n = segments.len();
        let mut joint = vec![0.0; n + 1];
        for i in 1..n {
            let turn = track.turn(i).unwrap_or(0.0);
            joint[i] = self.corner_speed(turn).min(most[i - 1]).min(most[i]);
        }
        let reach = |from: f64, length: f64| (from * from + 2.0 * a * length).sqrt();
        for i in 0..n {
            joint[i + 1] = joint[i + 1].min(reach(joint[i], segments[i].length()));
        }
        for i in (0..n).rev() {
            joint[i] = joint[i].min(reach(joint[i + 1], segments[i].length()));
        }
        (0..n)
            .map(|i| Run {
                length: segments[i].length(),
                start: joint[i],
                end: joint[i + 1],
                most: most[i],
            })
            .collect()
    }
}

/// A stretch run at even acceleration up to its speed and down again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Its length in mm.
    pub length: f64,
    /// Speed at its start in mm/s; it can be reached.
    pub start: f64,
    /// Speed at its end.
    pub end: f64,
    /// Speed that is not passed.
    pub most: f64,
}

impl Run {
    /// Greatest speed reached at this acceleration.
    #[must_use]
    pub fn peak(&self, a: f64) -> f64 {
        let free = (a * self.length + (self.start * self.start + self.end * self.end) / 2.0).sqrt();
        free.min(self.most)
    }
    /// How long it takes.
    #[must_use]
    pub fn seconds(&self, a: f64) -> f64 {
        if self.length <= 0.0 {
            return 0.0;
        }
        let (start, end, speed) = (self.start, self.end, self.most);
        let peak = (a * self.length + (start * start + end * end) / 2.0).sqrt();
        if peak <= speed {
            return (2.0 * peak - start - end) / a;
        }
        let ramps = (2.0 * speed * speed - start * start - end * end) / (2.0 * a);
        (2.0 * speed - start - end) / a + (self.length - ramps) / speed
    }
    /// Ways over which it speeds up and slows down.
    #[must_use]
    pub fn ramps(&self, a: f64) -> [f64; 2] {
        let peak = self.peak(a);
        [self.start, self.end].map(|v| ((peak * peak - v * v) / (2.0 * a)).clamp(0.0, self.length))
    }
    /// When a place is passed, counted in mm and seconds from the start.
    #[must_use]
    pub fn time_at(&self, way: f64, a: f64) -> f64 {
        let peak = self.peak(a);
        let [up, down] = self.ramps(a);
        let rest = self.length - way;
        // Way over a ramp that ends at standstill or at `v`: v t + a t^2 / 2.
        let ramp = |v: f64, way: f64| ((v * v + 2.0 * a * way.max(0.0)).sqrt() - v) / a;
        if way <= up {
            ramp(self.start, way)
        } else if rest <= down {
            self.seconds(a) - ramp(self.end, rest)
        } else {
            ramp(self.start, up) + (way - up) / peak
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::DVec2;

    const M: Motion = Motion {
        acceleration: 1000.0,
        corner: 0.02,
    };

    // Even acceleration, by hand: 100 mm at 100 mm/s and 1000 mm/s2 has two ramps of 0.1 s over
    // 5 mm each and 90 mm at full speed, 1.1 s in all. 2 mm is too short: a triangle of
    // 2 sqrt(2 / 1000) s.
    #[test]
    fn trapezoid_and_triangle_are_those_of_even_acceleration() {
        assert!((M.move_time(100.0, 100.0) - 1.1).abs() < 1e-12);
        assert!((M.move_time(2.0, 100.0) - 2.0 * (2.0f64 / 1000.0).sqrt()).abs() < 1e-12);
        assert_eq!(M.move_time(0.0, 100.0), 0.0);
    }

    // For a right angle s = cos 45 deg: v = sqrt(1000 0.02 0.70711 / 0.29289) = 6.949 mm/s.
    #[test]
    fn a_corner_slows_by_its_angle() {
        assert!((M.corner_speed(std::f64::consts::FRAC_PI_2) - 6.9487).abs() < 1e-3);
        assert!(M.corner_speed(0.0).is_infinite());
        assert!(M.corner_speed(std::f64::consts::PI) < 1e-6);
        let line = |pts: &[(f64, f64)]| Path::line(pts.iter().map(|p| DVec2::new(p.0, p.1)));
        let straight = M.path_time(&line(&[(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)]), 100.0);
        assert!(
            (straight - 1.1).abs() < 1e-9,
            "a joint without a turn costs nothing"
        );
        let bent = M.path_time(&line(&[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0)]), 100.0);
        assert!(bent > straight && bent < 2.0 * M.move_time(50.0, 100.0));
        let back = M.path_time(&line(&[(0.0, 0.0), (50.0, 0.0), (0.0, 0.0)]), 100.0);
        assert!((back - 2.0 * M.move_time(50.0, 100.0)).abs() < 1e-4);
    }

    /// The same motion, stepped through by brute force, takes the same time.
    #[test]
    fn many_short_segments_agree_with_stepping_through() {
        let pts = (0..=40).map(|i| {
            let x = f64::from(i);
            DVec2::new(x * 2.0, (x * 0.7).sin() * 3.0)
        });
        let path = Path::line(pts);
        let track = Track::new(&path);
        let h = 0.002;
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "small"
        )]
        let n = (track.length() / h) as usize;
        let mut limit = vec![80.0f64; n + 1];
        limit[0] = 0.0;
        limit[n] = 0.0;
        for (i, way) in track
            .ways()
            .iter()
            .enumerate()
            .skip(1)
            .take(track.segments().len() - 1)
        {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "small"
            )]
            let k = (way / h).round() as usize;
            limit[k] = limit[k].min(M.corner_speed(track.turn(i).unwrap()));
        }
        let step = 2.0 * 1000.0 * h;
        for k in 1..=n {
            limit[k] = limit[k].min((limit[k - 1].powi(2) + step).sqrt());
        }
        for k in (0..n).rev() {
            limit[k] = limit[k].min((limit[k + 1].powi(2) + step).sqrt());
        }
        let stepped: f64 = limit.windows(2).map(|w| 2.0 * h / (w[0] + w[1])).sum();
        let ours = M.path_time(&path, 80.0);
        assert!((ours / stepped - 1.0).abs() < 0.005, "{ours} {stepped}");
    }
}
