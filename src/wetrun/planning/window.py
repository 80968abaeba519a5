"""The speed window: over which ground speeds a tip set holds a pass, and what closes each end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import overload

import numpy as np

from wetrun.planning.label_limits import PassLimits
from wetrun.planning.passes import Pass
from wetrun.planning.tip_set import TipSet
from wetrun.spray.controller import (
    Hydraulics,
    Loop,
    PressureEnd,
    ShareArray,
    bound_curves,
    pressure_range_curves,
)
from wetrun.spray.droplets import DropletClass, SprayPattern, droplet_finding, pressures_within
from wetrun.spray.flow_window import FlowWindow, Tolerance, flow_edges, flow_window, no_further_off
from wetrun.spray.limits import BoundCurve, FlowArray, Limit, Side
from wetrun.spray.orifice import demand_per_tip_m3s
from wetrun.units import Frac, M3pm2, M3s, Mps, Pa, Ratio

CLASS_SURE_FRAC: Frac = 0.7
"""Least probability of an allowed droplet class that counts as held; below it the class is undecided."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedWindow:
    """Speeds over which a tip set holds a pass at one rate, all sections on.

    Attributes
    ----------
    rate_m3pm2 : float
        Target rate [m3/m2].
    low_mps, high_mps : float
        Speeds between which rate, pressure and droplet class all hold [m/s]; empty if low is above high.
    low_by, high_by : Limit or None
        What closes each end.
    near_low_mps, near_high_mps : float
        The same, with the rate up to the tolerance off target [m/s].
    floor_mps, ceiling_mps : float
        Speeds below and above which the delivered rate leaves the target [m/s].
    floor_by, ceiling_by : Limit or None
        What acts there.
    over_label_mps : float or None
        Speed below which more than a label's maximum is put down [m/s]; None if no label maximum was typed.
    gain_ratio : float
        Delivered over target rate inside the window [ratio]; 1 unless flow is worked out from pressure and off.
    """

    rate_m3pm2: M3pm2
    low_mps: Mps
    high_mps: Mps
    low_by: Limit | None
    high_by: Limit | None
    near_low_mps: Mps
    near_high_mps: Mps
    floor_mps: Mps
    ceiling_mps: Mps
    floor_by: Limit | None
    ceiling_by: Limit | None
    over_label_mps: Mps | None
    gain_ratio: Ratio = 1.0

    @property
    def empty(self) -> bool:
        """True if no speed is held."""
        return not self.low_mps <= self.high_mps


@dataclass(frozen=True)
class Trial:
    """One tip set tried on one pass.

    Attributes
    ----------
    setup : Hydraulics
        The tip set on its machine with the pass's liquid.
    tip_set : TipSet
        The set.
    planned : Pass
        The pass.
    limits : PassLimits
        What its products leave.
    usual_mps : float
        Usual speed of the evidence [m/s]: what a machine without feedback has its pressure set for.
    """

    setup: Hydraulics
    tip_set: TipSet
    planned: Pass
    limits: PassLimits
    usual_mps: Mps

    @cached_property
    def whole(self) -> FlowWindow:
        """What the limits leave with every section on, the rate held exactly; worked out once."""
        return flow_window([curve.at(0) for curve in limit_curves(self, np.ones(1))])

    def tolerance(self, rate_m3pm2: M3pm2) -> Tolerance:
        """Return how far the rate may be off: the pass's tolerance, but never past a label's least or greatest.

        Parameters
        ----------
        rate_m3pm2 : float
            Target rate [m3/m2].

        Returns
        -------
        Tolerance
            The same on both sides where no label is near.
        """
        wish, limits = self.planned.tolerance_frac, self.limits
        under = [1.0 - limits.label_low_m3pm2 / rate_m3pm2] if limits.label_low_m3pm2 is not None else []
        over = [limits.label_high_m3pm2 / rate_m3pm2 - 1.0] if limits.label_high_m3pm2 is not None else []
        over += [limits.label_ratio - 1.0] if limits.label_ratio is not None else []
        return Tolerance(max(min([wish, *under]), 0.0), max(min([wish, *over]), 0.0))


def limit_curves(trial: Trial, on_fracs: ShareArray) -> tuple[BoundCurve, ...]:
    """Return every limit of a tip set for a pass: the machine's, the droplet classes', the labels'.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    tuple of BoundCurve
        Flows of one tip.
    """
    return (
        *bound_curves(trial.setup, on_fracs),
        *_class_curves(trial, on_fracs),
        *_label_curves(trial, on_fracs),
        *_fixed_curves(trial, on_fracs),
    )


