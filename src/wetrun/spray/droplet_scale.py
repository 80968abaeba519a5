"""The scale that classes are read on: a tip's sheet index against the index of the reference sprays.

The standard classifies by comparison with reference sprays measured on the same instrument; so does this scale. A
reference tip lands exactly on its own limit. The limit between extremely fine and very fine is left out: its
reference is no flat fan, so everything below the finest limit is "very fine or finer".
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from wetrun.spray.definitions import BAR_PA
from wetrun.spray.pattern import DropletClass, Family, SprayPattern
from wetrun.units import M, Pa, Rad, Ratio


@dataclass(frozen=True, slots=True)
class ReferenceSpray:
    """A reference spray: the tip, its pressure, and the diameters that 10, 50 and 90 % of its volume lie below."""

    finer: DropletClass
    size_number: float
    angle_rad: Rad
    pressure_pa: Pa
    dv10_m: M
    dv50_m: M
    dv90_m: M


def _spray(finer: DropletClass, tip: tuple[float, float, float], microns: tuple[float, float, float]) -> ReferenceSpray:
    size, degrees, bar = tip
    dv10_m, dv50_m, dv90_m = (value * 1e-6 for value in microns)
    return ReferenceSpray(finer, size, math.radians(degrees), bar * BAR_PA, dv10_m, dv50_m, dv90_m)


# Tip and pressure from memory (their nominal flows agree with the orifice law within 0.7 %); diameters second-hand.
REFERENCE_SPRAYS: Final = (
    _spray(DropletClass.VF, (1.0, 110.0, 4.5), (59.5, 134.4, 236.4)),
    _spray(DropletClass.F, (3.0, 110.0, 3.0), (110.3, 248.1, 409.4)),
    _spray(DropletClass.M, (6.0, 110.0, 2.0), (162.0, 357.8, 584.0)),
    _spray(DropletClass.C, (8.0, 80.0, 2.5), (191.7, 431.0, 737.1)),
    _spray(DropletClass.VC, (10.0, 65.0, 2.0), (226.1, 500.9, 819.8)),
    _spray(DropletClass.XC, (15.0, 65.0, 1.5), (302.5, 658.6, 1142.2)),
)


@dataclass(frozen=True, slots=True)
class FamilyScale:
    """What a family's default rests on.

    ``scale_ratio`` is the droplet size over that of a single orifice of the same flow, ``sigma`` one standard
    deviation of ln Dv0.5; ``least_classes`` and ``coverage`` say how wide a span is stated.
    """

    scale_ratio: Ratio
    sigma: float
    least_classes: int
    coverage: float


FAMILY_SCALES: Final[Mapping[Family, FamilyScale]] = {
    # Budget of sigma: model 6.3 %, make 4 %, laboratory 2.5 %, pressure 1.7 %, liquid 2 %: 8.4 %, taken as 9 %.
    Family.FLAT_FAN: FamilyScale(1.0, 0.09, 1, 0.7),
    # No published table of ratios: 1.3 to 1.7 by two orifices in series, spread assumed.
    Family.PRE_ORIFICE: FamilyScale(1.5, 0.15, 2, 0.7),
    # Three designs of one size at one pressure measured 1.6 to 3.3.
    Family.AIR_INDUCTION: FamilyScale(2.2, 0.28, 2, 0.9),
}
OWN_ROWS_SIGMA: Final = 0.12
"""One standard deviation of ln Dv0.5 when the scale comes from the tip's own rows (0.09 to 0.12)."""


