use super::*;
use crate::cut::tests::made;
use crate::cut::{Options, Program};
use crate::emit::scene::Item;

fn texts(pages: &[Scene]) -> Vec<String> {
    let items = pages.iter().flat_map(|p| &p.items);
    items
        .filter_map(|i| match i {
            Item::Text { text, .. } => Some(text.clone()),
            Item::Shape { .. } => None,
        })
        .collect()
}

fn card(machine: &str) -> (Vec<Scene>, Program) {
    let (layout, machine, program) = made(machine, &Options::default());
    let layout = layout.proved().unwrap();
    let files = vec![vec!["tray-sheet-1.gcode".to_owned()]];
    let programs = [program];
    let pages = job_card(&layout, &machine, &programs, &files, LengthUnit::Mm);
    let [program] = programs;
    (pages, program)
}

#[test]
fn a_card_tells_counts_settings_time_cost_and_cautions() {
    let (pages, program) = card("bench-laser");
    assert_eq!(pages.len(), 2, "one page of words, one sheet");
    let all = texts(&pages).join("\n");
    for word in [
        "job card",
        "Pieces",
        "Settings",
        "Take care",
        "never leave the laser running alone",
        "tray-sheet-1.gcode",
        "24 %",
        "all together",
        &minutes(program.tally.seconds),
        "sheet 1 of 1",
    ] {
        assert!(all.contains(word), "{word} is missing in\n{all}");
    }
}

#[test]
fn everything_stays_on_the_page() {
    for machine in ["bench-laser", "knife-table"] {
        for page in card(machine).0 {
            for item in &page.items {
                let Item::Shape { paths, .. } = item else {
                    continue;
                };
                for p in paths {
                    let b = p.bounds();
                    assert!(b.min.min_element() >= 0.0, "{b:?}");
                    assert!(b.max.x <= page.width && b.max.y <= page.height, "{b:?}");
                }
            }
        }
    }
}

#[test]
fn a_knife_has_no_power_and_other_cautions() {
    let all = texts(&card("knife-table").0).join("\n");
    assert!(all.contains("Keep hands off the table"));
    assert!(!all.contains("Power is a share of"));
}

#[test]
fn minutes_count_up() {
    assert_eq!(minutes(59.2), "1 min 00 s");
    assert_eq!(minutes(0.0), "0 min 00 s");
}
