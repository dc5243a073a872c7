//! From things to a case, and from the case to the truck: what those pages rely on.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use serde_json::{Value, json};
use support::{STATE, Server};

fn on() -> Value {
    json!({"mass": "10kg", "days": 180, "humidity": 80, "pattern": "interlocked", "overhang": "",
           "deckGap": false, "handling": false, "high": 6, "above": "", "rule": "losses",
           "losses": "handbook", "grades": "", "parcels": "", "pallet": "1200x800",
           "height": "1800mm", "load": ""})
}

fn ask(on: &Value) -> String {
    let state: Value = serde_json::from_str(STATE).unwrap();
    json!({"state": state, "unit": "mm", "on": on}).to_string()
}

/// Asked with one condition changed.
fn with(s: &Server, key: &str, value: Value) -> support::Answer {
    let mut on = on();
    on[key] = value;
    s.post("/api/ship", &ask(&on))
}

fn thing() -> Value {
    json!({"name": "mantel clock", "shape": "cuboid", "length": "312mm", "width": "148mm",
           "depth": "236mm", "diameter": "", "mass": "4.1kg", "fragile": "40", "up": "depth",
           "touch": true, "stack": true, "count": 1})
}

fn pack(s: &Server, things: &Value) -> support::Answer {
    let ask = json!({"things": things, "drop": "", "dropTable": "1A", "factor": "3", "room": "0mm",
                     "by": "volume", "unit": "mm"});
    s.post("/api/contents", &ask.to_string())
}

#[test]
fn a_packed_case_is_judged() {
    let s = Server::new("ship");
    let lists = s.get("/api/ship/lists").json();
    assert_eq!(lists["losses"][0]["name"], "handbook");
    assert_eq!(lists["pallets"][0]["name"], "1200x800");
    let a = s.post("/api/ship", &ask(&on()));
    assert_eq!(a.status, 200, "{}", a.text());
    let told = a.json();
    let gross = told["gross"].as_f64().unwrap();
    assert!(gross > 10.0 && gross < 11.0, "{gross}");
    // The load on the lowest of six, by the fall of 9.80665 m/s2.
    let load = told["stack"]["load"].as_f64().unwrap();
    assert!((load - gross * 9.80665 * 5.0).abs() < 1e-6, "{load}");
    // Fibre Box Handbook: 180 days 0.50, 80 % humidity 0.68, interlocked 0.60 to 0.40 (memory).
    let best = told["kept"]["most"].as_f64().unwrap();
    assert!((best - 0.5 * 0.68 * 0.6).abs() < 1e-9, "{best}");
    let needs = told["stack"]["needs"]["least"].as_f64().unwrap();
    assert!((needs - load / best).abs() < 1e-6);
    let cautions = told["cautions"].to_string();
    assert!(cautions.contains("people stand near stacks"), "{cautions}");
    // What is drawn is what is counted: a rectangle for each case of a layer, and no more layers than
    // the lowest case bears.
    let safe = told["stack"]["safeHigh"].as_u64().unwrap();
    for l in told["pallet"]["loads"].as_array().unwrap() {
        let [count, each, layers] = ["count", "perLayer", "layers"].map(|k| l[k].as_u64().unwrap());
        assert!(count <= each * layers && count > each * (layers - 1), "{l}");
        assert!(l["above"].as_str().unwrap().starts_with("<svg"));
        assert!(l["picture"].as_str().unwrap().starts_with("<svg"));
        if l["way"] == "interlocked" {
            assert!(layers <= safe, "{layers} of {safe}");
        }
    }
    let rooms = told["pallet"]["rooms"].as_array().unwrap();
    assert!(rooms.len() >= 6);
}

#[test]
fn contents_of_the_job_count_where_no_mass_is_typed() {
    let s = Server::new("ship-contents");
    let mut state: Value = serde_json::from_str(STATE).unwrap();
    state["contents"] = json!(["contents \"weight\" mass=\"3.4kg\" count=2"]);
    let mut on = on();
    on["mass"] = json!("");
    let ask = json!({"state": state, "unit": "in", "on": on});
    let told = s.post("/api/ship", &ask.to_string()).json();
    assert_eq!(told["contentsMass"], 6.8, "{told}");
}

#[test]
fn conditions_that_cannot_be_are_refused_with_their_name() {
    let s = Server::new("ship-refused");
    for (key, value, word) in [
        ("mass", json!("10mm"), "mass of the contents"),
        ("mass", json!("-1kg"), "mass of the contents"),
        ("days", json!(-1), "days"),
        ("humidity", json!(101), "humidity"),
        ("high", json!(0), "stack"),
        ("high", json!(1001), "stack"),
        ("above", json!("1e9kg"), "uppermost"),
        ("losses", json!("handbok"), "handbok"),
        ("pallet", json!("1200x80"), "1200x80"),
        ("height", json!("9 m"), "height"),
        ("overhang", json!("1m"), "overhang"),
        ("load", json!("a lot"), "loaded pallet"),
    ] {
        let a = with(&s, key, value.clone());
        assert_eq!(
            (a.status, a.code().as_str()),
            (409, "not-shipped"),
            "{key} {value}: {}",
            a.text()
        );
        assert!(a.text().contains(word), "{key} {value}: {}", a.text());
    }
    for (key, value) in [
        ("high", json!(1.5)),
        ("rule", json!("hope")),
        ("days", json!("30")),
    ] {
        assert_eq!(with(&s, key, value).status, 422, "{key}");
    }
    // Nothing goes on a pallet that is higher than it may be: told, and no load.
    let none = with(&s, "height", json!("150mm")).json();
    assert_eq!(none["pallet"]["loads"], json!([]));
    assert!(none["pallet"]["notes"].to_string().contains("not one case"));
    let mut state: Value = serde_json::from_str(STATE).unwrap();
    state["style"] = json!("no-such-style");
    let ask = json!({"state": state, "unit": "mm", "on": on()});
    let a = s.post("/api/ship", &ask.to_string());
    assert_eq!((a.status, a.code().as_str()), (409, "not-drawn"));
}

