"""The short wet run against every subset tried one by one, its variance worked by conditioning on the readings."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from tests.oracles.test_dayplan_brute_force import MACHINES, root_of

from wetrun.errors import OutOfRange
from wetrun.machine.proofs import Proof
from wetrun.proving.day_model import READY_S, DayMachine, DayTest, Doubt, WorkLoad, rate_sensitivities
from wetrun.proving.short_run import (
    USEFUL_RATIO,
    USUAL_TIMES,
    ShortRun,
    TimeTaken,
    Yard,
    doubts_given,
    short_run,
    timed_loads,
)
from wetrun.spray.controller import Loop

MINUTE = 60.0
BOOM = DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.5e-3)
VALID = [(), (Proof.METER, Proof.SETTINGS), (Proof.CATCH, Proof.GPS, Proof.HOLDS, Proof.PRESSURE)]


def variance_left(machine: DayMachine, loads: tuple[WorkLoad, ...], valid: tuple[Proof, ...]) -> float:
    effect, known = rate_sensitivities(machine), doubts_given(valid)
    errors = np.diag([known[doubt] ** 2 for doubt in Doubt])
    if loads:
        design = np.vstack([root_of(load.information) for load in loads])
        seen = design @ errors @ design.T + np.eye(len(design))
        errors = errors - errors @ design.T @ np.linalg.solve(seen, design @ errors)
    return float(effect @ errors @ effect)


def every(machine: DayMachine, yard: Yard) -> list[tuple[float, tuple[WorkLoad, ...]]]:
    """Time and tests of every subset that makes sense and fits."""
    found = []
    loads = timed_loads(machine, yard)
    for size in range(len(loads) + 1):
        for subset in combinations(loads, size):
            names = {load.test for load in subset}
            time_s = sum(load.time_s for load in subset) + READY_S * any(load.water_m3 > 0 for load in subset)
            if time_s <= yard.available_s and not {DayTest.CATCH_ALL, DayTest.CATCH_12} <= names:
                found.append((time_s, subset))
    return found


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("minutes", [0, 25, 60])
@pytest.mark.parametrize("valid", VALID)
def test_nothing_shorter_is_as_useful_and_nothing_that_fits_is_much_better(
    machine: DayMachine, minutes: int, valid: tuple[Proof, ...]
) -> None:
    yard = Yard(available_s=minutes * MINUTE, sections=5)
    tried = [(time_s, variance_left(machine, subset, valid)) for time_s, subset in every(machine, yard)]
    best = min(variance for _, variance in tried)
    shortest = min(time_s for time_s, variance in tried if variance <= best * USEFUL_RATIO**2 * (1 + 1e-9))
    found = short_run(machine, yard, valid)
    chosen = tuple(load for load in timed_loads(machine, yard) if load.test in chosen_of(found))
    assert found.time_s == pytest.approx(shortest)
    assert found.after_frac**2 == pytest.approx(variance_left(machine, chosen, valid), rel=1e-8)
    assert found.after_frac**2 <= best * USEFUL_RATIO**2 * (1 + 1e-9)


def chosen_of(found: ShortRun) -> list[DayTest]:
    return [step.test for step in found.steps]


def test_what_cuts_most_is_done_first_and_each_step_cuts() -> None:
    found = short_run(BOOM, Yard(available_s=90 * MINUTE, sections=7))
    left = [found.before_frac, *(step.after_frac for step in found.steps)]
    assert left == sorted(left, reverse=True)
    assert left[-1] == pytest.approx(found.after_frac)
    loads = {load.test: load for load in timed_loads(BOOM, Yard(available_s=0.0, sections=7))}
    first = [variance_left(BOOM, (loads[test],), ()) for test in chosen_of(found)]
    assert first[0] == min(first)


def test_what_still_holds_is_not_proven_again_before_what_does_not() -> None:
    yard = Yard(available_s=30 * MINUTE, sections=7)
    assert DayTest.SETTINGS in chosen_of(short_run(BOOM, yard))
    valid = (Proof.SETTINGS, Proof.CATCH, Proof.METER, Proof.HOLDS, Proof.PRESSURE)
    held = short_run(BOOM, yard, valid)
    assert chosen_of(held)[0] is DayTest.COURSE
    assert DayTest.SETTINGS not in chosen_of(held)
    assert Doubt.SPEED.value in short_run(BOOM, replace(yard, available_s=0.0), valid).unproven


def test_what_stays_unproven_is_said_and_the_rest_is_left_for_another_day() -> None:
    none = short_run(BOOM, Yard(available_s=0.0, sections=7))
    assert none.steps == ()
    assert none.unproven[0] == Doubt.FOLLOWING.value or none.unproven[0] == Doubt.METER.value
    assert "a wrong number in the monitor" in none.unproven
    whole = short_run(BOOM, Yard(available_s=24 * 60 * MINUTE, sections=7))
    assert set(none.later) == set(chosen_of(whole))
    assert whole.later == ()
    some = short_run(BOOM, Yard(available_s=30 * MINUTE, sections=7))
    assert set(chosen_of(some)).isdisjoint(some.later)
    assert Doubt.SPEED.value in some.unproven


def test_a_shop_s_own_times_count_by_tip_by_section_and_once() -> None:
    times = {**USUAL_TIMES, DayTest.CATCH_ALL: TimeTaken(120.0, 30.0), DayTest.TIP_GAUGES: TimeTaken(60.0, 90.0)}
    yard = Yard(available_s=0.0, sections=9, times=times)
    loads = {load.test: load.time_s for load in timed_loads(replace(BOOM, jugs=8), yard)}
    assert loads[DayTest.CATCH_ALL] == 120.0 + 9 * 30.0  # 72 tips, eight at once
    assert loads[DayTest.CATCH_12] == 2 * 90.0
    assert loads[DayTest.TIP_GAUGES] == 60.0 + 9 * 90.0
    assert loads[DayTest.COURSE] == 15.0 * MINUTE


def test_less_than_no_time_is_refused() -> None:
    with pytest.raises(OutOfRange, match="time there is"):
        short_run(BOOM, Yard(available_s=-1.0))
