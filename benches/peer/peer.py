"""The slotted case 0201 drawn, folded and measured in plain Python.

The yardstick for the Rust bench: what a capable programmer would write in an afternoon over
ezdxf, shapely and manifold3d, without tricks in either direction. Pairs whose upright bounding
boxes are apart are skipped, as anyone would; in motion only pairs with a moving panel are looked
at again.

Sizes are clear inside sizes in mm. A crease takes p*t at each end of a span (right angles only).
Inside faces lie at z = 0 with the board below them, down to z = -t; creases turn about z = -p*t.
"""

import argparse
import io
import itertools
import json
import math
import statistics
import time
from dataclasses import dataclass, field

import ezdxf
import manifold3d as m3
import numpy as np
from shapely import box, unary_union

STEPS = 15


@dataclass
class Ask:
    length: float
    width: float
    depth: float
    t: float
    p: float
    clearance: float = 0.0
    slot: float | None = None
    lap: float = 35.0
    step: float | None = None

    @property
    def flap_step(self) -> float:
        return self.t + self.clearance if self.step is None else self.step

    @property
    def slot_width(self) -> float:
        return self.t + 2 if self.slot is None else self.slot


@dataclass
class Panel:
    """`drawn` and `clear` are (x0, y0, x1, y1) in the blank; `crease` is its two end points."""

    name: str
    parent: int | None
    drawn: tuple
    clear: tuple
    crease: tuple | None = None


@dataclass
class Blank:
    panels: list
    outline: object
    figures: dict = field(default_factory=dict)


def draw(ask: Ask) -> Blank:
    t, c = ask.t, ask.clearance
    take = ask.p * t
    s = ask.slot_width
    tall = ask.depth + 2 * ask.flap_step + 2 * take
    low = ask.depth + 2 * take
    flap = ask.width / 2 - c + take
    panels: list[Panel] = []
    x = 0.0
    previous = None
    spans = [
        ("front", ask.length, tall),
        ("right", ask.width, low),
        ("back", ask.length, tall),
        # Short by one thickness, so that the lap turns in flat behind the front.
        ("left", ask.width - t - c, low),
    ]
    for i, (name, span, height) in enumerate(spans):
        breadth = span + 2 * take
        # The free edge of the first wall lies on no crease and needs no take-up there.
        start = take if i == 0 else 0.0
        x0, x1 = x + start, x + breadth
        y0, y1 = -height / 2, height / 2
        wall = len(panels)
        parent = previous
        crease = None if i == 0 else ((x, -low / 2), (x, low / 2))
        inner_edge = (x + take, y0 + take, x1 - take, y1 - take)
        panels.append(Panel(name, parent, (x0, y0, x1, y1), inner_edge, crease))
        f0, f1 = x0 + (s / 2 if i else 0.0), x1 - s / 2
        panels.append(
            Panel(
                f"{name} top",
                wall,
                (f0, y1, f1, y1 + flap),
                (f0, y1 + take, f1, y1 + flap),
                ((f1, y1), (f0, y1)),
            )
        )
        panels.append(
            Panel(
                f"{name} bottom",
                wall,
                (f0, y0 - flap, f1, y0),
                (f0, y0 - flap, f1, y0 - take),
                ((f0, y0), (f1, y0)),
            )
        )
        previous = wall
        x = x1
    half = low / 2 - s / 2
    panels.append(
        Panel(
            "lap",
            previous,
            (x, -half, x + ask.lap, half),
            (x + take, -half, x + ask.lap, half),
            ((x, -half), (x, half)),
        )
    )
    outline = unary_union([box(*q.drawn) for q in panels])
    x0, y0, x1, y1 = outline.bounds
    creases = [q.crease for q in panels if q.crease]
    figures = {
        "length": x1 - x0,
        "width": y1 - y0,
        "area": outline.area,
        "cut_length": outline.length,
        "crease_length": sum(math.dist(a, b) for a, b in creases),
    }
    return Blank(panels, outline, figures)


def write_dxf(blank: Blank) -> str:
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    doc.layers.add("CUT")
    doc.layers.add("CREASE")
    space = doc.modelspace()
    rings = [blank.outline.exterior, *blank.outline.interiors]
    for ring in rings:
        space.add_lwpolyline(list(ring.coords)[:-1], close=True, dxfattribs={"layer": "CUT"})
    for panel in blank.panels:
        if panel.crease:
            space.add_line(*panel.crease, dxfattribs={"layer": "CREASE"})
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


def hinge(crease, depth: float, angle: float) -> np.ndarray:
    """A turn about the crease line, right-handed along it, at z = -depth."""
    (ax, ay), (bx, by) = crease
    d = np.array([bx - ax, by - ay, 0.0])
    d /= np.linalg.norm(d)
    k = np.array([[0, -d[2], d[1]], [d[2], 0, -d[0]], [-d[1], d[0], 0]])
    turn = np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * (k @ k)
    at = np.array([ax, ay, -depth])
    out = np.eye(4)
    out[:3, :3] = turn
    out[:3, 3] = at - turn @ at
    return out


def frames(blank: Blank, ask: Ask, angles) -> list:
    out = []
    for panel, angle in zip(blank.panels, angles):
        if panel.parent is None:
            out.append(np.eye(4))
            continue
        x0, y0, x1, y1 = panel.drawn
        (ax, ay), (bx, by) = panel.crease
        side = (bx - ax) * ((y0 + y1) / 2 - ay) - (by - ay) * ((x0 + x1) / 2 - ax)
        turn = hinge(panel.crease, ask.p * ask.t, math.copysign(angle, side))
        out.append(out[panel.parent] @ turn)
    return out


