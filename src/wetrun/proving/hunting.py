"""Hunting: a settled reading that keeps swinging – how far, how often, and whether it dies out."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt
from typing import Final

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.stats import f as fisher

from wetrun.proving.ramp_fit import SecondArray
from wetrun.spray.bounds import FloatArray
from wetrun.units import Frac, Hz, S

CHANCE_FRAC: Final[Frac] = 0.01
"""A swing that chance alone would show this often, over all periods looked at, is not called one."""

_LEAST_READINGS: Final = 9
_LEAST_CYCLES: Final = 3.0
_FINER: Final = 6
_STAYS_FRAC: Final = 0.6


@dataclass(frozen=True, slots=True)
class Hunting:
    """A swing around a level.

    Attributes
    ----------
    level : float
        What it swings around, in the unit of the reading.
    amplitude : float
        Half of the swing from top to bottom, same unit.
    amplitude_standard : float
        Standard uncertainty of the amplitude.
    period_s : float
        Time of one swing [s].
    scatter : float
        What is left beside the swing, standard deviation of one reading.
    freedom : float
        Degrees of freedom of that.
    persistent : bool
        True if it does not die out: the second half of the log swings at least 0.6 as far as the first.
    """

    level: float
    amplitude: float
    amplitude_standard: float
    period_s: S
    scatter: float
    freedom: float
    persistent: bool


def hunting_of(times_s: SecondArray, values: FloatArray) -> Hunting | None:
    """Return the swing in settled readings, or None if there is none to be told from scatter.

    Parameters
    ----------
    times_s : ndarray
        Times of the readings, rising [s], shape (readings,).
    values : ndarray
        Settled readings, in any unit, shape (readings,).

    Returns
    -------
    Hunting or None
        The strongest swing with at least three cycles in the log and 2.5 readings in each.

    Notes
    -----
    Least squares of one sine and a level at every period; F test at 1 % over all of them. A monitor that smooths its
    readings leaves them alike from one to the next, which may look like a slow swing: read the period beside it.

    References
    ----------
    lomb-1976

    Example
    -------
    >>> times = np.arange(40.0)
    >>> found = hunting_of(times, 100.0 + 6.0 * np.sin(2 * np.pi * times / 8.0) + 0.5 * (-1.0) ** (times // 3))
    >>> round(found.amplitude), round(found.period_s), found.persistent
    (6, 8, True)
    """
    count = values.size
    if count < _LEAST_READINGS or float(np.ptp(values)) == 0.0:
        return None
    span_s = float(times_s[-1] - times_s[0])
    most_hz = 1.0 / (2.5 * float(np.median(np.diff(times_s))))
    rates_hz = np.arange(_LEAST_CYCLES / span_s, most_hz, 1.0 / (_FINER * span_s))
    if rates_hz.size == 0:
        return None
    rate_hz = _strongest_hz(times_s, values, rates_hz)
    level, amplitude, left = _swing(times_s, values, rate_hz)
    freedom = count - 4
    if _chance(values, left, freedom) > CHANCE_FRAC:
        return None
    scatter = sqrt(left / freedom)
    standard = scatter * sqrt(2.0 / count)
    return Hunting(level, amplitude, standard, 1.0 / rate_hz, scatter, float(freedom), _stays(times_s, values, rate_hz))


def _strongest_hz(times_s: SecondArray, values: FloatArray, rates_hz: FloatArray) -> Hz:
    """The frequency [Hz] whose sine leaves the least squares, refined between its neighbours."""
    squares = [_swing(times_s, values, float(rate))[2] for rate in rates_hz]
    best, gap = float(rates_hz[int(np.argmin(squares))]), 1.0 / (_FINER * float(times_s[-1] - times_s[0]))
    near = (max(best - gap, float(rates_hz[0])), best + gap)
    found = float(minimize_scalar(lambda rate: _swing(times_s, values, rate)[2], bounds=near, method="bounded").x)
    return found if _swing(times_s, values, found)[2] < min(squares) else best


def _swing(times_s: SecondArray, values: FloatArray, rate_hz: Hz) -> tuple[float, float, float]:
    """Level, amplitude and squares left of the best sine of a frequency."""
    turn = 2.0 * pi * rate_hz * times_s
    columns = np.column_stack((np.ones_like(turn), np.cos(turn), np.sin(turn)))
    solved = np.linalg.lstsq(columns, values, rcond=None)[0]
    left = values - columns @ solved
    return float(solved[0]), float(np.hypot(solved[1], solved[2])), float(left @ left)


def _chance(values: FloatArray, left: float, freedom: int) -> float:
    """How often scatter alone would show as strong a swing at any of the periods that can be told apart."""
    level = float(np.sum((values - values.mean()) ** 2))
    ratio = (level - left) / 3.0 / (left / freedom) if left > 0.0 else inf
    return min(1.0, values.size / 2.0 * float(fisher.sf(ratio, 3, freedom)))


def _stays(times_s: SecondArray, values: FloatArray, rate_hz: Hz) -> bool:
    half = values.size // 2
    first = _swing(times_s[:half], values[:half], rate_hz)[1]
    second = _swing(times_s[half:], values[half:], rate_hz)[1]
    return second >= _STAYS_FRAC * first
