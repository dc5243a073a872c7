//! `style check`, `style gallery`, and `list` by what is needed.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

mod support;

use support::Place;

/// A tray whose tabs are `raise`d over the side walls, with what else it says.
fn tray(raise: &str, more: &str) -> String {
    format!(
        r#"style "own" {{
    title "Own tray"
    parameter "tab" default="min(30mm, width / 2 - t)" min="10mm" max="width / 2 - t"
    require "depth >= 15mm" "walls this low leave nothing to glue"
    {more}
    piece "tray" flutes="left-right" {{
        panel "floor" breadth="length" reach="width" {{
            panel "front" on="near" reach="depth" {{
                panel "left tab" on="left" reach="tab" raise="{raise}"
                panel "right tab" on="right" reach="tab" raise="{raise}"
            }}
            panel "left" on="left" reach="depth"
            panel "right" on="right" reach="depth"
            panel "back" on="far" reach="depth"
        }}
    }}
    room on="floor" breadth="length" reach="width" rise="depth"
    glue "left tab" to="right"
    glue "right tab" to="left"
    stage "Raise" "Fold the walls up." {{ turn "left" "right" "back" }}
    stage "Close" "Fold the front up and glue its tabs." {{
        turn "front" ends="0.5"
        turn "left tab" "right tab" starts="0.5"
    }}
}}
"#
    )
}

fn checked(p: &Place, file: &str) -> support::Ran {
    p.run(&["style", "check", file, "--cases", "60"])
}

#[test]
fn a_style_that_holds_is_told_with_what_it_refuses_and_its_ranges() {
    let p = Place::new("style-holds");
    p.put("own.kdl", tray("t", ""));
    let out = checked(&p, "own.kdl").ended(0).out;
    assert!(
        out.starts_with("Own tray (own)\n60 random cases: "),
        "{out}"
    );
    assert!(out.contains(", 0 wrong\n"), "{out}");
    assert!(out.contains("refused (requirement)"), "{out}");
    assert!(
        out.contains("ranges that hold for") && out.contains("  tab: 10 mm to"),
        "{out}"
    );
    assert!(!out.contains("never"), "{out}");
    // The same numbers, the same cases.
    assert_eq!(checked(&p, "own.kdl").out, out);
    let other = p.run(&["style", "check", "own.kdl", "--cases", "60", "--seed", "1"]);
    assert_ne!(other.ended(0).out, out);
    // A shipped style by its name.
    p.run(&["style", "check", "flat-pad", "--cases", "20"])
        .ended(0);
}

#[test]
fn a_style_that_is_wrong_ends_with_one_and_tells_the_case() {
    let p = Place::new("style-wrong");
    p.put("own.kdl", tray("0mm", ""));
    let out = checked(&p, "own.kdl").ended(1).out;
    assert!(out.contains("  wrong, case "), "{out}");
    assert!(out.contains("      board-in-board: "), "{out}");
    assert!(out.contains("no case holds: nothing is proved"), "{out}");
    assert!(out.contains("more wrong ones; --shown lists more"), "{out}");
    assert!(!out.contains("ranges that hold"), "{out}");
    let one = p.run(&["style", "check", "own.kdl", "--cases", "60", "--shown", "1"]);
    assert_eq!(one.ended(1).out.matches("wrong, case").count(), 1);
}

