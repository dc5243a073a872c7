//! How many of many cases hold the asked room, as board, creases and cuts differ.

use boxwright::blank::SoundPlan;
use boxwright::brief::{Brief, measured_for};
use boxwright::job::ASKED;
use boxwright::learn::{Case as Made, Cause, Scatter, Share, Spread, Summary, summary};
use boxwright::units::{Length, LengthUnit, trimmed};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use crate::design::{Blanks, Drawn, draw};
use crate::learning::known_words;
use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::stock::typed;
use crate::wire::{
    Shown, SpreadAsk, SpreadCause, SpreadFail, SpreadRoom, SpreadShare, SpreadShown, SpreadTick,
};

/// Fewest and most cases.
const CASES: [u32; 2] = [100, 100_000];
/// Cases worked out between two words of how far it is.
const AT_ONCE: u32 = 256;
/// Cases worked out for one cause alone, as a part of all.
const ALONE: u32 = 4;
/// Most room that may be lacking.
const MOST_SHORT: Length = Length::mm(50.0);

/// A run, ready to be worked out.
pub struct Run {
    brief: Brief,
    plan: Box<SoundPlan>,
    cases: u32,
    seed: u32,
    short: Length,
}

/// What is asked, drawn.
///
/// # Errors
/// The case cannot be drawn, holds no room of its own, or a figure is out of range.
pub fn run(shelf: &Shelf, ask: &SpreadAsk) -> Result<Run, Refuse> {
    let no = |message: String| Refuse::conflict("not-tried", message);
    let [least, most] = CASES;
    if !(least..=most).contains(&ask.cases) {
        let no = no(format!("{least} to {most} cases are tried here"));
        return Err(no.help("`boxwright spread` takes up to a million"));
    }
    let short = if ask.short.trim().is_empty() {
        Length::ZERO
    } else {
        typed("what may be lacking", &ask.short)
            .map_err(|d| Refuse::of_diags("not-tried", &[*d]))?
    };
    if !(Length::ZERO..=MOST_SHORT).contains(&short) {
        return Err(no("what may be lacking lies between 0 and 50 mm".to_owned()));
    }
    let drawn = draw(shelf, &ask.state).map_err(|u| Refuse::of_diags("not-drawn", &u.diags))?;
    let Drawn { brief, blanks } = drawn;
    let Blanks::Sound(plan) = blanks else {
        let message = "this blank cannot be cut from one sheet as it is drawn";
        return Err(Refuse::conflict("not-sound", message)
            .help("the page Case tells what is wrong with it"));
    };
    if !plan.room.leaves.is_empty() {
        let no = no("a fitment holds no room of its own".to_owned());
        return Err(no.help("ask for the spread of the case it goes into"));
    }
    Ok(Run {
        brief,
        plan,
        cases: ask.cases,
        seed: ask.seed,
        short,
    })
}

impl Run {
    /// Works out all cases; `None` when `tell` says that nobody listens any more.
    pub fn all(&self, tell: &dyn Fn(SpreadTick) -> bool) -> Option<SpreadShown> {
        let scatter = Scatter::usual(&self.brief);
        let spread = Spread::new(&self.brief, &self.plan, scatter, u64::from(self.seed));
        let alone = (self.cases / ALONE).max(100);
        let of = self.cases + 4 * alone;
        let mut done = 0;
        let mut run = |spread: &Spread<'_>, count: u32| -> Option<Vec<Made>> {
            let mut made = Vec::new();
            let mut from = 0;
            while from < count {
                let to = (from + AT_ONCE).min(count);
                let more: Vec<Made> = (from..to)
                    .into_par_iter()
                    .map(|n| spread.case(u64::from(n)))
                    .collect();
                made.extend(more);
                done += to - from;
                from = to;
                if !tell(SpreadTick { done, of }) {
                    return None;
                }
            }
            Some(made)
        };
        let cases = run(&spread, self.cases)?;
        let [a, b, c, d] = Cause::ALL.map(|c| run(&spread.only(c), alone));
        let found = summary(&cases, &[a?, b?, c?, d?], self.short);
        Some(self.shown(&spread, &found))
    }

    fn shown(&self, spread: &Spread<'_>, found: &Summary) -> SpreadShown {
        let s = spread.scatter();
        let [along, across] = s.axis_depth.map(|p| trimmed(p, 4));
        let depth = if along == across {
            along
        } else {
            format!("{along} along and {across} across the flutes")
        };
        let depth = Shown {
            mm: depth.clone(),
            inch: depth,
        };
        let deviations = [fine(s.caliper), depth, fine(s.crease), fine(s.cut)];
        let share = |c: Cause| {
            let own = found.causes.iter().find(|(cause, _)| *cause == c);
            own.map_or(0.0, |(_, v)| *v)
        };
        let differs =
            Cause::ALL
                .into_iter()
                .zip(deviations)
                .zip(&s.from)
                .map(|((c, deviation), from)| SpreadCause {
                    words: c.words().to_owned(),
                    deviation,
                    from: from.clone(),
                    share: share(c),
                });
        SpreadShown {
            finished: true,
            cases: count(found.cases),
            asked: self.brief.job.inside.map(Length::to_mm),
            measured: known_words(&measured_for(&self.brief.job)),
            differs: differs.collect(),
            holds: part(&found.holds),
            good: part(&found.good),
            mean: found.mean.map(Length::to_mm),
            deviation: found.deviation.map(Length::to_mm),
            direction: ASKED[found.direction].to_owned(),
            add: found
                .clearance
                .iter()
                .map(|c| SpreadRoom {
                    share: c.share,
                    add: c.add.map(Length::to_mm),
                })
                .collect(),
            fails: found
                .fails
                .iter()
                .map(|(code, n)| SpreadFail {
                    code: (*code).to_owned(),
                    cases: count(*n),
                })
                .collect(),
            before: spread
                .fails_as_drawn()
                .iter()
                .map(ToString::to_string)
                .collect(),
        }
    }
}

fn part(s: &Share) -> SpreadShare {
    SpreadShare {
        cases: count(s.cases),
        share: s.share,
        between: s.between,
    }
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// A small length, to 0.001 mm or 0.0001 in.
fn fine(l: Length) -> Shown {
    Shown {
        mm: format!("{} {}", trimmed(l.to_mm(), 3), LengthUnit::Mm.symbol()),
        inch: format!("{} {}", trimmed(l.to_inch(), 4), LengthUnit::Inch.symbol()),
    }
}
