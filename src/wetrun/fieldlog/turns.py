"""Turns in a log: how sharply the boom swings, and what its ends get while it does.

The section at ``y`` (metres right of the machine's centre) moves at ``v (1 - y k)`` when turning right with curvature
``k``: slower on the inside, where the same flow then lies thicker by ``1 / (1 - y k)``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray, Trace, usable, whole_cm2
from wetrun.percent import per_cent
from wetrun.spray.turning import rate_ratio_at
from wetrun.units import METRE, PER_METRE, RADIAN, SECOND, Cm2, Ratio, S

WINDOW_S: Final[S] = 1.0
LEAST_TRAVEL_M: Final = 0.3
# Our own choice (no source): a turn is where a boom end gets over 5 % more or less than the centre.
LEAST_TURN_RATIO: Final[Ratio] = 0.05
TENTH: Final[Ratio] = 0.1


@dataclass(frozen=True, slots=True)
class TurnTally:
    """Area inside turns, and how much of it got over the label's ratio or over a tenth more or less [cm2].

    ``unknown_cm2`` is area at instants without a known curvature; ``words`` says what a turn is taken to be.
    """

    total_cm2: Cm2
    turning_cm2: Cm2
    over_label_cm2: Cm2
    off_by_a_tenth_cm2: Cm2
    unknown_cm2: Cm2
    words: str


def turn_tally(trace: Trace, section_edges_m: Annotated[FloatArray, METRE], label_ratio: Ratio) -> TurnTally:
    """Return the area by local rate inside turns.

    Parameters
    ----------
    trace
        The log.
    section_edges_m
        Edges of the boom sections, left to right from the machine's centre [sections + 1] [m].
    label_ratio
        The label's greatest rate over the rate applied [ratio].

    Notes
    -----
    Area is what the boom sweeps, so an inner end standing still sweeps none. Where the log tells as many sections
    apart as there are between the edges, only those on are counted, taken to stand left to right in the log's order;
    else the whole boom counts at full width, scaled to the active width. Delay of the controller is left out.
    """
    counted = usable(trace)
    known = counted & np.isfinite(trace.curvature_radpm)
    middle_m = (section_edges_m[1:] + section_edges_m[:-1]) / 2
    swing = middle_m * trace.curvature_radpm[known, np.newaxis]
    # Positive offsets lie to the right, and so inside a turn to the right, where `rate_ratio_at` counts them negative.
    ratio = rate_ratio_at(-middle_m, trace.curvature_radpm[known, np.newaxis])
    swept = np.abs(1 - swing)
    width_m = _widths_on(trace, section_edges_m)[known]
    area_cm2 = whole_cm2(swept * width_m * trace.distance_m[known, np.newaxis])
    end_m = float(np.abs(section_edges_m).max())
    turning = np.abs(trace.curvature_radpm[known]) * end_m > LEAST_TURN_RATIO
    inside = np.where(turning[:, np.newaxis], area_cm2, 0)
    return TurnTally(
        total_cm2=int(area_cm2.sum()),
        turning_cm2=int(inside.sum()),
        over_label_cm2=int(inside[ratio > label_ratio].sum()),
        off_by_a_tenth_cm2=int(inside[np.abs(ratio - 1) > TENTH].sum()),
        unknown_cm2=int(whole_cm2(trace.area_m2[counted & ~known]).sum()),
        words=(
            f"A turn is where a boom end gets over {per_cent(LEAST_TURN_RATIO, places=0)} more or less than the "
            f"centre, from the change of heading over {WINDOW_S:g} s"
        ),
    )


def curvature_along(
    heading_rad: Annotated[FloatArray, RADIAN],
    distance_m: Annotated[FloatArray, METRE],
    interval_s: Annotated[FloatArray, SECOND],
) -> Annotated[FloatArray, PER_METRE]:
    """Return the curvature of the track at each instant [instants] [rad/m], positive turning right.

    Parameters
    ----------
    heading_rad
        Heading clockwise from north [instants] [rad].
    distance_m, interval_s
        Distance since the previous instant [m], and the time [s], nan at a cut.

    Notes
    -----
    The change of heading over half a window before to half a window after (1 s in all, or what lies between cuts and
    is at least half of that), divided by the distance. Unknown (nan) under 0.3 m of travel.
    """
    cut = np.isnan(interval_s)
    stretch = np.cumsum(cut)
    clock_s = np.cumsum(np.where(cut, 0.0, interval_s)) + stretch * 10 * WINDOW_S
    before = np.searchsorted(clock_s, clock_s - WINDOW_S / 2, side="left")
    after = np.minimum(np.searchsorted(clock_s, clock_s + WINDOW_S / 2, side="left"), clock_s.size - 1)
    after = np.where(stretch[after] > stretch, after - 1, after)
    way_m = np.cumsum(np.where(np.isfinite(distance_m) & ~cut, distance_m, 0.0))
    travel_m = way_m[after] - way_m[before]
    turned = heading_rad[after] - heading_rad[before]
    turned = (turned + np.pi) % (2 * np.pi) - np.pi
    enough = (travel_m > LEAST_TRAVEL_M) & (clock_s[after] - clock_s[before] >= WINDOW_S / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(enough, turned / travel_m, np.nan)


def _widths_on(trace: Trace, section_edges_m: FloatArray) -> Annotated[FloatArray, METRE]:
    """Return the width of each section where it is on, 0 where off [instants, sections] [m]."""
    widths_m = np.diff(section_edges_m)
    groups = [[s.bit for s in trace.sections if s.group == group] for group in {s.group for s in trace.sections}]
    if not groups or any(len(bits) != widths_m.size for bits in groups):
        scaled: FloatArray = widths_m * (trace.width_m / widths_m.sum())[:, np.newaxis]
        return scaled
    on = np.zeros((trace.time_s.size, widths_m.size), dtype=bool)
    for bits in groups:
        on |= (trace.sections_on[:, np.newaxis] >> np.array(bits)) & 1 == 1
    return np.where(on, widths_m, 0.0)
