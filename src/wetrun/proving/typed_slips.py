"""Readings held against what the machine's other readings make of them: slips of point, unit or row become questions.

Where a test has rows that obey one law, `slip_search` finds the slip. Here each reading has an expectation of its own,
and only what no fault of a sprayer does – half as much again, or the very number of another row – is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import expm1, isfinite, log
from typing import Final

from wetrun.proving.slips import DECIMAL_SLIPS, Offer, Question, SlipKind, UnitSlip

SLIP_BEYOND: Final = log(1.4)
"""No fault that a wet run looks for moves a reading as far: our own choice."""
SLIP_WITHIN: Final = 0.25
"""A slip explains a reading if what is left is below this: wear, a wrong number and a loss may still be in it."""
ODD_BEYOND: Final = log(2.0)
"""Further off than this a reading is asked about even if no slip explains it."""
SWAP_BEYOND: Final = 0.10
"""Two rows are asked about as swapped if their readings differ by more than this, and change sides."""
_SWAP_LEFT: Final = 0.25
TURNED_WITHIN: Final = 0.05
"""Cab and gauge seem to have changed places if turned round they are as near to other rows as this."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One reading and what is expected of it.

    Attributes
    ----------
    row, column : str
        Where it stands.
    value, expected : float
        In SI.
    slips : tuple of UnitSlip
        Units it is likely to be mistyped in.
    """

    row: str
    column: str
    value: float
    expected: float
    slips: tuple[UnitSlip, ...] = ()

    @property
    def off(self) -> float:
        """How far it is off, as a logarithm."""
        return log(self.value / self.expected)


def cell_questions(cells: Sequence[Cell], *, odd: bool = True) -> tuple[Question, ...]:
    """Return the questions readings raise against what is expected of them, in their order.

    Parameters
    ----------
    cells : sequence of Cell
        Readings; an expectation is above zero.
    odd : bool
        Whether a reading that is far off with no slip to explain it is asked about too.

    Returns
    -------
    tuple of Question
        One for each reading that is zero, seems swapped with another row's, or seems slipped; none is answered here.

    Notes
    -----
    A swap shows by two readings of one column on opposite sides of what is expected that would both be nearer, and
    alike, the other way round. Nothing is changed.

    References
    ----------
    day-plan-own-choice

    Example
    -------
    >>> cells = [Cell("pressure 1", "cab", 2.8e5, 2.7e5), Cell("pressure 2", "cab", 4.1e6, 4.1e5)]
    >>> [(q.row, q.offers[0].words) for q in cell_questions(cells)]
    [('pressure 2', 'the cab with the point off, 10 times')]
    """
    whole = [cell for cell in cells if isfinite(cell.value) and cell.value > 0.0]
    found = (_question(cell, whole, odd=odd) for cell in cells)
    return tuple(question for question in found if question is not None)


def _question(cell: Cell, whole: Sequence[Cell], *, odd: bool) -> Question | None:
    if not (isfinite(cell.value) and cell.value > 0.0):
        return Question(cell.row, cell.column, SlipKind.NOT_POSITIVE, cell.value, (), 0.0)
    swaps = tuple(_swaps(cell, whole))
    offers = swaps or (tuple(_slips(cell)) if abs(cell.off) > SLIP_BEYOND else ())
    if offers:
        return Question(cell.row, cell.column, offers[0].kind, cell.value, offers, expm1(cell.off))
    if odd and abs(cell.off) > ODD_BEYOND:
        return Question(cell.row, cell.column, SlipKind.ODD, cell.value, (), expm1(cell.off))
    return None


def _swaps(cell: Cell, whole: Sequence[Cell]) -> Iterator[Offer]:
    for other in whole:
        moved = log(other.value / cell.value)
        if other.column != cell.column or other.row == cell.row or abs(moved) <= SWAP_BEYOND or cell.off * moved >= 0.0:
            continue
        mine, theirs = cell.off + moved, other.off - moved
        better = max(abs(mine), abs(theirs)) < min(abs(cell.off), abs(other.off))
        if cell.off * other.off < 0.0 and better and abs(mine - theirs) <= _SWAP_LEFT * abs(moved):
            words = f"the {cell.column} of {other.row}, the two rows swapped"
            yield Offer(SlipKind.SWAPPED, cell.column, other.value, words, other.row)


def _slips(cell: Cell) -> Iterator[Offer]:
    known = [(SlipKind.DECIMAL, slip) for slip in DECIMAL_SLIPS] + [(SlipKind.UNIT, slip) for slip in cell.slips]
    left = {slip.words: abs(cell.off - log(slip.factor)) for _, slip in known}
    for kind, slip in sorted(known, key=lambda item: left[item[1].words]):
        if left[slip.words] <= SLIP_WITHIN:
            yield Offer(kind, cell.column, cell.value / slip.factor, f"the {cell.column} {slip.words}")
