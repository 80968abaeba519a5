"""How much a fill may be: by the tank, by the weight the tank is built for, by every axle."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.sprayer import Sprayer
from wetrun.units import CUBIC_METRE, KILOGRAM, M3, Kg, Kgpm3


@dataclass(frozen=True, slots=True)
class Room:
    """The most liquid one limit leaves room for, and which limit that is.

    Attributes
    ----------
    contents_m3 : float
        Liquid aboard [m3]; by volume that in the tank alone, by weight that in lines and sump too.
    limit : str
        What sets it: "tank", "weight in the tank", or an axle by name.
    by_weight : bool
        Whether weight sets it.
    contents_kg : float
        What it weighs [kg].
    """

    contents_m3: M3
    limit: str
    by_weight: bool
    contents_kg: Kg


@dataclass(frozen=True, slots=True, kw_only=True)
class TankRoom:
    """Room for the mix of one pass.

    Attributes
    ----------
    rooms : tuple of Room
        Every limit known, the tank's volume first.
    undrainable_m3 : float
        What stays in the machine when the spray gives out [m3]; 0 if not known.
    undrainable_known : bool
        Whether it was measured.
    """

    rooms: tuple[Room, ...]
    undrainable_m3: M3
    undrainable_known: bool

    def fill_m3(self, aboard_m3: M3) -> M3:
        """Return the greatest fill [m3] of a machine that already holds mix.

        Parameters
        ----------
        aboard_m3 : float
            Mix of the same pass in tank, sump, lines and boom [m3].

        Returns
        -------
        float
            Volume that can be added [m3]; 0 if there is no room.

        Notes
        -----
        Mix in sump and lines takes no room in the tank, but it weighs.
        """
        in_tank_m3 = max(aboard_m3 - self.undrainable_m3, 0.0)
        left = (room.contents_m3 - (aboard_m3 if room.by_weight else in_tank_m3) for room in self.rooms)
        return max(min(left), 0.0)

    def binding(self, aboard_m3: M3) -> Room:
        """Return the limit that is met first by a fill on top of what is aboard [m3].

        Parameters
        ----------
        aboard_m3 : float
            Mix already in the machine [m3].

        Returns
        -------
        Room
            Of equal limits the tank's volume.
        """
        in_tank_m3 = max(aboard_m3 - self.undrainable_m3, 0.0)
        return min(self.rooms, key=lambda room: room.contents_m3 - (aboard_m3 if room.by_weight else in_tank_m3))


def tank_room(sprayer: Sprayer, density_kgpm3: Kgpm3, *, gauge_m3: M3) -> TankRoom:
    """Return the room a machine has for a mix.

    Parameters
    ----------
    sprayer : Sprayer
        With its tank and fill limits.
    density_kgpm3 : float
        Density of the mix [kg/m3].
    gauge_m3 : float
        Step of the tank's gauge [m3]: less room than one step is no room.

    Returns
    -------
    TankRoom
        Every limit with what it weighs.

    Raises
    ------
    NotDefined
        If neither tank nor usable volume is known.
    OutOfRange
        If an axle or the tank is overloaded even nearly empty.

    Notes
    -----
    The share of the load on an axle is taken as the same at every level; in a long tank it moves with the level, so
    weigh the machine half full too. Slope, braking and towing are left out.

    Example
    -------
    A tank of 1200 gal holds about 10,000 lb of water; of 28 % UAN at 10.67 lb/gal it would hold 12,800 lb.
    """
    fill = sprayer.fill
    usable_m3 = fill.usable_m3 or sprayer.tank_m3
    if usable_m3 is None:
        remedy = 'Add tank = "…" to [machine], as it is filled.'
        raise NotDefined(f"load of {sprayer.name}", reason="the tank's volume is not known", remedy=remedy)
    undrainable_m3 = fill.undrainable_m3 or 0.0
    rooms = [Room(usable_m3, "tank", by_weight=False, contents_kg=usable_m3 * density_kgpm3)]
    limits = [("weight in the tank", fill.tank_high_kg)] if fill.tank_high_kg is not None else []
    limits += [(f"weight on the {axle.name}", axle.contents_kg) for axle in fill.axles]
    for limit, contents_kg in limits:
        _check_carries(limit, contents_kg or 0.0, (undrainable_m3 + gauge_m3) * density_kgpm3)
        rooms.append(Room((contents_kg or 0.0) / density_kgpm3, limit, by_weight=True, contents_kg=contents_kg or 0.0))
    return TankRoom(
        rooms=tuple(rooms), undrainable_m3=undrainable_m3, undrainable_known=fill.undrainable_m3 is not None
    )


def check_carry_in(carry_in_m3: M3, room: TankRoom) -> None:
    """Refuse more mix left aboard than the machine holds.

    Parameters
    ----------
    carry_in_m3 : float
        Mix said to be aboard [m3].
    room : TankRoom
        What there is room for.

    Raises
    ------
    OutOfRange
        With the most it can be.
    """
    high_m3 = min(each.contents_m3 + (0.0 if each.by_weight else room.undrainable_m3) for each in room.rooms)
    if carry_in_m3 > high_m3:
        remedy = "Correct carry_in: it is mix of this pass that is in the machine already."
        raise OutOfRange("mix carried in", carry_in_m3, CUBIC_METRE, high=high_m3, remedy=remedy)


def _check_carries(limit: str, contents_kg: Kg, least_kg: Kg) -> None:
    if contents_kg < least_kg:
        remedy = "Weigh the machine again, check limit and share of the load, or take weight off."
        raise OutOfRange(f"contents the {limit} leaves room for", contents_kg, KILOGRAM, low=least_kg, remedy=remedy)
