"""Reconciled readings: the least change that makes readings agree with balances that must hold.

``min (y - x)' V^-1 (y - x)`` subject to ``A x + B u = c``. Quantities `u` that nobody measured are projected out. The
relations are linear here; whoever has others linearises them first (the cross-check works in logarithms).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, qr

from wetrun.proving.covariance import FloatArray, lower_factor, squared_length

ROUNDING = 1e-9
"""Relative size below which a number that ought to be zero is taken for zero."""


@dataclass(frozen=True, slots=True)
class Balances:
    """Relations that readings and unmeasured quantities must satisfy: ``measured @ x + unmeasured @ u = constant``.

    Attributes
    ----------
    measured : array, (relations, readings)
        Coefficients of the readings.
    constant : array, (relations,)
        Right-hand side.
    unmeasured : array, (relations, quantities)
        Coefficients of what nobody measured; zero columns wide if everything was.
    """

    measured: FloatArray
    constant: FloatArray
    unmeasured: FloatArray

    @classmethod
    def of(
        cls, measured: FloatArray, constant: FloatArray | None = None, unmeasured: FloatArray | None = None
    ) -> Balances:
        """Return balances of arrays; what is left out is zero, or no quantity at all."""
        rows = len(measured)
        constant = np.zeros(rows) if constant is None else constant
        return cls(measured, constant, np.zeros((rows, 0)) if unmeasured is None else unmeasured)


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """Readings, what they become, and everything the tests need.

    Attributes
    ----------
    readings, reconciled : array, (readings,)
        As they came, and as they satisfy the balances.
    covariance : array, (readings, readings)
        Of the readings.
    coefficients : array, (independent relations, readings)
        The balances with the unmeasured projected out; as they came if nothing was unmeasured and none is a repeat.
    residuals : array, (independent relations,)
        What the readings leave of them.
    residual_covariance : array
        Of those residuals.
    adjustment_covariance : array, (readings, readings)
        Of the changes; zero on the diagonal where a reading cannot be checked.
    """

    readings: FloatArray
    reconciled: FloatArray
    covariance: FloatArray
    coefficients: FloatArray
    residuals: FloatArray
    residual_covariance: FloatArray
    adjustment_covariance: FloatArray

    @property
    def adjustments(self) -> FloatArray:
        """Change of each reading, reading less reconciled."""
        return self.readings - self.reconciled

    @property
    def statistic(self) -> float:
        """Global statistic: the squared residuals in units of their own covariance."""
        return squared_length(self.residual_covariance, self.residuals)

    @property
    def redundancy(self) -> int:
        """How many independent relations the readings can break."""
        return len(self.residuals)

    @property
    def adjustability(self) -> FloatArray:
        """One less the ratio of the standard uncertainty after to that before: 0 if nothing else checks a reading."""
        before = np.diag(self.covariance)
        after = np.clip(before - np.diag(self.adjustment_covariance), 0.0, None)
        return np.asarray(1.0 - np.sqrt(after / before))

    @property
    def redundant(self) -> NDArray[np.bool_]:
        """Whether anything else checks a reading."""
        return np.diag(self.adjustment_covariance) > ROUNDING * np.diag(self.covariance)


def reconciled(readings: FloatArray, covariance: FloatArray, balances: Balances) -> Reconciliation:
    """Return the readings changed as little as their uncertainties allow, so that every balance holds.

    Parameters
    ----------
    readings : array, (readings,)
        Measured values.
    covariance : array, (readings, readings)
        Of their errors; shared causes stand off the diagonal.
    balances : Balances
        What must hold.

    Returns
    -------
    Reconciliation
        Values, residuals and covariances.

    Raises
    ------
    NotDefined
        If a balance holds between readings that have no uncertainty at all.

    References
    ----------
    narasimhan-jordache-2000

    Example
    -------
    One litre in, half a litre less half a litre out: the misfit is shared by variance.

    >>> y, v = np.array([1.03, 0.5, 0.5]), np.eye(3) * 1e-4
    >>> reconciled(y, v, Balances.of(np.array([[1.0, -1.0, -1.0]]))).reconciled.round(3).tolist()
    [1.02, 0.51, 0.51]
    """
    coefficients, constant = projected(balances)
    residuals = coefficients @ readings - constant
    residual_covariance = coefficients @ covariance @ coefficients.T
    if not len(residuals):
        still = np.zeros_like(covariance)
        return Reconciliation(readings, readings, covariance, coefficients, residuals, residual_covariance, still)
    gain = cho_solve((lower_factor(residual_covariance), True), coefficients @ covariance).T
    return Reconciliation(
        readings=readings,
        reconciled=readings - gain @ residuals,
        covariance=covariance,
        coefficients=coefficients,
        residuals=residuals,
        residual_covariance=residual_covariance,
        adjustment_covariance=gain @ coefficients @ covariance,
    )


def projected(balances: Balances) -> tuple[FloatArray, FloatArray]:
    """Return coefficients and right-hand side of the relations that hold between readings alone.

    Parameters
    ----------
    balances : Balances
        With unmeasured quantities or without.

    Returns
    -------
    tuple of array
        Independent relations (relations, readings), and their right-hand side.

    References
    ----------
    crowe-projection

    Example
    -------
    Two readings of one unknown speed: one relation is left, that they agree.

    >>> rows, right = projected(Balances.of(np.eye(2), np.zeros(2), -np.ones((2, 1))))
    >>> bool(abs(rows @ [1.0, 1.0])[0] < 1e-12), rows.shape
    (True, (1, 2))
    """
    rows, right = balances.measured, balances.constant
    if balances.unmeasured.size:
        # Every combination of relations in which the unmeasured cancel.
        free = _cancelling(balances.unmeasured)
        rows, right = free @ rows, free @ right
    return _independent(rows, right)


def _cancelling(unmeasured: FloatArray) -> FloatArray:
    """Every independent combination of relations in which the unmeasured cancel, as rows of unit length.

    By Householder's reflections, which always come to an end; a singular value decomposition may not.
    """
    basis, triangle, _ = qr(unmeasured, pivoting=True)
    sizes = np.abs(np.diag(triangle))
    rank = int(np.count_nonzero(sizes > ROUNDING * max(float(sizes[0]), 1.0)))
    return np.asarray(basis[:, rank:].T)


def _independent(rows: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Leave out relations that follow from the others, or say nothing of any reading."""
    if not rows.size:
        return np.zeros((0, rows.shape[1])), np.zeros(0)
    triangle, order = qr(rows.T, mode="r", pivoting=True)[:2]
    sizes = np.abs(np.diag(triangle))
    rank = int(np.count_nonzero(sizes > ROUNDING * max(float(sizes[0]), 1.0)))
    kept = np.sort(order[:rank])
    return rows[kept], right[kept]
