//! A flat file drawn by anyone, read back: lines to panels, panels to a fold tree, folded and
//! measured as board of its real thickness.
//!
//! ```text
//! text     -> drawing   every line in mm, with its layer and colour      dxf, svg
//! drawing  -> strokes   which line is cut, which is creased              roles
//! strokes  -> net       ends healed, doubles dropped, split at crossings net
//! net      -> panels    what the lines enclose, what hangs on what       faces, panels
//! panels   -> blank     the fold tree from a root                        tree
//! blank    -> folded    folded, its clear room found, checked            folded, room
//! ```
//!
//! The drawing is taken to show the inside face. What is wrong with it is a [`Fault`] with its place in
//! the file; what keeps it from being read at all is a [`crate::diag::Diag`].

mod curves;
mod dxf;
mod dxf_tags;
mod faces;
mod folded;
mod laps;
mod model;
mod net;
mod panels;
mod report;
mod roles;
mod room;
mod svg;
mod svg_shapes;
mod tree;

pub use folded::{Folded, Room, fold, job_as_drawn, style_as_drawn};
pub use model::*;
pub use report::{FORMAT, Report, VERSION, report};

use crate::diag::{Diag, Outcome};
use crate::source::Text;

/// Reads the lines of a DXF or SVG file; which of the two it is, its own text says.
///
/// # Errors
/// What keeps it from being read, with the line it stands on.
pub fn read(text: &Text, unit: Option<FileUnit>) -> Outcome<Drawing> {
    let start = text.text.trim_start_matches('\u{feff}').trim_start();
    if start.is_empty() {
        return Err(vec![
            Diag::error("empty", format!("`{}` is empty", text.name))
                .help("give a DXF or SVG file with cut and crease lines"),
        ]);
    }
    if start.starts_with('<') {
        svg::read(text, unit)
    } else {
        dxf::read(text, unit)
    }
}
