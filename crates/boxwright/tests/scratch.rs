//! scratch
use boxwright::*;
#[test]
fn go() {
    let name = std::env::var("JOB").unwrap();
    let text = source::Text {
        name: name.clone(),
        text: std::fs::read_to_string(&name).unwrap(),
    };
    let job = job::parse_job(&text).unwrap_or_else(|d| panic!("{d:#?}"));
    let b = brief::brief(job, &source::Shipped).unwrap_or_else(|d| panic!("{d:#?}"));
    let plan = b.plan().unwrap_or_else(|d| panic!("{d:#?}"));
    if std::env::var("V").is_ok() {
        for bl in &plan.pieces {
            println!("{:?}", bl.figures);
            for p in &bl.panels {
                println!(
                    "{:20} {:8.3} {:8.3} {:?}",
                    p.name,
                    p.breadth.to_mm(),
                    p.reach.to_mm(),
                    p.place.origin
                );
            }
            println!("outline {} paths", bl.outline.len());
            for v in &bl.outline[0].vertices {
                print!("({:.1},{:.1}) ", v.at.x, v.at.y);
            }
            println!();
        }
    }
    let sound = plan.validated().unwrap_or_else(|(_, d)| panic!("{d:#?}"));
    let f = fold::Folder::new(&sound);
    if std::env::var("V").is_ok() {
        for s in f.pose(sound.stages.len()).slabs {
            println!(
                "{:20} {:?}",
                s.name,
                s.frame.transform_point3(geom::DVec3::ZERO)
            );
        }
    }
    let r = check::check(&b, &f);
    println!("room {:?}", r.room);
    for f in &r.findings {
        println!(
            "{:?} {} {} | {:?} / {:?} | {:?} stage {:?}",
            f.verdict,
            f.code,
            f.message,
            f.measured.map(|m| m.show(units::LengthUnit::Mm)),
            f.limit.map(|m| m.show(units::LengthUnit::Mm)),
            f.cure,
            f.stage
        );
    }
}
