"""What a laboratory found in the water that fills the tank."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.units import Kgpm3


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTest:
    """What a laboratory found in the water, ion by ion.

    Attributes
    ----------
    potassium_kgpm3, sodium_kgpm3, calcium_kgpm3, magnesium_kgpm3, iron_kgpm3 : float
        The ion itself, not as carbonate [kg/m3].
    """

    potassium_kgpm3: Kgpm3 = 0.0
    sodium_kgpm3: Kgpm3 = 0.0
    calcium_kgpm3: Kgpm3 = 0.0
    magnesium_kgpm3: Kgpm3 = 0.0
    iron_kgpm3: Kgpm3 = 0.0
