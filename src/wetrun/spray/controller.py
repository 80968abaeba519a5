"""What a rate controller can deliver with one tip set: every limit of the machine as a flow of one tip.

Hold by flow, meter range and pump tighten as sections close or open, so each limit is a curve over the share of the
boom that is on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from wetrun.spray.hydraulics import (
    Hydraulics,
    Loop,
    ShareArray,
    cab_pressure_pa,
    flow_at_tip_pressure_m3s,
    flows_at_cab_pressure_m3s,
    tip_pressure_pa,
)
from wetrun.spray.limits import Bound, BoundCurve, Limit, Side
from wetrun.spray.pulsed import flows_at_duty_m3s, pulsed_flows_above_m3s
from wetrun.spray.supply import PumpSupply
from wetrun.units import Frac, M3s, Pa, Ratio

__all__ = [
    "Hydraulics",
    "Loop",
    "PressureEnd",
    "ShareArray",
    "bound_curves",
    "bounds",
    "cab_pressure_pa",
    "flow_at_tip_pressure_m3s",
    "flows_at_cab_pressure_m3s",
    "pressure_range_curves",
    "tip_pressure_pa",
]


def bound_curves(setup: Hydraulics, on_fracs: ShareArray) -> tuple[BoundCurve, ...]:
    """Return every limit of a tip set on its machine, as flows of one tip.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    tuple of BoundCurve
        In no order; droplet class and label limits are added by the plan, which knows the pass.

    References
    ----------
    grdc-13-3, uga-1277-1305
    """
    pressure = _pressure_curves if setup.pulse is None else _pulse_curves
    parts = (pressure, _hold_curves, _meter_curves, _pump_curves)
    return tuple(curve for part in parts for curve in part(setup, on_fracs))


def bounds(setup: Hydraulics, on_frac: Frac = 1.0) -> tuple[Bound, ...]:
    """Return every limit of a tip set on its machine at one share of the boom.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    on_frac : float
        Share of the boom that is on [frac].

    Returns
    -------
    tuple of Bound
        As `bound_curves`.

    References
    ----------
    grdc-13-3
    """
    return tuple(curve.at(0) for curve in bound_curves(setup, np.array([on_frac])))


def _even(limit: Limit, side: Side, flow_m3s: M3s, on_fracs: ShareArray) -> BoundCurve:
    return BoundCurve(limit, side, np.full(on_fracs.shape, flow_m3s))


def _pressure_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    yield from _tip_curves(setup, on_fracs)
    for limit, pressure_pa in ((Limit.CAB_HIGH, setup.cab_high_pa), (Limit.RELIEF, setup.relief_pa)):
        if pressure_pa is not None:
            yield BoundCurve(limit, Side.HIGH, flows_at_cab_pressure_m3s(setup, pressure_pa, on_fracs), acts=True)


def _pulse_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    pulse = setup.pulse
    if pulse is None:
        return
    for limit, side, duty in (
        (Limit.DUTY_LOW, Side.LOW, pulse.least_frac),
        (Limit.DUTY_HIGH, Side.HIGH, pulse.greatest_frac),
    ):
        yield BoundCurve(limit, side, flows_at_duty_m3s(setup, pulse, duty, on_fracs), acts=True)
    yield from _tip_curves(setup, on_fracs)


@dataclass(frozen=True, slots=True)
class PressureEnd:
    """A pressure at the tip that must not be passed, and the limit it stands for.

    Attributes
    ----------
    limit : Limit
        Which one.
    pressure_pa : float
        Pressure at the tip [Pa].
    """

    limit: Limit
    pressure_pa: Pa


def pressure_range_curves(
    setup: Hydraulics, on_fracs: ShareArray, *, low: PressureEnd | None = None, high: PressureEnd | None = None
) -> Iterator[BoundCurve]:
    """Yield the limits that a range of pressures at the tip sets to its flow.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).
    low, high : PressureEnd or None
        The ends.

    Yields
    ------
    BoundCurve
        Where pressure follows speed, a lowest pressure closes the low end. On a pulse-width machine it is the other way
        round: the more flow the hoses carry, the less pressure is left at the tip. The low end is held at the tip that
        gets least, the high end at the one that gets most.
    """
    low, high = _meant(low, setup.least_ratio), _meant(high, setup.most_ratio)
    if setup.pulse is None:
        for end, side in ((low, Side.LOW), (high, Side.HIGH)):
            if end is not None:
                yield _even(end.limit, side, flow_at_tip_pressure_m3s(setup, end.pressure_pa), on_fracs)
        return
    if low is not None:
        yield BoundCurve(low.limit, Side.HIGH, pulsed_flows_above_m3s(setup, setup.pulse, low.pressure_pa, on_fracs))
    if high is not None:
        flows = pulsed_flows_above_m3s(setup, setup.pulse, high.pressure_pa, on_fracs)
        yield BoundCurve(high.limit, Side.LOW, np.maximum(flows, 0.0))


def _meant(end: PressureEnd | None, ratio: Ratio) -> PressureEnd | None:
    """The mean of all tips at which the tip that differs most from it is at the end."""
    return None if end is None else replace(end, pressure_pa=end.pressure_pa / ratio)


def _tip_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    """What the tips and their check valves are good for."""
    low, high = PressureEnd(Limit.TIP_LOW, setup.low_pa), PressureEnd(Limit.TIP_HIGH, setup.high_pa)
    yield from pressure_range_curves(setup, on_fracs, low=low, high=high)
    if setup.check_valve_pa is not None:
        opening = PressureEnd(Limit.CHECK_VALVE, setup.check_valve_pa)
        yield from pressure_range_curves(setup, on_fracs, low=opening)


def _hold_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    hold = setup.hold
    if hold is None:
        return
    if hold.cab_pressure_pa is not None:
        flows = flows_at_cab_pressure_m3s(setup, hold.cab_pressure_pa, on_fracs)
    elif hold.boom_flow_m3s is not None:
        flows = hold.boom_flow_m3s / (setup.tips * on_fracs)
    elif hold.duty_frac is not None and setup.pulse is not None:
        flows = flows_at_duty_m3s(setup, setup.pulse, hold.duty_frac, on_fracs)
    else:
        return
    yield BoundCurve(Limit.HOLD, Side.LOW, flows, acts=True)


def _meter_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    if setup.meter is None:
        return
    returned_m3s = setup.pump.return_m3s if setup.pump and setup.meter.sees_return else 0.0
    tips_on = setup.tips * on_fracs
    yield BoundCurve(Limit.METER_LOW, Side.LOW, max(setup.meter.least_m3s - returned_m3s, 0.0) / tips_on)
    yield BoundCurve(Limit.METER_HIGH, Side.HIGH, max(setup.meter.greatest_m3s - returned_m3s, 0.0) / tips_on)


def _pump_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    if setup.pump is None:
        return
    flows = setup.pump.left_for_boom_m3s / (setup.tips * on_fracs)
    if setup.pump.curve:
        flows = np.array([_pump_flow(setup, setup.pump, q, s) for q, s in zip(flows, on_fracs, strict=True)])
    yield BoundCurve(Limit.PUMP, Side.HIGH, flows, acts=True)


def _pump_flow(setup: Hydraulics, pump: PumpSupply, most_m3s: M3s, on_frac: Frac) -> M3s:
    """Flow of one tip at which a centrifugal pump's falling pressure meets the boom's rising one."""
    from scipy.optimize import brentq

    def shortfall(flow_m3s: M3s) -> Pa:
        available_pa = pump.pressure_at_pa(flow_m3s * setup.tips * on_frac, setup.density_kgpm3)
        return cab_pressure_pa(setup, flow_m3s, on_frac) - available_pa

    if most_m3s <= 0 or shortfall(most_m3s) <= 0:
        return most_m3s
    if shortfall(0.0) > 0:
        return 0.0
    return float(brentq(shortfall, 0.0, most_m3s, xtol=1e-18, rtol=1e-14))
