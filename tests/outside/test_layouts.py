"""Layouts of random mixes of real blanks, laid by `cargo test --test layouts`, looked at with shapely."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from check_layout import faults
from outputs import ROOT, run

TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
FOLDER = TARGET / "tmp" / "mixes"
LEAST = int(os.environ.get("BOXWRIGHT_LAYOUTS", "500"))


@pytest.fixture(scope="module")
def files():
    if not FOLDER.is_dir():
        command = ["cargo", "test", "--quiet", "--release", "--workspace", "--features", "boxwright-cli/studio", "--test", "layouts"]
        subprocess.run(command, cwd=ROOT, check=True)
    return sorted(FOLDER.glob("*.layout.json"))


def test_every_layout_is_sound(files):
    assert len(files) >= LEAST
    wrong = {f.name: w for f in files if (w := faults(f.read_text(encoding="utf-8")))}
    assert not wrong, wrong


def test_the_mixes_are_mixes(files):
    layouts = [json.loads(f.read_text(encoding="utf-8")) for f in files]
    laid = [sum(len(s["placed"]) for s in x["sheets"]) for x in layouts]
    kinds = [len(x["parts"]) for x in layouts]
    assert sum(laid) > 3 * len(files)
    assert sum(k > 1 for k in kinds) > len(files) // 2
    assert sum(any(s["off_cut"] for s in x["stock"]) for x in layouts) > len(files) // 10
    assert sum(any(x["left"]) for x in layouts) < len(files)


def spoilt(layout, how):
    sheet = next(s for s in layout["sheets"] if len(s["placed"]) > 1)
    first, last = sheet["placed"][0], sheet["placed"][-1]
    match how:
        case "moved onto another":
            last["part"], last["turn"], last["at"] = first["part"], first["turn"], first["at"]
        case "turned":
            part = layout["parts"][first["part"]]
            part["quarter_turns"] = False
            first["turn"] = (first["turn"] + 90) % 360
            part["flutes"] = "x" if first["turn"] in (90, 270) else "y"
        case "one lost":
            sheet["placed"].pop()
        case "far off":
            last["at"][0] += 20_000_000
        case "more asked":
            layout["parts"][0]["wanted"] += 1
        case "no stock":
            layout["stock"][sheet["stock"]]["count"] = 0
        case "another board":
            layout["stock"][sheet["stock"]]["board"] += "?"
        case "line moved":
            layout["parts"][0]["lines"][0]["points"][0][0] -= 5_000.0
        case "more room asked":
            layout["spacing"] = 3_000_000
        case "more margin asked":
            layout["margin"] = 3_000_000
    return json.dumps(layout)


HOW = [
    "moved onto another", "turned", "one lost", "far off", "more asked", "no stock", "another board", "line moved",
    "more room asked", "more margin asked",
]


@pytest.mark.parametrize("how", HOW)
def test_faults_are_noticed(files, how):
    layouts = (json.loads(f.read_text(encoding="utf-8")) for f in files)
    mixed = [x for x in layouts if any(len(s["placed"]) > 1 for s in x["sheets"])][:5]
    assert len(mixed) == 5
    for layout in mixed:
        assert faults(spoilt(layout, how)), how


def plate(tmp_path, sheet, *more):
    job = tmp_path / "plate.kdl"
    job.write_text(
        'job "plate" {\n  style "slotted-case"\n  board "B"\n'
        '  inside length="200mm" width="150mm" depth="100mm"\n}\n',
        encoding="utf-8",
    )
    return run("lay", str(job), "--sheet", sheet, "--rounds", "30", "--json", *more)


def test_the_program_tells_what_is_left(tmp_path):
    fits = plate(tmp_path, "1600mmx1200mm")
    assert fits.returncode == 0, fits.stderr
    assert not faults(fits.stdout)
    small = plate(tmp_path, "300mmx200mm")
    assert small.returncode == 1
    layout = json.loads(small.stdout)
    assert layout["left"] == [1] and layout["figures"]["why"] == ["too-big"]
    few = plate(tmp_path, "1600mmx1200mm:1", "--quantity", "plate=60")
    assert few.returncode == 1
    assert json.loads(few.stdout)["figures"]["why"] == ["no-room"]
    assert not faults(few.stdout)
    again = plate(tmp_path, "1600mmx1200mm:1", "--quantity", "plate=60")
    assert again.stdout == few.stdout
