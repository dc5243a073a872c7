"""Reference values for the order in which strokes are cut.

    .venv/bin/python tests/outside/order_reference.py make            # all that are missing or cut short
    .venv/bin/python tests/outside/order_reference.py make small-03   # one, anew

writes tests/data/order/NAME.json: a random layout of nested contours, made from a seed, and the
travel that OR-Tools finds for it. `large-*` (20 to 300 strokes) are given to its routing solver for
60 s of processor time on one thread; `small-*` (6 to 12) to CP-SAT until the optimum is proved. Making all takes
about 35 minutes on a machine that does nothing else. The Rust test `order_cut` reads the files and holds our own order against them.

Coordinates are millimetres with one decimal. A task is a ring of places (`ring`: it starts and ends
at any one of them) or an open line (`line`: run from either end); `first` are the tasks that come
before it.
"""

import json
import math
import random
import sys
import time
from pathlib import Path

DATA = Path(__file__).resolve().parent.parent / "data" / "order"
ROUTING_SECONDS = 60  # of processor time
ROUTING_WAIT = 300  # by the clock, should the machine be busy with other things
LARGE = 30
SMALL = [6, 7, 8, 8, 9, 9, 10, 10, 11, 12]


# ---------------------------------------------------------------- layouts


def ring(rng, x, y, w, h):
    """Places of a contour within a box: 4 to 8 of its corners and middles of edges."""
    kind = rng.choice(["box", "box", "slant", "round", "notched"])
    if kind == "box":
        at = [(0, 0), (0.5, 0), (1, 0), (1, 0.5), (1, 1), (0.5, 1), (0, 1), (0, 0.5)]
    elif kind == "slant":
        s = rng.uniform(0.1, 0.35)
        at = [(s, 0), (0.5, 0), (1 - s, 0), (1 - s / 2, 0.5), (1, 1), (0.5, 1), (0, 1), (s / 2, 0.5)]
    elif kind == "round":
        turn = rng.uniform(0, math.pi / 4)
        at = [
            (0.5 + 0.5 * math.cos(turn + i * math.pi / 4), 0.5 + 0.5 * math.sin(turn + i * math.pi / 4))
            for i in range(8)
        ]
    else:
        u, v = rng.uniform(0.4, 0.7), rng.uniform(0.4, 0.7)
        at = [(0, 0), (0.5, 0), (1, 0), (1, v), (u, v), (u, 1), (0, 1), (0, 0.5)]
    keep = sorted(rng.sample(range(8), rng.randint(4, 8)))
    return [(x + at[i][0] * w, y + at[i][1] * h) for i in keep]


def part(rng, tasks, x, y, w, h, depth, left):
    """A part in a box: creases, cut-outs (some with a smaller part inside), then its outline."""
    first, here = [], len(tasks)
    if left > 2 and depth == 0 and rng.random() < 0.3:
        for _ in range(rng.randint(1, min(3, left - 1))):
            if rng.random() < 0.5:
                u = x + w * rng.uniform(0.1, 0.9)
                line = [(u, y), (u, y + h)]
            else:
                v = y + h * rng.uniform(0.1, 0.9)
                line = [(x, v), (x + w, v)]
            tasks.append({"line": line, "first": []})
            first.append(len(tasks) - 1)
    creases = list(first)
    room = left - (len(tasks) - here) - 1
    columns, rows = rng.randint(1, 3), rng.randint(1, 2)
    for c in range(columns):
        for r in range(rows):
            room = left - (len(tasks) - here) - 1
            if room <= 0 or rng.random() < 0.4:
                continue
            cw, ch = w / columns, h / rows
            iw, ih = cw * rng.uniform(0.3, 0.8), ch * rng.uniform(0.3, 0.8)
            ix = x + c * cw + rng.uniform(0.05, 0.95) * (cw - iw)
            iy = y + r * ch + rng.uniform(0.05, 0.95) * (ch - ih)
            inside = []
            if depth == 0 and room > 2 and min(iw, ih) > 60 and rng.random() < 0.4:
                inside = [
                    part(rng, tasks, ix + 0.15 * iw, iy + 0.15 * ih, 0.7 * iw, 0.7 * ih, depth + 1, room - 1)
                ]
            tasks.append({"ring": ring(rng, ix, iy, iw, ih), "first": creases + inside})
            first.append(len(tasks) - 1)
    tasks.append({"ring": ring(rng, x, y, w, h), "first": first})
    return len(tasks) - 1


