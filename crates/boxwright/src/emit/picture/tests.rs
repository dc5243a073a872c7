use super::*;
use crate::emit::poses;
use crate::geom::DAffine3;

fn png(scene: &Scene, per_mm: f32) -> Vec<u8> {
    let mut options = usvg::Options {
        font_family: "Noto Sans".into(),
        ..usvg::Options::default()
    };
    let fonts = options.fontdb_mut();
    for f in ["Regular", "Bold"] {
        let path = format!("{}/fonts/NotoSans-{f}.ttf", env!("CARGO_MANIFEST_DIR"));
        fonts.load_font_data(std::fs::read(path).unwrap());
    }
    let tree = usvg::Tree::from_str(&scene.to_svg(), &options).unwrap();
    let k = per_mm * scene.width as f32 / tree.size().width();
    let (w, h) = (
        (scene.width as f32 * per_mm) as u32,
        (scene.height as f32 * per_mm) as u32,
    );
    let mut map = resvg::tiny_skia::Pixmap::new(w, h).unwrap();
    map.fill(resvg::tiny_skia::Color::WHITE);
    resvg::render(
        &tree,
        resvg::tiny_skia::Transform::from_scale(k, k),
        &mut map.as_mut(),
    );
    map.encode_png().unwrap()
}

pub fn save(name: &str, scene: &Scene, per_mm: f32) {
    if let Ok(folder) = std::env::var("BOXWRIGHT_SAMPLES") {
        std::fs::write(format!("{folder}/{name}.svg"), scene.to_svg()).unwrap();
        std::fs::write(format!("{folder}/{name}.png"), png(scene, per_mm)).unwrap();
    }
}

#[test]
fn samples() {
    let walls = ["front", "right", "back", "left"];
    let flat = poses::tray(0, 0.0, 0.0, &[]);
    let half = poses::tray(1, 45.0, 45.0, &walls);
    let done = poses::tray(1, 90.0, 90.0, &walls);
    let v = View::default();
    save("p-tray-flat", &picture(&flat, None, &v, 85.0, 60.0), 12.0);
    save(
        "p-tray-half",
        &picture(&half, Some(&flat), &v, 85.0, 60.0),
        12.0,
    );
    save("p-tray", &picture(&done, Some(&half), &v, 85.0, 60.0), 12.0);
    // Outlines drawn in at the creases, as for p = 1/2, leave gaps when flat.
    let mut gaps = poses::tray(0, 0.0, 0.0, &[]);
    for s in &mut gaps.slabs[1..] {
        s.frame *= DAffine3::from_translation(DVec3::new(0.0, 4.0, 0.0));
    }
    save("p-tray-gaps", &picture(&gaps, None, &v, 85.0, 60.0), 12.0);
    let open = poses::slotted(2, 90.0, 0.0, 0.0, &[]);
    let short = poses::slotted(3, 90.0, 90.0, 0.0, &["right upper flap", "left upper flap"]);
    let long = poses::slotted(
        4,
        90.0,
        90.0,
        60.0,
        &["front upper flap", "back upper flap"],
    );
    save(
        "p-slotted-flat",
        &picture(&poses::slotted(0, 0.0, 0.0, 0.0, &[]), None, &v, 85.0, 60.0),
        12.0,
    );
    save(
        "p-slotted-short",
        &picture(&short, Some(&open), &v, 85.0, 60.0),
        12.0,
    );
    save(
        "p-slotted-long",
        &picture(&long, Some(&short), &v, 85.0, 60.0),
        12.0,
    );
    save(
        "p-slotted-shut",
        &picture(
            &poses::slotted(4, 90.0, 90.0, 90.0, &[]),
            None,
            &v,
            85.0,
            60.0,
        ),
        12.0,
    );
    save(
        "p-tongue",
        &picture(
            &poses::tongue(20.0),
            Some(&poses::tongue(-20.0)),
            &v,
            85.0,
            60.0,
        ),
        12.0,
    );
}

