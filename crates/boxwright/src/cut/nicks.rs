//! Nicks: short uncut bridges that hold a part in its sheet until it is lifted out.
//!
//! **How many and how long.** A part is to be held with a multiple (`times`) of its own weight; each
//! millimetre of nick holds so much (`holds`). There is one nick at least on every so much of the
//! outline (`every`) and a least number in all (`least`), each of a least length (`length`). If that
//! holds too little the nicks grow, and if they would grow past `most` there are more of them. These
//! figures are the machine file's; none has a source better than a try on one sheet.
//!
//! **Where.** Evenly spread, each moved to the nearest place where it lies on a smooth stretch, stays
//! `clear` of corners and of the ends of creases and slits, is not in a slot (where the outline runs
//! back beside itself the bridge would hold two flaps together), and has board beyond it to hang on.
//! Where no such place is left `clear` is halved, twice at most; a nick that still finds none is
//! left out, and told.

use super::track::Track;
use crate::geom::DVec2;
use crate::machine::Nicks;
use crate::units::Mass;

/// Standard gravity in m/s2, exact by definition.
const GRAVITY: f64 = 9.80665;
/// A joint that turns by more than this, in radians, is a corner (5 degrees).
pub const CORNER: f64 = 0.0873;
/// A bend of a radius below this, in mm, is a corner too: a nick on it would stand out.
const TIGHT_MM: f64 = 3.0;
/// Places along an outline that are tried, in mm apart.
const STEP_MM: f64 = 1.0;
/// At most so many are tried; on a longer outline they lie further apart.
const MOST_PLACES: f64 = 5000.0;

/// How many nicks and how long.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// How many.
    pub count: u32,
    /// Board that each leaves, in mm.
    pub bridge: f64,
}

/// What holds a part of a mass with an outline of a length in mm.
#[must_use]
pub fn needed(nicks: &Nicks, outline: f64, mass: Mass) -> Held {
    let force = mass.to_kg() * GRAVITY * nicks.times;
    let holds = nicks.holds.to_n_per_mm();
    let spread = (outline / nicks.every.to_mm()).ceil();
    let longest = (force / (holds * nicks.most.to_mm()) - 1e-9).ceil();
    let count = spread
        .max(f64::from(nicks.least))
        .max(longest)
        .clamp(1.0, MOST_PLACES);
    let bridge = (force / (holds * count)).max(nicks.length.to_mm());
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just above"
    )]
    Held {
        count: count as u32,
        bridge,
    }
}

/// Where nicks and starts may lie along a contour.
pub struct Places<'a> {
    track: &'a Track,
    /// Ways of corners.
    corners: Vec<f64>,
    /// Points to stay away from.
    away: &'a [DVec2],
    /// The contour in chords, for seeing across slots.
    ring: &'a [DVec2],
    /// An outline that runs back beside itself within this, in mm, is a slot there.
    slot: f64,
    /// Whether there is board to hang on at a point.
    board: &'a dyn Fn(DVec2) -> bool,
    /// How far beyond the contour that is asked, in mm.
    reach: f64,
}

