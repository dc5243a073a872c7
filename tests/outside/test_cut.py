"""Machine files, replayed by a reader of their own and held against what was drawn."""

import json
import math
import re

import pytest
from shapely import STRtree
from shapely.geometry import LinearRing, LineString, Point, Polygon, box
from shapely.ops import unary_union

from cut_layout import KITE, PAD, TRAY, WEEK, flat, layout, turned, write
from gcode_reader import Fault, read
from outputs import ROOT, run

MACHINES = {"bench-laser": (0.16, 1000), "knife-table": (0.0, None)}
"""Kerf in B board and number of full power, from the machine files."""
WITHIN = 0.01
"""Farthest that what is cut may lie off what was drawn and moved by half the kerf, in mm."""
SHAPES = (TRAY, PAD, KITE)


def cut(tmp_path, data, machine="bench-laser", *more, status=0):
    file = write(tmp_path / "week.layout.json", data)
    done = run("cut", file, "--machine", machine, "--out", tmp_path / "out", "--json", *more)
    text = done.stderr.decode()
    assert "panicked" not in text, text
    assert done.returncode == status, text
    if status:
        assert not (tmp_path / "out").exists()
        return text
    return json.loads(done.stdout)


def code(tmp_path, machine="bench-laser", number=1):
    text = (tmp_path / f"out/clock-week-sheet-{number}.gcode").read_text("ascii")
    kerf, full = MACHINES[machine]
    return text, read(text, full, lifts=full is None)


def drawn(data):
    """Every contour of the sheet as it was drawn: (placed, window, polygon), and the marks."""
    contours, marks, slits = [], [], []
    for n, p in enumerate(data["sheets"][0]["placed"]):
        shape = data["parts"][p["part"]]
        at = [v / 1000 for v in p["at"]]
        outer = True
        for line in shape["lines"]:
            points = turned(flat(list(map(tuple, line["points"])), closed=line["closed"]), p["turn"], at)
            if line["use"] != "cut":
                marks.append((n, line["use"], LineString(points)))
            elif line["closed"]:
                contours.append((n, not outer, Polygon(points)))
                outer = False
            else:
                slits.append((n, LineString(points)))
    return contours, marks, slits


def path_of(stroke):
    points = [stroke[0].start]
    for move in stroke:
        points += move.points()[1:]
    return LineString(points)


def kinds(code, feeds):
    """Strokes by what they are, told by feed and power."""
    return [(path_of(s), feeds[(s[0].feed, s[0].power)]) for s in code.strokes()]


LASER = {(4500, 240): "through", (9000, 80): "engrave"}


def mild_corners(polygon, window):
    """Outer corners that turn by a right angle at most."""
    ring = list(polygon.exterior.normalize().coords[:-1])
    if not LinearRing(ring).is_ccw:
        ring.reverse()
    out = []
    for a, b, c in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1]):
        u, v = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
        if turn <= math.pi / 2 + 1e-6:
            out.append(b)
    return out


def shapes_hold(contours, paths, kerf):
    """Every contour has one closed path, half the kerf beside it."""
    faults = []
    left = [p for p in paths if p.is_ring]
    for n, window, polygon in contours:
        sign = -1 if window else 1
        round_ = polygon.buffer(sign * kerf / 2, join_style="round", quad_segs=64)
        drawn_out = polygon.buffer(sign * kerf / 2, join_style="mitre", mitre_limit=20)
        near = [p for p in left if Polygon(p).centroid.distance(polygon.centroid) < 1
                and abs(Polygon(p).area - polygon.area) < 0.02 * polygon.area]
        if len(near) != 1:
            faults.append(f"part {n}: {len(near)} paths for a contour")
            continue
        found = Polygon(near[0])
        left.remove(near[0])
        # Corners sharper than a right angle are swung round, others drawn out.
        if not drawn_out.buffer(WITHIN).contains(found) or not found.buffer(WITHIN).contains(round_):
            faults.append(f"part {n}: not half the kerf beside what was drawn")
        mild = unary_union([Point(p).buffer(4 * kerf + 0.1) for p in mild_corners(polygon, window)])
        wanted = round_.union(drawn_out.intersection(mild)) if not window else round_
        off = found.exterior.hausdorff_distance(wanted.exterior)
        if off > WITHIN:
            faults.append(f"part {n}: {off:.4f} mm off")
    if left:
        faults.append(f"{len(left)} rings too many")
    return faults


