//! `ship` on the command line.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use serde_json::Value;
use support::{JOB, Place, Ran};

/// The job of all tests with something in it.
fn packed(name: &str) -> Place {
    let p = Place::new(name);
    p.put(
        "job.kdl",
        JOB.replace(
            "board \"C\"",
            "board \"C\"\n    contents \"weight\" mass=\"1.7kg\" count=2",
        ),
    );
    p
}

fn json(p: &Place, more: &[&str], status: i32) -> Value {
    let mut args = vec!["ship", "job.kdl", "--json", "--no-sheet"];
    if !more.contains(&"--room") {
        args.extend(["--room", "20-ft"]);
    }
    args.extend(more);
    serde_json::from_str(&p.run(&args).ended(status).out).unwrap()
}

/// Words without the breaks between lines.
fn flat(text: &str) -> String {
    let words = text.split_whitespace().filter(|w| *w != "│");
    words.collect::<Vec<_>>().join(" ")
}

fn refused(p: &Place, more: &[&str]) -> Ran {
    let mut args = vec!["ship", "job.kdl", "--out", "o"];
    args.extend(more);
    let ran = p.run(&args).ended(2);
    assert!(p.names("o").is_empty(), "nothing is written");
    ran
}

#[test]
fn a_packed_case_is_told_and_its_sheet_written() {
    let p = packed("ship");
    let out = p
        .run(&["ship", "job.kdl", "--high", "3", "--out", "o"])
        .ended(0)
        .out;
    for wanted in [
        "3.4 kg of contents (2 x weight)",
        "McKee, simple form",
        "x 0.95 to 1: edge crush of the board",
        "3 high presses with",
        "holds",
        "the bottom one counted, reckoned from the low end",
        "class single 23 by mass and size",
        "class medium at 7.50",
        "not small at 4.90:",
        "1200x800: flat pallet",
        "in columns:",
        "20-ft",
        "lifting index",
        "HM 0.",
        "strength is an estimate",
        "o/clock-weights-shipping.pdf",
    ] {
        assert!(flat(&out).contains(wanted), "{wanted}\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let wanted = ["clock-weights-shipping.pdf", "clock-weights-shipping.png"];
    assert_eq!(p.names("o"), wanted);
    let before = p.read("o/clock-weights-shipping.pdf");
    assert!(before.starts_with(b"%PDF-"));
    p.run(&["ship", "job.kdl", "--high", "3", "--out", "o"])
        .ended(0);
    assert_eq!(
        before,
        p.read("o/clock-weights-shipping.pdf"),
        "the same bytes"
    );
}

#[test]
fn where_no_mass_is_known_it_says_so() {
    let p = Place::new("ship-unknown");
    let out = p.run(&["ship", "job.kdl", "--no-sheet"]).ended(0).out;
    assert!(
        flat(&out).contains("contents not known: give --mass"),
        "{out}"
    );
    assert!(out.contains("(no-contents)"), "{out}");
    assert!(p.names("out").is_empty(), "--no-sheet writes nothing");
    let out = p
        .run(&["ship", "job.kdl", "--no-sheet", "--mass", "4.1kg"])
        .ended(0)
        .out;
    assert!(flat(&out).contains("4.1 kg of contents as given") && !out.contains("(no-contents)"));
}

/// Load m g (n - 1) and what is kept by the handbook's table, added up here from the file's own figures.
#[test]
fn the_figures_follow_from_the_options() {
    let p = packed("ship-figures");
    let dry = json(&p, &["--high", "2", "--days", "0", "--humidity", "50%"], 0);
    let gross = dry["gross"].as_f64().unwrap();
    assert!((dry["outside"]["contents"].as_f64().unwrap() - 3.4).abs() < 1e-12);
    let load = dry["stack"]["load"].as_f64().unwrap();
    assert!((load - gross * 9.80665).abs() < 1e-9);
    let kept = |v: &Value| {
        let shares = v["factors"]
            .as_array()
            .unwrap()
            .iter()
            .map(|f| f["worst"].as_f64().unwrap());
        shares.product::<f64>()
    };
    let least = |v: &Value| v["kept"]["least"].as_f64().unwrap();
    assert!((least(&dry) - kept(&dry)).abs() < 1e-12);
    let wet = json(
        &p,
        &[
            "--high",
            "2",
            "--days",
            "180",
            "--humidity",
            "90%",
            "--pattern",
            "interlocked",
            "--handling",
            "--deck-gap",
        ],
        0,
    );
    let what: Vec<&str> = wet["factors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["what"].as_str().unwrap())
        .collect();
    assert_eq!(
        what,
        ["time", "humidity", "pattern", "deck-gap", "handling"]
    );
    assert!(least(&wet) < 0.5 * least(&dry));
    assert!((least(&wet) - kept(&wet)).abs() < 1e-12);
    let most = wet["stack"]["needs"]["most"].as_f64().unwrap();
    assert!((most - load / least(&wet)).abs() < 1e-6);
    // 49 CFR 178.606: as many as reach 3 m, times 1.5.
    let law = json(&p, &["--rule", "cfr", "--mass", "1kg"], 0);
    let high = law["stack"]["high"].as_u64().unwrap();
    let depth = law["outside"]["size"][2].as_f64().unwrap();
    assert_eq!(high, (3000.0 / depth).ceil() as u64);
    assert!((law["stack"]["times"]["most"].as_f64().unwrap() - 1.5).abs() < 1e-12);
    for (rule, times) in [("gb", 1.65), ("gb-sea", 5.0), ("d4169", 4.5)] {
        let v = json(&p, &["--rule", rule, "--days", "60"], 0);
        assert!(
            (v["stack"]["times"]["most"].as_f64().unwrap() - times).abs() < 1e-12,
            "{rule}"
        );
    }
    let v = json(
        &p,
        &[
            "--rule",
            "d4169",
            "--place",
            "vehicle",
            "--bearing",
            "contents",
            "--assurance",
            "3",
        ],
        0,
    );
    assert!((v["stack"]["times"]["most"].as_f64().unwrap() - 2.0).abs() < 1e-12);
}

#[test]
fn formula_divisor_lift_and_tables_can_be_chosen() {
    let p = packed("ship-choices");
    for form in ["full", "power", "simple"] {
        let v = json(&p, &["--formula", form], 0);
        assert_eq!(v["compression"]["form"], form);
        assert_eq!(v["compression"]["forms"].as_array().unwrap().len(), 1);
    }
    let v = json(&p, &["--formula", "full", "--stiffness", "9000,4000"], 0);
    assert_eq!(v["compression"]["stiffness"][0], 9000.0);
    assert_eq!(v["compression"]["stiffness-given"], true);
    let five = json(&p, &["--divisor", "5000"], 0);
    let inch = json(&p, &["--divisor", "139in3/lb"], 0);
    let of = |v: &Value| v["parcel"]["volumetric"].as_f64().unwrap();
    // 139 in3/lb is 5022 cm3/kg.
    assert!((of(&five) / of(&inch) - 5021.6 / 5000.0).abs() < 1e-4);
    let sides: f64 = five["parcel"]["sides"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s.as_f64().unwrap())
        .product();
    assert!((of(&five) - sides / 5e6).abs() < 1e-9);
    let v = json(
        &p,
        &[
            "--lift-from",
            "750mm",
            "--lift-to",
            "1m",
            "--handholds",
            "100mm",
            "--lifts",
            "2",
            "--hours",
            "8",
            "--aside",
            "45deg",
        ],
        0,
    );
    // NIOSH 94-110: DM 0.82 + 4.5 / 25, AM 1 - 0.0032 x 45, FM at 2 a minute and 8 hours from 75 cm 0.65.
    let m = &v["lift"]["ends"][0]["multipliers"];
    for (i, wanted) in [(2, 1.0), (3, 0.856), (4, 0.65), (5, 1.0)] {
        assert!((m[i].as_f64().unwrap() - wanted).abs() < 1e-9, "{m}");
    }
    for (option, name, key) in [
        ("--losses", "leaflet", "losses"),
        ("--grades", "din", "grade"),
        ("--parcels", "example-inch", "parcel"),
    ] {
        let v = json(&p, &[option, name], 0);
        let told = if key == "losses" {
            v["losses"].clone()
        } else if key == "grade" {
            v["grade"]["table"].clone()
        } else {
            v["parcel"]["tariff"].clone()
        };
        assert_eq!(told, name);
    }
}

#[test]
fn own_tables_and_pallets_are_read_by_path() {
    let p = packed("ship-own");
    p.put("mine.kdl", "losses \"cellar\" {\n    title \"our cellar\"\n    column-aligned keeps=0.9 from=\"measured: ten cases\"\n}\nlosses \"attic\" {\n    title \"our attic\"\n    column-aligned keeps=0.5 from=\"measured: ten cases\"\n}\n");
    let least = |v: &Value| v["kept"]["least"].as_f64().unwrap();
    assert!((least(&json(&p, &["--losses", "mine.kdl"], 0)) - 0.9).abs() < 1e-12);
    assert!((least(&json(&p, &["--losses", "mine.kdl:attic"], 0)) - 0.5).abs() < 1e-12);
    p.put("our-loads.kdl", "pallet \"bench\" {\n    title \"a small one\"\n    plan \"500mm\" \"300mm\" from=\"measured: own pallet\"\n    height \"100mm\" from=\"measured: own pallet\"\n    mass \"3kg\" from=\"measured: own pallet\"\n}\n");
    let v = json(
        &p,
        &[
            "--loads",
            "our-loads.kdl",
            "--pallet",
            "bench",
            "--pallet-height",
            "500mm",
            "--room",
            "20-ft",
        ],
        0,
    );
    assert_eq!(v["haul"]["pallet"]["value"]["name"], "bench");
    // 238 x 148 outside on 500 x 300: two by two.
    assert_eq!(v["haul"]["loads"][0]["load"]["per_layer"], 4);
    assert_eq!(v["haul"]["rooms"].as_array().unwrap().len(), 1);
    let out = json(&p, &["--overhang", "30mm"], 0);
    let inside = json(&p, &["--overhang", "-30mm"], 0);
    let per = |v: &Value| v["haul"]["loads"][0]["load"]["per_layer"].as_u64().unwrap();
    assert!(per(&out) > per(&inside));
}

#[test]
fn a_load_is_no_higher_than_its_bottom_cases_bear() {
    let p = packed("ship-bears");
    let v = json(
        &p,
        &[
            "--mass",
            "8kg",
            "--days",
            "365",
            "--humidity",
            "90%",
            "--grades",
            "din",
        ],
        0,
    );
    let strength = v["compression"]["range"]["least"].as_f64().unwrap();
    let gross = v["gross"].as_f64().unwrap();
    let loads = v["haul"]["loads"].as_array().unwrap();
    assert!(!loads.is_empty());
    for l in loads {
        let layers = l["load"]["layers"].as_f64().unwrap();
        let kept = l["kept"]["least"].as_f64().unwrap();
        let asks = |n: f64| gross * 9.80665 * (n - 1.0) / kept;
        assert!(asks(layers) <= strength);
        assert_eq!(l["by-strength"], true);
        assert!(asks(layers + 1.0) > strength, "one more would be too many");
        assert!(l["layers-by-room"].as_f64().unwrap() > layers);
    }
}

#[test]
fn what_does_not_hold_ends_with_1() {
    let p = packed("ship-unmet");
    let codes = |v: &Value| -> Vec<String> {
        let all = v["unmet"].as_array().unwrap();
        let asked = all.iter().filter(|u| u["asked"] == true);
        asked
            .map(|u| u["code"].as_str().unwrap().to_owned())
            .collect()
    };
    let asks: [(&[&str], &[&str]); 5] = [
        (&["--high", "400"], &["stack"]),
        (
            &["--mass", "60kg", "--grades", "classification"],
            &["class"],
        ),
        (
            &[
                "--mass",
                "22kg",
                "--board",
                "E",
                "--grades",
                "classification",
            ],
            &["grade"],
        ),
        (
            &[
                "--mass",
                "2000kg",
                "--parcels",
                "example",
                "--pallet",
                "1200x800",
            ],
            &["parcel", "pallet"],
        ),
        (
            &["--pallet-height", "200mm", "--pallet", "1200x800"],
            &["pallet"],
        ),
    ];
    for (more, wanted) in asks {
        assert_eq!(codes(&json(&p, more, 1)), wanted);
    }
    // The same tables where nobody named them only caution.
    let v = json(&p, &["--mass", "60kg"], 0);
    assert_eq!(v["unmet"][0]["code"], "class");
    assert_eq!(v["unmet"][0]["asked"], false);
    let out = p
        .run(&["ship", "job.kdl", "--high", "400", "--no-sheet"])
        .ended(1)
        .out;
    assert!(
        out.contains("DOES NOT HOLD") && out.contains("FAIL "),
        "{out}"
    );
}

#[test]
fn bad_figures_are_refused_with_their_place() {
    let p = packed("ship-bad");
    for (option, value, wanted) in [
        ("--humidity", "80", "write it in percent: 80%"),
        ("--humidity", "180%", "--humidity lies between 0 and 1"),
        ("--humidity", "wet", "wet"),
        ("--mass", "4", "mass"),
        ("--mass", "-1kg", "--mass"),
        ("--mass", "1000000kg", "--mass lies between"),
        ("--days", "-3", "--days"),
        ("--overhang", "3m", "--overhang lies between"),
        ("--pallet-height", "5mm", "--pallet-height lies between"),
        ("--divisor", "0", "no volume for each unit of mass"),
        ("--divisor", "5 l", "139in3/lb"),
        ("--stiffness", "4500", "such as 4500,2300"),
        ("--aside", "400deg", "--aside"),
        ("--lying-share", "55", "write it in percent: 55%"),
    ] {
        let one = format!("{option}={value}");
        let err = refused(&p, &[&one]).err;
        assert!(flat(&err).contains(wanted), "{option} {value}\n{err}");
    }
    for wrong in [
        ["--high", "0"],
        ["--high", "9999"],
        ["--rule", "guess"],
        ["--hours", "3"],
        ["--pattern", "heap"],
    ] {
        refused(&p, &wrong);
    }
}

#[test]
fn unknown_names_come_with_what_was_meant() {
    let p = packed("ship-unknown-names");
    for (option, value, code, meant) in [
        ("--losses", "handbok", "unknown-table", "handbook"),
        (
            "--grades",
            "clasification",
            "unknown-table",
            "classification",
        ),
        ("--parcels", "exampel", "unknown-table", "example"),
        ("--pallet", "1200x80", "unknown-pallet", "1200x800"),
        ("--room", "20ft", "unknown-room", "20-ft"),
    ] {
        let said = refused(&p, &[option, value, "--json"]).said();
        let d = &said["diagnostics"][0];
        assert_eq!(d["code"], code);
        assert_eq!(d["file"], option);
        assert_eq!(
            (d["start"].as_u64(), d["end"].as_u64()),
            (Some(0), Some(value.len() as u64))
        );
        assert!(d["help"].as_str().unwrap().contains(meant), "{d}");
    }
    let said = refused(&p, &["--losses", "none.kdl", "--json"]).said();
    assert_eq!(said["diagnostics"][0]["code"], "no-file");
}

#[test]
fn a_broken_table_is_shown_with_line_and_underline() {
    let p = packed("ship-broken");
    p.put("mine.kdl", "losses \"cellar\" {\n    title \"our cellar\"\n    humidity from=\"measured: us\" {\n        air \"80%\" keeps=1.7\n    }\n}\n");
    let said = refused(&p, &["--losses", "mine.kdl", "--json"]).said();
    let d = &said["diagnostics"][0];
    assert_eq!(d["file"], "mine.kdl");
    assert_eq!(d["line"], 4);
    let err = refused(&p, &["--losses", "mine.kdl"]).err;
    assert!(
        err.contains("mine.kdl:4:") && err.contains("keeps=1.7"),
        "{err}"
    );
    p.put("mine.kdl", "losses \"cellar\" {");
    refused(&p, &["--losses", "mine.kdl"]);
    p.put("mine.kdl", [0xff, 0xfe]);
    refused(&p, &["--losses", "mine.kdl"]);
    p.put("loads.kdl", "pallet \"p\" {\n    title \"t\"\n}\n");
    let said = refused(&p, &["--loads", "loads.kdl", "--json"]).said();
    assert_eq!(said["diagnostics"][0]["file"], "loads.kdl");
}

#[test]
fn several_faults_come_together() {
    let p = packed("ship-several");
    let said = refused(
        &p,
        &[
            "--humidity",
            "80",
            "--losses",
            "handbok",
            "--pallet",
            "x",
            "--json",
        ],
    )
    .said();
    assert_eq!(said["diagnostics"].as_array().unwrap().len(), 3);
}
