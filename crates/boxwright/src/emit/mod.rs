//! One file per format. What was checked is written as it is, to a stated number of decimals; no
//! point is moved and no line joined on the way out.

pub mod arrangement;
pub mod bundle;
pub mod coupon;
pub mod curve;
pub mod cut_report;
pub mod drawing;
pub mod dxf;
pub mod font;
pub mod gallery;
pub mod gcode;
pub mod glb;
pub mod instructions;
pub mod job_card;
pub mod layout;
pub mod load;
pub mod pdf;
pub mod picture;
pub mod png;
pub mod report;
pub mod scene;
pub mod ship_report;
pub mod shipping_sheet;
pub mod svg;
pub mod sweep_map;
pub mod tiles;

mod clip;
#[cfg(test)]
mod poses;
#[cfg(test)]
mod sample;

use crate::blank::{Blank, LineUse};

/// The word for a line's use in files: layer names, group ids, legends.
#[must_use]
pub const fn use_word(line_use: LineUse) -> &'static str {
    line_use.word()
}

/// How the flutes run on the drawing, for those who read a flat file.
#[must_use]
pub fn flute_words(blank: &Blank) -> &'static str {
    if blank.flutes.x.abs() > blank.flutes.y.abs() {
        "flutes left-right"
    } else {
        "flutes up-down"
    }
}
