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
from wetrun.units import SECOND, Frac, S

Seconds = Callable[[Sequence[str]], Annotated[FloatArray, SECOND]]

ISO: Final = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.,]\d+)?)?(Z|[+-]\d\d:?\d\d)?$", re.ASCII)
ISO_PLAIN: Final = re.compile(r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(\.\d{1,9})?Z?$", re.ASCII)
EPOCH: Final = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
CLOCK_ONLY: Final = ("%H:%M:%S.%f", "%H:%M:%S")
MONTH_FIRST: Final = ("%m/%d/%Y %I:%M:%S %p", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M:%S.%f")
DAY_FIRST: Final = tuple(text.replace("%m/%d", "%d/%m") for text in MONTH_FIRST)
OTHERS: Final = ("%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M:%S.%f", "%Y/%m/%d %H:%M:%S")
DATE_ONLY: Final = ("%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d/%m/%Y", "%Y/%m/%d", "%Y%m%d")
MIDNIGHT: Final = re.compile(r"[T ](0?0:00(:00([.,]0+)?)?|12:00:00 AM)Z?$")
PLAIN_NUMBER: Final = re.compile(r"^\s*\d+(\.\d*)?\s*$")
DIGITS_14: Final = re.compile(r"^\s*\d{14}\s*$")
# A log was written after GPS time became usable by everybody and before this program is long forgotten.
EARLIEST: Final[S] = dt.datetime(1980, 1, 6, tzinfo=dt.UTC).timestamp()
LATEST: Final[S] = dt.datetime(2100, 1, 1, tzinfo=dt.UTC).timestamp()
DAY_S: Final[S] = TIME["day"]
# Day 25 569 of the usual spreadsheets is 1 January 1970; only differences count, so no older convention matters.
SPREADSHEET_DAY_OF_EPOCH: Final = 25_569
SINCE_EPOCH: Final = {"s": 1.0, "ms": 1e-3, "us": 1e-6}
MOST: Final = 0.5
LEAST_COUNTED: Final = 100


@dataclass(frozen=True, slots=True)
class Clock:
    """How a time column is read: the reader of its cells, words for it, and what it leaves open.

    ``of_numbers`` turns cells that were already read as numbers into seconds, where the clock is written in numbers;
    ``is_iso`` says that they are ISO 8601.
    """

    seconds: Seconds
    words: str
    doubts: tuple[Doubt, ...] = ()
    of_numbers: Callable[[FloatArray], FloatArray] | None = None
    is_iso: bool = False


def clock_of(sample: Sequence[str], *, unit: str, format_: str) -> Clock | None:
    """Return how to read a time column from some of its cells, or None where no known way fits most of them.

    ``unit`` makes it a number; ``format_`` is a `strptime` pattern. A bare number without a unit has no reading.
    """
    if unit:
        return _in_numbers(f"number in {unit}", TIME[unit])
    if format_:
        return Clock(_by_formats((format_,)), f"as the mapping says: {format_}")
    if _share(sample, PLAIN_NUMBER) > MOST:
        return _numbered(sample)
    if without_clock(sample):
        return None
    if _share(sample, ISO) > MOST:
        return Clock(_iso, "ISO 8601", is_iso=True)
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


def without_clock(sample: Sequence[str]) -> bool:
    """Return whether cells are dates without a time of day, or all at midnight.

    Example
    -------
    >>> without_clock(["2019-04-16", "2019-04-16"]), without_clock(["2019-04-16T23:11:22Z"])
    (True, False)
    """
    if not sample:
        return False
    plain = [MIDNIGHT.sub("", cell.strip()) for cell in sample]
    return any(np.isfinite(_by_formats((one,))(plain)).all() for one in DATE_ONLY)


def counts_rows(numbers: FloatArray) -> bool:
    """Return whether numbers are a running count of rows: one more in each, many times over, and never anything else.

    Example
    -------
    >>> counts_rows(np.arange(300.0)), counts_rows(np.array([0.0, 1, 2, 4, 5]))
    (True, False)
    """
    steps = np.diff(numbers[np.isfinite(numbers)])
    return steps.size >= LEAST_COUNTED and bool((steps == 1).all())


def _numbered(sample: Sequence[str]) -> Clock | None:
    """Return how to read a bare number that can only be one kind of clock: its size gives it away, or nothing does."""
    if _share(sample, DIGITS_14) > MOST and _reads(sample, ("%Y%m%d%H%M%S",)):
        return Clock(_by_formats(("%Y%m%d%H%M%S",)), "date and clock in fourteen digits")
    values = _numbers(sample)
    values = values[np.isfinite(values)]
    for unit, seconds in SINCE_EPOCH.items():
        if ((values * seconds > EARLIEST) & (values * seconds < LATEST)).mean() > MOST:
            return _in_numbers(f"{unit} since 1970", seconds, doubts=(_epoch_doubt(unit),))
    since_epoch = (values - SPREADSHEET_DAY_OF_EPOCH) * DAY_S
    within = ((since_epoch > EARLIEST) & (since_epoch < LATEST)).mean() > MOST
    if within and (values % 1 > 0).mean() > MOST:
        first = float(SPREADSHEET_DAY_OF_EPOCH)
        return _in_numbers("day number of a spreadsheet", DAY_S, first=first, doubts=_day_doubts(sample))
    return None


def _in_numbers(words: str, unit_s: S, *, first: float = 0.0, doubts: tuple[Doubt, ...] = ()) -> Clock:
    """Return a clock written as numbers of a unit [s], counted from a first one."""

    def of_numbers(values: FloatArray) -> FloatArray:
        return (values - first) * unit_s

    return Clock(lambda cells: of_numbers(_numbers(cells)), words, doubts, of_numbers)


def _epoch_doubt(unit: str) -> Doubt:
    words = f"The time is a bare number, and its size says {unit} since 1 January 1970"
    return Doubt(words, f'To be sure, add unit = "{unit}" to the line of the time in a mapping file')


def why_no_clock(cells: Sequence[str]) -> str:
    """Return what stands in a time column that is no clock, as the reason why there are no times."""
    told = [cell for cell in cells if cell.strip()]
    if not told:
        return "its cells are empty"
    if without_clock(told):
        return f"its times are dates without a time of day, such as “{told[0].strip()[:40]}”"
    if counts_rows(_numbers(cells)):
        return "it counts rows, one more in each whatever the way between them, and a count is no time unless stated"
    return f"the times in it, such as “{told[0].strip()[:40]}”, are neither dates known here nor numbers with a unit"


def _day_doubts(sample: Sequence[str]) -> tuple[Doubt, ...]:
    decimals = max(len(cell.strip().partition(".")[2]) for cell in sample)
    step_s = DAY_S / 10**decimals
    words = f"The time is a day number with {decimals} decimals, so the clock goes in steps of {step_s:.3g} s"
    return (Doubt(words, "Trust speeds over several rows, not those between one row and the next"),)


def _share(sample: Sequence[str], pattern: re.Pattern[str]) -> Frac:
    return sum(pattern.match(cell.strip()) is not None for cell in sample) / len(sample) if sample else 0.0


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
