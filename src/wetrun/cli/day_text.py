"""The day in the yard: which tests fit the minutes there are, and what stays unproven."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final

from wetrun.cli.telling import say
from wetrun.papers.reader import Reader
from wetrun.percent import per_cent
from wetrun.proving.catch_means import CatchMeans
from wetrun.proving.catch_ways import CatchWays
from wetrun.proving.day_model import DayTest
from wetrun.proving.dayplan import DayPlan
from wetrun.quantity import Kind
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import S

FORMAT_VERSION: Final = 1
JUG_TESTS: Final = (DayTest.CATCH_ALL, DayTest.CATCH_12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A day as it is told.

    Attributes
    ----------
    title : str
        Of the wet-run file.
    minutes : float
        What there is.
    plan : DayPlan
        The tests.
    means : CatchMeans
        What there is to catch with.
    ways : CatchWays
        How the boom can be caught.
    for_catch_s : float
        Time a catch of every tip may take, getting ready included [s].
    guessed : str
        Which set was taken, where the file names none.
    """

    title: str
    minutes: float
    plan: DayPlan
    means: CatchMeans
    ways: CatchWays
    for_catch_s: S
    guessed: str = ""


def tell_day(day: Day, reader: Reader) -> None:
    """Print the tests of a day.

    Parameters
    ----------
    day : Day
        Tests and ways to catch.
    reader : Reader
        The reader's units.
    """
    say(f"{day.title}: {day.minutes:.0f} minutes")
    if day.guessed:
        say(day.guessed)
    say()
    for line in _tests(day, reader):
        say(line)


def _tests(day: Day, reader: Reader) -> Iterator[str]:
    plan, jugs = day.plan, day.means.most_jugs
    if plan.tests:
        water = reader.text(plan.water_m3, Kind.VOLUME)
        yield f"In this order, about {plan.time_s / MINUTE_S:.0f} minutes and {water} of water:"
        for number, test in enumerate(plan.tests, start=1):
            yield f"  {number}. {test.value}" + (f", {jugs_text(jugs)} at once" if test in JUG_TESTS else "")
    else:
        yield "No test fits that time."
    yield ""
    before, after = per_cent(plan.before_frac), per_cent(plan.after_frac)
    yield f"Standard uncertainty of the applied rate: {before} before, {after} after."
    for left in plan.unproven:
        proved_by = " or ".join(test.value for test in left.proved_by)
        by = f"; proved by {proved_by}" if proved_by else ""
        share = per_cent(left.share_frac, places=0)
        yield f"Stays unproven: {left.doubt.value}, {share} of the doubt that is left{by}."
    for seen in plan.not_seen:
        yield f"Nobody will have looked at: {seen}."
    if plan.next_test is not None:
        yield f"With more time, next: {plan.next_test.value}."
    yield "The figures behind this order are our own choice; no verdict rests on them."


def jugs_text(count: int) -> str:
    """Return a number of jugs as it is said.

    Example
    -------
    >>> jugs_text(1), jugs_text(8)
    ('one jug', '8 jugs')
    """
    return "one jug" if count == 1 else f"{count} jugs"


def plain_day(day: Day) -> dict[str, Any]:
    """Return the tests of a day as plain data for ``--json``: names end in their SI unit.

    Parameters
    ----------
    day : Day
        Tests and ways to catch.

    Returns
    -------
    dict
        Ready for JSON.
    """
    return {"format_version": FORMAT_VERSION, **asdict(day.plan), "guessed": day.guessed or None}
