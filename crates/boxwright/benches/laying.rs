//! Mixed parts laid by us and by a general strip-packing library, in the same run.
//!
//! ```text
//! cargo bench -p boxwright --bench laying -- FOLDER [seconds] [seed] [instance ...]
//! ```
//!
//! The folder holds instances as `benches/peer/laying.py` describes them; none is shipped. The peer
//! runs first, on one thread, for so many seconds; we then get just the processor time it took, so
//! that a busy machine harms neither. Each instance is laid as a strip, and as one fixed sheet of 1.2
//! times the published best length, where the length used counts. Both layouts are measured again by
//! shapely. Needs the `.venv` that `tests/run` sets up.

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a bench may stop on what cannot be"
)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "sizes of a bench"
)]

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use boxwright::sheet::search::{Bin, Kind, Laid, Problem, Watch, search, strip};
use boxwright::sheet::shape::doubled_area;
use boxwright::sheet::{Shape, Spot, Turn};
use serde_json::{Value, json};

/// Best lengths in 50 runs of 1200 s by Gardeyn, Vanden Berghe and Wauters (arXiv 2509.13329, 2025),
/// in the units of the instances.
const PUBLISHED: [(&str, f64); 7] = [
    ("albano", 9707.77),
    ("blaz1", 25.209),
    ("fu", 30.842),
    ("jakobs1", 10.980),
    ("shapes1", 52.004),
    ("shirts", 59.429),
    ("swim", 5541.65),
];

struct Instance {
    name: String,
    path: PathBuf,
    height: f64,
    /// Grid steps in one unit of the instance: the most that keeps the height below 8 m.
    scale: f64,
    kinds: Vec<Kind>,
    area: f64,
}

impl Instance {
    fn read(path: PathBuf) -> Self {
        let text = std::fs::read_to_string(&path).expect("the instance can be read");
        let told: Value = serde_json::from_str(&text).expect("the instance is JSON");
        let height = told["strip_height"].as_f64().expect("a height");
        let mut scale = 1.0;
        while height * scale * 10.0 < 8e6 {
            scale *= 10.0;
        }
        let kinds: Vec<Kind> = told["items"]
            .as_array()
            .expect("items")
            .iter()
            .map(|item| kind(item, scale))
            .collect();
        let area = kinds
            .iter()
            .map(|k| k.shape.area_mm2() * f64::from(k.wanted))
            .sum::<f64>()
            * 1e6
            / (scale * scale);
        Self {
            name: told["name"].as_str().expect("a name").to_owned(),
            path,
            height,
            scale,
            kinds,
            area,
        }
    }
    /// The height in grid steps; never more than it is.
    fn steps_high(&self) -> i64 {
        (self.height * self.scale + 1e-6).floor() as i64
    }
    fn density(&self, length: f64) -> f64 {
        100.0 * self.area / (self.height * length)
    }
    fn told(&self, placed: &[Laid]) -> Value {
        let one = |p: &Laid| {
            json!([
                p.kind,
                90.0 * f64::from(p.turn.quarters()),
                p.at.x as f64 / self.scale,
                p.at.y as f64 / self.scale
            ])
        };
        placed.iter().map(one).collect()
    }
}

fn kind(item: &Value, scale: f64) -> Kind {
    let number = |v: &Value| v.as_f64().expect("a number");
    let list = |v: &Value| v.as_array().expect("a list").clone();
    let mut outer: Vec<Spot> = list(&item["shape"]["data"])
        .iter()
        .map(|p| {
            let at = |n: usize| (number(&p[n]) * scale).round() as i64;
            Spot::new(at(0), at(1))
        })
        .collect();
    if outer.first() == outer.last() {
        outer.pop();
    }
    if doubled_area(&outer) < 0 {
        outer.reverse();
    }
    Kind {
        shape: Shape {
            outer,
            holes: Vec::new(),
        },
        turns: list(&item["allowed_orientations"])
            .iter()
            .map(|d| Turn::of_quarters((number(d) / 90.0).round() as u8))
            .collect(),
        wanted: item["demand"].as_u64().expect("a demand") as u32,
    }
}

/// Processor time of this thread in seconds; wall time where the system does not tell.
fn spent(since: Instant) -> f64 {
    std::fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|t| t.split_whitespace().next()?.parse::<f64>().ok())
        .map_or_else(|| since.elapsed().as_secs_f64(), |ns| ns / 1e9)
}

struct Budget {
    start: Instant,
    from: f64,
    seconds: f64,
    now: f64,
    moves: u64,
}

impl Budget {
    fn new(seconds: f64) -> Self {
        let start = Instant::now();
        Self {
            start,
            from: spent(start),
            seconds,
            now: 0.0,
            moves: 0,
        }
    }
}

impl Watch for Budget {
    fn spent(&mut self, moves: u64) -> f64 {
        self.moves = moves;
        if moves.is_multiple_of(16) {
            self.now = spent(self.start) - self.from;
        }
        self.now / self.seconds
    }
}

