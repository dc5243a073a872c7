"""Lines and arcs as drawn: read from DXF and PDF into one form, in mm with y up."""

import itertools
import math
from dataclasses import dataclass

import ezdxf
import numpy as np
import pdfplumber
from ezdxf.math import bulge_to_arc
from shapely import LineString

from outputs import use_of

CHORD_ANGLE = math.radians(1)
PT = 25.4 / 72


@dataclass(frozen=True)
class Stroke:
    """One straight line or one arc."""

    a: tuple
    b: tuple
    bulge: float = 0.0

    @property
    def length(self) -> float:
        chord = math.dist(self.a, self.b)
        if self.bulge == 0:
            return chord
        turn = 4 * math.atan(abs(self.bulge))
        return chord / (2 * math.sin(turn / 2)) * turn

    def points(self) -> list:
        if self.bulge == 0:
            return [self.a, self.b]
        centre, start, end, radius = bulge_to_arc(self.a, self.b, self.bulge)
        turn = (end - start) % math.tau
        n = max(2, math.ceil(turn / CHORD_ANGLE))
        ring = [
            (
                centre.x + radius * math.cos(start + turn * i / n),
                centre.y + radius * math.sin(start + turn * i / n),
            )
            for i in range(n + 1)
        ]
        if self.bulge < 0:
            ring.reverse()
        # The ends as written, so that neighbours still meet exactly.
        ring[0], ring[-1] = self.a, self.b
        return ring

    def line(self) -> LineString:
        return LineString(self.points())


def read_dxf(path) -> dict[str, list[Stroke]]:
    """Use -> strokes. Any entity but lines, arcs, circles, polylines and texts is refused."""
    out: dict[str, list[Stroke]] = {}
    for e in ezdxf.readfile(path).modelspace():
        kind = e.dxftype()
        if kind in ("TEXT", "MTEXT"):
            continue
        strokes = out.setdefault(use_of(e.dxf.layer), [])
        if kind == "LINE":
            strokes.append(Stroke(tuple(e.dxf.start)[:2], tuple(e.dxf.end)[:2]))
        elif kind == "ARC":
            bulge = math.tan(((e.dxf.end_angle - e.dxf.start_angle) % 360) * math.pi / 720)
            strokes.append(Stroke(tuple(e.start_point)[:2], tuple(e.end_point)[:2], bulge))
        elif kind == "CIRCLE":
            c, r = e.dxf.center, e.dxf.radius
            left, right = (c.x - r, c.y), (c.x + r, c.y)
            strokes += [Stroke(right, left, 1.0), Stroke(left, right, 1.0)]
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                vertices = [((x, y), b) for x, y, b in e.get_points("xyb")]
                closed = e.closed
            else:
                vertices = [(tuple(v.dxf.location)[:2], v.dxf.bulge) for v in e.vertices]
                closed = e.is_closed
            ring = vertices + vertices[:1] if closed else vertices
            strokes += [Stroke(a, b, bulge) for (a, bulge), (b, _) in itertools.pairwise(ring)]
        else:
            raise AssertionError(f"{path}: unexpected entity {kind}")
    return out


@dataclass(frozen=True)
class Ink:
    """One stroked straight line or curve of a PDF page, in page mm with y up."""

    points: tuple
    straight: bool
    style: tuple


def page_ink(page) -> list[Ink]:
    height = float(page.height)

    def mm(p):
        return (p[0] * PT, (height - p[1]) * PT)

    out = []
    for obj in page.lines + page.curves + page.rects:
        if not obj["stroke"]:
            continue
        colour = obj["stroking_color"]
        colour = tuple(colour) if isinstance(colour, (list, tuple)) else (colour,)
        style = (colour, round(obj["linewidth"], 3))
        at = start = None
        for command, *pts in obj["path"]:
            pts = [mm(p) for p in pts]
            if command == "m":
                at = start = pts[-1]
            elif command == "l":
                out.append(Ink((at, pts[-1]), True, style))
                at = pts[-1]
            elif command == "c":
                p = [np.array(q) for q in (at, *pts)]
                s = np.linspace(0, 1, 33)[:, None]
                curve = (
                    (1 - s) ** 3 * p[0]
                    + 3 * s * (1 - s) ** 2 * p[1]
                    + 3 * s**2 * (1 - s) * p[2]
                    + s**3 * p[3]
                )
                out.append(Ink(tuple(map(tuple, curve)), False, style))
                at = pts[-1]
            elif command == "h":
                if at != start:
                    out.append(Ink((at, start), True, style))
                at = start
            else:
                raise AssertionError(f"unexpected path command {command}")
    return out


def open_pdf(path):
    return pdfplumber.open(path)
