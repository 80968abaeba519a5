"""What to ask of rows that do not look like a catch: blank, no time, no flow, two rows swapped.

Nothing is ever changed here: every question names its tips, and the rows stay as they were written down.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from math import exp
from typing import Final

from wetrun.percent import per_cent
from wetrun.proving.catch_run import CatchRun, TipReading, readable
from wetrun.units import Frac, Ratio

MOST_MOVED_FRAC: Final[Frac] = 0.05
"""A pressure that moves by more than this during a catch costs half as much in flow: our own choice."""


class Trouble(StrEnum):
    """What is odd about a row."""

    BLANK = "blank"
    NO_TIME = "no time"
    NOT_A_NUMBER = "not a number that can be"
    NO_FLOW = "no flow"
    SLIP = "slip of unit, point or time"
    SWAPPED = "two rows swapped"
    WHOLE_SHEET = "the whole sheet in another unit"
    PRESSURE = "pressure moved during the catch"


_NO_READING: Final = frozenset({Trouble.BLANK, Trouble.NO_TIME, Trouble.NOT_A_NUMBER})


@dataclass(frozen=True, slots=True)
class Question:
    """Something to ask the person who wrote it down.

    Attributes
    ----------
    tips : tuple of int
        Positions it is about; empty for the whole sheet.
    trouble : Trouble
        What is odd.
    words : str
        The question, with every explanation that would read the same.
    offered_ratio : float or None
        By what the reading would have to be divided if the first explanation is right [ratio]; None if nothing is
        offered.
    other_sizes : tuple of str
        Tip sizes that would read the same.
    """

    tips: tuple[int, ...]
    trouble: Trouble
    words: str
    offered_ratio: Ratio | None = None
    other_sizes: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Rows, as answers name them; empty if there is no reading that could stand."""
        if self.trouble in _NO_READING:
            return ()
        whole = "pressure" if self.trouble is Trouble.PRESSURE else "whole boom"
        return tuple(f"tip {tip}" for tip in self.tips) or (whole,)

    def is_answered(self, rows: AbstractSet[str]) -> bool:
        """Return True if every row it names stands as typed."""
        return bool(self.names) and rows >= set(self.names)


def row_questions(run: CatchRun) -> tuple[Question, ...]:
    """Return a question for every row that no flow can be made of, or that shows no flow.

    Parameters
    ----------
    run : CatchRun
        The catch as written down.

    Returns
    -------
    tuple of Question
        In the order along the boom.
    """
    asked = [_row_question(run, reading) for reading in sorted(run.readings, key=lambda row: row.tip)]
    return (*_pressure_question(run), *(question for question in asked if question is not None))


def _pressure_question(run: CatchRun) -> tuple[Question, ...]:
    share = run.moved_pa / run.pressure_pa
    if share <= MOST_MOVED_FRAC:
        return _pressure_elsewhere(run)
    words = (
        f"The pressure moved by {per_cent(share, places=0)} from the first catch to the last, {per_cent(share / 2)} "
        "of flow. Were all tips caught at one setting? Catch again at a steady one, or write down the pressure with "
        "each section."
    )
    return (Question((), Trouble.PRESSURE, words),)


def _pressure_elsewhere(run: CatchRun) -> tuple[Question, ...]:
    """A test pressure that is not what stood there before and after: one of them is a slip, or another gauge's."""
    read_pa = [pressure_pa for pressure_pa in (run.before_pa, run.after_pa) if pressure_pa is not None]
    if not read_pa:
        return ()
    off = sum(read_pa) / len(read_pa) / run.pressure_pa - 1.0
    if abs(off) <= MOST_MOVED_FRAC:
        return ()
    side = "above" if off > 0.0 else "below"
    words = (
        f"The pressure read before and after the catch is {per_cent(abs(off), places=0)} {side} the one the tips are "
        "judged at: which of them stood at the tips?"
    )
    return (Question((), Trouble.PRESSURE, words),)


def _row_question(run: CatchRun, reading: TipReading) -> Question | None:
    amount, one = reading.amount, (reading.tip,)
    time_s = 1.0 if reading.flow_m3s is not None else run.time_of_s(reading)
    if amount is None:
        words = f"Tip {reading.tip} has no amount. Was it caught? It stays a gap until it is."
        return Question(one, Trouble.BLANK, words)
    if time_s is None or time_s == 0.0:
        words = (
            f"Tip {reading.tip} has an amount but {'no time' if time_s is None else 'a time of 0 s'}. How long was it?"
        )
        return Question(one, Trouble.NO_TIME, words)
    if not readable(run, reading):
        words = f"Tip {reading.tip} has an amount, time or pressure that cannot be. What was read?"
        return Question(one, Trouble.NOT_A_NUMBER, words)
    if amount == 0.0:
        words = f"Tip {reading.tip} gave nothing. Is it blocked or shut, or was it not caught?"
        return Question(one, Trouble.NO_FLOW, words)
    return None


def swap_questions(
    values: Mapping[int, float], places: Mapping[int, float], odd: Sequence[int], scatter: float
) -> tuple[Question, ...]:
    """Return pairs of odd tips that would both be ordinary if their two rows were exchanged.

    Parameters
    ----------
    values : mapping of int to float
        Logarithm of each tip's flow, by position.
    places : mapping of int to float
        Logarithm of the flow expected there: the tip that belongs there, or the tip as it was last caught.
    odd : sequence of int
        Positions unlike what is expected of them.
    scatter : float
        Standard deviation of ordinary tips, as a share.

    Returns
    -------
    tuple of Question
        Each saying that the tips themselves may have changed places.

    Notes
    -----
    Rows of two tips of one kind cannot be seen to be swapped: nothing about them differs.
    """
    near = within(scatter)

    def fits(row: int, place: int) -> bool:
        return abs(values[row] - places[place]) <= near

    found = [pair for pair in combinations(odd, 2) if fits(pair[0], pair[1]) and fits(pair[1], pair[0])]
    return tuple(
        Question(
            pair,
            Trouble.SWAPPED,
            f"Tips {pair[0]} and {pair[1]} each read like the other ({_how(values, pair)}): "
            "are the two rows swapped on the sheet, or the two tips on the boom?",
        )
        for pair in found
    )


def _how(values: Mapping[int, float], pair: tuple[int, int]) -> str:
    return f"{exp(values[pair[0]] - values[pair[1]]):.2f} times each other"


def within(scatter: float) -> float:
    """Return how far from an ordinary reading a corrected slip may lie: four scatters, at least one in a hundred."""
    return max(4.0 * scatter, 0.01)