def speed_window(trial: Trial, rate_m3pm2: M3pm2) -> SpeedWindow:
    """Return the speeds over which a tip set holds a pass with all sections on.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    rate_m3pm2 : float
        Target rate [m3/m2].

    Returns
    -------
    SpeedWindow
        With the limit at each end.

    References
    ----------
    osu-5-percent
    """
    curves, limits, gain = limit_curves(trial, np.ones(1)), trial.limits, trial.setup.gain_ratio
    exact = flow_window([curve.at(0) for curve in curves], no_further_off(gain), gain)
    near = flow_edges(curves, 1, trial.tolerance(rate_m3pm2), gain)

    def speed(flow_m3s: M3s) -> Mps:
        # Not `speed_at`: an empty window has an infinite end, which is no flow of any tip.
        return flow_m3s / (rate_m3pm2 * trial.tip_set.spacing_m)

    top_mps = min(speed(exact.high_m3s), limits.speed_high_mps or np.inf)
    capped = limits.speed_high_mps is not None and limits.speed_high_mps < speed(exact.high_m3s)
    over_mps = (
        None if limits.label_ratio is None else speed(over_label_below_m3s(exact.floor_m3s, exact.ceiling_m3s, trial))
    )
    return SpeedWindow(
        rate_m3pm2=rate_m3pm2,
        low_mps=speed(exact.low_m3s),
        high_mps=top_mps,
        low_by=exact.low_by.limit if exact.low_by else None,
        high_by=Limit.LABEL_SPEED if capped else (exact.high_by.limit if exact.high_by else None),
        near_low_mps=speed(float(near.low_m3s[0])),
        near_high_mps=min(speed(float(near.high_m3s[0])), limits.speed_high_mps or np.inf),
        floor_mps=speed(exact.floor_m3s / gain),
        ceiling_mps=speed(exact.ceiling_m3s / gain),
        floor_by=exact.floor_by.limit if exact.floor_by else None,
        ceiling_by=exact.ceiling_by.limit if exact.ceiling_by else None,
        over_label_mps=over_mps,
        gain_ratio=gain,
    )


@overload
def over_label_below_m3s(floor_m3s: M3s, ceiling_m3s: M3s, trial: Trial) -> M3s: ...
@overload
def over_label_below_m3s(floor_m3s: FlowArray, ceiling_m3s: FlowArray, trial: Trial) -> FlowArray: ...
def over_label_below_m3s(floor_m3s: M3s | FlowArray, ceiling_m3s: M3s | FlowArray, trial: Trial) -> M3s | FlowArray:
    """Return the demand below which more than a label's maximum is delivered.

    Parameters
    ----------
    floor_m3s, ceiling_m3s : float or ndarray
        Least and greatest flow of one tip the machine delivers [m3/s].
    trial : Trial
        The tip set and the pass; its products give the label ratio.

    Returns
    -------
    float or ndarray
        Demand of one tip [m3/s]: at the floor, or up to the ceiling where the machine itself puts down that much.
    """
    ratio = trial.limits.label_ratio or np.inf
    return (ceiling_m3s if trial.setup.gain_ratio > ratio else floor_m3s) / ratio


@lru_cache(maxsize=4096)
def class_pressures_pa(pattern: SprayPattern, allowed: frozenset[DropletClass]) -> tuple[Pa, Pa] | None:
    """Return the widest stretch of a tip's pressure range in which its class is surely allowed, or None.

    Parameters
    ----------
    pattern : SprayPattern
        The tip's fan and family.
    allowed : frozenset of DropletClass
        Classes allowed.

    Returns
    -------
    tuple of float, or None
        Lowest and highest pressure at the tip [Pa].

    Notes
    -----
    Widest by pressure ratio, which is speed ratio squared. *Surely* is `CLASS_SURE_FRAC`.

    References
    ----------
    droplet-boundary-0.7
    """
    stretches = pressures_within(pattern, allowed, at_least=CLASS_SURE_FRAC)
    return max(stretches, key=lambda stretch: stretch[1] / stretch[0], default=None)


def _class_curves(trial: Trial, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    setup, limits = trial.setup, trial.limits
    if limits.classes is None:
        return
    for pattern in trial.tip_set.patterns:
        stretch = class_pressures_pa(pattern, limits.classes)
        if stretch is None:
            limit = _side_missed(pattern, limits.classes)
            yield BoundCurve(limit, Side.LOW, np.full(on_fracs.shape, np.inf))
            continue
        low_pa, high_pa = stretch
        low = PressureEnd(Limit.CLASS_COARSE, low_pa) if low_pa > pattern.low_pa else None
        high = PressureEnd(Limit.CLASS_FINE, high_pa) if high_pa < pattern.high_pa else None
        yield from pressure_range_curves(setup, on_fracs, low=low, high=high)


def _side_missed(pattern: SprayPattern, allowed: frozenset[DropletClass]) -> Limit:
    if not allowed:
        return Limit.CLASS_FINE
    coarsest = droplet_finding(pattern, pattern.low_pa).most_likely
    return Limit.CLASS_FINE if coarsest < min(allowed) else Limit.CLASS_COARSE


def _label_curves(trial: Trial, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    permitted: Mapping[str, Pa | None] = trial.limits.permitted or {}
    fitted = [trial.tip_set.tip, *trial.tip_set.odd]
    named = [high_pa for tip in fitted if (high_pa := permitted.get(tip.ident)) is not None]
    if named:
        highest = PressureEnd(Limit.LABEL_PRESSURE, min(named))
        yield from pressure_range_curves(trial.setup, on_fracs, high=highest)


def _fixed_curves(trial: Trial, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    """Without feedback the pressure set for the usual speed stays, and so does the flow, whatever the speed."""
    if trial.setup.loop is not Loop.FIXED:
        return
    # The pressure is set for the usual speed and a new tip; a worn one passes that much more.
    demand = float(demand_per_tip_m3s(trial.planned.rate_m3pm2, trial.usual_mps, trial.tip_set.spacing_m))
    flow_m3s = trial.tip_set.tip.wear_ratio * demand
    for side in Side:
        yield BoundCurve(Limit.FIXED_PRESSURE, side, np.full(on_fracs.shape, flow_m3s), acts=True)
