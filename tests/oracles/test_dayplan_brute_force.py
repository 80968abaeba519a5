"""The day's plan against every subset tried one by one, its variance worked by conditioning instead of information."""

from itertools import combinations

import numpy as np
import pytest

from wetrun.proving.day_model import READY_S, UNPROVED, DayMachine, DayTest, Doubt, rate_sensitivities, work_loads
from wetrun.proving.dayplan import day_plan
from wetrun.spray.controller import Loop
from wetrun.spray.pulse import DutySource

MACHINES = [
    DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.5e-3),
    DayMachine(loop=Loop.PRESSURE, tips=48, boom_flow_m3s=1.0e-3, jugs=2, has_meter=False),
    DayMachine(loop=Loop.PULSE, tips=96, boom_flow_m3s=3.0e-3, duty_from=DutySource.PRESSURE),
    DayMachine(loop=Loop.FIXED, tips=10, boom_flow_m3s=0.2e-3),
]
MINUTE = 60.0


def conditioned_variance(machine, loads):
    """Variance left of the rate: the joint normal of errors and readings, conditioned on the readings."""
    effect = rate_sensitivities(machine)
    errors = np.diag([UNPROVED[doubt] ** 2 for doubt in Doubt])
    if not loads:
        return float(effect @ errors @ effect)
    design = np.vstack([root_of(load.information) for load in loads])
    seen = design @ errors @ design.T + np.eye(len(design))
    left = errors - errors @ design.T @ np.linalg.solve(seen, design @ errors)
    return float(effect @ left @ effect)


def root_of(information):
    """Readings with unit noise that tell as much."""
    values, vectors = np.linalg.eigh(information)
    keep = values > 1e-9 * values.max()
    return np.sqrt(values[keep])[:, None] * vectors[:, keep].T


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("minutes", [0, 20, 45, 90])
def test_no_subset_within_the_time_leaves_less(machine, minutes):
    loads = work_loads(machine)
    best = np.inf
    for size in range(len(loads) + 1):
        for subset in combinations(loads, size):
            names = {load.test for load in subset}
            wet = any(load.water_m3 > 0 for load in subset)
            time_s = sum(load.time_s for load in subset) + READY_S * wet
            if time_s <= minutes * MINUTE and not {DayTest.CATCH_ALL, DayTest.CATCH_12} <= names:
                best = min(best, conditioned_variance(machine, subset))
    plan = day_plan(machine, minutes * MINUTE)
    chosen = [load for load in loads if load.test in plan.tests]
    assert plan.after_frac**2 == pytest.approx(best, rel=1e-8)
    assert plan.after_frac**2 == pytest.approx(conditioned_variance(machine, chosen), rel=1e-9)
    assert plan.before_frac**2 == pytest.approx(conditioned_variance(machine, []), rel=1e-12)


def test_what_a_catch_tells_is_that_of_two_readings_with_one_common_error():
    """Written out: the common error of a catch as one more unknown, integrated out of the joint covariance."""
    machine = MACHINES[0]
    (load,) = [load for load in work_loads(machine) if load.test is DayTest.CATCH_12]
    doubts = list(Doubt)
    design = np.zeros((2, len(doubts)))
    design[0, doubts.index(Doubt.TIP_FLOW)] = 1.0
    design[0, doubts.index(Doubt.CAB_PRESSURE)] = design[0, doubts.index(Doubt.HOSE_LOSS)] = -0.5
    design[1, doubts.index(Doubt.METER)] = -1.0
    common = 0.003**2 + 0.03**2 / 12.0 * (1.0 - 12.0 / 72.0)
    noise = np.array([[common + 0.0025**2, common], [common, common + 0.003**2]])
    assert load.information == pytest.approx(design.T @ np.linalg.inv(noise) @ design, rel=1e-9)
