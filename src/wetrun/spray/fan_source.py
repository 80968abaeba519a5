"""What one tip lays down at a height: from its stamped angle, as a span, or from trays it was caught in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Protocol

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import check_positive
from wetrun.spray.fan import fan_width_m
from wetrun.spray.fan_patterns import FanPattern, MeasuredPattern, Trapezoid
from wetrun.units import METRE, PASCAL, Frac, M, Pa, Rad, Ratio

RATED_PA: Final[Pa] = 3e5
"""Pressure a fan's angle is usually stamped for."""
LOST_RAD: Final[Rad] = math.radians(12.0)
"""What a fan may have lost of its angle at a third of that pressure; fan-narrowing, from memory."""
DRAWN_IN_FRAC: Final[Frac] = 0.05
"""What a fan may be narrower than its angle says on its way down; fan-narrowing, from memory."""
SCALED_RATIO: Final[Ratio] = 1.5
"""How far a tray's pattern is stretched to another height, up or down; our own choice, no source."""
HALF: Final = 0.5


class FanSource(Protocol):
    """Where the patterns of a boom come from."""

    @property
    def words(self) -> str:
        """Where they come from, in words."""

    def patterns_at(self, height_m: M, across_ratio: Ratio = 1.0) -> tuple[FanPattern, FanPattern]:
        """Return the narrowest and the widest a pattern may be at a height [m], its width seen at a ratio [ratio]."""


@dataclass(frozen=True, slots=True)
class AngledFan:
    """A fan known by its stamped angle and the pressure it runs at.

    Attributes
    ----------
    angle_rad : float
        Angle as stamped [rad].
    pressure_pa : float
        Pressure at the tip [Pa].
    top_ratio : float
        Even middle over the base: 0 for a tapered fan [ratio].
    """

    angle_rad: Rad
    pressure_pa: Pa
    top_ratio: Ratio = 0.0

    @property
    def words(self) -> str:
        """Where the pattern comes from."""
        shape = "an even-edge fan" if self.top_ratio else "a tapered fan"
        return f"{shape} by its stamped {math.degrees(self.angle_rad):.0f}°; nobody caught its pattern"

    def patterns_at(self, height_m: M, across_ratio: Ratio = 1.0) -> tuple[FanPattern, FanPattern]:
        """Return the narrowest and the widest it may be.

        Parameters
        ----------
        height_m : float
            Above the target [m].
        across_ratio : float
            Width seen across the way over the fan's own [ratio].

        Returns
        -------
        tuple of FanPattern
            Narrow and wide.
        """
        least_m, most_m = fan_span_m(self.angle_rad, height_m, self.pressure_pa)
        narrow, wide = (Trapezoid(w * across_ratio, w * across_ratio * self.top_ratio) for w in (least_m, most_m))
        return narrow, wide


def fan_span_m(angle_rad: Rad, height_m: M, pressure_pa: Pa) -> tuple[M, M]:
    """Return the least and the greatest width a fan may have at the target.

    Parameters
    ----------
    angle_rad : float
        Angle as stamped [rad].
    height_m : float
        Above the target [m].
    pressure_pa : float
        Pressure at the tip [Pa].

    Returns
    -------
    tuple of float
        Least and greatest [m]; the greatest is the stamped angle's geometry.

    Raises
    ------
    OutOfRange
        An angle, height or pressure that is not positive.

    Notes
    -----
    Below 3 bar a fan loses angle: taken as up to 12° at 1 bar, with the logarithm of pressure between, from memory.
    Every fan is drawn in by the air as it falls: up to 5 %, from memory. Neither decides anything: what lies between
    the two widths is undecided until a tray is caught. Above 3 bar a fan may be a few degrees wider; left out.

    References
    ----------
    fan-geometry, fan-narrowing

    Example
    -------
    >>> [round(width, 2) for width in fan_span_m(math.radians(110.0), 0.5, 3e5)]
    [1.36, 1.43]
    >>> [round(width, 2) for width in fan_span_m(math.radians(110.0), 0.5, 1e5)]
    [1.09, 1.43]
    """
    check_positive("pressure at the tip", pressure_pa, PASCAL, remedy="Enter the pressure the tip runs at.")
    lost_rad = LOST_RAD * max(math.log(RATED_PA / pressure_pa) / math.log(3.0), 0.0)
    narrow_rad = max(angle_rad - lost_rad, HALF * angle_rad)
    return (1.0 - DRAWN_IN_FRAC) * fan_width_m(narrow_rad, height_m), fan_width_m(angle_rad, height_m)


