//! From an inside size and contents to styles and boards, best first.

use std::sync::Arc;

use boxwright::board::Creasing;
use boxwright::pallet::{Down, Rules, Work};
use boxwright::propose::{AtHand, LeftOut, Need, Pallet, Prefer, Proposal, propose};
use boxwright::ship::Conditions;
use boxwright::source::Shipped;
use boxwright::style::Style;
use boxwright::units::{Length, Mass};

use crate::refuse::Refuse;
use crate::shelf::Shelf;
use crate::shipping::{both, forces};
use crate::wire::{ChooseAsk, ChooseBy, ChooseLeftOut, ChooseLine, ChooseShown, Crease};
use crate::{ask, loading};

/// So many are proposed.
const TOP: usize = 8;
/// Room between blanks on a sheet, as on the command line.
const SPACING: Length = Length::mm(3.0);
/// Height of a loaded pallet, as on the command line.
const HIGH: Length = Length::mm(1600.0);
/// How much the search for one pattern may do: little, for hundreds of cases are looked at.
const WORK: Work = Work {
    partings: 20_000,
    skylines: 0,
};

/// Styles and boards for what a state asks, whatever style and board it has itself.
///
/// # Errors
/// What was typed wrongly.
pub fn shown(shelf: &Shelf, asked: &ChooseAsk) -> Result<ChooseShown, Refuse> {
    let refuse = |d: Vec<_>| Refuse::of_diags("not-chosen", &d);
    let job = ask::job(&asked.state).map_err(refuse)?;
    let on = Conditions::usual(&Shipped).map_err(refuse)?;
    let mut need = Need::new(&job.title, job.inside, on);
    need.contents.clone_from(&job.contents);
    need.quantity = job.quantity;
    need.prefer = match asked.by {
        ChooseBy::Board => Prefer::Board,
        ChooseBy::Parcel => Prefer::Parcel,
        ChooseBy::Pallet => Prefer::Pallet,
        ChooseBy::Stack => Prefer::Stack,
    };
    // What is sent wants to be posted, and what is fragile wants to be kept.
    need.wishes.push("post".to_owned());
    if need.contents.iter().any(|c| c.fragile.is_some()) {
        need.wishes.push("fragile".to_owned());
    }
    if asked.by == ChooseBy::Pallet {
        let tables = loading::tables().map_err(refuse)?;
        need.pallet = tables.pallets.first().map(|p| Pallet {
            base: p.value.clone(),
            rules: Rules {
                work: WORK,
                ..Rules::up_to(HIGH)
            },
            down: Down::Bottom,
        });
    }
    let mut styles: Vec<Arc<Style>> = shelf.styles().iter().map(|(_, s)| Arc::clone(s)).collect();
    // A style of the user's own that the job names is one more to try; a job names it by its path.
    if job.style.name.ends_with(".kdl")
        && let Ok(own) = shelf.style(&job, asked.state.job.as_deref())
    {
        styles.push(Arc::new(Style {
            name: job.style.name.clone(),
            ..(*own).clone()
        }));
    }
    let hand = AtHand {
        styles,
        boards: shelf.boards().iter().cloned().collect(),
        sheet: job.sheet,
        bed: job.bed,
        creasing: Some(job.creasing),
        spacing: SPACING,
        ..AtHand::default()
    };
    let found = propose(&need, &hand, TOP);
    let mut cautions = vec![both(
        "strength is an estimate, not a test; people stand near stacks: test by the relevant standard and ask a qualified person where a load can hurt someone",
    )];
    if need.mass() == Mass::ZERO {
        cautions.push(both(
            "no mass of contents is known, so this is for the empty case",
        ));
    }
    Ok(ChooseShown {
        candidates: whole(found.candidates),
        proposals: found.proposals.iter().map(line).collect(),
        further: whole(found.further),
        left_out: found.left_out.iter().map(left_out).collect(),
        cautions,
    })
}

fn whole(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn line(p: &Proposal) -> ChooseLine {
    let told = |all: &[String]| all.iter().map(|t| both(t)).collect();
    ChooseLine {
        style: p.style.clone(),
        title: p.style_title.clone(),
        board: p.board.clone(),
        crease: match p.creasing {
            Creasing::Hand => Crease::Hand,
            Creasing::Wheel => Crease::Wheel,
            Creasing::Rule => Crease::Rule,
            Creasing::Perforated => Crease::Perforated,
        },
        outside: p.outside.map(Length::to_mm),
        area: p.board_area.to_mm2(),
        gross: p.gross.to_kg(),
        strength: forces(p.strength),
        parcel: p.parcel.clone(),
        good: told(&p.good),
        against: told(&p.against),
        also: told(&p.also),
    }
}

fn left_out(l: &LeftOut) -> ChooseLeftOut {
    ChooseLeftOut {
        why: both(&l.words),
        count: whole(l.candidates),
        styles: l.styles.clone(),
    }
}
