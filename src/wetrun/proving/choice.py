"""Which suspected faults explain the residuals: one alone if it does, or else the best two.

Works on many wet runs at once, so that the answer for one and the expected power over thousands come out of the same
lines. Coordinates are whitened: the covariance of the residuals, as the run itself estimates it, is the unit matrix.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from wetrun.proving.covariance import FloatArray
from wetrun.proving.reference import Causes, matched_freedom, statistic_limit
from wetrun.units import Frac

IndexArray: TypeAlias = NDArray[np.intp]
BoolArray: TypeAlias = NDArray[np.bool_]

NOBODY = -1
DIGITS = 6
"""Pairs that explain equally well are taken in the order of their names, not of the last bits of their statistics."""


@dataclass(frozen=True, slots=True)
class Residuals:
    """What many wet runs leave of their balances, and what could have.

    Attributes
    ----------
    values : array, (runs, relations)
        Residuals, whitened.
    directions : array, (runs, relations, suspects)
        Unit imprints of what may be wrong.
    ups, downs : array, (suspects,)
        Whether a suspect can go that way along its direction.
    causes : Causes
        Of the errors: pushes (runs, relations, causes).
    """

    values: FloatArray
    directions: FloatArray
    ups: BoolArray
    downs: BoolArray
    causes: Causes


@dataclass(frozen=True, slots=True)
class Choice:
    """What explains each of many residuals.

    Attributes
    ----------
    statistic, limit : array, (runs,)
        Global statistic and its limit.
    first, second : array of int
        Suspects named, surest first; -1 for nobody.
    first_gain, second_gain : array
        What the global statistic would lose without each, given the other.
    """

    statistic: FloatArray
    limit: FloatArray
    first: IndexArray
    second: IndexArray
    first_gain: FloatArray
    second_gain: FloatArray

    @property
    def alarm(self) -> BoolArray:
        """Whether the global statistic is beyond its limit."""
        return self.statistic > self.limit


def chosen(runs: Residuals, alarm_frac: Frac) -> Choice:
    """Return what explains the residuals of each run: nobody, the best suspect, or the best two.

    Parameters
    ----------
    runs : Residuals
        Of many wet runs.
    alarm_frac : float
        False alarms allowed [frac].

    Returns
    -------
    Choice
        One entry per run.

    Notes
    -----
    Serial elimination by likelihood ratio, with both names chosen anew at the second step: the best pair need not
    hold the best single one. A suspect that would have to go a way it cannot is passed over. With two relations any
    two suspects explain everything, so that a second one is never sought with fewer than two.

    References
    ----------
    narasimhan-mah-1987, serial-elimination
    """
    count, relations, many = runs.directions.shape
    statistic = np.einsum("nr,nr->n", runs.values, runs.values)
    nobody, nothing = np.full(count, NOBODY), np.zeros(count)
    if not relations:
        return Choice(statistic, nothing + 1.0, nobody, nobody.copy(), nothing, nothing.copy())
    freedom = matched_freedom(runs.causes.shares, runs.causes.freedoms, relations)
    limit = statistic_limit(relations, freedom, alarm_frac)
    choice = Choice(statistic, limit, nobody, nobody.copy(), nothing, nothing.copy())
    if not many:
        return choice
    deviates = np.einsum("nr,nrk->nk", runs.values, runs.directions)
    rows = _name_one(choice, deviates, runs)
    if relations > 1 and many > 1 and len(rows):
        left = choice.statistic[rows] - choice.first_gain[rows]
        rows = rows[left > _limit_after(choice.first, rows, runs, alarm_frac)]
        if len(rows):
            _name_two(choice, rows, deviates[rows], runs)
    return choice


def _name_one(choice: Choice, deviates: FloatArray, runs: Residuals) -> IndexArray:
    """Write the best single suspect of each run with an alarm; return those runs."""
    alone = np.where(np.where(deviates > 0.0, runs.ups, runs.downs), deviates**2, 0.0)
    first = np.argmax(np.round(alone, DIGITS), axis=1)
    gain = alone[np.arange(len(first)), first]
    rows = np.flatnonzero(choice.alarm & (gain > 0.0))
    choice.first[rows], choice.first_gain[rows] = first[rows], gain[rows]
    return rows


def _limit_after(first: IndexArray, rows: IndexArray, runs: Residuals, alarm_frac: Frac) -> FloatArray:
    """Limit of what is left once a suspect is let in."""
    relations = runs.causes.relations - 1
    pushes = runs.causes.pushes[rows]
    gone = np.einsum("nr,nrc->nc", runs.directions[rows, :, first[rows]], pushes)
    left = np.clip(Causes(pushes, runs.causes.freedoms).shares - gone**2, 0.0, None)
    return statistic_limit(relations, matched_freedom(left, runs.causes.freedoms, relations), alarm_frac)


def _name_two(choice: Choice, rows: IndexArray, deviates: FloatArray, runs: Residuals) -> None:
    """Write the best pair over the best single one, where a pair explains more."""
    ones, others = pairs_of(deviates.shape[1])
    directions = runs.directions[rows]
    likeness = np.einsum("nrk,nrl->nkl", directions, directions)[:, ones, others]
    apart = 1.0 - likeness**2
    one = (deviates[:, ones] - likeness * deviates[:, others]) / apart
    other = (deviates[:, others] - likeness * deviates[:, ones]) / apart
    possible = np.where(one > 0.0, runs.ups[ones], runs.downs[ones])
    possible &= np.where(other > 0.0, runs.ups[others], runs.downs[others])
    joint = np.where(possible, one * deviates[:, ones] + other * deviates[:, others], 0.0)
    best = np.argmax(np.round(joint, DIGITS), axis=1)
    places = np.arange(len(best))
    found = joint[places, best] > choice.first_gain[rows]
    rows, places, best = rows[found], places[found], best[found]
    gains = np.stack([one[places, best] ** 2, other[places, best] ** 2]) * apart[places, best]
    names = np.stack([ones[best], others[best]])
    order = np.argsort(-gains, axis=0, kind="stable")
    choice.first[rows], choice.second[rows] = np.take_along_axis(names, order, 0)
    choice.first_gain[rows], choice.second_gain[rows] = np.take_along_axis(gains, order, 0)


def pairs_of(many: int) -> tuple[IndexArray, IndexArray]:
    """Return every pair of so many suspects, the lower place first.

    Parameters
    ----------
    many : int
        How many suspects.

    Returns
    -------
    tuple of array of int
        First and second of each pair.

    Example
    -------
    >>> [places.tolist() for places in pairs_of(3)]
    [[0, 0, 1], [1, 2, 2]]
    """
    ones, others = np.triu_indices(many, 1)
    return ones, others


def alike_pairs(directions: FloatArray, pair: tuple[int, int], tolerance: float) -> tuple[tuple[int, int], ...]:
    """Return the other pairs that explain whatever a pair explains: those whose imprints lie in the same plane.

    Parameters
    ----------
    directions : array, (relations, suspects)
        Unit imprints, whitened.
    pair : tuple of int
        Two suspects.
    tolerance : float
        Share of an imprint that may stand out of the plane, squared, and still count as none.

    Returns
    -------
    tuple of pairs
        In order; empty if the pair stands alone.

    Example
    -------
    Three imprints in a plane: any two of them explain what the others do.

    >>> imprints = np.array([[1.0, 0.0, 0.6, 0.0], [0.0, 1.0, 0.8, 0.0], [0.0, 0.0, 0.0, 1.0]])
    >>> alike_pairs(imprints, (0, 1), 1e-9)
    ((0, 2), (1, 2))
    """
    plane = np.linalg.qr(directions[:, list(pair)])[0]
    out = 1.0 - np.sum((plane.T @ directions) ** 2, axis=0)
    inside = np.flatnonzero(out < tolerance).tolist()
    every = ((one, other) for n, one in enumerate(inside) for other in inside[n + 1 :])
    return tuple(found for found in every if set(found) != set(pair))
