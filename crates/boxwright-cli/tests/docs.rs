//! What the pages under docs/ say about the command line and the files is so.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use support::Place;

const COMMAND_LINE: &str = include_str!("../../../docs/command-line.md");
const FORMATS: &str = include_str!("../../../docs/formats.md");

#[test]
fn every_option_and_every_verb_is_told() {
    let p = Place::new("docs-options");
    let verbs = [
        "new",
        "make",
        "check",
        "choose",
        "fold",
        "list",
        "sweep",
        "range",
        "coupon",
        "learn",
        "spread",
        "size",
        "lay",
        "ship",
        "studio",
        "completions",
        "man",
        "stock",
        "style",
    ];
    let pages = verbs.iter().map(|v| vec!["help", v]);
    let inner = ["check", "gallery"].map(|v| vec!["style", v, "--help"]);
    let stock = ["list", "add", "take", "import", "export", "use", "undo"];
    let stock = stock.map(|v| vec!["stock", v, "--help"]);
    for args in pages.chain(inner).chain(stock) {
        let verb = args[1];
        assert!(
            COMMAND_LINE.contains(&format!("| `{verb}")) || args[0] != "help",
            "{verb}"
        );
        let help = p.run(&args).ended(0).out;
        let words = help.split(|c: char| c.is_whitespace() || c == '`');
        for option in words.filter(|w| w.starts_with("--") && w.len() > 2) {
            let option = option.trim_end_matches(|c: char| !c.is_alphanumeric());
            let told = COMMAND_LINE.contains(&format!("`{option}"));
            assert!(told || option == "--help", "{verb} {option}");
        }
    }
}

#[test]
fn the_job_of_the_reference_is_made() {
    let p = Place::new("docs-job");
    let job = FORMATS.split("```kdl").nth(1).unwrap();
    let job = job.split("```").next().unwrap();
    p.run_with(&["check", "-"], job.as_bytes()).ended(0);
}

#[test]
fn every_field_of_the_report_and_every_code_is_told() {
    let p = Place::new("docs-report");
    let out = p.run(&["check", "job.kdl", "--json"]).ended(0).out;
    let report: serde_json::Value = serde_json::from_str(&out).unwrap();
    let mut names = Vec::new();
    fields(&report, &mut names);
    for name in names {
        let told = FORMATS.contains(&format!("`{name}")) || FORMATS.contains(&format!(".{name}"));
        assert!(told, "{name}");
    }
    for f in report["findings"].as_array().unwrap() {
        let code = f["code"].as_str().unwrap();
        assert!(FORMATS.contains(&format!("`{code}`")), "{code}");
    }
}

fn fields(value: &serde_json::Value, names: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (name, v) in map {
                names.push(name.clone());
                fields(v, names);
            }
        }
        serde_json::Value::Array(all) => all.iter().for_each(|v| fields(v, names)),
        _ => {}
    }
}

#[test]
fn layers_are_as_told() {
    let p = Place::new("docs-layers");
    p.run(&["make", "job.kdl", "--only", "dxf,svg", "--out", "o"])
        .ended(0);
    let dxf = String::from_utf8(p.read("o/clock-weights-body.dxf")).unwrap();
    let svg = String::from_utf8(p.read("o/clock-weights-body.svg")).unwrap();
    for layer in ["cut", "crease-inward", "board"] {
        assert!(FORMATS.contains(&format!("| `{layer}` |")));
        assert!(dxf.lines().any(|l| l == layer), "{layer}");
        let group = svg.split(&format!("id=\"{layer}\"")).nth(1).unwrap();
        let colour = group.split("stroke=\"").nth(1).unwrap().split('"').next();
        let told = format!("| `{layer}` | `{}` |", colour.unwrap());
        assert!(FORMATS.contains(&told), "{told}");
    }
}
