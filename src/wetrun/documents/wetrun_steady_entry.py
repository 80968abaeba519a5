"""Steady readings, the monitor's screen and stated doubts as they are written in a wet-run file."""

from __future__ import annotations

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Speed
from wetrun.documents.plain_fields import Words
from wetrun.documents.wetrun_fields import (
    Caught,
    Length,
    ShownFlow,
    ShownPressure,
    ShownRate,
    Time,
    Within,
    Within100,
)


class SteadyEntry(Entry):
    """What was read while the whole boom ran steadily."""

    name: Words | None = None
    meter: ShownFlow | None = None
    cab: ShownPressure | None = None
    gauge: ShownPressure | None = None
    tank: Caught = None
    tank_time: Time = None
    caught: bool = False


class ScreenEntry(Entry):
    """The monitor's screen at one moment, each number with the digits it shows."""

    rate: ShownRate
    speed: Speed
    flow: ShownFlow
    width: Length
    tape: Within | None = None


class DoubtsEntry(Entry):
    """Standard uncertainties of the machine's own instruments, as shares of a reading."""

    meter_number: Within100 | None = None
    meter_reading: Within100 | None = None
    speed_number: Within100 | None = None
    cab_sensor: Within100 | None = None
    cab_reading: Within100 | None = None
    gauge: Within100 | None = None
    gauge_reading: Within100 | None = None
    catch_pressure: Within100 | None = None
    tips: Within100 | None = None
    tip_to_tip: Within100 | None = None
    hose: Within100 | None = None
    tank: Within100 | None = None
