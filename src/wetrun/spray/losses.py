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
    passing_m3s : float
        Flow that passes the sensor and the boom hoses and returns to the tank [m3/s]: a recirculating boom. Zero if the
        return is taken off before the sensor.

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
    passing_m3s: M3s = 0.0

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
        hoses = self.boom_paps2m6 * (boom_flow_m3s + self.passing_m3s) ** 2
        on_water = hoses + self.body_paps2m6 * tip_flow_m3s**2
        return on_water * density_kgpm3 / REFERENCE_WATER_KGPM3


@dataclass(frozen=True, slots=True)
class BodyLoss:
    """What one nozzle body loses, from a maker's figure or a gauge on either side of it, on water.

    Attributes
    ----------
    drop_pa : float
        Pressure lost [Pa].
    flow_m3s : float
        Flow of one tip at which it is lost [m3/s].
    tips : int
        Tips on the boom.
    """

    drop_pa: Pa
    flow_m3s: M3s
    tips: int


def loss_from_gauges(
    cab_pa: Pa, tip_pa: Pa, boom_flow_m3s: M3s, *, body: BodyLoss | None = None, passing_m3s: M3s = 0.0
) -> SensorLoss:
    """Return the loss that two gauges show at one flow on water, parted into boom and bodies if the bodies are known.

    Parameters
    ----------
    cab_pa : float
        Pressure at the cab sensor [Pa].
    tip_pa : float
        Pressure at a tip at the same moment [Pa].
    boom_flow_m3s : float
        Boom flow at that moment [m3/s].
    body : BodyLoss or None
        What one nozzle body loses; None puts all of the loss on the boom: one reading cannot tell the two apart.
    passing_m3s : float
        Flow that passes the sensor and returns to the tank [m3/s].

    Returns
    -------
    SensorLoss
        Boom, bodies and the passing flow.

    Raises
    ------
    OutOfRange
        If the tip gauge reads above the cab sensor, the flow is not above zero, or the bodies alone lose more.

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
    body_paps2m6 = 0.0 if body is None else body.drop_pa / body.flow_m3s**2
    in_bodies_pa = 0.0 if body is None else body_paps2m6 * (boom_flow_m3s / body.tips) ** 2
    if in_bodies_pa > cab_pa - tip_pa:
        remedy = "Read both gauges again, or correct what one body loses."
        raise OutOfRange(
            "pressure lost in the nozzle bodies", in_bodies_pa, PASCAL, high=cab_pa - tip_pa, remedy=remedy
        )
    boom_paps2m6 = (cab_pa - tip_pa - in_bodies_pa) / (boom_flow_m3s + passing_m3s) ** 2
    return SensorLoss(boom_paps2m6, body_paps2m6, passing_m3s)
