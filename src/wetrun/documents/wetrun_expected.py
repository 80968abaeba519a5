"""What the plan expects of a step of the ramp: the machine's own limits on water, and what its gauges show between."""

from __future__ import annotations

from typing import Final

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.proving.ramp_record import ExpectedStep
from wetrun.spray.controller import bounds
from wetrun.spray.flow_window import flow_window
from wetrun.spray.hydraulics import Hydraulics, cab_pressure_pa, tip_pressure_pa
from wetrun.spray.pulse import duty_ratio
from wetrun.spray.pulsed import open_flow_m3s
from wetrun.units import Frac, M2ps, M3s

PRESSURE_STANDARD_FRAC: Final[Frac] = 0.03
"""A set of new tips is within 1.5 % of its chart's flow, so twice that of its pressure; see the cross-check's noise."""


def expected_step(setup: Hydraulics, boom: Boom, tips_on: int, rate_times_speed_m2ps: M2ps) -> ExpectedStep | None:
    """Return what a step should show.

    Parameters
    ----------
    setup : Hydraulics
        The set on this machine with water.
    boom : Boom
        Spacing, and how many tips are on in all.
    tips_on : int
        Tips on at this step.
    rate_times_speed_m2ps : float
        Target rate times simulated speed [m2/s].

    Returns
    -------
    ExpectedStep or None
        None where the set can give no flow that all limits of the machine allow, or has no figures there.

    Notes
    -----
    The settled answer of the plan's own model: demand between floor and ceiling. On a pulse-width machine the cab
    pressure is the one that is set, and duty is what follows the speed; a gauge at a tip that pulses is not predicted.

    References
    ----------
    rate-identity, orifice-law, uga-1277-1305
    """
    on_frac = tips_on / boom.tips
    demand_m3s = rate_times_speed_m2ps * boom.spacing_m
    try:
        window = flow_window(bounds(setup, on_frac))
        if window.empty:
            return None
        flow_m3s = min(max(demand_m3s, window.floor_m3s), window.ceiling_m3s)
        acting = window.floor_by if flow_m3s > demand_m3s else window.ceiling_by
        pulsed = setup.pulse is not None
        return ExpectedStep(
            boom_flow_m3s=flow_m3s * tips_on,
            duty_frac=_duty_frac(setup, flow_m3s, on_frac),
            cab_pa=setup.pulse.set_pressure_pa if setup.pulse else cab_pressure_pa(setup, flow_m3s, on_frac),
            tip_pa=None if pulsed else tip_pressure_pa(setup, flow_m3s),
            pressure_standard_frac=PRESSURE_STANDARD_FRAC,
            limit=None if acting is None or flow_m3s == demand_m3s else acting.limit,
        )
    except (NotDefined, OutOfRange):  # outside a tip's own rows nothing is predicted, and the step says so
        return None


def _duty_frac(setup: Hydraulics, mean_m3s: M3s, on_frac: Frac) -> Frac | None:
    """The duty that gives a mean flow of one tip; None where tips do not pulse."""
    if setup.pulse is None:
        return None
    return duty_ratio(mean_m3s, open_flow_m3s(setup, setup.pulse, mean_m3s, on_frac))
