"""Where on the field the tank runs out: after how much area, in which swath, how far into it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wetrun.planning.shares import HAIR
from wetrun.units import M2, M


@dataclass(frozen=True, slots=True, kw_only=True)
class RefillPoint:
    """The place where a load is out.

    Attributes
    ----------
    load : int
        Which load, from 1.
    field_m2 : float
        Field area done by then [m2], treated or not.
    swaths : int or None
        Whole swaths done by then; None if the field's length is not known.
    into_m : float or None
        How far into the next swath [m].
    home_swaths : int or None
        The last even number of swaths done before: the machine is then back at the end it began from.
    home_m2 : float or None
        Field area done at that turn [m2].
    """

    load: int
    field_m2: M2
    swaths: int | None = None
    into_m: M | None = None
    home_swaths: int | None = None
    home_m2: M2 | None = None


def refill_point(load: int, field_m2: M2, *, width_m: M, length_m: M | None) -> RefillPoint:
    """Return where a load runs out.

    Parameters
    ----------
    load : int
        Which load, from 1.
    field_m2 : float
        Field area done by then [m2].
    width_m : float
        Working width [m].
    length_m : float or None
        Length of a swath [m].

    Returns
    -------
    RefillPoint
        Swaths only if the length is known.

    Notes
    -----
    A rectangular field driven up and down with every section on: headlands, point rows and overlap are left out.

    References
    ----------
    rate-identity

    Example
    -------
    A swath of 1000 m at 36 m is 3.6 ha, so 9 ha end half way up the third.

    >>> point = refill_point(1, 90_000.0, width_m=36.0, length_m=1000.0)
    >>> point.swaths, round(point.into_m), point.home_swaths, round(point.home_m2)
    (2, 500, 2, 72000)
    """
    if length_m is None:
        return RefillPoint(load=load, field_m2=field_m2)
    swath_m2 = width_m * length_m
    swaths = math.floor(field_m2 / swath_m2 * (1.0 + HAIR))
    home = swaths - swaths % 2
    into_m = max(field_m2 - swaths * swath_m2, 0.0) / width_m
    return RefillPoint(
        load=load, field_m2=field_m2, swaths=swaths, into_m=into_m, home_swaths=home, home_m2=home * swath_m2
    )
