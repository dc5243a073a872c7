//! The first article at the command line: strips out, readings in, figures used from then on.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use support::Place;

/// Fills the template in with what a workshop reads whose board is 4.2 mm thick and whose creases turn at
/// 0.5 along and 0.45 across, with a kerf of 0.17 mm; readings differ by a little, evenly.
fn filled(template: &str) -> String {
    let stray = [-0.02, 0.01, 0.0, 0.02, -0.01];
    let (t, kerf) = (4.2, 0.17);
    let mut out = String::new();
    let mut n = 0;
    for line in template.lines() {
        let word = line.trim_start();
        if word.starts_with("caliper") {
            let all: Vec<String> = (0..10)
                .map(|i| format!("\"{:.3}mm\"", t + stray[i % 5]))
                .collect();
            out.push_str(&format!("    caliper {}\n", all.join(" ")));
            continue;
        }
        let s = stray[n % 5];
        if word.starts_with("channel") {
            let p = if word.contains("along") { 0.5 } else { 0.45 };
            let (a, b) = (60.0 - 2.0 * p * t + s, 60.0 + 2.0 * (1.0 - p) * t + s);
            let line = line
                .replace("inside=\"\"", &format!("inside=\"{a:.3}mm\""))
                .replace("outside=\"\"", &format!("outside=\"{b:.3}mm\""));
            out.push_str(&line);
            n += 1;
        } else if word.starts_with("gauge") {
            let (h, q) = (20.0 + kerf + s, 20.0 - kerf);
            out.push_str(&format!("    gauge hole=\"{h:.3}mm\" piece=\"{q:.3}mm\""));
            n += 1;
        } else {
            out.push_str(line);
        }
        out.push('\n');
    }
    out
}

fn coupon(p: &Place, out: &str) {
    p.run(&[
        "coupon",
        "--board",
        "C",
        "--machine",
        "bench-laser",
        "--out",
        out,
    ])
    .ended(0);
}

/// Writes strips, fills the file in and learns it in the folder itself.
fn learnt(p: &Place) {
    coupon(p, "c");
    let template = String::from_utf8(p.read("c/measurements.kdl")).unwrap();
    p.put("m.kdl", filled(&template));
    p.run(&["learn", "m.kdl"]).ended(0);
}

fn reach_of_wall(report: &str) -> f64 {
    let v: serde_json::Value = serde_json::from_str(report).unwrap();
    let panels = v["pieces"][0]["panels"].as_array().unwrap();
    let wall = panels.iter().find(|p| p["name"] == "side-1").unwrap();
    wall["reach"].as_f64().unwrap()
}

#[test]
fn the_strips_can_be_checked_laid_cut_and_folded() {
    let p = Place::new("learn-coupon");
    coupon(&p, "c");
    let names = p.names("c");
    for name in [
        "coupon.pdf",
        "measurements.kdl",
        "strips-across-c-strip.dxf",
        "strips-across.kdl",
        "strips-along-c-strip.svg",
        "strips-along.kdl",
        "test-strip.kdl",
    ] {
        assert!(names.iter().any(|n| n == name), "{name}: {names:?}");
    }
    assert!(p.read("c/coupon.pdf").starts_with(b"%PDF"));
    for job in ["c/strips-along.kdl", "c/strips-across.kdl"] {
        let out = p.run(&["check", job, "--json"]).ended(0).out;
        let v: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!(v["quantity"], 5);
        let creases = v["pieces"][0]["creases"].as_array().unwrap();
        assert_eq!(creases.len(), 2);
    }
    // The flat file, read back and folded as board, is a channel.
    p.run(&[
        "fold",
        "c/strips-across-c-strip.dxf",
        "--board",
        "C",
        "--crease",
        "hand",
    ])
    .ended(0);
    p.run(&[
        "lay",
        "c/strips-along.kdl",
        "c/strips-across.kdl",
        "--sheet",
        "600mmx400mm",
        "--rounds",
        "5",
        "--threads",
        "1",
        "--out",
        "l",
    ])
    .ended(0);
    let layout = p
        .names("l")
        .into_iter()
        .find(|n| n.ends_with(".layout.json"))
        .unwrap();
    p.run(&[
        "cut",
        &format!("l/{layout}"),
        "--machine",
        "bench-laser",
        "--no-nicks",
        "--out",
        "g",
    ])
    .ended(0);
    // What was filled in is never written over.
    let again = p.run(&["coupon", "--board", "C", "--out", "c"]).ended(2);
    assert!(again.err.contains("already-there"), "{}", again.err);
    let unknown = p.run(&["coupon", "--board", "Q", "--out", "q"]).ended(2);
    assert!(unknown.err.contains("unknown-board"), "{}", unknown.err);
    assert!(p.names("q").is_empty());
}

