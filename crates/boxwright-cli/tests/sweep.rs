//! `sweep` on the command line.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::Place;

const VARY: [&str; 4] = ["--vary", "width=100mm..300mm", "--vary", "depth=2in..6in"];

#[test]
fn a_sweep_prints_and_writes_its_map() {
    let p = Place::new("sweep");
    let mut args = vec!["sweep", "job.kdl", "--steps", "9,4", "--out", "o"];
    args.extend(VARY);
    let out = p.run(&args).ended(0).out;
    for wanted in [
        "across",
        "width from 100 mm to 300 mm",
        "of 36",
        "cannot be drawn",
    ] {
        assert!(out.contains(wanted), "{wanted}\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let stem = "clock-weights-sweep";
    let wanted = ["json", "png", "svg"].map(|e| format!("{stem}.{e}"));
    assert_eq!(p.names("o"), wanted);
    let json = p.json(&format!("o/{stem}.json"));
    assert_eq!(json["cells"].as_array().unwrap().len(), 36);
    assert_eq!(json["up"]["values"][3], 152.4);
    args.truncate(4);
    args.extend(VARY);
    args.push("--json");
    let printed: serde_json::Value = serde_json::from_str(&p.run(&args).ended(0).out).unwrap();
    assert_eq!(printed, json);
}

#[test]
fn what_cannot_be_swept_is_told_at_its_place() {
    let p = Place::new("sweep-wrong");
    for (vary, code) in [
        ("widht=1mm..2mm", "unknown-parameter"),
        ("joint=1mm..2mm", "not-varied"),
        ("slot=1mm..2", "wrong-unit"),
        ("slot=1mm..2mm +", "--vary slot"),
        ("depth=1mm..2mm", "given-twice"),
    ] {
        let args = [
            "sweep",
            "job.kdl",
            "--vary",
            "depth=50mm..60mm",
            "--vary",
            vary,
        ];
        let err = p.run(&args).ended(2).err;
        assert!(err.contains(code), "{vary}: {err}");
    }
    p.run(&["sweep", "job.kdl", "--vary", "depth=50mm..60mm"])
        .ended(2);
    let many = [
        "sweep", "job.kdl", VARY[0], VARY[1], VARY[2], VARY[3], "--steps", "300",
    ];
    assert!(p.run(&many).ended(2).err.contains("too-many"));
    // Nothing as wide as it is long can be drawn: no cell works.
    let none = [
        "sweep",
        "job.kdl",
        "--vary",
        "width=300mm..400mm",
        VARY[2],
        VARY[3],
        "--steps",
        "2",
    ];
    p.run(&none).ended(1);
}
