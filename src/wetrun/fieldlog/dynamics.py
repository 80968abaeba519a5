"""What a lagging machine delivers over a log: exact over every interval, however uneven the clock.

The order is constant over the interval of an instant, as its speed is (distance over interval). It reaches the machine
a pure delay later, so one interval of delivery may see several orders; over each of these pieces the first-order lag
has a closed form. Delivered is the *mean* over the interval: mean flow times interval is the volume put on its ground.

In this order: the order is kept between floor and ceiling of the width that was on when it was given; it waits for the
delay; the flow lags; and at no moment flows more than the supply (pump, relief, full duty) has for the width on then.
What the supply caps does not build up: the flow goes on from the cap.

A cut of the log ends a stretch. Each stretch starts with a machine that has settled at its first order. An instant
without an order (no speed, no target, standing off) repeats the one before it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.spray.response import Response
from wetrun.units import SECOND, SQUARE_METRE_PER_SECOND

FEW_INSTANTS: Final = 100_000
"""Up to here plain Python is done before the compiler has started."""

Columns = tuple[Sequence[float], Sequence[float], Sequence[float], FloatArray]
Pieces = Callable[[float, float, float, tuple[float, float]], tuple[float, float]]


def delivered_flows(
    time_s: Annotated[FloatArray, SECOND],
    interval_s: Annotated[FloatArray, SECOND],
    order_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    supply_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    *,
    response: Response,
    often: bool = False,
) -> Annotated[FloatArray, SQUARE_METRE_PER_SECOND]:
    """Return the mean flow over the interval of every instant.

    Parameters
    ----------
    time_s, interval_s
        Clock, and time since the instant before [instants] [s]; nan at a cut.
    order_m2ps
        Order of every instant, already between floor and ceiling [instants] [m2/s]; nan where there is none.
    supply_m2ps
        Most that can flow at the width that is on [instants] [m2/s].
    response
        Lag and delay.
    often
        Whether it is asked again and again, so that compiling pays for a short log, too.

    Returns
    -------
    ndarray
        Mean flow [instants] [m2/s]; nan where a stretch has no order yet, and at a cut.

    Notes
    -----
    Flow of the whole boom does as well as flow per metre: the equations are linear in both.

    References
    ----------
    first-order-lag

    Example
    -------
    A step from 1 to 2 after one second, lag one second, watched for one second:

    >>> clock, step = np.array([0.0, 1.0, 2.0]), np.array([np.nan, 1.0, 2.0])
    >>> lagging = Response(lag_s=1.0)
    >>> mean = delivered_flows(clock, np.diff(clock, prepend=np.nan), step, np.full(3, 9.0), response=lagging)
    >>> round(float(mean[2]), 4)  # 2 - (1 - 1/e)
    1.3679
    """
    order = carried_forward(order_m2ps, interval_s)
    starts, ends = _stretches(interval_s)
    mean = np.full(time_s.shape, np.nan)
    clock, order, supply = (np.ascontiguousarray(each, dtype=np.float64) for each in (time_s, order, supply_m2ps))
    times = response.lag_s, response.delay_s
    if often or time_s.size > FEW_INSTANTS:
        from wetrun.fieldlog.dynamics_kernels import follow_all

        follow_all((clock, order, supply, mean), starts, ends, times)
        return mean
    plain = (clock.tolist(), order.tolist(), supply.tolist(), mean)  # Python's own floats are the quicker ones here
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        follow_stretch(plain, (start, end), times, flow_over_piece)
    return mean


def delivered_by_many(
    time_s: Annotated[FloatArray, SECOND],
    interval_s: Annotated[FloatArray, SECOND],
    orders_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    *,
    lags_s: Annotated[FloatArray, SECOND],
    delays_s: Annotated[FloatArray, SECOND],
) -> Annotated[FloatArray, SQUARE_METRE_PER_SECOND]:
    """Return what `delivered_flows` says of each of many machines, to the bit, without a limit of supply.

    All of them at once keep every processor busy; one by one, a short log is over before the others have woken.

    Parameters
    ----------
    time_s, interval_s
        Clock, and time since the instant before [instants] [s]; nan at a cut.
    orders_m2ps
        One row of orders for all machines, or a row for each [rows, instants] [m2/s].
    lags_s, delays_s
        Of each machine [machines] [s].

    Returns
    -------
    ndarray
        Mean flow [machines, instants] [m2/s].
    """
    from wetrun.fieldlog.dynamics_kernels import follow_many

    orders = np.array([carried_forward(row, interval_s) for row in orders_m2ps])
    rows = np.arange(lags_s.size) if len(orders) > 1 else np.zeros(lags_s.size, np.int64)
    means = np.full((lags_s.size, time_s.size), np.nan)
    clock, supply = np.ascontiguousarray(time_s, dtype=np.float64), np.full(time_s.shape, np.inf)
    follow_many((clock, orders, supply, means), _stretches(interval_s), rows, (lags_s, delays_s))
    return means


def _stretches(interval_s: Annotated[FloatArray, SECOND]) -> tuple[IntArray, IntArray]:
    """First instant of each stretch, and the one behind its last."""
    starts = np.flatnonzero(np.isnan(interval_s))
    starts = starts if starts.size and starts[0] == 0 else np.concatenate([[0], starts])
    return starts, np.append(starts[1:], interval_s.size)


def carried_forward(values: FloatArray, interval_s: Annotated[FloatArray, SECOND]) -> FloatArray:
    """Return the values [instants] with each gap filled by the last known one of its stretch.

    Parameters
    ----------
    values
        Any column [instants], nan where not known.
    interval_s
        Time since the instant before [instants] [s], nan at a cut: nothing is carried across.
    """
    place = np.arange(values.size)
    cut = np.isnan(interval_s)
    known: IntArray = np.maximum.accumulate(np.where(np.isfinite(values), place, -1))
    stretch = np.maximum.accumulate(np.where(cut, place, 0))
    filled: FloatArray = np.where(known >= stretch, values[np.maximum(known, 0)], np.nan)
    return filled


def follow_stretch(columns: Columns, ends: tuple[int, int], times: tuple[float, float], pieces: Pieces) -> None:
    """Fill in the mean flow of one stretch; written so that it compiles as it stands.

    Parameters
    ----------
    columns
        Clock in seconds, order, greatest flow, and where the mean flow goes, each [instants].
    ends
        First instant of the stretch (it has no interval), and the one behind its last.
    times
        Lag and delay in seconds.
    pieces
        `flow_over_piece`, plain or compiled.
    """
    clock, order, supply, mean = columns
    lag, delay = times
    first = ends[0] + 1
    while first < ends[1] and math.isnan(order[first]):
        first += 1
    now = first  # whose order the machine is following
    flow = min(order[first], supply[first]) if first < ends[1] else math.nan
    for i in range(first, ends[1]):
        end, at, volume, still = clock[i], clock[i - 1], 0.0, True
        flow = min(flow, supply[i])
        while at < end:  # pieces with one order each
            while now + 1 < ends[1] and clock[now] + delay <= at:
                now += 1
            stop = min(end, clock[now] + delay) if now + 1 < ends[1] else end
            # A piece that fills the interval and in which nothing moves keeps the very bits of the order.
            still = stop == end and at == clock[i - 1] and (lag <= 0.0 or flow == order[now])
            flow, put_out = pieces(flow, order[now], supply[i], (stop - at, lag))
            volume += put_out
            at = stop
        mean[i] = flow if still else volume / (end - clock[i - 1])


def flow_over_piece(flow: float, wanted: float, most: float, times: tuple[float, float]) -> tuple[float, float]:
    """Return the flow at the end of a piece with one order, and the volume put out in it.

    Parameters
    ----------
    flow
        At its beginning; not above ``most``.
    wanted, most
        The order, and the greatest flow.
    times
        Length of the piece and lag, in seconds.

    Example
    -------
    >>> flow_over_piece(0.0, 1.0, 9.0, (1.0, 1.0))  # 1 - 1/e, and 1/e of a second's worth
    (0.632..., 0.367...)
    """
    span, lag = times
    if lag <= 0.0:
        flow = min(wanted, most)
        return flow, flow * span
    after = wanted + (flow - wanted) * math.exp(-span / lag)
    if after <= most:
        return after, wanted * span + lag * (flow - after)
    reached = lag * math.log((wanted - flow) / (wanted - most))  # then it stays at the supply
    return most, wanted * reached + lag * (flow - most) + most * (span - reached)
