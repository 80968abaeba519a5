"""What a load may be on a machine: how full, how heavy on tank and axles, and what never comes out."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.units import M3, Frac, Kg


@dataclass(frozen=True, slots=True, kw_only=True)
class Axle:
    """An axle, or a pair of tyres, with what it may carry.

    Attributes
    ----------
    name : str
        What the shop calls it.
    high_kg : float
        Most weight on it [kg]: the least of axle, tyres at their pressure, and road law.
    empty_kg : float
        Weight on it with the tank empty [kg], as weighed.
    load_frac : float
        Share of the tank's contents that rests on it [frac].
    """

    name: str
    high_kg: Kg
    empty_kg: Kg
    load_frac: Frac

    @property
    def contents_kg(self) -> Kg:
        """Contents of the machine at which this axle reaches its limit [kg]; negative if it is past it empty."""
        return (self.high_kg - self.empty_kg) / self.load_frac


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """The least that gauge, jug and scale show; amounts are shared out in whole steps of them.

    Attributes
    ----------
    gauge_m3 : float
        Step of the tank's gauge or fill meter [m3].
    jug_m3 : float
        Step of the measuring jug [m3].
    scale_kg : float
        Step of the scale [kg].
    """

    gauge_m3: M3
    jug_m3: M3
    scale_kg: Kg


@dataclass(frozen=True, slots=True, kw_only=True)
class FillLimits:
    """How far a machine may be filled.

    Attributes
    ----------
    usable_m3 : float or None
        Fullest the tank is filled [m3]; None takes the tank's volume.
    undrainable_m3 : float or None
        Mix that stays in sump, pump, hoses and boom when the spray gives out [m3]; None if nobody measured it.
    tank_high_kg : float or None
        Most weight of contents the tank is built for [kg].
    axles : tuple of Axle
        Axles whose limits are known.
    """

    usable_m3: M3 | None = None
    undrainable_m3: M3 | None = None
    tank_high_kg: Kg | None = None
    axles: tuple[Axle, ...] = ()
