//! What the page relies on: designs, jobs, sweeps.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use support::{JOB, STATE, Server};

#[test]
fn a_design_holds_together() {
    let s = Server::new("design");
    let styles = s.get("/api/styles").json();
    for style in styles.as_array().unwrap() {
        let name = style["name"].as_str().unwrap();
        let state = STATE
            .replace("slotted-case", name)
            .replace("3 in + 2 mm", "60mm");
        let d = s.post("/api/design", &state).json();
        let case = &d["case"];
        assert!(case.is_object(), "{name}: {d}");
        let mut keys = BTreeSet::new();
        for piece in case["pieces"].as_array().unwrap() {
            for p in piece["panels"].as_array().unwrap() {
                keys.insert(p["key"].as_str().unwrap().to_owned());
            }
            assert!(!piece["dimensions"].as_array().unwrap().is_empty());
        }
        let solid = &case["solid"];
        for p in solid["panels"].as_array().unwrap() {
            assert!(keys.contains(p["key"].as_str().unwrap()));
            let corners = p["positions"].as_array().unwrap().len() / 3;
            let triangles = p["indices"].as_array().unwrap();
            assert_eq!(triangles.len(), 3 * p["kinds"].as_array().unwrap().len());
            let inside = |i: &serde_json::Value| (i.as_u64().unwrap() as usize) < corners;
            assert!(triangles.iter().all(inside));
        }
        let stages = solid["stages"].as_array().unwrap();
        let steps = solid["steps"].as_array().unwrap();
        assert_eq!(stages.len(), steps.len());
        for frames in stages
            .iter()
            .chain(steps.iter().flat_map(|s| s.as_array().unwrap()))
            .map(|s| s["frames"].as_object().unwrap())
        {
            assert_eq!(frames.len(), keys.len());
            assert!(frames.values().all(|f| f.as_array().unwrap().len() == 12));
        }
        for f in case["findings"].as_array().unwrap() {
            for key in f["panels"].as_array().unwrap() {
                assert!(keys.contains(key.as_str().unwrap()), "{name}: {f}");
            }
        }
        assert_eq!(case["outputs"].as_array().unwrap().len(), 9, "{name}");
        let svg = s.get(&format!("/api/styles/{name}/picture.svg?theme=dark"));
        assert!(svg.status == 200 && svg.text().starts_with("<svg"));
    }
}

#[test]
fn messages_stand_at_their_fields() {
    let s = Server::new("fields");
    let told = |state: &str| {
        let d = s.post("/api/design", state).json();
        let f = d["fields"][0].clone();
        let text = |k: &str| f[k].as_str().unwrap_or("").to_owned();
        (
            text("field"),
            text("code"),
            f["start"].clone(),
            f["end"].clone(),
        )
    };
    let (field, code, start, end) = told(&STATE.replace("3 in + 2 mm", "ü 3 in + 2 deg"));
    assert_eq!(field, "inside.depth");
    assert!(!code.is_empty());
    assert!(start.as_u64() < end.as_u64());
    let wrong = |from: &str, to: &str| {
        let (field, code, ..) = told(&STATE.replace(from, to));
        (field, code)
    };
    let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    assert_eq!(wrong("230mm", "230"), pair("inside.length", "wrong-unit"));
    assert_eq!(
        wrong("230mm", "-1mm"),
        pair("inside.length", "not-positive")
    );
    assert_eq!(
        wrong("230mm", "139mm"),
        pair("inside.length", "requirement")
    );
    assert_eq!(
        wrong("slotted-case", "sloted"),
        pair("style", "unknown-style")
    );
    assert_eq!(wrong("\"C\"", "\"Q\""), pair("board", "unknown-board"));
    let set = |text: &str| wrong("\"set\":{}", &format!("\"set\":{{{text}}}"));
    assert_eq!(set("\"slot\":\"99mm\""), pair("set.slot", "out-of-range"));
    assert_eq!(
        set("\"slopt\":\"9mm\""),
        pair("set.slopt", "unknown-parameter")
    );
    assert_eq!(set("\"slot\":\"9mm +\"").0, "set.slot");
}

#[test]
fn a_failing_case_comes_with_a_cure_that_works() {
    let s = Server::new("cure");
    // Flaps on one crease line press into each other; a step parts them.
    let state = STATE.replace("\"set\":{}", "\"set\":{\"step\":\"0mm\"}");
    let d = s.post("/api/design", &state).json();
    assert_eq!(d["case"]["verdict"], "fail", "{}", d["case"]["findings"]);
    let findings = d["case"]["findings"].as_array().unwrap();
    let fix = findings.iter().map(|f| &f["fix"]).find(|f| f.is_object());
    let set = fix.unwrap()["set"].as_object().unwrap();
    let (name, value) = set.iter().next().unwrap();
    let cured = STATE
        .replace(
            "\"set\":{}",
            &format!("\"set\":{{\"step\":\"0mm\",\"{name}\":{value}}}"),
        )
        .replace("\"step\":\"0mm\",\"step\"", "\"step\"");
    let fails = |d: &serde_json::Value| {
        let all = d["case"]["findings"].as_array().unwrap().clone();
        all.iter().filter(|f| f["verdict"] == "fail").count()
    };
    assert!(fails(&s.post("/api/design", &cured).json()) < fails(&d));
}

