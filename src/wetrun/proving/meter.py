"""Catches that prove a flow meter: raw readings, the volume of each, and what may be wrong with them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from wetrun.errors import NotDefined
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.uncertainty import rectangular
from wetrun.proving.weighing import volume_of_weighed_m3
from wetrun.spray.carrier import Carrier
from wetrun.spray.supply import MeterRange
from wetrun.units import M3, Frac, Kg, Kgpm3, M3s, Pulsepm3, S


class Basis(StrEnum):
    """What the volume of a catch rests on."""

    VESSEL = "jug or proven measure"
    SCALE = "scale"
    TANK_MARK = "marks on the tank"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCatch:
    """One catch; a reading that was not taken is None.

    Attributes
    ----------
    name : str
        What the sheet calls it.
    level : str
        The flow it was taken at, such as "low" or "high".
    basis : Basis
        What its volume rests on.
    time_s : float or None
        How long it ran [s].
    pulses : float or None
        Pulses counted.
    shown_m3 : float or None
        Volume the monitor showed [m3], where pulses are not shown.
    volume_m3 : float or None
        Volume read [m3].
    gross_kg, tare_kg : float or None
        Scale with and without the water [kg].
    """

    name: str
    level: str
    basis: Basis
    time_s: S | None
    pulses: float | None = None
    shown_m3: M3 | None = None
    volume_m3: M3 | None = None
    gross_kg: Kg | None = None
    tare_kg: Kg | None = None

    @property
    def net_kg(self) -> Kg | None:
        """Weight of the water [kg]; None if a weighing is missing."""
        return None if self.gross_kg is None or self.tare_kg is None else self.gross_kg - self.tare_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterTools:
    """How well the catches could be read.

    Attributes
    ----------
    vessel_m3 : float
        Half of the interval a vessel can be read to [m3].
    scale_kg : float
        Half of the interval of one weighing [kg]; a catch takes two.
    measure_frac : float
        By how much vessel or scale may be off throughout, as a share [frac].
    density_kgpm3 : float
        Half width of the water's density: temperature and what is dissolved [kg/m3].
    measure_cause : str
        Name under which other tests with the same vessel or scale share its error.
    """

    vessel_m3: M3 = 0.0
    scale_kg: Kg = 0.0
    measure_frac: Frac = 0.0
    density_kgpm3: Kgpm3 = 0.5
    measure_cause: str = "measure of the meter catches"


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A flow meter as it was found.

    Attributes
    ----------
    number : TypedNumber
        Its number in the monitor.
    tag : TypedNumber or None
        The number on its tag, in whatever form the tag prints.
    limits : MeterRange or None
        The flows it is made for.
    """

    number: TypedNumber
    tag: TypedNumber | None = None
    limits: MeterRange | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterTest:
    """Everything read while proving a meter.

    Attributes
    ----------
    meter : Meter
        The meter as found.
    catches : tuple of MeterCatch
        In the order of the sheet.
    tools : MeterTools
        How well they could be read.
    carrier : Carrier
        What was caught: water at its temperature.
    stands : frozenset of str
        Catches that were asked about and stand as typed.
    """

    meter: Meter
    catches: tuple[MeterCatch, ...]
    tools: MeterTools = MeterTools()
    carrier: Carrier
    stands: frozenset[str] = frozenset()

    def pulses_of(self, catch: MeterCatch) -> float | None:
        """Return the pulses of a catch, worked out from the volume shown where none were counted."""
        if catch.pulses is not None or catch.shown_m3 is None:
            return catch.pulses
        return catch.shown_m3 * self.meter.number.quantity

    def in_range(self, flow_m3s: M3s) -> bool:
        """Return True if the meter is made for a flow [m3/s]; without stated limits every flow is taken."""
        limits = self.meter.limits
        return limits is None or limits.least_m3s <= flow_m3s <= limits.greatest_m3s


def caught_m3(test: MeterTest, catch: MeterCatch) -> M3:
    """Return the volume of a catch.

    Parameters
    ----------
    test : MeterTest
        For the density of what was caught.
    catch : MeterCatch
        The catch.

    Returns
    -------
    float
        Volume [m3]; by weight where it was weighed.

    Raises
    ------
    NotDefined
        Neither weight nor volume.
    """
    if catch.basis is Basis.SCALE and catch.net_kg is not None:
        return volume_of_weighed_m3(catch.net_kg, test.carrier.density_kgpm3)
    if catch.volume_m3 is None:
        raise NotDefined(f"volume of {catch.name}", reason="it was not written down", remedy="Catch it again")
    return catch.volume_m3


def measured_pulsepm3(test: MeterTest, catch: MeterCatch) -> Pulsepm3:
    """Return pulses over volume of one catch that raised no question [pulse/m3]."""
    return (test.pulses_of(catch) or 0.0) / caught_m3(test, catch)


def stated_scatter(test: MeterTest, catch: MeterCatch) -> float:
    """Return what reading a catch scatters by, from its tools alone.

    Parameters
    ----------
    test : MeterTest
        For the tools.
    catch : MeterCatch
        The catch.

    Returns
    -------
    float
        Standard deviation relative to the volume.

    References
    ----------
    gum-jcgm-100
    """
    pulse = rectangular(1.0) / (test.pulses_of(catch) or 1.0)
    if catch.basis is Basis.SCALE:
        return sqrt(2.0 * (rectangular(test.tools.scale_kg) / (catch.net_kg or 1.0)) ** 2 + pulse**2)
    return sqrt((rectangular(test.tools.vessel_m3) / caught_m3(test, catch)) ** 2 + pulse**2)
