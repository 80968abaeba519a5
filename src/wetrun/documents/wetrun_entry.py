"""The whole of a wet-run file as it is written."""

from __future__ import annotations

from typing import Final, Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Area, CarrierRate
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.plain_fields import Day, FileName, Money, Words
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_catch_entry import CatchEntry
from wetrun.documents.wetrun_fields import Hours
from wetrun.documents.wetrun_monitor_entry import MonitorEntry
from wetrun.documents.wetrun_steady_entry import DoubtsEntry, ScreenEntry, SteadyEntry
from wetrun.documents.wetrun_tests_entry import (
    CourseEntry,
    EvennessEntry,
    MeterTestEntry,
    PressureEntry,
)
from wetrun.documents.wetrun_yard_entry import GatesEntry, RampEntry, SectionEntry, TimingEntry

WETRUN_VERSION: Final = 1


class UseEntry(Entry):
    """What the machine sprays in a season, for the cost of wear."""

    area: Area
    rate: CarrierRate
    products: Money


class FittedEntry(Entry):
    """The set on the boom."""

    fitted: Words
    catalogue: FileName | None = None
    sprayed: Hours | None = None
    use: UseEntry | None = None


class StandsEntry(Entry):
    """A reading that was asked about, looked at again, and stands as typed."""

    reading: Words
    by: Words
    at: str = Field(default="", max_length=60)
    remark: str = Field(default="", max_length=200)


class WetRunEntry(Entry):
    """A wet run: the machine, the gates, and whatever was tested."""

    format_version: Literal[1]
    title: Words
    units: Literal["us", "si"] = "us"
    on: Day | None = None
    technician: Words | None = None
    customer: Words | None = None
    season: FileName | None = None
    pass_name: Words | None = Field(default=None, alias="pass")
    machine: MachineEntry | None = None
    tips: FittedEntry
    gates: GatesEntry | None = None
    course: CourseEntry | None = None
    meter: MeterTestEntry | None = None
    catch: CatchEntry | None = None
    pressure: PressureEntry | None = None
    evenness: EvennessEntry | None = None
    ramp: RampEntry | None = None
    section: list[SectionEntry] = Field(default=[], max_length=200)
    timing: TimingEntry | None = None
    monitor: MonitorEntry | None = None
    steady: list[SteadyEntry] = Field(default=[], max_length=20)
    screen: ScreenEntry | None = None
    doubts: DoubtsEntry = DoubtsEntry()
    stands: list[StandsEntry] = Field(default=[], max_length=200)

    @model_validator(mode="after")
    def _has_one_machine(self) -> Self:
        if (self.season is None) == (self.machine is None):
            remedy = 'Write season = "season.toml" with the machine in it, or a table [machine] here'
            raise refuse("the machine stands either in a season file or here", remedy, at="machine")
        if self.pass_name is not None and self.season is None:
            raise refuse("a pass belongs to a season", 'Write season = "season.toml", or leave it out', at="pass")
        if sum(steady.caught for steady in self.steady) > 1:
            remedy = "Write caught = true at the pressure the tips were caught at"
            raise refuse("the tips were caught at one of the steady pressures", remedy, at="steady")
        return self

    @model_validator(mode="after")
    def _meter_has_a_number(self) -> Self:
        found = None if self.monitor is None else self.monitor.as_found.meter_number
        if self.meter is not None and self.meter.number is None and found is None:
            remedy = 'Write number = "720" and form = "pulses per US gal", or [monitor.as_found] meter_number'
            raise refuse("the meter's number as found is missing", remedy, at="meter.number")
        return self
