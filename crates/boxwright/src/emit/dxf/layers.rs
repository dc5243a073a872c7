//! Layers: which name, colour and line type each use of a line gets.

use super::DxfVersion;
use crate::blank::LineUse;

/// How a layer's lines are dashed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineType {
    /// Unbroken.
    #[default]
    Continuous,
    /// Dashes of 6 mm, gaps of 3.
    Dashed,
    /// Dashes of 8 mm, gaps of 2, with a dot in each gap.
    DashDot,
    /// Dashes of 1 mm, gaps of 2.
    Dotted,
}

impl LineType {
    /// Every line type.
    pub const ALL: [Self; 4] = [Self::Continuous, Self::Dashed, Self::DashDot, Self::Dotted];
    /// The name in the file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Continuous => "CONTINUOUS",
            Self::Dashed => "dashed",
            Self::DashDot => "dash-dot",
            Self::Dotted => "dotted",
        }
    }
    /// What the file says of it in words.
    pub(super) const fn help(self) -> &'static str {
        match self {
            Self::Continuous => "unbroken",
            Self::Dashed => "6 mm dashes",
            Self::DashDot => "8 mm dashes and dots",
            Self::Dotted => "1 mm dashes",
        }
    }
    /// Dashes (positive), gaps (negative) and dots (zero) in mm.
    pub(super) const fn pattern(self) -> &'static [f64] {
        match self {
            Self::Continuous => &[],
            Self::Dashed => &[6.0, -3.0],
            Self::DashDot => &[8.0, -2.0, 0.0, -2.0],
            Self::Dotted => &[1.0, -2.0],
        }
    }
}

/// One layer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayerStyle {
    /// Its name.
    pub name: String,
    /// Its colour as an index from 1 to 255 into the format's own colour list.
    pub colour: u8,
    /// How its lines are dashed.
    pub line_type: LineType,
    /// Whether lines of this use are written at all.
    pub drawn: bool,
}

impl LayerStyle {
    fn new(name: &str, colour: u8, line_type: LineType) -> Self {
        Self {
            name: name.to_owned(),
            colour,
            line_type,
            drawn: true,
        }
    }
    /// The name as the edition can hold it: no control characters and none of the signs the
    /// format keeps for itself; in R12 and R2000 ASCII only, in R12 no blanks and at most 31
    /// characters.
    #[must_use]
    pub fn name_for(&self, version: DxfVersion) -> String {
        let ascii = version != DxfVersion::R2010;
        let old = version == DxfVersion::R12;
        let kept = |c: char| {
            !(c.is_control()
                || "<>/\\\":;?*|=,`".contains(c)
                || (ascii && !c.is_ascii())
                || (old && !(c.is_ascii_alphanumeric() || "$-_".contains(c))))
        };
        let name: String = self
            .name
            .trim()
            .chars()
            .map(|c| if kept(c) { c } else { '-' })
            .take(if old { 31 } else { 255 })
            .collect();
        if name.is_empty() {
            "0".to_owned()
        } else {
            name
        }
    }
}

/// The layer of each use, in the order of [`LineUse::ALL`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayerTable {
    styles: [LayerStyle; 6],
}

impl Default for LayerTable {
    fn default() -> Self {
        let of = |line_use: LineUse| {
            let (colour, line_type) = match line_use {
                LineUse::Cut => (7, LineType::Continuous),
                LineUse::CreaseInward => (5, LineType::Dashed),
                LineUse::CreaseOutward => (6, LineType::DashDot),
                LineUse::Perforation => (30, LineType::Dotted),
                LineUse::Engrave => (3, LineType::Continuous),
                LineUse::Board => (8, LineType::Continuous),
            };
            LayerStyle::new(crate::emit::use_word(line_use), colour, line_type)
        };
        Self {
            styles: LineUse::ALL.map(of),
        }
    }
}

impl LayerTable {
    /// The layer of a use.
    #[must_use]
    pub fn style(&self, line_use: LineUse) -> &LayerStyle {
        &self.styles[index(line_use)]
    }
    /// The layer of a use, to be changed.
    pub fn style_mut(&mut self, line_use: LineUse) -> &mut LayerStyle {
        &mut self.styles[index(line_use)]
    }
    /// The layers to be declared. Names differing only in case are one layer to the format; the
    /// first use's colour and line type win.
    pub(super) fn declared(&self, version: DxfVersion) -> Vec<(String, u8, LineType)> {
        let mut out: Vec<(String, u8, LineType)> = Vec::new();
        for style in self.styles.iter().filter(|s| s.drawn) {
            let name = style.name_for(version);
            let known = out.iter().any(|(n, ..)| n.eq_ignore_ascii_case(&name));
            if name != "0" && !known {
                out.push((name, style.colour.max(1), style.line_type));
            }
        }
        out
    }
}

const fn index(line_use: LineUse) -> usize {
    match line_use {
        LineUse::Cut => 0,
        LineUse::CreaseInward => 1,
        LineUse::CreaseOutward => 2,
        LineUse::Perforation => 3,
        LineUse::Engrave => 4,
        LineUse::Board => 5,
    }
}