#[test]
fn things_get_inside_sizes() {
    let s = Server::new("contents");
    assert_eq!(
        s.get("/api/contents/lists").json()["drops"][0]["name"],
        "1A"
    );
    let a = pack(&s, &json!([thing()]));
    assert_eq!(a.status, 200, "{}", a.text());
    let told = a.json();
    // Factor 3 x 760 mm / 40 g = 57 mm on each side: 312 + 114, 148 + 114, 236 + 114.
    assert_eq!(told["cushion"]["thickness"], 57.0, "{told}");
    assert_eq!(told["sizes"][0]["inside"], json!([426.0, 262.0, 350.0]));
    assert!(
        told["sizes"][0]["picture"]
            .as_str()
            .unwrap()
            .starts_with("<svg")
    );
    assert!(told["cautions"].to_string().contains("try a packed case"));
    // What a job takes over is drawn as such, and its mass counts on its way.
    let job = &told["sizes"][0]["job"];
    let mut state: Value = serde_json::from_str(STATE).unwrap();
    for key in ["title", "inside", "contents", "style", "board"] {
        state[key] = job[key].clone();
    }
    let design = s.post("/api/design", &state.to_string()).json();
    assert_eq!(design["case"]["asked"], json!([426.0, 262.0, 350.0]));
    let mut on = on();
    on["mass"] = json!("");
    let ask = json!({"state": state, "unit": "mm", "on": on});
    let shipped = s.post("/api/ship", &ask.to_string()).json();
    assert_eq!(shipped["contentsMass"], 4.1);
}

#[test]
fn things_that_cannot_be_are_refused_by_number_and_name() {
    let s = Server::new("contents-refused");
    let dial = json!({"name": "dial \"a\"\n\\", "shape": "flat", "length": "280mm",
        "width": "280mm", "depth": "12mm", "diameter": "", "mass": "0.6kg", "fragile": "",
        "up": "any", "touch": true, "stack": true, "count": 1});
    for (key, value) in [
        ("length", json!("")),
        ("length", json!("3kg")),
        ("length", json!("\"} thing \"x")),
        ("width", json!("-3mm")),
        ("mass", json!("")),
        ("fragile", json!("1")),
        ("fragile", json!("1e99")),
        ("count", json!(0)),
        ("count", json!(13)),
        ("name", json!("")),
        ("up", json!("diameter")),
    ] {
        let mut t = thing();
        t[key] = value.clone();
        let mut first = dial.clone();
        first["name"] = json!("dial");
        let a = pack(&s, &json!([first, t]));
        assert_eq!(
            (a.status, a.code().as_str()),
            (409, "not-packed"),
            "{key} {value}: {}",
            a.text()
        );
        assert!(
            a.text().contains("thing 2") || key == "count",
            "{key} {value}: {}",
            a.text()
        );
    }
    for things in [json!([]), json!(vec![thing(); 101])] {
        assert_eq!(pack(&s, &things).code(), "not-packed");
    }
    // Two of one name cannot be told apart in a job.
    assert_eq!(pack(&s, &json!([thing(), thing()])).code(), "not-packed");
    // Quotes and line ends of a name stay in it, or are refused; they never end the text.
    assert_eq!(pack(&s, &json!([dial])).code(), "not-packed");
    let mut quoted = dial.clone();
    quoted["name"] = json!("dial \"a\" \\ {");
    let told = pack(&s, &json!([quoted])).json();
    assert_eq!(told["name"], "dial \"a\" \\ {", "{told}");
}

#[test]
fn styles_and_boards_are_proposed_for_what_a_state_asks() {
    let s = Server::new("choose");
    let mut state: Value = serde_json::from_str(STATE).unwrap();
    state["contents"] = json!(["contents \"weight\" mass=\"3.4kg\" count=2"]);
    // A board so small that few styles go on it keeps the search short.
    state["sheet"] = json!(["500mm", "800mm"]);
    let a = s.post(
        "/api/choose",
        &json!({"state": state, "by": "board"}).to_string(),
    );
    assert_eq!(a.status, 200, "{}", a.text());
    let told = a.json();
    let proposals = told["proposals"].as_array().unwrap();
    assert!(!proposals.is_empty(), "{told}");
    // What is proposed can be drawn, and does not fail.
    let first = &proposals[0];
    for key in ["style", "board", "crease"] {
        state[key] = first[key].clone();
    }
    let design = s.post("/api/design", &state.to_string()).json();
    assert_ne!(design["case"]["verdict"], "fail", "{design}");
    let left: u64 = told["leftOut"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| l["count"].as_u64().unwrap())
        .sum();
    let all = told["candidates"].as_u64().unwrap();
    assert_eq!(
        left + proposals.len() as u64 + told["further"].as_u64().unwrap(),
        all
    );
    state["inside"]["length"] = json!("3kg");
    let a = s.post(
        "/api/choose",
        &json!({"state": state, "by": "board"}).to_string(),
    );
    assert_eq!((a.status, a.code().as_str()), (409, "not-chosen"));
}
