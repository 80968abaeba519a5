"""What turning alone does over a log: ground that gets too much or too little though the middle is always right.

The boom is cut into strips about as wide as a tip answers for: the mean of a wide section hides its own ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.boom_sections import BoomSections, swing_ratios
from wetrun.fieldlog.section_rates import ROWS_PER_CHUNK
from wetrun.fieldlog.trace import CM2_PER_M2, FloatArray, IntArray, Trace, usable
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import METRE, RATIO, SQUARE_CENTIMETRE, Cm2, Frac, M

STRIP_M: Final[M] = 0.5
PUBLISHED_TOLERANCE_FRAC: Final[Frac] = 0.1
"""What the published shares of fields count as off; luck-2011."""


@dataclass(frozen=True, slots=True)
class TurnAreas:
    """Area by what turning alone makes of its rate [cm2].

    Attributes
    ----------
    compensation : TurnCompensation
        What sets flow anew.
    tolerance_frac : float
        How far off counts [frac].
    total_cm2, over_cm2, under_cm2 : int
        All of it; over and under by more than the tolerance [cm2].
    straight_cm2 : int
        Part of the total taken as straight, its curvature not being known [cm2].
    """

    compensation: TurnCompensation
    tolerance_frac: Frac
    total_cm2: Cm2
    over_cm2: Cm2
    under_cm2: Cm2
    straight_cm2: Cm2

    @property
    def off_frac(self) -> Frac:
        """Share of the area off by more than the tolerance, either way [frac]; 0 of none."""
        return (self.over_cm2 + self.under_cm2) / self.total_cm2 if self.total_cm2 else 0.0


def turn_areas(
    trace: Trace,
    boom: BoomSections,
    compensation: TurnCompensation = TurnCompensation.NONE,
    *,
    reach_ratio: tuple[Annotated[FloatArray, RATIO], Annotated[FloatArray, RATIO]] | None = None,
    tolerance_frac: Frac = PUBLISHED_TOLERANCE_FRAC,
) -> TurnAreas:
    """Return the area that turning alone puts off.

    Parameters
    ----------
    trace : Trace
        The log.
    boom : BoomSections
        Its sections.
    compensation : TurnCompensation
        None, by section or by tip.
    reach_ratio : tuple of ndarray or None
        Least and greatest flow of a tip over that of the middle, each [instants] [ratio]; None for no end. Where the
        duty of an instant is not known (nan) there is no end either.
    tolerance_frac : float
        How far off counts [frac].

    Returns
    -------
    TurnAreas
        Area is what each strip sweeps while its section is on.

    Notes
    -----
    The middle is taken to get its rate at every instant: lag, limits and late valves are left out, and stand in the
    exact replay. Curvature is that of the log, over 1 s; positions that jitter make turns of their own.

    References
    ----------
    turn-geometry, luck-2011
    """
    counts = np.zeros(4, dtype=np.int64)
    used, known, strips = usable(trace), np.isfinite(trace.curvature_radpm), _Strips(trace, boom, compensation)
    for start in range(0, trace.time_s.size, ROWS_PER_CHUNK):
        rows = slice(start, min(start + ROWS_PER_CHUNK, trace.time_s.size))
        limits = None if reach_ratio is None else (reach_ratio[0][rows, np.newaxis], reach_ratio[1][rows, np.newaxis])
        area, ratio = strips.at(rows, limits)
        area = np.where(used[rows, np.newaxis], area, 0)
        for place, chosen in enumerate(
            (
                area >= 0,
                ratio > 1.0 + tolerance_frac,
                ratio < 1.0 - tolerance_frac,
                ~known[rows, np.newaxis] & (area > 0),
            )
        ):
            counts[place] += int(area[chosen].sum())
    return TurnAreas(compensation, tolerance_frac, *(int(count) for count in counts))


@dataclass(frozen=True, slots=True)
class _Strips:
    """The boom of a log in strips."""

    trace: Trace
    boom: BoomSections
    compensation: TurnCompensation

    def at(
        self, rows: slice, limits: tuple[FloatArray, FloatArray] | None
    ) -> tuple[Annotated[IntArray, SQUARE_CENTIMETRE], Annotated[FloatArray, RATIO]]:
        """Return area [cm2] and rate over the wanted one [ratio] of every strip [rows, strips]."""
        trace, boom = self.trace, self.boom
        section, out_m, width_m = _layout(boom)
        bend = np.nan_to_num(trace.curvature_radpm[rows])[:, np.newaxis]
        swing = swing_ratios(trace, boom, rows)
        signed = np.where(1.0 - boom.middle_m * bend < 0.0, -swing, swing)[:, section]
        speed: FloatArray = np.abs(signed - out_m * bend)
        flow = self._flows(speed, swing[:, section], limits)
        scale = 1.0 if boom.told_apart else trace.width_m[rows, np.newaxis] / boom.width_m.sum()
        way_m = np.where(np.isfinite(trace.distance_m[rows]), trace.distance_m[rows], 0.0)[:, np.newaxis]
        on = boom.on(trace, rows)[:, section]
        area = np.rint(np.nan_to_num(way_m * speed * width_m * scale) * on * CM2_PER_M2).astype(np.int64)
        with np.errstate(divide="ignore", invalid="ignore"):
            return area, np.where(speed > 0.0, flow / speed, 1.0)

    def _flows(
        self, speed: FloatArray, of_section: FloatArray, limits: tuple[FloatArray, FloatArray] | None
    ) -> FloatArray:
        if self.compensation is TurnCompensation.NONE:
            return np.ones_like(speed)
        wanted = of_section if self.compensation is TurnCompensation.SECTION else speed
        return wanted if limits is None else np.fmin(np.fmax(wanted, limits[0]), limits[1])


def _layout(boom: BoomSections) -> tuple[IntArray, Annotated[FloatArray, METRE], Annotated[FloatArray, METRE]]:
    """Return of every strip its section, how far right of the section's middle it lies [m], and its width [m]."""
    strips = np.maximum(np.rint(boom.width_m / STRIP_M).astype(np.int64), 1)
    section = np.repeat(np.arange(strips.size), strips)
    width_m = np.repeat(boom.width_m / strips, strips)
    place = np.concatenate([np.arange(count) + 0.5 for count in strips])
    return section, place * width_m - np.repeat(boom.width_m, strips) / 2.0, width_m