def not_twice(paths):
    lines = []
    for p in paths:
        lines += [LineString(pair) for pair in zip(p.coords, p.coords[1:])]
    tree = STRtree([li.buffer(0.003, cap_style="flat") for li in lines])
    faults = []
    for i, j in tree.query(lines, predicate="intersects").T:
        if j > i + 1:
            shared = lines[i].buffer(0.003, cap_style="flat").intersection(lines[j]).length
            if shared > 0.02:
                faults.append(f"{shared:.3f} mm cut twice near {lines[j].coords[0]}")
    return faults


def order_holds(contours, strokes):
    """What lies inside a contour is made before the contour is begun; marks before all cuts."""
    faults = []
    cuts = [i for i, (_, kind) in enumerate(strokes) if kind == "through"]
    first_cut = {}
    for c, (n, window, polygon) in enumerate(contours):
        on = [i for i in cuts if polygon.exterior.distance(strokes[i][0].interpolate(0.5, normalized=True)) < 0.3]
        if on:
            first_cut[c] = min(on)
    for c, (n, window, polygon) in enumerate(contours):
        inside = polygon.buffer(-0.5)
        for i, (path, kind) in enumerate(strokes):
            if c in first_cut and i > first_cut[c] and inside.contains(path):
                faults.append(f"stroke {i} ({kind}) comes after the contour around it")
    return faults


def check(data, text, machine, nicks):
    """Everything that can be told from one file; a list of what is wrong."""
    kerf, full = MACHINES[machine]
    try:
        found = read(text, full, lifts=full is None)
    except Fault as fault:
        return [str(fault)]
    contours, marks, slits = drawn(data)
    paths = [path_of(s) for s in found.strokes()]
    faults = not_twice(paths)
    bed = {"bench-laser": (600, 400), "knife-table": (1600, 1200)}[machine]
    for m in found.moves:
        if not box(-1e-6, -1e-6, bed[0] + 1e-6, bed[1] + 1e-6).covers(LineString(m.points())):
            faults.append(f"line {m.line} leaves the bed")
    on_mark = lambda p: any(line.distance(p.interpolate(0.5, normalized=True)) < 0.05 for _, _, line in marks)
    strokes = [(p, "mark" if on_mark(p) else "through") for p in paths]
    last_mark = max([i for i, (_, k) in enumerate(strokes) if k == "mark"], default=-1)
    first_cut = min([i for i, (_, k) in enumerate(strokes) if k == "through"], default=len(strokes))
    if last_mark > first_cut:
        faults.append("a crease comes after a cut")
    faults += order_holds(contours, strokes)
    if not nicks:
        faults += shapes_hold(contours, [p for p, k in strokes if k == "through"], kerf)
    # Slits stay on their line.
    for n, slit in slits:
        if not any(p.hausdorff_distance(slit) < WITHIN for p, k in strokes if k == "through"):
            faults.append(f"part {n}: a slit is not on its line")
    return faults


PLACED = {
    "week": (WEEK, (400, 300), (TRAY, PAD)),
    "kite": ([(0, 0, 10, 10), (0, 90, 120, 10), (0, 180, 300, 60)], (400, 300), (KITE,)),
}


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("case", PLACED)
@pytest.mark.parametrize("nicks", [True, False], ids=["nicks", "none"])
def test_what_is_cut_is_what_was_drawn(tmp_path, machine, case, nicks):
    placed, sheet, shapes = PLACED[case]
    data = layout(placed, sheet, shapes)
    report = cut(tmp_path, data, machine, *([] if nicks else ["--no-nicks"]))
    held = nicks and machine == "bench-laser"
    assert (report["total"]["nicks"] > 0) == held
    text, found = code(tmp_path, machine)
    assert check(data, text, machine, held) == []
    # Lengths and times told are those of the file.
    total = report["total"]
    along = sum(m.length for m in found.moves if m.works)
    assert along == pytest.approx(total["cut"] + total["marked"], abs=0.5)
    travel = sum(m.length for m in found.moves if m.rapid)
    assert travel == pytest.approx(total["travel"], abs=0.5)
    assert total["strokes"] == len(found.strokes())
    least = sum(m.length / m.feed * 60 for m in found.moves if m.works)
    assert total["seconds"] > least


