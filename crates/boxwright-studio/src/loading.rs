//! Packed cases on a pallet, and pallets and cases in containers and trailers.

use boxwright::diag::{Diag, Outcome};
use boxwright::emit::load::{layers, picture};
use boxwright::pallet::{
    Arrangement, Carton, Limit, Load, Proof, Room, Rules, Tables, Ways, Work, loads, loose,
    on_floor, read_tables,
};
use boxwright::read::suggestion;
use boxwright::ship::table;
use boxwright::source::Shipped;
use boxwright::units::{Dim, Length, LengthUnit, Mass};

use crate::refuse::Refuse;
use crate::shipping::{both, figure, no};
use crate::wire::{ShipAsk, ShipConditions, ShipLoad, ShipPallet, ShipPattern, ShipRoom, Shown};

/// Height of a loaded pallet where none is typed: default, no source.
const HEIGHT: Length = Length::mm(1800.0);
/// Highest loaded pallet, and farthest overhang, in mm.
const HIGHEST: f64 = 5000.0;
const FARTHEST: f64 = 500.0;
/// Heaviest loaded pallet, in kg.
const HEAVIEST: f64 = 20_000.0;
/// A load of more cases than this is not drawn.
const MOST_DRAWN: usize = 3000;

/// Pallets, containers and trailers.
pub fn tables() -> Outcome<Tables> {
    read_tables(&[table(&Shipped, "loads")?])
}

/// What a load may be, of what was typed.
pub fn rules(on: &ShipConditions) -> Result<Rules, Refuse> {
    let length = |name: &str, text: &str, most: f64| -> Result<Option<Length>, Refuse> {
        match figure(name, text, Dim::LENGTH)? {
            Some(mm) if (0.0..=most).contains(&mm) => Ok(Some(Length::mm(mm))),
            Some(_) => {
                let most = LengthUnit::Mm.show(Length::mm(most));
                Err(no(format!("{name}: from nothing to {most} are meant")))
            }
            None => Ok(None),
        }
    };
    let height = length("height of the loaded pallet", &on.height, HIGHEST)?.unwrap_or(HEIGHT);
    let overhang = length("overhang", &on.overhang, FARTHEST)?.unwrap_or(Length::ZERO);
    let mass = match figure("mass of the loaded pallet", &on.load, Dim::MASS)? {
        Some(kg) if (0.0..=HEAVIEST).contains(&kg) => Some(Mass::kg(kg)),
        Some(_) => {
            let message = format!("mass of the loaded pallet: from 0 to {HEAVIEST} kg are meant");
            return Err(no(message));
        }
        None => None,
    };
    Ok(Rules {
        mass,
        overhang: [overhang; 2],
        ..Rules::up_to(height)
    })
}

/// Nothing on no pallet.
pub const fn none() -> ShipPallet {
    ShipPallet {
        title: String::new(),
        loads: Vec::new(),
        chosen: None,
        rooms: Vec::new(),
        notes: Vec::new(),
    }
}

