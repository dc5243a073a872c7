//! What the page edits.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use ts_rs::TS;
use utoipa::ToSchema;

/// What the page edits, and what a link to it holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct State {
    /// What the case is called; the stem of file names comes from it.
    pub title: String,
    /// Name of the style, or a style file ending in `.kdl` inside the opened folder.
    pub style: String,
    /// Clear inside sizes as typed.
    pub inside: Inside,
    /// Name of the board.
    pub board: String,
    /// How creases are made.
    pub crease: Crease,
    /// Style parameters that the user changed, as typed.
    pub set: BTreeMap<String, String>,
    /// Caliper measured on the board at hand, as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub caliper: Option<String>,
    /// Fold axis depth instead of the board's, as a share of the caliper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub axis_depth: Option<AxisDepth>,
    /// Sheet at hand, along and across the flutes, as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    #[schema(min_items = 2, max_items = 2)]
    pub sheet: Option<[String; 2]>,
    /// Bed of the cutter, as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    #[schema(min_items = 2, max_items = 2)]
    pub bed: Option<[String; 2]>,
    /// How many cases.
    #[serde(deserialize_with = "whole")]
    #[schema(minimum = 0, maximum = 4_294_967_295_u32)]
    pub quantity: u32,
    /// For the title block.
    pub drawing: Drawing,
    /// Draw with what board and job say, not with the figures measured in the folder.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    #[ts(as = "Option<bool>", optional)]
    pub no_measured: bool,
    /// The job file in the opened folder that this came from: paths in it count from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub job: Option<String>,
    /// Further board files, as the job file names them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[ts(as = "Option<Vec<String>>", optional)]
    pub board_files: Vec<String>,
    /// What goes into the case, each as the job file writes it: `fitment "flat-pad"`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[ts(as = "Option<Vec<String>>", optional)]
    pub fitments: Vec<String>,
    /// What is sent in the case, each as the job file writes it: `contents "clock" mass="4.1kg"`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[ts(as = "Option<Vec<String>>", optional)]
    pub contents: Vec<String>,
    /// Where blanks are cut in two, each as the job file writes it: `split at="back"`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[ts(as = "Option<Vec<String>>", optional)]
    pub splits: Vec<String>,
    /// What is engraved on panels, each as the job file writes it: `mark "fragile" on="front"`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[ts(as = "Option<Vec<String>>", optional)]
    pub marks: Vec<String>,
}

/// Clear inside sizes as typed, such as `3 in + 2 mm`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Inside {
    /// The longer side of the opening.
    pub length: String,
    /// The shorter side of the opening.
    pub width: String,
    /// From the opening to the bottom.
    pub depth: String,
}

impl Inside {
    /// The three in the trade's order.
    #[must_use]
    pub fn all(&self) -> [&str; 3] {
        [&self.length, &self.width, &self.depth]
    }
    /// One of the three, to change it.
    pub fn get_mut(&mut self, name: &str) -> Option<&mut String> {
        match name {
            "length" => Some(&mut self.length),
            "width" => Some(&mut self.width),
            "depth" => Some(&mut self.depth),
            _ => None,
        }
    }
}

/// How creases are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Crease {
    /// Folded by hand along an etched line.
    Hand,
    /// Pressed by a creasing wheel.
    Wheel,
    /// Crushed by a steel rule.
    Rule,
    /// A row of short cuts.
    Perforated,
}

impl From<Crease> for boxwright::board::Creasing {
    fn from(c: Crease) -> Self {
        match c {
            Crease::Hand => Self::Hand,
            Crease::Wheel => Self::Wheel,
            Crease::Rule => Self::Rule,
            Crease::Perforated => Self::Perforated,
        }
    }
}

impl Crease {
    /// The way with this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Hand, Self::Wheel, Self::Rule, Self::Perforated]
            .into_iter()
            .find(|c| c.word() == word)
    }
    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        boxwright::board::Creasing::from(self).word()
    }
}

/// Fold axis depth as a share of the caliper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, TS, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AxisDepth {
    /// Of creases along the flutes.
    pub along: f64,
    /// Of creases across them.
    pub across: f64,
}

/// For the title block; empty where nothing is to be shown.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, TS, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Drawing {
    /// Legal owner.
    pub owner: String,
    /// Who drew it.
    pub creator: String,
    /// Who approved it.
    pub approved: String,
    /// Identification number.
    pub number: String,
    /// Date of issue, as text.
    pub date: String,
}

/// A whole number, which JSON may also write as `3.0`.
pub(super) fn whole<'de, D: serde::Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let v = f64::deserialize(from)?;
    if v.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&v) {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a whole number in range"
        )]
        return Ok(v as u32);
    }
    Err(serde::de::Error::custom("a whole number is needed here"))
}