#[test]
fn what_is_never_used_or_never_drawn_is_told() {
    let p = Place::new("style-unused");
    let more = r#"part "thumb" { panel "thumb" on="far" reach="5mm" }"#;
    let text = tray("t", more).replace(
        "panel \"back\" on=\"far\" reach=\"depth\"",
        "panel \"back\" on=\"far\" reach=\"depth\" { panel \"rim\" on=\"far\" fold=\"flat\" reach=\"9mm\" when=\"t > 1m\"; }",
    );
    p.put("own.kdl", text);
    let out = checked(&p, "own.kdl").ended(0).out;
    for told in [
        "never used: part `thumb`",
        "never drawn with default parameters: panel `rim`",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
}

#[test]
fn a_style_that_cannot_be_read_ends_with_two() {
    let p = Place::new("style-unread");
    p.put("open.kdl", "style \"open\" {");
    p.put("word.kdl", tray("t", "parametre \"x\" default=\"1mm\""));
    p.put("empty.kdl", "");
    p.put("bytes.kdl", [b's', 0xff]);
    p.put("long.kdl", "// filler\n".repeat(1_000_000));
    p.put("deep.kdl", "a {".repeat(4000));
    p.put("steer.kdl", "style \"\u{1b}[31m\" { \u{202e} }");
    std::fs::create_dir(p.0.join("folder.kdl")).unwrap();
    for (file, code) in [
        ("open.kdl", "syntax"),
        ("word.kdl", "did you mean `parameter`"),
        ("empty.kdl", "empty"),
        ("bytes.kdl", "not-utf-8"),
        ("long.kdl", "too-long"),
        ("deep.kdl", "too-deep"),
        ("steer.kdl", ""),
        ("folder.kdl", "not-a-file"),
        ("nowhere.kdl", "no-file"),
        ("flat-pat", "did you mean `flat-pad`"),
        ("", ""),
        ("../../..", ""),
    ] {
        let ran = checked(&p, file).ended(2);
        assert!(
            ran.err.contains(code) && !ran.err.is_empty(),
            "{file}: {}",
            ran.err
        );
        assert!(
            !ran.err.contains(['\u{1b}', '\u{202e}']),
            "{file}: {:?}",
            ran.err
        );
        assert_eq!(ran.out, "", "{file}");
    }
    for args in [
        &["style"][..],
        &["style", "check"],
        &["style", "check", "flat-pad", "--cases", "many"],
        &["style", "check", "flat-pad", "--cases", "-1"],
        &["style", "chek", "flat-pad"],
    ] {
        assert!(!p.run(args).ended(2).err.is_empty());
    }
}

#[test]
fn no_cases_prove_nothing() {
    let p = Place::new("style-none");
    let out = p
        .run(&["style", "check", "flat-pad", "--cases", "0"])
        .ended(1)
        .out;
    assert!(out.contains("nothing is proved"), "{out}");
}

#[test]
fn what_a_title_says_does_not_steer_the_terminal() {
    let p = Place::new("style-steer");
    p.put(
        "own.kdl",
        tray("t", "").replace("Own tray", "\\u{1b}[31mred\\u{202e}"),
    );
    let out = checked(&p, "own.kdl").ended(0).out;
    assert!(!out.contains(['\u{1b}', '\u{202e}']), "{out:?}");
}

#[test]
fn the_gallery_is_written_and_written_the_same_again() {
    let p = Place::new("style-gallery");
    let out = p.run(&["style", "gallery", "--out", "a"]).ended(0);
    assert!(
        out.out.contains(" styles in ") && out.err.is_empty(),
        "{}",
        out.out
    );
    assert_eq!(p.names("a"), ["gallery", "pictures", "styles-gallery.md"]);
    assert_eq!(p.names("a/pictures"), ["styles.png"]);
    p.run(&["style", "gallery", "--out", "b"]).ended(0);
    let names = p.names("a/gallery");
    assert_eq!(names, p.names("b/gallery"));
    assert!(names.contains(&"mailer-folded.svg".to_owned()), "{names:?}");
    for n in names {
        assert_eq!(
            p.read(&format!("a/gallery/{n}")),
            p.read(&format!("b/gallery/{n}")),
            "{n}"
        );
    }
    let ran = p
        .run(&["style", "gallery", "--out", "c", "--board", "Q"])
        .ended(2);
    assert!(ran.err.contains("unknown-board"), "{}", ran.err);
    let ran = p.run(&["style", "gallery", "--out", "job.kdl"]).ended(2);
    assert!(!ran.err.is_empty());
    assert!(p.names("c").is_empty());
}

#[test]
fn styles_are_found_by_what_is_needed() {
    let p = Place::new("needs");
    let list = |args: &[&str]| {
        let mut all = vec!["list", "styles"];
        all.extend(args);
        p.run(&all).ended(0).out
    };
    let found = list(&["--without", "tape", "--load", "2kg", "--for", "post"]);
    assert!(found.contains("mailer, case code 0427"), "{found}");
    assert!(
        !found.contains("closed by tape") && !found.contains("come nearest"),
        "{found}"
    );
    assert!(!found.contains(" but "), "{found}");
    let heads = |out: &str| -> Vec<String> {
        let lines = out.lines().filter(|l| !l.starts_with(' ') && !l.is_empty());
        lines
            .map(|l| l.split(',').next().unwrap().to_owned())
            .collect()
    };
    // A mass in other units asks the same.
    let grams = list(&["--without", "tape", "--load", "2000g", "--for", "post"]);
    assert_eq!(heads(&grams), heads(&found));
    let family = list(&["--family", "interior"]);
    assert!(
        family.contains("cell-divider") && !family.contains("mailer"),
        "{family}"
    );
    // More is needed, fewer are found.
    let all = heads(&list(&["--closing", "tape"])).len();
    let some = heads(&list(&["--closing", "tape", "--for", "heavy"])).len();
    assert!(some < all && some > 0, "{some} of {all}");
}

#[test]
fn when_nothing_meets_the_needs_the_nearest_come_with_the_reason() {
    let p = Place::new("nearest");
    let out = p
        .run(&["list", "styles", "--closing", "lid", "--load", "5000kg"])
        .ended(0)
        .out;
    assert!(out.starts_with("No style meets all of that."), "{out}");
    assert!(out.contains("it is usual up to"), "{out}");
    assert!(
        !out.contains("it is closed by"),
        "only one need is missed: {out}"
    );
}

#[test]
fn needs_that_mean_nothing_are_refused() {
    let p = Place::new("needs-odd");
    for args in [
        &["--load", "2"][..],
        &["--load", "2mm"],
        &["--load", "2kg / 0"],
        &["--load", "two"],
        &["--load", "length"],
        &["--load", ""],
        &["--load", "\u{1b}[31m"],
        &["--family", "boxes"],
        &["--closing", "string"],
        &["--without", ""],
        &["--for", "nothing"],
        &["--opening", "never"],
        &["--show", "mailer", "--for", "post"],
    ] {
        let mut all = vec!["list", "styles"];
        all.extend(args);
        let ran = p.run(&all).ended(2);
        assert!(
            !ran.err.is_empty() && !ran.err.contains('\u{1b}'),
            "{args:?}: {:?}",
            ran.err
        );
        assert_eq!(ran.out, "", "{args:?}");
    }
    let deep = format!("{}1kg{}", "(".repeat(9000), ")".repeat(9000));
    p.run(&["list", "styles", "--load", &deep]).ended(2);
}
