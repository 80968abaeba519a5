"""The clock of a receiver: times of day become seconds that only grow over midnight, and dates that lie do no harm.

A receiver tells the time of day in most sentences and the date in few; its date may be a day behind, or 1024 weeks off
until it has heard the satellites' almanac. So the date decides only where the clock itself does not run on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, Repair
from wetrun.units import SECOND

DAY_MS: Final = 86_400_000
# Our own choice (no source): over so short a step the clock runs on, whatever the date says.
RUNS_ON_MS: Final = 10_000
NO_DATE: Final = -1


@dataclass(frozen=True, slots=True)
class ReceiverClock:
    """Seconds of each instant [instants] [s], and what was found about the dates."""

    time_s: Annotated[FloatArray, SECOND]
    words: str
    repairs: tuple[Repair, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def receiver_clock(day_ms: IntArray, date: IntArray) -> ReceiverClock:
    """Return the clock of instants in file order.

    Parameters
    ----------
    day_ms
        Time of day of each instant [instants] [ms].
    date
        Days since 1970 of each instant, `NO_DATE` where it tells none [instants].

    Example
    -------
    Two seconds over midnight, the date told late and a day behind at first:

    >>> day_ms = np.array([86_399_000, 0, 1_000])
    >>> receiver_clock(day_ms, np.array([18_000, 18_000, 18_001])).time_s.tolist()
    [1555286399.0, 1555286400.0, 1555286401.0]
    """
    step_ms = np.diff(day_ms, prepend=day_ms[:1])
    midnight = (step_ms < -DAY_MS // 2).astype(np.int64) - (step_ms > DAY_MS // 2)
    days = np.cumsum(midnight)
    dated = np.flatnonzero(date != NO_DATE)
    if not dated.size:
        doubt = Doubt("The clock has no date", "Nothing to do unless the log pauses for more than half a day")
        return ReceiverClock((days * DAY_MS + day_ms) / 1000, "UTC time of day", doubts=(doubt,))
    offset = (date - days)[dated]
    runs_on = np.abs(step_ms + midnight * DAY_MS)[dated] <= RUNS_ON_MS
    change = np.diff(offset, prepend=offset[:1])
    lies = (change != 0) & runs_on
    offset = offset[0] + np.cumsum(np.where(runs_on, 0, change))
    days = days + offset[np.maximum(np.searchsorted(dated, np.arange(day_ms.size), side="right") - 1, 0)]
    words = "places where the date jumps while the clock runs on: only its differences count"
    repairs = (Repair("date", int(lies.sum()), 0.0, words),) if lies.any() else ()
    return ReceiverClock((days * DAY_MS + day_ms) / 1000, "UTC date and time of day", repairs)
