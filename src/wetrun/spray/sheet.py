"""Droplet size from the break-up of a spray sheet, and the spread of sizes about the middle.

The sheet law says how the middle size moves with flow, pressure, angle, density and surface tension. One constant is
fitted to the six reference sprays that divide the droplet classes; nothing else is tuned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from wetrun.spray.bounds import check_positive
from wetrun.units import (
    CUBIC_METRE_PER_SECOND,
    METRE,
    PASCAL,
    RADIAN,
    RATIO,
    Frac,
    Kgpm3,
    M,
    M3s,
    Npm,
    Pa,
    Rad,
    Ratio,
)

TEXTBOOK_CONSTANT: Final = 0.9614 * (3.0 * math.pi / math.sqrt(2.0)) ** (1.0 / 3.0)
"""Ligament-to-drop constant of the textbook sheet law (the factor 0.9614 is from memory)."""
FITTED_CONSTANT: Final = 2.176
"""The one constant that fits the six reference sprays best, root mean square 5.2 % off."""
ROSIN_RAMMLER_ORIFICE: Final = 2.34
"""Spread of single-orifice and pre-orifice fans: twelve reference ratios, root mean square 2.4 % off, at most 5 %."""


@dataclass(frozen=True, slots=True)
class SheetLiquid:
    """What of the liquid and the air a sheet breaks up by; water at 20 °C in still air unless said."""

    density_kgpm3: Kgpm3 = 998.2
    tension_npm: Npm = 0.0727
    air_density_kgpm3: Kgpm3 = 1.2


def sheet_dv50_m(
    flow_m3s: M3s, pressure_pa: Pa, angle_rad: Rad, liquid: SheetLiquid, *, constant: float = FITTED_CONSTANT
) -> M:
    """Return the volume median diameter of a flat fan by the sheet law.

    Parameters
    ----------
    flow_m3s
        Flow of the tip [m3/s].
    pressure_pa
        Pressure at the exit orifice [Pa].
    angle_rad
        Angle of the fan [rad].
    liquid
        Density, surface tension at about 20 ms, and density of the air.
    constant
        Break-up constant; the fitted one unless said.

    Returns
    -------
    M
        Volume median diameter [m].

    Raises
    ------
    OutOfRange
        A flow, pressure or angle that is not positive.

    Notes
    -----
    Valid for single-orifice fans from 110-01 to 65-15: within 12 % of every reference spray. Viscosity, swirl and
    air inside the drops are left out.

    References
    ----------
    dombrowski-johns-1963, kooij-2018, reference-sprays

    Example
    -------
    >>> tip_110_03 = sheet_dv50_m(1.18e-3 / 60, 3e5, 1.9199, SheetLiquid())
    >>> round(tip_110_03 * 1e6)  # the reference spray between fine and medium measured 248.1 um
    247
    """
    check_positive("flow of a tip", flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow of one tip.")
    check_positive("pressure at the tip", pressure_pa, PASCAL, remedy="Read the gauge at the tip.")
    check_positive("spray angle", angle_rad, RADIAN, remedy="Enter the angle of the fan.")
    speed_mps = math.sqrt(2.0 * pressure_pa / liquid.density_kgpm3)
    thickness_m2 = flow_m3s / (speed_mps * angle_rad)
    inverse_weber_m = liquid.tension_npm / (liquid.density_kgpm3 * speed_mps**2)
    air = (liquid.density_kgpm3 / liquid.air_density_kgpm3) ** (1.0 / 6.0)
    return float(constant * air * (thickness_m2 * inverse_weber_m) ** (1.0 / 3.0))


def volume_frac_below(diameter_m: M, dv50_m: M, *, spread: float = ROSIN_RAMMLER_ORIFICE) -> Frac:
    """Return the share of the spray's volume in drops smaller than a diameter (Rosin-Rammler).

    Parameters
    ----------
    diameter_m
        Diameter [m].
    dv50_m
        Volume median diameter [m].
    spread
        Rosin-Rammler exponent; larger is narrower.

    Returns
    -------
    Frac
        Share of volume [frac].

    Raises
    ------
    OutOfRange
        A diameter that is not positive.

    References
    ----------
    reference-sprays, grdc-droplets

    Example
    -------
    >>> volume_frac_below(250e-6, 250e-6)
    0.5
    """
    check_positive("drop diameter", diameter_m, METRE, remedy="Enter a diameter above zero.")
    check_positive("volume median diameter", dv50_m, METRE, remedy="Enter a diameter above zero.")
    return -math.expm1(-math.log(2.0) * (diameter_m / dv50_m) ** spread)


def diameter_below_which_m(volume_frac: Frac, dv50_m: M, *, spread: float = ROSIN_RAMMLER_ORIFICE) -> M:
    """Return the diameter that a share of the volume lies below: Dv0.1 for 0.1 (Rosin-Rammler).

    Parameters
    ----------
    volume_frac
        Share of volume, above 0 and below 1 [frac].
    dv50_m
        Volume median diameter [m].
    spread
        Rosin-Rammler exponent.

    Returns
    -------
    M
        Diameter [m].

    References
    ----------
    reference-sprays

    Example
    -------
    >>> round(diameter_below_which_m(0.9, 248.1e-6) * 1e6)  # the reference spray measured 409
    414
    """
    return float(dv50_m * (math.log1p(-volume_frac) / -math.log(2.0)) ** (1.0 / spread))


def exit_pressure_frac(exit_over_entry_ratio: Ratio) -> Frac:
    """Return the share of a pre-orifice tip's pressure left at its exit orifice.

    Parameters
    ----------
    exit_over_entry_ratio
        Area of the exit orifice over the area of the pre-orifice [ratio].

    Returns
    -------
    Frac
        Share of the pressure drop at the exit [frac].

    Raises
    ------
    OutOfRange
        A ratio that is not positive.

    Notes
    -----
    Two orifices of equal discharge coefficient in series. The droplet scale of the tip is this share to the power of
    minus a half: `droplet_scale_ratio`.

    References
    ----------
    series-orifices

    Example
    -------
    >>> exit_pressure_frac(1.0)
    0.5
    """
    check_positive("area ratio", exit_over_entry_ratio, RATIO, remedy="Divide exit area by pre-orifice area.")
    return 1.0 / (1.0 + exit_over_entry_ratio**2)


def droplet_scale_ratio(exit_over_entry_ratio: Ratio) -> Ratio:
    """Return how much larger a pre-orifice tip's droplets are than a single orifice's of the same flow.

    Parameters
    ----------
    exit_over_entry_ratio
        Area of the exit orifice over the area of the pre-orifice [ratio].

    Returns
    -------
    Ratio
        Droplet scale [ratio].

    References
    ----------
    series-orifices

    Example
    -------
    >>> round(droplet_scale_ratio(1.0), 2)
    1.41
    """
    return float(exit_pressure_frac(exit_over_entry_ratio) ** -0.5)