def test_a_part_that_falls_out_measures_as_drawn(tmp_path):
    """Board minus what a round beam takes away: the pieces left are the parts as drawn."""
    data = layout(WEEK)
    cut(tmp_path, data, "bench-laser", "--no-nicks")
    _, found = code(tmp_path)
    paths = [path_of(s) for s in found.strokes() if (s[0].feed, s[0].power) == (4500, 240)]
    rings = [p for p in paths if p.is_ring]
    gone = unary_union([p.buffer(0.08, quad_segs=32) for p in rings])
    pieces = list(box(0, 0, 400, 300).difference(gone).geoms)
    contours, _, _ = drawn(data)
    for n, window, polygon in contours:
        if window:
            continue
        holes = [q for m, w, q in contours if m == n and w]
        whole = polygon.difference(unary_union(holes)) if holes else polygon
        best = min(pieces, key=lambda p: p.symmetric_difference(whole).area)
        # Inner corners keep the radius of the beam, 0.08 (sqrt 2 - 1) = 0.033 mm of board; else nothing
        # is missing and nothing is over.
        assert best.symmetric_difference(whole).area < 0.02 * 4 + whole.length * 0.001
        assert best.buffer(WITHIN).contains(whole)
        assert whole.buffer(0.034, join_style="mitre").contains(best)
        assert best.bounds == pytest.approx(whole.bounds, abs=WITHIN)


def test_nicks_hold_every_part_and_stay_off_corners_creases_and_slots(tmp_path):
    data = layout(WEEK)
    cut(tmp_path, data)
    _, found = code(tmp_path)
    paths = [path_of(s) for s in found.strokes() if (s[0].feed, s[0].power) == (4500, 240)]
    contours, marks, slits = drawn(data)
    gone = unary_union([p.buffer(0.08, quad_segs=16) for p in paths])
    sheet = box(0, 0, 400, 300).difference(gone)
    pieces = list(sheet.geoms) if hasattr(sheet, "geoms") else [sheet]
    for n, window, polygon in contours:
        if window:
            continue
        # The part, its nicks and the sheet around it are one piece.
        inner = polygon.buffer(-1).representative_point()
        piece = next(p for p in pieces if p.contains(inner))
        beyond = polygon.buffer(1.5).exterior
        assert any(piece.contains(beyond.interpolate(k / 97, normalized=True)) for k in range(97)), n
        ring = polygon.buffer(0.08, join_style="mitre").exterior
        bare = ring.difference(gone.buffer(0.02))
        bridges = [g for g in (bare.geoms if hasattr(bare, "geoms") else [bare]) if g.length > 0.05]
        joined = []
        for g in bridges:
            if joined and joined[-1].distance(g) < 1e-6:
                joined[-1] = unary_union([joined[-1], g])
            else:
                joined.append(g)
        assert len(joined) == 3, (n, [g.length for g in joined])
        ends = [Point(e) for m, _, line in marks if m == n for e in (line.coords[0], line.coords[-1])]
        corners = [Point(p) for p in polygon.simplify(0.05).exterior.coords]
        for g in joined:
            # 0.6 mm is left of each; 0.02 was taken off both ends just above.
            assert g.length == pytest.approx(0.6 - 0.04, abs=0.02)
            middle = g.centroid
            assert all(middle.distance(e) > 4 for e in ends)
            assert all(middle.distance(c) > 4 for c in corners)
            # In no slot: board within 10 mm beyond it is not the part's own.
            near = middle.buffer(6).difference(polygon.buffer(0.5))
            assert near.area > 0.35 * math.pi * 36


def test_dashes_keep_off_ends_and_are_as_stated(tmp_path):
    data = layout([(0, 0, 5, 5)])
    cut(tmp_path, data)
    _, found = code(tmp_path)
    _, marks, _ = drawn(data)
    paths = [path_of(s) for s in found.strokes()]
    want = {"crease-inward": (4, 4), "crease-outward": (6, 5), "perforation": (5, 3)}
    for n, use, line in marks:
        if use not in want:
            continue
        dash, gap = want[use]
        own = [p for p in paths if line.buffer(0.01).contains(p)]
        assert own
        spans = sorted(sorted((line.project(Point(p.coords[0])), line.project(Point(p.coords[-1])))) for p in own)
        assert spans[0][0] >= gap / 2 - 0.002 and line.length - spans[-1][1] >= gap / 2 - 0.002
        assert all(b - a <= dash + 0.002 for a, b in spans)
        for (_, b), (a, _) in zip(spans, spans[1:]):
            assert a - b >= gap - 0.002
        # Where the other crease ends on this one no dash is.
        if use == "crease-inward":
            assert all(b < 110 - gap / 2 + 0.002 or a > 110 + gap / 2 - 0.002 for a, b in spans)


