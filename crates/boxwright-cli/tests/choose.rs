//! `choose`: proposals, their jobs, and what is refused.
#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::Place;

const STOCK: &str = include_str!("../../../examples/workshop-stock.kdl");

const THINGS: &str = include_str!("../../../examples/things.kdl");

/// Few styles and boards, so that a test is quick.
const FEW: [&str; 8] = [
    "--style",
    "slotted-case",
    "--style",
    "tray-with-lid",
    "--style",
    "mailer",
    "--board",
    "C",
];

fn with<'a>(args: &[&'a str]) -> Vec<&'a str> {
    [&["choose"], args, &FEW[..]].concat()
}

#[test]
fn proposals_come_with_reasons_and_a_job_that_is_made() {
    let p = Place::new("choose-plain");
    p.put("stock.kdl", STOCK);
    let out = p
        .run(&with(&[
            "--inside",
            "342mmx178mmx266mm",
            "--mass",
            "4.1kg",
            "--high",
            "4",
            "--humidity",
            "70%",
            "--stock",
            "stock.kdl",
            "--machine",
            "knife-table",
            "--job",
            "best.kdl",
            "--title",
            "mantel clock",
        ]))
        .ended(0)
        .out;
    for part in [
        "needed",
        "4.1 kg",
        "for ",
        "against",
        "C large",
        "take care",
        "job written",
    ] {
        assert!(out.contains(part), "{part}:\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let job = String::from_utf8(p.read("best.kdl")).unwrap();
    for part in [
        "mantel clock",
        "crease \"wheel\"",
        "mass=\"4.1kg\"",
        "sheet ",
        "bed ",
    ] {
        assert!(job.contains(part), "{part}:\n{job}");
    }
    p.run(&["make", "best.kdl", "--only", "report", "--out", "o"])
        .ended(0);
    // It is never written over.
    let args = ["--inside", "342mmx178mmx266mm", "--job", "best.kdl"];
    let said = p.run(&with(&args)).ended(2);
    assert!(said.err.contains("already there"), "{}", said.err);
}

#[test]
fn every_candidate_is_in_the_json() {
    let p = Place::new("choose-json");
    let out = p
        .run(&with(&[
            "job.kdl",
            "--json",
            "--by",
            "stack",
            "--without",
            "tape",
        ]))
        .ended(0)
        .out;
    let said: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(said["format"], "boxwright-proposals");
    assert_eq!(said["title"], "clock weights");
    assert_eq!(said["candidates"], 3);
    let left = said["left-out"].as_array().unwrap();
    let left_out: u64 = left.iter().map(|l| l["candidates"].as_u64().unwrap()).sum();
    let shown = said["proposals"].as_array().unwrap();
    let further = said["further"].as_u64().unwrap();
    assert_eq!(left_out + further + shown.len() as u64, 3);
    assert!(left.iter().any(|l| l["code"] == "closing"));
    for proposal in shown {
        assert_ne!(proposal["style"], "slotted-case");
        assert!(!proposal["for"].as_array().unwrap().is_empty());
        assert!(proposal["strength"]["least"].as_f64().unwrap() > 0.0);
    }
}

#[test]
fn the_taken_job_may_be_printed_alone() {
    let p = Place::new("choose-take");
    let args = ["job.kdl", "--job", "-", "--take", "2"];
    let second = p.run(&with(&args)).ended(0).out;
    assert!(second.starts_with("job \"clock weights\""), "{second}");
    p.run_with(&["check", "-"], second.as_bytes()).ended(0);
    let first = p.run(&with(&["job.kdl", "--job", "-"])).ended(0).out;
    assert_ne!(first, second);
    let none = p
        .run(&with(&["job.kdl", "--job", "-", "--take", "9", "--json"]))
        .ended(2);
    assert_eq!(none.said()["diagnostics"][0]["code"], "no-proposal");
}

#[test]
fn nothing_that_would_do_is_a_failure_with_reasons() {
    let p = Place::new("choose-none");
    let out = p
        .run(&with(&[
            "--inside",
            "342mmx178mmx266mm",
            "--sheet",
            "300mmx300mm",
        ]))
        .ended(1)
        .out;
    assert!(out.contains("none of them would do"), "{out}");
    assert!(out.contains("does not fit any sheet"), "{out}");
    let all = p
        .run(&with(&[
            "--inside",
            "342mmx178mmx266mm",
            "--sheet",
            "300mmx300mm",
            "--all",
        ]))
        .ended(1)
        .out;
    assert!(all.contains("- slotted-case in C"), "{all}");
}

#[test]
fn what_a_job_says_of_one_style_is_left_aside_and_told() {
    let p = Place::new("choose-aside");
    let text = r#"job "a" {
    style "slotted-case"
    inside length="230mm" width="140mm" depth="80mm"
    board "C"
    set "gap" "3mm"
    contents "weights" mass="3kg" count=2 fragile=60
}
"#;
    p.put("set.kdl", text);
    let ran = p.run(&with(&["set.kdl"])).ended(0);
    assert!(ran.err.contains("left aside"), "{}", ran.err);
    assert!(ran.out.contains("6 kg go in"), "{}", ran.out);
    assert!(ran.out.contains("fragile"), "{}", ran.out);
}

/// The six things of the demo workshop: whatever is chosen for each is made into a case that passes.
#[test]
fn each_thing_of_the_workshop_gets_a_case_that_is_made() {
    let p = Place::new("choose-things");
    p.put("things.kdl", THINGS);
    let names: Vec<&str> = THINGS
        .lines()
        .filter_map(|l| l.strip_prefix("thing \"")?.split('"').next())
        .collect();
    assert_eq!(names.len(), 6);
    for (n, name) in names.into_iter().enumerate() {
        let job = format!("{n}.kdl");
        p.run(&[
            "choose",
            "things.kdl",
            "--thing",
            name,
            "--top",
            "1",
            "--job",
            &job,
        ])
        .ended(0);
        let text = String::from_utf8(p.read(&job)).unwrap();
        assert!(
            text.contains(&format!("contents \"{name}\" mass=")),
            "{text}"
        );
        let made = p
            .run(&[
                "make",
                &job,
                "--only",
                "report",
                "--json",
                "--out",
                &format!("out-{n}"),
            ])
            .ended(0);
        let report: serde_json::Value = serde_json::from_str(&made.out).unwrap();
        let findings = report["findings"].as_array().unwrap();
        assert!(!findings.is_empty());
        assert!(
            findings.iter().all(|f| f["verdict"] != "fail"),
            "{name}: {report}"
        );
    }
}

#[test]
fn things_may_go_together_and_sizes_may_be_ranked_as_packed_cases() {
    let p = Place::new("choose-together");
    p.put("things.kdl", THINGS);
    let two = [
        "things.kdl",
        "--thing",
        "movement",
        "--thing",
        "dials and hands",
    ];
    let out = p
        .run(&with(&[&two[..], &["--sizes", "3"]].concat()))
        .ended(0)
        .out;
    assert!(out.contains("2.4 kg go in"), "{out}");
    for by in ["parcel", "pallet", "stack"] {
        let said = p
            .run(&[&["size"], &two[..], &["--by", by, "--json"]].concat())
            .ended(0)
            .out;
        let said: serde_json::Value = serde_json::from_str(&said).unwrap();
        assert_eq!(said["ranked"], by);
        let list = said["sets"][0]["list"].as_array().unwrap();
        // What ranks them is the last reason of each.
        let figure = |p: &serde_json::Value| {
            let told = p["reasons"].as_array().unwrap().last().unwrap();
            let told = told
                .as_str()
                .unwrap()
                .split(": ")
                .nth(1)
                .unwrap()
                .to_owned();
            let told = told
                .split("for ")
                .last()
                .unwrap()
                .split("charged")
                .next()
                .unwrap()
                .to_owned();
            let digits = told.split(|c: char| !c.is_ascii_digit() && c != '.');
            digits.filter_map(|d| d.parse::<f64>().ok()).next().unwrap()
        };
        for pair in list.windows(2) {
            let (a, b) = (figure(&pair[0]), figure(&pair[1]));
            let right = match by {
                "parcel" => a <= b,
                "pallet" => a >= b,
                _ => a >= 0.94 * b,
            };
            assert!(right, "{by}: {a} {b}");
        }
    }
    let none = p
        .run(&["choose", "things.kdl", "--thing", "moovement", "--json"])
        .ended(2);
    assert_eq!(none.said()["diagnostics"][0]["code"], "unknown-name");
    let job = p
        .run(&["choose", "job.kdl", "--thing", "movement", "--json"])
        .ended(2);
    assert_eq!(job.said()["diagnostics"][0]["code"], "no-things");
}

#[test]
fn bad_input_is_told_where_it_is() {
    let p = Place::new("choose-bad");
    p.put("broken.kdl", "job \"a\" {");
    p.put("empty.kdl", "");
    let good = "300mmx200mmx150mm";
    let wrong: Vec<(Vec<&str>, &str)> = vec![
        (vec![], "usage"),
        (vec!["job.kdl", "--inside", good], "usage"),
        (vec!["--inside", "300mmx200mm"], "usage"),
        (vec!["--inside", "300x200x150"], "wrong-unit"),
        (vec!["--inside", "0mmx200mmx150mm"], "not-positive"),
        (vec!["--inside", "30000mmx200mmx150mm"], "too-large"),
        (vec!["--inside", "nanxnanxnan"], "unknown-name"),
        (vec!["--inside", good, "--mass", "4"], "wrong-unit"),
        (vec!["--inside", good, "--mass", "0kg"], "out-of-range"),
        (vec!["--inside", good, "--humidity", "180%"], "out-of-range"),
        (vec!["--inside", good, "--days=-1"], "usage"),
        (vec!["--inside", good, "--high", "0"], "usage"),
        (vec!["--inside", good, "--by", "luck"], "usage"),
        (vec!["--inside", good, "--board", "Q"], "unknown-board"),
        (
            vec!["--inside", good, "--style", "sloted-case"],
            "unknown-style",
        ),
        (vec!["--inside", good, "--style", "none.kdl"], "no-file"),
        (
            vec!["--inside", good, "--machine", "none"],
            "unknown-machine",
        ),
        (vec!["--inside", good, "--stock", "none.kdl"], "no-file"),
        (vec!["--inside", good, "--bed", "0mmx10mm"], "out-of-range"),
        (vec!["--inside", good, "--take", "2"], "usage"),
        (vec!["--inside", good, "--pallet", "none"], "unknown-pallet"),
        (
            vec!["--inside", good, "--by", "pallet", "--pallet-height", "9m"],
            "out-of-range",
        ),
        (vec!["--inside", good, "--thing", "a"], "usage"),
        (vec!["--inside", good, "--title", " "], "missing"),
        (vec!["none.kdl"], "no-file"),
        (vec!["empty.kdl"], "empty"),
    ];
    for (args, code) in wrong {
        let ran = p.run(&[&["choose", "--json"], &args[..]].concat()).ended(2);
        assert!(ran.out.is_empty(), "{args:?}");
        let said = ran.said();
        let codes: Vec<_> = said["diagnostics"].as_array().unwrap().iter().collect();
        assert!(codes.iter().any(|d| d["code"] == code), "{args:?}: {said}");
    }
    let broken = p.run(&["choose", "broken.kdl"]).ended(2);
    assert!(broken.err.contains("broken.kdl"), "{}", broken.err);
}
