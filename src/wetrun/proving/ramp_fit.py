"""How a reading moves after a step: a delay, then a first-order approach, fitted to what was logged."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt
from typing import Annotated, Final

import numpy as np
from scipy.optimize import minimize
from scipy.stats import f as fisher

from wetrun.errors import NotDefined
from wetrun.proving.response import SETTLED_BAND_FRAC, Response
from wetrun.spray.bounds import FloatArray
from wetrun.units import SECOND, Frac, S

SecondArray = Annotated[FloatArray, SECOND]

_LEAST_READINGS: Final = 6
_NO_STEP_FRAC: Final[Frac] = 0.01
_GRID: Final = 40


def first_order_response(times_s: Sequence[S] | SecondArray, values: Sequence[float] | FloatArray) -> Response | None:
    """Return the delay and lag that fit a logged step best.

    Parameters
    ----------
    times_s : sequence of float
        Time of each reading since the change, rising, the first at or before the change [s], shape (readings,).
    values : sequence of float
        The readings, in any unit, shape (readings,).

    Returns
    -------
    Response or None
        None if no step can be told from the scatter at 1 %.

    Raises
    ------
    NotDefined
        Fewer than six readings, times that do not rise, or no reading from before the change.

    Notes
    -----
    Least squares; start and end are solved, delay and lag searched on a grid and then refined. Uncertainties take the
    scatter as independent from reading to reading: a monitor that smooths makes them look better than they are.

    References
    ----------
    first-order-lag, gum-jcgm-100

    Example
    -------
    >>> times = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]
    >>> true = Response(before=10.0, after=20.0, delay_s=0.6, lag_s=1.5)
    >>> found = first_order_response(times, [true.at(t) for t in times])
    >>> round(found.delay_s, 3), round(found.lag_s, 3), round(found.after, 3)
    (0.6, 1.5, 20.0)
    """
    times, readings = checked_series(times_s, values)
    if times[0] > 0.0:
        raise NotDefined(
            "step response", reason="no reading from before the change", remedy="Start the log before the step"
        )
    delay_s, lag_s = _best(times, readings)
    shape = _done(times, delay_s, lag_s)
    before, after, left = _ends(shape, readings)
    if not _moved(readings, left):
        return None
    freedom = times.size - 4
    covariance = _covariance(times, after - before, delay_s, lag_s) * left / freedom
    found = Response(before=before, after=after, delay_s=delay_s, lag_s=lag_s)
    return Response(
        before=before,
        after=after,
        delay_s=delay_s,
        lag_s=lag_s,
        after_standard=sqrt(max(covariance[1, 1], 0.0)),
        settling_standard_s=_settling_standard_s(found, covariance),
        scatter=sqrt(left / freedom),
        freedom=float(freedom),
    )


def checked_series(
    times_s: Sequence[S] | SecondArray, values: Sequence[float] | FloatArray
) -> tuple[SecondArray, FloatArray]:
    """Return a logged series as arrays of times [s] and readings, or refuse it.

    Parameters
    ----------
    times_s : sequence of float
        Times [s], shape (readings,).
    values : sequence of float
        Readings, in any unit, shape (readings,).

    Returns
    -------
    tuple of ndarray
        Times [s] and readings.

    Raises
    ------
    NotDefined
        Too few readings, one that is not a number, or times that do not rise.
    """
    times, readings = np.asarray(times_s, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if times.size != readings.size:
        reason = f"{times.size} times and {readings.size} readings"
        raise NotDefined("step response", reason=reason, remedy="Give each reading its time")
    if times.size < _LEAST_READINGS:
        reason = f"{times.size} readings, and {_LEAST_READINGS} are the least"
        raise NotDefined("step response", reason=reason, remedy="Log longer or more often")
    if not (np.all(np.isfinite(times)) and np.all(np.isfinite(readings))):
        raise NotDefined("step response", reason="a reading is not a number", remedy="Leave that reading out")
    if np.any(np.diff(times) <= 0.0):
        raise NotDefined("step response", reason="the times do not rise", remedy="Look for two rows swapped")
    return times, readings


def _done(times: SecondArray, delay_s: float | FloatArray, lag_s: float | FloatArray) -> FloatArray:
    """Share of the step that is done at each time."""
    return np.asarray(-np.expm1(-np.maximum(times - delay_s, 0.0) / lag_s), dtype=np.float64)


def _squares(shapes: FloatArray, readings: FloatArray) -> FloatArray:
    """Squares left by each of many shapes, each with the start and end that fit it best."""
    centred = shapes - shapes.mean(axis=-1, keepdims=True)
    level = readings - readings.mean()
    spread = np.sum(centred**2, axis=-1)
    along = centred @ level
    return np.asarray(level @ level - along**2 / np.where(spread > 0.0, spread, np.inf), dtype=np.float64)


def _ends(shape: FloatArray, readings: FloatArray) -> tuple[float, float, float]:
    """Start, end and squares left of the straight line of readings over the share done."""
    centred = shape - shape.mean()
    spread = float(centred @ centred)
    slope = float(centred @ readings) / spread if spread > 0.0 else 0.0
    before = float(readings.mean() - slope * shape.mean())
    left = readings - before - slope * shape
    return before, before + slope, float(left @ left)


def _best(times: SecondArray, readings: FloatArray) -> tuple[float, float]:
    """Delay and lag with the least squares left: the best cell of a grid, refined without slopes.

    The squares have a kink where the delay passes a reading, so that a search by slopes may stop there.
    """
    span, shortest = float(times[-1]), float(np.diff(times).min())
    if span <= 0.0:
        raise NotDefined("step response", reason="no reading after the change", remedy="Log on until it has settled")
    delays_s = np.linspace(0.0, span / 2.0, _GRID)[:, None, None]
    lags_s = np.geomspace(shortest / 5.0, span, _GRID)[:, None]
    squares = _squares(_done(times, delays_s, lags_s), readings)
    row, column = np.unravel_index(int(np.argmin(squares)), squares.shape)
    start = (float(delays_s[row, 0, 0]), float(lags_s[column, 0]))

    def left(at: FloatArray) -> float:
        delay_s, lag_s = min(max(float(at[0]), 0.0), span), exp(min(max(float(at[1]), -50.0), 50.0))
        return _ends(_done(times, delay_s, lag_s), readings)[2]

    first = np.array([start[0], log(start[1])])
    found = minimize(left, first, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 0.0, "maxiter": 400}).x
    return min(max(float(found[0]), 0.0), span), exp(float(found[1]))


def _moved(readings: FloatArray, left: float) -> bool:
    """Whether four numbers fit so much better than one level that chance is under one in a hundred."""
    level = float(np.sum((readings - readings.mean()) ** 2))
    if level == 0.0:
        return False
    if left <= 0.0:
        return True
    freedom = readings.size - 4
    return bool(fisher.sf((level - left) / 3.0 / (left / freedom), 3, freedom) < _NO_STEP_FRAC)


def _covariance(times: SecondArray, step: float, delay_s: float, lag_s: float) -> FloatArray:
    """Covariance of start, end, delay and lag for a scatter of one."""
    shape = _done(times, delay_s, lag_s)
    late = np.maximum(times - delay_s, 0.0)
    left = np.where(times > delay_s, 1.0 - shape, 0.0)
    slopes = np.column_stack((1.0 - shape, shape, -step * left / lag_s, -step * left * late / lag_s**2))
    return np.asarray(np.linalg.pinv(slopes.T @ slopes), dtype=np.float64)


def _settling_standard_s(found: Response, covariance: FloatArray) -> float:
    """Standard uncertainty of the settling time, by its slopes in the four fitted numbers."""
    step = found.after - found.before
    if abs(step) <= SETTLED_BAND_FRAC * abs(found.after) or found.after == 0.0:
        return 0.0
    stretched = (found.settling_s() - found.delay_s) / found.lag_s
    slopes = np.array([-found.lag_s / step, found.lag_s * (1.0 / step - 1.0 / found.after), 1.0, stretched])
    return sqrt(max(float(slopes @ covariance @ slopes), 0.0))
