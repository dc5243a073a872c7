//! What goes into a case: `tests/fitments/cases.kdl`, each with its expectation inside.
//!
//! A case begins with `// === title`. Lines that follow it:
//!
//! ```text
//! // style name                              the case; a slotted case if absent
//! // left NAME: BLOCK = L x W x D at X,Y,Z   what is left, in mm, in the case
//! // piece NAME L x W                        size of a blank, in mm
//! // stages ONE | TWO ...                    every stage
//! // good                                    no check fails
//! // fails CODE says WORDS                   a check that fails
//! // cure WORDS                              what one of the failures proposes
//! // error CODE at `TEXT` says WORDS         a message, the text it underlines
//! // error CODE in FILE says WORDS           a message in another file
//! // help WORDS                              what the message proposes
//! ```
//!
//! What stands below goes into a job for 342 x 178 x 266 mm in board C.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use boxwright::blank::Plan;
use boxwright::brief::{Brief, brief};
use boxwright::check::{Finding, Report, Verdict, check};
use boxwright::diag::{Diag, Outcome, Place};
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::source::{Door, Shipped, Text};

use boxwright::sweep::{Axis, CellVerdict, Sweep};
use boxwright::units::{Length, Quantity, trimmed};
use common::{Dice, failing, line};

const CASES: &str = include_str!("fitments/cases.kdl");
const STYLES: [(&str, &str); 3] = [
    ("pad.kdl", include_str!("fitments/pad.kdl")),
    ("divider.kdl", include_str!("fitments/divider.kdl")),
    ("liner.kdl", include_str!("fitments/liner.kdl")),
];

/// What is shipped, and the interior styles of this test.
struct Bench;

impl Door for Bench {
    fn style(&self, name: &str) -> Option<Text> {
        let own = STYLES.iter().find(|(n, _)| *n == name);
        let text = |(name, text): &(&str, &str)| Text {
            name: (*name).to_owned(),
            text: (*text).to_owned(),
        };
        own.map(text).or_else(|| Shipped.style(name))
    }
    fn boards(&self) -> Vec<Text> {
        Shipped.boards()
    }
    fn style_names(&self) -> Vec<String> {
        Shipped.style_names()
    }
}

fn asked(text: &str) -> Outcome<Brief> {
    let text = Text {
        name: "job.kdl".to_owned(),
        text: text.to_owned(),
    };
    brief(parse_job(&text)?, &Bench)
}

fn job(style: &str, [l, w, d]: [f64; 3], body: &str) -> String {
    format!(
        "job \"case\" {{\nstyle \"{style}\"\n\
         inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\"\nboard \"C\"\n{body}\n}}\n"
    )
}

fn checked(brief: &Brief) -> (Plan, Report) {
    let sound = brief.plan().unwrap().validated().unwrap();
    let report = check(brief, &Folder::new(&sound));
    ((*sound).clone(), report)
}

fn figures(of: impl IntoIterator<Item = f64>, between: &str) -> String {
    let all: Vec<String> = of.into_iter().map(|v| trimmed(v, 3)).collect();
    all.join(between)
}

/// Every block that is left, as the cases write it.
fn left(plan: &Plan) -> Vec<String> {
    let mut all = Vec::new();
    for f in &plan.fitments {
        for b in &f.room.leaves {
            all.push(format!(
                "{}: {} = {} at {}",
                f.name,
                b.name,
                figures(b.size.map(Length::to_mm), " x "),
                figures((0..3).map(|k| f.at[k] + b.at[k]), ",")
            ));
        }
    }
    all
}

struct Case<'a> {
    title: &'a str,
    says: Vec<&'a str>,
    body: String,
}

fn cases() -> Vec<Case<'static>> {
    let mut all: Vec<Case<'static>> = Vec::new();
    for line in CASES.lines() {
        if let Some(title) = line.strip_prefix("// === ") {
            all.push(Case {
                title,
                says: Vec::new(),
                body: String::new(),
            });
            continue;
        }
        let case = all.last_mut().expect("a title comes first");
        match line.strip_prefix("// ") {
            Some(said) => case.says.push(said),
            None => case.body.push_str(&format!("{line}\n")),
        }
    }
    all
}

