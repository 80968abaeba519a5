"""The ways to catch a boom as a technician reads them before the first jug: minutes, water, ±, and the one to take."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, Final

from wetrun.cli.telling import console, say
from wetrun.papers.day_data import HEADINGS, Day, boom_words, catch_lines, way_cells
from wetrun.papers.reader import Reader
from wetrun.proving.catch_ways import CatchChoice, CatchWays
from wetrun.proving.day_model import READY_S

if TYPE_CHECKING:
    from rich.table import Table

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
    say(boom_words(day, reader))
    console().print(_table(day.ways, reader))
    for line in catch_lines(day, reader):
        say(line)


def _table(ways: CatchWays, reader: Reader) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for heading in HEADINGS:
        table.add_column(heading, overflow="fold", justify="left" if heading in _WORDS else "right")
    for choice in ways.choices:
        table.add_row(*way_cells(choice, reader, chosen=choice is ways.recommended))
    return table


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