def layout(name, seed, count):
    """`count` strokes: parts in rows on a sheet as large as they need."""
    rng = random.Random(seed)
    tasks = []
    breadth = 200 * math.sqrt(count)
    x, y, deep = 10.0, 10.0, 0.0
    while len(tasks) < count:
        w, h = rng.uniform(90, 420), rng.uniform(90, 320)
        if x + w > breadth and x > 10:
            x, y, deep = 10.0, y + deep + 6, 0.0
        part(rng, tasks, x, y, w, h, 0, count - len(tasks))
        x, deep = x + w + 6, max(deep, h)
    end = [[0, 0], [breadth, 0], None][seed % 3]

    def tidy(p):
        return [round(p[0], 1), round(p[1], 1)]

    for t in tasks:
        for key in ("ring", "line"):
            if key in t:
                t[key] = [tidy(p) for p in t[key]]
        t["first"] = sorted(t["first"])
    return {"name": name, "seed": seed, "start": [0, 0], "end": end and tidy(end), "tasks": tasks}


def wanted():
    """Name, seed and number of strokes of every layout."""
    for i in range(LARGE):
        yield f"large-{i + 1:02}", 100 + i, 20 + round(280 * i / (LARGE - 1))
    for i, count in enumerate(SMALL):
        yield f"small-{i + 1:02}", 200 + i, count


# ---------------------------------------------------------------- what both models share


def gates(task):
    """Ways to do a task: where the tool goes on and where off."""
    if "ring" in task:
        return [(p, p) for p in task["ring"]]
    a, b = task["line"]
    return [(a, b), (b, a)]


def nodes(job):
    """Every way of every task as one list, with the task of each."""
    return [(t, g) for t, task in enumerate(job["tasks"]) for g in gates(task)]


def apart(a, b):
    return math.hypot(a[0] - b[0], a[1] - b[1])


def travel(job, tour):
    """The travel of a tour of (task, (enter, leave)), after checking that it is one."""
    assert sorted(t for t, _ in tour) == list(range(len(job["tasks"])))
    at = {t: i for i, (t, _) in enumerate(tour)}
    for t, task in enumerate(job["tasks"]):
        assert all(at[f] < at[t] for f in task["first"])
    total, here = 0.0, job["start"]
    for t, (enter, leave) in tour:
        assert (enter, leave) in gates(job["tasks"][t])
        total += apart(here, enter)
        here = leave
    return total + (apart(here, job["end"]) if job["end"] else 0.0)


def whole(mm):
    """Micrometres: both solvers want whole numbers."""
    return round(1000 * mm)


# ---------------------------------------------------------------- routing


def greedy(job):
    """Always the nearest way of a task that may be done: numbers of nodes."""
    here, done, tour, all_nodes = job["start"], set(), [], nodes(job)
    while len(done) < len(job["tasks"]):
        _, i = min(
            (apart(here, g[0]), i)
            for i, (t, g) in enumerate(all_nodes)
            if t not in done and done.issuperset(job["tasks"][t]["first"])
        )
        t, (_, here) = all_nodes[i]
        done.add(t)
        tour.append(i)
    return tour


def by_routing(job, seconds):
    """OR-Tools routing: one node for each way, at most one of each task, precedence on an order dimension.

    It starts from the greedy tour, which beat its own first solutions where they were tried, and none
    of which it finds on the larger layouts; then guided local search."""
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2

    all_nodes = nodes(job)
    n = len(all_nodes)
    start, end = n, n + 1
    manager = pywrapcp.RoutingIndexManager(n + 2, 1, [start], [end])
    model = pywrapcp.RoutingModel(manager)
    leave = [g[1] for _, g in all_nodes] + [job["start"], job["start"]]
    enter = [g[0] for _, g in all_nodes] + [job["start"], job["end"]]
    matrix = [[0 if e is None else whole(apart(l, e)) for e in enter] for l in leave]
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(matrix))
    count = len(job["tasks"])
    step = model.RegisterUnaryTransitVector([1] * (n + 2))
    model.AddDimension(step, 0, count + 2, True, "order")
    order = model.GetDimensionOrDie("order")
    index = [[] for _ in range(count)]
    for i, (t, _) in enumerate(all_nodes):
        index[t].append(manager.NodeToIndex(i))
    penalty = 10 * whole(sum(apart(job["start"], g[0]) for _, g in all_nodes) / n)
    for own in index:
        model.AddDisjunction(own, penalty, 1)
    for t, task in enumerate(job["tasks"]):
        for f in task["first"]:
            for i in index[f]:
                for j in index[t]:
                    order.AddNodePrecedence(i, j, 1)
    ask = pywrapcp.DefaultRoutingSearchParameters()
    ask.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    ask.time_limit.FromSeconds(ROUTING_WAIT)
    until = time.process_time() + seconds
    model.AddSearchMonitor(model.solver().CustomLimit(lambda: time.process_time() > until))
    model.CloseModelWithParameters(ask)
    begun = [[manager.NodeToIndex(i) for i in greedy(job)]]
    found = model.SolveFromAssignmentWithParameters(model.ReadAssignmentFromRoutes(begun, True), ask)
    if found is None:
        return None
    tour, i = [], model.Start(0)
    while not model.IsEnd(i := found.Value(model.NextVar(i))):
        tour.append(all_nodes[manager.IndexToNode(i)])
    if len(tour) < count:
        return None
    return travel(job, tour)


