//! A module uses only those declared before it in `lib.rs`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test stops by panicking and prints what it counted"
)]

use std::fs;
use std::path::{Path, PathBuf};

fn sources(dir: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).expect("a source folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            into.push(path);
        }
    }
}

/// The modules of `lib.rs`, in order.
fn declared(root: &Path) -> Vec<String> {
    fs::read_to_string(root.join("lib.rs"))
        .expect("lib.rs")
        .lines()
        .filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';'))
        .map(str::to_owned)
        .collect()
}

/// Names of modules used as `crate::name`, with their line numbers. Comments do not count.
fn used(text: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    for (i, l) in text.lines().enumerate() {
        let code = l.split("//").next().unwrap_or("");
        for after in code.split("crate::").skip(1) {
            let name: String = after
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect();
            out.push((i + 1, name));
        }
    }
    out
}

#[test]
fn modules_use_only_those_before_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let order = declared(&root);
    assert!(order.len() > 10, "{order:?}");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let mut upward = Vec::new();
    let mut seen = 0;
    for file in files {
        let inside = file.strip_prefix(&root).expect("under src");
        let first = inside.iter().next().expect("a name").to_string_lossy();
        let module = first.trim_end_matches(".rs").to_owned();
        if module == "lib" {
            continue;
        }
        let own = order
            .iter()
            .position(|m| *m == module)
            .unwrap_or_else(|| panic!("`{module}` is not declared in lib.rs"));
        let text = fs::read_to_string(&file).expect("a source file");
        for (line, name) in used(&text) {
            let Some(at) = order.iter().position(|m| *m == name) else {
                continue;
            };
            seen += 1;
            if at > own {
                upward.push(format!(
                    "{}:{line}: `{module}` uses `{name}`",
                    inside.display()
                ));
            }
        }
    }
    assert!(seen > 50, "the test reads the uses: {seen}");
    assert!(upward.is_empty(), "{upward:#?}");
}
