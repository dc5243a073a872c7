//! Packed cases on a pallet and in containers and trailers, no higher than the bottom case bears.
//!
//! [`crate::pallet`] counts by geometry and mass, [`crate::ship`] says what a case stands. Here both
//! meet: a load is cut down to the layers whose weight the least strength of the bottom case still
//! carries, once in columns and once interlocked, each with the losses of its way of stacking.

mod unmet;

use serde::Serialize;

use crate::diag::Diag;
use crate::pallet::{
    Arrangement, Base, Carton, Down, Listed, Load, Loose, OnFloor, Room, Rules, Ways, Work, loads,
    loose, on_floor,
};
use crate::ship::stack::{load as pressing, safe_high};
use crate::ship::{Conditions, Outlook, Pattern, Range, Surroundings, losses};
use crate::units::{Force, Length, Mass};

pub use unmet::{AskedFor, Unmet, unmet};

/// Greatest height of a loaded pallet where none is asked for, the pallet counted in: a default
/// without source, to be replaced by what your carrier and your door allow.
pub const USUAL_HEIGHT: Length = Length::mm(1800.0);

/// What a load on a pallet may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// The pallet.
    pub pallet: Listed<Base>,
    /// Greatest height over the ground, the pallet counted in.
    pub height: Length,
    /// Greatest mass, the pallet counted in; `None` for no such limit.
    pub mass: Option<Mass>,
    /// How far cases may reach past the pallet on each side; below zero, how far they stay inside.
    pub overhang: Length,
    /// Containers and trailers to fill.
    pub rooms: Vec<Listed<Room>>,
}

/// A load, with what its bottom cases have to stand.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Palletised {
    /// The load, cut down to what the bottom cases stand.
    pub load: Load,
    /// Layers that height and mass would allow.
    pub layers_by_room: usize,
    /// Whether strength keeps it lower than those.
    pub by_strength: bool,
    /// Share of the strength that is kept in this way of stacking.
    pub kept: Range<f64>,
    /// What presses on a bottom case: the layers above it.
    pub pressing: Force,
    /// Strength that the rule asks of it.
    pub needs: Range<Force>,
    /// The most layers that the rule allows; `None` when nothing presses.
    pub safe_layers: Option<u32>,
}

/// A container or trailer, filled.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct InRoom {
    /// The container or trailer.
    pub room: Listed<Room>,
    /// The best of the loaded pallets on its floor, one high, in straight rows as forks set them down.
    pub pallets: Option<OnFloor>,
    /// Cases on those pallets.
    pub cases: usize,
    /// Cases without pallets, no higher than they bear.
    pub loose: Option<Loose>,
}

/// Cases on a pallet and in rooms.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Haul {
    /// The pallet.
    pub pallet: Listed<Base>,
    /// The greatest height reckoned with.
    pub height: Length,
    /// The loads, most cases first: in columns, and interlocked where that differs. Empty when not
    /// one case goes on the pallet.
    pub loads: Vec<Palletised>,
    /// Containers and trailers.
    pub rooms: Vec<InRoom>,
}

impl Haul {
    /// The load in an arrangement.
    #[must_use]
    pub fn arranged(&self, how: Arrangement) -> Option<&Palletised> {
        self.loads.iter().find(|l| l.load.arrangement == how)
    }
    /// The best load.
    #[must_use]
    pub fn best(&self) -> Option<&Palletised> {
        self.loads.first()
    }
}

/// What the cases of an outlook come to on a pallet and in rooms, under the conditions that the
/// outlook was made for.
///
/// # Errors
/// A size or mass that cannot be.
pub fn haul(outlook: &Outlook, on: &Conditions, wish: &Wish) -> Result<Haul, Diag> {
    let carton = Carton {
        outside: outlook.outside.size,
        mass: outlook.gross,
        down: Down::Bottom,
    };
    let mut all = Vec::new();
    for how in [Arrangement::Column, Arrangement::Interlocked] {
        all.extend(arranged(how, &carton, outlook, on, wish)?);
    }
    all.sort_by_key(|l| std::cmp::Reverse(l.load.count));
    let rooms = wish
        .rooms
        .iter()
        .map(|room| in_room(room, all.first(), &carton, outlook))
        .collect::<Result<_, _>>()?;
    Ok(Haul {
        pallet: wish.pallet.clone(),
        height: wish.height,
        loads: all,
        rooms,
    })
}