#[test]
fn what_is_learnt_is_used_from_then_on() {
    let p = Place::new("learn-used");
    let before = p.run(&["check", "job.kdl", "--json"]).ended(0).out;
    coupon(&p, "c");
    let template = String::from_utf8(p.read("c/measurements.kdl")).unwrap();
    p.put("m.kdl", filled(&template));
    // Told and not kept.
    p.run(&["learn", "m.kdl", "--dry-run"]).ended(0);
    assert_eq!(p.run(&["check", "job.kdl", "--json"]).ended(0).out, before);
    let told = p.run(&["learn", "m.kdl", "--json"]).ended(0).out;
    let v: serde_json::Value = serde_json::from_str(&told).unwrap();
    let value = |name: &str| v["measured"][name]["value"].as_f64().unwrap();
    assert!((value("caliper") - 4.2).abs() < 1e-6, "{told}");
    assert!((value("along") - 0.5).abs() < 1e-6);
    assert!((value("across") - 0.45).abs() < 1e-6);
    assert!((value("kerf") - 0.17).abs() < 1e-6);
    assert_eq!(v["kept"], 1);

    // The second wall is 140 mm between two upright creases: drawn 140 + 2 p t.
    let after = p.run(&["check", "job.kdl", "--json"]).ended(0).out;
    let (old, new) = (reach_of_wall(&before), reach_of_wall(&after));
    let report: serde_json::Value = serde_json::from_str(&before).unwrap();
    let depth = report["axis_depth"]["along"].as_f64().unwrap();
    assert!((old - (140.0 + 2.0 * depth * 4.0)).abs() < 1e-6, "{old}");
    assert!((new - (140.0 + 2.0 * 0.5 * 4.2)).abs() < 1e-6, "{new}");
    let v: serde_json::Value = serde_json::from_str(&after).unwrap();
    assert!((v["measured"]["along"]["value"].as_f64().unwrap() - 0.5).abs() < 1e-6);
    let words = p.run(&["check", "job.kdl"]).ended(0).out;
    assert!(words.contains("measured"), "{words}");
    assert!(words.contains("caliper 4.2 +- 0.0"), "{words}");

    // Not where it is not wanted, nor where the job says it.
    let without = p
        .run(&["check", "job.kdl", "--json", "--no-measured"])
        .ended(0)
        .out;
    assert_eq!(without, before);
    let own = [
        "check",
        "job.kdl",
        "--json",
        "--caliper",
        "4mm",
        "--axis-depth",
        "0.6",
    ];
    let own = reach_of_wall(&p.run(&own).ended(0).out);
    assert!((own - (140.0 + 2.0 * 0.6 * 4.0)).abs() < 1e-6);
    let b = p
        .run(&["check", "job.kdl", "--json", "--board", "B"])
        .ended(0)
        .out;
    assert!(
        serde_json::from_str::<serde_json::Value>(&b)
            .unwrap()
            .get("measured")
            .is_none()
    );

    // From another folder, by its name.
    std::fs::create_dir_all(p.0.join("else")).unwrap();
    p.put("else/job.kdl", support::JOB);
    let far = Place(p.0.join("else"));
    assert_eq!(
        far.run(&["check", "job.kdl", "--json"]).ended(0).out,
        before
    );
    let named = far
        .run(&["check", "job.kdl", "--json", "--measured", ".."])
        .ended(0)
        .out;
    assert!((reach_of_wall(&named) - new).abs() < 1e-9);
    let none = far.run(&["check", "job.kdl", "--measured", "."]).ended(2);
    assert!(none.err.contains("no-store"), "{}", none.err);

    // Listed, and forgotten.
    let list = p.run(&["learn", "--list"]).ended(0).out;
    assert!(list.contains("board C, bench-laser, rule"), "{list}");
    p.run(&["learn", "--forget", "7"]).ended(2);
    p.run(&["learn", "--forget", "1"]).ended(0);
    assert_eq!(p.run(&["check", "job.kdl", "--json"]).ended(0).out, before);
}

