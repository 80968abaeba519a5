"""One customer's sprayer: boom, control, supply, what is owned."""

from __future__ import annotations

from dataclasses import dataclass, field

from wetrun.machine.boom import Boom
from wetrun.machine.boom_pipes import BoomPipes
from wetrun.machine.fill import FillLimits
from wetrun.machine.tip import OwnedSet
from wetrun.spray.controller import Loop
from wetrun.spray.losses import SensorLoss
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.response import Response
from wetrun.spray.supply import Hold, MeterRange, PumpSupply
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import M3, Kgpm3, Mps, Pa


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """How the machine keeps its rate.

    Attributes
    ----------
    loop : Loop
        What it steers by.
    hold : Hold or None
        Minimum hold as typed.
    cab_high_pa : float or None
        Maximum pressure at the cab sensor [Pa].
    off_below_mps : float or None
        Speed below which the machine shuts off by itself [m/s].
    density_setting_kgpm3 : float or None
        Liquid density typed into the monitor [kg/m3]; None if the monitor has none or it stands at water.
    meter : MeterRange or None
        The flow meter's range.
    pulse : PulseSetting or None
        Pulse-width setting; given if and only if the loop is pulse width.
    response : Response or None
        How fast it follows; None where nobody knows.
    hysteresis_mps : float or None
        Between switching two tip sets up and down [m/s]; None where nobody typed it.
    turns : TurnCompensation
        What sets flow anew in a turn; a pulse-width machine's doing.
    """

    loop: Loop
    hold: Hold | None = None
    cab_high_pa: Pa | None = None
    off_below_mps: Mps | None = None
    density_setting_kgpm3: Kgpm3 | None = None
    meter: MeterRange | None = None
    pulse: PulseSetting | None = None
    response: Response | None = None
    hysteresis_mps: Mps | None = None
    turns: TurnCompensation = TurnCompensation.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprayer:
    """The machine a plan is made for.

    Attributes
    ----------
    name : str
        What the shop calls it.
    boom : Boom
        Layout by position.
    control : Control
        How it keeps its rate.
    pump : PumpSupply or None
        What stands behind the boom; None if not known.
    loss : SensorLoss
        Between cab sensor and tip, as gauges show it; stands behind `pipes` where those are known.
    pipes : BoomPipes or None
        The boom's plumbing; None if it is not known.
    check_valve_pa, relief_pa : float or None
        Opening pressures [Pa].
    tank_m3 : float or None
        Tank volume [m3].
    fill : FillLimits
        How full and how heavy a load may be.
    owned : tuple of OwnedSet
        Sets the customer already has.
    """

    name: str
    boom: Boom
    control: Control
    pump: PumpSupply | None = None
    loss: SensorLoss = SensorLoss()
    pipes: BoomPipes | None = None
    check_valve_pa: Pa | None = None
    relief_pa: Pa | None = None
    tank_m3: M3 | None = None
    fill: FillLimits = field(default_factory=FillLimits)
    owned: tuple[OwnedSet, ...] = ()
