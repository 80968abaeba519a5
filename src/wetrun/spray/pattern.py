"""The droplet classes, the families of tips, and what has to be known of a tip to speak of its droplets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from itertools import pairwise
from typing import Final

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import check_positive
from wetrun.units import PASCAL, RADIAN, Pa, Rad


class DropletClass(IntEnum):
    """Droplet size classes of ASABE S572 / ISO 25358, finest first."""

    XF = 0
    VF = 1
    F = 2
    M = 3
    C = 4
    VC = 5
    XC = 6
    UC = 7

    @property
    def letters(self) -> str:
        """The letters of the class, as a label prints them."""
        return self.name

    @property
    def words(self) -> str:
        """The class in words."""
        return _WORDS[self.value]

    @property
    def colour(self) -> str:
        """The colour the standard gives the class; unrelated to the colours of tip sizes."""
        return _COLOURS[self.value]


_WORDS: Final = (
    "Extremely fine",
    "Very fine",
    "Fine",
    "Medium",
    "Coarse",
    "Very coarse",
    "Extremely coarse",
    "Ultra coarse",
)
_COLOURS: Final = ("purple", "red", "orange", "yellow", "blue", "green", "white", "black")


class Family(StrEnum):
    """How a tip makes its droplets."""

    FLAT_FAN = "single-orifice flat fan"
    PRE_ORIFICE = "pre-orifice flat fan"
    AIR_INDUCTION = "air-induction flat fan"
    STREAMER = "streamer"


@dataclass(frozen=True, slots=True)
class ClassRow:
    """One row of a maker's table: the class measured at a pressure."""

    pressure_pa: Pa
    droplet_class: DropletClass


@dataclass(frozen=True, slots=True)
class SprayPattern:
    """What a tip's droplet class follows from: size, angle, family, pressure range and the maker's rows, if any.

    Rows rise in pressure, lie inside the pressure range, and never get coarser as pressure rises.
    """

    size_number: float
    angle_rad: Rad
    family: Family
    low_pa: Pa
    high_pa: Pa
    rows: tuple[ClassRow, ...] = ()

    def __post_init__(self) -> None:
        check_positive("least pressure of the tip", self.low_pa, PASCAL, remedy="Enter the maker's pressure range.")
        if not self.low_pa < self.high_pa < math.inf:
            raise OutOfRange(
                "greatest pressure of the tip",
                self.high_pa,
                PASCAL,
                low=self.low_pa,
                remedy="It must be above the least.",
            )
        if self.family is Family.STREAMER:
            _check_no_rows(self.rows)
            return
        _check_fan(self.size_number, self.angle_rad)
        _check_rows(self)


def _check_no_rows(rows: tuple[ClassRow, ...]) -> None:
    if rows:
        raise NotDefined(
            "droplet class of a streamer",
            reason="streams have no droplet class, yet class rows are given",
            remedy="Leave the rows out, or correct the family of the tip.",
        )


def _check_fan(size_number: float, angle_rad: Rad) -> None:
    if not (math.isfinite(size_number) and size_number > 0.0):
        raise NotDefined(
            f"tip of size {size_number:g}", reason="a size is a number above zero", remedy="Enter the size of the tip."
        )
    if not 0.0 < angle_rad < math.pi:
        raise OutOfRange(
            "spray angle", angle_rad, RADIAN, low=0.0, high=math.pi, remedy="Enter the angle of the fan, such as 110°."
        )


def _check_rows(pattern: SprayPattern) -> None:
    for row in pattern.rows:
        if not pattern.low_pa <= row.pressure_pa <= pattern.high_pa:
            raise OutOfRange(
                "pressure of a class row",
                row.pressure_pa,
                PASCAL,
                low=pattern.low_pa,
                high=pattern.high_pa,
                remedy="Correct the row or the pressure range of the tip.",
            )
        if row.droplet_class is DropletClass.XF:
            raise NotDefined(
                "class row extremely fine",
                reason="no boom tip is rated extremely fine here",
                remedy="Enter it as very fine (VF).",
            )
    for before, after in pairwise(pattern.rows):
        if not after.pressure_pa > before.pressure_pa:
            raise OutOfRange(
                "pressure of a class row",
                after.pressure_pa,
                PASCAL,
                low=before.pressure_pa,
                remedy="Give the rows in rising order of pressure, each pressure once.",
            )
        if after.droplet_class > before.droplet_class:
            raise NotDefined(
                "class rows of a tip",
                reason=f"they turn from {before.droplet_class.name} to {after.droplet_class.name} as pressure rises",
                remedy="Check the two rows against the maker's table.",
            )
