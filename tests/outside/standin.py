"""A folder like the program's, written by other means, so that each check can be shown to pass on
good files and to fail on a planted fault. It is the slotted case of benches/peer with a hand hole.
"""

import json
import math
import sys
from dataclasses import dataclass, field

import ezdxf
import numpy as np
import trimesh

from drawn import PT, Stroke
from outputs import ROOM_NODE, ROOT, Folder

sys.path.insert(0, str(ROOT / "benches/peer"))
import itertools

import peer

TITLE = "Stand-in case"
ASK = peer.Ask(150, 100, 80, 3.25, 0.5)
A4 = (210.0, 297.0)
MARGIN = 10.0
OVERLAP = 15.0


@dataclass
class Plan:
    """Everything that is written; a test spoils one thing in it."""

    ask: peer.Ask = field(default_factory=lambda: peer.Ask(**vars(ASK)))
    layers: dict = field(default_factory=dict)
    figures: dict = field(default_factory=dict)
    extra_layers: dict = field(default_factory=dict)
    units: int = 4
    page_scale: float = 1.0
    page_nudge: tuple = (0.0, 0.0)
    """Moves the first crease on the true-size page."""
    mark_nudge: float = 0.0
    """Moves the marks of the second page."""
    page_gap: float = 0.0
    """Leaves a strip unprinted on the right of each page."""
    stray: bool = False
    """Draws a cut line on page 1 that the DXF does not have."""
    title: str = TITLE
    told_intrusion: float | None = None
    lift: dict = field(default_factory=dict)
    """Panel name -> shift in case mm."""
    open_solid: str | None = None
    room_grows: tuple = (0.0, 0.0, 0.0)

    def __post_init__(self):
        self.blank = peer.draw(self.ask)
        ring = list(self.blank.outline.exterior.coords)
        cut = [Stroke(a, b) for a, b in itertools.pairwise(ring)]
        x0, y0, x1, y1 = self.blank.panels[0].drawn
        x, y, half, r = (x0 + x1) / 2, (y0 + y1) / 2, 20.0, 12.0
        a, b, c, d = (x - half, y - r), (x - half, y + r), (x + half, y + r), (x + half, y - r)
        hole = [Stroke(a, b, -1.0), Stroke(b, c), Stroke(c, d, -1.0), Stroke(d, a)]
        self.layers.setdefault("CUT", cut + hole)
        self.layers.setdefault(
            "CREASE_INWARD", [Stroke(*p.crease) for p in self.blank.panels if p.crease]
        )
        f = self.blank.figures
        self.figures = {
            "length": f["length"],
            "width": f["width"],
            "area": f["area"] - (4 * half * r + math.pi * r * r),
            "cut_length": sum(s.length for s in cut + hole),
            "crease_length": f["crease_length"],
            "perforation_length": 0.0,
            **self.figures,
        }


def write(plan: Plan, out, version="r2010") -> Folder:
    out.mkdir(parents=True, exist_ok=True)
    _dxf(plan, out / "stand-in-body.dxf", version)
    _true_size(plan, out / "stand-in-body-true-size.pdf")
    _tiles(plan, out / "stand-in-body-tiles-a4.pdf")
    _glb(plan, out / "stand-in.glb")
    names = [p.name for p in plan.blank.panels]
    low, high = peer.room_of(plan.blank, plan.ask)
    told = plan.ask.t if plan.told_intrusion is None else plan.told_intrusion
    report = {
        "title": plan.title,
        "pieces": [
            {
                "name": "body",
                "figures": plan.figures,
                "panels": [
                    {"name": p.name, "parent": None if p.parent is None else names[p.parent]}
                    for p in plan.blank.panels
                ],
            }
        ],
        "room": {"min": low, "max": high},
        "findings": [
            {
                "code": "lap-intrusion",
                "verdict": "caution",
                "measured": {"unit": "mm", "value": told},
                "panels": ["lap"],
            }
        ],
    }
    (out / "case-report.json").write_text(json.dumps(report))
    return Folder(out)


def _dxf(plan, path, version):
    doc = ezdxf.new(version.upper())
    if version != "r12":
        doc.header["$INSUNITS"] = plan.units
        doc.header["$MEASUREMENT"] = 1
    space = doc.modelspace()
    space.add_text("sizes in mm", height=5, dxfattribs={"layer": "ENGRAVE"})
    for layer, strokes in (plan.layers | plan.extra_layers).items():
        doc.layers.add(layer)
        for s in strokes:
            vertices = [(*s.a, s.bulge), (*s.b, 0.0)]
            if version == "r12":
                space.add_polyline2d(vertices, format="xyb", dxfattribs={"layer": layer})
            else:
                space.add_lwpolyline(vertices, format="xyb", dxfattribs={"layer": layer})
    doc.saveas(path)


def _path(s: Stroke, at, scale=1.0) -> str:
    p = [((x + at[0]) * scale / PT, (y + at[1]) * scale / PT) for x, y in (s.a, s.b)]
    if s.bulge == 0:
        return "%.6f %.6f m %.6f %.6f l S\n" % (*p[0], *p[1])
    out, fine = "", s.points()
    start, angle = fine[0], 4 * math.atan(s.bulge)
    centre = np.mean([s.a, s.b], axis=0)
    assert abs(s.bulge) == 1, "only half circles are needed here"
    pieces = 4
    step = angle / pieces
    k = 4 / 3 * math.tan(step / 4)
    v = np.subtract(start, centre)
    out = "%.6f %.6f m " % p[0]
    for _ in range(pieces):
        turn = np.array([[math.cos(step), -math.sin(step)], [math.sin(step), math.cos(step)]])
        w = turn @ v
        knots = (v + k * np.array([-v[1], v[0]]), w - k * np.array([-w[1], w[0]]), w)
        for q in knots:
            out += "%.6f %.6f " % tuple((q + centre + at) * scale / PT)
        out += "c "
        v = w
    return out + "S\n"


