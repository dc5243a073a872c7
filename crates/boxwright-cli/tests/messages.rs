//! Messages: their place, their order, as text and as JSON; status 2.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use support::{JOB, Place};

#[test]
fn several_messages_come_in_the_order_of_their_places() {
    let p = Place::new("several");
    p.put(
        "job.kdl",
        JOB.replace("230mm", "230furlong")
            .replace("board \"C\"", "bord \"C\""),
    );
    let ran = p.run(&["make", "job.kdl"]).ended(2);
    let at = |w: &str| {
        ran.err
            .find(w)
            .unwrap_or_else(|| panic!("{w} in {}", ran.err))
    };
    assert!(at("unknown-unit") < at("job.kdl:3:"));
    assert!(at("job.kdl:3:") < at("job.kdl:4:5"));
    assert!(at("did you mean `board`") > 0);
    assert!(
        !ran.err.contains('\u{1b}'),
        "no colour where no terminal is"
    );
    assert_eq!(ran.out, "");
    assert_eq!(p.names(""), ["job.kdl"]);
}

#[test]
fn messages_as_json_have_every_field() {
    let p = Place::new("json");
    p.put("job.kdl", JOB.replace("80mm", "80"));
    let ran = p.run(&["check", "job.kdl", "--json"]).ended(2);
    assert_eq!(ran.out, "");
    let said = ran.said();
    assert_eq!(said["format"], "boxwright-diagnostics");
    assert_eq!(said["version"], 1);
    let d = &said["diagnostics"][0];
    let start = JOB.find("80mm").unwrap();
    assert_eq!(d["code"], "wrong-unit");
    assert_eq!(d["severity"], "error");
    assert_eq!(d["file"], "job.kdl");
    let column = start - JOB[..start].rfind('\n').unwrap();
    assert_eq!((&d["line"], &d["column"]), (&3.into(), &column.into()));
    assert_eq!(
        (&d["start"], &d["end"]),
        (&start.into(), &(start + 2).into())
    );
    assert!(d["message"].as_str().unwrap().contains("length"));
    assert!(d["help"].as_str().unwrap().contains("80mm"));
}

#[test]
fn usage_errors_are_messages_too() {
    let p = Place::new("usage");
    let ran = p.run(&["make", "job.kdl", "--uot", "x", "--json"]).ended(2);
    assert_eq!(ran.said()["diagnostics"][0]["code"], "usage");
    for args in [
        &["make"][..],
        &["make", "job.kdl", "--only", "dfx"],
        &["make", "job.kdl", "--layer", "cut=a:256"],
        &["make", "job.kdl", "--layer", "cutt=a"],
        &["make", "job.kdl", "--set", "depth"],
        &["make", "job.kdl", "--scale", "0"],
        &["fold"],
    ] {
        let ran = p.run(args).ended(2);
        assert!(!ran.err.is_empty());
        assert_eq!(p.names(""), ["job.kdl"]);
    }
}

#[test]
fn options_are_underlined_like_files() {
    let p = Place::new("options");
    for (args, code, at) in [
        (
            &["--set", "slopt=3mm"][..],
            "unknown-parameter",
            ("--set slopt", 1),
        ),
        (
            &["--set", "slot=t + 3deg"],
            "unit-mismatch",
            ("--set slot", 6),
        ),
        (&["--set", "depth=80"], "wrong-unit", ("--set depth", 7)),
        (&["--set", "depth=0mm"], "not-positive", ("--set depth", 7)),
        (&["--board", "Q"], "unknown-board", ("--board", 1)),
        (&["--caliper", "0mm"], "not-positive", ("--caliper", 1)),
        (
            &["--axis-depth", "0.5,2"],
            "out-of-range",
            ("--axis-depth", 5),
        ),
    ] {
        let mut all = vec!["check", "job.kdl", "--json"];
        all.extend(args);
        let said = p.run(&all).ended(2).said();
        let d = &said["diagnostics"][0];
        assert_eq!(d["code"], code, "{said}");
        assert_eq!(d["file"], at.0, "{said}");
        assert_eq!(d["column"], at.1, "{said}");
    }
}

#[test]
fn files_that_cannot_be_read_are_one_message_each() {
    let p = Place::new("files");
    let mut spoilt = JOB.as_bytes().to_vec();
    spoilt[5] = 0xff;
    p.put("spoilt.kdl", &spoilt);
    p.put("long.kdl", "// filler\n".repeat(1_000_000));
    p.put("empty.kdl", "");
    std::fs::create_dir(p.0.join("folder.kdl")).unwrap();
    for (job, code, word) in [
        ("nowhere.kdl", "no-file", "nowhere.kdl"),
        ("folder.kdl", "not-a-file", "folder.kdl"),
        ("spoilt.kdl", "not-utf-8", "offset 5, on line 1"),
        ("long.kdl", "too-long", "1048576 bytes"),
        ("empty.kdl", "empty", "no job"),
    ] {
        let ran = p.run(&["make", job]).ended(2);
        assert!(
            ran.err.contains(code) && ran.err.contains(word),
            "{}",
            ran.err
        );
        // The same files, named by a job.
        p.put("job.kdl", JOB.replace("slotted-case", job));
        let ran = p.run(&["make", "job.kdl", "--json"]).ended(2);
        let said = ran.said();
        let all = said["diagnostics"].as_array().unwrap();
        assert_eq!(all.len(), 1, "{said}");
        assert_eq!(all[0]["code"], code, "{said}");
        if code != "empty" {
            assert_eq!(all[0]["file"], "job.kdl", "{said}");
            assert_eq!(all[0]["line"], 2, "{said}");
        }
    }
    assert!(p.names("out").is_empty());
}

#[test]
fn nothing_in_a_file_steers_the_terminal() {
    let p = Place::new("steer");
    p.put(
        "job.kdl",
        JOB.replace("clock weights", "\\u{1b}[31mred\\u{202e}")
            .replace("slotted-case", "\\u{1b}]0;x\\u{7}"),
    );
    let ran = p.run(&["make", "job.kdl"]).ended(2);
    assert!(!ran.err.contains('\u{1b}'), "{:?}", ran.err);
    let named = JOB.replace("clock weights", "\\u{1b}[31mred\\u{202e}");
    p.put("job.kdl", named);
    let ran = p.run(&["check", "job.kdl"]).ended(0);
    assert!(!ran.out.contains(['\u{1b}', '\u{202e}']), "{:?}", ran.out);
}

#[test]
fn a_long_line_is_cropped_round_its_fault() {
    let p = Place::new("cropped");
    p.put(
        "job.kdl",
        format!("job \"a\" {{ style \"{}\"; bord 3; }}", "x".repeat(5000)),
    );
    let ran = p.run(&["make", "job.kdl"]).ended(2);
    assert!(ran.err.contains("bord 3"), "{}", ran.err);
    assert!(ran.err.lines().all(|l| l.chars().count() <= 100));
}
