"""The exact replay of a proposed set over a log, and what the log says really came out, side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wetrun.fieldlog.logged import FlowComparison, InstantFilter, LoggedShare, flow_comparison, logged_share
from wetrun.fieldlog.replay import ReplayMode, ReplayResult, SteadySetup, replay, width_levels
from wetrun.fieldlog.trace import Trace
from wetrun.planning.window import Trial, limit_curves
from wetrun.spray.flow_window import flow_edges
from wetrun.units import M3pm2, Mps


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplayedPass:
    """One set on one pass, driven over one log instant by instant.

    Attributes
    ----------
    trial : Trial
        The set and the pass.
    rate_m3pm2 : float or None
        Rate replayed [m3/m2]; None for the log's own target.
    results : tuple of ReplayResult
        At the same speed and, where the log carries rates, at the same boom flow.
    logged : LoggedShare or None
        Share of area whose applied rate was within the tolerance of the logged target; None without those columns.
    flows : FlowComparison or None
        Boom flow demanded and logged, on the same instants.
    """

    trial: Trial
    rate_m3pm2: M3pm2 | None
    results: tuple[ReplayResult, ...]
    logged: LoggedShare | None
    flows: FlowComparison | None


def steady_setup(trial: Trial, trace: Trace, rate_m3pm2: M3pm2 | None, off_below_mps: Mps) -> SteadySetup:
    """Return what a set can deliver at every active width of a log, per metre of boom.

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

    Returns
    -------
    SteadySetup
        For `wetrun.fieldlog.replay`.
    """
    levels_m = width_levels(trace)
    on_fracs = levels_m / trace.full_width_m
    wanted = trial.planned.rate_m3pm2 if rate_m3pm2 is None else rate_m3pm2
    tolerance, gain = trial.tolerance(wanted), trial.setup.gain_ratio
    edges = flow_edges(limit_curves(trial, on_fracs), on_fracs.size, tolerance, gain)
    spacing_m = trial.tip_set.spacing_m
    return SteadySetup(
        levels_m=levels_m,
        floor_m2ps=edges.floor_m3s / spacing_m,
        ceiling_m2ps=edges.ceiling_m3s / spacing_m,
        held_low_m2ps=edges.low_m3s / spacing_m,
        held_high_m2ps=edges.high_m3s / spacing_m,
        rate_m3pm2=rate_m3pm2,
        label_ratio=trial.limits.label_ratio,
        gain_ratio=gain,
        speed_low_mps=off_below_mps,
        speed_high_mps=trial.limits.speed_high_mps or float("inf"),
    )


def replayed_pass(trial: Trial, trace: Trace, rate_m3pm2: M3pm2 | None, off_below_mps: Mps) -> ReplayedPass:
    """Return one set on one pass, driven over one log.

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

    Returns
    -------
    ReplayedPass
        Steady state: no lag, no valve delay. What really came out carries both.
    """
    setup = steady_setup(trial, trace, rate_m3pm2, off_below_mps)
    usual = usual_instants(trace) if _carries_rates(trace) else None
    modes = tuple(ReplayMode) if usual else (ReplayMode.SAME_SPEED,)
    return ReplayedPass(
        trial=trial,
        rate_m3pm2=rate_m3pm2,
        results=tuple(replay(trace, setup, mode) for mode in modes),
        logged=logged_share(trace, trial.planned.tolerance_frac, usual) if usual else None,
        flows=flow_comparison(trace, usual) if usual else None,
    )


def usual_instants(trace: Trace) -> InstantFilter:
    """Return the instants on which logged and demanded rate can fairly be compared.

    Parameters
    ----------
    trace : Trace
        The log.

    Returns
    -------
    InstantFilter
        All sections on; interval between half and two and a half times the usual one, so that neither a section
        switching nor a lost record is read as a rate.
    """
    usual_s = float(np.nanmedian(trace.interval_s))
    # To the millisecond: the bounds are shown to the reader and must mean what they say.
    return InstantFilter(full_width=True, over_s=round(usual_s / 2.0, 3), under_s=round(usual_s * 2.5, 3))


def _carries_rates(trace: Trace) -> bool:
    return bool(np.isfinite(trace.target_m3pm2).any() and np.isfinite(trace.applied_m3pm2).any())
