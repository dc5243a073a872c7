//! A range of sizes, test strips, measured figures and the spread of cases: what those pages rely on.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;

use serde_json::{Value, json};
use support::{STATE, Server};

const ORDERS: &str = "length,width,height,count\n300,200,100,12\n180,120,90,30\n";

fn range(orders: &str, sizes: u32) -> Value {
    json!({"text": orders, "sizes": sizes, "least": "void", "style": "slotted-case", "board": "C",
        "clearance": "", "grid": "", "keep": [], "upright": false, "divisor": 5000, "step": "",
        "skipBad": false, "work": 100, "unit": "mm"})
}

fn with(mut ask: Value, field: &str, value: Value) -> Value {
    ask[field] = value;
    ask
}

/// The last line of an answer in lines.
fn last(s: &Server, path: &str, ask: &Value) -> Value {
    let a = s.post(path, &ask.to_string());
    assert_eq!(a.status, 200, "{}", a.text());
    let text = a.text();
    serde_json::from_str(text.lines().last().unwrap()).unwrap()
}

fn refused(s: &Server, path: &str, ask: &Value, code: &str, words: &str) {
    let a = s.post(path, &ask.to_string());
    assert_eq!((a.status, a.code().as_str()), (409, code), "{}", a.text());
    assert!(a.text().contains(words), "{} lacks {words}", a.text());
}

#[test]
fn two_kinds_of_things_want_two_sizes_of_their_own() {
    let s = Server::new("range-two");
    let found = last(&s, "/api/range", &range(ORDERS, 1))["range"].take();
    // By hand: 30 things of 1.944 l each lie in cases of 6 l.
    assert_eq!(found["chosen"][0]["inside"], json!([300.0, 200.0, 100.0]));
    let total = &found["totals"][0];
    assert!((total["cost"].as_f64().unwrap() - 30.0 * (6.0 - 1.944)).abs() < 1e-6);
    assert!((total["bound"].as_f64().unwrap() - total["cost"].as_f64().unwrap()).abs() < 1e-6);
    assert_eq!(total["proved"], true);
    // Two sizes leave nothing empty, and that is what more sizes save.
    let two = &found["totals"][1];
    assert!(two["cost"].as_f64().unwrap().abs() < 1e-6, "{two}");
    assert!((two["saves"].as_f64().unwrap() - 1.0).abs() < 1e-9);
    let size = &found["chosen"][0];
    assert_eq!(size["typed"], json!(["300mm", "200mm", "100mm"]));
    assert_eq!((&size["orders"], &size["share"]), (&json!(42), &json!(1.0)));
    assert!(found["picture"].as_str().unwrap().starts_with("<svg"));
    assert_eq!(
        found["csv"].as_str().unwrap().lines().next().unwrap(),
        "length_mm,width_mm,depth_mm,kept,orders,filled_l,void_l"
    );
    // Room all round, a grid, and a size that is kept.
    let mut ask = range(ORDERS, 2);
    ask["clearance"] = json!("10mm");
    ask["grid"] = json!("25mm");
    ask["keep"] = json!([["25cm", "40cm", "15cm"]]);
    let found = last(&s, "/api/range", &ask)["range"].take();
    let inside: Vec<&Value> = found["chosen"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| &c["inside"])
        .collect();
    assert_eq!(
        inside,
        [&json!([200.0, 150.0, 125.0]), &json!([400.0, 250.0, 150.0])]
    );
    assert_eq!(found["chosen"][1]["kept"], true);
}

