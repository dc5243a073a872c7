//! Everything in the file that is not the blank: header, tables, blocks and objects.

use super::layers::LineType;
use super::{DxfOptions, DxfVersion, Writer, limits};
use crate::geom::Rect;

// Handles of the fixed records.
const ROOT: u32 = 0x1;
const TABLES: u32 = 0x2; // ten tables from here
pub(super) const MODEL_RECORD: u32 = 0x10;
const PAPER_RECORD: u32 = 0x11;
const MODEL_LAYOUT: u32 = 0x12;
const PAPER_LAYOUT: u32 = 0x13;
const GROUPS: u32 = 0x14;
const LAYOUTS: u32 = 0x15;
const PLOT_STYLES: u32 = 0x16;
const PLOT_NORMAL: u32 = 0x17;
const BLOCK_ENDS: u32 = 0x18; // four
const RECORDS: u32 = 0x20; // table records, counted up

/// `drawn` things follow, each with a handle: the next free one is said in the header.
pub(super) fn head(w: &mut Writer, opts: &DxfOptions, bounds: Rect, drawn: usize, flutes: &str) {
    let modern = w.modern;
    w.tag(999, "lengths in millimetres");
    w.tag(999, flutes);
    section(w, "HEADER");
    let edition = match opts.version {
        DxfVersion::R12 => "AC1009",
        DxfVersion::R2000 => "AC1015",
        DxfVersion::R2010 => "AC1024",
    };
    variable(w, "$ACADVER");
    w.tag(1, edition);
    if modern {
        variable(w, "$DWGCODEPAGE");
        w.tag(3, "ANSI_1252");
    }
    variable(w, "$INSBASE");
    w.point(10, 0.0, 0.0);
    w.number(30, 0.0);
    for (name, at) in [("$EXTMIN", bounds.min), ("$EXTMAX", bounds.max)] {
        variable(w, name);
        w.point(10, at.x, at.y);
        w.number(30, 0.0);
    }
    let limit = limits(bounds);
    for (name, at) in [("$LIMMIN", limit.min), ("$LIMMAX", limit.max)] {
        variable(w, name);
        w.point(10, at.x, at.y);
    }
    variable(w, "$LTSCALE");
    w.number(40, 1.0);
    if modern {
        variable(w, "$INSUNITS");
        w.tag(70, "4");
        variable(w, "$MEASUREMENT");
        w.tag(70, "1");
        variable(w, "$HANDSEED");
        w.handle(5, w.next + u32::try_from(drawn).unwrap_or(u32::MAX >> 1));
    }
    w.tag(0, "ENDSEC");
    if modern {
        section(w, "CLASSES");
        w.tag(0, "ENDSEC");
    }
    tables(w, opts, bounds);
    section(w, "BLOCKS");
    if modern {
        for (name, record, ends, paper) in [
            ("*Model_Space", MODEL_RECORD, BLOCK_ENDS, false),
            ("*Paper_Space", PAPER_RECORD, BLOCK_ENDS + 2, true),
        ] {
            block(w, name, record, ends, paper);
        }
    }
    w.tag(0, "ENDSEC");
}

fn section(w: &mut Writer, name: &str) {
    w.tag(0, "SECTION");
    w.tag(2, name);
}

fn variable(w: &mut Writer, name: &str) {
    w.tag(9, name);
}

fn block(w: &mut Writer, name: &str, record: u32, handle: u32, paper: bool) {
    for (kind, class, handle) in [
        ("BLOCK", "AcDbBlockBegin", handle),
        ("ENDBLK", "AcDbBlockEnd", handle + 1),
    ] {
        w.tag(0, kind);
        w.handle(5, handle);
        w.handle(330, record);
        w.tag(100, "AcDbEntity");
        if paper {
            w.tag(67, "1");
        }
        w.tag(8, "0");
        w.tag(100, class);
        if kind == "BLOCK" {
            w.tag(2, name);
            w.tag(70, "0");
            w.point(10, 0.0, 0.0);
            w.number(30, 0.0);
            w.tag(3, name);
            w.tag(1, "");
        }
    }
}

/// Writes the tables, handing a handle to each record in turn.
struct Tables<'a> {
    w: &'a mut Writer,
    table: u32,
    record: u32,
}

