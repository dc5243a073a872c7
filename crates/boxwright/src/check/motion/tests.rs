use super::*;
use crate::brief::brief;
use crate::check::scene::solids;
use crate::check::solid::apart;
use crate::job::parse_job;
use crate::source::{Door, Shipped, Text};
use crate::style::parse_style;

/// The deepest penetration at every share of the grid.
fn tried_everywhere(m: &Movers<'_, '_>, a: (PanelRef, &[Solid]), b: (PanelRef, &[Solid])) -> f64 {
    let mut deepest = 0.0f64;
    for tick in (0..=TICKS).step_by(256) {
        let frames = m.at(tick);
        let (fa, fb) = (frames[a.0.piece][a.0.panel], frames[b.0.piece][b.0.panel]);
        for x in a.1 {
            for y in b.1 {
                deepest = deepest.max(-apart(x, fa, y, fb, 0.0).gap);
            }
        }
    }
    deepest
}

/// What is shipped, with one wording in place of another.
struct Altered<'a>(&'a str, &'a str);

impl Altered<'_> {
    fn of(&self, text: Text) -> Text {
        Text {
            text: text.text.replace(self.0, self.1),
            ..text
        }
    }
}

impl Door for Altered<'_> {
    fn style(&self, name: &str) -> Option<Text> {
        Shipped.style(name).map(|t| self.of(t))
    }
    fn boards(&self) -> Vec<Text> {
        Shipped.boards()
    }
    fn style_names(&self) -> Vec<String> {
        Shipped.style_names()
    }
    fn kit(&self, name: &str, from: &str) -> Option<Text> {
        Shipped.kit(name, from).map(|t| self.of(t))
    }
}

/// What is found by stepping is what is found by trying everywhere, in a style altered so that
/// panels do run into each other.
fn steps_miss_nothing(style: &str, alter: (&str, &str), job: &str) -> usize {
    let text = Shipped.style(style).unwrap();
    let altered = Altered(alter.0, alter.1);
    let own = [text.text.as_str()].map(str::to_owned).into_iter();
    let kits = Shipped.kit_names().into_iter();
    let mut all = own.chain(kits.filter_map(|k| Some(Shipped.kit(&k, "")?.text)));
    assert!(all.any(|t| t.contains(alter.0)), "{}", alter.0);
    let text = altered.of(text);
    let job = parse_job(&Text {
        name: "job".into(),
        text: format!("job \"a\" {{\n style \"{style}\"\n board \"C\"\n {job}\n}}"),
    })
    .unwrap();
    let mut b = brief(job, &Shipped).unwrap();
    b.style = std::sync::Arc::new(parse_style(&text, &altered).unwrap());
    let plan = b.plan().unwrap().validated().unwrap();
    let folder = Folder::new(&plan);
    let solids = solids(&folder);
    let caliper = b.material.caliper.to_mm();
    let mut hits = 0;
    for stage in 1..=plan.stages.len() {
        let m = Movers::new(&folder, stage);
        let all = m.all();
        for (i, a) in all.iter().enumerate() {
            for b in &all[i + 1..] {
                let courses: Vec<Course> = (0..m.spans.len())
                    .map(|span| m.course(*a, *b, span))
                    .collect();
                if related(&plan, *a, *b)
                    || (a.piece != b.piece && (m.waits(a.piece) || m.waits(b.piece)))
                    || courses.iter().all(|c| c.speed <= 0.0)
                {
                    continue;
                }
                let a = (*a, &solids[a.piece][a.panel][..]);
                let b = (*b, &solids[b.piece][b.panel][..]);
                let found = advance(&m, a, b, &courses, caliper).map_or(0.0, |h| h.depth);
                let tried = tried_everywhere(&m, a, b);
                hits += usize::from(tried > 0.1);
                assert!(
                    (found - tried).abs() <= caliper / 6.0 + 1e-4,
                    "stage {stage}, {} and {}: {found} by steps, {tried} by trying",
                    plan.name(a.0),
                    plan.name(b.0)
                );
                // Nothing found means nothing there.
                assert!(found > 0.0 || tried <= caliper / 6.0, "missed {tried}");
            }
        }
    }
    hits
}

#[test]
fn slotted_case_with_flaps_that_cross() {
    let hits = steps_miss_nothing(
        "slotted-case",
        ("max=\"(width - gap) / 2\"", "max=\"width\""),
        "inside length=\"150mm\" width=\"100mm\" depth=\"76mm\"\n set \"outer-flap\" \"70mm\"\n set \"step\" \"1mm\"",
    );
    assert!(hits > 4, "{hits}");
}

#[test]
fn mailer_rolled_on_both_sides_at_once() {
    let hits = steps_miss_nothing(
        "mailer",
        ("57deg", "10deg"),
        "inside length=\"150mm\" width=\"130mm\" depth=\"120mm\"",
    );
    assert!(hits > 1, "{hits}");
}
