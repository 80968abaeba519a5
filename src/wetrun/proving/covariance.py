"""Lengths in units of a covariance, worked out so that tiny and great uncertainties may stand side by side."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve

from wetrun.errors import NotDefined

FloatArray: TypeAlias = NDArray[np.float64]

LEAST_PIVOT = 1e-7
"""Least standard deviation, of what the other residuals leave of one over its own, that is not taken for zero."""


def lower_factor(covariance: FloatArray) -> FloatArray:
    """Return the lower triangle whose square is a covariance, worked out in units of its own standard deviations.

    Parameters
    ----------
    covariance : array, (residuals, residuals)
        Of residuals.

    Returns
    -------
    array, (residuals, residuals)
        The triangle.

    Raises
    ------
    NotDefined
        If some combination of the residuals has no uncertainty at all.

    Example
    -------
    >>> lower_factor(np.diag([4.0, 9e-30])).tolist()
    [[2.0, 0.0], [0.0, 3e-15]]
    """
    scale = np.sqrt(np.diag(covariance))
    try:
        shape = np.linalg.cholesky(covariance / np.outer(scale, scale)) if np.all(scale > 0.0) else np.zeros((1, 1))
    except np.linalg.LinAlgError:
        shape = np.zeros((1, 1))
    if float(np.min(np.diag(shape))) < LEAST_PIVOT:
        raise NotDefined(
            "reconciliation of these readings",
            reason="a balance stands between readings without any uncertainty, so nothing may give way",
            remedy="Enter an uncertainty above zero for every reading.",
        )
    return np.asarray(shape * scale[:, None])


def squared_length(covariance: FloatArray, vector: FloatArray) -> float:
    """Return ``v' C^-1 v``: the squared length of a vector in units of a covariance; zero without entries.

    Example
    -------
    >>> squared_length(np.array([[4.0]]), np.array([6.0]))
    9.0
    """
    if not len(vector):
        return 0.0
    return float(vector @ cho_solve((lower_factor(covariance), True), vector))
