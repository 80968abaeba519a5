"""The liquid in the tank: water by temperature, liquid fertilisers by grade and temperature, or any by density."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import check_density, check_positive
from wetrun.spray.definitions import ICE_POINT_K
from wetrun.spray.fertiliser import CARRIER_GRADES, EXTRAPOLATION_K, grade_density_kgpm3, grade_note, grade_of
from wetrun.spray.water import water_density_kgpm3, water_surface_tension_npm, water_viscosity_pas
from wetrun.units import (
    FRACTION,
    KILOGRAM_PER_CUBIC_METRE,
    KILOGRAM_PER_SQUARE_METRE,
    Frac,
    K,
    Kgpm2,
    Kgpm3,
    M3pm2,
    Ratio,
)

__all__ = [
    "CARRIER_GRADES",
    "EXTRAPOLATION_K",
    "REFERENCE_WATER_KGPM3",
    "Carrier",
    "carrier_of_density",
    "fertiliser",
    "rate_for_nutrient_m3pm2",
    "specific_gravity",
    "water",
    "water_density_kgpm3",
    "water_surface_tension_npm",
    "water_viscosity_pas",
]

REFERENCE_WATER_KGPM3: Final[Kgpm3] = water_density_kgpm3(ICE_POINT_K + 20.0)
"""Water at 20 °C: the liquid nominal tip flows refer to."""


@dataclass(frozen=True, slots=True)
class Carrier:
    """A carrier: what it is, how heavy, at what temperature, and on whose word."""

    name: str
    density_kgpm3: Kgpm3
    temp_k: K | None
    source_key: str
    note: str

    @property
    def is_water(self) -> bool:
        """True for plain water from `water`; a density typed by the user is the user's, whatever its name."""
        return self.source_key == "kell-1975"


def water(temp_k: K = ICE_POINT_K + 20.0) -> Carrier:
    """Return plain water at a temperature.

    Parameters
    ----------
    temp_k
        Water temperature [K], 0 to 100 °C.

    Returns
    -------
    Carrier
        Water with its density [kg/m3].

    Raises
    ------
    OutOfRange
        Outside 0 to 100 °C.

    References
    ----------
    kell-1975

    Example
    -------
    >>> round(water().density_kgpm3, 1), water().is_water
    (998.2, True)
    """
    return Carrier("water", water_density_kgpm3(temp_k), temp_k, "kell-1975", "clean water at atmospheric pressure")


def fertiliser(grade: str, temp_k: K) -> Carrier:
    """Return a liquid fertiliser at a temperature, by straight lines through the printed weights.

    Parameters
    ----------
    grade
        One of `CARRIER_GRADES`.
    temp_k
        Temperature of the product [K].

    Returns
    -------
    Carrier
        The product with its density [kg/m3]; the note says what the number rests on and when salts come out.

    Raises
    ------
    NotDefined
        A grade without printed weights.
    OutOfRange
        More than 30 °F outside the printed temperatures.

    Notes
    -----
    Valid within 30 °F of the printed temperatures; the printed slopes differ by 0.0015 lb/gal per °F, so the far end
    of that margin is good to 0.4 % of density, 0.2 % of flow. Typical values: suppliers differ by about 1 %, a load
    cut with water or sulphur by more. Weigh the load when it matters.

    References
    ----------
    fluid-fertiliser-characteristics

    Example
    -------
    >>> from wetrun.spray.definitions import fahrenheit_k, pounds_per_gallon_kgpm3
    >>> uan = fertiliser("UAN 28", fahrenheit_k(40.0))
    >>> round(uan.density_kgpm3 / pounds_per_gallon_kgpm3(1.0), 2)
    10.74
    """
    density = grade_density_kgpm3(grade, temp_k)
    return Carrier(grade, density, temp_k, grade_of(grade).source_key, grade_note(grade, temp_k))


def carrier_of_density(
    name: str, density_kgpm3: Kgpm3, *, temp_k: K | None = None, source_key: str = "user"
) -> Carrier:
    """Return a carrier whose density somebody states.

    Parameters
    ----------
    name
        What the person calls it.
    density_kgpm3
        Density as stated or weighed [kg/m3].
    temp_k
        Temperature it was weighed at [K], if known.
    source_key
        Key of `wetrun.sources.SOURCES`; ``user`` for the user's own entry.

    Returns
    -------
    Carrier
        The carrier; nothing is corrected for temperature.

    Raises
    ------
    OutOfRange
        Density outside 500 to 3000 kg/m3: no spray carrier is that light or heavy, so it is a unit mistake.

    Example
    -------
    >>> carrier_of_density("starter", 1350.0).density_kgpm3
    1350.0
    """
    if not 500.0 <= density_kgpm3 <= 3000.0:
        raise OutOfRange(
            f"density of {name}",
            density_kgpm3,
            KILOGRAM_PER_CUBIC_METRE,
            low=500.0,
            high=3000.0,
            remedy="Check the unit the density was typed in.",
        )
    return Carrier(name, density_kgpm3, temp_k, source_key, "density as stated; not corrected for temperature")


def specific_gravity(density_kgpm3: Kgpm3) -> Ratio:
    """Return the density as a ratio to water at 20 °C.

    Parameters
    ----------
    density_kgpm3
        Density [kg/m3].

    Returns
    -------
    Ratio
        Specific gravity [ratio].

    Notes
    -----
    The trade's tables divide by 8.34 lb/gal, 0.12 % more than water weighs at 20 °C: 0.06 % of flow.

    References
    ----------
    kell-1975, unl-cropwatch-2016

    Example
    -------
    >>> round(specific_gravity(1276.1), 2)
    1.28
    """
    check_density(density_kgpm3)
    return density_kgpm3 / REFERENCE_WATER_KGPM3


def rate_for_nutrient_m3pm2(nutrient_kgpm2: Kgpm2, density_kgpm3: Kgpm3, nutrient_frac: Frac) -> M3pm2:
    """Return the liquid rate that carries a wanted nutrient rate.

    Parameters
    ----------
    nutrient_kgpm2
        Nutrient wanted [kg/m2].
    density_kgpm3
        Density of the product [kg/m3].
    nutrient_frac
        Nutrient by weight [frac].

    Returns
    -------
    M3pm2
        Product rate [m3/m2].

    References
    ----------
    unl-cropwatch-2016

    Example
    -------
    >>> round(rate_for_nutrient_m3pm2(0.0084, 1276.1, 0.28) * 1e7, 0)  # 84 kg N/ha, answer in L/ha
    235.0
    """
    check_positive("nutrient rate", nutrient_kgpm2, KILOGRAM_PER_SQUARE_METRE, remedy="Enter the rate wanted.")
    check_density(density_kgpm3)
    if not 0.0 < nutrient_frac <= 1.0:
        raise OutOfRange(
            "nutrient share", nutrient_frac, FRACTION, low=0.0, high=1.0, remedy="28 % is entered as 0.28."
        )
    return nutrient_kgpm2 / (density_kgpm3 * nutrient_frac)
