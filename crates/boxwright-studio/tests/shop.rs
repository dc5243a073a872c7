//! Stock, layouts and cutting: what those pages rely on.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use support::Server;

fn add(name: &str, count: u32) -> Value {
    json!({"do": "add", "name": name, "board": "C", "length": "1600mm", "width": "4 ft",
           "count": count, "price": 3.4})
}

fn change(s: &Server, stamp: &Value, change: &Value) -> support::Answer {
    let body = json!({"stamp": stamp, "change": change});
    s.post("/api/stock", &body.to_string())
}

/// Jobs laid on sheets typed in; every line of the answer.
fn laid(s: &Server, quantity: u32, seconds: f64) -> Vec<Value> {
    let ask = json!({"title": "two weights", "jobs": [{"job": "weights.kdl", "quantity": quantity}],
        "sheets": [{"board": "C", "length": "1600mm", "width": "1200mm", "count": 4, "price": 3.4}],
        "spacing": "", "margin": "", "seconds": seconds, "seed": 1});
    let a = s.post("/api/layout", &ask.to_string());
    assert_eq!(a.status, 200, "{}", a.text());
    let text = a.text();
    text.lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect()
}

fn best(lines: &[Value]) -> &Value {
    lines.iter().rfind(|l| l["text"].is_string()).unwrap()
}

/// A layout, saved.
fn saved(s: &Server, name: &str) -> Value {
    let lines = laid(s, 2, 0.2);
    let body = json!({"stamp": null, "text": best(&lines)["text"]});
    let a = s.put(&format!("/api/layouts/{name}"), &body.to_string());
    assert_eq!(a.status, 200, "{}", a.text());
    a.json()
}

#[test]
fn stock_is_changed_only_as_it_was_seen() {
    let s = Server::new("stock");
    let empty = s.get("/api/stock").json();
    assert_eq!(empty["stamp"], Value::Null);
    assert!(
        !s.folder.join("boxwright-stock.db").exists(),
        "looking makes nothing"
    );
    let one = change(&s, &Value::Null, &add("C large", 3)).json();
    assert_eq!(one["pieces"][0]["count"], 3, "{one}");
    assert_eq!(one["pieces"][0]["size"], json!([1600.0, 1219.2]));
    // Who saw nothing, and who saw less, changes nothing.
    for stamp in [json!(null), json!("0"), json!("99"), json!("x"), json!("")] {
        let a = change(&s, &stamp, &add("C large", 5));
        assert_eq!(
            (a.status, a.code()),
            (409, "changed-on-disk".to_owned()),
            "{stamp}"
        );
    }
    let two = change(
        &s,
        &one["stamp"],
        &json!({"do": "count", "name": "C large", "count": 8}),
    )
    .json();
    assert_eq!(two["pieces"][0]["count"], 8);
    assert_eq!(two["history"][0]["words"], "C large counted: 5 more");
    let text = s.get("/api/stock/text").text();
    assert!(
        text.contains("\"C large\"") && text.contains("count=8"),
        "{text}"
    );
    let three = change(
        &s,
        &two["stamp"],
        &json!({"do": "remove", "name": "C large"}),
    )
    .json();
    assert_eq!(three["pieces"], json!([]));
    let import = json!({"do": "import", "text": text, "replace": false});
    let four = change(&s, &three["stamp"], &import).json();
    assert_eq!(four["pieces"][0]["count"], 8);
    let refused = |what: Value, code: &str| {
        let a = change(&s, &four["stamp"], &what);
        assert_eq!((a.status, a.code().as_str()), (409, code), "{}", a.text());
        assert!(
            !a.text().contains(s.folder.to_str().unwrap()),
            "{}",
            a.text()
        );
    };
    refused(json!({"do": "remove", "name": "Q"}), "unknown-piece");
    refused(json!({"do": "undo"}), "nothing-to-undo");
    refused(
        json!({"do": "import", "text": "sheet 5", "replace": true}),
        "wrong-kind",
    );
    let mut odd = add("odd", 1);
    odd["length"] = json!("0mm");
    refused(odd.clone(), "out-of-range");
    odd["length"] = json!("3 kg");
    refused(odd.clone(), "wrong-unit");
    odd["length"] = json!("1m");
    odd["board"] = json!("none");
    refused(odd, "unknown-board");
    assert_eq!(
        s.get("/api/stock").json(),
        four,
        "nothing of that changed anything"
    );
}

