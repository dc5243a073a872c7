//! Nothing is lost when the program is killed at any moment.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test ends with a panic; the child says when it is at work"
)]

mod support;

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use boxwright_store::{Again, Kind, Store};
use rusqlite::Connection;
use support::{folder, layout, sheets};

const CHILD: &str = "BOXWRIGHT_STORE_TEST_FOLDER";
const SHEETS: u32 = 40;
const KILLS: u64 = 200;
/// Sheets of the layout, and rests of each.
const TAKEN: usize = 3;
const RESTS: usize = 2;

/// Run by the other test in a program of its own: uses and undoes without end.
#[test]
#[ignore = "runs until it is killed"]
fn child() {
    let Some(at) = std::env::var_os(CHILD).map(PathBuf::from) else {
        return;
    };
    let (laid, rests) = layout("clocks", TAKEN);
    let mut store = Store::open(&at).unwrap();
    println!("at work");
    std::io::stdout().flush().unwrap();
    for turn in 0u64.. {
        // Two uses, one taken back: the state moves on, whatever it was at the start.
        let full = store.use_layout(&laid, &rests, Again::Allowed).is_err();
        if full {
            while store.undo().is_ok() {}
        } else if turn % 2 == 1 {
            store.undo().unwrap();
        }
    }
}

/// Run by the last test in a program of its own: makes one store after the other.
#[test]
#[ignore = "runs until it is killed"]
fn maker() {
    let Some(at) = std::env::var_os(CHILD).map(PathBuf::from) else {
        return;
    };
    println!("at work");
    std::io::stdout().flush().unwrap();
    for n in 0.. {
        let at = at.join(n.to_string());
        std::fs::create_dir_all(&at).unwrap();
        Store::open(&at).unwrap().add(&sheets(1)).unwrap();
    }
}

/// Runs `name` and kills it after a while.
fn killed(name: &str, at: &Path, micros: u64) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", name, "--ignored", "--nocapture"])
        .env(CHILD, at)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    assert!(
        lines.any(|l| l.unwrap().contains("at work")),
        "the child began"
    );
    sleep(Duration::from_micros(micros));
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn killed_while_it_is_made_a_store_can_be_made() {
    let mut unmade = 0;
    for turn in 0..20 {
        let at = folder("store-half-made");
        killed("maker", &at, 5_000 + turn * 1_700);
        for entry in std::fs::read_dir(&at).unwrap() {
            let place = entry.unwrap().path();
            let mut store = Store::open(&place).unwrap();
            let pieces = store.stock().unwrap().pieces;
            assert!(pieces.is_empty() || pieces == [sheets(1)]);
            unmade += usize::from(pieces.is_empty());
            store.add(&sheets(1)).unwrap();
        }
    }
    assert!(unmade > 0, "the kills hit the making");
}

/// Every use is there as a whole or not at all; gives how many uses and events there are.
fn checked(at: &Path) -> (usize, usize) {
    let mut store = Store::open(at).unwrap();
    let db = Connection::open(store.path()).unwrap();
    let sound: String = db
        .query_row("PRAGMA integrity_check", [], |r| r.get(0))
        .unwrap();
    assert_eq!(sound, "ok");
    let ledger = store.ledger().unwrap();
    for e in ledger.iter().filter(|e| e.kind != Kind::In) {
        let sum = |off_cut: bool| -> i64 {
            let of = e
                .changes
                .iter()
                .filter(|c| (c.name != "C large") == off_cut);
            of.map(|c| c.by).sum()
        };
        let sign = if e.kind == Kind::Used { 1 } else { -1 };
        let whole = (-sign * TAKEN as i64, sign * (TAKEN * RESTS) as i64);
        assert_eq!((sum(false), sum(true)), whole, "{e:?}");
    }
    let uses = |e: &&boxwright_store::Event| e.kind == Kind::Used && e.undone_by.is_none();
    let standing = ledger.iter().filter(uses).count();
    let stock = store.stock().unwrap();
    let left = stock.get("C large").unwrap().count as usize;
    assert_eq!(
        left + standing * TAKEN,
        SHEETS as usize,
        "no sheet is lost or made"
    );
    let off_cuts = stock.pieces.iter().filter(|p| p.off_cut).count();
    assert_eq!(
        off_cuts,
        standing * TAKEN * RESTS,
        "no off-cut is lost or made"
    );
    (standing, ledger.len())
}

#[test]
fn killed_at_any_moment_nothing_is_lost() {
    let at = folder("store-killed");
    Store::open(&at).unwrap().add(&sheets(SHEETS)).unwrap();
    assert_eq!(layout("clocks", TAKEN).1.len(), TAKEN * RESTS);
    let mut random = 88_172_645_463_325_252u64;
    let (mut hot, mut seen) = (0, Vec::new());
    for _ in 0..KILLS {
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        killed("child", &at, random % 50_000);
        // A journal left behind shows that it was killed in the middle of a change.
        hot += usize::from(
            at.join(format!("{}-journal", boxwright_store::FILE))
                .exists(),
        );
        seen.push(checked(&at));
    }
    println!(
        "{KILLS} kills, {hot} in the middle of a change, {} events",
        seen.last().unwrap().1
    );
    assert!(hot > 0, "the kills hit the changes");
    assert!(
        seen.first().unwrap().1 < seen.last().unwrap().1,
        "the children got on"
    );
    seen.sort_unstable();
    seen.dedup_by_key(|s| s.0);
    assert!(seen.len() > 2, "they were killed in different states");
}
