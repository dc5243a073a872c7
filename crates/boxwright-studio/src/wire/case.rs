//! The case as drawn: parameters, flat pieces, outputs.

use serde::Serialize;
use ts_rs::TS;
use utoipa::ToSchema;

use super::{AxisDepth, FileKind, Finding, Kind, Solid, Verdict};

/// The case as drawn, folded and checked.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Case {
    /// What it is called.
    pub title: String,
    /// Its style.
    pub style: CaseStyle,
    /// Clear inside length, width and depth asked.
    pub asked: [f64; 3],
    /// What was found; absent when the blank may not be folded.
    pub found: Option<[f64; 3]>,
    /// What it is cut from.
    pub board: CaseBoard,
    /// The style's parameters, in its order.
    pub parameters: Vec<Parameter>,
    /// One for each blank.
    pub pieces: Vec<Piece>,
    /// The folded case; absent when the blank may not be folded.
    pub solid: Option<Solid>,
    /// Worst first.
    pub findings: Vec<Finding>,
    /// The worst of them.
    pub verdict: Verdict,
    /// Files that can be asked for; none when the blank may not be folded.
    pub outputs: Vec<Output>,
}

/// The style of a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct CaseStyle {
    /// What a job calls it.
    pub name: String,
    /// For people.
    pub title: String,
    /// International case code.
    pub code: Option<String>,
}

/// What a case is cut from.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct CaseBoard {
    /// What a job calls it.
    pub name: String,
    /// Thickness used, in mm.
    pub caliper: f64,
    /// Fold axis depth used.
    #[serde(rename = "axisDepth")]
    pub axis_depth: AxisDepth,
    /// Figures measured in the folder that it is drawn with, in words; null when there are none.
    #[schema(required = true)]
    pub measured: Option<String>,
}

/// A parameter with its value at this size and board. Angles are in degrees.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Parameter {
    /// Its name.
    pub name: String,
    /// One line for the user.
    pub help: String,
    /// What it measures.
    pub kind: Kind,
    /// The words of a choice.
    pub choices: Vec<String>,
    /// Its value, when it is one.
    pub value: Option<f64>,
    /// Its word, when it is a choice.
    pub word: Option<String>,
    /// Its value with its unit, or its word.
    pub shown: String,
    /// Least value here.
    pub min: Option<f64>,
    /// Greatest value here.
    pub max: Option<f64>,
    /// Whether the style's default stands.
    pub is_default: bool,
    /// The style's default, as written.
    pub default: String,
    /// Keys of the panels whose sizes it drives.
    pub panels: Vec<String>,
}

/// A flat piece. Its coordinates are those of the page: x to the right, y **down**, the piece's
/// upper left corner at the origin, inside face towards the reader.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Piece {
    /// Its name.
    pub name: String,
    /// Sums over it.
    pub figures: Figures,
    /// Unit vector along the flutes.
    pub flutes: [f64; 2],
    /// The upright rectangle round it: least x, least y, greatest x, greatest y.
    pub bounds: [f64; 4],
    /// Its panels, parents before children.
    pub panels: Vec<FlatPanel>,
    /// Every line of it with its use.
    pub lines: Vec<Line>,
    /// The sizes that a drawing shows.
    pub dimensions: Vec<Dimension>,
}

/// Sums over a piece: mm, mm2, kg.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Figures {
    /// Size along x.
    pub length: f64,
    /// Size along y.
    pub width: f64,
    /// Board in it.
    pub area: f64,
    /// All cut lines.
    pub cut: f64,
    /// All creases that are not perforated.
    pub crease: f64,
    /// All perforated lines.
    pub perforation: f64,
    /// Mass of the board.
    pub mass: f64,
}

/// A panel, flat.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct FlatPanel {
    /// `piece/index`, the same in the flat and the folded view.
    pub key: String,
    /// Its name.
    pub name: String,
    /// SVG path data, cut-outs included (even-odd).
    pub outline: String,
    /// Where its name goes.
    pub label: [f64; 2],
    /// Size left to right, from its own point of view.
    pub breadth: f64,
    /// Size from its crease outward.
    pub reach: f64,
}

/// Lines of one use.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Line {
    /// What they are for.
    #[serde(rename = "use")]
    pub use_: LineUse,
    /// SVG path data.
    pub d: String,
}

/// What a line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
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
    /// Engraved mark.
    Engrave,
    /// The board's outline; not cut.
    Board,
}

impl From<boxwright::blank::LineUse> for LineUse {
    fn from(u: boxwright::blank::LineUse) -> Self {
        use boxwright::blank::LineUse as L;
        match u {
            L::Cut => Self::Cut,
            L::CreaseInward => Self::CreaseInward,
            L::CreaseOutward => Self::CreaseOutward,
            L::Perforation => Self::Perforation,
            L::Engrave => Self::Engrave,
            L::Board => Self::Board,
        }
    }
}

/// A size between two places of a piece.
#[derive(Clone, Debug, PartialEq, Serialize, TS, ToSchema)]
pub struct Dimension {
    /// One place.
    pub from: [f64; 2],
    /// The other.
    pub to: [f64; 2],
    /// The side of the piece its line lies on, as a point there: on the piece's bounds for the
    /// chain next to it, one unit further out for each chain before this one.
    pub at: [f64; 2],
    /// Which chain of its side, counted from the piece outward.
    pub row: u32,
    /// In mm, without the unit.
    pub text_mm: String,
    /// In inches, without the unit.
    pub text_in: String,
    /// Along which axis.
    pub axis: Axis,
}

/// An axis of a flat piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Axis {
    /// To the right.
    X,
    /// Down.
    Y,
}

/// A kind of file of the case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS, ToSchema)]
pub struct Output {
    /// What to ask for.
    pub kind: FileKind,
    /// For people.
    pub label: String,
    /// Names of the files.
    pub names: Vec<String>,
}
