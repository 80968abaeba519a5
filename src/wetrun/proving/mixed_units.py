"""Units a hand takes for each other in the yard, and how far that moves a reading: one table for every sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.proving.number_form import FOOT_M, IMPERIAL_GALLON_M3
from wetrun.spray.definitions import BAR_PA, LITRE_M3, MINUTE_S, POUND_KG, POUND_PER_SQUARE_INCH_PA, US_GALLON_M3
from wetrun.units import Ratio


@dataclass(frozen=True, slots=True)
class YardUnit:
    """A unit as people write it.

    Attributes
    ----------
    words, symbol : str
        In full and short.
    size : float
        One of it, in SI.
    """

    words: str
    symbol: str
    size: float


@dataclass(frozen=True, slots=True)
class Mixed:
    """A reading made in one unit and taken for another.

    Attributes
    ----------
    read, taken : YardUnit
        What the vessel, scale or watch showed it in, and what it was typed as.
    """

    read: YardUnit
    taken: YardUnit

    @property
    def reads_ratio(self) -> Ratio:
        """What is then read over what was right [ratio]; number and not unit was right."""
        return self.taken.size / self.read.size


def both_ways(first: YardUnit, second: YardUnit) -> tuple[Mixed, Mixed]:
    """Return the two slips of a pair of units.

    Parameters
    ----------
    first, second : YardUnit
        Units taken for each other.

    Returns
    -------
    tuple of Mixed
        The second taken for the first, then the first taken for the second.

    References
    ----------
    inch-pound-definitions

    Example
    -------
    >>> [(f"{slip.read.symbol} as {slip.taken.symbol}", round(slip.reads_ratio, 4)) for slip in FLUID_OUNCES]
    [('mL as fl oz', 29.5735), ('fl oz as mL', 0.0338)]
    """
    return Mixed(read=second, taken=first), Mixed(read=first, taken=second)


_LITRE = YardUnit("litres", "L", LITRE_M3)
_MILLILITRE = YardUnit("millilitres", "mL", 1e-3 * LITRE_M3)
_GALLON = YardUnit("US gallons", "US gal", US_GALLON_M3)
_KILOGRAM = YardUnit("kilograms", "kg", 1.0)
_PSI = YardUnit("psi", "psi", POUND_PER_SQUARE_INCH_PA)
_ACRE_M2: Final = (5280.0 * FOOT_M) ** 2 / 640.0
_HECTARE_M2: Final = 1e4
_FOOT = YardUnit("feet", "ft", FOOT_M)
_KILOMETRE_PER_HOUR = YardUnit("km/h", "km/h", 1000.0 / (60.0 * MINUTE_S))

FLUID_OUNCES: Final = both_ways(YardUnit("US fluid ounces", "fl oz", US_GALLON_M3 / 128.0), _MILLILITRE)
GALLONS: Final = both_ways(_LITRE, _GALLON)
IMPERIAL_GALLONS: Final = both_ways(YardUnit("imperial gallons", "imp gal", IMPERIAL_GALLON_M3), _GALLON)
MILLILITRES: Final = both_ways(_LITRE, _MILLILITRE)
OUNCES: Final = both_ways(YardUnit("ounces", "oz", POUND_KG / 16.0), YardUnit("grams", "g", 1e-3 * _KILOGRAM.size))
POUNDS: Final = both_ways(_KILOGRAM, YardUnit("pounds", "lb", POUND_KG))
MINUTES: Final = both_ways(YardUnit("minutes", "min", MINUTE_S), YardUnit("seconds", "s", 1.0))
MILES_PER_HOUR: Final = both_ways(YardUnit("mph", "mph", 5280.0 * FOOT_M / (60.0 * MINUTE_S)), _KILOMETRE_PER_HOUR)
METRES_PER_SECOND: Final = both_ways(YardUnit("m/s", "m/s", 1.0), _KILOMETRE_PER_HOUR)
FEET: Final = both_ways(YardUnit("metres", "m", 1.0), _FOOT)
YARDS: Final = both_ways(YardUnit("yards", "yd", 3.0 * FOOT_M), _FOOT)
BARS: Final = both_ways(YardUnit("bar", "bar", BAR_PA), _PSI)
KILOPASCALS: Final = both_ways(_PSI, YardUnit("kPa", "kPa", 1e3))
FLOWS: Final = both_ways(
    YardUnit("gal/min", "gal/min", US_GALLON_M3 / MINUTE_S), YardUnit("L/min", "L/min", LITRE_M3 / MINUTE_S)
)
RATES: Final = both_ways(
    YardUnit("gal/ac", "gal/ac", US_GALLON_M3 / _ACRE_M2), YardUnit("L/ha", "L/ha", LITRE_M3 / _HECTARE_M2)
)
