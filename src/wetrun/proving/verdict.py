"""Pass, fail or undecided: a result against a limit, with its uncertainty as the guard band."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite

from wetrun.proving.budget import COVERAGE_FRAC, NO_BUDGET, Budget
from wetrun.units import Frac

MOST_REPEATS = 1_000_000
"""Beyond it the doubt no longer shrinks within any working day."""


class Verdict(StrEnum):
    """What may be said of a result against a limit."""

    PASS = "pass"  # noqa: S105 – a verdict, not a password
    FAIL = "fail"
    UNDECIDED = "undecided"


class Stuck(StrEnum):
    """Why repeating a reading would not decide it."""

    ON_LIMIT = "the reading stands on the limit"
    NOT_REPEATED = "nothing was repeated, so how far readings scatter is not known"
    INSTRUMENT = "the instruments alone leave more doubt than the distance to the limit"


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict with what it rests on; all numbers in the unit of the reading.

    Attributes
    ----------
    verdict : Verdict
        Pass only if the whole interval lies inside the limits, fail only if all of it lies outside.
    value : float
        The reading.
    expanded : float
        Half width of the interval around it, the guard band.
    low, high : float or None
        The limits; None where there is none.
    coverage_frac : float
        What the interval covers [frac].
    repeats_needed : int or None
        Further readings, besides those taken, that would decide it if mean and scatter stayed; 0 if it is decided,
        None if none would.
    stuck : Stuck or None
        Why none would.
    budget : Budget
        What the interval is made of; empty where nothing was measured that has one.
    """

    verdict: Verdict
    value: float
    expanded: float
    low: float | None
    high: float | None
    coverage_frac: Frac
    repeats_needed: int | None
    stuck: Stuck | None = None
    budget: Budget = NO_BUDGET


def judged(
    value: float,
    budget: Budget,
    *,
    low: float | None = None,
    high: float | None = None,
    coverage_frac: Frac = COVERAGE_FRAC,
) -> Judged:
    """Return the verdict on a reading against its limits.

    Parameters
    ----------
    value : float
        The reading.
    budget : Budget
        Its doubt, in the same unit.
    low, high : float or None
        The limits, in the same unit; at least one. A reading without doubt that stands on a limit passes.
    coverage_frac : float
        What the interval shall cover [frac].

    Returns
    -------
    Judged
        Verdict, interval, and what would decide it.

    Raises
    ------
    ValueError
        No limit, limits that cross, or a reading that is not a number.

    Notes
    -----
    The guard band is the whole expanded uncertainty on either side, so at 95 % a good thing is failed, or a bad one
    passed, at most once in forty at each limit.

    References
    ----------
    gum-jcgm-100, guard-band-106

    Example
    -------
    >>> from wetrun.proving.budget import Component
    >>> doubt = Budget((Component("four catches", 1.0, "A", freedom=3),))
    >>> found = judged(3.0, doubt, low=-5.0, high=5.0)
    >>> found.verdict.value, round(found.expanded, 2), found.repeats_needed
    ('undecided', 3.18, 3)
    """
    _check_limits(value, low, high)
    expanded = budget.expanded(coverage_frac)
    lower, upper = (-inf if low is None else low), (inf if high is None else high)
    verdict = _verdict(value, expanded, lower, upper)
    if verdict is not Verdict.UNDECIDED:
        return Judged(verdict, value, expanded, low, high, coverage_frac, 0, budget=budget)
    room = min(abs(value - lower), abs(upper - value))
    more, stuck = _repeats(budget, room, coverage_frac)
    return Judged(verdict, value, expanded, low, high, coverage_frac, more, stuck, budget)


def _check_limits(value: float, low: float | None, high: float | None) -> None:
    if not isfinite(value):
        raise ValueError(f"a reading of {value} cannot be judged: it must be a finite number")
    if low is None and high is None:
        raise ValueError("a reading is judged against a limit: give low, high or both")
    if low is not None and high is not None and low > high:
        raise ValueError(f"the limits cross: low {low} is above high {high}")


def _verdict(value: float, expanded: float, lower: float, upper: float) -> Verdict:
    if value - expanded >= lower and value + expanded <= upper:
        return Verdict.PASS
    if value + expanded < lower or value - expanded > upper:
        return Verdict.FAIL
    return Verdict.UNDECIDED


def _repeats(budget: Budget, room: float, coverage_frac: Frac) -> tuple[int | None, Stuck | None]:
    """Return the least number of further readings that shrinks the doubt below the room left, or why there is none."""

    def decides(more: int) -> bool:
        return budget.repeated_more(more).expanded(coverage_frac) < room

    if room == 0.0:
        return None, Stuck.ON_LIMIT
    if budget.repeated_more(1) == budget:
        return None, Stuck.NOT_REPEATED
    if not decides(MOST_REPEATS):
        return None, Stuck.INSTRUMENT
    above, below = MOST_REPEATS, 0
    while above - below > 1:
        middle = (above + below) // 2
        above, below = (middle, below) if decides(middle) else (above, middle)
    return above, None
