//! The blank as a DXF drawing, one layer for each use of a line.
//!
//! Exactly [`Blank::lines`] is written: a single straight segment as `LINE`, everything else as a
//! polyline whose arcs are bulges. Lengths are millimetres; R12 has no field for the unit, so it
//! is said in a comment at the head of the file, and how the flutes run in another.

mod frame;
mod layers;

pub use layers::{LayerStyle, LayerTable, LineType};

use std::borrow::Cow;

use crate::blank::{Blank, LineUse};
use crate::geom::{Path, Rect};
use crate::units::{push_fixed, push_whole};

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
    let lines: Vec<(LineUse, Cow<'_, Path>)> = blank.each_line().collect();
    drawing(&lines, blank.bounds, super::flute_words(blank), opts)
}

/// Lines as a DXF file, with a note on how the flutes run. `bounds` is grown to hold every line.
#[must_use]
pub(super) fn drawing(
    lines: &[(LineUse, Cow<'_, Path>)],
    bounds: Rect,
    flutes: &str,
    opts: &DxfOptions,
) -> String {
    let lines: Vec<&(LineUse, Cow<'_, Path>)> = lines
        .iter()
        .filter(|(line_use, path)| {
            opts.layers.style(*line_use).drawn && path.segments().next().is_some()
        })
        .collect();
    let bounds = lines.iter().fold(bounds, |r, (_, p)| r.union(p.bounds()));
    let names = LineUse::ALL.map(|u| (u, opts.layers.style(u).name_for(opts.version)));
    let mut w = Writer::new(opts);
    frame::head(&mut w, opts, bounds, lines.len(), flutes);
    w.tag(0, "SECTION");
    w.tag(2, "ENTITIES");
    for (line_use, path) in lines {
        let name = names.iter().find(|(u, _)| u == line_use);
        entity(&mut w, name.map_or("0", |(_, n)| n), path);
    }
    w.tag(0, "ENDSEC");
    frame::tail(&mut w, bounds);
    w.tag(0, "EOF");
    // Everything written is text; nothing can be lost here.
    String::from_utf8(w.text).unwrap_or_default()
}

/// Group code and value pairs, with handles counted up.
struct Writer {
    text: Vec<u8>,
    decimals: usize,
    modern: bool,
    next: u32,
}

/// Handles below this are given to tables, blocks and objects by name.
const FIRST_ENTITY: u32 = 0x100;

impl Writer {
    fn new(opts: &DxfOptions) -> Self {
        Self {
            text: Vec::with_capacity(16 << 10),
            decimals: opts.decimals.clamp(3, 12),
            modern: opts.version != DxfVersion::R12,
            next: FIRST_ENTITY,
        }
    }
    fn code(&mut self, code: u16) {
        debug_assert!(code < 1000, "group codes have three digits at most");
        let digit = |n: u16| b'0' + (n % 10) as u8;
        let ahead = |least: u16, n: u16| if code < least { b' ' } else { digit(n) };
        let line = [
            ahead(100, code / 100),
            ahead(10, code / 10),
            digit(code),
            b'\n',
        ];
        self.text.extend_from_slice(&line);
    }
    fn tag(&mut self, code: u16, value: &str) {
        self.code(code);
        self.text.extend_from_slice(value.as_bytes());
        self.text.push(b'\n');
    }
    fn count(&mut self, code: u16, value: usize) {
        self.code(code);
        push_whole(&mut self.text, value as u64, 1);
        self.text.push(b'\n');
    }
    fn fixed(&mut self, code: u16, value: f64, decimals: usize) {
        self.code(code);
        push_fixed(&mut self.text, value, decimals);
        self.text.push(b'\n');
    }
    fn number(&mut self, code: u16, value: f64) {
        self.fixed(code, value, self.decimals);
    }
    fn point(&mut self, code: u16, x: f64, y: f64) {
        self.number(code, x);
        self.number(code + 10, y);
    }
    fn handle(&mut self, code: u16, handle: u32) {
        self.code(code);
        push_hex(&mut self.text, handle);
        self.text.push(b'\n');
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
}

/// In base 16, capitals, as handles are written.
fn push_hex(out: &mut Vec<u8>, value: u32) {
    let digits = (u32::BITS - value.leading_zeros()).div_ceil(4).max(1);
    for k in (0..digits).rev() {
        out.push(b"0123456789ABCDEF"[(value >> (4 * k)) as usize & 15]);
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
    let closed = usize::from(path.closed);
    if w.modern {
        w.open("LWPOLYLINE", layer, "AcDbPolyline");
        w.count(90, path.vertices.len());
        w.count(70, closed);
    } else {
        w.open("POLYLINE", layer, "");
        w.tag(66, "1");
        w.point(10, 0.0, 0.0);
        w.number(30, 0.0);
        w.count(70, closed);
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
            w.fixed(42, vertex.bulge, 15);
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
