"""What makes an applied rate doubtful before any test, by control loop, and what each test of a day tells of it.

Every number here – how doubtful a machine nobody has proved is, how long a test takes, how far it may be off – is our
own choice from common practice, without a source. Times and water that follow from the boom are worked out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import ceil
from types import MappingProxyType
from typing import Final

import numpy as np

from wetrun.spray.bounds import FloatArray, check_positive
from wetrun.spray.controller import Loop
from wetrun.spray.definitions import MINUTE_S
from wetrun.spray.pulse import DutySource
from wetrun.units import CUBIC_METRE_PER_SECOND, M3, Frac, M3s, S


class Doubt(StrEnum):
    """A relative error the applied rate may carry; shown over true, or typed over true, less one."""

    METER = "flow meter's number"
    SPEED = "speed shown"
    WIDTH = "width typed, against the tape"
    TYPED = "numbers typed into the monitor"
    FOLLOWING = "how well flow follows speed and sections"
    TIP_FLOW = "tips against their rated flow"
    CAB_PRESSURE = "cab sensor"
    HOSE_LOSS = "loss between sensor and tips"
    DENSITY = "density typed, against the carrier"
    DUTY = "solenoids at low duty"


class DayTest(StrEnum):
    """A test that can be done in a day's yard time."""

    COURSE = "timed course, both ways"
    METER_CATCH = "meter catches at two flows"
    CATCH_ALL = "catch of every tip"
    CATCH_12 = "catch of twelve tips"
    TIP_GAUGES = "gauges at tips against the cab"
    RAMP = "ramp over the speeds"
    SETTINGS = "settings read against the plan"
    TAPE = "spacing and widths taped"
    WEIGHED_CARRIER = "carrier weighed"
    LOW_DUTY = "catches at full and low duty"


UNPROVED: Final[Mapping[Doubt, Frac]] = MappingProxyType(
    {
        Doubt.METER: 0.03,
        Doubt.SPEED: 0.02,
        Doubt.WIDTH: 0.01,
        Doubt.TYPED: 0.02,
        Doubt.FOLLOWING: 0.03,
        Doubt.TIP_FLOW: 0.05,
        Doubt.CAB_PRESSURE: 0.05,
        Doubt.HOSE_LOSS: 0.05,
        Doubt.DENSITY: 0.01,
        Doubt.DUTY: 0.03,
    }
)
"""Standard uncertainty of each on a machine nobody has proved."""

# Minutes of work, minutes with the boom running, and what the test tells of one thing: its standard uncertainty.
_SINGLE: Final[Mapping[DayTest, tuple[float, float, Mapping[Doubt, float], Frac]]] = MappingProxyType(
    {
        DayTest.COURSE: (15.0, 0.0, {Doubt.SPEED: 1.0}, 0.005),
        DayTest.METER_CATCH: (25.0, 4.0, {Doubt.METER: 1.0}, 0.007),
        DayTest.TIP_GAUGES: (15.0, 5.0, {Doubt.CAB_PRESSURE: 1.0, Doubt.HOSE_LOSS: 1.0}, 0.02),
        DayTest.RAMP: (20.0, 10.0, {Doubt.FOLLOWING: 1.0}, 0.01),
        DayTest.SETTINGS: (10.0, 0.0, {Doubt.TYPED: 1.0}, 0.002),
        DayTest.TAPE: (5.0, 0.0, {Doubt.WIDTH: 1.0}, 0.003),
        DayTest.WEIGHED_CARRIER: (5.0, 0.0, {Doubt.DENSITY: 1.0}, 0.003),
        DayTest.LOW_DUTY: (15.0, 5.0, {Doubt.DUTY: 1.0}, 0.015),
    }
)

