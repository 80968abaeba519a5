"""The rinses a plan may be made of: every way with every whole number of water steps, and what each does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from wetrun.changeover.rinse import Rinse, RinseSetup, Way, rinse_effect
from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, M3


@dataclass(frozen=True, slots=True)
class Choice:
    """One rinse on the menu.

    Attributes
    ----------
    way : Way
        How.
    units : int
        Water steps it takes.
    shares : array
        Share of the old mix of each cell (column) that stays in each cell (row), exits left out.
    """

    way: Way
    units: int
    shares: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Menu:
    """What a plan may be made of, and what it is judged by.

    Attributes
    ----------
    choices : tuple of Choice
        Rinses, by way and water.
    start : array
        Old mix in each cell before the first rinse, shape (cells,).
    goals : array
        Each row times old mix is one concentration that counts, shape (goals, cells).
    """

    choices: tuple[Choice, ...]
    start: FloatArray
    goals: FloatArray


def rinse_choices(
    setup: RinseSetup, ways: Sequence[Way], *, step_m3: Annotated[float, CUBIC_METRE], most: int
) -> tuple[Choice, ...]:
    """Return every rinse the machine can do with one to so many steps of water.

    Parameters
    ----------
    setup : RinseSetup
        How rinses are done.
    ways : sequence of Way
        Ways allowed.
    step_m3 : float
        One step of water [m3].
    most : int
        Most steps of water in one rinse.

    Returns
    -------
    tuple of Choice
        Water too little to fill the lines, or too much for the tank, is left out: that rinse cannot be done.
    """
    inside = _inside(setup)
    found = []
    for way in ways:
        for units in range(1, most + 1):
            shares = _shares(setup, way, units * step_m3)
            if shares is not None:
                found.append(Choice(way, units, shares[inside]))
    return tuple(found)


def leading_goals(goals: FloatArray) -> FloatArray:
    """Return the goals that can be the greatest for some machine; a row nowhere above another is left out.

    Parameters
    ----------
    goals : array
        Shape (goals, cells).

    Returns
    -------
    array
        Fewer rows; their greatest value is the same whatever is multiplied.

    Example
    -------
    >>> import numpy as np
    >>> leading_goals(np.array([[1.0, 0.0], [1.0, 1.0], [0.0, 2.0]])).tolist()
    [[0.0, 2.0], [1.0, 1.0]]
    """
    kept: list[FloatArray] = []
    for row in sorted(np.unique(goals, axis=0), key=lambda row: -float(row.sum())):
        if not any((row <= other).all() for other in kept):
            kept.append(row)
    return np.array(kept)


def without_exits(setup: RinseSetup, per_cell: FloatArray) -> FloatArray:
    """Return values per cell without those of the exits: what has left does not come back.

    Parameters
    ----------
    setup : RinseSetup
        The machine.
    per_cell : array
        Last axis over cells.

    Returns
    -------
    array
        Last axis over cells that are no exits.
    """
    return per_cell[..., : setup.network.size - len(setup.network.exits)]


def _inside(setup: RinseSetup) -> tuple[slice, slice]:
    part = slice(0, setup.network.size - len(setup.network.exits))
    return part, part


def _shares(setup: RinseSetup, way: Way, water_m3: M3) -> FloatArray | None:
    try:
        return rinse_effect(setup, Rinse(way, water_m3)).shares
    except (OutOfRange, NotDefined):
        return None
