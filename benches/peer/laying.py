"""The peer of the layout search: a general strip-packing library on the same instance.

    laying.py solve INSTANCE.json SECONDS SEED   lays the parts, prints one JSON object
    laying.py check INSTANCE.json                reads layouts from standard input, measures them

An instance is a JSON object: `name`, `strip_height`, `items` with `id`, `demand`,
`allowed_orientations` (degrees) and `shape.data`, a ring of points. A layout is a list of
`[item index, degrees, x, y]`, each part turned about the origin and then moved.
"""

import argparse
import json
import os
import sys
import time


def ring(item):
    points = [tuple(p) for p in item["shape"]["data"]]
    return points[:-1] if points[0] == points[-1] else points


def solve(instance, seconds, seed):
    import spyrrow

    items = [
        spyrrow.Item(
            str(n), ring(item), item["demand"], allowed_orientations=item["allowed_orientations"]
        )
        for n, item in enumerate(instance["items"])
    ]
    strip = spyrrow.StripPackingInstance(instance["name"], instance["strip_height"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=seconds, num_workers=1, seed=seed
    )
    wall = time.perf_counter()
    cpu = sum(os.times()[:2])
    found = strip.solve(config)
    return {
        "length": found.width,
        "cpu_s": sum(os.times()[:2]) - cpu,
        "wall_s": time.perf_counter() - wall,
        "placed": [[int(p.id), p.rotation, *p.translation] for p in found.placed_items],
    }


def check(instance, layout):
    """What lies in one another, what reaches out of the strip, and what is missing."""
    from shapely import STRtree, affinity
    from shapely.geometry import Polygon

    shapes = [Polygon(ring(item)) for item in instance["items"]]
    placed = [
        affinity.translate(affinity.rotate(shapes[n], degrees, origin=(0, 0)), x, y)
        for n, degrees, x, y in layout
    ]
    tree = STRtree(placed)
    overlap = 0.0
    for i, j in zip(*tree.query(placed)):
        if i < j:
            overlap += placed[i].intersection(placed[j]).area
    boxes = [p.bounds for p in placed]
    height = instance["strip_height"]
    missing = [item["demand"] for item in instance["items"]]
    for n, degrees, _, _ in layout:
        missing[n] -= 1
        if not any(
            abs((degrees - a + 180) % 360 - 180) < 1e-3
            for a in instance["items"][n]["allowed_orientations"]
        ):
            raise SystemExit(f"item {n} is turned by {degrees} degrees")
    return {
        "overlap_share": overlap / sum(p.area for p in placed),
        "out": max(
            -min(b[0] for b in boxes),
            -min(b[1] for b in boxes),
            max(b[3] for b in boxes) - height,
            0.0,
        )
        / height,
        "length": max(b[2] for b in boxes),
        "missing": sum(abs(n) for n in missing),
    }


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("mode", choices=["solve", "check"])
    parser.add_argument("instance")
    parser.add_argument("seconds", nargs="?", type=int, default=30)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    args = parser.parse_args()
    with open(args.instance, encoding="utf-8") as file:
        instance = json.load(file)
    if args.mode == "solve":
        print(json.dumps(solve(instance, args.seconds, args.seed)))
    else:
        print(json.dumps([check(instance, layout) for layout in json.load(sys.stdin)]))


if __name__ == "__main__":
    main()
