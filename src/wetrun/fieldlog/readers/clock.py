"""Clock columns as seconds. Differences are what counts: a terminal's clock may be hours off, or without a date."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.log_units import TIME
from wetrun.fieldlog.trace import Doubt, FloatArray
from wetrun.units import SECOND, S

Seconds = Callable[[Sequence[str]], Annotated[FloatArray, SECOND]]

ISO: Final = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.,]\d+)?)?(Z|[+-]\d\d:?\d\d)?$", re.ASCII)
ISO_PLAIN: Final = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(\.\d{1,9})?Z?$", re.ASCII)
EPOCH: Final = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
CLOCK_ONLY: Final = ("%H:%M:%S.%f", "%H:%M:%S")
MONTH_FIRST: Final = ("%m/%d/%Y %I:%M:%S %p", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M:%S.%f")
DAY_FIRST: Final = tuple(text.replace("%m/%d", "%d/%m") for text in MONTH_FIRST)
OTHERS: Final = ("%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M:%S.%f", "%Y/%m/%d %H:%M:%S", "%Y%m%d%H%M%S")


@dataclass(frozen=True, slots=True)
class Clock:
    """How a time column is read: the reader of its cells, words for it, and what it leaves open."""

    seconds: Seconds
    words: str
    doubts: tuple[Doubt, ...] = ()


def clock_of(sample: Sequence[str], *, unit: str, format_: str) -> Clock | None:
    """Return how to read a time column from some of its cells, or None where no known way fits most of them.

    ``unit`` makes it a number; ``format_`` is a `strptime` pattern. A bare number without a unit has no reading.
    """
    if unit:
        return Clock(lambda cells: _numbers(cells) * TIME[unit], f"number in {unit}")
    if format_:
        return Clock(_by_formats((format_,)), f"as the mapping says: {format_}")
    if _fits(sample, ISO):
        return Clock(_iso, "ISO 8601")
    ways = ((OTHERS, "date and clock"), (MONTH_FIRST, "month/day"), (DAY_FIRST, "day/month"), (CLOCK_ONLY, "clock"))
    reads = [(formats, words) for formats, words in ways if _reads(sample, formats)]
    return _written(*reads[0], also=[words for _, words in reads[1:]]) if reads else None


def _written(formats: tuple[str, ...], words: str, *, also: list[str]) -> Clock:
    doubts: tuple[Doubt, ...] = ()
    if formats is CLOCK_ONLY:
        doubts = (Doubt("The clock has no date", "Nothing to do unless the log spans more than one midnight"),)
    elif "day/month" in also:
        doubts = (
            Doubt(
                "Dates read as month/day could as well be day/month",
                'Add the pattern to the mapping, for example time = { column = "…", format = "%d/%m/%Y %H:%M:%S" }',
            ),
        )
    return Clock(_by_formats(formats), words, doubts)


def _fits(sample: Sequence[str], pattern: re.Pattern[str]) -> bool:
    return 2 * sum(pattern.match(cell.strip()) is not None for cell in sample) > len(sample)


def _reads(sample: Sequence[str], formats: tuple[str, ...]) -> bool:
    return bool(2 * np.isfinite(_by_formats(formats)(sample)).sum() > len(sample))


def _numbers(cells: Sequence[str]) -> FloatArray:
    try:
        return np.array(cells, dtype=np.float64)
    except ValueError:
        return np.array([_number(cell) for cell in cells], dtype=np.float64)


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return float("nan")


def _iso(cells: Sequence[str]) -> FloatArray:
    """Return seconds of ISO times: by NumPy where the whole block is plain UTC, else cell by cell."""
    if not all(map(ISO_PLAIN.fullmatch, cells)):
        return np.array([_iso_seconds(cell) for cell in cells], dtype=np.float64)
    try:
        moments = np.array([cell.rstrip("Z") for cell in cells], dtype="datetime64[us]")
    except ValueError:  # the shape of a date, but the 31st of February
        return np.array([_iso_seconds(cell) for cell in cells], dtype=np.float64)
    return moments.astype(np.int64) / 1e6


@lru_cache(maxsize=4096)
def _iso_seconds(cell: str) -> S:
    try:
        moment = dt.datetime.fromisoformat(cell.strip())
    except ValueError:
        return float("nan")
    return _since_epoch(moment)


def _since_epoch(moment: dt.datetime) -> S:
    return ((moment if moment.tzinfo else moment.replace(tzinfo=dt.UTC)) - EPOCH).total_seconds()


def _by_formats(formats: tuple[str, ...]) -> Seconds:
    @lru_cache(maxsize=4096)
    def one(cell: str) -> S:
        for format_ in formats:
            try:
                return _since_epoch(dt.datetime.strptime(cell.strip(), format_))  # noqa: DTZ007 - only differences count
            except ValueError:
                continue
        return float("nan")

    return lambda cells: np.array([one(cell) for cell in cells], dtype=np.float64)