fn python() -> (PathBuf, PathBuf) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let python =
        std::env::var_os("PYTHON").map_or_else(|| root.join(".venv/bin/python"), PathBuf::from);
    (python, root.join("benches/peer/laying.py"))
}

fn solve(instance: &Instance, seconds: u64, seed: u64) -> Value {
    let (python, script) = python();
    let out = Command::new(python)
        .arg(script)
        .arg("solve")
        .arg(&instance.path)
        .args([seconds.to_string(), seed.to_string()])
        .output()
        .expect("the peer starts; tests/run sets up its .venv");
    assert!(
        out.status.success(),
        "the peer fails: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    serde_json::from_slice(&out.stdout).expect("the peer answers in JSON")
}

/// Lengths as measured by shapely; stops on a layout that does not hold.
fn measured(instance: &Instance, layouts: &[Value]) -> Vec<f64> {
    let (python, script) = python();
    let mut child = Command::new(python)
        .arg(script)
        .arg("check")
        .arg(&instance.path)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the check starts");
    let text = Value::from(layouts.to_vec()).to_string();
    let mut input = child.stdin.take().expect("a pipe");
    input.write_all(text.as_bytes()).expect("the check reads");
    drop(input);
    let out = child.wait_with_output().expect("the check ends");
    assert!(out.status.success(), "the check fails");
    let told: Vec<Value> = serde_json::from_slice(&out.stdout).expect("JSON");
    told.iter()
        .map(|t| {
            // The peer counts in 32-bit numbers; corners of ours are rounded to the grid.
            let share = t["overlap_share"].as_f64().expect("a share");
            let out = t["out"].as_f64().expect("a share");
            assert!(share < 1e-6 && out < 1e-6, "{}: {t}", instance.name);
            assert_eq!(t["missing"], 0, "{}", instance.name);
            t["length"].as_f64().expect("a length")
        })
        .collect()
}

fn main() {
    let args: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    let Some(folder) = args.first() else {
        println!("laying: skipped; give a folder of instances (see benches/laying.rs)");
        return;
    };
    let seconds: u64 = args
        .get(1)
        .map_or(30, |a| a.parse().expect("whole seconds"));
    let seed: u64 = args.get(2).map_or(1, |a| a.parse().expect("a whole seed"));
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder can be read")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "json"))
        .filter(|p| {
            let stem = p.file_stem().and_then(|s| s.to_str()).unwrap_or_default();
            args.len() < 4 || args[3..].iter().any(|a| a == stem)
        })
        .collect();
    paths.sort();
    println!(
        "Peer: one thread, {seconds} s, seed {seed}; ours: one thread, the same processor time.\n"
    );
    println!(
        "| instance | processor time s | peer length | peer % | our strip | % | ratio | our sheet | % | ratio | moves |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|");
    let mut ratios: [Vec<f64>; 2] = [Vec::new(), Vec::new()];
    for path in paths {
        let i = Instance::read(path);
        let peer = solve(&i, seconds, seed);
        let budget = peer["cpu_s"].as_f64().expect("a time");
        let mut watch = Budget::new(budget);
        let ours = strip(&i.kinds, i.steps_high(), seed, &mut watch).expect("it can be laid");
        let moves = watch.moves;
        let mut layouts = vec![peer["placed"].clone(), i.told(&ours.placed)];
        let published = PUBLISHED.iter().find(|p| p.0 == i.name);
        if let Some((_, length)) = published {
            let problem = Problem {
                kinds: i.kinds.clone(),
                sheets: vec![Bin {
                    shape: Shape::rect((1.2 * length * i.scale).floor() as i64, i.steps_high()),
                    count: 1,
                    cost: 1.0,
                }],
            };
            let found = search(&problem, None, seed, &mut Budget::new(budget)).expect("it can be");
            found.checked(&problem).expect("it holds");
            assert!(found.left.iter().all(|n| *n == 0), "{}: parts left", i.name);
            layouts.push(i.told(&found.sheets[0].placed));
        }
        let lengths = measured(&i, &layouts);
        let mut row = format!(
            "| {} | {budget:.1} | {:.4} | {:.2} |",
            i.name,
            lengths[0],
            i.density(lengths[0])
        );
        for (n, l) in lengths[1..].iter().enumerate() {
            let ratio = l / lengths[0];
            ratios[n].push(ratio);
            row += &format!(" {l:.4} | {:.2} | {ratio:.4} |", i.density(*l));
        }
        if published.is_none() {
            row += " - | - | - |";
        }
        println!("{row} {moves} |");
    }
    let mean = |r: &[f64]| r.iter().sum::<f64>() / r.len() as f64;
    println!(
        "\nMean ratio of our length to the peer's (below 1: ours is shorter): strip {:.4}, sheet {:.4}.",
        mean(&ratios[0]),
        mean(&ratios[1])
    );
}
