//! Every example of `docs/styles.md` and `docs/writing-a-style.md` is drawn and held against the figures written above it.
//!
//! The first page's own section "About the examples" says how an example states its case; `Case` below
//! reads it. A block without such a line fails the test, so no example can go unproved.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "helpers of a test; the lint knows only functions marked as tests"
)]

use std::fmt::Write as _;
use std::sync::Arc;

use boxwright::blank::{Plan, draw};
use boxwright::board::read_boards;
use boxwright::brief::{equipped, material};
use boxwright::check::{Report, Verdict, check};
use boxwright::diag::Diag;
use boxwright::expr::parse_quantity;
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::parse_style;

/// How an example is turned into a style file.
#[derive(Clone, Copy, PartialEq)]
enum Wrap {
    /// It is one.
    Whole,
    /// It stands inside the panel `base` of the sheet.
    InBase,
    /// It stands beside the sheet's own nodes.
    Beside,
}

/// One line such as `// check: 100x80x60mm board=C -> blank 220x200`.
struct Case<'a> {
    wrap: Wrap,
    ask: &'a str,
    expected: &'a str,
}

impl<'a> Case<'a> {
    fn of(line: &'a str) -> Option<Self> {
        let line = line.trim().strip_prefix("//")?.trim();
        let wraps = [
            ("check:", Wrap::Whole),
            ("in the base:", Wrap::InBase),
            ("beside the base:", Wrap::Beside),
        ];
        let (wrap, rest) = wraps
            .into_iter()
            .find_map(|(word, wrap)| Some((wrap, line.strip_prefix(word)?)))?;
        let (ask, expected) = rest.split_once("->")?;
        Some(Self {
            wrap,
            ask: ask.trim(),
            expected: expected.trim(),
        })
    }
}

/// The ```kdl blocks of a page with the line each begins on.
fn blocks(page: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    let mut open: Option<(usize, String)> = None;
    for (i, line) in page.lines().enumerate() {
        match (&mut open, line.trim()) {
            (None, "```kdl") => open = Some((i + 2, String::new())),
            (Some(_), "```") => out.extend(open.take()),
            (Some((_, text)), _) => {
                text.push_str(line);
                text.push('\n');
            }
            _ => {}
        }
    }
    assert!(open.is_none(), "a block is not closed");
    out
}

/// The sheet that fragments are put into; `folded` are the panels its one stage turns.
fn wrapped(block: &str, wrap: Wrap, folded: &[String]) -> String {
    let (inside, beside) = match wrap {
        Wrap::Whole => return block.to_owned(),
        Wrap::InBase => (block, ""),
        Wrap::Beside => ("", block),
    };
    let turn = if folded.is_empty() {
        String::new()
    } else {
        let names: Vec<String> = folded.iter().map(|n| format!("\"{n}\"")).collect();
        format!(
            "stage \"Fold\" \"Fold every crease.\" {{ turn {} }}",
            names.join(" ")
        )
    };
    format!(
        "style \"sheet\" {{
            {beside}
            piece \"sheet\" flutes=\"left-right\" {{
                panel \"base\" breadth=\"length\" reach=\"width\" {{
                    {inside}
                }}
            }}
            room on=\"base\" breadth=\"length\" reach=\"width\" rise=\"depth\"
            {turn}
        }}"
    )
}

fn job_text(ask: &str) -> String {
    let mut out = String::from("job \"example\" {\n style \"example\"\n");
    let mut board = "C";
    let mut creasing = String::new();
    for word in ask.split_whitespace() {
        match word.split_once('=') {
            None => {
                let sizes: Vec<&str> = word.trim_end_matches("mm").split('x').collect();
                let [l, w, d] = sizes[..] else {
                    panic!("`{word}` is not length x width x depth")
                };
                let _ = writeln!(
                    out,
                    " inside length=\"{l}mm\" width=\"{w}mm\" depth=\"{d}mm\""
                );
            }
            Some(("board", name)) => board = name,
            Some(("crease", way)) => creasing = format!(" \"{way}\""),
            Some(("p", share)) => {
                let _ = write!(creasing, " depth={share}");
            }
            Some(("caliper", t)) => {
                let _ = writeln!(out, " caliper \"{t}\"");
            }
            Some((name, value)) => {
                let _ = writeln!(out, " set \"{name}\" \"{value}\"");
            }
        }
    }
    let _ = write!(out, " board \"{board}\"\n crease{creasing}\n}}\n");
    out
}

