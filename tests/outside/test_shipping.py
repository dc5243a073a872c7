"""The shipping sheet read back: its paper, its figures, and that no words run into one another."""

import json
import subprocess

import pytest

from drawn import open_pdf
from outputs import BINARY, ROOT

JOBS = ["mantel-clock", "pendulum", "brass-weights", "glass-dome", "dials", "movement"]
ASKED = ["--high", "4", "--days", "90", "--humidity", "80%"]
# A4 is 210 x 297 mm (ISO 216), 72 points to the inch.
A4 = (595.276, 841.89)
# Boxes of words are higher than their letters; so much of one may lie in another, in points.
LOOSE = 1.2


def ship(name, out):
    ran = subprocess.run(
        [BINARY, "ship", ROOT / f"examples/{name}.kdl", *ASKED, "--json", "--out", out],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert ran.returncode in (0, 1), ran.stderr
    told = json.loads(ran.stdout)
    assert (ran.returncode == 1) == any(u["asked"] for u in told["unmet"])
    return told


@pytest.fixture(scope="module", params=JOBS)
def sheet(request, tmp_path_factory):
    out = tmp_path_factory.mktemp(request.param)
    told = ship(request.param, out)
    (name,) = [f for f in told["files"] if f.endswith(".pdf")]
    return told, out / name


def test_paper_is_a4_and_nothing_lies_outside(sheet):
    _, path = sheet
    with open_pdf(path) as pdf:
        assert 2 <= len(pdf.pages) <= 3
        for page in pdf.pages:
            assert (page.width, page.height) == pytest.approx(A4, abs=0.05)
            # Ten millimetres from the edge, where printers do not reach.
            edge = 10 * 72 / 25.4
            assert page.chars
            for c in page.chars:
                assert edge <= c["x0"] and c["x1"] <= page.width - edge, c
                assert edge <= c["top"] and c["bottom"] <= page.height - edge, c


def test_no_words_overlap(sheet):
    _, path = sheet
    with open_pdf(path) as pdf:
        for page in pdf.pages:
            # Sizes along slanting lines have boxes that say little.
            level = [c for c in page.chars if abs(c["matrix"][1]) < 1e-6]
            upright = [c for c in level if c["text"].strip()]
            upright.sort(key=lambda c: c["top"])
            clashes = []
            for i, a in enumerate(upright):
                for b in upright[i + 1 :]:
                    if b["top"] > a["bottom"]:
                        break
                    # The middle half of a letter's box is ink.
                    quarter = [0.25 * (c["bottom"] - c["top"]) for c in (a, b)]
                    over = min(a["bottom"] - quarter[0], b["bottom"] - quarter[1]) - max(
                        a["top"] + quarter[0], b["top"] + quarter[1]
                    )
                    side = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
                    # Neighbours in a line may be drawn together, such as `r,`.
                    line = abs(a["bottom"] - b["bottom"]) < 0.01
                    if over > 0 and side > (2 * LOOSE if line else LOOSE):
                        clashes.append((a["text"], b["text"], a["x0"], a["top"]))
            assert not clashes, clashes[:5]


def number(v, decimals):
    return f"{v:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{v:.0f}"


def test_key_figures_are_those_of_the_report(sheet):
    told, path = sheet
    with open_pdf(path) as pdf:
        text = " ".join(" ".join(p.extract_text() for p in pdf.pages).split())
    assert told["title"] in text
    size = " x ".join(number(v, 2) for v in told["outside"]["size"])
    assert f"{size} mm" in text
    gross = told["gross"]
    mass = f"{number(gross, 2)} kg" if gross >= 1 else f"{number(1000 * gross, 0)} g"
    assert mass in text
    force = [number(told["compression"]["range"][e], 0) for e in ("least", "most")]
    assert f"{force[0]} N to {force[1]} N" in text
    stack = told["stack"]
    assert f"{stack['safe-high']} high, the bottom one counted" in text
    verdict = "A stack 4 high holds" if stack["holds"] else "A STACK 4 HIGH DOES NOT HOLD"
    assert verdict in text
    parcel = told["parcel"]
    chosen = parcel["offers"][parcel["chosen"]]
    assert f"{chosen['class']} at {chosen['price']:.2f}" in text
    assert f"limit {number(told['lift']['limit'], 2)} kg" in text
    best = told["haul"]["loads"][0]["load"]
    assert f"{best['count']} cases" in text and f"of {best['per_layer']} (" in text
    for room in told["haul"]["rooms"]:
        assert room["room"]["title"] in text
        assert str(room["cases"]) in text
    for caution in told["cautions"]:
        assert caution["message"][1:40] in text, caution


def test_the_same_job_gives_the_same_bytes(tmp_path):
    first, again = (tmp_path / n for n in ("a", "b"))
    told = ship("mantel-clock", first)
    assert ship("mantel-clock", again) == told
    for name in told["files"]:
        assert (first / name).read_bytes() == (again / name).read_bytes()
