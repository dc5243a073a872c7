//! Measured figures: kept, listed, forgotten, and a store of version 1 brought up to them.

#![allow(clippy::unwrap_used, reason = "a test ends with a panic")]

mod support;

use boxwright::board::{Creasing, Figure, Known, Measured};
use boxwright::units::Length;
use boxwright_store::{FILE, Import, Store};
use rusqlite::Connection;
use support::folder;

/// The store as version 1 of it was, whatever the program makes today.
const VERSION_1: &str = "
CREATE TABLE piece (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE,
    board TEXT NOT NULL,
    shape TEXT NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 0),
    price REAL NOT NULL CHECK (price >= 0),
    off_cut INTEGER NOT NULL CHECK (off_cut IN (0, 1))
) STRICT;
CREATE TABLE event (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    title TEXT NOT NULL,
    digest TEXT,
    undone_by INTEGER REFERENCES event (id)
) STRICT;
CREATE TABLE change (
    event INTEGER NOT NULL REFERENCES event (id),
    name TEXT NOT NULL,
    board TEXT NOT NULL,
    shape TEXT NOT NULL,
    price REAL NOT NULL,
    off_cut INTEGER NOT NULL,
    by INTEGER NOT NULL
) STRICT;
CREATE INDEX change_event ON change (event);
CREATE INDEX change_name ON change (name);
CREATE TABLE number (
    board TEXT PRIMARY KEY,
    last INTEGER NOT NULL
) STRICT;
PRAGMA application_id = 0x62787773;
PRAGMA user_version = 1;
";

fn of(board: &str, machine: Option<&str>, way: Creasing, t: f64) -> Measured {
    let share = |value: f64| Figure {
        value,
        half: 0.021,
        error: 0.01,
        spread: 0.023,
        count: 5,
    };
    let length = |value: f64| Figure {
        value: Length::mm(value),
        half: Length::mm(0.031),
        error: Length::mm(0.015),
        spread: Length::mm(0.047),
        count: 10,
    };
    Measured {
        board: board.into(),
        machine: machine.map(str::to_owned),
        way,
        caliper: Some(length(t)),
        along: Some(share(0.5 + 1.0 / 30.0)),
        across: None,
        kerf: machine.map(|_| length(0.17)),
        when: "2025-06-01".into(),
        note: "the stack by the \"window\"".into(),
    }
}

#[test]
fn figures_come_out_as_they_went_in() {
    let at = folder("measured-kept");
    let mut store = Store::open(&at).unwrap();
    assert!(store.all_measured().unwrap().is_empty());
    let first = of("C", Some("bench-laser"), Creasing::Rule, 4.07);
    let second = of("C", None, Creasing::Hand, 1.0 / 3.0);
    let third = of("C", Some("bench-laser"), Creasing::Rule, 4.11);
    let numbers: Vec<i64> = [&first, &second, &third]
        .iter()
        .map(|m| store.put_measured(m).unwrap())
        .collect();
    drop(store);
    let mut store = Store::open_existing(&at).unwrap();
    let kept = store.all_measured().unwrap();
    let found: Vec<_> = kept
        .iter()
        .map(|k| (k.number, k.measured.clone()))
        .collect();
    let wanted = [
        (numbers[2], third.clone()),
        (numbers[1], second),
        (numbers[0], first.clone()),
    ];
    assert_eq!(found, wanted);
    assert!(kept[0].at > 0);
    let latest = store
        .latest_measured("C", Some("bench-laser"), Creasing::Rule)
        .unwrap();
    assert_eq!(latest.unwrap().measured, third);
    assert_eq!(
        store
            .latest_measured("C", Some("other"), Creasing::Rule)
            .unwrap(),
        None
    );
    assert_eq!(
        store.latest_measured("B", None, Creasing::Hand).unwrap(),
        None
    );

    // What is forgotten gives way to what was there before, and numbers are not used again.
    let gone = store.forget_measured(numbers[2]).unwrap();
    assert_eq!(gone.measured, third);
    let latest = store
        .latest_measured("C", Some("bench-laser"), Creasing::Rule)
        .unwrap();
    assert_eq!(latest.unwrap().measured, first);
    let refused = store.forget_measured(numbers[2]).unwrap_err();
    assert_eq!(refused[0].code, "unknown-figures");
    assert!(store.put_measured(&first).unwrap() > numbers[2]);
    let all: Vec<Measured> = store
        .all_measured()
        .unwrap()
        .into_iter()
        .map(|k| k.measured)
        .collect();
    let known = Known::of(&all, "C", Creasing::Rule);
    assert_eq!(known.caliper, first.caliper);
}

