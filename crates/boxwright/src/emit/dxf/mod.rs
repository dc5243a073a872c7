//! The blank as a DXF drawing, one layer for each use of a line.
//!
//! Exactly [`Blank::lines`] is written: a single straight segment as `LINE`, everything else as a
//! polyline whose arcs are bulges. Lengths are millimetres; R12 has no field for the unit, so it
//! is said in a comment at the head of the file.

mod frame;
mod layers;

pub use layers::{LayerStyle, LayerTable, LineType};

use std::fmt::{Display, Write as _};

use crate::blank::{Blank, LineUse};
use crate::geom::{Path, Rect};

/// Which edition of the format is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfVersion {
    /// R12 (`AC1009`): the oldest still read, by old machines and by nearly everything else.
    R12,
    /// R2000 (`AC1015`).
    R2000,
    /// R2010 (`AC1024`).
    #[default]
    R2010,
}

/// What the writer is told.
#[derive(Clone, Debug, PartialEq)]
pub struct DxfOptions {
    /// The edition.
    pub version: DxfVersion,
    /// Layer, colour and line type for each use.
    pub layers: LayerTable,
    /// Decimals of a coordinate in mm, 6 unless told otherwise and never fewer than 3. Bulges
    /// always have 15, because a long arc magnifies them.
    pub decimals: usize,
}

impl Default for DxfOptions {
    fn default() -> Self {
        Self {
            version: DxfVersion::default(),
            layers: LayerTable::default(),
            decimals: 6,
        }
    }
}

/// The blank as a DXF file. Layer names that the edition cannot hold are written with `-` in
/// place of what it cannot hold.
#[must_use]
pub fn dxf(blank: &Blank, opts: &DxfOptions) -> String {
    let lines: Vec<(LineUse, Path)> = blank
        .lines()
        .into_iter()
        .filter(|(line_use, path)| {
            opts.layers.style(*line_use).drawn && path.segments().next().is_some()
        })
        .collect();
    let bounds = lines
        .iter()
        .fold(blank.bounds, |r, (_, p)| r.union(p.bounds()));
    let mut w = Writer::new(opts);
    frame::head(&mut w, opts, bounds);
    w.tag(0, "SECTION");
    w.tag(2, "ENTITIES");
    for (line_use, path) in &lines {
        entity(
            &mut w,
            &opts.layers.style(*line_use).name_for(opts.version),
            path,
        );
    }
    w.tag(0, "ENDSEC");
    frame::tail(&mut w, bounds);
    w.finish()
}

/// Group code and value pairs, with handles counted up.
struct Writer {
    text: String,
    decimals: usize,
    modern: bool,
    next: u32,
}

/// Handles below this are given to tables, blocks and objects by name.
const FIRST_ENTITY: u32 = 0x100;

impl Writer {
    fn new(opts: &DxfOptions) -> Self {
        Self {
            text: String::with_capacity(16 << 10),
            decimals: opts.decimals.clamp(3, 12),
            modern: opts.version != DxfVersion::R12,
            next: FIRST_ENTITY,
        }
    }
    fn tag(&mut self, code: u16, value: impl Display) {
        let _ = writeln!(self.text, "{code:>3}\n{value}");
    }
    fn number(&mut self, code: u16, value: f64) {
        // Whole millimetres are common and need no rounding.
        if value.trunc() == value && value.abs() < 1e9 {
            #[allow(clippy::cast_possible_truncation, reason = "a whole number below 1e9")]
            let whole = value as i64;
            let _ = writeln!(self.text, "{code:>3}\n{whole}.{:0>1$}", "", self.decimals);
            return;
        }
        let text = format!("{value:.*}", self.decimals);
        self.tag(code, unsigned_zero(text));
    }
    fn point(&mut self, code: u16, x: f64, y: f64) {
        self.number(code, x);
        self.number(code + 10, y);
    }
    fn handle(&mut self, code: u16, handle: u32) {
        self.tag(code, format!("{handle:X}"));
    }
    /// The opening of a drawn thing: its type, handle, owner and layer.
    fn open(&mut self, kind: &str, layer: &str, class: &str) {
        self.tag(0, kind);
        if self.modern {
            let handle = self.next;
            self.next += 1;
            self.handle(5, handle);
            self.handle(330, frame::MODEL_RECORD);
            self.tag(100, "AcDbEntity");
        }
        self.tag(8, layer);
        if self.modern {
            self.tag(100, class);
        }
    }
    fn finish(mut self) -> String {
        self.tag(0, "EOF");
        // The seed is one past the last handle, known only now.
        let seed = format!("{:X}", self.next);
        self.text.replacen(frame::SEED_MARK, &seed, 1)
    }
}

fn unsigned_zero(text: String) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

fn entity(w: &mut Writer, layer: &str, path: &Path) {
    if let [a, b] = path.vertices[..]
        && !path.closed
        && a.bulge == 0.0
    {
        w.open("LINE", layer, "AcDbLine");
        w.point(10, a.at.x, a.at.y);
        w.number(30, 0.0);
        w.point(11, b.at.x, b.at.y);
        w.number(31, 0.0);
        return;
    }
    let closed = u8::from(path.closed);
    if w.modern {
        w.open("LWPOLYLINE", layer, "AcDbPolyline");
        w.tag(90, path.vertices.len());
        w.tag(70, closed);
    } else {
        w.open("POLYLINE", layer, "");
        w.tag(66, 1);
        w.point(10, 0.0, 0.0);
        w.number(30, 0.0);
        w.tag(70, closed);
    }
    let last = path.vertices.len() - 1;
    for (i, vertex) in path.vertices.iter().enumerate() {
        if !w.modern {
            w.open("VERTEX", layer, "");
        }
        w.point(10, vertex.at.x, vertex.at.y);
        if !w.modern {
            w.number(30, 0.0);
        }
        if vertex.bulge != 0.0 && (path.closed || i < last) {
            w.tag(42, format!("{:.15}", vertex.bulge));
        }
    }
    if !w.modern {
        w.open("SEQEND", layer, "");
    }
}

/// The drawing's limits as whole numbers of mm round the bounds.
fn limits(bounds: Rect) -> Rect {
    Rect {
        min: bounds.min.floor(),
        max: bounds.max.ceil(),
    }
}

#[cfg(test)]
mod tests;
