"""The day in the yard as plain data: which tests fit the minutes there are, the ways to catch, what stays unproven."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from wetrun.papers.reader import Reader
from wetrun.percent import per_cent
from wetrun.proving.catch_means import CatchMeans
from wetrun.proving.catch_plan import NEW_TIPS, SET_TIPS, CatchWay
from wetrun.proving.catch_ways import DECIDING_SHARE, CatchChoice, CatchWays, catch_ways
from wetrun.proving.day_model import READY_S, DayTest
from wetrun.proving.dayplan import DayPlan, day_plan
from wetrun.proving.run_day import catch_means, catch_time_s, day_machine
from wetrun.proving.session_record import WetRun
from wetrun.quantity import Kind
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import Frac, S

JUG_TESTS: Final = (DayTest.CATCH_ALL, DayTest.CATCH_12)
HEADINGS: Final = ("", "way", "jugs", "min", "water", "± boom", "decides", "± new", "decides")
SHORT: Final = {
    CatchWay.WHOLE_BOOM: "whole boom",
    CatchWay.BY_SECTION: "by section",
    CatchWay.DIRECT: "instrument",
    CatchWay.REFERENCE: "new tips",
}


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


def day_of_run(run: WetRun, minutes: float, jugs: int, *, title: str, guessed: str = "") -> Day:
    """Return the day of a wet run.

    Parameters
    ----------
    run : WetRun
        The run; nothing in it need be tested.
    minutes : float
        What there is.
    jugs : int
        Jugs that can be held under at once.
    title : str
        Of the wet-run file.
    guessed : str
        Which set was taken, where the file names none.

    Returns
    -------
    Day
        Tests, and ways to catch the boom in the time they leave.
    """
    machine, means = day_machine(run, jugs), catch_means(run, jugs)
    plan = day_plan(machine, minutes * MINUTE_S)
    for_catch_s = catch_time_s(plan, machine, minutes * MINUTE_S)
    return Day(
        title=title,
        minutes=minutes,
        plan=plan,
        means=means,
        ways=catch_ways(means, for_catch_s),
        for_catch_s=for_catch_s,
        guessed=guessed,
    )


def day_data(day: Day, reader: Reader) -> dict[str, Any]:
    """Return a day as plain data.

    Parameters
    ----------
    day : Day
        Tests and ways to catch.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Strings, lists and dicts only: ``tests`` in order, ``lines`` on them, ``doubts`` (the last of them by
        themselves), ``boom``, ``ways`` as rows of cells under ``headings`` with the one to take marked, and
        ``catch_lines``.
    """
    jugs = f", {jugs_text(day.means.most_jugs)} at once"
    return {
        "title": day.title,
        "minutes": f"{day.minutes:.0f}",
        "guessed": day.guessed,
        "tests": [test.value + (jugs if test in JUG_TESTS else "") for test in day.plan.tests],
        "time": f"{day.plan.time_s / MINUTE_S:.0f} min",
        "water": reader.text(day.plan.water_m3, Kind.VOLUME),
        "lines": list(test_lines(day, reader)),
        "doubts": list(doubt_lines(day)),
        "boom": boom_words(day, reader),
        "headings": list(HEADINGS),
        "ways": [
            {
                "cells": list(way_cells(choice, reader, chosen=choice is day.ways.recommended)),
                "chosen": choice is day.ways.recommended,
                "fits": choice.fits,
            }
            for choice in day.ways.choices
        ],
        "catch_lines": list(catch_lines(day, reader)),
    }


def test_lines(day: Day, reader: Reader) -> Iterator[str]:
    """Yield the tests of a day as lines: which, in which order, and what stays unproven."""
    plan, jugs = day.plan, day.means.most_jugs
    if plan.tests:
        water = reader.text(plan.water_m3, Kind.VOLUME)
        yield f"In this order, about {plan.time_s / MINUTE_S:.0f} minutes and {water} of water:"
        for number, test in enumerate(plan.tests, start=1):
            yield f"  {number}. {test.value}" + (f", {jugs_text(jugs)} at once" if test in JUG_TESTS else "")
    else:
        yield "No test fits that time."
    yield ""
    yield from doubt_lines(day)


def doubt_lines(day: Day) -> Iterator[str]:
    """Yield what is left in doubt after the tests of a day, and what more time would tell."""
    plan = day.plan
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


def boom_words(day: Day, reader: Reader) -> str:
    """Return which boom is to be caught."""
    means, tips = day.means, sum(day.means.section_tips)
    flow = reader.text(float(means.law.flow_m3s(means.pressure_pa)), Kind.TIP_FLOW)
    tank = "" if means.tank_m3 is None else f"; the tank holds {reader.text(means.tank_m3, Kind.VOLUME)}"
    return (
        f"Ways to catch this boom: {tips} tips of {flow} at {reader.pressure(means.pressure_pa)}, "
        f"{means.catch_s:.0f} s each{tank}"
    )


def way_cells(choice: CatchChoice, reader: Reader, *, chosen: bool) -> tuple[str, ...]:
    """Return one way to catch as the cells of a table under `HEADINGS`."""
    plan = choice.plan
    water = reader.text(plan.water_m3, Kind.VOLUME)
    return (
        "→" if chosen else "",
        SHORT[plan.way],
        "–" if plan.way is CatchWay.DIRECT else f"{plan.jugs}",
        f"{plan.time_s / MINUTE_S:.0f}",
        water if choice.tanks is None or choice.tanks <= 1.0 else f"{water} ({choice.tanks:.1f} tanks)",
        per_cent(choice.to_boom_frac) if choice.every_tip else "–",
        _decides(choice.boom_limits_frac),
        per_cent(choice.to_new_frac) if choice.every_tip else f"set {per_cent(choice.to_new_frac)}",
        _decides(choice.new_limits_frac),
    )


def _decides(limits: tuple[Frac, ...]) -> str:
    return f"±{per_cent(limits[0], places=0)}" if limits else "–"


def catch_lines(day: Day, reader: Reader) -> Iterator[str]:
    """Yield what there is to say under the table: the way to take, and what its columns mean."""
    ways, deciding = day.ways, per_cent(DECIDING_SHARE, places=0)
    yield _recommendation(day, reader)
    yield (
        "±: what is left in doubt of one tip, 95 times in 100, against the boom and against new. “Decides” is the "
        f"tightest of the trade's limits, ±5 % or ±10 %, of which that is no more than {deciding}: then only tips in "
        "its outer part stay undecided."
    )
    yield "  – By section: one section on at a time, its pressure set and read again."
    yield "  – Instrument: shows flow, held at each tip in turn."
    yield (
        f"  – New tips: {NEW_TIPS} new ones among {SET_TIPS} of the set. They tell the set against new without gauge "
        "or jug, and nothing of a single tip."
    )
    if ways.assumed:
        yield f"Not in the file, so our own choice: {', '.join(ways.assumed)}."
    yield (
        "Minutes are those of the catch. Water is what runs while jugs are under and while a section's pressure is "
        "set; leave the boom on while you walk and more goes."
    )


def _recommendation(day: Day, reader: Reader) -> str:
    chosen, ready = day.ways.recommended, f"{READY_S / MINUTE_S:.0f} minutes to get ready"
    beside = DayTest.CATCH_ALL in day.plan.tests
    if chosen is not None:
        plan = chosen.plan
        jugs = "" if plan.way is CatchWay.DIRECT else f", {jugs_text(plan.jugs)}"
        case = "with the other tests above" if beside else "if the minutes go to the catch alone"
        words = f"→ Take, {case}: {plan.way.value}{jugs}, {plan.time_s / MINUTE_S:.0f} minutes besides {ready}."
        if chosen.every_tip:
            return words
    else:
        rest = "what the other tests leave of " if beside else ""
        words = f"No way to catch fits {rest}{day.minutes:.0f} minutes with {ready}."
    least = min((choice for choice in day.ways.choices if choice.every_tip), key=lambda choice: choice.plan.time_s)
    need = f"{(least.plan.time_s + READY_S) / MINUTE_S:.0f} minutes and {reader.text(least.plan.water_m3, Kind.VOLUME)}"
    return f"{words} Every tip takes at least {need}: {least.plan.way.value}."


def jugs_text(count: int) -> str:
    """Return a number of jugs as it is said.

    Example
    -------
    >>> jugs_text(1), jugs_text(8)
    ('one jug', '8 jugs')
    """
    return "one jug" if count == 1 else f"{count} jugs"
