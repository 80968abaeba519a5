"""Leaving out what cannot be part of any best choice of tip sets, exactly, before the integer programme is solved.

Three reasons suffice for most tips of a catalogue: another set is at least as good in everything; a bound shows that
every choice with this set loses more than one already found; a single pass would lose more with it than all can spare.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]
BOUND_STEPS: Final = 150


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The numbers a choice is made from; passes in the order they are sprayed.

    Attributes
    ----------
    lost : ndarray of int
        Area not held, in whole units, shape (passes, sets).
    lost_without : ndarray of int
        Area lost if no set is chosen, shape (passes,).
    allowed : ndarray of bool
        Whether a set may be used for a pass at all, shape (passes, sets).
    cost : ndarray of int
        What a set costs, 0 if owned: cents, or tips to buy where prices are not known; shape (sets,).
    off_middle : ndarray of int
        How far the usual speed lies from the middle of the window, shape (passes, sets).
    budget : int or None
        Most that may be spent, in the unit of ``cost``.
    """

    lost: IntArray
    lost_without: IntArray
    allowed: BoolArray
    cost: IntArray
    off_middle: IntArray
    budget: int | None = None


def only(choice: Choice, kept: IntArray) -> Choice:
    """Return the same choice with some of its sets.

    Parameters
    ----------
    choice : Choice
        The numbers.
    kept : ndarray of int
        Set numbers to keep.

    Returns
    -------
    Choice
        Sets renumbered in the order of ``kept``.
    """
    return Choice(
        lost=choice.lost[:, kept],
        lost_without=choice.lost_without,
        allowed=choice.allowed[:, kept],
        cost=choice.cost[kept],
        off_middle=choice.off_middle[:, kept],
        budget=choice.budget,
    )


def undominated(choice: Choice) -> IntArray:
    """Return the numbers of the sets that no other set replaces at no loss; of equals the first stays.

    Parameters
    ----------
    choice : Choice
        The numbers.

    Returns
    -------
    ndarray of int
        Ascending.

    Notes
    -----
    Swapping a set for one that is nowhere worse (acres, cost, distance from the middle, where it is allowed) worsens no
    objective: neither the number of sets nor the number of changes can rise when two sets become one.
    """
    huge = np.iinfo(np.int64).max // 4
    lost = np.where(choice.allowed, choice.lost, huge)
    off = np.where(choice.allowed, choice.off_middle, huge)
    traits = np.vstack([lost, off, choice.cost[None, :]]).T
    kept: list[int] = []
    for number in np.lexsort((np.arange(len(traits)), traits.sum(axis=1, dtype=np.float64))):
        beaten = bool(kept) and bool(np.any(np.all(traits[kept] <= traits[number], axis=1)))
        if not beaten and choice.allowed[:, number].any():
            kept.append(int(number))
    return np.array(sorted(kept), dtype=np.int64)


def within(choice: Choice, most_lost: int) -> Choice:
    """Return the choice without the pairs that cannot be part of a plan losing no more than so much.

    Parameters
    ----------
    choice : Choice
        The numbers.
    most_lost : int
        Area lost by some choice already known.

    Returns
    -------
    Choice
        With fewer pairs allowed: those that alone eat up more than all passes can spare.
    """
    least = _least_lost(choice, list(range(choice.cost.size)))
    spare = most_lost - int(least.sum())
    return replace(choice, allowed=choice.allowed & (choice.lost - least[:, None] <= spare))


def without_hopeless(choice: Choice, most_sets: int) -> Choice:
    """Return the choice without the sets that no best plan with so many sets can use.

    Parameters
    ----------
    choice : Choice
        The numbers.
    most_sets : int
        Most different sets.

    Returns
    -------
    Choice
        With those sets allowed nowhere.

    Notes
    -----
    Lagrangian bound of the p-median problem: prices on the passes make each set worth a certain gain; a choice that
    must use a set of too small a gain cannot reach what a quick search has already found. Ties stay, so the objectives
    after the first lose nothing.

    References
    ----------
    p-median-lagrangian
    """
    known = _quick_lost(choice, most_sets)
    hopeless = np.zeros(choice.cost.size, dtype=bool)
    lost = np.where(choice.allowed, choice.lost, np.inf).astype(np.float64)
    prices = np.sort(np.hstack([lost, choice.lost_without[:, None]]), axis=1)[:, : most_sets + 1].mean(axis=1)
    prices = np.minimum(np.where(np.isfinite(prices), prices, choice.lost_without), choice.lost_without)
    step = 1.0
    for _ in range(BOUND_STEPS):
        gains = np.minimum(lost - prices[:, None], 0.0).sum(axis=0)
        best = np.argsort(gains, kind="stable")[:most_sets]
        bound = prices.sum() + gains[best].sum()
        swap = gains - (gains[best[-1]] if best.size else 0.0)
        # A whole unit of slack: gains are floats, areas whole numbers.
        hopeless |= ~np.isin(np.arange(gains.size), best) & (bound + swap > known + 1.0)
        slope = 1.0 - (lost[:, best] < prices[:, None]).sum(axis=1)
        if known - bound < 1.0 or not slope.any():
            break
        prices = np.clip(prices + step * (known - bound) * slope / (slope @ slope), 0.0, choice.lost_without)
        step *= 0.97
    return within(replace(choice, allowed=choice.allowed & ~hopeless[None, :]), known)


def _least_lost(choice: Choice, sets: list[int]) -> IntArray:
    """Area lost per pass if each takes the best of some sets, or none."""
    lost = np.where(choice.allowed[:, sets], choice.lost[:, sets], np.iinfo(np.int64).max)
    best: IntArray = np.minimum(lost.min(axis=1, initial=np.iinfo(np.int64).max), choice.lost_without)
    return best


def _quick_lost(choice: Choice, most_sets: int) -> int:
    """Area lost by a choice found quickly (add the best set, then swap while it helps): never below the optimum."""
    lost = np.where(choice.allowed, choice.lost, choice.lost_without[:, None])
    sets: list[int] = []
    least = int(choice.lost_without.sum())
    for _ in range(3 * most_sets):
        moves = [sets] if len(sets) < most_sets else [sets[:at] + sets[at + 1 :] for at in range(len(sets))]
        tried = [(*_best_added(choice, lost, kept), kept) for kept in moves]
        total, number, kept = min(tried, key=lambda trial: (trial[0], trial[1]))
        if number < 0 or total >= least:
            break
        least, sets = total, [*kept, number]
    return least


def _best_added(choice: Choice, lost: IntArray, kept: list[int]) -> tuple[int, int]:
    """Area lost with one more set, and which: -1 if none can be afforded."""
    spent = int(choice.cost[kept].sum())
    totals = np.minimum(lost, _least_lost(choice, kept)[:, None]).sum(axis=0)
    if choice.budget is not None:
        totals = np.where(choice.cost + spent <= choice.budget, totals, np.iinfo(np.int64).max)
    number = int(np.argmin(totals)) if totals.size else -1
    affordable = number >= 0 and totals[number] < np.iinfo(np.int64).max
    return (int(totals[number]), number) if affordable else (np.iinfo(np.int64).max, -1)
