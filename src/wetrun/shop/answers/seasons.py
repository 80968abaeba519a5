"""A season's record, read as its file would be read."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, Problem
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.laid_out import season_laid_out
from wetrun.shop.records.models import Machine, Season


def season_file_of(season: Season, *, logs: bool = False) -> SeasonFile:
    """Return a season as the command line reads it.

    Parameters
    ----------
    season : Season
        The record.
    logs : bool
        Whether its field logs have to be there.

    Returns
    -------
    SeasonFile
        Its path names the file it was read from, which is gone again.

    Raises
    ------
    InputProblems
        Everything wrong in it, in the loader's own sentences.
    """
    with bench(season_laid_out(season, logs=logs)) as laid:
        return read_season(laid.file, logs_needed=logs)


def problems_of_season(season: Season, *, logs: bool = False) -> tuple[Problem, ...]:
    """Return everything that stands in the way of a plan; nothing if there is nothing.

    Parameters
    ----------
    season : Season
        The record; it need not be saved.
    logs : bool
        Whether its field logs have to be there.

    Returns
    -------
    tuple of Problem
        Each names key, value, limit and remedy.
    """
    try:
        season_file_of(season, logs=logs)
    except InputProblems as wrong:
        return wrong.problems
    return ()


def dates_of(document: Mapping[str, Any]) -> tuple[date | None, date | None]:
    """Return the first and the last day of a season's passes, as far as they can be read.

    Parameters
    ----------
    document : mapping
        A season as typed.

    Returns
    -------
    tuple of date or None
        None where no pass has one.
    """
    passes = document.get("pass")
    typed = [one for one in passes if isinstance(one, dict)] if isinstance(passes, list) else []
    first, last = ([day for one in typed if (day := _day(one.get(key))) is not None] for key in ("first", "last"))
    return min(first, default=None), max(last, default=None)


def _day(typed: object) -> date | None:
    if isinstance(typed, datetime):
        return typed.date()
    if isinstance(typed, str):
        try:
            return date.fromisoformat(typed.strip())
        except ValueError:
            return None
    return typed if isinstance(typed, date) else None


def settled(season: Season) -> Season:
    """Return a season with what its record keeps beside the document: title, units, days, how much is not right.

    Parameters
    ----------
    season : Season
        Its document may be unfinished: what cannot be read counts as a problem.

    Returns
    -------
    Season
        The same record, not saved.
    """
    document = season.document
    title = document.get("title")
    season.title = title[:200] if isinstance(title, str) and title.strip() else season.title
    season.units = "si" if document.get("units") == "si" else "us"
    season.first_day, season.last_day = dates_of(document)
    season.problems = len(problems_of_season(season, logs=True))
    return season


def recount(machine: Machine) -> None:
    """Count again what is not right in a machine's seasons, after the machine or what they share was changed."""
    for season in Season.objects.filter(machine=machine, put_away_at=None).select_related(
        "branch", "machine__customer"
    ):
        Season.objects.filter(pk=season.pk).update(problems=len(problems_of_season(season, logs=True)))
