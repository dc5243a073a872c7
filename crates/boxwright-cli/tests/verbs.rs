//! `new`, `list`, `completions`, `man`, `help`.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use support::Place;

fn styles(p: &Place) -> Vec<String> {
    let out = p.run(&["list", "styles"]).ended(0).out;
    out.lines()
        .skip(1)
        .filter(|l| !l.starts_with(' '))
        .map(|l| l.split_whitespace().next().unwrap().to_owned())
        .collect()
}

#[test]
fn a_new_job_of_every_style_is_made_as_it_stands() {
    let p = Place::new("new");
    let styles = styles(&p);
    assert!(styles.contains(&"slotted-case".to_owned()), "{styles:?}");
    for style in styles {
        p.run(&["new", &style]).ended(0);
        let job = format!("{style}-job.kdl");
        let text = String::from_utf8(p.read(&job)).unwrap();
        assert!(
            text.lines().all(|l| l.chars().count() <= 120),
            "{style}:\n{text}"
        );
        let out = format!("out-{style}");
        p.run(&["make", &job, "--only", "report", "--out", &out])
            .ended(0);
        // Every default, written out as the notes have it, changes nothing.
        let all = text.replace("// set ", "set ");
        assert!(all.contains("\n    set "), "{all}");
        let set = p
            .run_with(&["check", "-", "--json"], all.as_bytes())
            .ended(0);
        let set: serde_json::Value = serde_json::from_str(&set.out).unwrap();
        let names = p.names(&out);
        let made = p.json(&format!("{out}/{}", names[0]));
        assert_eq!(set["pieces"], made["pieces"], "{style}");
    }
}

#[test]
fn new_never_writes_over_a_file() {
    let p = Place::new("never");
    let ran = p.run(&["new", "slotted-case", "--out", "job.kdl"]).ended(2);
    assert!(ran.err.contains("already-there"), "{}", ran.err);
    assert_eq!(p.read("job.kdl"), support::JOB.as_bytes());
    let ran = p.run(&["new", "slotted-case", "--out", "-"]).ended(0);
    assert!(ran.out.starts_with("// A job"), "{}", ran.out);
    assert_eq!(p.names(""), ["job.kdl"]);
    p.run(&["new", "slotted-case", "--out", "no/such/job.kdl"])
        .ended(2);
    let ran = p.run(&["new", "sloted-case"]).ended(2);
    assert!(
        ran.err.contains("did you mean `slotted-case`"),
        "{}",
        ran.err
    );
}

#[test]
fn new_takes_a_style_file() {
    let p = Place::new("own");
    let own = p
        .run(&["list", "--show", "slotted-case", "--file"])
        .ended(0);
    p.put("own.kdl", own.out.replace("\"slotted-case\"", "\"own\""));
    std::fs::create_dir(p.0.join("jobs")).unwrap();
    for out in ["own-job.kdl", "jobs/own.kdl"] {
        p.run(&["new", "own.kdl", "--out", out]).ended(0);
        p.run(&["check", out]).ended(0);
    }
}

#[test]
fn lists_show_what_there_is() {
    let p = Place::new("list");
    let all = p.run(&["list"]).ended(0).out;
    assert!(all.contains("slotted-case") && all.contains("double wall"));
    let board = p
        .run(&["list", "boards", "--show", "B", "--units", "in"])
        .ended(0)
        .out;
    assert!(board.contains("0.126 in"), "{board}");
    let style = p.run(&["list", "--show", "slotted-case"]).ended(0).out;
    assert!(style.contains("lap-taper") && style.contains("stage 1"));
    assert!(
        all.contains("bench-laser") && all.contains("1600 x 1200 mm"),
        "{all}"
    );
    let machine = p
        .run(&["list", "machines", "--show", "bench-laser"])
        .ended(0)
        .out;
    for word in [
        "600 x 400 mm",
        "0.128 J/mm",
        "kerf 0.16 mm",
        "lasertinkerer.com",
        "caution",
    ] {
        assert!(machine.contains(word), "{word}: {machine}");
    }
    // Every figure comes with its origin.
    let rows = machine.split("where it comes from").nth(1).unwrap().lines();
    assert!(rows.filter(|l| l.contains(": ")).count() > 20, "{machine}");
    let file = p
        .run(&["list", "machines", "--show", "knife-table", "--file"])
        .ended(0)
        .out;
    assert!(file.starts_with("machine \"knife-table\" {"));
    for text in [&all, &board, &style, &machine] {
        assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    }
    let ran = p.run(&["list", "boards", "--show", "BCC"]).ended(2);
    assert!(ran.err.contains("unknown-board"), "{}", ran.err);
    let ran = p
        .run(&["list", "machines", "--show", "bench-lazer"])
        .ended(2);
    assert!(
        ran.err.contains("did you mean `bench-laser`"),
        "{}",
        ran.err
    );
}

#[test]
fn completions_manual_and_help_are_printed() {
    let p = Place::new("print");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let out = p.run(&["completions", shell]).ended(0).out;
        assert!(out.contains("dxf-version"), "{shell}");
    }
    let man = p.run(&["man"]).ended(0).out;
    for word in [".TH boxwright 1", "EXIT STATUS", "axis", ".SH \"MAKE\""] {
        assert!(man.contains(word), "{word}");
    }
    assert!(p.run(&["help"]).ended(0).out.contains("Exit status"));
    assert!(p.run(&["--version"]).ended(0).out.starts_with("boxwright "));
}
