"""Readings that cannot be as typed: the questions they raise, and the slips a hand is known to make."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.percent import off_per_cent
from wetrun.proving.number_form import FOOT_M, IMPERIAL_GALLON_M3
from wetrun.spray.definitions import LITRE_M3, MINUTE_S, POUND_KG, US_GALLON_M3


class SlipKind(StrEnum):
    """What seems to have happened to a reading."""

    BLANK = "left blank"
    NOT_POSITIVE = "zero, negative or not a number"
    DECIMAL = "decimal point slipped"
    UNIT = "typed in another unit"
    SWAPPED = "swapped with another row"
    ODD = "unlike the other rows"


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
    def words(self) -> str:
        """The question for the person who typed it."""
        place = f"{self.row}, {self.column}" if self.column else self.row
        off = off_per_cent(self.off_by, places=0)
        if not self.offers:
            said = f" ({off})" if self.off_by else ""
            return f"{place}: {self.kind.value}{said}. Type it again, or leave the row out?"
        return f"{place}: {off} against the others. Was it {' or '.join(o.words for o in self.offers)}?"


DECIMAL_SLIPS = tuple(UnitSlip(f"with the point off, {factor:g} times", factor) for factor in (10.0, 0.1, 100.0, 0.01))


def both_ways(first: str, second: str, factor: float) -> tuple[UnitSlip, UnitSlip]:
    """Return the slip of typing one unit for another, both ways; `factor` is the first unit over the second."""
    # A number meant in the second unit but read in the first comes out too large by the factor.
    return (
        UnitSlip(f"typed in {second} where {first} is expected", factor),
        UnitSlip(f"typed in {first} where {second} is expected", 1.0 / factor),
    )


_MILE_PER_KILOMETRE = 5.28 * FOOT_M
SPEED_SLIPS = (*both_ways("mph", "km/h", _MILE_PER_KILOMETRE), *both_ways("m/s", "km/h", 3.6))
TIME_SLIPS = both_ways("minutes", "seconds", MINUTE_S)
VOLUME_SLIPS = (
    *both_ways("US gallons", "litres", US_GALLON_M3 / LITRE_M3),
    *both_ways("imperial gallons", "US gallons", IMPERIAL_GALLON_M3 / US_GALLON_M3),
    *both_ways("US fluid ounces", "millilitres", US_GALLON_M3 / LITRE_M3 * 1000.0 / 128.0),
)
MASS_SLIPS = both_ways("kilograms", "pounds", 1.0 / POUND_KG)
