//! From readings to figures.
//!
//! Four unknowns: caliper t, fold axis depth along and across the flutes, kerf k. Each group of
//! readings has one mean, and the means settle the unknowns exactly:
//!
//! ```text
//! thickness in several places                       t
//! channel: inside width a, outside width b,
//!   creases s apart: (a + b) / 2 - s                (1 - 2 p) t
//!   inside alone: s - a                             2 p t
//! hole and the piece that fell out of it: (h - q)/2   k
//! ```
//!
//! So the best values are the means put through these, and their covariance is J C J', with C the
//! variances of the means and J the derivatives. The depths share t and so are correlated. The
//! variance of a mean is s2 / n, or that of the instrument's step where this is more. Degrees of
//! freedom of what rests on two groups follow Welch and Satterthwaite (JCGM 100:2008, G.4), rounded
//! down; the interval is Student's.

use super::student::{ENDLESS, coverage, grubbs};
use crate::board::Figure;
use crate::units::{Length, SLACK_MM};

/// Chance with which a good reading is blamed as standing apart.
pub const BLAMED: f64 = 0.01;
/// Fewer readings than this make an interval so wide that it is said.
pub const FEW: usize = 4;

/// A strip folded to a channel with two upright walls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// From crease to crease, as drawn.
    pub drawn: Length,
    /// Clear width between the walls.
    pub inside: Length,
    /// Width over the walls.
    pub outside: Option<Length>,
}

/// A hole and the piece that fell out of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// Width of the hole.
    pub hole: Length,
    /// Width of the piece.
    pub slug: Length,
}

/// Everything that was read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Thickness of the board, in several places.
    pub caliper: Vec<Length>,
    /// Channels with their creases along the flutes, then those across.
    pub channels: [Vec<Channel>; 2],
    /// Holes and what fell out of them.
    pub gauges: Vec<Gauge>,
    /// Smallest step that the instrument shows.
    pub step: Length,
}

/// What readings are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Thickness.
    Caliper,
    /// Channels with creases along the flutes.
    Along,
    /// Channels with creases across them.
    Across,
    /// Holes and pieces.
    Kerf,
}

impl Group {
    /// Every group, in the order of the covariance.
    pub const ALL: [Self; 4] = [Self::Caliper, Self::Along, Self::Across, Self::Kerf];
    /// The word for it in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Caliper => "caliper",
            Self::Along => "along",
            Self::Across => "across",
            Self::Kerf => "kerf",
        }
    }
    /// What follows from it, in words.
    #[must_use]
    pub const fn figure(self) -> &'static str {
        match self {
            Self::Caliper => "caliper",
            Self::Along => "fold axis depth along the flutes",
            Self::Across => "fold axis depth across the flutes",
            Self::Kerf => "kerf",
        }
    }
}

/// A reading that stands apart from the others of its group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// Its group.
    pub group: Group,
    /// Which of the group, from 0.
    pub index: usize,
    /// How many standard deviations of the group it stands from the mean.
    pub off: f64,
    /// How many are usual at most among so many readings.
    pub limit: f64,
}

/// What readings come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Thickness.
    pub caliper: Option<Figure<Length>>,
    /// Fold axis depth along the flutes and across them.
    pub axis_depth: [Option<Figure<f64>>; 2],
    /// Full width that the tool takes.
    pub kerf: Option<Figure<Length>>,
    /// Covariance of caliper (mm), depth along, depth across and kerf (mm), zero where there is no
    /// figure.
    pub covariance: [[f64; 4]; 4],
    /// Readings that stand apart. They are in the figures all the same.
    pub apart: Vec<Apart>,
    /// Groups with so few readings that their interval is wide, and how many there are.
    pub few: Vec<(Group, usize)>,
    /// Groups of channels some of which have no outside width, so that only the inside was used.
    pub inside_only: Vec<Group>,
    /// Caliper as the channels show it, half the difference of outside and inside, where it does not
    /// agree with the thickness read: the walls bulge, or the readings are wrong.
    pub bulge: Option<Figure<Length>>,
}

