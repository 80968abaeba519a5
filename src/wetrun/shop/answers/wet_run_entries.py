"""The pieces a wet run is typed in, where they are not a table of its file as it is: joined, or made ready unread."""

from __future__ import annotations

from pydantic import Field

from wetrun.documents.entry import Entry
from wetrun.documents.plain_fields import Day, Words
from wetrun.documents.wetrun_catch_entry import SwapEntry
from wetrun.documents.wetrun_entry import FittedEntry
from wetrun.documents.wetrun_steady_entry import SteadyEntry
from wetrun.documents.wetrun_tests_entry import (
    CourseEntry,
    GaugeEntry,
    MeterCatchEntry,
    MeterTestEntry,
    PressureEntry,
    RunEntry,
)
from wetrun.documents.wetrun_yard_entry import RampEntry, SectionEntry, StepEntry, TimingEntry


class HeadPiece(Entry):
    """What a run is of: its day, who does it, the pass, the set on the boom."""

    title: Words
    on: Day | None = None
    technician: Words | None = None
    pass_name: Words | None = Field(default=None, alias="pass")
    tips: FittedEntry


class SectionsPiece(Entry):
    """Sections on dry ground, and their timing."""

    section: list[SectionEntry] = Field(default=[], max_length=200)
    timing: TimingEntry | None = None


class SteadyPiece(Entry):
    """What was read while the whole boom ran steadily."""

    steady: list[SteadyEntry] = Field(default=[], max_length=20)


class SwapsPiece(Entry):
    """Odd tips that changed places with good ones."""

    swap: list[SwapEntry] = Field(default=[], max_length=200)


class CoursePiece(CourseEntry):
    """A course that may be made ready before the first run."""

    run: list[RunEntry] = Field(default=[], max_length=50)


class MeterPiece(MeterTestEntry):
    """A flow meter that may be made ready before the first catch."""

    catch: list[MeterCatchEntry] = Field(default=[], max_length=100)


class PressurePiece(PressureEntry):
    """Cab and gauges that may be made ready before the first pair is read."""

    gauge: list[GaugeEntry] = Field(default=[], max_length=200)


class RampPiece(RampEntry):
    """A ramp that may be made ready before the first step."""

    simulated_speed_off: bool = False
    step: list[StepEntry] = Field(default=[], max_length=100)
