"""What is lost between the pressure sensor in the cab line and the tip.

Holds, alarms and the shown pressure are all pressures at the *sensor*; a tip's chart is at the *tip*. Between them sit
the boom valve, the section hose, the strainer, the check valve and, on a pulse-width machine, the solenoid. Every one
of them costs `c·q²`, in proportion to the liquid's density.
"""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.errors import OutOfRange
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3
from wetrun.units import CUBIC_METRE_PER_SECOND, PASCAL, Kgpm3, M3s, Pa, Paps2m6


@dataclass(frozen=True, slots=True)
class SensorLoss:
    """Pressure lost from the sensor to the tip, on water.

    Attributes
    ----------
    boom_paps2m6 : float
        Loss per boom flow squared [Pa s2/m6]: boom valve, main hose; shared by all tips that are on.
    body_paps2m6 : float
        Loss per tip flow squared [Pa s2/m6]: strainer, check valve, solenoid of one nozzle body.

    Notes
    -----
    Quadratic (fully turbulent) losses only; height between sensor and tip is left out (constant on one
    machine, and seen by the gauge test of the wet run).

    References
    ----------
    minor-loss-quadratic
    """

    boom_paps2m6: Paps2m6 = 0.0
    body_paps2m6: Paps2m6 = 0.0

    def drop_pa(self, *, boom_flow_m3s: M3s, tip_flow_m3s: M3s, density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3) -> Pa:
        """Return the pressure lost between sensor and tip.

        Parameters
        ----------
        boom_flow_m3s : float
            Flow of all tips that are on [m3/s].
        tip_flow_m3s : float
            Flow of one tip while it sprays [m3/s].
        density_kgpm3 : float
            Density of the liquid [kg/m3].

        Returns
        -------
        float
            Pressure lost [Pa].

        References
        ----------
        minor-loss-quadratic

        Example
        -------
        >>> SensorLoss(boom_paps2m6=1e9).drop_pa(boom_flow_m3s=2e-3, tip_flow_m3s=2e-5)
        4000.0
        """
        on_water = self.boom_paps2m6 * boom_flow_m3s**2 + self.body_paps2m6 * tip_flow_m3s**2
        return on_water * density_kgpm3 / REFERENCE_WATER_KGPM3


def loss_from_gauges(
    cab_pa: Pa, tip_pa: Pa, boom_flow_m3s: M3s, *, density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
) -> SensorLoss:
    """Return the loss that two gauges show at one flow, all of it put on the boom side.

    Parameters
    ----------
    cab_pa : float
        Pressure at the cab sensor [Pa].
    tip_pa : float
        Pressure at a tip at the same moment [Pa].
    boom_flow_m3s : float
        Boom flow at that moment [m3/s].
    density_kgpm3 : float
        Density of the liquid during the reading [kg/m3].

    Returns
    -------
    SensorLoss
        With the body part zero: one reading cannot tell the two apart (two flows and two section counts can).

    Raises
    ------
    OutOfRange
        If the tip gauge reads above the cab sensor, or the flow is not above zero.

    References
    ----------
    minor-loss-quadratic

    Example
    -------
    >>> loss_from_gauges(300e3, 260e3, 2e-3).boom_paps2m6
    10000000000.0
    """
    if not 0 < tip_pa <= cab_pa:
        remedy = "Read both gauges again with water running; a tip gauge above the cab sensor means one of them is off."
        raise OutOfRange("pressure at the tip", tip_pa, PASCAL, low=0.0, high=cab_pa, remedy=remedy)
    if not boom_flow_m3s > 0:
        remedy = "Give the boom flow at which both gauges were read."
        thing = "boom flow of the gauge reading"
        raise OutOfRange(thing, boom_flow_m3s, CUBIC_METRE_PER_SECOND, low=0.0, remedy=remedy)
    on_water = (cab_pa - tip_pa) * REFERENCE_WATER_KGPM3 / density_kgpm3
    return SensorLoss(boom_paps2m6=on_water / boom_flow_m3s**2)
