"""Tests for gross errors in reconciled readings: global, by reading, by balance, by signature, and by leaving out."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.linalg import cho_solve
from scipy.special import chdtri, ndtri

from wetrun.errors import NotDefined
from wetrun.proving.covariance import FloatArray, lower_factor, squared_length
from wetrun.proving.reconcile import ROUNDING, Reconciliation
from wetrun.units import Frac

ALARM_FRAC: Frac = 0.05
"""How often a test may cry out over honest readings, unless somebody asks for less."""


@dataclass(frozen=True, slots=True)
class Likelihood:
    """What one suspected signature explains.

    Attributes
    ----------
    statistic : float
        Fall of the global statistic if the signature is let in.
    size, standard : float
        Size of the fault and its standard uncertainty, in the signature's own unit.
    """

    statistic: float
    size: float
    standard: float


def global_limit(redundancy: int, alarm_frac: Frac = ALARM_FRAC) -> float:
    """Return the limit of the global statistic if every uncertainty is known: a quantile of chi-square.

    Parameters
    ----------
    redundancy : int
        Independent relations.
    alarm_frac : float
        False alarms allowed [frac].

    Returns
    -------
    float
        The limit.

    References
    ----------
    narasimhan-jordache-2000

    Example
    -------
    >>> round(global_limit(4), 3)
    9.488
    """
    return float(chdtri(redundancy, alarm_frac))


def sidak_limit(tests: int, alarm_frac: Frac = ALARM_FRAC) -> float:
    """Return the two-sided limit of each of several standardised values, false alarms counted over all of them.

    Parameters
    ----------
    tests : int
        How many are looked at.
    alarm_frac : float
        False alarms allowed over all of them [frac].

    Returns
    -------
    float
        Limit of each absolute value.

    References
    ----------
    mah-tamhane-1982

    Example
    -------
    >>> round(sidak_limit(1), 3), round(sidak_limit(6), 3)
    (1.96, 2.631)
    """
    each = 1.0 - (1.0 - alarm_frac) ** (1.0 / tests)
    return float(-ndtri(each / 2.0))


def measurement_test(found: Reconciliation) -> FloatArray:
    """Return the change of each reading in its own standard deviations; zero where nothing checks a reading.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.

    Returns
    -------
    array, (readings,)
        Absolute values, to be held against `sidak_limit`.

    References
    ----------
    mah-tamhane-1982
    """
    spread = np.sqrt(np.clip(np.diag(found.adjustment_covariance), 0.0, None))
    return np.where(found.redundant, np.abs(found.adjustments) / np.where(found.redundant, spread, 1.0), 0.0)


def nodal_test(found: Reconciliation) -> FloatArray:
    """Return the residual of each independent balance in its own standard deviations.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.

    Returns
    -------
    array, (independent relations,)
        Absolute values.

    References
    ----------
    narasimhan-jordache-2000
    """
    return np.asarray(np.abs(found.residuals) / np.sqrt(np.diag(found.residual_covariance)))


def likelihood_of(found: Reconciliation, signature: FloatArray) -> Likelihood:
    """Return what a fault explains that would shift the readings along a signature.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.
    signature : array, (readings,)
        Shift of the readings per unit of the fault.

    Returns
    -------
    Likelihood
        Statistic, size and its standard uncertainty.

    Raises
    ------
    NotDefined
        If the fault leaves every balance as it was: these readings cannot see it.

    References
    ----------
    narasimhan-mah-1987

    Example
    -------
    Two clocks that agree in spread, two seconds apart: either may be wrong by two, give or take 1.4.

    >>> from wetrun.proving.reconcile import Balances, reconciled
    >>> clocks = reconciled(np.array([2.0, 0.0]), np.eye(2), Balances.of(np.array([[1.0, -1.0]])))
    >>> likely = likelihood_of(clocks, np.array([1.0, 0.0]))
    >>> round(likely.size, 6), round(likely.standard, 3), round(likely.statistic, 6)
    (2.0, 1.414, 2.0)
    """
    imprint = found.coefficients @ signature
    length = squared_length(found.residual_covariance, imprint)
    if length <= ROUNDING**2 * max(1.0, float(signature @ signature)):
        raise NotDefined(
            "size of this fault",
            reason="it leaves every balance between these readings as it was",
            remedy="Take a reading that the fault would move.",
        )
    product = float(imprint @ cho_solve((lower_factor(found.residual_covariance), True), found.residuals))
    return Likelihood(product**2 / length, product / length, 1.0 / sqrt(length))
