//! Order histories as text: whatever way the bytes come, the same history; and what is wrong in it
//! is told with its row.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use boxwright::suite::{Gathering, Orders, Rows, Stray};
use boxwright::units::Length;

fn read(text: &[u8], parts: usize, skip: bool) -> Result<Orders, Box<Stray>> {
    let mut rows = Rows::new("x.csv", Gathering::default(), skip);
    // The first part holds the first row.
    let head = text
        .iter()
        .position(|b| *b == b'\n')
        .map_or(text.len(), |n| n + 1);
    rows.push(&text[..head])?;
    for part in text[head..].chunks(parts) {
        rows.push(part)?;
    }
    rows.finish()
}

fn told(o: &Orders) -> (u64, u64, usize, [[f64; 3]; 2], String) {
    let ends = o.history.ends().map(|e| e.map(Length::to_mm));
    let things = format!("{:.6}", o.history.filled_litres());
    (
        o.rows,
        o.history.orders(),
        o.history.distinct(),
        ends,
        things,
    )
}

#[test]
fn the_same_history_however_the_bytes_come() {
    let text = "length,width,height,count,note\n300,200,100,12,\"a, \"\"b\"\"\nc\"\n\n100,120,180,3,\n300,100,200,1,x";
    let whole = told(&read(text.as_bytes(), 1 << 20, false).unwrap());
    // 13 things of 6 l and 3 of 2.16 l.
    assert_eq!(whole.0, 3);
    assert_eq!((whole.1, whole.2), (16, 2));
    assert_eq!(whole.3, [[180.0, 120.0, 100.0], [300.0, 200.0, 100.0]]);
    assert_eq!(whole.4, "84.480000");
    for parts in 1..40 {
        assert_eq!(
            told(&read(text.as_bytes(), parts, false).unwrap()),
            whole,
            "{parts}"
        );
    }
    let lines = text
        .replace("\n\n", "\n")
        .replace("\"a, \"\"b\"\"\nc\"", "");
    for odd in [
        lines.replace('\n', "\r\n"),
        lines.replace(',', ";"),
        lines.replace(',', "\t"),
        format!("\u{feff}{lines}"),
        format!("{lines}\n\n\n"),
        lines
            .replace("length,width,height", "length_cm,Width (cm),height cm")
            .replace("00,", "0,")
            .replace("120", "12")
            .replace("180", "18"),
    ] {
        assert_eq!(
            told(&read(odd.as_bytes(), 7, false).unwrap()),
            whole,
            "{odd}"
        );
    }
}

#[test]
fn what_is_wrong_stands_in_its_row() {
    let wrong = |text: &str| *read(text.as_bytes(), 5, false).unwrap_err();
    let at = |s: &Stray| {
        let p = s.diag.place.as_ref().unwrap();
        (p.input.clone(), s.row[p.start..p.end].to_owned())
    };
    let s = wrong("length,width,height\n1,2,3\n4,five,6\n");
    assert_eq!(s.diag.code, "bad-row");
    assert_eq!(at(&s), ("x.csv line 3".to_owned(), "five".to_owned()));
    let s = wrong("length,width,height\n\"1\n\",2,3\n4,5\n");
    assert_eq!(at(&s), ("x.csv line 4".to_owned(), String::new()));
    for (text, code) in [
        ("", "no-orders"),
        ("\n\n", "no-orders"),
        ("lenght,width,height\n", "no-column"),
        ("length,width,height,length\n", "given-twice"),
        ("length_kg,width,height\n", "wrong-unit"),
        ("length,width,height\n0,1,1\n", "bad-row"),
        ("length,width,height\n1,1,30000\n", "bad-row"),
        ("length,width,height,count\n1,1,1,1.5\n", "bad-row"),
        ("length,width,height,mass\n1,1,1,-1\n", "bad-row"),
        ("length,width,height\n1,1,NaN\n", "bad-row"),
    ] {
        assert_eq!(wrong(text).diag.code, code, "{text}");
    }
    let long = format!("length,width,height\n1,1,{}\n", "9".repeat(70_000));
    assert_eq!(wrong(&long).diag.code, "row-too-long");
    assert!(
        wrong("lenght,width,height\n")
            .diag
            .help
            .unwrap()
            .contains("`lenght`")
    );
    // Left out instead, and counted.
    let o = read(
        b"length,width,height\n1,2,3\n4,five,6\n7,8\n2,2,2\n",
        3,
        true,
    )
    .unwrap();
    assert_eq!((o.rows, o.bad), (2, 2));
    assert!(o.first_bad.unwrap().contains("line 3"));
}
