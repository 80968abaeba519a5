"""The pressures at which a tip's droplet class is an allowed one, found by solving, not by a grid."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Final, TypeAlias

from wetrun.spray.droplet_zones import Zone, zones
from wetrun.spray.pattern import DropletClass, SprayPattern
from wetrun.units import Frac, Pa

PressureSpans: TypeAlias = tuple[tuple[Pa, Pa], ...]
"""Intervals of pressure (least, greatest), rising and disjoint."""

UNDECIDED: Final = (0.3, 0.7)
"""Between these probabilities a class is neither held nor missed."""
_TOUCH: Final = 1e-12
"""Steps in ln Dv0.5, or bulges in probability, too small to matter."""


def pressures_within(
    pattern: SprayPattern, allowed: frozenset[DropletClass], *, at_least: float = 0.7
) -> PressureSpans:
    """Return the pressures at which a tip's class is an allowed one with at least a given probability.

    Parameters
    ----------
    pattern
        The tip.
    allowed
        The classes the label (or the user) allows.
    at_least
        Probability required, 0 to 1.

    Returns
    -------
    PressureSpans
        Intervals inside the tip's pressure range [Pa], rising and disjoint; empty if there is none.

    Raises
    ------
    NotDefined
        For a streamer.

    Notes
    -----
    A single pressure (a row whose neighbours are undecided) is no window and is left out. At an end that is one of
    the maker's rows the row itself may have the next class.

    References
    ----------
    asabe-s572, sheet-index

    Example
    -------
    >>> from wetrun.spray.pattern import Family
    >>> tip = SprayPattern(3.0, 1.92, Family.FLAT_FAN, 1e5, 5e5)
    >>> [(low, round(high)) for low, high in pressures_within(tip, frozenset({DropletClass.M, DropletClass.C}))]
    [(100000.0, 260369)]
    """
    return _spans(pattern, allowed, at_least, 1.0)


def pressures_undecided(pattern: SprayPattern, allowed: frozenset[DropletClass]) -> PressureSpans:
    """Return the pressures at which it cannot be said whether a tip's class is an allowed one.

    Parameters
    ----------
    pattern
        The tip.
    allowed
        The classes the label (or the user) allows.

    Returns
    -------
    PressureSpans
        Intervals where the probability lies strictly between 0.3 and 0.7 [Pa], rising and disjoint.

    Raises
    ------
    NotDefined
        For a streamer.

    References
    ----------
    asabe-s572, sheet-index

    Example
    -------
    >>> from wetrun.spray.pattern import Family
    >>> tip = SprayPattern(3.0, 1.92, Family.FLAT_FAN, 1e5, 5e5)
    >>> len(pressures_undecided(tip, frozenset({DropletClass.M, DropletClass.C})))
    1
    """
    low, high = UNDECIDED
    return _spans(pattern, allowed, math.nextafter(low, 1.0), math.nextafter(high, 0.0))


@lru_cache(maxsize=16384)
def _spans(pattern: SprayPattern, allowed: frozenset[DropletClass], least: Frac, most: Frac) -> PressureSpans:
    """Return where the probability lies from ``least`` to ``most``."""
    found: list[tuple[Pa, Pa]] = []
    for low, high, frac in _pieces(pattern, allowed, (least, most)):
        if not least <= frac <= most:
            continue
        start = found.pop()[0] if found and found[-1][1] == low else low
        found.append((start, high))
    return tuple(found)


def _pieces(
    pattern: SprayPattern, allowed: frozenset[DropletClass], levels: tuple[Frac, Frac]
) -> Iterator[tuple[Pa, Pa, Frac]]:
    """Cut the pressure range where the probability crosses a level; give each piece with its probability inside."""
    for zone in zones(pattern):
        inner = sorted(cut for level in levels for cut in _zone_crossings_pa(zone, allowed, level))
        cuts = [zone.low_pa, *(cut for cut in inner if zone.low_pa < cut < zone.high_pa), zone.high_pa]
        for low, high in pairwise(cuts):
            yield low, high, zone.frac_within(math.sqrt(low * high), allowed)


def _zone_crossings_pa(zone: Zone, allowed: frozenset[DropletClass], level: Frac) -> list[Pa]:
    """Return the pressures where the probability in a zone crosses a level."""
    model = zone.model
    if model is None or not 0.0 < level < 1.0:
        return []

    def excess(middle: float) -> float:
        return model.frac_within(middle, allowed) - level

    finest, coarsest = model.log_dv50_at(zone.high_pa), model.log_dv50_at(zone.low_pa)
    ends = (finest, excess(finest)), (coarsest, excess(coarsest))
    # The second derivative of the probability of an event by the mean of a normal is below 1 / sigma^2, cut off or not.
    return [model.pressure_at_pa(middle) for middle in _crossings(excess, ends, model.sigma**-2.0)]


_Point: TypeAlias = tuple[float, float]


def _crossings(excess: Callable[[float], float], ends: tuple[_Point, _Point], bend: float) -> list[float]:
    """Return every zero of a function whose second derivative is at most ``bend``.

    Halves a stretch until the bound says that it holds no zero, or that the function only rises or only falls in it.
    """
    (low, at_low), (high, at_high) = ends
    width = high - low
    unlike = (at_low < 0.0) != (at_high < 0.0)
    if not unlike and min(abs(at_low), abs(at_high)) > bend * width**2 / 8.0:
        return []
    if unlike and abs(at_high - at_low) > bend * width**2:
        return [_zero(excess, low, high)]
    middle = 0.5 * (low + high)
    if not low < middle < high or width**2 * bend < _TOUCH:
        return [middle] if unlike else []
    at_middle = (middle, excess(middle))
    return _crossings(excess, (ends[0], at_middle), bend) + _crossings(excess, (at_middle, ends[1]), bend)


def _zero(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the zero between two points of unlike sign (false position, the stale end halved)."""
    at_low, at_high = excess(low), excess(high)
    while True:
        trial = high - at_high * (high - low) / (at_high - at_low)
        if not min(low, high) < trial < max(low, high):
            return high
        at_trial = excess(trial)
        if at_trial == 0.0 or abs(trial - high) < _TOUCH:
            return trial
        if (at_trial < 0.0) != (at_high < 0.0):
            low, at_low = high, at_high
        else:
            at_low *= 0.5
        high, at_high = trial, at_trial
