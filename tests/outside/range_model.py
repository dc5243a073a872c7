"""Ranges of case sizes as a whole-number program of its own, solved by HiGHS.

    range_model.py make    # writes tests/data/range/reference.json

writes the best cost of the largest order history, which takes too long to be found anew in every test.
Nothing is shared with the program but the CSV file: what fits, what it costs and which sizes may be
chosen are worked out here.
"""

import itertools
import json
import math
import random
import sys
import time
from pathlib import Path

import highspy
import numpy as np

HISTORIES = {
    # Name: orders, number of sizes, grid in mm, seed.
    "small": (60, 4, 50, 11),
    "middle": (150, 6, 50, 12),
    "large": (300, 8, 45, 13),
}
STORED = "large"
WITHIN = 1e-6
"""As near as HiGHS proves it: its gap is set to a hundredth of this."""


def history(name):
    """Rows of length, width, height in mm and count."""
    orders, _, _, seed = HISTORIES[name]
    rng = random.Random(seed)
    rows = []
    for _ in range(orders):
        length = round(math.exp(rng.uniform(math.log(80), math.log(600))))
        width = max(1, round(length * rng.uniform(0.3, 1.0)))
        height = max(1, round(width * rng.uniform(0.1, 1.0)))
        sizes = [length, width, height]
        rng.shuffle(sizes)
        rows.append((*sizes, rng.randint(1, 40)))
    return rows


def csv(rows):
    return "length,width,height,count\n" + "".join(f"{','.join(map(str, r))}\n" for r in rows)


def model(rows, grid):
    """What each distinct thing needs, how many there are, and the cases worth a look."""
    counts = {}
    for *sizes, count in rows:
        need = tuple(sorted((math.ceil(s / grid) * grid for s in sizes), reverse=True))
        counts[need] = counts.get(need, 0) + count
    needs = np.array(list(counts))
    values = [sorted(set(needs[:, d])) for d in range(3)]
    cases = []
    for case in itertools.product(*values):
        inside = needs[(needs <= case).all(axis=1)]
        # Another case does the same for less unless in each size something is as large as this one.
        if len(inside) and (inside.max(axis=0) == case).all():
            cases.append(case)
    return needs, np.array(list(counts.values())), np.array(cases)


def litres(sizes):
    return np.asarray(sizes, dtype=float).prod(axis=-1) * 1e-6


def slotted(sizes):
    l, w, d = np.asarray(sizes, dtype=float).T
    return 2 * (l + w) * (w + d) * 1e-6


def best(rows, grid, k, cost=litres, kept=()):
    """The least sum of case costs, the number of cases looked at, and whether it is proved."""
    needs, counts, cases = model(rows, grid)
    if len(kept):
        cases = np.vstack([cases, np.array(kept)])
    price = cost(cases)
    fits = (needs[:, None, :] <= cases[None, :, :]).all(axis=2)
    pairs = np.argwhere(fits)
    m, n = len(cases), len(needs)
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("mip_rel_gap", WITHIN / 100)
    lp = highspy.HighsLp()
    lp.num_col_ = m + len(pairs)
    lp.num_row_ = 1 + n + len(pairs)
    lp.col_cost_ = np.concatenate([np.zeros(m), [counts[i] * price[j] for i, j in pairs]])
    lower = np.zeros(lp.num_col_)
    lower[m - len(kept) : m] = 1
    lp.col_lower_ = lower
    lp.col_upper_ = np.ones(lp.num_col_)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * m + [highspy.HighsVarType.kContinuous] * len(pairs)
    rows_ = [[] for _ in range(lp.num_row_)]
    for j in range(m):
        rows_[0].append((j, 1.0))
    for x, (i, j) in enumerate(pairs):
        rows_[1 + i].append((m + x, 1.0))
        rows_[1 + n + x] = [(m + x, 1.0), (j, -1.0)]
    lp.row_lower_ = np.concatenate([[0.0], np.ones(n), np.full(len(pairs), -np.inf)])
    lp.row_upper_ = np.concatenate([[float(k)], np.ones(n), np.zeros(len(pairs))])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0] + [len(r) for r in rows_])
    lp.a_matrix_.index_ = np.array([c for r in rows_ for c, _ in r])
    lp.a_matrix_.value_ = np.array([v for r in rows_ for _, v in r])
    h.passModel(lp)
    h.run()
    proved = h.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return h.getInfo().objective_function_value, m, proved


def main():
    told = {}
    for name, (orders, k, grid, seed) in HISTORIES.items():
        rows = history(name)
        began = time.perf_counter()
        cost, cases, proved = best(rows, grid, k)
        took = time.perf_counter() - began
        print(f"{name}: {orders} orders, {cases} cases, {k} sizes: {cost} {proved} {took:.1f} s", file=sys.stderr)
        if name == STORED:
            told = {
                "history": name,
                "orders": orders,
                "seed": seed,
                "grid": grid,
                "sizes": k,
                "cases": cases,
                "cost": cost,
                "proved": proved,
                "by": f"HiGHS {highspy.Highs().version()}, {took:.0f} s",
            }
    # Not to standard output: HiGHS prints its banner there.
    (Path(__file__).parent.parent / "data/range/reference.json").write_text(json.dumps(told, indent=2) + "\n")


if __name__ == "__main__":
    main()
