"""Reference values for the room that a set of things needs.

    .venv/bin/python tests/outside/size_reference.py make             # all that are missing
    .venv/bin/python tests/outside/size_reference.py make 12          # set 12, anew
    .venv/bin/python tests/outside/size_reference.py make --seconds 5 # less processor time for each

writes tests/data/size/sets.json: 200 random sets of 2 to 8 cuboids, made from a seed, and the
smallest room that OR-Tools CP-SAT finds for each within 20 s of processor time on two threads, or
until it has proved that there is no smaller one. The Rust test `contents` reads the file and holds
our own rooms against it.

Sizes are on a grid of 5 mm, 30 to 400 mm. `up` is the axis of the thing (0, 1 or 2) that has to stand
upright in the room, or null when it may lie any way. The room is [length, width, depth]; depth is up.
"""

import json
import os
import random
import sys
import threading
import time
from itertools import permutations
from pathlib import Path

from ortools.sat.python import cp_model

DATA = Path(__file__).resolve().parent.parent / "data" / "size" / "sets.json"
SETS = 200
SEED = 4107
GRID = 5
SECONDS = 20.0
WORKERS = 2


def things(number):
    """Set `number`: a list of ([length, width, depth] in mm, up)."""
    rng = random.Random(SEED + number)
    count = 2 + number % 7
    shape = rng.choice(["any", "any", "like", "long", "flat"])
    out = []
    while len(out) < count:
        if shape == "like":
            size = [rng.randint(12, 40) for _ in range(3)]
        elif shape == "long":
            size = [rng.randint(30, 80), rng.randint(6, 25), rng.randint(6, 25)]
        elif shape == "flat":
            size = [rng.randint(20, 80), rng.randint(20, 80), rng.randint(6, 14)]
        else:
            size = [rng.randint(6, 80) for _ in range(3)]
        up = rng.randrange(3) if rng.random() < 0.25 else None
        thing = ([GRID * s for s in size], up)
        out.append(thing)
        if len(out) < count and rng.random() < 0.15:
            out.append(thing)
    return out


def ways(size, up):
    """The sizes along length, width and depth of the room that this thing may show."""
    found = set()
    for p in permutations(range(3)):
        if up is None or p[2] == up:
            found.add(tuple(size[a] for a in p))
    return sorted(found)


class Stop(cp_model.CpSolverSolutionCallback):
    """Counts solutions; the search is stopped by processor time from a thread beside it."""

    def __init__(self):
        super().__init__()
        self.found = 0

    def on_solution_callback(self):
        self.found += 1


def solve(items, seconds):
    items = [([s // GRID for s in size], up) for size, up in items]
    n = len(items)
    volume = sum(a * b * c for (a, b, c), _ in items)
    longest = sum(max(size) for size, _ in items)
    model = cp_model.CpModel()
    room = [model.new_int_var(1, longest, f"room{a}") for a in range(3)]
    place, extent = [], []
    for i, (size, up) in enumerate(items):
        choices = ways(size, up)
        picked = [model.new_bool_var(f"way{i}_{k}") for k in range(len(choices))]
        model.add_exactly_one(picked)
        at, ext = [], []
        for a in range(3):
            values = sorted({c[a] for c in choices})
            e = model.new_int_var_from_domain(cp_model.Domain.from_values(values), f"e{i}_{a}")
            model.add(e == sum(c[a] * p for c, p in zip(choices, picked)))
            x = model.new_int_var(0, longest, f"x{i}_{a}")
            model.add(x + e <= room[a])
            at.append(x)
            ext.append(e)
        place.append(at)
        extent.append(ext)
    for i in range(n):
        for j in range(i):
            sides = []
            for a in range(3):
                for p, q in ((i, j), (j, i)):
                    b = model.new_bool_var(f"s{p}_{q}_{a}")
                    model.add(place[p][a] + extent[p][a] <= place[q][a]).only_enforce_if(b)
                    sides.append(b)
            model.add_at_least_one(sides)
    model.add(room[0] >= room[1])
    if all(up is None for _, up in items):
        model.add(room[1] >= room[2])
    # Mirror images of a packing are the same packing.
    big = max(range(n), key=lambda i: items[i][0][0] * items[i][0][1] * items[i][0][2])
    for a in range(3):
        model.add(2 * place[big][a] + extent[big][a] <= room[a])
    most = longest * max(sum(max(s[0], s[1], s[2]) for s, _ in items), 1)
    floor = model.new_int_var(1, longest * longest, "floor")
    model.add_multiplication_equality(floor, [room[0], room[1]])
    total = model.new_int_var(volume, most * longest, "volume")
    model.add_multiplication_equality(total, [floor, room[2]])
    model.minimize(total)

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = 1
    begun, over = time.process_time(), threading.Event()

    def watch():
        while not over.wait(0.05):
            if time.process_time() - begun >= seconds:
                solver.stop_search()

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    status = solver.solve(model, Stop())
    over.set()
    watcher.join()
    used = time.process_time() - begun
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise SystemExit(f"no packing at all: {solver.status_name(status)}")
    inside = [solver.value(r) * GRID for r in room]
    placed = [
        [[solver.value(v) * GRID for v in at], [solver.value(v) * GRID for v in ext]]
        for at, ext in zip(place, extent)
    ]
    return inside, placed, status == cp_model.OPTIMAL, solver.best_objective_bound * GRID**3, used


def sound(items, inside, placed):
    """Every thing lies in the room, as it may lie, and none in another."""
    for (size, up), (at, ext) in zip(items, placed):
        assert tuple(ext) in ways(size, up)
        assert all(0 <= x and x + e <= r for x, e, r in zip(at, ext, inside))
    for i, (p, e) in enumerate(placed):
        for q, f in placed[:i]:
            assert any(p[a] + e[a] <= q[a] or q[a] + f[a] <= p[a] for a in range(3))


def write(done):
    DATA.parent.mkdir(parents=True, exist_ok=True)
    about = "random sets and the rooms CP-SAT found: tests/outside/size_reference.py"
    lines = ",\n".join(json.dumps(done[k], separators=(",", ":")) for k in sorted(done))
    text = f'{{"about":"{about}","seed":{SEED},"sets":[\n{lines}\n]}}\n'
    beside = DATA.with_suffix(".tmp")
    beside.write_text(text)
    os.replace(beside, DATA)


def make(numbers, seconds):
    done = {}
    if DATA.exists():
        done = {s["set"]: s for s in json.loads(DATA.read_text())["sets"]}
    for number in numbers or [k for k in range(SETS) if k not in done]:
        items = things(number)
        inside, placed, proved, bound, used = solve(items, seconds)
        sound(items, inside, placed)
        done[number] = {
            "set": number,
            "things": [{"size": size, "up": up} for size, up in items],
            "inside": inside,
            "volume": inside[0] * inside[1] * inside[2],
            "bound": round(bound),
            "proved": proved,
            "limit": seconds,
        }
        write(done)
        filled = sum(a * b * c for (a, b, c), _ in items) / done[number]["volume"]
        print(f"{number} of {len(items)}: {inside} filled {filled:.3f} proved {proved} in {used:.1f} s", flush=True)


if __name__ == "__main__":
    args = sys.argv[1:]
    limit = SECONDS
    if "--seconds" in args:
        at = args.index("--seconds")
        limit = float(args[at + 1])
        del args[at : at + 2]
    if not args or args[0] != "make":
        raise SystemExit(__doc__)
    make([int(a) for a in args[1:]], limit)
