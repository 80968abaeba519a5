"""The best plan on a menu, exactly: least water, then fewest rinses, then the most equal.

Totals of water are tried from the least up, and for each the number of rinses from one up. Partial plans grow rinse by
rinse and are dropped as soon as a bound says that no completion reaches the level. The bound takes, for every goal and
every cell apart, the best that the water and rinses left could do for it; old mix is never negative and shares are
never negative, so no plan can do better than all of these at once. More water is not assumed to be better.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.changeover.menu import Choice, Menu
from wetrun.spray.bounds import FloatArray
from wetrun.units import Frac

METHOD: Final = "rinse-plan-1"
_SAME: Final = 1e-12


@dataclass(frozen=True, slots=True)
class FoundPlan:
    """A plan on a menu.

    Attributes
    ----------
    choices : tuple of Choice
        Rinses in order.
    left_frac : float
        Greatest goal after the last: concentration as a share of the old tank mix [frac].
    """

    choices: tuple[Choice, ...]
    left_frac: Frac

    @property
    def units(self) -> int:
        """Water steps in all."""
        return sum(choice.units for choice in self.choices)

    @property
    def squares(self) -> int:
        """Sum of squared water steps: least when rinses are most equal."""
        return sum(choice.units**2 for choice in self.choices)


@dataclass(frozen=True, slots=True)
class _Partial:
    """Plans begun that have used the same water: their choices, shape (plans, rinses), and what is left."""

    picks: np.ndarray
    left: FloatArray


def left_after(menu: Menu, choices: Sequence[Choice]) -> Frac:
    """Return the greatest goal after these rinses in this order [frac].

    Parameters
    ----------
    menu : Menu
        Start and goals.
    choices : sequence of Choice
        Rinses in order.

    Returns
    -------
    Frac
        Concentration as a share of the old tank mix [frac].
    """
    left = menu.start
    for choice in choices:
        left = choice.shares @ left
    return float((menu.goals @ left).max())


class RinseSearch:
    """Search on one menu, with its bounds kept.

    Parameters
    ----------
    menu : Menu
        Rinses, start, goals.
    most_units : int
        Most water steps of a plan.
    most_rinses : int
        Most rinses of a plan.
    """

    def __init__(self, menu: Menu, *, most_units: int, most_rinses: int) -> None:
        self.menu = menu
        self.most_units = most_units
        self.most_rinses = most_rinses
        self._bounds: dict[tuple[int, int], FloatArray | None] = {}

    def least_water(self, level_frac: Frac) -> FoundPlan | None:
        """Return the plan with the least water that reaches a level.

        Parameters
        ----------
        level_frac : float
            Concentration not to be passed [frac].

        Returns
        -------
        FoundPlan or None
            Of equal water the fewest rinses, then the most equal, then the least left; None if none reaches it.
        """
        for units in range(self.most_units + 1):
            for rinses in range(self.most_rinses + 1):
                plans = self._plans(units, rinses, level_frac)
                if plans:
                    return min(plans, key=lambda plan: (plan.squares, plan.left_frac))
        return None

    def least_left(self) -> FoundPlan:
        """Return the plan that leaves least, of all the water there is or part of it.

        Returns
        -------
        FoundPlan
            No rinse at all if none can be done; of plans that leave the same the one with least water.
        """
        best = FoundPlan((), left_after(self.menu, ()))
        for units in range(self.most_units, 0, -1):
            best = min((best, self.least_left_with(units, best)), key=lambda plan: (plan.left_frac, plan.units))
        return best

    def least_left_with(self, units: int, rival: FoundPlan | None = None) -> FoundPlan:
        """Return the plan that leaves least of those with exactly so many water steps.

        Parameters
        ----------
        units : int
            Water steps.
        rival : FoundPlan or None
            A plan it has to beat; None for none.

        Returns
        -------
        FoundPlan
            The rival, or no rinse, if nothing beats it.
        """
        best = FoundPlan((), left_after(self.menu, ())) if rival is None else rival
        for rinses in range(1, self.most_rinses + 1):
            for plan in self._better(units, rinses, best):
                best = min(best, plan, key=lambda plan: plan.left_frac)
        return best

    def _better(self, units: int, rinses: int, best: FoundPlan) -> Iterator[FoundPlan]:
        """Plans of this shape no worse than the best so far; a greedy one first, so that the bound bites at once."""
        greedy = self._greedy(units, rinses)
        if greedy is not None:
            yield greedy
            best = min(best, greedy, key=lambda plan: plan.left_frac)
        yield from self._plans(units, rinses, best.left_frac * (1.0 - _SAME))

    def _greedy(self, units: int, rinses: int) -> FoundPlan | None:
        """As equal as the menu allows, of the first way."""
        sizes = [units // rinses + (n < units % rinses) for n in range(rinses)]
        by_units = {choice.units: choice for choice in reversed(self.menu.choices)}
        if not all(size in by_units for size in sizes):
            return None
        choices = tuple(by_units[size] for size in sizes)
        return FoundPlan(choices, left_after(self.menu, choices))

    def _bound(self, rinses: int, units: int) -> FloatArray | None:
        """Least of every goal per old mix in every cell, with so many rinses and water left; None if none fits."""
        key = (rinses, units)
        if key not in self._bounds:
            self._bounds[key] = self._new_bound(rinses, units)
        return self._bounds[key]

    def _new_bound(self, rinses: int, units: int) -> FloatArray | None:
        if rinses == 0:
            return self.menu.goals if units == 0 else None
        least: FloatArray | None = None
        for choice in self.menu.choices:
            rest = self._bound(rinses - 1, units - choice.units) if choice.units <= units else None
            if rest is not None:
                here = rest @ choice.shares
                least = here if least is None else np.minimum(least, here)
        return least

    def _plans(self, units: int, rinses: int, level_frac: Frac) -> list[FoundPlan]:
        """Every plan of exactly this water and number of rinses that stays at or below a level."""
        start = _Partial(np.zeros((1, 0), dtype=np.int64), self.menu.start[:, None])
        begun = {units: start} if self._may_reach(rinses, units, start.left, level_frac).any() else {}
        for later in range(rinses - 1, -1, -1):
            begun = self._grown(begun, later, level_frac)
        done = begun.get(0)
        if done is None:
            return []
        left = (self.menu.goals @ done.left).max(axis=0)
        choices = self.menu.choices
        return [
            FoundPlan(tuple(choices[pick] for pick in picks), float(value))
            for picks, value in zip(done.picks, left, strict=True)
        ]

    def _grown(self, begun: dict[int, _Partial], later: int, level_frac: Frac) -> dict[int, _Partial]:
        """Every begun plan with every rinse added that may still reach the level; keyed by water left."""
        parts: dict[int, list[_Partial]] = {}
        for units, partial in begun.items():
            for pick, choice in enumerate(self.menu.choices):
                if choice.units > units or self._bound(later, units - choice.units) is None:
                    continue
                left = choice.shares @ partial.left
                keep = self._may_reach(later, units - choice.units, left, level_frac)
                if keep.any():
                    picks = np.column_stack([partial.picks[keep], np.full(int(keep.sum()), pick)])
                    parts.setdefault(units - choice.units, []).append(_Partial(picks, left[:, keep]))
        return {
            units: _Partial(np.vstack([p.picks for p in some]), np.hstack([p.left for p in some]))
            for units, some in parts.items()
        }

    def _may_reach(self, rinses: int, units: int, left: FloatArray, level_frac: Frac) -> np.ndarray:
        bound = self._bound(rinses, units)
        if bound is None:
            return np.zeros(left.shape[1], dtype=bool)
        reach: np.ndarray = (bound @ left).max(axis=0) <= level_frac
        return reach
