//! What the store keeps, refuses and gives back.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use std::collections::BTreeMap;
use std::fmt::Debug;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use boxwright::diag::Outcome;
use boxwright::sheet::{Piece, Shape, Stock, read_stock, write_stock};
use boxwright::source::Text;
use boxwright_store::{Again, FILE, Import, Kind, Store};
use proptest::prelude::*;
use rusqlite::Connection;
use support::{folder, layout, sheets};

fn codes<T: Debug>(refused: Outcome<T>) -> Vec<&'static str> {
    refused.unwrap_err().iter().map(|d| d.code).collect()
}

fn example() -> Stock {
    let text = include_str!("../../../examples/workshop-stock.kdl");
    read_stock(&Text {
        name: "workshop-stock.kdl".into(),
        text: text.into(),
    })
    .unwrap()
}

/// The ledger adds up to what is there.
fn adds_up(store: &mut Store) {
    let mut sums: BTreeMap<String, i64> = BTreeMap::new();
    for c in store.ledger().unwrap().into_iter().flat_map(|e| e.changes) {
        *sums.entry(c.name).or_default() += c.by;
    }
    sums.retain(|_, n| *n != 0);
    let stock = store.stock().unwrap();
    let there = stock.pieces.into_iter().filter(|p| p.count > 0);
    let there: BTreeMap<String, i64> = there.map(|p| (p.name, i64::from(p.count))).collect();
    assert_eq!(sums, there);
}

#[test]
fn a_stock_goes_in_and_comes_out_the_same() {
    let at = folder("store-import");
    let stock = example();
    let mut store = Store::open(&at).unwrap();
    assert_eq!(store.stock().unwrap(), Stock::default());
    store.import(&stock, Import::Add).unwrap();
    assert_eq!(store.stock().unwrap(), stock);
    drop(store);
    let mut store = Store::open_existing(&at).unwrap();
    assert_eq!(store.stock().unwrap(), stock);
    // Added once more the counts are double; replaced they are as before.
    store.import(&stock, Import::Add).unwrap();
    assert_eq!(
        store.stock().unwrap().pieces[0].count,
        2 * stock.pieces[0].count
    );
    store.import(&stock, Import::Replace).unwrap();
    assert_eq!(store.stock().unwrap(), stock);
    adds_up(&mut store);
    assert_eq!(
        fs::read_dir(&at).unwrap().count(),
        1,
        "one file, no journal left"
    );
}

#[test]
fn pieces_come_and_go_by_hand() {
    let at = folder("store-hand");
    let mut store = Store::open(&at).unwrap();
    assert_eq!(store.add(&sheets(5)).unwrap().count, 5);
    assert_eq!(store.add(&sheets(2)).unwrap().count, 7);
    assert_eq!(store.add_more("C large", 3).unwrap().count, 10);
    assert_eq!(store.take("C large", 4).unwrap(), 6);
    assert_eq!(codes(store.take("C large", 7)), ["too-few"]);
    let slip = store.take("C larg", 1).unwrap_err();
    assert_eq!(slip[0].code, "unknown-piece");
    assert!(
        slip[0]
            .help
            .as_ref()
            .unwrap()
            .contains("did you mean `C large`")
    );
    store.set_count("C large", 0).unwrap();
    assert_eq!(store.stock().unwrap().pieces, [sheets(0)]);
    assert_eq!(codes(store.set_count("C large", 1_000_001)), ["too-many"]);
    let other = Piece {
        board: "B".into(),
        ..sheets(1)
    };
    assert_eq!(codes(store.add(&other)), ["different-piece"]);
    store.put(&other).unwrap();
    assert_eq!(store.stock().unwrap().pieces, std::slice::from_ref(&other));
    let spoilt = Piece {
        price: f64::NAN,
        ..other.clone()
    };
    assert_eq!(codes(store.put(&spoilt)), ["bad-price"]);
    let spoilt = Piece {
        shape: Shape::rect(-4, 4),
        ..other
    };
    assert!(!codes(store.put(&spoilt)).is_empty());
    adds_up(&mut store);
    store.remove("C large").unwrap();
    assert_eq!(store.stock().unwrap(), Stock::default());
    adds_up(&mut store);
    // What was refused left nothing in the ledger.
    let kinds: Vec<Kind> = store.ledger().unwrap().iter().map(|e| e.kind).collect();
    use Kind::{Changed, Counted, In, Out};
    assert_eq!(kinds, [In, In, In, Out, Counted, Changed, Out]);
}

