"""What comes out at one moment, once the controller has settled, and which limit binds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wetrun.spray.flow_window import flow_window, no_further_off
from wetrun.spray.limits import Bound
from wetrun.units import M3s, Ratio


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


def steady_delivery(demand_m3s: M3s, limits: Sequence[Bound], gain_ratio: Ratio = 1.0) -> Delivery:
    """Return what a settled controller delivers for a demand, and which limit binds.

    Parameters
    ----------
    demand_m3s : float
        Flow one tip should give [m3/s]; above zero.
    limits : sequence of Bound
        All limits that apply.
    gain_ratio : float
        Delivered over demanded flow between floor and ceiling [ratio].

    Returns
    -------
    Delivery
        Settled state; how the controller gets there (delay, lag) is left out.

    References
    ----------
    grdc-13-3

    Example
    -------
    >>> from wetrun.spray.limits import Limit, Side
    >>> hold = Bound(Limit.HOLD, Side.LOW, 2e-5, acts=True)
    >>> steady_delivery(1e-5, (hold,)).rate_ratio
    2.0
    """
    window = flow_window(limits, no_further_off(gain_ratio), gain_ratio)
    wanted_m3s = gain_ratio * demand_m3s
    flow_m3s = min(max(wanted_m3s, window.floor_m3s), window.ceiling_m3s)
    if wanted_m3s > window.ceiling_m3s:
        binding = window.ceiling_by
    elif wanted_m3s < window.floor_m3s:
        binding = window.floor_by
    elif demand_m3s > window.high_m3s:
        binding = window.high_by
    else:
        binding = window.low_by if demand_m3s < window.low_m3s else None
    return Delivery(flow_m3s, flow_m3s / demand_m3s, binding)
