"""`wetrun prove --minutes`: plans the day in the yard for a machine of which nothing may be known yet but its name."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wetrun.cli.day_text import plain_day, tell_day
from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json
from wetrun.cli.ways_text import plain_ways, tell_ways
from wetrun.documents.wetrun_day import read_wetrun_day
from wetrun.papers.day_data import day_of_run
from wetrun.papers.reader import Reader


@dataclass(frozen=True, slots=True)
class DayRequest:
    """What was asked on the command line."""

    wetrun: Path
    minutes: float
    jugs: int = 8
    units: str | None = None
    as_json: bool = False


def run_day(request: DayRequest) -> None:
    """Plan the tests of a day and the catch of its boom, and tell it.

    Parameters
    ----------
    request : DayRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the files.
    """
    file, guessed = read_wetrun_day(request.wetrun)
    day = day_of_run(file.run, request.minutes, request.jugs, title=file.title, guessed=guessed)
    if request.as_json:
        print_json({**plain_day(day), "catch": plain_ways(day)})
        return
    reader = Reader(system_shown(request.units, file.units))
    tell_day(day, reader)
    tell_ways(day, reader)
