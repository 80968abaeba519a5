"""Kinds of quantity: what a number is about, its unit inside, and the one unit it is shown in per unit system.

A *kind* is finer than a dimension: spacing and swath are both lengths, but the trade reads one in inches and the other
in feet. Per system each kind has exactly one unit on screen and paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum

from wetrun.units import (
    CUBIC_METRE,
    CUBIC_METRE_PER_SECOND,
    CUBIC_METRE_PER_SQUARE_METRE,
    FRACTION,
    HERTZ,
    KELVIN,
    KILOGRAM,
    KILOGRAM_PER_CUBIC_METRE,
    KILOGRAM_PER_SQUARE_METRE,
    METRE,
    METRE_PER_SECOND,
    PASCAL,
    RADIAN,
    RATIO,
    SECOND,
    SQUARE_METRE,
    SQUARE_METRE_PER_SECOND,
    Unit,
)


class System(StrEnum):
    """The unit system a reader asked for."""

    US = "us"
    SI = "si"


@dataclass(frozen=True, slots=True)
class KindFacts:
    """What one kind is.

    Attributes
    ----------
    words : str
        Its name in a sentence, with article.
    unit : Unit
        The unit inside.
    shape : str
        What a typed unit must measure, such as "volume per area"; empty for a plain number.
    us, si : str
        The unit shown in each system, a spelling `wetrun.quantity.spellings` knows.
    example : str
        A typed value that is right.
    digits : int
        Significant digits shown unless asked otherwise; whole numbers are never rounded away.
    """

    words: str
    unit: Unit
    shape: str
    us: str
    si: str
    example: str
    digits: int = 3


class Kind(Enum):
    """Every kind of quantity a person types or reads."""

    PRESSURE = KindFacts("a pressure", PASCAL, "pressure", "psi", "bar", "40 psi")
    SPEED = KindFacts("a speed", METRE_PER_SECOND, "length per time", "mph", "km/h", "12 mph")
    RATE = KindFacts("a carrier rate", CUBIC_METRE_PER_SQUARE_METRE, "volume per area", "gal/ac", "L/ha", "15 gal/ac")
    PRODUCT_RATE = KindFacts(
        "a liquid product's rate", CUBIC_METRE_PER_SQUARE_METRE, "volume per area", "fl oz/ac", "L/ha", "32 fl oz/ac"
    )
    DRY_RATE = KindFacts(
        "a dry product's rate", KILOGRAM_PER_SQUARE_METRE, "mass per area", "lb/ac", "kg/ha", "2 lb/ac"
    )
    TIP_FLOW = KindFacts(
        "the flow of one tip", CUBIC_METRE_PER_SECOND, "volume per time", "gal/min", "L/min", "0.4 gal/min"
    )
    BOOM_FLOW = KindFacts(
        "the flow of a boom", CUBIC_METRE_PER_SECOND, "volume per time", "gal/min", "L/min", "45 gal/min"
    )
    FLOW_PER_WIDTH = KindFacts(
        "flow per width",
        SQUARE_METRE_PER_SECOND,
        "volume per time per length",
        "gal/min/ft",
        "L/min/m",
        "0.24 gal/min/ft",
    )
    AREA = KindFacts("an area", SQUARE_METRE, "area", "ac", "ha", "160 ac", 4)
    SPACING = KindFacts("a spacing", METRE, "length", "in", "cm", "20 in")
    HEIGHT = KindFacts("a boom height", METRE, "length", "in", "cm", "24 in")
    WIDTH = KindFacts("a width", METRE, "length", "ft", "m", "100 ft")
    LENGTH = KindFacts("a length", METRE, "length", "ft", "m", "12 ft")
    BORE = KindFacts("an inner diameter", METRE, "length", "in", "mm", "1 in")
    DROP_SIZE = KindFacts("a drop size", METRE, "length", "µm", "µm", "350 µm")
    VOLUME = KindFacts("a volume", CUBIC_METRE, "volume", "gal", "L", "1200 gal")
    MASS = KindFacts("a mass", KILOGRAM, "mass", "lb", "kg", "50 lb")
    DENSITY = KindFacts("a density", KILOGRAM_PER_CUBIC_METRE, "mass per volume", "lb/gal", "kg/L", "10.67 lb/gal", 4)
    ION = KindFacts("an ion in water", KILOGRAM_PER_CUBIC_METRE, "mass per volume", "ppm", "mg/L", "120 ppm")
    DRY_IN_SPRAY = KindFacts(
        "a dry product's weight per volume",
        KILOGRAM_PER_CUBIC_METRE,
        "mass per volume",
        "lb/100 gal",
        "kg/100 L",
        "8.5 lb/100 gal",
    )
    LIQUID_IN_SPRAY = KindFacts(
        "a liquid product's volume per volume",
        FRACTION,
        "volume per volume",
        "fl oz/100 gal",
        "mL/100 L",
        "32 fl oz/100 gal",
    )
    VOLUME_SHARE = KindFacts("a share by volume", FRACTION, "volume share", "% v/v", "% v/v", "0.25 % v/v")
    JAR_VOLUME = KindFacts("a volume in a jar test", CUBIC_METRE, "volume", "mL", "mL", "950 mL")
    JAR_SPOONS = KindFacts("a volume by the teaspoon", CUBIC_METRE, "volume", "tsp", "tsp", "2 tsp", 2)
    JAR_MASS = KindFacts("a weight in a jar test", KILOGRAM, "mass", "g", "g", "10 g")
    TEMPERATURE = KindFacts("a temperature", KELVIN, "temperature", "°F", "°C", "60 °F")
    TIME = KindFacts("a time", SECOND, "time", "s", "s", "20 s")
    FREQUENCY = KindFacts("a frequency", HERTZ, "frequency", "Hz", "Hz", "10 Hz")
    ANGLE = KindFacts("an angle", RADIAN, "angle", "°", "°", "110 °")
    SHARE = KindFacts("a share", FRACTION, "share", "%", "%", "20 %")
    RATIO = KindFacts("a plain number", RATIO, "", "", "", "1.28", 4)

    @property
    def unit(self) -> Unit:
        """The unit inside."""
        return self.value.unit

    def shown_in(self, system: System) -> str:
        """Return the unit this kind is shown in.

        Parameters
        ----------
        system : System
            The reader's unit system.

        Returns
        -------
        str
            A unit spelling; empty for a plain number.

        Example
        -------
        >>> Kind.RATE.shown_in(System.SI)
        'L/ha'
        """
        return self.value.us if system is System.US else self.value.si


# The kind an error's bare unit is shown as: an error knows its dimension, not what the number was about.
_OF_UNIT = {
    kind.unit: kind
    for kind in (
        Kind.PRESSURE,
        Kind.SPEED,
        Kind.RATE,
        Kind.DRY_RATE,
        Kind.BOOM_FLOW,
        Kind.FLOW_PER_WIDTH,
        Kind.AREA,
        Kind.WIDTH,
        Kind.VOLUME,
        Kind.MASS,
        Kind.DENSITY,
        Kind.TEMPERATURE,
        Kind.TIME,
        Kind.FREQUENCY,
        Kind.ANGLE,
        Kind.SHARE,
        Kind.RATIO,
    )
}


def kind_of_unit(unit: Unit) -> Kind | None:
    """Return the kind a number of a unit is shown as when nothing more is known about it.

    Parameters
    ----------
    unit : Unit
        A unit of the inside.

    Returns
    -------
    Kind or None
        None for units nobody reads, such as an orifice coefficient.

    Example
    -------
    >>> kind_of_unit(PASCAL)
    <Kind.PRESSURE: ...>
    """
    return _OF_UNIT.get(unit)
