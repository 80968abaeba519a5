"""What the monitor should be told once the run is over: what plan and tape say, and the numbers the run has proved."""

from __future__ import annotations

from collections.abc import Iterator

from wetrun.proving.course_result import CourseResult
from wetrun.proving.meter_result import MeterResult
from wetrun.proving.monitor import Setting
from wetrun.proving.rule import NextStep
from wetrun.proving.session_record import MonitorTest
from wetrun.proving.settings import Wanted


def wanted_of(monitor: MonitorTest, course: CourseResult | None, meter: MeterResult | None) -> tuple[Wanted, ...]:
    """Return what every setting should be.

    Parameters
    ----------
    monitor : MonitorTest
        With what the plan and the tape say.
    course, meter : result or None
        Tests whose proven numbers are wanted too.

    Returns
    -------
    tuple of Wanted
        Those of the plan first. A number the run withholds is not wanted, and neither is one that is already listed.
    """
    listed = {want.setting for want in monitor.wanted}
    proven = [want for want in (*_meter(meter), *_speed(course)) if want.setting not in listed]
    return (*monitor.wanted, *proven)


def _meter(meter: MeterResult | None) -> Iterator[Wanted]:
    if meter is not None and not meter.withheld:
        why = "the catches of this run"
        yield Wanted(setting=Setting.METER_NUMBER, quantity=meter.measured_pulsepm3, why=why, budget=meter.budget)


def _speed(course: CourseResult | None) -> Iterator[Wanted]:
    """The first source that has a number: a monitor keeps one, for the source it steers by."""
    sources = () if course is None else course.sources
    found = next((each for each in sources if each.source.number is not None), None)
    if found is None or found.source.number is None or found.next_step is NextStep.LOOK_FIRST:
        return
    quantity = found.source.number.quantity * (1.0 + found.error_ratio)
    yield Wanted(
        setting=Setting.SPEED_NUMBER, quantity=quantity, why="the speed course of this run", budget=found.budget
    )
