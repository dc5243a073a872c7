//! scratch
use boxwright::*;
#[test]
fn pics() {
    let name = std::env::var("JOB").unwrap();
    let text = source::Text {
        name: name.clone(),
        text: std::fs::read_to_string(&name).unwrap(),
    };
    let job = job::parse_job(&text).unwrap();
    let b = brief::brief(job, &source::Shipped).unwrap();
    let sound = b.plan().unwrap().validated().unwrap();
    let f = fold::Folder::new(&sound);
    let poses: Vec<_> = (0..=sound.stages.len()).map(|i| f.pose(i)).collect();
    let pages =
        emit::instructions::instructions("test", "sub", &poses, &[], emit::instructions::Paper::A4);
    let pdf = emit::pdf::pdf(&pages, "t").unwrap();
    std::fs::write("/tmp/j/fold.pdf", pdf).unwrap();
    for bl in sound.blanks() {
        let s = emit::drawing::drawing(
            bl,
            &emit::drawing::TitleBlock {
                title: "x".into(),
                ..Default::default()
            },
            &emit::drawing::DrawingOptions::default(),
        );
        std::fs::write(
            format!("/tmp/j/draw-{}.png", bl.piece),
            emit::png::png(&s, 1600).unwrap(),
        )
        .unwrap();
    }
    std::fs::write(
        "/tmp/j/out.glb",
        emit::glb::glb(poses.last().unwrap(), Some(&f.room)).unwrap(),
    )
    .unwrap();
}