/// The load in one arrangement.
fn arranged(
    how: Arrangement,
    carton: &Carton,
    outlook: &Outlook,
    on: &Conditions,
    wish: &Wish,
) -> Result<Option<Palletised>, Diag> {
    let base = &wish.pallet.value;
    let mut rules = Rules {
        mass: wish.mass,
        overhang: [wish.overhang; 2],
        arrangements: vec![how],
        ..Rules::up_to(wish.height)
    };
    let Some(by_room) = loads(base, carton, &rules)?.into_iter().next() else {
        return Ok(None);
    };
    if how == Arrangement::Interlocked && by_room.layers < 2 {
        return Ok(None);
    }
    let surroundings = Surroundings {
        pattern: match (how, on.surroundings.pattern) {
            (Arrangement::Interlocked, _) => Pattern::Interlocked,
            (Arrangement::Column, Pattern::ColumnOffset) => Pattern::ColumnOffset,
            (Arrangement::Column, _) => Pattern::ColumnAligned,
        },
        overhang: by_room.overhang.iter().any(|o| *o > Length::ZERO),
        ..on.surroundings
    };
    let kept = losses::kept(&on.losses.factors(&surroundings).0);
    let times = on.rule.times(surroundings.days, kept);
    let strength = outlook.compression.range.least;
    let safe_layers = safe_high(strength, carton.mass, on.above, times.most);
    let layers_by_room = by_room.layers;
    let mut load = by_room;
    let safe = safe_layers.map_or(usize::MAX, |n| usize::try_from(n).unwrap_or(usize::MAX));
    let by_strength = safe < layers_by_room;
    if by_strength {
        #[allow(
            clippy::cast_precision_loss,
            reason = "fewer than the layers of a load"
        )]
        let high = load.case[2] * safe as f64;
        // A tenth of a millimetre keeps the last layer from being lost to rounding.
        rules.height = base.height + high + Length::mm(0.1);
        match loads(base, carton, &rules)?.into_iter().next() {
            Some(lower) => load = lower,
            None => return Ok(None),
        }
    }
    let layers = u32::try_from(load.layers).unwrap_or(u32::MAX);
    let force = pressing(carton.mass, layers, on.above);
    Ok(Some(Palletised {
        load,
        layers_by_room,
        by_strength,
        kept,
        pressing: force,
        needs: Range {
            least: force * times.least,
            most: force * times.most,
        },
        safe_layers,
    }))
}

fn in_room(
    listed: &Listed<Room>,
    best: Option<&Palletised>,
    carton: &Carton,
    outlook: &Outlook,
) -> Result<InRoom, Diag> {
    let room = &listed.value;
    let pallets = match best {
        Some(p) => {
            let load = &p.load;
            let thing = (load.footprint(), load.height, load.gross_mass);
            Some(on_floor(room, thing, Length::ZERO, Ways::Straight, false)?)
        }
        None => None,
    };
    let each = best.map_or(0, |p| p.load.count);
    let mut stowed = loose(&bearing(room, carton, outlook), carton, Work::default())?;
    let loose = (!stowed.is_empty()).then(|| stowed.swap_remove(0));
    Ok(InRoom {
        room: listed.clone(),
        cases: pallets.as_ref().map_or(0, |p| p.count * each),
        pallets,
        loose,
    })
}

/// A room no higher than its bottom cases bear.
fn bearing(room: &Room, carton: &Carton, outlook: &Outlook) -> Room {
    let mut room = room.clone();
    if let Some(safe) = outlook.stack.safe_high {
        let upright = carton.outside[2];
        let high = upright * f64::from(safe) + Length::mm(0.1);
        room.inside[2] = room.inside[2].min(high).max(Length::mm(1.0));
    }
    room
}
