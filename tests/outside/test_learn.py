"""Figures fitted from strips, held against a fit of their own: Gauss-Newton over the whole model in numpy, its
covariance from the Jacobian, Student's t from mpmath's incomplete beta function."""

import json

import mpmath
import numpy as np
import pytest

from outputs import run

DRAWN = 60.0


def quantile(freedom: float) -> float:
    """What Student's t exceeds with a chance of 0.025."""

    def above(t):
        x = freedom / (freedom + t * t)
        return mpmath.betainc(freedom / 2, 0.5, 0, x, regularized=True) / 2 - 0.025

    return float(mpmath.findroot(above, (1.5, 15.0), solver="anderson", tol=1e-12))


def readings(seed: int, count: int):
    rng = np.random.default_rng(seed)
    t, p, kerf = 4.07, (0.55, 0.43), 0.17
    thick = t + rng.normal(0, 0.06, 2 * count)
    channels = []
    for depth in p:
        s = DRAWN + rng.normal(0, 0.2, count)
        inside = s - 2 * depth * t + rng.normal(0, 0.08, count)
        outside = s + 2 * (1 - depth) * t + rng.normal(0, 0.08, count)
        channels.append(np.stack([inside, outside], axis=1))
    gauges = np.stack([20 + kerf + rng.normal(0, 0.03, count), 20 - kerf + rng.normal(0, 0.03, count)], axis=1)
    return tuple(np.round(a, 4) for a in (thick, channels[0], channels[1], gauges))


def file(thick, along, across, gauges) -> str:
    mm = lambda v: f'"{v:.4f}mm"'
    lines = ["caliper " + " ".join(map(mm, thick))]
    for word, channel in (("along", along), ("across", across)):
        lines += [f'channel "{word}" drawn="60mm" inside={mm(a)} outside={mm(b)}' for a, b in channel]
    lines += [f"gauge hole={mm(h)} piece={mm(q)}" for h, q in gauges]
    head = 'board "C"\nmachine "bench-laser"\ncrease "rule"\nstep "0.0001mm"\n'
    return "measurements {\n" + head + "\n".join(lines) + "\n}\n"


def fitted(thick, along, across, gauges):
    """Values, covariance and half intervals of caliper, depth along, depth across and kerf."""
    groups = [thick, along.mean(axis=1) - DRAWN, across.mean(axis=1) - DRAWN, (gauges[:, 0] - gauges[:, 1]) / 2]
    y = np.concatenate(groups)
    of = np.repeat(np.arange(4), [len(g) for g in groups])
    sigma = np.array([g.std(ddof=1) for g in groups])[of]

    def model(x):
        t, pa, pc, k = x
        return np.array([t, (1 - 2 * pa) * t, (1 - 2 * pc) * t, k])[of]

    def jacobian(x):
        t, pa, pc, _ = x
        rows = np.array([[1, 0, 0, 0], [1 - 2 * pa, -2 * t, 0, 0], [1 - 2 * pc, 0, -2 * t, 0], [0, 0, 0, 1]])
        return rows[of]

    x = np.array([3.0, 0.3, 0.3, 0.5])
    for _ in range(50):
        j = jacobian(x) / sigma[:, None]
        step, *_ = np.linalg.lstsq(j, (y - model(x)) / sigma, rcond=None)
        x = x + step
        if np.abs(step).max() < 1e-13:
            break
    j = jacobian(x) / sigma[:, None]
    cov = np.linalg.inv(j.T @ j)
    # Welch and Satterthwaite over what each group puts into the variance of a figure, rounded down.
    half = []
    for i in range(4):
        shares = np.array([cov[i] @ j[of == g].T @ j[of == g] @ cov[i] for g in range(4)])
        freedom = shares.sum() ** 2 / sum(s**2 / (len(groups[g]) - 1) for g, s in enumerate(shares))
        half.append(quantile(int(freedom + 1e-9)) * np.sqrt(cov[i, i]))
    return x, cov, half


@pytest.mark.parametrize("seed", range(12))
def test_figures_are_those_of_another_fit(tmp_path, seed):
    data = readings(seed, 3 + seed % 5)
    (tmp_path / "m.kdl").write_text(file(*data), "utf-8")
    done = run("learn", "m.kdl", "--dry-run", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr.decode()
    told = json.loads(done.stdout)
    values, cov, half = fitted(*data)
    for i, name in enumerate(("caliper", "along", "across", "kerf")):
        figure = told["measured"][name]
        assert figure["value"] == pytest.approx(values[i], abs=1e-9)
        assert figure["error"] == pytest.approx(np.sqrt(cov[i, i]), rel=1e-6)
        assert figure["half"] == pytest.approx(half[i], rel=1e-6)
    assert np.allclose(np.array(told["covariance"]), cov, rtol=1e-6, atol=1e-15)


def test_the_check_bites(tmp_path):
    """A reading changed by a hundredth of a millimetre shows."""
    data = readings(3, 5)
    values, _, _ = fitted(*data)
    data[0][0] += 0.01
    (tmp_path / "m.kdl").write_text(file(*data), "utf-8")
    done = run("learn", "m.kdl", "--dry-run", "--json", cwd=tmp_path)
    told = json.loads(done.stdout)
    assert abs(told["measured"]["caliper"]["value"] - values[0]) > 5e-4
