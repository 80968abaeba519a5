"""How people spell units: each spelling, what it measures, and its name in the registry.

A unit is one spelling (`psi`, `mph`) or several joined by `/` or "per" (`gal/ac`, `lb per gal`). Upper and lower case
are alike. `gal` is the US liquid gallon; imperial measure is spelled out (`imp gal`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class UnitWords:
    """A unit as understood: its expression in the registry and what it measures."""

    expression: str
    shape: str


def _spelled(shape: str, **names: str) -> dict[str, UnitWords]:
    """Spellings by registry name; several are parted by a comma."""
    return {
        spelling.strip().casefold(): UnitWords(expression, shape)
        for expression, spellings in names.items()
        for spelling in spellings.split(",")
    }


_PLAIN: Final[dict[str, UnitWords]] = (
    _spelled(
        "length",
        inch='in, inch, inches, ", ″',
        foot="ft, foot, feet, ', ′",
        yard="yd, yard, yards",
        mile="mi, mile, miles",
        meter="m, metre, metres, meter, meters",
        centimeter="cm",
        millimeter="mm",
        kilometer="km",
        micrometer="µm, μm, um, micron, microns",
    )
    | _spelled(
        "area",
        acre="ac, acre, acres",
        hectare="ha, hectare, hectares",
    )
    | {
        spelling: UnitWords(expression, "area")
        for spelling, expression in {"m2": "meter**2", "m²": "meter**2", "ft2": "foot**2", "ft²": "foot**2"}.items()
    }
    | _spelled(
        "volume",
        gallon="gal, gals, gallon, gallons, us gal, us gallon, us gallons",
        imperial_gallon="imp gal, imp. gal, imperial gal, imperial gallon, imperial gallons, uk gal",
        quart="qt, qts, quart, quarts",
        pint="pt, pts, pint, pints",
        fluid_ounce="fl oz, fl. oz, fl. oz., floz, fluid ounce, fluid ounces",
        liter="l, litre, litres, liter, liters",
        milliliter="ml, millilitre, millilitres, milliliter, milliliters",
        teaspoon="tsp, teaspoon, teaspoons",
        hundred_gallon="100 gal, 100 gals, 100 gallon, 100 gallons, 100 us gal",
        hundred_liter="100 l, 100 litre, 100 litres, 100 liter, 100 liters, hl",
    )
    | {"m3": UnitWords("meter**3", "volume"), "m³": UnitWords("meter**3", "volume")}
    | _spelled(
        "mass",
        pound="lb, lbs, pound, pounds",
        ounce="oz, ounce, ounces",
        kilogram="kg, kilogram, kilograms",
        gram="g, gram, grams",
        milligram="mg, milligram, milligrams",
        metric_ton="t, tonne, tonnes",
    )
    | _spelled(
        "time",
        second="s, sec, second, seconds",
        minute="min, minute, minutes",
        hour="h, hr, hour, hours",
    )
    | _spelled("pressure", psi="psi", bar="bar, bars", kilopascal="kpa", pascal="pa")
    | _spelled("temperature", degF="°f, f, deg f, degf", degC="°c, c, deg c, degc", kelvin="k")
    | _spelled("angle", degree="°, deg, degree, degrees", radian="rad")
    | _spelled("frequency", hertz="hz")
    | _spelled("share", percent="%, percent, pct")
    | {"volume percent": UnitWords("percent", "volume share")}
)

# The trade's own abbreviations of a quotient.
_QUOTIENTS: Final[dict[str, str]] = {
    "mph": "mi/h",
    "kph": "km/h",
    "kmh": "km/h",
    "fpm": "ft/min",
    "gpm": "gal/min",
    "lpm": "l/min",
    "gpa": "gal/ac",
    "ppm": "mg/l",  # as a laboratory means it of water, where a litre weighs a kilogram
    "% v/v": "volume percent",
    "%v/v": "volume percent",
    "% by volume": "volume percent",
    "% vol": "volume percent",
}


def unit_words(text: str) -> UnitWords | None:
    """Return what a unit text means.

    Parameters
    ----------
    text : str
        The unit as typed, without its number; empty for none.

    Returns
    -------
    UnitWords or None
        None if any part of it is unknown.

    Example
    -------
    >>> unit_words("GPM")
    UnitWords(expression='gallon/minute', shape='volume per time')
    >>> unit_words("furlong") is None
    True
    """
    if not text:
        return UnitWords("", "")
    folded = " ".join(text.casefold().split())
    parts = re.split(r"\s*/\s*|\s+per\s+", _QUOTIENTS.get(folded, folded))
    known = [_PLAIN.get(part) for part in parts]
    found = [part for part in known if part is not None]
    if len(found) < len(known):
        return None
    expression, *below = (f"({part.expression})" if "*" in part.expression else part.expression for part in found)
    return UnitWords("/".join((expression, *below)), " per ".join(part.shape for part in found))


def spellings_of_shape(shape: str) -> tuple[str, ...]:
    """Return the unit spellings to offer for a shape, the usual ones first.

    Parameters
    ----------
    shape : str
        What the unit must measure.

    Returns
    -------
    tuple of str
        Spellings `unit_words` understands; empty for a plain number.

    Example
    -------
    >>> spellings_of_shape("pressure")
    ('psi', 'bar', 'kPa')
    """
    return _OFFERED.get(shape, ())


def spelled_of_shape(shape: str) -> tuple[str, ...]:
    """Return every single unit that is read for a shape, those of one unit together.

    Parameters
    ----------
    shape : str
        What the unit measures.

    Returns
    -------
    tuple of str
        As they are typed; the quotients of the trade (`mph`, `gpm`) stand under what they measure too.

    Example
    -------
    >>> spelled_of_shape("pressure")
    ('psi', 'bar', 'bars', 'kpa', 'pa')
    >>> spelled_of_shape("length per time")
    ('mph', 'kph', 'kmh', 'fpm')
    """
    quotients = (text for text in _QUOTIENTS if (words := unit_words(text)) and words.shape == shape)
    return (*(text for text, words in _PLAIN.items() if words.shape == shape), *quotients)


_OFFERED: Final[dict[str, tuple[str, ...]]] = {
    "pressure": ("psi", "bar", "kPa"),
    "length per time": ("mph", "km/h", "m/s", "ft/min"),
    "volume per area": ("gal/ac", "L/ha", "qt/ac", "pt/ac", "fl oz/ac", "mL/ha", "imp gal/ac"),
    "mass per area": ("lb/ac", "oz/ac", "kg/ha", "g/ha"),
    "volume per time": ("gal/min", "gpm", "L/min", "fl oz/min", "mL/min", "imp gal/min"),
    "volume per time per length": ("gal/min/ft", "L/min/m"),
    "area": ("ac", "ha", "m2"),
    "length": ("in", "ft", "cm", "m", "mm"),
    "volume": ("gal", "L", "m3", "imp gal", "qt", "pt", "fl oz", "mL"),
    "mass": ("lb", "oz", "kg", "g"),
    "mass per volume": ("lb/gal", "kg/L", "kg/m3", "g/mL"),
    "volume per volume": ("qt/100 gal", "pt/100 gal", "gal/100 gal", "fl oz/100 gal", "L/100 L", "mL/100 L"),
    "volume share": ("% v/v",),
    "temperature": ("°F", "°C", "K"),
    "time": ("s", "min", "h"),
    "frequency": ("Hz",),
    "angle": ("°", "deg"),
    "share": ("%",),
}
