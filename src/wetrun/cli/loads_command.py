"""`wetrun loads`: what goes into each tank load of a season's passes, in which order, and where it runs out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wetrun.cli.loads_text import tell_loads
from wetrun.cli.plain_loads import plain_loads
from wetrun.cli.shown_units import paper_shown, system_shown
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, Problem
from wetrun.papers.load_sheet_data import load_sheet_data
from wetrun.papers.measured_amount import marked_measures
from wetrun.papers.reader import Reader
from wetrun.planning.loads import load_plan
from wetrun.planning.passes import Pass
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadsRequest:
    """What was asked on the command line."""

    season: Path
    pass_name: str | None = None
    units: str | None = None
    out: Path | None = None
    paper: str | None = None
    as_json: bool = False


def run_loads(request: LoadsRequest) -> None:
    """Work out the loads of a season's passes and tell them.

    Parameters
    ----------
    request : LoadsRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the season, a pass or the output folder.
    """
    season_file = read_season(request.season, logs_needed=False)
    system = system_shown(request.units, season_file.units)
    reader, season = Reader(system), season_file.season
    marked = marked_measures(season_file.typed, system)
    plans = [
        load_plan(planned, season.sprayer, marked.measures, water=season.water_test)
        for planned in _passes(season_file, request.pass_name)
    ]
    sheets = [load_sheet_data(plan, marked, reader, machine=season.sprayer.name, title=season.title) for plan in plans]
    papers = _papers(sheets, system, request)
    if request.as_json:
        print_json(plain_loads(season_file, plans, sheets, papers))
        return
    tell_loads(season_file, sheets)
    for path in papers:
        say(f"Written: {path}")


def _passes(season_file: SeasonFile, name: str | None) -> tuple[Pass, ...]:
    passes = season_file.season.passes
    if name is None:
        return passes
    found = tuple(planned for planned in passes if planned.ident.casefold() == " ".join(name.split()).casefold())
    if not found:
        known = ", ".join(planned.ident for planned in passes)
        raise InputProblems([Problem("--pass", name, "", "the season has no such pass", f"Name one of: {known}.")])
    return found


def _papers(sheets: list[dict[str, Any]], system: System, request: LoadsRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.load_sheet import write_load_sheets

    paper = paper_shown(request.paper, system)
    with progress_on_stderr() as bar:
        bar.add_task("writing load sheets", total=None)
        return write_load_sheets(sheets, request.out, paper)
