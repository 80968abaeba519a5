"""Flow as a maker or a catch measured it, row by row: what streamers and fertiliser tips are known by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import Amount, FloatArray, check_density, check_positive, square_root
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.units import (
    CUBIC_METRE_PER_SECOND,
    PASCAL,
    Kgpm3,
    M3s,
    Pa,
    Unit,
)

_ROUNDING = 1e-9
"""A value this near a row's end (relative) is at the end: a round trip through the logarithm costs a few last bits."""


@dataclass(frozen=True, slots=True)
class FlowRows:
    """Flow as a maker or a catch measured it: straight lines between rows in the logarithms, nothing beyond them."""

    pressures_pa: tuple[Pa, ...]
    flows_m3s: tuple[M3s, ...]
    density_kgpm3: Kgpm3
    origin: str

    def __post_init__(self) -> None:
        if len(self.pressures_pa) != len(self.flows_m3s) or len(self.pressures_pa) < 2:
            raise ValueError(
                f"flow rows hold {len(self.pressures_pa)} pressures and {len(self.flows_m3s)} flows: "
                "give at least two rows, each with both"
            )
        check_density(self.density_kgpm3, of="the rows")
        _check_rising("pressure of a flow row", self.pressures_pa, PASCAL)
        _check_rising("flow of a flow row", self.flows_m3s, CUBIC_METRE_PER_SECOND)

    @property
    def is_square_root(self) -> bool:
        """False: the exponent between two rows is what the rows say."""
        return False

    def flow_m3s(
        self, pressure_pa: Annotated[Amount, PASCAL], density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    ) -> Annotated[Amount, CUBIC_METRE_PER_SECOND]:
        """Return the flow at a pressure at the tip, inside the rows.

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
            A pressure outside the rows.

        Notes
        -----
        At the same pressure another liquid's flow is scaled by sqrt(density of the rows / density).

        References
        ----------
        unl-cropwatch-2016

        Example
        -------
        >>> rows = FlowRows((1e5, 4e5), (1e-5, 1.8e-5), 998.2, "doctest")
        >>> round(rows.flow_m3s(2e5, 998.2) * 1e5, 4)
        1.3416
        """
        check_density(density_kgpm3)
        inside = _inside("pressure at the tip", pressure_pa, self.pressures_pa, PASCAL)
        return _between(inside, self.pressures_pa, self.flows_m3s) * square_root(self.density_kgpm3 / density_kgpm3)

    def pressure_pa(
        self, flow_m3s: Annotated[Amount, CUBIC_METRE_PER_SECOND], density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    ) -> Annotated[Amount, PASCAL]:
        """Return the pressure at the tip that gives a flow, inside the rows.

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
            A flow outside the rows.

        References
        ----------
        unl-cropwatch-2016

        Example
        -------
        >>> rows = FlowRows((1e5, 4e5), (1e-5, 1.8e-5), 998.2, "doctest")
        >>> round(rows.pressure_pa(1.8e-5, 998.2))
        400000
        """
        check_density(density_kgpm3)
        of_the_rows = flow_m3s * square_root(density_kgpm3 / self.density_kgpm3)
        inside = _inside("flow of a tip", of_the_rows, self.flows_m3s, CUBIC_METRE_PER_SECOND)
        return _between(inside, self.flows_m3s, self.pressures_pa)


def _check_rising(thing: str, values: Sequence[float], unit: Unit) -> None:
    check_positive(thing, np.asarray(values, dtype=np.float64), unit, remedy="Leave the row out or correct it.")
    for before, after in pairwise(values):
        if not after > before:
            raise OutOfRange(thing, after, unit, low=before, remedy="Rows rise in pressure and in flow, row by row.")


def _inside(thing: str, value: Amount, rows: Sequence[float], unit: Unit) -> Amount:
    low, high = rows[0], rows[-1]
    values = np.asarray(value, dtype=np.float64)
    outside = (values < low * (1.0 - _ROUNDING)) | (values > high * (1.0 + _ROUNDING))
    if values.ndim == 0:
        outside |= np.isnan(values)
    if np.any(outside):
        first = float(values[outside][0]) if values.ndim else float(values)
        raise OutOfRange(thing, first, unit, low=low, high=high, remedy="Stay inside the rows, or measure one more.")
    return value


def _between(value: Amount, given: Sequence[float], wanted: Sequence[float]) -> Amount:
    result: FloatArray = np.exp(np.interp(np.log(value), np.log(given), np.log(wanted)))
    if isinstance(value, np.ndarray):
        return result
    return float(result)
