"""The square-root law of an orifice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from wetrun.spray.bounds import Amount, check_density, check_not_negative, check_positive, square_root
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.units import (
    CUBIC_METRE_PER_SECOND,
    FLOW_COEFFICIENT,
    PASCAL,
    Kgpm3,
    M3spa05,
)


@dataclass(frozen=True, slots=True)
class OrificeLaw:
    """Flow goes with the square root of pressure: ``q = k sqrt(p * reference water / density)``."""

    coef_m3spa05: M3spa05
    origin: str

    def __post_init__(self) -> None:
        check_positive("orifice coefficient", self.coef_m3spa05, FLOW_COEFFICIENT, remedy="Enter a tip with a flow.")

    @property
    def is_square_root(self) -> bool:
        """True: pressure ratios are squares of flow ratios."""
        return True

    def flow_m3s(
        self, pressure_pa: Annotated[Amount, PASCAL], density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    ) -> Annotated[Amount, CUBIC_METRE_PER_SECOND]:
        """Return the flow at a pressure at the tip.

        Parameters
        ----------
        pressure_pa
            Pressure at the tip, any shape [Pa].
        density_kgpm3
            Density of the liquid [kg/m3].

        Returns
        -------
        float or array
            Flow, the shape of the pressure [m3/s].

        Raises
        ------
        OutOfRange
            A negative pressure or a density that is not positive.

        Notes
        -----
        Viscosity is left out: in UAN it moves the coefficient by perhaps 1 to 2 % (from memory).

        References
        ----------
        unl-cropwatch-2016, uga-nonwater

        Example
        -------
        >>> law = OrificeLaw(1e-6, "doctest")
        >>> law.flow_m3s(400.0) / law.flow_m3s(100.0)
        2.0
        """
        check_not_negative("pressure at the tip", pressure_pa, PASCAL, remedy="Read the gauge at the tip.")
        check_density(density_kgpm3)
        return self.coef_m3spa05 * square_root(pressure_pa * (REFERENCE_WATER_KGPM3 / density_kgpm3))

    def pressure_pa(
        self, flow_m3s: Annotated[Amount, CUBIC_METRE_PER_SECOND], density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    ) -> Annotated[Amount, PASCAL]:
        """Return the pressure at the tip that gives a flow.

        Parameters
        ----------
        flow_m3s
            Flow through one tip, any shape [m3/s].
        density_kgpm3
            Density of the liquid [kg/m3].

        Returns
        -------
        float or array
            Pressure, the shape of the flow [Pa].

        Raises
        ------
        OutOfRange
            A negative flow or a density that is not positive.

        References
        ----------
        unl-cropwatch-2016

        Example
        -------
        >>> round(OrificeLaw(1e-6, "doctest").pressure_pa(2e-5), 6)
        400.0
        """
        check_not_negative("flow of a tip", flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow of one tip.")
        check_density(density_kgpm3)
        per_coefficient = flow_m3s / self.coef_m3spa05
        return per_coefficient * per_coefficient * (density_kgpm3 / REFERENCE_WATER_KGPM3)
