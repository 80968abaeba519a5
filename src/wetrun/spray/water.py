"""Clean water by temperature: density, viscosity, surface tension at atmospheric pressure, 0 to 100 °C."""

from __future__ import annotations

from typing import Final

from wetrun.errors import OutOfRange
from wetrun.spray.definitions import ICE_POINT_K
from wetrun.units import KELVIN, K, Kgpm3, Npm, Pas

WATER_TEMP_LOW_K: Final[K] = ICE_POINT_K
WATER_TEMP_HIGH_K: Final[K] = ICE_POINT_K + 100.0
CRITICAL_TEMP_K: Final[K] = 647.096

# Kell 1975: numerator in rising powers of °C, and the one term of the denominator. The digits are easily transposed
# (16.879850): the published values in the tests catch it.
_KELL: Final = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_KELL_BELOW: Final = 16.879850e-3
# IAPWS 2008, liquid water at 0.1 MPa: microPa s, coefficient and exponent of (T / 300 K).
_VISCOSITY: Final = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


def water_density_kgpm3(temp_k: K) -> Kgpm3:
    """Return the density of clean water.

    Parameters
    ----------
    temp_k
        Water temperature [K].

    Returns
    -------
    Kgpm3
        Density [kg/m3].

    Raises
    ------
    OutOfRange
        Outside 0 to 100 °C.

    Notes
    -----
    Valid 0 to 100 °C at atmospheric pressure; dissolved salts and air are left out. Within 0.004 kg/m3 of IAPWS-95
    from 4 to 40 °C.

    References
    ----------
    kell-1975, iapws-95

    Example
    -------
    >>> round(water_density_kgpm3(293.15), 2)
    998.2
    """
    _check_liquid(temp_k)
    celsius = temp_k - ICE_POINT_K
    rising = sum(coefficient * celsius**power for power, coefficient in enumerate(_KELL))
    return rising / (1.0 + _KELL_BELOW * celsius)


def water_viscosity_pas(temp_k: K) -> Pas:
    """Return the dynamic viscosity of clean water.

    Parameters
    ----------
    temp_k
        Water temperature [K].

    Returns
    -------
    Pas
        Dynamic viscosity [Pa s].

    Raises
    ------
    OutOfRange
        Outside 0 to 100 °C.

    Notes
    -----
    Valid 0 to 100 °C at atmospheric pressure, within 0.2 % of the full IAPWS formulation.

    References
    ----------
    iapws-sr6-08, iapws-r12-08

    Example
    -------
    >>> round(water_viscosity_pas(293.15) * 1e3, 3)
    1.002
    """
    _check_liquid(temp_k)
    reduced = temp_k / 300.0
    return 1e-6 * sum(float(coefficient * reduced**exponent) for coefficient, exponent in _VISCOSITY)


def water_surface_tension_npm(temp_k: K) -> Npm:
    """Return the surface tension of clean water against air.

    Parameters
    ----------
    temp_k
        Water temperature [K].

    Returns
    -------
    Npm
        Surface tension [N/m].

    Raises
    ------
    OutOfRange
        Outside 0 to 100 °C.

    Notes
    -----
    Valid 0 to 100 °C. At equilibrium and without adjuvant: what a spray sheet feels is the tension about 20 ms after
    the surface is made, and a tank mix lowers it.

    References
    ----------
    iapws-r1-76

    Example
    -------
    >>> round(water_surface_tension_npm(293.15) * 1e3, 2)
    72.74
    """
    _check_liquid(temp_k)
    below_critical = 1.0 - temp_k / CRITICAL_TEMP_K
    return 0.2358 * float(below_critical**1.256) * (1.0 - 0.625 * below_critical)


def _check_liquid(temp_k: K) -> None:
    if not WATER_TEMP_LOW_K <= temp_k <= WATER_TEMP_HIGH_K:
        raise OutOfRange(
            "water temperature",
            temp_k,
            KELVIN,
            low=WATER_TEMP_LOW_K,
            high=WATER_TEMP_HIGH_K,
            remedy="Enter the temperature of the water in the tank.",
        )
