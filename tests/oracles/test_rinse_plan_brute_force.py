"""The best rinse plan against trying every sequence of rinses, on 100 random small machines."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from tests.changeover_cases import FLOW_M3S, next_load, random_network

from wetrun.changeover.rinse import Rinse, Way, rinse_effect, rinse_setup
from wetrun.changeover.rinse_plan import rinse_plan, search_of
from wetrun.changeover.rinse_task import RinseTask, WaterSupply, prepared_task
from wetrun.changeover.tolerated import Basis, user_level
from wetrun.errors import NotDefined, OutOfRange

STEP_M3, UNITS, RINSES = 0.05, 6, 3


def effects_by_choice(setup, ways):
    found = {}
    for way, units in itertools.product(ways, range(1, UNITS + 1)):
        try:
            found[way, units] = rinse_effect(setup, Rinse(way, units * STEP_M3)).shares
        except (OutOfRange, NotDefined):
            continue
    return found


def every_outcome(setup, ways, rows, old):
    """(units, rinses, squares, left) of every sequence, no bound and no order used."""
    effects = effects_by_choice(setup, ways)
    outcomes = [(0, 0, 0, float((rows.per_old @ old).max()))]
    for rinses in range(1, RINSES + 1):
        for choice in itertools.product(effects, repeat=rinses):
            sizes = [units for _, units in choice]
            if sum(sizes) > UNITS:
                continue
            left = old
            for pick in choice:
                left = effects[pick] @ left
            peak = float((rows.per_old @ left).max())
            outcomes.append((sum(sizes), rinses, sum(size**2 for size in sizes), peak))
    return outcomes


@pytest.mark.parametrize("seed", range(100))
def test_the_plan_is_the_best_of_all_sequences(seed):
    rng = np.random.default_rng(seed)
    network = random_network(seed)
    setup = rinse_setup(network, FLOW_M3S, drains=rng.random() < 0.7)
    ways = ((Way.BATCH,), (Way.BATCH, Way.BOOM), (Way.BATCH, Way.CONTINUOUS))[rng.integers(3)]
    task = RinseTask(
        setup=setup,
        load=next_load(network),
        tolerated=user_level(10.0 ** rng.uniform(-4.0, -0.3), basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=UNITS * STEP_M3, step_m3=STEP_M3),
        ways=ways,
        most_rinses=RINSES,
    )
    prepared = prepared_task(task)
    plan = rinse_plan(prepared)
    outcomes = every_outcome(setup, ways, prepared.rows, prepared.ready.old_m3)
    good = [outcome for outcome in outcomes if outcome[3] <= task.level_frac]
    assert plan.reached == bool(good)
    ours = (
        round(plan.water_m3 / STEP_M3),
        len(plan.rinses),
        sum(round(rinse.water_m3 / STEP_M3) ** 2 for rinse in plan.rinses),
    )
    if good:
        best = min(good)
        assert ours == best[:3]
        assert plan.left_frac == pytest.approx(best[3], rel=1e-9)
    else:
        assert plan.left_frac == pytest.approx(min(outcome[3] for outcome in outcomes), rel=1e-9)
    for units in (2, UNITS):
        search = search_of(prepared)
        there = [outcome[3] for outcome in outcomes if outcome[0] in {0, units}]
        assert search.least_left_with(units).left_frac == pytest.approx(min(there), rel=1e-9)