#[test]
fn a_layout_is_searched_saved_and_used() {
    let s = Server::new("layouts");
    let lines = laid(&s, 2, 0.3);
    assert_eq!(lines.last().unwrap()["finished"], true);
    let shown = &best(&lines)["layout"];
    assert_eq!(shown["left"], 0, "{shown}");
    assert_eq!(shown["sheets"][0]["placed"].as_array().unwrap().len(), 2);
    assert!(
        shown["bounds"][0]
            .as_str()
            .unwrap()
            .starts_with("Board C: 1 sheet")
    );
    let stamp = saved(&s, "two.layout.json")["stamp"].clone();
    // As the command line writes it, and found again.
    let file = fs::read_to_string(s.folder.join("two.layout.json")).unwrap();
    assert_eq!(
        s.get("/api/layouts").json(),
        json!([{"name": "two.layout.json", "title": "two weights"}])
    );
    let open = s.get("/api/layouts/two.layout.json").json();
    assert_eq!(open["stamp"], stamp);
    assert_eq!(open["taking"]["stamp"], Value::Null);
    assert!(
        open["taking"]["wrong"]
            .as_str()
            .unwrap()
            .contains("the stock has nothing called")
    );
    // There already; and what is not sound is never written.
    let put = |stamp: &Value, text: &str| {
        s.put(
            "/api/layouts/two.layout.json",
            &json!({"stamp": stamp, "text": text}).to_string(),
        )
    };
    assert_eq!(put(&Value::Null, &file).code(), "already-there");
    assert_eq!(put(&stamp, "{}").code(), "not-a-layout");
    let mut over: Value = serde_json::from_str(&file).unwrap();
    let placed = over["sheets"][0]["placed"].as_array_mut().unwrap();
    placed[1] = placed[0].clone();
    assert_eq!(
        put(&stamp, &over.to_string()).code(),
        "not-a-layout",
        "two parts on one place"
    );
    assert_eq!(put(&json!("0"), &file).code(), "changed-on-disk");
    assert_eq!(
        fs::read_to_string(s.folder.join("two.layout.json")).unwrap(),
        file
    );
    // Sheets of that name at hand: they are taken, and off-cuts put in, once.
    let name = open["layout"]["sheets"][0]["stock"].as_str().unwrap();
    let mut piece = add(name, 2);
    piece["width"] = json!("1200mm");
    assert_eq!(change(&s, &Value::Null, &piece).status, 200);
    let open = s.get("/api/layouts/two.layout.json").json();
    let taking = &open["taking"];
    assert_eq!(
        (&taking["wrong"], &taking["takes"]),
        (&Value::Null, &json!([format!("1 x {name}")]))
    );
    let used = |layout: &Value, stock: &Value| {
        s.post(
            "/api/layouts/two.layout.json/use",
            &json!({"layout": layout, "stock": stock}).to_string(),
        )
    };
    assert_eq!(
        used(&json!("0"), &taking["stamp"]).code(),
        "changed-on-disk"
    );
    assert_eq!(used(&open["stamp"], &json!("7")).code(), "changed-on-disk");
    let book = used(&open["stamp"], &taking["stamp"]).json();
    let off_cuts = book["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|p| p["offCut"] == true)
        .count();
    assert_eq!(off_cuts, taking["leaves"].as_array().unwrap().len());
    assert!(off_cuts > 0 && book["pieces"][0]["count"] == 1, "{book}");
    assert_eq!(used(&open["stamp"], &book["stamp"]).code(), "already-used");
    let undone = change(&s, &book["stamp"], &json!({"do": "undo"})).json();
    assert_eq!(undone["pieces"].as_array().unwrap().len(), 1);
    assert_eq!(undone["pieces"][0]["count"], 2);
}

#[test]
fn what_cannot_be_laid_says_why() {
    let s = Server::new("not-laid");
    let ask = |change: &dyn Fn(&mut Value)| {
        let mut ask = json!({"title": "", "jobs": [{"job": "weights.kdl"}],
            "sheets": [{"board": "C", "length": "1600mm", "width": "1200mm", "count": 4, "price": 0}],
            "spacing": "3mm", "margin": "5mm", "seconds": 0, "seed": 1});
        change(&mut ask);
        s.post("/api/layout", &ask.to_string())
    };
    assert_eq!(ask(&|_| {}).status, 200);
    let code = |change: &dyn Fn(&mut Value)| ask(change).code();
    assert_eq!(code(&|a| a["jobs"] = json!([])), "not-laid");
    assert_eq!(
        code(&|a| a["jobs"] = json!([{"job": "none.kdl"}])),
        "no-job"
    );
    assert_eq!(
        code(&|a| a["jobs"] = json!([{"job": "../weights.kdl"}])),
        "no-job"
    );
    assert_eq!(
        code(&|a| a["jobs"][0]["quantity"] = json!(30_000)),
        "too-many-parts"
    );
    assert_eq!(code(&|a| a["sheets"] = json!([])), "no-stock");
    assert_eq!(
        code(&|a| a["sheets"][0]["width"] = json!("16 m")),
        "not-laid"
    );
    assert_eq!(code(&|a| a["sheets"][0]["price"] = json!(-1)), "not-laid");
    assert_eq!(code(&|a| a["spacing"] = json!("3 deg")), "not-laid");
    assert_eq!(code(&|a| a["margin"] = json!("-3mm")), "not-laid");
    assert_eq!(code(&|a| a["seconds"] = json!(601)), "not-laid");
    assert_eq!(code(&|a| a["machine"] = json!("none")), "unknown-machine");
    fs::write(
        s.folder.join("broken.kdl"),
        "job \"broken\" {\n    style \"slotted\"\n}\n",
    )
    .unwrap();
    let a = ask(&|a| a["jobs"] = json!([{"job": "broken.kdl"}]));
    assert!(
        a.status == 409 && a.text().contains("broken.kdl"),
        "{}",
        a.text()
    );
}

#[test]
fn closing_the_connection_ends_the_search() {
    let s = Server::new("stopped");
    let body = json!({"title": "long", "jobs": [{"job": "weights.kdl", "quantity": 9}],
        "sheets": [{"board": "C", "length": "1600mm", "width": "1200mm", "count": 9, "price": 1}],
        "spacing": "", "margin": "", "seconds": 500, "seed": 1})
    .to_string();
    let mut stream = TcpStream::connect(("127.0.0.1", s.port)).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(60)))
        .unwrap();
    write!(
        stream,
        "POST /api/layout HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        s.port,
        body.len()
    )
    .unwrap();
    let lines = BufReader::new(&stream).lines();
    let first = lines
        .map_while(Result::ok)
        .find(|l| l.contains("\"layout\""));
    assert!(first.is_some(), "a layout is told long before the end");
    drop(stream);
    // One search at a time: the next one begins only because this one has ended.
    let begun = Instant::now();
    assert_eq!(laid(&s, 1, 0.0).last().unwrap()["finished"], true);
    assert!(begun.elapsed() < Duration::from_secs(120));
}

