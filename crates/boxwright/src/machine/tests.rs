#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test ends with a panic"
)]

use super::*;
use crate::source::{Door, Shipped, Text};

fn read(text: &str) -> Result<Machine, Vec<crate::diag::Diag>> {
    read_machine(&Text {
        name: "m.kdl".into(),
        text: text.into(),
    })
}

fn laser() -> String {
    Shipped.machine("bench-laser").unwrap().text
}

#[test]
fn shipped_machines_read_and_are_called_as_their_files() {
    for name in Shipped.machine_names() {
        let text = Shipped.machine(&name).unwrap();
        let m = read_machine(&text).unwrap_or_else(|d| panic!("{d:#?}"));
        assert_eq!(m.name, name);
        // Every word of the file that gives figures has an origin.
        for figure in ["bed", "travel", "acceleration", "price", "hands", "full-s"] {
            assert!(m.origin(figure).is_some(), "{name} {figure}");
        }
    }
}

// Energy per length E = P duty / v: 20 W at 48 % and 75 mm/s, and 40 W at 24 % and 75 mm/s, are
// both 0.128 J/mm. Source: start values for corrugated, lasertinkerer.com/settings (seen).
#[test]
fn energy_per_length_is_that_of_the_published_start_values() {
    let mut m = read(&laser()).unwrap();
    let s = m.setting(LineUse::Cut, "B", Runs::Along).unwrap().clone();
    assert_eq!((s.power, s.speed, s.passes), (0.24, 75.0, 1));
    assert!((m.joules_per_mm(s.power, s.speed).unwrap() - 0.128).abs() < 0.001);
    m.full_power = Some(20.0);
    assert!((m.joules_per_mm(0.48, 75.0).unwrap() - 0.128).abs() < 0.001);
    m.full_power = None;
    assert_eq!(m.joules_per_mm(1.0, 75.0), None);
}

#[test]
fn the_setting_that_says_most_is_taken() {
    let m = read(&laser()).unwrap();
    let of = |u, b, r| m.setting(u, b, r).unwrap();
    assert_eq!(of(LineUse::Cut, "BC", Runs::Along).passes, 2);
    assert_eq!(of(LineUse::Cut, "C", Runs::Along).passes, 1);
    let along = of(LineUse::CreaseInward, "C", Runs::Along).way;
    assert_eq!(along, Way::Dashes { cut: 4.0, gap: 4.0 });
    let across = of(LineUse::CreaseOutward, "C", Runs::Across).way;
    assert_eq!(across, Way::Dashes { cut: 6.0, gap: 5.0 });
}

