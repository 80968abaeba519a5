"""Suffix aliases: the unit a name ends in, its symbol and its dimension, one-to-one.

Inside Wetrun every number is SI and its name says so: ``pressure_pa``, ``speed_mps``, ``rate_m3pm2``. Annotate
with the alias (``pressure_pa: Pa``), repeat the symbol in the docstring (``[Pa]``); one test holds the three
together, and checks every call so that two arguments of unlike dimension cannot be swapped unseen.
Standard library only. What people type and read goes through `wetrun.quantity`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit Wetrun computes in: the name suffix, the symbol of docstrings, and the dimension."""

    suffix: str
    symbol: str
    dimension: str


PASCAL: Final = Unit("pa", "Pa", "pressure")
METRE_PER_SECOND: Final = Unit("mps", "m/s", "speed")
METRE: Final = Unit("m", "m", "length")
SQUARE_METRE: Final = Unit("m2", "m2", "area")
CUBIC_METRE: Final = Unit("m3", "m3", "volume")
CUBIC_METRE_PER_SECOND: Final = Unit("m3s", "m3/s", "volume flow")
SQUARE_METRE_PER_SECOND: Final = Unit("m2ps", "m2/s", "volume flow per width")
CUBIC_METRE_PER_SQUARE_METRE: Final = Unit("m3pm2", "m3/m2", "volume per area")
KILOGRAM: Final = Unit("kg", "kg", "mass")
KILOGRAM_PER_CUBIC_METRE: Final = Unit("kgpm3", "kg/m3", "density")
KILOGRAM_PER_SQUARE_METRE: Final = Unit("kgpm2", "kg/m2", "mass per area")
KELVIN: Final = Unit("k", "K", "temperature")
SECOND: Final = Unit("s", "s", "time")
HERTZ: Final = Unit("hz", "Hz", "frequency")
RADIAN: Final = Unit("rad", "rad", "angle")
PER_METRE: Final = Unit("radpm", "rad/m", "curvature")
NEWTON_PER_METRE: Final = Unit("npm", "N/m", "surface tension")
PASCAL_SECOND: Final = Unit("pas", "Pa s", "dynamic viscosity")
FLOW_COEFFICIENT: Final = Unit("m3spa05", "m3/s/Pa^0.5", "orifice coefficient")
LOSS_COEFFICIENT: Final = Unit("paps2m6", "Pa s2/m6", "loss coefficient")
PULSE_PER_CUBIC_METRE: Final = Unit("pulsepm3", "pulse/m3", "pulses per volume")
SQUARE_CENTIMETRE: Final = Unit("cm2", "cm2", "tallied area, whole square centimetres")
CENT: Final = Unit("cents", "cents", "money, whole hundredths of the shop's currency")
RATIO: Final = Unit("ratio", "ratio", "ratio, any size")
FRACTION: Final = Unit("frac", "frac", "share, 0 to 1")

ALL_UNITS: Final[tuple[Unit, ...]] = tuple(value for value in list(globals().values()) if isinstance(value, Unit))

Pa = Annotated[float, PASCAL]
Mps = Annotated[float, METRE_PER_SECOND]
M = Annotated[float, METRE]
M2 = Annotated[float, SQUARE_METRE]
M3 = Annotated[float, CUBIC_METRE]
M3s = Annotated[float, CUBIC_METRE_PER_SECOND]
M2ps = Annotated[float, SQUARE_METRE_PER_SECOND]
M3pm2 = Annotated[float, CUBIC_METRE_PER_SQUARE_METRE]
Kg = Annotated[float, KILOGRAM]
Kgpm3 = Annotated[float, KILOGRAM_PER_CUBIC_METRE]
Kgpm2 = Annotated[float, KILOGRAM_PER_SQUARE_METRE]
K = Annotated[float, KELVIN]
S = Annotated[float, SECOND]
Hz = Annotated[float, HERTZ]
Rad = Annotated[float, RADIAN]
Radpm = Annotated[float, PER_METRE]
Npm = Annotated[float, NEWTON_PER_METRE]
Pas = Annotated[float, PASCAL_SECOND]
M3spa05 = Annotated[float, FLOW_COEFFICIENT]
Paps2m6 = Annotated[float, LOSS_COEFFICIENT]
Pulsepm3 = Annotated[float, PULSE_PER_CUBIC_METRE]
Cm2 = Annotated[int, SQUARE_CENTIMETRE]
Cents = Annotated[int, CENT]
Ratio = Annotated[float, RATIO]
Frac = Annotated[float, FRACTION]


def unit_of_name(name: str) -> Unit | None:
    """Return the unit a name ends in, or None.

    A longer suffix wins (``rate_m3pm2`` is volume per area, not area). A name needs a stem: ``m`` alone has no unit.

    Example
    -------
    >>> unit_of_name("pressure_pa").symbol
    'Pa'
    """
    _stem, _, tail = name.rpartition("_")
    if not _stem:
        return None
    return next((unit for unit in ALL_UNITS if unit.suffix == tail), None)
