//! The first article: strips are cut, folded and measured, and the figures of this board on this
//! machine follow from them, each with how far it may be off.
//!
//! Words: a **strip** is folded to a **channel**, a floor between two upright walls; a **gauge** is a
//! square hole in its floor; what falls out of the hole is its **piece**. What is measured and how
//! the figures follow is told in `docs/first-article.md`; [`fit`] has the formulas.

mod coupon;
mod file;
mod fit;
mod spread;
mod student;

pub use coupon::{Coupon, TEST_STRIP, TEST_STRIP_FILE};
pub use file::{MOST_READINGS, Measurements, USUAL_STEP, blank_measurements, read_measurements};
pub use fit::{Apart, Channel, FEW, Fitted, Gauge, Group, Readings, Unfit, fit};
pub use spread::{Case, Cause, Clearance, MOST_CASES, Scatter, Share, Spread, Summary, summary};
pub use student::{above, coverage, exceeded, grubbs, wilson};

use crate::board::{Board, Figure, Measured};
use crate::diag::{Diag, Outcome};
use crate::units::{Length, trimmed};

/// A caliper further from the board's listed one than this share of it is another board, or a slip.
const ANOTHER_BOARD: f64 = 0.35;
/// How far outside 0 to 1 a fold axis depth may come out before the readings must be wrong.
const BESIDE: f64 = 0.25;
/// A full kerf of more than this is no kerf of a beam or blade in board.
const WIDEST_KERF: Length = Length::mm(3.0);

/// What a measurements file comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// The figures, to be kept and used from now on.
    pub measured: Measured,
    /// All that the fit tells.
    pub fitted: Fitted,
    /// What the reader should know: readings that stand apart, few readings, board pressed.
    pub warnings: Vec<Diag>,
}

/// Fits the readings of a file and holds them against the board as listed, where it is known.
///
/// # Errors
/// `no-readings`, `too-few`, `no-caliper`; `implausible` for what cannot be of this board.
pub fn learn(m: &Measurements, board: Option<&Board>) -> Outcome<Learned> {
    let slips = slips(m, board);
    if !slips.is_empty() {
        return Err(slips);
    }
    let fitted = fit(&m.readings).map_err(|e| vec![unfit(m, e)])?;
    let wrong = beyond(m, board, &fitted);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let measured = Measured {
        board: m.board.name.clone(),
        machine: m.machine.as_ref().map(|n| n.name.clone()),
        way: m.way,
        caliper: fitted.caliper,
        along: fitted.axis_depth[0],
        across: fitted.axis_depth[1],
        kerf: fitted.kerf.filter(|_| m.machine.is_some()),
        when: m.when.clone(),
        note: m.note.clone(),
    };
    Ok(Learned {
        warnings: warnings(m, &fitted),
        measured,
        fitted,
    })
}

fn unfit(m: &Measurements, e: Unfit) -> Diag {
    let diag = match e {
        Unfit::Nothing => Diag::error("no-readings", "not a single reading is filled in")
            .help("write what you read between the quotes, with its unit: \"4.05mm\""),
        Unfit::One(group) => Diag::error(
            "too-few",
            format!(
                "one reading alone for the {}: nothing tells how far it may be off",
                group.figure()
            ),
        )
        .at(m.place_of(group, 0))
        .help("take two readings at least, five to be useful, or leave this one empty"),
        Unfit::NoCaliper => Diag::error(
            "no-caliper",
            "channels are measured, but not how thick the board is",
        )
        .help("the fold axis depth is a share of it: fill in `caliper`"),
        Unfit::NotThick => Diag::error("implausible", "the board comes out at no thickness"),
    };
    if diag.place.is_some() {
        diag
    } else {
        diag.at(m.place.clone())
    }
}

/// Single readings that no strip of this board can give.
fn slips(m: &Measurements, board: Option<&Board>) -> Vec<Diag> {
    let mut found = Vec::new();
    let mut slip = |group: Group, index: usize, message: String| {
        let help = "check the reading and its unit";
        let at = m.place_of(group, index);
        found.push(Diag::error("implausible", message).at(at).help(help));
    };
    let mm = |l: Length| format!("{} mm", trimmed(l.to_mm(), 3));
    let r = &m.readings;
    if let Some(b) = board {
        for (i, t) in r.caliper.iter().enumerate() {
            if *t < b.caliper * 0.5 || *t > b.caliper * 2.0 {
                let (read, listed) = (mm(*t), mm(b.caliper));
                slip(
                    Group::Caliper,
                    i,
                    format!(
                        "{read} cannot be the thickness of board {}, listed with {listed}",
                        b.name
                    ),
                );
            }
        }
    }
    for (way, group) in [Group::Along, Group::Across].into_iter().enumerate() {
        for (i, c) in r.channels[way].iter().enumerate() {
            let most = c.drawn * 1.25;
            if c.inside > most || c.inside < c.drawn * 0.4 {
                let (read, drawn) = (mm(c.inside), mm(c.drawn));
                let message =
                    format!("{read} cannot be between walls whose creases are {drawn} apart");
                slip(group, i, message);
            } else if let Some(b) = c
                .outside
                .filter(|b| *b > c.drawn * 1.6 || *b < c.drawn * 0.8)
            {
                let (read, drawn) = (mm(b), mm(c.drawn));
                let message =
                    format!("{read} cannot be over walls whose creases are {drawn} apart");
                slip(group, i, message);
            }
        }
    }
    for (i, g) in r.gauges.iter().enumerate() {
        if (g.hole - g.slug) / 2.0 > WIDEST_KERF {
            let message = format!(
                "a hole of {} and a piece of {} would be a kerf of {}",
                mm(g.hole),
                mm(g.slug),
                mm((g.hole - g.slug) / 2.0)
            );
            slip(Group::Kerf, i, message);
        }
    }
    found
}

