use proptest::prelude::*;

use super::*;

const COMMENTED: &str = r##"// for the bench
job "mantel clock" {  /* the old one */
    style slotted-case // bare word
    inside length="342mm" width = "178mm" \
        depth="266mm"   // 15 mm all round

    board "C"
    /- crease "hand"
    crease "rule" depth="0.5"

    set "slot" "6mm"  // wider
    set gap "2mm"
    // the sheet at hand
    sheet "1600mm" "1200mm"
    quantity 0x10
    drawing owner="clock \"workshop\"" date=#"1 May"#
}
// the end
"##;

const ONE_LINE: &str = "job \"x\" { style \"mailer\"; inside length=\"9in\" width=\"6in\" depth=\"2in\"; board \"E\" }";

fn saved(text: &str, change: impl FnOnce(&mut State)) -> String {
    let mut s = state(text).unwrap();
    change(&mut s);
    let out = edited(text, &s).unwrap();
    assert_eq!(state(&out).unwrap(), s, "{out}");
    out
}

#[test]
fn an_unchanged_state_gives_the_same_bytes() {
    for text in [
        COMMENTED,
        ONE_LINE,
        "job x\n",
        "job \"x\" {\r\n  style a\r\n}\r\n",
    ] {
        assert_eq!(saved(text, |_| {}), text);
    }
}

#[test]
fn only_the_value_changed_differs() {
    let out = saved(COMMENTED, |s| s.inside.depth = "10 in + 2 mm".into());
    assert_eq!(out, COMMENTED.replace("\"266mm\"", "\"10 in + 2 mm\""));
    let out = saved(COMMENTED, |s| s.style = "mailer".into());
    assert_eq!(out, COMMENTED.replace("slotted-case", "mailer"));
    let out = saved(COMMENTED, |s| {
        s.set.insert("slot".into(), "t + 1mm".into());
    });
    assert_eq!(out, COMMENTED.replace("\"6mm\"", "\"t + 1mm\""));
    let out = saved(COMMENTED, |s| s.quantity = 3);
    assert_eq!(out, COMMENTED.replace("0x10", "3"));
    let out = saved(COMMENTED, |s| s.drawing.date = "2 \"May\"".into());
    assert_eq!(out, COMMENTED.replace("#\"1 May\"#", "\"2 \\\"May\\\"\""));
    let out = saved(COMMENTED, |s| s.title = "ü".into());
    assert_eq!(out, COMMENTED.replace("\"mantel clock\"", "\"ü\""));
}

#[test]
fn what_is_missing_is_put_in_as_the_rest_is_laid_out() {
    let out = saved(COMMENTED, |s| s.bed = Some(["60cm".into(), "40cm".into()]));
    let at = "drawing owner=\"clock \\\"workshop\\\"\" date=#\"1 May\"#\n";
    assert_eq!(
        out,
        COMMENTED.replace(at, &format!("{at}    bed \"60cm\" \"40cm\"\n"))
    );
    let out = saved(COMMENTED, |s| {
        s.set.insert("step".into(), "4mm".into());
    });
    assert_eq!(
        out,
        COMMENTED.replace(
            "    set gap \"2mm\"\n",
            "    set gap \"2mm\"\n    set \"step\" \"4mm\"\n"
        )
    );
    let out = saved(ONE_LINE, |s| s.caliper = Some("1.6mm".into()));
    let wanted = ONE_LINE.replace("\"E\" }", "\"E\"; caliper \"1.6mm\" }");
    assert_eq!(out, wanted);
    let out = saved("job x", |s| s.board = "C".into());
    assert!(out.starts_with("job x {\n    board \"C\"\n}"), "{out}");
}

#[test]
fn what_is_taken_out_leaves_its_comment() {
    let out = saved(COMMENTED, |s| s.sheet = None);
    assert_eq!(
        out,
        COMMENTED.replace("    sheet \"1600mm\" \"1200mm\"\n", "")
    );
    let out = saved(COMMENTED, |s| {
        s.set.remove("gap");
    });
    assert_eq!(out, COMMENTED.replace("    set gap \"2mm\"\n", ""));
    let out = saved(COMMENTED, |s| s.axis_depth = None);
    assert_eq!(out, COMMENTED.replace(" depth=\"0.5\"", ""));
}

