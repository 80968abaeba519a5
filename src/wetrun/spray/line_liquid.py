"""What of a liquid its loss in a pipe goes by: density and viscosity, by carrier and temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.errors import NotDefined
from wetrun.spray.bounds import check_positive
from wetrun.spray.carrier import Carrier, water
from wetrun.spray.water import water_viscosity_pas
from wetrun.units import KILOGRAM_PER_CUBIC_METRE, PASCAL_SECOND, Kgpm3, Pas, Ratio

UAN_VISCOSITY_RATIO: Final[Ratio] = 3.4
"""Viscosity of UAN over water's at the same temperature; from memory, good for line friction and nothing else."""


@dataclass(frozen=True, slots=True)
class LineLiquid:
    """A liquid in a pipe.

    Attributes
    ----------
    density_kgpm3 : float
        Density [kg/m3].
    viscosity_pas : float
        Dynamic viscosity [Pa s].
    note : str
        Where the viscosity comes from.
    """

    density_kgpm3: Kgpm3
    viscosity_pas: Pas
    note: str

    def __post_init__(self) -> None:
        remedy = "Weigh a measured volume of the liquid."
        check_positive("density", self.density_kgpm3, KILOGRAM_PER_CUBIC_METRE, remedy=remedy)
        check_positive("viscosity", self.viscosity_pas, PASCAL_SECOND, remedy="Take it from the product's data sheet.")


def line_liquid(carrier: Carrier, viscosity_pas: Pas | None = None) -> LineLiquid:
    """Return a carrier as a liquid in a pipe.

    Parameters
    ----------
    carrier : Carrier
        From `wetrun.spray.carrier`.
    viscosity_pas : float or None
        Dynamic viscosity somebody states [Pa s]; None takes water's at the carrier's temperature, or 3.4 times that
        for UAN.

    Returns
    -------
    LineLiquid
        Density, viscosity and where the viscosity comes from.

    Raises
    ------
    NotDefined
        A carrier other than water and UAN without a viscosity, or one without a temperature.

    Notes
    -----
    Line friction goes with about the fifth root of viscosity: a viscosity that is a third off moves it by 6 %, and
    the friction itself is a per cent or two of the pressure. The laws of the tips do not see viscosity.

    References
    ----------
    iapws-sr6-08, uan-viscosity

    Example
    -------
    >>> round(line_liquid(water()).viscosity_pas * 1e3, 3)
    1.002
    """
    if viscosity_pas is not None:
        return LineLiquid(carrier.density_kgpm3, viscosity_pas, "viscosity as stated")
    if carrier.temp_k is None:
        raise _no_viscosity(carrier, "its temperature is not known")
    of_water_pas = water_viscosity_pas(carrier.temp_k)
    if carrier.is_water:
        return LineLiquid(carrier.density_kgpm3, of_water_pas, "viscosity of clean water at its temperature")
    if carrier.name.startswith("UAN"):
        note = "viscosity 3.4 times water's at its temperature (from memory): enter the data sheet's if it matters"
        return LineLiquid(carrier.density_kgpm3, UAN_VISCOSITY_RATIO * of_water_pas, note)
    raise _no_viscosity(carrier, "its viscosity is not kept here")


WATER_IN_LINE: Final = line_liquid(water())
"""Clean water at 20 °C."""


def _no_viscosity(carrier: Carrier, reason: str) -> NotDefined:
    remedy = "Enter the viscosity from the product's data sheet, or run the test on water."
    return NotDefined(f"line friction of {carrier.name}", reason=reason, remedy=remedy)