#[test]
fn a_job_is_saved_with_its_comments_and_never_over_a_change() {
    let s = Server::new("jobs");
    let list = s.get("/api/jobs").json();
    assert_eq!(list[0]["name"], "weights.kdl");
    assert_eq!(list[0]["style"], "slotted-case");
    let mut job = s.get("/api/jobs/weights.kdl").json();
    assert!(job["messages"].as_array().unwrap().is_empty());
    let put = |stamp: &serde_json::Value, state: &serde_json::Value| {
        let body = serde_json::json!({"stamp": stamp, "state": state}).to_string();
        s.put("/api/jobs/weights.kdl", &body)
    };
    let path = s.folder.join("weights.kdl");
    let same = put(&job["stamp"], &job["state"]);
    assert_eq!(same.json()["stamp"], job["stamp"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), JOB);
    job["state"]["inside"]["depth"] = "4 in".into();
    let saved = put(&job["stamp"], &job["state"]);
    assert_eq!(saved.status, 200, "{saved:?}");
    let wanted = JOB.replace("80mm", "4 in");
    assert_eq!(fs::read_to_string(&path).unwrap(), wanted);
    // The old stamp is of a file that is no more.
    let late = put(&job["stamp"], &job["state"]);
    assert_eq!(
        (late.status, late.code().as_str()),
        (409, "changed-on-disk")
    );
    let by_hand = wanted.replace("board \"C\"", "board \"B\"");
    fs::write(&path, &by_hand).unwrap();
    assert_eq!(put(&saved.json()["stamp"], &job["state"]).status, 409);
    assert_eq!(
        put(&serde_json::Value::Null, &job["state"]).code(),
        "already-there"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), by_hand);
    let new = serde_json::json!({"stamp": null, "state": job["state"]}).to_string();
    assert_eq!(s.put("/api/jobs/new.kdl", &new).status, 200);
    assert_eq!(s.put("/api/jobs/none%2Fnew.kdl", &new).status, 404);
    let again = s.get("/api/jobs/new.kdl").json();
    assert_eq!(again["state"]["inside"], job["state"]["inside"]);
    let hidden = fs::read_dir(&s.folder).unwrap().flatten();
    assert!(
        hidden
            .into_iter()
            .all(|e| !e.file_name().to_string_lossy().starts_with('.'))
    );
}

#[test]
fn a_sweep_tells_every_cell_once() {
    let s = Server::new("sweep");
    let body = format!(
        "{{\"state\":{STATE},\"vary\":[{{\"name\":\"inside.width\",\"from\":\"100mm\",\"to\":\"300mm\",\"steps\":12}},{{\"name\":\"set.slot\",\"from\":\"0mm\",\"to\":\"1in\",\"steps\":9}}]}}"
    );
    let text = s.post("/api/sweep", &body).text();
    let lines: Vec<serde_json::Value> = text
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(lines[0]["total"], 108);
    assert_eq!(lines[lines.len() - 1]["finished"], true);
    let mut seen = BTreeSet::new();
    let mut verdicts = BTreeSet::new();
    for cell in lines.iter().filter_map(|l| l["cells"].as_array()).flatten() {
        assert!(seen.insert((cell["i"].as_u64(), cell["j"].as_u64())));
        verdicts.insert(cell["verdict"].as_str().unwrap().to_owned());
    }
    assert_eq!(seen.len(), 108);
    assert!(
        verdicts.contains("refused") && verdicts.len() > 1,
        "{verdicts:?}"
    );
    let many = body.replace("\"steps\":12", "\"steps\":39999");
    assert_eq!(s.post("/api/sweep", &many).code(), "not-swept");
    let wrong = body.replace("set.slot", "set.joint");
    assert_eq!(s.post("/api/sweep", &wrong).status, 409);
}

#[test]
fn closing_the_connection_ends_a_sweep() {
    let s = Server::new("cancel");
    let body = format!(
        "{{\"state\":{STATE},\"vary\":[{{\"name\":\"inside.width\",\"from\":\"60mm\",\"to\":\"200mm\",\"steps\":200}},{{\"name\":\"inside.depth\",\"from\":\"50mm\",\"to\":\"300mm\",\"steps\":200}}]}}"
    );
    let mut c = TcpStream::connect(("127.0.0.1", s.port)).unwrap();
    let head = format!(
        "POST /api/sweep HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        s.port,
        body.len()
    );
    c.write_all(head.as_bytes()).unwrap();
    let mut lines = BufReader::new(c.try_clone().unwrap()).lines();
    assert!(lines.any(|l| l.unwrap().contains("\"done\"")));
    drop(lines);
    drop(c);
    // Sweeps run one at a time: the next one only begins when this one has ended.
    let start = Instant::now();
    let small = body.replace("\"steps\":200", "\"steps\":2");
    assert!(s.post("/api/sweep", &small).text().contains("finished"));
    assert!(
        start.elapsed() < Duration::from_secs(15),
        "{:?}",
        start.elapsed()
    );
}

