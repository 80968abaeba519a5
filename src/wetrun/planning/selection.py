"""Which sets for which passes: an exact integer programme, solved once per objective, in order.

First the acres not held, then what the sets cost, then how often the set changes from one pass to the next, then how
far the usual speed lies from the middle of the window. All objectives are whole numbers, each is fixed at its proven
optimum before the next is solved, and the gap allowed is zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from wetrun.errors import NotProven
from wetrun.planning.reduction import Choice, only, undominated, within, without_hopeless

NONE: Final = -1
"""Set number of a pass for which no tip set is chosen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """A proven choice.

    Attributes
    ----------
    sets : tuple of int
        Set number for each pass, `NONE` if none.
    lost : int
        Area not held, in whole units.
    cost : int
        What the sets cost, in the unit of the choice.
    changes : int
        How often the set changes from one pass to the next.
    off_middle : int
        How far the usual speeds lie from the middle of the windows.
    """

    sets: tuple[int, ...]
    lost: int
    cost: int
    changes: int
    off_middle: int

    @property
    def used(self) -> frozenset[int]:
        """Sets that are used at all."""
        return frozenset(self.sets) - {NONE}


def best_selection(choice: Choice, most_sets: int) -> Selection:
    """Return the best choice with at most so many sets, proven optimal in every objective in turn.

    Parameters
    ----------
    choice : Choice
        The numbers.
    most_sets : int
        Most different sets.

    Returns
    -------
    Selection
        Objectives recomputed from the choice in whole numbers.

    Raises
    ------
    NotProven
        If the solver stops without a proof.

    Notes
    -----
    What cannot be part of any best choice is left out first (`wetrun.planning.reduction`, exact); HiGHS does the rest.

    References
    ----------
    highs-milp
    """
    kept = undominated(choice)
    small = without_hopeless(only(choice, kept), most_sets)
    loss_only = _Programme(small, most_sets, with_changes=False)
    least = loss_only.fixed(loss_only.lost)
    programme = _Programme(within(small, least), most_sets, with_changes=True)
    programme.fixed(programme.lost)
    for objective in (programme.cost, programme.changes, programme.off_middle):
        programme.fixed(objective)
    sets = tuple(NONE if column == NONE else int(kept[column]) for column in programme.columns())
    return scored(choice, sets)


def scored(choice: Choice, sets: tuple[int, ...]) -> Selection:
    """Return a choice of sets with its four objectives counted in whole numbers.

    Parameters
    ----------
    choice : Choice
        The numbers.
    sets : tuple of int
        Set number for each pass, `NONE` if none.

    Returns
    -------
    Selection
        No constraint is checked.
    """
    chosen = [(row, number) for row, number in enumerate(sets) if number != NONE]
    lost = sum(int(choice.lost[row, number]) for row, number in chosen)
    lost += sum(int(choice.lost_without[row]) for row, number in enumerate(sets) if number == NONE)
    cost = sum(int(choice.cost[number]) for number in set(sets) - {NONE})
    changes = sum(before != after for before, after in pairwise(sets) if NONE not in (before, after))
    off_middle = sum(int(choice.off_middle[row, number]) for row, number in chosen)
    return Selection(sets=sets, lost=lost, cost=cost, changes=changes, off_middle=off_middle)