impl Tables<'_> {
    fn open(&mut self, name: &str, count: usize) {
        self.table += 1;
        self.w.tag(0, "TABLE");
        self.w.tag(2, name);
        if self.w.modern {
            self.w.handle(5, self.table);
            self.w.handle(330, 0);
            self.w.tag(100, "AcDbSymbolTable");
        }
        self.w.count(70, count);
        if self.w.modern && name == "DIMSTYLE" {
            self.w.tag(100, "AcDbDimStyleTable");
        }
    }
    fn record(&mut self, kind: &str, class: &str, name: &str) {
        let handle = self.record;
        self.record += 1;
        self.record_at(handle, kind, class, name);
    }
    fn record_at(&mut self, handle: u32, kind: &str, class: &str, name: &str) {
        self.w.tag(0, kind);
        if self.w.modern {
            // A dimension style's handle has a group code of its own.
            self.w
                .handle(if kind == "DIMSTYLE" { 105 } else { 5 }, handle);
            self.w.handle(330, self.table);
            self.w.tag(100, "AcDbSymbolTableRecord");
            self.w.tag(100, class);
        }
        self.w.tag(2, name);
    }
    fn close(&mut self) {
        self.w.tag(0, "ENDTAB");
    }
    fn empty(&mut self, name: &str) {
        self.open(name, 0);
        self.close();
    }
}

fn tables(w: &mut Writer, opts: &DxfOptions, bounds: Rect) {
    section(w, "TABLES");
    let modern = w.modern;
    let mut t = Tables {
        w,
        table: TABLES - 1,
        record: RECORDS,
    };
    viewport(&mut t, bounds);
    line_types(&mut t);
    layers(&mut t, opts);
    t.open("STYLE", 1);
    t.record("STYLE", "AcDbTextStyleTableRecord", "STANDARD");
    t.w.tag(70, "0");
    t.w.number(40, 0.0);
    t.w.number(41, 1.0);
    t.w.number(50, 0.0);
    t.w.tag(71, "0");
    t.w.number(42, 2.5);
    t.w.tag(3, "txt");
    t.w.tag(4, "");
    t.close();
    t.empty("VIEW");
    t.empty("UCS");
    t.open("APPID", 1);
    t.record("APPID", "AcDbRegAppTableRecord", "ACAD");
    t.w.tag(70, "0");
    t.close();
    t.open("DIMSTYLE", 1);
    t.record("DIMSTYLE", "AcDbDimStyleTableRecord", "STANDARD");
    t.w.tag(70, "0");
    t.close();
    if modern {
        t.open("BLOCK_RECORD", 2);
        for (handle, name, layout) in [
            (MODEL_RECORD, "*Model_Space", MODEL_LAYOUT),
            (PAPER_RECORD, "*Paper_Space", PAPER_LAYOUT),
        ] {
            t.record_at(handle, "BLOCK_RECORD", "AcDbBlockTableRecord", name);
            t.w.handle(340, layout);
        }
        t.close();
    }
    t.w.tag(0, "ENDSEC");
}

fn viewport(t: &mut Tables<'_>, bounds: Rect) {
    let (middle, size) = (bounds.centre(), bounds.size());
    t.open("VPORT", 1);
    t.record("VPORT", "AcDbViewportTableRecord", "*ACTIVE");
    let w = &mut *t.w;
    w.tag(70, "0");
    for (code, x, y) in [
        (10, 0.0, 0.0),
        (11, 1.0, 1.0),
        (12, middle.x, middle.y),
        (13, 0.0, 0.0),
        (14, 10.0, 10.0),
        (15, 10.0, 10.0),
    ] {
        w.point(code, x, y);
    }
    for (code, z) in [(16, 1.0), (17, 0.0)] {
        w.point(code, 0.0, 0.0);
        w.number(code + 20, z);
    }
    // The window is as high as the blank, or as it must be to show all its length at 3 : 2.
    w.number(40, 1.1 * size.y.max(size.x / 1.5).max(1.0));
    w.number(41, 1.5);
    w.number(42, 50.0);
    for code in [43, 44, 50, 51] {
        w.number(code, 0.0);
    }
    for (code, flag) in [
        (71, "0"),
        (72, "1000"),
        (73, "1"),
        (74, "3"),
        (75, "0"),
        (76, "0"),
        (77, "0"),
        (78, "0"),
    ] {
        w.tag(code, flag);
    }
    t.close();
}

fn line_types(t: &mut Tables<'_>) {
    let modern = t.w.modern;
    let mut rows: Vec<(&str, &str, &[f64])> = Vec::new();
    if modern {
        rows.push(("ByBlock", "", &[]));
        rows.push(("ByLayer", "", &[]));
    }
    rows.extend(LineType::ALL.map(|l| (l.word(), l.help(), l.pattern())));
    t.open("LTYPE", rows.len());
    for (name, help, pattern) in rows {
        t.record("LTYPE", "AcDbLinetypeTableRecord", name);
        t.w.tag(70, "0");
        t.w.tag(3, help);
        t.w.tag(72, "65");
        t.w.count(73, pattern.len());
        t.w.number(40, pattern.iter().map(|d| d.abs()).sum());
        for dash in pattern {
            t.w.number(49, *dash);
            if modern {
                t.w.tag(74, "0");
            }
        }
    }
    t.close();
}