#[test]
fn a_store_of_version_1_keeps_its_stock_and_takes_figures() {
    let at = folder("measured-from-1");
    let db = Connection::open(at.join(FILE)).unwrap();
    db.execute_batch(VERSION_1).unwrap();
    db.execute_batch(
        "INSERT INTO event (at, kind, title) VALUES (1750000000, 'in', 'C large');
         INSERT INTO piece (name, board, shape, count, price, off_cut)
         VALUES ('C large', 'C', '{\"outer\":[[0,0],[1600000,0],[1600000,1200000],[0,1200000]],\"holes\":[]}', 7, 3.4, 0);",
    )
    .unwrap();
    drop(db);
    let mut store = Store::open_existing(&at).unwrap();
    let events = store.ledger().unwrap().len();
    assert_eq!(events, 1);
    let m = of("C", None, Creasing::Rule, 4.07);
    store.put_measured(&m).unwrap();
    drop(store);
    let db = Connection::open(at.join(FILE)).unwrap();
    let count: i64 = db
        .query_row("SELECT count FROM piece", [], |r| r.get(0))
        .unwrap();
    let version: i64 = db
        .pragma_query_value(None, "user_version", |r| r.get(0))
        .unwrap();
    assert_eq!((count, version), (7, 2));
    drop(db);
    assert_eq!(
        Store::open(&at).unwrap().all_measured().unwrap()[0].measured,
        m
    );
}

#[test]
fn figures_leave_the_stock_alone() {
    let at = folder("measured-stock");
    let mut store = Store::open(&at).unwrap();
    store
        .import(
            &boxwright::sheet::Stock {
                pieces: vec![support::sheets(3)],
            },
            Import::Add,
        )
        .unwrap();
    let (last, stock) = (store.last_event().unwrap(), store.stock().unwrap());
    store
        .put_measured(&of("C", None, Creasing::Rule, 4.0))
        .unwrap();
    assert_eq!(store.last_event().unwrap(), last);
    assert_eq!(store.stock().unwrap(), stock);
}

// The last of four figures breaks a rule of the table: the set and the three before it go too.
#[test]
fn a_set_is_kept_whole_or_not_at_all() {
    let at = folder("measured-whole");
    let mut store = Store::open(&at).unwrap();
    let mut m = of("C", Some("bench-laser"), Creasing::Rule, 4.0);
    m.kerf = m.kerf.map(|f| Figure { count: 0, ..f });
    assert!(store.put_measured(&m).is_err());
    m.kerf = None;
    m.along = m.along.map(|f| Figure {
        half: f64::NAN,
        ..f
    });
    assert_eq!(store.put_measured(&m).unwrap_err()[0].code, "bad-figure");
    assert!(store.all_measured().unwrap().is_empty());
    let db = Connection::open(at.join(FILE)).unwrap();
    let figures: i64 = db
        .query_row("SELECT count(*) FROM figure", [], |r| r.get(0))
        .unwrap();
    assert_eq!(figures, 0);
}

#[test]
fn what_cannot_be_ours_is_told() {
    let at = folder("measured-spoilt");
    let mut store = Store::open(&at).unwrap();
    store
        .put_measured(&of("C", None, Creasing::Rule, 4.0))
        .unwrap();
    drop(store);
    let db = Connection::open(at.join(FILE)).unwrap();
    db.execute_batch("UPDATE measured SET way = 'glued'")
        .unwrap();
    drop(db);
    let refused = Store::open(&at).unwrap().all_measured().unwrap_err();
    assert_eq!(refused[0].code, "damaged-store");
}