#[test]
fn a_cut_holds_together() {
    let s = Server::new("cut");
    saved(&s, "two.layout.json");
    let machines = s.get("/api/machines").json();
    let names: Vec<&str> = machines
        .as_array()
        .unwrap()
        .iter()
        .map(|m| m["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["bench-laser", "knife-table"]);
    let ask = json!({"layout": "two.layout.json", "machine": "knife-table", "nicks": true, "leadIn": false});
    let a = s.post("/api/cut", &ask.to_string());
    assert_eq!(a.status, 200, "{}", a.text());
    let cut = a.json();
    let sheet = &cut["sheets"][0];
    let strokes = sheet["strokes"].as_array().unwrap();
    let track = sheet["track"].as_array().unwrap();
    // Every stroke once and in order, no leap in place and none back in time.
    let made: Vec<u64> = track.iter().filter_map(|l| l["stroke"].as_u64()).collect();
    assert_eq!(made, (0..strokes.len() as u64).collect::<Vec<_>>());
    let mut last: Option<[f64; 3]> = None;
    for leg in track {
        let points: Vec<f64> = leg["points"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect();
        for (i, p) in points.chunks(3).enumerate() {
            if let Some([x, y, t]) = last {
                assert!(p[2] >= t);
                let way = (p[0] - x).hypot(p[1] - y);
                assert!(i > 0 || way < 1e-3, "a leg begins where the last one ended");
            }
            last = Some([p[0], p[1], p[2]]);
        }
    }
    let end = last.unwrap()[2];
    let seconds = sheet["total"]["seconds"].as_f64().unwrap();
    assert!((end - seconds).abs() < 1e-3, "{end} {seconds}");
    for pair in strokes.windows(2) {
        assert!(pair[0]["ends"].as_f64() <= pair[1]["begins"].as_f64());
    }
    assert!(cut["cautions"][0].as_str().unwrap().contains("hands off"));
    for (kind, start) in [
        ("gcode", "("),
        ("dxf", "999"),
        ("svg", "<"),
        ("pdf", "%PDF"),
    ] {
        let body = json!({"cut": ask, "kind": kind, "unit": "mm", "sheet": 0});
        let file = s.post("/api/cut/file", &body.to_string());
        assert_eq!(file.status, 200, "{}", file.text());
        assert!(file.text().trim_start().starts_with(start), "{kind}");
    }
    let refused = |key: &str, value: Value| {
        let mut ask = ask.clone();
        ask[key] = value;
        s.post("/api/cut", &ask.to_string()).code()
    };
    assert_eq!(refused("layout", json!("none.layout.json")), "no-layout");
    assert_eq!(refused("layout", json!("weights.kdl")), "no-layout");
    assert_eq!(
        refused("machine", json!("bench-laser")),
        "not-cut",
        "its bed is too small"
    );
    assert_eq!(refused("machine", json!("weights.kdl")), "not-a-machine");
    let far = json!({"cut": ask, "kind": "gcode", "unit": "mm", "sheet": 9});
    assert_eq!(s.post("/api/cut/file", &far.to_string()).code(), "no-sheet");
}
