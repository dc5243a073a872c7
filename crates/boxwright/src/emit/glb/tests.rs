//! Volumes come from the outlines (area times caliper) and from the fold angle of each wedge
//! (t^2/2 sin a times its length), not from the code under test.

use super::*;
use crate::emit::poses;
use crate::geom::DVec2;

fn volume(m: &Mesh) -> f64 {
    let p = |i: u32| DVec3::from(m.positions[i as usize].map(f64::from));
    m.indices
        .chunks_exact(3)
        .map(|t| p(t[0]).dot(p(t[1]).cross(p(t[2]))) / 6.0)
        .sum()
}

fn area(ring: &[DVec2]) -> f64 {
    (0..ring.len())
        .map(|i| 0.5 * ring[i].perp_dot(ring[(i + 1) % ring.len()]))
        .sum()
}

fn shape(rings: Vec<Vec<DVec2>>) -> crate::fold::Shape {
    let mut b = poses::Builder::new(4.0);
    b.add("p", rings, poses::Frame::IDENTITY, DVec2::X);
    (*b.slabs[0].shape).clone()
}

#[test]
fn every_slab_and_wedge_is_closed_and_holds_what_its_outline_says() {
    for angle in [0.0, 1.0, 45.0, 90.0] {
        for slab in &poses::tray(1, angle, angle, &[]).slabs {
            let m = mesh::slab(&slab.shape).unwrap();
            let expected = slab.shape.rings.iter().map(|r| area(r)).sum::<f64>() * 4.0;
            assert!(m.closed());
            assert!((volume(&m) * 1e9 / expected - 1.0).abs() < 1e-6);
            let span = slab.shape.rings[0][1].x;
            for w in &slab.wedges {
                let m = mesh::wedge(w, &slab.frame.inverse()).unwrap();
                let expected = 8.0 * angle.to_radians().sin() * span;
                assert!(m.closed());
                assert!((volume(&m) * 1e9 / expected - 1.0).abs() < 1e-4);
            }
        }
    }
}

#[test]
fn corners_in_line_leave_no_t_junction() {
    let plate = poses::outline(&[
        (0.0, 0.0),
        (30.0, 0.0),
        (60.0, 0.0),
        (90.0, 0.0),
        (90.0, 30.0),
        (90.0, 60.0),
        (60.0, 60.0),
        (30.0, 60.0),
        (0.0, 60.0),
        (0.0, 30.0),
    ]);
    let mut window = poses::outline(&[
        (30.0, 30.0),
        (45.0, 30.0),
        (60.0, 30.0),
        (60.0, 45.0),
        (30.0, 45.0),
    ]);
    window.reverse();
    let m = mesh::slab(&shape(vec![plate, window])).unwrap();
    assert!(m.closed());
    assert!((volume(&m) * 1e9 - (90.0 * 60.0 - 30.0 * 15.0) * 4.0).abs() < 0.01);
}

#[test]
fn an_outline_that_crosses_itself_is_refused_by_name() {
    let mut b = poses::Builder::new(4.0);
    let bow = poses::outline(&[(0.0, 0.0), (50.0, 40.0), (50.0, 0.0), (0.0, 60.0)]);
    b.add("bow", vec![bow], poses::Frame::IDENTITY, DVec2::X);
    let e = glb(&b.pose(0, "", "", &[], DVec3::Z), None).unwrap_err();
    assert!(e.code == "glb-outline" && e.message.contains("bow"));
}

// A square of 80 mm with one of 2 mm that touches it in a corner, as between two creases.
#[test]
fn a_bit_that_hangs_by_a_corner_is_a_solid_of_its_own() {
    let ring = poses::outline(&[
        (0.0, 0.0),
        (80.0, 0.0),
        (80.0, 80.0),
        (82.0, 80.0),
        (82.0, 82.0),
        (80.0, 82.0),
        (80.0 + 1e-12, 80.0 - 1e-12),
        (0.0, 80.0),
    ]);
    let parts = mesh::lobes(&shape(vec![ring]));
    let solids: Vec<Mesh> = parts.iter().filter_map(mesh::slab).collect();
    assert!(solids.iter().all(Mesh::closed));
    let volumes: Vec<f64> = solids.iter().map(|m| (volume(m) * 1e9).round()).collect();
    assert_eq!(volumes, [25600.0, 16.0]);
}