#[test]
fn a_refused_import_changes_nothing() {
    let at = folder("store-refused");
    let mut store = Store::open(&at).unwrap();
    store.add(&sheets(5)).unwrap();
    let mut stock = example();
    stock.pieces.push(Piece {
        board: "E".into(),
        ..sheets(1)
    });
    // The example has a "C large" of its own, which is alike; the last one is not.
    assert_eq!(codes(store.import(&stock, Import::Add)), ["given-twice"]);
    stock
        .pieces
        .retain(|p| p.name != "C large" || p.board == "E");
    assert_eq!(
        codes(store.import(&stock, Import::Add)),
        ["different-piece"]
    );
    assert_eq!(store.stock().unwrap().pieces, [sheets(5)]);
    adds_up(&mut store);
}

#[test]
fn using_a_layout_takes_sheets_and_keeps_rests() {
    let at = folder("store-use");
    let mut store = Store::open(&at).unwrap();
    store.add(&sheets(5)).unwrap();
    let (laid, rests) = layout("clocks", 2);
    let used = store.use_layout(&laid, &rests, Again::Refused).unwrap();
    assert_eq!(used.taken, [("C large".to_owned(), 2)]);
    let names: Vec<&str> = used.kept.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["C-1", "C-2", "C-3", "C-4"]);
    // 695 x 1200 of 1600 x 1200 at 3.40.
    assert!((used.kept[0].price - 3.4 * 695.0 / 1600.0).abs() < 1e-4);
    assert!(used.kept.iter().all(|p| p.off_cut && p.fault().is_none()));
    let stock = store.stock().unwrap();
    assert_eq!(stock.get("C large").unwrap().count, 3);
    assert_eq!(&stock.pieces[1..], used.kept);
    adds_up(&mut store);

    assert_eq!(
        codes(store.use_layout(&laid, &rests, Again::Refused)),
        ["already-used"]
    );
    store.use_layout(&laid, &[], Again::Allowed).unwrap();
    assert_eq!(
        codes(store.use_layout(&laid, &[], Again::Allowed)),
        ["too-few"]
    );

    let undone = store.undo().unwrap();
    assert_eq!((undone.title.as_str(), undone.gone.len()), ("clocks", 0));
    let undone = store.undo().unwrap();
    assert_eq!(undone.back, [("C large".to_owned(), 2)]);
    assert_eq!(undone.gone, names);
    assert_eq!(store.stock().unwrap().pieces, [sheets(5)]);
    assert_eq!(codes(store.undo()), ["nothing-to-undo"]);
    adds_up(&mut store);

    // Taken back, it may be used again; its off-cuts get new numbers.
    let used = store.use_layout(&laid, &rests, Again::Refused).unwrap();
    assert_eq!(used.kept[0].name, "C-5");
    adds_up(&mut store);
}

#[test]
fn a_layout_that_no_longer_fits_the_stock_is_refused() {
    let at = folder("store-stale");
    let mut store = Store::open(&at).unwrap();
    let (laid, rests) = layout("clocks", 1);
    assert_eq!(
        codes(store.use_layout(&laid, &rests, Again::Refused)),
        ["unknown-piece"]
    );
    let mut other = sheets(5);
    other.shape = Shape::rect(1_600_000, 1_199_999);
    store.put(&other).unwrap();
    assert_eq!(
        codes(store.use_layout(&laid, &rests, Again::Refused)),
        ["changed-piece"]
    );
    store.put(&sheets(0)).unwrap();
    assert_eq!(
        codes(store.use_layout(&laid, &rests, Again::Refused)),
        ["too-few"]
    );
    store.put(&sheets(1)).unwrap();
    let mut empty = laid.clone();
    empty.sheets.clear();
    assert_eq!(
        codes(store.use_layout(&empty, &[], Again::Refused)),
        ["nothing-used"]
    );
    let mut wrong = laid.clone();
    wrong.sheets[0].stock = 7;
    assert_eq!(
        codes(store.use_layout(&wrong, &[], Again::Refused)),
        ["bad-layout"]
    );
    let mut bad = rests.clone();
    bad[1].shape.outer.truncate(2);
    assert_eq!(
        codes(store.use_layout(&laid, &bad, Again::Refused)),
        ["bad-outline"]
    );
    bad[1].sheet = 9;
    assert_eq!(
        codes(store.use_layout(&laid, &bad, Again::Refused)),
        ["bad-layout"]
    );
    assert_eq!(store.stock().unwrap().pieces, [sheets(1)]);
    adds_up(&mut store);
}

