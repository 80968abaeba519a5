"""A log set beside what its own machine would have put down with a lag: the ground the fit of the lag stands on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import NotDefined
from wetrun.fieldlog.boom_sections import stretch_seconds
from wetrun.fieldlog.dynamics import carried_forward, delivered_by_many, delivered_flows
from wetrun.fieldlog.logged import check_rates
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace, usable
from wetrun.spray.response import Response, ShutOff
from wetrun.units import METRE, RATIO, SECOND, SQUARE_METRE, SQUARE_METRE_PER_SECOND, Frac, M2ps, Ratio, S

# Our own choices (no source).
START_LEFT_OUT_S: Final[S] = 5.0
BLOCK_S: Final[S] = 60.0
LEAST_INSTANTS: Final = 300
MOST_INSTANTS: Final = 200_000
WINDOW_INSTANTS: Final = 4_000
ROBUST_RATIO: Final[Ratio] = 0.1
AT_ONCE: Final = 4_000_000
"""Flows held at once while machines are tried: some 32 MB."""


@dataclass(frozen=True, slots=True)
class FlowSpan:
    """Least and greatest flow per metre of active boom a machine was seen to give [m2/s]."""

    floor_m2ps: M2ps = 0.0
    ceiling_m2ps: M2ps = float("inf")


EVERY_FLOW: Final = FlowSpan()


@dataclass(frozen=True, slots=True)
class LagLog:
    """A log made ready for the fit; arrays are [instants], those after ``counted`` only [counted].

    ``demand_m2ps`` is target times speed, ``observed_ratio`` applied over target, ``weight_m2`` the area of the
    instant and ``block`` the minute of the log it belongs to, counted from 0.
    """

    time_s: Annotated[FloatArray, SECOND]
    interval_s: Annotated[FloatArray, SECOND]
    demand_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND]
    width_m: Annotated[FloatArray, METRE]
    counted: npt.NDArray[np.bool_]
    observed_ratio: Annotated[FloatArray, RATIO]
    weight_m2: Annotated[FloatArray, SQUARE_METRE]
    block: IntArray

    def modelled_ratio(self, response: Response, span: FlowSpan = EVERY_FLOW) -> Annotated[FloatArray, RATIO]:
        """Return delivered over wanted of a machine with a response, within a span of flows [counted] [ratio]."""
        scale = self.width_m if response.shut_off is ShutOff.FLOW else np.ones(self.width_m.shape)
        order = np.clip(self.demand_m2ps, span.floor_m2ps, span.ceiling_m2ps) * scale
        most = np.full(order.shape, np.inf)
        flow = delivered_flows(self.time_s, self.interval_s, order, most, response=response, often=True)
        modelled: FloatArray = flow[self.counted] / (self.demand_m2ps * scale)[self.counted]
        return modelled

    def modelled_ratios(
        self,
        shut_off: ShutOff,
        spans: Sequence[FlowSpan],
        *,
        lags_s: Annotated[FloatArray, SECOND],
        delays_s: Annotated[FloatArray, SECOND],
    ) -> Iterator[Annotated[FloatArray, RATIO]]:
        """Yield what `modelled_ratio` says of each machine: [counted] [ratio], in their order.

        Parameters
        ----------
        shut_off
            What stays when a section shuts.
        spans
            One for all machines, or one for each.
        lags_s, delays_s
            Of each machine [machines] [s].
        """
        scale = self.width_m if shut_off is ShutOff.FLOW else np.ones(self.width_m.shape)
        wanted = (self.demand_m2ps * scale)[self.counted]
        at_once = max(1, AT_ONCE // max(1, scale.size))
        for first in range(0, lags_s.size, at_once):
            these = slice(first, first + at_once)
            orders = [
                np.clip(self.demand_m2ps, span.floor_m2ps, span.ceiling_m2ps) * scale
                for span in (spans if len(spans) == 1 else spans[these])
            ]
            flows = delivered_by_many(
                self.time_s, self.interval_s, np.array(orders), lags_s=lags_s[these], delays_s=delays_s[these]
            )
            for flow in flows:
                yield flow[self.counted] / wanted

    def part(self, chosen: npt.NDArray[np.bool_]) -> LagLog:
        """Return the log with some of the counted instants only [counted]; the machine still drives all of it."""
        counted = self.counted.copy()
        counted[counted] = chosen
        return LagLog(
            self.time_s,
            self.interval_s,
            self.demand_m2ps,
            self.width_m,
            counted,
            self.observed_ratio[chosen],
            self.weight_m2[chosen],
            self.block[chosen],
        )


def lag_log_of(trace: Trace) -> LagLog:
    """Return a log made ready for the fit of its machine's lag.

    Parameters
    ----------
    trace
        The log, its clock already even (`wetrun.fieldlog.steady_clock`).

    Raises
    ------
    LogRefused
        When the log lacks a target or an applied rate with a unit.
    NotDefined
        When too little is left to compare.

    Notes
    -----
    The first 5 s after a cut are left out, as nobody knows what the machine did before. Of a log of over 200 000
    instants, windows of 4 000 spread over all of it are taken.
    """
    check_rates(trace)
    rows = _rows(trace)
    interval_s = trace.interval_s[rows].copy()
    interval_s[np.diff(rows, prepend=-2) != 1] = np.nan
    time_s, target = trace.time_s[rows], trace.target_m3pm2[rows]
    since_s = stretch_seconds(time_s, interval_s)
    counted = usable(trace)[rows] & np.isfinite(target) & np.isfinite(trace.applied_m3pm2[rows])
    counted &= np.isfinite(interval_s) & (since_s > START_LEFT_OUT_S) & (trace.speed_mps[rows] > 0)
    if counted.sum() < LEAST_INSTANTS:
        raise NotDefined(
            "the machine's lag",
            reason=f"the log has {int(counted.sum())} instants with target, applied rate and speed, over "
            f"{START_LEFT_OUT_S:g} s after a cut; {LEAST_INSTANTS} are needed",
            remedy="Take a longer log, or type lag and delay.",
        )
    observed = trace.applied_m3pm2[rows][counted] / target[counted]
    minutes = _minutes(interval_s, since_s)[counted]
    block = np.searchsorted(np.unique(minutes), minutes).astype(np.int64)
    demand = carried_forward(target, interval_s) * trace.speed_mps[rows]
    return LagLog(
        time_s, interval_s, demand, trace.width_m[rows], counted, observed, trace.area_m2[rows][counted], block
    )


def fitted_bias(log: LagLog, modelled_ratio: Annotated[FloatArray, RATIO]) -> Ratio:
    """Return the factor from modelled to logged ratios [counted] [ratio]: half the area has more, half less."""
    return weighted_median(log.observed_ratio / modelled_ratio, log.weight_m2)


def weighted_median(values: FloatArray, weight_m2: Annotated[FloatArray, SQUARE_METRE]) -> float:
    """Return the value that half the weight [m2] lies below.

    Example
    -------
    >>> weighted_median(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 5.0]))
    2.0
    """
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weight_m2[order])
    return float(values[order][min(int(np.searchsorted(reached, reached[-1] / 2)), values.size - 1)])


def block_losses(log: LagLog, error: FloatArray) -> FloatArray:
    """Return the loss of every block of an error [counted].

    The square of the error, but beyond a tenth no more than a tenth's: a terminal that holds its rate for seconds while
    a target jumps, or a tank that runs empty, says nothing about the lag.
    """
    loss = np.minimum(error**2, ROBUST_RATIO**2)
    return np.asarray(np.bincount(log.block, weights=log.weight_m2 * loss), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Explained:
    """How well modelled rates explain the logged ones, by area.

    Attributes
    ----------
    variance_ratio : float
        Share of the variance of applied over target that the model takes away [ratio]; below 0 it adds some.
    median_ratio : float
        Half the area is nearer to the model than this [ratio].
    within_frac : float
        Share of area within the tolerance of the model [frac].
    instants : int
        How many were compared.
    """

    variance_ratio: Ratio
    median_ratio: Ratio
    within_frac: Frac
    instants: int


def explained(log: LagLog, predicted_ratio: Annotated[FloatArray, RATIO], tolerance_frac: Frac) -> Explained:
    """Return how well predicted ratios explain the logged ones.

    Parameters
    ----------
    log
        The log.
    predicted_ratio
        Applied over target as predicted, bias and all [counted] [ratio].
    tolerance_frac
        How near counts as within [frac].
    """
    error, weight = log.observed_ratio - predicted_ratio, log.weight_m2
    mean = np.average(log.observed_ratio, weights=weight)
    spread = np.average((log.observed_ratio - mean) ** 2, weights=weight)
    return Explained(
        variance_ratio=1.0 - float(np.average(error**2, weights=weight)) / float(spread) if spread > 0 else 0.0,
        median_ratio=weighted_median(np.abs(error), weight),
        within_frac=float(np.average(np.abs(error) <= tolerance_frac, weights=weight)),
        instants=int(error.size),
    )


def _rows(trace: Trace) -> IntArray:
    """Return all instants, or windows spread over a log that has too many."""
    size = trace.time_s.size
    if size <= MOST_INSTANTS:
        return np.arange(size)
    starts = np.linspace(0, size - WINDOW_INSTANTS, MOST_INSTANTS // WINDOW_INSTANTS).astype(np.int64)
    return np.unique((starts[:, np.newaxis] + np.arange(WINDOW_INSTANTS)).ravel())


def _minutes(interval_s: FloatArray, since_s: FloatArray) -> IntArray:
    """Return a number for every minute of every stretch, rising along the log."""
    minute = np.floor(since_s / BLOCK_S).astype(np.int64)
    fresh = np.isnan(interval_s) | (np.diff(minute, prepend=-1) != 0)
    return np.cumsum(fresh)
