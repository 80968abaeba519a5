"""A pulsed tip behind its hoses: what it passes while open, at any duty.

The sensor holds its set pressure. The hoses carry the *mean* flow of the boom, so they lose less at low duty; strainer,
valve and solenoid of a body carry what the tip passes *while it is open*. At low duty a tip therefore sees more
pressure, and gives more than its share of duty.
"""

from __future__ import annotations

import numpy as np

from wetrun.spray.hydraulics import (
    Hydraulics,
    ShareArray,
    flow_at_tip_pressure_m3s,
    rising_root,
    tip_pressure_pa,
)
from wetrun.spray.limits import FlowArray
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3, FlowRows
from wetrun.spray.pulse import PulseSetting
from wetrun.units import Frac, M3s, Pa


def flows_at_duty_m3s(setup: Hydraulics, pulse: PulseSetting, duty_frac: Frac, on_fracs: ShareArray) -> FlowArray:
    """Return the mean flow of one tip at a duty.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    pulse : PulseSetting
        The machine's pulse-width setting.
    duty_frac : float
        Share of the cycle a tip is open [frac].
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    ndarray
        Mean flow of one tip [m3/s], shape (levels,).

    References
    ----------
    uga-1277-1305, minor-loss-quadratic
    """
    if isinstance(setup.law, FlowRows):
        roots = [rising_root(lambda q, s=share: _excess_pa(setup, pulse, (q, q / duty_frac), s)) for share in on_fracs]  # type: ignore[misc]
        return np.array(roots)
    loss, gravity, tips_on = setup.loss, setup.density_kgpm3 / REFERENCE_WATER_KGPM3, setup.tips * on_fracs
    open_pa = setup.law.pressure_pa(1.0, setup.density_kgpm3) + gravity * loss.body_paps2m6
    a = open_pa / duty_frac**2 + gravity * loss.boom_paps2m6 * tips_on**2
    half_b = gravity * loss.boom_paps2m6 * tips_on * loss.passing_m3s
    c = gravity * loss.boom_paps2m6 * loss.passing_m3s**2 - pulse.set_pressure_pa
    return np.where(c < 0.0, (np.sqrt(np.maximum(half_b**2 - a * c, 0.0)) - half_b) / a, 0.0)


def open_flow_m3s(setup: Hydraulics, pulse: PulseSetting, mean_m3s: M3s, on_frac: Frac = 1.0) -> M3s:
    """Return what a pulsed tip passes while it is open, for a mean flow.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    pulse : PulseSetting
        The machine's pulse-width setting.
    mean_m3s : float
        Mean flow of one tip [m3/s]; mean over open is the duty.
    on_frac : float
        Share of the boom that is on [frac].

    Returns
    -------
    float
        Flow while open [m3/s].

    References
    ----------
    minor-loss-quadratic
    """
    return rising_root(lambda q: _excess_pa(setup, pulse, (mean_m3s, q), on_frac))


def pulsed_flows_above_m3s(setup: Hydraulics, pulse: PulseSetting, pressure_pa: Pa, on_fracs: ShareArray) -> FlowArray:
    """Return the mean flow up to which an open tip sees at least a pressure.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    pulse : PulseSetting
        The machine's pulse-width setting.
    pressure_pa : float
        Pressure at the tip [Pa].
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    ndarray
        Mean flow of one tip [m3/s], shape (levels,); infinite where it always does, negative where it never does.

    References
    ----------
    minor-loss-quadratic
    """
    loss, gravity, tips_on = setup.loss, setup.density_kgpm3 / REFERENCE_WATER_KGPM3, setup.tips * on_fracs
    in_body_pa = gravity * loss.body_paps2m6 * flow_at_tip_pressure_m3s(setup, pressure_pa) ** 2
    room_pa = pulse.set_pressure_pa - pressure_pa - in_body_pa
    if loss.boom_paps2m6 == 0.0 or room_pa < 0.0:
        return np.full(on_fracs.shape, np.inf if room_pa >= 0.0 else -np.inf)
    carried = np.sqrt(room_pa / (gravity * loss.boom_paps2m6)) - loss.passing_m3s
    return np.asarray(carried / tips_on, dtype=np.float64)


def _excess_pa(setup: Hydraulics, pulse: PulseSetting, flows: tuple[M3s, M3s], on_frac: Frac) -> Pa:
    """Pressure a tip and its hoses would need, over the set pressure, for a mean flow and a flow while open."""
    mean_m3s, open_m3s = flows
    lost_pa = setup.loss.drop_pa(
        boom_flow_m3s=mean_m3s * setup.tips * on_frac, tip_flow_m3s=open_m3s, density_kgpm3=setup.density_kgpm3
    )
    return tip_pressure_pa(setup, open_m3s) + lost_pa - pulse.set_pressure_pa
