//! The layouts of `tests/data/order`, for a test and a bench.

use std::fs;
use std::path::Path;

use boxwright::cut::order::Task;
use boxwright::geom::DVec2;
use serde_json::Value;

/// A layout and what was found for it outside.
pub struct Sample {
    pub name: String,
    pub tasks: Vec<Task>,
    pub start: DVec2,
    pub end: Option<DVec2>,
    /// Travel found outside (mm).
    pub reference: f64,
    /// Processor time that took (s), where it was written down.
    #[allow(dead_code, reason = "shown by the bench")]
    pub processor: Option<f64>,
}

fn point(v: &Value) -> DVec2 {
    DVec2::new(v[0].as_f64().unwrap(), v[1].as_f64().unwrap())
}

fn task(v: &Value) -> Task {
    let first: Vec<usize> = v["first"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| usize::try_from(f.as_u64().unwrap()).unwrap())
        .collect();
    let task = match v["ring"].as_array() {
        Some(ring) => Task::ring(&ring.iter().map(point).collect::<Vec<_>>()),
        None => Task::line(point(&v["line"][0]), point(&v["line"][1])),
    };
    task.after(&first)
}

/// Those whose names begin so, by name.
pub fn samples(kind: &str) -> Vec<Sample> {
    let at = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/order");
    let mut files: Vec<_> = fs::read_dir(at)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    files.sort();
    let files = files
        .iter()
        .filter(|f| f.file_stem().unwrap().to_str().unwrap().starts_with(kind));
    files
        .map(|f| {
            let v: Value = serde_json::from_str(&fs::read_to_string(f).unwrap()).unwrap();
            Sample {
                name: v["name"].as_str().unwrap().into(),
                tasks: v["tasks"].as_array().unwrap().iter().map(task).collect(),
                start: point(&v["start"]),
                end: v["end"].is_array().then(|| point(&v["end"])),
                reference: v["reference"]["travel"].as_f64().unwrap(),
                processor: v["reference"]["processor"].as_f64(),
            }
        })
        .collect()
}
