"""What a DXF file must hold, whoever wrote it."""

import ezdxf
from shapely import GeometryCollection, Polygon, STRtree, set_precision, unary_union
from shapely.ops import polygonize

from drawn import read_dxf
from outputs import FIGURES

LENGTH_SLACK = 0.01
SNAP = 1e-5
VERSIONS = {"r12": "AC1009", "r2000": "AC1015", "r2010": "AC1024"}


def audit(path, version):
    doc = ezdxf.readfile(path)
    assert doc.dxfversion == VERSIONS[version], doc.dxfversion
    auditor = doc.audit()
    assert not auditor.errors, [e.message for e in auditor.errors]
    assert not auditor.fixes, [e.message for e in auditor.fixes]
    if version == "r12":
        # This edition has no unit field: a text, the comment on top or the file's name tells.
        told = [t.dxf.text for t in doc.modelspace().query("TEXT")]
        with open(path, encoding="cp1252") as lines:
            told += [next(lines), next(lines), path.stem.replace("-", " ")]
        words = " ".join(told).split()
        assert "mm" in words or "millimetres" in words, "no unit is told"
    else:
        assert doc.header["$INSUNITS"] == ezdxf.units.MM, doc.header["$INSUNITS"]
        assert doc.header["$MEASUREMENT"] == 1, "metric"


def lengths(path, figures):
    drawn = read_dxf(path)
    for figure, uses in FIGURES.items():
        found = sum(s.length for use in uses for s in drawn.get(use, []))
        told = figures[figure]
        assert abs(found - told) <= LENGTH_SLACK, f"{figure}: drawn {found}, reported {told}"


def every_line_once(path):
    drawn = read_dxf(path)
    strokes = [(use, s) for use, group in drawn.items() if use != "board" for s in group]
    lines = [s.line() for _, s in strokes]
    for use, s in strokes:
        assert s.length > SNAP, f"{use} line without length at {s.a}"
    tree = STRtree(lines)
    for i, line in enumerate(lines):
        for j in tree.query(line):
            if j > i:
                shared = line.intersection(lines[j], grid_size=SNAP)
                assert shared.length < 1e-3, (
                    f"{strokes[i][0]} and {strokes[j][0]} share {shared.length:.4f} mm at "
                    f"{shared.representative_point().wkt}"
                )


def board(path):
    """The one connected face of board the cut lines enclose."""
    lines = [s.line() for s in read_dxf(path)["cut"]]
    net = unary_union(set_precision(GeometryCollection(lines), SNAP))
    faces = sorted(polygonize(net), key=lambda f: f.area)
    assert faces, "the cut lines enclose nothing"
    piece = faces.pop()
    for face in faces:
        inside = any(
            hole.contains(face.representative_point()) for hole in map(Polygon, piece.interiors)
        )
        assert inside, f"a second piece of board, {face.area:.3f} mm2 at {face.centroid.wkt}"
    filled = Polygon(piece.exterior).buffer(0.01)
    loose = [line for line in lines if not filled.covers(line)]
    assert not loose, f"a cut line outside the closed outline: {loose[0].wkt[:80]}"
    return piece


def closed_and_area(path, figures):
    piece = board(path)
    x0, y0, x1, y1 = piece.bounds
    assert abs(x1 - x0 - figures["length"]) <= 0.01, (x1 - x0, figures["length"])
    assert abs(y1 - y0 - figures["width"]) <= 0.01, (y1 - y0, figures["width"])
    # Arcs are in chords of one degree here, at most 2e-6 of a disc's area each side.
    slack = 0.5 + 1e-5 * figures["area"]
    assert abs(piece.area - figures["area"]) <= slack, (piece.area, figures["area"])


def creases_end_on_the_board(path):
    """A crease lies on board over its whole length."""
    drawn = read_dxf(path)
    reach = board(path).buffer(0.01)
    for use in ("crease-inward", "crease-outward", "perforation"):
        for s in drawn.get(use, []):
            assert reach.covers(s.line()), f"{use} from {s.a} to {s.b} leaves the board"


def check(path, version, figures):
    audit(path, version)
    lengths(path, figures)
    every_line_once(path)
    closed_and_area(path, figures)
    creases_end_on_the_board(path)
