//! scratch
use boxwright::*;
use std::time::Instant;
#[test]
fn time() {
    for name in [
        "slotted-case",
        "full-overlap",
        "tray-with-lid",
        "tuck-end-case",
        "mailer",
    ] {
        let p = format!("/tmp/j/{name}.kdl");
        let text = source::Text {
            name: p.clone(),
            text: std::fs::read_to_string(&p).unwrap(),
        };
        let job = job::parse_job(&text).unwrap();
        let b = brief::brief(job, &source::Shipped).unwrap();
        let n = 50;
        let t0 = Instant::now();
        for _ in 0..n {
            std::hint::black_box(b.plan().unwrap());
        }
        let tp = t0.elapsed() / n;
        let t0 = Instant::now();
        for _ in 0..n {
            std::hint::black_box(b.plan().unwrap().validated().unwrap());
        }
        let tv = t0.elapsed() / n;
        let sound = b.plan().unwrap().validated().unwrap();
        let t0 = Instant::now();
        for _ in 0..n {
            std::hint::black_box(fold::Folder::new(&sound));
        }
        let tf = t0.elapsed() / n;
        let f = fold::Folder::new(&sound);
        let t0 = Instant::now();
        for _ in 0..n {
            std::hint::black_box(check::check_resting(&b, &f));
        }
        let tr = t0.elapsed() / n;
        let t0 = Instant::now();
        for _ in 0..5 {
            std::hint::black_box(check::check(&b, &f));
        }
        let tm = t0.elapsed() / 5;
        println!("{name}: plan {tp:?} validated {tv:?} folder {tf:?} rest {tr:?} all {tm:?}");
    }
}
