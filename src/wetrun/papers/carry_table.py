"""The same water, several ways, as a table, and what to take from it in words."""

from __future__ import annotations

from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.same_water import WayOutcome
from wetrun.papers.carry_view import CarryLine, carry_view, in_basis, lettered, read_at_m2, way_words
from wetrun.papers.changeover_skips import above_text
from wetrun.papers.reader import Reader
from wetrun.papers.small_amounts import share_text, small_area

_ALL_WAYS: Final = ("one rinse", "equal rinses", "one forgotten")


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
        (which shares are above the level), or ``cannot``.
    """
    view = carry_view(answer, reader)
    areas_m2 = () if view is None else read_at_m2(view.load_m2, reader)
    lines = {} if view is None else {one.letter: one for one in view.lines}
    heads = [f"after {small_area(area_m2, reader)}" for area_m2 in areas_m2]
    level_frac = answer.question.tolerated.level_frac
    rows = []
    for letter, way in lettered(answer):
        one = lines.get(letter)
        shares = [] if one is None else _shares(one, areas_m2)
        above = [] if one is None else [above_text(one.above_m2, reader)]
        rows.append(
            {
                "letter": letter,
                "name": way_words(way, reader),
                "cells": [*(share_text(share) for share in shares), *above],
                "above": [share > level_frac for share in shares],
                "cannot": way.cannot,
            }
        )
    return {"carry_heads": ["first drop", *heads, "end of load", "mean of load", "above the level"], "carry_rows": rows}


def carry_words(answer: ChangeoverAnswer) -> list[str]:
    """Return what to take from the ways, in sentences.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.

    Returns
    -------
    list of str
        What one big rinse costs, and what a forgotten circuit costs, in the first drop and over the load.
    """
    ways = {way.key: way for way in answer.three_ways if way.acres is not None}
    one, equal, forgotten = (ways.get(key) for key in _ALL_WAYS)
    if equal is None:
        return []
    said = [] if one is None else [f"One big rinse leaves {_against(one, equal, answer)}"]
    if forgotten is not None:
        said.append(f"Forgetting the {forgotten.without[0]} leaves {_against(forgotten, equal, answer)}")
        if _lower_first(forgotten, equal):
            said.append(
                "The first drop alone would praise the forgetful: it is lower, since more of the water went through "
                "the boom. What stayed behind comes with the next load and goes over the whole field."
            )
    if _uneven(answer) and answer.plan.left_frac < (equal.peak_frac or 0.0):
        left, even = (share_text(in_basis(answer, share or 0.0)) for share in (answer.plan.left_frac, equal.peak_frac))
        said.append(
            f"The plan does not share the same water evenly: it gets to {left} where equal rinses get to {even}."
        )
    return said


def carry_title(answer: ChangeoverAnswer) -> str:
    """Return the headline over the ways."""
    return f"Same water, {'three' if len(answer.three_ways) == len(_ALL_WAYS) else 'two'} ways"


def _against(way: WayOutcome, equal: WayOutcome, answer: ChangeoverAnswer) -> str:
    pairs = (
        ("in the first drop", way.first_drop_frac, equal.first_drop_frac),
        ("at the end of the load, and so over most of the field", way.end_frac, equal.end_frac),
        ("as the mean of the load", way.mean_frac, equal.mean_frac),
    )
    parts = [
        f"{share_text(in_basis(answer, own or 0.0))} instead of {share_text(in_basis(answer, other or 0.0))} {where} "
        f"({_times(own, other)})"
        for where, own, other in pairs
    ]
    return f"{'; '.join(parts)}."


def _uneven(answer: ChangeoverAnswer) -> bool:
    return len({round(rinse.water_m3 / answer.question.supply.step_m3) for rinse in answer.plan.rinses}) > 1


def _lower_first(way: WayOutcome, equal: WayOutcome) -> bool:
    lower = (way.first_drop_frac or 0.0) < (equal.first_drop_frac or 0.0)
    return lower and (way.mean_frac or 0.0) > (equal.mean_frac or 0.0)


def _times(first: float | None, second: float | None) -> str:
    return f"{(first or 0.0) / second:.1f} times" if second else "many times"


def _shares(one: CarryLine, areas_m2: tuple[float, ...]) -> list[float]:
    return [one.first_frac, *(one.at_frac(area_m2) for area_m2 in areas_m2), one.end_frac, one.mean_frac]
