"""What one logged step shows: where it settles, how long it takes, how far it overshoots, whether it hunts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wetrun.proving.hunting import Hunting, hunting_of
from wetrun.proving.ramp_fit import SecondArray, checked_series, first_order_response
from wetrun.proving.response import SETTLED_BAND_FRAC, Response
from wetrun.proving.uncertainty import rectangular, repeated
from wetrun.spray.bounds import FloatArray
from wetrun.units import Frac, S

_LAGS_TO_REST: Final = 5.0
_LEAST_TAIL: Final = 5
_SURE: Final = 3.0
_RINGS: Final = 2.0


@dataclass(frozen=True, slots=True)
class Settled:
    """A settled reading.

    Attributes
    ----------
    value : float
        In the unit of the reading.
    standard : float
        Its standard uncertainty by scatter alone; zero for a single reading.
    freedom : float
        Degrees of freedom of that.
    readings : int
        How many it rests on.
    extrapolated : bool
        True if the log stopped before it had settled, so that the fit says where it would have.
    """

    value: float
    standard: float
    freedom: float
    readings: int
    extrapolated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """What a logged step shows.

    Attributes
    ----------
    settled : Settled
        Where it came to rest.
    response : Response or None
        The first-order fit; None if no step can be told from scatter.
    settling_s : float or None
        Time until it stays within 5 % of where it settles [s]; None if it had not by the end of the log, or hunts
        beyond it.
    settling_standard_s : float
        Standard uncertainty of that [s].
    overshoot_frac : float
        How far the reading went past where it settled, as a share of it, less what scatter explains [frac].
    hunting : Hunting or None
        A swing around the settled value.
    logged_s : float
        How long was logged after the change [s].
    """

    settled: Settled
    response: Response | None
    settling_s: S | None
    settling_standard_s: S
    overshoot_frac: Frac
    hunting: Hunting | None
    logged_s: S


def settled_of(values: Sequence[float]) -> Settled:
    """Return readings taken after the machine had settled as one.

    Parameters
    ----------
    values : sequence of float
        One reading or more, in any unit.

    Returns
    -------
    Settled
        One reading says nothing of its scatter: then only the instrument's own doubt counts.

    Example
    -------
    >>> settled_of([3.0, 3.2]).value, settled_of([3.0]).standard
    (3.1, 0.0)
    """
    if len(values) == 1:
        return Settled(values[0], 0.0, inf, 1)
    found = repeated(values)
    return Settled(found.mean, found.standard, found.freedom, len(values))


def movement(
    times_s: Sequence[S] | SecondArray, values: Sequence[float] | FloatArray, *, band_frac: Frac = SETTLED_BAND_FRAC
) -> Movement:
    """Return what a logged step shows.

    Parameters
    ----------
    times_s : sequence of float
        Times since the change, rising, the first at or before it [s], shape (readings,).
    values : sequence of float
        Readings, in any unit, shape (readings,).
    band_frac : float
        Share of the settled value within which it has settled [frac].

    Returns
    -------
    Movement
        Fit, settled value, settling time, overshoot and hunting.

    Raises
    ------
    NotDefined
        As `first_order_response`.

    Notes
    -----
    Settled readings are those later than the delay and five lags, where 0.7 % of the step is left; as long as their
    first half scatters twice as far as the second it still rings, and is left out. The settling time is
    taken from the readings where they scatter less than a third of the band, and from the fit otherwise.

    References
    ----------
    first-order-lag, lomb-1976
    """
    times, readings = checked_series(times_s, values)
    response = first_order_response(times_s, values)
    tail = _rested(times, readings, 0.0 if response is None else response.delay_s + _LAGS_TO_REST * response.lag_s)
    hunting = hunting_of(times[tail], readings[tail]) if np.count_nonzero(tail) >= _LEAST_TAIL else None
    settled = _settled(readings[tail], response, hunting)
    scatter = _scatter(readings[tail], response, hunting)
    band = band_frac * abs(settled.value)
    settling_s, standard_s = _settling(times, readings, settled, band)
    if hunting is not None and hunting.persistent:
        settling_s = None if hunting.amplitude > band else settling_s
    elif response is not None and scatter * _SURE > band:
        settling_s, standard_s = response.settling_s(band_frac), response.settling_standard_s
    return Movement(
        settled=settled,
        response=response,
        settling_s=settling_s,
        settling_standard_s=standard_s,
        overshoot_frac=_overshoot_frac(readings[times > 0.0], settled, response, scatter),
        hunting=hunting,
        logged_s=float(times[-1]),
    )


def _rested(times: SecondArray, readings: FloatArray, from_s: S) -> NDArray[np.bool_]:
    """Which readings are settled: from a time on [s], and later still while the first half rings."""
    tail = times >= from_s
    while np.count_nonzero(tail) >= 4 * _LEAST_TAIL:
        later = times >= np.median(times[tail])
        early, late = readings[tail & ~later], readings[later]
        if early.std() <= _RINGS * late.std():
            break
        tail = later
    return np.asarray(tail)


def _settled(tail: FloatArray, response: Response | None, hunting: Hunting | None) -> Settled:
    """Level of a swing, mean of the tail, or the end of the fit if the tail is too short."""
    if hunting is not None:
        standard = hunting.scatter / sqrt(tail.size)
        return Settled(hunting.level, standard, hunting.freedom, tail.size)
    if tail.size < _LEAST_TAIL and response is not None:
        return Settled(response.after, response.after_standard, response.freedom, tail.size, extrapolated=True)
    worth = _worth(tail)
    return Settled(float(tail.mean()), float(tail.std(ddof=1)) / sqrt(worth), max(worth - 1.0, 1.0), tail.size)


def _worth(tail: FloatArray) -> float:
    """How many independent readings a series is worth whose neighbours are alike."""
    off = tail - tail.mean()
    whole = float(off @ off)
    alike = max(float(off[1:] @ off[:-1]) / whole, 0.0) if whole > 0.0 else 0.0
    return max(tail.size * (1.0 - alike) / (1.0 + alike), 2.0)


def _scatter(tail: FloatArray, response: Response | None, hunting: Hunting | None) -> float:
    if hunting is not None:
        return hunting.scatter
    if tail.size >= _LEAST_TAIL:
        return float(tail.std(ddof=1))
    return 0.0 if response is None else response.scatter


def _settling(times: SecondArray, readings: FloatArray, settled: Settled, band: float) -> tuple[S | None, S]:
    """Time [s] of the last way into the band and its doubt [s], known to the gap between two readings."""
    outside = np.flatnonzero((np.abs(readings - settled.value) > band) & (times >= 0.0))
    if outside.size == 0:
        return 0.0, 0.0
    last = int(outside[-1])
    if last == times.size - 1:
        return None, 0.0
    half_gap_s = 0.5 * float(times[last + 1] - times[last])
    return float(times[last]) + half_gap_s, rectangular(half_gap_s)


def _overshoot_frac(readings: FloatArray, settled: Settled, response: Response | None, scatter: float) -> Frac:
    """Excess [frac] past the settled value, less the largest that so many scattered readings are expected to show."""
    if response is None or readings.size == 0 or settled.value == 0.0:
        return 0.0
    rising = 1.0 if response.after > response.before else -1.0
    past = float(np.max(rising * (readings - settled.value))) - scatter * sqrt(2.0 * log(max(readings.size, 2)))
    return max(past, 0.0) / abs(settled.value)
