"""The customer who comes on the day: the shortest useful wet run for the minutes there are, given what still holds.

A thing whose proof holds is doubtful only as far as its test left it; all else is as doubtful as on a machine nobody
has proved. Of all subsets that fit, the best leaves the applied rate least doubtful; the shortest that comes within
`USEFUL_RATIO` of the best is done, what cuts most first. What would be done with time enough is left for another day.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import ceil, sqrt
from types import MappingProxyType
from typing import Final

import numpy as np

from wetrun.machine.proofs import Proof
from wetrun.proving.day_model import (
    UNPROVED,
    DayMachine,
    DayTest,
    Doubt,
    WorkLoad,
    rate_sensitivities,
    work_loads,
)
from wetrun.proving.dayplan import NOT_SEEN, Subsets, all_subsets, prior_information
from wetrun.spray.bounds import check_not_negative
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import SECOND, Frac, Ratio, S

METHOD: Final = "short-run-1"
USEFUL_RATIO: Final[Ratio] = 1.02
"""How much more doubt than the best a shorter run may leave. Our own choice."""
_TWELVE: Final = 12


@dataclass(frozen=True, slots=True)
class TimeTaken:
    """What a test takes.

    Attributes
    ----------
    setup_s : float
        Once [s].
    each_s : float
        For each tip, where tips are caught (jug by jug), or each section, where gauges are read [s].
    """

    setup_s: S
    each_s: S = 0.0


USUAL_TIMES: Final[Mapping[DayTest, TimeTaken]] = MappingProxyType(
    {
        DayTest.COURSE: TimeTaken(15.0 * MINUTE_S),
        DayTest.METER_CATCH: TimeTaken(25.0 * MINUTE_S),
        DayTest.CATCH_ALL: TimeTaken(0.0, 1.5 * MINUTE_S),
        DayTest.CATCH_12: TimeTaken(0.0, 1.5 * MINUTE_S),
        DayTest.TIP_GAUGES: TimeTaken(5.0 * MINUTE_S, 2.0 * MINUTE_S),
        DayTest.RAMP: TimeTaken(20.0 * MINUTE_S),
        DayTest.SETTINGS: TimeTaken(10.0 * MINUTE_S),
        DayTest.TAPE: TimeTaken(5.0 * MINUTE_S),
        DayTest.WEIGHED_CARRIER: TimeTaken(5.0 * MINUTE_S),
        DayTest.LOW_DUTY: TimeTaken(15.0 * MINUTE_S),
    }
)
"""What a shop begins with. Common practice, no source: every shop types its own."""
BY_TIP: Final = (DayTest.CATCH_ALL, DayTest.CATCH_12)
BY_SECTION: Final = (DayTest.TIP_GAUGES,)

_HELD: Final[Mapping[Doubt, tuple[tuple[Proof, ...], Frac]]] = MappingProxyType(
    {
        Doubt.METER: ((Proof.METER,), 0.007),
        Doubt.SPEED: ((Proof.WHEEL, Proof.RADAR, Proof.GPS), 0.005),
        Doubt.TYPED: ((Proof.SETTINGS,), 0.002),
        Doubt.FOLLOWING: ((Proof.HOLDS,), 0.01),
        Doubt.TIP_FLOW: ((Proof.CATCH,), 0.005),
        Doubt.CAB_PRESSURE: ((Proof.PRESSURE,), 0.02),
        Doubt.HOSE_LOSS: ((Proof.PRESSURE,), 0.02),
    }
)
"""Which proofs speak of a doubt, and its standard uncertainty while one of them holds, as its test leaves it [frac]."""
_SEEN_BY: Final = {DayTest.CATCH_ALL: Proof.CATCH, DayTest.TIP_GAUGES: Proof.PRESSURE, DayTest.RAMP: Proof.HOLDS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """What there is on the day.

    Attributes
    ----------
    available_s : float
        Time [s].
    sections : int
        Of the boom.
    times : mapping of DayTest to TimeTaken
        What each test takes here.
    """

    available_s: S
    sections: int = 1
    times: Mapping[DayTest, TimeTaken] = field(default_factory=lambda: USUAL_TIMES)


@dataclass(frozen=True, slots=True)
class Step:
    """One test of the run.

    Attributes
    ----------
    test : DayTest
        Which.
    time_s : float
        What it takes here, without getting ready [s].
    after_frac : float
        Standard uncertainty of the applied rate once it is done [frac].
    """

    test: DayTest
    time_s: S
    after_frac: Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortRun:
    """The wet run of a day.

    Attributes
    ----------
    steps : tuple of Step
        In order: what cuts most of the doubt first.
    time_s : float
        All of it, with getting ready for water [s].
    before_frac, after_frac : float
        Standard uncertainty of the applied rate without and with it [frac].
    unproven : tuple of str
        What stays unproven: doubts of the rate neither held nor spoken of, the largest first, then what only a test
        left out can show.
    later : tuple of DayTest
        What would be done with time enough: to be booked.
    method : str
        Name and number of the method.
    """

    steps: tuple[Step, ...]
    time_s: S
    before_frac: Frac
    after_frac: Frac
    unproven: tuple[str, ...]
    later: tuple[DayTest, ...]
    method: str = METHOD


def doubts_given(valid: Iterable[Proof]) -> dict[Doubt, Frac]:
    """Return how doubtful each thing is while some proofs hold.

    Parameters
    ----------
    valid : iterable of Proof
        Those that hold.

    Returns
    -------
    dict
        Standard uncertainties [frac].
    """
    found, holds = dict(UNPROVED), set(valid)
    for doubt, (proofs, standard_frac) in _HELD.items():
        if holds & set(proofs):
            found[doubt] = standard_frac
    return found


def timed_loads(machine: DayMachine, yard: Yard) -> tuple[WorkLoad, ...]:
    """Return every test this machine can be given, with the time it takes in this yard."""
    return tuple(replace(load, time_s=_time_s(load.test, machine, yard)) for load in work_loads(machine))


def _time_s(test: DayTest, machine: DayMachine, yard: Yard) -> S:
    time, count = yard.times.get(test, USUAL_TIMES[test]), 0
    if test in BY_TIP:
        count = ceil((machine.tips if test is DayTest.CATCH_ALL else _TWELVE) / machine.jugs)
    elif test in BY_SECTION:
        count = yard.sections
    return time.setup_s + count * time.each_s


def short_run(machine: DayMachine, yard: Yard, valid: Iterable[Proof] = ()) -> ShortRun:
    """Return the shortest useful wet run for the minutes there are.

    Parameters
    ----------
    machine : DayMachine
        What is to be proved.
    yard : Yard
        Time there is, sections, what tests take.
    valid : iterable of Proof
        Proofs that still hold.

    Returns
    -------
    ShortRun
        Tests in order, what stays unproven, what is left for another day.

    Raises
    ------
    OutOfRange
        A time below zero.

    References
    ----------
    day-plan-own-choice, gaussian-information

    Example
    -------
    >>> from wetrun.spray.controller import Loop
    >>> machine = DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.5e-3)
    >>> half_an_hour = Yard(available_s=1800.0, sections=7)
    >>> [step.test.name for step in short_run(machine, half_an_hour).steps]
    ['CATCH_12', 'SETTINGS', 'TAPE']
    >>> [step.test.name for step in short_run(machine, half_an_hour, [Proof.METER, Proof.SETTINGS]).steps]
    ['RAMP']
    """
    check_not_negative("time there is", yard.available_s, SECOND, remedy="Enter the minutes you have.")
    holds, effect = frozenset(valid), rate_sensitivities(machine)
    before = prior_information(doubts_given(holds))
    subsets = all_subsets(timed_loads(machine, yard), before, effect)
    row, whole = _shortest_useful(subsets, yard.available_s), _shortest_useful(subsets, float("inf"))
    steps = tuple(_ordered(subsets, row))
    done = {step.test for step in steps}
    useful = [load.test for load, taken in zip(subsets.loads, subsets.chosen[whole], strict=True) if taken]
    return ShortRun(
        steps=steps,
        time_s=float(subsets.times[row]),
        before_frac=sqrt(subsets.variance[0]),
        after_frac=sqrt(subsets.variance[row]),
        unproven=(*_doubts_left(subsets, row, holds, effect**2 / before), *_not_seen(done, holds)),
        later=tuple(test for test in useful if test not in done and not _is_done_by(test, done)),
    )


def _is_done_by(test: DayTest, done: set[DayTest]) -> bool:
    """Twelve tips are caught again when all are."""
    return test is DayTest.CATCH_12 and DayTest.CATCH_ALL in done


def _shortest_useful(subsets: Subsets, available_s: S) -> int:
    """The shortest subset that fits and leaves hardly more doubt than the best; of those alike the least doubtful."""
    fits = np.flatnonzero(subsets.times <= available_s)
    limit = float(subsets.variance[fits].min()) * USEFUL_RATIO**2
    good = fits[subsets.variance[fits] <= limit]
    return int(good[np.lexsort((good, subsets.variance[good], subsets.times[good]))[0]])


def _ordered(subsets: Subsets, row: int) -> Iterable[Step]:
    """Steps of a subset: at each the test that leaves least doubt."""
    left, done = list(np.flatnonzero(subsets.chosen[row])), np.zeros(len(subsets.loads), dtype=bool)
    rows = {tuple(chosen): n for n, chosen in enumerate(subsets.chosen.tolist())}
    while left:
        after = {n: float(subsets.variance[rows[tuple(bool(d) or i == n for i, d in enumerate(done))]]) for n in left}
        best = min(left, key=lambda n: (after[n], n))
        left.remove(best)
        done[best] = True
        yield Step(subsets.loads[best].test, subsets.loads[best].time_s, sqrt(after[best]))


def _doubts_left(subsets: Subsets, row: int, holds: frozenset[Proof], share: np.ndarray) -> Iterable[str]:
    spoken = np.zeros(len(Doubt), dtype=bool)
    for load, taken in zip(subsets.loads, subsets.chosen[row], strict=True):
        spoken |= (np.diag(load.information) > 0.0) & bool(taken)
    open_doubts = [
        (float(share[n]), doubt.value)
        for n, doubt in enumerate(Doubt)
        if share[n] > 0.0 and not spoken[n] and not holds & set(_HELD.get(doubt, ((), 0.0))[0])
    ]
    return (words for _, words in sorted(open_doubts, reverse=True))


def _not_seen(done: set[DayTest], holds: frozenset[Proof]) -> Iterable[str]:
    proofs = {**_SEEN_BY, DayTest.SETTINGS: Proof.SETTINGS}
    return (words for test, words in NOT_SEEN.items() if test not in done and proofs[test] not in holds)