fn refused(says: &[&str], text: &str, diags: &[Diag]) -> Option<String> {
    for said in says {
        if let Some(rest) = said.strip_prefix("error ") {
            let (code, rest) = rest.split_once(' ')?;
            let (at, words) = rest.split_once(" says ")?;
            let found = diags.iter().any(|d| {
                let here = d.place.as_ref().is_some_and(|p| {
                    at.strip_prefix("in ").is_some_and(|f| p.input == f)
                        || at.strip_prefix("at `").is_some_and(|t| {
                            p.input == "job.kdl" && text[p.start..p.end] == t[..t.len() - 1]
                        })
                });
                d.code == code && here && d.message.contains(words)
            });
            if !found {
                return Some(format!("no `{said}`"));
            }
        } else if let Some(words) = said.strip_prefix("help ") {
            let helps = |d: &Diag| d.help.as_ref().is_some_and(|h| h.contains(words));
            if !diags.iter().any(helps) {
                return Some(format!("no `{said}`"));
            }
        } else {
            return Some(format!("drawn is expected: `{said}`"));
        }
    }
    None
}

fn drawn(said: &str, plan: &Plan, report: &Report) -> bool {
    let fails: Vec<&Finding> = failing(report);
    match said.split_once(' ') {
        None if said == "good" => fails.is_empty(),
        Some(("left", want)) => left(plan).iter().any(|l| l == want),
        Some(("piece", want)) => plan.pieces.iter().any(|b| {
            let size = b.bounds.size();
            format!("{} {}", b.piece, figures([size.x, size.y], " x ")) == want
        }),
        Some(("stages", want)) => {
            let titles: Vec<&str> = plan.stages.iter().map(|s| s.title.as_str()).collect();
            titles.join(" | ") == want
        }
        Some(("fails", want)) => {
            let (code, words) = want.split_once(" says ").expect("code says words");
            fails
                .iter()
                .any(|f| f.code == code && f.message.contains(words))
        }
        Some(("cure", want)) => fails
            .iter()
            .any(|f| f.cure.as_ref().is_some_and(|c| c.contains(want))),
        Some(("style", _)) => true,
        _ => panic!("`{said}` is no expectation"),
    }
}

