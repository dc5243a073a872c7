//! What the command line says over the job file.

use boxwright::diag::{Diag, Named, Place};
use boxwright::job::{ASKED, Job, asked_size, outside_constant, outside_setting};
use boxwright::units::{Dim, Length};

use crate::args::JobArgs;
use crate::desk::Desk;

/// Changes the job as the command line says.
pub fn apply(job: &mut Job, args: &JobArgs, desk: &Desk) -> Result<(), Vec<Diag>> {
    let mut diags = Vec::new();
    for (name, value) in &args.set {
        if let Err(d) = set(job, name, value, desk) {
            diags.extend(d);
        }
    }
    if let Some(name) = &args.board {
        if *name != job.board.name {
            // Measured on the job's own board.
            job.caliper = None;
            job.axis_depth = None;
        }
        job.board = Named {
            name: name.clone(),
            place: option(desk, "--board", name),
        };
    }
    if let Some(way) = args.crease {
        if way.0 != job.creasing {
            job.axis_depth = None;
        }
        job.creasing = way.0;
    }
    diags.extend(measured(
        job,
        args.caliper.as_deref(),
        args.axis_depth.as_deref(),
        desk,
    ));
    if diags.is_empty() { Ok(()) } else { Err(diags) }
}

/// Figures measured on the board at hand; comes back with what is wrong with them.
pub fn measured(
    job: &mut Job,
    caliper: Option<&str>,
    depth: Option<&str>,
    desk: &Desk,
) -> Vec<Diag> {
    let mut diags = Vec::new();
    if let Some(text) = caliper {
        let place = option(desk, "--caliper", text);
        match outside_constant(&place, text, Dim::LENGTH) {
            Ok(t) if t > boxwright::job::THICKEST.to_mm() => diags.push(
                Diag::error(
                    "too-large",
                    format!("board {t} mm thick is beyond this program"),
                )
                .at(place)
                .help("give the thickness of one sheet as it lies"),
            ),
            Ok(t) if t > 0.0 => job.caliper = Some(Length::mm(t)),
            Ok(_) => diags
                .push(Diag::error("not-positive", "the caliper must be more than zero").at(place)),
            Err(d) => diags.push(*d),
        }
    }
    if let Some(text) = depth {
        match axis_depth(text, &option(desk, "--axis-depth", text)) {
            Ok(shares) => job.axis_depth = Some(shares),
            Err(d) => diags.push(*d),
        }
    }
    diags
}

/// The place of an option's value, which messages may underline.
pub fn option(desk: &Desk, name: &str, value: &str) -> Place {
    desk.note(name, value);
    Place {
        input: name.to_owned(),
        start: 0,
        end: value.len(),
    }
}

fn set(job: &mut Job, name: &str, value: &str, desk: &Desk) -> Result<(), Vec<Diag>> {
    // Name and value stand in one text, so that either can be underlined in it.
    let input = format!("--set {name}");
    let whole = format!("{name}={value}");
    desk.note(&input, &whole);
    let before = name.len() + 1;
    let place = |start, end| Place {
        input: input.clone(),
        start,
        end,
    };
    if let Some(i) = ASKED.iter().position(|a| *a == name) {
        let here = place(before, whole.len());
        let size = outside_constant(&here, value, Dim::LENGTH).map_err(|d| vec![*d])?;
        job.inside[i] = asked_size(Length::mm(size))
            .map_err(|(code, message)| vec![Diag::error(code, message).at(here)])?;
        return Ok(());
    }
    let moved = |p: &mut Place| {
        p.start += before;
        p.end += before;
    };
    let mut formula = outside_setting(&input, value).map_err(|mut diags| {
        diags
            .iter_mut()
            .filter_map(|d| d.place.as_mut())
            .for_each(moved);
        diags
    })?;
    moved(&mut formula.place);
    let named = Named {
        name: name.to_owned(),
        place: place(0, name.len()),
    };
    match job.set.iter_mut().find(|(n, _)| n.name == name) {
        Some(old) => *old = (named, formula),
        None => job.set.push((named, formula)),
    }
    Ok(())
}

fn axis_depth(text: &str, place: &Place) -> Result<[f64; 2], Box<Diag>> {
    let share = |part: &str, start: usize| {
        let here = Place {
            start,
            end: start + part.len(),
            ..place.clone()
        };
        let v = outside_constant(&here, part, Dim::NUMBER)?;
        if (0.0..=1.0).contains(&v) {
            Ok(v)
        } else {
            let message = "a fold axis depth lies between 0 and 1";
            Err(Box::new(Diag::error("out-of-range", message).at(here)))
        }
    };
    match text.split_once(',') {
        Some((along, across)) => Ok([share(along, 0)?, share(across, along.len() + 1)?]),
        None => share(text, 0).map(|v| [v, v]),
    }
}
