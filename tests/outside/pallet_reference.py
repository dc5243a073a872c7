"""Reference counts of equal rectangles on a larger one, from a constraint solver.

    .venv/bin/python tests/outside/pallet_reference.py make        # all, about 20 minutes
    .venv/bin/python tests/outside/pallet_reference.py make 12     # up to so many

writes tests/data/pallet/random.json: floors of common pallets and rooms of a hundred cases, made from a
seed, each given to OR-Tools CP-SAT for 10 s on one thread. The Rust test `pallet` reads the file: where
CP-SAT proved its count the library's must be the same, elsewhere at least as large.

The model knows nothing of how the library searches. A case may begin where lengths and widths add up
from the corner (a pattern pushed into its corner has all its cases there); no part of the floor is
covered twice; every line across the floor holds no more than its length.
"""

import json
import random
import sys
from pathlib import Path

from ortools.sat.python import cp_model

DATA = Path(__file__).resolve().parent.parent / "data" / "pallet" / "random.json"
SECONDS = 10
CASES = 100
FLOORS = [(1200, 800), (1200, 1000), (1219, 1016), (1100, 1100), (1165, 1165), (800, 600)]


def cases():
    rng = random.Random(20)
    out = []
    while len(out) < CASES:
        floor = rng.choice(FLOORS)
        width = rng.randint(90, 420)
        length = rng.randint(width, min(600, 3 * width))
        if 4 <= floor[0] * floor[1] // (length * width) <= 60:
            out.append((floor, (length, width)))
    return out


def sums(room, sizes):
    """Every length up to `room` that the sizes add up to."""
    found = {0}
    for at in range(room + 1):
        if at in found:
            found.update(at + s for s in sizes if at + s <= room)
    return sorted(found)


def solve(floor, case):
    turned = [case, case[::-1]] if case[0] != case[1] else [case]
    model = cp_model.CpModel()
    spots = []
    for w, h in turned:
        for x in sums(floor[0] - w, case) if floor[0] >= w else []:
            for y in sums(floor[1] - h, case) if floor[1] >= h else []:
                spots.append((x, y, w, h, model.new_bool_var("")))
    cuts = [sorted({s[a] for s in spots} | {s[a] + s[a + 2] for s in spots}) for a in (0, 1)]
    # A stretch between two cuts lies under a case or not, all of it.
    for x in cuts[0][:-1]:
        here = [s for s in spots if s[0] <= x < s[0] + s[2]]
        for y in cuts[1][:-1]:
            over = [s[4] for s in here if s[1] <= y < s[1] + s[3]]
            if len(over) > 1:
                model.add_at_most_one(over)
    for a in (0, 1):
        for at in cuts[a][:-1]:
            crossed = [s for s in spots if s[a] <= at < s[a] + s[a + 2]]
            model.add(sum(s[3 - a] * s[4] for s in crossed) <= floor[1 - a])
    model.add(sum(s[4] for s in spots) <= floor[0] * floor[1] // (case[0] * case[1]))
    model.maximize(sum(s[4] for s in spots))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SECONDS
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0, False
    return round(solver.objective_value), status == cp_model.OPTIMAL


def main(argv):
    most = int(argv[2]) if len(argv) > 2 else CASES
    rows = []
    for floor, case in cases()[:most]:
        count, proved = solve(floor, case)
        rows.append({"floor": floor, "case": case, "count": count, "proved": proved})
        print(len(rows), floor, case, count, "proved" if proved else "open", flush=True)
    DATA.parent.mkdir(parents=True, exist_ok=True)
    text = ",\n".join(json.dumps(r) for r in rows)
    DATA.write_text(f"[\n{text}\n]\n")


if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1] != "make":
        sys.exit(__doc__)
    main(sys.argv)
