"""A speed window cut into stretches of one droplet class, and the speeds at which a class is undecided.

Classes are looked up at the pressure the tip has at a speed, all sections on. That pressure rises with speed, but for a
pulse-width machine, where it falls a little as more flow makes more loss.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeVar

import numpy as np

from wetrun.planning.speed_point import point_at
from wetrun.planning.window import SpeedWindow, Trial, limit_curves
from wetrun.spray.droplets import DropletClass, droplet_finding, pressures_undecided
from wetrun.spray.flow_window import flow_window, no_further_off
from wetrun.spray.limits import Limit
from wetrun.spray.orifice import speed_at
from wetrun.units import M3pm2, Mps, Pa

SAMPLES: Final = 96
HALVINGS: Final = 16
STREAMS: Final = "streams"
CLASS_LIMITS: Final = frozenset({Limit.CLASS_COARSE, Limit.CLASS_FINE})
LEAST_DRAWN: Final = 1e-3
"""A stretch of less than a millimetre per second is rounding."""

Span = tuple[DropletClass, DropletClass]
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of speed with one droplet class, or one span of classes.

    Attributes
    ----------
    start, end : float
        Speeds, inside or as shown.
    finest, coarsest : DropletClass or None
        The span; None for streamers, which have no class.
    """

    start: float
    end: float
    finest: DropletClass | None
    coarsest: DropletClass | None

    @property
    def classes(self) -> tuple[DropletClass, ...]:
        """Every class of the span, finest first."""
        if self.finest is None or self.coarsest is None:
            return ()
        return tuple(DropletClass(number) for number in range(self.finest, self.coarsest + 1))

    @property
    def letters(self) -> str:
        """What is printed in the segment."""
        if self.finest is None or self.coarsest is None:
            return STREAMS
        ends = dict.fromkeys((self.finest.letters, self.coarsest.letters))
        return "–".join(ends)

    def shown(self, number: Callable[[float], float]) -> Segment:
        """Return the same segment with its speeds turned into the reader's unit."""
        return Segment(number(self.start), number(self.end), self.finest, self.coarsest)


def drop_segments(trial: Trial, rate_m3pm2: M3pm2, *, low_mps: Mps, high_mps: Mps) -> tuple[Segment, ...]:
    """Return a held stretch of speed cut where the droplet class to be stated changes.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    rate_m3pm2 : float
        Target rate [m3/m2].
    low_mps, high_mps : float
        Ends of the stretch [m/s], inside the set's window.

    Returns
    -------
    tuple of Segment
        Rising and end to end; at least one.

    """
    pattern = trial.tip_set.tip.pattern
    if pattern is None:
        return (Segment(low_mps, high_mps, None, None),)
    low_pa, high_pa = pattern.low_pa, pattern.high_pa

    def span(speed_mps: Mps) -> Span:
        # At the very ends the pressure may round to just outside the tip's range.
        found = droplet_finding(pattern, min(max(tip_pressure_at(trial, rate_m3pm2, speed_mps), low_pa), high_pa))
        return found.finest, found.coarsest

    return tuple(Segment(start, end, *found) for start, end, found in stretches(span, low_mps, high_mps))


def tip_pressure_at(trial: Trial, rate_m3pm2: M3pm2, speed_mps: Mps) -> Pa:
    """Return the pressure at the tip at a ground speed.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    rate_m3pm2 : float
        Target rate [m3/m2].
    speed_mps : float
        Ground speed [m/s].

    Returns
    -------
    float
        Pressure [Pa], all sections on.
    """
    return point_at(trial, speed_mps=speed_mps, rate_m3pm2=rate_m3pm2).tip_pa


def stretches(found: Callable[[float], Value], start: float, end: float) -> Iterator[tuple[float, float, Value]]:
    """Yield the stretches of a range over which something stays the same.

    Parameters
    ----------
    found : callable
        What is found at a place.
    start, end : float
        The range.

    Yields
    ------
    tuple of float, float and value
        Rising and end to end, each with what is found there.

    Notes
    -----
    Looked up at `SAMPLES` places, each change then halved in: what is narrower than a sample may be passed over.

    Example
    -------
    >>> [(round(low, 2), round(high, 2), value) for low, high, value in stretches(lambda x: x > 0.5, 0.0, 1.0)]
    [(0.0, 0.5, False), (0.5, 1.0, True)]
    """
    # A hair inside both ends: exactly at a maker's row only that row speaks.
    places = [start + (end - start) * (number + 0.37) / SAMPLES for number in range(SAMPLES)]
    values = [found(place) for place in places]
    began = start
    for (left, before), (right, after) in pairwise(zip(places, values, strict=True)):
        if before != after:
            change = _halved(found, left, right)
            yield began, change, before
            began = change
    yield began, end, values[-1]


def undecided_speeds(trial: Trial, window: SpeedWindow, *, top_mps: Mps) -> tuple[tuple[Mps, Mps], ...]:
    """Return stretches outside a window where only the droplet class is in doubt: it may or may not be allowed.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    window : SpeedWindow
        Its window; may be empty.
    top_mps : float
        Fastest speed looked at [m/s].

    Returns
    -------
    tuple of (float, float)
        From and to [m/s], rising.
    """
    allowed, patterns = trial.limits.classes, trial.tip_set.patterns
    if allowed is None or not patterns:
        return ()
    spans = [pressures_undecided(pattern, allowed) for pattern in patterns]

    def undecided(speed_mps: Mps) -> bool:
        tip_pa = tip_pressure_at(trial, window.rate_m3pm2, speed_mps)
        return any(low <= tip_pa <= high for of_pattern in spans for low, high in of_pattern)

    low_mps, high_mps = _held_but_for_class(trial, window.rate_m3pm2, top_mps)
    if not low_mps < high_mps:
        return ()
    found = [(start, end) for start, end, unsure in stretches(undecided, low_mps, high_mps) if unsure]
    cut = [part for stretch in found for part in _without(stretch, window)]
    return tuple((start, end) for start, end in cut if end - start > LEAST_DRAWN)


def _held_but_for_class(trial: Trial, rate_m3pm2: M3pm2, top_mps: Mps) -> tuple[Mps, Mps]:
    curves = [curve.at(0) for curve in limit_curves(trial, np.ones(1)) if curve.limit not in CLASS_LIMITS]
    gain = trial.setup.gain_ratio
    others = flow_window(curves, no_further_off(gain), gain)
    if others.empty:
        return 0.0, 0.0
    ends = (others.low_m3s, others.high_m3s)
    low_mps, high_mps = (float(speed_at(end, rate_m3pm2, trial.tip_set.spacing_m)) for end in ends)
    return low_mps, min(high_mps, trial.limits.speed_high_mps or top_mps, top_mps)


def _without(stretch: tuple[Mps, Mps], window: SpeedWindow) -> Iterator[tuple[Mps, Mps]]:
    """What of a stretch lies outside the window."""
    start, end = stretch
    if window.empty:
        yield stretch
        return
    yield start, min(end, window.low_mps)
    yield max(start, window.high_mps), end


def _halved(found: Callable[[float], Value], left: float, right: float) -> float:
    before = found(left)
    for _ in range(HALVINGS):
        middle = (left + right) / 2
        left, right = (middle, right) if found(middle) == before else (left, middle)
    return (left + right) / 2
