"""The same water, several ways, as a table, and what to take from it in words."""

from __future__ import annotations

from typing import Any

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.same_water import WayOutcome
from wetrun.papers.carry_view import (
    CarryLine,
    carry_view,
    in_basis,
    lettered,
    read_at_m2,
    share_text,
    small_area,
    way_words,
)
from wetrun.papers.changeover_skips import above_text
from wetrun.papers.reader import Reader


def carry_table(answer: ChangeoverAnswer, reader: Reader) -> dict[str, Any]:
    """Return the ways as rows beside the picture.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        ``carry_heads`` of the columns after the first, and ``carry_rows``: ``letter``, ``name``, ``cells``, ``above``
        (whether it is above the level at first), or ``cannot``.
    """
    view = carry_view(answer, reader)
    areas_m2 = () if view is None else read_at_m2(view.load_m2, reader)
    lines = {} if view is None else {one.letter: one for one in view.lines}
    heads = [f"after {small_area(area_m2, reader)}" for area_m2 in areas_m2]
    rows = []
    for letter, way in lettered(answer):
        one = lines.get(letter)
        rows.append(
            {
                "letter": letter,
                "name": way_words(way, reader),
                "cells": [] if one is None else _cells(one, areas_m2, reader),
                "above": []
                if one is None
                else [share > answer.question.tolerated.level_frac for share in _shares(one, areas_m2)],
                "cannot": way.cannot,
            }
        )
    return {"carry_heads": ["first drop", *heads, "end of load", "mean of load", "above the level"], "carry_rows": rows}


def carry_words(answer: ChangeoverAnswer, reader: Reader) -> list[str]:
    """Return what to take from the ways, in sentences.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        What one big rinse costs, and what a forgotten circuit costs, in the first drop and over the load.
    """
    ways = {way.key: way for way in answer.three_ways if way.acres is not None}
    one, equal, forgotten = (ways.get(key) for key in ("one rinse", "equal rinses", "one forgotten"))
    said = []
    if one is not None and equal is not None:
        said.append(_against(one, equal, f"One big rinse leaves", answer))
    if forgotten is not None and equal is not None:
        said.append(_against(forgotten, equal, f"Forgetting {forgotten.without[0]} leaves", answer))
        if (forgotten.first_drop_frac or 0.0) < (equal.first_drop_frac or 0.0) and _more(forgotten, equal) > 1.0:
            said.append(
                "The first drop alone would praise the forgetful: it is lower, since more of the water went through the "
                "boom. The field says otherwise. Judge a rinse by the whole load."
            )
    return said


def _against(way: WayOutcome, equal: WayOutcome, opening: str, answer: ChangeoverAnswer) -> str:
    drops = [share_text(in_basis(answer, each.first_drop_frac or 0.0)) for each in (way, equal)]
    means = [share_text(in_basis(answer, each.mean_frac or 0.0)) for each in (way, equal)]
    return (
        f"{opening} {drops[0]} in the first drop instead of {drops[1]}, and {means[0]} instead of {means[1]} over the whole "
        f"load: {_times(way.first_drop_frac, equal.first_drop_frac)} and {_times(way.mean_frac, equal.mean_frac)} as much."
    )


def _times(first: float | None, second: float | None) -> str:
    return f"{(first or 0.0) / second:.1f} times" if second else "many times"


def _more(way: WayOutcome, equal: WayOutcome) -> float:
    return (way.mean_frac or 0.0) / (equal.mean_frac or 1.0)


def _shares(one: CarryLine, areas_m2: tuple[float, ...]) -> list[float]:
    return [one.first_frac, *(one.at_frac(area_m2) for area_m2 in areas_m2), one.end_frac, one.mean_frac]


def _cells(one: CarryLine, areas_m2: tuple[float, ...], reader: Reader) -> list[str]:
    return [*(share_text(share) for share in _shares(one, areas_m2)), above_text(one.above_m2, reader)]
