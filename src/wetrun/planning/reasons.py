"""Why area is not held: the limit that closed the window, at each active width its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wetrun.fieldlog.ledger import Tally
from wetrun.spray.flow_window import flow_window
from wetrun.spray.limits import Bound, BoundCurve, Limit, Side
from wetrun.units import Cm2, Frac

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lost:
    """Area not held because of one limit.

    Attributes
    ----------
    limit : Limit
        What closed the window.
    side : Side
        Too slow or too fast.
    share_frac : float
        Share of the area [frac].
    """

    limit: Limit
    side: Side
    share_frac: Frac


@dataclass(frozen=True, slots=True)
class Ends:
    """Both ends of what is held, in the variable a tally is in (speed, or flow per metre of boom).

    Attributes
    ----------
    low, high : ndarray
        Shape (levels,) or (sets, levels).
    cap : float
        The label's highest speed in that variable; infinite if there is none.
    off_below : float
        Where the machine shuts off, in that variable; 0 if it does not.
    """

    low: FloatArray
    high: FloatArray
    cap: float
    off_below: float


def lost_by_limit(tally: Tally, curves: Sequence[BoundCurve], ends: Ends, *, off: bool) -> tuple[Lost, ...]:
    """Return the area outside a window by the limit that closed it, largest first.

    Parameters
    ----------
    tally : Tally
        What the reading is tallied in.
    curves : sequence of BoundCurve
        All limits that apply.
    ends : Ends
        Both ends of what is held, shape (levels,).
    off : bool
        True if the machine's own gain is outside the tolerance, so that nothing is held.

    Returns
    -------
    tuple of Lost
        Shares of all the area.
    """
    shares: dict[tuple[Limit, Side], float] = {}
    total = max(tally.total_cm2, 1)
    for level in range(tally.levels_m.size):
        bounds = [curve.at(level) for curve in curves]
        low, high = max(float(ends.low[level]), ends.off_below), min(float(ends.high[level]), ends.cap)
        for side in Side:
            area_cm2 = _area_outside(tally, level, (low, high), side)
            if area_cm2:
                key = (Limit.RATE_OFF if off else _closing_limit(bounds, ends, level, side), side)
                shares[key] = shares.get(key, 0.0) + area_cm2 / total
    ordered = sorted(shares.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Lost(limit, side, share) for (limit, side), share in ordered)


def _area_outside(tally: Tally, level: int, ends: tuple[float, float], side: Side) -> Cm2:
    """Middle of the bracket, for the reasons only; the held share keeps its bracket."""
    low, high = ends
    empty = low > high
    threshold = np.full(tally.levels_m.size, 0.0 if side is Side.LOW else np.inf)
    if side is Side.LOW:
        # Where nothing is held at this width all of it counts once, on the low side.
        threshold[level] = np.inf if empty else low
        lower, upper = tally.areas_below(threshold)
    else:
        threshold[level] = np.inf if empty else high
        lower, upper = tally.areas_above(threshold)
    return (int(lower) + int(upper)) // 2


def _closing_limit(bounds: Sequence[Bound], ends: Ends, level: int, side: Side) -> Limit:
    if side is Side.LOW and ends.off_below > ends.low[level]:
        return Limit.SHUT_OFF
    if side is Side.HIGH and ends.cap < ends.high[level]:
        return Limit.LABEL_SPEED
    window = flow_window(bounds)
    closed = window.high_by if side is Side.HIGH or window.high_m3s == 0.0 else window.low_by
    never = window.empty and side is Side.LOW and closed is not None and not closed.acts
    if window.empty and not never:
        # The machine cannot go where the tip is good: name what keeps it away.
        closed = window.floor_by if window.floor_by is not None else window.ceiling_by
    return closed.limit if closed is not None else Limit.PUMP