impl<'a> Places<'a> {
    /// On a contour with the board of its part on the left.
    pub fn new(
        track: &'a Track,
        ring: &'a [DVec2],
        away: &'a [DVec2],
        (slot, reach): (f64, f64),
        board: &'a dyn Fn(DVec2) -> bool,
    ) -> Self {
        let n = track.segments().len();
        let mut corners = Vec::new();
        for (i, s) in track.segments().iter().enumerate() {
            let turn = track.turn(i).unwrap_or(0.0);
            if turn > CORNER {
                corners.push(track.ways()[i]);
            }
            let tight = s.circle().is_some_and(|(_, r)| r < TIGHT_MM);
            if tight && 4.0 * s.bulge.atan().abs() > CORNER {
                corners.extend([track.ways()[i], track.ways()[(i + 1).min(n)]]);
            }
        }
        Self {
            track,
            corners,
            away,
            ring,
            slot,
            board,
            reach,
        }
    }
    fn apart(&self, a: f64, b: f64) -> f64 {
        let length = self.track.length();
        let d = (a - b).rem_euclid(length);
        d.min(length - d)
    }
    /// Whether a stretch of `half` on either side of a way is smooth and clear of what is to be
    /// stayed away from.
    fn smooth(&self, way: f64, half: f64) -> bool {
        let p = self.track.point(way);
        self.corners.iter().all(|c| self.apart(way, *c) >= half)
            && self.away.iter().all(|q| q.distance(p) >= half)
    }
    /// Whether the bridge hangs on board beyond the contour, and not on the part itself.
    fn hangs(&self, way: f64, half: f64) -> bool {
        [way - half, way, way + half].iter().all(|w| {
            let p = self.track.point(*w);
            let out = -self.track.heading(*w).perp();
            (self.board)(p + out * self.reach) && !self.sees_itself(p, out)
        })
    }
    fn sees_itself(&self, p: DVec2, out: DVec2) -> bool {
        let next = self.ring.iter().cycle().skip(1);
        self.ring.iter().zip(next).any(|(a, b)| {
            let along = *b - *a;
            let det = out.perp_dot(along);
            if det.abs() < 1e-12 {
                return false;
            }
            let at = (*a - p).perp_dot(along) / det;
            let on = (*a - p).perp_dot(out) / det;
            at > 0.01 && at < self.slot && (0.0..=1.0).contains(&on)
        })
    }
    /// The nearest way to `wanted` that fits, looked for in steps to both sides.
    fn nearest(&self, wanted: f64, within: f64, fits: impl Fn(f64) -> bool) -> Option<f64> {
        let step = STEP_MM.max(self.track.length() / MOST_PLACES);
        let mut off = 0.0;
        while off <= within {
            for way in [wanted + off, wanted - off] {
                let way = way.rem_euclid(self.track.length());
                if fits(way) {
                    return Some(way);
                }
            }
            off += step;
        }
        None
    }
    /// Middles of nicks, in order along the contour: as many of `count` as find a place, each in a
    /// gap of `gap` in the tool's path.
    #[must_use]
    pub fn nicks(&self, count: u32, gap: f64, clear: f64) -> Vec<f64> {
        let length = self.track.length();
        let mut found: Vec<f64> = Vec::new();
        for i in 0..count {
            let wanted = length * (f64::from(i) + 0.5) / f64::from(count);
            let place = [1.0, 0.5, 0.25].iter().find_map(|share| {
                let half = gap / 2.0 + clear * share;
                self.nearest(wanted, length / 2.0, |way| {
                    self.smooth(way, half)
                        && found
                            .iter()
                            .all(|f| self.apart(*f, way) >= gap + 2.0 * clear)
                        && self.hangs(way, gap / 2.0)
                })
            });
            found.extend(place);
        }
        found.sort_by(f64::total_cmp);
        found
    }
    /// Ways at which a closed cut may begin: up to `count`, away from corners where there is room,
    /// else the middle of the longest side.
    #[must_use]
    pub fn starts(&self, count: u32, clear: f64) -> Vec<f64> {
        let length = self.track.length();
        let mut found: Vec<f64> = Vec::new();
        for share in [1.0, 0.25] {
            for i in 0..count {
                let part = length / f64::from(count);
                let wanted = part * f64::from(i);
                let fits = |way: f64| self.smooth(way, clear * share);
                if let Some(way) = self.nearest(wanted, part / 2.0, fits)
                    && found.iter().all(|f| self.apart(*f, way) > STEP_MM)
                {
                    found.push(way);
                }
            }
            if !found.is_empty() {
                return found;
            }
        }
        let longest = self
            .track
            .segments()
            .iter()
            .zip(self.track.ways())
            .max_by(|a, b| a.0.length().total_cmp(&b.0.length()));
        longest
            .map(|(s, way)| way + s.length() / 2.0)
            .into_iter()
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Path, Rect};
    use crate::units::{ForcePerLength, Length};