/// What became of an example.
enum Outcome {
    Drawn(Box<Plan>, Report),
    Refused(Vec<Diag>),
}

fn run(block: &str, case: &Case<'_>, folded: &[String]) -> Outcome {
    let text = Text {
        name: "example".into(),
        text: wrapped(block, case.wrap, folded),
    };
    let style = match parse_style(&text, &Shipped) {
        Ok(style) => Arc::new(style),
        Err(diags) => return Outcome::Refused(diags),
    };
    let job = parse_job(&Text {
        name: "job".into(),
        text: job_text(case.ask),
    })
    .unwrap_or_else(|d| panic!("the case line makes no job: {d:#?}"));
    let boards = read_boards(&Shipped.boards()).expect("the shipped boards read");
    let board = boards
        .get(&job.board.name)
        .expect("a shipped board")
        .clone();
    let material = material(&job, &board);
    let plan = match draw(&style, &job, &material, &board.names()) {
        Ok(plan) => plan,
        Err(diags) => {
            // A fragment has no stages of its own: fold whatever is still flat.
            let never: Vec<String> = diags
                .iter()
                .filter(|d| d.code == "unfinished")
                .filter_map(|d| Some(d.message.split('`').nth(1)?.to_owned()))
                .collect();
            if case.wrap != Wrap::Whole && folded.is_empty() && never.len() == diags.len() {
                return run(block, case, &never);
            }
            return Outcome::Refused(diags);
        }
    };
    let sound = plan
        .validated()
        .unwrap_or_else(|(_, defects)| panic!("it cannot be cut: {defects:#?}"));
    let brief = equipped(job, style, board);
    let folder = Folder::new(&sound);
    let report = check(&brief, &folder);
    Outcome::Drawn(Box::new((*sound).clone()), report)
}

fn same(stated: &str, found: &[f64]) -> bool {
    let stated: Vec<f64> = stated.split('x').map(|n| n.parse().unwrap()).collect();
    stated.len() == found.len() && stated.iter().zip(found).all(|(s, f)| (s - f).abs() < 5e-4)
}

/// Holds a drawn example against one expectation.
fn holds(expected: &str, plan: &Plan, report: &Report) -> Result<(), String> {
    let (word, rest) = expected.split_once(' ').unwrap_or((expected, ""));
    let figures = |name: &str, stated: &str, found: &[f64]| {
        if same(stated, found) {
            Ok(())
        } else {
            Err(format!("{word} {name} measures {found:?}, not {stated}"))
        }
    };
    match word {
        "blank" => {
            let (name, stated) = rest.rsplit_once(' ').unwrap_or(("", rest));
            let blank = plan
                .pieces
                .iter()
                .find(|b| name.is_empty() || b.piece == name)
                .ok_or_else(|| format!("there is no piece {name}"))?;
            let f = &blank.figures;
            figures(name, stated, &[f.length.to_mm(), f.width.to_mm()])
        }
        "panel" => {
            let (name, stated) = rest.rsplit_once(' ').ok_or("a panel needs a size")?;
            let panels: Vec<_> = plan.pieces.iter().flat_map(|b| &b.panels).collect();
            let p = panels.iter().find(|p| p.name == name).ok_or_else(|| {
                let known: Vec<&str> = panels.iter().map(|p| p.name.as_str()).collect();
                format!("there is no panel {name}, only {known:?}")
            })?;
            figures(name, stated, &[p.breadth.to_mm(), p.reach.to_mm()])
        }
        "cut" => figures("lines", rest, &[plan.pieces[0].figures.cut_length.to_mm()]),
        "panels" => {
            let n: usize = plan.pieces.iter().map(|b| b.panels.len()).sum();
            if rest == n.to_string() {
                Ok(())
            } else {
                Err(format!("it has {n} panels, not {rest}"))
            }
        }
        "value" => {
            let (name, stated) = rest.split_once(' ').ok_or("a value needs a figure")?;
            let good = match (plan.values.quantity(name), parse_quantity(stated)) {
                (Some(q), Ok(want)) => q.dim == want.dim && (q.value - want.value).abs() < 1e-9,
                _ => plan.values.show(name).as_deref() == Some(stated),
            };
            let found = plan.values.show(name);
            good.then_some(())
                .ok_or_else(|| format!("{name} is {found:?}, not {stated}"))
        }
        "clear" => figures("room", rest, &report.room.map(|l| l.to_mm())),
        "passes" | "cautions" | "fails" => {
            let verdict = match word {
                "passes" => Verdict::Pass,
                "cautions" => Verdict::Caution,
                _ => Verdict::Fail,
            };
            let found: Vec<_> = report.findings.iter().filter(|f| f.code == rest).collect();
            if found.iter().any(|f| f.verdict == verdict) {
                Ok(())
            } else {
                Err(format!("{rest} does not say so: {found:#?}"))
            }
        }
        _ => Err(format!(
            "the page states `{word}`, which this test cannot hold"
        )),
    }
}

