"""What a plan needs of the plumbed boom: its loss as two coefficients, solved once for tips of about one flow.

Friction goes with flow to the power of about 1.8, so the coefficients depend, slowly, on how much the tips take: tips
whose flows are within a few per cent share one fit.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import exp, log, sqrt
from typing import Final

from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.machine.boom_pipes import BoomPipes, plumbed_boom
from wetrun.spray.boom_loss import WORKING_PA, LossFit, fitted_loss
from wetrun.spray.carrier import Carrier, water_viscosity_pas
from wetrun.spray.definitions import ICE_POINT_K
from wetrun.spray.flow_law import FlowLaw
from wetrun.spray.line_liquid import LineLiquid, line_liquid
from wetrun.spray.losses import SensorLoss
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import K, Pa, Ratio

_STEP: Final[Ratio] = 1.06
"""Flows within a step share a fit: at most 3 % of flow off, which is half a per cent of what friction costs."""
_MIDDLE_PA: Final[Pa] = WORKING_PA[1]
_USUAL_K: Final[K] = ICE_POINT_K + 20.0


def tips_fit(pipes: BoomPipes, boom: Boom, law: FlowLaw, carrier: Carrier) -> LossFit:
    """Return the loss of the plumbed boom with a set of tips, and how uneven it leaves them.

    Parameters
    ----------
    pipes : BoomPipes
        The plumbing.
    boom : Boom
        Tips per section and spacing.
    law : FlowLaw
        The set's tip.
    carrier : Carrier
        The liquid.

    Returns
    -------
    LossFit
        Two coefficients, the uneven ends, and what the fit misses.

    Notes
    -----
    Odd positions count as the set's own tip here; `wetrun.planning.boom_along` solves the boom as it is fitted. A tip
    known by rows stands as the square-root tip that passes the same in the middle of the working pressures.

    References
    ----------
    minor-loss-quadratic, darcy-weisbach
    """
    at_pa = _MIDDLE_PA
    if not isinstance(law, OrificeLaw):
        at_pa = min(max(at_pa, law.pressures_pa[0]), law.pressures_pa[-1])
    step = round(log(law.flow_m3s(at_pa) / sqrt(at_pa)) / log(_STEP))
    return _fit(pipes, boom, step, liquid_in_line(carrier))


@lru_cache(maxsize=512)
def _fit(pipes: BoomPipes, boom: Boom, step: int, liquid: LineLiquid) -> LossFit:
    law = OrificeLaw(exp(step * log(_STEP)), "tips of about this flow")
    return fitted_loss(plumbed_boom(pipes, boom, law, {}), liquid)


def pulsed_fit(fit: LossFit, pipes: BoomPipes, boom: Boom) -> LossFit:
    """Return a fit for a machine that pulses its tips: only the bodies carry what an open tip passes.

    Parameters
    ----------
    fit : LossFit
        Of the same boom with steady tips; what a section's hose and line lose stands with its bodies there.
    pipes : BoomPipes
        The plumbing.
    boom : Boom
        Tips per section.

    Returns
    -------
    LossFit
        The same loss at full duty with all sections on; below it the hoses and lines lose by the mean flow.

    Notes
    -----
    What hose and line of a section lose then falls as other sections close, which it does not: with part of the boom on
    the tips get a little less than this says.

    References
    ----------
    minor-loss-quadratic
    """
    in_sections = (fit.loss.body_paps2m6 - pipes.body_paps2m6) / boom.tips**2
    return replace(
        fit,
        loss=SensorLoss(max(fit.loss.boom_paps2m6 + in_sections, 0.0), pipes.body_paps2m6, fit.loss.passing_m3s),
    )


def liquid_in_line(carrier: Carrier) -> LineLiquid:
    """Return a carrier as a liquid in a pipe; one whose viscosity is not known flows like water, and says so.

    Parameters
    ----------
    carrier : Carrier
        The liquid in the tank.

    Returns
    -------
    LineLiquid
        Density and viscosity.

    References
    ----------
    iapws-sr6-08, uan-viscosity

    Example
    -------
    >>> from wetrun.spray.carrier import carrier_of_density
    >>> liquid_in_line(carrier_of_density("starter", 1350.0)).note
    "the viscosity of starter is not known: in the lines it is taken as water's, which says too little loss"
    """
    try:
        return line_liquid(carrier)
    except NotDefined:
        temp_k = _USUAL_K if carrier.temp_k is None else carrier.temp_k
        taken = "in the lines it is taken as water's, which says too little loss"
        note = f"the viscosity of {carrier.name} is not known: {taken}"
        return LineLiquid(carrier.density_kgpm3, water_viscosity_pas(temp_k), note)
