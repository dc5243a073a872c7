"""`fold` on files made by another library, and on our own."""

import json
import math

import ezdxf
import pytest
from outputs import run

BOARD = ("--board", "C", "--caliper", "4mm", "--axis-depth", "0.5", "--flutes", "left-right")
# Inside 100 x 60 x 40: crease to crease is inside plus 2 p t = 4, a wall 40 + 2; the long walls are
# 2 mm narrower at each end, so that they stand between the short ones.
LONG, SHORT, WALL, IN = 104, 64, 42, 2


def outline():
    a, b = IN, LONG - IN
    return [
        (0, 0), (a, 0), (a, -WALL), (b, -WALL), (b, 0), (LONG, 0), (LONG + WALL, 0),
        (LONG + WALL, SHORT), (LONG, SHORT), (b, SHORT), (b, SHORT + WALL), (a, SHORT + WALL),
        (a, SHORT), (0, SHORT), (-WALL, SHORT), (-WALL, 0),
    ]  # fmt: skip


def creases():
    a, b = IN, LONG - IN
    return [
        ((a, 0), (b, 0)), ((LONG, 0), (LONG, SHORT)),
        ((b, SHORT), (a, SHORT)), ((0, SHORT), (0, 0)),
    ]  # fmt: skip


def scaled(points, by):
    return [tuple(v * by for v in p) for p in points]


def fold(path, *args, status=0):
    done = run("fold", path, *BOARD, "--json", *args)
    assert done.returncode == status, done.stdout + done.stderr
    return json.loads(done.stdout if status < 2 else done.stderr)


def room(report):
    return [round(report["room"][k], 6) for k in ("length", "width", "depth")]


def drawing(version, unit=4, by=1.0):
    doc = ezdxf.new(version, setup=True)
    if version != "R12":
        doc.header["$INSUNITS"] = unit
    doc.layers.add("KNIFE", color=1)
    doc.layers.add("WHEEL", color=5)
    msp = doc.modelspace()
    for a, b in creases():
        msp.add_line(*scaled([a, b], by), dxfattribs={"layer": "WHEEL"})
    return doc, msp


USES = ("--cut", "KNIFE", "--crease-in", "WHEEL")


@pytest.mark.parametrize("version", ["R12", "R2000", "R2007", "R2010", "R2018"])
def test_a_foreign_tray_has_the_room_worked_out_by_hand(version, tmp_path):
    doc, msp = drawing(version)
    add = msp.add_polyline2d if version == "R12" else msp.add_lwpolyline
    add(outline(), close=True, dxfattribs={"layer": "KNIFE"})
    msp.add_circle((52, 32), 5, dxfattribs={"layer": "KNIFE"})
    msp.add_text("tray", dxfattribs={"layer": "KNIFE"})
    doc.saveas(tmp_path / "tray.dxf")
    report = fold(tmp_path / "tray.dxf", *USES)
    assert room(report) == [100, 60, 40]
    assert [len(report["panels"]), len(report["creases"])] == [5, 4]
    assert report["panels"][0]["cut_outs"] == 1
    cut = sum(math.dist(a, b) for a, b in zip(outline(), outline()[1:] + outline()[:1], strict=True))
    assert report["figures"]["cut_length"] == pytest.approx(cut + 10 * math.pi, abs=1e-3)
    assert any("1 TEXT" in f["message"] for f in report["faults"])


def test_inches_and_blocks(tmp_path):
    doc, msp = drawing("R2010", unit=1, by=1 / 25.4)
    block = doc.blocks.new("blank", base_point=(1, 1))
    points = [(x / 25.4 + 1, y / 25.4 + 1) for x, y in outline()]
    block.add_lwpolyline(points, close=True)
    msp.add_blockref("blank", (0, 0), dxfattribs={"layer": "KNIFE"})
    doc.saveas(tmp_path / "tray.dxf")
    report = fold(tmp_path / "tray.dxf", *USES)
    assert room(report) == [100, 60, 40]
    assert "in, as the file says" in report["file"]["unit"]