#[test]
fn the_other_verbs_use_it_too() {
    let p = Place::new("learn-verbs");
    learnt(&p);
    let sweep = p
        .run(&[
            "sweep",
            "job.kdl",
            "--vary",
            "length=200mm..260mm",
            "--vary",
            "depth=60mm..90mm",
            "--steps",
            "3",
        ])
        .ended(0);
    assert!(sweep.out.contains("caliper 4.2"), "{}", sweep.out);
    let made = p
        .run(&["make", "job.kdl", "--only", "report", "--out", "o"])
        .ended(0);
    assert!(made.out.contains("caliper 4.2"), "{}", made.out);
    let lay = p
        .run(&[
            "lay",
            "job.kdl",
            "--sheet",
            "1600mmx1200mm",
            "--rounds",
            "3",
            "--threads",
            "1",
            "--out",
            "l",
        ])
        .ended(0);
    assert!(lay.out.contains("caliper 4.2"), "{}", lay.out);
    p.run(&[
        "lay",
        "c/strips-along.kdl",
        "--sheet",
        "600mmx400mm",
        "--rounds",
        "3",
        "--threads",
        "1",
        "--out",
        "s",
    ])
    .ended(0);
    let layout = p
        .names("s")
        .into_iter()
        .find(|n| n.ends_with(".layout.json"))
        .unwrap();
    let layout = format!("s/{layout}");
    let cut = |more: &[&str], out: &str| {
        let mut args = vec!["cut", &layout, "--machine", "bench-laser", "--out", out];
        args.extend(more);
        p.run(&args).ended(0).out
    };
    let with = cut(&[], "g1");
    assert!(with.contains("kerf 0.17 +- "), "{with}");
    let without = cut(&["--no-measured"], "g2");
    assert!(!without.contains("kerf 0.17"), "{without}");
    let spread = p.run(&["spread", "job.kdl", "--cases", "200"]).ended(0).out;
    assert!(
        spread.contains("measured: how much strips differ"),
        "{spread}"
    );
}

#[test]
fn the_spread_is_told_and_the_same_each_time() {
    let p = Place::new("learn-spread");
    let args = ["spread", "job.kdl", "--cases", "400", "--json"];
    let one = p.run(&args).ended(0).out;
    assert_eq!(one, p.run(&args).ended(0).out);
    let v: serde_json::Value = serde_json::from_str(&one).unwrap();
    let s = &v["summary"];
    assert_eq!(s["cases"], 400);
    let share = |s: &serde_json::Value| s["holds"]["share"].as_f64().unwrap();
    assert!(share(s) < 0.6, "{one}");
    let between = s["holds"]["between"].as_array().unwrap();
    assert!(between[0].as_f64().unwrap() < share(s) && share(s) < between[1].as_f64().unwrap());
    // As much room as is said to be needed may be lacking: then nearly all hold.
    let add = s["clearance"][1]["add"].as_array().unwrap();
    let most = add.iter().map(|a| a.as_f64().unwrap()).fold(0.0, f64::max);
    let short = format!("{most}mm");
    let mut lax = args.to_vec();
    lax.extend(["--short", &short]);
    let v: serde_json::Value = serde_json::from_str(&p.run(&lax).ended(0).out).unwrap();
    assert!(share(&v["summary"]) >= 0.99, "{v}");
    let words = p.run(&[
        "spread",
        "job.kdl",
        "--cases",
        "200",
        "--crease-sd",
        "0mm",
        "--cut-sd",
        "0mm",
        "--depth-sd",
        "0",
    ]);
    let words = words.ended(0).out;
    assert!(words.contains("thickness of the board 100 %"), "{words}");
    for (option, value) in [
        ("--crease-sd", "3"),
        ("--depth-sd", "2"),
        ("--short", "-1mm"),
        ("--cases", "5"),
    ] {
        let wrong = format!("{option}={value}");
        p.run(&["spread", "job.kdl", &wrong]).ended(2);
    }
}