/// The loads that the rules allow, and where they go.
pub fn shown(
    ask: &ShipAsk,
    rules: &Rules,
    carton: &Carton,
    safe_high: Option<u32>,
) -> Result<ShipPallet, Refuse> {
    let all = tables().map_err(|d| Refuse::of_diags("not-shipped", &d))?;
    let wanted = ask.on.pallet.trim();
    let listed = match wanted {
        "" => all.pallets.first(),
        name => all.pallet(name),
    };
    let Some(listed) = listed else {
        let known = all.pallets.iter().map(|p| p.value.name.as_str());
        let no = no(format!("there is no pallet `{wanted}`"));
        return Err(no.help(suggestion(wanted, known)));
    };
    let mut notes = Vec::new();
    let mut told = |d: Diag| notes.push(both(&d.message));
    let found = loads(&listed.value, carton, rules).unwrap_or_else(|d| {
        told(d);
        Vec::new()
    });
    let interlocked = ask.on.pattern == ShipPattern::Interlocked;
    let suits = |l: &Load| (l.arrangement == Arrangement::Interlocked) == interlocked;
    let chosen = found
        .iter()
        .position(suits)
        .or((!found.is_empty()).then_some(0));
    let rooms = all
        .rooms
        .iter()
        .map(|r| {
            room(
                &r.value,
                &r.title,
                chosen.and_then(|n| found.get(n)),
                carton,
            )
        })
        .collect();
    match chosen.and_then(|n| found.get(n)) {
        None if notes.is_empty() => {
            notes.push(both("not one case goes on this pallet as it is asked"));
        }
        Some(load) => {
            if !suits(load) {
                notes.push(both(
                    "this pattern mirrors onto itself, so its layers cannot bridge each other; it is stacked in columns",
                ));
            }
            if let Some(safe) = safe_high
                && load.tip.upright == 2
                && load.layers > usize::try_from(safe).unwrap_or(usize::MAX)
            {
                notes.push(both(&format!(
                    "{} layers are more than the {safe} that the estimate of strength lets stand on one another",
                    load.layers
                )));
            }
        }
        None => {}
    }
    let unit: LengthUnit = ask.unit.into();
    Ok(ShipPallet {
        title: listed.title.clone(),
        loads: found.iter().map(|l| line(l, unit)).collect(),
        chosen: chosen.map(whole),
        rooms,
        notes: said(notes),
    })
}

fn said(mut notes: Vec<Shown>) -> Vec<Shown> {
    notes.push(both(
        "counts are of geometry and mass alone; secure the load and keep to local rules",
    ));
    notes
}

fn whole(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn line(l: &Load, unit: LengthUnit) -> ShipLoad {
    let way = match l.arrangement {
        Arrangement::Column => "in columns",
        Arrangement::Interlocked => "interlocked",
    };
    let lies = match l.tip.upright {
        2 => "",
        1 => ", on a long side",
        _ => ", on an end",
    };
    let drawn = l.count <= MOST_DRAWN;
    ShipLoad {
        way: format!("{way}{lies}"),
        count: whole(l.count),
        per_layer: whole(l.per_layer),
        layers: whole(l.layers),
        proof: match l.proof {
            Proof::Bound => "proved: no layer can hold more".to_owned(),
            Proof::Tried => "proved: every pattern was tried".to_owned(),
            Proof::None => format!("not proved; no layer holds more than {}", l.layer_bound),
        },
        limit: match l.limit {
            Limit::Height => "another layer would be too high",
            Limit::Mass => "more would be too heavy",
            Limit::SafeLoad => "more would be too heavy for the pallet",
            Limit::Wanted => "no more were wanted",
        }
        .to_owned(),
        height: l.height.to_mm(),
        gross: l.gross_mass.to_kg(),
        area_share: l.area_share,
        corners: l.standing.map(|s| s.corners),
        above: drawn.then(|| layers(l, unit).to_svg()),
        picture: drawn.then(|| picture(l, unit).to_svg()),
    }
}

fn room(room: &Room, title: &str, load: Option<&Load>, carton: &Carton) -> ShipRoom {
    let on = load.and_then(|l| {
        let thing = (l.footprint(), l.height, l.gross_mass);
        on_floor(room, thing, Length::ZERO, Ways::Any, false).ok()
    });
    let best = loose(room, carton, Work::default())
        .ok()
        .and_then(|all| all.into_iter().next());
    let by_mass =
        on.as_ref().is_some_and(|o| o.by_mass) || best.as_ref().is_some_and(|b| b.by_mass);
    ShipRoom {
        title: title.to_owned(),
        on_pallets: on
            .as_ref()
            .zip(load)
            .map(|(o, l)| whole(o.count.saturating_mul(l.count))),
        pallets: on.map(|o| whole(o.count)),
        loose: best.map(|b| whole(b.count)),
        by_mass,
    }
}
