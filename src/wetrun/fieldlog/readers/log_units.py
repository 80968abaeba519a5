"""Units a log may be written in, as SI factors built from exact definitions. The only such table below the door.

The international foot (0.3048 m), the mile (5280 ft), the nautical mile (1852 m), the acre (43 560 ft2), the US gallon
(231 in3) and the hectare (10 000 m2) are definitions, not measurements, so nothing here is rounded by hand.
"""

from __future__ import annotations

import math
from typing import Final

FOOT_M: Final = 0.3048
INCH_M: Final = FOOT_M / 12
MILE_M: Final = 5280 * FOOT_M
NAUTICAL_MILE_M: Final = 1852.0
ACRE_M2: Final = 43_560 * FOOT_M**2
HECTARE_M2: Final = 1e4
US_GALLON_M3: Final = 231 * INCH_M**3
LITRE_M3: Final = 1e-3
HOUR_S: Final = 3600.0

LENGTH: Final = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "km": 1000.0,
    "ft": FOOT_M,
    "in": INCH_M,
    "mi": MILE_M,
}
SPEED: Final = {
    "m/s": 1.0,
    "mm/s": 0.001,
    "km/h": 1000 / HOUR_S,
    "mph": MILE_M / HOUR_S,
    "ft/s": FOOT_M,
    "kn": NAUTICAL_MILE_M / HOUR_S,
}
RATE: Final = {
    "gal/ac": US_GALLON_M3 / ACRE_M2,
    "L/ha": LITRE_M3 / HECTARE_M2,
    "mL/m2": LITRE_M3 / 1000,
    "m3/m2": 1.0,
}
ANGLE: Final = {"deg": math.pi / 180, "rad": 1.0}
TIME: Final = {"s": 1.0, "ms": 0.001, "us": 1e-6, "min": 60.0, "h": HOUR_S, "day": 24 * HOUR_S}

OTHER_SPELLINGS: Final = {
    "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "foot": "ft", "feet": "ft", "inch": "in", "inches": "in", "mile": "mi", "miles": "mi",
    "mps": "m/s", "kmh": "km/h", "kph": "km/h", "km/hr": "km/h", "mi/h": "mph", "mi/hr": "mph", "fps": "ft/s",
    "knot": "kn", "knots": "kn",
    "gpa": "gal/ac", "gal/acre": "gal/ac", "us gal/ac": "gal/ac", "gallons/acre": "gal/ac", "lpha": "L/ha",
    "l/ha": "L/ha", "ml/m2": "mL/m2", "degree": "deg", "degrees": "deg", "°": "deg",
    "sec": "s", "second": "s", "seconds": "s", "millisecond": "ms", "milliseconds": "ms", "hour": "h", "hours": "h",
    "days": "day",
}  # fmt: skip

ACCEPTED: Final[dict[str, dict[str, float]]] = {
    "time": TIME,
    "interval": TIME,
    "distance": LENGTH,
    "width": LENGTH,
    "speed": SPEED,
    "applied_rate": RATE,
    "target_rate": RATE,
    "heading": ANGLE,
    "longitude": ANGLE,
    "latitude": ANGLE,
    "east": LENGTH,
    "north": LENGTH,
    "record": {},
    "section": {},
    "track": {},
}


def known_unit(meaning: str, text: str) -> str | None:
    """Return the unit's usual spelling if this meaning can be written in it, else None.

    Example
    -------
    >>> known_unit("target_rate", "GPA"), known_unit("distance", "gal/ac")
    ('gal/ac', None)
    """
    plain = " ".join(text.strip().lower().split()).replace(" / ", "/")
    usual = {unit.lower(): unit for unit in ACCEPTED[meaning]}
    return usual.get(OTHER_SPELLINGS.get(plain, plain).lower())


def accepted_units(meaning: str) -> str:
    """Return the units this meaning can be written in, as words."""
    return ", ".join(ACCEPTED[meaning])