class _Programme:
    """Variables: x[pass, set], u[pass] (no set), y[set], z[pass] (set changed since the pass before).

    Only pairs that are allowed become variables.
    """

    def __init__(self, choice: Choice, most_sets: int, *, with_changes: bool) -> None:
        self._choice = choice
        passes, sets = choice.lost.shape
        self._pairs = np.argwhere(choice.allowed)
        self._x = np.full((passes, sets), NONE)
        self._x[choice.allowed] = np.arange(len(self._pairs))
        self._u = len(self._pairs) + np.arange(passes)
        self._y = len(self._pairs) + passes + np.arange(sets)
        self._z = len(self._pairs) + passes + sets + np.arange(passes)
        self._size = len(self._pairs) + 2 * passes + sets
        # With nothing to fix but acres, the sets alone decide: given them each pass takes its best, a whole number.
        self._whole_pairs = with_changes
        self._rows: list[tuple[list[int], list[float], float, float]] = []
        self._build(most_sets, with_changes=with_changes)
        self._solution: NDArray[np.float64] = np.zeros(self._size)
        lost = choice.lost[choice.allowed]
        self.lost = self._objective((np.arange(len(self._pairs)), lost), (self._u, choice.lost_without))
        self.cost = self._objective((self._y, choice.cost))
        self.changes = self._objective((self._z, np.ones(passes)))
        self.off_middle = self._objective((np.arange(len(self._pairs)), choice.off_middle[choice.allowed]))

    def fixed(self, objective: NDArray[np.float64]) -> int:
        """Minimise an objective, hold every later solve to its optimum, and return it."""
        self._solution = self._solve(objective)
        best = int(np.rint(objective @ self._solution))
        at = np.flatnonzero(objective)
        self._rows.append((at.tolist(), objective[at].tolist(), -np.inf, best + 0.5))
        return best

    def columns(self) -> list[int]:
        """The set chosen for each pass."""
        chosen = np.rint(self._solution[: len(self._pairs)]).astype(bool)
        of_pass = dict(map(tuple, self._pairs[chosen].tolist()))
        return [of_pass.get(row, NONE) for row in range(self._u.size)]

    def _objective(self, *parts: tuple[Any, Any]) -> NDArray[np.float64]:
        objective = np.zeros(self._size)
        for where, weights in parts:
            objective[np.ravel(where)] = np.ravel(weights)
        return objective

    def _build(self, most_sets: int, *, with_changes: bool) -> None:
        choice, (passes, sets) = self._choice, self._x.shape
        for row in range(passes):
            mine = self._x[row][self._x[row] != NONE].tolist()
            self._rows.append(([*mine, int(self._u[row])], [1.0] * (len(mine) + 1), 1.0, 1.0))
        for number, (row, column) in enumerate(self._pairs.tolist()):
            self._rows.append(([number, int(self._y[column])], [1.0, -1.0], -np.inf, 0.0))
            if row and with_changes:
                before = [int(self._u[row - 1]), int(self._z[row])]
                same = int(self._x[row - 1, column])
                at = [number, *before, *([] if same == NONE else [same])]
                self._rows.append((at, [1.0] + [-1.0] * (len(at) - 1), -np.inf, 0.0))
        self._rows.append((self._y.tolist(), [1.0] * sets, 0.0, float(most_sets)))
        if choice.budget is not None:
            self._rows.append((self._y.tolist(), choice.cost.astype(float).tolist(), 0.0, choice.budget + 0.5))

    def _solve(self, objective: NDArray[np.float64]) -> NDArray[np.float64]:
        rows = np.repeat(np.arange(len(self._rows)), [len(row[0]) for row in self._rows])
        at = np.concatenate([row[0] for row in self._rows])
        weights = np.concatenate([row[1] for row in self._rows])
        matrix = sparse.csr_array((weights, (rows, at)), shape=(len(self._rows), self._size))
        low = np.array([row[2] for row in self._rows])
        high = np.array([row[3] for row in self._rows])
        whole = np.ones(self._size)
        whole[: len(self._pairs) + self._u.size] = float(self._whole_pairs)
        result = milp(
            objective,
            constraints=LinearConstraint(matrix, low, high),
            integrality=whole,
            bounds=Bounds(0.0, 1.0),
            options={"mip_rel_gap": 0.0},
        )
        if result.status != 0 or (result.mip_gap or 0.0) > 0.0:
            raise NotProven(
                f"The choice of tip sets was not proven best (solver: {result.message}). "
                "Try fewer passes or fewer tips at once."
            )
        return np.asarray(result.x, dtype=np.float64)