fn layers(t: &mut Tables<'_>, opts: &DxfOptions) {
    let mut rows = vec![("0".to_owned(), 7, LineType::Continuous)];
    rows.extend(opts.layers.declared(opts.version));
    t.open("LAYER", rows.len());
    for (name, colour, line_type) in rows {
        t.record("LAYER", "AcDbLayerTableRecord", &name);
        t.w.tag(70, "0");
        t.w.count(62, colour.into());
        t.w.tag(6, line_type.word());
        if t.w.modern {
            t.w.tag(370, "-3"); // the default line weight
            t.w.handle(390, PLOT_NORMAL);
        }
    }
    t.close();
}

pub(super) fn tail(w: &mut Writer, bounds: Rect) {
    if !w.modern {
        return;
    }
    section(w, "OBJECTS");
    dictionary(
        w,
        (ROOT, 0),
        &[
            ("ACAD_GROUP", GROUPS),
            ("ACAD_LAYOUT", LAYOUTS),
            ("ACAD_PLOTSTYLENAME", PLOT_STYLES),
        ],
    );
    dictionary(w, (GROUPS, ROOT), &[]);
    dictionary(
        w,
        (LAYOUTS, ROOT),
        &[("Model", MODEL_LAYOUT), ("Layout1", PAPER_LAYOUT)],
    );
    layout(w, "Model", MODEL_LAYOUT, MODEL_RECORD, bounds);
    layout(w, "Layout1", PAPER_LAYOUT, PAPER_RECORD, bounds);
    w.tag(0, "ACDBDICTIONARYWDFLT");
    w.handle(5, PLOT_STYLES);
    w.handle(330, ROOT);
    w.tag(100, "AcDbDictionary");
    w.tag(281, "1");
    w.tag(3, "Normal");
    w.handle(350, PLOT_NORMAL);
    w.tag(100, "AcDbDictionaryWithDefault");
    w.handle(340, PLOT_NORMAL);
    w.tag(0, "ACDBPLACEHOLDER");
    w.handle(5, PLOT_NORMAL);
    w.handle(330, PLOT_STYLES);
    w.tag(0, "ENDSEC");
}

fn dictionary(w: &mut Writer, (handle, owner): (u32, u32), entries: &[(&str, u32)]) {
    w.tag(0, "DICTIONARY");
    w.handle(5, handle);
    w.handle(330, owner);
    w.tag(100, "AcDbDictionary");
    w.tag(281, "1");
    for (name, target) in entries {
        w.tag(3, name);
        w.handle(350, *target);
    }
}

fn layout(w: &mut Writer, name: &str, handle: u32, record: u32, bounds: Rect) {
    let model = record == MODEL_RECORD;
    w.tag(0, "LAYOUT");
    w.handle(5, handle);
    w.handle(330, LAYOUTS);
    w.tag(100, "AcDbPlotSettings");
    for (code, text) in [(1, ""), (2, ""), (4, ""), (6, "")] {
        w.tag(code, text);
    }
    for code in [40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 140, 141] {
        w.number(code, 0.0);
    }
    w.number(142, 1.0);
    w.number(143, 1.0);
    w.tag(70, if model { "1024" } else { "0" });
    w.tag(72, "1"); // millimetres
    w.tag(73, "0");
    w.tag(74, "5");
    w.tag(7, "");
    w.tag(75, "16");
    w.number(147, 1.0);
    w.number(148, 0.0);
    w.number(149, 0.0);
    w.tag(100, "AcDbLayout");
    w.tag(1, name);
    w.tag(70, "1");
    w.tag(71, if model { "0" } else { "1" });
    let limit = limits(bounds);
    w.point(10, limit.min.x, limit.min.y);
    w.point(11, limit.max.x, limit.max.y);
    w.point(12, 0.0, 0.0);
    w.number(32, 0.0);
    w.point(14, bounds.min.x, bounds.min.y);
    w.number(34, 0.0);
    w.point(15, bounds.max.x, bounds.max.y);
    w.number(35, 0.0);
    w.number(146, 0.0);
    for (code, axis) in [(13, [0.0, 0.0]), (16, [1.0, 0.0]), (17, [0.0, 1.0])] {
        w.point(code, axis[0], axis[1]);
        w.number(code + 20, 0.0);
    }
    w.tag(76, "0");
    w.handle(330, record);
}
