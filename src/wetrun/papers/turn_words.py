"""A boom in turns, as rows and sentences."""

from __future__ import annotations

import math
from typing import Final

from wetrun.papers.reader import Reader
from wetrun.percent import off_per_cent, per_cent
from wetrun.planning.boom_turn import BoomTurn, TurnRow
from wetrun.quantity import Kind
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import Ratio

HEADINGS: Final = ("radius", "flow", "outer end", "inner end", "too much", "too little")
CAUTION: Final = (
    "Steady turns on a circle; a boom that swings, slip and slow valves make it worse. Wider turns, or a boom that is "
    "shut in tight ones, help on any machine."
)
MOST_SHOWN: Final[Ratio] = 20.0


def turn_rows(turn: BoomTurn, reader: Reader) -> list[tuple[str, ...]]:
    """Return a row of text for every radius and way; see `HEADINGS`."""
    return [
        (
            reader.exact(row.radius_m, Kind.LENGTH),
            f"{_way(row)}{' (at its limit)' if row.bound else ''}",
            _off(row.outer_ratio),
            _off(row.inner_ratio),
            per_cent(row.over_frac),
            per_cent(row.under_frac),
        )
        for row in turn.rows
    ]


def turn_sentences(turn: BoomTurn, reader: Reader) -> list[str]:
    """Return what to know beside the rows."""
    told = [
        f"Too much and too little: ground swept that is off by more than {per_cent(turn.tolerance_frac, places=0)}."
    ]
    if turn.duty_frac is not None and turn.least_radius_m is not None:
        duty = per_cent(turn.duty_frac, places=0)
        if math.isinf(turn.least_radius_m):
            told.append(f"At {duty} duty in the middle nothing is left to compensate with: plan for less duty.")
        else:
            told.append(
                f"At {duty} duty in the middle every tip can follow from a radius of "
                f"{reader.text(turn.least_radius_m, Kind.LENGTH)}; tighter than that the outer end falls short first, "
                "or the inner end is at its least duty."
            )
        if turn.compensation is TurnCompensation.NONE:
            told.append(
                "The file does not say that this machine compensates turns: the rows by section and tip are if."
            )
    return [*told, CAUTION]


def _way(row: TurnRow) -> str:
    return "the same everywhere" if row.compensation is TurnCompensation.NONE else f"by {row.compensation.value}"


def _off(ratio: Ratio) -> str:
    if ratio > MOST_SHOWN:
        return f"over {MOST_SHOWN:g} times"
    return off_per_cent(ratio - 1.0, places=0)
