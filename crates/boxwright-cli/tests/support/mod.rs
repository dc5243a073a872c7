//! Runs the program in a folder of its own.
#![allow(dead_code, reason = "each test file uses its own part of this")]
#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

pub const JOB: &str = r#"job "clock weights" {
    style "slotted-case"
    inside length="230mm" width="140mm" depth="80mm"
    board "C"
}
"#;

/// A fresh folder with the job in it.
pub struct Place(pub PathBuf);

pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Place {
    pub fn new(name: &str) -> Self {
        let at = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = fs::remove_dir_all(&at);
        fs::create_dir_all(&at).unwrap();
        let place = Self(at);
        place.put("job.kdl", JOB);
        place
    }
    pub fn put(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.0.join(name), bytes).unwrap();
    }
    /// Names in a folder below, sorted, hidden ones too; empty when it is not there.
    pub fn names(&self, below: &str) -> Vec<String> {
        let Ok(entries) = fs::read_dir(self.0.join(below)) else {
            return Vec::new();
        };
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.0.join(name)).unwrap()
    }
    pub fn json(&self, name: &str) -> serde_json::Value {
        serde_json::from_slice(&self.read(name)).unwrap()
    }
    pub fn run(&self, args: &[&str]) -> Ran {
        self.run_with(args, b"")
    }
    pub fn run_with(&self, args: &[&str], stdin: &[u8]) -> Ran {
        let mut child = Command::new(env!("CARGO_BIN_EXE_boxwright"))
            .args(args)
            .current_dir(&self.0)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // It may end without reading.
        let _ = child.stdin.take().unwrap().write_all(stdin);
        let done = child.wait_with_output().unwrap();
        let text = |b: Vec<u8>| String::from_utf8(b).unwrap();
        let ran = Ran {
            status: done.status.code().unwrap(),
            out: text(done.stdout),
            err: text(done.stderr),
        };
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
        ran
    }
}

impl Ran {
    /// With this status, or the test fails with all that was said.
    pub fn ended(self, status: i32) -> Self {
        assert_eq!(
            self.status, status,
            "out:\n{}\nerr:\n{}",
            self.out, self.err
        );
        self
    }
    pub fn said(&self) -> serde_json::Value {
        serde_json::from_str(&self.err).unwrap()
    }
}