/// Figures that cannot be of this board.
fn beyond(m: &Measurements, board: Option<&Board>, fitted: &Fitted) -> Vec<Diag> {
    let mut found = Vec::new();
    if let (Some(t), Some(b)) = (fitted.caliper, board)
        && (t.value / b.caliper - 1.0).abs() > ANOTHER_BOARD
    {
        let message = format!(
            "the thickness comes out at {} mm, and board {} is listed with {} mm",
            trimmed(t.value.to_mm(), 2),
            b.name,
            trimmed(b.caliper.to_mm(), 2)
        );
        let help = "name the board it is, or write a board file of your own";
        let at = m.place_of(Group::Caliper, 0);
        found.push(Diag::error("implausible", message).at(at).help(help));
    }
    for (p, group) in fitted.axis_depth.iter().zip([Group::Along, Group::Across]) {
        let Some(p) = p else { continue };
        if p.value + p.half < -BESIDE || p.value - p.half > 1.0 + BESIDE || p.value.abs() > 3.0 {
            let message = format!(
                "the {} comes out at {}: no crease turns so far outside its board",
                group.figure(),
                trimmed(p.value, 2)
            );
            let help = "check `drawn` and the readings; walls must stand square when measured";
            let at = m.place_of(group, 0);
            found.push(Diag::error("implausible", message).at(at).help(help));
        }
    }
    found
}

fn warnings(m: &Measurements, fitted: &Fitted) -> Vec<Diag> {
    let mut out = Vec::new();
    for a in &fitted.apart {
        let message = format!(
            "this reading stands apart from the others for the {}: {} standard deviations off, {} are usual at most",
            a.group.figure(),
            trimmed(a.off, 2),
            trimmed(a.limit, 2)
        );
        let help = "it is in the figure all the same; measure again, or take it out of the file";
        let at = m.place_of(a.group, a.index);
        out.push(Diag::warning("reading-apart", message).at(at).help(help));
    }
    for (group, n) in &fitted.few {
        let message = format!(
            "only {n} readings for the {}: its interval is wide",
            group.figure()
        );
        let at = m.place_of(*group, 0);
        out.push(
            Diag::warning("few-readings", message)
                .at(at)
                .help("five make it useful"),
        );
    }
    for group in &fitted.inside_only {
        let message = format!(
            "not every channel {} the flutes has its outside width: the inside ones alone are used",
            group.word()
        );
        let at = m.place_of(*group, 0);
        let help = "with both, an error of the thickness matters less";
        out.push(Diag::warning("inside-only", message).at(at).help(help));
    }
    if let (Some(seen), Some(t)) = (fitted.bulge, fitted.caliper) {
        let message = format!(
            "the walls of the channels are {} mm thick, the board is {} mm",
            trimmed(seen.value.to_mm(), 2),
            trimmed(t.value.to_mm(), 2)
        );
        let at = m.place_of(Group::Caliper, 0);
        let help = "walls that lean or bulge do that, or jaws that press: measure 10 mm above the floor, just touching";
        out.push(Diag::warning("walls-differ", message).at(at).help(help));
    }
    for (p, group) in fitted.axis_depth.iter().zip([Group::Along, Group::Across]) {
        let Some(p) = p.filter(|p| !(0.0..=1.0).contains(&p.value)) else {
            continue;
        };
        let message = format!(
            "the {} comes out at {}; cases are drawn with {}",
            group.figure(),
            trimmed(p.value, 3),
            p.value.clamp(0.0, 1.0)
        );
        let at = m.place_of(group, 0);
        out.push(Diag::warning("depth-outside", message).at(at));
    }
    if fitted.kerf.is_some() && m.machine.is_none() {
        let message = "a kerf is measured, but no machine is named: it is not kept";
        let help = "add the machine: machine \"bench-laser\"";
        let at = m.place_of(Group::Kerf, 0);
        out.push(Diag::warning("no-machine", message).at(at).help(help));
    }
    out
}

/// A figure with its interval, in words: `4.07 +- 0.03 mm`.
#[must_use]
pub fn length_words(f: &Figure<Length>) -> String {
    format!(
        "{} +- {} mm",
        trimmed(f.value.to_mm(), 3),
        trimmed(f.half.to_mm(), 3)
    )
}

/// The same for a share.
#[must_use]
pub fn share_words(f: &Figure<f64>) -> String {
    format!("{} +- {}", trimmed(f.value, 3), trimmed(f.half, 3))
}
