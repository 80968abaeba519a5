"""What wear and density do to the rate, by control loop – and where density has been applied.

Density stands in exactly one place. A volumetric meter in flow feedback counts litres whatever they weigh, so it needs
no density for the rate; density then acts on the pressure at the tip and on hose losses. Where flow is worked out from
pressure, the monitor must know the density or the rate is off by its square root.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from wetrun.percent import off_per_cent, per_cent
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3
from wetrun.spray.pulse import DutySource
from wetrun.units import Kgpm3, Ratio

SAME_DENSITY_RATIO = 0.002
"""Two densities closer than this are one liquid: a tenth of a per cent of rate, below any reading here."""


@dataclass(frozen=True, slots=True)
class WearEffect:
    """What an evenly worn set does on this machine.

    Attributes
    ----------
    rate_ratio : float
        Delivered over target rate at the usual demand [ratio].
    pressure_ratio : float
        Pressure over that of a new set at the same demand [ratio].
    words : str
        The same for a reader.
    """

    rate_ratio: Ratio
    pressure_ratio: Ratio
    words: str


def flow_is_metered(setup: Hydraulics) -> bool:
    """Return True if the rate is steered by a flow meter, so that it does not depend on tip or density.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.

    Returns
    -------
    bool
        True for flow-meter feedback and for pulse width with duty from the meter.
    """
    if setup.pulse is not None:
        return setup.pulse.duty_from is DutySource.METER
    return setup.loop is Loop.METER


def wear_effect(setup: Hydraulics, wear_ratio: Ratio) -> WearEffect:
    """Return what an evenly worn set costs, by control loop.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine; its law is not used.
    wear_ratio : float
        Measured flow over new flow at the same pressure [ratio].

    Returns
    -------
    WearEffect
        Under a flow meter the rate stays and the pressure falls; where pressure decides, the rate rises.

    Notes
    -----
    Even wear only. A set worn unevenly also loses evenness under every loop; the catch test shows that.

    References
    ----------
    iclass-2018-334, orifice-law

    Example
    -------
    >>> round(wear_effect(Hydraulics(loop=Loop.METER, law=None, low_pa=1, high_pa=2, tips=1), 1.1).pressure_ratio, 3)
    0.826
    """
    over = _percent(wear_ratio - 1.0)
    if setup.pulse is not None and flow_is_metered(setup):
        words = f"Tips {over} in flow: the meter keeps the rate; duty falls, so the highest speed rises and gaps widen."
        return WearEffect(1.0, 1.0, words)
    if flow_is_metered(setup):
        fall = 1.0 / wear_ratio**2
        words = (
            f"Tips {over} in flow: the meter keeps the rate; pressure falls to {per_cent(fall, places=0)} of a new "
            "set's, droplets get coarser and the slow end of the speed range is lost."
        )
        return WearEffect(1.0, fall, words)
    words = f"Tips {over} in flow: this machine does not meter flow, so the rate itself is {over}."
    return WearEffect(wear_ratio, 1.0, words)


def gain_ratio(setup: Hydraulics, *, wear_ratio: Ratio, setting_kgpm3: Kgpm3 | None) -> Ratio:
    """Return delivered over demanded flow between floor and ceiling.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine, with the carrier's density.
    wear_ratio : float
        Measured flow over new flow at the same pressure [ratio].
    setting_kgpm3 : float or None
        Density typed into the monitor [kg/m3]; None means water or none.

    Returns
    -------
    float
        1 where flow is metered. Where the monitor works flow out from pressure and the new tip, the worn tip's flow
        and the square root of typed over true density [ratio]. 1 without any feedback too: nothing follows demand then.

    References
    ----------
    orifice-law, unl-cropwatch-2016

    Example
    -------
    >>> worn = Hydraulics(loop=Loop.PRESSURE, law=None, low_pa=1, high_pa=2, tips=1)
    >>> gain_ratio(worn, wear_ratio=1.15, setting_kgpm3=None)
    1.15
    """
    if flow_is_metered(setup) or setup.loop is Loop.FIXED:
        return 1.0
    return wear_ratio * sqrt((setting_kgpm3 or REFERENCE_WATER_KGPM3) / setup.density_kgpm3)


class DensityPlace(StrEnum):
    """Where density enters on this machine."""

    TIP_PRESSURE = "pressure needed at the tip"
    HOSE_LOSS = "hose, strainer and valve losses"
    PRESSURE_DERIVED_FLOW = "flow worked out from pressure"
    PUMP_CURVE = "curve of the centrifugal pump"


def density_places(setup: Hydraulics) -> tuple[DensityPlace, ...]:
    """Return every place where density was applied for this machine, and no other.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.

    Returns
    -------
    tuple of DensityPlace
        In reading order; a loop that meters flow never has it in the rate.
    """
    places = [DensityPlace.TIP_PRESSURE, DensityPlace.HOSE_LOSS]
    if not flow_is_metered(setup):
        places.append(DensityPlace.PRESSURE_DERIVED_FLOW)
    if setup.pump is not None and setup.pump.curve:
        places.append(DensityPlace.PUMP_CURVE)
    return tuple(places)


class DensityFault(StrEnum):
    """Ways to get density wrong."""

    TWICE = "applied twice"
    WRONG_PLACE = "in the wrong place"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class DensityFinding:
    """A density that is applied twice, in the wrong place or not at all.

    Attributes
    ----------
    fault : DensityFault
        Which.
    rate_ratio : float
        Delivered over wanted rate if nothing is changed [ratio]; of the likeliest reading.
    words : str
        What is wrong, what it does and what to change.
    """

    fault: DensityFault
    rate_ratio: Ratio
    words: str


def density_findings(
    setup: Hydraulics, *, setting_kgpm3: Kgpm3 | None, rate_is_water_equivalent: bool
) -> tuple[DensityFinding, ...]:
    """Return what is wrong with how density is entered for a pass.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine, with the carrier's density.
    setting_kgpm3 : float or None
        Density typed into the monitor [kg/m3]; None means water or none.
    rate_is_water_equivalent : bool
        True if the typed rate was already raised by the square root of the specific gravity.

    Returns
    -------
    tuple of DensityFinding
        Empty if density stands in exactly one place.

    References
    ----------
    unl-cropwatch-2016, orifice-law
    """
    liquid, typed = setup.density_kgpm3, setting_kgpm3 or REFERENCE_WATER_KGPM3
    factor = sqrt(liquid / REFERENCE_WATER_KGPM3)
    twice = rate_is_water_equivalent and abs(factor - 1.0) >= SAME_DENSITY_RATIO
    first = (_water_equivalent_finding(factor),) if twice else ()
    if flow_is_metered(setup):
        return (*first, *_metered_findings(typed))
    ratio = sqrt(typed / liquid)
    if setup.loop is Loop.FIXED or abs(ratio - 1.0) < SAME_DENSITY_RATIO:
        return first
    fault = DensityFault.MISSING if setting_kgpm3 is None else DensityFault.WRONG_PLACE
    words = (
        f"The monitor works flow out from pressure and does not know this liquid's density: the rate comes out "
        f"{_percent(ratio - 1.0)}. Enter the density of the liquid in the monitor, and water again for a water test."
    )
    return (*first, DensityFinding(fault, ratio, words))


def _water_equivalent_finding(factor: Ratio) -> DensityFinding:
    words = (
        f"The rate is typed as a water equivalent, so density is already in it; the tips and their pressure take it in "
        f"again. Entered in the monitor as it stands, it puts down {_percent(factor - 1.0)}. Type the solution's rate."
    )
    return DensityFinding(DensityFault.TWICE, factor, words)


def _metered_findings(typed_kgpm3: Kgpm3) -> tuple[DensityFinding, ...]:
    ratio = REFERENCE_WATER_KGPM3 / typed_kgpm3
    if abs(ratio - 1.0) < SAME_DENSITY_RATIO:
        return ()
    words = (
        "The flow meter counts volume, so the rate needs no density, yet the monitor holds one. If the monitor scales "
        f"the meter by it the rate may be off by {per_cent(abs(ratio - 1.0), places=0)} (or its square root); set it "
        "to water unless its manual says the number is used for weights only, then prove it with a timed catch."
    )
    return (DensityFinding(DensityFault.WRONG_PLACE, ratio, words),)


def _percent(change: float) -> str:
    return off_per_cent(change, places=0)
