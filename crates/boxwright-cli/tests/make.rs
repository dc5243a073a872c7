//! `make` and `check`: statuses, files, overriding.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use std::fs;

use support::{JOB, Place};

/// Flat, `over` lies on `back`.
const OVERLAPPING: &str = r#"style "knot" {
    title "Knot"
    purpose "flat, two of its panels need the same board"
    piece "body" flutes="left-right" {
        panel "base" reach="width" breadth="length" {
            panel "back" on="far" reach="depth"
            panel "side" on="right" reach="depth" {
                panel "up" on="left" reach="depth" {
                    panel "over" on="left" reach="depth"
                }
            }
        }
    }
    room on="base" breadth="length" reach="width" rise="depth"
    stage "Fold" "Fold it." { turn "back" "side" "up" "over"; }
}
"#;

#[test]
fn a_good_job_ends_with_0_and_all_files() {
    let p = Place::new("good");
    let ran = p.run(&["make", "job.kdl"]).ended(0);
    assert_eq!(
        p.names("out/clock-weights"),
        [
            "clock-weights-body-drawing.pdf",
            "clock-weights-body-tiles-a4.pdf",
            "clock-weights-body-true-size.pdf",
            "clock-weights-body.dxf",
            "clock-weights-body.svg",
            "clock-weights-fold.pdf",
            "clock-weights-preview.png",
            "clock-weights-report.json",
            "clock-weights.glb",
        ]
    );
    for word in [
        "230 x 140 x 80 mm found",
        "verdict      pass",
        "fire",
        "clock-weights.glb",
    ] {
        assert!(ran.out.contains(word), "{word} in:\n{}", ran.out);
    }
    assert!(ran.out.lines().all(|l| l.chars().count() <= 100));
    assert!(!ran.out.contains('\u{1b}'));
    assert_eq!(ran.err, "");
    let report = p.json("out/clock-weights/clock-weights-report.json");
    let mut files: Vec<&str> = report["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f.as_str().unwrap())
        .collect();
    assert_eq!(files.last(), Some(&"clock-weights-report.json"));
    files.sort_unstable();
    assert_eq!(files, p.names("out/clock-weights"));
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let p = Place::new("same");
    p.run(&["make", "job.kdl", "--out", "one"]).ended(0);
    p.run_with(&["make", "-", "--out", "two"], JOB.as_bytes())
        .ended(0);
    let names = p.names("one");
    assert_eq!(names, p.names("two"));
    for n in names {
        assert!(
            p.read(&format!("one/{n}")) == p.read(&format!("two/{n}")),
            "{n}"
        );
    }
}

#[test]
fn a_failed_check_ends_with_1_and_still_writes() {
    let p = Place::new("failed");
    let ran = p
        .run(&["make", "job.kdl", "--set", "step=0mm", "--out", "o"])
        .ended(1);
    assert!(ran.out.contains("FAIL"), "{}", ran.out);
    assert!(ran.out.contains("cure: "), "{}", ran.out);
    assert_eq!(p.names("o").len(), 9);
    let report = p.json("o/clock-weights-report.json");
    assert_eq!(report["verdict"], "fail");
    let worst = &report["findings"][0];
    assert_eq!(worst["verdict"], "fail");
    assert!(
        (worst["measured"]["value"].as_f64().unwrap() - 4.0).abs() < 1e-6,
        "{worst}"
    );
}

#[test]
fn a_blank_that_is_not_sound_writes_nothing_and_says_so() {
    let p = Place::new("unsound");
    p.put("knot.kdl", OVERLAPPING);
    p.put("job.kdl", JOB.replace("slotted-case", "knot.kdl"));
    let ran = p.run(&["make", "job.kdl"]).ended(1);
    assert!(ran.out.contains("flat-overlap"), "{}", ran.out);
    assert!(ran.out.contains("none written"), "{}", ran.out);
    assert!(p.names("out").is_empty());
    let ran = p.run(&["check", "job.kdl", "--json"]).ended(1);
    let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert!(report["room"]["found"].is_null());
    assert_eq!(report["room"]["max"][0], 230.0);
}

#[test]
fn check_writes_nothing() {
    let p = Place::new("check");
    p.run(&["check", "job.kdl"]).ended(0);
    assert_eq!(p.names(""), ["job.kdl"]);
}

#[test]
fn the_command_line_overrides_the_job() {
    let p = Place::new("override");
    let ran = p.run(&[
        "check",
        "job.kdl",
        "--json",
        "--set",
        "depth=80.5mm",
        "--set",
        "length=10in",
        "--set",
        "gap=t / 2",
        "--set",
        "joint=taped",
        "--board",
        "BC",
        "--crease",
        "hand",
        "--caliper",
        "6.5mm",
        "--axis-depth",
        "0.1,0.2",
    ]);
    // Whether so odd a case passes is no matter here.
    assert_ne!(ran.status, 2, "{}", ran.err);
    let r: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(r["format"], "boxwright-report");
    assert_eq!(r["version"], 1);
    assert_eq!(r["inside"]["depth"], 80.5);
    assert_eq!(r["inside"]["length"], 254.0);
    assert_eq!(r["board"]["name"], "BC");
    assert_eq!(r["board"]["caliper"], 6.5);
    assert_eq!(r["creasing"], "hand");
    assert_eq!(r["axis_depth"]["across"], 0.2);
    let parameter = |name: &str| {
        let all = r["parameters"].as_array().unwrap();
        all.iter().find(|p| p["name"] == name).unwrap().clone()
    };
    assert_eq!(parameter("gap")["value"], 3.25);
    assert_eq!(parameter("gap")["set"], true);
    assert_eq!(parameter("joint")["value"], "taped");
    assert_eq!(parameter("slot")["set"], false);
}

#[test]
fn numbers_of_the_report_can_be_read_back() {
    let p = Place::new("numbers");
    let args = ["check", "job.kdl", "--json", "--set", "depth=80.1mm"];
    let out = p.run(&args).ended(0).out;
    let read: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(serde_json::to_string_pretty(&read).unwrap() + "\n", out);
}

#[test]
fn only_the_kinds_asked_for_are_written() {
    let p = Place::new("only");
    p.run(&["make", "job.kdl", "--only", "svg,report", "--out", "o"])
        .ended(0);
    assert_eq!(
        p.names("o"),
        ["clock-weights-body.svg", "clock-weights-report.json"]
    );
    let ran = p
        .run(&["make", "job.kdl", "--only", "glb", "--out", "o2"])
        .ended(0);
    assert!(!ran.out.contains("laser"), "{}", ran.out);
}

#[test]
fn a_stage_changes_the_solid_and_an_unknown_one_is_refused() {
    let p = Place::new("stage");
    for (stage, out) in [("0", "flat"), ("2", "walls")] {
        p.run(&[
            "make", "job.kdl", "--only", "glb", "--stage", stage, "--out", out,
        ])
        .ended(0);
    }
    assert!(p.read("flat/clock-weights.glb") != p.read("walls/clock-weights.glb"));
    let ran = p
        .run(&["make", "job.kdl", "--stage", "99", "--out", "none"])
        .ended(2);
    assert!(ran.err.contains("unknown-stage"), "{}", ran.err);
    assert!(ran.err.contains("1 bend the lap"), "{}", ran.err);
    assert!(p.names("none").is_empty());
}

#[test]
fn dxf_follows_its_options() {
    let p = Place::new("dxf");
    p.run(&[
        "make",
        "job.kdl",
        "--only",
        "dxf",
        "--dxf-version",
        "r12",
        "--layer",
        "cut=knife:1:dotted",
        "--layer",
        "board=off",
        "--out",
        "o",
    ])
    .ended(0);
    let text = String::from_utf8(p.read("o/clock-weights-body.dxf")).unwrap();
    assert!(text.contains("AC1009"));
    assert!(text.lines().any(|l| l == "knife"));
    assert!(!text.lines().any(|l| l == "cut" || l == "board"));
}

#[test]
fn lengths_are_shown_in_inches_when_asked() {
    let p = Place::new("inches");
    let ran = p
        .run(&[
            "check",
            "job.kdl",
            "--units",
            "in",
            "--set",
            "length=10-1/2in",
        ])
        .ended(0);
    assert!(ran.out.contains("10.5 x 5.512 x 3.15 in"), "{}", ran.out);
}

#[test]
fn the_title_cannot_lead_out_of_the_folder() {
    let p = Place::new("title");
    p.put("job.kdl", JOB.replace("clock weights", "../../up"));
    p.run(&["make", "job.kdl", "--only", "svg"]).ended(0);
    assert_eq!(p.names("out/up"), ["up-body.svg"]);
}

#[test]
fn a_folder_that_cannot_be_written_leaves_nothing() {
    let p = Place::new("unwritable");
    for out in ["job.kdl", "job.kdl/below"] {
        let ran = p.run(&["make", "job.kdl", "--out", out]).ended(2);
        assert!(ran.err.contains("cannot-write"), "{}", ran.err);
        assert!(ran.err.contains(out), "{}", ran.err);
    }
    // One name is taken by a folder: none of the files appears, and no new folder stays.
    fs::create_dir_all(p.0.join("o/clock-weights.glb")).unwrap();
    p.run(&["make", "job.kdl", "--out", "o"]).ended(2);
    assert_eq!(p.names("o"), ["clock-weights.glb"]);
    assert_eq!(p.names(""), ["job.kdl", "o"]);
    assert_eq!(p.read("job.kdl"), JOB.as_bytes());
}

#[test]
fn what_a_killed_run_left_behind_is_cleared() {
    let p = Place::new("killed");
    fs::create_dir(p.0.join("o")).unwrap();
    p.put("o/.boxwright-1-0.part", "half");
    p.put("o/.keep", "mine");
    p.run(&["make", "job.kdl", "--only", "svg", "--out", "o"])
        .ended(0);
    assert_eq!(p.names("o"), [".keep", "clock-weights-body.svg"]);
}

#[test]
fn a_case_past_any_page_is_made_without_that_page() {
    let p = Place::new("huge");
    let ran = p.run(&[
        "make",
        "job.kdl",
        "--set",
        "length=2.5m",
        "--set",
        "width=2m",
        "--set",
        "depth=2m",
        "--out",
        "o",
    ]);
    assert_ne!(ran.status, 2, "{}", ran.err);
    assert!(ran.err.contains("left-out"), "{}", ran.err);
    let names = p.names("o");
    assert!(!names.iter().any(|n| n.contains("true-size")), "{names:?}");
    assert!(names.iter().any(|n| n.ends_with(".dxf")), "{names:?}");
}

#[test]
fn boards_and_styles_are_found_from_the_job_folder() {
    let p = Place::new("beside");
    fs::create_dir(p.0.join("jobs")).unwrap();
    let style = p.run(&["list", "styles", "--show", "slotted-case", "--file"]);
    p.put("jobs/own.kdl", style.ended(0).out);
    let board = p.run(&["list", "boards", "--show", "C", "--file"]);
    p.put(
        "jobs/shop.kdl",
        board.ended(0).out.replace("\"C\" {", "\"shop\" {"),
    );
    let job = JOB
        .replace("\"slotted-case\"", "\"own.kdl\"")
        .replace("board \"C\"", "board \"shop\"\n    board-file \"shop.kdl\"");
    p.put("jobs/job.kdl", &job);
    let ran = p.run(&["check", "jobs/job.kdl"]).ended(0);
    assert!(ran.out.contains("shop, 4 mm"), "{}", ran.out);
    // From standard input they count from the current folder.
    let ran = p.run_with(&["check", "-"], job.as_bytes()).ended(2);
    assert!(ran.err.contains("no-file"), "{}", ran.err);
}