READY_S: Final[S] = 8.0 * MINUTE_S
"""Gates, unfolding, priming: once a day if any test runs water."""
CATCH_S: Final[S] = MINUTE_S
_HANDLING_S: Final[S] = 0.5 * MINUTE_S
_CATCH_FRAC: Final[Frac] = 0.003
_METER_SCATTER_FRAC: Final[Frac] = 0.003
_PRESSURE_SCATTER_FRAC: Final[Frac] = 0.005
_TWELVE: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMachine:
    """What a day's plan has to know of a machine.

    Attributes
    ----------
    loop : Loop
        What it steers by.
    tips : int
        Tips on the boom.
    boom_flow_m3s : float
        Flow of the whole boom at usual speed [m3/s].
    duty_from : DutySource
        What a pulse-width machine works its duty out from.
    has_meter : bool
        True if there is a flow meter to catch against.
    jugs : int
        Tips that can be caught at once.
    tip_spread_frac : float
        How unlike the tips are believed to be, standard deviation [frac].
    """

    loop: Loop
    tips: int
    boom_flow_m3s: M3s
    duty_from: DutySource = DutySource.METER
    has_meter: bool = True
    jugs: int = 6
    tip_spread_frac: Frac = 0.03

    def __post_init__(self) -> None:
        check_positive("boom flow", self.boom_flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow at usual speed.")
        if self.tips < 1 or self.jugs < 1:
            raise ValueError(f"{self.tips} tips and {self.jugs} jugs: a catch takes one of each at least")


@dataclass(frozen=True, slots=True)
class WorkLoad:
    """What a test takes and tells.

    Attributes
    ----------
    test : DayTest
        Which.
    time_s : float
        Time it takes [s], without getting ready for water.
    water_m3 : float
        Water through the boom [m3].
    information : ndarray
        Inverse covariance it adds, in the order of `Doubt`, shape (doubts, doubts).
    """

    test: DayTest
    time_s: S
    water_m3: M3
    information: FloatArray


def rate_sensitivities(machine: DayMachine) -> FloatArray:
    """Return what each doubt does to the applied rate once the controller is content.

    Parameters
    ----------
    machine : DayMachine
        Its loop decides.

    Returns
    -------
    ndarray
        Relative change of rate per relative error, in the order of `Doubt`.

    Notes
    -----
    A meter that shows too much is believed, so the rate falls by as much. Where flow is worked out from pressure, the
    tips count whole, pressure and density by half. A fixed machine follows nothing, so it cannot follow badly.

    References
    ----------
    rate-identity, orifice-law

    Example
    -------
    >>> metered = rate_sensitivities(DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1e-3))
    >>> float(metered[list(Doubt).index(Doubt.METER)])
    -1.0
    """
    effect = {Doubt.SPEED: 1.0, Doubt.WIDTH: 1.0, Doubt.TYPED: 1.0, Doubt.FOLLOWING: 1.0}
    if machine.loop is Loop.FIXED:
        del effect[Doubt.FOLLOWING]
    metered = machine.loop is Loop.METER or (machine.loop is Loop.PULSE and machine.duty_from is DutySource.METER)
    if metered:
        effect[Doubt.METER] = -1.0
    else:
        effect |= {Doubt.TIP_FLOW: 1.0, Doubt.CAB_PRESSURE: -0.5, Doubt.HOSE_LOSS: -0.5, Doubt.DENSITY: 0.5}
        effect |= {Doubt.DUTY: 1.0} if machine.loop is Loop.PULSE else {}
    return _row(effect)


def work_loads(machine: DayMachine) -> tuple[WorkLoad, ...]:
    """Return every test this machine can be given, with its time, water and what it tells.

    Parameters
    ----------
    machine : DayMachine
        Its boom decides times and water.

    Returns
    -------
    tuple of WorkLoad
        In the order of `DayTest`.

    References
    ----------
    day-plan-own-choice

    Example
    -------
    >>> boom = DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1e-3, jugs=1)
    >>> [load.water_m3 for load in work_loads(boom) if load.test is DayTest.CATCH_ALL]  # an hour and twelve minutes
    [4.32]
    """
    left_out = set() if machine.loop is Loop.PULSE else {DayTest.LOW_DUTY}
    left_out |= set() if machine.has_meter else {DayTest.METER_CATCH}
    singles = {test: _single(machine, test) for test in _SINGLE}
    catches = {DayTest.CATCH_ALL: _catch(machine, machine.tips), DayTest.CATCH_12: _catch(machine, _TWELVE)}
    left_out |= set() if machine.tips > _TWELVE else {DayTest.CATCH_12}
    return tuple((singles | catches)[test] for test in DayTest if test not in left_out)


def _row(effect: Mapping[Doubt, float]) -> FloatArray:
    return np.array([effect.get(doubt, 0.0) for doubt in Doubt])


def _single(machine: DayMachine, test: DayTest) -> WorkLoad:
    minutes, running, effect, standard = _SINGLE[test]
    row = _row(effect)
    water_m3 = running * MINUTE_S * machine.boom_flow_m3s
    return WorkLoad(test, minutes * MINUTE_S, water_m3, np.outer(row, row) / standard**2)


def _catch(machine: DayMachine, tips: int) -> WorkLoad:
    """Catch some tips, jug by jug: their sum proves the meter, and their flow at the cab's pressure the tips."""
    test = DayTest.CATCH_ALL if tips == machine.tips else DayTest.CATCH_12
    batches = ceil(tips / machine.jugs)
    unseen_frac = max(1.0 - tips / machine.tips, 0.0)
    shared = _CATCH_FRAC**2 + machine.tip_spread_frac**2 * unseen_frac / tips
    rows = [_row({Doubt.TIP_FLOW: 1.0, Doubt.CAB_PRESSURE: -0.5, Doubt.HOSE_LOSS: -0.5})]
    scatter = [0.5 * _PRESSURE_SCATTER_FRAC]
    if machine.has_meter:
        rows, scatter = [*rows, _row({Doubt.METER: -1.0})], [*scatter, _METER_SCATTER_FRAC]
    design, noise = np.vstack(rows), shared + np.diag(np.square(scatter))
    information = design.T @ np.linalg.solve(noise, design)
    water_m3 = batches * CATCH_S * machine.boom_flow_m3s
    return WorkLoad(test, batches * (CATCH_S + _HANDLING_S), water_m3, information)
