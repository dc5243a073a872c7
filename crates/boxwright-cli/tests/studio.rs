//! The studio makes the files that `make` writes, and survives being killed.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use support::{JOB, Place};

struct Studio {
    child: Child,
    address: String,
}

impl Drop for Studio {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Studio {
    fn new(place: &Place, port: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_boxwright"))
            .args(["studio", "--no-open", "--port", port])
            .arg(&place.0)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let out = child.stdout.take().unwrap();
        BufReader::new(out).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("http://").unwrap().to_owned();
        Self { child, address }
    }

    /// Head and body of the answer; `None` when the server is gone.
    fn ask(address: &str, method: &str, path: &str, body: &str) -> Option<(String, Vec<u8>)> {
        let mut stream = TcpStream::connect(address).ok()?;
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .ok()?;
        let text = format!(
            "{method} {path} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\
             content-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
            body.len()
        );
        stream.write_all(text.as_bytes()).ok()?;
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes).ok()?;
        let end = bytes.windows(4).position(|w| w == b"\r\n\r\n")?;
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        Some((head, bytes.split_off(end + 4)))
    }

    /// Memory in KiB and open files of the server; zeros where the system does not say.
    fn held(&self) -> (u64, usize) {
        let own = std::path::PathBuf::from(format!("/proc/{}", self.child.id()));
        let text = std::fs::read_to_string(own.join("status")).unwrap_or_default();
        let line = text.lines().find_map(|l| l.strip_prefix("VmRSS:"));
        let memory = line.and_then(|l| l.split_whitespace().next()?.parse().ok());
        let files = std::fs::read_dir(own.join("fd")).map_or(0, Iterator::count);
        (memory.unwrap_or(0), files)
    }

    fn json(&self, method: &str, path: &str, body: &str) -> Value {
        let (_, body) = Self::ask(&self.address, method, path, body).unwrap();
        serde_json::from_slice(&body).unwrap()
    }
}

#[test]
fn every_file_is_the_one_that_make_writes() {
    let p = Place::new("studio-files");
    p.put("tray.kdl", JOB.replace("slotted-case", "tray-with-lid"));
    let studio = Studio::new(&p, "0");
    for job in ["job.kdl", "tray.kdl"] {
        p.run(&["make", job, "--out", job.trim_end_matches(".kdl")]);
        let out = job.trim_end_matches(".kdl");
        let state = studio.json("GET", &format!("/api/jobs/{job}"), "")["state"].clone();
        let design = studio.json("POST", "/api/design", &state.to_string());
        let pieces = design["case"]["pieces"].as_array().unwrap().clone();
        let mut names = Vec::new();
        for output in design["case"]["outputs"].as_array().unwrap() {
            for (n, name) in output["names"].as_array().unwrap().iter().enumerate() {
                let name = name.as_str().unwrap();
                let ask = json!({
                    "state": state, "kind": output["kind"], "unit": "mm",
                    "piece": pieces[n]["name"],
                });
                let answer = Studio::ask(&studio.address, "POST", "/api/file", &ask.to_string());
                let (head, bytes) = answer.unwrap();
                assert!(
                    head.contains(&format!("filename=\"{name}\"")),
                    "{name}: {head}"
                );
                assert!(p.read(&format!("{out}/{name}")) == bytes, "{name} differs");
                names.push(name.to_owned());
            }
        }
        names.sort();
        assert_eq!(names, p.names(out));
    }
}

#[test]
fn a_port_in_use_gives_way_to_a_free_one() {
    let p = Place::new("studio-port");
    let one = Studio::new(&p, "0");
    let port = one.address.rsplit_once(':').unwrap().1.to_owned();
    let two = Studio::new(&p, &port);
    assert_ne!(one.address, two.address);
    assert!(two.address.starts_with("127.0.0.1:"));
    p.run(&["studio", "none", "--no-open"]).ended(2);
    p.run(&["studio", "job.kdl", "--no-open"]).ended(2);
}