/// Where the ray through `p` (as seen) first meets board: the depth of the nearest crossing of any
/// triangle or outline side, found from the slabs' outlines alone.
fn nearest(pose: &Pose, turn: DMat3, p: DVec2) -> Option<f64> {
    let mut best: Option<f64> = None;
    let mut hit = |z: f64| best = Some(best.map_or(z, |b: f64| b.max(z)));
    let quad =
        |c: [DVec3; 4]| triangle([c[0], c[1], c[2]], p).or_else(|| triangle([c[0], c[2], c[3]], p));
    for s in &pose.slabs {
        let t = s.shape.caliper;
        let at = |q: DVec2, z: f64| turn * s.frame.transform_point3(q.extend(z));
        for z in [0.0, -t] {
            // The place on the cap's plane, by its two axes.
            let (o, x, y) = (at(DVec2::ZERO, z), at(DVec2::X, z), at(DVec2::Y, z));
            let (ux, uy) = ((x - o).truncate(), (y - o).truncate());
            let det = ux.perp_dot(uy);
            if det.abs() < 1e-9 {
                continue;
            }
            let r = p - o.truncate();
            let local = DVec2::new(r.perp_dot(uy) / det, ux.perp_dot(r) / det);
            let crossings =
                s.shape.rings.iter().flat_map(|ring| {
                    (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))
                });
            let odd = crossings
                .filter(|(a, b)| {
                    (a.y > local.y) != (b.y > local.y)
                        && local.x < a.x + (b.x - a.x) * (local.y - a.y) / (b.y - a.y)
                })
                .count()
                % 2
                == 1;
            if odd {
                hit(at(local, z).z);
            }
        }
        for ring in &s.shape.rings {
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                quad([at(*a, 0.0), at(b, 0.0), at(b, -t), at(*a, -t)])
                    .into_iter()
                    .for_each(&mut hit);
            }
        }
        for w in &s.wedges {
            let w = w.0.map(|c| turn * c);
            for c in [[0, 1, 2], [3, 4, 5]] {
                triangle(c.map(|i| w[i]), p).into_iter().for_each(&mut hit);
            }
            for c in [[0, 1, 4, 3], [1, 2, 5, 4], [2, 0, 3, 5]] {
                quad(c.map(|i| w[i])).into_iter().for_each(&mut hit);
            }
        }
    }
    best
}

fn triangle(c: [DVec3; 3], p: DVec2) -> Option<f64> {
    let [a, b, d] = c.map(|q| q.truncate());
    let whole = (b - a).perp_dot(d - a);
    let (u, v) = (
        (p - a).perp_dot(d - a) / whole,
        (b - a).perp_dot(p - a) / whole,
    );
    (whole.abs() > 1e-6 && u >= 0.0 && v >= 0.0 && u + v <= 1.0)
        .then(|| c[0].z + u * (c[1].z - c[0].z) + v * (c[2].z - c[0].z))
}

struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn view(&mut self) -> View {
        let (turn, lift) = (self.roll() * 6.3, self.roll() * 3.0 - 1.5);
        View {
            direction: DVec3::new(lift.cos() * turn.cos(), lift.cos() * turn.sin(), lift.sin()),
            flutes: true,
        }
    }
}

fn cases(dice: &mut Dice) -> Vec<Pose> {
    let mut d = |k: f64| dice.roll() * k;
    vec![
        poses::tray(0, 0.0, 0.0, &[]),
        poses::tray(1, 90.0, 90.0, &[]),
        poses::tray(1, d(130.0), d(130.0), &[]),
        poses::slotted(3, 90.0, 90.0, 90.0, &[]),
        poses::slotted(3, 90.0, d(90.0), d(90.0), &[]),
        poses::slotted(1, d(80.0), d(90.0), d(40.0), &[]),
        poses::tongue(d(60.0) - 20.0),
    ]
}

#[test]
fn at_every_place_the_last_painted_face_is_the_nearest() {
    let mut dice = Dice(7);
    let (mut covered, mut open) = (0, 0);
    for round in 0..14 {
        for pose in cases(&mut dice) {
            let view = if round == 0 {
                View::default()
            } else {
                dice.view()
            };
            let (turn, _) = faces::axes(&pose, &view);
            let seen = faces::seen(&pose, turn);
            let order = painter::order(&seen.faces);
            let b = seen
                .faces
                .iter()
                .flat_map(|f| &f.points)
                .fold(Rect::EMPTY, |r, p| r.with(p.truncate()));
            for _ in 0..300 {
                let p = b.min + b.size() * DVec2::new(dice.roll(), dice.roll());
                let last = order.iter().rev().find(|f| {
                    let n = f.points.len();
                    (0..n).all(|i| {
                        let (a, b) = (f.points[i].truncate(), f.points[(i + 1) % n].truncate());
                        (b - a).perp_dot(p - a) >= 0.0
                    })
                });
                let painted = last.map(|f| {
                    let f = &seen.faces[f.face];
                    f.points[0].z - f.normal.truncate().dot(p - f.points[0].truncate()) / f.normal.z
                });
                match (painted, nearest(&pose, turn, p)) {
                    (Some(a), Some(b)) => {
                        covered += 1;
                        assert!(
                            (a - b).abs() < 1e-3,
                            "{a} painted, {b} nearest at {p}, {view:?}"
                        );
                    }
                    (None, None) => open += 1,
                    (a, b) => panic!("{a:?} painted, {b:?} nearest at {p}, {view:?}"),
                }
            }
        }
    }
    assert!(covered > 8000 && open > 4000);
}

