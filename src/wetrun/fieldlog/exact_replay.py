"""The exact replay of one set-up over a log: the steady replay, and then what lag, delay, valves and turns make of it.

Without lag, delay and slow valves, on a straight track, it gives the steady replay's ratio and areas bit for bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np

from wetrun.fieldlog.boom_sections import Mask, stretch_seconds
from wetrun.fieldlog.dynamics import delivered_flows
from wetrun.fieldlog.exact_records import (
    ABOVE_RANGE,
    BELOW_RANGE,
    LIMITS,
    NO_LIMIT,
    NOT_KNOWN,
    CodeArray,
    ExactResult,
    ExactSetup,
)
from wetrun.fieldlog.replay import ReplayMode, SteadySetup, demands, levels_of, replay
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace, whole_cm
from wetrun.spray.droplet_bands import ClassBand
from wetrun.spray.limits import Limit
from wetrun.spray.response import Response, ShutOff
from wetrun.units import PASCAL, RATIO


def exact_replay(trace: Trace, setup: ExactSetup, mode: ReplayMode) -> ExactResult:
    """Return what the set-up would have delivered over the log, instant by instant, at the machine's centre.

    Parameters
    ----------
    trace
        The log.
    setup
        The machine with its lag and limits.
    mode
        What the operator keeps.

    Raises
    ------
    OutOfRange
        When the log has an active width the set-up says nothing about.

    Notes
    -----
    The controller sees the speed of the machine's centre and the width its sections are switched to. Boom movement,
    overshoot and dead band of the controller are left out.

    References
    ----------
    first-order-lag, grdc-13-3
    """
    steady = setup.steady
    settled = replay(trace, steady, mode)
    wanted, demand, counted = demands(trace, steady, mode)
    driven = trace if mode is ReplayMode.SAME_SPEED else _at_speed(trace, demand / wanted, counted)
    level, known = _levels(driven, demand, counted, steady)
    order = np.where(
        known, np.clip(steady.gain_ratio * demand, steady.floor_m2ps[level], steady.ceiling_m2ps[level]), np.nan
    )
    delivered = np.where(counted, _followed(driven, order, setup.supply_m2ps[level], setup.response), np.nan)
    demand = np.where(counted, demand, np.nan)
    with np.errstate(over="ignore"):  # next to standing still the floor is infinitely much
        ratio = delivered / demand
    pressure_pa = _pressures(delivered, level, setup)
    duty_frac = _duties(delivered, level, setup)
    unsettled = stretch_seconds(driven.time_s, driven.interval_s) <= setup.response.settled_after_s
    return ExactResult(
        mode=mode,
        driven=driven,
        demand_m2ps=demand,
        settled_m2ps=np.where(counted, order, np.nan),
        delivered_m2ps=delivered,
        ratio=ratio,
        code=settled.code,
        bound=_bounds(demand, level, setup, driven.speed_mps),
        pressure_pa=pressure_pa,
        droplets=_bands_at(pressure_pa, setup.bands),
        duty_frac=duty_frac,
        instant_cm2=settled.instant_cm2,
        left_out_cm2=settled.left_out_cm2,
        taken_as_settled_cm2=0 if setup.response.at_once else int(settled.instant_cm2[unsettled].sum()),
        turns=setup.turns,
        reach_ratio=_reach(duty_frac, setup),
    )


def _at_speed(trace: Trace, speed: FloatArray, counted: Mask) -> Trace:
    """Return the trace driven at other speeds: the same ground, another clock."""
    speed_mps = np.where(counted, speed, trace.speed_mps)
    with np.errstate(divide="ignore", invalid="ignore"):
        interval_s = np.where(counted, trace.interval_s * (trace.speed_mps / speed_mps), trace.interval_s)
    time_s = np.cumsum(np.where(np.isnan(interval_s), 0.0, interval_s))
    return replace(trace, time_s=time_s, interval_s=interval_s, speed_mps=speed_mps)


def _levels(trace: Trace, demand: FloatArray, counted: Mask, steady: SteadySetup) -> tuple[IntArray, Mask]:
    """Return the width level of every instant, and whether the controller has an order there: standing still, too."""
    level = np.zeros(demand.shape, dtype=np.int64)
    level[counted] = levels_of(trace.width_m[counted], steady.levels_m)
    standing = ~counted & (demand == 0.0) & np.isin(whole_cm(trace.width_m), whole_cm(steady.levels_m))
    level[standing] = levels_of(trace.width_m[standing], steady.levels_m)
    return level, counted | standing


def _followed(trace: Trace, order: FloatArray, supply: FloatArray, response: Response) -> FloatArray:
    """Return the delivered flow per metre; what the valves leave as it was at a switch is what the lag acts on."""
    if response.at_once:
        return np.minimum(order, supply)
    scale = trace.width_m if response.shut_off is ShutOff.FLOW else np.ones(order.shape)
    flow = delivered_flows(trace.time_s, trace.interval_s, order * scale, supply * scale, response=response)
    with np.errstate(divide="ignore", invalid="ignore"):
        return flow / scale


def _pressures(delivered: FloatArray, level: IntArray, setup: ExactSetup) -> FloatArray:
    pressure = np.full(delivered.shape, np.nan)
    for rows, one in _by_level(delivered, level):
        pressure[rows] = setup.curve.pressures_pa(delivered[rows] * setup.spacing_m, one)
    return pressure


def _duties(delivered: FloatArray, level: IntArray, setup: ExactSetup) -> FloatArray | None:
    if setup.pulse is None:
        return None
    duty = np.full(delivered.shape, np.nan)
    for rows, one in _by_level(delivered, level):
        duty[rows] = setup.curve.duties_frac(delivered[rows] * setup.spacing_m, one)
    return duty


def _reach(
    duty_frac: FloatArray | None, setup: ExactSetup
) -> tuple[Annotated[FloatArray, RATIO], Annotated[FloatArray, RATIO]] | None:
    """Return how far a tip's flow can go from that of the middle, down and up; nan where the duty is not known."""
    if setup.pulse is None or duty_frac is None:
        return None
    with np.errstate(divide="ignore"):
        return setup.pulse.least_frac / duty_frac, setup.pulse.greatest_frac / duty_frac