#[test]
fn two_hundred_at_once_lose_none_and_memory_stays_flat() {
    let p = Place::new("studio-many");
    let studio = Studio::new(&p, "0");
    let held = studio.json("GET", "/api/jobs/job.kdl", "");
    let round = |n: usize| {
        let ask = |i: usize| {
            let length = 230 + 200 * n + i;
            let mut state = held["state"].clone();
            state["inside"]["length"] = json!(format!("{length}mm"));
            let d = studio.json("POST", "/api/design", &state.to_string());
            d["case"]["asked"][0] == length as f64 && d["case"]["outputs"].is_array()
        };
        std::thread::scope(|scope| {
            let all: Vec<_> = (0..200).map(|i| scope.spawn(move || ask(i))).collect();
            let good = all.into_iter().map(|t| t.join().unwrap());
            good.filter(|good| *good).count()
        })
    };
    // The first rounds fill what the system keeps for a program of this kind.
    for n in 0..2 {
        assert_eq!(round(n), 200);
    }
    let before = studio.held();
    for n in 2..7 {
        assert_eq!(round(n), 200);
    }
    let (memory, files) = studio.held();
    assert!(memory <= before.0 + (4 << 10), "{before:?} {memory} KiB");
    // A connection may still be on its way out; kept ones would be hundreds.
    assert!(files <= before.1 + 8, "{before:?} {files} files");
}

/// Two hundred saves, the server killed during each at another moment of it: the file is the old or
/// the new one to the byte, and whatever was left beside it is cleared away by the next start.
#[test]
fn being_killed_during_two_hundred_saves_never_leaves_a_broken_file() {
    const WANTED: usize = 200;
    let p = Place::new("studio-killed");
    std::fs::create_dir_all(p.0.join("spring")).unwrap();
    let (mut old, jobs) = (JOB.to_owned(), ["job.kdl", "spring/job.kdl"]);
    p.put(jobs[1], JOB);
    let mut longest = Duration::from_millis(3);
    let (mut interrupted, mut kept, mut replaced, mut litter) = (0, 0, 0, 0);
    for round in 0..3 * WANTED {
        if interrupted == WANTED {
            break;
        }
        let job = jobs[round % 2];
        p.put(job, &old);
        let mut studio = Studio::new(&p, "0");
        assert_eq!(left_behind(&p), 0, "round {round}");
        let path = format!("/api/jobs/{}", job.replace('/', "%2F"));
        let mut held = studio.json("GET", &path, "");
        let depth = format!("{}mm + {round} mm", 50 + round % 40);
        held["state"]["inside"]["depth"] = json!(depth);
        let new = JOB.replace("80mm", &depth);
        let ask = json!({"stamp": held["stamp"], "state": held["state"]}).to_string();
        let address = studio.address.clone();
        let (tell, sent) = std::sync::mpsc::channel();
        let saver = std::thread::spawn(move || {
            tell.send(()).unwrap();
            let start = Instant::now();
            let answer = Studio::ask(&address, "PUT", &path, &ask);
            answer.map(|_| start.elapsed())
        });
        sent.recv().unwrap();
        // Spread evenly over the time that a save takes, in an order without pattern.
        let share = (round as f64 * 0.618_033_988_75).fract();
        std::thread::sleep(longest.mul_f64(share));
        studio.child.kill().unwrap();
        studio.child.wait().unwrap();
        match saver.join().unwrap() {
            Some(taken) => longest = (longest + taken) / 2,
            None => interrupted += 1,
        }
        litter += left_behind(&p);
        let text = String::from_utf8(p.read(job)).unwrap();
        assert!(text == old || text == new, "round {round}: {text}");
        kept += usize::from(text == old);
        replaced += usize::from(text == new);
        old = text;
    }
    assert_eq!(interrupted, WANTED, "{kept} kept, {replaced} replaced");
    // Were the moments badly chosen, one of these would be none.
    assert!(
        kept > 10 && replaced > 10,
        "{kept} kept, {replaced} replaced"
    );
    assert!(litter > 0, "no kill fell between the new file and its name");
    drop(Studio::new(&p, "0"));
    assert_eq!(p.names(""), ["job.kdl", "spring"]);
    assert_eq!(p.names("spring"), ["job.kdl"]);
    p.run(&["check", "job.kdl"]).ended(0);
}

/// Hidden files beside the jobs.
fn left_behind(p: &Place) -> usize {
    let all = ["", "spring"].into_iter().flat_map(|dir| p.names(dir));
    all.filter(|n| n.starts_with('.')).count()
}
