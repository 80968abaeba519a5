"""What a changeover leaves in the next crop's first acres, way by way, as a picture and its table show it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.same_water import WayOutcome
from wetrun.changeover.tolerated import Basis
from wetrun.errors import NotDefined
from wetrun.papers.reader import Reader, listed
from wetrun.papers.small_amounts import water_text
from wetrun.quantity import Kind, System
from wetrun.spray.bounds import FloatArray
from wetrun.units import FRACTION, M2, SQUARE_METRE, Frac

SETTLED_RATIO: Final = 1.7
"""A line is drawn until it is within this factor of its end: beyond it nothing is to be seen."""
_READ_AT: Final = {System.US: (1.0, 5.0, 20.0), System.SI: (0.5, 2.0, 10.0)}
_SHARES: Final[Mapping[Basis, str]] = {
    Basis.MIX: "share of the old tank mix in what leaves the tips",
    Basis.DOSE: "share of the old product's dose per area",
}
_NOUNS: Final[Mapping[Basis, str]] = {Basis.MIX: "the old tank mix", Basis.DOSE: "the old product's dose per area"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryLine:
    """One way to use the water, and what the next crop then gets.

    Attributes
    ----------
    letter : str
        Stands on the line and beside its row.
    name : str
        What was done.
    areas_m2 : array
        Area sprayed so far by the whole boom, rising from 0, shape (points,) [m2].
    share_frac : array
        Out of the section that brings out most at that moment, same shape [frac].
    mean_frac : float
        Mean over boom and load [frac].
    above_m2 : float or None
        Area after which the whole boom stays at or below the level; None if it does not within the load [m2].
    """

    letter: str
    name: str
    areas_m2: Annotated[FloatArray, SQUARE_METRE]
    share_frac: Annotated[FloatArray, FRACTION]
    mean_frac: Frac
    above_m2: M2 | None

    @property
    def first_frac(self) -> Frac:
        """The first drop [frac]."""
        return float(self.share_frac[0])

    @property
    def end_frac(self) -> Frac:
        """The end of the load: what the rest of the field gets [frac]."""
        return float(self.share_frac[-1])

    def at_frac(self, area_m2: M2) -> Frac:
        """Return the share after an area [m2], straight between two points [frac]."""
        return float(np.interp(area_m2, self.areas_m2, self.share_frac))


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryView:
    """Ways side by side.

    Attributes
    ----------
    title : str
        What is compared.
    lines : tuple of CarryLine
        The ways that can be done; at least one.
    level_frac : float
        Tolerated level, a share of the same thing [frac].
    share_words : str
        What is shared: the old tank mix, or the old product's dose per area.
    """

    title: str
    lines: tuple[CarryLine, ...]
    level_frac: Frac
    share_words: str

    @property
    def load_m2(self) -> M2:
        """Area the load covers, as far as it was reckoned [m2]."""
        return float(self.lines[0].areas_m2[-1])

    @property
    def drawn_m2(self) -> M2:
        """Area after which no line changes much, and the level is passed where it is at all [m2]."""
        return min(self.load_m2, max(_settled_m2(line) for line in self.lines))


def carry_view(answer: ChangeoverAnswer, reader: Reader) -> CarryView | None:
    """Return what the same water leaves, way by way, as a share of what the tolerated level is a share of.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    CarryView or None
        None if no way can be drawn.
    """
    done = [(letter, way) for letter, way in lettered(answer) if way.acres is not None]
    if not done:
        return None
    return CarryView(
        title=f"The same {water_text(done[0][1].water_m3, reader)} of clean water used in {len(done)} ways",
        lines=tuple(_line(letter, way, answer, reader) for letter, way in done),
        level_frac=answer.question.tolerated.level_frac,
        share_words=f"{share_of(answer)}, out of the section that brings out most",
    )


def lettered(answer: ChangeoverAnswer) -> Iterator[tuple[str, WayOutcome]]:
    """Yield every way with its letter."""
    yield from zip("ABCD", answer.three_ways, strict=False)


def way_words(way: WayOutcome, reader: Reader) -> str:
    """Return what was done, in a few words.

    Parameters
    ----------
    way : WayOutcome
        The way.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        Such as "3 × 80 gal, eductor forgotten".
    """
    water = water_text(way.rinses[0].water_m3, reader)
    rinses = f"one rinse of {water}" if len(way.rinses) == 1 else f"{len(way.rinses)} rinses of {water}"
    return f"{rinses}, {listed(list(way.without))} forgotten" if way.without else rinses


def in_basis(answer: ChangeoverAnswer, old_frac: Frac) -> Frac:
    """Return a share of the old tank mix as a share of what the tolerated level is a share of [frac].

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    old_frac : float
        Share of the old tank mix in what leaves the tips [frac].

    Returns
    -------
    float
        The same, or of the old product's dose per area [frac].
    """
    on_dose = answer.question.tolerated.basis is Basis.DOSE
    return old_frac * answer.plan.task.load.dose_ratio if on_dose else old_frac


def share_of(answer: ChangeoverAnswer) -> str:
    """Return what every share of a paper is a share of."""
    return _SHARES[answer.question.tolerated.basis]


def shared(answer: ChangeoverAnswer) -> str:
    """Return what is shared, as it stands behind a share."""
    return _NOUNS[answer.question.tolerated.basis]


def _line(letter: str, way: WayOutcome, answer: ChangeoverAnswer, reader: Reader) -> CarryLine:
    if way.acres is None or way.mean_frac is None:
        raise NotDefined(way.key, reason=way.cannot, remedy="It has no line.")
    by_section = {Basis.MIX: way.acres.old_frac, Basis.DOSE: way.acres.dose_frac}
    return CarryLine(
        letter=letter,
        name=way_words(way, reader),
        areas_m2=way.areas_m2,
        share_frac=by_section[answer.question.tolerated.basis].max(axis=1),
        mean_frac=in_basis(answer, way.mean_frac),
        above_m2=way.above_m2,
    )


def read_at_m2(load_m2: M2, reader: Reader) -> tuple[M2, ...]:
    """Return the areas a table is read at, plain numbers in the reader's unit, all within the load [m2].

    Parameters
    ----------
    load_m2 : float
        Area of the load [m2].
    reader : Reader
        Whose units.

    Returns
    -------
    tuple of float
        In [m2]: one, five and twenty acres; a half, two and ten hectares; tenths of them for a load that small.

    Example
    -------
    >>> reader = Reader(System.US)
    >>> [round(reader.number(area, Kind.AREA), 1) for area in read_at_m2(3e5, reader)]
    [1.0, 5.0, 20.0]
    """
    load = reader.number(load_m2, Kind.AREA)
    scale = 10.0 ** min(0, math.floor(math.log10(load / _READ_AT[reader.system][1])))
    shown = (scale * step for step in _READ_AT[reader.system])
    return tuple(reader.inside(step, Kind.AREA) for step in shown if step < load)


def _settled_m2(line: CarryLine) -> M2:
    moving = np.flatnonzero(line.share_frac > SETTLED_RATIO * line.end_frac)
    still_m2 = float(line.areas_m2[min(int(moving[-1]) + 1, len(line.areas_m2) - 1)]) if moving.size else 0.0
    return max(still_m2, 1.1 * (line.above_m2 or 0.0), float(line.areas_m2[1]))
