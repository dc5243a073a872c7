//! The library of styles as a whole: what is shipped is what lies in `styles/`, no two files share
//! more than a few lines, and every style says what it is good for.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops by panicking"
)]

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use boxwright::source::{Door, Shipped};
use common::shipped;

/// Lines that two files may share in a row.
const MOST_SHARED: usize = 8;

fn files(folder: &str) -> BTreeMap<String, String> {
    let at = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(folder);
    let entries = fs::read_dir(at).expect("the folder is there");
    let paths = entries.map(|e| e.expect("readable").path());
    paths
        .filter(|p| p.extension().is_some_and(|e| e == "kdl"))
        .map(|p| {
            let name = p.file_stem().expect("named").to_string_lossy().into_owned();
            (name, fs::read_to_string(&p).expect("readable"))
        })
        .collect()
}

#[test]
fn what_lies_in_the_folders_is_shipped() {
    let names = |list: Vec<String>| list.into_iter().collect::<BTreeSet<_>>();
    let styles = files("styles");
    assert_eq!(
        names(Shipped.style_names()),
        styles.keys().cloned().collect()
    );
    for (name, text) in styles {
        assert_eq!(Shipped.style(&name).expect("shipped").text, text);
        assert_eq!(shipped(&name).name, name, "a style is called as its file");
    }
    let machines = files("machines");
    assert_eq!(
        names(Shipped.machine_names()),
        machines.keys().cloned().collect()
    );
    for (name, text) in machines {
        assert_eq!(Shipped.machine(&name).expect("shipped").text, text);
    }
    let kits = files("styles/kits");
    assert_eq!(names(Shipped.kit_names()), kits.keys().cloned().collect());
    let used: BTreeSet<String> = files("styles")
        .values()
        .flat_map(|t| t.lines())
        .filter_map(|l| l.trim().strip_prefix("kit "))
        .flat_map(|l| l.split_whitespace().map(|w| w.trim_matches('"').to_owned()))
        .collect();
    let shipped: BTreeSet<String> = kits.keys().cloned().collect();
    assert_eq!(used, shipped, "every kit is used");
}

#[test]
fn there_are_thirty_six_styles_or_more_of_every_family() {
    let names = Shipped.style_names();
    assert!(names.len() >= 36, "{}", names.len());
    let families: BTreeSet<String> = names
        .iter()
        .map(|n| {
            shipped(n)
                .suits
                .clone()
                .unwrap_or_else(|| panic!("`{n}` says not what it suits"))
        })
        .map(|s| s.family)
        .collect();
    let all = [
        "folder",
        "interior",
        "ready-glued",
        "rigid",
        "slide",
        "slotted",
        "telescope",
        "tray",
    ];
    assert_eq!(families.iter().map(String::as_str).collect::<Vec<_>>(), all);
}

#[test]
fn nothing_is_written_and_never_used() {
    for name in Shipped.style_names() {
        let style = shipped(&name);
        assert_eq!(style.purpose.lines().count(), 1, "{name}");
        assert!(
            !style.title.is_empty() && !style.stages.is_empty(),
            "{name}"
        );
        // What a kit offers need not all be taken.
        let text = Shipped.style(&name).expect("shipped").text;
        let unused: Vec<String> = style.never_used();
        let own = |u: &String| text.contains(&u.replace('`', "\""));
        assert!(!unused.iter().any(own), "{name}: {unused:?}");
    }
}

#[test]
fn no_two_files_share_a_block_of_lines() {
    let mut all: Vec<(String, Vec<String>)> = Vec::new();
    for folder in ["styles", "styles/kits"] {
        for (name, text) in files(folder) {
            let lines = text.lines().map(str::trim);
            let lines = lines.filter(|l| !l.is_empty()).map(str::to_owned).collect();
            all.push((format!("{folder}/{name}"), lines));
        }
    }
    let mut seen: BTreeMap<&[String], &str> = BTreeMap::new();
    let mut shared = Vec::new();
    for (name, lines) in &all {
        for block in lines.windows(MOST_SHARED + 1) {
            // Closing braces alone say nothing.
            if block.iter().filter(|l| l.len() > 1).count() * 2 <= block.len() {
                continue;
            }
            match seen.get(block) {
                Some(other) if other != name => {
                    shared.push(format!("{other} and {name}: {}", block.join(" | ")))
                }
                Some(_) => {}
                None => {
                    seen.insert(block, name);
                }
            }
        }
    }
    assert!(shared.is_empty(), "{}", shared.join("\n"));
}

#[test]
fn the_slotted_case_and_the_mailer_are_short() {
    let lines = |name: &str| Shipped.style(name).expect("shipped").text.lines().count();
    assert!(lines("slotted-case") <= 45, "{}", lines("slotted-case"));
    assert!(lines("mailer") < 110, "{}", lines("mailer"));
}