#[test]
fn a_file_of_the_folder_is_read_and_no_other() {
    let s = Server::new("range-files");
    assert_eq!(s.get("/api/orders").json(), json!([]));
    fs::write(s.folder.join("march.csv"), ORDERS).unwrap();
    fs::write(s.folder.parent().unwrap().join("outside.csv"), ORDERS).unwrap();
    assert_eq!(s.get("/api/orders").json(), json!([{"name": "march.csv"}]));
    let mut ask = range(ORDERS, 2);
    ask.as_object_mut().unwrap().remove("text");
    let found = last(
        &s,
        "/api/range",
        &with(ask.clone(), "file", json!("march.csv")),
    );
    assert_eq!(found["range"]["name"], "march-range.csv");
    for odd in [
        "../outside.csv",
        "none.csv",
        "weights.kdl",
        ".csv",
        "/etc/passwd",
    ] {
        let a = s.post(
            "/api/range",
            &with(ask.clone(), "file", json!(odd)).to_string(),
        );
        assert_eq!(
            (a.status, a.code()),
            (404, "no-orders-file".to_owned()),
            "{odd}"
        );
    }
    refused(&s, "/api/range", &ask, "not-chosen", "either a file");
    fs::write(s.folder.join("long.csv"), vec![b'1'; (16 << 20) + 1]).unwrap();
    let a = s.post(
        "/api/range",
        &with(ask, "file", json!("long.csv")).to_string(),
    );
    assert_eq!(
        (a.status, a.code()),
        (409, "unreadable".to_owned()),
        "{}",
        a.text()
    );
}

#[test]
fn what_cannot_be_chosen_says_why() {
    let s = Server::new("range-odd");
    let ask = |orders: &str| range(orders, 2);
    let no = |ask: Value, words: &str| refused(&s, "/api/range", &ask, "not-chosen", words);
    no(ask(""), "empty");
    no(ask("length,width\n1,2\n"), "no column `height`");
    no(
        ask("length,width,height\n1,2,x\n"),
        "line 2: the height `x` is no number",
    );
    no(ask("length_kg,width,height\n1,2,3\n"), "no unit that fits");
    no(ask("length,width,height\n"), "no orders");
    no(with(ask(ORDERS), "sizes", json!(61)), "1 to 60");
    no(with(ask(ORDERS), "sizes", json!(0)), "1 to 60");
    no(with(ask(ORDERS), "clearance", json!("3 kg")), "clearance");
    no(
        with(ask(ORDERS), "clearance", json!("-1mm")),
        "between 0 and 1000",
    );
    no(with(ask(ORDERS), "grid", json!("0mm")), "grid");
    no(with(ask(ORDERS), "work", json!(0)), "million steps");
    no(
        with(ask(ORDERS), "keep", json!([["1m", "1m", "0m"]])),
        "larger than nothing",
    );
    let three = json!([["1m", "1m", "1m"], ["2m", "1m", "1m"], ["3m", "1m", "1m"]]);
    no(with(ask(ORDERS), "keep", three), "3 sizes kept");
    let freight = with(ask(ORDERS), "least", json!("freight"));
    no(with(freight.clone(), "divisor", json!(0)), "cm3");
    no(with(freight, "step", json!("1mm")), "step of mass");
    let skipped = with(
        ask("length,width,height\n1,2,x\n3,2,1\n"),
        "skipBad",
        json!(true),
    );
    let found = last(&s, "/api/range", &skipped);
    assert!(
        found["range"]["notes"][0]
            .as_str()
            .unwrap()
            .contains("1 bad row"),
        "{found}"
    );
}

#[test]
fn the_least_board_is_that_of_the_blanks() {
    let s = Server::new("range-board");
    let ask = with(range(ORDERS, 2), "least", json!("board"));
    let found = last(&s, "/api/range", &ask)["range"].take();
    assert_eq!(
        (&found["unit"], &found["empty"]),
        (&json!("m2"), &Value::Null)
    );
    let each: f64 = found["chosen"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| c["cost"].as_f64().unwrap())
        .sum();
    let total = found["totals"][1]["cost"].as_f64().unwrap();
    assert!((each - total).abs() < 1e-9 && total > 0.0);
    // The blank of the larger case, as the page Case draws it.
    let mut state: Value = serde_json::from_str(STATE).unwrap();
    state["inside"] = json!({"length": "300mm", "width": "200mm", "depth": "100mm"});
    let design = s.post("/api/design", &state.to_string()).json();
    let b = design["case"]["pieces"][0]["bounds"].clone();
    let side = |n: usize| b[n + 2].as_f64().unwrap() - b[n].as_f64().unwrap();
    let one = found["chosen"][1]["cost"].as_f64().unwrap() / 12.0;
    assert!((side(0) * side(1) * 1e-6 - one).abs() < 1e-6, "{b} {one}");
    let a = s.post("/api/range", &with(ask, "board", json!("none")).to_string());
    assert_eq!((a.status, a.code()), (409, "unknown-board".to_owned()));
}

