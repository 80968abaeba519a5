"""A tip's law from its own catches: the coefficient, and whether flow really follows the square root of pressure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.spray.bounds import FloatArray, check_density, check_positive
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import CUBIC_METRE_PER_SECOND, PASCAL, Kgpm3, M3s, M3spa05, Pa

EXPONENT_LIMIT: Final = 0.03
"""A fitted exponent further than this from a half is worth a look."""


@dataclass(frozen=True, slots=True)
class OrificeFit:
    """What the catches say: coefficient of the square-root law, and the exponent they would choose freely.

    ``exponent`` is None with one pressure only, ``exponent_error`` (one standard error) with fewer than three catches.
    ``exponent_odd`` needs three different pressures.
    """

    coef_m3spa05: M3spa05
    exponent: float | None
    exponent_error: float | None
    exponent_odd: bool
    pressures: int
    origin: str = "catches"

    @property
    def law(self) -> OrificeLaw:
        """The square-root law with the fitted coefficient."""
        return OrificeLaw(self.coef_m3spa05, self.origin)

    @property
    def words(self) -> str:
        """What to tell the person who caught them."""
        if self.exponent is None:
            return "one pressure only: the square-root law is assumed, not tested"
        error = "" if self.exponent_error is None else f" ± {self.exponent_error:.3f}"
        found = f"flow follows pressure to the power {self.exponent:.3f}{error}"
        if self.exponent_odd:
            return f"{found}, not the square root: look for wear, a restriction or a gauge that does not read zero"
        if self.pressures < 3:
            return f"{found}; three different pressures are needed to judge it"
        return f"{found}: the square-root law holds"


def fitted_law(
    pressures_pa: Sequence[Pa], flows_m3s: Sequence[M3s], density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
) -> OrificeFit:
    """Return the law that fits catches best, every catch with the same relative weight.

    Parameters
    ----------
    pressures_pa
        Pressures at the tip, shape (n,) [Pa].
    flows_m3s
        Flows caught, shape (n,) [m3/s].
    density_kgpm3
        Density of the liquid caught [kg/m3].

    Returns
    -------
    OrificeFit
        Coefficient for reference water [m3/s/Pa^0.5], exponent with its standard error, and the flag.

    Raises
    ------
    ValueError
        No catches, or unlike counts.
    OutOfRange
        A pressure, flow or density that is not positive.

    Notes
    -----
    Catches normally give 0.48 to 0.51 (from memory); more than 0.03 from a half is flagged.

    References
    ----------
    catch-exponent

    Example
    -------
    >>> fit = fitted_law([1e5, 2e5, 4e5], [1.00e-5, 1.41e-5, 2.00e-5])
    >>> round(fit.exponent, 3), fit.exponent_odd
    (0.5, False)
    """
    pressures, flows = np.asarray(pressures_pa, dtype=np.float64), np.asarray(flows_m3s, dtype=np.float64)
    if pressures.ndim != 1 or pressures.shape != flows.shape or pressures.size == 0:
        raise ValueError(f"catches hold {pressures.size} pressures and {flows.size} flows: give one flow per pressure")
    check_positive("pressure of a catch", pressures, PASCAL, remedy="Leave the catch out or correct it.")
    check_positive("flow of a catch", flows, CUBIC_METRE_PER_SECOND, remedy="Leave the catch out or correct it.")
    check_density(density_kgpm3)
    as_water = flows * (density_kgpm3 / REFERENCE_WATER_KGPM3) ** 0.5
    coefficient = float(np.exp(np.mean(np.log(as_water) - 0.5 * np.log(pressures))))
    levels = int(np.unique(pressures).size)
    exponent, error = _slope(np.log(pressures), np.log(as_water)) if levels > 1 else (None, None)
    odd = exponent is not None and levels >= 3 and abs(exponent - 0.5) > EXPONENT_LIMIT
    return OrificeFit(coefficient, exponent, error, odd, levels)


def _slope(x: FloatArray, y: FloatArray) -> tuple[float, float | None]:
    """Return the least-squares slope and its standard error (None without a spare catch)."""
    away = x - np.mean(x)
    spread = float(away @ away)
    slope = float(away @ y) / spread
    spare = x.size - 2
    if spare < 1:
        return slope, None
    rest = y - np.mean(y) - slope * away
    return slope, float((rest @ rest / spare / spread) ** 0.5)
