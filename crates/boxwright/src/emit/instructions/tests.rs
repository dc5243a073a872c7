use super::*;
use crate::emit::picture::tests::save;
use crate::emit::poses;

fn course() -> Vec<Pose> {
    let flaps = |side: [&str; 2]| side.map(|s| format!("{s} upper flap"));
    let (short, long) = (flaps(["right", "left"]), flaps(["front", "back"]));
    let (short, long) = (
        short.each_ref().map(String::as_str),
        long.each_ref().map(String::as_str),
    );
    let mut all = vec![
        poses::slotted(0, 0.0, 0.0, 0.0, &[]),
        poses::slotted(1, 90.0, 0.0, 0.0, &["front", "right", "back", "left"]),
        poses::slotted(2, 90.0, 90.0, 0.0, &short),
        poses::slotted(3, 90.0, 90.0, 60.0, &long),
        poses::slotted(4, 90.0, 90.0, 90.0, &long),
    ];
    let words = [
        ("The blank", "Inside face up, creases made."),
        (
            "Square the walls",
            "Stand the blank up, turn the walls round to a tube and close the lower flaps, short ones first.",
        ),
        (
            "Short flaps in",
            "Turn the two short flaps down until they lie level with the upper edge of the walls.",
        ),
        (
            "Long flaps over",
            "Bring both long flaps down together over the short ones.",
        ),
        (
            "Close",
            "Press the long flaps flat. They meet in the middle: tape along the seam and 60 mm down each end.",
        ),
    ];
    for (p, (title, text)) in all.iter_mut().zip(words) {
        p.title = title.into();
        p.text = text.into();
    }
    all
}

fn notes() -> Vec<String> {
    vec![
        "The packed case weighs 14 kg: lift it with two hands and a straight back.".into(),
        "Nobody has tested this case: the strength figures are estimates. Where a falling load can hurt someone, have it tested to the standard that applies.".into(),
    ]
}

#[test]
fn all_text_is_on_the_pages_and_inside_the_margins() {
    let poses = course();
    for paper in [Paper::A4, Paper::Letter] {
        let pages = instructions(
            "Clock case",
            "300 x 200 x 180 mm inside, 4 mm board",
            &poses,
            &notes(),
            paper,
        );
        let (w, h) = paper.size();
        let letters = Letters::shipped();
        let mut all = String::new();
        for item in pages.iter().flat_map(|p| &p.items) {
            match item {
                Item::Text {
                    at,
                    size,
                    anchor,
                    bold,
                    text,
                    ..
                } => {
                    let wide = letters.width(text, *size, *bold);
                    let left = match anchor {
                        Anchor::Start => at.x,
                        Anchor::Middle => at.x - wide / 2.0,
                        Anchor::End => at.x - wide,
                    };
                    assert!(
                        left >= MARGIN - 1e-6 && left + wide <= w - MARGIN + 1e-6,
                        "{text}"
                    );
                    assert!(at.y - size >= 5.0 && at.y <= h - MARGIN + 1e-6, "{text}");
                    all.push_str(text);
                    all.push(' ');
                }
                Item::Shape { paths, .. } => {
                    for p in paths {
                        let b = p.bounds();
                        assert!(
                            b.min.x >= 10.0
                                && b.max.x <= w - 10.0
                                && b.min.y >= 10.0
                                && b.max.y <= h - 10.0
                        );
                    }
                }
            }
        }
        for p in &poses {
            assert!(all.contains(&p.title) && all.contains(p.text.split(' ').next().unwrap()));
        }
        assert!(
            notes()
                .iter()
                .all(|n| n.split(' ').all(|word| all.contains(word)))
        );
        for (i, p) in pages.iter().enumerate() {
            save(&format!("i-{paper:?}-{}", i + 1), p, 6.0);
        }
    }
}

#[test]
fn nothing_to_fold_still_gives_a_page_and_many_stages_flow_over() {
    assert_eq!(instructions("", "", &[], &[], Paper::A4).len(), 1);
    let many: Vec<Pose> = (0..15).map(|i| poses::tray(i, 45.0, 45.0, &[])).collect();
    let long = vec!["word ".repeat(3000)];
    let pages = instructions("Tray", "", &many, &long, Paper::A4);
    let circles = pages
        .iter()
        .flat_map(|p| &p.items)
        .filter(|i| matches!(i, Item::Text { size, anchor: Anchor::Middle, .. } if *size > 3.0));
    assert_eq!(circles.count(), 14);
    assert!(pages.len() > 4);
}