#[test]
fn a_search_is_stopped_by_its_number() {
    let s = Server::new("range-stop");
    assert_eq!(
        s.post("/api/range/stop", r#"{"run": 77}"#).json(),
        json!({"stopped": false})
    );
    let mut orders = String::from("length,width,height\n");
    // Many kinds that no few sizes fit well: the search has much to do.
    let mut n = 1_u64;
    for _ in 0..3000 {
        n = n
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let [a, b, c] = [n >> 33, n >> 43, n >> 53].map(|v| 50 + v % 700);
        orders.push_str(&format!("{a},{b},{c}\n"));
    }
    let ask = with(range(&orders, 12), "work", json!(50_000)).to_string();
    let mut stream = TcpStream::connect(("127.0.0.1", s.port)).unwrap();
    write!(stream, "POST /api/range HTTP/1.1\r\nhost: 127.0.0.1:{}\r\nconnection: close\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{ask}", s.port, ask.len()).unwrap();
    let mut lines = BufReader::new(stream).lines();
    let run = loop {
        let line = lines.next().unwrap().unwrap();
        if line.starts_with("{\"run\"") {
            break line;
        }
    };
    let said = s.post("/api/range/stop", &run).json();
    assert_eq!(said, json!({"stopped": true}));
    let rest: Vec<String> = lines.map_while(Result::ok).collect();
    let end = rest
        .iter()
        .find(|l| l.contains("\"finished\":true"))
        .unwrap();
    let end: Value = serde_json::from_str(end).unwrap();
    // Stopped so early there may be nothing for twelve sizes yet; then that is said.
    let found = &end["range"];
    assert!(
        found["stopped"] == true || end["wrong"].as_str().is_some_and(|w| w.contains("stopped")),
        "{end}"
    );
    assert_eq!(
        s.post("/api/range/stop", &run).json(),
        json!({"stopped": false})
    );
}

fn readings() -> Value {
    let channel = |inside: &str, outside: &str| json!({"drawn": "60mm", "inside": inside, "outside": outside});
    json!({"board": "C", "machine": "bench-laser", "crease": "rule", "when": "a Monday", "note": "", "step": "0.05mm",
        "caliper": ["4.05mm", "4.1mm", "4.05mm", "4mm", ""],
        "along": [channel("55.8mm", "63.9mm"), channel("55.7mm", "63.8mm"), channel("55.75mm", "63.85mm")],
        "across": [channel("55.9mm", "64mm"), channel("55.85mm", "63.95mm"), channel("55.9mm", "64.05mm")],
        "gauges": [{"hole": "20.15mm", "piece": "19.85mm"}, {"hole": "20.2mm", "piece": "19.85mm"}]})
}

fn figure<'a>(figures: &'a Value, name: &str) -> &'a Value {
    let all = figures.as_array().unwrap();
    all.iter().find(|f| f["name"] == name).unwrap()
}

