"""True-size pages against the DXF, as a person with a ruler and a roll of tape would use them."""

import itertools
import math
import xml.etree.ElementTree as xml
from collections import Counter, defaultdict, deque

import numpy as np
import pypdfium2
from shapely import MultiLineString, Point, STRtree, box, unary_union
from shapely.affinity import translate

from drawn import PT, Ink, open_pdf, page_ink, read_dxf

PLACE_SLACK = 0.01
TAPED_SLACK = 0.05
ARM_MOST = 40.0
LABEL_MOST = 5.0
INK_DPI = 200
DRAWN_USES = ("cut", "crease-inward", "crease-outward", "perforation")


def title(path, text):
    with open_pdf(path) as pdf:
        found = " ".join((page.extract_text() or "") for page in pdf.pages)
    assert text.casefold() in " ".join(found.split()).casefold(), f"{text!r} is not text in {path}"


def wanted(dxf):
    drawn = read_dxf(dxf)
    return [(use, s) for use in DRAWN_USES for s in drawn.get(use, [])]


def shift(strokes, ink: list[Ink]):
    """Where the DXF's origin lies on the page: the shift most lines agree on."""
    straight = sorted((s for _, s in strokes if s.bulge == 0), key=lambda s: -s.length)[:40]
    votes = Counter()
    exact = {}
    for s in straight:
        vector = np.subtract(s.b, s.a)
        for i in ink:
            if not i.straight:
                continue
            for p, q in ((i.points[0], i.points[1]), (i.points[1], i.points[0])):
                if np.hypot(*(np.subtract(q, p) - vector)) < 2 * PLACE_SLACK:
                    at = np.subtract(p, s.a)
                    key = tuple(np.round(at, 1))
                    votes[key] += 1
                    exact.setdefault(key, []).append(at)
    assert votes, "no line of the PDF is as long as one of the DXF"
    key, _count = votes.most_common(1)[0]
    near = [v for k, vs in exact.items() if math.dist(k, key) < 0.15 for v in vs]
    return np.median(near, axis=0)


def true_size(path, dxf):
    """Every cut and crease line of the DXF is on the one page, its ends within 0.01 mm."""
    strokes = wanted(dxf)
    assert strokes
    with open_pdf(path) as pdf:
        assert len(pdf.pages) == 1, f"{len(pdf.pages)} pages"
        page = pdf.pages[0]
        ink = page_ink(page)
        size = (float(page.width) * PT, float(page.height) * PT)
    at = shift(strokes, ink)
    straight = [i for i in ink if i.straight]
    ends = np.array([[*i.points[0], *i.points[1]] for i in straight])
    curves = [MultiLineString([i.points]) for i in ink if not i.straight]
    tree = STRtree(curves)
    for use, s in strokes:
        a, b = np.add(s.a, at), np.add(s.b, at)
        for p in (a, b):
            assert 0 <= p[0] <= size[0] and 0 <= p[1] <= size[1], f"{use} leaves the page at {p}"
        if s.bulge == 0:
            there = np.minimum(
                np.abs(ends - np.concatenate([a, b])).max(axis=1),
                np.abs(ends - np.concatenate([b, a])).max(axis=1),
            )
            assert there.min() <= PLACE_SLACK, (
                f"{use} from {s.a} to {s.b}: nearest line of the PDF is {there.min():.4f} mm off"
            )
        else:
            arc = translate(s.line(), *at)
            near = unary_union([curves[k] for k in tree.query(arc.buffer(0.1))])
            for p in arc.coords:
                off = near.distance(Point(p)) if not near.is_empty else math.inf
                assert off <= PLACE_SLACK, f"{use} arc from {s.a}: {off:.4f} mm off at {p}"


def marks(page) -> dict[str, tuple]:
    """Register marks of a page: label -> centre. A mark is an upright cross of two short lines
    drawn alike; its label is the word nearest to it."""
    short = [i for i in page_ink(page) if i.straight and math.dist(*i.points) <= ARM_MOST]
    level = [i for i in short if abs(i.points[0][1] - i.points[1][1]) < 1e-3]
    plumb = [i for i in short if abs(i.points[0][0] - i.points[1][0]) < 1e-3]
    height = float(page.height)
    words = [
        (
            w["text"],
            box(w["x0"] * PT, (height - w["bottom"]) * PT, w["x1"] * PT, (height - w["top"]) * PT),
        )
        for w in page.extract_words()
    ]
    out = {}
    for h, v in itertools.product(level, plumb):
        at = (np.mean(v.points, axis=0)[0], np.mean(h.points, axis=0)[1])
        across, up = sorted(p[0] for p in h.points), sorted(p[1] for p in v.points)
        inside = across[0] + 1 < at[0] < across[1] - 1 and up[0] + 1 < at[1] < up[1] - 1
        if h.style == v.style and inside:
            distance, label = min((b.distance(Point(at)), text) for text, b in words)
            assert distance < LABEL_MOST, f"a register mark without a label at {at}"
            assert label not in out, f"two register marks {label} on one page"
            out[label] = at
    return out


