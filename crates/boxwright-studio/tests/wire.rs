//! The page's TypeScript is what the Rust types say.
//!
//! `BOXWRIGHT_WRITE_WIRE=1 cargo test -p boxwright-studio --test wire` writes it anew.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use boxwright_studio::wire::{
    BoardLine, ChooseAsk, ChooseShown, ContentsAsk, ContentsLists, ContentsShown, CutAsk,
    CutFileAsk, CutShown, Design, FileAsk, Fit, JobLine, LayoutAsk, LayoutEntry, LayoutLine,
    MachineLine, MeasuredBook, MeasuredChange, OpenJob, OpenLayout, OrdersLine, RangeAsk,
    RangeLine, RangeStop, RangeStopped, Readings, ReadingsAsk, Refusal, SaveJob, SaveLayout, Saved,
    ShipAsk, ShipLists, ShipShown, SpreadAsk, SpreadLine, StockAsk, StockBook, StripsAsk,
    StripsFileAsk, StripsShown, StyleLine, SweepAsk, SweepLine, UseLayout,
};
use ts_rs::{Config, TS};

fn written(into: &Path) -> BTreeMap<String, String> {
    let _ = fs::remove_dir_all(into);
    let config = Config::new().with_out_dir(into);
    Design::export_all(&config).unwrap();
    StyleLine::export_all(&config).unwrap();
    BoardLine::export_all(&config).unwrap();
    JobLine::export_all(&config).unwrap();
    OpenJob::export_all(&config).unwrap();
    SaveJob::export_all(&config).unwrap();
    Saved::export_all(&config).unwrap();
    FileAsk::export_all(&config).unwrap();
    SweepAsk::export_all(&config).unwrap();
    SweepLine::export_all(&config).unwrap();
    StockBook::export_all(&config).unwrap();
    StockAsk::export_all(&config).unwrap();
    LayoutAsk::export_all(&config).unwrap();
    LayoutLine::export_all(&config).unwrap();
    LayoutEntry::export_all(&config).unwrap();
    OpenLayout::export_all(&config).unwrap();
    SaveLayout::export_all(&config).unwrap();
    UseLayout::export_all(&config).unwrap();
    MachineLine::export_all(&config).unwrap();
    ChooseAsk::export_all(&config).unwrap();
    ChooseShown::export_all(&config).unwrap();
    ContentsAsk::export_all(&config).unwrap();
    ContentsLists::export_all(&config).unwrap();
    ContentsShown::export_all(&config).unwrap();
    CutAsk::export_all(&config).unwrap();
    CutShown::export_all(&config).unwrap();
    CutFileAsk::export_all(&config).unwrap();
    ShipAsk::export_all(&config).unwrap();
    ShipLists::export_all(&config).unwrap();
    ShipShown::export_all(&config).unwrap();
    OrdersLine::export_all(&config).unwrap();
    RangeAsk::export_all(&config).unwrap();
    RangeLine::export_all(&config).unwrap();
    RangeStop::export_all(&config).unwrap();
    RangeStopped::export_all(&config).unwrap();
    StripsAsk::export_all(&config).unwrap();
    StripsShown::export_all(&config).unwrap();
    StripsFileAsk::export_all(&config).unwrap();
    Readings::export_all(&config).unwrap();
    ReadingsAsk::export_all(&config).unwrap();
    Fit::export_all(&config).unwrap();
    MeasuredBook::export_all(&config).unwrap();
    MeasuredChange::export_all(&config).unwrap();
    SpreadAsk::export_all(&config).unwrap();
    SpreadLine::export_all(&config).unwrap();
    Refusal::export_all(&config).unwrap();
    let mut files = read(into);
    let names: Vec<&str> = files.keys().filter_map(|n| n.strip_suffix(".ts")).collect();
    let lines: Vec<String> = names
        .iter()
        .map(|n| format!("export type {{ {n} }} from \"./{n}\";\n"))
        .collect();
    let index = format!(
        "// Written by the tests of boxwright-studio.\n{}",
        lines.concat()
    );
    files.insert("index.ts".to_owned(), index);
    files
}

fn read(folder: &Path) -> BTreeMap<String, String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return BTreeMap::new();
    };
    entries
        .map(|e| e.unwrap())
        .map(|e| {
            let name = e.file_name().into_string().unwrap();
            (name, fs::read_to_string(e.path()).unwrap())
        })
        .collect()
}

#[test]
fn the_types_of_the_page_are_those_of_the_server() {
    let committed = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../studio/src/wire");
    let wanted = written(&PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("wire"));
    assert!(wanted.len() > 30, "{:?}", wanted.keys());
    if std::env::var_os("BOXWRIGHT_WRITE_WIRE").is_some() {
        let _ = fs::remove_dir_all(&committed);
        fs::create_dir_all(&committed).unwrap();
        for (name, text) in &wanted {
            fs::write(committed.join(name), text).unwrap();
        }
    }
    let found = read(&committed);
    let names = |m: &BTreeMap<String, String>| m.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&found), names(&wanted));
    for (name, text) in wanted {
        assert!(
            found[&name] == text,
            "{name} is not what the Rust type says: run with BOXWRIGHT_WRITE_WIRE=1"
        );
    }
}
