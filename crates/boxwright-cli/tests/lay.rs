//! `lay` on the command line.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::{JOB, Place};

fn two(name: &str) -> Place {
    let p = Place::new(name);
    let other = JOB.replace("clock weights", "dial").replace("80mm", "60mm");
    p.put("dial.kdl", other);
    p
}

const SHEET: [&str; 2] = ["--sheet", "1600mmx1200mm:20:2.50"];

#[test]
fn jobs_are_laid_told_and_written() {
    let p = two("lay");
    let mut args = vec!["lay", "job.kdl", "dial.kdl", "--rounds", "40", "--out", "o"];
    args.extend(SHEET);
    args.extend(["--quantity", "clock weights=5", "--quantity", "dial.kdl=3"]);
    let out = p.run(&args).ended(0).out;
    for wanted in [
        "clock weights and 1 more job",
        "8 of 8 parts laid, of 2 kinds",
        "3 mm between parts, 5 mm to the edge",
        "board C",
        "never leave it running alone",
    ] {
        assert!(out.contains(wanted), "{wanted}\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let stem = "clock-weights-and-1-more-job";
    let layout = p.json(&format!("o/{stem}.layout.json"));
    assert_eq!(layout["parts"][0]["wanted"], 5);
    assert_eq!(layout["parts"][1]["wanted"], 3);
    assert_eq!(layout["stock"][0]["price"], 2.5);
    let sheets = layout["sheets"].as_array().unwrap();
    let laid: usize = sheets
        .iter()
        .map(|s| s["placed"].as_array().unwrap().len())
        .sum();
    assert_eq!(laid, 8);
    let mut wanted = vec![format!("{stem}-layout.pdf"), format!("{stem}.layout.json")];
    for n in 1..=sheets.len() {
        wanted.extend(["dxf", "svg"].map(|e| format!("{stem}-sheet-{n}.{e}")));
    }
    wanted.sort();
    assert_eq!(p.names("o"), wanted);
    let n = args.iter().position(|a| *a == "--out").unwrap();
    args.drain(n..n + 2);
    args.push("--json");
    let printed: serde_json::Value = serde_json::from_str(&p.run(&args).ended(0).out).unwrap();
    assert_eq!(printed, layout, "the same rounds give the same layout");
}

#[test]
fn what_is_left_over_is_told_with_why() {
    let p = two("lay-left");
    let run = |sheet: &str, more: &[&str]| {
        let mut args = vec!["lay", "job.kdl", "--rounds", "10", "--sheet", sheet];
        args.extend(more);
        p.run(&args).ended(1).out
    };
    assert!(run("200mmx200mm", &[]).contains("too large for every sheet of board C"));
    assert!(run("1600mmx1200mm:1", &["--quantity", "job.kdl=40"]).contains("no room was left"));
    p.put(
        "b.kdl",
        JOB.replace("\"C\"", "\"B\"").replace("weights", "b"),
    );
    let out = run("1600mmx1200mm", &["b.kdl", "--board", "B"]);
    assert!(out.contains("there is no sheet of board C"), "{out}");
}

#[test]
fn what_is_written_wrongly_is_told() {
    let p = two("lay-wrong");
    for (args, code) in [
        (vec!["job.kdl"], "no-stock"),
        (
            vec![
                "job.kdl",
                "--sheet",
                "1600mmx1200mm",
                "--quantity",
                "clok=3",
            ],
            "unknown-job",
        ),
        (
            vec!["job.kdl", "--sheet", "1600mmx1200mm", "--board", "Z"],
            "unknown-board",
        ),
        (vec!["job.kdl", "--sheet", "1600x1200mm"], "wrong-unit"),
        (vec!["job.kdl", "--sheet", "1600mmx0mm"], "out-of-range"),
        (vec!["job.kdl", "--sheet", "1600mm"], "usage"),
        (vec!["job.kdl", "--sheet", "1600mmx1200mm:0"], "usage"),
        (vec!["job.kdl", "--sheet", "1600mmx1200mm:2:x"], "usage"),
        (
            vec!["job.kdl", "--sheet", "1600mmx1200mm", "--spacing", "99m"],
            "out-of-range",
        ),
        (
            vec!["job.kdl", "--sheet", "1600mmx1200mm", "--margin", "3"],
            "wrong-unit",
        ),
        (vec!["job.kdl", "--stock", "none.kdl"], "no-file"),
        (vec!["none.kdl", "--sheet", "1600mmx1200mm"], "no-file"),
        (vec!["--sheet", "1600mmx1200mm"], "usage"),
    ] {
        let mut all = vec!["lay", "--json"];
        all.extend(&args);
        let said = p.run(&all).ended(2).said();
        assert_eq!(said["diagnostics"][0]["code"], code, "{args:?}");
        assert!(p.names("o").is_empty());
    }
}

#[test]
fn a_stock_file_is_read() {
    let p = two("lay-stock");
    p.put(
        "stock.kdl",
        "sheet \"C large\" board=\"C\" length=\"1600mm\" width=\"1200mm\" count=3 price=3.40\n\
         off-cut \"C-1\" board=\"C\" length=\"900mm\" width=\"900mm\" price=0.5\n",
    );
    let args = [
        "lay",
        "job.kdl",
        "--stock",
        "stock.kdl",
        "--rounds",
        "200",
        "--json",
    ];
    let out = p.run(&args).ended(0).out;
    let layout: serde_json::Value = serde_json::from_str(&out).unwrap();
    let used = layout["sheets"][0]["stock"].as_u64().unwrap();
    assert_eq!(
        layout["stock"][usize::try_from(used).unwrap()]["name"],
        "C-1",
        "the cheaper one"
    );
}
