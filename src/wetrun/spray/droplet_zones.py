"""The pressure range of a tip cut into zones, each with one authority for the droplet class."""

from __future__ import annotations

import math
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from wetrun.errors import NotDefined
from wetrun.spray.droplet_scale import (
    CLASSES,
    FAMILY_SCALES,
    LOG_DV50_LIMITS,
    OWN_ROWS_SIGMA,
    log_dv50,
    log_index_of,
    scale_from_rows,
    sheet_index,
)
from wetrun.spray.pattern import DropletClass, Family, SprayPattern
from wetrun.units import Frac, M, Pa


class Authority(StrEnum):
    """On whose word a class is stated, strongest first."""

    MEASURED = "maker's class rows"
    SCALED = "scaled from this tip's own rows"
    FAMILY = "family default"


@dataclass(frozen=True, slots=True)
class SheetModel:
    """Normal ln Dv0.5 about the sheet index, cut off where the tip's own rows already rule a class out.

    ``log_index_base`` is ln of the sheet index at a pressure of one pascal.
    """

    log_index_base: float
    sigma: float
    finest: DropletClass = CLASSES[0]
    coarsest: DropletClass = CLASSES[-1]

    def log_dv50_at(self, pressure_pa: Pa) -> float:
        """Return ln of the expected volume median diameter at a pressure [Pa]."""
        return log_dv50(self.log_index_base - math.log(pressure_pa) / 3.0)

    def pressure_at_pa(self, middle: float) -> Pa:
        """Return the pressure [Pa] at which ln of the expected volume median diameter is ``middle``."""
        return math.exp(3.0 * (self.log_index_base - log_index_of(middle)))

    def class_fracs(self, middle: float) -> tuple[Frac, ...]:
        """Return the probability of each of `CLASSES` [frac] for ln of the expected volume median diameter."""
        width = self.sigma * math.sqrt(2.0)
        # Tails are kept from the nearer side, so that a class far out keeps a ratio to its neighbour.
        edges = [-math.inf, *((limit - middle) / width for limit in LOG_DV50_LIMITS), math.inf]
        masses = [
            _mass(low, high) if self.finest <= droplet_class <= self.coarsest else 0.0
            for droplet_class, (low, high) in zip(CLASSES, pairwise(edges), strict=True)
        ]
        total = math.fsum(masses)
        return tuple(mass / total for mass in masses)

    def frac_within(self, middle: float, allowed: AbstractSet[DropletClass]) -> Frac:
        """Return the probability [frac] of the allowed classes for ln of the expected volume median diameter."""
        fracs = zip(CLASSES, self.class_fracs(middle), strict=True)
        # Shares of a total may add up to a last bit more than the total.
        return min(1.0, math.fsum(frac for droplet_class, frac in fracs if droplet_class in allowed))


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch of pressure [Pa] with one authority.

    Without a model the class is one of ``possible`` and nothing is known about which.
    """

    low_pa: Pa
    high_pa: Pa
    authority: Authority
    possible: tuple[DropletClass, ...]
    model: SheetModel | None = None

    def class_fracs(self, pressure_pa: Pa) -> tuple[tuple[DropletClass, Frac], ...]:
        """Return each class that can occur at a pressure [Pa] with its probability [frac], finest first."""
        if self.model is None:
            return tuple((droplet_class, 1.0 / len(self.possible)) for droplet_class in self.possible)
        fracs = self.model.class_fracs(self.model.log_dv50_at(pressure_pa))
        return tuple(pair for pair in zip(CLASSES, fracs, strict=True) if pair[1] > 0.0)

    def frac_within(self, pressure_pa: Pa, allowed: AbstractSet[DropletClass]) -> Frac:
        """Return the probability [frac] that the class at a pressure [Pa] is an allowed one.

        Without a model: 1 if every possible class is allowed, 0 if none is, else 0.5 – undecided.
        """
        if self.model is None:
            inside = sum(droplet_class in allowed for droplet_class in self.possible)
            return 0.5 if 0 < inside < len(self.possible) else float(inside > 0)
        return self.model.frac_within(self.model.log_dv50_at(pressure_pa), allowed)

    def dv50_m(self, pressure_pa: Pa) -> M | None:
        """Return the expected volume median diameter [m] at a pressure [Pa]; None where only classes are known."""
        return None if self.model is None else math.exp(self.model.log_dv50_at(pressure_pa))


@lru_cache(maxsize=4096)
def zones(pattern: SprayPattern) -> tuple[Zone, ...]:
    """Return the zones that cover a tip's pressure range, in rising order and end to end.

    Raises
    ------
    NotDefined
        For a streamer.
    """
    if pattern.family is Family.STREAMER:
        raise NotDefined(
            "droplet class of a streamer",
            reason="streams have no droplet class",
            remedy="Choose a spraying tip where a product needs a class; streamers are for liquid fertiliser.",
        )
    if not pattern.rows:
        family = FAMILY_SCALES[pattern.family]
        model = SheetModel(_log_index_base(pattern) + math.log(family.scale_ratio), family.sigma)
        return (Zone(pattern.low_pa, pattern.high_pa, Authority.FAMILY, CLASSES, model),)
    return tuple(zone for zone in _zones_by_rows(pattern) if zone.low_pa < zone.high_pa)


def zone_at(pattern: SprayPattern, pressure_pa: Pa) -> Zone:
    """Return the zone a pressure [Pa] lies in; exactly at a row, the row alone."""
    for row in pattern.rows:
        if row.pressure_pa == pressure_pa:
            return Zone(pressure_pa, pressure_pa, Authority.MEASURED, (row.droplet_class,))
    return next(zone for zone in zones(pattern) if zone.low_pa <= pressure_pa <= zone.high_pa)


def _zones_by_rows(pattern: SprayPattern) -> list[Zone]:
    first, last = pattern.rows[0], pattern.rows[-1]
    coarser = tuple(c for c in CLASSES if c >= first.droplet_class)
    finer = tuple(c for c in CLASSES if c <= last.droplet_class)
    between = [
        Zone(
            low.pressure_pa,
            high.pressure_pa,
            Authority.MEASURED,
            tuple(c for c in CLASSES if high.droplet_class <= c <= low.droplet_class),
        )
        for low, high in pairwise(pattern.rows)
    ]
    return [
        _beyond_rows(pattern, (pattern.low_pa, first.pressure_pa), coarser),
        *between,
        _beyond_rows(pattern, (last.pressure_pa, pattern.high_pa), finer),
    ]


def _beyond_rows(pattern: SprayPattern, ends: tuple[Pa, Pa], possible: tuple[DropletClass, ...]) -> Zone:
    """Scale beyond the rows; where the rows contradict the law, only the side the class moves to is known."""
    scale = scale_from_rows(pattern)
    if scale is None or len(possible) == 1:
        return Zone(*ends, Authority.MEASURED, possible)
    low, high = _closed(scale, FAMILY_SCALES[pattern.family].sigma)
    # A scale known only to lie between two values is spread evenly over them.
    sigma = math.hypot(OWN_ROWS_SIGMA, math.log(high / low) / math.sqrt(12.0))
    log_index = _log_index_base(pattern) + 0.5 * math.log(low * high)
    return Zone(*ends, Authority.SCALED, possible, SheetModel(log_index, sigma, possible[0], possible[-1]))


def _closed(scale: tuple[float, float], family_sigma: float) -> tuple[float, float]:
    """Close an open side (rows all very fine, or all ultra coarse) two family deviations away."""
    low, high = scale
    reach = math.exp(2.0 * family_sigma)
    if low == 0.0:
        return high / reach, high
    return (low, low * reach) if math.isinf(high) else (low, high)


def _log_index_base(pattern: SprayPattern) -> float:
    return math.log(sheet_index(pattern.size_number, 1.0, pattern.angle_rad))


def _mass(low: float, high: float) -> float:
    """Return the normal probability between two edges given in units of sqrt(2) sigma."""
    if low > 0.0:
        return 0.5 * (math.erfc(low) - math.erfc(high))
    return 0.5 * (math.erfc(-high) - math.erfc(-low))