def _by_level(delivered: FloatArray, level: IntArray) -> Iterator[tuple[IntArray, int]]:
    for one in np.unique(level).tolist():
        yield np.flatnonzero((level == one) & np.isfinite(delivered)), one


def _bands_at(pressure_pa: Annotated[FloatArray, PASCAL], bands: tuple[ClassBand, ...]) -> CodeArray:
    if not bands:
        return np.full(pressure_pa.shape, NOT_KNOWN, dtype=np.int8)
    place = np.searchsorted([band.high_pa for band in bands], pressure_pa, side="left")
    code = np.where(pressure_pa < bands[0].low_pa, BELOW_RANGE, np.where(place == len(bands), ABOVE_RANGE, place))
    return np.where(np.isnan(pressure_pa), NOT_KNOWN, code).astype(np.int8)


def _bounds(demand: FloatArray, level: IntArray, setup: ExactSetup, speed: FloatArray) -> CodeArray:
    """Return the limit that binds each order, as `wetrun.spray.delivery.steady_delivery` names it."""
    steady, names = setup.steady, setup.names
    asked = steady.gain_ratio * demand
    chosen = (
        (asked > steady.ceiling_m2ps[level], _codes(names.ceiling_by)[level]),
        (asked < steady.floor_m2ps[level], _codes(names.floor_by)[level]),
        (demand > steady.held_high_m2ps[level], _codes(names.high_by)[level]),
        (demand < steady.held_low_m2ps[level], _codes(names.low_by)[level]),
        (speed > steady.speed_high_mps, LIMITS.index(Limit.LABEL_SPEED)),
        (speed < steady.speed_low_mps, LIMITS.index(Limit.SHUT_OFF)),
    )
    bound = np.select([mask for mask, _ in chosen], [code for _, code in chosen], NO_LIMIT)
    return np.where(np.isnan(demand), NO_LIMIT, bound).astype(np.int8)


def _codes(names: tuple[Limit | None, ...]) -> CodeArray:
    return np.array([NO_LIMIT if name is None else LIMITS.index(name) for name in names], dtype=np.int8)