/// Every message points into the text, and the text under it is what is wrong.
#[test]
fn what_is_wrong_is_told_at_its_place() {
    let cases = [
        (
            r#"bed "600mm" "400mm""#,
            r#"bed "600" "400mm""#,
            "wrong-kind",
            "600",
        ),
        (
            r#"bed "600mm" "400mm""#,
            r#"bed "600mm" "-4mm""#,
            "out-of-range",
            "-4mm",
        ),
        (
            r#"travel "200mm/s""#,
            r#"travel "200""#,
            "wrong-kind",
            "200",
        ),
        (
            r#"travel "200mm/s""#,
            r#"travel "0mm/s""#,
            "out-of-range",
            "0mm/s",
        ),
        (r#"travel "200mm/s""#, "travel 200", "wrong-kind", "200"),
        (
            r#"kind "laser""#,
            r#"kind "lazer""#,
            "unknown-word",
            "lazer",
        ),
        (
            "full-power \"40W\"",
            "full-power \"40mm\"",
            "wrong-kind",
            "40mm",
        ),
        (
            r#"way="etched""#,
            r#"way="through""#,
            "wrong-kind",
            "through",
        ),
        (
            "passes=2 kerf=\"0.2mm\"",
            "passes=1.5 kerf=\"0.2mm\"",
            "wrong-kind",
            "1.5",
        ),
        (
            "passes=2 kerf=\"0.2mm\"",
            "passes=0 kerf=\"0.2mm\"",
            "out-of-range",
            "0",
        ),
        ("board=\"BC\"", "board=\"EB\"", "given-twice", "line"),
        ("power=\"8%\"", "power=\"108%\"", "out-of-range", "108%"),
        ("kerf=\"0.2mm\"", "kerf=\"9mm\"", "out-of-range", "9mm"),
        ("cut=\"4mm\" gap=\"4mm\"", "cut=\"4mm\"", "missing", "line"),
        ("decimals 3", "decimals 2", "out-of-range", "2"),
        ("times 4", "times \"1/0\"", "division-by-zero", "0"),
        ("most \"2.5mm\"", "most \"0.5mm\"", "out-of-range", "most"),
        (
            "from=\"default: the corner of the bed\"",
            "from=\"somewhere\"",
            "bad-origin",
            "somewhere",
        ),
        (
            "    lead-in \"2mm\" from=\"default: no source\"\n",
            "",
            "missing",
            "machine",
        ),
        ("price \"9/h\"", "prize \"9/h\"", "unknown-word", "prize"),
        (
            "machine \"bench-laser\"",
            "machine \"bench laser (new)\"",
            "bad-name",
            "bench laser (new)",
        ),
        (
            "park \"0mm\" \"0mm\"",
            "park \"0mm\" \"401mm\"",
            "out-of-range",
            "401mm",
        ),
    ];
    for (old, new, code, under) in cases {
        let text = laser().replacen(old, new, 1);
        assert_ne!(text, laser(), "{old}");
        let diags = read(&text).unwrap_err();
        let hit = diags.iter().any(|d| {
            let p = d.place.as_ref().unwrap();
            d.code == code && text.get(p.start..p.end) == Some(under)
        });
        assert!(hit, "{new}: {diags:#?}");
    }
}

#[test]
fn tool_lines_that_would_move_the_head_are_refused() {
    let knife = Shipped.machine("knife-table").unwrap().text;
    for bad in [
        "G0 X1500 Y1100",
        "M3 (S1000",
        "M30",
        "G91",
        "",
        "M3\\nG0 X5",
        "G4 Pé",
    ] {
        let text = knife.replacen("G1 Z-1.2 F600", bad, 1);
        let diags = read(&text).unwrap_err();
        assert!(
            diags.iter().any(|d| d.code == "bad-code"),
            "{bad}: {diags:#?}"
        );
    }
    let text = knife.replacen("        lift \"G0 Z8\"\n", "", 1);
    assert!(
        read(&text).is_err(),
        "a tool that is lowered and never lifted"
    );
    let text = knife.replacen(
        "        lower \"G1 Z-1.2 F600\"\n        lift \"G0 Z8\"\n",
        "",
        1,
    );
    let diags = read(&text).unwrap_err();
    assert!(
        diags.iter().any(|d| d.message.contains("full-power")),
        "{diags:#?}"
    );
}

#[test]
fn spoilt_files_never_panic_and_always_say_something() {
    let whole = laser();
    for cut in (0..whole.len())
        .step_by(53)
        .filter(|n| whole.is_char_boundary(*n))
    {
        let (head, tail) = whole.split_at(cut);
        if let Err(diags) = read(head) {
            assert!(!diags.is_empty());
        }
        for odd in [
            "\"",
            "{",
            "}",
            "\u{0}",
            "é",
            "99999999999999999999",
            "-",
            "#true",
            "\n\n",
        ] {
            if let Err(diags) = read(&format!("{head}{odd}{tail}")) {
                assert!(!diags.is_empty());
            }
        }
    }
    for text in [
        "",
        "machine",
        "machine \"a\"",
        "machine \"a\" { }",
        "board \"a\"",
    ] {
        assert!(!read(text).unwrap_err().is_empty(), "{text}");
    }
}
