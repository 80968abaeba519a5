"""What stands behind the boom: the pump, its agitation and return, and the flow meter's honest range."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3
from wetrun.units import CUBIC_METRE_PER_SECOND, Frac, Kgpm3, M3s, Pa

ROUNDING: Final = 1e-9


class HoldKind(StrEnum):
    """What a controller's minimum hold is typed as."""

    CAB_PRESSURE = "pressure at the cab sensor"
    BOOM_FLOW = "boom flow"
    DUTY = "duty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """The controller's floor: below it the rate rises as the machine slows.

    Exactly one of the three is given.

    Attributes
    ----------
    cab_pressure_pa : float or None
        Pressure at the cab sensor [Pa].
    boom_flow_m3s : float or None
        Flow of the whole boom [m3/s].
    duty_frac : float or None
        Duty of a pulse-width machine [frac].
    """

    cab_pressure_pa: Pa | None = None
    boom_flow_m3s: M3s | None = None
    duty_frac: Frac | None = None

    @property
    def kind(self) -> HoldKind:
        """Which of the three it is."""
        if self.cab_pressure_pa is not None:
            return HoldKind.CAB_PRESSURE
        return HoldKind.BOOM_FLOW if self.boom_flow_m3s is not None else HoldKind.DUTY


@dataclass(frozen=True, slots=True)
class MeterRange:
    """Flows between which the meter's number can be trusted.

    Attributes
    ----------
    least_m3s, greatest_m3s : float
        Metered flow [m3/s].
    sees_return : bool
        True if liquid that later returns to the tank passes the meter.
    """

    least_m3s: M3s
    greatest_m3s: M3s
    sees_return: bool = False


@dataclass(frozen=True, slots=True)
class PumpPoint:
    """One point of a pump's curve on water.

    Attributes
    ----------
    flow_m3s : float
        Delivered flow [m3/s].
    pressure_pa : float
        Outlet pressure on water [Pa].
    """

    flow_m3s: M3s
    pressure_pa: Pa


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpSupply:
    """What the pump can send to the boom.

    Attributes
    ----------
    capacity_m3s : float
        Flow at working pressure [m3/s] (of a curve: its last point).
    agitation_m3s : float
        Flow kept for agitation [m3/s].
    return_m3s : float
        Flow that circulates back through the boom or bypass [m3/s].
    wear_reserve_frac : float
        Share of capacity set aside for wear [frac].
    curve : tuple of PumpPoint
        Falling pressure over rising flow, on water; empty for a positive-displacement pump.

    References
    ----------
    vt-442-452
    """

    capacity_m3s: M3s
    agitation_m3s: M3s = 0.0
    return_m3s: M3s = 0.0
    wear_reserve_frac: Frac = 0.0
    curve: tuple[PumpPoint, ...] = ()

    @property
    def left_for_boom_m3s(self) -> M3s:
        """Flow left for the tips after wear reserve, agitation and return [m3/s]."""
        usable = self.capacity_m3s * (1.0 - self.wear_reserve_frac)
        return max(usable - self.agitation_m3s - self.return_m3s, 0.0)

    def pressure_at_pa(self, boom_flow_m3s: M3s, density_kgpm3: Kgpm3) -> Pa:
        """Return the outlet pressure a centrifugal pump has at a boom flow.

        Parameters
        ----------
        boom_flow_m3s : float
            Flow to the tips [m3/s]; agitation and return are added here.
        density_kgpm3 : float
            Density of the liquid [kg/m3]; a centrifugal pump's pressure rises with it.

        Returns
        -------
        float
            Outlet pressure [Pa]; infinite for a pump without a curve.

        Raises
        ------
        OutOfRange
            If the flow is beyond the curve.

        References
        ----------
        affinity-density
        """
        if not self.curve:
            return float("inf")
        # A worn pump gives at each pressure the reserve's share less than new: read the curve that much further out.
        flow_m3s = (boom_flow_m3s + self.agitation_m3s + self.return_m3s) / (1.0 - self.wear_reserve_frac)
        last_m3s = self.curve[-1].flow_m3s
        if flow_m3s > last_m3s * (1.0 + ROUNDING):
            remedy = "Give more points of the pump's curve, or a lower flow."
            raise OutOfRange("flow through the pump", flow_m3s, CUBIC_METRE_PER_SECOND, high=last_m3s, remedy=remedy)
        flows, pressures = zip(*((point.flow_m3s, point.pressure_pa) for point in self.curve), strict=True)
        return float(np.interp(flow_m3s, flows, pressures)) * density_kgpm3 / REFERENCE_WATER_KGPM3
