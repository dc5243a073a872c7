"""Layouts made by hand for the checks of cutting: a clock tray with round corners, a slot, windows, a
slit and every kind of line, and a pad that fits into a window of it."""

import json
import math

EIGHTH = math.tan(math.pi / 8)
"""Bulge of a quarter turn."""


def arc_points(a, b, bulge, chord):
    """Points of an arc between its ends, both left out, no further than `chord` off it."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    radius = length * (1 + bulge * bulge) / (4 * abs(bulge))
    off = length * (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (a[0] + b[0]) / 2 - dy / length * off, (a[1] + b[1]) / 2 + dx / length * off
    turn = 4 * math.atan(bulge)
    count = max(2, math.ceil(abs(turn) / (2 * math.acos(1 - min(1.0, chord / radius)))))
    first = math.atan2(a[1] - cy, a[0] - cx)
    at = lambda k, r: (cx + r * math.cos(first + turn * k / count), cy + r * math.sin(first + turn * k / count))
    on = [at(k, radius) for k in range(1, count)]
    outside = [at(k + 0.5, radius / math.cos(turn / count / 2)) for k in range(count)]
    return on, outside


def flat(points, chord=0.001, closed=True):
    """Points along a path of (x, y, bulge), arcs cut into chords."""
    out = []
    ends = points[1:] + points[:1] if closed else points[1:]
    for a, b in zip(points, ends):
        out.append(a[:2])
        if a[2]:
            out += arc_points(a, b, a[2], chord)[0]
    if not closed:
        out.append(points[-1][:2])
    return out


def on_grid(points, outward):
    """A ring in whole micrometres with the arcs on its board's side: tangents of an outline's, and
    points a little within a window's."""
    out = []
    for a, b in zip(points, points[1:] + points[:1]):
        out.append(a[:2])
        if a[2]:
            on, outside = arc_points(a, b, a[2], 0.02)
            out += outside if outward and a[2] > 0 else within(a, b, a[2], on)
    return [[round(x * 1000), round(y * 1000)] for x, y in out]


def within(a, b, bulge, points):
    """The same points 0.015 mm nearer to the middle of a half round."""
    assert abs(abs(bulge) - 1) < 1e-9, "only half rounds are wanted here"
    cx, cy = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    share = 1 - 0.015 / (math.hypot(a[0] - b[0], a[1] - b[1]) / 2)
    return [(cx + (x - cx) * share, cy + (y - cy) * share) for x, y in points]


def line(use, points, closed=False):
    return {"use": use, "closed": closed, "points": [list(map(float, p)) for p in points]}


def straight(*points):
    return [(x, y, 0) for x, y in points]


TRAY = {
    "outline": [
        (10, 0, 0), (190, 0, EIGHTH), (200, 10, 0), (200, 110, EIGHTH), (190, 120, 0), (103, 120, 0),
        (103, 100, 0), (97, 100, 0), (97, 120, 0), (10, 120, EIGHTH), (0, 110, 0), (0, 10, EIGHTH),
    ],
    "windows": [
        straight((30, 40), (30, 80), (90, 80), (90, 40)),
        [(130, 50, -1), (130, 70, 0), (160, 70, -1), (160, 50, 0)],
    ],
    "slits": [straight((20, 45), (20, 75))],
    "creases": [
        ("crease-inward", straight((0, 30), (200, 30))),
        ("crease-outward", straight((110, 0), (110, 30))),
        ("perforation", straight((0, 95), (97, 95))),
    ],
    "engravings": [straight((140, 100), (160, 100), (160, 105))],
}
PAD = {
    "outline": straight((0, 0), (40, 0), (40, 20), (0, 20)),
    "windows": [],
    "slits": [],
    "creases": [],
    "engravings": [],
}
# Corners sharper than a right angle, which are swung round.
KITE = {**PAD, "outline": straight((0, 0), (60, 0), (30, 20))}


def part(name, shape, board="B"):
    lines = [line("cut", shape["outline"], True)]
    lines += [line("cut", w, True) for w in shape["windows"]]
    lines += [line("cut", s) for s in shape["slits"]]
    lines += [line(use, c) for use, c in shape["creases"]]
    lines += [line("engrave", e) for e in shape["engravings"]]
    return {
        "name": name,
        "job": "clock",
        "piece": name,
        "board": board,
        "caliper": 3.2,
        "wanted": 99,
        "flutes": "x",
        "quarter_turns": True,
        "face_up": "inside",
        "outline": on_grid(shape["outline"], True),
        "windows": [on_grid(w, False) for w in shape["windows"]],
        "lines": lines,
    }


def layout(placed, sheet=(400, 300), shapes=(TRAY, PAD), spacing=5, margin=5, board="B"):
    """Parts of these shapes, placed as (shape, turn, x, y)."""
    parts = [part(f"part {i}", s, board) for i, s in enumerate(shapes)]
    for p in parts:
        p["wanted"] = sum(1 for s, *_ in placed if parts[s] is p)
    x, y = (round(v * 1000) for v in sheet)
    return {
        "format": "boxwright-layout",
        "version": 1,
        "title": "clock week",
        "spacing": round(spacing * 1000),
        "margin": round(margin * 1000),
        "reach": None,
        "parts": parts,
        "stock": [
            {
                "name": "off-cut 7", "board": board, "count": 1, "price": 1.2, "off_cut": True,
                "outline": [[0, 0], [x, 0], [x, y], [0, y]], "holes": [],
            }
        ],
        "sheets": [
            {
                "stock": 0,
                "placed": [
                    {"part": s, "turn": turn, "at": [round(px * 1000), round(py * 1000)]}
                    for s, turn, px, py in placed
                ],
            }
        ],
        "left": [0] * len(parts),
    }


WEEK = [(0, 0, 5, 5), (0, 180, 210, 255), (0, 90, 340, 5), (1, 0, 45, 55), (1, 0, 350, 5)]


def write(path, data):
    path.write_text(json.dumps(data), "utf-8")
    return path


def turned(points, turn, at):
    c, s = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[turn]
    return [(at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in points]
