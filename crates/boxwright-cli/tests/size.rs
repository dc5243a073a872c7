//! `size` on the command line.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::Place;

const THINGS: &str = include_str!("../../../examples/things.kdl");
const DOCS: &str = include_str!("../../../docs/contents.md");

#[test]
fn every_thing_of_the_workshop_gets_a_case_that_passes() {
    let p = Place::new("size-each");
    p.put("things.kdl", THINGS);
    let args = [
        "size",
        "things.kdl",
        "--each",
        "--job",
        "jobs",
        "--out",
        "pictures",
    ];
    let out = p.run(&args).ended(0).out;
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let names = p.names("jobs");
    let wanted = [
        "2-x-brass-weight.kdl",
        "dials-and-hands.kdl",
        "glass-dome.kdl",
        "mantel-clock.kdl",
        "movement.kdl",
        "pendulum.kdl",
    ];
    assert_eq!(names, wanted);
    assert_eq!(p.names("pictures").len(), 6);
    for name in names {
        p.run(&["check", &format!("jobs/{name}")]).ended(0);
    }
    // Nothing is written over.
    let err = p.run(&args).ended(2).err;
    assert!(err.contains("already-there"), "{err}");
}

#[test]
fn figures_stand_beside_what_they_give() {
    let p = Place::new("size-words");
    p.put("things.kdl", THINGS);
    let args = [
        "size",
        "things.kdl",
        "--thing",
        "mantel clock",
        "--room",
        "0mm",
    ];
    let out = p.run(&args).ended(0).out;
    for wanted in [
        "57 mm on every side",
        "3.861 m/s",
        "426 x 262 x 350 mm",
        "moderately delicate",
        "delicate",
        "length 426 mm: 57 + 312 mantel clock, its length + 57",
        "proved",
    ] {
        let missing = wanted == "moderately delicate";
        assert_eq!(out.contains(wanted), !missing, "{wanted}\n{out}");
    }
    // 3.5 x 610 / 40 = 53.375, rounded up.
    let more = ["--drop", "610mm", "--cushion-factor", "3.5"];
    let out = p.run(&[&args[..], &more[..]].concat()).ended(0).out;
    assert!(out.contains("54 mm on every side"), "{out}");
}

#[test]
fn the_usual_factor_is_warned_of() {
    let p = Place::new("size-factor");
    let text = THINGS.replace("cushion factor=3\n", "");
    p.put("things.kdl", text);
    let ran = p.run(&["size", "things.kdl", "--each"]).ended(0);
    assert_eq!(ran.err.matches("usual-factor").count(), 1, "{}", ran.err);
}

#[test]
fn several_things_are_arranged_and_told_as_json() {
    let p = Place::new("size-json");
    p.put("things.kdl", THINGS);
    let args = [
        "size",
        "things.kdl",
        "--thing",
        "movement",
        "--thing",
        "dials and hands",
        "--thing",
        "brass weight",
        "--json",
        "--by",
        "board",
        "--out",
        "a.svg",
    ];
    let out = p.run(&args).ended(0).out;
    let told: serde_json::Value = serde_json::from_str(&out).unwrap();
    let set = &told["sets"][0];
    let first = &set["list"][0];
    assert_eq!(first["arrangement"].as_array().unwrap().len(), 4);
    assert!((first["mass"].as_f64().unwrap() - 9.2).abs() < 1e-9);
    assert!(
        first["best_of"]
            .as_array()
            .unwrap()
            .contains(&"board".into())
    );
    let blank = |p: &serde_json::Value| p["blank"].as_f64().unwrap();
    for p in set["list"].as_array().unwrap() {
        assert!(blank(first) <= blank(p));
    }
    assert!(
        String::from_utf8(p.read("a.svg"))
            .unwrap()
            .contains("brass weight 1")
    );
    // Every field is told.
    let mut names = Vec::new();
    fields(&told, &mut names);
    for name in names {
        assert!(DOCS.contains(&format!("`{name}`")), "{name}");
    }
}

fn fields(value: &serde_json::Value, names: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (name, v) in map {
                names.push(name.clone());
                fields(v, names);
            }
        }
        serde_json::Value::Array(all) => all.iter().for_each(|v| fields(v, names)),
        _ => {}
    }
}

#[test]
fn what_is_wrong_is_told_and_nothing_written() {
    let p = Place::new("size-wrong");
    p.put("things.kdl", THINGS);
    for (args, code) in [
        (vec!["--thing", "mantle clock"], "unknown-name"),
        (
            vec!["--thing", "movement", "--thing", "movement"],
            "given-twice",
        ),
        (vec!["--drop", "760"], "wrong-unit"),
        (vec!["--drop-table", "1B"], "unknown-table"),
        (vec!["--cushion-factor", "0.2"], "out-of-range"),
        (vec!["--thing", "movement", "--out", "a.bmp"], "usage"),
        (
            vec!["--thing", "movement", "--out", "missing/a.png"],
            "cannot-write",
        ),
    ] {
        let args = [vec!["size", "things.kdl"], args].concat();
        let err = p.run(&args).ended(2).err;
        assert!(err.contains(code), "{args:?}: {err}");
    }
    assert_eq!(p.names("."), ["job.kdl", "things.kdl"]);
    p.put(
        "heavy.kdl",
        "thing \"a\" length=\"1m\" width=\"1m\" depth=\"1m\" mass=\"90kg\" fragile=40",
    );
    let err = p.run(&["size", "heavy.kdl"]).ended(2).err;
    assert!(err.contains("too-heavy"), "{err}");
}

#[test]
fn the_file_of_the_docs_is_read() {
    let p = Place::new("size-docs");
    let text = DOCS.split("```kdl").nth(1).unwrap();
    let text = text.split("```").next().unwrap();
    p.run_with(&["size", "-", "--each"], text.as_bytes())
        .ended(0);
}
