"""Readings left out one after the other, until what remains agrees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wetrun.proving.gross_error import ALARM_FRAC, global_limit
from wetrun.proving.reconcile import Balances, FloatArray, Reconciliation, reconciled
from wetrun.units import Frac


@dataclass(frozen=True, slots=True)
class Elimination:
    """One reading left out, and what is left.

    Attributes
    ----------
    reading : int
        Place of the reading.
    statistic, limit : float
        Global statistic without it, and its limit.
    redundancy : int
        Relations left.
    """

    reading: int
    statistic: float
    limit: float
    redundancy: int


def left_out(found: Reconciliation, balances: Balances, reading: int) -> Reconciliation:
    """Return the reconciliation with one reading taken for unmeasured.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.
    balances : Balances
        What it was made with.
    reading : int
        Place of the reading.

    Returns
    -------
    Reconciliation
        Of the remaining readings, in their order.
    """
    keep = np.arange(len(found.readings)) != reading
    unmeasured = np.column_stack((balances.unmeasured, balances.measured[:, reading]))
    rest = Balances(balances.measured[:, keep], balances.constant, unmeasured)
    return reconciled(found.readings[keep], found.covariance[np.ix_(keep, keep)], rest)


def serially_eliminated(
    readings: FloatArray, covariance: FloatArray, balances: Balances, *, alarm_frac: Frac = ALARM_FRAC
) -> Sequence[Elimination]:
    """Return the readings to leave out, one after the other, until the rest agrees.

    Parameters
    ----------
    readings : array, (readings,)
        Measured values.
    covariance : array, (readings, readings)
        Of their errors.
    balances : Balances
        What must hold.
    alarm_frac : float
        False alarms allowed in each global test [frac].

    Returns
    -------
    sequence of Elimination
        Empty if all agree. At each step the reading goes without which the global statistic is least.

    References
    ----------
    serial-elimination
    """
    places = list(range(len(readings)))
    found, gone = reconciled(readings, covariance, balances), []
    while found.redundancy > 1 and found.statistic > global_limit(found.redundancy, alarm_frac):
        trials = {n: left_out(found, balances, n) for n in range(len(places)) if found.redundant[n]}
        worst = min(trials, key=lambda n: trials[n].statistic)
        unmeasured = np.column_stack((balances.unmeasured, balances.measured[:, worst]))
        balances = Balances(np.delete(balances.measured, worst, axis=1), balances.constant, unmeasured)
        found = trials[worst]
        limit = global_limit(found.redundancy, alarm_frac) if found.redundancy else 0.0
        gone.append(Elimination(places.pop(worst), found.statistic, limit, found.redundancy))
    return gone
