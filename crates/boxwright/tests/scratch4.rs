//! scratch
use boxwright::*;
#[test]
fn loopit() {
    let p = std::env::var("JOB").unwrap();
    let text = source::Text {
        name: p.clone(),
        text: std::fs::read_to_string(&p).unwrap(),
    };
    let job = job::parse_job(&text).unwrap();
    let b = brief::brief(job, &source::Shipped).unwrap();
    let sound = b.plan().unwrap().validated().unwrap();
    let f = fold::Folder::new(&sound);
    for s in &f.shapes[0] {
        print!(
            "{}x{} ",
            s.pieces.len(),
            s.pieces.iter().map(|p| p.len()).max().unwrap()
        );
    }
    println!();
    for _ in 0..std::env::var("N").unwrap().parse::<usize>().unwrap() {
        std::hint::black_box(check::check(&b, &f));
    }
}
