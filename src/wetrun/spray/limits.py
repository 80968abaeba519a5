"""The limits a spraying machine runs into, and what they leave of a tip's flow.

A limit either *acts* (the controller or the pump stops there: minimum hold, duty range, maximum pressure, pump,
relief), so that the rate leaves its target, or *judges* (the controller goes on, but the tip is outside what it, the
label or the meter is good for).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from wetrun.units import CUBIC_METRE_PER_SECOND, Frac, M3s, Ratio

FlowArray = Annotated[NDArray[np.float64], CUBIC_METRE_PER_SECOND]


class Limit(StrEnum):
    """The limits, in the order in which they are named when two bind at the same flow."""

    TIP_LOW = "tip's lowest pressure"
    TIP_HIGH = "tip's highest pressure"
    CLASS_COARSE = "droplets coarser than allowed"
    CLASS_FINE = "droplets finer than allowed"
    LABEL_PRESSURE = "label's maximum pressure for this tip"
    CHECK_VALVE = "check valve's opening pressure"
    HOLD = "minimum hold"
    DUTY_LOW = "lowest duty"
    DUTY_HIGH = "full duty"
    METER_LOW = "flow meter's least flow"
    METER_HIGH = "flow meter's greatest flow"
    CAB_HIGH = "controller's maximum pressure"
    PUMP = "pump flow left after agitation"
    RELIEF = "relief pressure"
    FIXED_PRESSURE = "fixed pressure: the rate follows the speed"
    LABEL_SPEED = "label's maximum speed"
    SHUT_OFF = "machine shuts off below this speed"


class Side(StrEnum):
    """Which end of the window a limit closes."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit as a flow of one tip.

    Attributes
    ----------
    limit : Limit
        Which one.
    side : Side
        The end it closes.
    flow_m3s : float
        Mean flow of one tip at which it binds [m3/s].
    acts : bool
        True if delivery stops there, False if it only judges.
    """

    limit: Limit
    side: Side
    flow_m3s: M3s
    acts: bool = False


@dataclass(frozen=True, slots=True)
class BoundCurve:
    """One limit over several shares of the boom that are on.

    Attributes
    ----------
    limit : Limit
        Which one.
    side : Side
        The end it closes.
    flows_m3s : ndarray
        Flow of one tip at which it binds [m3/s], shape (levels,).
    acts : bool
        True if delivery stops there, False if it only judges.
    """

    limit: Limit
    side: Side
    flows_m3s: FlowArray
    acts: bool = False

    def at(self, level: int) -> Bound:
        """Return the bound at one level.

        Parameters
        ----------
        level : int
            Index into the shares of the boom.

        Returns
        -------
        Bound
            The same limit as one flow.
        """
        return Bound(self.limit, self.side, float(self.flows_m3s[level]), self.acts)


@dataclass(frozen=True, slots=True)
class FlowEdges:
    """What limits leave at several shares of the boom, without their names.

    Attributes
    ----------
    low_m3s, high_m3s : ndarray
        Demands between which rate and range hold [m3/s], shape (levels,).
    floor_m3s, ceiling_m3s : ndarray
        Least and greatest flow delivered [m3/s], shape (levels,).
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


def flow_edges(curves: Sequence[BoundCurve], levels: int, *, tolerance_frac: Frac = 0.0) -> FlowEdges:
    """Return what limits leave at every level.

    Parameters
    ----------
    curves : sequence of BoundCurve
        All limits that apply.
    levels : int
        Number of shares of the boom.
    tolerance_frac : float
        How far the rate may be off target and still count as held [frac].

    Returns
    -------
    FlowEdges
        Arrays of shape (levels,).

    Notes
    -----
    A floor inside the judged range lets demand fall short of it by the tolerance; a floor below that range does not
    widen it. If floor and ceiling cross, the ceiling wins: no setting makes a pump give more than it has.

    References
    ----------
    osu-5-percent
    """
    floor, ceiling = _extreme(curves, Side.LOW, levels, acts=True), _extreme(curves, Side.HIGH, levels, acts=True)
    floor = np.minimum(floor, ceiling)
    judged_low = _extreme(curves, Side.LOW, levels, acts=False)
    judged_high = _extreme(curves, Side.HIGH, levels, acts=False)
    low = np.where(judged_low > floor, judged_low, floor / (1.0 + tolerance_frac))
    high = np.where(judged_high < ceiling, judged_high, ceiling / (1.0 - tolerance_frac))
    # A floor above, or a ceiling below, what is judged fit: what the machine then delivers is never in range.
    never = (floor > judged_high) | (ceiling < judged_low)
    return FlowEdges(np.where(never, np.inf, low), np.where(never, 0.0, high), floor, ceiling)


