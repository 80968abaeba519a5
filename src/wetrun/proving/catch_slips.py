"""Readings that a wrong unit, a point one place off or a wrong time would make of an ordinary tip.

A slip of the pen and a wrong tip can read the same. Whatever is recognised is asked, naming the tip and everything
else that would read like it; no row is ever changed here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from wetrun.proving.catch_questions import Question, Trouble, within
from wetrun.proving.catch_sizes import sizes_like
from wetrun.proving.mixed_units import FLUID_OUNCES, GALLONS, MILLILITRES, MINUTES, OUNCES, POUNDS, Mixed
from wetrun.units import Ratio


@dataclass(frozen=True, slots=True)
class TipSlip:
    """A slip of the pen, and what it makes of a right reading.

    Attributes
    ----------
    words : str
        What happened.
    reads_ratio : float
        What is read over what was right [ratio].
    by_weight : bool or None
        Whether it needs a weighed or a volumetric catch; None for either.
    """

    words: str
    reads_ratio: Ratio
    by_weight: bool | None = None


def _read(slips: Iterable[Mixed], *, by_weight: bool) -> tuple[TipSlip, ...]:
    return tuple(
        TipSlip(f"{slip.read.symbol} were read and taken as {slip.taken.symbol}", slip.reads_ratio, by_weight)
        for slip in slips
    )


_MINUTES_AS_SECONDS: Final = MINUTES[1]

SLIPS: Final[tuple[TipSlip, ...]] = (
    TipSlip("the point is one place too far to the right", 10.0),
    TipSlip("the point is one place too far to the left", 0.1),
    *_read((*FLUID_OUNCES, *GALLONS, *MILLILITRES), by_weight=False),
    *_read((*OUNCES, *POUNDS), by_weight=True),
    TipSlip("it was caught for half the time written down", 0.5),
    TipSlip("it was caught for twice the time written down", 2.0),
    # Flow goes with one over the time.
    TipSlip("its time in minutes was taken as seconds", 1.0 / _MINUTES_AS_SECONDS.reads_ratio),
    TipSlip("its time in seconds was taken as minutes", _MINUTES_AS_SECONDS.reads_ratio),
)
"""Slips that can be told from a tip. US quarts for litres are left out: 5 % looks like a tip."""


def slip_question(
    tip: int, read_ratio: Ratio, scatter: float, *, size: str = "", by_weight: bool = False
) -> Question | None:
    """Return a question if a tip's reading is what a slip of unit, point or time makes of an ordinary one.

    Parameters
    ----------
    tip : int
        Position.
    read_ratio : float
        Its flow over that of its boom [ratio].
    scatter : float
        Standard deviation of ordinary tips, as a share.
    size : str
        Size stamped on the set; empty if unknown.
    by_weight : bool
        Whether it was weighed.

    Returns
    -------
    Question or None
        Every slip and every other tip size that fits; None if no slip does.

    References
    ----------
    inch-pound-definitions, iso-10625

    Example
    -------
    >>> found = slip_question(17, 10.1, 0.015, size="04")
    >>> found.offered_ratio, found.other_sizes
    (10.0, ())
    """
    near = within(scatter)
    fitting = [s for s in _possible(by_weight=by_weight) if abs(log(read_ratio / s.reads_ratio)) <= near]
    if not fitting:
        return None
    sizes = sizes_like(read_ratio, scatter, size)
    other = f"; or a tip of size {' or '.join(sizes)} is fitted among the {size}s" if sizes else ""
    words = f"Tip {tip} reads {read_ratio:.3g} times its boom: {_listed(fitting)}{other}. Which is it?"
    return Question((tip,), Trouble.SLIP, words, _nearest(fitting, read_ratio), sizes)


def sheet_question(read_ratio: Ratio, scatter: float, *, by_weight: bool = False) -> Question | None:
    """Return a question if the whole boom is off new by what a wrong unit makes.

    Parameters
    ----------
    read_ratio : float
        Level of the boom over new tips [ratio].
    scatter : float
        Standard deviation of ordinary tips, as a share.
    by_weight : bool
        Whether it was weighed.

    Returns
    -------
    Question or None
        The slips that fit to within the wear a set may have; None if none does.
    """
    low, high = 0.85 - 3.0 * scatter, 1.3 + 3.0 * scatter
    fitting = [s for s in _possible(by_weight=by_weight) if low < read_ratio / s.reads_ratio < high]
    if not fitting or abs(log(read_ratio)) < log(1.5):
        return None
    words = (
        f"The whole boom reads {read_ratio:.3g} times new tips of the size entered: {_listed(fitting)}; or tips of "
        "another size are fitted. Which is it?"
    )
    return Question((), Trouble.WHOLE_SHEET, words, _nearest(fitting, read_ratio))


def _possible(*, by_weight: bool) -> tuple[TipSlip, ...]:
    return tuple(slip for slip in SLIPS if slip.by_weight in {None, by_weight})


def _listed(slips: Sequence[TipSlip]) -> str:
    return ", or ".join(slip.words for slip in slips)


def _nearest(slips: Sequence[TipSlip], ratio: Ratio) -> Ratio:
    return min((slip.reads_ratio for slip in slips), key=lambda reads: abs(log(ratio / reads)))
