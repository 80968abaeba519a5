"""What a set of limits leaves of a tip's flow: where the rate is held, and what is delivered beyond."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray

from wetrun.spray.limits import Bound, BoundCurve, FlowArray, Side, tightest
from wetrun.units import RATIO, Frac, M3s, Ratio

RatioArray = Annotated[NDArray[np.float64], RATIO]


@dataclass(frozen=True, slots=True)
class Extremes:
    """The tightest limits at several shares of the boom, apart by what they do.

    Attributes
    ----------
    floor_m3s, ceiling_m3s : ndarray
        Least and greatest flow delivered [m3/s], shape (…, levels).
    judged_low_m3s, judged_high_m3s : ndarray
        Least and greatest flow that is fit [m3/s], same shape.
    """

    floor_m3s: FlowArray
    ceiling_m3s: FlowArray
    judged_low_m3s: FlowArray
    judged_high_m3s: FlowArray


@dataclass(frozen=True, slots=True)
class FlowEdges:
    """What limits leave at several shares of the boom, without their names.

    Attributes
    ----------
    low_m3s, high_m3s : ndarray
        Demands between which rate and range hold [m3/s], shape (…, levels).
    floor_m3s, ceiling_m3s : ndarray
        Least and greatest flow delivered [m3/s], same shape.
    """

    low_m3s: FlowArray
    high_m3s: FlowArray
    floor_m3s: FlowArray
    ceiling_m3s: FlowArray


@dataclass(frozen=True, slots=True)
class FlowWindow:
    """What a set of limits leaves of a tip's flow, with the limit that closes each end.

    Attributes
    ----------
    low_m3s, high_m3s : float
        Demands between which the rate is held and nothing is out of range [m3/s]; empty if low is above high.
    low_by, high_by : Bound or None
        The limit that closes each end.
    floor_m3s, ceiling_m3s : float
        Least and greatest flow the machine delivers [m3/s].
    floor_by, ceiling_by : Bound or None
        The limit that acts there.
    """

    low_m3s: M3s
    high_m3s: M3s
    low_by: Bound | None
    high_by: Bound | None
    floor_m3s: M3s
    ceiling_m3s: M3s
    floor_by: Bound | None
    ceiling_by: Bound | None

    @property
    def empty(self) -> bool:
        """True if no demand is held."""
        return not self.low_m3s <= self.high_m3s


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far the delivered rate may be off target and still count as held.

    Attributes
    ----------
    under_frac, over_frac : float
        Below and above the target [frac]. A label's least and greatest rate narrow them.
    """

    under_frac: Frac = 0.0
    over_frac: Frac = 0.0


EXACT: Final = Tolerance()
ROUNDING: Final = 1e-12


def no_further_off(gain_ratio: Ratio) -> Tolerance:
    """Return the tolerance of a machine's own window: the rate no further off than its gain makes it anyway.

    Parameters
    ----------
    gain_ratio : float
        Delivered over demanded flow between floor and ceiling [ratio].

    Returns
    -------
    Tolerance
        Exact for a machine that meters its flow.

    Example
    -------
    >>> no_further_off(1.0) == EXACT
    True
    """
    return Tolerance(max(1.0 - gain_ratio, 0.0), max(gain_ratio - 1.0, 0.0))


def extremes(curves: Sequence[BoundCurve], levels: int) -> Extremes:
    """Return the tightest limits at every level.

    Parameters
    ----------
    curves : sequence of BoundCurve
        All limits that apply.
    levels : int
        Number of shares of the boom.

    Returns
    -------
    Extremes
        If floor and ceiling cross, the ceiling wins: no setting makes a pump give more than it has.
    """
    ceiling = _extreme(curves, Side.HIGH, levels, acts=True)
    return Extremes(
        floor_m3s=np.minimum(_extreme(curves, Side.LOW, levels, acts=True), ceiling),
        ceiling_m3s=ceiling,
        judged_low_m3s=_extreme(curves, Side.LOW, levels, acts=False),
        judged_high_m3s=_extreme(curves, Side.HIGH, levels, acts=False),
    )


