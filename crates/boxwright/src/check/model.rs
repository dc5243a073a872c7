//! What a check reports.

use serde::Serialize;

use crate::geom::DVec3;
use crate::units::{Length, LengthUnit};

/// What a finding amounts to. Ordered: the worst is the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// As it should be.
    Pass,
    /// It works, but the reader should know.
    Caution,
    /// It does not work.
    Fail,
}

/// A measured value, for reports.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "unit", content = "value", rename_all = "lowercase")]
pub enum Measure {
    /// A length, in mm.
    Mm(Length),
    /// An angle, in degrees.
    Deg(f64),
    /// An area, in mm2.
    Mm2(f64),
    /// A count.
    Count(usize),
}

impl Measure {
    /// With its unit, lengths in the reader's choice.
    #[must_use]
    pub fn show(self, unit: LengthUnit) -> String {
        use crate::units::trimmed;
        match self {
            Self::Mm(l) => unit.show(l),
            Self::Deg(d) => format!("{} deg", trimmed(d, 2)),
            Self::Mm2(a) => match unit {
                LengthUnit::Mm => format!("{} cm2", trimmed(a / 100.0, 1)),
                LengthUnit::Inch => format!("{} in2", trimmed(a / 645.16, 2)),
            },
            Self::Count(n) => n.to_string(),
        }
    }
}

/// What one check measured, with a verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Stable code, such as `board-in-board`.
    pub code: &'static str,
    /// What it amounts to.
    pub verdict: Verdict,
    /// One plain sentence. Lengths inside it are written in mm.
    pub message: String,
    /// What was measured.
    pub measured: Option<Measure>,
    /// What it is held against.
    pub limit: Option<Measure>,
    /// Full names of the panels it is about.
    pub panels: Vec<String>,
    /// Points it is about, in case coordinates (mm).
    #[serde(serialize_with = "as_arrays")]
    pub places: Vec<DVec3>,
    /// What would cure it.
    pub cure: Option<String>,
    /// The stage it was seen in; `None` for the blank and the finished case.
    pub stage: Option<usize>,
}

fn as_arrays<S: serde::Serializer>(places: &[DVec3], s: S) -> Result<S::Ok, S::Error> {
    s.collect_seq(places.iter().map(|p| p.to_array()))
}

impl Finding {
    /// A finding that passes until told otherwise.
    #[must_use]
    pub fn new(code: &'static str, verdict: Verdict, message: impl Into<String>) -> Self {
        Self {
            code,
            verdict,
            message: message.into(),
            measured: None,
            limit: None,
            panels: Vec::new(),
            places: Vec::new(),
            cure: None,
            stage: None,
        }
    }
    /// With what was measured and what it is held against.
    #[must_use]
    pub fn measured(mut self, measured: Measure, limit: Measure) -> Self {
        self.measured = Some(measured);
        self.limit = Some(limit);
        self
    }
    /// About these panels.
    #[must_use]
    pub fn panels<S: Into<String>>(mut self, names: impl IntoIterator<Item = S>) -> Self {
        self.panels = names.into_iter().map(Into::into).collect();
        self
    }
    /// At this point.
    #[must_use]
    pub fn at(mut self, place: DVec3) -> Self {
        self.places.push(place);
        self
    }
    /// With this cure.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }
}
