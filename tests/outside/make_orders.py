"""Writes an order history of the invented clock workshop: `make_orders.py ROWS SEED > orders.csv`.

Each row is an order of one thing: its three sizes in mm, how many, its mass in kg. Sizes scatter round
the things that the workshop sends; `--even` scatters them over everything instead, so that hardly two
rows are alike.
"""

import argparse
import random
import sys

# Length, width, height in mm; mass in kg; how often. Invented, after the workshop of the examples.
THINGS = [
    (312, 148, 236, 4.1, 14),  # mantel clock
    (210, 130, 66, 3.4, 10),  # pair of brass weights
    (305, 190, 190, 1.3, 6),  # glass dome
    (280, 280, 12, 0.4, 18),  # dials and hands
    (150, 130, 95, 1.8, 22),  # movement
    (1080, 190, 45, 2.2, 4),  # long-case pendulum
    (90, 60, 40, 0.2, 26),  # small parts
]


def rows(count, seed, even):
    rng = random.Random(seed)
    weights = [t[4] for t in THINGS]
    for _ in range(count):
        if even:
            length = rng.uniform(60, 600)
            width = length * rng.uniform(0.3, 1.0)
            height = width * rng.uniform(0.1, 1.0)
            mass = length * width * height * 4e-7
        else:
            thing = rng.choices(THINGS, weights)[0]
            grown = rng.lognormvariate(0.0, 0.18)
            length, width, height = (s * grown * rng.uniform(0.85, 1.15) for s in thing[:3])
            mass = thing[3] * grown**3
        yield f"{length:.0f},{width:.0f},{max(height, 1):.0f},{rng.choice((1, 1, 1, 2, 3))},{mass:.2f}\n"


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("rows", type=int)
    ask.add_argument("seed", type=int)
    ask.add_argument("--even", action="store_true")
    asked = ask.parse_args()
    out = sys.stdout
    out.write("length,width,height,count,mass\n")
    for row in rows(asked.rows, asked.seed, asked.even):
        out.write(row)


if __name__ == "__main__":
    main()
