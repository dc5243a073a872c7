"""Ranges of case sizes, held against a model of its own that HiGHS solves to proof."""

import json

import pytest

from outputs import ROOT, run
from range_model import HISTORIES, STORED, WITHIN, best, csv, history, litres, model, slotted


def ranged(tmp_path, rows, k, grid, *more):
    file = tmp_path / "orders.csv"
    file.write_text(csv(rows))
    done = run("range", file, "--sizes", k, "--up-to", k, "--grid", f"{grid}mm", "--json", *more)
    text = done.stderr.decode()
    assert done.returncode == 0, text
    told = json.loads(done.stdout)
    return told, next(r for r in told["ranges"] if r["sizes"] == k)


def room(told, chosen):
    """Room of all cases, from the void that the program tells and the things as they are."""
    return chosen["cost"] + told["things"]


def recounted(rows, grid, chosen, cost):
    """The cost of the chosen sizes, counted anew: each thing in the cheapest it fits."""
    needs, counts, _ = model(rows, grid)
    cases = [tuple(c["inside"]) for c in chosen["chosen"]]
    price = cost(cases)
    total = 0.0
    for need, count in zip(needs, counts):
        total += count * min(p for c, p in zip(cases, price) if all(need <= c))
    return total


@pytest.mark.parametrize("name", [n for n in HISTORIES if n != STORED])
def test_the_program_and_highs_find_the_same_best(tmp_path, name):
    _, k, grid, _ = HISTORIES[name]
    rows = history(name)
    cost, _, proved = best(rows, grid, k)
    told, chosen = ranged(tmp_path, rows, k, grid)
    assert proved and chosen["proved"]
    assert told["orders"] == sum(r[3] for r in rows)
    assert told["things"] == pytest.approx(sum(r[3] * litres(r[:3]) for r in rows), rel=1e-9)
    assert room(told, chosen) == pytest.approx(cost, rel=WITHIN)
    assert recounted(rows, grid, chosen, litres) == pytest.approx(cost, rel=WITHIN)


def test_the_largest_is_as_highs_found_it_once(tmp_path):
    stored = json.loads((ROOT / "tests/data/range/reference.json").read_text())
    rows = history(STORED)
    _, k, grid, _ = HISTORIES[STORED]
    assert (stored["sizes"], stored["grid"]) == (k, grid) and stored["proved"]
    told, chosen = ranged(tmp_path, rows, k, grid)
    assert recounted(rows, grid, chosen, litres) == pytest.approx(room(told, chosen), rel=1e-9)
    bound = chosen["bound"] + told["things"]
    assert bound <= stored["cost"] * (1 + WITHIN)
    assert room(told, chosen) >= stored["cost"] * (1 - WITHIN)
    if chosen["proved"]:
        assert room(told, chosen) == pytest.approx(stored["cost"], rel=WITHIN)


def test_every_number_of_sizes_is_best_with_a_size_kept(tmp_path):
    """Proved or not, no bound is above what HiGHS finds and no cost below it."""
    rows = history("small")
    grid = HISTORIES["small"][2]
    kept = (350, 250, 200)
    told, _ = ranged(tmp_path, rows, 4, grid, "--keep", "350x250x200mm")
    for r in told["ranges"]:
        if r["sizes"] == 1:
            continue
        cost, _, proved = best(rows, grid, r["sizes"], kept=[kept])
        assert proved and r["proved"]
        assert room(told, r) == pytest.approx(cost, rel=WITHIN)
        assert [c["inside"] for c in r["chosen"] if c["kept"]] == [list(kept)]


def test_the_bound_of_an_unfinished_search_holds(tmp_path):
    _, k, grid, _ = HISTORIES["middle"]
    rows = history("middle")
    cost, _, _ = best(rows, grid, k)
    told, chosen = ranged(tmp_path, rows, k, grid, "--work", "2")
    assert not chosen["proved"]
    assert chosen["bound"] + told["things"] <= cost * (1 + WITHIN)
    assert room(told, chosen) >= cost * (1 - WITHIN)


def test_board_is_that_of_the_plain_slotted_case_but_for_creases_and_joint(tmp_path):
    """2 (L + W) (W + D): what is drawn has the joint and what creases take besides."""
    rows = history("small")
    _, k, grid, _ = HISTORIES["small"]
    told, chosen = ranged(tmp_path, rows, k, grid, "--least", "board")
    plain = recounted(rows, grid, chosen, slotted)
    assert chosen["proved"] and told["unit"] == "m2"
    assert plain < chosen["cost"] < 1.25 * plain
    # The best by the plain formula is no better than what was chosen is worse by.
    least, _, _ = best(rows, grid, k, cost=slotted)
    assert least <= plain * (1 + WITHIN) and plain < 1.02 * least
