"""The lag compiled, stretch by stretch on every thread; stretches do not know each other, so threads change no bit."""

from __future__ import annotations

import numba

from wetrun.fieldlog import dynamics
from wetrun.fieldlog.trace import FloatArray, IntArray

Columns = tuple[FloatArray, FloatArray, FloatArray, FloatArray]

_follow = numba.njit(dynamics.follow_stretch)
_piece = numba.njit(dynamics.flow_over_piece)


@numba.njit(parallel=True)
def follow_all(columns: Columns, starts: IntArray, ends: IntArray, times: tuple[float, float]) -> None:
    """Fill in the mean flow of every stretch; see `wetrun.fieldlog.dynamics.follow_stretch`.

    Parameters
    ----------
    columns
        Clock in seconds, order, greatest flow, and where the mean flow goes, each [instants].
    starts, ends
        First instant of each stretch, and the one behind its last.
    times
        Lag and delay in seconds.
    """
    for stretch in numba.prange(starts.size):
        _follow(columns, (starts[stretch], ends[stretch]), times, _piece)  # type: ignore[call-arg,type-var]


@numba.njit(parallel=True)
def follow_many(
    columns: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    stretches: tuple[IntArray, IntArray],
    rows: IntArray,
    times: tuple[FloatArray, FloatArray],
) -> None:
    """Fill in the mean flow of every stretch of many machines.

    Parameters
    ----------
    columns
        Clock in seconds [instants], orders [rows, instants], greatest flow [instants], and where the mean flows go
        [machines, instants].
    stretches
        First instant of each stretch, and the one behind its last.
    rows
        Which row of orders each machine follows [machines].
    times
        Lags and delays in seconds [machines].
    """
    clock, orders, supply, means = columns
    starts, ends = stretches
    lags, delays = times
    for both in numba.prange(rows.size * starts.size):
        machine, stretch = both // starts.size, both % starts.size
        _follow(  # type: ignore[call-arg,type-var]
            (clock, orders[rows[machine]], supply, means[machine]),
            (starts[stretch], ends[stretch]),
            (lags[machine], delays[machine]),
            _piece,
        )
