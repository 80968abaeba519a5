"""On the day: the tests that cut the doubt of the applied rate most in the time there is, and what stays unproven."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wetrun.errors import OutOfRange
from wetrun.proving.day_model import (
    READY_S,
    UNPROVED,
    DayMachine,
    DayTest,
    Doubt,
    WorkLoad,
    rate_sensitivities,
    work_loads,
)
from wetrun.spray.bounds import FloatArray, check_not_negative
from wetrun.units import CUBIC_METRE, FRACTION, M3, SECOND, Frac, S

METHOD: Final = "day-plan-1"

_ALIKE_DIGITS: Final = 9

NOT_SEEN: Final[Mapping[DayTest, str]] = {
    DayTest.CATCH_ALL: "single tips that are worn, restricted or of another size",
    DayTest.TIP_GAUGES: "pressure along the boom, section by section",
    DayTest.RAMP: "the real minimum hold, the ceiling, hunting and what closing sections does",
    DayTest.SETTINGS: "a wrong number in the monitor",
}
"""What only one test can show, whatever the doubt of the mean rate."""


@dataclass(frozen=True, slots=True)
class Unproven:
    """A doubt that no chosen test speaks of.

    Attributes
    ----------
    doubt : Doubt
        Which.
    share_frac : float
        What it has of the variance left [frac].
    proved_by : tuple of DayTest
        Tests that would speak of it.
    """

    doubt: Doubt
    share_frac: Frac
    proved_by: tuple[DayTest, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """The tests of a day.

    Attributes
    ----------
    tests : tuple of DayTest
        Chosen, in working order.
    time_s : float
        Time they take, with getting ready [s].
    water_m3 : float
        Water through the boom [m3].
    before_frac, after_frac : float
        Standard uncertainty of the applied rate without and with them, as a share of it [frac].
    unproven : tuple of Unproven
        Doubts of the rate no chosen test speaks of, the largest first.
    not_seen : tuple of str
        What else nobody will have looked at.
    next_test : DayTest or None
        The one more that would cut the doubt most, had there been time for it.
    method : str
        Name and number of the method.
    """

    tests: tuple[DayTest, ...]
    time_s: S
    water_m3: M3
    before_frac: Frac
    after_frac: Frac
    unproven: tuple[Unproven, ...]
    not_seen: tuple[str, ...]
    next_test: DayTest | None
    method: str = METHOD


@dataclass(frozen=True, slots=True)
class Subsets:
    """The choices of a day as arrays: one row per subset of tests.

    Attributes
    ----------
    loads : tuple of WorkLoad
        The tests, by column.
    chosen : array, (subsets, tests)
        Which are done.
    times : array, (subsets,)
        In seconds, with getting ready.
    water : array, (subsets,)
        Through the boom, in cubic metres.
    variance : array, (subsets,)
        Of the applied rate, as a share of it squared.
    """

    loads: tuple[WorkLoad, ...]
    chosen: NDArray[np.bool_]
    times: FloatArray
    water: FloatArray
    variance: FloatArray


def day_plan(
    machine: DayMachine,
    available_s: S,
    *,
    water_m3: M3 | None = None,
    unproved: Mapping[Doubt, Frac] | None = None,
) -> DayPlan:
    """Return the tests that leave the applied rate least doubtful within a time.

    Parameters
    ----------
    machine : DayMachine
        What is to be proved.
    available_s : float
        Time there is [s].
    water_m3 : float or None
        Water there is [m3]; None if it does not matter.
    unproved : mapping or None
        How doubtful each thing is before any test, where it is known better than `UNPROVED` [frac].

    Returns
    -------
    DayPlan
        The best of all subsets, not an approximation; of those alike the shortest, then the one with the least water.

    Raises
    ------
    OutOfRange
        A time or water below zero, or a doubt that is not above zero.

    Notes
    -----
    All errors are small, normal and, before any test, independent; what a test tells adds as information, so two tests
    of one thing count for both. The rate is the mean of the boom over the field: evenness is named under `not_seen`.

    References
    ----------
    day-plan-own-choice, gaussian-information

    Example
    -------
    >>> from wetrun.spray.controller import Loop
    >>> plan = day_plan(DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.5e-3), 1200.0)
    >>> [test.name for test in plan.tests], round(plan.before_frac, 3), round(plan.after_frac, 3)
    (['CATCH_12', 'TAPE'], 0.052, 0.042)
    """
    check_not_negative("time there is", available_s, SECOND, remedy="Enter the minutes you have.")
    if water_m3 is not None:
        check_not_negative("water there is", water_m3, CUBIC_METRE, remedy="Leave it out if it does not matter.")
    before = prior_information({**UNPROVED, **(unproved or {})})
    effect = rate_sensitivities(machine)
    day = all_subsets(work_loads(machine), before, effect)
    allowed = (day.times <= available_s) & (day.water <= (inf if water_m3 is None else water_m3))
    best = _best(day, np.flatnonzero(allowed))
    tests = tuple(load.test for load, taken in zip(day.loads, day.chosen[best], strict=True) if taken)
    return DayPlan(
        tests=tests,
        time_s=float(day.times[best]),
        water_m3=float(day.water[best]),
        before_frac=sqrt(day.variance[0]),
        after_frac=sqrt(day.variance[best]),
        unproven=_unproven(day, best, before, effect),
        not_seen=tuple(words for test, words in NOT_SEEN.items() if test not in tests),
        next_test=_next_test(day, best),
    )


def prior_information(unproved: Mapping[Doubt, Frac]) -> FloatArray:
    """Return inverse variances of doubts [frac] before any test, in the order of `Doubt`."""
    for doubt, standard_frac in unproved.items():
        if not standard_frac > 0.0:
            remedy = "Nothing is known without doubt: enter a small share."
            raise OutOfRange(doubt.value, standard_frac, FRACTION, low=0.0, remedy=remedy)
    return np.array([1.0 / unproved[doubt] ** 2 for doubt in Doubt])


def all_subsets(loads: tuple[WorkLoad, ...], before: FloatArray, effect: FloatArray) -> Subsets:
    """Return time, water and variance left of every subset that makes sense; the first row is the empty one."""
    count = len(loads)
    chosen = (np.arange(2**count)[:, None] >> np.arange(count)) & 1 == 1
    names = [load.test for load in loads]
    if {DayTest.CATCH_ALL, DayTest.CATCH_12} <= set(names):  # twelve tips are caught again when all are
        both = chosen[:, names.index(DayTest.CATCH_ALL)] & chosen[:, names.index(DayTest.CATCH_12)]
        chosen = chosen[~both]
    water = chosen @ np.array([load.water_m3 for load in loads])
    times = chosen @ np.array([load.time_s for load in loads]) + READY_S * (water > 0.0)
    told = np.tensordot(chosen.astype(np.float64), np.stack([load.information for load in loads]), axes=1)
    solved = np.linalg.solve(told + np.diag(before), np.broadcast_to(effect[:, None], (len(chosen), effect.size, 1)))
    return Subsets(loads, chosen, times, water, solved[:, :, 0] @ effect)


def _best(day: Subsets, rows: NDArray[np.intp]) -> int:
    """Least variance; alike to nine digits, the shortest, then the least water, then the first."""
    alike = np.round(day.variance[rows] / day.variance[0], _ALIKE_DIGITS)
    order = np.lexsort((rows, day.water[rows], day.times[rows], alike))
    return int(rows[order[0]])


def _next_test(day: Subsets, best: int) -> DayTest | None:
    """The test that, added to the chosen ones, leaves the least variance; None if none cuts it."""
    added = np.flatnonzero(
        (day.chosen >= day.chosen[best]).all(axis=1) & (day.chosen.sum(1) == day.chosen[best].sum() + 1)
    )
    if added.size == 0:
        return None
    row = _best(day, added)
    if not day.variance[row] < day.variance[best] * (1.0 - 10.0**-_ALIKE_DIGITS):
        return None
    return day.loads[int(np.flatnonzero(day.chosen[row] & ~day.chosen[best])[0])].test


def _unproven(day: Subsets, best: int, before: FloatArray, effect: FloatArray) -> tuple[Unproven, ...]:
    """Doubts that matter to the rate and that nothing chosen speaks of: their variance is untouched."""
    told = [np.diag(load.information) > 0.0 for load in day.loads]
    spoken = np.any([row for row, taken in zip(told, day.chosen[best], strict=True) if taken], axis=0)
    found = [
        Unproven(
            doubt,
            float(effect[n] ** 2 / before[n] / day.variance[best]),
            tuple(load.test for load, row in zip(day.loads, told, strict=True) if row[n]),
        )
        for n, doubt in enumerate(Doubt)
        if effect[n] != 0.0 and not np.broadcast_to(spoken, effect.shape)[n]
    ]
    return tuple(sorted(found, key=lambda one: -one.share_frac))
