//! What a blank is made of.

use std::borrow::Cow;
use std::sync::Arc;

use serde::Serialize;

pub use crate::board::Creasing;
use crate::geom::{DVec2, Path, Placement, Rect};
pub use crate::style::FoldSide;
use crate::units::{Angle, Area, Length, Mass};

/// A crease of the blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Crease {
    /// Index of the panel nearer the root.
    pub parent: usize,
    /// Index of the panel that turns.
    pub child: usize,
    /// One end, in blank coordinates. `from` to `to` runs along the child's near edge, left to
    /// right seen from the child.
    pub from: DVec2,
    /// The other end.
    pub to: DVec2,
    /// Which way it folds.
    pub side: FoldSide,
    /// How far it is turned in the finished case, always positive.
    pub angle: Angle,
    /// Fold axis depth p as a share of the caliper.
    pub axis_depth: f64,
    /// Distance from the crease line to the corner of the inside faces, on each side: p t tan(a/2)
    /// up to 150 degrees, or what the style states.
    pub allowance: Length,
    /// How it is made.
    pub way: Creasing,
    /// Whether it runs across the flutes (else along them, within 45 degrees).
    pub across_flutes: bool,
}

/// Names of the parameters that drive a panel's sizes: what a cure may propose to change.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drivers {
    /// Of its reach.
    pub reach: Vec<String>,
    /// Of its breadth.
    pub breadth: Vec<String>,
    /// Of its insets.
    pub inset: Vec<String>,
    /// Of the raise of its crease.
    pub raise: Vec<String>,
}

/// A flat region between creases.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatPanel {
    /// Its full name, unique in the piece.
    pub name: String,
    /// The panel it hangs on; `None` for the root. Always a smaller index.
    pub parent: Option<usize>,
    /// The crease to its parent; `None` for the root and for a panel that does not fold.
    pub crease: Option<usize>,
    /// Where its own coordinates lie in the blank. Own coordinates: near edge along y = 0,
    /// far edge towards +y, left edge towards -x.
    pub place: Placement,
    /// Its drawn outline in own coordinates, closed and counter-clockwise.
    pub outline: Path,
    /// Cut-outs in own coordinates, closed and clockwise.
    pub holes: Vec<Path>,
    /// The clear inside span in own coordinates: what the style asked for, before allowances.
    pub clear: Rect,
    /// Drawn size, crease to crease or crease to edge: left-right.
    pub breadth: Length,
    /// Drawn size, crease to crease or crease to edge: near-far.
    pub reach: Length,
    /// Whether the trade accepts that it stands in the asked room (an inside lap).
    pub may_intrude: bool,
    /// The parameters that drive its sizes.
    pub drivers: Drivers,
}

/// Sums over a blank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Figures {
    /// Size along blank x.
    pub length: Length,
    /// Size along blank y.
    pub width: Length,
    /// Board in the piece, cut-outs taken off.
    pub area: Area,
    /// All cut lines, each counted once.
    pub cut_length: Length,
    /// All creases that are not perforated.
    pub crease_length: Length,
    /// All perforated lines.
    pub perforation_length: Length,
    /// Mass from the board's grammage.
    pub mass: Mass,
}

/// What a drawn line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineUse {
    /// Cut through.
    Cut,
    /// Crease that folds toward the inside face.
    CreaseInward,
    /// Crease that folds away from it.
    CreaseOutward,
    /// Perforated line.
    Perforation,
    /// Engraved mark, not cut through.
    Engrave,
    /// The board's outline, for placing; not cut.
    Board,
}

impl LineUse {
    /// Every use, in drawing order.
    pub const ALL: [Self; 6] = [
        Self::Cut,
        Self::CreaseInward,
        Self::CreaseOutward,
        Self::Perforation,
        Self::Engrave,
        Self::Board,
    ];
    /// The word for it in files: layer names, group ids, machine files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cut => "cut",
            Self::CreaseInward => "crease-inward",
            Self::CreaseOutward => "crease-outward",
            Self::Perforation => "perforation",
            Self::Engrave => "engrave",
            Self::Board => "board",
        }
    }
}

