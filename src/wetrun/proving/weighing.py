"""Volume of water from its weight."""

from __future__ import annotations

from wetrun.spray.bounds import check_positive
from wetrun.units import KILOGRAM, KILOGRAM_PER_CUBIC_METRE, M3, Kg, Kgpm3

AIR_KGPM3: Kgpm3 = 1.2
"""Air in a yard; within 10 % from sea level in frost to 1000 m in summer, which is 0.01 % of a weighed volume."""
SCALE_WEIGHTS_KGPM3: Kgpm3 = 8000.0
"""Density of the weights scales are adjusted with, by agreement."""


def volume_of_weighed_m3(mass_kg: Kg, density_kgpm3: Kgpm3) -> M3:
    """Return the volume of water that a scale in air shows as a mass.

    Parameters
    ----------
    mass_kg : float
        What the scale shows, vessel taken off [kg].
    density_kgpm3 : float
        Density of the water [kg/m3].

    Returns
    -------
    float
        Volume [m3], 0.11 % more than mass over density, since air carries some of the water's weight.

    References
    ----------
    air-buoyancy

    Example
    -------
    >>> round(volume_of_weighed_m3(0.99715, 998.2) * 1e3, 4)
    1.0
    """
    check_positive("weight", mass_kg, KILOGRAM, remedy="Weigh the vessel before and after.")
    check_positive("density", density_kgpm3, KILOGRAM_PER_CUBIC_METRE, remedy="Enter the water temperature.")
    return mass_kg * (1.0 - AIR_KGPM3 / SCALE_WEIGHTS_KGPM3) / (density_kgpm3 - AIR_KGPM3)
