//! The list of files is that of the files made, whatever is left out.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use std::sync::Arc;

use boxwright::brief::brief;
use boxwright::check::check;
use boxwright::emit::bundle::{BundleOptions, Kind, bundle, names};
use boxwright::fold::Folder;
use boxwright::geom::DVec2;
use boxwright::job::parse_job;
use boxwright::source::{Shipped, Text};

/// Names as listed and as made for a case, once `spoil` has had its way with the folding.
fn both(length: &str, spoil: impl Fn(&mut Folder<'_>)) -> (Vec<String>, Vec<String>) {
    let text = format!(
        "job \"clock\" {{\n style \"slotted-case\"\n inside length=\"{length}\" width=\"140mm\" depth=\"80mm\"\n board \"C\"\n}}\n"
    );
    let name = "job".to_owned();
    let brief = brief(parse_job(&Text { name, text }).unwrap(), &Shipped).unwrap();
    let plan = brief.plan().unwrap().validated().unwrap();
    let mut folder = Folder::new(&plan);
    let found = check(&brief, &folder);
    spoil(&mut folder);
    let opts = BundleOptions::default();
    let listed = names(&brief, &plan, &folder, &found, &opts).unwrap();
    let made = bundle(&brief, &plan, &folder, &found, &opts).unwrap();
    assert_eq!(
        listed.iter().map(|(_, n)| n.len()).sum::<usize>() + made.left_out.len(),
        Kind::ALL.len()
    );
    (
        listed.into_iter().flat_map(|(_, names)| names).collect(),
        made.files.into_iter().map(|(name, _)| name).collect(),
    )
}

#[test]
fn every_file_is_listed_when_all_are_made() {
    let (listed, made) = both("230mm", |_| {});
    assert_eq!(listed, made);
    assert_eq!(made.len(), 9);
}

#[test]
fn a_page_too_long_is_neither_made_nor_listed() {
    let (listed, made) = both("2.5m", |_| {});
    assert_eq!(listed, made);
    assert!(
        !made.iter().any(|n| n.ends_with("true-size.pdf")),
        "{made:?}"
    );
}

#[test]
fn a_solid_that_would_not_close_is_neither_made_nor_listed() {
    let (listed, made) = both("230mm", |folder| {
        let mut shape = folder.shapes[0][0].as_ref().clone();
        let bow = [(0.0, 0.0), (50.0, 40.0), (50.0, 0.0), (0.0, 60.0)];
        shape.rings = vec![bow.map(|(x, y)| DVec2::new(x, y)).to_vec()];
        folder.shapes[0][0] = Arc::new(shape);
    });
    assert_eq!(listed, made);
    assert!(!made.iter().any(|n| n.ends_with(".glb")), "{made:?}");
    assert_eq!(made.len(), 8);
}