    fn figures() -> Nicks {
        Nicks {
            least: 3,
            every: Length::mm(300.0),
            length: Length::mm(0.6),
            most: Length::mm(2.5),
            holds: ForcePerLength::n_per_mm(0.4),
            times: 4.0,
            clear: Length::mm(4.0),
        }
    }

    // By hand: 0.05 kg times 9.80665 times 4 is 1.9613 N; at 0.4 N/mm that is 4.903 mm of nick.
    #[test]
    fn number_and_length_follow_from_size_and_mass() {
        let n = figures();
        let small = needed(&n, 400.0, Mass::kg(0.005));
        assert_eq!((small.count, small.bridge), (3, 0.6));
        let long = needed(&n, 3100.0, Mass::kg(0.05));
        assert_eq!((long.count, long.bridge), (11, 0.6));
        let heavy = needed(&n, 800.0, Mass::kg(0.05));
        assert_eq!(heavy.count, 3);
        assert!((heavy.bridge - 4.903_325 / 3.0).abs() < 1e-9);
        let heaviest = needed(&n, 800.0, Mass::kg(0.2));
        assert_eq!(
            heaviest.count, 8,
            "19.6 mm of nick in pieces of 2.5 at most"
        );
        assert!(heaviest.bridge <= 2.5 && 8.0 * heaviest.bridge * 0.4 > 0.2 * GRAVITY * 4.0 - 1e-9);
    }

    /// An outline of 200 x 100 with a slot of 6 mm, 60 deep, from the middle of its top.
    fn slotted() -> Path {
        Path::polygon(
            [
                (0.0, 0.0),
                (200.0, 0.0),
                (200.0, 100.0),
                (103.0, 100.0),
                (103.0, 40.0),
                (97.0, 40.0),
                (97.0, 100.0),
                (0.0, 100.0),
            ]
            .map(|(x, y)| DVec2::new(x, y)),
        )
    }

    #[test]
    fn nicks_stay_off_corners_slots_crease_ends_and_the_edge_of_the_sheet() {
        let path = slotted();
        let (track, ring) = (Track::new(&path), path.flattened(0.01));
        let ends = [DVec2::new(50.0, 0.0), DVec2::new(150.0, 0.0)];
        // The sheet ends 1 mm to the right of the part.
        let board = |p: DVec2| p.x < 201.0;
        let places = Places::new(&track, &ring, &ends, (15.0, 3.0), &board);
        for count in 1..12 {
            let list = places.nicks(count, 0.8, 4.0);
            assert_eq!(list.len(), count as usize);
            for way in &list {
                let p = track.point(*way);
                for v in &path.vertices {
                    assert!(p.distance(v.at) >= 4.0, "{p}");
                }
                assert!(ends.iter().all(|e| e.distance(p) >= 4.0), "{p}");
                assert!(p.x < 199.0, "no board beyond the right edge: {p}");
                assert!(
                    !(96.0..=104.0).contains(&p.x) || p.y < 1.0,
                    "in the slot: {p}"
                );
            }
        }
    }

    #[test]
    fn what_finds_no_place_is_left_out_and_starts_are_always_found() {
        let path = Path::rect(Rect {
            min: DVec2::ZERO,
            max: DVec2::new(6.0, 4.0),
        });
        let (track, ring) = (Track::new(&path), path.flattened(0.01));
        let board = |_: DVec2| true;
        let places = Places::new(&track, &ring, &[], (15.0, 3.0), &board);
        assert!(places.nicks(3, 0.8, 4.0).len() < 3);
        let starts = places.starts(8, 4.0);
        assert!(!starts.is_empty());
        for way in starts {
            let p = track.point(way);
            assert!(
                path.vertices.iter().all(|v| v.at.distance(p) >= 0.99),
                "{p}"
            );
        }
    }
}
