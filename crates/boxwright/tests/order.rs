//! A module uses only what stands above it in `lib.rs`: the data flows one way.

use std::fs;
use std::path::{Path, PathBuf};

fn sources(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// The module names after `crate::` in a line of code.
fn used(line: &str) -> impl Iterator<Item = &str> {
    line.split("crate::").skip(1).map(|rest| {
        let end = rest
            .find(|c: char| !c.is_ascii_alphanumeric() && c != '_')
            .unwrap_or(rest.len());
        &rest[..end]
    })
}

#[test]
fn modules_use_only_what_stands_above_them() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let lib = fs::read_to_string(src.join("lib.rs")).expect("lib.rs");
    let order: Vec<&str> = lib
        .lines()
        .filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';'))
        .collect();
    assert!(order.len() > 8, "lib.rs declares {order:?}");
    let rank = |name: &str| order.iter().position(|m| *m == name);
    let mut files = Vec::new();
    sources(&src, &mut files);
    let mut wrong = Vec::new();
    for file in &files {
        let inside = file.strip_prefix(&src).expect("a source of this crate");
        let first = inside.components().next().expect("a name").as_os_str();
        let own = first.to_string_lossy().trim_end_matches(".rs").to_owned();
        let Some(mine) = rank(&own) else { continue };
        let text = fs::read_to_string(file).expect("a source");
        for (n, line) in text.lines().enumerate() {
            if line.trim_start().starts_with("//") {
                continue;
            }
            for name in used(line) {
                if rank(name).is_some_and(|r| r > mine) {
                    wrong.push(format!("{}:{}: uses `{name}`", inside.display(), n + 1));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