/// One piece, flat. `outline`, `holes` and `slits` together are the cut lines, each once.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// The piece's name: `body`, `lid`.
    pub piece: String,
    /// Board thickness.
    pub caliper: Length,
    /// The board's name.
    pub board: String,
    /// Unit vector along the flutes.
    pub flutes: DVec2,
    /// The panels, parents before children; the first is the root.
    pub panels: Vec<FlatPanel>,
    /// The creases.
    pub creases: Vec<Crease>,
    /// The piece's outline, closed and counter-clockwise, arcs kept. Where two edges lie on each
    /// other (a knife-wide slit open to the outside) the outline is broken there and the shared
    /// line is in `slits`.
    pub outline: Vec<Path>,
    /// Cut-outs, closed and clockwise.
    pub holes: Vec<Path>,
    /// Knife-wide cuts inside the piece, open.
    pub slits: Vec<Path>,
    /// Marks to engrave, open or closed.
    pub engravings: Vec<Path>,
    /// The upright rectangle round it.
    pub bounds: Rect,
    /// Its sums.
    pub figures: Figures,
}

impl Blank {
    /// Every line of the blank with its use: exactly what an emitter may draw. The board outline
    /// is the upright rectangle round the piece.
    #[must_use]
    pub fn lines(&self) -> Vec<(LineUse, Path)> {
        self.each_line()
            .map(|(line_use, path)| (line_use, path.into_owned()))
            .collect()
    }
    /// The same lines one by one, without copying the paths.
    pub fn each_line(&self) -> impl Iterator<Item = (LineUse, Cow<'_, Path>)> {
        let own = |line_use| move |path| (line_use, Cow::Borrowed(path));
        let cuts = self.outline.iter().chain(&self.holes).chain(&self.slits);
        let creases = self.creases.iter();
        cuts.map(own(LineUse::Cut))
            .chain(creases.map(|c| (c.line_use(), Cow::Owned(Path::line([c.from, c.to])))))
            .chain(self.engravings.iter().map(own(LineUse::Engrave)))
            .chain(std::iter::once_with(|| {
                (LineUse::Board, Cow::Owned(Path::rect(self.bounds)))
            }))
    }
}

impl Blank {
    /// Of what it needs of a sheet (along and across the flutes) and what there is, the pair that
    /// falls shortest, in mm. It lies with its flutes the right way.
    #[must_use]
    pub fn on_sheet(&self, sheet: [Length; 2]) -> (f64, f64) {
        let size = self.bounds.size();
        let (along, across) = if self.flutes.y.abs() > 0.5 {
            (size.y, size.x)
        } else {
            (size.x, size.y)
        };
        tightest([(along, sheet[0].to_mm()), (across, sheet[1].to_mm())])
    }
    /// The same for a cutter's bed, on which it lies whichever way round fits better.
    #[must_use]
    pub fn on_bed(&self, bed: [Length; 2]) -> (f64, f64) {
        let (size, [x, y]) = (self.bounds.size(), bed.map(Length::to_mm));
        let ways = [[(size.x, x), (size.y, y)], [(size.x, y), (size.y, x)]].map(tightest);
        if ways[0].0 - ways[0].1 <= ways[1].0 - ways[1].1 {
            ways[0]
        } else {
            ways[1]
        }
    }
}

/// Of what is needed and what there is in two directions, the pair that falls shortest.
fn tightest(pairs: [(f64, f64); 2]) -> (f64, f64) {
    let [a, b] = pairs;
    if a.0 - a.1 >= b.0 - b.1 { a } else { b }
}

impl Crease {
    /// Its length.
    #[must_use]
    pub fn length(&self) -> Length {
        Length::mm(self.from.distance(self.to))
    }
    /// What its line is for.
    #[must_use]
    pub const fn line_use(&self) -> LineUse {
        match (self.way, self.side) {
            (Creasing::Perforated, _) => LineUse::Perforation,
            (_, FoldSide::Inward) => LineUse::CreaseInward,
            (_, FoldSide::Outward) => LineUse::CreaseOutward,
        }
    }
}

/// A blank that has passed [`super::validate`]: the only kind that can be folded or emitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound(pub(super) Arc<Blank>);

impl std::ops::Deref for Sound {
    type Target = Blank;
    fn deref(&self) -> &Blank {
        &self.0
    }
}
