"""Gauge readings that cannot be as typed: cab against tip, and both against the boom's flow."""

from __future__ import annotations

from collections.abc import Sequence
from math import log, sqrt
from statistics import median
from typing import Final

from wetrun.proving.pressure import PressurePair
from wetrun.proving.slips import FLOW_SLIPS, PRESSURE_SLIPS, Offer, Question, SlipKind
from wetrun.proving.typed_slips import (
    SLIP_WITHIN,
    SWAP_BEYOND,
    TURNED_WITHIN,
    Cell,
    cell_questions,
)

_LEAST_PAIRS: Final = 3


def pressure_questions(pairs: Sequence[PressurePair]) -> tuple[Question, ...]:
    """Return every question the pairs of cab and gauge raise.

    Parameters
    ----------
    pairs : sequence of PressurePair
        As typed.

    Returns
    -------
    tuple of Question
        Rows are counted from 1, as in the sheet; none from fewer than three pairs, which tell nothing of each other.

    Notes
    -----
    Tip pressure over the square of the flow, and cab over tip, are nearly the same in every pair; a median of each is
    the measure. Where cab and tip agree with each other and not with the flow, it is the flow that is asked about.

    References
    ----------
    orifice-law
    """
    if len(pairs) < _LEAST_PAIRS:
        return ()
    per_flow = median(pair.tip_pa / pair.flow_m3s**2 for pair in pairs)
    cab_over_tip = median(pair.cab_pa / pair.tip_pa for pair in pairs)
    turned = tuple(
        question for place, pair in enumerate(pairs, start=1) if (question := _turned(place, pair, cab_over_tip))
    )
    done = {question.row for question in turned}
    cells = [_cell(row_name(n), pair, per_flow, cab_over_tip) for n, pair in enumerate(pairs, start=1)]
    return (*turned, *cell_questions([cell for cell in cells if cell.row not in done]))


def row_name(place: int) -> str:
    """Return what a pair is called, counted from 1."""
    return f"gauge {place}"


def _turned(place: int, pair: PressurePair, cab_over_tip: float) -> Question | None:
    """Cab and gauge of one pair in each other's places: below the gauge by as much as the cab is above it elsewhere."""
    off = log(pair.cab_pa / pair.tip_pa / cab_over_tip)
    if log(cab_over_tip) <= TURNED_WITHIN or abs(off + 2.0 * log(cab_over_tip)) > TURNED_WITHIN:
        return None
    offer = Offer(SlipKind.SWAPPED, "cab", pair.tip_pa, "the cab and the tip, each in the other's place")
    return Question(
        row_name(place), "cab", SlipKind.SWAPPED, pair.cab_pa, (offer,), pair.cab_pa / pair.tip_pa / cab_over_tip - 1.0
    )


def _cell(row: str, pair: PressurePair, per_flow: float, cab_over_tip: float) -> Cell:
    """Return the reading of a pair that fits the other two least."""
    tip_by_flow_pa = per_flow * pair.flow_m3s**2
    if abs(log(pair.cab_pa / pair.tip_pa / cab_over_tip)) <= SLIP_WITHIN:
        return Cell(row, "flow", pair.flow_m3s, sqrt(pair.tip_pa / per_flow), FLOW_SLIPS)
    if abs(log(pair.tip_pa / tip_by_flow_pa)) > SWAP_BEYOND:
        return Cell(row, "tip", pair.tip_pa, pair.cab_pa / cab_over_tip, PRESSURE_SLIPS)
    return Cell(row, "cab", pair.cab_pa, pair.tip_pa * cab_over_tip, PRESSURE_SLIPS)
