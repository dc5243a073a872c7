#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use super::*;
use crate::brief::brief;
use crate::emit::font::Letters;
use crate::emit::scene::Item;
use crate::haul::{USUAL_HEIGHT, Wish, haul};
use crate::job::parse_job;
use crate::pallet::{Tables, read_tables};
use crate::ship::{Conditions, contents_mass, outlook, signs, table};
use crate::source::{Shipped, Text};

fn tables() -> Tables {
    read_tables(&[table(&Shipped, "loads").unwrap()]).unwrap()
}

fn sheet(text: &str, change: impl Fn(&mut Conditions, &mut Wish)) -> Vec<Scene> {
    let text = Text {
        name: "job".into(),
        text: text.into(),
    };
    let brief = brief(parse_job(&text).unwrap(), &Shipped).unwrap();
    let plan = brief.plan().unwrap().validated().ok().unwrap();
    let folder = Folder::new(&plan);
    let mut on = Conditions::usual(&Shipped).unwrap();
    let tables = tables();
    let mut wish = Wish {
        pallet: tables.pallets[0].clone(),
        height: USUAL_HEIGHT,
        mass: None,
        overhang: Length::ZERO,
        rooms: tables.rooms,
    };
    change(&mut on, &mut wish);
    let outlook = outlook(&brief, &folder, contents_mass(&brief.job), &on);
    let haul = haul(&outlook, &on, &wish).unwrap();
    let signs = signs::due(&brief.job, &outlook.lift);
    shipping_sheet(&Shipping {
        brief: &brief,
        folder: &folder,
        outlook: &outlook,
        haul: &haul,
        signs: &signs,
        mass_given: false,
        unit: LengthUnit::Mm,
    })
}

fn job(title: &str, more: &str) -> String {
    format!(
        "job \"{title}\" {{\n style \"slotted-case\"\n inside length=\"342mm\" width=\"178mm\" depth=\"266mm\"\n board \"C\"\n {more}\n}}\n"
    )
}

/// Every text lies on its page, as wide as its letters are, and so does every line.
fn inside(pages: &[Scene]) {
    let letters = Letters::shipped();
    for page in pages {
        let all = Rect {
            min: DVec2::ZERO,
            max: DVec2::new(page.width, page.height),
        };
        let within = |p: DVec2| {
            p.x >= all.min.x - 0.01
                && p.x <= all.max.x + 0.01
                && p.y >= all.min.y - 0.01
                && p.y <= all.max.y + 0.01
        };
        for item in &page.items {
            match item {
                Item::Shape { paths, .. } => {
                    assert!(paths.iter().flat_map(|p| &p.vertices).all(|v| within(v.at)));
                }
                Item::Text {
                    at,
                    size,
                    anchor,
                    turn,
                    bold,
                    text,
                    ..
                } => {
                    let wide = letters.width(text, *size, *bold);
                    let back = match anchor {
                        Anchor::Start => 0.0,
                        Anchor::Middle => 0.5 * wide,
                        Anchor::End => wide,
                    };
                    let along = DVec2::new(turn.to_radians().cos(), -turn.to_radians().sin());
                    let (a, b) = (*at - back * along, *at + (wide - back) * along);
                    assert!(within(a) && within(b), "{text} at {at}");
                }
            }
        }
    }
}

fn texts(pages: &[Scene]) -> Vec<&str> {
    let each = pages.iter().flat_map(|p| &p.items).filter_map(|i| match i {
        Item::Text { text, .. } => Some(text.as_str()),
        Item::Shape { .. } => None,
    });
    each.collect()
}

#[test]
fn two_pages_of_a4_with_everything_on_them() {
    let job = job(
        "mantel clock",
        "contents \"clock\" mass=\"4.1kg\" fragile=40",
    );
    let pages = sheet(&job, |on, _| on.high = Some(4));
    assert_eq!(pages.len(), 2);
    assert!(pages.iter().all(|p| (p.width, p.height) == (210.0, 297.0)));
    inside(&pages);
    let all = texts(&pages);
    for wanted in [
        "mantel clock",
        "Signs due",
        "fragile",
        "Stack",
        "Grade",
        "Parcel",
        "Containers and trailers",
        "Cautions",
    ] {
        assert!(
            all.iter().any(|t| t.starts_with(wanted)),
            "{wanted} {all:?}"
        );
    }
}

#[test]
fn long_titles_and_many_words_stay_on_the_pages() {
    let title = "a very long name of a case that nobody would write but somebody will ".repeat(5);
    let contents: String = (0..40)
        .map(|n| format!("contents \"thing number {n} with a long name\" mass=\"1.5kg\"\n"))
        .collect();
    let pages = sheet(&job(title.trim(), &contents), |on, wish| {
        on.high = Some(200);
        on.surroundings.overhang = true;
        on.surroundings.deck_gap = true;
        on.surroundings.handling = true;
        wish.overhang = Length::mm(40.0);
    });
    inside(&pages);
    let all = texts(&pages);
    assert!(
        all.iter()
            .any(|t| t.starts_with("A STACK 200 HIGH DOES NOT HOLD"))
    );
    assert!(all.contains(&"heavy") && all.contains(&"two to lift"));
}

#[test]
fn a_case_that_goes_on_no_pallet_and_of_unknown_contents_says_so() {
    let pages = sheet(&job("crate", ""), |_, wish| {
        wish.height = Length::mm(200.0);
        wish.rooms.clear();
    });
    inside(&pages);
    let all = texts(&pages);
    assert!(all.iter().any(|t| t.starts_with("Not one case goes on it")));
    assert!(all.iter().any(|t| t.starts_with("not known; all figures")));
    assert!(!all.contains(&"Containers and trailers"));
}
