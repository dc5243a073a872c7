//! The closed case from outside: its size, measured on the folded solid, and its mass.

use serde::Serialize;

use super::figure::Range;
use crate::blank::SoundPlan;
use crate::fold::Folder;
use crate::geom::DVec3;
use crate::units::{Length, Mass};

/// The closed case from outside.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Outside {
    /// Length, width and depth over all, flaps closed and every piece in its place.
    pub size: [Length; 3],
    /// The asked clear inside.
    pub inside: [Length; 3],
    /// Mass of the case itself, all pieces, from board area and grammage; tape and glue are not in it.
    pub case: Mass,
    /// Mass of what keeps the contents in place.
    pub fitments: Mass,
    /// Mass of what is sent.
    pub contents: Mass,
}

impl Outside {
    /// Measures the finished case. `contents` is the mass of what is sent in it.
    #[must_use]
    pub fn of(folder: &Folder<'_>, contents: Mass) -> Self {
        let block = bounds(folder);
        let size = (block.most - block.least).to_array().map(Length::mm);
        let (case, fitments) = masses(folder.plan);
        Self {
            size,
            inside: folder.plan.room.asked,
            case,
            fitments,
            contents,
        }
    }
    /// Mass of the empty case with what keeps contents in place.
    #[must_use]
    pub fn tare(&self) -> Mass {
        self.case + self.fitments
    }
    /// Mass of the packed case.
    #[must_use]
    pub fn gross(&self) -> Mass {
        self.tare() + self.contents
    }
    /// Outside length, width and depth added up: the "united" size of carriers.
    #[must_use]
    pub fn united(&self) -> Length {
        self.size.iter().copied().sum()
    }
}

/// The upright block round all board of the finished case, in case coordinates, in mm.
#[must_use]
pub fn bounds(folder: &Folder<'_>) -> Range<DVec3> {
    let mut block = Range {
        least: DVec3::INFINITY,
        most: DVec3::NEG_INFINITY,
    };
    for slab in folder.slabs(folder.last()) {
        let t = slab.shape.caliper;
        let rings = slab.shape.rings.first().into_iter().flatten();
        let rigid = rings.flat_map(|q| [0.0, -t].map(|z| slab.frame.transform_point3(q.extend(z))));
        for p in rigid.chain(slab.wedges.iter().flat_map(|w| w.0)) {
            block.least = block.least.min(p);
            block.most = block.most.max(p);
        }
    }
    block
}

/// Mass of the case and of its fitments, from area and grammage.
fn masses(plan: &SoundPlan) -> (Mass, Mass) {
    let own = plan.own();
    let mass = |i: usize| plan.pieces[i].figures.mass;
    let case = own.clone().map(mass).sum();
    let fitments = (own.end..plan.pieces.len()).map(mass).sum();
    (case, fitments)
}