#[test]
fn a_use_whose_rest_is_gone_stays() {
    let at = folder("store-gone");
    let mut store = Store::open(&at).unwrap();
    store.add(&sheets(5)).unwrap();
    let (laid, rests) = layout("clocks", 1);
    store.use_layout(&laid, &rests, Again::Refused).unwrap();
    store.take("C-2", 1).unwrap();
    let before = store.stock().unwrap();
    assert!(
        before.get("C-2").is_none(),
        "an off-cut that is out is not listed"
    );
    assert_eq!(codes(store.undo()), ["off-cut-gone"]);
    assert_eq!(store.stock().unwrap(), before);
    store.import(&example(), Import::Replace).unwrap();
    assert_eq!(codes(store.undo()), ["nothing-to-undo"]);
    adds_up(&mut store);
}

#[test]
fn digests_tell_layouts_apart() {
    let (a, _) = layout("clocks", 2);
    let same = boxwright_store::digest(&a.clone());
    assert_eq!(boxwright_store::digest(&a), same);
    let mut others = vec![
        layout("clocks", 1).0,
        layout("dials", 2).0,
        a.clone(),
        a.clone(),
    ];
    others[2].sheets[1].placed[0].at.x += 1;
    others[3].stock[0].name = "C".into();
    let mut cheaper = a;
    cheaper.stock[0].price = 1.0;
    assert_eq!(boxwright_store::digest(&cheaper), same);
    for o in &others {
        assert_ne!(boxwright_store::digest(o), same);
    }
}

#[test]
fn nothing_is_made_where_nothing_is() {
    let at = folder("store-none");
    assert_eq!(codes(Store::open_existing(&at)), ["no-store"]);
    assert_eq!(fs::read_dir(&at).unwrap().count(), 0);
    assert_eq!(codes(Store::open(&at.join("nowhere"))), ["no-folder"]);
    fs::create_dir(at.join(FILE)).unwrap();
    assert_eq!(codes(Store::open(&at)), ["not-a-store"]);
    // What a run that died before its first write leaves.
    let at = folder("store-empty");
    fs::write(at.join(FILE), b"").unwrap();
    assert_eq!(codes(Store::open_existing(&at)), ["no-store"]);
    Store::open(&at).unwrap().add(&sheets(1)).unwrap();
}

fn refused_untouched(at: &Path, code: &str) {
    let before = fs::read(at.join(FILE)).unwrap();
    assert_eq!(codes(Store::open(at)), [code]);
    assert_eq!(codes(Store::open_existing(at)), [code]);
    assert_eq!(fs::read(at.join(FILE)).unwrap(), before);
    assert_eq!(fs::read_dir(at).unwrap().count(), 1);
}

#[test]
fn foreign_files_are_refused_and_left_alone() {
    let at = folder("store-foreign");
    for bytes in [
        &b"x"[..],
        &[0; 5000],
        "sheet \"a\" board=\"C\"\n".repeat(300).as_bytes(),
    ] {
        fs::write(at.join(FILE), bytes).unwrap();
        refused_untouched(&at, "not-a-store");
    }
    fs::remove_file(at.join(FILE)).unwrap();
    let db = Connection::open(at.join(FILE)).unwrap();
    db.execute_batch("CREATE TABLE piece (a); PRAGMA user_version = 1;")
        .unwrap();
    drop(db);
    refused_untouched(&at, "not-a-store");
}

#[test]
fn a_newer_store_is_refused() {
    let at = folder("store-newer");
    Store::open(&at).unwrap().add(&sheets(1)).unwrap();
    let db = Connection::open(at.join(FILE)).unwrap();
    db.execute_batch("PRAGMA user_version = 3;").unwrap();
    drop(db);
    refused_untouched(&at, "newer-store");
}

#[test]
fn spoilt_pieces_are_told_as_damage() {
    let at = folder("store-spoilt");
    for change in [
        "UPDATE piece SET shape = '{'",
        "UPDATE piece SET name = ''",
        "UPDATE piece SET count = 99999999999",
        "UPDATE piece SET shape = '{\"outer\":[]}'",
        "DROP TABLE piece",
    ] {
        let _ = fs::remove_file(at.join(FILE));
        Store::open(&at).unwrap().add(&sheets(1)).unwrap();
        let db = Connection::open(at.join(FILE)).unwrap();
        db.execute_batch(change).unwrap();
        drop(db);
        let store = Store::open_existing(&at).unwrap();
        assert_eq!(codes(store.stock()), ["damaged-store"], "{change}");
    }
}