#[test]
fn readings_come_to_the_figures_of_the_formulas() {
    let s = Server::new("readings");
    let fit = s.post("/api/measured/fit", &readings().to_string()).json();
    assert_eq!(
        (&fit["empty"], &fit["notes"]),
        (&json!(1), &json!([])),
        "{fit}"
    );
    let caliper = figure(&fit["figures"], "caliper");
    assert!((caliper["value"].as_f64().unwrap() - 4.05).abs() < 1e-9);
    assert_eq!(caliper["count"], 4);
    // Mean of (a + b) / 2 - s is -0.2, which is (1 - 2 p) t.
    let along = figure(&fit["figures"], "along")["value"].as_f64().unwrap();
    assert!((along - (0.5 + 0.2 / (2.0 * 4.05))).abs() < 1e-9, "{along}");
    let kerf = figure(&fit["figures"], "kerf")["value"].as_f64().unwrap();
    assert!((kerf - (0.15 + 0.175) / 2.0).abs() < 1e-9, "{kerf}");
    // The file is the same as the form, read back.
    let back = s
        .post("/api/readings", &json!({"text": fit["file"]}).to_string())
        .json();
    assert_eq!(back["along"], readings()["along"]);
    assert_eq!(back["gauges"], readings()["gauges"]);
    // What is wrong is told at its field, whatever is typed there.
    for (change, field) in [
        (json!("4.05"), "caliper.1"),
        (json!("4 kg"), "caliper.1"),
        (json!("\" board \"D"), "caliper.1"),
        (json!("9mm"), "caliper.1"),
    ] {
        let mut odd = readings();
        odd["caliper"][1] = change.clone();
        let fit = s.post("/api/measured/fit", &odd.to_string()).json();
        assert_eq!(fit["figures"], Value::Null, "{change}");
        assert_eq!(fit["fields"][0]["field"], field, "{change} {fit}");
    }
    let mut odd = readings();
    odd["across"][2]["outside"] = json!("3mm");
    let fit = s.post("/api/measured/fit", &odd.to_string()).json();
    assert!(
        fit["fields"][0]["field"]
            .as_str()
            .unwrap()
            .starts_with("across.2."),
        "{fit}"
    );
    let a = s.post(
        "/api/readings",
        r#"{"text": "measurements {\n  board 5\n}"}"#,
    );
    assert_eq!((a.status, a.code()), (409, "not-measurements".to_owned()));
    assert!(a.text().contains("line "), "{}", a.text());
}

#[test]
fn kept_figures_are_drawn_with_until_they_are_forgotten() {
    let s = Server::new("measured");
    assert_eq!(s.get("/api/measured").json(), json!({"sets": []}));
    assert!(
        !s.folder.join("boxwright-stock.db").exists(),
        "looking makes nothing"
    );
    let board = |state: &Value| {
        let design = s.post("/api/design", &state.to_string()).json();
        design["case"]["board"].clone()
    };
    let state: Value = serde_json::from_str(STATE).unwrap();
    let listed = board(&state);
    assert_eq!(listed["measured"], Value::Null);
    let keep = json!({"do": "keep", "readings": readings()});
    let book = s.post("/api/measured", &keep.to_string()).json();
    let number = book["sets"][0]["number"].clone();
    assert_eq!(book["sets"][0]["machine"], "bench-laser");
    let now = board(&state);
    assert!(
        (now["caliper"].as_f64().unwrap() - 4.05).abs() < 1e-9,
        "{now}"
    );
    assert!(
        now["measured"].as_str().unwrap().contains("caliper 4.05"),
        "{now}"
    );
    // Left off, and another board: as it was.
    assert_eq!(
        board(&with(state.clone(), "noMeasured", json!(true))),
        listed
    );
    assert_eq!(
        board(&with(state.clone(), "board", json!("B")))["measured"],
        Value::Null
    );
    // The stock of the same folder is not disturbed.
    assert_eq!(s.get("/api/stock").json()["pieces"], json!([]));
    let mut bad = readings();
    bad["caliper"] = json!([]);
    let bad = json!({"do": "keep", "readings": bad});
    refused(&s, "/api/measured", &bad, "not-learned", "how thick");
    let forget = |n: &Value| json!({"do": "forget", "number": n});
    refused(
        &s,
        "/api/measured",
        &forget(&json!(99)),
        "unknown-figures",
        "99",
    );
    let book = s.post("/api/measured", &forget(&number).to_string()).json();
    assert_eq!(book, json!({"sets": []}));
    assert_eq!(board(&state), listed);
}

