"""Clocks with a grain: where each row's distance does not follow its interval, the interval is not to be believed.

Some terminals write speed times their own fixed step as the distance, and stamp the row when they get round to it. A
speed from distance over interval then jitters by several per cent that no machine ever drove, and a replay with lag
would show it as an error of the rate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.trace import FloatArray, Repair, Trace
from wetrun.percent import per_cent
from wetrun.units import RATIO, SECOND, Ratio, S

# Our own choices (no source): what counts as a usual step, how much grain is worth taking out, and what is proof.
USUAL_RATIOS: Final = (0.5, 1.5)
LEAST_GRAIN_RATIO: Final[Ratio] = 0.01
LEAST_STEPS: Final = 100
MOST_FOLLOWED_RATIO: Final[Ratio] = 0.25
MOST_DOUBT_RATIO: Final[Ratio] = 0.15


@dataclass(frozen=True, slots=True)
class ClockGrain:
    """How far distances follow the clock.

    Attributes
    ----------
    followed_ratio, doubt_ratio : float
        Change of distance per change of interval, over the speed: 1 where the clock is true, 0 where the distance is
        the speed times a fixed step; and twice its standard error [ratio].
    step_s : float
        The usual step, as a mean [s].
    jitter_ratio : float
        Standard deviation of the usual intervals over their mean [ratio].
    """

    followed_ratio: Ratio
    doubt_ratio: Ratio
    step_s: S
    jitter_ratio: Ratio

    @property
    def false(self) -> bool:
        """Whether the intervals are proved to be the clock's, not the machine's."""
        sure = self.followed_ratio + self.doubt_ratio < MOST_FOLLOWED_RATIO and self.doubt_ratio < MOST_DOUBT_RATIO
        return sure and self.jitter_ratio > LEAST_GRAIN_RATIO


def clock_grain(trace: Trace) -> ClockGrain | None:
    """Return how far the distances of a log follow its clock, or None where that cannot be told.

    Parameters
    ----------
    trace
        The log.

    Notes
    -----
    From neighbouring instants with usual intervals only. A machine that speeds up adds to the doubt, not to the
    answer, for it does not know when the clock will be late.
    """
    usual = _usual(trace.interval_s)
    pair = usual[1:] & usual[:-1] & np.isfinite(trace.distance_m[1:] + trace.distance_m[:-1])
    if pair.sum() < LEAST_STEPS:
        return None
    interval_s, distance_m = trace.interval_s, trace.distance_m
    speed_mps = (distance_m[1:] + distance_m[:-1])[pair] / (interval_s[1:] + interval_s[:-1])[pair]
    expected_m = speed_mps * np.diff(interval_s)[pair]
    moved_m = np.diff(distance_m)[pair]
    power = float((expected_m**2).sum())
    step_s, spread_s = float(interval_s[usual].mean()), float(interval_s[usual].std())
    if power == 0.0:
        return None
    followed = float((expected_m * moved_m).sum()) / power
    left_m = moved_m - followed * expected_m
    # Errors of neighbouring pairs share an instant, so they are not independent: the spread is taken with them.
    scores = expected_m * left_m
    variance = float((scores**2).sum() + 2.0 * (scores[1:] * scores[:-1]).sum())
    doubt = 2.0 * max(variance, float((scores**2).sum())) ** 0.5 / power
    return ClockGrain(followed, doubt, step_s, spread_s / step_s)


def with_even_clock(trace: Trace) -> Trace:
    """Return the trace with speeds over the usual step, where its clock is proved to have a grain; else as it is.

    Parameters
    ----------
    trace
        The log.

    Returns
    -------
    Trace
        Speeds of usual intervals are distance over the mean step; clock, intervals and areas stay. What was done
        stands among the repairs.
    """
    grain = clock_grain(trace)
    if grain is None or not grain.false:
        return trace
    changed = _usual(trace.interval_s) & np.isfinite(trace.speed_mps)
    speed_mps = np.where(changed, trace.distance_m / grain.step_s, trace.speed_mps)
    words = (
        f"speeds are distance over the usual step of {grain.step_s:.3g} s: the intervals scatter by "
        f"{per_cent(grain.jitter_ratio)} and the distances do not follow them"
    )
    repair = Repair("clock grain", int(changed.sum()), 0.0, words)
    return replace(trace, speed_mps=speed_mps, facts=replace(trace.facts, repairs=(*trace.facts.repairs, repair)))


def _usual(interval_s: Annotated[FloatArray, SECOND]) -> npt.NDArray[np.bool_]:
    """Return which intervals are about the usual one."""
    known = interval_s[np.isfinite(interval_s)]
    if not known.size:
        return np.zeros(interval_s.shape, dtype=bool)
    ratio: Annotated[FloatArray, RATIO] = interval_s / float(np.median(known))
    return (ratio > USUAL_RATIOS[0]) & (ratio < USUAL_RATIOS[1])
