//! `range` on the command line: what it writes, and order histories that are spoilt.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::Place;

const ORDERS: &str = include_str!("../../../examples/orders.csv");

fn ranged(p: &Place, csv: impl AsRef<[u8]>, more: &[&str]) -> support::Ran {
    p.put("o.csv", csv);
    let mut args = vec!["range", "o.csv", "--sizes", "2"];
    args.extend(more);
    p.run(&args)
}

#[test]
fn a_range_prints_and_writes_its_files() {
    let p = Place::new("range");
    p.put("orders.csv", ORDERS);
    let args = [
        "range",
        "orders.csv",
        "--sizes",
        "3",
        "--up-to",
        "4",
        "--grid",
        "20mm",
        "--out",
        "r",
    ];
    let out = p.run(&args).ended(0).out;
    for wanted in ["in all", "proved best", "l of void", "4 files in r"] {
        assert!(out.contains(wanted), "{wanted}\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let wanted = ["csv", "json", "pdf", "png"].map(|e| format!("orders-range.{e}"));
    assert_eq!(p.names("r"), wanted);
    let mut json_args = args[..8].to_vec();
    json_args.push("--json");
    let printed: serde_json::Value = serde_json::from_str(&p.run(&json_args).ended(0).out).unwrap();
    assert_eq!(printed, p.json("r/orders-range.json"));
    assert_eq!(printed["ranges"].as_array().unwrap().len(), 4);
    let csv = String::from_utf8(p.read("r/orders-range.csv")).unwrap();
    let chosen = printed["ranges"][2]["chosen"].as_array().unwrap();
    assert_eq!(csv.lines().count(), chosen.len() + 1);
    // The same from standard input.
    let mut piped = json_args;
    piped[1] = "-";
    let piped = p.run_with(&piped, ORDERS.as_bytes()).ended(0).out;
    let piped: serde_json::Value = serde_json::from_str(&piped).unwrap();
    assert_eq!(piped["ranges"], printed["ranges"]);
}

#[test]
fn board_and_freight_are_counted_too() {
    let p = Place::new("range-least");
    p.put("orders.csv", ORDERS);
    let run = |more: &[&str]| -> serde_json::Value {
        let mut args = vec![
            "range",
            "orders.csv",
            "--sizes",
            "2",
            "--up-to",
            "2",
            "--grid",
            "30mm",
            "--json",
        ];
        args.extend(more);
        serde_json::from_str(&p.run(&args).ended(0).out).unwrap()
    };
    let board = run(&["--least", "board"]);
    assert_eq!(board["unit"], "m2");
    assert_eq!(board["ranges"][1]["proved"], true);
    // A slotted case of one size: its blank times the orders, as `check` measures it.
    let chosen = &board["ranges"][0]["chosen"][0];
    let sizes: Vec<f64> = (0..3)
        .map(|d| chosen["inside"][d].as_f64().unwrap())
        .collect();
    let job = format!(
        "job \"j\" {{\n style \"slotted-case\"\n inside length=\"{}mm\" width=\"{}mm\" depth=\"{}mm\"\n board \"B\"\n}}\n",
        sizes[0], sizes[1], sizes[2]
    );
    p.put("one.kdl", job);
    let report: serde_json::Value =
        serde_json::from_str(&p.run(&["check", "one.kdl", "--json"]).out).unwrap();
    let piece = &report["pieces"][0]["figures"];
    let area = piece["length"].as_f64().unwrap() * piece["width"].as_f64().unwrap() * 1e-6;
    let whole = area * chosen["orders"].as_f64().unwrap();
    let cost = board["ranges"][0]["cost"].as_f64().unwrap();
    assert!((cost / whole - 1.0).abs() < 1e-6, "{cost} {whole}");
    let freight = run(&[
        "--least",
        "freight",
        "--divisor",
        "6000",
        "--keep",
        "300x200x150mm",
    ]);
    assert_eq!(freight["unit"], "kg");
    // One size alone cannot be the kept one, which is too small: the list begins with two.
    let last = freight["ranges"].as_array().unwrap().last().unwrap();
    assert_eq!(last["sizes"], 2);
    let kept = last["chosen"].as_array().unwrap();
    assert_eq!(kept.iter().filter(|c| c["kept"] == true).count(), 1);
}

#[test]
fn units_quotes_line_ends_and_other_separators_are_read() {
    let p = Place::new("range-read");
    let wanted = |csv: &[u8]| {
        let out = ranged(&p, csv, &["--json"]).ended(0).out;
        let all: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!(all["orders"], 5, "{out}");
        assert_eq!(all["distinct"], 2, "{out}");
        assert_eq!(all["ranges"][0]["chosen"][0]["inside"][0], 254.0, "{out}");
    };
    wanted(b"length,width,height,count\n254,100,50,2\n100,90,80,3\n");
    wanted(b"\xef\xbb\xbflength,width,height,count\r\n254,100,50,2\r\n100,90,80,3\r\n");
    wanted(b"\"Length_in\",\"width\",height,\"count\",note\n\"10\",100,50,2,\"a, \"\"b\"\"\nc\"\n\"3.937007874\",90,80,3,\n");
    wanted(b"count;length;width;height\n2;25.4e1;100;50\n\n3;100;90;80");
    wanted(b"height\twidth\tlength_cm\tcount\n 50 \t100\t25.4\t2\n80\t90\t10\t3\n");
}

#[test]
fn spoilt_histories_are_told_in_one_message() {
    let p = Place::new("range-spoilt");
    let head = "length,width,height,count,mass\n";
    let rows = [
        (
            "10,x,10,1,1",
            "bad-row",
            "line 3: the width `x` is no number",
        ),
        (
            "10,-2,10,1,1",
            "bad-row",
            "the width `-2` is not more than 0",
        ),
        ("0,2,10,1,1", "bad-row", "the length `0` is not more than 0"),
        ("10,2,NaN,1,1", "bad-row", "the height `NaN` is no number"),
        ("10,2,inf,1,1", "bad-row", "the height `inf` is no number"),
        (
            "10,2,1e300,1,1",
            "bad-row",
            "the height `1e300` is beyond 20 m",
        ),
        ("10,2,1e999,1,1", "bad-row", "is no number"),
        ("10,2,3,1.5,1", "bad-row", "the count `1.5` is no count"),
        ("10,2,3,-1,1", "bad-row", "the count `-1` is no count"),
        ("10,2,3,99999999999999999999,1", "bad-row", "is no count"),
        ("10,2,3,1,-1", "bad-row", "the mass `-1` is below 0"),
        ("10,2,3", "bad-row", "is missing"),
        ("10,,3,1,1", "bad-row", "the width is missing"),
        ("10,\u{1b}[31m,3,1,1", "bad-row", "is no number"),
    ];
    for (row, code, words) in rows {
        let csv = format!("{head}50,40,30,1,1\n{row}\n");
        let ran = ranged(&p, &csv, &["--json"]).ended(2);
        let d = &ran.said()["diagnostics"][0];
        assert_eq!(d["code"], code, "{row}: {d}");
        let message = d["message"].as_str().unwrap();
        assert!(message.contains(words), "{row}: {message}");
        assert!(!ran.err.contains('\u{1b}'), "{row}");
        // Left out when asked, and told.
        let ran = ranged(&p, &csv, &["--skip-bad", "--json"]).ended(0);
        assert_eq!(ran.said()["diagnostics"][0]["code"], "bad-rows", "{row}");
        let all: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(all["bad-rows"], 1, "{row}");
    }
    let long = format!("{head}\"{}", "1,".repeat(100_000));
    let many = format!("{head}{}", "1,".repeat(2_000));
    let spoilt: [(&[u8], &str); 11] = [
        (b"", "no-orders"),
        (b"\n\n", "no-orders"),
        (head.as_bytes(), "no-orders"),
        (b"length,width,height,count\n5,5,5,0\n", "no-orders"),
        (b"length,width\n1,2\n", "no-column"),
        (b"lenght,width,height\n1,2,3\n", "no-column"),
        (b"length,length_in,width,height\n1,1,2,3\n", "given-twice"),
        (b"length_kg,width,height\n1,2,3\n", "wrong-unit"),
        (b"length,width,height\n\xff\xfe,2,3\n", "bad-row"),
        (long.as_bytes(), "row-too-long"),
        (many.as_bytes(), "row-too-long"),
    ];
    for (csv, code) in spoilt {
        let ran = ranged(&p, csv, &["--json", "--out", "never"]).ended(2);
        assert_eq!(ran.said()["diagnostics"][0]["code"], code);
        assert!(ran.out.is_empty());
    }
    assert!(p.names("never").is_empty());
    let err = ranged(&p, "length,width,height\n1,2,3\n4,five,6\n", &[])
        .ended(2)
        .err;
    assert!(err.contains("4,five,6") && err.contains("line 3"), "{err}");
}

#[test]
fn what_cannot_be_asked_is_told() {
    let p = Place::new("range-asked");
    let csv = "length,width,height\n100,90,80\n300,20,10\n";
    for (more, code) in [
        (&["--grid", "0mm"][..], "out-of-range"),
        (&["--grid", "1kg"], "wrong-unit"),
        (&["--clearance", "-1mm"], "out-of-range"),
        (&["--keep", "300x200x0mm"], "out-of-range"),
        (&["--keep", "300x200"], "usage"),
        (&["--largest", "50x40x30mm"], "too-large"),
        (
            &["--smallest", "5x4x3m", "--largest", "50x40x30mm"],
            "out-of-range",
        ),
        (&["--least", "board", "--style", "no-such"], "unknown-style"),
        (&["--least", "board", "--board", "no-such"], "unknown-board"),
        (&["--least", "freight", "--step", "0kg"], "out-of-range"),
        (&["--divisor", "0"], "usage"),
        (
            &[
                "--keep", "1x1x1cm", "--keep", "2x2x2cm", "--keep", "3x3x3cm",
            ],
            "too-few-sizes",
        ),
        (&["--keep", "1x1x1cm", "--keep", "2x2x2cm"], "too-few-sizes"),
    ] {
        let mut all = more.to_vec();
        all.push("--json");
        let ran = ranged(&p, csv, &all).ended(2);
        assert_eq!(
            ran.said()["diagnostics"][0]["code"],
            code,
            "{more:?} {}",
            ran.err
        );
    }
    p.run(&["range", "none.csv", "--sizes", "2"]).ended(2);
    p.run(&["range", ".", "--sizes", "2"]).ended(2);
    // Some orders are too large: the rest is served, and the status says so.
    let ran = ranged(&p, csv, &["--largest", "200x200x200mm", "--json"]).ended(1);
    let all: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(all["too-large"], 1);
    assert_eq!(ran.said()["diagnostics"][0]["code"], "too-large");
}