def edges_of(tightest_limits: Extremes, tolerance: Tolerance, gain_ratio: RatioArray | Ratio = 1.0) -> FlowEdges:
    """Return what limits leave, with a tolerance on the rate where a limit acts.

    Parameters
    ----------
    tightest_limits : Extremes
        The limits, for one tip set or stacked for many.
    tolerance : Tolerance
        How far the rate may be off target.
    gain_ratio : float or ndarray
        Delivered over demanded flow between floor and ceiling [ratio]: 1 where flow is metered, else what wear and a
        wrong density make of it. Broadcasts against the limits.

    Returns
    -------
    FlowEdges
        Demands; nothing at all is held where the gain alone is outside the tolerance.

    Notes
    -----
    Limits stop or judge what is *delivered*; the window is one of demands, which the machine turns into gain x demand.
    A floor inside the judged range lets demand fall short of it by the tolerance; a floor below that range does not
    widen it.

    References
    ----------
    osu-5-percent
    """
    floor, ceiling = tightest_limits.floor_m3s, tightest_limits.ceiling_m3s
    judged_low, judged_high = tightest_limits.judged_low_m3s, tightest_limits.judged_high_m3s
    at_floor = floor / np.maximum(gain_ratio, 1.0 + tolerance.over_frac)
    at_ceiling = ceiling / np.minimum(gain_ratio, 1.0 - tolerance.under_frac)
    low = np.where(judged_low > floor, judged_low / gain_ratio, at_floor)
    high = np.where(judged_high < ceiling, judged_high / gain_ratio, at_ceiling)
    # A floor above, or a ceiling below, what is judged fit: what the machine then delivers is never in range.
    never = (floor > judged_high) | (ceiling < judged_low) | rate_is_off(gain_ratio, tolerance)
    return FlowEdges(np.where(never, np.inf, low), np.where(never, 0.0, high), floor, ceiling)


def rate_is_off(gain_ratio: RatioArray | Ratio, tolerance: Tolerance) -> NDArray[np.bool_]:
    """Return whether a machine's gain alone is outside the tolerance.

    Parameters
    ----------
    gain_ratio : float or ndarray
        Delivered over demanded flow [ratio].
    tolerance : Tolerance
        How far the rate may be off target.

    Returns
    -------
    ndarray of bool
        Shape of the gain.
    """
    off = np.asarray(gain_ratio) - 1.0
    return (off > tolerance.over_frac + ROUNDING) | (off < -tolerance.under_frac - ROUNDING)


def flow_edges(
    curves: Sequence[BoundCurve], levels: int, tolerance: Tolerance = EXACT, gain_ratio: Ratio = 1.0
) -> FlowEdges:
    """Return what limits leave at every level.

    Parameters
    ----------
    curves : sequence of BoundCurve
        All limits that apply.
    levels : int
        Number of shares of the boom.
    tolerance : Tolerance
        How far the rate may be off target.
    gain_ratio : float
        Delivered over demanded flow between floor and ceiling [ratio].

    Returns
    -------
    FlowEdges
        Arrays of shape (levels,); see `edges_of`.

    References
    ----------
    osu-5-percent
    """
    return edges_of(extremes(curves, levels), tolerance, gain_ratio)


def flow_window(limits: Sequence[Bound], tolerance: Tolerance = EXACT, gain_ratio: Ratio = 1.0) -> FlowWindow:
    """Return what limits leave at one share of the boom, naming the limit at each end.

    Parameters
    ----------
    limits : sequence of Bound
        All limits that apply.
    tolerance : Tolerance
        How far the rate may be off target.
    gain_ratio : float
        Delivered over demanded flow between floor and ceiling [ratio].

    Returns
    -------
    FlowWindow
        The same edges as `flow_edges`, each with its limit.

    References
    ----------
    osu-5-percent

    Example
    -------
    >>> from wetrun.spray.limits import Limit
    >>> flow_window([Bound(Limit.TIP_LOW, Side.LOW, 1e-5), Bound(Limit.HOLD, Side.LOW, 2e-5, acts=True)]).low_by.limit
    <Limit.HOLD: 'minimum hold'>
    """
    curves = [BoundCurve(b.limit, b.side, np.array([b.flow_m3s]), b.acts) for b in limits]
    edges = flow_edges(curves, 1, tolerance, gain_ratio)
    floor_by, ceiling_by = tightest(limits, Side.LOW, acts=True), tightest(limits, Side.HIGH, acts=True)
    judged_low, judged_high = tightest(limits, Side.LOW, acts=False), tightest(limits, Side.HIGH, acts=False)
    floor_m3s, ceiling_m3s = float(edges.floor_m3s[0]), float(edges.ceiling_m3s[0])
    low_by = judged_low if judged_low is not None and judged_low.flow_m3s > floor_m3s else floor_by
    high_by = judged_high if judged_high is not None and judged_high.flow_m3s < ceiling_m3s else ceiling_by
    low_m3s, high_m3s = float(edges.low_m3s[0]), float(edges.high_m3s[0])
    return FlowWindow(low_m3s, high_m3s, low_by, high_by, floor_m3s, ceiling_m3s, floor_by, ceiling_by)


def _extreme(curves: Sequence[BoundCurve], side: Side, levels: int, *, acts: bool) -> FlowArray:
    none = 0.0 if side is Side.LOW else np.inf
    combine = np.maximum if side is Side.LOW else np.minimum
    result = np.full(levels, none)
    for curve in curves:
        if curve.side is side and curve.acts is acts:
            result = combine(result, curve.flows_m3s)
    return result
