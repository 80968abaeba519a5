"""One tip set on one machine with one liquid: pressures and flows between tip and cab sensor.

Holds, alarms and maximum pressures are typed at the cab sensor; here they are converted to the tip, through the losses
between, and back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from wetrun.spray.limits import FlowArray
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3, FlowLaw, FlowRows
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.supply import Hold, MeterRange, PumpSupply
from wetrun.units import FRACTION, Frac, Kgpm3, M3s, Pa, Ratio

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
    least_ratio, most_ratio : float
        Pressure of the tip that gets least, and of the one that gets most, over the mean of all tips [ratio]; 1 where
        the boom's plumbing is not known.
    gain_ratio : float
        Delivered over demanded flow between floor and ceiling [ratio]; see `wetrun.spray.feedback.gain_ratio`.
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
    least_ratio: Ratio = 1.0
    most_ratio: Ratio = 1.0
    gain_ratio: Ratio = 1.0


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
    law = setup.law
    if not isinstance(law, FlowRows):
        return law.flow_m3s(pressure_pa, setup.density_kgpm3)
    edge_pa = min(max(pressure_pa, law.pressures_pa[0]), law.pressures_pa[-1])
    return law.flow_m3s(edge_pa, setup.density_kgpm3) * sqrt(pressure_pa / edge_pa)


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
        roots = [rising_root(lambda q, s=share: cab_pressure_pa(setup, q, s) - pressure_pa) for share in on_fracs]  # type: ignore[misc]
        return np.array(roots)
    unit_pa = setup.law.pressure_pa(1.0, setup.density_kgpm3)
    loss, gravity, tips_on = setup.loss, setup.density_kgpm3 / REFERENCE_WATER_KGPM3, setup.tips * on_fracs
    # a q2 + b q + c = 0: the tip and the bodies, the hoses with what passes through them, less the pressure shown.
    a = unit_pa + gravity * (loss.body_paps2m6 + loss.boom_paps2m6 * tips_on**2)
    half_b = gravity * loss.boom_paps2m6 * tips_on * loss.passing_m3s
    c = gravity * loss.boom_paps2m6 * loss.passing_m3s**2 - pressure_pa
    # Where what passes alone takes more than the pressure shown, nothing reaches the tips.
    return np.where(c < 0.0, (np.sqrt(np.maximum(half_b**2 - a * c, 0.0)) - half_b) / a, 0.0)


def rising_root(excess: Callable[[M3s], float]) -> M3s:
    """Return the flow at which a rising function of flow crosses zero.

    Parameters
    ----------
    excess : callable
        Of a flow; rising.

    Returns
    -------
    float
        Flow [m3/s]; 0 if the function starts above zero, infinite if it stays below up to 1 m3/s a tip.
    """
    from scipy.optimize import brentq  # half a second of import that no square-root tip needs

    low, high = 0.0, 1e-6
    if excess(0.0) >= 0:
        return 0.0
    while excess(high) < 0:
        low, high = high, 2.0 * high
        if high > 1.0:
            return float("inf")
    return float(brentq(excess, low, high, xtol=1e-18, rtol=1e-14))