def _pdf(path, pages):
    """pages: (width mm, height mm, content stream)."""
    objects = [b"<</Type/Catalog/Pages 2 0 R>>", b""]
    objects.append(b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>")
    kids = []
    for width, height, content in pages:
        data = content.encode()
        objects.append(b"<</Length %d>>stream\n" % len(data) + data + b"\nendstream")
        objects.append(
            b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 %f %f]/Contents %d 0 R"
            b"/Resources<</Font<</F 3 0 R>>>>>>" % (width / PT, height / PT, len(objects))
        )
        kids.append(b"%d 0 R" % len(objects))
    objects[1] = b"<</Type/Pages/Kids[%s]/Count %d>>" % (b" ".join(kids), len(kids))
    out, places = b"%PDF-1.4\n", []
    for n, obj in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % n + obj + b"\nendobj\n"
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % p for p in places)
    out += b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, table)
    path.write_bytes(out)


def _text(x, y, text):
    return "BT /F 7 Tf %.4f %.4f Td (%s) Tj ET\n" % (x / PT, y / PT, text)


CUT_STYLE = "0 0 0 RG 1 w\n"
CREASE_STYLE = "0 0.4 0.8 RG 0.7 w\n"
MARK_STYLE = "0.5 0.5 0.5 RG 0.3 w\n"


def _true_size(plan, path):
    x0, y0, x1, y1 = plan.blank.outline.bounds
    at = (20 - x0, 20 - y0)
    content = CUT_STYLE + "".join(_path(s, at, plan.page_scale) for s in plan.layers["CUT"])
    content += CREASE_STYLE
    for n, s in enumerate(plan.layers["CREASE_INWARD"]):
        nudge = plan.page_nudge if n == 0 else (0, 0)
        content += _path(s, np.add(at, nudge), plan.page_scale)
    content += _text(20, 8, plan.title)
    _pdf(path, [(x1 - x0 + 40, y1 - y0 + 40, content)])


def _tiles(plan, path):
    x0, y0, x1, y1 = plan.blank.outline.bounds
    window = (A4[0] - 2 * MARGIN, A4[1] - 2 * MARGIN)
    step = (window[0] - OVERLAP, window[1] - OVERLAP)
    columns = math.ceil((x1 - x0 + 20) / step[0])
    rows = math.ceil((y1 - y0 + 20) / step[1])
    pages = []
    for row in range(rows):
        for column in range(columns):
            corner = (x0 - 10 + column * step[0], y0 - 10 + row * step[1])
            at = np.subtract(MARGIN, corner)
            content = "q %.4f %.4f %.4f %.4f re W n\n" % (
                MARGIN / PT,
                MARGIN / PT,
                (window[0] - plan.page_gap) / PT,
                window[1] / PT,
            )
            content += CUT_STYLE + "".join(_path(s, at) for s in plan.layers["CUT"])
            if plan.stray and not pages:
                content += _path(Stroke(corner, np.add(corner, (60, 30))), at)
            content += CREASE_STYLE
            content += "".join(_path(s, at) for s in plan.layers["CREASE_INWARD"]) + "Q\n"
            content += MARK_STYLE
            nudge = plan.mark_nudge if len(pages) == 1 else 0.0
            for i in (0, 1):
                for j in (0, 1):
                    c, r = column + i, row + j
                    mark = np.add((x0 - 10, y0 - 10), np.multiply(step, (c, r))) + OVERLAP / 2
                    x, y = mark + at + (nudge, 0)
                    for dx, dy in ((4, 0), (0, 4)):
                        content += _path(Stroke((x - dx, y - dy), (x + dx, y + dy)), (0, 0))
                    content += _text(x + 1, y + 1, f"{chr(65 + c)}{r + 1}")
            pages.append((*A4, content))
    _pdf(path, pages)


def _glb(plan, path):
    blank, ask = plan.blank, plan.ask
    to_world = np.array([[1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]], float)
    to_world[:3] /= 1000
    scene = trimesh.Scene()
    for panel, frame in zip(blank.panels, peer.frames(blank, ask, peer.closed(blank))):
        x0, y0, x1, y1 = panel.clear
        mesh = trimesh.creation.box(bounds=[(x0, y0, -ask.t), (x1, y1, 0)])
        frame = frame.copy()
        frame[:3, 3] += plan.lift.get(panel.name, (0, 0, 0))
        mesh.apply_transform(to_world @ frame)
        if plan.open_solid == panel.name:
            mesh.update_faces(np.arange(len(mesh.faces)) > 0)
        scene.add_geometry(mesh, node_name=panel.name, geom_name=panel.name)
    low, high = peer.room_of(blank, ask)
    room = trimesh.creation.box(bounds=[low, np.add(high, plan.room_grows)])
    room.apply_transform(to_world)
    scene.add_geometry(room, node_name=ROOM_NODE, geom_name=ROOM_NODE)
    path.write_bytes(scene.export(file_type="glb"))