#[test]
fn hostile_files_keep_nothing() {
    let p = Place::new("learn-hostile");
    let file =
        |body: &str| format!("measurements {{\n board \"C\"\n crease \"rule\"\n {body}\n}}\n");
    for (body, code) in [
        ("", "no-readings"),
        ("caliper \"\" \"\"", "no-readings"),
        ("caliper \"4mm\"", "too-few"),
        ("caliper \"-4mm\" \"4mm\"", "out-of-range"),
        ("caliper \"0.16mm\" \"0.16mm\"", "implausible"),
        ("caliper \"4.05\" \"4\"", "wrong-unit"),
        ("calliper \"4mm\" \"4mm\"", "unknown-word"),
        ("caliper \"4mm\" \"4.1mm\" { x }", "unknown-word"),
        (
            "channel \"along\" drawn=\"60mm\" inside=\"55mm\"",
            "no-caliper",
        ),
        ("gauge hole=\"19mm\" piece=\"20mm\"", "not-larger"),
        ("caliper \"1e999mm\" \"4mm\"", ""),
        ("caliper \"nan mm\" \"4mm\"", ""),
        ("}", ""),
    ] {
        p.put("m.kdl", file(body));
        let ran = p.run(&["learn", "m.kdl", "--json"]).ended(2);
        assert!(ran.out.is_empty(), "{body}");
        let said = ran.said();
        let first = &said["diagnostics"][0];
        assert!(code.is_empty() || first["code"] == code, "{body}: {said}");
        assert_eq!(first["file"], "m.kdl", "{body}");
    }
    p.put("m.kdl", [0xff, 0xfe]);
    p.run(&["learn", "m.kdl"]).ended(2);
    p.run(&["learn", "none.kdl"]).ended(2);
    p.run(&["learn"]).ended(2);
    assert!(
        !p.names("").iter().any(|n| n.ends_with(".db")),
        "nothing is kept"
    );
    // A reading apart is named, and the figures are kept all the same.
    p.put(
        "m.kdl",
        file("caliper \"4.0mm\" \"4.01mm\" \"4.0mm\" \"4.02mm\" \"4.01mm\" \"4.9mm\""),
    );
    let ran = p.run(&["learn", "m.kdl"]).ended(0);
    assert!(
        ran.err.contains("reading-apart") && ran.err.contains("4.9mm"),
        "{}",
        ran.err
    );
    // Inches are lengths; a board that nobody knows is told of.
    p.put(
        "m.kdl",
        "measurements {\n board \"Z\"\n crease \"hand\"\n caliper \"0.16in\" \"0.161in\"\n}",
    );
    let ran = p.run(&["learn", "m.kdl", "--dry-run"]).ended(0);
    assert!(
        ran.err.contains("unknown-board") && ran.err.contains("few-readings"),
        "{}",
        ran.err
    );
    assert!(ran.out.contains("4.077 mm"), "{}", ran.out);
}

#[test]
fn a_damaged_store_is_told_and_can_be_gone_without() {
    let p = Place::new("learn-damaged");
    p.put("boxwright-stock.db", "this is no store");
    let ran = p.run(&["check", "job.kdl", "--json"]).ended(2);
    assert!(ran.err.contains("--no-measured"), "{}", ran.err);
    p.run(&["check", "job.kdl", "--no-measured"]).ended(0);
}
