"""Exact definitions the trade's sizes and tables are built on, kept once.

Nothing here is rounded: the inch, the pound and standard gravity are exact by definition, and the gallon is
231 cubic inches. Every other inch-pound quantity of this room is an expression of these.
"""

from __future__ import annotations

from typing import Final

from wetrun.units import M3, K, Kg, Kgpm3, M, Pa, S

INCH_M: Final[M] = 0.0254
POUND_KG: Final[Kg] = 0.45359237
STANDARD_GRAVITY_MPS2: Final[float] = 9.80665
MINUTE_S: Final[S] = 60.0
LITRE_M3: Final[M3] = 1e-3
BAR_PA: Final[Pa] = 1e5
US_GALLON_M3: Final[M3] = 231.0 * INCH_M**3
POUND_PER_SQUARE_INCH_PA: Final[Pa] = POUND_KG * STANDARD_GRAVITY_MPS2 / INCH_M**2
ICE_POINT_K: Final[K] = 273.15


def pounds_per_gallon_kgpm3(pounds: float) -> Kgpm3:
    """Return a density [kg/m3] from the pounds a US gallon weighs.

    Parameters
    ----------
    pounds
        Pounds of liquid in one US gallon.

    Returns
    -------
    Kgpm3
        Density [kg/m3].

    References
    ----------
    inch-pound-definitions

    Example
    -------
    >>> round(pounds_per_gallon_kgpm3(10.65), 1)
    1276.2
    """
    return pounds * POUND_KG / US_GALLON_M3


def fahrenheit_k(degrees: float) -> K:
    """Return a temperature [K] from degrees Fahrenheit.

    Parameters
    ----------
    degrees
        Degrees Fahrenheit, as a fertiliser data sheet prints them.

    Returns
    -------
    K
        Temperature [K].

    References
    ----------
    inch-pound-definitions

    Example
    -------
    >>> round(fahrenheit_k(68.0), 2)
    293.15
    """
    return (degrees + 459.67) / 1.8
