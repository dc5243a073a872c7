"""Random sizes, boards and crease depths: refused for a named requirement, or it folds, and an
outside solid modeller agrees."""

import math
import os
import random
import re

import pytest

import check_glb
from outputs import ROOT, Folder, run

STYLES = sorted(p.stem for p in (ROOT / "styles").glob("*.kdl"))
BOARDS = ("E", "B", "C", "A", "EB", "BC")
CASES_IN_ALL = 216
LENGTH = (80.0, 700.0)
WIDTH_SHARE = (0.35, 1.0)
DEPTH = (25.0, 450.0)
AXIS_DEPTH = (0.0, 0.6)
REFUSALS = r"requirement|out-of-range"
LEAST_MADE = 200
EACH = int(os.environ.get("BOXWRIGHT_OUTSIDE", "0"))
MOST_TRIES = 12


def log_uniform(rng, low, high):
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def random_job(rng, style):
    length = log_uniform(rng, *LENGTH)
    width = length * rng.uniform(*WIDTH_SHARE)
    depth = log_uniform(rng, *DEPTH)
    return (
        'job "random" {\n'
        f'  style "{style}"\n'
        f'  board "{rng.choice(BOARDS)}"\n'
        f'  inside length="{length:.2f}mm" width="{width:.2f}mm" depth="{depth:.2f}mm"\n'
        f'  crease "rule" depth="{rng.uniform(*AXIS_DEPTH):.3f}"\n'
        "}\n"
    )


def test_there_are_styles():
    assert len(STYLES) >= 36, STYLES


@pytest.mark.parametrize("style", STYLES)
def test_folds_or_names_the_requirement(style, tmp_path):
    seed = random.randrange(2**32)
    print(f"seed {seed}")
    rng = random.Random(seed)
    wanted = EACH or math.ceil(max(CASES_IN_ALL, LEAST_MADE) / len(STYLES))
    made = 0
    for n in range(MOST_TRIES * wanted):
        if made == wanted:
            break
        job = random_job(rng, style)
        out = tmp_path / str(n)
        done = run("make", "-", "--only", "glb", "--only", "report", "--out", out, stdin=job.encode("utf-8"))
        said = done.stderr.decode("utf-8")
        if done.returncode == 2:
            assert re.search(REFUSALS, said), f"{job}\n{said}"
            continue
        folder = Folder(out)
        fails = [f for f in folder.report["findings"] if f["verdict"] == "fail"]
        assert done.returncode == 0 and not fails, f"{job}\n{fails}\n{said}"
        try:
            check_glb.check(folder.glb(), folder.report, folder.panels(), folder.intrusions())
        except AssertionError as e:
            raise AssertionError(f"{job}\n{e}") from e
        made += 1
    assert made == wanted, f"only {made} of {wanted} were not refused"