def flow_window(limits: Sequence[Bound], *, tolerance_frac: Frac = 0.0) -> FlowWindow:
    """Return what limits leave at one share of the boom, naming the limit at each end.

    Parameters
    ----------
    limits : sequence of Bound
        All limits that apply.
    tolerance_frac : float
        How far the rate may be off target and still count as held [frac].

    Returns
    -------
    FlowWindow
        The same edges as `flow_edges`, each with its limit.

    References
    ----------
    osu-5-percent

    Example
    -------
    >>> flow_window([Bound(Limit.TIP_LOW, Side.LOW, 1e-5), Bound(Limit.HOLD, Side.LOW, 2e-5, acts=True)]).low_by.limit
    <Limit.HOLD: 'minimum hold'>
    """
    curves = [BoundCurve(b.limit, b.side, np.array([b.flow_m3s]), b.acts) for b in limits]
    edges = flow_edges(curves, 1, tolerance_frac=tolerance_frac)
    floor_by, ceiling_by = tightest(limits, Side.LOW, acts=True), tightest(limits, Side.HIGH, acts=True)
    judged_low, judged_high = tightest(limits, Side.LOW, acts=False), tightest(limits, Side.HIGH, acts=False)
    floor_m3s, ceiling_m3s = float(edges.floor_m3s[0]), float(edges.ceiling_m3s[0])
    low_by = judged_low if judged_low is not None and judged_low.flow_m3s > floor_m3s else floor_by
    high_by = judged_high if judged_high is not None and judged_high.flow_m3s < ceiling_m3s else ceiling_by
    low_m3s, high_m3s = float(edges.low_m3s[0]), float(edges.high_m3s[0])
    return FlowWindow(low_m3s, high_m3s, low_by, high_by, floor_m3s, ceiling_m3s, floor_by, ceiling_by)


@dataclass(frozen=True, slots=True)
class Delivery:
    """What comes out at one moment, once the controller has settled.

    Attributes
    ----------
    flow_m3s : float
        Flow of one tip [m3/s].
    rate_ratio : float
        Delivered rate over target rate [ratio].
    binding : Bound or None
        The limit that acts, or that judges if none acts; None if all is well.
    """

    flow_m3s: M3s
    rate_ratio: Ratio
    binding: Bound | None


def steady_delivery(demand_m3s: M3s, limits: Sequence[Bound]) -> Delivery:
    """Return what a settled controller delivers for a demand, and which limit binds.

    Parameters
    ----------
    demand_m3s : float
        Flow one tip should give [m3/s]; above zero.
    limits : sequence of Bound
        All limits that apply.

    Returns
    -------
    Delivery
        Settled state; how the controller gets there (delay, lag) is left out.

    References
    ----------
    grdc-13-3

    Example
    -------
    >>> hold = Bound(Limit.HOLD, Side.LOW, 2e-5, acts=True)
    >>> steady_delivery(1e-5, (hold,)).rate_ratio
    2.0
    """
    window = flow_window(limits)
    flow_m3s = min(max(demand_m3s, window.floor_m3s), window.ceiling_m3s)
    if demand_m3s > window.ceiling_m3s:
        binding = window.ceiling_by
    elif demand_m3s < window.floor_m3s:
        binding = window.floor_by
    elif demand_m3s > window.high_m3s:
        binding = window.high_by
    else:
        binding = window.low_by if demand_m3s < window.low_m3s else None
    return Delivery(flow_m3s, flow_m3s / demand_m3s, binding)


def tightest(limits: Sequence[Bound], side: Side, *, acts: bool) -> Bound | None:
    """Return the limit that binds first on one side, or None.

    Parameters
    ----------
    limits : sequence of Bound
        Limits to look through.
    side : Side
        Low end or high end.
    acts : bool
        Look at those that act, or at those that judge.

    Returns
    -------
    Bound or None
        Ties go to the limit named first in `Limit`.
    """
    order = list(Limit)
    mine = [bound for bound in limits if bound.side is side and bound.acts is acts]
    sign = -1.0 if side is Side.LOW else 1.0
    return min(mine, key=lambda bound: (sign * bound.flow_m3s, order.index(bound.limit)), default=None)


def _extreme(curves: Sequence[BoundCurve], side: Side, levels: int, *, acts: bool) -> FlowArray:
    none = 0.0 if side is Side.LOW else np.inf
    combine = np.maximum if side is Side.LOW else np.minimum
    result = np.full(levels, none)
    for curve in curves:
        if curve.side is side and curve.acts is acts:
            result = combine(result, curve.flows_m3s)
    return result
