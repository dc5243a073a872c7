//! Packed cases on a pallet, and pallets and cases in containers and trailers.

use boxwright::diag::Outcome;
use boxwright::emit::load::{layers, picture};
use boxwright::haul::{Haul, InRoom, Palletised, USUAL_HEIGHT, Wish};
use boxwright::pallet::{Arrangement, Limit, Proof, Tables, read_tables};
use boxwright::read::suggestion;
use boxwright::ship::table;
use boxwright::source::Shipped;
use boxwright::units::{Dim, Length, LengthUnit, Mass};

use crate::refuse::Refuse;
use crate::shipping::{both, figure, forces, no};
use crate::wire::{ShipConditions, ShipLoad, ShipPallet, ShipPattern, ShipRoom};

/// Highest loaded pallet, and farthest overhang, in mm.
const HIGHEST: f64 = 5000.0;
const FARTHEST: f64 = 500.0;
/// Heaviest loaded pallet, in kg.
const HEAVIEST: f64 = 20_000.0;
/// A load of more cases than this is not drawn: the picture would be too large to look at.
const MOST_DRAWN: usize = 3000;

/// Pallets, containers and trailers.
pub fn tables() -> Outcome<Tables> {
    read_tables(&[table(&Shipped, "loads")?])
}

/// What a load may be, of what was typed.
pub fn wish(on: &ShipConditions) -> Result<Wish, Refuse> {
    let within =
        |name: &str, text: &str, least: f64, most: f64| match figure(name, text, Dim::LENGTH)? {
            Some(mm) if (least..=most).contains(&mm) => Ok(Some(Length::mm(mm))),
            Some(_) => {
                let [least, most] = [least, most].map(|l| LengthUnit::Mm.show(Length::mm(l)));
                Err(no(format!("{name}: from {least} to {most} are meant")))
            }
            None => Ok(None),
        };
    let height = within("height of the loaded pallet", &on.height, 0.0, HIGHEST)?;
    let overhang = within("overhang", &on.overhang, -FARTHEST, FARTHEST)?;
    let mass = match figure("mass of the loaded pallet", &on.load, Dim::MASS)? {
        Some(kg) if (0.0..=HEAVIEST).contains(&kg) => Some(Mass::kg(kg)),
        Some(_) => {
            let message = format!("mass of the loaded pallet: from 0 to {HEAVIEST} kg are meant");
            return Err(no(message));
        }
        None => None,
    };
    let all = tables().map_err(|d| Refuse::of_diags("not-shipped", &d))?;
    let wanted = on.pallet.trim();
    let pallet = match wanted {
        "" => all.pallets.first(),
        name => all.pallet(name),
    };
    let Some(pallet) = pallet else {
        let known = all.pallets.iter().map(|p| p.value.name.as_str());
        let no = no(format!("there is no pallet `{wanted}`"));
        return Err(no.help(suggestion(wanted, known)));
    };
    Ok(Wish {
        pallet: pallet.clone(),
        height: height.unwrap_or(USUAL_HEIGHT),
        mass,
        overhang: overhang.unwrap_or(Length::ZERO),
        rooms: all.rooms.clone(),
    })
}

/// The loads on a pallet, and where they go.
pub fn shown(haul: &Haul, pattern: ShipPattern, unit: LengthUnit) -> ShipPallet {
    let how = match pattern {
        ShipPattern::Interlocked => Arrangement::Interlocked,
        ShipPattern::ColumnAligned | ShipPattern::ColumnOffset => Arrangement::Column,
    };
    let suits = |p: &Palletised| p.load.arrangement == how;
    let mut notes = Vec::new();
    let chosen = haul.loads.iter().position(suits);
    match (chosen, haul.loads.first()) {
        (_, None) => notes.push(both(
            "not one case goes on this pallet as it is asked, or none bears another",
        )),
        (None, Some(_)) => notes.push(both(
            "this pattern mirrors onto itself, so its layers cannot bridge each other",
        )),
        _ => {}
    }
    notes.push(both(
        "counts are of geometry, mass and the estimate of strength; secure the load and keep to local rules",
    ));
    ShipPallet {
        title: haul.pallet.title.clone(),
        loads: haul.loads.iter().map(|p| line(p, unit)).collect(),
        chosen: chosen.or((!haul.loads.is_empty()).then_some(0)).map(whole),
        rooms: haul.rooms.iter().map(room).collect(),
        notes,
    }
}

fn whole(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn line(p: &Palletised, unit: LengthUnit) -> ShipLoad {
    let l = &p.load;
    let way = match l.arrangement {
        Arrangement::Column => "in columns",
        Arrangement::Interlocked => "interlocked",
    };
    let limit = match l.limit {
        _ if p.by_strength => "the lowest cases would not bear another layer, by the estimate",
        Limit::Height => "another layer would be too high",
        Limit::Mass => "more would be too heavy",
        Limit::SafeLoad => "more would be too heavy for the pallet",
        Limit::Wanted => "no more were wanted",
    };
    let drawn = l.count <= MOST_DRAWN;
    ShipLoad {
        way: way.to_owned(),
        count: whole(l.count),
        per_layer: whole(l.per_layer),
        layers: whole(l.layers),
        proof: match l.proof {
            Proof::Bound => "proved: no layer can hold more".to_owned(),
            Proof::Tried => "proved: every pattern was tried".to_owned(),
            Proof::None => format!("not proved; no layer holds more than {}", l.layer_bound),
        },
        limit: limit.to_owned(),
        layers_by_room: whole(p.layers_by_room),
        pressing: p.pressing.to_n(),
        needs: forces(p.needs),
        height: l.height.to_mm(),
        gross: l.gross_mass.to_kg(),
        area_share: l.area_share,
        corners: l.standing.map(|s| s.corners),
        above: drawn.then(|| layers(l, unit).to_svg()),
        picture: drawn.then(|| picture(l, unit).to_svg()),
    }
}

fn room(r: &InRoom) -> ShipRoom {
    ShipRoom {
        title: r.room.title.clone(),
        pallets: r.pallets.as_ref().map(|p| whole(p.count)),
        on_pallets: r.pallets.as_ref().map(|_| whole(r.cases)),
        loose: r.loose.as_ref().map(|l| whole(l.count)),
        by_mass: r.pallets.as_ref().is_some_and(|p| p.by_mass)
            || r.loose.as_ref().is_some_and(|l| l.by_mass),
    }
}