def test_colours_tell_lines_apart(tmp_path):
    doc = ezdxf.new("R2010")
    doc.units = 4
    msp = doc.modelspace()
    msp.add_lwpolyline(outline(), close=True, dxfattribs={"color": 1})
    for a, b in creases():
        msp.add_line(a, b, dxfattribs={"true_color": 0x0000FF})
    doc.saveas(tmp_path / "tray.dxf")
    found = fold(tmp_path / "tray.dxf", status=2)["diagnostics"]
    assert [d["code"] for d in found] == ["unclear-lines"]
    assert "colour 1 (1 line)" in found[0]["message"]
    assert "colour #0000ff (4 lines)" in found[0]["message"]
    assert "--cut 1" in found[0]["help"]
    report = fold(tmp_path / "tray.dxf", "--cut", "1", "--crease-in", "#0000ff")
    assert room(report) == [100, 60, 40]


def test_a_foreign_svg_in_inches_with_transforms(tmp_path):
    d = "M" + " L".join(f"{x} {y}" for x, y in outline()) + "Z"
    lines = "".join(f'<line x1="{a[0]}" y1="{a[1]}" x2="{b[0]}" y2="{b[1]}"/>' for a, b in creases())
    (tmp_path / "tray.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="10in" height="10in" viewBox="0 0 254 254">'
        "<style>.knife{stroke:#f00;fill:none} .wheel{stroke:blue}</style>"
        '<g transform="translate(60 60) rotate(30)">'
        f'<path class="knife" d="{d}"/><g class="wheel">{lines}</g></g></svg>'
    )
    report = fold(tmp_path / "tray.svg", "--cut", "knife", "--crease-in", "#0000ff")
    assert [round(v, 4) for v in room(report)] == [100, 60, 40]


def test_angles_roots_and_pictures(tmp_path):
    doc, msp = drawing("R2010")
    msp.add_lwpolyline(outline(), close=True, dxfattribs={"layer": "KNIFE"})
    path = tmp_path / "tray.dxf"
    doc.saveas(path)
    report = fold(path, *USES, "--angle", "52,-1=60", "--flat", "-1,32", "--root", "52,-20")
    turned = {round(c["from"][1] + c["to"][1]): c["angle"] for c in report["creases"]}
    assert turned[0] == pytest.approx(60)
    assert 0 in [c["angle"] for c in report["creases"]]
    assert report["panels"][0]["centre"] == pytest.approx([52, -21])
    png, glb = tmp_path / "tray.png", tmp_path / "tray.glb"
    fold(path, *USES, "--png", png, "--glb", glb)
    assert png.read_bytes()[:4] == b"\x89PNG" and glb.read_bytes()[:4] == b"glTF"


def test_our_own_files_come_back(job, made, tmp_path):
    report = made.report
    args = ("--board", report["board"]["name"], "--caliper", f"{report['board']['caliper']}mm")
    depth = report["axis_depth"]
    args += ("--axis-depth", f"{depth['along']},{depth['across']}", "--json")
    for piece in report["pieces"]:
        done = run("fold", made.dxf(piece), *args)
        assert done.returncode < 2, done.stderr
        back = json.loads(done.stdout)
        hung = len(piece["creases"])
        assert [len(back["panels"]), len(back["creases"])] == [hung + 1, hung], piece["name"]
        assert not [f for f in back["faults"] if f["verdict"] != "pass"], back["faults"]
        for name in ("cut_length", "area"):
            assert back["figures"][name] == pytest.approx(piece["figures"][name], rel=1e-6)


@pytest.mark.parametrize("name", ["nothing.dxf", "binary.dxf"])
def test_what_cannot_be_read(name, tmp_path):
    (tmp_path / "binary.dxf").write_bytes(b"\xff\xfe\x00\x01" * 100)
    assert fold(tmp_path / name, status=2)["diagnostics"][0]["code"] in ("no-file", "not-utf-8")
