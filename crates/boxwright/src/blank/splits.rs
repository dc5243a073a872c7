//! The blanks of a job cut in two where it asks so, or where they do not fit the sheet and the bed.

use std::sync::Arc;

use super::plan::Plan;
use crate::diag::{Diag, Named, Outcome};
use crate::job::{Job, Split};
use crate::style::{Style, joint_of, split, walls};
use crate::units::SLACK_MM;

/// `auto` tries up to so many cuts.
const MOST_CUTS: usize = 3;

/// Draws a job with its blanks cut in two where it asks so. `draw` draws a style whole.
///
/// # Errors
/// What `draw` says; `cannot-split`; `missing` for `auto` without a sheet or bed; `too-large` when
/// no cuts that `auto` tries make every piece fit.
pub(super) fn drawn(
    style: &Arc<Style>,
    job: &Job,
    draw: impl Fn(&Arc<Style>) -> Outcome<Plan>,
) -> Outcome<Plan> {
    match job.splits.as_slice() {
        [] => draw(style),
        [
            Split {
                at: None,
                lap,
                place,
            },
        ] => {
            let named = |name: &str| Named {
                name: name.to_owned(),
                place: place.clone(),
            };
            if job.sheet.is_none() && job.bed.is_none() {
                return Err(vec![
                    Diag::error(
                        "missing",
                        "`split \"auto\"` needs to know what the pieces must fit",
                    )
                    .at(place.clone())
                    .help("give `sheet` or `bed`"),
                ]);
            }
            let whole = draw(style)?;
            if over(&whole, job) <= SLACK_MM {
                return Ok(whole);
            }
            let all = walls(style);
            let mut least = over(&whole, job);
            for count in 1..=MOST_CUTS.min(all.len()) {
                let mut best: Option<(f64, Plan)> = None;
                for chosen in choices(all.len(), count) {
                    let cuts: Vec<_> = chosen.iter().map(|i| (named(all[*i]), *lap)).collect();
                    let Ok(plan) = cut(style, &cuts).and_then(|s| draw_cut(&s, &cuts, &draw))
                    else {
                        continue;
                    };
                    least = least.min(over(&plan, job));
                    let longest = plan
                        .pieces
                        .iter()
                        .map(|b| b.bounds.size().max_element())
                        .fold(0.0, f64::max);
                    if over(&plan, job) <= SLACK_MM
                        && best.as_ref().is_none_or(|(l, _)| longest < l - SLACK_MM)
                    {
                        best = Some((longest, plan));
                    }
                }
                if let Some((_, plan)) = best {
                    return Ok(plan);
                }
            }
            let message = if all.is_empty() {
                format!(
                    "a blank is {over:.1} mm larger than the sheet or bed, and this style has no wall to split it at",
                    over = over(&whole, job)
                )
            } else {
                format!(
                    "no {MOST_CUTS} cuts between walls make every piece fit: {least:.1} mm are wanting at best"
                )
            };
            Err(vec![
                Diag::error("too-large", message)
                    .at(place.clone())
                    .help("take a larger sheet or another style"),
            ])
        }
        some => {
            let mut cuts: Vec<(Named, _)> = some
                .iter()
                .filter_map(|s| Some((s.at.clone()?, s.lap)))
                .collect();
            // From the first panel outward, so that each piece is cut off the one before.
            let order = walls(style);
            cuts.sort_by_key(|(n, _)| order.iter().position(|w| *w == n.name));
            let style = cut(style, &cuts)?;
            draw_cut(&style, &cuts, &draw)
        }
    }
}

type Cut = (Named, Option<crate::units::Length>);

fn cut(style: &Arc<Style>, cuts: &[Cut]) -> Outcome<Arc<Style>> {
    let mut made = Style::clone(style);
    for (at, lap) in cuts {
        made = split(&made, at, *lap).map_err(|d| vec![*d])?;
    }
    Ok(Arc::new(made))
}

/// The room has to stand on the first piece, from where all others find their place, and the new
/// laps need names of their own.
fn draw_cut(
    style: &Arc<Style>,
    cuts: &[Cut],
    draw: impl Fn(&Arc<Style>) -> Outcome<Plan>,
) -> Outcome<Plan> {
    let plan = draw(style)?;
    let refuse = |at: &Named, message: String| {
        Err(vec![
            Diag::error("cannot-split", message).at(at.place.clone()),
        ])
    };
    for (at, _) in cuts {
        if plan.room.on.piece != 0 {
            let on = &style.room.on;
            return refuse(
                at,
                format!("the room stands on `{on}`, which would be cut off"),
            );
        }
        let joint = joint_of(&at.name);
        let panels = plan.pieces.iter().flat_map(|b| &b.panels);
        if panels.filter(|p| p.name == joint).count() != 1 {
            return refuse(at, format!("the style has a panel `{joint}` already"));
        }
    }
    Ok(plan)
}

/// By how much the worst blank is too large, in mm.
fn over(plan: &Plan, job: &Job) -> f64 {
    let wants = plan.pieces.iter().flat_map(|b| {
        let sheet = job.sheet.map(|s| b.on_sheet(s));
        let bed = job.bed.map(|s| b.on_bed(s));
        sheet.into_iter().chain(bed)
    });
    wants.map(|(need, have)| need - have).fold(0.0, f64::max)
}

/// Every choice of `count` out of `of`, in order.
fn choices(of: usize, count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for first in 0..of {
        for mut rest in choices(of - first - 1, count - 1) {
            rest.iter_mut().for_each(|i| *i += first + 1);
            rest.insert(0, first);
            all.push(rest);
        }
    }
    all
}