/// Why there is no figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// Not a single reading.
    Nothing,
    /// One reading of this group: nothing tells how far it may be off.
    One(Group),
    /// Channels were read, but the thickness was not.
    NoCaliper,
    /// The thickness comes out at nothing or less.
    NotThick,
}

/// Mean of a group, its variance and degrees of freedom; spread of single readings.
#[derive(Clone, Copy, Debug)]
struct Mean {
    value: f64,
    variance: f64,
    freedom: f64,
    spread: f64,
    count: usize,
}

#[allow(clippy::cast_precision_loss, reason = "readings are few")]
fn mean(values: &[f64], step_variance: f64) -> Mean {
    let n = values.len() as f64;
    let value = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - value).powi(2)).sum();
    let variance = squares / (n - 1.0);
    let (of_mean, freedom) = if variance / n >= step_variance {
        (variance / n, n - 1.0)
    } else {
        (step_variance, ENDLESS)
    };
    Mean {
        value,
        variance: of_mean,
        freedom,
        spread: variance.max(step_variance).sqrt(),
        count: values.len(),
    }
}

/// Standard uncertainty and half an interval of 95 % of what has these shares of variance.
fn interval(parts: &[(f64, f64)]) -> (f64, f64) {
    let variance: f64 = parts.iter().map(|(v, _)| v).sum();
    if variance <= 0.0 {
        return (0.0, 0.0);
    }
    let below: f64 = parts.iter().map(|(v, f)| v * v / f).sum();
    let error = variance.sqrt();
    // Rounded down, as G.4.1 advises; the bit over keeps whole numbers whole.
    let freedom = (variance * variance / below + 1e-9).floor();
    (error, error * coverage(freedom))
}

fn figure(value: f64, parts: &[(f64, f64)], spread: f64, count: usize) -> Figure<f64> {
    let (error, half) = interval(parts);
    Figure {
        value,
        half,
        error,
        spread,
        count: u32::try_from(count).unwrap_or(u32::MAX),
    }
}

const fn lengths(f: Figure<f64>) -> Figure<Length> {
    Figure {
        value: Length::mm(f.value),
        half: Length::mm(f.half),
        error: Length::mm(f.error),
        spread: Length::mm(f.spread),
        count: f.count,
    }
}

/// The figures that fit the readings best.
///
/// # Errors
/// [`Unfit`]: no reading at all, a single one in a group, or channels without a thickness.
pub fn fit(readings: &Readings) -> Result<Fitted, Unfit> {
    let step = readings.step.to_mm().abs();
    // A reading lies evenly within its step: JCGM 100:2008, 4.3.7.
    let step_variance = step * step / 12.0;
    let groups = Group::ALL.map(|g| values(readings, g));
    if groups.iter().all(|(v, _)| v.is_empty()) {
        return Err(Unfit::Nothing);
    }
    let folded = !groups[1].0.is_empty() || !groups[2].0.is_empty();
    if folded && groups[0].0.is_empty() {
        return Err(Unfit::NoCaliper);
    }
    let mut out = Fitted {
        caliper: None,
        axis_depth: [None; 2],
        kerf: None,
        covariance: [[0.0; 4]; 4],
        apart: Vec::new(),
        few: Vec::new(),
        inside_only: Vec::new(),
        bulge: None,
    };
    let mut means: [Option<Mean>; 4] = [None; 4];
    for ((group, (values, share)), at) in Group::ALL.into_iter().zip(&groups).zip(&mut means) {
        match values.len() {
            0 => continue,
            1 => return Err(Unfit::One(group)),
            n if n < FEW => out.few.push((group, n)),
            _ => {}
        }
        *at = Some(mean(values, step_variance * share));
        out.apart.extend(apart(group, values, step));
    }
    if let Some(k) = means[3] {
        out.covariance[3][3] = k.variance;
        let parts = [(k.variance, k.freedom)];
        out.kerf = Some(lengths(figure(k.value, &parts, k.spread, k.count)));
    }
    let Some(t) = means[0] else {
        return Ok(out);
    };
    if t.value <= 0.0 {
        return Err(Unfit::NotThick);
    }
    out.covariance[0][0] = t.variance;
    let parts = [(t.variance, t.freedom)];
    out.caliper = Some(lengths(figure(t.value, &parts, t.spread, t.count)));
    let mut by_t = [0.0; 2];
    for (way, by_t) in by_t.iter_mut().enumerate() {
        let Some(m) = means[way + 1] else { continue };
        let (both, thick) = (uses_outside(&readings.channels[way]), t.value);
        // p and its derivative by t; the one by the mean is -1 / 2t or 1 / 2t.
        let (p, slope) = if both {
            (
                0.5 - m.value / (2.0 * thick),
                m.value / (2.0 * thick * thick),
            )
        } else {
            out.inside_only.push(Group::ALL[way + 1]);
            (m.value / (2.0 * thick), -m.value / (2.0 * thick * thick))
        };
        let scale = 1.0 / (2.0 * thick);
        let parts = [
            (m.variance * scale * scale, m.freedom),
            (t.variance * slope * slope, t.freedom),
        ];
        *by_t = slope;
        out.axis_depth[way] = Some(figure(p, &parts, m.spread * scale, m.count));
        out.covariance[way + 1][way + 1] = parts[0].0 + parts[1].0;
        out.covariance[0][way + 1] = t.variance * slope;
        out.covariance[way + 1][0] = t.variance * slope;
    }
    out.covariance[1][2] = t.variance * by_t[0] * by_t[1];
    out.covariance[2][1] = out.covariance[1][2];
    out.bulge = bulge(readings, t, step_variance);
    Ok(out)
}

