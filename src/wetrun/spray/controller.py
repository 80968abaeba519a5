"""What a rate controller can deliver with one tip set: every limit of the machine as a flow of one tip.

Holds, alarms and maximum pressures are typed at the cab sensor; they are converted to the tip here, through the losses
between. Hold by flow, meter range and pump tighten as sections close or open, so each limit is a curve over the share
of the boom that is on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from wetrun.spray.limits import Bound, BoundCurve, FlowArray, Limit, Side
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3, FlowLaw, FlowRows
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.supply import Hold, MeterRange, PumpSupply
from wetrun.units import FRACTION, Frac, Kgpm3, M3s, Pa

ShareArray = Annotated[NDArray[np.float64], FRACTION]


class Loop(StrEnum):
    """What the controller steers by. Wear, density and the binding limit all follow from it."""

    METER = "flow-meter feedback"
    PRESSURE = "pressure feedback"
    PULSE = "pulse width"
    FIXED = "no feedback"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydraulics:
    """One tip set on one machine with one liquid: all the controller's world.

    Attributes
    ----------
    loop : Loop
        What the controller steers by.
    law : FlowLaw
        Flow of the base tip.
    low_pa, high_pa : float
        Pressure range of the tip set, at the tip [Pa].
    tips : float
        Tips on the boom with every section on, counted as base tips by their flow.
    density_kgpm3 : float
        Density of the liquid [kg/m3].
    check_valve_pa, cab_high_pa, relief_pa : float or None
        Opening pressure of the check valve, the controller's maximum and the relief valve [Pa].
    """

    loop: Loop
    law: FlowLaw
    low_pa: Pa
    high_pa: Pa
    tips: float
    density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    loss: SensorLoss = SensorLoss()
    hold: Hold | None = None
    meter: MeterRange | None = None
    pump: PumpSupply | None = None
    pulse: PulseSetting | None = None
    check_valve_pa: Pa | None = None
    cab_high_pa: Pa | None = None
    relief_pa: Pa | None = None


def tip_pressure_pa(setup: Hydraulics, flow_m3s: M3s) -> Pa:
    """Return the pressure at the tip for a flow, also a little outside a streamer's own rows.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    flow_m3s : float
        Flow of one tip while it sprays [m3/s].

    Returns
    -------
    float
        Pressure at the tip [Pa].

    Notes
    -----
    Beyond the first and last row of a tip known only by rows the square-root law continues from that row, because a
    hold or relief set out there still acts. No window is ever judged there.

    References
    ----------
    orifice-law
    """
    law, density = setup.law, setup.density_kgpm3
    if not isinstance(law, FlowRows):
        return law.pressure_pa(flow_m3s, density)
    first, last = law.flow_m3s(law.pressures_pa[0], density), law.flow_m3s(law.pressures_pa[-1], density)
    if flow_m3s <= first:
        return law.pressures_pa[0] * (flow_m3s / first) ** 2
    if flow_m3s >= last:
        return law.pressures_pa[-1] * (flow_m3s / last) ** 2
    return law.pressure_pa(flow_m3s, density)


def cab_pressure_pa(setup: Hydraulics, flow_m3s: M3s, on_frac: Frac = 1.0) -> Pa:
    """Return the pressure the cab sensor shows while each tip that is on sprays a flow.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    flow_m3s : float
        Flow of one tip [m3/s].
    on_frac : float
        Share of the boom that is on [frac].

    Returns
    -------
    float
        Pressure at the cab sensor [Pa].

    References
    ----------
    minor-loss-quadratic
    """
    drop_pa = setup.loss.drop_pa(
        boom_flow_m3s=flow_m3s * setup.tips * on_frac, tip_flow_m3s=flow_m3s, density_kgpm3=setup.density_kgpm3
    )
    return tip_pressure_pa(setup, flow_m3s) + drop_pa


def flow_at_tip_pressure_m3s(setup: Hydraulics, pressure_pa: Pa) -> M3s:
    """Return the flow of one tip at a pressure at the tip.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    pressure_pa : float
        Pressure at the tip [Pa].

    Returns
    -------
    float
        Flow of one tip [m3/s]; beyond a streamer's rows as in `tip_pressure_pa`.

    References
    ----------
    orifice-law
    """
    if isinstance(setup.law, FlowRows):
        return _rising_root(lambda flow_m3s: tip_pressure_pa(setup, flow_m3s) - pressure_pa)
    return setup.law.flow_m3s(pressure_pa, setup.density_kgpm3)


def flows_at_cab_pressure_m3s(setup: Hydraulics, pressure_pa: Pa, on_fracs: ShareArray) -> FlowArray:
    """Return the flow of one tip when the cab sensor shows a pressure.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    pressure_pa : float
        Pressure at the cab sensor [Pa].
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    ndarray
        Flow of one tip [m3/s], shape (levels,).

    Notes
    -----
    With losses the tip always sees less than the cab. For a square-root tip the answer is the root of a quadratic; for
    a tip known by rows it is solved.

    References
    ----------
    minor-loss-quadratic
    """
    if isinstance(setup.law, FlowRows):
        roots = [_rising_root(lambda q, s=share: cab_pressure_pa(setup, q, s) - pressure_pa) for share in on_fracs]  # type: ignore[misc]
        return np.array(roots)
    unit_pa = setup.law.pressure_pa(1.0, setup.density_kgpm3)
    loss, gravity, tips_on = setup.loss, setup.density_kgpm3 / REFERENCE_WATER_KGPM3, setup.tips * on_fracs
    # a q2 + b q + c = 0: the tip and the bodies, the hoses with what passes through them, less the pressure shown.
    a = unit_pa + gravity * (loss.body_paps2m6 + loss.boom_paps2m6 * tips_on**2)
    half_b = gravity * loss.boom_paps2m6 * tips_on * loss.passing_m3s
    c = gravity * loss.boom_paps2m6 * loss.passing_m3s**2 - pressure_pa
    # Where what passes alone takes more than the pressure shown, nothing reaches the tips.
    return np.where(c < 0.0, (np.sqrt(np.maximum(half_b**2 - a * c, 0.0)) - half_b) / a, 0.0)


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


def _rising_root(excess: Callable[[M3s], float]) -> M3s:
    """Flow at which a rising function of flow crosses zero; infinite if it does not below 1 m3/s a tip."""
    from scipy.optimize import brentq  # half a second of import that no square-root tip needs

    low, high = 0.0, 1e-6
    if excess(0.0) >= 0:
        return 0.0
    while excess(high) < 0:
        low, high = high, 2.0 * high
        if high > 1.0:
            return float("inf")
    return float(brentq(excess, low, high, xtol=1e-18, rtol=1e-14))


def _even(limit: Limit, side: Side, flow_m3s: M3s, on_fracs: ShareArray) -> BoundCurve:
    return BoundCurve(limit, side, np.full(on_fracs.shape, flow_m3s))


def _pressure_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    yield _even(Limit.TIP_LOW, Side.LOW, flow_at_tip_pressure_m3s(setup, setup.low_pa), on_fracs)
    yield _even(Limit.TIP_HIGH, Side.HIGH, flow_at_tip_pressure_m3s(setup, setup.high_pa), on_fracs)
    if setup.check_valve_pa is not None:
        opening_m3s = flow_at_tip_pressure_m3s(setup, setup.check_valve_pa)
        yield _even(Limit.CHECK_VALVE, Side.LOW, opening_m3s, on_fracs)
    for limit, pressure_pa in ((Limit.CAB_HIGH, setup.cab_high_pa), (Limit.RELIEF, setup.relief_pa)):
        if pressure_pa is not None:
            yield BoundCurve(limit, Side.HIGH, flows_at_cab_pressure_m3s(setup, pressure_pa, on_fracs), acts=True)


def _pulse_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    pulse = setup.pulse
    if pulse is None:
        return
    # The loss is taken at full duty, its largest: at lower duty the tip sees a little more, never less.
    full = flows_at_cab_pressure_m3s(setup, pulse.set_pressure_pa, on_fracs)
    yield BoundCurve(Limit.DUTY_LOW, Side.LOW, pulse.least_frac * full, acts=True)
    yield BoundCurve(Limit.DUTY_HIGH, Side.HIGH, pulse.greatest_frac * full, acts=True)
    held_pa = np.array([tip_pressure_pa(setup, flow_m3s) for flow_m3s in full])
    # Pressure does not move with speed: outside the tip's range no speed is held at all.
    yield BoundCurve(Limit.TIP_LOW, Side.LOW, np.where(held_pa < setup.low_pa, np.inf, 0.0))
    yield BoundCurve(Limit.TIP_HIGH, Side.HIGH, np.where(held_pa > setup.high_pa, 0.0, np.inf))
    if setup.check_valve_pa is not None:
        yield BoundCurve(Limit.CHECK_VALVE, Side.LOW, np.where(held_pa < setup.check_valve_pa, np.inf, 0.0))


def _hold_curves(setup: Hydraulics, on_fracs: ShareArray) -> Iterator[BoundCurve]:
    hold = setup.hold
    if hold is None:
        return
    if hold.cab_pressure_pa is not None:
        flows = flows_at_cab_pressure_m3s(setup, hold.cab_pressure_pa, on_fracs)
    elif hold.boom_flow_m3s is not None:
        flows = hold.boom_flow_m3s / (setup.tips * on_fracs)
    elif hold.duty_frac is not None and setup.pulse is not None:
        flows = hold.duty_frac * flows_at_cab_pressure_m3s(setup, setup.pulse.set_pressure_pa, on_fracs)
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
