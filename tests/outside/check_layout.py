"""A layout file looked at with shapely, which shares nothing with the program: shapes from the file's
own outlines and from its lines, turned and moved here."""

import json
import math

from shapely import affinity, prepare
from shapely.geometry import LineString, Polygon

STEP = 0.001
# Products of floating numbers; a thousandth of a grid step.
SLACK = 1e-6
# Lines and shapes are brought to the grid separately.
ROUNDED = 0.002
# Arcs of lines are followed this closely, in mm: closer than ROUNDED, for a chord may leave hollow board.
CHORD = 0.0005


def mm(ring):
    return [(x * STEP, y * STEP) for x, y in ring]


def shape(part, holes):
    return Polygon(mm(part["outline"]), [mm(h) for h in part[holes]])


def along(line):
    """Points along a line, arcs cut into chords."""
    points = line["points"]
    ends = points[1:] + points[:1] if line["closed"] else points[1:]
    out = [tuple(points[0][:2])]
    for (x, y, bulge), (u, v, _) in zip(points, ends):
        if bulge:
            chord = math.hypot(u - x, v - y)
            radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
            way = (1 - bulge * bulge) / (4 * bulge)
            cx, cy = (x + u) / 2 - (v - y) * way, (y + v) / 2 + (u - x) * way
            sweep = 4 * math.atan(bulge)
            start = math.atan2(y - cy, x - cx)
            step = 2 * math.acos(max(0.0, 1 - CHORD / radius))
            n = max(1, math.ceil(abs(sweep) / max(step, 1e-3)))
            for k in range(1, n):
                a = start + sweep * k / n
                out.append((cx + radius * math.cos(a), cy + radius * math.sin(a)))
        out.append((u, v))
    return LineString(out)


def put(geometry, placed):
    turned = affinity.rotate(geometry, placed["turn"], origin=(0, 0))
    x, y = placed["at"]
    return affinity.translate(turned, x * STEP, y * STEP)


def faults(text):
    """Everything wrong with a layout, in words."""
    layout = json.loads(text)
    parts, stock = layout["parts"], layout["stock"]
    shapes = [shape(p, "windows") for p in parts]
    spacing, margin = layout["spacing"] * STEP, layout["margin"] * STEP
    wrong = []
    laid = [0] * len(parts)
    used = [0] * len(stock)
    for part, region in zip(parts, shapes):
        if not region.is_valid:
            wrong.append(f"{part['name']}: no region")
        wide = region.buffer(ROUNDED, join_style="mitre")
        if not all(wide.covers(along(line)) for line in part["lines"]):
            wrong.append(f"{part['name']}: a line stands out")
    for n, sheet in enumerate(layout["sheets"]):
        used[sheet["stock"]] += 1
        piece = stock[sheet["stock"]]
        region = shape(piece, "holes")
        prepare(region)
        there = []
        for placed in sheet["placed"]:
            part = parts[placed["part"]]
            laid[placed["part"]] += 1
            lies = put(shapes[placed["part"]], placed)
            name = f"sheet {n}: {part['name']}"
            if part["board"] != piece["board"]:
                wrong.append(f"{name}: board")
            across = (part["flutes"] == "y") != (placed["turn"] in (90, 270))
            if across and not part["quarter_turns"]:
                wrong.append(f"{name}: flutes")
            if lies.difference(region).area > SLACK * lies.length:
                wrong.append(f"{name}: off the sheet")
            elif lies.boundary.distance(region.boundary) < margin - SLACK:
                wrong.append(f"{name}: margin")
            if layout["reach"]:
                x, y = layout["reach"]
                left, low, right, high = lies.bounds
                if left < -SLACK or low < -SLACK or right > x * STEP + SLACK or high > y * STEP + SLACK:
                    wrong.append(f"{name}: out of reach")
            for other_name, other in there:
                if box_gap(lies.bounds, other.bounds) > spacing:
                    continue
                if lies.intersection(other).area > SLACK * lies.length:
                    wrong.append(f"{name} lies in {other_name}")
                elif lies.distance(other) < spacing - SLACK:
                    wrong.append(f"{name} is too near to {other_name}")
            there.append((part["name"], lies))
    for part, n, left in zip(parts, laid, layout["left"], strict=True):
        if n + left != part["wanted"]:
            wrong.append(f"{part['name']}: {n} laid, {left} left, {part['wanted']} wanted")
    for piece, n in zip(stock, used):
        if n > piece["count"]:
            wrong.append(f"{piece['name']}: {n} used of {piece['count']}")
    return wrong


def box_gap(a, b):
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
