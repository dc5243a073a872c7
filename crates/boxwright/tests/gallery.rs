//! The gallery under `docs/` is what the shipped styles give.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test stops by panicking"
)]

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use boxwright::emit::gallery::{Entry, entry, files, sorted};
use boxwright::source::{Door, Shipped};
use common::{board, shipped};

const RENEW: &str = "renew it: cargo run --release -- style gallery --out docs";
/// Most bytes all pictures may take.
const MOST: usize = 3_500_000;

fn entries() -> Vec<Entry> {
    let board = board("B");
    let names = Shipped.style_names();
    let shown = names.iter().map(|n| {
        entry(&shipped(n), &board).unwrap_or_else(|| panic!("`{n}` holds at no usual size"))
    });
    sorted(shown.collect())
}

#[test]
fn the_gallery_under_docs_is_what_the_styles_give() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs");
    let entries = entries();
    let made = files(&entries).expect("the sheet is drawn");
    let mut stale = Vec::new();
    for (name, bytes) in &made {
        if fs::read(docs.join(name)).ok().as_ref() != Some(bytes) {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "{RENEW}\nstale: {stale:?}");
    let made_names: BTreeSet<String> = made.iter().map(|(n, _)| n.clone()).collect();
    for there in fs::read_dir(docs.join("gallery")).expect("the folder is there") {
        let name = there.expect("readable").file_name();
        let name = format!("gallery/{}", name.to_string_lossy());
        assert!(
            made_names.contains(&name),
            "{name} shows no shipped style; take it away"
        );
    }
    let all: usize = made.iter().map(|(_, b)| b.len()).sum();
    assert!(all <= MOST, "{all} bytes");
    // Every style is told of once, and every picture the page names is there.
    let page = String::from_utf8(made[0].1.clone()).expect("text");
    for e in &entries {
        let heading = format!("\n### {}\n", e.style.name);
        assert_eq!(page.matches(&heading).count(), 1, "{heading}");
    }
    for src in page.split("src=\"").skip(1) {
        let name = src.split('"').next().expect("closed");
        assert!(made_names.contains(name), "{name}");
    }
}

#[test]
fn what_stays_open_is_not_shown_closing_and_fitments_stand_in_their_room() {
    let entries = entries();
    let of = |name: &str| {
        let found = entries.iter().find(|e| e.style.name == name);
        found.expect("a shipped style")
    };
    assert!(of("slotted-case").closing.is_some());
    assert!(of("half-slotted").closing.is_none());
    // The outline of the room is drawn in dashes.
    let dashed = |e: &Entry| e.folded.to_svg().contains("stroke-dasharray");
    for e in &entries {
        let interior = e
            .style
            .suits
            .as_ref()
            .is_some_and(|s| s.family == "interior");
        assert_eq!(dashed(e), interior, "{}", e.style.name);
    }
}