fn prove(block: &str, case: &Case<'_>) -> Result<(), String> {
    let outcome = run(block, case, &[]);
    if let Some(code) = case.expected.strip_prefix("error ") {
        return match outcome {
            Outcome::Refused(d) if d.iter().any(|d| d.code == code) => Ok(()),
            Outcome::Refused(d) => Err(format!("it is refused otherwise: {d:#?}")),
            Outcome::Drawn(..) => Err("it is drawn, though the page says it is refused".into()),
        };
    }
    let (plan, report) = match outcome {
        Outcome::Drawn(plan, report) => (plan, report),
        Outcome::Refused(d) => return Err(format!("it is refused: {d:#?}")),
    };
    for expected in case.expected.split(',') {
        holds(expected.trim(), &plan, &report)?;
    }
    // A whole style must come out as a case that works, save for what the page says fails.
    if case.wrap == Wrap::Whole {
        for f in report
            .findings
            .iter()
            .filter(|f| f.verdict == Verdict::Fail)
        {
            if !case.expected.contains(&format!("fails {}", f.code)) {
                return Err(format!("a check fails: {f:#?}"));
            }
        }
    }
    Ok(())
}

/// Every example of a page; gives how many cases there are.
fn prove_page(name: &str) -> usize {
    let path = format!("{}/../../docs/{name}", env!("CARGO_MANIFEST_DIR"));
    let page = std::fs::read_to_string(path).expect("the page is there");
    let mut wrong = String::new();
    let mut proved = 0;
    for (line, block) in blocks(&page) {
        let cases: Vec<Case<'_>> = block.lines().map_while(Case::of).collect();
        if cases.is_empty() {
            let _ = writeln!(wrong, "line {line}: no case line");
        }
        for case in &cases {
            proved += 1;
            if let Err(why) = prove(&block, case) {
                let _ = writeln!(wrong, "{name}, line {line}, `{}`: {why}", case.ask);
            }
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
    proved
}

#[test]
fn examples_of_the_style_reference_hold() {
    let proved = prove_page("styles.md");
    assert!(proved > 20, "only {proved} cases were found");
}

#[test]
fn every_step_of_the_way_to_a_style_holds() {
    let proved = prove_page("writing-a-style.md");
    assert!(proved >= 15, "only {proved} cases were found");
}

/// What the page quotes of `style check` is what comes of the steps it is quoted for.
#[test]
fn the_steps_hold_at_any_size_where_the_page_says_so() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/writing-a-style.md");
    let page = std::fs::read_to_string(path).expect("the page is there");
    let boards = read_boards(&Shipped.boards()).expect("the shipped boards read");
    let boards: Vec<_> = boards.iter().cloned().collect();
    for (line, block) in blocks(&page) {
        let text = Text {
            name: "example".into(),
            text: block.clone(),
        };
        let style = Arc::new(parse_style(&text, &Shipped).expect("proved above"));
        let mut tally = boxwright::proof::Tally::default();
        for n in 0..60 {
            tally.run(&style, &boards, 20_250_601, n);
        }
        let early = !block.contains("require ");
        assert!(early || tally.wrong.is_empty(), "line {line}: {tally:#?}");
        assert!(early || style.never_used().is_empty(), "line {line}");
    }
}
