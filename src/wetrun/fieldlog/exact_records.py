"""What the exact replay takes and gives: a set-up with its lag and limits by name, and what every instant got."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.replay import ReplayMode, SteadySetup
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace
from wetrun.spray.droplet_bands import ClassBand
from wetrun.spray.limits import Limit
from wetrun.spray.pressure_curve import PressureCurve
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.response import AT_ONCE, Response
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import (
    FRACTION,
    PASCAL,
    RATIO,
    SQUARE_CENTIMETRE,
    SQUARE_METRE_PER_SECOND,
    Cm2,
    M,
)

METHOD: Final = "exact replay"
METHOD_NUMBER: Final = 1
LIMITS: Final = tuple(Limit)
NO_LIMIT: Final = -1
BELOW_RANGE: Final = -1
ABOVE_RANGE: Final = -2
NOT_KNOWN: Final = -3

CodeArray = npt.NDArray[np.int8]
LevelArray = Annotated[FloatArray, SQUARE_METRE_PER_SECOND]


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitNames:
    """The limit at each end, by active width [levels]: what acts at floor and ceiling, what closes the window."""

    floor_by: tuple[Limit | None, ...]
    ceiling_by: tuple[Limit | None, ...]
    low_by: tuple[Limit | None, ...]
    high_by: tuple[Limit | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactSetup:
    """One set-up with everything its exact replay needs.

    Attributes
    ----------
    steady : SteadySetup
        What it delivers once settled, by active width.
    supply_m2ps : ndarray
        Most the machine has at all (pump, relief, full duty), whatever its controller allows [levels] [m2/s].
    response : Response
        Lag, delay and valves.
    names : LimitNames
        The limits behind the numbers.
    spacing_m : float
        Width one tip answers for [m].
    curve : PressureCurve
        Pressure of a tip over its flow, by level.
    bands : tuple of ClassBand
        Droplet classes by pressure; empty for a tip that has none.
    pulse : PulseSetting or None
        Pulse-width setting, if the machine has one.
    turns : TurnCompensation
        What sets flow anew in a turn.
    """

    steady: SteadySetup
    supply_m2ps: LevelArray
    response: Response = AT_ONCE
    names: LimitNames
    spacing_m: M
    curve: PressureCurve
    bands: tuple[ClassBand, ...] = ()
    pulse: PulseSetting | None = None
    turns: TurnCompensation = TurnCompensation.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactResult:
    """What every instant got at the machine's centre; arrays are [instants], nan or a code where left out.

    Attributes
    ----------
    mode : ReplayMode
        What the operator keeps.
    driven : Trace
        The log as this machine drives it: in the same boom flow speeds, intervals and clock are not the log's.
    demand_m2ps, settled_m2ps, delivered_m2ps : ndarray
        Flow per metre of active boom [m2/s]: wanted, what a settled machine gives, what this one gave on average.
    ratio : ndarray
        Delivered over wanted.
    code : ndarray
        BELOW, HELD, ABOVE or LEFT_OUT, as in the steady replay: where the order lies in the window.
    bound : ndarray
        Index into `LIMITS` of the limit that binds the order, NO_LIMIT for none.
    pressure_pa : ndarray
        Pressure at the tip [Pa].
    droplets : ndarray
        Index into the set-up's bands; BELOW_RANGE or ABOVE_RANGE of the tip's pressures, NOT_KNOWN without bands.
    duty_frac : ndarray or None
        Share of time the tips are open [frac]; None where they are not pulsed.
    instant_cm2 : ndarray
        Area of the instant as the log has it [cm2], 0 where left out.
    left_out_cm2 : int
        Area without an answer [cm2].
    taken_as_settled_cm2 : int
        Area so soon after a cut that the machine is only taken to have settled [cm2].
    turns : TurnCompensation
        What sets flow anew in a turn.
    reach_ratio : tuple of ndarray or None
        Least and greatest flow a tip can be brought to over that of the middle, each [instants] [ratio]; None
        without pulses.
    """

    mode: ReplayMode
    driven: Trace
    demand_m2ps: LevelArray
    settled_m2ps: LevelArray
    delivered_m2ps: LevelArray
    ratio: FloatArray
    code: CodeArray
    bound: CodeArray
    pressure_pa: Annotated[FloatArray, PASCAL]
    droplets: CodeArray
    duty_frac: Annotated[FloatArray, FRACTION] | None
    instant_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    left_out_cm2: Cm2
    taken_as_settled_cm2: Cm2
    turns: TurnCompensation = TurnCompensation.NONE
    reach_ratio: tuple[Annotated[FloatArray, RATIO], Annotated[FloatArray, RATIO]] | None = None
    method: str = METHOD
    method_number: int = METHOD_NUMBER

    @property
    def total_cm2(self) -> Cm2:
        """Area replayed [cm2]."""
        return int(self.instant_cm2.sum())
