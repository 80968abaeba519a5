"""How much is made for a pass, and how it is parted into loads of whole steps of the tank's gauge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from wetrun.errors import NotDefined
from wetrun.planning.load_wish import Split
from wetrun.planning.shares import HAIR, shares_of_steps, steps_within, whole_steps
from wetrun.planning.tank_room import TankRoom
from wetrun.units import M3, Frac

MOST_LOADS: Final = 2000
"""A pass of more loads was typed with a wrong unit."""
LEVEL_FRAC: Final[Frac] = 5e-4
"""Nobody reads a tank's level closer. Without it, a tank typed in gallons and filled by the litre would lose part of a
litre in every load, and a field that takes ten full loads would get an eleventh of ten litres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadSplit:
    """The loads of a pass as fills.

    Attributes
    ----------
    gauge_m3 : float
        Step of the gauge [m3].
    fills : tuple of int
        Steps filled, load by load.
    sprayed_m3 : float
        Spray the field takes [m3].
    carry_in_m3 : float
        Mix aboard before the first load [m3].
    undrainable_m3 : float
        Mix that stays in the machine when the spray gives out [m3].
    """

    gauge_m3: M3
    fills: tuple[int, ...]
    sprayed_m3: M3
    carry_in_m3: M3
    undrainable_m3: M3

    @property
    def made_m3(self) -> M3:
        """What is mixed in all loads together [m3]."""
        return sum(self.fills) * self.gauge_m3

    @property
    def left_over_m3(self) -> M3:
        """What is in the machine when the field is done [m3]: never less than cannot come out."""
        return self.made_m3 + self.carry_in_m3 - self.sprayed_m3

    def aboard_m3(self, load: int) -> M3:
        """Return the mix [m3] in the machine before a load (from 0) is filled."""
        return self.carry_in_m3 if load == 0 else self.undrainable_m3

    def sprayed_by_m3(self, load: int) -> M3:
        """Return what the field has taken [m3] when a load (from 0) is out."""
        if load == len(self.fills) - 1:
            return self.sprayed_m3
        filled_m3 = sum(self.fills[: load + 1]) * self.gauge_m3
        return min(max(filled_m3 + self.carry_in_m3 - self.undrainable_m3, 0.0), self.sprayed_m3)


def load_split(sprayed_m3: M3, room: TankRoom, split: Split, *, carry_in_m3: M3 = 0.0, gauge_m3: M3) -> LoadSplit:
    """Return the loads that put a volume on the field and leave no more than cannot come out.

    Parameters
    ----------
    sprayed_m3 : float
        Spray the field takes [m3].
    room : TankRoom
        What a fill may be.
    split : Split
        Full loads and a partial last one, or equal loads.
    carry_in_m3 : float
        Mix of this pass aboard already [m3].
    gauge_m3 : float
        Step of the gauge [m3].

    Returns
    -------
    LoadSplit
        Whole steps; the sum is rounded up, so that the field is never short.

    Raises
    ------
    NotDefined
        If what is aboard is enough already, or the loads would be too many to be meant.

    Notes
    -----
    The first load also fills sump, lines and boom, as far as no mix is carried in; that much stays behind at the end.
    The number of loads is the least the limits allow. Equal loads differ by one step at most, unless the first has less
    room than the others, or more and the others none to spare.

    References
    ----------
    msu-calibration

    Example
    -------
    >>> from wetrun.planning.tank_room import Room, TankRoom
    >>> tank = TankRoom(rooms=(Room(4.0, "tank", False, 4000.0),), undrainable_m3=0.0, undrainable_known=True)
    >>> load_split(10.0, tank, Split.FULL, gauge_m3=0.5).fills, load_split(10.0, tank, Split.EQUAL, gauge_m3=0.5).fills
    ((8, 8, 4), (7, 7, 6))
    """
    wanted_m3 = sprayed_m3 + room.undrainable_m3 - carry_in_m3
    total = math.ceil(wanted_m3 / gauge_m3 * (1.0 - HAIR) - HAIR)
    if total < 1:
        remedy = "Spray what is aboard first, or correct carry_in and the area."
        raise NotDefined("load", reason="the mix already in the machine is enough for the whole area", remedy=remedy)
    first, others = (_steps(room, m3, gauge_m3) for m3 in (carry_in_m3, room.undrainable_m3))
    if others < 1 or total > MOST_LOADS * others:
        reason = f"it would take more than {MOST_LOADS} loads"
        raise NotDefined("loads", reason=reason, remedy="Check area, rate, usable volume and weight limits.")
    fills = _full(total, first, others) if split is Split.FULL else _equal(total, first, others)
    return LoadSplit(
        gauge_m3=gauge_m3,
        fills=fills,
        sprayed_m3=sprayed_m3,
        carry_in_m3=carry_in_m3,
        undrainable_m3=room.undrainable_m3,
    )


def _steps(room: TankRoom, aboard_m3: M3, gauge_m3: M3) -> int:
    """Steps of a full load, rounded down; to the nearest mark if that is no more above the level than anybody reads."""
    fill_m3 = room.fill_m3(aboard_m3)
    nearest = whole_steps(fill_m3, gauge_m3)
    weights_m3 = [each.contents_m3 - aboard_m3 for each in room.rooms if each.by_weight]
    too_much = nearest * gauge_m3 > min(fill_m3 * (1.0 + LEVEL_FRAC), *weights_m3, math.inf)
    return steps_within(fill_m3, gauge_m3) if too_much else nearest


def _full(total: int, first: int, others: int) -> tuple[int, ...]:
    fills = [min(first, total)] if first else []
    left = total - sum(fills)
    fills += [others] * (left // others)
    return (*fills, left % others) if left % others else tuple(fills)


def _equal(total: int, first: int, others: int) -> tuple[int, ...]:
    """The least number of loads, each the same; where one has less room, the others take what it cannot hold."""
    count = len(_full(total, first, others))
    even = shares_of_steps(total, [1.0] * count)
    if not first or (even[0] <= first and max(even[1:], default=0) <= others):
        return even
    if even[0] > first:
        return (first, *shares_of_steps(total - first, [1.0] * (count - 1)))
    # The machine still holds nothing when the first load goes in, so the first has room for what the others have not.
    return (total - others * (count - 1), *[others] * (count - 1))
