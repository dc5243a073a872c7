"""The bench's peer computes what it should, so that its time is a fair one."""

import io
import json
import subprocess
import sys

import ezdxf
import pytest

from outputs import ROOT
from standin import peer


def test_handbook_rule_at_half_depth():
    t = 4.0
    blank = peer.draw(peer.Ask(400, 300, 200, t, 0.5))
    sizes = {p.name: (p.drawn[2] - p.drawn[0], p.drawn[3] - p.drawn[1]) for p in blank.panels}
    # Panel = inside + t, inner-flap walls D + t, outer-flap walls D + 3t; the front's free edge
    # lies on no crease and the left wall is short by t for the lap behind the front.
    assert sizes["back"] == pytest.approx((400 + t, 200 + 3 * t))
    assert sizes["right"] == pytest.approx((300 + t, 200 + t))
    assert sizes["front"] == pytest.approx((400 + t / 2, 200 + 3 * t))
    assert sizes["left"] == pytest.approx((300, 200 + t))
    assert sizes["front top"][1] == pytest.approx((300 + t) / 2)
    assert blank.figures["length"] == pytest.approx(2 * 404 + 2 * 304 + 35 - t - t / 2)
    assert blank.figures["width"] == pytest.approx(200 + 3 * t + 304)


@pytest.mark.parametrize("p", [0.0, 0.5])
def test_good_case_closes_and_is_clear(p):
    ask = peer.Ask(152.4, 101.6, 76.2, 3.25, p)
    blank = peer.draw(ask)
    found = peer.rest(blank, ask)
    assert found["clashes"] == {}
    assert found["room"] == pytest.approx([152.4, 101.6, 76.2])
    assert peer.motion(blank, ask) == {}


def test_no_step_drives_outer_flaps_into_inner_ones():
    ask = peer.Ask(152.4, 101.6, 76.2, 3.25, 0.0, step=0.0)
    clashes = peer.rest(peer.draw(ask), ask)["clashes"]
    assert clashes
    assert all(("top" in k or "bottom" in k) for k in clashes)


def test_dxf_is_sound():
    text = peer.write_dxf(peer.draw(peer.Ask(400, 300, 200, 4, 0.5)))
    auditor = ezdxf.read(io.StringIO(text)).audit()
    assert not auditor.errors and not auditor.fixes


@pytest.mark.parametrize("mode", ["rest", "motion"])
def test_prints_one_object(mode):
    done = subprocess.run(
        [sys.executable, ROOT / "benches/peer/peer.py", "400", "300", "200", "4", "0.5"]
        + ["--mode", mode, "--repeats", "2"],
        check=True,
        capture_output=True,
        text=True,
    )
    told = json.loads(done.stdout)
    assert 0 < told["median_us_without_dxf"] < told["median_us"]
    assert told["clashes"] == {}
