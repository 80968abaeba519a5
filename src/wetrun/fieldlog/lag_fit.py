"""The machine's own lag, delay and bias, from a log that carries target and applied rate, judged on unseen ground.

A controller steers flow. While the speed changes, the flow still belongs to the speed of a moment ago, and the applied
rate is off by just that. So applied over target is modelled as ``bias x lag(delay(demand)) / demand`` with demand =
target x speed, kept between the least and greatest flow the machine was seen to give: nothing but the log's own speeds
and widths goes in. What the fit calls lag is all there is between the speed and the rate of the log: controller, valve,
meter and the terminal's own averaging.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.lag_log import (
    EVERY_FLOW,
    Explained,
    FlowSpan,
    LagLog,
    explained,
    lag_log_of,
)
from wetrun.fieldlog.lag_search import searched
from wetrun.fieldlog.steady_clock import with_even_clock
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace
from wetrun.spray.response import AT_ONCE, Response, ShutOff
from wetrun.units import RATIO, Frac, Ratio

METHOD: Final = "lag by robust least squares"
METHOD_NUMBER: Final = 1
MIDDLE_SHARE: Final[Frac] = 0.95
DRAWS: Final = 1000


@dataclass(frozen=True, slots=True)
class Ends:
    """Both ends of a 95 % interval, in the unit of what it is about."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LagFit:
    """A fitted machine.

    Attributes
    ----------
    response : Response
        Lag, delay, and what stays when a section shuts: whichever explains the log better.
    span : FlowSpan
        Least and greatest flow the machine was seen to give (its minimum hold, its pump), where the log shows any.
    bias_ratio : float
        Applied over wanted once settled [ratio].
    lag_ends, delay_ends, together_ends, bias_ends : Ends
        95 % intervals of lag, delay and their sum in seconds, and of the bias, by drawing the log's minutes anew.
    """

    response: Response
    span: FlowSpan
    bias_ratio: Ratio
    lag_ends: Ends
    delay_ends: Ends
    together_ends: Ends
    bias_ends: Ends


@dataclass(frozen=True, slots=True, kw_only=True)
class LagFinding:
    """What a log says about its machine's lag.

    Attributes
    ----------
    fit : LagFit
        From the whole log.
    halves : tuple of LagFit
        From its first and from its second half alone.
    with_lag, without_lag, bias_only : tuple of Explained
        Each half explained by the fit of the *other* one: all of it, its limits and bias without the lag, and a bias
        alone.
    tolerance_frac : float
        What counts as within [frac].
    """

    fit: LagFit
    halves: tuple[LagFit, LagFit]
    with_lag: tuple[Explained, Explained]
    without_lag: tuple[Explained, Explained]
    bias_only: tuple[Explained, Explained]
    tolerance_frac: Frac
    method: str = METHOD
    method_number: int = METHOD_NUMBER

    @property
    def helps(self) -> bool:
        """Whether the lag explains both halves better than none, on ground it was not fitted to."""
        pairs = zip(self.with_lag, self.without_lag, strict=True)
        return all(one.variance_ratio > other.variance_ratio for one, other in pairs)


def lag_finding(trace: Trace, rng: np.random.Generator, *, tolerance_frac: Frac) -> LagFinding:
    """Return what a log says about its machine's lag, judged on ground the fit has not seen.

    Parameters
    ----------
    trace
        The log; a clock with a grain is evened first.
    rng
        For the drawing of minutes.
    tolerance_frac
        How near a rate counts as within [frac].

    Raises
    ------
    LogRefused
        When the log lacks a target or an applied rate with a unit.
    NotDefined
        When too little is left to compare.

    Notes
    -----
    Halves are by time, cut between two minutes. Lag and delay are told apart only by how sharply a step comes through;
    their sum is known better than either.

    References
    ----------
    first-order-lag, sharda-boom-valves, section-control-settling
    """
    log = lag_log_of(with_even_clock(trace))
    middle = int(log.block[log.block.size // 2])
    first, second = (_renumbered(log.part(chosen)) for chosen in (log.block < middle, log.block >= middle))
    fits = fitted_lag(first, rng), fitted_lag(second, rng)
    unseen = (first, fits[1]), (second, fits[0])
    return LagFinding(
        fit=fitted_lag(log, rng),
        halves=fits,
        with_lag=_judged(unseen, lambda fit: (fit.response, fit.span), tolerance_frac),
        without_lag=_judged(unseen, lambda fit: (AT_ONCE, fit.span), tolerance_frac),
        bias_only=_judged(unseen, lambda _: (AT_ONCE, EVERY_FLOW), tolerance_frac),
        tolerance_frac=tolerance_frac,
    )


Unseen = tuple[tuple[LagLog, LagFit], tuple[LagLog, LagFit]]


def _judged(
    unseen: Unseen, machine: Callable[[LagFit], tuple[Response, FlowSpan]], tolerance_frac: Frac
) -> tuple[Explained, Explained]:
    """Return how well a machine explains each part, with the bias of the other part's fit."""
    first, second = (
        explained(part, fit.bias_ratio * part.modelled_ratio(*machine(fit)), tolerance_frac) for part, fit in unseen
    )
    return first, second


def fitted_lag(log: LagLog, rng: np.random.Generator) -> LagFit:
    """Return the lag, delay and bias that explain a log best, with their doubt.

    Parameters
    ----------
    log
        The log, made ready.
    rng
        For the drawing of minutes.
    """
    best = min((searched(log, kind) for kind in ShutOff), key=lambda one: one.least)
    place, blocks = best.place, best.losses.shape[1]
    counts = rng.multinomial(blocks, np.full(blocks, 1.0 / blocks), DRAWS)
    drawn = np.argmin(counts @ best.losses.T, axis=1)
    lag_s, delay_s = best.lags_s[drawn], best.delays_s[drawn]
    response = best.response
    modelled = log.modelled_ratio(response, best.span)
    return LagFit(
        response=response,
        span=best.span,
        bias_ratio=float(best.biases[place]),
        lag_ends=_ends(lag_s),
        delay_ends=_ends(delay_s),
        together_ends=_ends(lag_s + delay_s),
        bias_ends=_ends(_drawn_biases(log, modelled, counts)),
    )


def _drawn_biases(log: LagLog, modelled_ratio: Annotated[FloatArray, RATIO], counts: IntArray) -> FloatArray:
    """Return the bias of every drawing of the log's minutes, its lag held: the median of the minutes' own."""
    ratio = log.observed_ratio / modelled_ratio
    order = np.argsort(ratio, kind="stable")
    weight, block = log.weight_m2[order], log.block[order]
    return np.array([_middle(ratio[order], weight * count[block]) for count in counts])


def _middle(rising: FloatArray, weight: FloatArray) -> float:
    reached = np.cumsum(weight)
    return float(rising[min(int(np.searchsorted(reached, reached[-1] / 2)), rising.size - 1)])


def _renumbered(log: LagLog) -> LagLog:
    return replace(log, block=log.block - log.block.min())


def _ends(values: FloatArray) -> Ends:
    low, high = np.quantile(values, [(1 - MIDDLE_SHARE) / 2, (1 + MIDDLE_SHARE) / 2])
    return Ends(float(low), float(high))
