//! Text cases of the style language: `tests/cases/*.kdl`, each with its expectation inside.
//!
//! A case begins with `// === title`. Lines that follow it:
//!
//! ```text
//! // job inside=100,80,60 t=4 p=0.5          what is asked (these are the defaults)
//! // set name value                          a parameter
//! // turn a, b c                             panels turned in one stage
//! // error code at `text` says `words`       a message, the text it underlines, words in it
//! // defect code says `words`                what validation finds
//! // panel a breadth=104 reach=84            drawn sizes
//! // corners a 0,0 10,0 ...                  a panel's outline in own coordinates, from any corner
//! // bulge a 0.414214 2                      how many arcs of this bulge a panel has
//! // blank 104,84                            size of the piece
//! // area 8736                               of board, mm2
//! // cut 376 | crease 104 | slits 2          lengths in mm, a count
//! ```
//!
//! What stands below is the body of a style; a room on panel `a` is added when it has none.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

mod common;

use std::fs;
use std::path::Path;

use boxwright::blank::Plan;
use boxwright::diag::Diag;
use boxwright::source::{Shipped, Text};
use boxwright::style::parse_style;
use common::{Ask, board, panel};

struct Case {
    title: String,
    says: Vec<String>,
    body: String,
}

fn cases() -> Vec<Case> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut files: Vec<_> = fs::read_dir(dir)
        .expect("the cases")
        .map(|e| e.expect("a file").path())
        .collect();
    files.sort();
    let mut all: Vec<Case> = Vec::new();
    for file in files {
        let stem = file
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        for line in fs::read_to_string(&file).expect("a case file").lines() {
            if let Some(title) = line.strip_prefix("// === ") {
                all.push(Case {
                    title: format!("{stem}: {title}"),
                    says: Vec::new(),
                    body: String::new(),
                });
                continue;
            }
            let case = all.last_mut().expect("a file begins with a case");
            match line.strip_prefix("// ") {
                Some(word) => case.says.push(word.to_owned()),
                None => {
                    case.body.push_str(line);
                    case.body.push('\n');
                }
            }
        }
    }
    all
}

/// The rest of a line that begins with this word.
fn after<'l>(line: &'l str, word: &str) -> Option<&'l str> {
    line.strip_prefix(word)?.strip_prefix(' ')
}

fn number(text: &str) -> f64 {
    text.parse()
        .unwrap_or_else(|_| panic!("`{text}` is no number"))
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(',').map(number).collect()
}

/// The words between the first two backquotes after `key`.
fn quoted<'l>(line: &'l str, key: &str) -> Option<&'l str> {
    line.split_once(&format!(" {key} `"))?.1.split('`').next()
}

fn style_text(case: &Case) -> String {
    let mut body = case.body.clone();
    if !body.contains("\nroom ") {
        body.push_str("room on=\"a\" breadth=\"length\" reach=\"width\" rise=\"depth\"\n");
    }
    for line in &case.says {
        if let Some(names) = after(line, "turn") {
            let names: Vec<String> = names
                .split(',')
                .map(|n| format!("\"{}\"", n.trim()))
                .collect();
            body.push_str(&format!(
                "stage \"Fold\" \"Fold.\" {{\nturn {}\n}}\n",
                names.join(" ")
            ));
        }
    }
    format!("style \"case\" {{\n{body}}}\n")
}

fn draw(case: &Case, text: &str) -> Result<Plan, Vec<Diag>> {
    let text = Text {
        name: "style.kdl".into(),
        text: text.to_owned(),
    };
    let style = parse_style(&text, &Shipped)?;
    let mut ask = Ask::new(&style.into(), &board("C"), [100.0, 80.0, 60.0])
        .caliper(4.0)
        .p(0.5);
    for line in &case.says {
        for word in after(line, "job").unwrap_or("").split_whitespace() {
            let (key, value) = word.split_once('=').expect("key=value");
            match key {
                "inside" => ask.inside = numbers(value).try_into().expect("three sizes"),
                "t" => ask.caliper = Some(number(value)),
                "p" => ask = ask.p(number(value)),
                _ => panic!("a job has no {key}"),
            }
        }
        if let Some((name, value)) = after(line, "set").and_then(|s| s.split_once(' ')) {
            ask = ask.set(name, value);
        }
    }
    ask.brief()?.plan()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6
}

/// Whether the corners are these, begun anywhere.
fn same_ring(found: &[(f64, f64)], expected: &[(f64, f64)]) -> bool {
    let n = found.len();
    n == expected.len()
        && (0..n).any(|k| {
            (0..n).all(|i| {
                let (f, e) = (found[(i + k) % n], expected[i]);
                near(f.0, e.0) && near(f.1, e.1)
            })
        })
}

fn check_error(line: &str, text: &str, diags: &[Diag]) -> Result<(), String> {
    let code = line.split_whitespace().next().unwrap_or("");
    let fits = |d: &Diag| {
        d.code == code
            && quoted(line, "says").is_none_or(|w| {
                d.message.contains(w) || d.help.as_deref().is_some_and(|h| h.contains(w))
            })
            && quoted(line, "at").is_none_or(|w| {
                d.place
                    .as_ref()
                    .and_then(|p| text.get(p.start..p.end))
                    .is_some_and(|under| under.contains(w))
            })
            && d.place.is_some()
    };
    if diags.iter().any(fits) {
        Ok(())
    } else {
        Err(format!("expected {line}, got {diags:#?}"))
    }
}

