"""Tank loads of a season's passes, as the command line works them out."""

from __future__ import annotations

from typing import Any

from wetrun.documents.season_file import SeasonFile
from wetrun.errors import InputProblems, Problem
from wetrun.papers.load_sheet_data import load_sheet_data
from wetrun.papers.measured_amount import marked_measures
from wetrun.papers.reader import Reader
from wetrun.planning.loads import load_plan
from wetrun.planning.passes import Pass
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.records.models import Season


def load_sheets_of(season: Season, reader: Reader, pass_name: str | None = None) -> list[dict[str, Any]]:
    """Return the load sheets of a season.

    Parameters
    ----------
    season : Season
        The record.
    reader : Reader
        Whose units.
    pass_name : str or None
        One pass only.

    Returns
    -------
    list of dict
        As `wetrun.papers.load_sheet_data`, one a pass.

    Raises
    ------
    WetrunError
        Whatever is wrong with the season or a pass.
    """
    file = season_file_of(season)
    marked = marked_measures(file.typed, reader.system)
    sprayer, water = file.season.sprayer, file.season.water_test
    sheets = [
        load_sheet_data(
            load_plan(planned, sprayer, marked.measures, water=water),
            marked,
            reader,
            machine=sprayer.name,
            title=file.season.title,
        )
        for planned in _passes(file, pass_name)
    ]
    return list(plain(sheets))


def _passes(file: SeasonFile, name: str | None) -> tuple[Pass, ...]:
    passes = file.season.passes
    found = passes if name is None else tuple(one for one in passes if one.ident == name)
    if not found:
        remedy = f"It has: {', '.join(one.ident for one in passes)}."
        raise InputProblems([Problem(file.path.name, "pass", str(name), "the season has no such pass", remedy)])
    return found
