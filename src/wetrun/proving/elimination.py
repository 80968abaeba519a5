"""Readings left out one after the other, or instrument by instrument, until what remains agrees."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import lgamma, log, log1p
from typing import TypeAlias

import numpy as np
from scipy.special import gammaincc

from wetrun.errors import NotDefined
from wetrun.proving.gross_error import ALARM_FRAC, global_limit
from wetrun.proving.reconcile import Balances, Reconciliation, reconciled

Places: TypeAlias = tuple[int, ...]
Limit: TypeAlias = Callable[[Reconciliation, Places], float]
"""Limit of the global statistic of what remains, and the places that remain."""

ALIKE = 1e-6
"""Least difference of two falls, as logarithms of their chances, that tells which explains more."""

LEAST_CHANCE = 1e-280
"""Below it a chance is worked out by its logarithm."""


@dataclass(frozen=True, slots=True)
class Elimination:
    """Readings left out together, and what is left.

    Attributes
    ----------
    readings : tuple of int
        Their places; one, unless several were to go together.
    or_else : tuple of tuple of int
        Others that could have gone instead and leave just the same.
    statistic, limit : float
        Global statistic without them, and its limit.
    redundancy : int
        Relations left.
    """

    readings: Places
    or_else: tuple[Places, ...]
    statistic: float
    limit: float
    redundancy: int


def left_out(found: Reconciliation, readings: Sequence[int]) -> Reconciliation:
    """Return the reconciliation with some readings taken for unmeasured.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.
    readings : sequence of int
        Places of those that go.

    Returns
    -------
    Reconciliation
        Of the remaining readings, in their order.
    """
    keep = np.ones(len(found.readings), dtype=bool)
    keep[list(readings)] = False
    constant = found.coefficients @ found.readings - found.residuals
    rest = Balances(found.coefficients[:, keep], constant, found.coefficients[:, ~keep])
    return reconciled(found.readings[keep], found.covariance[np.ix_(keep, keep)], rest)


def known_limit(found: Reconciliation, _: Places) -> float:
    """Return the limit if every uncertainty is known."""
    return global_limit(found.redundancy, ALARM_FRAC)


def serially_eliminated(
    found: Reconciliation, units: Sequence[Places] | None = None, *, limit: Limit = known_limit
) -> tuple[Elimination, ...]:
    """Return what to leave out, one after the other, until the rest agrees.

    Parameters
    ----------
    found : Reconciliation
        Reconciled readings.
    units : sequence of tuple of int
        Places that go together; every reading on its own if left out.
    limit : callable
        Of the global statistic of what remains.

    Returns
    -------
    tuple of Elimination
        Empty if all agree, or if nothing can go without leaving nothing to check.

    Notes
    -----
    At each step that goes which honest readings would let the statistic fall as far the most seldom: the least
    statistic left, where all take the same number of relations with them.

    References
    ----------
    serial-elimination

    Example
    -------
    Three clocks, one of them off.

    >>> three = Balances.of(np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0]]))
    >>> [step.readings for step in serially_eliminated(reconciled(np.array([0.0, 9.0, 0.1]), np.eye(3), three))]
    [(1,)]
    """
    sets = [(n,) for n in range(len(found.readings))] if units is None else list(units)
    here: Places = tuple(range(len(found.readings)))
    gone: list[Elimination] = []
    while found.redundancy > 1 and found.statistic > limit(found, here):
        step = _step(found, here, sets, limit)
        if step is None:
            break
        eliminated, found, here = step
        gone.append(eliminated)
    return tuple(gone)


def _step(
    found: Reconciliation, here: Places, sets: Sequence[Places], limit: Limit
) -> tuple[Elimination, Reconciliation, Places] | None:
    """Take out the set that explains most for the relations it costs; None if any would leave nothing to check."""
    trials: list[tuple[float, Places, Reconciliation]] = []
    for each in sets:
        gone = [here.index(n) for n in each if n in here]
        try:
            rest = left_out(found, gone) if gone else found
        except NotDefined:
            continue  # what would be left stands on nothing uncertain
        cost = found.redundancy - rest.redundancy
        if cost and rest.redundancy:
            trials.append((_seldom(found.statistic - rest.statistic, cost), each, rest))
    if not trials:
        return None
    most = max(seldom for seldom, _, _ in trials)
    best, *others = [trial for trial in trials if trial[0] >= most - ALIKE]
    left = tuple(n for n in here if n not in best[1])
    rest = best[2]
    or_else = tuple(each for _, each, _ in others)
    return Elimination(best[1], or_else, rest.statistic, limit(rest, left), rest.redundancy), rest, left


def _seldom(fall: float, cost: int) -> float:
    """How seldom honest readings let the statistic fall so far by so many relations: the chance's logarithm, negated.

    Far out, where the chance itself is nothing to a computer, by the first terms of its expansion.
    """
    half, shape = max(fall, 0.0) / 2.0, cost / 2.0
    chance = float(gammaincc(shape, half))
    if chance > LEAST_CHANCE:
        return -log(chance)
    return half - (shape - 1.0) * log(half) + lgamma(shape) - log1p((shape - 1.0) / half)