#[test]
fn a_file_with_a_mistake_can_be_opened_and_put_right() {
    let text = "job \"x\" {\n  style mailer\n  inside length=\"9\" width=\"6in\" depth=\"2in\"\n  board E\n}\n";
    assert!(!messages("x.kdl", text).is_empty());
    let out = saved(text, |s| s.inside.length = "9in".into());
    assert!(messages("x.kdl", &out).is_empty(), "{out}");
    assert_eq!(state("box \"x\"\n").unwrap_err().code, "not-a-job");
    assert_eq!(state("job {{{").unwrap_err().code, "not-a-job");
}

/// Texts that users may type, quotes and odd characters among them.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z0-9 .+*/()\"\\\\-]{0,20}",
        "\\PC{0,12}",
        Just("\u{202e}\u{feff}\n\r\t\u{0}".to_owned()),
        Just("#true".to_owned()),
        Just("3-5/16in".to_owned()),
    ]
}

fn states() -> impl Strategy<Value = State> {
    let pair = || proptest::option::of([typed(), typed()]);
    let set = proptest::collection::btree_map("[a-z-]{1,9}", typed(), 0..4);
    (
        (typed(), typed(), [typed(), typed(), typed()], typed()),
        (
            0..4usize,
            set,
            proptest::option::of(typed()),
            pair(),
            pair(),
        ),
        (1..u32::MAX, [typed(), typed(), typed(), typed(), typed()]),
        proptest::option::of((0.0..1.0f64, 0.0..1.0f64)),
    )
        .prop_map(
            |(
                (title, style, inside, board),
                (c, set, caliper, sheet, bed),
                (quantity, d),
                axis,
            )| {
                let [length, width, depth] = inside;
                let [owner, creator, approved, number, date] = d;
                State {
                    title,
                    style,
                    inside: Inside {
                        length,
                        width,
                        depth,
                    },
                    board,
                    crease: [
                        Crease::Hand,
                        Crease::Wheel,
                        Crease::Rule,
                        Crease::Perforated,
                    ][c],
                    set,
                    caliper,
                    axis_depth: axis.map(|(along, across)| AxisDepth { along, across }),
                    sheet,
                    bed,
                    no_measured: false,
                    quantity,
                    drawing: Drawing {
                        owner,
                        creator,
                        approved,
                        number,
                        date,
                    },
                    job: None,
                    board_files: Vec::new(),
                    fitments: Vec::new(),
                    contents: Vec::new(),
                    splits: Vec::new(),
                    marks: Vec::new(),
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn every_state_is_written_and_read_back(s in states()) {
        let text = written(&s).unwrap();
        prop_assert_eq!(state(&text).unwrap(), s.clone());
        prop_assert_eq!(edited(&text, &s).unwrap(), text);
    }

    #[test]
    fn any_state_can_be_saved_over_any_file(a in states(), b in states()) {
        let text = written(&a).unwrap();
        let mut b = b;
        b.board_files = a.board_files.clone();
        let out = edited(&text, &b).unwrap();
        prop_assert_eq!(state(&out).unwrap(), b);
    }

    #[test]
    fn one_value_changed_leaves_every_other_byte(new in typed(), which in 0..3usize) {
        let mut s = state(COMMENTED).unwrap();
        let old = s.inside.all()[which].to_owned();
        *s.inside.get_mut(["length", "width", "depth"][which]).unwrap() = new;
        let out = edited(COMMENTED, &s).unwrap();
        let at = COMMENTED.find(&format!("\"{old}\"")).unwrap();
        prop_assert_eq!(&out[..at], &COMMENTED[..at]);
        let rest = &COMMENTED[at + old.len() + 2..];
        prop_assert!(out.ends_with(rest), "{}", out);
    }
}

const FITTED: &str = r#"job "clock" {
    style "slotted-case"
    inside length="342mm" width="178mm" depth="266mm"
    board "C"
    // on the floor
    fitment "flat-pad" as="bottom pad"  // cut twice
    fitment "cell-divider" as="divider" depth="depth - t" z="t" {
        board "B" // thinner
        set "rows" 3
    }
    quantity 2
}
"#;

#[test]
fn fitments_are_kept_byte_for_byte() {
    let s = state(FITTED).unwrap();
    assert_eq!(s.fitments[0], "fitment \"flat-pad\" as=\"bottom pad\"");
    assert!(s.fitments[1].ends_with("set \"rows\" 3\n    }"), "{s:?}");
    let out = saved(FITTED, |s| s.inside.depth = "300mm".into());
    assert_eq!(out, FITTED.replace("266mm", "300mm"));
    // Under another name they are written anew.
    let new = written(&s).unwrap();
    assert_eq!(state(&new).unwrap(), s, "{new}");
    assert_eq!(messages("x", &new), [], "{new}");
}

#[test]
fn fitments_are_put_into_another_file() {
    let s = state(FITTED).unwrap();
    for text in [COMMENTED, ONE_LINE, "job \"x\" {\r\n  style a\r\n}\r\n"] {
        let out = saved(text, |n| n.fitments.clone_from(&s.fitments));
        let gone = saved(&out, |n| n.fitments.clear());
        assert!(!gone.contains("fitment"), "{gone}");
    }
    let out = saved(FITTED, |s| {
        s.fitments.remove(0);
    });
    assert!(out.contains("// on the floor"), "{out}");
}

#[test]
fn what_is_no_fitment_is_refused() {
    for bad in [
        "",
        "board \"C\"",
        "fitment \"a\"\nboard \"B\"",
        "fitment \"a\" {",
        "}",
    ] {
        let mut s = state(FITTED).unwrap();
        s.fitments = vec![bad.to_owned()];
        assert!(written(&s).is_err(), "{bad}");
        assert!(edited(FITTED, &s).is_err(), "{bad}");
    }
}

const MARKED: &str = r#"job "clock" {
    style "slotted-case"
    inside length="342mm" width="178mm" depth="266mm"
    board "C"
    mark "this-way-up" on="side-1"   // the carrier's side
    mark "text" on="front" \
        text="MANTEL CLOCK" height="12mm" x="80mm" y="1 in"
    /- mark "fragile" on="back"
    split at="back" lap="40 mm" // too long for the sheet
    contents "mantel clock" mass="4.1kg" fragile=40 /* restored */
    contents "key" mass="20 g" count=2
    quantity 2
}
"#;

#[test]
fn marks_are_kept_byte_for_byte_and_shown() {
    let s = state(MARKED).unwrap();
    assert_eq!(s.marks[0], "mark \"this-way-up\" on=\"side-1\"");
    assert!(s.marks[1].ends_with("y=\"1 in\""), "{s:?}");
    assert_eq!(s.marks.len(), 2);
    assert_eq!(s.splits, ["split at=\"back\" lap=\"40 mm\""]);
    assert_eq!(s.contents.len(), 2);
    assert_eq!(s.contents[1], "contents \"key\" mass=\"20 g\" count=2");
    let out = saved(MARKED, |s| s.inside.depth = "300mm".into());
    assert_eq!(out, MARKED.replace("266mm", "300mm"));
    // Under another name they are written anew.
    let new = written(&s).unwrap();
    assert_eq!(state(&new).unwrap(), s, "{new}");
    assert_eq!(messages("x", &new), [], "{new}");
    // What is drawn for the page has them.
    let job = crate::ask::job(&s).unwrap();
    assert_eq!(job.marks.len(), 2);
    assert_eq!(job.marks[1].on.name, "front");
    assert_eq!(job.splits.len(), 1);
    assert_eq!(job.contents[0].fragile, Some(40.0));
    assert!((boxwright::ship::contents_mass(&job).to_kg() - 4.14).abs() < 1e-12);
    for bad in ["", "board \"C\"", "mark \"text\" {"] {
        let mut s = state(MARKED).unwrap();
        s.marks = vec![bad.to_owned()];
        assert!(written(&s).is_err(), "{bad}");
        assert!(edited(MARKED, &s).is_err(), "{bad}");
    }
}