def test_lead_ins_begin_in_the_waste(tmp_path):
    data = layout(WEEK)
    cut(tmp_path, data, "bench-laser", "--no-nicks", "--lead-in")
    _, found = code(tmp_path)
    contours, _, slits = drawn(data)
    led = 0
    for stroke in found.strokes():
        path = path_of(stroke)
        if len(path.coords) < 5:
            continue
        ends = LineString(path.coords[1:])
        if (stroke[0].feed, stroke[0].power) != (4500, 240) or not ends.is_ring:
            continue
        led += 1
        start = Point(path.coords[0])
        inside = [c for c in contours if c[2].contains(start)]
        # Inside an outline the start lies in one of its windows too: never on board of a part.
        for n, window, polygon in inside:
            assert window or any(m == n and w for m, w, _ in inside), start
        assert 0.2 < stroke[0].length <= 2.001
    assert led == len(contours)


# The three-line example of a change of power without a pause must be read with its power line by line.
# Source: laser mode of open-source controllers, their documentation (seen).
def test_power_is_kept_line_by_line():
    text = "G21\nG90\nG94\nG17\nM4 S0\nG1 X10 S100 F50\nG1 X0 S90 F50\nG2 X0 Y1 I0 J0.5 S80 F50\nM5\nM2\n"
    found = read(text, 1000)
    assert [m.power for m in found.moves] == [100, 90, 80]
    assert [m.works for m in found.moves] == [True] * 3


# Source: the same, and RS-274: units, absolute, feed mode, then M4 S0; power never over full; nought in
# every G0; M5 before the end.
def test_every_file_begins_and_ends_safely(tmp_path):
    data = layout(WEEK)
    cut(tmp_path, data)
    text, found = code(tmp_path)
    lines = [li for li in text.splitlines() if not li.startswith("(")]
    assert lines[:6] == ["G21", "G90", "G94", "G17", "M4 S0", "M8"]
    assert lines[-4:] == ["G0 X0.000 Y0.000 S0", "M9", "M5", "M2"]
    said = " ".join(found.comments).lower()
    for word in ("clock week", "400 x 300", "never leave the laser running alone", "extinguisher"):
        assert word in said
    assert all(len(li) <= 80 for li in text.splitlines())


def swapped(text, old, new, nth=0):
    places = [m.start() for m in re.finditer(old, text, re.M)]
    at = places[nth]
    return text[:at] + re.sub(old, new, text[at:], count=1, flags=re.M)


def blocks(text):
    """Head, one block for each stroke, tail."""
    parts = re.split(r"(?m)^(?=G0 )", text)
    return parts[0], parts[1:-1], parts[-1]


