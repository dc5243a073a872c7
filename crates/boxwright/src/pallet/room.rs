//! Containers and trailers: pallets on the floor, cases loose.

use serde::Serialize;

use super::load::{Carton, Tip};
use super::pattern::{Ask, Patterns, Proof, Spot, Ways, Work, patterns, sound, whole};
use crate::diag::Diag;
use crate::units::{Length, Mass};

/// What a room is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RoomKind {
    /// A container.
    Container,
    /// A trailer or other road vehicle.
    Trailer,
}

/// The inside of a container or trailer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Room {
    /// What to call it.
    pub name: String,
    /// What it is.
    pub kind: RoomKind,
    /// Length, width and height inside.
    pub inside: [Length; 3],
    /// What it may carry; `None` where nothing is known.
    pub load: Option<Mass>,
}

/// Loaded pallets, or anything else that stands on a floor, in a room.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnFloor {
    /// How many stand on the floor, and where; x along the room.
    pub floor: Patterns,
    /// How many stand on one another: 1 where they may not be stacked.
    pub tiers: usize,
    /// How many go, mass counted in.
    pub count: usize,
    /// Whether mass keeps it from being more.
    pub by_mass: bool,
    /// Area of the room's floor that is not covered, as a share.
    pub floor_left: f64,
}

/// How many things of a size and mass go into a room: `plan` on the floor, `height` up. `gap` is kept
/// free between neighbours, for hands and forks; half of it counts at the walls. `stacked` says that
/// they may stand on one another.
///
/// # Errors
/// A size that cannot be.
pub fn on_floor(
    room: &Room,
    (plan, height, mass): ([Length; 2], Length, Mass),
    gap: Length,
    ways: Ways,
    stacked: bool,
) -> Result<OnFloor, Diag> {
    room.sound()?;
    sound(height, "a height")?;
    let floor = patterns(&Ask {
        floor: [room.inside[0], room.inside[1]],
        case: plan.map(|s| s + gap),
        ways,
        work: Work::default(),
    })?;
    let up = whole(room.inside[2], false) / whole(height, true);
    let up = usize::try_from(up).unwrap_or(0);
    let tiers = if stacked { up } else { up.min(1) };
    let (count, by_mass) = room.by_mass(floor.count * tiers, mass);
    let area = |a: Length, b: Length| a.to_mm() * b.to_mm();
    #[allow(clippy::cast_precision_loss, reason = "a count on a floor is small")]
    let covered = floor.count as f64 * area(plan[0], plan[1]);
    Ok(OnFloor {
        floor_left: 1.0 - covered / area(room.inside[0], room.inside[1]),
        floor,
        tiers,
        count,
        by_mass,
    })
}

/// Loose cases in a room: equal layers, one on another along one axis of the room.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Loose {
    /// Which axis the layers follow one another along: 0 length, 1 width, 2 height.
    pub along: usize,
    /// How the case stands in each layer: `flat` lies in the layer, `upright` along the axis.
    pub tip: Tip,
    /// Cases in a layer.
    pub per_layer: usize,
    /// One layer.
    pub layer: Vec<Spot>,
    /// Whether no layer of this kind holds more.
    pub proof: Proof,
    /// Layers.
    pub layers: usize,
    /// Cases, mass counted in.
    pub count: usize,
    /// Whether mass keeps it from being more.
    pub by_mass: bool,
    /// Volume of the cases over that of the room.
    pub volume_share: f64,
    /// Volume of the room over that of a case, rounded down: no stowage holds more.
    pub volume_bound: usize,
}

/// The ways to stow loose cases in equal layers, most first. Cases with their bottom down lie in
/// layers one above the other; cases that may lie on any side are tried along every axis as well.
/// What is left over beside the layers is not filled.
///
/// # Errors
/// A size that cannot be.
pub fn loose(room: &Room, carton: &Carton, work: Work) -> Result<Vec<Loose>, Diag> {
    room.sound()?;
    for side in carton.outside {
        sound(side, "an outside size of the case")?;
    }
    let axes: &[usize] = if carton.down.tips().len() == 1 {
        &[2]
    } else {
        &[2, 0, 1]
    };
    let volume = |s: [Length; 3]| s[0].to_mm() * s[1].to_mm() * s[2].to_mm();
    let share = volume(carton.outside) / volume(room.inside);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "positive; sizes are checked"
    )]
    let volume_bound = (1.0 / share + 1e-9) as usize;
    let mut out = Vec::new();
    for &along in axes {
        let [a, b] = match along {
            0 => [1, 2],
            1 => [0, 2],
            _ => [0, 1],
        };
        for tip in carton.down.tips() {
            let deep = whole(room.inside[along], false) / whole(carton.outside[tip.upright], true);
            let layers = usize::try_from(deep).unwrap_or(0);
            let mut found = patterns(&Ask {
                floor: [room.inside[a], room.inside[b]],
                case: tip.flat.map(|n| carton.outside[n]),
                ways: Ways::Any,
                work,
            })?;
            if layers == 0 || found.patterns.is_empty() {
                continue;
            }
            let (count, by_mass) = room.by_mass(found.count * layers, carton.mass);
            #[allow(clippy::cast_precision_loss, reason = "a count of cases is small")]
            out.push(Loose {
                along,
                tip,
                per_layer: found.count,
                layer: found.patterns.swap_remove(0).cases,
                proof: found.proof,
                layers,
                count,
                by_mass,
                volume_share: count as f64 * share,
                volume_bound,
            });
        }
    }
    out.sort_by_key(|l| std::cmp::Reverse(l.count));
    Ok(out)
}

impl Room {
    fn sound(&self) -> Result<(), Diag> {
        for side in self.inside {
            sound(side, "an inside size of the room")?;
        }
        Ok(())
    }
    fn by_mass(&self, count: usize, each: Mass) -> (usize, bool) {
        let Some(most) = self.load.filter(|_| each > Mass::ZERO) else {
            return (count, false);
        };
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "masses are not negative"
        )]
        let bears = (most / each + 1e-9) as usize;
        (count.min(bears), bears < count)
    }
}
