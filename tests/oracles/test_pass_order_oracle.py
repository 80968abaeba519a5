"""The order of passes against every permutation: as bare numbers, and from the products of whole seasons."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import numpy as np
import pytest
from tests.season_cases import planned

from wetrun.planning.order_limits import StartDays, written_order
from wetrun.planning.order_search import OrderProblem, best_order
from wetrun.planning.pass_order import Outlook, pass_order
from wetrun.planning.passes import Pass, Product
from wetrun.spray.carrier import fertiliser, water

CASES = 400
BLOCKS = 8
FIRST = date(2031, 5, 1)
CROPS = ("corn", "soybeans", "wheat")


# ------------------------------------------------------------------------------------------------------ bare numbers


def random_problem(rng: np.random.Generator) -> OrderProblem:
    count = int(rng.integers(1, 7))
    risky = tuple(
        sum(1 << on for on in range(count) if on != left and rng.random() < rng.choice([0.15, 0.5]))
        for left in range(count)
    )
    risky_next = tuple(int(rng.integers(0, 2**count)) if rng.random() < 0.3 else 0 for _ in range(count))
    before = tuple(sum(1 << early for early in range(late) if rng.random() < 0.2) for late in range(count))
    firsts = rng.integers(1, 15, size=count)
    windows = tuple(
        StartDays(int(first), int(first + rng.integers(0, 14)), int(rng.choice([0, 0, 1, 3]))) for first in firsts
    )
    return OrderProblem(risky=risky, risky_next=risky_next, before=before, windows=windows)


def score(problem: OrderProblem, places: tuple[int, ...]) -> tuple[int, int, int] | None:
    """Clean-outs, exchanges and the sum of starts of one order, in plain loops; None if it is not allowed."""
    clean_outs = free = total = 0
    inside: set[int] = set()
    for at, place in enumerate(places):
        done = set(places[:at])
        if any(problem.before[place] >> early & 1 and early not in done for early in range(len(places))):
            return None
        start = max(free, problem.windows[place].first)
        if start > problem.windows[place].last:
            return None
        total += start
        free = start + problem.windows[place].work_days
        last = places[at - 1 : at] if at else ()
        if any(problem.risky[left] >> place & 1 for left in inside) or any(
            problem.risky_next[left] >> place & 1 for left in last
        ):
            clean_outs += 1
            inside = set()
        inside.add(place)
    exchanges = sum(one > other for at, one in enumerate(places) for other in places[at + 1 :])
    return clean_outs, exchanges, total


def best_score(problem: OrderProblem) -> tuple[int, int, int] | None:
    scores = (score(problem, places) for places in permutations(range(len(problem.windows))))
    return min((found for found in scores if found is not None), default=None)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_the_order_found_is_the_best_of_every_permutation(block: int) -> None:
    moved = without = 0
    for seed in range(block * CASES // BLOCKS, (block + 1) * CASES // BLOCKS):
        problem = random_problem(np.random.default_rng(seed))
        found, best = best_order(problem), best_score(problem)
        if found is None:
            assert best is None, seed
            without += 1
            continue
        assert (found.clean_outs, found.exchanges, sum(found.starts)) == best, seed
        assert score(problem, found.places) == best, seed
        moved += found.exchanges > 0
    assert moved > 5, "some of the best orders must differ from the written one, or the comparison says little"
    assert without > 0


@pytest.mark.parametrize("seed", range(60))
def test_asking_for_fewer_gives_the_best_or_nothing(seed: int) -> None:
    problem = random_problem(np.random.default_rng(1000 + seed))
    best = best_score(problem)
    for wanted in range(4):
        found = best_order(problem, fewer_than=wanted)
        assert (found is not None) == (best is not None and best[0] < min(wanted, len(problem.windows)))
        assert found is None or (found.clean_outs, found.exchanges, sum(found.starts)) == best


# ------------------------------------------------------------------------------------------------------ whole seasons


def random_passes(rng: np.random.Generator) -> list[Pass]:
    count = int(rng.integers(2, 6))
    products = [
        Product(
            name=f"P{number}",
            risky_on=None if rng.random() < 0.15 else tuple(c for c in CROPS if rng.random() < 0.45),
            clean_after=bool(rng.random() < 0.1),
            forbidden_carriers=("UAN 28",) if rng.random() < 0.2 else (),
        )
        for number in range(4)
    ]
    passes = []
    for number in range(count):
        first = FIRST + timedelta(days=int(rng.integers(0, 12)))
        tank = rng.choice(4, size=int(rng.integers(0, 3)), replace=False)
        passes.append(
            replace(
                planned(f"pass {number}"),
                crop=str(rng.choice(CROPS)),
                first_day=first,
                last_day=first + timedelta(days=int(rng.integers(3, 20))),
                work_days=int(rng.choice([0, 2])),
                carrier=fertiliser("UAN 28", 288.7) if rng.random() < 0.25 else water(),
                products=tuple(products[at] for at in sorted(tank)),
            )
        )
    order = written_order(passes)
    late = int(rng.integers(1, count))
    if rng.random() < 0.3:
        order = (*order[:late], replace(order[late], after=(order[0].ident.upper(),)), *order[late + 1 :])
    return list(order)


def dirty(left: Pass, into: Pass, *, directly: bool) -> bool:
    """Whether what a pass left calls for a clean-out before another, straight from the typed words."""
    names, others = {p.name for p in left.products}, {p.name for p in into.products}
    if names and names == others and left.carrier.name == into.carrier.name:
        return False
    by_crop = any(p.name not in others and into.crop in (p.risky_on or ()) for p in left.products)
    always = any(p.clean_after for p in left.products)
    ruled_out = left.carrier.name != into.carrier.name and any(
        left.carrier.name in p.forbidden_carriers for p in into.products
    )
    return by_crop or always or (directly and ruled_out)


def cost(order: tuple[Pass, ...]) -> int:
    count = 0
    inside: list[Pass] = []
    for at, one in enumerate(order):
        if any(dirty(left, one, directly=left is order[at - 1]) for left in inside):
            count, inside = count + 1, []
        inside.append(one)
    return count


def fits(order: tuple[Pass, ...], written: list[Pass]) -> bool:
    at = {one.ident: place for place, one in enumerate(written)}
    free = date.min
    for place, one in enumerate(order):
        done = {other.ident for other in order[:place]}
        if any(name.lower() not in done for name in one.after):
            return False
        if any(o.crop == one.crop and at[o.ident] < at[one.ident] and o.ident not in done for o in written):
            return False
        start = max(free, one.first_day)
        if start + timedelta(days=max(one.work_days - 1, 0)) > one.last_day:
            return False
        free = start + timedelta(days=one.work_days)
    return True


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_season_needs_what_plain_loops_over_every_order_say(block: int) -> None:
    better = 0
    for seed in range(block * CASES // BLOCKS, (block + 1) * CASES // BLOCKS):
        passes = random_passes(np.random.default_rng(seed))
        found = pass_order(passes)
        assert found.written.needed == cost(tuple(passes)), seed
        if found.outlook is Outlook.NOTHING_TYPED:
            assert all(p.risky_on is None and not p.clean_after for one in passes for p in one.products)
            continue
        least = min((cost(order) for order in permutations(passes) if fits(order, passes)), default=None)
        written = cost(tuple(passes)) if fits(tuple(passes), passes) else None
        if least is None:
            assert found.outlook is Outlook.NOTHING_FITS, seed
        elif written is None:
            assert found.outlook is Outlook.ONLY_THIS_FITS, seed
        else:
            assert found.outlook is (Outlook.BETTER if least < written else Outlook.WRITTEN_IS_BEST), seed
        if found.better is not None:
            assert fits(found.better.passes, passes), seed
            assert cost(found.better.passes) == found.better.needed == least, seed
            better += 1
    assert better > 2
