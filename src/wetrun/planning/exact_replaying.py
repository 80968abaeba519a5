"""A tip set on its machine, made ready for the exact replay: limits by name, pressures, droplet bands, lag."""

from __future__ import annotations

from typing import Annotated, Final

import numpy as np

from wetrun.errors import NotDefined
from wetrun.fieldlog.exact_records import ExactSetup, LimitNames
from wetrun.fieldlog.trace import FloatArray, Trace
from wetrun.planning.replaying import steady_setup
from wetrun.planning.window import Trial, limit_curves
from wetrun.spray.controller import ShareArray
from wetrun.spray.droplet_bands import ClassBand, class_bands
from wetrun.spray.flow_window import flow_window, no_further_off
from wetrun.spray.limits import BoundCurve, Limit, Side
from wetrun.spray.pressure_curve import pressure_curve
from wetrun.spray.response import Response
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import SQUARE_METRE_PER_SECOND, M3pm2, Mps

SUPPLY: Final = frozenset({Limit.PUMP, Limit.RELIEF, Limit.DUTY_HIGH})
"""What the machine has at all; the other limits are its controller's doing, and follow with its lag."""


def exact_setup(
    trial: Trial,
    trace: Trace,
    rate_m3pm2: M3pm2 | None,
    *,
    off_below_mps: Mps,
    response: Response,
    turns: TurnCompensation = TurnCompensation.NONE,
) -> ExactSetup:
    """Return a tip set made ready for the exact replay over one log.

    Parameters
    ----------
    trial : Trial
        The set and the pass.
    trace : Trace
        The log.
    rate_m3pm2 : float or None
        Rate to replay [m3/m2]; None for the log's own target.
    off_below_mps : float
        Speed below which the machine shuts off [m/s]; 0 if it does not.
    response : Response
        Lag, delay and valves.
    turns : TurnCompensation
        What sets flow anew in a turn.

    Returns
    -------
    ExactSetup
        For `wetrun.fieldlog.exact_replay`. Pressure and droplets are those of the set's own tip, not of odd ones.
    """
    steady = steady_setup(trial, trace, rate_m3pm2, off_below_mps)
    on_fracs = steady.levels_m / trace.full_width_m
    curves = limit_curves(trial, on_fracs)
    return ExactSetup(
        steady=steady,
        supply_m2ps=_supply_m2ps(curves, trial, on_fracs),
        response=response,
        names=_names(curves, on_fracs.size, trial),
        spacing_m=trial.tip_set.spacing_m,
        curve=pressure_curve(trial.setup, on_fracs),
        bands=_bands(trial),
        pulse=trial.setup.pulse,
        turns=turns,
    )


def _supply_m2ps(
    curves: tuple[BoundCurve, ...], trial: Trial, on_fracs: ShareArray
) -> Annotated[FloatArray, SQUARE_METRE_PER_SECOND]:
    flows = [curve.flows_m3s for curve in curves if curve.acts and curve.limit in SUPPLY and curve.side is Side.HIGH]
    most: FloatArray = np.min([np.full(on_fracs.shape, np.inf), *flows], axis=0)
    return most / trial.tip_set.spacing_m


def _names(curves: tuple[BoundCurve, ...], levels: int, trial: Trial) -> LimitNames:
    gain = trial.setup.gain_ratio
    windows = [
        flow_window([curve.at(level) for curve in curves], no_further_off(gain), gain) for level in range(levels)
    ]
    columns = [
        tuple(None if bound is None else bound.limit for bound in bounds)
        for bounds in zip(*((one.floor_by, one.ceiling_by, one.low_by, one.high_by) for one in windows), strict=True)
    ]
    return LimitNames(floor_by=columns[0], ceiling_by=columns[1], low_by=columns[2], high_by=columns[3])


def _bands(trial: Trial) -> tuple[ClassBand, ...]:
    pattern = trial.tip_set.tip.pattern
    try:
        return () if pattern is None else class_bands(pattern)
    except NotDefined:  # a streamer has no droplet class
        return ()