#[test]
fn nothing_to_show_is_an_error_and_empty_panels_are_left_out() {
    let mut b = poses::Builder::new(4.0);
    b.add("none", vec![], poses::Frame::IDENTITY, DVec2::X);
    b.add(
        "line",
        vec![poses::outline(&[(0.0, 0.0), (9.0, 0.0), (5.0, 0.0)])],
        poses::Frame::IDENTITY,
        DVec2::X,
    );
    let mut pose = b.pose(0, "", "", &[], DVec3::Z);
    assert_eq!(glb(&pose, None).unwrap_err().code, "glb-empty");
    pose.slabs.extend(poses::tray(0, 0.0, 0.0, &[]).slabs);
    assert_eq!(
        document(&glb(&pose, None).unwrap())["nodes"]
            .as_array()
            .unwrap()
            .len(),
        5
    );
}

fn document(bytes: &[u8]) -> Value {
    let n = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
    serde_json::from_slice(&bytes[20..20 + n]).unwrap()
}

#[test]
fn a_reader_that_applies_the_nodes_finds_each_corner_to_a_thousandth_of_a_millimetre() {
    let mut pose = poses::tray(1, 63.0, 90.0, &[]);
    let by = DVec3::new(800.0, -300.0, 1200.0);
    for s in &mut pose.slabs {
        s.frame = DAffine3::from_translation(by) * DAffine3::from_rotation_z(0.3) * s.frame;
        s.wedges.clear();
    }
    let bytes = glb(&pose, None).unwrap();
    let d = document(&bytes);
    let start = 28 + u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
    for (slab, node) in pose.slabs.iter().zip(d["nodes"].as_array().unwrap()) {
        let list = |v: &Value| -> Vec<f64> {
            v.as_array()
                .unwrap()
                .iter()
                .map(|x| x.as_f64().unwrap())
                .collect()
        };
        let q = DQuat::from_slice(&list(&node["rotation"]));
        let t = DVec3::from_slice(&list(&node["translation"]));
        let mesh = &d["meshes"][node["mesh"].as_u64().unwrap() as usize];
        let a = &d["accessors"][mesh["primitives"][0]["attributes"]["POSITION"]
            .as_u64()
            .unwrap() as usize];
        let at = start + a["byteOffset"].as_u64().unwrap() as usize;
        let first: Vec<f64> = (0..3)
            .map(|k| {
                f64::from(f32::from_le_bytes(
                    bytes[at + 4 * k..at + 4 * k + 4].try_into().unwrap(),
                ))
            })
            .collect();
        let read = (q * DVec3::from_slice(&first) + t) * 1e3;
        let c = slab
            .frame
            .transform_point3(slab.shape.rings[0][0].extend(0.0));
        // Case up (z) is the file's up (y): x stays, y goes to -z.
        assert!(read.distance(DVec3::new(c.x, c.z, -c.y)) < 1e-3);
    }
}

#[test]
fn same_pose_same_bytes() {
    let room = Room {
        min: DVec3::ZERO,
        max: DVec3::new(200.0, 100.0, 50.0),
        asked: [0, 1, 2],
    };
    let pose = poses::slotted(3, 90.0, 90.0, 60.0, &[]);
    assert_eq!(
        glb(&pose, Some(&room)).unwrap(),
        glb(&pose, Some(&room)).unwrap()
    );
}

/// Files for outside readers; see the folder named by the variable.
#[test]
fn samples() {
    let Ok(folder) = std::env::var("BOXWRIGHT_SAMPLES") else {
        return;
    };
    let room = Room {
        min: DVec3::ZERO,
        max: DVec3::new(240.0, 160.0, 60.0),
        asked: [0, 1, 2],
    };
    let write =
        |name: &str, bytes: Vec<u8>| std::fs::write(format!("{folder}/{name}.glb"), bytes).unwrap();
    write(
        "tray-flat",
        glb(&poses::tray(0, 0.0, 0.0, &[]), None).unwrap(),
    );
    write(
        "tray",
        glb(&poses::tray(1, 90.0, 45.0, &[]), Some(&room)).unwrap(),
    );
    write(
        "slotted",
        glb(&poses::slotted(3, 90.0, 90.0, 60.0, &[]), None).unwrap(),
    );
    write("tongue", glb(&poses::tongue(20.0), None).unwrap());
}