#[test]
fn a_style_or_board_file_changed_on_disk_is_noticed_at_once() {
    let s = Server::new("changed");
    fs::create_dir(s.folder.join("deep")).unwrap();
    let style = include_str!("../../../styles/slotted-case.kdl");
    let board = include_str!("../../../boards/c.kdl");
    let state = STATE.replace("slotted-case", "own.kdl").replace(
        "\"drawing\":{}",
        "\"drawing\":{},\"boardFiles\":[\"b.kdl\"]",
    );
    let beside = state.replace("\"boardFiles\"", "\"job\":\"deep/x.kdl\",\"boardFiles\"");
    let case = |state: &str| s.post("/api/design", state).json()["case"].clone();
    let seen = |state: &str| {
        let c = case(state);
        (c["style"]["title"].clone(), c["board"]["caliper"].clone())
    };

    for (n, caliper) in ["4.1mm", "3.9mm", "4.1mm"].into_iter().enumerate() {
        for (folder, kind) in [("", "one"), ("deep/", "two")] {
            let named = format!("{kind} {n}");
            let text = style.replacen("Slotted case", &named, 1);
            fs::write(s.folder.join(format!("{folder}own.kdl")), text).unwrap();
            let text = board.replacen("\"4mm\"", &format!("\"{caliper}\""), 1);
            fs::write(s.folder.join(format!("{folder}b.kdl")), text).unwrap();
        }
        let mm: f64 = caliper.trim_end_matches("mm").parse().unwrap();
        for _ in 0..2 {
            assert_eq!(seen(&state), (format!("one {n}").into(), mm.into()));
            assert_eq!(seen(&beside), (format!("two {n}").into(), mm.into()));
        }
    }
    fs::remove_file(s.folder.join("b.kdl")).unwrap();
    assert!(case(&state).is_null());
    assert_eq!(seen(&beside).1, 4.1);
}

const PAD: &str = r#"style "pad" {
    title "Pad"
    parameter "clearance" default="1mm" help="smaller on every side"
    piece "pad" flutes="left-right" {
        panel "pad" breadth="length - 2 * clearance" reach="width - 2 * clearance"
    }
    room on="pad" breadth="length" reach="width" rise="depth" left="0mm - clearance" near="0mm - clearance" above="0mm - t"
    leaves "above the pad" length="length" width="width" depth="depth - t" z="t"
    stage "Lay it in" "Lay the pad on the floor." { }
}
"#;

#[test]
fn a_job_with_fitments_opens_shows_and_is_saved_whole() {
    let s = Server::new("fitments");
    fs::write(s.folder.join("pad.kdl"), PAD).unwrap();
    let pads = "    set \"joint\" \"'taped'\"\n    fitment \"pad.kdl\" as=\"bottom pad\" // below\n    fitment \"pad.kdl\" as=\"shelf\" depth=\"depth - t\" z=\"t\" {\n        board \"B\"\n    }\n}\n";
    let text = JOB.trim_end().trim_end_matches('}').to_owned() + pads;
    fs::write(s.folder.join("weights.kdl"), &text).unwrap();
    let opened = s.get("/api/jobs/weights.kdl").json();
    assert_eq!(opened["messages"].as_array().unwrap().len(), 0, "{opened}");
    let state = &opened["state"];
    assert_eq!(state["fitments"].as_array().unwrap().len(), 2, "{state}");

    let design = s.post("/api/design", &state.to_string()).json();
    let case = &design["case"];
    let names: Vec<&str> = case["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["body", "bottom pad", "shelf"], "{design}");
    assert_eq!(case["verdict"], "pass", "{}", case["findings"]);

    let stamp = &opened["stamp"];
    let body = format!("{{\"stamp\":{stamp},\"state\":{state}}}").replace("\"80mm\"", "\"90mm\"");
    let saved = s.put("/api/jobs/weights.kdl", &body);
    assert_eq!(saved.status, 200, "{}", saved.text());
    let now = fs::read_to_string(s.folder.join("weights.kdl")).unwrap();
    assert_eq!(now, text.replace("80mm", "90mm"));

    // What cannot be drawn is told, and nothing falls over.
    for bad in [
        "fitment \\\"nowhere\\\"",
        "fitment \\\"mailer\\\"",
        "board \\\"C\\\"",
        "}",
        "fitment {",
    ] {
        let text = STATE.replace(
            "\"drawing\":{}",
            &format!("\"drawing\":{{}},\"fitments\":[\"{bad}\"]"),
        );
        let design = s.post("/api/design", &text);
        assert_eq!(design.status, 200, "{}", design.text());
        let design = design.json();
        assert!(design["case"].is_null(), "{bad}: {design}");
        assert!(
            !design["notes"].as_array().unwrap().is_empty(),
            "{bad}: {design}"
        );
    }
}
