"""What an as-applied map covers."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.fieldlog.inspect import RatePercentiles
from wetrun.units import M2, M3, M


@dataclass(frozen=True, slots=True)
class Patches:
    """What a map covers: the area of its patches summed, how far they reach, and rates by count of patches.

    ``without_area`` counts patches that are a point, a line or nothing. ``put_down_m3`` is applied rate times area,
    None where the rate's unit is not known.
    """

    count: int
    without_area: int
    area_m2: M2
    east_m: M
    north_m: M
    rates: tuple[RatePercentiles, ...]
    put_down_m3: M3 | None