def sheet_index(size_number: float, pressure_pa: Pa, angle_rad: Rad, *, scale_ratio: Ratio = 1.0) -> float:
    """Return the sheet index: 1 for a 110-03 at 3 bar, and proportional to droplet size after that.

    Parameters
    ----------
    size_number
        Number of the size.
    pressure_pa
        Pressure at the tip [Pa].
    angle_rad
        Angle of the fan [rad].
    scale_ratio
        Droplet size over that of a single orifice of the same flow [ratio].

    Returns
    -------
    float
        The index, without unit.

    References
    ----------
    sheet-index

    Example
    -------
    >>> round(sheet_index(6.0, 2e5, math.radians(110.0)), 3)
    1.442
    """
    size, pressure, angle = size_number / 3.0, 3.0 * BAR_PA / pressure_pa, math.radians(110.0) / angle_rad
    return float((size * pressure * angle) ** (1.0 / 3.0) * scale_ratio)


INDEX_LIMITS: Final = tuple(
    sheet_index(spray.size_number, spray.pressure_pa, spray.angle_rad) for spray in REFERENCE_SPRAYS
)
_LOG_INDEX: Final = tuple(math.log(limit) for limit in INDEX_LIMITS)
LOG_DV50_LIMITS: Final = tuple(math.log(spray.dv50_m) for spray in REFERENCE_SPRAYS)
CLASSES: Final = tuple(DropletClass)[1:]
"""The classes this scale can tell apart: very fine (or finer) to ultra coarse."""


def log_dv50(log_index: float) -> float:
    """Return ln of the volume median diameter [m] for ln of a sheet index.

    Straight lines between the reference sprays, slope 1 beyond them, so that limits map on limits exactly.

    References
    ----------
    reference-sprays

    Example
    -------
    >>> round(math.exp(log_dv50(0.0)) * 1e6, 1)
    248.1
    """
    return _mapped(log_index, _LOG_INDEX, LOG_DV50_LIMITS)


def log_index_of(log_diameter: float) -> float:
    """Return ln of the sheet index for ln of a volume median diameter [m]: the way back of `log_dv50`.

    Example
    -------
    >>> round(log_index_of(log_dv50(0.2)), 12)
    0.2
    """
    return _mapped(log_diameter, LOG_DV50_LIMITS, _LOG_INDEX)


def index_limits(droplet_class: DropletClass) -> tuple[float, float]:
    """Return the sheet indices a class lies between: 0 below very fine, infinity above ultra coarse.

    Example
    -------
    >>> index_limits(DropletClass.M)[0]
    1.0
    """
    place = CLASSES.index(droplet_class)
    low = INDEX_LIMITS[place - 1] if place > 0 else 0.0
    high = INDEX_LIMITS[place] if place < len(INDEX_LIMITS) else math.inf
    return low, high


def scale_from_rows(pattern: SprayPattern) -> tuple[Ratio, Ratio] | None:
    """Return the least and greatest droplet scale that puts every row into its class, or None if none does.

    Parameters
    ----------
    pattern
        A tip with at least one class row.

    Returns
    -------
    tuple or None
        Lower and upper scale [ratio]; 0 or infinity on an open side. None: the rows contradict the one-third law.

    References
    ----------
    sheet-index

    Example
    -------
    >>> from wetrun.spray.pattern import ClassRow
    >>> row = ClassRow(3e5, DropletClass.VC)
    >>> tip = SprayPattern(3.0, math.radians(110.0), Family.AIR_INDUCTION, 1e5, 8e5, (row,))
    >>> [round(scale, 3) for scale in scale_from_rows(tip)]
    [1.639, 2.038]
    """
    low, high = 0.0, math.inf
    for row in pattern.rows:
        index = sheet_index(pattern.size_number, row.pressure_pa, pattern.angle_rad)
        finest, coarsest = index_limits(row.droplet_class)
        low, high = max(low, finest / index), min(high, coarsest / index)
    return (low, high) if low <= high else None


def _mapped(value: float, given: tuple[float, ...], wanted: tuple[float, ...]) -> float:
    above = bisect_right(given, value)
    if above == 0 or above == len(given):
        end = 0 if above == 0 else -1
        return wanted[end] + (value - given[end])
    share = (value - given[above - 1]) / (given[above] - given[above - 1])
    return wanted[above - 1] + share * (wanted[above] - wanted[above - 1])