#[test]
fn a_second_program_is_waited_for() {
    let at = folder("store-busy");
    Store::open(&at).unwrap().add(&sheets(5)).unwrap();
    let other = Connection::open(at.join(FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut store = Store::open_waiting(&at, Duration::from_millis(300)).unwrap();
    let begun = Instant::now();
    assert_eq!(codes(store.take("C large", 1)), ["store-busy"]);
    assert!(begun.elapsed() >= Duration::from_millis(250), "it waited");
    assert_eq!(
        store.stock().unwrap().pieces,
        [sheets(5)],
        "reading goes on"
    );
    // Done in time, it is only a wait.
    let mut store = Store::open(&at).unwrap();
    let ended = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_millis(200));
        other.execute_batch("COMMIT").unwrap();
    });
    assert_eq!(store.take("C large", 1).unwrap(), 4);
    ended.join().unwrap();
}

#[test]
fn two_programs_making_the_store_at_once_make_one() {
    let at = folder("store-both");
    let threads: Vec<_> = (0..4)
        .map(|_| {
            let at = at.clone();
            std::thread::spawn(move || Store::open(&at).unwrap().add(&sheets(1)).unwrap())
        })
        .collect();
    threads.into_iter().for_each(|t| drop(t.join().unwrap()));
    assert_eq!(
        Store::open(&at).unwrap().stock().unwrap().pieces,
        [sheets(4)]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Bytes spoilt anywhere are refused or do no harm: nothing panics, and what is read is sound.
    #[test]
    fn spoilt_bytes_never_panic(at in proptest::collection::vec((0usize..40_000, any::<u8>()), 1..40), cut in 0usize..40_000) {
        let place = folder("store-bytes");
        let mut store = Store::open(&place).unwrap();
        store.import(&example(), Import::Add).unwrap();
        drop(store);
        let mut bytes = fs::read(place.join(FILE)).unwrap();
        for (i, b) in at {
            let n = bytes.len();
            bytes[i % n] = b;
        }
        if cut % 3 == 0 {
            bytes.truncate(cut);
        }
        fs::write(place.join(FILE), bytes).unwrap();
        if let Ok(mut store) = Store::open(&place)
            && let Ok(stock) = store.stock()
        {
            for p in &stock.pieces {
                prop_assert_eq!(p.fault(), None);
            }
            let _ = store.ledger();
            let _ = store.undo();
            let _ = store.take("C large", 1);
        }
    }

    /// Any stock comes out as it went in, and its text is read back the same.
    #[test]
    fn import_and_export_are_the_same(list in proptest::collection::vec((1i64..20_000_000, 1i64..20_000_000, 0u32..1_000_000, 0.0f64..1e9, any::<bool>()), 0..12)) {
        let pieces = list.into_iter().enumerate().map(|(i, (l, w, count, price, off_cut))| Piece {
            off_cut,
            ..Piece::sheet(&format!("p{i}"), "B", l, w, count, price)
        });
        let stock = Stock { pieces: pieces.collect() };
        let mut store = Store::open(&folder("store-any")).unwrap();
        store.import(&stock, Import::Add).unwrap();
        let out = store.stock().unwrap();
        prop_assert_eq!(&out, &stock);
        let text = Text { name: "s".into(), text: write_stock(&out) };
        prop_assert_eq!(read_stock(&text).unwrap(), stock);
        adds_up(&mut store);
    }
}

#[test]
fn who_changes_what_they_saw_undoes_nothing_done_meanwhile() {
    let at = folder("store-after");
    let mut one = Store::open(&at).unwrap().after(0);
    one.add(&sheets(3)).unwrap();
    let seen = one.last_event().unwrap();
    let mut other = Store::open_existing(&at).unwrap().after(seen);
    // The first goes on without a word on what it saw; the other has seen less by then.
    one.set_count("C large", 5).unwrap();
    assert_eq!(codes(other.set_count("C large", 1)), ["changed-stock"]);
    assert_eq!(other.stock().unwrap().pieces[0].count, 5);
    let mut other = other.after(one.last_event().unwrap());
    other.set_count("C large", 1).unwrap();
    assert_eq!(one.stock().unwrap().pieces[0].count, 1);
    // It holds for the next change only.
    other.set_count("C large", 2).unwrap();
}
