"""Limits of test statistics whose uncertainties are themselves estimates with degrees of freedom.

A reading's error is a sum of causes, and each cause's variance an estimate on some degrees of freedom. The global
statistic, chi-square if all variances were known, is then taken for a scaled F variable whose second degrees of
freedom are matched to those of the causes; for one relation this is the formula of Welch and Satterthwaite. Single
directions use Student's t with that formula. Every function takes one wet run or many at once: the leading axes are
free.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from scipy.special import fdtrc, fdtri, stdtr, stdtrit

from wetrun.proving.covariance import FloatArray
from wetrun.units import FRACTION, Frac

LEAST_FREEDOM = 1.0
KNOWN = 1e9
"""Degrees of freedom from which an uncertainty is as good as known; keeps the F functions finite."""


@dataclass(frozen=True, slots=True)
class Causes:
    """Causes of error as the directions they push the residuals in.

    Attributes
    ----------
    pushes : array, (..., relations, causes)
        Residuals in whitened coordinates (their covariance is the unit matrix) per standard deviation of each cause.
    freedoms : array, (causes,)
        Degrees of freedom of each cause's variance; infinite if it is known.
    """

    pushes: FloatArray
    freedoms: FloatArray

    @property
    def relations(self) -> int:
        """How many residuals."""
        return int(self.pushes.shape[-2])

    @property
    def shares(self) -> FloatArray:
        """What each cause has of the whitened residuals; the shares add up to the number of relations."""
        return np.asarray(np.einsum("...rc,...rc->...c", self.pushes, self.pushes))


def matched_freedom(shares: FloatArray, freedoms: FloatArray, relations: int) -> FloatArray:
    """Return the degrees of freedom that a whole residual covariance rests on.

    Parameters
    ----------
    shares : array, (..., causes)
        What each cause has of the whitened residuals.
    freedoms : array, (causes,)
        Of each cause's variance.
    relations : int
        Independent relations, one or more.

    Returns
    -------
    array, (...)
        ``(m + m^2) / sum(2 h^2 / nu)``, never more than `KNOWN`.

    Notes
    -----
    Matches the second moments of the estimated covariance to a Wishart matrix; with one relation it is the formula of
    Welch and Satterthwaite. Held against simulation in docs/proof/crosscheck.md.

    References
    ----------
    krishnamoorthy-yu-2004, gum-jcgm-100

    Example
    -------
    >>> round(float(matched_freedom(np.array([0.36, 0.64]), np.array([4.0, 9.0]), 1)), 2)
    12.84
    """
    doubt = np.sum(2.0 * shares**2 / freedoms, axis=-1)
    return np.asarray(relations * (1.0 + relations) / np.maximum(doubt, relations * (1.0 + relations) / KNOWN))


def direction_freedom(causes: Causes, directions: FloatArray) -> FloatArray:
    """Return the degrees of freedom of the residual along whitened directions, by Welch and Satterthwaite.

    Parameters
    ----------
    causes : Causes
        With their freedoms.
    directions : array, (..., relations, directions)
        Of unit length.

    Returns
    -------
    array, (..., directions)
        Degrees of freedom, never more than `KNOWN`.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> direction_freedom(Causes(np.eye(2), np.array([5.0, 7.0])), np.array([[0.0], [1.0]])).tolist()
    [7.0]
    """
    shares = np.square(np.swapaxes(directions, -1, -2) @ causes.pushes)
    total = np.sum(shares, axis=-1)
    return np.asarray(total**2 / np.maximum(np.sum(shares**2 / causes.freedoms, axis=-1), total**2 / KNOWN))


def statistic_limit(relations: int, freedom: float | FloatArray, alarm_frac: Frac) -> FloatArray:
    """Return the limit of the global statistic.

    Parameters
    ----------
    relations : int
        Independent relations, one or more.
    freedom : float or array
        Degrees of freedom of the covariance.
    alarm_frac : float
        False alarms allowed [frac].

    Returns
    -------
    array
        The limit.

    References
    ----------
    krishnamoorthy-yu-2004

    Example
    -------
    >>> round(float(statistic_limit(4, KNOWN, 0.05)), 3), bool(statistic_limit(4, 20.0, 0.05) > 9.488)
    (9.488, True)
    """
    freedom = np.minimum(freedom, KNOWN)
    second = np.maximum(freedom - relations + 1.0, LEAST_FREEDOM)
    return np.asarray(freedom * relations / second * fdtri(relations, second, 1.0 - alarm_frac))


def statistic_chance(statistic: float, relations: int, freedom: float | FloatArray) -> Frac:
    """Return how often honest readings give a global statistic [frac] as great as this one.

    Parameters
    ----------
    statistic : float
        Global statistic.
    relations : int
        Independent relations; with none there is nothing to disagree.
    freedom : float or array
        Degrees of freedom of the covariance.

    Returns
    -------
    float
        Between 0 and 1 [frac].

    Example
    -------
    >>> round(statistic_chance(9.487729, 4, KNOWN), 4)
    0.05
    """
    if relations < 1:
        return 1.0
    freedom = np.minimum(freedom, KNOWN)
    second = np.maximum(freedom - relations + 1.0, LEAST_FREEDOM)
    return float(fdtrc(relations, second, statistic * second / (freedom * relations)))


def direction_chance(statistic: float | FloatArray, freedom: float | FloatArray) -> Annotated[FloatArray, FRACTION]:
    """Return how often one direction's squared deviate is as great as this one among honest readings [frac].

    Parameters
    ----------
    statistic : float or array
        Squared standardised value.
    freedom : float or array
        Degrees of freedom along the direction.

    Returns
    -------
    array
        Two-sided [frac].

    Example
    -------
    >>> [round(float(direction_chance(z**2, nu)), 4) for z, nu in ((1.959964, KNOWN), (2.776445, 4.0))]
    [0.05, 0.05]
    """
    return np.asarray(2.0 * stdtr(np.minimum(freedom, KNOWN), -np.sqrt(statistic)))


def coverage_factor(freedom: float | FloatArray, coverage_frac: Frac) -> FloatArray:
    """Return how many standard uncertainties cover a share [frac] of the cases, by Student's t.

    Parameters
    ----------
    freedom : float or array
        Degrees of freedom.
    coverage_frac : float
        Share to be covered [frac].

    Returns
    -------
    array
        The factor.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> round(float(coverage_factor(4.0, 0.95)), 3)
    2.776
    """
    return np.asarray(stdtrit(np.minimum(freedom, KNOWN), 0.5 + 0.5 * coverage_frac))