#[test]
fn lines_are_drawn_where_edges_can_be_seen_and_nowhere_else() {
    let mut dice = Dice(11);
    let (mut shown, mut hidden) = (0, 0);
    for _ in 0..6 {
        for pose in cases(&mut dice) {
            let (turn, _) = faces::axes(&pose, &dice.view());
            let seen = faces::seen(&pose, turn);
            let lines = lines::visible(&seen, 0.02, 10.0);
            for l in &lines {
                // Board narrower as seen than the look to the side (0.02 mm) may be missed.
                let m = l.a.lerp(l.b, 0.1 + 0.8 * dice.roll());
                let side = (l.b - l.a).truncate().perp().normalize_or_zero() * 0.05;
                let least = [-side, DVec2::ZERO, side]
                    .map(|s| {
                        nearest(&pose, turn, m.truncate() + s).unwrap_or(f64::NEG_INFINITY) - m.z
                    })
                    .into_iter()
                    .fold(f64::INFINITY, f64::min);
                assert!(least < 0.01, "a line {least} mm behind board");
            }
            for e in seen
                .edges
                .iter()
                .filter(|e| !e.smooth && e.a.truncate().distance(e.b.truncate()) > 1.0)
            {
                let m = e.a.lerp(e.b, dice.roll());
                let side = (e.b - e.a).truncate().perp().normalize() * 0.1;
                let over = |s: DVec2| {
                    nearest(&pose, turn, m.truncate() + s).unwrap_or(f64::NEG_INFINITY) - m.z
                };
                let worst = [-side, DVec2::ZERO, side]
                    .map(over)
                    .into_iter()
                    .fold(f64::NEG_INFINITY, f64::max);
                let on = |l: &lines::Line| {
                    let along = l.b - l.a;
                    let t = ((m - l.a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
                    (l.a + along * t).distance(m) < 0.1
                };
                if worst < 0.01 {
                    shown += 1;
                    assert!(lines.iter().any(on), "no line at {m}");
                } else if over(DVec2::ZERO) > 1.0 {
                    hidden += 1;
                }
            }
        }
    }
    assert!(shown > 300 && hidden > 300, "{shown} {hidden}");
}

#[test]
fn a_side_across_the_flutes_is_wavy_and_one_along_them_is_plain() {
    let mut b = poses::Builder::new(4.0);
    b.add(
        "plate",
        vec![poses::rect(60.0, 60.0)],
        poses::Frame::IDENTITY,
        DVec2::X,
    );
    let pose = b.pose(0, "", "", &[], DVec3::Z);
    let wavy = |x: f64, y: f64| {
        let view = View {
            direction: DVec3::new(x, y, 0.5),
            flutes: true,
        };
        let scene = picture(&pose, None, &view, 80.0, 60.0);
        scene.to_svg().contains(tones::FLUTE)
    };
    assert!(wavy(1.0, 0.0) && wavy(-1.0, 0.0) && !wavy(0.0, 1.0) && !wavy(0.0, -1.0));
}

#[test]
fn pictures_fit_repeat_and_survive_odd_input() {
    let before = poses::slotted(2, 90.0, 0.0, 0.0, &[]);
    let pose = poses::slotted(3, 90.0, 90.0, 0.0, &["right upper flap"]);
    let draw = || picture(&pose, Some(&before), &View::default(), 85.0, 60.0);
    assert_eq!(draw().to_svg(), draw().to_svg());
    for item in draw().items {
        if let crate::emit::scene::Item::Shape { paths, .. } = item {
            for v in paths.iter().flat_map(|p| &p.vertices) {
                assert!(v.at.x > 0.0 && v.at.x < 85.0 && v.at.y > 0.0 && v.at.y < 60.0);
            }
        }
    }
    let mut none = pose.clone();
    none.slabs.clear();
    assert!(
        picture(&none, Some(&before), &View::default(), 85.0, 60.0)
            .items
            .is_empty()
    );
    none.slabs = pose.slabs.clone();
    none.slabs[0].frame.translation.x = f64::NAN;
    none.shown_up = DVec3::ZERO;
    let odd = View {
        direction: DVec3::NAN,
        flutes: true,
    };
    assert!(
        !picture(&none, Some(&pose), &odd, 85.0, 60.0)
            .items
            .is_empty()
    );
}

/// Not a bound to hold on every machine: prints how long a large case takes.
#[test]
fn thirty_panels_are_drawn() {
    let mut pose = poses::slotted(3, 90.0, 90.0, 50.0, &["front upper flap"]);
    let before = poses::slotted(2, 90.0, 90.0, 0.0, &[]);
    for k in 1..4 {
        let mut tray = poses::tray(1, 90.0, 90.0, &[]);
        for s in &mut tray.slabs {
            s.piece = k;
            let by = DVec3::new(-270.0, 20.0, 60.0 * k as f64);
            s.frame = DAffine3::from_translation(by) * s.frame;
            for w in &mut s.wedges {
                w.0 = w.0.map(|c| c + by);
            }
        }
        pose.slabs.extend(tray.slabs);
    }
    let start = std::time::Instant::now();
    let scene = picture(&pose, Some(&before), &View::default(), 160.0, 120.0);
    println!(
        "{} panels, {} items, {:?}",
        pose.slabs.len(),
        scene.items.len(),
        start.elapsed()
    );
    save("p-many", &scene, 8.0);
}