def slabs(blank: Blank, t: float) -> list:
    out = []
    for panel in blank.panels:
        x0, y0, x1, y1 = panel.clear
        out.append(m3.Manifold.cube((x1 - x0, y1 - y0, t)).translate((x0, y0, -t)))
    return out


def pose(blank: Blank, ask: Ask, flat: list, angles) -> list:
    return [s.transform(f[:3]) for s, f in zip(flat, frames(blank, ask, angles))]


def apart(a, b) -> bool:
    return any(a[i] >= b[i + 3] or b[i] >= a[i + 3] for i in range(3))


def pairs(blank: Blank) -> list:
    return [
        (i, j)
        for i, j in itertools.combinations(range(len(blank.panels)), 2)
        if blank.panels[i].parent != j and blank.panels[j].parent != i
    ]


def board_in_board(solids: list, wanted) -> dict:
    bounds = [s.bounding_box() for s in solids]
    found = {}
    for i, j in wanted:
        if apart(bounds[i], bounds[j]):
            continue
        volume = (solids[i] ^ solids[j]).volume()
        if volume > 1e-6:
            found[i, j] = volume
    return found


def room_of(blank: Blank, ask: Ask):
    """The asked cuboid in the front wall's own coordinates: behind it, on its inside face."""
    x0, _, x1, _ = blank.panels[0].clear
    middle = (x0 + x1) / 2
    lo = (middle - ask.length / 2, -ask.depth / 2, 0.0)
    hi = (middle + ask.length / 2, ask.depth / 2, ask.width)
    return lo, hi


def clear_room(solids: list, lo, hi) -> list:
    """L, W and D of the asked cuboid with each face moved out until it meets board."""
    far = 1000.0
    bounds = [s.bounding_box() for s in solids]
    sizes = []
    for axis in range(3):
        middle = (lo[axis] + hi[axis]) / 2
        reach = []
        for sign in (-1, 1):
            a, b = list(lo), list(hi)
            if sign < 0:
                a[axis], b[axis] = middle - far, middle
            else:
                a[axis], b[axis] = middle, middle + far
            column = m3.Manifold.cube([q - p for p, q in zip(a, b)]).translate(a)
            limit = far
            for solid, bound in zip(solids, bounds):
                if apart((*a, *b), bound):
                    continue
                hit = solid ^ column
                if hit.volume() < 1e-6:
                    continue
                box_ = hit.bounding_box()
                limit = min(limit, middle - box_[axis + 3] if sign < 0 else box_[axis] - middle)
            reach.append(limit)
        sizes.append(sum(reach))
    along, up, through = sizes
    return [along, through, up]


def closed(blank: Blank) -> list:
    return [0.0 if q.parent is None else math.pi / 2 for q in blank.panels]


def rest(blank: Blank, ask: Ask) -> dict:
    solids = pose(blank, ask, slabs(blank, ask.t), closed(blank))
    names = [q.name for q in blank.panels]
    clashes = board_in_board(solids, pairs(blank))
    lo, hi = room_of(blank, ask)
    without_lap = [s for s, n in zip(solids, names) if n != "lap"]
    return {
        "clashes": {f"{names[i]} / {names[j]}": v for (i, j), v in clashes.items()},
        "room": clear_room(without_lap, lo, hi),
    }


def motion(blank: Blank, ask: Ask) -> dict:
    """Inner flaps first, then outer, each from flat to closed."""
    flat = slabs(blank, ask.t)
    names = [q.name for q in blank.panels]
    everyone = pairs(blank)
    angles = [0.0 if q.name.endswith((" top", " bottom")) else math.pi / 2 for q in blank.panels]
    worst = {}
    for walls in (("left", "right"), ("front", "back")):
        moving = {
            i
            for i, n in enumerate(names)
            if n.split()[0] in walls and n.endswith((" top", " bottom"))
        }
        wanted = [(i, j) for i, j in everyone if i in moving or j in moving]
        for step in range(1, STEPS + 1):
            for i in moving:
                angles[i] = math.pi / 2 * step / STEPS
            for pair, v in board_in_board(pose(blank, ask, flat, angles), wanted).items():
                worst[pair] = max(v, worst.get(pair, 0.0))
    return {f"{names[i]} / {names[j]}": v for (i, j), v in worst.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    for name in ("length", "width", "depth", "t", "p"):
        parser.add_argument(name, type=float)
    parser.add_argument("--mode", choices=("rest", "motion"), default="rest")
    parser.add_argument("--repeats", type=int, default=20)
    args = parser.parse_args()
    ask = Ask(args.length, args.width, args.depth, args.t, args.p)

    rows = []
    for _ in range(args.repeats):
        start = time.perf_counter()
        blank = draw(ask)
        drawn = time.perf_counter()
        write_dxf(blank)
        written = time.perf_counter()
        found = rest(blank, ask)
        moved = motion(blank, ask) if args.mode == "motion" else {}
        done = time.perf_counter()
        rows.append((drawn - start, written - drawn, done - written))
    draws, writes, checks = ([1e6 * v for v in column] for column in zip(*rows))
    what = "slotted case: draw, write DXF to memory, fold, board in board and clear room at rest"
    if args.mode == "motion":
        what += f", then both pairs of flaps closing in {STEPS} angles"
    print(
        json.dumps(
            {
                "what": what,
                "repeats": args.repeats,
                "median_us": statistics.median(map(sum, zip(draws, writes, checks))),
                "median_us_without_dxf": statistics.median(map(sum, zip(draws, checks))),
                "parts_us": {
                    "draw": statistics.median(draws),
                    "dxf": statistics.median(writes),
                    "check": statistics.median(checks),
                },
                "figures": blank.figures,
                "room": found["room"],
                "clashes": found["clashes"] | moved,
            }
        )
    )


if __name__ == "__main__":
    main()
