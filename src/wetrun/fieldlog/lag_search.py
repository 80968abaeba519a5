"""The search for lag and delay: every pair in reach is tried, so that no start decides and every draw has an answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.lag_log import EVERY_FLOW, FlowSpan, LagLog, block_losses, fitted_bias
from wetrun.fieldlog.trace import FloatArray
from wetrun.spray.response import Response, ShutOff
from wetrun.units import SECOND, Frac, Ratio, S

COARSE_DELAYS_S: Final = (0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0)
COARSE_LAGS_S: Final = (*COARSE_DELAYS_S, 6.5, 8.0, 10.0, 12.0)
FINE_STEPS: Final = 6
FINEST_STEP_S: Final[S] = 0.05
FINE_SHARE: Final = 0.1
# Our own choice (no source): a limit is seen where it takes away a hundredth of what the lag leaves.
SPAN_STEPS: Final = 42
CLEARLY_SHARE: Final[Frac] = 0.01


@dataclass(frozen=True, slots=True)
class LagSearch:
    """Every pair of lag and delay tried [pairs], its bias, and its loss by block [pairs, blocks]."""

    shut_off: ShutOff
    span: FlowSpan
    lags_s: Annotated[FloatArray, SECOND]
    delays_s: Annotated[FloatArray, SECOND]
    biases: FloatArray
    losses: FloatArray

    @property
    def place(self) -> int:
        """The pair that explains most."""
        return int(np.argmin(self.losses.sum(axis=1)))

    @property
    def least(self) -> float:
        """Its loss."""
        return float(self.losses[self.place].sum())

    @property
    def response(self) -> Response:
        """Its machine."""
        lag_s, delay_s = float(self.lags_s[self.place]), float(self.delays_s[self.place])
        return Response(lag_s=lag_s, delay_s=delay_s, shut_off=self.shut_off)


def searched(log: LagLog, shut_off: ShutOff) -> LagSearch:
    """Return every pair tried: over the whole range of published settling times, then closely around the best.

    Parameters
    ----------
    log
        The log, made ready.
    shut_off
        What stays when a section shuts.

    Notes
    -----
    In between, least and greatest flow are looked for at the best pair, and taken where they explain clearly more.

    References
    ----------
    section-control-settling, sharda-boom-valves
    """
    whole = [(lag, delay) for lag in COARSE_LAGS_S for delay in COARSE_DELAYS_S]
    first = _tried(log, shut_off, EVERY_FLOW, whole)
    span = _span_seen(log, first)
    coarse = first if span == EVERY_FLOW else _tried(log, shut_off, span, whole)
    lags, delays = _around(coarse.response.lag_s), _around(coarse.response.delay_s)
    fine = _tried(log, shut_off, span, [(lag, delay) for lag in lags for delay in delays])
    both = (coarse, fine)
    return LagSearch(
        shut_off,
        span,
        np.concatenate([one.lags_s for one in both]),
        np.concatenate([one.delays_s for one in both]),
        np.concatenate([one.biases for one in both]),
        np.concatenate([one.losses for one in both]),
    )


def _span_seen(log: LagLog, search: LagSearch) -> FlowSpan:
    """Return the least and greatest flow the machine was seen to give, where limits there explain clearly more."""
    demand = log.demand_m2ps[log.counted]
    low, middle, high = np.quantile(demand, [0.0, 0.5, 1.0])
    steps = np.linspace(0.0, 1.0, SPAN_STEPS)[1:-1]
    floors = (FlowSpan(floor_m2ps=float(low + (middle - low) * step)) for step in steps)
    floor = _better(log, search, EVERY_FLOW, floors)
    ceilings = (replace(floor, ceiling_m2ps=float(middle + (high - middle) * step)) for step in steps)
    return _better(log, search, floor, ceilings)


def _better(log: LagLog, search: LagSearch, plain: FlowSpan, spans: Iterable[FlowSpan]) -> FlowSpan:
    """Return the span that explains most, or the plain one where none explains clearly more."""
    every, response = [*spans, plain], search.response
    lags, delays = np.full(len(every), response.lag_s), np.full(len(every), response.delay_s)
    modelled = log.modelled_ratios(response.shut_off, every, lags_s=lags, delays_s=delays)
    losses = [float(_losses(log, ratio)[1].sum()) for ratio in modelled]
    best = int(np.argmin(losses[:-1]))
    return every[best] if losses[best] < (1.0 - CLEARLY_SHARE) * losses[-1] else plain


def _around(value_s: S) -> list[S]:
    step_s = max(FINEST_STEP_S, round(FINE_SHARE * value_s, 2))
    return [value_s + step_s * n for n in range(-FINE_STEPS, FINE_STEPS + 1) if value_s + step_s * n >= 0.0]


def _tried(log: LagLog, shut_off: ShutOff, span: FlowSpan, pairs: list[tuple[S, S]]) -> LagSearch:
    lags, delays = (np.array(column) for column in zip(*pairs, strict=True))
    modelled = log.modelled_ratios(shut_off, [span], lags_s=lags, delays_s=delays)
    biases, losses = zip(*(_losses(log, ratio) for ratio in modelled), strict=True)
    return LagSearch(shut_off, span, lags, delays, np.array(biases), np.array(losses))


def _losses(log: LagLog, modelled_ratio: FloatArray) -> tuple[Ratio, FloatArray]:
    """Bias of a machine, and its loss by block."""
    bias = fitted_bias(log, modelled_ratio)
    return bias, block_losses(log, log.observed_ratio - bias * modelled_ratio)
