//! What comes of it: proposals, and what was left out.

use serde::Serialize;

use crate::board::Creasing;
use crate::check::Finding;
use crate::job::Job;
use crate::ship::{Caution, Range};
use crate::units::{Area, Force, ForcePerLength, Length, Mass};

/// Why a candidate would not do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Why {
    /// A stable word.
    pub code: &'static str,
    /// The same for all candidates with this code.
    pub words: String,
    /// What is particular to this one; may be empty.
    pub more: String,
}

impl Why {
    pub(super) fn new(code: &'static str, words: &str, more: &str) -> Self {
        Self {
            code,
            words: words.to_owned(),
            more: more.to_owned(),
        }
    }
    /// From the finding that fails; its code is the reason's.
    pub(super) fn of_check(words: &str, f: &Finding) -> Self {
        Self::new(f.code, &format!("{words}: {}", f.code), &f.message)
    }
}

/// Candidates left out for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// A stable word for the reason.
    pub code: &'static str,
    /// The reason.
    pub words: String,
    /// How many candidates.
    pub candidates: usize,
    /// Styles among them, each once.
    pub styles: Vec<String>,
    /// Boards among them, each once.
    pub boards: Vec<String>,
    /// Every one of them, with what is particular to it.
    pub each: Vec<String>,
}

/// One blank.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Piece {
    /// Its name.
    pub name: String,
    /// Size of the rectangle round it.
    pub size: [Length; 2],
    /// The sheet or off-cut that its board costs least on.
    pub from: Option<String>,
}

/// The blanks of all cases laid on the stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct OnSheet {
    /// How many cases were laid.
    pub cases: u32,
    /// Sheets and off-cuts it takes, by name, with how many of each.
    pub sheets: Vec<(String, usize)>,
    /// Blanks for which no room was left.
    pub left: u64,
    /// What those sheets cost whole.
    pub cost: f64,
}

/// A style, board and way of creasing for an inside size, with what speaks for it and against it.
/// Lengths are in mm, areas in mm2, masses in kg, forces in N, also where it is written as JSON.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Proposal {
    /// The style's name.
    pub style: String,
    /// Its title.
    pub style_title: String,
    /// The board's name.
    pub board: String,
    /// How creases are made.
    pub creasing: Creasing,
    /// Clear inside length, width and depth.
    pub inside: [Length; 3],
    /// Outside length, width and depth.
    pub outside: [Length; 3],
    /// Its blanks.
    pub pieces: Vec<Piece>,
    /// Creases over all pieces.
    pub creases: usize,
    /// Area of the rectangles round the blanks.
    pub board_area: Area,
    /// Mass of the empty case.
    pub tare: Mass,
    /// Mass of the packed case.
    pub gross: Mass,
    /// The carrier's class that mass and size ask for.
    pub class: Option<String>,
    /// Edge crush by which the board falls short of that class; `None` when it does not, or when no
    /// class is needed.
    pub short_of_class: Option<ForcePerLength>,
    /// The cheapest parcel class that takes it.
    pub parcel: Option<String>,
    /// What that costs.
    pub parcel_price: Option<f64>,
    /// Mass the parcel is charged for.
    pub charged: Mass,
    /// Strength that is left after time and air.
    pub strength: Range<Force>,
    /// How high such cases may stand by the rule; `None` when there is no limit to tell.
    pub safe_high: Option<u32>,
    /// Cases on the pallet, no more layers than are safe; `None` when no pallet is given.
    pub on_pallet: Option<usize>,
    /// What the board costs by its share of the sheets; `None` without prices.
    pub board_cost: Option<f64>,
    /// All cases laid on the stock; `None` without stock.
    pub laid: Option<OnSheet>,
    /// What speaks for it.
    #[serde(rename = "for")]
    pub good: Vec<String>,
    /// What speaks against it.
    pub against: Vec<String>,
    /// Findings of the whole check that are cautions.
    pub findings: Vec<Finding>,
    /// What to mind about strength and lifting.
    pub cautions: Vec<Caution>,
    /// Others of the same style that would do, by board, creasing and inside: their checks at rest
    /// passed, their motion was not looked at.
    pub also: Vec<String>,
    /// Its job.
    #[serde(skip)]
    pub job: Job,
}

/// All that came of a need.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Proposals {
    /// Candidates: inside sizes times styles times boards times ways of creasing.
    pub candidates: usize,
    /// The best ones, best first; each has passed the whole check.
    pub proposals: Vec<Proposal>,
    /// How many more would do: their checks at rest passed. Those named in `also` are among them.
    pub further: usize,
    /// Those that would not, by reason; most first.
    pub left_out: Vec<LeftOut>,
}
