//! What a flat file holds and what is asked of it.

use serde::Serialize;

use crate::check::Verdict;
use crate::geom::{DVec2, Segment};
use crate::units::{Angle, Length};

/// The unit of a file's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FileUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches.
    In,
    /// Feet.
    Ft,
}

impl FileUnit {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Mm, Self::Cm, Self::M, Self::In, Self::Ft];
    /// As it is written.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::In => "in",
            Self::Ft => "ft",
        }
    }
    /// Millimetres in one.
    #[must_use]
    pub const fn to_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::M => 1000.0,
            Self::In => 25.4,
            Self::Ft => 304.8,
        }
    }
}

/// What a line of the file is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Cut through.
    Cut,
    /// Crease that folds toward the inside face.
    CreaseInward,
    /// Crease that folds away from it.
    CreaseOutward,
    /// Neither: marks, dimensions, the board's outline.
    Ignored,
}

impl Role {
    /// Whether it is folded.
    #[must_use]
    pub const fn is_crease(self) -> bool {
        matches!(self, Self::CreaseInward | Self::CreaseOutward)
    }
}

/// One straight or circular piece of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Its geometry in mm, y upwards.
    pub segment: Segment,
    /// Index of its group.
    pub group: usize,
}

/// Lines that share a layer and a colour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Names it answers to, nearest first: the layer in DXF, ids and classes in SVG.
    pub names: Vec<String>,
    /// Its colour: an index in DXF, `#rrggbb` where that is said.
    pub colours: Vec<String>,
    /// How many lines are in it.
    pub lines: usize,
}

/// Every line of a file, in mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// The file's name.
    pub input: String,
    /// `DXF` or `SVG`.
    pub format: &'static str,
    /// What its lengths were taken to be, in words.
    pub unit: String,
    /// Lines in pieces.
    pub strokes: Vec<Stroke>,
    /// What they are sorted into by the file itself.
    pub groups: Vec<Group>,
    /// What is in the file and is no line: `TEXT`, and how often.
    pub others: Vec<(String, usize)>,
    /// Flute direction said in the file: whether left-right.
    pub flutes_left_right: Option<bool>,
    /// Whether y points down in the file.
    pub y_down: bool,
    /// What was already wrong with it.
    pub faults: Vec<Fault>,
}

impl Drawing {
    /// A place in mm as the file counts it.
    #[must_use]
    pub fn in_file(&self, p: DVec2) -> DVec2 {
        // The sum keeps minus zero out.
        let y = if self.y_down { -p.y } else { p.y };
        DVec2::new(p.x, y) + DVec2::ZERO
    }
}

/// Something wrong in the drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// Stable, such as `open-outline`.
    pub code: &'static str,
    /// What it amounts to.
    pub verdict: Verdict,
    /// In one sentence.
    pub message: String,
    /// Where, in mm as the file counts them.
    #[serde(serialize_with = "as_arrays")]
    pub places: Vec<DVec2>,
    /// What would cure it.
    pub cure: Option<String>,
}

fn as_arrays<S: serde::Serializer>(places: &[DVec2], s: S) -> Result<S::Ok, S::Error> {
    s.collect_seq(places.iter().map(|p| p.to_array()))
}

impl Fault {
    /// Without a place yet.
    #[must_use]
    pub fn new(code: &'static str, verdict: Verdict, message: impl Into<String>) -> Self {
        Self {
            code,
            verdict,
            message: message.into(),
            places: Vec::new(),
            cure: None,
        }
    }
    /// At these places.
    #[must_use]
    pub fn at(mut self, places: impl IntoIterator<Item = DVec2>) -> Self {
        self.places.extend(places);
        self
    }
    /// With this cure.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }
}

/// Which of the three sizes found is called depth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum DepthAlong {
    /// The root panel's left-right.
    Across,
    /// The root panel's near-far.
    Along,
    /// Away from the root panel.
    In,
}

/// How a file is read and folded.
#[derive(Clone, Debug, PartialEq)]
pub struct Wishes {
    /// What each layer or colour is for, the first that fits counts.
    pub roles: Vec<(Role, String)>,
    /// Ends no further apart are one.
    pub tolerance: Length,
    /// A point in the panel that stays where it is, in mm as the file counts them.
    pub root: Option<DVec2>,
    /// Angles of single creases, by a point near each; negative ones fold away from the inside face.
    pub angles: Vec<(DVec2, Angle)>,
    /// Whether the flutes run left-right on the drawing.
    pub flutes_left_right: Option<bool>,
    /// Which size is the depth.
    pub depth: Option<DepthAlong>,
    /// Points in panels that stand in the room as a lap does.
    pub laps: Vec<DVec2>,
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            roles: Vec::new(),
            tolerance: Length::mm(0.05),
            root: None,
            angles: Vec::new(),
            flutes_left_right: None,
            depth: None,
            laps: Vec::new(),
        }
    }
}

/// "12.5, 40".
#[must_use]
pub fn spot(p: DVec2) -> String {
    use crate::units::trimmed;
    format!("{}, {}", trimmed(p.x, 2), trimmed(p.y, 2))
}

/// The first few places in words: "at 1, 2; 3, 4 and 5 more".
#[must_use]
pub fn spots(places: &[DVec2]) -> String {
    const SHOWN: usize = 4;
    let mut shown: Vec<String> = places.iter().take(SHOWN).map(|p| spot(*p)).collect();
    if places.len() > SHOWN {
        let more = places.len() - SHOWN;
        if let Some(last) = shown.last_mut() {
            last.push_str(&format!(" and {more} more"));
        }
    }
    format!("at {}", shown.join("; "))
}
