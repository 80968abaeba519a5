"""Acres and hours a machine worked since a day, from counters that were read now and then and from loads.

A counter is read on some days only, so what was done since a day in between is a span: at least what was counted after
it, at most what was counted since the reading before it. A counter that stands lower than before was set back: what it
shows then was done since.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from math import inf

from wetrun.spray.bounds import check_not_negative
from wetrun.units import M2, SECOND, SQUARE_METRE, S


@dataclass(frozen=True, slots=True)
class Counted:
    """Counters as they stood at the end of a day.

    Attributes
    ----------
    on : date
        The day.
    area_m2 : float or None
        All the area counted so far [m2]; None if it was not read.
    spraying_s : float or None
        All the hours counted so far [s].
    """

    on: date
    area_m2: M2 | None = None
    spraying_s: S | None = None

    def __post_init__(self) -> None:
        remedy = "Type what the counter shows."
        check_not_negative("area counted", self.area_m2 or 0.0, SQUARE_METRE, remedy=remedy)
        check_not_negative("hours counted", self.spraying_s or 0.0, SECOND, remedy=remedy)


@dataclass(frozen=True, slots=True)
class Worked:
    """Area of one load.

    Attributes
    ----------
    on : date
        Its day.
    area_m2 : float
        Area it covered [m2].
    """

    on: date
    area_m2: M2


@dataclass(frozen=True, slots=True)
class Span:
    """Work since a day.

    Attributes
    ----------
    least, most : float
        Between which it lies, in SI; `most` is infinite where nothing before the day was read.
    """

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Work:
    """Everything known of a machine's work.

    Attributes
    ----------
    counted : tuple of Counted
        Counters, in any order.
    loads : tuple of Worked
        Loads, in any order.
    """

    counted: tuple[Counted, ...] = ()
    loads: tuple[Worked, ...] = ()

    def area_since(self, day: date) -> Span:
        """Return the area sprayed after a day, [m2] both ends; loads raise the lower one."""
        span = _since(day, _climbing(self.counted, lambda one: one.area_m2))
        loaded = sum(load.area_m2 for load in self.loads if load.on > day)
        return Span(max(span.least, loaded), max(span.most, loaded))

    def hours_since(self, day: date) -> Span:
        """Return the time sprayed after a day, [s] both ends."""
        return _since(day, _climbing(self.counted, lambda one: one.spraying_s))

    @property
    def days(self) -> tuple[date, ...]:
        """Days something was read on, in order."""
        return tuple(sorted({one.on for one in self.counted} | {one.on for one in self.loads}))

    def until(self, day: date) -> Work:
        """Return what was known at the end of a day."""
        counted = tuple(one for one in self.counted if one.on <= day)
        return Work(counted, tuple(one for one in self.loads if one.on <= day))


def _climbing(counted: Iterable[Counted], of: Callable[[Counted], float | None]) -> tuple[tuple[date, float], ...]:
    """The day's last reading of each day as if the counter had never been set back."""
    read = sorted((one.on, value) for one in counted if (value := of(one)) is not None)
    found: dict[date, float] = {}
    before = total = 0.0
    for n, (on, value) in enumerate(read):
        total += value if n == 0 or value < before else value - before
        before = value
        found[on] = total
    return tuple(found.items())


def _since(day: date, climbing: tuple[tuple[date, float], ...]) -> Span:
    after = [total for on, total in climbing if on >= day]
    before = [total for on, total in climbing if on <= day]
    if not climbing or climbing[-1][0] <= day:
        # Nothing was read since: what was not counted may be anything.
        return Span(0.0, inf)
    return Span(climbing[-1][1] - after[0], climbing[-1][1] - before[-1] if before else inf)
