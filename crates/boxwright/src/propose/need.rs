//! What is asked of a case, what there is to make it from, and what is cared about.

use std::sync::Arc;

use serde::Serialize;

use crate::board::{Board, Creasing};
use crate::job::Content;
use crate::machine::Machine;
use crate::pallet::{Base, Down, Rules};
use crate::sheet::Stock;
use crate::ship::Conditions;
use crate::style::{Needs, Style};
use crate::units::{Length, Mass};

/// What is cared about most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Prefer {
    /// Least board: area of the rectangles round the blanks.
    #[default]
    Board,
    /// The cheapest parcel, then the least mass charged.
    Parcel,
    /// Most cases on a pallet.
    Pallet,
    /// Most strength left in a stack, after time and air.
    Stack,
    /// The least price of board and parcel together.
    Price,
}

impl Prefer {
    /// Every preference, in the order shown to users.
    pub const ALL: [Self; 5] = [
        Self::Board,
        Self::Parcel,
        Self::Pallet,
        Self::Stack,
        Self::Price,
    ];
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Board => "board",
            Self::Parcel => "parcel",
            Self::Pallet => "pallet",
            Self::Stack => "stack",
            Self::Price => "price",
        }
    }
}

/// What somebody asks of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// What the jobs are called.
    pub title: String,
    /// Clear inside sizes that would do: length, width, depth. Earlier ones win a tie.
    pub insides: Vec<[Length; 3]>,
    /// What is sent; empty when no mass is known.
    pub contents: Vec<Content>,
    /// How many cases.
    pub quantity: u32,
    /// What the style must be. Its `load` is seen to be at least the mass of the contents.
    pub style: Needs,
    /// Words of `uses` that are wished for: styles that know them come first.
    pub wishes: Vec<String>,
    /// Whether styles that stay open, or are held by friction alone, are welcome too.
    pub open: bool,
    /// Whether the board must reach the edge crush of the class that mass and size ask for.
    pub graded: bool,
    /// Time, air, stack and tables.
    pub on: Conditions,
    /// What the cases are stacked on; `None` where it does not matter.
    pub pallet: Option<Pallet>,
    /// What is cared about most.
    pub prefer: Prefer,
}

/// What cases are stacked on, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Pallet {
    /// The pallet.
    pub base: Base,
    /// How high, how heavy, in which layers.
    pub rules: Rules,
    /// Which sides of a case may lie down.
    pub down: Down,
}

impl Need {
    /// One inside size under usual conditions, and nothing else asked.
    #[must_use]
    pub fn new(title: &str, inside: [Length; 3], on: Conditions) -> Self {
        Self {
            title: title.to_owned(),
            insides: vec![inside],
            contents: Vec::new(),
            quantity: 1,
            style: Needs::default(),
            wishes: Vec::new(),
            open: false,
            graded: false,
            on,
            pallet: None,
            prefer: Prefer::default(),
        }
    }
    /// Mass of what is sent in one case.
    #[must_use]
    pub fn mass(&self) -> Mass {
        self.contents.iter().map(Content::whole).sum()
    }
    /// Least thickness that is usual for board round contents of this mass, with that mass; `None` for
    /// light contents.
    #[must_use]
    pub fn usual_thickness(&self) -> Option<(Length, Mass)> {
        let mass = self.mass();
        let found = THICKNESS.iter().rfind(|(kg, _)| mass.to_kg() >= *kg);
        found.map(|(kg, mm)| (Length::mm(*mm), Mass::kg(*kg)))
    }
    /// The wishes, and those that shape and mass of the inside speak: `flat`, `long`, `tall`, `heavy`.
    #[must_use]
    pub fn wishes_for(&self, inside: [Length; 3]) -> Vec<String> {
        let mut all = self.wishes.clone();
        let [l, w, d] = inside.map(Length::to_mm);
        let mut add = |word: &str, so: bool| {
            if so && !all.iter().any(|a| a == word) {
                all.push(word.to_owned());
            }
        };
        add("flat", d * FLAT <= l.min(w));
        add("long", l.max(w) >= LONG * l.min(w).max(d));
        add("tall", d >= TALL * l.max(w));
        add("heavy", self.mass().to_kg() >= HEAVY_KG);
        all
    }
}

/// From so many kg on, board is usually no thinner than so many mm: B flute, C flute, double wall.
/// Default, no source; the same steps as those of a first job for things.
const THICKNESS: [(f64, f64); 3] = [(0.7, 2.4), (3.0, 3.4), (10.0, 5.5)];

/// So many times its depth goes into the shorter side of a flat case. Practice, no source.
const FLAT: f64 = 4.0;
/// Longest side over the second of a long case. Practice, no source.
const LONG: f64 = 2.5;
/// Depth over the longer side of a tall case. Practice, no source.
const TALL: f64 = 1.5;
/// Contents from which a case is heavy, in kg. Practice, no source.
const HEAVY_KG: f64 = 15.0;

/// What there is to make a case from and with.
#[derive(Clone, Debug, Default)]
pub struct AtHand {
    /// Styles to try.
    pub styles: Vec<Arc<Style>>,
    /// Boards to try.
    pub boards: Vec<Board>,
    /// The sheets and off-cuts; `None` when nothing is known, and then any sheet is taken to be there.
    pub stock: Option<Stock>,
    /// A sheet that is there in every board: along and across the flutes. Of no meaning beside `stock`.
    pub sheet: Option<[Length; 2]>,
    /// The machine that cuts and creases.
    pub machine: Option<Machine>,
    /// The cutter's bed where there is no machine file.
    pub bed: Option<[Length; 2]>,
    /// How creases are made where no machine says it.
    pub creasing: Option<Creasing>,
    /// Least room between blanks on a sheet.
    pub spacing: Length,
    /// Least room to the edge of a sheet.
    pub margin: Length,
}

/// One way to make the case.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Clear inside length, width and depth.
    pub inside: [Length; 3],
    /// How it is built.
    pub style: Arc<Style>,
    /// What it is cut from.
    pub board: Board,
    /// How its creases are made.
    pub way: Creasing,
}

impl AtHand {
    /// The bed to be cut on.
    #[must_use]
    pub fn reach(&self) -> Option<[Length; 2]> {
        self.machine.as_ref().map(|m| m.bed).or(self.bed)
    }
}