# ---------------------------------------------------------------- CP-SAT


def by_cp_sat(job, seconds):
    """CP-SAT: a circuit over the ways with loops at those not taken, and positions for precedence."""
    from ortools.sat.python import cp_model

    all_nodes = nodes(job)
    n, count = len(all_nodes), len(job["tasks"])
    model = cp_model.CpModel()
    before = [set() for _ in range(count)]
    for t, task in enumerate(job["tasks"]):
        for f in task["first"]:
            before[t] |= {f} | before[f]
    position = [model.new_int_var(len(before[t]), count - 1, f"position {t}") for t in range(count)]
    model.add_all_different(position)
    for t in range(count):
        for f in before[t]:
            model.add(position[f] < position[t])
    taken = [model.new_bool_var(f"taken {i}") for i in range(n)]
    for t in range(count):
        model.add_exactly_one(taken[i] for i in range(n) if all_nodes[i][0] == t)
    arcs, cost, steps = [], [], {}
    for i in range(n):
        arcs.append((i, i, taken[i].negated()))
        for j in range(n):
            a, b = all_nodes[i][0], all_nodes[j][0]
            if a == b or b in before[a] or any(a in before[k] for k in before[b]):
                continue
            var = model.new_bool_var(f"{i} to {j}")
            arcs.append((i, j, var))
            cost.append(whole(apart(all_nodes[i][1][1], all_nodes[j][1][0])) * var)
            steps.setdefault((a, b), []).append(var)
    depot = n
    for i in range(n):
        t = all_nodes[i][0]
        if not before[t]:
            var = model.new_bool_var(f"start to {i}")
            arcs.append((depot, i, var))
            cost.append(whole(apart(job["start"], all_nodes[i][1][0])) * var)
            model.add(position[t] == 0).only_enforce_if(var)
        if not any(t in b for b in before):
            var = model.new_bool_var(f"{i} to end")
            arcs.append((i, depot, var))
            cost.append((whole(apart(all_nodes[i][1][1], job["end"])) if job["end"] else 0) * var)
            model.add(position[t] == count - 1).only_enforce_if(var)
    model.add_circuit(arcs)
    outer = [(t, u, b) for (t, u), vs in steps.items() for b in [model.new_bool_var(f"step {t} {u}")]]
    for t, u, b in outer:
        model.add(sum(steps[t, u]) == b)
        model.add(position[u] == position[t] + 1).only_enforce_if(b)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 4
    status = solver.solve(model)
    if status != cp_model.OPTIMAL:
        return None
    follow = {i: j for i, j, v in arcs if i != j and solver.value(v)}
    tour, i = [], follow[depot]
    while i != depot:
        tour.append(all_nodes[i])
        i = follow[i]
    return travel(job, tour)


# ---------------------------------------------------------------- files


def written(job):
    """One line for each task, so that the files can be read and compared."""
    rows = ",\n".join("  " + json.dumps(t, separators=(",", ":")) for t in job["tasks"])
    rest = {k: v for k, v in job.items() if k != "tasks"}
    return json.dumps(rest)[:-1] + ', "tasks": [\n' + rows + "\n]}\n"


def make(name, seed, count):
    import ortools

    job = layout(name, seed, count)
    began = time.process_time()
    if name.startswith("large"):
        by, value = "routing", by_routing(job, ROUTING_SECONDS)
    else:
        by, value = "cp-sat, proved", by_cp_sat(job, 1200)
    seconds = round(time.process_time() - began, 1)
    job["reference"] = {"travel": value, "by": by, "processor": seconds, "ortools": ortools.__version__}
    DATA.mkdir(parents=True, exist_ok=True)
    (DATA / f"{name}.json").write_text(written(job))
    print(name, len(job["tasks"]), len(nodes(job)), by, value, f"{seconds} s", flush=True)


def done(name):
    """Whether there is a reference that was given all its time."""
    at = DATA / f"{name}.json"
    reference = json.loads(at.read_text())["reference"] if at.is_file() else {}
    full = 0 if name.startswith("small") else ROUTING_SECONDS
    return reference.get("travel") is not None and reference.get("processor", -1) >= full


def main(arguments):
    if arguments[:1] != ["make"]:
        sys.exit(__doc__)
    for name, seed, count in wanted():
        if arguments[1:] and name not in arguments[1:]:
            continue
        if arguments[1:] or not done(name):
            make(name, seed, count)


if __name__ == "__main__":
    main(sys.argv[1:])
