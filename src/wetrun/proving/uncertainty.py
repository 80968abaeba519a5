"""How sure a reading is, and what may be said of it against a limit: the rules of the GUM, by their plain names.

Standard uncertainties come from here, are collected in a `Budget` and decided by `judged`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, sqrt
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.budget import COVERAGE_FRAC, Budget, Component
from wetrun.proving.verdict import Judged, Stuck, Verdict, judged
from wetrun.units import FRACTION, RATIO, Frac

__all__ = [
    "COVERAGE_FRAC",
    "Budget",
    "Component",
    "Judged",
    "Repeated",
    "Stuck",
    "Verdict",
    "judged",
    "normal",
    "normal_covering",
    "rectangular",
    "repeated",
    "repeats_for",
    "triangular",
]


class Repeated(NamedTuple):
    """Repeated readings in three numbers: their mean, its standard uncertainty, its degrees of freedom."""

    mean: float
    standard: float
    freedom: float


def rectangular(half_width: float) -> float:
    """Return the standard uncertainty of a value known only to lie within ± a half width, all of it alike likely.

    Parameters
    ----------
    half_width : float
        Half of the span, in any unit; half a step for a display.

    Returns
    -------
    float
        The same unit.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> round(rectangular(0.5), 4)
    0.2887
    """
    return _half_width(half_width) / sqrt(3.0)


def triangular(half_width: float) -> float:
    """Return the standard uncertainty of a value within ± a half width that is likelier near the middle.

    Parameters
    ----------
    half_width : float
        Half of the span, in any unit.

    Returns
    -------
    float
        The same unit.

    References
    ----------
    gum-jcgm-100, gum-triangular

    Example
    -------
    >>> round(triangular(0.5), 4)
    0.2041
    """
    return _half_width(half_width) / sqrt(6.0)


def normal(expanded: float, k: float = 2.0) -> float:
    """Return the standard uncertainty behind a stated expanded one, as a certificate prints it.

    Parameters
    ----------
    expanded : float
        The ± of the certificate, in any unit.
    k : float
        Its coverage factor, as printed.

    Returns
    -------
    float
        The same unit as `expanded`.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> normal(0.5, k=2.0)
    0.25
    """
    if not k > 0.0:
        raise OutOfRange("coverage factor", k, RATIO, low=0.0, remedy="Certificates usually print k = 2.")
    return _half_width(expanded) / k


def normal_covering(half_width: float, coverage_frac: Frac) -> float:
    """Return the standard uncertainty of a ± that is said to cover a share of a normal distribution.

    Parameters
    ----------
    half_width : float
        The ±, in any unit.
    coverage_frac : float
        The share it covers [frac].

    Returns
    -------
    float
        The same unit as `half_width`.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> round(normal_covering(1.96, 0.95), 3)
    1.0
    """
    if not 0.0 < coverage_frac < 1.0:
        raise OutOfRange("coverage", coverage_frac, FRACTION, low=0.0, high=1.0, remedy="95 % is entered as 0.95.")
    return _half_width(half_width) / NormalDist().inv_cdf(0.5 + 0.5 * coverage_frac)


def repeated(values: Sequence[float]) -> Repeated:
    """Return mean, standard uncertainty of the mean and degrees of freedom of repeated readings.

    Parameters
    ----------
    values : sequence of float
        Two readings or more, in any unit.

    Returns
    -------
    Repeated
        Mean and standard uncertainty in that unit, and one less than the number of readings.

    Raises
    ------
    NotDefined
        Fewer than two readings: one says nothing of how far they scatter.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> repeated([20.0, 20.2, 20.4]).mean, round(repeated([20.0, 20.2, 20.4]).standard, 4)
    (20.2, 0.1155)
    """
    if len(values) < 2:
        raise NotDefined("scatter", reason=f"{len(values)} reading says nothing of it", remedy="Take another reading")
    array = np.asarray(values, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise ValueError(f"repeated readings {list(values)} hold one that is not a number")
    return Repeated(float(array.mean()), float(array.std(ddof=1)) / sqrt(array.size), float(array.size - 1))


def repeats_for(half_width: float, scatter: float, *, coverage_frac: Frac = COVERAGE_FRAC) -> int | None:
    """Return how many readings bring the mean within ± a half width, from the scatter of single readings alone.

    Parameters
    ----------
    half_width : float
        The ± wanted, in any unit.
    scatter : float
        Standard deviation of single readings, in the same unit.
    coverage_frac : float
        What the ± shall cover [frac].

    Returns
    -------
    int or None
        At least two, since one reading shows no scatter; None beyond a million.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> repeats_for(1.0, 1.0)
    7
    """
    two = Budget((Component("scatter", scatter / sqrt(2.0), "A", freedom=1.0),))
    found = judged(0.0, two, low=-half_width, high=half_width, coverage_frac=coverage_frac)
    return None if found.repeats_needed is None else 2 + found.repeats_needed


def _half_width(half_width: float) -> float:
    if not (isfinite(half_width) and half_width >= 0.0):
        raise ValueError(f"a half width of {half_width} has no meaning: it must be zero or more")
    return half_width
