"""A speed window cut into stretches of one droplet class, and the speeds at which a class is undecided.

With all sections on speed, flow of a tip and pressure at the tip rise together, so classes are looked up by pressure
and their limits turned into speeds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from wetrun.planning.window import SpeedWindow, Trial, limit_curves, point_at
from wetrun.spray.controller import flow_at_tip_pressure_m3s
from wetrun.spray.droplets import DropletClass, SprayPattern, droplet_finding, pressures_undecided
from wetrun.spray.limits import Limit, flow_window
from wetrun.spray.orifice import speed_at
from wetrun.units import M3pm2, Mps, Pa

SAMPLES: Final = 96
HALVINGS: Final = 16
STREAMS: Final = "streams"
CLASS_LIMITS: Final = frozenset({Limit.CLASS_COARSE, Limit.CLASS_FINE})
LEAST_DRAWN: Final = 1e-3
"""A stretch of less than a millimetre per second is rounding."""

Span = tuple[DropletClass, DropletClass]


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

    Notes
    -----
    Looked up at `SAMPLES` pressures, each change then halved in: a class narrower than a sample may be passed over.
    """
    pattern = trial.tip_set.tip.pattern
    if pattern is None:
        return (Segment(low_mps, high_mps, None, None),)
    ends = [point_at(trial, speed_mps=speed, rate_m3pm2=rate_m3pm2).tip_pa for speed in (low_mps, high_mps)]
    # At the very ends the pressure may round to just outside the tip's range.
    low_pa, high_pa = (min(max(end, pattern.low_pa), pattern.high_pa) for end in ends)
    changes = list(_changes(pattern, low_pa, high_pa))
    speeds = [low_mps, *(speed_at_pressure(trial, rate_m3pm2, pressure) for pressure, _ in changes), high_mps]
    spans = [_first_span(pattern, low_pa, high_pa), *(span for _, span in changes)]
    return tuple(Segment(start, end, *span) for (start, end), span in zip(pairwise(speeds), spans, strict=True))


def speed_at_pressure(trial: Trial, rate_m3pm2: M3pm2, tip_pa: Pa) -> Mps:
    """Return the ground speed at which a set puts on a rate at a pressure.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    rate_m3pm2 : float
        Target rate [m3/m2].
    tip_pa : float
        Pressure at the tip [Pa].

    Returns
    -------
    float
        Speed [m/s], all sections on.
    """
    flow_m3s = flow_at_tip_pressure_m3s(trial.setup, tip_pa)
    return float(speed_at(flow_m3s, rate_m3pm2, trial.tip_set.spacing_m))


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
    allowed, pattern = trial.limits.classes, trial.tip_set.tip.pattern
    if allowed is None or pattern is None:
        return ()
    low_mps, high_mps = _held_but_for_class(trial, window.rate_m3pm2, top_mps)
    spans = pressures_undecided(pattern, allowed)
    if trial.setup.pulse is not None:
        held_pa = point_at(trial, speed_mps=low_mps, rate_m3pm2=window.rate_m3pm2).tip_pa
        found = [(low_mps, high_mps)] if any(low <= held_pa <= high for low, high in spans) else []
    else:
        ends = [[speed_at_pressure(trial, window.rate_m3pm2, end) for end in span] for span in spans]
        found = [(max(start, low_mps), min(end, high_mps)) for start, end in ends]
    cut = [part for stretch in found for part in _without(stretch, window)]
    return tuple((start, end) for start, end in cut if end - start > LEAST_DRAWN)


def _held_but_for_class(trial: Trial, rate_m3pm2: M3pm2, top_mps: Mps) -> tuple[Mps, Mps]:
    curves = [curve.at(0) for curve in limit_curves(trial, np.ones(1)) if curve.limit not in CLASS_LIMITS]
    others = flow_window(curves)
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


def _span(pattern: SprayPattern, tip_pa: Pa) -> Span:
    found = droplet_finding(pattern, tip_pa)
    return found.finest, found.coarsest


def _first_span(pattern: SprayPattern, low_pa: Pa, high_pa: Pa) -> Span:
    return _span(pattern, _samples(low_pa, high_pa)[0])


def _samples(low_pa: Pa, high_pa: Pa) -> list[float]:
    """Pressures to look at, a hair inside both ends: exactly at a maker's row only that row speaks."""
    return [low_pa + (high_pa - low_pa) * (number + 0.37) / SAMPLES for number in range(SAMPLES)]


def _changes(pattern: SprayPattern, low_pa: Pa, high_pa: Pa) -> Iterator[tuple[Pa, Span]]:
    """Pressures at which the span changes, rising, each with the span above it."""

    def span(tip_pa: Pa) -> Span:
        return _span(pattern, tip_pa)

    for left, right in pairwise(_samples(low_pa, high_pa)):
        if span(left) != span(right):
            yield _halved(span, left, right), span(right)


def _halved(span: Callable[[Pa], Span], left: Pa, right: Pa) -> Pa:
    before = span(left)
    for _ in range(HALVINGS):
        middle = (left + right) / 2
        left, right = (middle, right) if span(middle) == before else (left, middle)
    return (left + right) / 2
