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