@dataclass(frozen=True, slots=True)
class TrayRun:
    """One tip over a tray: at which height and pressure, and what each groove held."""

    height_m: M
    pressure_pa: Pa
    pattern: MeasuredPattern


@dataclass(frozen=True, slots=True)
class CaughtFan:
    """A fan known from trays at one pressure or near it; between heights its nearest run is stretched.

    Attributes
    ----------
    runs : tuple of TrayRun
        One at least.
    """

    runs: tuple[TrayRun, ...]

    def __post_init__(self) -> None:
        if not self.runs:
            remedy = "Catch one tip over a tray at the height it works at."
            raise NotDefined("pattern of the tip", reason="there is no tray", remedy=remedy)

    @property
    def words(self) -> str:
        """Where the pattern comes from."""
        return "as caught in a tray, stretched from the nearest height"

    def patterns_at(self, height_m: M, across_ratio: Ratio = 1.0) -> tuple[FanPattern, FanPattern]:
        """Return the pattern of the nearest height, stretched to this one; narrow and wide are the same.

        Parameters
        ----------
        height_m : float
            Above the target [m].
        across_ratio : float
            Width seen across the way over the fan's own [ratio].

        Returns
        -------
        tuple of FanPattern
            Twice the same.

        Raises
        ------
        OutOfRange
            A height more than half as high again as any tray, or less than two thirds.
        """
        check_positive("height of the tip", height_m, METRE, remedy="Measure from the tip to the target.")
        run = min(self.runs, key=lambda one: abs(math.log(one.height_m / height_m)))
        stretch = height_m / run.height_m
        if not 1.0 / SCALED_RATIO <= stretch <= SCALED_RATIO:
            low, high = run.height_m / SCALED_RATIO, run.height_m * SCALED_RATIO
            remedy = "Catch a tray nearer to this height, or leave the trays out."
            raise OutOfRange("height of the tip, from its tray", height_m, METRE, low=low, high=high, remedy=remedy)
        pattern = stretched(run.pattern, stretch * across_ratio)
        return pattern, pattern


def runs_near(runs: Sequence[TrayRun], pressure_pa: Pa) -> tuple[TrayRun, ...]:
    """Return the runs at the pressure nearest to one [Pa]: trays of other pressures are other fans."""
    nearest_pa = min((run.pressure_pa for run in runs), key=lambda one: abs(math.log(one / pressure_pa)))
    return tuple(run for run in runs if run.pressure_pa == nearest_pa)


def stretched(pattern: MeasuredPattern, wider_ratio: Ratio) -> MeasuredPattern:
    """Return a pattern as it would be that much wider [ratio], the same spray spread over it."""
    return replace(pattern, groove_m=pattern.groove_m * wider_ratio, tip_m=pattern.tip_m * wider_ratio)


def effective_width_m(pattern: MeasuredPattern) -> M:
    """Return the width of a caught pattern between the places where it falls to half its greatest catch.

    Parameters
    ----------
    pattern : MeasuredPattern
        One tip over a tray.

    Returns
    -------
    float
        Width, straight lines drawn between the middles of the grooves [m].

    Notes
    -----
    A triangle's is half its base: the spacing at which it lies evenly. A usual way to state it, no source read.

    References
    ----------
    pattern-superposition

    Example
    -------
    >>> effective_width_m(MeasuredPattern((0.0, 1.0, 2.0, 3.0, 4.0, 3.0, 2.0, 1.0, 0.0), 0.1, 0.45))
    0.4
    """
    caught = np.concatenate([[0.0], np.asarray(pattern.caught, dtype=np.float64), [0.0]])
    half = HALF * float(caught.max())
    high = np.flatnonzero(caught >= half)
    first, last = int(high[0]), int(high[-1])
    left = first - (caught[first] - half) / (caught[first] - caught[first - 1])
    right = last + (caught[last] - half) / (caught[last] - caught[last + 1])
    return round(float(right - left) * pattern.groove_m, 9)
