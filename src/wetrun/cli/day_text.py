"""The day in the yard: which tests fit the minutes there are, and what stays unproven."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from wetrun.cli.telling import say
from wetrun.papers.day_data import Day, test_lines
from wetrun.papers.reader import Reader

FORMAT_VERSION: Final = 1


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
    for line in test_lines(day, reader):
        say(line)


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
