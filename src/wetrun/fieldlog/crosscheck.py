"""Columns of one log held against each other, also one row out of step: logged distance and clock against positions."""

from __future__ import annotations

from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import Doubt, FloatArray
from wetrun.units import METRE, METRE_PER_SECOND, SECOND, Ratio

LEAST_STEPS: Final = 50
CLEARLY_BETTER: Final = 0.1
# Our own choices (no source): a machine's speed changes little over these rows, and a step that would have taken many
# times the usual one is a jump of the position.
ROWS_OF_ONE_SPEED: Final = 9
LONGEST_IN_USUAL: Final[Ratio] = 30


def step_shift(
    east_m: Annotated[FloatArray, METRE],
    north_m: Annotated[FloatArray, METRE],
    distance_m: Annotated[FloatArray, METRE],
    interval_s: Annotated[FloatArray, SECOND],
) -> Doubt | None:
    """Return a doubt where the distance column fits the positions clearly better moved by one row.

    Parameters
    ----------
    east_m, north_m, distance_m, interval_s
        Columns of a trace [instants] [m], [m], [m] and [s].
    """
    step_m = np.hypot(np.diff(east_m, prepend=np.nan), np.diff(north_m, prepend=np.nan))
    step_m = np.where(np.isnan(interval_s), np.nan, step_m)
    fits = {shift: _agreement(step_m, np.roll(distance_m, shift)) for shift in (-1, 0, 1)}
    best = max(fits, key=lambda shift: fits[shift])
    if best == 0 or fits[best] < fits[0] + CLEARLY_BETTER or fits[best] < 0.5:
        return None
    where = "the row above" if best < 0 else "the row below"
    words = (
        f"The distance column fits the positions of {where} (agreement {fits[best]:.2f}) better than its own "
        f"({fits[0]:.2f}): it may be one row out of step"
    )
    return Doubt(words, "Look at the first rows after a stop; speeds next to stops are not to be trusted")


def clock_shift(
    step_m: Annotated[FloatArray, METRE],
    interval_s: Annotated[FloatArray, SECOND],
    shown_speed_mps: Annotated[FloatArray, METRE_PER_SECOND],
) -> Doubt | None:
    """Return a doubt where the clock fits the ways driven clearly better moved by one row.

    Parameters
    ----------
    step_m, interval_s, shown_speed_mps
        Way and time since the instant before, nan at cuts, and logged speed, nan where there is none [instants]
        [m], [s] and [m/s].

    Notes
    -----
    Each way is divided by the logged speed, else by that over some rows, and the time it must have taken is held
    against the clock's. A clock of even steps shows nothing, and moved by a row it does no harm.
    """
    if step_m.size < LEAST_STEPS:
        return None
    needed_s = _time_needed(step_m, interval_s, shown_speed_mps)
    fits = {shift: _agreement(needed_s, np.roll(interval_s, shift)) for shift in (-1, 0, 1)}
    best = max(fits, key=lambda shift: fits[shift])
    if best == 0 or fits[best] < fits[0] + CLEARLY_BETTER or fits[best] < 0.5:
        return None
    where = "the row below" if best < 0 else "the row above"
    words = (
        f"The clock of {where} fits the way of each row (agreement {fits[best]:.2f}) better than its own "
        f"({fits[0]:.2f}): the time column may be one row out of step"
    )
    return Doubt(words, "Export the log again; until then trust no speed where the clock's steps change")


def _time_needed(step_m: FloatArray, interval_s: FloatArray, shown_speed_mps: FloatArray) -> FloatArray:
    """Return the time each way took at the logged speed, else at that of the rows around it [s], nan if unknown."""
    known = np.isfinite(step_m) & np.isfinite(interval_s)
    window = np.ones(ROWS_OF_ONE_SPEED)
    way_m = np.convolve(np.where(known, step_m, 0.0), window, mode="same")
    took_s = np.convolve(np.where(known, interval_s, 0.0), window, mode="same")
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        speed_mps = np.where(shown_speed_mps > 0, shown_speed_mps, way_m / took_s)
        needed_s = np.where(speed_mps > 0, step_m / speed_mps, np.nan)
    usual_s = float(np.median(interval_s[known])) if known.any() else 0.0
    return np.where(needed_s <= LONGEST_IN_USUAL * usual_s, needed_s, np.nan)


def _agreement(step_m: FloatArray, distance_m: FloatArray) -> float:
    """Return the correlation of two step lengths, 0 where there is too little to compare."""
    known = np.isfinite(step_m) & np.isfinite(distance_m)
    step_m, distance_m = step_m[known], distance_m[known]
    if step_m.size < LEAST_STEPS or np.ptp(step_m) == 0 or np.ptp(distance_m) == 0:
        return 0.0
    return float(np.corrcoef(step_m, distance_m)[0, 1])