def lay_out(pages: list[dict[str, tuple]]) -> list:
    """Where each page lies when equal marks are laid on each other; page 1 at the origin."""
    sharing = defaultdict(list)
    for n, page in enumerate(pages):
        for label in page:
            sharing[label].append(n)
    at = {0: np.zeros(2)}
    queue = deque([0])
    while queue:
        n = queue.popleft()
        for label, centre in pages[n].items():
            for other in sharing[label]:
                place = at[n] + centre - np.array(pages[other][label])
                if other not in at:
                    at[other] = place
                    queue.append(other)
                else:
                    off = math.dist(at[other], place)
                    assert off <= 2 * PLACE_SLACK, f"mark {label} is {off:.3f} mm off"
    lost = [n + 1 for n in range(len(pages)) if n not in at]
    assert not lost, f"pages {lost} share no register mark with the others"
    return [at[n] for n in range(len(pages))]


def tiles(path, dxf):
    """Taped together by their marks, the pages show every line of the DXF and no other."""
    strokes = wanted(dxf)
    with open_pdf(path) as pdf:
        crosses = [marks(p) for p in pdf.pages]
        inks = [page_ink(p) for p in pdf.pages]
        sizes = [(float(p.width) * PT, float(p.height) * PT) for p in pdf.pages]
    if len(inks) > 1:
        # A page without marks is not taped: the key to the others.
        taped_pages = [n for n, found in enumerate(crosses) if found]
        assert taped_pages, "several pages and no register mark"
        crosses, inks, sizes = ([a[n] for n in taped_pages] for a in (crosses, inks, sizes))
        places = lay_out(crosses)
    else:
        taped_pages, places = [0], [np.zeros(2)]
    laid = []
    for n, (ink, place, size) in enumerate(zip(inks, places, sizes)):
        sheet = translate(box(0, 0, *size), *place)
        for i in ink:
            line = translate(MultiLineString([i.points]), *place).intersection(sheet)
            laid.append((i.style, line))
    at = tape_shift(strokes, laid)
    lines = [(use, translate(s.line(), *at)) for use, s in strokes]

    taped = unary_union([line for _, line in laid]).buffer(TAPED_SLACK)
    for use, line in lines:
        missing = line.difference(taped).length
        assert missing <= TAPED_SLACK, f"{use}: {missing:.3f} mm missing of {line.wkt[:80]}"

    drawing = unary_union([line for _, line in lines]).buffer(TAPED_SLACK)
    on = Counter()
    for style, line in laid:
        if not line.is_empty and drawing.covers(line):
            on[style] += line.length
    assert on, "no line of the pages lies on the drawing"
    own = {style for style, length in on.items() if length > 0.02 * sum(on.values())}
    for style, line in laid:
        if style in own:
            over = line.difference(drawing).length
            assert over <= TAPED_SLACK, f"{over:.3f} mm of {style} that the DXF does not have"
    inked(path, taped_pages, places, [(use, s.line()) for use, s in strokes if use == "cut"], at)


def tape_shift(strokes, laid):
    """The DXF's origin on the taped sheet. Lines may be cut at page edges, so corners are matched:
    the shift under which most ends of DXF lines are ends of taped lines."""
    ends = np.array(
        [
            c
            for _, line in laid
            if not line.is_empty
            for part in getattr(line, "geoms", [line])
            for c in (part.coords[0], part.coords[-1])
        ]
    )
    corners = np.array([p for _, s in strokes for p in (s.a, s.b)])
    votes = Counter()
    exact = defaultdict(list)
    for corner in corners[:: max(1, len(corners) // 60)]:
        for d in ends - corner:
            key = tuple(np.round(d, 1))
            votes[key] += 1
            exact[key].append(d)
    key, _ = votes.most_common(1)[0]
    near = [v for k, vs in exact.items() if math.dist(k, key) < 0.15 for v in vs]
    return np.median(near, axis=0)


def inked(path, numbers, places, lines, at):
    """What is really on paper: each point of a cut line is dark on some page."""
    doc = pypdfium2.PdfDocument(path)
    pixel = 25.4 / INK_DPI
    dark = []
    for n in numbers:
        image = doc[n].render(scale=INK_DPI / 72).to_pil().convert("L")
        dark.append(np.asarray(image) < 200)
    for use, line in lines:
        # Off the ends: two lines meet there and one would cover for the other.
        for d in np.arange(0.5, line.length - 0.25, 2.0):
            p = np.array(line.interpolate(d).coords[0]) + at
            if not any(_dark_at(a, p - place, pixel) for a, place in zip(dark, places)):
                raise AssertionError(f"{use} is not on any page at {tuple(p - at)}")


def _dark_at(image, p, pixel):
    row, column = image.shape[0] - 1 - int(p[1] / pixel), int(p[0] / pixel)
    if not (0 <= row < image.shape[0] and 0 <= column < image.shape[1]):
        return False
    return image[max(0, row - 2) : row + 3, max(0, column - 2) : column + 3].any()


def svg_size(path, figures):
    """Width and height in mm, one user unit to the mm, and room for the whole blank."""
    root = xml.parse(path).getroot()
    assert root.get("width").endswith("mm") and root.get("height").endswith("mm")
    width, height = float(root.get("width")[:-2]), float(root.get("height")[:-2])
    _, _, across, down = map(float, root.get("viewBox").split())
    assert math.isclose(width, across, abs_tol=1e-3), (width, across)
    assert math.isclose(height, down, abs_tol=1e-3), (height, down)
    assert width >= figures["length"] - 0.01, (width, figures["length"])
    assert height >= figures["width"] - 0.01, (height, figures["width"])