fn check_drawn(line: &str, plan: &Plan) -> Result<(), String> {
    let blank = &plan.pieces[0];
    let expect = |what: &str, found: f64, expected: f64| {
        if near(found, expected) {
            Ok(())
        } else {
            Err(format!("{what}: found {found}, expected {expected}"))
        }
    };
    let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
    match word {
        "panel" => {
            let (name, sizes) = rest.split_once(" breadth=").expect("breadth=");
            let (b, r) = sizes.split_once(" reach=").expect("reach=");
            let p = panel(plan, name);
            expect(&format!("{name} breadth"), p.breadth.to_mm(), number(b))?;
            expect(&format!("{name} reach"), p.reach.to_mm(), number(r))
        }
        "corners" => {
            let mut words = rest.split_whitespace();
            let name = words.next().expect("a panel").replace('_', " ");
            let expected: Vec<(f64, f64)> = words
                .map(|w| {
                    let xy = numbers(w);
                    (xy[0], xy[1])
                })
                .collect();
            let found: Vec<(f64, f64)> = panel(plan, &name)
                .outline
                .vertices
                .iter()
                .map(|v| (v.at.x, v.at.y))
                .collect();
            if same_ring(&found, &expected) {
                Ok(())
            } else {
                Err(format!("{name}: found {found:?}, expected {expected:?}"))
            }
        }
        "bulge" => {
            let words: Vec<&str> = rest.split_whitespace().collect();
            let [name, bulge, count] = words[..] else {
                return Err("bulge takes a panel, a bulge and a count".into());
            };
            let p = panel(plan, name);
            let all = p
                .outline
                .vertices
                .iter()
                .chain(p.holes.iter().flat_map(|h| &h.vertices));
            let found = all.filter(|v| near(v.bulge, number(bulge))).count();
            if found.to_string() == count {
                Ok(())
            } else {
                Err(format!("{found} arcs of bulge {bulge}, expected {count}"))
            }
        }
        "blank" => {
            let size = numbers(rest);
            expect("length", blank.figures.length.to_mm(), size[0])?;
            expect("width", blank.figures.width.to_mm(), size[1])
        }
        "area" => expect("area", blank.figures.area.to_mm2(), number(rest)),
        "cut" => expect("cut", blank.figures.cut_length.to_mm(), number(rest)),
        "crease" => expect("crease", blank.figures.crease_length.to_mm(), number(rest)),
        "slits" => {
            if blank.slits.len().to_string() == rest {
                Ok(())
            } else {
                Err(format!("{} slits, expected {rest}", blank.slits.len()))
            }
        }
        "side" => {
            let (name, side) = rest.rsplit_once(' ').expect("a side");
            let p = panel(plan, name);
            let found = format!("{:?}", blank.creases[p.crease.expect("a crease")].side);
            if found == side {
                Ok(())
            } else {
                Err(format!("{name} folds {found}, expected {side}"))
            }
        }
        "job" | "set" | "turn" | "why" => Ok(()),
        _ => Err(format!("the test knows no `{word}`")),
    }
}

fn run(case: &Case) -> Result<(), String> {
    let text = style_text(case);
    let result = draw(case, &text);
    let errors: Vec<&str> = case.says.iter().filter_map(|l| after(l, "error")).collect();
    let defects: Vec<&str> = case
        .says
        .iter()
        .filter_map(|l| after(l, "defect"))
        .collect();
    if !errors.is_empty() {
        let Err(diags) = result else {
            return Err(format!("drawn, but expected {errors:?}"));
        };
        return errors
            .iter()
            .try_for_each(|e| check_error(e, &text, &diags));
    }
    let plan = result.map_err(|d| format!("{d:#?}"))?;
    for line in &case.says {
        if after(line, "defect").is_none() {
            check_drawn(line, &plan)?;
        }
    }
    match (plan.validated(), defects.first()) {
        (Ok(_), None) => Ok(()),
        (Ok(_), Some(d)) => Err(format!("sound, but expected {d}")),
        (Err((_, found)), Some(d)) => {
            let code = d.split_whitespace().next().unwrap_or("");
            let words = quoted(d, "says").unwrap_or("");
            if found
                .iter()
                .any(|f| f.code == code && f.message.contains(words))
            {
                Ok(())
            } else {
                Err(format!("expected {d}, got {found:?}"))
            }
        }
        (Err((_, found)), None) => Err(format!("{found:?}")),
    }
}

#[test]
fn every_case_comes_out_as_it_says() {
    let cases = cases();
    assert!(cases.len() > 40, "only {} cases were read", cases.len());
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|c| run(c).err().map(|e| format!("{}\n    {e}", c.title)))
        .collect();
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        cases.len(),
        wrong.join("\n")
    );
}
