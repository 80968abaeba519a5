"""Readings that cannot be as typed: the questions they raise, and the slips a hand is known to make."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.percent import off_per_cent
from wetrun.proving.mixed_units import (
    BARS,
    FEET,
    FLOWS,
    FLUID_OUNCES,
    GALLONS,
    IMPERIAL_GALLONS,
    KILOPASCALS,
    METRES_PER_SECOND,
    MILES_PER_HOUR,
    MINUTES,
    POUNDS,
    RATES,
    YARDS,
    Mixed,
)
from wetrun.proving.standing import plain_name


class SlipKind(StrEnum):
    """What seems to have happened to a reading."""

    BLANK = "left blank"
    NOT_POSITIVE = "zero, negative or not a number"
    DECIMAL = "decimal point slipped"
    UNIT = "typed in another unit"
    SWAPPED = "swapped with another row"
    ODD = "unlike the other rows"


_NO_READING: Final = frozenset({SlipKind.BLANK, SlipKind.NOT_POSITIVE})


@dataclass(frozen=True, slots=True)
class UnitSlip:
    """Two units that are taken for each other, and by what ratio that moves a reading."""

    words: str
    factor: float


@dataclass(frozen=True, slots=True)
class Column:
    """One kind of reading over all rows.

    Attributes
    ----------
    name : str
        What it is, with no unit.
    values : tuple of float or None
        In SI; None where nothing was typed.
    exponent : int
        Its power in the product that is the same for every row: 1 or -1.
    slips : tuple of UnitSlip
        Units it is likely to be mistyped in.
    """

    name: str
    values: tuple[float | None, ...]
    exponent: int
    slips: tuple[UnitSlip, ...] = ()


@dataclass(frozen=True, slots=True)
class Offer:
    """One way in which a row would fit; `value` is the reading in SI if it is so."""

    kind: SlipKind
    column: str
    value: float
    words: str
    other_row: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """A row that must be answered for before it counts.

    Attributes
    ----------
    row : str
        The run or catch.
    column : str
        The reading, or empty if it is the row as a whole.
    kind : SlipKind
        The likeliest slip.
    entered : float or None
        What was typed, in SI; None for a blank or for a row as a whole.
    offers : tuple of Offer
        Corrections that would make the row fit, likeliest first; none is applied.
    off_by : float
        How much the row is off the others, as a ratio less one; 0 where that cannot be told.
    """

    row: str
    column: str
    kind: SlipKind
    entered: float | None
    offers: tuple[Offer, ...]
    off_by: float

    @property
    def name(self) -> str:
        """Row and reading, as an answer names them; empty if it must be typed again."""
        return "" if self.kind in _NO_READING else f"{self.row} {self.column}".rstrip()

    def is_answered(self, rows: AbstractSet[str]) -> bool:
        """Return True if the reading, or its whole row, stands as typed and can."""
        return bool(self.name) and not {plain_name(self.row), plain_name(self.name)}.isdisjoint(rows)

    @property
    def words(self) -> str:
        """The question for the person who typed it."""
        place = f"{self.row}, {self.column}" if self.column else self.row
        off = off_per_cent(self.off_by, places=0)
        if not self.offers:
            said = f" ({off})" if self.off_by else ""
            return f"{place}: {self.kind.value}{said}. Type it again, or leave the row out?"
        return f"{place}: {off} against the others. Was it {' or '.join(o.words for o in self.offers)}?"


DECIMAL_SLIPS = tuple(UnitSlip(f"with the point off, {factor:g} times", factor) for factor in (10.0, 0.1, 100.0, 0.01))


def _typed(*slips: Mixed) -> tuple[UnitSlip, ...]:
    """Slips as they are offered beside a field: the unit it asks for is the one taken."""
    return tuple(
        UnitSlip(f"typed in {slip.read.words} where {slip.taken.words} is expected", slip.reads_ratio) for slip in slips
    )


SPEED_SLIPS = _typed(*MILES_PER_HOUR, *METRES_PER_SECOND)
TIME_SLIPS = _typed(*MINUTES)
VOLUME_SLIPS = _typed(*GALLONS, *IMPERIAL_GALLONS, *FLUID_OUNCES)
MASS_SLIPS = _typed(*POUNDS)
LENGTH_SLIPS = _typed(*FEET, *YARDS)
PRESSURE_SLIPS = _typed(*BARS, *KILOPASCALS)
FLOW_SLIPS = _typed(*FLOWS)
RATE_SLIPS = _typed(*RATES)
