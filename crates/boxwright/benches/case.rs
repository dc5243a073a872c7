//! How long a case takes, and the same slotted case in the Python peer, in the same run.
//!
//! Own harness, because the ratio needs both medians in one program. Arguments: part of a name to
//! run only those. The peer needs the `.venv` that `tests/run` sets up.

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a bench may stop on what cannot be"
)]

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use boxwright::blank::SoundPlan;
use boxwright::board::read_boards;
use boxwright::brief::{Brief, brief};
use boxwright::check::{Report, check, check_resting};
use boxwright::emit::dxf::{DxfOptions, dxf};
use boxwright::fold::Folder;
use boxwright::job::parse_job;
use boxwright::source::{Door, Shipped, Text};
use boxwright::style::parse_style;

fn asked(style: &str) -> Brief {
    let text = format!(
        "job \"bench\" {{\n style \"{style}\"\n inside length=\"400mm\" width=\"300mm\" depth=\"200mm\"\n board \"C\"\n crease \"wheel\"\n}}\n"
    );
    let job = parse_job(&Text {
        name: "bench".into(),
        text,
    })
    .expect("a sound job");
    brief(job, &Shipped).expect("style and board are shipped")
}

fn drawn(b: &Brief) -> SoundPlan {
    b.plan()
        .expect("it can be drawn")
        .validated()
        .expect("it is sound")
}

fn measured(b: &Brief, run: fn(&Brief, &Folder<'_>) -> Report) -> Report {
    let plan = drawn(b);
    run(b, &Folder::new(&plan))
}

struct Bench {
    only: Vec<String>,
}

impl Bench {
    /// The median time of one call, over at least 30 calls and about a second.
    fn median<T>(&self, name: &str, mut f: impl FnMut() -> T) -> Option<f64> {
        if !self.only.is_empty() && !self.only.iter().any(|o| name.contains(o.as_str())) {
            return None;
        }
        for _ in 0..3 {
            black_box(f());
        }
        let mut times: Vec<Duration> = Vec::new();
        let start = Instant::now();
        while times.len() < 30 || start.elapsed() < Duration::from_secs(1) {
            let at = Instant::now();
            black_box(f());
            times.push(at.elapsed());
        }
        times.sort();
        let us = times[times.len() / 2].as_secs_f64() * 1e6;
        println!("{name:<52} {us:>12.1} us   ({} calls)", times.len());
        Some(us)
    }
}

/// One figure of the peer's answer.
fn figure(json: &str, key: &str) -> f64 {
    let after = json
        .split(&format!("\"{key}\": "))
        .nth(1)
        .unwrap_or_else(|| panic!("the peer gives no {key}"));
    let number: String = after
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | 'e' | '-' | '+'))
        .collect();
    number.parse().expect("a number")
}

fn peer(mode: &str, repeats: &str) -> Option<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let python = root.join(".venv/bin/python");
    if !python.exists() {
        println!("the peer was not run: there is no .venv; tests/run sets one up");
        return None;
    }
    let out = Command::new(python)
        .arg(root.join("benches/peer/peer.py"))
        .args(["400", "300", "200", "4", "0.5"])
        .args(["--mode", mode, "--repeats", repeats])
        .output()
        .expect("the peer starts");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    Some(String::from_utf8(out.stdout).expect("text"))
}

fn against(what: &str, ours: Option<f64>, peer: f64) {
    if let Some(us) = ours {
        println!(
            "{what:<52} {peer:>12.1} us   the peer; ratio {:.0}",
            peer / us
        );
    }
}

fn main() {
    let only = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let bench = Bench { only };
    let opts = DxfOptions::default();

    let mut ours = [None; 3];
    for style in ["slotted-case", "mailer"] {
        let b = asked(style);
        let rest = bench.median(&format!("{style}: draw, resting check"), || {
            measured(&b, check_resting)
        });
        let files = bench.median(&format!("{style}: draw, resting check, DXF"), || {
            let plan = drawn(&b);
            let report = check_resting(&b, &Folder::new(&plan));
            (report, dxf(&plan.blanks()[0], &opts))
        });
        let motion = bench.median(&format!("{style}: draw, all checks with motion"), || {
            measured(&b, check)
        });
        if style == "slotted-case" {
            ours = [rest, files, motion];
        }
        bench.median(&format!("{style}: draw only"), || b.plan());
        bench.median(&format!("{style}: draw, validate"), || drawn(&b));
        let plan = drawn(&b);
        bench.median(&format!("{style}: prepare folding"), || {
            Folder::new(&plan).room
        });
        let folder = Folder::new(&plan);
        bench.median(&format!("{style}: resting check only"), || {
            check_resting(&b, &folder)
        });
        bench.median(&format!("{style}: DXF only"), || {
            dxf(&plan.blanks()[0], &opts)
        });
        let text = Shipped.style(style).expect("shipped");
        bench.median(&format!("{style}: parse the style"), || {
            parse_style(&text, &Shipped).map(Arc::new)
        });
    }
    bench.median("boards: parse all", || read_boards(&Shipped.boards()));

    println!();
    println!(
        "The slotted case 400 x 300 x 200 mm, caliper 4 mm, fold axis depth 1/2, in the peer:"
    );
    println!(
        "both draw the blank, fold it as thick board, look for board in board and measure the"
    );
    println!("clear room; ours measures joints, features, slots and fit as well.");
    if ours[0].is_some() || ours[1].is_some() {
        let Some(told) = peer("rest", "20") else {
            return;
        };
        against(
            "at rest, no file",
            ours[0],
            figure(&told, "median_us_without_dxf"),
        );
        against(
            "at rest, with DXF in memory",
            ours[1],
            figure(&told, "median_us"),
        );
    }
    if ours[2].is_some() {
        let Some(told) = peer("motion", "5") else {
            return;
        };
        println!(
            "The peer tries 15 angles of the flaps only; ours looks at every stage without gaps."
        );
        against(
            "with motion, no file",
            ours[2],
            figure(&told, "median_us_without_dxf"),
        );
    }
}