#[test]
fn strips_are_made_for_a_board_and_a_machine() {
    let s = Server::new("strips");
    let ask = json!({"board": "C", "machine": "bench-laser", "crease": "rule", "strips": 3});
    let shown = s.post("/api/strips", &ask.to_string()).json();
    let names: Vec<&str> = shown["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["name"].as_str().unwrap())
        .collect();
    for name in [
        "test-strip.kdl",
        "strips-along.kdl",
        "strips-across.kdl",
        "coupon.pdf",
        "measurements.kdl",
    ] {
        assert!(names.contains(&name), "{names:?}");
    }
    assert_eq!(shown["readings"]["caliper"].as_array().unwrap().len(), 6);
    assert_eq!(shown["readings"]["along"][2]["drawn"], "60mm");
    assert!(
        shown["caution"]
            .as_str()
            .unwrap()
            .contains("never leave it running alone")
    );
    for name in &names {
        let a = s.post(
            "/api/strips/file",
            &json!({"strips": ask, "name": name}).to_string(),
        );
        assert_eq!(a.status, 200, "{name}");
        assert!(
            a.body.len() > 100 && a.head.contains(&name.to_lowercase()),
            "{name}"
        );
    }
    // With their jobs in the folder the strips can be laid.
    for name in ["test-strip.kdl", "strips-along.kdl"] {
        let a = s.post(
            "/api/strips/file",
            &json!({"strips": ask, "name": name}).to_string(),
        );
        fs::write(s.folder.join(name), a.body).unwrap();
    }
    let lay = json!({"title": "strips", "jobs": [{"job": "strips-along.kdl"}],
        "sheets": [{"board": "C", "length": "600mm", "width": "400mm", "count": 1, "price": 1.0}],
        "spacing": "", "margin": "", "seconds": 0.2, "seed": 1});
    let a = s.post("/api/layout", &lay.to_string());
    assert!(a.text().contains("\"laid\":3"), "{}", a.text());
    refused(
        &s,
        "/api/strips",
        &with(ask.clone(), "board", json!("none")),
        "unknown-board",
        "none",
    );
    refused(
        &s,
        "/api/strips",
        &with(ask.clone(), "machine", json!("none")),
        "unknown-machine",
        "none",
    );
    refused(
        &s,
        "/api/strips",
        &with(ask.clone(), "strips", json!(51)),
        "not-made",
        "2 to 50",
    );
    let a = s.post(
        "/api/strips/file",
        &json!({"strips": ask, "name": "../x"}).to_string(),
    );
    assert_eq!((a.status, a.code()), (404, "no-file".to_owned()));
}

#[test]
fn many_cases_are_summed_up() {
    let s = Server::new("spread");
    let state: Value = serde_json::from_str(STATE).unwrap();
    let ask = json!({"state": state, "cases": 400, "seed": 1, "short": ""});
    let found = last(&s, "/api/spread", &ask);
    assert_eq!(
        (&found["finished"], &found["cases"]),
        (&json!(true), &json!(400))
    );
    let share = |s: &Value| s["share"].as_f64().unwrap();
    let holds = &found["holds"];
    let between: Vec<f64> = holds["between"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    assert!(between[0] <= share(holds) && share(holds) <= between[1]);
    assert!(share(&found["good"]) <= share(holds));
    let sum: f64 = found["differs"].as_array().unwrap().iter().map(share).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{found}");
    // The same lots every time; and where as much may be lacking as
    // is to be added, as many hold.
    assert_eq!(last(&s, "/api/spread", &ask), found);
    let short = found["add"][1]["add"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .fold(0.0, f64::max);
    let mut lacking = ask.clone();
    lacking["short"] = json!(format!("{}mm", short + 0.001));
    assert!(share(&last(&s, "/api/spread", &lacking)["holds"]) >= 0.99);
    refused(
        &s,
        "/api/spread",
        &with(ask.clone(), "cases", json!(99)),
        "not-tried",
        "100 to 100000",
    );
    refused(
        &s,
        "/api/spread",
        &with(ask.clone(), "short", json!("-1mm")),
        "not-tried",
        "between 0 and 50",
    );
    let mut odd = ask;
    odd["state"]["board"] = json!("none");
    refused(&s, "/api/spread", &odd, "not-drawn", "none");
}
