"""How many of a boom's tips are unlike the rest, for one boom or for many at once.

The deviations are put in order by their distance from the median, so that bad tips hide neither each other nor move
the rest. Then each is held against mean and scatter of those nearer the middle, by Student's t. The chance that a
boom without a single odd tip raises any alarm at all is kept to the level asked for, over all its tips together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from wetrun.errors import NotDefined
from wetrun.spray.bounds import FloatArray
from wetrun.units import Frac

BoolArray: TypeAlias = npt.NDArray[np.bool_]
IndexArray: TypeAlias = npt.NDArray[np.intp]

FAMILY_ALARM_FRAC: Final[Frac] = 0.01
"""Share of booms without an odd tip that may raise a false alarm anywhere."""
SPENT_ALARM_FRAC: Final[Frac] = 0.8 * FAMILY_ALARM_FRAC
"""What the test itself spends of that; the rest goes to shapes fitted first and to scatter that is not quite normal."""
LEAST_TIPS: Final = 8
"""Fewer tips say too little of their own scatter."""
MOST_ODD_FRAC: Final[Frac] = 0.2
"""Beyond a fifth of the boom there is no crowd left to be unlike."""
NORMAL_MAD: Final = 1.4826022185056018
"""Standard deviation of a normal distribution over its median absolute deviation."""


@dataclass(frozen=True, slots=True)
class OddTips:
    """Which values are unlike the rest, boom by boom.

    Attributes
    ----------
    odd : array of bool
        True where a tip is unlike, shape (booms, tips).
    centre, scatter : array
        Mean and standard deviation of the tips that are not, shape (booms,), in the unit of the values.
    limit : array
        Deviation from the centre from which the next tip would be called unlike, shape (booms,).
    """

    odd: BoolArray
    centre: FloatArray
    scatter: FloatArray
    limit: FloatArray


def odd_tips(
    values: FloatArray,
    *,
    reading_scatter: float = 0.0,
    fitted: int | IndexArray = 0,
    alarm_frac: Frac = SPENT_ALARM_FRAC,
) -> OddTips:
    """Return the tips that are unlike the rest of their boom.

    Parameters
    ----------
    values : array
        One value per tip, shape (booms, tips); logarithms of flow, so that a share means the same up and down.
    reading_scatter : float
        Standard uncertainty of a single reading, in the unit of the values; the scatter is never taken for less, so
        that readings rounded to the same step do not make an ordinary tip look odd.
    fitted : int or array of int
        Terms already fitted to the values besides their centre, for all booms or shape (booms,); each costs a degree
        of freedom.
    alarm_frac : float
        Chance of any false alarm on a boom without odd tips [frac].

    Returns
    -------
    OddTips
        Odd tips, and centre, scatter and limit from the others.

    Raises
    ------
    NotDefined
        Fewer than eight tips.

    Notes
    -----
    The many-outlier test of extreme deviates; the order is by distance from the median instead of from a mean that
    the odd tips have already moved, which changes nothing where no tip is odd. Normal scatter is assumed.

    References
    ----------
    rosner-1983, nist-esd

    Example
    -------
    >>> tips = np.array([[0.0, 0.01, -0.01, 0.02, -0.02, 0.01, -0.01, 0.0, 0.3, 0.01]])
    >>> np.flatnonzero(odd_tips(tips).odd[0]).tolist()
    [8]
    """
    tips = values.shape[1]
    if tips < LEAST_TIPS:
        reason = f"{tips} readings say too little of their own scatter"
        raise NotDefined("odd tips", reason=reason, remedy=f"Catch {LEAST_TIPS} tips or more")
    most = max(3, int(MOST_ODD_FRAC * tips))
    away = np.abs(values - np.median(values, axis=1, keepdims=True))
    order = np.argsort(away, axis=1)
    ordered = np.take_along_axis(values, order, axis=1)
    means, scatters = _running(ordered, fitted)
    scatters = np.maximum(scatters, reading_scatter)
    count = _odd_count(ordered, means, scatters, critical_deviates(tips, most, fitted=fitted, alarm_frac=alarm_frac))
    freedom = np.maximum(tips - count - 1.0 - fitted, 1.0)
    reach = stdtrit(freedom, 1.0 - alarm_frac / (2.0 * (tips - count + 1.0))) * np.sqrt(1.0 + 1.0 / (tips - count))
    return _found(order, count, means, (scatters, reach))


def critical_deviates(
    tips: int, most: int, *, fitted: int | IndexArray = 0, alarm_frac: Frac = SPENT_ALARM_FRAC
) -> FloatArray:
    """Return how many standard deviations from the mean the first, second … most extreme value may lie.

    Parameters
    ----------
    tips : int
        Values in all.
    most : int
        How many may be odd.
    fitted : int or array of int
        Terms fitted besides the mean, shape () or (booms,).
    alarm_frac : float
        Chance of any false alarm [frac].

    Returns
    -------
    array
        Critical deviates, shape (most,) or (booms, most).

    References
    ----------
    rosner-1983, nist-esd

    Example
    -------
    >>> critical_deviates(54, 3, alarm_frac=0.05).round(3).tolist()
    [3.159, 3.151, 3.144]
    """
    left = tips - np.arange(most, dtype=np.float64)  # values still in when the i-th is tried
    freedom = left - 2.0 - np.asarray(fitted, dtype=np.float64)[..., None]
    t = stdtrit(freedom, 1.0 - alarm_frac / (2.0 * left))
    limits: FloatArray = t * (left - 1.0) / np.sqrt((freedom + t * t) * left) * np.sqrt((freedom + 1.0) / (left - 1.0))
    return limits


def _running(ordered: FloatArray, fitted: int | IndexArray) -> tuple[FloatArray, FloatArray]:
    """Return mean and standard deviation of the first k values, for every k."""
    count = np.arange(1, ordered.shape[1] + 1, dtype=np.float64)
    start = ordered[:, :1]  # sums about a middle value: no cancellation where the scatter is small
    about = ordered - start
    mean = np.cumsum(about, axis=1) / count
    square = np.cumsum(about * about, axis=1) - count * mean * mean
    freedom = np.maximum(count - 1.0 - np.asarray(fitted, dtype=np.float64)[..., None], 1.0)
    return start + mean, np.sqrt(np.maximum(square, 0.0) / freedom)


def _odd_count(ordered: FloatArray, means: FloatArray, scatters: FloatArray, limits: FloatArray) -> IndexArray:
    """Return how many of the outermost values are odd: the last of them that exceeds its own limit decides."""
    most = limits.shape[-1]
    outer = slice(-1, -most - 1, -1)
    exceeds = np.abs(ordered[:, outer] - means[:, outer]) > limits * scatters[:, outer]
    return np.where(exceeds.any(axis=1), most - np.argmax(exceeds[:, ::-1], axis=1), 0)


def _found(order: IndexArray, count: IndexArray, means: FloatArray, about: tuple[FloatArray, FloatArray]) -> OddTips:
    scatters, reach = about
    booms, tips = order.shape
    odd = np.zeros((booms, tips), dtype=np.bool_)
    np.put_along_axis(odd, order, np.arange(tips) >= (tips - count)[:, None], axis=1)
    last = (tips - 1 - count)[:, None]
    centre = np.take_along_axis(means, last, axis=1)[:, 0]
    scatter = np.take_along_axis(scatters, last, axis=1)[:, 0]
    return OddTips(odd, centre, scatter, scatter * reach)
