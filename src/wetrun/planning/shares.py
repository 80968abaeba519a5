"""Whole steps shared out so that the parts, as printed, add up to the printed whole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

HAIR: Final = 1e-9
"""Relative rounding of floats that is no reason for one step more or less."""


def whole_steps(amount: float, step: float) -> int:
    """Return the number of steps nearest to an amount; half a step counts up.

    Parameters
    ----------
    amount : float
        Amount, not negative.
    step : float
        What a jug, scale or gauge shows at least, in the same unit.

    Returns
    -------
    int
        Steps.

    Example
    -------
    >>> whole_steps(2.49, 0.5), whole_steps(0.75, 0.5)
    (5, 2)
    """
    return math.floor(amount / step + 0.5 + HAIR)


def steps_within(room: float, step: float) -> int:
    """Return how many whole steps a room holds.

    Parameters
    ----------
    room : float
        Room, not negative.
    step : float
        Size of a step, in the same unit.

    Returns
    -------
    int
        Steps, rounded down; a hair of floating point does not cost a step.

    Example
    -------
    >>> steps_within(0.3, 0.1)
    3
    """
    return math.floor(room / step * (1.0 + HAIR) + HAIR)


def shares_of_steps(total: int, weights: Sequence[float]) -> tuple[int, ...]:
    """Return whole parts of a whole number in proportion to weights, by the largest remainders.

    Parameters
    ----------
    total : int
        Steps to share out, not negative.
    weights : sequence of float
        Size of each part; none negative, not all zero.

    Returns
    -------
    tuple of int
        Parts that add up to `total` exactly, each within one step of its proportion.

    Raises
    ------
    ValueError
        For a negative total or weight, or weights without any size.

    Notes
    -----
    Every part first gets its proportion rounded down; what is left over goes, a step each, to the largest remainders,
    the earlier part first where two are alike. The weights of a load plan are whole steps too, so proportions are
    worked out in whole numbers where they are whole.

    Example
    -------
    >>> shares_of_steps(100, [1, 1, 1])
    (34, 33, 33)
    """
    whole = sum(weights)
    if total < 0 or min(weights, default=-1) < 0 or not whole > 0:
        raise ValueError(f"{total} steps cannot be shared by {list(weights)}")
    exact = [total * weight / whole for weight in weights]
    parts = [math.floor(part) for part in exact]
    by_remainder = sorted(range(len(parts)), key=lambda at: (parts[at] - exact[at], at))
    for at in by_remainder[: total - sum(parts)]:
        parts[at] += 1
    return tuple(parts)
