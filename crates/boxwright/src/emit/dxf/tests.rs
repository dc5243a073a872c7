use super::*;
use crate::emit::sample::{SLOTTED_CREASE, SLOTTED_CUT, TUCK_CUT, slotted, tuck};

const ALL: [DxfVersion; 3] = [DxfVersion::R12, DxfVersion::R2000, DxfVersion::R2010];

fn pairs(text: &str) -> Vec<(i32, String)> {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "group codes and values come in pairs");
    lines
        .chunks(2)
        .map(|c| (c[0].trim().parse().unwrap(), c[1].to_owned()))
        .collect()
}

fn written(blank: &Blank, version: DxfVersion) -> String {
    dxf(
        blank,
        &DxfOptions {
            version,
            ..DxfOptions::default()
        },
    )
}

/// Sum of lengths on a layer, from the file alone: chord times half angle over its sine.
fn length_on(text: &str, layer: &str) -> f64 {
    let (mut total, mut on) = (0.0, false);
    let (mut kind, mut closed) = (String::new(), false);
    let mut points: Vec<(f64, f64, f64)> = Vec::new();
    let mut second = (0.0, 0.0);
    let flush = |kind: &str, on: bool, closed: bool, pts: &[(f64, f64, f64)], s: (f64, f64)| {
        if !on {
            return 0.0;
        }
        if kind == "LINE" {
            return (pts[0].0 - s.0).hypot(pts[0].1 - s.1);
        }
        let count = if closed { pts.len() } else { pts.len() - 1 };
        (0..count)
            .map(|i| {
                let (a, b) = (pts[i], pts[(i + 1) % pts.len()]);
                let chord = (a.0 - b.0).hypot(a.1 - b.1);
                let half = 2.0 * a.2.abs().atan();
                if half == 0.0 {
                    chord
                } else {
                    chord * half / half.sin()
                }
            })
            .sum()
    };
    let all = pairs(text);
    let start = all.iter().position(|p| p.1 == "ENTITIES").unwrap();
    for (code, value) in &all[start + 1..] {
        if *code == 0 {
            if value == "VERTEX" {
                continue;
            }
            total += flush(&kind, on, closed, &points, second);
            if value == "ENDSEC" {
                break;
            }
            (kind, on, closed) = (value.clone(), false, false);
            points.clear();
        }
        let number = || value.parse::<f64>().unwrap();
        match code {
            8 => on = value == layer && kind != "SEQEND",
            70 => closed = value == "1",
            10 => points.push((number(), 0.0, 0.0)),
            20 => points.last_mut().unwrap().1 = number(),
            42 => points.last_mut().unwrap().2 = number(),
            11 => second.0 = number(),
            21 => second.1 = number(),
            66 => points.clear(),
            // The dummy point of an R12 polyline is dropped at its flags, which follow it.
            _ => {}
        }
        if *code == 70 && kind == "POLYLINE" {
            points.clear();
        }
    }
    total
}

#[test]
fn every_edition_comes_in_pairs_and_ends() {
    for version in ALL {
        let all = pairs(&written(&slotted(), version));
        assert_eq!(all.last().unwrap(), &(0, "EOF".to_owned()));
        let opened = all.iter().filter(|p| p.0 == 0 && p.1 == "SECTION").count();
        let closed = all.iter().filter(|p| p.0 == 0 && p.1 == "ENDSEC").count();
        assert_eq!(opened, closed);
    }
}

#[test]
fn lengths_by_layer_are_the_blanks() {
    for version in ALL {
        let text = written(&slotted(), version);
        assert!((length_on(&text, "cut") - SLOTTED_CUT).abs() < 1e-3);
        assert!((length_on(&text, "crease-inward") - SLOTTED_CREASE).abs() < 1e-3);
        assert!((length_on(&text, "board") - 2.0 * (1051.0 + 366.0)).abs() < 1e-3);
        let text = written(&tuck(), version);
        assert!((length_on(&text, "cut") - TUCK_CUT).abs() < 1e-3);
        assert!((length_on(&text, "crease-outward") - 220.0).abs() < 1e-3);
        assert!((length_on(&text, "perforation") - 90.0).abs() < 1e-3);
    }
}

// docs/background.md, DXF: the bulge is the tangent of a quarter of the angle, 0.414214 for 90 degrees
// and 1 for 180; group 90 counts the corners, 70 says closed.
#[test]
fn arcs_are_bulges_and_polylines_say_how_many_corners() {
    let all = pairs(&written(&tuck(), DxfVersion::R2010));
    let bulges: Vec<f64> = all
        .iter()
        .filter(|p| p.0 == 42 && p.1.len() > 12)
        .map(|p| p.1.parse().unwrap())
        .collect();
    assert!((bulges[0] - 0.414_214).abs() < 1e-6);
    assert!(bulges.contains(&-1.0));
    let first = all.iter().position(|p| p.1 == "LWPOLYLINE").unwrap();
    let poly = &all[first..];
    assert_eq!(poly.iter().find(|p| p.0 == 90).unwrap().1, "6");
    assert_eq!(poly.iter().find(|p| p.0 == 70).unwrap().1, "1");
}

#[test]
fn units_are_millimetres() {
    for version in [DxfVersion::R2000, DxfVersion::R2010] {
        let all = pairs(&written(&slotted(), version));
        let at = all.iter().position(|p| p.1 == "$INSUNITS").unwrap();
        assert_eq!(all[at + 1], (70, "4".to_owned()));
        let at = all.iter().position(|p| p.1 == "$MEASUREMENT").unwrap();
        assert_eq!(all[at + 1], (70, "1".to_owned()));
    }
    assert!(written(&slotted(), DxfVersion::R12).starts_with("999\nlengths in millimetres\n"));
}

#[test]
fn hostile_layer_names_cannot_break_the_file() {
    let mut layers = LayerTable::default();
    layers.style_mut(LineUse::Cut).name = "a\n0\nEOF|<é>".into();
    layers.style_mut(LineUse::Engrave).name = "  ".into();
    layers.style_mut(LineUse::Board).drawn = false;
    for version in ALL {
        let opts = DxfOptions {
            version,
            layers: layers.clone(),
            ..DxfOptions::default()
        };
        let text = dxf(&tuck(), &opts);
        assert_eq!(pairs(&text).iter().filter(|p| p.1 == "EOF").count(), 1);
        assert!(!text.contains("board"));
        assert_eq!(version != DxfVersion::R2010, text.is_ascii());
    }
}

#[test]
fn the_same_blank_gives_the_same_bytes() {
    assert_eq!(
        written(&tuck(), DxfVersion::R2010),
        written(&tuck(), DxfVersion::R2010)
    );
}
