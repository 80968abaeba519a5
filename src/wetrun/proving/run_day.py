"""What a day's plan has to know of the machine of a wet run, of which nothing may be tested yet."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from wetrun.proving.catch_means import CatchMeans
from wetrun.proving.day_model import DayMachine, DayTest, work_loads
from wetrun.proving.dayplan import DayPlan
from wetrun.proving.session_record import WetRun
from wetrun.spray.hydraulics import Hydraulics, Loop
from wetrun.spray.pulse import DutySource
from wetrun.units import Pa, S


def day_machine(run: WetRun, jugs: int) -> DayMachine:
    """Return what a day's plan has to know of the machine of a wet run.

    Parameters
    ----------
    run : WetRun
        The run; nothing in it need be tested.
    jugs : int
        Jugs that can be held under at once.

    Returns
    -------
    DayMachine
        Its boom flow is that of the pressure it is caught at.
    """
    setup, boom = run.machine.setup, run.machine.boom
    pulse = setup.pulse
    return DayMachine(
        loop=setup.loop,
        tips=boom.tips,
        boom_flow_m3s=boom.tips * float(setup.law.flow_m3s(catch_pressure_pa(run))),
        duty_from=DutySource.METER if pulse is None else pulse.duty_from,
        has_meter=_steers_by_meter(setup) or setup.meter is not None or run.meter is not None,
        jugs=jugs,
    )


def _steers_by_meter(setup: Hydraulics) -> bool:
    """Whether there must be a meter, with or without its range typed."""
    pulse = setup.pulse
    by_duty = setup.loop is Loop.PULSE and pulse is not None and pulse.duty_from is DutySource.METER
    return setup.loop is Loop.METER or by_duty


def catch_time_s(plan: DayPlan, machine: DayMachine, available_s: S) -> S:
    """Return the time a catch of every tip may take, getting ready included.

    Parameters
    ----------
    plan : DayPlan
        The tests of the day.
    machine : DayMachine
        What they are planned for.
    available_s : float
        Time there is [s].

    Returns
    -------
    float
        What the other tests leave if the plan has every tip caught; else all of it, for who would rather do that [s].
    """
    if DayTest.CATCH_ALL not in plan.tests:
        return available_s
    others = (
        load.time_s for load in work_loads(machine) if load.test in plan.tests and load.test is not DayTest.CATCH_ALL
    )
    return available_s - sum(others)


def catch_means(run: WetRun, jugs: int) -> CatchMeans:
    """Return what there is to catch the boom of a wet run with; what its file says of jug and gauge counts.

    Parameters
    ----------
    run : WetRun
        The run; nothing in it need be caught.
    jugs : int
        Jugs that can be held under at once.

    Returns
    -------
    CatchMeans
        With the usual time where the file has none.
    """
    boom, caught = run.machine.boom, None if run.catch is None else run.catch.run
    usual = CatchMeans(
        section_tips=boom.section_tips,
        law=run.machine.setup.law,
        pressure_pa=catch_pressure_pa(run),
        most_jugs=jugs,
        tank_m3=run.machine.tank_m3,
    )
    if caught is None:
        return usual
    typed_s = caught.time_s or usual.catch_s  # a time of zero is a slip, asked about when the run is judged
    return replace(usual, catch_s=typed_s, water_temp_k=caught.water_temp_k, tools=caught.instruments)


def catch_pressure_pa(run: WetRun) -> Pa:
    """Return the pressure at the tips during the catch: as written, else the middle of the tip's range.

    Parameters
    ----------
    run : WetRun
        The run.

    Returns
    -------
    float
        [Pa].
    """
    setup = run.machine.setup
    return run.catch.run.pressure_pa if run.catch is not None else sqrt(setup.low_pa * setup.high_pa)