fn uses_outside(channels: &[Channel]) -> bool {
    channels.iter().all(|c| c.outside.is_some())
}

/// What a group's readings come to one by one, and the share of the step's variance each has.
fn values(readings: &Readings, group: Group) -> (Vec<f64>, f64) {
    let channels = |all: &[Channel]| {
        let both = uses_outside(all);
        let one = |c: &Channel| match c.outside {
            Some(b) if both => (c.inside + b).to_mm() / 2.0 - c.drawn.to_mm(),
            _ => (c.drawn - c.inside).to_mm(),
        };
        let share = if both { 0.5 } else { 1.0 };
        (all.iter().map(one).collect(), share)
    };
    match group {
        Group::Caliper => (readings.caliper.iter().map(|t| t.to_mm()).collect(), 1.0),
        Group::Along => channels(&readings.channels[0]),
        Group::Across => channels(&readings.channels[1]),
        Group::Kerf => {
            let one = |g: &Gauge| (g.hole - g.slug).to_mm() / 2.0;
            (readings.gauges.iter().map(one).collect(), 0.5)
        }
    }
}

fn apart(group: Group, values: &[f64], step: f64) -> Option<Apart> {
    let limit = grubbs(values.len(), BLAMED)?;
    let m = mean(values, 0.0);
    let (index, far) = values
        .iter()
        .map(|v| (v - m.value).abs())
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    // One step of the instrument among equal readings means nothing.
    let strays = far > limit * m.spread && far > 1.5 * step && m.spread > 0.0;
    strays.then(|| Apart {
        group,
        index,
        off: far / m.spread,
        limit,
    })
}

fn bulge(readings: &Readings, t: Mean, step_variance: f64) -> Option<Figure<Length>> {
    let all = readings.channels.iter().flatten();
    let seen: Vec<f64> = all
        .filter_map(|c| c.outside.map(|b| (b - c.inside).to_mm() / 2.0))
        .collect();
    if seen.len() < 2 {
        return None;
    }
    let m = mean(&seen, step_variance * 0.5);
    let parts = [(m.variance, m.freedom), (t.variance, t.freedom)];
    let (_, half) = interval(&parts);
    let own = [(m.variance, m.freedom)];
    ((m.value - t.value).abs() > half + SLACK_MM)
        .then(|| lengths(figure(m.value, &own, m.spread, m.count)))
}
