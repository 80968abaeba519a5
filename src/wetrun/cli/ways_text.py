"""The ways to catch a boom as a technician reads them before the first jug: minutes, water, ±, and the one to take."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING, Any, Final

from wetrun.cli.day_text import Day, jugs_text
from wetrun.cli.telling import console, say
from wetrun.papers.reader import Reader
from wetrun.percent import per_cent
from wetrun.proving.catch_plan import NEW_TIPS, SET_TIPS, CatchWay
from wetrun.proving.catch_ways import DECIDING_SHARE, CatchChoice, CatchWays
from wetrun.proving.day_model import READY_S, DayTest
from wetrun.quantity import Kind
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import Frac

if TYPE_CHECKING:
    from rich.table import Table

SHORT: Final = {
    CatchWay.WHOLE_BOOM: "whole boom",
    CatchWay.BY_SECTION: "by section",
    CatchWay.DIRECT: "instrument",
    CatchWay.REFERENCE: "new tips",
}
_WORDS: Final = {"", "way"}


def tell_ways(day: Day, reader: Reader) -> None:
    """Print the ways to catch a boom.

    Parameters
    ----------
    day : Day
        Tests and ways to catch.
    reader : Reader
        The reader's units.
    """
    say()
    say(_boom(day, reader))
    console().print(_table(day.ways, reader))
    for line in _catch_words(day, reader):
        say(line)


def _boom(day: Day, reader: Reader) -> str:
    means, tips = day.means, sum(day.means.section_tips)
    flow = reader.text(float(means.law.flow_m3s(means.pressure_pa)), Kind.TIP_FLOW)
    tank = "" if means.tank_m3 is None else f"; the tank holds {reader.text(means.tank_m3, Kind.VOLUME)}"
    return (
        f"Ways to catch this boom: {tips} tips of {flow} at {reader.pressure(means.pressure_pa)}, "
        f"{means.catch_s:.0f} s each{tank}"
    )


def _table(ways: CatchWays, reader: Reader) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for heading in ("", "way", "jugs", "min", "water", "± boom", "decides", "± new", "decides"):
        table.add_column(heading, overflow="fold", justify="left" if heading in _WORDS else "right")
    for choice in ways.choices:
        table.add_row(*_cells(choice, reader, chosen=choice is ways.recommended))
    return table


def _cells(choice: CatchChoice, reader: Reader, *, chosen: bool) -> tuple[str, ...]:
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


def _catch_words(day: Day, reader: Reader) -> Iterator[str]:
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


def plain_ways(day: Day) -> dict[str, Any]:
    """Return the ways to catch a boom as plain data for ``--json``: names end in their SI unit.

    Parameters
    ----------
    day : Day
        Tests and ways to catch.

    Returns
    -------
    dict
        Ready for JSON; what no way speaks of is None.
    """
    means, ways = day.means, day.ways
    return {
        "tips": sum(means.section_tips),
        "tip_flow_m3s": float(means.law.flow_m3s(means.pressure_pa)),
        "pressure_pa": means.pressure_pa,
        "catch_s": means.catch_s,
        "tank_m3": means.tank_m3,
        "ready_s": READY_S,
        "available_s": day.for_catch_s,
        "assumed": list(ways.assumed),
        "method": ways.method,
        "ways": [_plain(choice, chosen=choice is ways.recommended) for choice in ways.choices],
    }


def _plain(choice: CatchChoice, *, chosen: bool) -> dict[str, Any]:
    plan = choice.plan
    return {
        "way": plan.way.value,
        "jugs": plan.jugs,
        "catches": plan.catches,
        "time_s": plan.time_s,
        "water_m3": plan.water_m3,
        "tanks": choice.tanks,
        "every_tip": choice.every_tip,
        "to_boom_frac": choice.to_boom_frac if isfinite(choice.to_boom_frac) else None,
        "to_new_frac": choice.to_new_frac,
        "decides_boom_frac": list(choice.boom_limits_frac),
        "decides_new_frac": list(choice.new_limits_frac),
        "fits": choice.fits,
        "recommended": chosen,
    }