FAULTS = {
    "a cut without power": lambda t: swapped(t, r" S240$", "", 5),
    "a cut without feed": lambda t: swapped(t, r" F4500", "", 5),
    "too much power": lambda t: swapped(t, r"S240$", "S1001", 9),
    "the beam on in a rapid": lambda t: swapped(t, r"^(G0 .*)S0$", r"\1S240", 9),
    "no end": lambda t: t.replace("M2\n", ""),
    "the beam on at the end": lambda t: t.replace("M5\n", ""),
    "no units": lambda t: t.replace("G21\n", ""),
    "an arc the other way": lambda t: swapped(t, r"^G3", "G2", 0),
    "an arc off its circle": lambda t: swapped(t, r"(G3 .*I)(-?\d+)", r"\g<1>9\2", 0),
    "a letter of another language": lambda t: t.replace("clock week", "Uhrenwoche \u00fc"),
    "a path shifted": lambda t: swapped(t, r"^G1 X195.000 Y4.920", "G1 X195.000 Y4.890", 0),
    "off the bed": lambda t: swapped(t, r"^G0 X\S+", "G0 X601.000", 20),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_planted_faults_bite(tmp_path, fault):
    data = layout(WEEK)
    cut(tmp_path, data, "bench-laser", "--no-nicks")
    text, _ = code(tmp_path)
    assert check(data, text, "bench-laser", False) == []
    spoilt = FAULTS[fault](text)
    assert spoilt != text
    assert check(data, spoilt, "bench-laser", False) != []


def test_planted_faults_of_order_bite(tmp_path):
    data = layout(WEEK)
    cut(tmp_path, data, "bench-laser", "--no-nicks")
    text, _ = code(tmp_path)
    head, strokes, tail = blocks(text)
    whole = head + "".join(strokes) + tail
    assert whole == text
    contours, _, _ = drawn(data)

    def faults(order):
        return check(data, head + "".join(strokes[i] for i in order) + tail, "bench-laser", False)

    n = len(strokes)
    assert faults(range(n)) == []
    again = [*range(n), n - 1]
    assert any("twice" in f for f in faults(again))
    crease_last = [*range(1, n), 0]
    assert any("crease" in f for f in faults(crease_last))
    # The outline of the first tray moved before its windows and the pad in one of them.
    rings = [i for i, s in enumerate(strokes) if s.count("G1") + s.count("G3") > 12]
    early = rings[-1]
    first = min(i for i, s in enumerate(strokes) if s.count("G1") + s.count("G2") + s.count("G3") > 3 and "F4500" in s)
    moved = [i for i in range(n) if i != early]
    moved.insert(moved.index(first), early)
    if early != first:
        assert any("after the contour" in f for f in faults(moved))


REFUSED = {
    "a machine of no such name": (["--machine", "bench-lazer"], "did you mean `bench-laser`"),
    "a machine file that is not there": (["--machine", "none.kdl"], "there is no file"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_asked_wrongly_is_said(tmp_path, case):
    args, says = REFUSED[case]
    file = write(tmp_path / "week.layout.json", layout(WEEK))
    done = run("cut", file, *args, "--out", tmp_path / "out", cwd=tmp_path)
    assert done.returncode == 2
    assert says in done.stderr.decode()
    assert not (tmp_path / "out").exists()


def laser():
    return (ROOT / "machines/bench-laser.kdl").read_text("utf-8")


SPOILT = {
    "a bed without a unit": (r'bed "600mm"', 'bed "600"', "a length"),
    "speed without a unit": (r'travel "200mm/s"', 'travel "200"', "a speed"),
    "power over full": (r'power="8%"', 'power="180%"', "must be from 0 to 1"),
    "a kerf as wide as a slot": (r'kerf="0.16mm"', 'kerf="160mm"', "must be from"),
    "a line the use cannot have": (r'"engrave" way="etched"', '"engrave" way="through"', "cannot be made this way"),
    "no origin": (r' from="default: invented; in the controller.s settings"', "", "needs `from`"),
    "an origin of no standing": (r'from="seen: laser mode', 'from="laser mode', "begins with its standing"),
    "dashes of no length": (r'cut="4mm" gap="4mm"', 'cut="0mm" gap="4mm"', "must be from"),
    "too few decimals": (r"decimals 3", "decimals 1", "must be from"),
    "words of another tool": (r'"beam" begin', '"beam (2)" begin', "cannot be a name"),
    "an endless number": (r"full-s 1000", "full-s 1e999", ""),
    "not a file of ours": (r"(?s).*", "\\0machine {{{", ""),
    "deep": (r"(?s)^.*", "machine \"a\" " + "{ x " * 60, "deeper"),
    "nothing": (r"(?s)^.*$", "", "holds no machine"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_spoilt_machine_files_are_refused_at_their_place(tmp_path, case):
    old, new, says = SPOILT[case]
    text = re.sub(old, lambda m: new, laser(), count=1)
    assert text != laser()
    (tmp_path / "mine.kdl").write_text(text, "utf-8")
    said = cut(tmp_path, layout(WEEK), tmp_path / "mine.kdl", status=2)
    diags = json.loads(said)["diagnostics"]
    assert all(d["message"] and d["file"].endswith("mine.kdl") and d["line"] for d in diags)
    assert any(says in d["message"] + (d["help"] or "") for d in diags), diags


KNIFE_LINES = ["G1 X50 F600", "M30", "G91", "M3 (S1)", "M3\\nG0 X9 Y9", "$H", "G1 Z-1.2 F600 G0 X5"]


@pytest.mark.parametrize("line", KNIFE_LINES)
def test_tool_lines_that_would_do_more_than_lift_are_refused(tmp_path, line):
    text = (ROOT / "machines/knife-table.kdl").read_text("utf-8").replace("G1 Z-1.2 F600", line, 1)
    (tmp_path / "mine.kdl").write_text(text, "utf-8")
    said = cut(tmp_path, layout(WEEK), tmp_path / "mine.kdl", status=2)
    assert any(d["code"] == "bad-code" for d in json.loads(said)["diagnostics"])


def test_a_title_cannot_break_out_of_its_comment(tmp_path):
    data = layout(WEEK)
    data["title"] = "clock week) G1 X999 S1000\nG0 X5 (\u00fcber"
    data["stock"][0]["name"] = "a) M3 S1000 (b" + "c" * 300
    file = write(tmp_path / "week.layout.json", data)
    done = run("cut", file, "--machine", "bench-laser", "--out", tmp_path / "out")
    assert done.returncode in (0, 2)
    if done.returncode == 0:
        (made,) = (tmp_path / "out").glob("*.gcode")
        text = made.read_text("ascii")
        assert check(data, text, "bench-laser", True) == []


def test_what_does_not_fit_the_bed_or_the_kerf_is_refused(tmp_path):
    wide = layout([(0, 0, 5, 5), (0, 0, 500, 5)], (800, 300))
    assert "the bed of `bench-laser` is 600 x 400 mm" in cut(tmp_path, wide, status=2)
    close = layout([(1, 0, 5, 5), (1, 0, 45.1, 5)], spacing=0.1)
    assert "the kerf is 0.16 mm" in cut(tmp_path, close, status=2)
    edge = layout([(1, 0, 0, 0)], margin=0)
    assert "margin" in cut(tmp_path, edge, status=2)


def test_the_same_layout_gives_the_same_bytes(tmp_path):
    data = layout(WEEK)
    texts = []
    for k in range(2):
        at = tmp_path / str(k)
        at.mkdir()
        cut(at, data)
        texts.append(code(at)[0])
    assert texts[0] == texts[1]


def test_edges_a_kerf_apart_are_cut_once_and_parts_keep_their_size(tmp_path):
    step_x, step_y = 40.16, 20.16
    placed = [(0, 0, 10 + step_x * (i % 4), 10 + step_y * (i // 4)) for i in range(12)]
    data = layout(placed, shapes=(PAD,), spacing=0.16)
    assert "--common" in cut(tmp_path, data, status=2)
    cut(tmp_path, data, "bench-laser", "--common", "--no-nicks")
    _, found = code(tmp_path)
    paths = [path_of(s) for s in found.strokes()]
    assert not_twice(paths) == []
    along = sum(p.length for p in paths)
    assert along == pytest.approx(4 * 4 * step_x + 5 * 3 * step_y, abs=0.05)
    gone = unary_union([p.buffer(0.08, quad_segs=32) for p in paths])
    pieces = list(box(0, 0, 400, 300).difference(gone).geoms)
    assert len(pieces) == 13
    for _, _, polygon in drawn(data)[0]:
        best = min(pieces, key=lambda p: p.symmetric_difference(polygon).area)
        assert best.hausdorff_distance(polygon) < WITHIN
    # With nicks every one of them hangs on the sheet, itself or over others.
    cut(tmp_path, data, "bench-laser", "--common")
    _, found = code(tmp_path)
    gone = unary_union([path_of(s).buffer(0.08, quad_segs=16) for s in found.strokes()])
    assert box(0, 0, 400, 300).difference(gone).geom_type == "Polygon"


LONG = [(0, 0, 20 + 225 * i, 30) for i in range(4)]


def test_passes_meet_end_to_end_and_holes_say_where_the_sheet_lies(tmp_path):
    data = layout(LONG, (940, 180))
    said = cut(tmp_path, data, status=2)
    assert "--passes" in said
    # The same on a bed that is long enough, to compare with.
    long = laser().replace('bed "600mm" "400mm"', 'bed "1000mm" "400mm"')
    (tmp_path / "long.kdl").write_text(long, "utf-8")
    cut(tmp_path, data, tmp_path / "long.kdl")
    whole = [path_of(s) for s in code(tmp_path)[1].strokes()]
    report = cut(tmp_path, data, "bench-laser", "--passes")
    files = report["sheets"][0]["files"]
    assert len(files) >= 2
    parts, holes = [], []
    for name in files:
        text = (tmp_path / "out" / name).read_text("ascii")
        found = read(text, 1000)
        left = float(re.search(r"sheet ([0-9.]+) mm to the left", text)[1])
        spots = [tuple(map(float, m)) for m in re.findall(r"register hole at X([0-9.]+) Y([0-9.]+)", text)]
        if holes:
            assert len(spots) == 2
            for (x, y), (hx, hy) in zip(spots, holes):
                assert (x + left, y) == pytest.approx((hx, hy), abs=0.02)
        holes = []
        for m in found.moves:
            assert -1e-6 <= min(m.start[0], m.end[0]) and max(m.start[0], m.end[0]) <= 600 + 1e-6
        for s in found.strokes():
            path = path_of(s)
            moved = LineString([(x + left, y) for x, y in path.coords])
            if moved.is_ring and abs(Polygon(moved).area - math.pi * 2.42**2) < 0.05:
                centre = Polygon(moved).centroid
                holes.append((centre.x, centre.y))
                outlines = [c[2] for c in drawn(data)[0] if not c[1]]
                assert all(o.distance(centre) >= 2.5 + 3 - 0.01 for o in outlines)
            else:
                parts.append(moved)
    assert not_twice(parts) == []
    # The pieces together are the whole: as long, and nowhere off it.
    assert sum(p.length for p in parts) == pytest.approx(sum(p.length for p in whole), abs=0.1)
    near = unary_union([p.buffer(0.005) for p in whole])
    assert all(near.contains(p) for p in parts)


REAL = {
    "dials": "1200mmx800mm",
    "mantel-clock": "1600mmx1200mm",
}


@pytest.mark.parametrize("example", REAL)
def test_real_blanks_are_cut_as_they_were_laid(tmp_path, example):
    laid = ["--sheet", REAL[example], "--rounds", "20", "--out", tmp_path / "laid"]
    done = run("lay", ROOT / f"examples/{example}.kdl", *laid, timeout=300)
    assert done.returncode == 0, done.stderr.decode()
    (file,) = (tmp_path / "laid").glob("*.layout.json")
    data = json.loads(file.read_text("utf-8"))
    wide = laser().replace('bed "600mm" "400mm"', 'bed "1600mm" "1200mm"')
    (tmp_path / "wide.kdl").write_text(wide, "utf-8")
    done = run("cut", file, "--machine", tmp_path / "wide.kdl", "--no-nicks", "--json", "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr.decode()
    report = json.loads(done.stdout)
    for n, sheet in enumerate(report["sheets"]):
        text = (tmp_path / "out" / sheet["files"][0]).read_text("ascii")
        found = read(text, 1000)
        cuts = [line for p in data["sheets"][n]["placed"] for line in data["parts"][p["part"]]["lines"]
                if line["use"] == "cut"]
        drawn_length = sum(
            LineString(flat(list(map(tuple, c["points"])) + ([tuple(c["points"][0])] if c["closed"] else []),
                            closed=False)).length
            for c in cuts
        )
        assert sheet["cut"] == pytest.approx(drawn_length, abs=0.4 * sum(len(c["points"]) for c in cuts))
        paths = [path_of(s) for s in found.strokes()]
        assert not_twice(paths) == []
        # No cut runs over the board of a part; shapes stand out by 0.05 mm where they have arcs.
        gone = unary_union([p.buffer(0.08, quad_segs=8) for p in paths if p.is_ring])
        for p in data["sheets"][n]["placed"]:
            part = data["parts"][p["part"]]
            at = [v / 1000 for v in p["at"]]
            ring = lambda pts: turned([(x / 1000, y / 1000) for x, y in pts], p["turn"], at)
            shape = Polygon(ring(part["outline"]), [ring(w) for w in part["windows"]])
            assert gone.intersection(shape.buffer(-0.06)).area < 1e-3
