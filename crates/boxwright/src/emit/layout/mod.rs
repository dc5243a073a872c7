//! A layout as files: one DXF and one SVG to cut by for each sheet, and pages to look at.
//!
//! Lines are those of the parts, moved by whole micrometres and turned by quarters. The sheet's own
//! outline is on the layer of the board, to place it by; it is not cut.

mod page;

use std::borrow::Cow;

pub use page::pages;

use super::dxf::{self, DxfOptions};
use super::svg::{self, SvgOptions};
use crate::blank::LineUse;
use crate::geom::{Path, Rect};
use crate::sheet::{Proved, Shape, Spot};

/// How the flutes of every sheet run.
const FLUTES: &str = "flutes left-right";

/// Every line of a sheet with its use: those of each part where it lies, then the sheet's outline
/// and holes. The sheet's least corner is the origin.
#[must_use]
pub fn lines(layout: &Proved, sheet: usize) -> Vec<(LineUse, Path)> {
    let Some(laid) = layout.sheets.get(sheet) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for p in &laid.placed {
        let place = p.placement();
        let part = layout.parts.get(p.part);
        for l in part.iter().flat_map(|p| &p.lines) {
            all.push((l.line_use, place.path(&l.path)));
        }
    }
    let piece = layout.stock.get(laid.stock);
    let rings = piece.iter().flat_map(|p| p.shape.rings());
    all.extend(rings.map(|r| (LineUse::Board, polygon(r))));
    all
}

fn polygon(ring: &[Spot]) -> Path {
    Path::polygon(ring.iter().map(|p| p.to_mm()))
}

fn bounds(shape: &Shape) -> Rect {
    let b = shape.bounds();
    Rect {
        min: b.min.to_mm(),
        max: b.max.to_mm(),
    }
}

fn outline(layout: &Proved, sheet: usize) -> Rect {
    let laid = layout.sheets.get(sheet);
    let piece = laid.and_then(|l| layout.stock.get(l.stock));
    piece.map_or_else(|| bounds(&Shape::default()), |p| bounds(&p.shape))
}

/// A sheet as a DXF file.
#[must_use]
pub fn layout_dxf(layout: &Proved, sheet: usize, opts: &DxfOptions) -> String {
    let lines: Vec<(LineUse, Cow<'_, Path>)> = lines(layout, sheet)
        .into_iter()
        .map(|(line_use, path)| (line_use, Cow::Owned(path)))
        .collect();
    dxf::drawing(&lines, outline(layout, sheet), FLUTES, opts)
}

/// A sheet as SVG at true size, one group for each use of lines that occurs.
#[must_use]
pub fn layout_svg(layout: &Proved, sheet: usize, opts: &SvgOptions) -> String {
    let title = format!("{}, sheet {}", layout.title, sheet + 1);
    svg::cut_file(
        &lines(layout, sheet),
        outline(layout, sheet),
        (&title, FLUTES),
        opts,
    )
}

#[cfg(test)]
mod tests;
