"""What a customer wants of the loads of one pass: how to split them, bands, what is aboard, where they are mixed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.planning.published_order import OrderName
from wetrun.units import M3, Frac, M

USUAL_FIRST_FILL_FRAC: Final[Frac] = 0.6
"""Share of the carrier that is in before the first product, if none was typed; see grdc-7-5, osu-mixing-order."""
USUAL_JAR_M3: Final[M3] = 1e-3
"""Spray in the jar test if none was typed: the jar should hold a litre; see grdc-7-5."""


class Split(StrEnum):
    """How the mix of a pass is parted into loads."""

    FULL = "full"
    EQUAL = "equal"


@dataclass(frozen=True, slots=True)
class Band:
    """A band over every row: rates are per treated area.

    Attributes
    ----------
    band_m, row_m : float
        Width of the band, and of the row it stands over [m].
    """

    band_m: M
    row_m: M

    @property
    def treated_frac(self) -> Frac:
        """Share of the field that is treated [frac]."""
        return self.band_m / self.row_m


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadWish:
    """What is wanted of the loads of a pass.

    Attributes
    ----------
    split : Split
        Full loads and a partial last one, or equal loads.
    alike : bool
        Whether loads of one size get the very same amounts, or the total is the nearest and loads differ by a step.
    band : Band or None
        None for broadcast.
    carry_in_m3 : float
        Mix of this very pass that is already in lines, sump and tank [m3].
    field_length_m : float or None
        Length of a swath [m], to tell where the tank runs out.
    order : OrderName
        The published mixing order for what the labels leave open.
    first_fill_frac : float
        Share of the carrier that is in before the first product [frac].
    jar_m3 : float
        Spray in the jar test [m3].
    """

    split: Split = Split.FULL
    alike: bool = True
    band: Band | None = None
    carry_in_m3: M3 = 0.0
    field_length_m: M | None = None
    order: OrderName = OrderName.AWAMLES
    first_fill_frac: Frac = USUAL_FIRST_FILL_FRAC
    jar_m3: M3 = USUAL_JAR_M3

    @property
    def treated_frac(self) -> Frac:
        """Share of the field that is treated [frac]; 1 for broadcast."""
        return 1.0 if self.band is None else self.band.treated_frac