#[test]
fn cases_come_out_as_they_say() {
    let mut wrong = Vec::new();
    let mut count = 0;
    for case in cases() {
        count += 1;
        let style = case.says.iter().find_map(|s| s.strip_prefix("style "));
        let text = job(
            style.unwrap_or("slotted-case"),
            [342.0, 178.0, 266.0],
            &case.body,
        );
        match asked(&text).and_then(|b| b.plan().map(|_| b)) {
            Err(diags) => {
                if let Some(why) = refused(&case.says, &text, &diags) {
                    wrong.push(format!("{}: {why}, but {diags:#?}", case.title));
                }
            }
            Ok(brief) => {
                let (plan, report) = checked(&brief);
                for said in &case.says {
                    if said.starts_with("error") || !drawn(said, &plan, &report) {
                        let fails: Vec<String> = failing(&report).into_iter().map(line).collect();
                        let stages: Vec<&str> =
                            plan.stages.iter().map(|s| s.title.as_str()).collect();
                        wrong.push(format!(
                            "{}: not `{said}`, but {:#?} {stages:?} {fails:#?}",
                            case.title,
                            left(&plan)
                        ));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    println!("{count} cases");
}

#[test]
fn a_sweep_asks_the_fitments_anew() {
    let body = "set \"joint\" \"'taped'\"\n\
                fitment \"pad.kdl\" as=\"pad\"\n\
                fitment \"pad.kdl\" as=\"shelf\" depth=\"20mm\" z=\"depth - 120mm\"\n";
    let brief = asked(&job("slotted-case", [342.0, 178.0, 266.0], body)).unwrap();
    let place = Place {
        input: "vary".to_owned(),
        start: 0,
        end: 0,
    };
    let axis = |name: &str, from: f64, to: f64, steps: usize| {
        let ends = [from, to].map(|v| Quantity::length(Length::mm(v)));
        Axis::new(&brief.style, name, (ends[0], ends[1]), steps, &place).unwrap()
    };
    let (across, up) = (
        axis("depth", 100.0, 300.0, 3),
        axis("length", 300.0, 400.0, 2),
    );
    let sweep = Sweep::new(brief, across, up).unwrap();
    let plan = sweep.brief_at(2, 1).unwrap().plan().unwrap();
    assert_eq!(
        left(&plan),
        [
            "pad: above the pad = 400 x 178 x 296 at 0,0,4",
            "shelf: above the pad = 400 x 178 x 16 at 0,0,184"
        ]
    );
    // A shelf 120 mm under the top of a case 100 mm deep would lie under the floor.
    let shallow = sweep.cell(0, 0);
    assert_eq!(shallow.verdict, CellVerdict::Refused);
    assert_eq!(shallow.code, "outside-the-case");
    assert_eq!(sweep.cell(1, 0).verdict, CellVerdict::Pass);
}

/// What a finding says, apart from the numbers of stages and the names of pieces.
type Said = (&'static str, Verdict, Vec<String>, Option<String>);

fn said(f: &Finding) -> Said {
    let own = |n: &String| n.rsplit(": ").next().unwrap_or("").to_owned();
    let measured = f.measured.map(|m| format!("{m:?}"));
    (
        f.code,
        f.verdict,
        f.panels.iter().map(own).collect(),
        measured,
    )
}

/// Findings that hold for all panels together.
fn of_all(f: &Finding) -> bool {
    f.verdict == Verdict::Pass && matches!(f.code, "motion" | "board-in-board" | "pressed-flat")
}

#[test]
fn a_fitment_changes_nothing_that_is_found_of_the_case() {
    const ENOUGH: usize = 200;
    let styles = [
        "slotted-case",
        "half-slotted",
        "full-overlap",
        "mailer",
        "tuck-end-case",
    ];
    let interiors = ["pad.kdl", "liner.kdl", "divider.kdl"];
    let mut dice = Dice(11);
    let (mut compared, mut tried) = (0, 0);
    while compared < ENOUGH {
        tried += 1;
        assert!(
            tried < 20 * ENOUGH,
            "only {compared} of {tried} can be drawn"
        );
        let w = dice.stretched(60.0, 500.0);
        let inside = [w * dice.between(1.0, 2.5), w, w * dice.between(0.3, 1.5)];
        let style = styles[dice.below(styles.len())];
        let interior = interiors[dice.below(interiors.len())];
        let other = ["B", "C", "E", "BC"][dice.below(4)];
        let alone = asked(&job(style, inside, "")).unwrap();
        let Ok(Ok(case)) = alone.plan().map(Plan::validated) else {
            continue;
        };
        let own = job(interior, inside, "").replace("board \"C\"", &format!("board \"{other}\""));
        let own = asked(&own).unwrap();
        let Ok(Ok(fitment)) = own.plan().map(Plan::validated) else {
            continue;
        };
        let body = format!("fitment \"{interior}\" as=\"guest\" {{ board \"{other}\"; }}");
        let (plan, merged) = checked(&asked(&job(style, inside, &body)).unwrap());
        let is_guest = |n: &String| n.starts_with("guest");
        let both = |f: &&Finding| {
            let guests = f.panels.iter().filter(|n| is_guest(n)).count();
            guests > 0 && guests < f.panels.len()
        };
        // Where the two meet, or the case stands in its own room, more is said than of each alone.
        let meets = |f: &Finding| {
            f.code == "tuck" || f.code == "left-clear" && f.panels.iter().any(|n| !is_guest(n))
        };
        let skip = |code: &str| {
            let met = |f: &Finding| f.code == code && (both(&f) || meets(f));
            matches!(code, "tuck" | "left-clear") && merged.findings.iter().any(met)
        };
        let sorted = |of: Vec<&Finding>| {
            let mut all: Vec<Said> = of
                .into_iter()
                .filter(|f| !of_all(f) && !skip(f.code))
                .map(said)
                .collect();
            all.sort_by_key(|s| format!("{s:?}"));
            all
        };
        let case = check(&alone, &Folder::new(&case));
        let fitment = check(&own, &Folder::new(&fitment));
        let apart = sorted(case.findings.iter().chain(&fitment.findings).collect());
        let together = sorted(merged.findings.iter().filter(|f| !both(f)).collect());
        assert_eq!(
            together, apart,
            "{style} with {interior} in {other} at {inside:?}"
        );
        assert_eq!(case.room, merged.room);
        assert_eq!(plan.stages.last().unwrap().of, None);
        compared += 1;
    }
    println!("{compared} cases of {tried}");
}
