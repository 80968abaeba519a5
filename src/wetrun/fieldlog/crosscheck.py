"""Columns of one log held against each other: logged distance against positions, also one row out of step."""

from __future__ import annotations

from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import Doubt, FloatArray
from wetrun.units import METRE, SECOND

LEAST_STEPS: Final = 50
CLEARLY_BETTER: Final = 0.1


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


def _agreement(step_m: FloatArray, distance_m: FloatArray) -> float:
    """Return the correlation of two step lengths, 0 where there is too little to compare."""
    known = np.isfinite(step_m) & np.isfinite(distance_m)
    step_m, distance_m = step_m[known], distance_m[known]
    if step_m.size < LEAST_STEPS or np.ptp(step_m) == 0 or np.ptp(distance_m) == 0:
        return 0.0
    return float(np.corrcoef(step_m, distance_m)[0, 1])
